"""What an output is: a part of the pack that can be asked for by its name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

Files = Mapping[str, bytes]  # content by path in the pack


@dataclass(frozen=True)
class Output:
    """`files` makes its bytes from the stages that its parameters name; `summary` says what a maker gets.

    `pages` gives for each of its files that is made of pages the name of the stage that makes that Document (or
    None where there is nothing to show).
    """

    name: str
    summary: str
    files: Callable[..., Files]
    pages: Mapping[str, str] = field(default_factory=dict)


def stem(label: str, id_: str) -> str:
    """How the files of one part are called: its label and its id."""
    return f"{label}-{id_.replace('_', '-')}"

"""What stands in the booklet beside its steps, before it is set on paper or as a web page: the same for both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from foamwright.assembly.records import Picture
from foamwright.flatten.records import Pattern


@dataclass(frozen=True)
class Words:
    """A paragraph, under a heading of its own if there is one."""

    text: str
    heading: str = ""


@dataclass(frozen=True)
class Bullets:
    """A list under a heading."""

    lines: tuple[str, ...]
    heading: str = ""


@dataclass(frozen=True)
class Warn:
    """A caution in full, with its sign."""

    title: str
    text: str


@dataclass(frozen=True)
class Column:
    """A column that takes `share` of the width; numbers stand at its end."""

    title: str
    share: float
    number: bool = False


@dataclass(frozen=True)
class Table:
    """Rows under titles; columns without a title have none. A cell is words, or a pattern whose shape is drawn.

    `parts` are the ids of the part that each row is about, if it is about one. On paper so many rows stand `abreast` where they
    have room, read from left to right.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[str | Pattern, ...], ...]
    parts: tuple[str, ...] = ()
    abreast: int = 1


@dataclass(frozen=True)
class Views:
    """Pictures beside each other, and what they show."""

    pictures: tuple[Picture, ...]
    caption: str


@dataclass(frozen=True)
class Lead:
    """An address that is led to, as a small QR code beside the words for it."""

    text: str
    address: str


Item = Words | Bullets | Warn | Table | Views | Lead


@dataclass(frozen=True)
class Chapter:
    """Items under one title; one without items is left out."""

    title: str
    items: Sequence[Item]

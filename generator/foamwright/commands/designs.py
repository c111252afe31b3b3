"""How a call names designs: their files, one of their sizes, other values for their parameters."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from foamwright.errors import DesignError, FoamwrightError
from foamwright.terminal import complain

if TYPE_CHECKING:
    from foamwright.design.records import Design


def name_designs(command: argparse.ArgumentParser) -> None:
    """The arguments that say which designs, at which sizes and with which values."""
    command.add_argument("designs", nargs="+", metavar="DESIGN", help="a design file")
    command.add_argument("--size", help="one of the design's sizes, or `all` (default: its first)")
    change_values(command)
    allow_own_code(command)


def change_values(command: argparse.ArgumentParser) -> None:
    """The argument that gives parameters other values, for `change`."""
    command.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        dest="changes",
        help="another value for a parameter, as a number, a length or an expression; may be given again",
    )


def allow_own_code(command: argparse.ArgumentParser) -> None:
    """The argument without which no code of a design is run."""
    command.add_argument(
        "--run-own-code",
        action="store_true",
        help="run Python code that comes with the design, where a part is made by it: only code that you have read",
    )


def place_packs(command: argparse.ArgumentParser) -> None:
    """The arguments that say on what paper packs are and where they go."""
    command.add_argument(
        "--paper",
        default="A4",
        help="paper of the templates and the booklet, as A4, A3, letter, tabloid or roll-610 (default: A4)",
    )
    command.add_argument(
        "--out", default="build", metavar="FOLDER", help="where packs go: FOLDER/design/size (default: build)"
    )


def named_designs(options: argparse.Namespace) -> tuple[list[Design], int]:
    """Every sound design that is named, at every size that is asked for, and the exit code that the others ask for.

    DesignError: the call itself is wrong.
    """
    from foamwright.design import load, sizes
    from foamwright.design.load import ALL

    changes = changed(options.changes)

    def read(path: str) -> list[Design]:
        wanted = sizes(path) if options.size == ALL else (options.size,)
        return [load(path, size, changes) for size in wanted]

    files = list(each_file(options.designs, read))
    designs = [design for _, loaded, _ in files for design in loaded]
    _refuse_twins(designs)
    return designs, max(code for _, _, code in files)


def each_file(
    paths: Iterable[str], read: Callable[[str], Sequence[Design]]
) -> Iterator[tuple[str, Sequence[Design], int]]:
    """Each file with its designs and 0. A file that is wrong is told in one line, has no designs and its exit code, and
    stops no other; what makers should know of the rest is told too, once."""
    told: set[str] = set()
    for path in paths:
        try:
            designs = read(path)
        except FoamwrightError as error:
            complain(str(error))
            yield path, (), error.exit_code
            continue
        for note in dict.fromkeys(note for design in designs for note in design.notes if note not in told):
            complain(note)
            told.add(note)
        yield path, designs, 0


def changed(texts: Iterable[str], option: str = "--set") -> dict[str, str]:
    """The values by name of all options NAME=VALUE. Raises DesignError for one that is none, or a name that has two."""
    found: dict[str, str] = {}
    for text in texts:
        name, value = change(text, option)
        if found.setdefault(name, value) != value:
            raise DesignError(f"{option} {name}: it has two values, {found[name]} and {value}; expected one of them")
    return found


def change(text: str, option: str = "--set") -> tuple[str, str]:
    """Name and value of an option NAME=VALUE. Raises DesignError if it is none."""
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise DesignError(f"{option} {text}: expected NAME=VALUE, as in {option} scale=1.25")
    return name.strip(), value.strip()


def _refuse_twins(designs: Iterable[Design]) -> None:
    """Two design files of one name would write over each other's pack."""
    seen: set[tuple[str, str]] = set()
    for design in designs:
        key = (design.id, design.size)
        if key in seen:
            raise DesignError(f"two designs are named {design.id} and both build size {design.size}; rename one file")
        seen.add(key)

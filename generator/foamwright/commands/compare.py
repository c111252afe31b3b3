"""`foamwright compare A B`: what changed between two packs, or between two versions of a design."""

from __future__ import annotations

import argparse
import json
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from foamwright.errors import BuildError, DesignError
from foamwright.language import LANGUAGES
from foamwright.terminal import Command, ProgressLine, tell_text

if TYPE_CHECKING:
    from foamwright.changes.records import Side
    from foamwright.stages import Progress

FORMATS = ("text", "markdown", "json", "svg", "html")
EXAMPLE = """\
examples:
  foamwright compare build/harbour-lantern/table old/harbour-lantern-table.zip
  foamwright compare v1.0.0:designs/harbour-lantern.yaml designs/harbour-lantern.yaml --as markdown
  foamwright compare main:designs/lamp.yaml designs/lamp.yaml --size table --version-rule

A and B are each a pack (a folder or a zip archive), a design file, or a design file in a git revision, written as git
writes it: REVISION:PATH. Designs are built for it, as far as they are not known from before; no pack is written.
"""
# what a comparison reads of a pack
_ONLY = ("templates", "sheets", "cut_list", "shopping_list")


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("compare", "tell what changed between two packs or two versions of a design", EXAMPLE)
    parser.add_argument("before", metavar="A", help="the older one")
    parser.add_argument("after", metavar="B", help="the newer one")
    parser.add_argument("--size", help="the size that designs are built at (default: the first of the newer one)")
    parser.add_argument("--as", dest="format", choices=FORMATS, default="text", help="how it is told (default: text)")
    parser.add_argument("--out", metavar="FILE", help="write it to a file that is made or replaced, and print nothing")
    parser.add_argument("--language", choices=LANGUAGES, help="language it is told in (default: that of the newer one)")
    parser.add_argument(
        "--version-rule",
        action="store_true",
        help="end with exit code 1 if cut lines changed and the design's version was not raised",
    )
    parser.add_argument(
        "--run-own-code",
        action="store_true",
        help="run Python code that comes with the designs: only code that you have read, in both",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Compare and tell; 1 by BuildError if a rule about versions is asked for and broken."""
    from foamwright.changes.find import compare
    from foamwright.changes.reports import FORMATS as REPORTS
    from foamwright.changes.words import version_fault
    from foamwright.language import Reader, reading
    from foamwright.pack.write import write_files

    for name in (options.before, options.after):  # before the other one is built
        _refuse_missing(name)
    size = options.size
    after = _side(options.after, size, options)
    if size is None:
        size = after.record["design"]["size"]
    before = _side(options.before, size, options)
    with reading(Reader(options.language or _language(after))):
        changes = compare(before, after)
        told = REPORTS[options.format](changes)
    if options.out is None:
        tell_text(told)
    else:
        out = Path(options.out)
        write_files({out.name: told.encode()}, out.parent)
    fault = version_fault(changes) if options.version_rule else None
    if fault:
        raise BuildError(f"{options.after}: {fault}")
    return 0


def _language(side: Side) -> str:
    """Which the maker of the design speaks; English where the pack does not tell or nobody here speaks it."""
    told = side.record.get("about", {}).get("language")
    return told if told in LANGUAGES else "en"


def _refuse_missing(name: str) -> None:
    from foamwright.changes.revisions import is_revision

    if not is_revision(name) and not Path(name).exists():
        raise DesignError(f"{name}: there is no such pack or design; expected a folder, a zip or a design file")


def _side(name: str, size: str | None, options: argparse.Namespace) -> Side:
    """A pack read, or a design built. DesignError: the name is neither."""
    from foamwright.changes.packs import is_pack, read_pack, side
    from foamwright.changes.revisions import checked_out, is_revision
    from foamwright.commands.build import usual_limits
    from foamwright.contained import contained

    path = Path(name)
    if path.exists() and is_pack(path):
        return read_pack(path)
    with ExitStack() as stack:
        if is_revision(name):
            path = stack.enter_context(checked_out(name))
        from foamwright.design import sizes

        if size is not None and size not in sizes(path):
            raise DesignError(f"{name}: has no size {size!r}; expected one of {', '.join(sizes(path))}")
        progress = stack.enter_context(ProgressLine([name], quiet=False))
        work = partial(_built, path, size, options.run_own_code)
        return side(name, *contained(work, usual_limits(), progress, options.trace))


def _built(path: Path, size: str | None, run_own_code: bool, progress: Progress) -> tuple[Any, bytes | None]:
    """The record and the shopping list of a design."""
    from foamwright.design import load
    from foamwright.making import Request, made
    from foamwright.store import of_this_machine

    request = Request(load(path, size), run_own_code=run_own_code)
    pack = made(request, _ONLY, progress, of_this_machine(request.libraries))
    return json.loads(pack.files["pack.json"]), pack.files.get("shopping-list.csv")

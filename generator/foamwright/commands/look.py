"""`foamwright look DESIGN...`: the first look at designs."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from foamwright.commands.build import usual_limits
from foamwright.commands.designs import name_designs, named_designs
from foamwright.errors import BuildError
from foamwright.terminal import Command, ProgressLine, tell, tell_json

if TYPE_CHECKING:
    from foamwright.design.records import Design
    from foamwright.stages import Progress

EXAMPLE = """\
examples:
  foamwright look lamp.yaml
  foamwright look lamp.yaml --size tall --set scale=1.25 --out /tmp/lamp
"""


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("look", "draw the prop as a picture and in 3D, in seconds", EXAMPLE)
    name_designs(parser)
    parser.add_argument(
        "--out", default="look", metavar="FOLDER", help="where pictures go: FOLDER/design/size (default: look)"
    )
    parser.add_argument(
        "--no-cache", action="store_true", help="work everything out anew, and keep nothing for the next time"
    )
    parser.add_argument("--json", action="store_true", help="print what was found for a script to read")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Exit code 1 if something of what is shown cannot be built, that of the worst file if a design is wrong."""
    from foamwright.contained import contained
    from foamwright.look.report import sentences

    limits = usual_limits()
    told = []
    designs, code = named_designs(options)
    for design in designs:
        folder = Path(options.out) / design.id / design.size
        with ProgressLine([f"{design.id} {design.size}"], quiet=options.json) as progress:
            work = partial(_picture, design, folder, options.run_own_code, not options.no_cache)
            told.append(contained(work, limits, progress, options.trace))
        if not options.json:
            for line in sentences(told[-1]):
                tell(line)
    if options.json:
        tell_json(told)
    return max(code, 0 if all(one["buildable"] for one in told) else BuildError.exit_code)


def _picture(design: Design, folder: Path, run_own_code: bool, keep: bool, progress: Progress) -> dict[str, Any]:
    """Draws the first look at one design, and returns what is told of it. It is kept, and shapes of parts, if `keep` says so."""
    from foamwright.making import Request, first_look
    from foamwright.many import workers
    from foamwright.pack.write import write_files
    from foamwright.store import Store, of_this_machine

    request = Request(design, run_own_code=run_own_code)
    store = of_this_machine(request.libraries) if keep else Store(None)
    told, files = first_look(request, progress, store, workers(2))
    write_files(files, folder)
    return told | {"folder": str(folder)}

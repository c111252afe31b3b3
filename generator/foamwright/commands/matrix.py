"""`foamwright matrix DESIGN...`: every pack that there is to make, as JSON for a build service."""

from __future__ import annotations

import argparse
import json

from foamwright.terminal import Command, tell

EXAMPLE = """\
examples:
  foamwright matrix designs/*.yaml
  foamwright matrix designs/*.yaml --paper A4,letter --tag lamp-v1.2.0

A tag vX.Y.Z stands for all designs: one of them at least has that version, and none a higher one. A tag DESIGN-vX.Y.Z
stands for that design alone, which must have that version. Where a design lists its history, its version comes first.
"""


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("matrix", "print every design and size as JSON for a build service", EXAMPLE)
    parser.add_argument("designs", nargs="+", metavar="DESIGN", help="a design file")
    parser.add_argument("--paper", metavar="NAME,...", help="each on each of these papers")
    parser.add_argument("--tag", help="only what this tag stands for; exit code 1 if the designs do not agree with it")
    parser.add_argument(
        "--gallery",
        action="store_true",
        help="beside the packs of the tag those that a gallery needs of the other designs, on the first paper",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """One entry for each pack, in the form that build services take for a matrix of jobs. BuildError: the tag is none
    of these designs at their versions."""
    from foamwright.changes.tags import tagged
    from foamwright.design import load, sizes
    from foamwright.layout.paper import paper

    files = list(map(str, options.designs))
    papers = [""] if options.paper is None else [name.strip() for name in options.paper.split(",")]
    for name in papers:
        if name:
            paper(name)  # DesignError: there is no such paper
    released = files if options.tag is None else tagged(options.tag, {file: load(file) for file in files})
    others = [file for file in files if file not in released] if options.gallery else []
    wanted = [(file, "release", papers) for file in released] + [(file, "gallery", papers[:1]) for file in others]
    entries = [
        {"design": file, "size": size, "for": what} | ({"paper": name} if name else {})
        for file, what, on in wanted
        for size in sizes(file)
        for name in on
    ]
    tell(json.dumps({"include": entries}))
    return 0

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
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """One entry for each pack, in the form that build services take for a matrix of jobs. BuildError: the tag is none
    of these designs at their versions."""
    from foamwright.changes.tags import tagged
    from foamwright.design import load, sizes
    from foamwright.layout.paper import paper

    files = list(map(str, options.designs))
    if options.tag is not None:
        files = tagged(options.tag, {file: load(file) for file in files})
    entries = [{"design": file, "size": size} for file in files for size in sizes(file)]
    if options.paper is not None:
        papers = [name.strip() for name in options.paper.split(",")]
        for name in papers:
            paper(name)  # DesignError: there is no such paper
        entries = [entry | {"paper": name} for entry in entries for name in papers]
    tell(json.dumps({"include": entries}))
    return 0

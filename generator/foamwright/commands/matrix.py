"""`foamwright matrix DESIGN...`: every pack that there is to make, as JSON for a build service."""

from __future__ import annotations

import argparse
import json

from foamwright.terminal import Command, tell

EXAMPLE = """\
example:
  foamwright matrix designs/*.yaml
"""


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("matrix", "print every design and size as JSON for a build service", EXAMPLE)
    parser.add_argument("designs", nargs="+", metavar="DESIGN", help="a design file")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """One entry for each pack, in the form that build services take for a matrix of jobs."""
    from foamwright.design import sizes

    entries = [{"design": str(path), "size": size} for path in options.designs for size in sizes(path)]
    tell(json.dumps({"include": entries}))
    return 0

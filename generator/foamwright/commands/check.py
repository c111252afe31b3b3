"""`foamwright check DESIGN...`: what is wrong with designs, before anything is built."""

from __future__ import annotations

import argparse

from foamwright.commands.designs import each_file
from foamwright.terminal import Command, tell, tell_json

EXAMPLE = """\
example:
  foamwright check designs/*.yaml
"""


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("check", "find mistakes without building anything", EXAMPLE)
    parser.add_argument("designs", nargs="+", metavar="DESIGN", help="a design file")
    parser.add_argument("--json", action="store_true", help="print a summary that a script can read")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """The worst exit code of all files; of each that is wrong the first mistake is told."""
    from foamwright.design import check_all

    checked = []
    worst = 0
    for path, designs, code in each_file(options.designs, check_all):
        worst = max(worst, code)
        if code:
            continue
        checked.append(
            {
                "file": str(path),
                "design": designs[0].name,
                "version": designs[0].version,
                "sizes": [d.size for d in designs],
                "part_kinds": len(designs[0].parts),
            }
        )
        if not options.json:
            names = ", ".join(d.size for d in designs)
            tell(f"{path}: {designs[0].name} {designs[0].version} is well formed at every size ({names})")
    if options.json:
        tell_json(checked)
    return worst

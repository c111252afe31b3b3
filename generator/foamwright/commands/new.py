"""`foamwright new FILE`: a commented design to begin from."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from foamwright.errors import DesignError
from foamwright.terminal import Command, tell

EXAMPLE = """\
example:
  foamwright new lamp.yaml
  foamwright build lamp.yaml
"""


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("new", "write a commented design to begin from", EXAMPLE)
    parser.add_argument("file", metavar="FILE", help="the file to write; it must not exist")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """DesignError: the file is there, or is to have a wrong name. BuildError: it cannot be written."""
    from foamwright.design import starter
    from foamwright.design.load import check_file_name
    from foamwright.pack.write import write_files

    path = Path(options.file)
    if os.path.isdir(path):
        raise DesignError(f"{path}: it is a folder; expected a new file name, such as {path / 'lamp.yaml'}")
    check_file_name(path)
    if os.path.lexists(path):
        raise DesignError(f"{path}: it exists already; expected a new file name")
    if path.suffix not in (".yaml", ".yml"):
        raise DesignError(f"{path}: expected a name that ends in .yaml")
    if not path.parent.exists():
        raise DesignError(f"{path}: there is no folder {path.parent}; expected one that is there")
    name = path.stem.replace("-", " ").replace("_", " ").capitalize()
    write_files({path.name: starter(name).encode()}, path.parent)
    tell(f"{path} is ready: build it with `foamwright build {path}`")
    return 0

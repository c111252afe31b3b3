"""`foamwright watch DESIGN`: a page that shows the design anew on every save."""

from __future__ import annotations

import argparse
import threading
from pathlib import Path

from foamwright.commands.designs import allow_own_code, change_values, place_packs
from foamwright.errors import DesignError
from foamwright.terminal import Command, tell

EXAMPLE = """\
examples:
  foamwright watch lamp.yaml
  foamwright watch lamp.yaml --size floor --no-pack --port 8000

Open the address that it prints. On every save the first look is drawn, then the pack is made. What is wrong with the
design stands above the last picture that could be drawn. The page is served to this machine alone. Ctrl-C ends it.
"""
_LOWEST, _HIGHEST = 1024, 65535


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("watch", "look at a design on every save, in a page of this machine's own", EXAMPLE)
    parser.add_argument("design", metavar="DESIGN", help="a design file")
    parser.add_argument("--size", help="one of the design's sizes (default: its first)")
    change_values(parser)
    parser.add_argument("--no-pack", action="store_true", help="only look")
    place_packs(parser)
    parser.add_argument("--port", type=int, default=0, metavar="N", help="port of the page (default: any that is free)")
    allow_own_code(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Goes on until it is interrupted. DesignError: the call is wrong; a design that is wrong is shown."""
    from foamwright.commands.build import usual_limits
    from foamwright.commands.designs import changed
    from foamwright.layout.paper import paper
    from foamwright.watch.run import Watched
    from foamwright.watch.run import run as watching
    from foamwright.watch.server import Server
    from foamwright.watch.state import Board

    path = Path(options.design)
    if not path.is_file():
        raise DesignError(f"{path}: there is no such file; expected a design file")
    if options.port and not _LOWEST <= options.port <= _HIGHEST:
        raise DesignError(f"--port {options.port}: expected a number from {_LOWEST} to {_HIGHEST}, or 0 for any")
    paper(options.paper)
    watched = Watched(
        path,
        options.size,
        changed(options.changes),
        None if options.no_pack else Path(options.out),
        options.paper,
        options.run_own_code,
    )
    board = Board(path.name)
    server = Server(board, options.port)
    ended = threading.Event()
    tell(f"{path}: {server.address}")
    try:
        watching(watched, board, ended, tell, usual_limits())
    except KeyboardInterrupt:
        tell("no longer watched")
    finally:
        ended.set()
        server.close()
    return 0

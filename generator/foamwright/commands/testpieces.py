"""`foamwright testpieces DESIGN`: the pieces of foam by which a stock entry is measured, as a pack of their own."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from foamwright.errors import BuildError, DesignError
from foamwright.terminal import Command, tell

if TYPE_CHECKING:
    from foamwright.design.records import Design, Stock

OUTPUTS = ("templates", "booklet", "cut_list")
EXAMPLE = """\
examples:
  foamwright testpieces lamp.yaml
  foamwright testpieces lamp.yaml --stock shell --paper letter

A strip for k, a hoop for the gap of glue, a board for the kerf, a mitred frame for bevels and a darted dome for the
strain limit. How each is measured, and the field of the stock entry that the result goes into, is printed and stands
in the booklet.
"""


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("testpieces", "make the pieces by which the foam of a design is measured", EXAMPLE)
    parser.add_argument("design", metavar="DESIGN", help="a design file whose stock is to be measured")
    parser.add_argument("--stock", metavar="ID", help="one entry of its stock (default: every foam that it uses)")
    parser.add_argument("--paper", default="A4", help="paper of the pages (default: A4)")
    parser.add_argument("--out", default="build", metavar="FOLDER", help="where packs go (default: build)")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Write a design of test pieces and its pack for each stock. DesignError: no such stock; BuildError: no sheet of foam."""
    from foamwright.design import load
    from foamwright.libraries import installed
    from foamwright.making import build
    from foamwright.pack.write import write_files
    from foamwright.store import of_this_machine
    from foamwright.testpieces import design_text

    for stock in _stocks(load(options.design), options.stock):
        text = design_text(stock)
        folder = Path(options.out) / f"test-pieces-{stock.id.replace('_', '-')}"
        path = folder / f"{folder.name}.yaml"
        write_files({path.name: text.encode()}, folder)
        pieces = load(path)
        store = of_this_machine(installed())
        build(pieces, options.paper, OUTPUTS, store=store).write(folder / pieces.size)
        tell(f"{folder / pieces.size}: test pieces of {stock.name} ({stock.id})")
        for part in pieces.parts:
            note = part.values.get("note")
            if note:
                tell(f"  {part.label} {part.name}: {note}")
    return 0


def _stocks(design: Design, wanted: str | None) -> list[Stock]:
    from foamwright.registry import kind

    cut = {part.stock for part in design.parts if kind(part.kind).from_sheet(part)}
    if wanted is None:
        foams = [stock for stock in design.stock.values() if stock.id in cut and stock.material_type == "foam"]
        if not foams:
            raise BuildError(f"{design.name} uses no sheet of foam; name a stock with --stock")
        return foams
    if wanted not in design.stock:
        raise DesignError(f"--stock {wanted}: expected one of {', '.join(design.stock)}")
    if wanted not in cut and any(part.stock == wanted for part in design.parts):
        raise BuildError(f"stock {wanted} is bought as bars; test pieces are of sheet foam")
    return [design.stock[wanted]]

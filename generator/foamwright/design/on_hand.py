"""What lies on a maker's shelf: sheets of foam, whole and partly used, read from a YAML file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from foamwright.design.read import read_file
from foamwright.design.records import Stock
from foamwright.design.resolve import Resolver
from foamwright.design.schema import lookup


def read_stock_on_hand(path: str | Path, stock: Mapping[str, Stock]) -> Mapping[str, tuple[tuple[float, float], ...]]:
    """Sizes (width, length) in mm of the sheets on the shelf by id of the stock, partly used ones first.

    The file gives for each stock how many whole `sheets` there are and the sizes of the `offcuts`:
    `stock: {shell: {sheets: 2, offcuts: [[300 mm, 450 mm]]}}`. Ids that are not in `stock` are left out, since
    a shelf holds foam for other designs too. Raises DesignError, one line, for the first mistake found.
    """
    source = read_file(path, "on_hand")
    resolver = Resolver(source, Path(path).parent, {})
    shelf = resolver.section(lookup("#/$defs/on_hand/properties/stock"), ("stock",))
    return {
        id_: (*entry["offcuts"], *[stock[id_].sheet] * entry["sheets"]) for id_, entry in shelf.items() if id_ in stock
    }

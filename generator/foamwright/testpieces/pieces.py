"""The test pieces as a design of its own, and what a measurement of each says. Lengths in mm.

Everything stands on one board, so that the pack is built and checked as that of any prop.
"""

from __future__ import annotations

import math
from typing import Any

import yaml

from foamwright.design.records import Stock
from foamwright.errors import BuildError

_WINDOW = 40.0  # side of the board's windows
_WIDTH = 25.0  # of every strip
_HEAD = """\
# Test pieces for {name}. Cut, glue and measure them as you will the prop, and put what you find into its stock entry.
# Each part's note says how to measure it and which field the result goes into.
"""


def bend_share(outer: float, length: float, thickness: float) -> float:
    """`k` of a stock, from a strip glued end to end: its flat `length` and the length around its outer face.

    The neutral surface keeps the flat length: length = 2 pi (r + k t) for an inner radius r, and outer = 2 pi (r + t).
    It is the k factor of sheet-metal bending (bend allowance = angle (r + k t); handbooks, from memory).
    """
    return 1.0 - (outer - length) / (2 * math.pi * thickness)


def kerf_of(outside: float, window: float, side: float, opening: float) -> float:
    """`kerf` of a machine that cut a board of `side` to `outside`, and a window of `opening` in it to `window`."""
    return ((side - outside) + (window - opening)) / 2


def gap_of_ring(hoop: float, disc: float) -> float:
    """`clearance` that a glued hoop leaves around a disc, from the hoop's inner width and the disc's width."""
    return (hoop - disc) / 2


def design_text(stock: Stock) -> str:
    """Text of a design file with the test pieces of one foam. Raises BuildError for a sheet that is no foam."""
    if stock.material_type != "foam":
        raise BuildError(f"stock {stock.id} is {stock.material_type}; test pieces are of foam")
    t, k = stock.thickness, stock.k
    length = 10.0 * math.ceil(max(45.0 * t, 160.0) / 10)
    ring = length / (2 * math.pi) - k * t  # inner radius
    disc = 5.0 * math.ceil(max(4.0 * t, 20.0) / 5)
    side = 10.0 * math.ceil(max(8.0 * t, 50.0) / 10)
    ball = 10.0 * math.ceil(max(9.0 * t, 60.0) / 10)
    foot = 0.8 * ball  # height of the dome's rim over the middle of its ball
    cell = 10.0 * math.ceil((2 * max(ring + t, disc + t + 2, side / math.sqrt(2) + t, ball) + 10) / 10)
    at = {name: [x * cell / 2, y * cell / 2, t] for name, x, y in
          (("ring", -1, 1), ("hoop", 1, 1), ("frame", -1, -1), ("dome", 1, -1))}  # fmt: skip

    def around(outline: dict[str, Any], where: list[float]) -> dict[str, Any]:
        return {"outline": outline, "at": {"origin": where, "normal": "z"}}

    def on_board(kind: str, name: str, note: str, **more: Any) -> dict[str, Any]:
        return {
            "kind": kind,
            "name": name,
            "stock": stock.id,
            **more,
            "rests_on": ["board"],
            "glue": "none",
            "note": note,
        }

    strip = {"from": 0, "to": _WIDTH}
    board_side = 2 * cell
    design = {
        "format": 1,
        "name": f"Test pieces {stock.id}".replace("_", " "),
        "version": "1.0.0",
        "licence": "CC0-1.0",
        "summary": f"What to measure of {stock.name} before a prop is cut from it.",
        "parameters": {
            "scale": {"value": 1, "min": 1, "max": 2, "note": "The dome alone; all else is measured as it is"},
            "clearance": {"value": "1 mm", "min": "0 mm", "max": "4 mm", "note": "Gap of the disc in its hoop"},
        },
        "sizes": {"one": {}},
        "stock": {stock.id: _entry(stock)},
        "forms": {
            "ball": {
                "kind": "revolution",
                "axis": "z",
                "origin": [at["dome"][0], at["dome"][1], f"{t:g} mm - {foot:g} mm * scale"],
                "profile": [[f"{h:g} mm * scale", f"{ball * math.sqrt(max(0.0, 1 - (h / ball) ** 2)):.6f} mm * scale"]
                            for h in (-ball, -0.7 * ball, 0.0, 0.4 * ball, 0.75 * ball, 0.93 * ball, ball)],
                "cuts": {"foot": {"plane": {"normal": "z", "at": t}}},
            }
        },
        "parts": {
            "board": {
                "kind": "plate",
                "name": "Board",
                "stock": stock.id,
                "outline": {
                    "rectangle": {"width": board_side, "height": board_side},
                    "minus": [{"rectangle": {"width": _WINDOW, "height": _WINDOW, "centre": [0, 0]}}],
                },
                "at": {"origin": [0, 0, 0], "normal": "z"},
                "note": (
                    f"kerf of a machine: half of ({board_side:g} less the width outside, plus the width of the "
                    f"window less {_WINDOW:g}). A knife has none."
                ),
            },
            "ring": on_board(
                "band", "Bend strip",
                f"k: glue the ends to a ring and measure around its outside; k = 1 - (that length - {length:g}) / "
                f"{2 * math.pi * t:.2f}.",
                along=around({"circle": {"radius": round(ring, 9)}}, at["ring"]), **strip,
            ),
            "disc": on_board(
                "disc", "Disc in the hoop", "It belongs in the hoop.",
                radius=disc, at={"origin": at["hoop"], "normal": "z"},
            ),
            "hoop": on_board(
                "band", "Hoop around the disc",
                f"clearance: glue the ends, measure inside across the hoop; half of what it is over {2 * disc:g} is "
                "the gap that glue and hand leave; 1.0 is as drawn.",
                along=around({"circle": {"radius": f"{disc:g} mm + clearance"}}, at["hoop"]), **strip,
            ),
            "frame": on_board(
                "band", "Mitred frame",
                f"bevel: glued up it is {side + 2 * t:g} outside and {side:g} inside. Corners open outside: tilt the "
                "blade less; open inside: more.",
                along=around({"rectangle": {"width": side, "height": side}}, at["frame"]), corners="mitred", **strip,
            ),
            "dome": on_board(
                "panel", "Dome",
                f"strain_limit, here {stock.strain_limit:.3g}: close the darts, warmed if the prop will be; where "
                "it puckers between them take less, where it lies smooth try more.",
                form="ball", where={"foot": "beyond"}, laid="outside", darts="auto",
            ),
        },
    }  # fmt: skip
    head = _HEAD.format(name=" ".join(stock.name.split()))
    return head + yaml.safe_dump(design, sort_keys=False, allow_unicode=True, width=110)


def _entry(stock: Stock) -> dict[str, Any]:
    """The stock as it stands in a design file."""
    entry: dict[str, Any] = {
        "name": stock.name,
        "thickness": stock.thickness,
        "k": stock.k,
        "strain_limit": stock.strain_limit,
        "tension_limit": stock.tension_limit,
        "compression_limit": stock.compression_limit,
        "sheet": list(stock.sheet),
        "density": stock.density,
        "colour": stock.colour,
        "kerf": stock.kerf,
        "roll": stock.roll,
    }
    return {key: value for key, value in entry.items() if value is not None}

"""How much a design may ask for, held against it before any work begins.

Each figure is many times what a large prop of foam has, and small enough for a machine to come to an end. What follows
a curve is counted where the curve is known (`parts/rows.py`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import prod
from typing import Any

from foamwright.design.messages import mistake
from foamwright.design.records import PartSpec
from foamwright.design.source import Source

MOST_PARTS = 500  # kinds of part, each member of a whole by itself
MOST_COPIES = 1000  # of all parts together
MOST_SHEETS = 3000  # layers of all copies together
MOST_POINTS = 50_000  # of all outlines, copies of holes and letters among them
_POINTS_OF = {"circle": 32, "rectangle": 8, "slot": 16, "superellipse": 64, "section": 200, "svg": 500}
_POINTS_OF_A_LETTER = 30


def check_budget(members: Sequence[PartSpec], source: Source) -> None:
    """Raises DesignError with the figure and the limit for a design that asks for more."""
    if len(members) > MOST_PARTS:
        raise mistake(source.where_key(("parts",)), f"{len(members)} kinds of part", f"at most {MOST_PARTS}")
    copies = sheets = points = 0
    for part in members:
        own = copies_of(part.values)
        copies += own
        sheets += own * int(part.values.get("layers") or 1)
        points += _points(part.values)
        for number, limit, what in (
            (copies, MOST_COPIES, "pieces"),
            (sheets, MOST_SHEETS, "pieces, each layer by itself"),
            (points, MOST_POINTS, "points of outlines"),
        ):
            if number > limit:
                wrong = f"with part {part.id!r} the design has {number} {what}"
                raise mistake(part.where, wrong, f"at most {limit}")


def copies_of(values: Mapping[str, Any]) -> int:
    """How many copies a part has, from the values that it states."""
    repeat = values.get("repeat") or {}
    return _repeats(repeat) * int(values.get("count") or 1) * (2 if values.get("mirror") else 1)


def _repeats(repeat: Mapping[str, Any]) -> int:
    if "grid" in repeat:
        return prod(repeat["grid"]["counts"])
    if "moves" in repeat:
        return 1 + len(repeat["moves"])
    within = repeat.get("around") or repeat.get("along") or repeat
    return int(within.get("count") or 1)


def _points(value: Any) -> int:
    """About how many points the outlines in a value have, each as often as it is repeated."""
    if isinstance(value, Mapping):
        points = sum(_points(inner) for key, inner in value.items() if key != "repeat")
        points += sum(number for key, number in _POINTS_OF.items() if isinstance(value.get(key), Mapping))
        for shape in ("text", "stencil_text"):
            if isinstance(value.get(shape), Mapping):
                points += _POINTS_OF_A_LETTER * len(value[shape]["value"])
        repeat = value.get("repeat")
        return points * (_repeats(repeat) if isinstance(repeat, Mapping) and "kind" not in value else 1)
    if isinstance(value, list | tuple):
        if value and all(isinstance(one, list | tuple) for one in value):
            return 4 * len(value)  # a curve through points has more than it names
        return sum(_points(one) for one in value)
    return 0

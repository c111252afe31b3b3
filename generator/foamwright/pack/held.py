"""A record that anybody may have written, held against `schema.json` and made fit to be told."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from importlib import resources
from typing import Any

from foamwright.design.letters import carried
from foamwright.errors import TYPES

# what is told of a pack by those who read it
TOLD = (
    "design", "about", "work", "overall", "only", "archive", "materials", "parts", "seams", "sheets", "pages", "steps",
    "fit", "files",
)  # fmt: skip
LARGEST = 1e9  # of any number: a prop a thousand kilometres long, or 2,000 years at the bench
_LINES = ("outline", "holes", "other_outline", "other_holes")  # of a part: the bulk of a record, and numbers alone
_LEAST_AREA = 1e-6  # mm2 that a closed line runs around


def fault_of(record: Any, needed: Sequence[str]) -> str:
    """The first thing in a record that is not as the schema has it, in words; "" for none.

    `needed` are sections that must be there; of the others TOLD are looked at if they are. Points of a cut line are looked at
    all at once: one after the other they would take longer than all that is done with them.
    """
    if not isinstance(record, dict) or record.get("format") != 1:
        return "is no record of a pack in format 1"
    missing = [name for name in needed if name not in record]
    if missing:
        return f"has no {missing[0]}: the pack was made of some outputs only; build it whole"
    error = next(_validator().iter_errors({key: record[key] for key in TOLD if key in record}), None)
    return (
        "" if error is None else f"is none: {_place(error.absolute_path)}{_wrong(error)}; expected what a build writes"
    )


def carried_all(value: Any) -> Any:
    """Plain data whose texts, but for what stands at cut lines, hold nothing that a page or a terminal cannot carry."""
    if isinstance(value, str):
        return carried(value)
    if isinstance(value, Mapping):
        return {carried(key): item if key in _LINES else carried_all(item) for key, item in value.items()}
    return [carried_all(item) for item in value] if isinstance(value, list) else value


def _place(path: Iterable[str | int]) -> str:
    """As `parts[2].quantity: `, every name in it made fit to be told."""
    told = "".join(f"[{step}]" if isinstance(step, int) else f".{carried(step)[:40]}" for step in path)
    return f"{told.removeprefix('.')}: " if told else ""


def _wrong(error: Any) -> str:
    if error.validator == "required":
        return f"has no {next(name for name in error.validator_value if name not in error.instance)}"
    if error.validator == "type":
        types = error.validator_value if isinstance(error.validator_value, list) else [error.validator_value]
        return f"is not {' or '.join(TYPES[one] for one in types if one in TYPES)}"
    return "is no closed line of points" if error.validator == "line" else "is not a value that it may have"


@cache
def _validator() -> Any:
    from jsonschema import Draft202012Validator
    from jsonschema.validators import extend

    schema = json.loads((resources.files("foamwright.pack") / "schema.json").read_text("utf-8"))
    schema = _bounded({"properties": schema["properties"], "$defs": schema["$defs"]})
    schema["$defs"]["loop"] = {"line": True}
    return extend(Draft202012Validator, {"line": _line})(schema)


def _bounded(node: Any) -> Any:
    """The schema with limits for numbers that have none: a sum or a rounding of any of them ends well."""
    if isinstance(node, list):
        return [_bounded(item) for item in node]
    if not isinstance(node, dict):
        return node
    made = {key: _bounded(item) for key, item in node.items()}
    if {"number", "integer"} & {one for one in _listed(made.get("type")) if isinstance(one, str)}:
        made = {"minimum": -LARGEST, "maximum": LARGEST, **made}
    return made


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _line(_validator: Any, _wanted: Any, value: Any, _schema: Any) -> Iterator[Any]:
    """The keyword for a closed line in the plane: at least three points within LARGEST, and some area."""
    from jsonschema import ValidationError

    if not _is_line(value):
        yield ValidationError("no closed line")


def _is_line(value: Any) -> bool:
    import numpy as np

    try:
        points = np.array(value, float)
    except (TypeError, ValueError, OverflowError):
        return False
    if points.ndim != 2 or points.shape[0] < 3 or points.shape[1] != 2 or not bool(np.all(np.abs(points) <= LARGEST)):
        return False
    x, y = (points - points[0]).T
    return bool(math.fabs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) > 2 * _LEAST_AREA)

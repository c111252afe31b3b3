"""Records as plain data, and that as the lines of a JSON file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np

DECIMALS = 4


def record_bytes(record: Mapping[str, Any]) -> bytes:
    """The record as UTF-8 JSON: one line for each entry, so that two packs can be compared line by line."""
    return (_lines(record, "") + "\n").encode()


def plain(value: Any) -> Any:
    """Arrays to lists and every float rounded; a whole outline is rounded at once."""
    if isinstance(value, np.ndarray):
        return (np.round(np.asarray(value, float), DECIMALS) + 0.0).tolist()  # + 0.0 turns -0.0 into 0.0
    if isinstance(value, Mapping):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return round(float(value), DECIMALS) + 0.0
    return value


def _lines(value: Any, indent: str) -> str:
    """JSON with one line per key and per entry of a list of records; lists of numbers stay on one line."""
    deeper = indent + " "
    if isinstance(value, Mapping) and value:
        items = [f"{deeper}{json.dumps(key)}: {_lines(item, deeper)}" for key, item in value.items()]
        return "{\n" + ",\n".join(items) + f"\n{indent}}}"
    if isinstance(value, list) and value and isinstance(value[0], Mapping):
        items = [f"{deeper}{_lines(item, deeper)}" for item in value]
        return "[\n" + ",\n".join(items) + f"\n{indent}]"
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))

"""The commented design that a maker starts from."""

from __future__ import annotations

import json
import re
from pathlib import Path


def starter(name: str) -> str:
    """Text of a small complete design file for a prop called `name`."""
    text = Path(__file__).with_name("starter.yaml").read_text("utf-8")
    plain = re.fullmatch(r"[A-Za-z][A-Za-z -]*[A-Za-z]", name) and name.lower() not in (
        "true",
        "false",
        "null",
    )
    # a JSON string is a YAML string too, whatever is in it
    return re.sub(
        "^name: .*$",
        lambda _: f"name: {name if plain else json.dumps(name)}",
        text,
        count=1,
        flags=re.MULTILINE,
    )

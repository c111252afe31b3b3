"""The schema as a file, from which an editor completes and checks a design while it is written.

Run as `python -m foamwright.design.editor designs/schema.json`.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from foamwright.design.schema import schema
from foamwright.registry import given_by, kinds


def schema_text() -> str:
    """The schema with the kinds of part that come with the program, whatever else is installed."""
    own = tuple(kind for kind in kinds() if not given_by(kind.name))
    return json.dumps(schema(own), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(schema_text(), "utf-8")

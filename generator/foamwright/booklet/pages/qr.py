"""The address of a design as a QR code (ISO/IEC 18004), drawn as rectangles."""

from __future__ import annotations

import numpy as np
import segno

from foamwright.booklet.words.typeset import ColumnItem
from foamwright.drawing.primitives import Path

_QUIET = 4  # modules left white around it, as the standard asks


def qr_code(text: str, size: float) -> ColumnItem:
    """The code with its quiet zone in a square of `size` mm. Runs of dark modules are one rectangle each."""
    code = segno.make(text, error="m", micro=False, boost_error=False)
    rows = [list(row) for row in code.matrix]
    module = size / (len(rows) + 2 * _QUIET)
    items = []
    for number, row in enumerate(rows):
        top = -(number + _QUIET) * module
        start = None
        for column, dark in enumerate([*row, 0]):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                x0, x1 = (start + _QUIET) * module, (column + _QUIET) * module
                corners = np.array([[x0, top], [x1, top], [x1, top - module], [x0, top - module]])
                items.append(Path(corners, "shade", True, "#000000"))
                start = None
    return ColumnItem(size, tuple(items))

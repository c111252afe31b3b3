"""The finished prop in lines, hidden edges removed."""

from __future__ import annotations

from foamwright.booklet.records import Picture
from foamwright.model.records import Model
from foamwright.model.views import view

FRONT = (-1.0, -1.3, -0.75)  # the eye looks along this: from the front left above
UP = (0.0, 0.0, 1.0)


def finished(model: Model) -> Picture:
    """All copies, from the front left above."""
    seen = view(model, range(len(model.copies)), FRONT, UP)
    return Picture(tuple(line for lines in seen.lines for line in lines), (), seen.bounds)

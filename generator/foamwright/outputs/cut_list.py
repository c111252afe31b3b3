"""`cut-list.csv`: what to cut, from what, how often."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from foamwright.booklet.words.cutting import split_text
from foamwright.flatten.records import Pattern, Patterns
from foamwright.language import spoken
from foamwright.outputs.records import Files, Output
from foamwright.outputs.tables import csv_bytes

CUT_COLUMNS = (
    "label",
    "name",
    "material",
    "thickness_mm",
    "quantity",
    "mirrored",
    "layers",
    "length_mm",
    "width_mm",
    "area_mm2",
    "darts",
    "bevel_deg",
    "note",
    "split",
)
_SAVES = 0.99  # of the upright rectangle


@spoken
def files(patterns: Patterns) -> Files:
    return {"cut-list.csv": cut_list(patterns)}


def cut_list(patterns: Patterns) -> bytes:
    """One row for each part: what is cut, from what, how often. Length and width are of the least
    rectangle that holds it."""
    return csv_bytes(CUT_COLUMNS, (_cut_row(pattern) for pattern in patterns.patterns))


def _cut_row(pattern: Pattern) -> tuple[object, ...]:
    piece = pattern.piece
    length, width = pattern.strip or _blank(pattern.outline)
    bevels = [angle for edge in pattern.edges for angle in edge.bevel if angle]
    bevels += [angle for pair in (pattern.split.bevels if pattern.split else ()) for angle in pair if angle]
    return (
        piece.label,
        piece.name,
        piece.stock.name,
        f"{piece.stock.thickness:g}",
        piece.quantity,
        piece.cut_mirrored,  # what is its own mirror image is cut as drawn for both hands
        piece.layers,
        f"{length:.1f}",
        f"{width:.1f}",
        f"{pattern.area:.1f}",
        len(pattern.darts),
        _range(bevels),
        piece.note,
        split_text(pattern),
    )


def _blank(outline: np.ndarray) -> tuple[float, float]:
    """Length and width in mm of the least rectangle around an outline (n, 2): the upright one, if a turned one saves nothing."""
    upright = np.ptp(outline, axis=0)
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.Polygon(outline)))
    turned = np.linalg.norm(np.diff(corners[:3], axis=0), axis=1)
    width, length = sorted((turned if turned.prod() < _SAVES * upright.prod() else upright).tolist())
    return length, width


def _range(angles: Sequence[float]) -> str:
    if not angles:
        return "0"
    low, high = f"{min(angles):.1f}", f"{max(angles):.1f}"
    return low if low == high else f"{low} to {high}"


OUTPUT = Output("cut_list", "what to cut", files)

"""`cut-list.csv`: what to cut, from what, how often."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.booklet.words.cutting import split_text
from foamwright.flatten.blank import blank
from foamwright.flatten.records import Pattern, Patterns
from foamwright.flatten.segments import drawn_length, pieces_of_foam
from foamwright.geometry.bevel import least_bevel
from foamwright.language import decimal, say, spoken
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


@spoken
def files(patterns: Patterns) -> Files:
    return {"cut-list.csv": cut_list(patterns)}


def cut_list(patterns: Patterns) -> bytes:
    """One row for each part: what is cut, from what, how often. Length and width are of the least
    rectangle that holds it."""
    return csv_bytes(CUT_COLUMNS, (_cut_row(pattern) for pattern in patterns.patterns))


def _cut_row(pattern: Pattern) -> tuple[object, ...]:
    piece = pattern.piece
    length, width = pattern.strip or blank(pattern.outline)
    bevels = [angle for edge in pattern.edges for angle in edge.bevel if angle]
    bevels += [angle for pair in (pattern.split.bevels if pattern.split else ()) for angle in pair if angle]
    told = [angle for angle in bevels if abs(angle) >= least_bevel(piece.stock.thickness)]  # others are cut square
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
        _range(told),
        piece.note,
        _split(pattern),
    )


def _split(pattern: Pattern) -> str:
    """How a part is glued up; of mitred segments how long each is on its drawn face too, which is what a rule finds on paper."""
    text = split_text(pattern)
    if pattern.split is None or pattern.split.joint != "mitre" or pattern.strip is None:
        return text
    drawn = [decimal(drawn_length(own), 1) for own in pieces_of_foam(pattern)]
    told = " / ".join(drawn[:1] if len({*drawn}) == 1 else drawn)
    return say("{joint}, {size} mm long on the drawn face", joint=text, size=told)


def _range(angles: Sequence[float]) -> str:
    if not angles:
        return "0"
    low, high = f"{min(angles):.1f}", f"{max(angles):.1f}"
    return low if low == high else f"{low} to {high}"


OUTPUT = Output("cut_list", "what to cut", files)

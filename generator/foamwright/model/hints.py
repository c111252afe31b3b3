"""What may be meant where two parts share space."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from foamwright.design.records import Design
from foamwright.parts.placing import direction
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece

_UPRIGHT = (
    "; a band is a straight strip that stands square to its plane: on a form that leans there use a cover, or a panel "
    "with `over`"
)
_ALIKE, _SAME = 0.999, 0.5  # cosine between two planes that are one, and mm between them
_AT_EDGE = 2.0  # times its thickness that a panel shares space no further from its edge: the edge is to blame

Placed = tuple[
    Piece, np.ndarray
]  # a part, and the matrix (4, 4) that takes it from where it was modelled to a copy's place


def hint(design: Design, a: Placed, b: Placed, at: Sequence[float]) -> str:
    """The end of a message about two copies that share space, there about the place `at` (3,); "" where nothing is known."""
    for one, other in ((a, b), (b, a)):
        meaning = _square_edge(design, one, other) or _square_on_purpose(design, one, other, at)
        if meaning:
            return meaning
    onto_panel = any(isinstance(piece.body, PanelBody) for piece, _ in (a, b))
    courses = (_values(design, piece).get("along") for piece, _ in (a, b) if isinstance(piece.body, BandBody))
    course = next(filter(None, courses), None)  # a wrapped bar is bent as a band is, and follows nothing
    if onto_panel and course and "opening" not in course:
        return _UPRIGHT  # along an opening it stands in the cut itself
    return ""


def _values(design: Design, piece: Piece) -> Mapping[str, Any]:
    """What the design says of a part."""
    return next(part.values for part in design.parts if part.id == piece.id)


def _square_on_purpose(design: Design, panel: Placed, other: Placed, at: Sequence[float]) -> str:
    """A part at an opening of a panel, or beside another form, where the design has the panel's edge cut square to the foam."""
    piece, matrix = panel
    if not isinstance(piece.body, PanelBody):
        return ""
    here = np.linalg.solve(matrix[:3, :3], np.asarray(at) - matrix[:3, 3])
    off, cut = min((float(np.linalg.norm(edge.points - here, axis=1).min()), edge.cut) for edge in piece.body.edges)
    square = _values(design, piece).get("square", ())
    if cut not in square or off > _AT_EDGE * piece.stock.thickness:
        return ""
    return (
        f"; the edge of {piece.id} at its cut {cut} is square to its foam, as square says: with {cut} taken out of that it "
        f"lies in the cut, past which {other[0].id} stands"
    )


def _square_edge(design: Design, panel: Placed, flat: Placed) -> str:
    """A flat part that closes a panel's end, where the panel's edge is square to its foam and not in the plane of the cut."""
    (piece, matrix), (other, other_matrix) = panel, flat
    if not (isinstance(piece.body, PanelBody) and isinstance(other.body, FlatBody)):
        return ""
    normal = other_matrix[:3, :3] @ other.body.frame.axes[:, 2]
    foot = other_matrix[:3, :3] @ other.body.frame.origin + other_matrix[:3, 3]
    values = _values(design, piece)
    bounding = set(values.get("where", ())) - set(values.get("flush", ()))
    for cut in design.forms[piece.body.form].cuts:
        if cut.kind != "plane" or cut.id not in bounding:
            continue
        own = direction(cut.values["normal"])
        place = matrix[:3, :3] @ (own * cut.values["at"]) + matrix[:3, 3]
        off = [abs(float((place - foot) @ normal) - t) for t in (0.0, other.thickness)]
        if abs(float(matrix[:3, :3] @ own @ normal)) > _ALIKE and min(off) < _SAME:
            return (
                f"; the edge of {piece.id} at its cut {cut.id} is square to its foam: with flush: [{cut.id}] it lies in "
                f"the plane that {other.id} lies in"
            )
    return ""

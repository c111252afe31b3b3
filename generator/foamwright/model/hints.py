"""What may be meant where two parts share space."""

from __future__ import annotations

import numpy as np

from foamwright.design.records import Design
from foamwright.parts.placing import direction
from foamwright.parts.records import FlatBody, PanelBody, Piece

_UPRIGHT = (
    "; a band is a straight strip that stands square to its plane: on a form that leans there use a cover, or a panel "
    "with `over`"
)
_ALIKE, _SAME = 0.999, 0.5  # cosine between two planes that are one, and mm between them

Placed = tuple[
    Piece, np.ndarray
]  # a part, and the matrix (4, 4) that takes it from where it was modelled to a copy's place


def hint(design: Design, a: Placed, b: Placed) -> str:
    """The end of a message about two copies that share space, "" where nothing is known."""
    if sorted((a[0].kind, b[0].kind)) == ["band", "panel"]:
        return _UPRIGHT
    return _square_edge(design, a, b) or _square_edge(design, b, a)


def _square_edge(design: Design, panel: Placed, flat: Placed) -> str:
    """A flat part that closes a panel's end, where the panel's edge is square to its foam and not in the plane of the cut."""
    (piece, matrix), (other, other_matrix) = panel, flat
    if not (isinstance(piece.body, PanelBody) and isinstance(other.body, FlatBody)):
        return ""
    normal = other_matrix[:3, :3] @ other.body.frame.axes[:, 2]
    foot = other_matrix[:3, :3] @ other.body.frame.origin + other_matrix[:3, 3]
    spec = next(part for part in design.parts if part.id == piece.id)
    bounding = set(spec.values.get("where", ())) - set(spec.values.get("flush", ()))
    for cut in design.forms[piece.body.form].cuts:
        if cut.kind != "plane" or cut.id not in bounding:
            continue
        own = direction(cut.values["normal"])
        place = matrix[:3, :3] @ (own * cut.values["at"]) + matrix[:3, 3]
        off = [abs(float((place - foot) @ normal) - t) for t in (0.0, other.stock.thickness * other.layers)]
        if abs(float(matrix[:3, :3] @ own @ normal)) > _ALIKE and min(off) < _SAME:
            return (
                f"; the edge of {piece.id} at its cut {cut.id} is square to its foam: with flush: [{cut.id}] it lies in "
                f"the plane that {other.id} lies in"
            )
    return ""

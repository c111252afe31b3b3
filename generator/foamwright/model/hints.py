"""What may be meant where two parts share space."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from foamwright.design.records import CutSpec, Design
from foamwright.forms.nearest import NearestPoint
from foamwright.geometry import tangents
from foamwright.parts.placing import direction
from foamwright.parts.records import BandBody, Body, FlatBody, PanelBody, PanelEdge, Piece

_UPRIGHT = (
    "; a band is a straight strip that stands square to its plane: on a form that leans there use a cover, or a panel "
    "with `over`"
)
_ALIKE, _SAME = 0.999, 0.5  # cosine between two planes that are one, and mm between them
_AT_EDGE = 2.0  # times its thickness that a panel shares space no further from its edge: the edge is to blame
_SLANTING = math.radians(65.0)  # from square: what an edge that lies in a cut may be; our own

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
    """A part at an opening of a panel, or beside another form, where the design has the panel's edge cut square to the foam, and
    what they share of that lies beyond the cut."""
    piece, matrix = panel
    if not isinstance(piece.body, PanelBody):
        return ""
    here = np.linalg.solve(matrix[:3, :3], np.asarray(at) - matrix[:3, 3])
    off, cut, edge = min(
        ((float(np.linalg.norm(edge.points - here, axis=1).min()), edge.cut, edge) for edge in piece.body.edges),
        key=lambda found: found[0],
    )
    square = _values(design, piece).get("square", ())
    if cut not in square or off > _AT_EDGE * piece.stock.thickness:
        return ""
    spec = next(spec for spec in design.forms[piece.body.form].cuts if spec.id == cut)
    if not _beyond(spec, edge, other[0].body, here):
        return ""
    return (
        f"; the edge of {piece.id} at its cut {cut} is square to its foam, as square says: with {cut} taken out of that it "
        f"lies in the cut, past which {other[0].id} stands"
    )


def _beyond(cut: CutSpec, edge: PanelEdge, other: Body, here: np.ndarray) -> bool:
    """Does the place (3,) lie beyond a cut along which an edge is square to the foam, and could all of the edge lie in it?"""
    along = tangents(edge.points)
    within = _across(cut, along, edge, other)
    within /= np.linalg.norm(within, axis=1, keepdims=True)
    rise = (within * edge.normals).sum(axis=1)
    if np.abs(rise).min() < math.cos(_SLANTING):
        return False
    nearest = int(np.linalg.norm(edge.points - here, axis=1).argmin())
    outwards = np.cross(along[nearest], edge.normals[nearest])  # edges run counter-clockwise, seen from outside
    away = here - edge.on_form[nearest]
    return float(away @ outwards) > float(away @ edge.normals[nearest] * (within[nearest] @ outwards) / rise[nearest])


def _across(cut: CutSpec, along: np.ndarray, edge: PanelEdge, other: Body) -> np.ndarray:
    """(N, 3) directions in a cut across its line `along` (N, 3) an edge; the normals where it is square to its form, or
    by a form that the other part is not cut from."""
    if cut.kind in ("prism", "curve"):
        axis = direction(cut.values["along"])
        return np.asarray(axis - (along @ axis)[:, None] * along)
    if cut.kind == "plane":
        return np.cross(direction(cut.values["normal"]), along)
    if cut.kind == "form" and isinstance(other, PanelBody) and other.form == cut.values["form"]:
        return np.cross(other.surface.normal(NearestPoint(other.surface).coords(edge.points)), along)
    return np.array(edge.normals)


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

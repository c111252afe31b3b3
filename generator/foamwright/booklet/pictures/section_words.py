"""Which way is which in a section: the outside of what is curved and the way up, where the section leaves room for the words.
Lengths in mm on paper."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from scipy.spatial import cKDTree

from foamwright.assembly.bodies import Bodies, outward
from foamwright.booklet.pictures.strokes import HIGH, arrow_up, room_of_arrow_up
from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Primitive, Text
from foamwright.language import say
from foamwright.parts.records import BandBody, PanelBody

_WHITE = 0.5  # around them
_SIDEWAYS = 0.5  # of the way off a face that lies in the section; less, and neither side of it is the outside
_TRIED = 14  # places across and up


def outside_of(
    bodies: Bodies, copies: Sequence[int], at: np.ndarray, view: np.ndarray
) -> tuple[int, np.ndarray] | None:
    """The first of the copies that is curved, and the way (2,) off its outside face at a place, across and up in a `view` (3, 3);
    None where none is, or its outside is not seen from its side."""
    for copy in copies:
        piece = bodies.pieces[copy]
        if isinstance(piece.body, PanelBody | BandBody):
            places, normals = outward(piece, bodies.matrices[copy])
            off = view[:2] @ normals[cKDTree(places).query(at)[1]]
            size = float(np.linalg.norm(off))
            return (copy, off / size) if size > _SIDEWAYS else None
    return None


def words(
    foam: shapely.Geometry,
    window: shapely.Geometry,
    outside: tuple[shapely.Geometry, np.ndarray] | None,
    is_upright: bool,
) -> list[Primitive]:
    """The word "outside" on the outside of a shape, off which a way (2,) leads there, and an arrow "up" where up on paper is up
    in the prop: each within the window and clear of all `foam`, or not at all."""
    drawn: list[Primitive] = []
    taken = foam
    if outside is not None:
        shape, off = outside
        word = say("outside")
        half = np.array([text_width(word, HIGH) / 2.0, HIGH / 2.0])
        home = np.array(shape.centroid.coords[0])
        spot = _free(taken, window, half, home, lambda places: (places - home) @ off > 0.0)
        if spot is not None:
            drawn.append(Text((float(spot[0]), float(spot[1] - 0.36 * HIGH)), word, HIGH, "note", "middle"))
            taken = shapely.union(taken, shapely.box(*(spot - half), *(spot + half)))
    if is_upright:
        half = room_of_arrow_up() / 2.0
        x0, _, x1, y1 = window.bounds
        corners = np.array([(x1, y1), (x0, y1)])
        spots = [_free(taken, window, half, corner, lambda places: np.ones(len(places), bool)) for corner in corners]
        found = [
            (round(float(np.linalg.norm(s - c)), 3), i) for i, (s, c) in enumerate(zip(spots, corners)) if s is not None
        ]
        if found:
            spot = spots[min(found)[1]]
            assert spot is not None
            drawn += arrow_up(*(spot - half).tolist())
    return drawn


def _free(
    taken: shapely.Geometry, window: shapely.Geometry, half: np.ndarray, near: np.ndarray, allowed
) -> np.ndarray | None:
    """The middle (2,) nearest to a place of a box within the window that is clear of what is taken."""
    x0, y0, x1, y1 = window.bounds
    room = np.array([x1 - x0, y1 - y0]) / 2.0 - half - _WHITE
    if (room < 0.0).any():
        return None
    middle = np.array([x0 + x1, y0 + y1]) / 2.0
    share = np.linspace(-1.0, 1.0, _TRIED)
    places = middle + room * np.stack(np.meshgrid(share, share), axis=-1).reshape(-1, 2)
    places = places[allowed(places)]
    grown = half + _WHITE
    boxes = shapely.box(*(places - grown).T, *(places + grown).T)
    places = places[~shapely.intersects(boxes, taken)]
    if not len(places):
        return None
    return np.asarray(places[int(np.round(np.linalg.norm(places - near, axis=1), 6).argmin())])

"""Tabs on the edge of one flat part, and the slots in another that they enter. Lengths in mm.

A tab is stated once. The slot is where the tab stands in the prop, so the two cannot disagree: as wide as the
tab's foam and as long as the tab, both more by the fit. The tab ends flush with the far face.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from foamwright.design.records import PartSpec
from foamwright.errors import BuildError
from foamwright.parts import outlines
from foamwright.parts.flat import flat_body
from foamwright.parts.placing import move
from foamwright.parts.records import EdgeRun, FlatBody, Piece, Slot

_OFF = 0.05  # mm an edge may lie off the face that its tab enters
_HEAD_ON = 0.9998  # cosine of the angle at which a tab may enter
_ROOT = 0.5  # mm that a tab reaches into its own part, so that the two are one


def with_tabs(pieces: Sequence[Piece], specs: Mapping[str, PartSpec]) -> tuple[Piece, ...]:
    """All pieces with their tabs and the slots for them, of a whole as a box in the member that the edge lies on. Raises
    BuildError for a tab that enters nothing, and where the copies of a part would have different slots: two that face each other
    may take a tab each of what stands between them."""
    by_id = {piece.id: piece for piece in pieces}
    entered: dict[str, list[_Entry]] = {}
    for piece in pieces:
        spec = specs[piece.id]
        for tab in spec.values.get("tabs") or ():
            where = f"{spec.where}: part {piece.id}: tab into {tab['into']}"
            members = [one for one in pieces if tab["into"] in (one.id, specs[one.id].values.get("whole"))]
            tried: list[BuildError] = []
            for other in members:
                try:
                    by_id[piece.id], slots = _joined(by_id[piece.id], by_id[other.id], tab)
                except BuildError as error:
                    tried.append(error)
                    continue
                entered.setdefault(other.id, []).append(_Entry(where, piece.id, slots))
                break
            else:
                raise BuildError(f"{where}: {tried[0]}") from tried[0]
    for part, entries in entered.items():
        _refuse_unlike(entries)
        for entry in entries:
            by_id[part] = _slotted(by_id[part], entry.slots[0], entry.part)
    return tuple(by_id[piece.id] for piece in pieces)


@dataclass(frozen=True)
class _Entry:
    """A tab of a `part` that enters another: the `slots` for all of its copies, by copy of the other."""

    where: str
    part: str
    slots: Sequence[Sequence[Polygon]]


def _refuse_unlike(entries: Sequence[_Entry]) -> None:
    first, *others = (
        [slot for entry in entries for slot in entry.slots[copy]] for copy in range(len(entries[0].slots))
    )
    for mine in others:
        if not shapely.union_all(mine).equals_exact(shapely.union_all(first), 1e-6, normalize=True):
            unlike = next((entry for entry in entries if len(set(map(len, entry.slots))) > 1), entries[0])
            raise BuildError(f"{unlike.where}: its copies would have different slots; make a part of its own of each")


def _joined(piece: Piece, other: Piece, tab: Mapping[str, Any]) -> tuple[Piece, list[list[Polygon]]]:
    """The piece with a tab, and the slots for it by copy of the other."""
    if not isinstance(other.body, FlatBody) or not other.placements:
        raise BuildError("only flat parts that stand in the prop take a tab")
    for part in (piece, other):
        if any(any(run.bevel) for run in part.body.runs):
            raise BuildError(f"{part.id} has bevelled edges; tabs and slots are square")
    if piece.body.radius is not None:
        raise BuildError("a round part has no straight edge for a tab")
    root, along, out = _root(piece.body, np.asarray(tab["at"], float), tab["length"])
    slots = _slots(piece, other, root, along, out, tab)
    return _tabbed(piece, root, along, out, tab["length"], other.thickness), slots


def _root(body: FlatBody, at: np.ndarray, length: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Middle of the tab on the straight side nearest to `at`, the side's direction, and the way out. (2,) each."""
    ring = shapely.get_coordinates(Polygon(body.outline).simplify(1e-6).exterior)
    sides = [LineString(pair) for pair in pairwise(ring)]
    side = min(sides, key=lambda line: line.distance(Point(at)))
    middle = side.project(Point(at))
    if middle < length / 2 - 1e-6 or middle > side.length - length / 2 + 1e-6:
        raise BuildError(
            f"no room for {length:g} mm on a straight side of {side.length:.2f} mm near [{at[0]:g}, {at[1]:g}]"
        )
    a, b = shapely.get_coordinates(side)
    along = (b - a) / side.length
    return a + middle * along, along, np.array([along[1], -along[0]])  # the outline runs counter-clockwise


def _slots(piece: Piece, other: Piece, root, along, out, tab) -> list[list[Polygon]]:
    """The slots for the tab of every copy, in the plane of `other`, by copy of that."""
    body, thick, deep = piece.body, piece.thickness, other.thickness
    middle = body.frame.to_space(np.array([[*root, thick / 2]]))[0]
    directions = body.frame.axes @ np.column_stack([[*along, 0.0], [*out, 0.0]])
    by_copy = []
    nearest = np.inf
    for host in other.placements:
        back = np.linalg.inv(host.matrix)
        mine = []
        for place in piece.placements:
            matrix = back @ place.matrix
            where = other.body.frame.to_frame(move(middle[None], matrix))[0]
            side, entering = (other.body.frame.axes.T @ matrix[:3, :3] @ directions).T
            off = abs(where[2] - (0.0 if entering[2] > 0 else deep))
            if not Polygon(other.body.outline).covers(Point(where[:2])) or abs(entering[2]) < _HEAD_ON:
                continue
            nearest = min(nearest, off)
            if off <= _OFF:
                mine.append(_rectangle(where[:2], side[:2], tab["length"] + tab["fit"], thick + tab["fit"]))
        by_copy.append(mine)
    if not any(by_copy):
        near = f"; its edge lies {nearest:.2f} mm off the face" if nearest < np.inf else ""
        raise BuildError(f"the tab does not enter square where that part is{near}")
    return by_copy


def _rectangle(centre: np.ndarray, along: np.ndarray, length: float, width: float) -> Polygon:
    a, b = along * length / 2, np.array([-along[1], along[0]]) * width / 2
    return Polygon([centre - a - b, centre + a - b, centre + a + b, centre - a + b])


def _tabbed(piece: Piece, root, along, out, length: float, depth: float) -> Piece:
    tab = _rectangle(root + out * (depth - _ROOT) / 2, along, length, depth + _ROOT)
    shape = Polygon(piece.body.outline, piece.body.holes).union(tab)
    return replace(piece, body=_reshaped(piece, shape))


def _slotted(other: Piece, slots: Sequence[Polygon], part: str) -> Piece:
    shape = Polygon(other.body.outline, other.body.holes).difference(shapely.union_all(slots))
    body = _reshaped(other, shape)
    cut = tuple(
        Slot((float(slot.centroid.x), float(slot.centroid.y)), part, tuple(slot.exterior.coords)[:-1]) for slot in slots
    )
    return replace(other, body=replace(body, slots=(*body.slots, *cut)))


def _reshaped(piece: Piece, shape: shapely.Geometry) -> FlatBody:
    """The body with another outline; what is left of an edge goes on meeting the parts that it met."""
    before = piece.body
    made = flat_body(outlines.whole(shape, "with its tabs and slots"), before.frame)
    edges = [(_line(before, run), run.joins) for run in before.runs]
    runs = []
    for run in made.runs:
        line = _line(made, run)
        joins = [names for edge, names in edges if edge.buffer(0.01).covers(line)]
        runs.append(replace(run, joins=joins[0] if joins else ()))
    return replace(before, outline=made.outline, holes=made.holes, runs=tuple(runs))


def _line(body: FlatBody, run: EdgeRun) -> LineString:
    return LineString(body.outline[np.arange(run.start, run.stop + 1) % len(body.outline)])

"""Parts that are larger than the sheet: cut into segments that are glued up to the whole. Lengths in mm.

Plates are joined by dovetails, so that the joint holds itself while the glue sets; strips by a scarf, whose ends
are bevelled and overlap, so that the strip still bends evenly.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely import Polygon
from shapely.ops import split as parted

from foamwright.design.records import Stock
from foamwright.errors import BuildError, together
from foamwright.flatten.records import Pattern, Segment, Split, cut_square, silhouette
from foamwright.parts.records import BandBody, FlatBody, RodBody
from foamwright.registry import kind

SCARF = 3.0  # length of a scarf in thicknesses: common practice, no source
_DEPTH = (6.0, 20.0)  # least and greatest depth of a dovetail; between, twice the thickness of the foam
_PITCH = 4.0  # from one dovetail to the next, in depths
_FLARE = 0.25  # on each side of a dovetail, in depths: 14 degrees
_MOST = 12  # segments along a part


def with_split(pattern: Pattern, stated: Mapping[str, Any] | None) -> Pattern:
    """The pattern with its segments, if the design states a split or no sheet of its stock holds the part.

    Panels are never split: another cut of their form divides them along a seam. Raises BuildError where the
    joint finds no room, or where a segment is still larger than the sheet.
    """
    piece = pattern.piece
    if pattern.split is not None or not _may_be_split(pattern):  # a mitred band falls into its pieces by itself
        return pattern
    if not stated and fits(silhouette(pattern), piece.stock):
        return pattern
    try:
        return replace(pattern, split=_split(pattern, stated or {}))
    except BuildError as error:
        raise BuildError(f"part {piece.id}: {error}") from error


def fits(foam: Polygon, stock: Stock) -> bool:
    """Does a sheet, or the roll, hold this piece within the margin left along its edges?"""
    width, length = stock.sheet if stock.roll is None else (stock.roll, np.inf)
    room = np.array([width, length]) - 2 * stock.edge
    x0, y0, x1, y1 = foam.bounds
    boxes = [(x1 - x0, y1 - y0)]
    if stock.turn == "free":
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(foam))
        sides = np.hypot(*np.diff(corners[:3], axis=0).T)
        boxes += [boxes[0][::-1], tuple(sides), tuple(sides[::-1])]
    return any((np.array(box) <= room).all() for box in boxes)


def refuse_too_large(patterns: Sequence[Pattern], on_hand: Mapping[str, Sequence[tuple[float, float]]]) -> None:
    """BuildError for a part with a piece that neither a sheet of its stock holds nor one of those on hand (width and length,
    by stock): long before anything is laid on sheets."""
    refused = []
    for pattern in patterns:
        stock = pattern.piece.stock
        sheets = [stock, *(replace(stock, sheet=size, roll=None) for size in on_hand.get(stock.id, ()))]
        pieces = pattern.split.segments if pattern.split else (pattern,)
        held = all(any(fits(silhouette(piece), sheet) for sheet in sheets) for piece in pieces)
        if not pattern.piece.bought and not held:
            refused.append(BuildError(too_large(pattern)))
    if refused:
        raise together(refused)


def too_large(pattern: Pattern) -> str:
    """What is told of a part that no sheet holds."""
    piece, stock = pattern.piece, pattern.piece.stock
    width, length = pattern.outline.max(axis=0) - pattern.outline.min(axis=0)
    turn = {"free": "", "half": ", turned by 180 degrees at most", "none": ", not turned"}[stock.turn]
    has = (
        f"sheets of {stock.sheet[0]:g} x {stock.sheet[1]:g} mm"
        if stock.roll is None
        else f"a roll {stock.roll:g} mm wide"
    )
    return (
        f"part {piece.id}: {piece.name} is {width:.0f} x {length:.0f} mm and fits no sheet: {stock.id} comes in {has}"
        f"{turn}, less {stock.edge:g} mm at each edge; cut the part in two with another cut of its form, or choose "
        "a stock with larger sheets"
    )


def _may_be_split(pattern: Pattern) -> bool:
    """Foam parts that are flat or bend one way; a machine cuts rigid stock, and a scored strip is folded."""
    piece, body = pattern.piece, pattern.piece.body
    if piece.bought or piece.stock.kerf is not None or kind(piece.kind).in_one_piece:
        return False
    return isinstance(body, FlatBody | RodBody) or (isinstance(body, BandBody) and not body.corners)


_Cut = tuple[list[Polygon], list[np.ndarray]]  # the segments, and the lines (N, 2) between them


@dataclass(frozen=True)
class _Along:
    """Coordinates (u, v) with u along the axis that is divided: x, or y with `turned`."""

    turned: bool

    def points(self, uv: ArrayLike) -> np.ndarray:
        """(N, 2) from (u, v) to (x, y), or back."""
        return np.asarray(uv, float)[:, ::-1] if self.turned else np.asarray(uv, float)

    def bounds(self, foam) -> tuple[float, float, float, float]:
        x0, y0, x1, y1 = foam.bounds
        return (y0, x0, y1, x1) if self.turned else (x0, y0, x1, y1)

    def box(self, u0: float, v0: float, u1: float, v1: float) -> Polygon:
        return shapely.box(v0, u0, v1, u1) if self.turned else shapely.box(u0, v0, u1, v1)


def _split(pattern: Pattern, stated: Mapping[str, Any]) -> Split:
    piece, whole = pattern.piece, silhouette(pattern)
    strip = isinstance(piece.body, BandBody | RodBody) or pattern.strip is not None
    joint = stated.get("joint") or ("scarf" if strip else "puzzle")
    x0, y0, x1, y1 = whole.bounds
    along = _Along(turned=(stated["across"] == "y") if "across" in stated else y1 - y0 > x1 - x0)
    divide: Callable[[Polygon, _Along, Sequence[float], float], _Cut] = {
        "scarf": _scarfed,
        "puzzle": _dovetailed,
        "butt": _butted,
    }[joint]
    reach = (SCARF if joint == "scarf" else 0.0) * piece.stock.thickness
    if "at" in stated:
        # told in the part's own axes, of which a pattern, seen from inside, has x turned
        shares = sorted(stated["at"] if along.turned else [1 - share for share in stated["at"]])
        places = _at_shares(along, whole, shares)
        return _made(joint, *divide(whole, along, places, piece.stock.thickness), pattern)
    for count in range(2, _MOST + 1):
        places = _even(along, whole, count, reach)
        try:
            return _made(joint, *divide(whole, along, places, piece.stock.thickness), pattern)
        except _StillTooLarge as error:
            refusal = error
    raise refusal


class _StillTooLarge(BuildError):
    """A segment that no sheet holds."""


def _made(joint: str, foam: Sequence[Polygon], lines: Sequence[np.ndarray], pattern: Pattern) -> Split:
    """The split of a pattern whose silhouette was cut into `foam`: both faces are cut along the same lines."""
    stock = pattern.piece.stock
    for segment in foam:
        if not fits(segment, stock):
            width, length = stock.sheet
            x0, y0, x1, y1 = segment.bounds
            raise _StillTooLarge(
                f"a segment of {x1 - x0:.0f} x {y1 - y0:.0f} mm fits no sheet of {width:g} x {length:g} mm; "
                "state `split` with more shares or the other axis, or choose a stock with larger sheets"
            )
    other = Polygon(pattern.other_outline, pattern.other_holes)
    drawn = Polygon(pattern.outline, pattern.holes)
    segments = []
    for whole in foam:
        faces = (whole, whole) if cut_square(pattern) else (_one(drawn & whole), _one(other & whole))
        (outline, holes), (other_outline, other_holes) = map(_rings, faces)
        segments.append(Segment(outline, holes, float(faces[0].area), other_outline, other_holes))
    return Split(joint, tuple(segments), tuple(lines))


def _rings(foam: Polygon) -> tuple[np.ndarray, tuple[np.ndarray, ...]]:
    return _ring(foam.exterior), tuple(_ring(hole) for hole in foam.interiors)


def _ring(ring) -> np.ndarray:
    points = np.array(ring.coords)[:-1]
    return points if ring.is_ccw else points[::-1]


def _at_shares(along: _Along, whole: Polygon, shares: Sequence[float]) -> list[float]:
    u0, _, u1, _ = along.bounds(whole)
    return [u0 + share * (u1 - u0) for share in shares]


def _even(along: _Along, whole: Polygon, count: int, overlap: float) -> list[float]:
    """Where `count` segments of one length meet, that overlap each other by so much."""
    u0, _, u1, _ = along.bounds(whole)
    step = (u1 - u0 - overlap) / count
    return [u0 + overlap / 2 + step * k for k in range(1, count)]


def _scarfed(whole: Polygon, along: _Along, places: Sequence[float], thickness: float) -> _Cut:
    """Segments that overlap, cut square; both ends of each overlap are lines."""
    half = SCARF * thickness / 2
    u0, v0, u1, v1 = along.bounds(whole)
    if any(b - a < 2 * half for a, b in zip([u0, *places], [*places, u1])):
        raise BuildError(f"scarfs {2 * half:.0f} mm long find no room so close together")
    starts = [u0 - 1.0, *(place - half for place in places)]
    ends = [*(place + half for place in places), u1 + 1.0]
    foam = [_one(whole & along.box(a, v0 - 1, b, v1 + 1)) for a, b in zip(starts, ends)]
    lines = []
    for place in places:
        for u in (place - half, place + half):
            lines += _inside(whole, shapely.LineString(along.points([[u, v0 - 1], [u, v1 + 1]])))
    return foam, lines


def _butted(whole: Polygon, along: _Along, places: Sequence[float], thickness: float) -> _Cut:
    _, v0, _, v1 = along.bounds(whole)
    return _parted(whole, along, [along.points([[u, v0 - 1], [u, v1 + 1]]) for u in places])


def _dovetailed(whole: Polygon, along: _Along, places: Sequence[float], thickness: float) -> _Cut:
    return _parted(whole, along, [_dovetails(whole, along, u, thickness) for u in places])


def _dovetails(whole: Polygon, along: _Along, u: float, thickness: float) -> np.ndarray:
    """A line (N, 2) square across the part at `u` with dovetails wherever it runs through foam."""
    _, v0, _, v1 = along.bounds(whole)
    depth = float(np.clip(2 * thickness, *_DEPTH))
    while depth >= _DEPTH[0]:
        rooms = _rooms(whole, along, u, depth)
        if rooms and all(b - a >= _PITCH * depth for a, b in rooms):
            break
        depth *= 0.9
    else:
        raise BuildError(
            "it is too narrow for the dovetails of a puzzle joint there; state `split` elsewhere or a butt joint"
        )
    low, high = u - depth / 2, u + depth / 2
    points = [(low, v0 - 1)]
    for a, b in rooms:
        count = int((b - a) / (_PITCH * depth))
        pitch = _PITCH * depth
        first = (a + b) / 2 - pitch * (count - 1) / 2
        neck, head = pitch / 4 - _FLARE * depth / 2, pitch / 4 + _FLARE * depth / 2
        for middle in first + pitch * np.arange(count):
            points += [
                (low, middle - neck),
                (high, middle - head),
                (high, middle + head),
                (low, middle + neck),
            ]
    return along.points([*points, (low, v1 + 1)])


def _rooms(whole: Polygon, along: _Along, u: float, depth: float) -> list[tuple[float, float]]:
    """From where to where dovetails may stand: one stretch for each run of foam along the line."""
    _, v0, _, v1 = along.bounds(whole)
    swath = along.box(u - depth, v0 - 1, u + depth, v1 + 1)
    boxes = [along.bounds(part) for part in shapely.get_parts(swath - whole)]
    shut = sorted((v, w) for _, v, _, w in boxes)
    rooms, reached = [], v0 - 1
    for v, w in shut:
        if v - reached > depth:
            rooms.append((reached + depth / 2, v - depth / 2))
        reached = max(reached, w)
    return rooms


def _parted(whole: Polygon, along: _Along, lines: Sequence[np.ndarray]) -> _Cut:
    foam, drawn = [whole], []
    for line in lines:
        cut = shapely.LineString(line)
        foam = [part for piece in foam for part in shapely.get_parts(parted(piece, cut))]
        drawn += _inside(whole, cut)
    if abs(sum(part.area for part in foam) - whole.area) > 1e-6 * whole.area:
        raise BuildError("its segments do not make up the whole")
    foam.sort(key=lambda part: tuple(np.round(along.points(np.array(part.centroid.coords))[0], 3)))
    return foam, drawn


def _inside(whole: Polygon, line) -> list[np.ndarray]:
    return [np.array(part.coords) for part in shapely.get_parts(whole & line) if part.length > 0.01]


def _one(foam) -> Polygon:
    if foam.geom_type != "Polygon":
        raise BuildError("the joint would leave it in loose pieces; state `split` elsewhere or with a butt joint")
    return foam

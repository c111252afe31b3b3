"""How the placement lines on a part look to whoever lays another part there, for the sentences of the booklet: its darts are
closed by then. Lengths in mm."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from foamwright.flatten.records import Pattern, face_of
from foamwright.templates.records import Mark

ROUND, RING, LINES, ONE, NONE = "round", "ring", "lines", "one", "none"
BY_HOLE, BY_RIM = "one by a hole", "one by the rim"

_BESIDE = 0.3  # by which a line may lie beside the edge of the foam and not be told from it: less than a pencil is wide
_HOLLOW = 0.1  # of what its outer line encloses that is open within: less, as the eye of a fish, and it is no ring
_BROKEN = 0.2  # of a line, so much that a hole takes out of it: more, and the hole is one side of the field
_SHORT = 3.0  # of a line that comes to the edge there and back
_STRIP = 30.0  # perimeter squared by area from which a field is a strip, as an edge leaves it: of a square it is 16
_EVEN = 0.6  # of its greatest width that a strip has on the mean
_OBLONG = 2.1  # times as long as it is wide, that a field has two ends
_END = 0.7  # of the length of such a field; less of it hidden is an end, cut askew as it may be
_SIDE = 0.3  # of the length of a strip: hidden so far, one of its two long sides is


@dataclass(frozen=True)
class Shown:
    """How the line of a part looks on one that it meets: a closed line "round" it; one around and one within a "ring"; "lines"
    that it comes between; "one" line that it comes between and the edge of the foam, of a hole of it "one by a hole", and "one
    by the rim" of foam that has another edge as well, as a ring has; "none", as it ends all round where the foam does.

    `pairs` are the copies (from 1) of the part that carries the line, each with the copy that comes there; `with_v`: a V beside
    it has one at the edge of that part to meet it.
    """

    looks: str
    pairs: tuple[tuple[int, int], ...]
    with_v: bool = False


PlacementLines = Mapping[
    tuple[str, str], tuple[Shown, ...]
]  # by the part that carries the lines, and the one that comes there


def placement_lines(marks: Iterable[tuple[Pattern, tuple[Mark, ...]]], with_v: Collection[Mark] = ()) -> PlacementLines:
    """The lines of each pattern with its marks, those `with_v` having a V beside them."""
    found: dict[tuple[str, str], tuple[Shown, ...]] = {}
    for pattern, drawn in marks:
        # Once a dart is closed, a line that ends at one of its legs goes on from the other.
        wedges = [dart.wedge.buffer(0.0) for dart in pattern.darts]
        whole = {inside: _fused(face_of(pattern, inside), wedges) for inside in {mark.on_inside for mark in drawn}}
        for mark in drawn:
            key = pattern.piece.id, mark.upper.id
            region = _fused(mark.region, [_across(wedge, mark.region) for wedge in wedges])
            found[key] = (*found.get(key, ()), Shown(looks(region, whole[mark.on_inside]), mark.of, mark in with_v))
    return found


def _across(wedge: shapely.Geometry, region: shapely.Geometry) -> shapely.Geometry:
    """What of a dart's wedge lies between the stretches of its legs that a region comes to."""
    return wedge & shapely.convex_hull(wedge & shapely.buffer(region, _BESIDE))


def _fused(region: shapely.Geometry, gaps: Sequence[shapely.Geometry]) -> shapely.Geometry:
    """A region with the gaps in it filled, and no hair left between."""
    if all(gap.is_empty for gap in gaps):
        return region
    grown = shapely.buffer(shapely.union_all([region, *gaps]), _BESIDE, join_style="mitre")
    return shapely.buffer(grown, -_BESIDE, join_style="mitre")


def looks(region: shapely.Geometry, foam: shapely.Polygon) -> str:
    """How the line round a `region` of the `foam` looks."""
    fields = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon" and not part.is_empty]
    each = {_looks(field, foam) for field in fields}
    if len(each) > 1 and each <= {ONE, BY_HOLE, BY_RIM}:
        return ONE
    return each.pop() if len(each) == 1 else LINES if each else NONE


def _looks(field: shapely.Polygon, foam: shapely.Polygon) -> str:
    border, outer = field.boundary, shapely.Polygon(field.exterior)
    seen = shapely.line_merge(border - shapely.buffer(foam.boundary, _BESIDE))
    runs = [run for run in shapely.get_parts(seen) if run.length > _SHORT]
    hidden = border.length - sum(run.length for run in runs)
    if not runs:
        return NONE
    if hidden < _SHORT and outer.area - field.area > _HOLLOW * outer.area:
        return RING
    if _is_strip(outer):
        one = hidden > _SIDE * border.length / 2.0 + 2.0 * field.area / border.length
        return _one(border, foam) if one else LINES
    if hidden < _SHORT or (hidden < _BROKEN * border.length and _at_hole(border, foam) > hidden / 2.0):
        return ROUND
    return _one(border, foam) if len(runs) == 1 and not _is_open_at_end(outer, hidden) else LINES


def _is_open_at_end(outer: shapely.Polygon, hidden: float) -> bool:
    """Is it at an end, and not along a side, that a field ends with the foam, `hidden` mm of it? Two lines are beside it then."""
    box = shapely.get_coordinates(outer.minimum_rotated_rectangle)
    short, long = sorted(np.linalg.norm(np.diff(box[:3], axis=0), axis=1).tolist())
    return long > _OBLONG * short and hidden < _END * long


def _one(border: shapely.Geometry, foam: shapely.Polygon) -> str:
    """Which edge of the foam a field ends at whose other border is a line."""
    if _at_hole(border, foam) > border.intersection(shapely.buffer(foam.exterior, _BESIDE)).length:
        return BY_HOLE
    open_ = sum(shapely.Polygon(ring).area for ring in foam.interiors)
    return BY_RIM if open_ > _HOLLOW * shapely.Polygon(foam.exterior).area else ONE


def _at_hole(border: shapely.Geometry, foam: shapely.Polygon) -> float:
    """How much of the border of a field runs along holes of the foam."""
    holes = shapely.MultiLineString([ring.coords for ring in foam.interiors])
    return float(border.intersection(shapely.buffer(holes, _BESIDE)).length)


def _is_strip(outer: shapely.Polygon) -> bool:
    """Is a field long, and about as wide everywhere as it is on the mean? A fish is as long for its area, and no strip."""
    if outer.length**2 <= _STRIP * outer.area:
        return False
    return 2.0 * outer.area / outer.length > _EVEN * 2.0 * shapely.maximum_inscribed_circle(outer).length

"""Outlines of the parts that are glued face to face on another, as lines on the pattern of the lower one.

The upper part's contact face is taken where it stands in the prop, brought to the place of the lower part's
first copy, and each of its points is carried to the lower's pattern along the lower's normal. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import affinity

from foamwright.contacts.copies import MOST
from foamwright.contacts.footprints import Footprint, footprints
from foamwright.contacts.joins import parts_glued
from foamwright.contacts.records import FACES, Contacts, End
from foamwright.flatten.bands import grooves
from foamwright.flatten.records import Pattern, Patterns, face_of
from foamwright.parts.records import FlatBody, Piece, RodBody
from foamwright.templates.contact_faces import INSET, contact_faces
from foamwright.templates.landing import STEP, Landing, land
from foamwright.templates.records import Mark

_SIMPLIFY = 0.01
OVERHANG = 1.5  # mm that a part reaches beyond another before anybody wonders (no source)
_SLIVER = 0.25  # a mark narrower than twice this only touches the part
_PLACE = 3.0  # mm of an edge: what is narrower is a crumb, and nothing is put there by it (no source),
_ALL_OF_IT = 0.75  # unless so much of the edge is no wider,
_LONG = 6.0  # or it is longer than so: half its outline squared, by its area
_ROUGHLY = 0.05  # mm that a width may be off
_EDGE_ON = 0.1  # by which the outline of a contact is straightened
_WANDERS = 1.6  # mm, what a border may wander from one side of its way to the other
_EVENED = 10.0  # mm of such a border that are drawn as one curve, to both sides of each place
_CORNER = 0.5  # radians, what a border turns by at a corner that is meant
_EVEN = 0.01  # mm, by which the gap of two faces that lie flat on each other may differ from place to place
_SAME_LINE = 1.0  # mm by which the lines of two copies may lie apart: two pencil lines so near are one,
_SAME_PLACE = 0.1  # or by as much as a border wanders, if that is no larger a share of their area
_BACKED = 0.8  # share of a part that lies on others from which glue goes all over it, or nearly
_COVERED = 0.98  # share of a face from which all of it counts as covered
_EQUAL = 1e-6  # share of a face that another is larger or smaller, from which it counts as that
_LEAST_FIELD = 1.0  # mm2 of a field between lines
_ON_LINE = 0.01  # mm
_BOTH_SIDES = 10.0  # mm of a line with a contact on both sides of it, or on none, that count as none
_FIELDS = 10  # of the largest, of which a contact may cover some


def marks(patterns: Patterns, pattern: Pattern, contacts: Contacts | None = None) -> tuple[Mark, ...]:
    """Every mark on `pattern`, whole as far as the face goes that it is on: of a bevelled part one face is larger.

    With `contacts`, of every copy by itself: what is marked on some copies only says on which, and of what some of many copies
    lie on nothing is marked. A part that is glued
    on face to face is marked on the larger one, what stands on a face with its edge is marked there. Without them
    the declared laps are carried to the first copy, and a copy that does not touch it gives none.
    """
    lower = pattern.piece
    if not lower.placements:
        return ()
    if contacts is None:
        wanted = [lap.upper for lap in patterns.prop.laps if lap.lower == lower.id]
        pairs = [(1, part, number + 1) for part in wanted for number in _numbers(patterns.prop.piece(part))]
        return tuple(mark for pair in pairs if (mark := _lap_mark(patterns, pattern, *pair)))
    drawn: list[Mark] = []
    for copy in range(1, len(lower.placements) + 1):
        for mark in _marks_of_copy(patterns, pattern, contacts, copy):
            twin = next((k for k, other in enumerate(drawn) if _same_mark(other, mark)), None)
            if twin is None:
                drawn.append(mark)
            else:
                known = drawn[twin]
                drawn[twin] = replace(
                    known,
                    copies=(*known.copies, copy),
                    of=(*known.of, *mark.of),
                    overhang=overhang_of_both(known.overhang, mark.overhang),
                )
    count = len(lower.placements)
    below = {lap.lower for lap in patterns.prop.laps if lap.upper == lower.id}
    return tuple(
        replace(
            mark,
            copies=() if len(set(mark.copies)) == count else mark.copies,
            glued=parts_glued(patterns.prop, mark.upper.id, lower.id),
        )
        for mark in drawn
        # where copies cannot be told apart, nobody knows which of them lie so: the line on what is below shows it
        if count <= MOST or len(set(mark.copies)) == count or mark.upper.id not in below
    )


def overhang_of_both(one: float, other: float) -> float:
    """By how much something reaches beyond on both of two copies, which are told as one; 0 where that is not the same."""
    return max(one, other) if abs(one - other) < _SAME_LINE else 0.0


def _numbers(piece: Piece) -> range:
    return range(len(piece.placements))


def _marks_of_copy(patterns: Patterns, pattern: Pattern, contacts: Contacts, copy: int) -> Iterator[Mark]:
    """What lies on one copy: declared laps by the outline of the upper part, all else by where it touches. Of two that
    are glued by a face of one to an edge of the other the edge is marked on the face, whichever is said to lie on which."""
    lower, laps = pattern.piece, {(lap.upper, lap.lower) for lap in patterns.prop.laps}
    seen: set[tuple[str, int]] = set()
    beneath: list[Mark] = []
    prints = [footprint for footprint in footprints(lower, copy, contacts) if footprint.face in FACES]
    face_to_face = {(f.other.part, f.other.copy) for f in prints if f.other.broad}
    backed = sum(f.contact.area for f in prints if f.other.broad and (lower.id, f.other.part) in laps)
    juts_out = 0.0 < backed < _BACKED * pattern.area
    for footprint in prints:
        other = footprint.other
        lies, carries = (lower.id, other.part) in laps, (other.part, lower.id) in laps
        # what reaches beyond the other shows where that ends
        reaches = footprint.contact.overhang_of(footprint.own) > OVERHANG
        if not other.broad:
            touches, lapped = not ((lies or carries) and (other.part, other.copy) in face_to_face), False
        elif lies:
            # what is covered to its rim shows no line of what lies on it, so its own is drawn on that; of what juts out from
            # all that it lies on glue goes there alone
            touches = reaches or footprint.contact.area > _COVERED * _area(patterns, other)
            lapped = juts_out and not touches
        else:
            own, theirs = _area(patterns, footprint.own), _area(patterns, other)
            # of two equally large ones that lie on each other with a part of their faces each shows where the other comes
            partly = abs(theirs - own) <= _EQUAL * own and footprint.contact.area <= _COVERED * own
            touches = not carries and (reaches or partly or theirs < own)
            lapped = carries
        mark = None
        if touches:
            mark = _touch_mark(patterns.prop.piece(other.part), pattern, footprint)
        elif lapped and (other.part, other.copy) not in seen:
            seen.add((other.part, other.copy))
            mark = _lap_mark(patterns, pattern, copy, other.part, other.copy)
        if mark is not None:
            overhang = footprint.contact.overhang_of(other) if _may_stand_out(mark, pattern) else 0.0
            mark = replace(mark, copies=(copy,), of=((copy, other.copy),), overhang=overhang)
            if lies and not touches:
                beneath.append(mark)
            else:
                yield mark
    # a stiff plate touches little of a curve that lies all below it, on this and on that side of a seam
    if shapely.union_all([mark.region for mark in beneath]).area < _BACKED * pattern.area:
        yield from beneath


def _area(patterns: Patterns, end: End) -> float:
    """The area of the broad face at one end of a contact: of a bevelled part the other face may be much larger."""
    return float(face_of(patterns.pattern(end.part), end.face == "inside").area)


def _may_stand_out(mark: Mark, pattern: Pattern) -> bool:
    """Can what is marked stand out beyond the part? What goes all round a hole of that, as a window's frame with its bars, only
    bridges it."""
    all_round = any(part.interiors for part in shapely.get_parts(mark.region) if part.geom_type == "Polygon")
    return not all_round or bool(shapely.LinearRing(pattern.outline).distance(mark.region) < INSET)


def _lap_mark(patterns: Patterns, pattern: Pattern, copy: int, part: str, number: int) -> Mark | None:
    """The outline of one copy of a part that lies on one copy of another."""
    home = np.linalg.inv(pattern.piece.placements[copy - 1].matrix)
    upper = patterns.prop.piece(part)
    return _mark(pattern, upper, home @ upper.placements[number - 1].matrix)


def _touch_mark(upper: Piece, pattern: Pattern, footprint: Footprint) -> Mark | None:
    """Where a part stands on a broad face, as the contact has it; a band as wide as the edge that stands there."""
    pieces = shapely.get_parts(touched(pattern, footprint.standing))
    least = 2.0 * _SLIVER if footprint.other.broad else min(_PLACE, _ALL_OF_IT * _foot(upper))
    region = shapely.union_all(
        [piece for piece in pieces if _is_wide(piece, 2.0 * _SLIVER if _is_long(piece) else least)]
    )
    return None if region.is_empty else Mark(upper, _outlines(region), region, footprint.face == "inside")


def _foot(part: Piece) -> float:
    """How wide a part is that stands on its edge, at its narrowest."""
    if isinstance(part.body, RodBody):
        return part.body.diameter
    if isinstance(part.body, FlatBody):
        own = shapely.Polygon(part.body.outline, part.body.holes)
        return min(part.thickness, 2.0 * float(shapely.maximum_inscribed_circle(own).length))
    return part.thickness


def _is_long(piece: shapely.Geometry) -> bool:
    return float(piece.length) ** 2 / 4.0 > _LONG * piece.area


def _is_wide(piece: shapely.Geometry, least: float) -> bool:
    return not shapely.buffer(piece, (_ROUGHLY - least) / 2.0).is_empty


def _on_face(pattern: Pattern, inside: bool) -> shapely.Geometry:
    """What foam there is on the inside face of a part or on the other: a scored strip has none in its grooves."""
    material = face_of(pattern, inside)
    _, low, _, high = material.bounds
    return material - shapely.union_all([shapely.box(a, low, b, high) for a, b in grooves(pattern.piece, inside)])


def touched_lines(pattern: Pattern, footprint: Footprint) -> tuple[np.ndarray, ...]:
    """Closed outlines (N, 2) of what is touched on a broad face, in the coordinates of the pattern; the first point is
    not repeated. Of a hole as of what bounds it."""
    return tuple(line[:-1] for line in _outlines(touched(pattern, footprint)))


def _outlines(region: shapely.Geometry) -> tuple[np.ndarray, ...]:
    rims = shapely.get_parts(region)
    return tuple(shapely.get_coordinates(ring) for rim in rims if rim.geom_type == "Polygon" for ring in _rings(rim))


def touched(pattern: Pattern, footprint: Footprint) -> shapely.Geometry:
    """The area that a contact on a broad face covers on the pattern, within that face.

    Of a contact that runs on beyond the pattern, or over a seam and on at another edge of it, what lies on the pattern.
    """
    material = _on_face(pattern, footprint.face == "inside")
    closed: list[shapely.Geometry] = []
    lines: list[shapely.Geometry] = []
    around: float | None = None
    for ring in footprint.outlines:
        loop = np.concatenate([ring, ring[:1]])
        landing = land(pattern, _resampled(np.hstack([loop, loop]))[:, :3])
        around = landing.around
        whole, open_ = _stretches(landing)
        closed += whole
        lines += open_
    covered: shapely.Geometry = shapely.Polygon()
    for area in closed:  # a hole lies within what bounds it
        covered = covered ^ area
    if around is not None:  # what runs past one end of a closed band comes in again at the other
        covered = shapely.union_all([affinity.translate(covered, turn * around) for turn in (-1, 0, 1)])
    if lines:
        covered = _fields_of(material, [*lines, *(area.boundary for area in closed)], footprint.contact.area)
    region = shapely.simplify(covered & shapely.buffer(material, -1e-3), _EDGE_ON)
    opens = footprint.contact.mean_gap - footprint.contact.gap > _EVEN
    return steadied(region) if opens else region


def steadied(region: shapely.Geometry) -> shapely.Geometry:
    """The region with an even way through a border that wanders: where a gap opens slowly, the triangles that stand
    for the two faces decide from one to the next where it is too wide. What is meant to have corners keeps them."""
    straight = shapely.simplify(region, _WANDERS)
    if 2 * _turning(straight) >= _turning(region):
        return region
    even = shapely.make_valid(
        shapely.union_all(
            [
                shapely.Polygon(_evened(part.exterior), [_evened(hole) for hole in part.interiors])
                for part in shapely.get_parts(region)
                if part.geom_type == "Polygon"
            ]
        )
    )
    return even if shapely.hausdorff_distance(even, region) <= _WANDERS else straight


def _evened(ring: shapely.Geometry) -> np.ndarray:
    """A ring (N, 2) drawn evenly from each of its corners to the next: every point is the mean of those around it."""
    corners = shapely.get_coordinates(shapely.simplify(ring, _WANDERS))[:-1]
    before, after = corners - np.roll(corners, 1, axis=0), np.roll(corners, -1, axis=0) - corners
    turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1))
    corners = corners[np.abs(turn) > _CORNER]
    if len(corners) < 2:
        return shapely.get_coordinates(shapely.simplify(ring, _WANDERS))
    at = np.sort(shapely.line_locate_point(ring, shapely.points(corners)))
    runs = []
    for start, end in zip(at, np.append(at[1:], at[0] + ring.length)):
        count = 1 + int(np.ceil((end - start) / STEP))
        along = np.linspace(start, end, count) % ring.length
        points = shapely.get_coordinates(shapely.line_interpolate_point(ring, along))
        runs.append(_mean_of_near(points, _EVENED / ((end - start) / max(count - 1, 1)))[:-1])
    return np.concatenate(runs)


def _mean_of_near(points: np.ndarray, reach: float) -> np.ndarray:
    """Evenly spaced points (N, 2) of a line, each the mean of those around, weighed by a bell curve `reach` points wide; the
    line is carried on past its ends turned about them, so that these stay."""
    wide = min(int(3 * reach), len(points) - 1)
    weights = np.exp(-0.5 * (np.arange(-wide, wide + 1) / reach) ** 2)
    longer = np.vstack([2 * points[0] - points[wide:0:-1], points, 2 * points[-1] - points[-2 : -wide - 2 : -1]])
    return np.column_stack([np.convolve(longer[:, k], weights / weights.sum(), "valid") for k in (0, 1)])


def _turning(region: shapely.Geometry) -> float:
    """By how many radians the outlines of a region turn in all, to either side."""
    total = 0.0
    for polygon in shapely.get_parts(region):
        for ring in _rings(polygon) if polygon.geom_type == "Polygon" and not polygon.is_empty else ():
            sides = np.diff(shapely.get_coordinates(ring), axis=0)
            angles = np.arctan2(sides[:, 1], sides[:, 0])
            turns = np.diff(np.append(angles, angles[0]))
            total += float(np.abs((turns + np.pi) % (2 * np.pi) - np.pi).sum())
    return total


def _stretches(landing: Landing) -> tuple[list[shapely.Geometry], list[shapely.Geometry]]:
    """A landed ring as the area within it; or, where it leaves the pattern or comes in again at another edge, as lines
    that run on a little past the pattern's edge."""
    flat, near = landing.flat, landing.near
    if landing.around is not None:
        flat = np.column_stack([np.unwrap(flat[:, 0], period=landing.around), flat[:, 1]])
    steps = np.linalg.norm(np.diff(flat, axis=0), axis=1)
    parted = (steps > landing.stride) | ~near[:-1] | ~near[1:]
    turns = bool(np.linalg.norm(flat[-1] - flat[0]) > landing.stride)  # once around a hoop
    if not near.any() or len(flat) < 4:
        return [], []
    if not parted.any() and not turns:
        return [shapely.make_valid(shapely.Polygon(flat))], []
    if parted.any() and not turns:  # begin behind a gap
        first = int(np.flatnonzero(parted)[0]) + 1
        flat, parted = np.vstack([flat[first:-1], flat[: first + 1]]), np.roll(parted, -first)
    cuts = [-1, *np.flatnonzero(parted).tolist(), len(flat) - 1]
    runs = [flat[a + 1 : b + 1] for a, b in pairwise(cuts) if b - a > 1]
    shifts = (0.0,) if landing.around is None else (-landing.around, 0.0, landing.around)
    return [], [shapely.LineString(_longer(run) + (shift, 0.0)) for run in runs for shift in shifts]


def _longer(line: np.ndarray) -> np.ndarray:
    """A line carried on straight past both its ends."""
    first, last = line[0] - line[1], line[-1] - line[-2]
    ends = (line[0] + 4 * STEP * first / np.hypot(*first), line[-1] + 4 * STEP * last / np.hypot(*last))
    return np.vstack([ends[0], line, ends[1]])


def _fields_of(material: shapely.Polygon, lines: Sequence[shapely.Geometry], area: float) -> shapely.Geometry:
    """Of the fields into which lines part the material those that a contact covers: it lies on one side of each of its lines,
    and all of it together has most nearly its area."""
    border = shapely.union_all(lines)
    net = shapely.union_all([border, material.boundary])
    fields = [
        field
        for field in shapely.get_parts(shapely.polygonize(shapely.get_parts(net)))
        if field.area > _LEAST_FIELD and material.contains(field.representative_point())
    ]
    fields = sorted(fields, key=lambda field: -field.area)[:_FIELDS]
    ends = [shapely.intersection(field.boundary, shapely.buffer(border, _ON_LINE)) for field in fields]
    shared = [
        (i, j, float(shapely.length(shapely.intersection(ends[j], shapely.buffer(ends[i], _ON_LINE)))))
        for j in range(len(fields))
        for i in range(j)
        if fields[i].distance(fields[j]) < _ON_LINE
    ]

    def order(choice: int) -> tuple[int, float]:
        same = sum(length for i, j, length in shared if (choice >> i & 1) == (choice >> j & 1))
        return round(same / _BOTH_SIDES), abs(sum(f.area for i, f in enumerate(fields) if choice >> i & 1) - area)

    best = min(range(1, 2 ** len(fields)), key=order, default=0)
    return shapely.union_all([field for i, field in enumerate(fields) if best >> i & 1])


def _rings(polygon: shapely.Polygon) -> tuple[shapely.Geometry, ...]:
    return (polygon.exterior, *polygon.interiors)


def _same_mark(one: Mark, other: Mark) -> bool:
    """Do two marks, of different copies, show the same part at the same place?"""
    if (one.upper.id, one.on_inside) != (other.upper.id, other.on_inside) or set(other.copies) <= set(one.copies):
        return False
    apart = shapely.symmetric_difference(one.region, other.region)
    most = _WANDERS if apart.area <= _SAME_PLACE * max(one.region.area, other.region.area) else _SAME_LINE
    return bool(shapely.buffer(apart, -most / 2.0).is_empty)


def marks_within(drawn: Sequence[Mark], pattern: Pattern) -> tuple[Mark, ...]:
    """What of the marks of a part lies on a `pattern`, that of the whole of it or of a segment."""
    faces = {inside: shapely.buffer(face_of(pattern, inside), -1e-3) for inside in (True, False)}
    kept = []
    for mark in drawn:
        inner = faces[mark.on_inside]
        region = mark.region & inner
        if not shapely.buffer(region, -_SLIVER).is_empty:
            lines = [part for line in mark.lines for part in _parts(shapely.LineString(line) & inner)]
            kept.append(replace(mark, lines=tuple(lines), region=region))
    return tuple(kept)


def _mark(pattern: Pattern, upper: Piece, matrix: np.ndarray) -> Mark | None:
    face = face_on(pattern, upper, matrix)
    if face is None:
        return None
    inside = face.height < pattern.piece.thickness / 2
    material = _on_face(pattern, inside)
    lines = [_line(landing, material) for landing in face.landings]
    if _lands_whole(face):
        outline, *holes = (landing.flat for landing in face.landings)
        region = material & shapely.make_valid(shapely.Polygon(outline, holes))
    else:
        beside = [
            [land(pattern, rim[:, :3] + way * (rim[:, 3:] - rim[:, :3])) for rim in face.rims] for way in (1.0, -1.0)
        ]
        region = _region(material, lines, face.landings, *beside)
    if shapely.buffer(region, -_SLIVER).is_empty:
        return None
    drawn = [part for line in lines for part in _parts(line & shapely.buffer(material, -1e-3))]
    return Mark(upper, tuple(drawn), region, inside)


def _lands_whole(face: LaidFace) -> bool:
    """Are all of its rims on the pattern as they are, over no seam or dart and round no hoop?"""
    return all(
        landing.around is None
        and landing.near.all()
        and np.linalg.norm(np.diff(landing.flat, axis=0), axis=1).max(initial=0.0) <= landing.stride
        for landing in face.landings
    )


@dataclass(frozen=True, eq=False)
class LaidFace:
    """The face of a part that lies on another: its `rims` (M, 6), points and such a little way in from them, in place there;
    where they land on the pattern of the other, and their mean `height` over its inside face."""

    rims: list[np.ndarray]
    landings: list[Landing]
    height: float


def face_on(pattern: Pattern, upper: Piece, matrix: np.ndarray) -> LaidFace | None:
    """Which of the faces of `upper`, which `matrix` (4, 4) brings to the place of a pattern's part as modelled, lies on that
    part; None where it is not near."""
    middle = pattern.piece.thickness / 2
    faces = []
    for rims in contact_faces(upper):
        rims = [_resampled(rim.reshape(-1, 3) @ matrix[:3, :3].T + matrix[:3, 3]) for rim in rims]
        landings = [land(pattern, rim[:, :3]) for rim in rims]
        heights = np.concatenate([landing.height[landing.near] for landing in landings])
        if len(heights):
            faces.append((float(np.mean(np.abs(heights - middle))), LaidFace(rims, landings, float(np.mean(heights)))))
    return min(faces, key=lambda face: face[0])[1] if faces else None


def _resampled(pairs: np.ndarray) -> np.ndarray:
    """Pairs of points (2 N, 3) of a rim as rows (M, 6), with rim points at most `STEP` apart."""
    rows = pairs.reshape(-1, 6)
    lengths = np.linalg.norm(np.diff(rows[:, :3], axis=0), axis=1)
    counts = np.maximum(np.ceil(lengths / STEP), 1).astype(int) * (lengths > 0)
    which = np.repeat(np.arange(len(lengths)), counts)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[which]
    return np.concatenate([rows[which] + share[:, None] * (rows[which + 1] - rows[which]), rows[-1:]])


def _line(landing: Landing, material: shapely.Polygon) -> shapely.Geometry:
    """What is near of a landed rim, as lines that run on past the edge of the material.

    A long step is a dart's mouth if it leads over no foam; else it joins the two sides of a seam, and the line runs on
    past both of them.
    """
    flat = landing.flat
    if landing.around is not None:  # a line past one end of a hoop comes in again at the other
        flat = np.column_stack([np.unwrap(flat[:, 0], period=landing.around), flat[:, 1]])
    ends = np.stack([flat[:-1], flat[1:]], axis=1)
    steps = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    near = landing.near[:-1] & landing.near[1:]
    jumps = near & (steps > landing.stride)
    jumps[jumps] = shapely.length(shapely.linestrings(ends[jumps]) & material) > 3 * STEP
    carried = [_carried_on(flat, step) for step in np.flatnonzero(jumps).tolist()]
    ends = np.concatenate([ends[near & ~jumps & (steps > 0)], *carried])
    if landing.around is not None:
        ends = np.round(np.concatenate([ends + np.array([turn * landing.around, 0.0]) for turn in (-1, 0, 1)]), 6)
    return shapely.simplify(shapely.line_merge(shapely.union_all(shapely.linestrings(ends))), _SIMPLIFY)


def _carried_on(line: np.ndarray, step: int) -> np.ndarray:
    """What carries a line (N, 2) on straight past both ends of one of its steps, as sides (2, 2, 2)."""
    before, after = line[step] - line[step - 1], line[step + 1] - line[(step + 2) % len(line)]
    ways = [way / max(float(np.hypot(*way)), 1e-12) for way in (before, after)]
    return np.array([[place, place + 4 * STEP * way] for place, way in zip(line[step : step + 2], ways)])


def _parts(lines: shapely.Geometry) -> list[np.ndarray]:
    """Points of each of the lines but specks."""
    merged = shapely.line_merge(lines) if lines.geom_type == "MultiLineString" else lines
    return [
        shapely.get_coordinates(part)
        for part in shapely.get_parts(merged)
        if part.geom_type == "LineString" and part.length > 0.5
    ]


def _ends_on(rim: Landing, material: shapely.Polygon) -> bool:
    """Does the line of a landed rim end somewhere on the material?"""
    ends = np.flatnonzero(rim.near[:-1] != rim.near[1:])
    return bool(shapely.contains_xy(material, *rim.flat[ends].T).any())


def _region(
    material: shapely.Polygon,
    lines: list[shapely.Geometry],
    rims: list[Landing],
    insets: list[Landing],
    outsets: list[Landing],
) -> shapely.Geometry:
    """The foam under the upper part: of the fields that the lines part it into, those with more inset points than points as
    far out, of which a few are in the wrong field: at a sharp tip the way in from one side leads out past the other.

    A line ends on the foam where the upper part leaves it, as a flat part does that lies on a curved one. What
    rises above the foam there closes the field.
    """
    if not any(material.intersects(line) for line in lines):  # all of the foam is covered, or none of it
        outer = rims[0].flat[rims[0].near]
        return material & shapely.make_valid(shapely.Polygon(outer)) if len(outer) > 2 else shapely.Polygon()
    whole = [_line(replace(rim, near=np.ones_like(rim.near)), material) for rim in rims if _ends_on(rim, material)]
    net = shapely.union_all([*lines, *whole, material.boundary])
    within, beyond = (np.concatenate([side.flat[side.near] for side in sides]) for sides in (insets, outsets))

    def is_under(field: shapely.Polygon) -> bool:
        inner, outer = (int(shapely.contains_xy(field, *places.T).sum()) for places in (within, beyond))
        return inner > max(outer, 1)

    fields = shapely.get_parts(shapely.polygonize(shapely.get_parts(net)))
    under = [field for field in fields if material.contains(field.representative_point()) and is_under(field)]
    return shapely.union_all(under)

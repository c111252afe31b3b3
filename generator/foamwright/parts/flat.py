"""Parts that are flat in the prop: plates, bulkheads, rings and discs."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LinearRing, Polygon

from foamwright.design.records import PartSpec, Stock
from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.surface import Surface
from foamwright.geometry.bevel import CUT_SQUARE_WITHIN
from foamwright.parts import outlines
from foamwright.parts.bevels import bevels_of_sides
from foamwright.parts.cut_off import cut_off
from foamwright.parts.legs import corners as corners_of
from foamwright.parts.placing import default_up, frame_at
from foamwright.parts.records import EdgeRun, FlatBody, Frame
from foamwright.parts.sections import section, sections_in
from foamwright.parts.sheets import SHARPEST

_CORNER = np.radians(5.0)  # of turn between two runs of an outline
_BEND = np.radians(1.0)  # of turn where the sections at both faces cross
_EVEN = 1.5  # mm between the points of a bevelled outline
_LEAST_POINTS = 300  # of it: between fewer a small one would turn as at corners
_STRAIGHT = 1e-3  # mm off its chord: a leg of the outline that is straight
_ON_WALL = 0.1  # mm off it, of what follows the wall
_SAME = 1e-6  # mm
_DEPTHS = 20  # of the foam that are tried, from its face
_THINNEST = 1.0  # mm: no thinner sheets of foam are sold; common practice, no source
_UNTRUE = 0.05  # mm, on the mean around a face: less than a hand cuts (no source)
_PASSES = 1.5  # times as far off as its nearest place, and a ray has passed a line by
_REST = 0.5  # of the chord beside it: the rest of one that was cut off

SurfaceOf = Callable[[str], Surface]


def plate_body(spec: PartSpec, stock: Stock, folder: str, surface_of: SurfaceOf) -> FlatBody:
    """A plate from its outline. A section taken away from it is taken at both faces, so that nothing is pinched."""
    values = spec.values
    frame = frame_at(values["at"], surface_of)
    thickness = stock.thickness * values.get("layers", 1)

    section_of, away_of = (sections_in(frame, surface_of, depths) for depths in ((0.0,), (0.0, thickness)))
    shape = outlines.polygon(values["outline"], folder, section_of, away_of)
    for other in values.get("minus") or ():
        shape = shape.difference(outlines.area(other, folder, away_of, section_of))
    return flat_body(outlines.whole(shape, f"{spec.where}: part {spec.id}"), frame)


def bulkhead_body(spec: PartSpec, stock: Stock, folder: str, surface_of: SurfaceOf, inside_offset: float) -> FlatBody:
    """A plate that fits inside a form: the sections at its two faces, less the clearance.

    `inside_offset` is how far the inner face of the parts around it lies from the form's surface.
    """
    values = spec.values
    plane = values["plane"]
    normal = direction(plane["normal"])
    up = default_up(normal)
    up = up - (up @ normal) * normal
    up = up / np.linalg.norm(up)
    frame = Frame(normal * plane["at"], np.column_stack([np.cross(up, normal), up, normal]))
    thickness = stock.thickness * values.get("layers", 1)
    wall = wall_inside(
        surface_of(values["form"]), plane, thickness, inside_offset, values["clearance"], frame, stock.is_cloth
    )
    shape = wall.shape

    section_of, away_of = (sections_in(frame, surface_of, depths) for depths in ((0.0,), (0.0, thickness)))
    if values.get("within"):
        shape = shape.intersection(outlines.polygon(values["within"], folder, section_of, away_of))
    for other in values.get("minus") or ():
        shape = shape.difference(outlines.area(other, folder, away_of, section_of))
    return wall.met_by(outlines.whole(shape, f"{spec.where}: bulkhead {spec.id}"), frame)


def wall_inside(
    surface: Surface,
    plane: Mapping,
    thickness: float,
    inside_offset: float,
    clearance: float,
    frame: Frame,
    upright: bool = False,
) -> Wall:
    """The wall that a flat part meets whose faces lie in `plane` and `thickness` mm beyond it, less the clearance; it is cut
    `upright` whatever the slope, as cloth is, or bevelled where a blade can follow that."""
    faces = []
    for depth in (0.0, thickness):
        ring = section(surface, {**plane, "at": plane["at"] + depth}, inside_offset)
        faces.append(Polygon(frame.to_frame(ring)[:, :2]).buffer(-clearance, quad_segs=32))
        if faces[-1].geom_type != "Polygon" or faces[-1].is_empty:
            left = "nothing" if faces[-1].is_empty else "more than one piece"
            raise BuildError(f"a clearance of {clearance:g} mm leaves {left} of the form's section there")
    return Wall(faces[0], faces[1], thickness, upright)


class Wall:
    """The wall that a bulkhead meets, by its sections at the two faces of that.

    Where the wall stands nearly square the bulkhead is cut square, to what both sections share. Where it slopes, the
    bulkhead is cut to all that either covers and bevelled at the face that is the smaller one there, so that it touches
    over its whole thickness: one face all round in a cone, one on either side where a bulkhead leans.
    """

    def __init__(self, inside: Polygon, outside: Polygon, thickness: float, upright: bool = False):
        self.thickness = thickness
        self.faces = inside, outside
        both = inside.union(outside)
        if both.geom_type != "Polygon":
            raise BuildError("the wall slopes so much that the form's sections at the two faces lie beside each other")
        crossings = shapely.get_coordinates(inside.exterior & outside.exterior)
        outer, self.bends = _even(Polygon(both.exterior), crossings)
        self.rim = outer.exterior
        lean = np.abs(self._draw(np.array(self.rim.coords))).max()
        self.sloped = not upright and bool(lean > CUT_SQUARE_WITHIN)
        self.shape = outer if self.sloped else inside.intersection(outside)

    def _draw(self, points: np.ndarray) -> np.ndarray:
        """How far the other face lies inwards of each side (N - 1,) of a line (N, 2) along the rim, in mm: positive
        where that is the inside face."""
        middles, sides = (points[1:] + points[:-1]) / 2.0, np.diff(points, axis=0)
        inward = np.column_stack([-sides[:, 1], sides[:, 0]]) / np.linalg.norm(sides, axis=1, keepdims=True)
        draw = []
        for face in self.faces:
            at = shapely.line_locate_point(face.exterior, shapely.points(middles))
            nearest = shapely.get_coordinates(shapely.line_interpolate_point(face.exterior, at))
            near = ((nearest - middles) * inward).sum(axis=1)
            draw.append(_straight_across(face.exterior, middles, inward, near))
        return draw[0] - draw[1]

    def met_by(self, shape: Polygon, frame: Frame) -> FlatBody:
        """What is cut out of `shape`, bevelled where its edge follows the wall."""
        cut = Polygon(_without_rests(np.array(shape.exterior.coords)[:-1]), shape.interiors)
        outline, holes = outlines.rings(cut)
        body = FlatBody(outline, holes, frame, _runs(outline, self._ends(outline) if self.sloped else ()))
        body = replace(body, runs=tuple(replace(run, bevel=self.bevel(body.outline, run)) for run in body.runs))
        if not self.sloped:
            return body
        body = cut_off(body, self.faces, self.thickness)
        self._refuse_what_no_blade_cuts(body)
        return body

    def _refuse_what_no_blade_cuts(self, body: FlatBody) -> None:
        """BuildError where a face that its bevels make of an outline crosses itself or reaches into the wall. A blade that turns
        with a tight curve crosses its own way before it is through the foam; in thinner foam it does not."""

        lean = max((abs(angle) for run in body.runs for angle in run.bevel), default=0.0)
        if lean > SHARPEST / 2:
            raise BuildError(
                f"its edge would lean by {lean:.0f} degrees, more than a blade can: the form is far narrower at one of its faces "
                "than at the other; move its plane, so that the form does not end or step in between its faces"
            )

        def faces(thickness: float) -> list[Polygon]:
            return [Polygon(face) for face in body.faces(thickness)]

        shape = Polygon(body.outline)
        made, true = faces(self.thickness), [face.intersection(shape) for face in self.faces]
        sound = all(face.is_valid for face in made)
        if sound and all(m.difference(t).area < _UNTRUE * t.length for m, t in zip(made, true)):
            return
        depths = self.thickness * np.arange(1, _DEPTHS) / _DEPTHS
        deepest = max((depth for depth in depths if all(face.is_valid for face in faces(depth))), default=0.0)
        if sound:
            remedy = "make it of several thinner bulkheads, one on the other, or put"
        elif deepest >= _THINNEST:
            remedy = f"make it of several bulkheads of at most {deepest:.1f} mm, one on the other, or put"
        else:  # no foam is that thin
            remedy = "put"
        raise BuildError(
            f"its edge leans too much around too tight a curve for {self.thickness:g} mm of foam: cuts from all sides meet "
            f"before they are through it; {remedy} its plane more nearly square to the form"
        )

    def _ends(self, outline: np.ndarray) -> np.ndarray:
        """The points of an outline (N, 2), of whatever turn, between sides that follow the wall and sides that do not,
        and those where the wall leans one way before and the other way after: where the faces' sections cross."""
        middles = (outline + np.roll(outline, -1, axis=0)) / 2.0
        along = shapely.distance(shapely.points(middles), self.rim) < _ON_WALL
        crossed = [np.flatnonzero(np.hypot(*(outline - bend).T) < _SAME) for bend in self.bends]
        return np.concatenate([np.flatnonzero(along != np.roll(along, 1)), *crossed])

    def bevel(self, outline: np.ndarray, run: EdgeRun) -> tuple[float, ...]:
        """Degrees from square at equal distances along a run; 0 where it does not follow the wall."""
        points = outline[np.arange(run.start, run.stop + 1) % len(outline)]
        between = shapely.get_coordinates(shapely.segmentize(shapely.linestrings(points), _EVEN))
        on_wall = shapely.distance(shapely.points(between), self.rim) < _ON_WALL
        if not self.sloped or on_wall.mean() < 0.9:
            return (0.0,)
        angle = np.degrees(np.arctan(self._draw(points) / self.thickness))
        return bevels_of_sides(angle)


def _straight_across(line: LinearRing, points: np.ndarray, inward: np.ndarray, near: np.ndarray) -> np.ndarray:
    """How far (N,) a line lies from points (N, 2) straight along unit vectors `inward` (N, 2). Where they pass it by, as
    beside a corner, as far as its nearest place lies along them, which is `near` (N,)."""
    rays = shapely.linestrings(np.stack([points, points + _PASSES * near[:, None] * inward], axis=1))
    met = shapely.shortest_line(shapely.points(points), shapely.intersection(rays, line))
    far = shapely.length(met)
    return np.where((near > _SAME) & ~np.isnan(far), far, near)


def _even(face: Polygon, crossings: np.ndarray) -> tuple[Polygon, np.ndarray]:
    """Straight legs as they are, points at equal distances along all others, so that bevels given along the edge fall
    where they belong; and which of the `crossings` (M, 2) it bends at, which stay as corners do."""
    ring = np.array(face.exterior.coords)[:-1]
    ring = ring[::-1] if not face.exterior.is_ccw else ring
    bends = _bends(ring, crossings)
    corners = np.union1d(corners_of(ring, _CORNER), bends).astype(int)
    stops = np.append(corners[1:], corners[0] + len(ring)) if len(corners) else np.array([len(ring)])
    spacing = min(_EVEN, face.exterior.length / _LEAST_POINTS)
    made = []
    for start, stop in zip(corners if len(corners) else [0], stops):
        leg = shapely.LineString(ring[np.arange(start, stop + 1) % len(ring)])
        straight = leg.hausdorff_distance(shapely.LineString([leg.coords[0], leg.coords[-1]])) < _STRAIGHT
        count = 1 if straight else max(1, math.ceil(leg.length / spacing))
        shares = np.arange(count) / count
        made.append(shapely.get_coordinates(shapely.line_interpolate_point(leg, shares, normalized=True)))
    return Polygon(np.vstack(made)), ring[bends]


def _bends(ring: np.ndarray, crossings: np.ndarray) -> np.ndarray:
    """The points of a ring (N, 2) that are among the `crossings` (M, 2) and where it turns."""
    sides = np.roll(ring, -1, axis=0) - ring
    angle = np.arctan2(sides[:, 1], sides[:, 0])
    turn = np.abs((angle - np.roll(angle, 1) + np.pi) % (2.0 * np.pi) - np.pi)
    at = np.array([int(np.argmin(np.hypot(*(ring - crossing).T))) for crossing in crossings], int)
    at = at[np.hypot(*(ring[at] - crossings).T) < _SAME] if len(at) else at
    return np.unique(at[turn[at] > _BEND])


def _without_rests(ring: np.ndarray) -> np.ndarray:
    """A ring (N, 2) without the point next to a corner where a cut left a short rest of a chord between the two: the other
    face of a bevelled edge has no such short chord, and a smooth curve through both would swing out there."""
    marks = corners_of(ring, _CORNER)
    length = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)  # from each point to the next
    n, kept = len(ring), np.ones(len(ring), bool)
    for start, stop in zip(marks, np.append(marks[1:], marks[:1] + n)):
        if stop - start > 3:
            kept[(start + 1) % n] = length[start % n] > _REST * length[(start + 1) % n]
            kept[(stop - 1) % n] = length[(stop - 1) % n] > _REST * length[(stop - 2) % n]
    return ring[kept]


def ring_body(spec: PartSpec, surface_of: SurfaceOf) -> FlatBody:
    values = spec.values
    outer, inner = values["outer_radius"], values["inner_radius"]
    if not 0 < inner < outer:
        raise BuildError(f"{spec.where}: ring {spec.id}: inner radius {inner:g} mm; expected below {outer:g} mm")
    body = flat_body(Polygon(outlines.circle(outer), [outlines.circle(inner)]), frame_at(values["at"], surface_of))
    return FlatBody(body.outline, body.holes, body.frame, body.runs, outer, inner)


def disc_body(spec: PartSpec, surface_of: SurfaceOf) -> FlatBody:
    values = spec.values
    body = flat_body(Polygon(outlines.circle(values["radius"])), frame_at(values["at"], surface_of))
    return FlatBody(body.outline, body.holes, body.frame, body.runs, values["radius"])


def flat_body(shape: Polygon, frame: Frame) -> FlatBody:
    outline, holes = outlines.rings(shape)
    return FlatBody(outline, holes, frame, _runs(outline))


def _runs(outline: np.ndarray, more: Sequence[int] | np.ndarray = ()) -> tuple[EdgeRun, ...]:
    """The outline between its corners, and `more` of its points; one run where it has none."""
    corners = np.union1d(corners_of(outline, _CORNER), more).astype(int)
    n = len(outline)
    if not len(corners):
        return (EdgeRun("rim", 0, n, (0.0,), ()),)
    stops = np.append(corners[1:], corners[0] + n)
    return tuple(EdgeRun(f"side_{i + 1}", int(a), int(b), (0.0,), ()) for i, (a, b) in enumerate(zip(corners, stops)))

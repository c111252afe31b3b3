"""Strips bent around a curve: lips, hoops and rims. They bend one way only, so they develop exactly."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from scipy.interpolate import CubicSpline
from shapely.geometry import Polygon

from foamwright.design.records import CutSpec, Design, PartSpec, Stock
from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.nearest import NearestPoint
from foamwright.forms.surface import Surface
from foamwright.geometry import Frame, arc_length, resampled
from foamwright.parts import outlines
from foamwright.parts.bent import Bent, bent, has_corners
from foamwright.parts.legs import Leg, Straight, between, first_at_corner, is_smooth, sharpest, with_corners
from foamwright.parts.legs import legs as legs_of
from foamwright.parts.levels import Level, PrismLevel
from foamwright.parts.placing import default_up, frame_at
from foamwright.parts.records import BandBody, PanelBody, Piece
from foamwright.parts.sections import curve_on_form, plane_level, sections_in

_STEPS, _STEP = 4, 1e-4  # times that heights are bettered, and mm of a difference
_LEVEL = 0.1  # of a mm that a form falls in 1 mm along an opening, at least
_ON_CURVE = 1.0  # mm from it at most: a point that is meant to lie on a curve


def band_body(
    spec: PartSpec,
    stock: Stock,
    folder: str,
    surface_of: Callable[[str], Surface],
    level_of: Callable[[str, str], Level],
    cut_of: Callable[[str, str], CutSpec],
    beneath: float,
    walls: tuple[float, float],
) -> BandBody:
    """The band of `spec`.

    `beneath` is the thickness of the parts under it. `walls` are the offsets of the inner and outer face of
    the panels around an opening: `depth` counts from the one and `proud` from the other.
    """
    values = spec.values
    along = values["along"]
    if "opening" in along:
        return _lip(spec, stock, along["opening"], surface_of, level_of, cut_of, beneath, walls)
    if "hoop" in along:
        level = plane_level(along["hoop"]["plane"])
        frame = _level_frame(along["hoop"]["plane"]["at"] * level.normal, level.normal)
        curve = frame.to_frame(curve_on_form(surface_of(along["hoop"]["form"]), level, 0.0))
        ring = with_corners(curve[:-1, :2])
    else:
        frame = frame_at(along["at"], surface_of)
        ring, _ = outlines.rings(outlines.polygon(along["outline"], folder, sections_in(frame, surface_of)))
    ring = ring if Polygon(ring).exterior.is_ccw else ring[::-1]
    span = values.get("span")
    legs = legs_of(ring)
    if is_smooth(legs):
        curve = _around(frame.to_space(np.vstack([ring, ring[:1]])), frame.axes[:, 2])
        if span and "points" in span:
            curve = _cut_out(curve, *_at_points(curve, arc_length(curve), frame.to_space(np.array(span["points"]))))
        elif span:
            curve = _spanned(curve, frame.axes[:, 2], frame.axes[:, 1], span)
        low, high = _extent(spec, arc_length(curve))
        return _smooth(spec, stock, curve, frame.axes[:, 2], low, high, beneath, closed=not span)
    legs = _part(legs, span) if span else _begun(legs)
    bent = _bent(spec, stock, legs, not span, beneath, even=True)
    low, high = _extent(spec, bent.along)
    return _of_legs(spec, stock, bent, frame, low, high, beneath, not span)


def _bent(spec: PartSpec, stock: Stock, legs: Sequence[Leg], closed: bool, beneath: float, even: bool) -> Bent:
    """Foam along the legs. Raises BuildError for corners of which the design does not say how they are turned."""
    made = spec.values.get("corners")
    if made is None and has_corners(legs, closed):
        x, y, turn = sharpest(legs, closed)
        raise BuildError(
            f"its curve has sharp corners (one of {turn:.0f}° at [{x:.1f}, {y:.1f}]), which foam does not bend around; "
            "expected corners: scored (one strip, folded) or corners: mitred (a piece for each side), or round corners"
        )
    inner = _inner(spec, stock, beneath)
    return bent(legs, closed, inner, inner + stock.thickness, made or "scored", even)


def _inner(spec: PartSpec, stock: Stock, beneath: float) -> float:
    return beneath if spec.values["laid"] == "outside" else -beneath - stock.thickness


def _level_frame(origin: np.ndarray, normal: np.ndarray) -> Frame:
    up = default_up(normal)
    up = up - (up @ normal) * normal
    up = up / np.linalg.norm(up)
    return Frame(origin, np.column_stack([np.cross(up, normal), up, normal]))


def _begun(legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """The closed legs from where the strip's ends meet: a corner, else the middle of the longest straight leg."""
    straight = [i for i, leg in enumerate(legs) if isinstance(leg, Straight)]
    if has_corners(legs, True) or not straight:
        return first_at_corner(legs)
    first = max(straight, key=lambda i: (round(legs[i].length, 6), -i))
    leg = legs[first]
    return (leg.part(leg.length / 2, leg.length), *legs[first + 1 :], *legs[:first], leg.part(0.0, leg.length / 2))


def _part(legs: Sequence[Leg], span: Mapping) -> tuple[Leg, ...]:
    """The legs of a closed curve from one place to another, counter-clockwise."""
    s = [np.linspace(0.0, leg.length, max(2, math.ceil(leg.length) + 1)) for leg in legs]
    points = np.vstack([*(leg.at(at)[0][:-1] for leg, at in zip(legs, s)), legs[0].at(np.zeros(1))[0]])
    before = np.cumsum([0.0, *(leg.length for leg in legs)])
    along = np.concatenate([*(at[:-1] + start for at, start in zip(s, before)), before[-1:]])
    if "points" in span:
        return between(legs, *_at_points(points, along, np.array(span["points"])))
    begin, end = _places(points, along, span)
    return between(legs, begin, end)


def _spanned(curve: np.ndarray, across: np.ndarray, up: np.ndarray, span: Mapping) -> np.ndarray:
    """The part (N, 3) of a closed smooth curve from one place to another, counter-clockwise about `across`."""
    flat = (curve - np.outer(curve @ across, across)) @ _plane_axes(across, up)
    return _cut_out(curve, *_places(flat, arc_length(curve), span))


def _cut_out(curve: np.ndarray, begin: float, end: float) -> np.ndarray:
    """The points (N, 3) of a closed smooth curve from one length along it to another."""
    s = arc_length(curve)
    count = max(17, math.ceil(end - begin) + 1)
    at = np.linspace(begin, end, count) % s[-1]
    return CubicSpline(s, curve, bc_type="periodic")(at)


def _at_points(curve: np.ndarray, s: np.ndarray, points: np.ndarray) -> tuple[float, float]:
    """Where along a closed curve (N, 2) or (N, 3), first point repeated, of lengths `s` (N,), two points of it lie; the second
    is further on than the first, by less than a turn."""
    begin, end = (_at_point(curve, s, point) for point in points)
    end += s[-1] if end < begin else 0.0
    if not 1e-6 < end - begin < s[-1] - 1e-6:
        raise BuildError("its span begins and ends at the same point; expected two points of the curve")
    return begin, end


def _at_point(curve: np.ndarray, s: np.ndarray, point: np.ndarray) -> float:
    chords = np.diff(curve, axis=0)
    share = np.clip(((point - curve[:-1]) * chords).sum(axis=1) / (chords**2).sum(axis=1), 0.0, 1.0)
    gaps = np.linalg.norm(curve[:-1] + share[:, None] * chords - point, axis=1)
    near = int(np.argmin(gaps))
    if gaps[near] > _ON_CURVE:
        raise BuildError(f"a point of its span lies {gaps[near]:.1f} mm off the curve; expected two points on it")
    return float(s[near] + share[near] * (s[near + 1] - s[near]))


def _places(flat: np.ndarray, s: np.ndarray, span: Mapping) -> tuple[float, float]:
    """Where along a closed curve (N, 2), first point repeated, of lengths `s` (N,), a span begins and ends."""
    middle = Polygon(flat[:-1]).centroid.coords[0]
    x, y = (flat[:-1] - middle).T
    angle = np.unwrap(np.arctan2(np.append(y, y[0]), np.append(x, x[0])))
    if (np.diff(angle) <= 0).any():
        raise BuildError("its curve turns back as seen from its middle, so that angles say nothing; give shares")
    # everything is measured from where the curve crosses angle 0
    turn = 2 * np.pi * np.ceil(angle[0] / (2 * np.pi))
    zero = float(np.interp(turn, angle, s))
    if "shares" in span:
        begin, end = (zero + share * s[-1] for share in span["shares"])
    else:
        first, last = (np.radians(a) for a in span["angles"])
        begin, end = (_along_turns(a + turn, angle, s) for a in (first, last))
    if not 0 < end - begin < s[-1] * (1 - 1e-9):
        raise BuildError("its span is nothing or goes all around; expected less than one turn, from less than to")
    return float(begin), float(end)


def _along_turns(angle: float, angles: np.ndarray, s: np.ndarray) -> float:
    """Length along a closed curve at an angle that may lie in another turn than `angles`."""
    turns, rest = divmod(angle - angles[0], 2 * np.pi)
    return float(turns * s[-1] + np.interp(rest + angles[0], angles, s))


def _plane_axes(across: np.ndarray, up: np.ndarray) -> np.ndarray:
    """(3, 2) x and y of the plane square to `across`, y along `up`."""
    up = up - (up @ across) * across
    up = up / np.linalg.norm(up)
    return np.column_stack([np.cross(up, across), up])


def _lip(spec, stock, opening, surface_of, level_of, cut_of, beneath, walls) -> BandBody:
    """A band that lines an opening cut straight through a form: it stands along the cut's own direction."""
    values = spec.values
    form, cut = opening["form"], opening["cut"]
    given = cut_of(form, cut)
    if given.kind != "prism":
        instead = (
            f"; along this one write hoop: {{form: {form}, plane: ...}} with from and to"
            if given.kind == "plane"
            else ""
        )
        raise BuildError(
            f"{spec.where}: band {spec.id}: the cut {cut} is a {given.kind}, and an opening is lined where it is a"
            f" prism{instead}"
        )
    across = direction(given.values["along"])
    if given.values.get("below") is not None:
        across = -across  # the opening looks the other way
    surface, level = surface_of(form), level_of(form, cut)
    try:
        legs = _opening_legs(level, across)
        rims = [curve_on_form(surface, level, wall) for wall in walls]
    except BuildError as error:
        raise BuildError(f"along the cut {cut} of {form}: {error}") from None
    if not is_smooth(legs):
        return _lip_of_legs(spec, stock, legs, surface, tuple(zip(walls, rims)), across, beneath)
    inner, outer = (_around(rim, across) for rim in rims)
    # both curves stand over one plan outline: the outer one gives the height at the inner one's plan points
    plan = inner - np.outer(inner @ across, across)
    plan_outer = outer - np.outer(outer @ across, across)
    shift = int(np.argmin(np.linalg.norm(plan_outer[:-1] - plan[0], axis=1)))
    outer = _around(np.vstack([np.roll(outer[:-1], -shift, axis=0), outer[shift : shift + 1]]), across, start=plan[0])
    height = _periodic(outer, across, plan)
    low = inner @ across - values.get("depth", 0.0)
    high = height + values.get("proud", 0.0)
    base = float(np.min(low))
    curve = plan + base * across
    return _smooth(spec, stock, curve, across, low - base, high - base, beneath)


def _opening_legs(level: Level, across: np.ndarray) -> tuple[Leg, ...]:
    """The legs of a prism's outline, counter-clockwise about `across`, in `_opening_axes`."""
    assert isinstance(level, PrismLevel)
    line, *others = level.rings
    if others:
        raise BuildError(
            f"its outline has {1 + len(others)} lines around; a band lines one: make each a cut of its own"
        )
    ring = np.zeros((len(line), 3))
    ring[:, level.columns] = line
    flat = ring @ _opening_axes(across)[:, :2]
    return legs_of(flat if Polygon(flat).exterior.is_ccw else flat[::-1])


def _opening_axes(across: np.ndarray) -> np.ndarray:
    return _level_frame(np.zeros(3), across).axes


def _lip_of_legs(spec, stock, legs, surface, rims, across, beneath) -> BandBody:
    """As `_lip`, along an outline with straight legs, arcs or corners: it stands on the outline itself. `rims` are how far both
    faces of the panels around the opening lie off the form, and its curves (M, 3) on them."""
    values, frame = spec.values, _level_frame(np.zeros(3), across)
    bent = _bent(spec, stock, _begun(legs), True, beneath, even=False)
    inner = _inner(spec, stock, beneath)
    share = inner / stock.thickness
    plan = bent.inner - share * (bent.outer - bent.inner)
    form = NearestPoint(surface)
    heights = [_on_wall(form, wall, frame, plan, _height_over(frame.to_frame(rim), plan)) for wall, rim in rims]
    low, high = heights[0] - values.get("depth", 0.0), heights[1] + values.get("proud", 0.0)
    base = float(low.min())
    frame = replace(frame, origin=base * across)
    return _of_legs(spec, stock, bent, frame, low - base, high - base, beneath, True)


def _on_wall(form: NearestPoint, wall: float, frame: Frame, plan: np.ndarray, heights: np.ndarray) -> np.ndarray:
    """Heights (N,) over points of a plan (N, 2) at which these lie `wall` mm off the form, near rough ones: of a curve through
    few points, which passes corners by."""

    def off(heights: np.ndarray) -> np.ndarray:
        return form.signed_distance(frame.to_space(np.column_stack([plan, heights]))) - wall

    for _ in range(_STEPS):
        miss = off(heights)
        slope = (off(heights + _STEP) - miss) / _STEP
        steep = np.abs(slope) > _LEVEL  # elsewhere the form runs along the opening: as high as any is true
        heights = heights - np.divide(miss, slope, out=np.zeros_like(miss), where=steep)
    return heights


def _height_over(curve: np.ndarray, plan: np.ndarray) -> np.ndarray:
    """Height (N,) of a closed curve (M, 3) over the points nearest to those of another plan (N, 2)."""
    a, b = curve[:-1], curve[1:]
    chord = (b - a)[:, :2]
    t = np.einsum("ijk,jk->ij", plan[:, None] - a[None, :, :2], chord) / np.maximum((chord**2).sum(1), 1e-18)
    t = np.clip(t, 0.0, 1.0)
    gap = np.linalg.norm(plan[:, None] - (a[None, :, :2] + t[..., None] * chord[None]), axis=2)
    best = np.argmin(gap, axis=1)
    return a[best, 2] + t[np.arange(len(plan)), best] * (b - a)[best, 2]


def _periodic(curve, across, plan) -> np.ndarray:
    """Height along `across` of a closed curve over the nearest stations of another plan curve."""
    flat = curve - np.outer(curve @ across, across)
    s = arc_length(flat)
    height = CubicSpline(s, np.append((curve @ across)[:-1], (curve @ across)[0]), bc_type="periodic")
    # nearest station by projection on the chords
    a, b = flat[:-1], flat[1:]
    chord = b - a
    t = np.einsum("ijk,jk->ij", plan[:, None] - a[None], chord) / np.maximum((chord**2).sum(1), 1e-18)
    t = np.clip(t, 0, 1)
    gap = np.linalg.norm(plan[:, None] - (a[None] + t[..., None] * chord[None]), axis=2)
    best = np.argmin(gap, axis=1)
    return height(s[best] + t[np.arange(len(plan)), best] * (s[best + 1] - s[best]))


def _around(curve: np.ndarray, across: np.ndarray, start=None) -> np.ndarray:
    """The closed curve at even spacing, counter-clockwise about `across`, as (N, 3) with its first point repeated."""
    flat = curve - np.outer(curve @ across, across)
    turn = np.cross(flat[:-1], flat[1:]).sum(0) @ across
    if turn < 0:
        curve = curve[::-1]
    count = int(np.clip(np.linalg.norm(np.diff(curve, axis=0), axis=1).sum() / 1.0, 96, 1600))
    even = resampled(curve, curve, count)
    even[-1] = even[0]
    return even


def _extent(spec, along: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Lower and upper edge (N,) at lengths `along` (N,) of the curve."""
    values = spec.values
    if values.get("from") is not None and values.get("to") is not None:
        return np.full(len(along), values["from"]), np.full(len(along), values["to"])
    if values.get("width") is None:
        raise BuildError(f"{spec.where}: band {spec.id}: how wide is it? expected `width`, or `from` and `to`")
    ends = values["width"], values.get("end_width", values["width"])
    half = np.interp(along, along[[0, -1]], ends) / 2
    return -half, half


def _smooth(spec, stock: Stock, curve, across, low, high, beneath, closed: bool = True) -> BandBody:
    """The band along a smooth curve (N, 3)."""
    if closed:
        ring = curve[:-1]
        tangent = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
        tangent = np.vstack([tangent, tangent[:1]])
    else:
        tangent = CubicSpline(arc_length(curve), curve)(arc_length(curve), 1)
    normals = np.cross(tangent, across)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return _body(spec, curve, normals, across, low, high, _inner(spec, stock, beneath), closed)


def _of_legs(spec, stock: Stock, bent: Bent, frame: Frame, low, high, beneath, closed: bool) -> BandBody:
    """The band whose faces are `bent` in the plane of `frame`."""
    inner = _inner(spec, stock, beneath)
    across = (bent.outer - bent.inner) / stock.thickness
    curve, normals = frame.to_space(bent.inner - inner * across), across @ frame.axes[:, :2].T
    body = _body(spec, curve, normals, frame.axes[:, 2], low, high, inner, closed)
    return replace(body, stretches=bent.stretches, corners=bent.corners, ahead=bent.ahead, turned=bent.turned)


def _body(spec, curve, normals, across, low, high, inner: float, closed: bool) -> BandBody:
    trim = spec.values.get("trim") or {}
    return BandBody(
        curve=curve,
        normals=normals,
        across=across,
        low=low,
        high=high,
        inner_offset=inner,
        closed=closed,
        trim_start=trim.get("start", 0.0),
        trim_end=trim.get("end", 0.0),
        joins_low=(),
        joins_high=(),
    )


def join_lips(pieces: Sequence[Piece], design: Design) -> tuple[Piece, ...]:
    """Panels whose edges on an opening know the lips that line it."""
    lips: dict[tuple[str, str], list[str]] = {}
    specs = {spec.id: spec for spec in design.parts}
    for spec in design.parts:
        opening = (spec.values.get("along") or {}).get("opening")
        if opening:
            lips.setdefault((opening["form"], opening["cut"]), []).append(spec.id)
    joined = []
    for piece in pieces:
        if isinstance(piece.body, PanelBody):
            form = specs[piece.id].values["form"]
            edges = tuple(
                replace(edge, joins=tuple(dict.fromkeys((*edge.joins, *lips.get((form, edge.cut), ())))))
                for edge in piece.body.edges
            )
            piece = replace(piece, body=replace(piece.body, edges=edges))
        joined.append(piece)
    return tuple(joined)

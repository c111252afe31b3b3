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
from foamwright.forms.surface import Surface
from foamwright.geometry import arc_length, resampled
from foamwright.parts import outlines
from foamwright.parts.levels import Level
from foamwright.parts.placing import default_up, frame_at
from foamwright.parts.records import BandBody, PanelBody, Piece
from foamwright.parts.sections import curve_on_form, plane_level, section


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
        across = plane_level(along["hoop"]["plane"]).normal
        up = default_up(across)
        curve = section(surface_of(along["hoop"]["form"]), along["hoop"]["plane"], 0.0)
    else:
        frame = frame_at(along["at"], surface_of)
        across, up = frame.axes[:, 2], frame.axes[:, 1]

        def section_of(given: Mapping) -> np.ndarray:
            return frame.to_frame(section(surface_of(given["form"]), given["plane"], given["offset"]))[:, :2]

        ring, _ = outlines.rings(outlines.polygon(along["outline"], folder, section_of))
        curve = frame.to_space(np.vstack([ring, ring[:1]]))
    curve = _around(curve, across)
    span = values.get("span")
    if span:
        curve = _spanned(curve, across, up, span)
    low, high = _extent(spec, arc_length(curve))
    return _band(spec, stock, curve, across, low, high, beneath, closed=not span)


def _spanned(curve: np.ndarray, across: np.ndarray, up: np.ndarray, span: Mapping) -> np.ndarray:
    """The part (N, 3) of a closed curve from one place to another, counter-clockwise about `across`."""
    flat = curve[:-1] - np.outer(curve[:-1] @ across, across)
    middle = Polygon(flat @ _plane_axes(across, up)).centroid.coords[0]
    x, y = (flat @ _plane_axes(across, up) - middle).T
    s = arc_length(curve)
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
    count = max(17, math.ceil(end - begin) + 1)
    at = np.linspace(begin, end, count) % s[-1]
    return CubicSpline(s, curve, bc_type="periodic")(at)


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
        raise BuildError(f"{spec.where}: band {spec.id}: the cut {cut} is a {given.kind}; a lip lines a prism")
    across = direction(given.values["along"])
    if given.values.get("below") is not None:
        across = -across  # the opening looks the other way
    surface, level = surface_of(form), level_of(form, cut)
    inner = _around(curve_on_form(surface, level, walls[0]), across)
    outer = _around(curve_on_form(surface, level, walls[1]), across)
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
    return _band(spec, stock, curve, across, low - base, high - base, beneath)


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


def _band(spec, stock: Stock, curve, across, low, high, beneath, closed: bool = True) -> BandBody:
    values = spec.values
    if closed:
        ring = curve[:-1]
        tangent = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
        tangent = np.vstack([tangent, tangent[:1]])
    else:
        tangent = CubicSpline(arc_length(curve), curve)(arc_length(curve), 1)
    normals = np.cross(tangent, across)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    inner = beneath if values["laid"] == "outside" else -beneath - stock.thickness
    trim = values.get("trim") or {}
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

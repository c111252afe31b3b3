"""The strain chart: a panel shaded by how far the foam must give to take its shape.

Strain, as `flatten.strain.EXPLAINED` tells it, is taken as a share of the foam's limit, pulled or pressed, and drawn
as bands between lines of equal share. The shades darken evenly from none to the limit, so a black and white print
reads the same; what is beyond the limit is hatched. Lengths in mm.
"""

from __future__ import annotations

import numpy as np
import shapely

from foamwright.drawing.primitives import Drawing, Hatch, Path, Primitive, Text
from foamwright.flatten.records import FlatMesh, Pattern
from foamwright.flatten.strain import limits
from foamwright.language import decimal, say
from foamwright.templates import wording
from foamwright.templates.records import mesh_of

# From none to the limit, in equal shares of it. Each step is darker by about the same amount of grey.
SHADES = ("#fff6dc", "#fbdca0", "#f2b866", "#dd8f45", "#b96a3a")
SWATCH = (10.0, 5.0)
_BEYOND = "#ffffff"  # under the hatch
_SPECK = 0.05  # mm2: areas too small to see
_TYPE = 2.8
_DECIMALS = 4  # of a millimetre, to which corners of areas are rounded


def strain_chart(pattern: Pattern, scale: float) -> Drawing:
    """The panel drawn at `scale` (0.5 is half size) in its own coordinates times that; lines keep their width.

    The pattern must have a mesh: one that is flat or a straight development asks nothing of the foam.
    """
    mesh = mesh_of(pattern)
    values = vertex_share(pattern)
    items: list[Primitive] = []
    for level, shade in zip(_levels(), (*SHADES, _BEYOND)):
        for area in simple_polygons(above(mesh, values, float(level))):
            items += _shaded(scale * area, shade)
    outlines = (pattern.outline, *pattern.holes)
    items += [Path(scale * np.asarray(outline), "view", closed=True) for outline in outlines]
    items += _worst_spot(scale * mesh.flat[int(np.argmax(values))])
    return Drawing(tuple(items))


def strain_facts(pattern: Pattern, scale: str) -> tuple[str, ...]:
    """What is said below the chart of a panel."""
    strain = pattern.strain
    pulled, pressed = limits(pattern.piece.stock)
    limit = say("limit {pulled} pulled, {pressed} pressed", pulled=percent(pulled), pressed=percent(pressed))
    if pulled == pressed:
        limit = say("limit {pulled} pulled or pressed", pulled=percent(pulled))
    return (
        say("drawn {scale}; {stock}", scale=scale, stock=wording.stock_title(pattern.piece.stock)),
        limit,
        say(
            "worst {pulled} pulled, {pressed} pressed",
            pulled=percent(strain.tension),
            pressed=percent(strain.compression),
        ),
        say("mean {mean}, at most {most} on 95 % by area", mean=percent(strain.mean), most=percent(strain.p95)),
        say(
            "from bending: inner face {inner}, outer face {outer}",
            inner=signed(strain.inner_face),
            outer=signed(strain.outer_face),
        ),
    )


def legend(width: float) -> tuple[Drawing, float]:
    """The shades with their shares of the limit, side by side or in rows if `width` mm is too narrow, and its
    height; the origin is its upper left corner."""
    names = [say("to {share} %", share=f"{100 * level:.0f}") for level in _levels()[1:]] + [say("beyond")]
    step = SWATCH[0] + 20.0
    columns = max(1, min(len(names), int(width // step)))
    items: list[Primitive] = []
    for k, (name, shade) in enumerate(zip(names, (*SHADES, _BEYOND))):
        x, y = k % columns * step, -SWATCH[1] - k // columns * (SWATCH[1] + 2.0)
        box = np.array([x, y]) + np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * SWATCH
        items += [*_shaded(box, shade), Path(box, "note", closed=True)]
        items.append(Text((x + SWATCH[0] + 2.0, y + SWATCH[1] / 2 - 0.35 * _TYPE), name, _TYPE))
    rows = -(-len(names) // columns)
    return Drawing(tuple(items)), rows * (SWATCH[1] + 2.0)


def _levels() -> np.ndarray:
    """Shares of the limit at which a shade begins; the last is the limit."""
    return np.arange(len(SHADES) + 1) / len(SHADES)


def _shaded(area: np.ndarray, shade: str) -> list[Primitive]:
    items: list[Primitive] = [Path(area, "shade", closed=True, fill=shade)]
    if shade == _BEYOND:
        items += [Hatch(area, 1.5, 45.0, "note"), Hatch(area, 1.5, -45.0, "note")]
    return items


def vertex_share(pattern: Pattern) -> np.ndarray:
    """(n,) strain at each vertex as a share of the limit, pulled or pressed."""
    return (mesh_of(pattern).strain / limits(pattern.piece.stock)).max(axis=1)


def above(mesh: FlatMesh, values: np.ndarray, level: float) -> shapely.Geometry:
    """The area of the mesh where `values` (n,), linear in each triangle, are `level` or more."""
    high = values[mesh.surface.triangles] >= level
    count = high.sum(axis=1)
    shapes = [mesh.flat[mesh.surface.triangles[count == 3]]]
    for many, lone in ((1, True), (2, False)):
        faces = mesh.surface.triangles[count == many]
        first = np.argmax(high[count == many] == lone, axis=1)  # the corner that differs from the other two
        turned = np.take_along_axis(faces, (first[:, None] + np.arange(3)) % 3, axis=1)
        p, q, r = turned.T
        pq, pr = _crossing(mesh, values, p, q, level), _crossing(mesh, values, p, r, level)
        corners = (mesh.flat[p], pq, pr) if lone else (pq, mesh.flat[q], mesh.flat[r], pr)
        shapes.append(np.stack(corners, axis=1))
    # on one grid neighbours share whole sides, which is all that joining them needs to look at
    parts = np.concatenate([shapely.polygons(np.round(shape, _DECIMALS)) for shape in shapes])
    return shapely.simplify(shapely.coverage_union_all(parts[shapely.area(parts) > 1e-9]), 0.05)


def _crossing(mesh: FlatMesh, values: np.ndarray, a: np.ndarray, b: np.ndarray, level: float) -> np.ndarray:
    """Points (K, 2) on the sides a-b where the value is `level`; the same from either end."""
    a, b = np.minimum(a, b), np.maximum(a, b)
    share = (level - values[a]) / (values[b] - values[a])
    return mesh.flat[a] + share[:, None] * (mesh.flat[b] - mesh.flat[a])


def simple_polygons(shape: shapely.Geometry) -> list[np.ndarray]:
    """The shape as outlines (N, 2) without holes: it is parted through the middle of each hole."""
    outlines = []
    for polygon in shapely.get_parts(shape):
        if polygon.geom_type != "Polygon" or polygon.area < _SPECK:
            continue
        holes = [hole for hole in polygon.interiors if shapely.Polygon(hole).area >= _SPECK]
        if not holes:
            outlines.append(shapely.get_coordinates(polygon.exterior)[:-1])
            continue
        x0, y0, x1, y1 = polygon.bounds
        x = shapely.get_x(holes[0].centroid)
        outlines += simple_polygons(polygon & shapely.box(x0, y0, x, y1))
        outlines += simple_polygons(polygon & shapely.box(x, y0, x1, y1))
    return outlines


def _worst_spot(at: np.ndarray) -> tuple[Path, ...]:
    """A ring with a cross through it."""
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ring = at + 2.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    arms = (np.array([[-4.0, 0.0], [4.0, 0.0]]), np.array([[0.0, -4.0], [0.0, 4.0]]))
    return (Path(ring, "note", closed=True, fill="#ffffff"), *(Path(at + arm, "note") for arm in arms))


def percent(share: float) -> str:
    """0.0312 as "3.1 %"."""
    return f"{decimal(100 * share, 1)} %"


def signed(share: float) -> str:
    """-0.0312 as "-3.1 %", 0.0312 as "+3.1 %"."""
    size = decimal(abs(100 * share), 1)
    return f"{size} %" if size == decimal(0.0, 1) else f"{'-' if share < 0.0 else '+'}{size} %"

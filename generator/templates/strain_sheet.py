"""The strain sheet: a panel shaded by how far the foam must give to take its shape.

Strain is averaged to the vertices of the pattern's mesh, weighted by area, and drawn as bands between lines
of equal strain. The shades darken evenly from none to the limit, so a black and white print reads the same;
what is beyond the limit is hatched. Lengths in mm.
"""

from __future__ import annotations

import itertools

import numpy as np
import shapely

from generator.drawing.metrics import text_width
from generator.drawing.primitives import Drawing, Hatch, Path, Primitive, Text
from generator.flatten.records import FlatMesh, Pattern
from generator.templates import wording

# From none to the limit, in equal shares of it. Each step is darker by about the same amount of grey.
SHADES = ("#fff6dc", "#fbdca0", "#f2b866", "#dd8f45", "#b96a3a")
_BEYOND = "#ffffff"  # under the hatch
_SPECK = 0.05  # mm2: areas too small to see
_TYPE = 3.2
_SWATCH = (12.0, 6.0)


def strain_drawing(pattern: Pattern) -> Drawing | None:
    """The sheet of one pattern, in its own coordinates with the legend below; None if it develops exactly."""
    mesh = pattern.mesh
    if mesh is None:
        return None
    limit = pattern.piece.stock.strain_limit
    values = vertex_strain(mesh)
    levels = np.arange(len(SHADES) + 1) / len(SHADES) * limit
    items: list[Primitive] = []
    for level, shade in zip(levels, (*SHADES, _BEYOND)):
        for area in simple_polygons(above(mesh, values, float(level))):
            items.append(Path(area, "shade", closed=True, fill=shade))
            if level == levels[-1]:
                items += [Hatch(area, 1.5, 45.0, "note"), Hatch(area, 1.5, -45.0, "note")]
    items.append(Path(pattern.outline, "cut", closed=True))
    items += [Path(hole, "cut-inner", closed=True) for hole in pattern.holes]
    items += _worst_spot(mesh.flat[int(np.argmax(values))])
    items += _legend(pattern, levels)
    return Drawing(tuple(items))


def vertex_strain(mesh: FlatMesh) -> np.ndarray:
    """(n,) size of the strain at each vertex: the mean over its triangles, weighted by their area."""
    a, b, c = (mesh.flat[mesh.faces[:, k]] for k in range(3))
    area = 0.5 * np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    corners = mesh.faces.ravel()
    weight = np.bincount(corners, np.repeat(area, 3), len(mesh.flat))
    total = np.bincount(corners, np.repeat(area * np.abs(mesh.strain), 3), len(mesh.flat))
    return total / np.maximum(weight, 1e-12)


def above(mesh: FlatMesh, values: np.ndarray, level: float) -> shapely.Geometry:
    """The area of the mesh where `values` (n,), linear in each triangle, are `level` or more."""
    high = values[mesh.faces] >= level
    count = high.sum(axis=1)
    shapes = [shapely.polygons(mesh.flat[mesh.faces[count == 3]])]
    for many, lone in ((1, True), (2, False)):
        faces = mesh.faces[count == many]
        first = np.argmax(high[count == many] == lone, axis=1)  # the corner that differs from the other two
        turned = np.take_along_axis(faces, (first[:, None] + np.arange(3)) % 3, axis=1)
        p, q, r = turned.T
        pq, pr = _crossing(mesh, values, p, q, level), _crossing(mesh, values, p, r, level)
        corners = (mesh.flat[p], pq, pr) if lone else (pq, mesh.flat[q], mesh.flat[r], pr)
        shapes.append(shapely.polygons(np.stack(corners, axis=1)))
    shapes = np.concatenate(shapes)
    return shapely.simplify(shapely.union_all(shapes[shapely.area(shapes) > 1e-9], grid_size=1e-4), 0.05)


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


def _legend(pattern: Pattern, levels: np.ndarray) -> list[Primitive]:
    """Below the panel: what it is, the scale with its limits, and the worst and the mean."""
    piece, strain = pattern.piece, pattern.strain
    x, y = pattern.outline.min(axis=0) - (0.0, 10.0)
    title = f"{piece.label} {piece.name}: strain"
    facts = (
        f"limit {percent(piece.stock.strain_limit)} for {wording.foam(piece)}",
        f"worst {percent(strain.max)} (ring and cross), mean {percent(strain.mean)}",
    )
    items: list[Primitive] = [Text((x, y), title, 1.3 * _TYPE, bold=True)]
    y -= 2.0 + _SWATCH[1]
    names = [f"{percent(a)[:-2]} to {percent(b)}" for a, b in itertools.pairwise(levels)] + [
        "beyond the limit"
    ]
    for name, shade in zip(names, (*SHADES, _BEYOND)):
        box = np.array([x, y]) + np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * _SWATCH
        items.append(Path(box, "shade", closed=True, fill=shade))
        if shade == _BEYOND:
            items += [Hatch(box, 1.5, 45.0, "note"), Hatch(box, 1.5, -45.0, "note")]
        items.append(Path(box, "note", closed=True))
        items.append(Text((x + _SWATCH[0] + 2.0, y + _SWATCH[1] / 2 - 0.35 * _TYPE), name, _TYPE))
        y -= _SWATCH[1] + 1.0
    x += _SWATCH[0] + 8.0 + max(text_width(name, _TYPE) for name in names)
    y = pattern.outline[:, 1].min() - 10.0 - 2.0 - 0.75 * _SWATCH[1]
    for row, fact in enumerate(facts):
        items.append(Text((x, y - 1.6 * _TYPE * row), fact, _TYPE))
    return items


def percent(share: float) -> str:
    """0.0312 as "3.1 %"."""
    return f"{100 * share:.1f} %"

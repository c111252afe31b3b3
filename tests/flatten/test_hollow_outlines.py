"""Panels within outlines whose corners turn inwards, of arcs and of straight legs, on a cylinder.

Expected values follow from parallel-line development: what stands y beside the axis on the face of a cylinder of radius R
comes to lie (R + h) asin(y / R) from it, if the foam keeps its length at h off that face.
"""

import numpy as np
import pytest
import shapely
from panel_designs import laid_flat, panel, plane, stock

RADIUS = 80.0
SAMPLED = 0.02  # mm: curves are drawn as chords, which lie within them


def flower(count, petal):
    """As told in a design, as it is, and how many edges it has."""
    turns = np.exp(2j * np.pi * np.arange(count) / count)
    round_ones = [shapely.Point(1.5 * petal * turn.real, 1.5 * petal * turn.imag).buffer(petal, 256) for turn in turns]
    petals = {"circle": {"radius": petal, "centre": [1.5 * petal, 0]}, "repeat": {"around": {"count": count}}}
    middle = shapely.Point(0, 0).buffer(0.8 * petal, 256)
    told = {"circle": {"radius": 0.8 * petal}, "plus": [petals]}
    return told, shapely.union_all([middle, *round_ones]), count if count > 3 else 2 * count


def star(count, outer, inner):
    angle, odd = np.arange(2 * count) * np.pi / count + 0.1, np.arange(2 * count) % 2
    points = np.where(odd, inner, outer)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    return {"polygon": {"points": points.tolist()}}, shapely.Polygon(points), 2 * count


@pytest.mark.parametrize(
    "shape",
    [flower(3, 12), flower(5, 12), flower(6, 12), star(5, 30, 12), star(9, 30, 22)],
    ids=["three petals", "five petals", "six petals", "star of five", "star of nine"],
)
@pytest.mark.parametrize("scale, thickness", [(1.0, 2.0), (0.4, 6.0), (3.0, 10.0)])
def test_a_panel_has_every_corner_of_its_outline(tmp_path, shape, scale, thickness):
    told, true, corners = shape
    form = {
        "kind": "revolution",
        "axis": "z",
        "profile": [[-100 * scale, RADIUS * scale], [100 * scale, RADIUS * scale]],
        "smooth": False,
        "cuts": {"badge": {"prism": {"outline": times(told, scale), "along": "x", "above": 0}}, "front": plane("x")},
    }
    badge = panel("tube", {"badge": "inside"})
    pattern = laid_flat(tmp_path, {"tube": form}, {"badge": badge}, stock(thickness=thickness)).pattern("badge")
    assert len(pattern.edges) == corners
    assert pattern.strain.max < 1e-4
    ring = np.array(shapely.segmentize(true, 0.05).exterior.coords)
    along = (RADIUS + thickness / scale / 2) * np.arcsin(ring[:, 0] / RADIUS)
    flat = shapely.Polygon(np.column_stack([along, ring[:, 1]]))
    drawn = shapely.Polygon(pattern.outline)
    assert drawn.area == pytest.approx(flat.area * scale**2, abs=SAMPLED * drawn.length)
    assert drawn.length == pytest.approx(flat.length * scale, rel=5e-3)


def times(told, scale):
    """A shape told as numbers, with its lengths so many times larger."""
    if isinstance(told, dict):
        return {key: value if key == "repeat" else times(value, scale) for key, value in told.items()}
    return [times(value, scale) for value in told] if isinstance(told, list) else told * scale

"""Cones and cylinders develop exactly, so their panels are held to the handbook."""

import math

import numpy as np
import pytest
from panel_designs import laid_flat, panel, plane, polygon_area, stock

EXACT = 1e-6  # relative; the triangles are measured along the surface, so none of it is the mesh's
SHAPES = {  # radius at the foot, radius at the head, height
    "cylinder": (90.0, 90.0, 140.0),
    "frustum": (120.0, 60.0, 150.0),
    "flat frustum": (200.0, 90.0, 40.0),
    "frustum that widens": (70.0, 110.0, 130.0),
}
CASES = [  # shape, side of the form, thickness, k
    ("cylinder", "outside", 6.0, 0.5),
    ("cylinder", "inside", 6.0, 0.4),
    ("frustum", "outside", 10.0, 0.4),
    ("frustum", "inside", 6.0, 0.5),
    ("flat frustum", "outside", 6.0, 0.5),
    ("frustum that widens", "inside", 2.0, 0.4),
]


@pytest.fixture(scope="module", params=CASES, ids=str)
def half(request, tmp_path_factory):
    """One half of the wall: the case and its pattern."""
    shape, laid, thickness, k = request.param
    foot, head, height = SHAPES[shape]
    forms = {
        "wall": {
            "kind": "revolution",
            "axis": "z",
            "profile": [[0, foot], [height, head]],
            "smooth": False,
            "cuts": {"centre": plane("y")},
        }
    }
    parts = {"half": panel("wall", {"centre": "beyond"}, mirror="y", laid=laid)}
    patterns = laid_flat(tmp_path_factory.mktemp("wall"), forms, parts, stock(thickness, k))
    return request.param, patterns.pattern("half")


def neutral_radii(shape, laid, thickness, k):
    """Of the surface that keeps its length: the form moved along its normal. With the slant, which stays."""
    foot, head, height = SHAPES[shape]
    slant = math.hypot(height, foot - head)
    offset = k * thickness if laid == "outside" else (k - 1.0) * thickness
    return foot + offset * height / slant, head + offset * height / slant, slant


def split(pattern):
    straight = [e for e in pattern.edges if e.id.startswith("centre")]
    return straight, {e.id: e for e in pattern.edges if e not in straight}


def test_lengths_and_area_of_the_development(half):
    # Machinery's Handbook, mensuration (from memory): a frustum's lateral area is pi (r1 + r2) s with the
    # slant s, and each of its arcs is as long as the circle it is bent to. Half of it here.
    case, pattern = half
    foot, head, slant = neutral_radii(*case)
    straight, arcs = split(pattern)
    assert [e.length for e in straight] == pytest.approx([slant, slant], rel=EXACT)
    assert arcs["start"].length == pytest.approx(math.pi * foot, rel=EXACT)
    assert arcs["end"].length == pytest.approx(math.pi * head, rel=EXACT)
    # the cut line is drawn with points 1 mm apart, and a polygon in an arc loses a little area
    drawn = 1.0 / (6.0 * min(foot, head) ** 2)
    area = math.pi * (foot + head) * slant / 2.0
    assert pattern.area == pytest.approx(area, rel=EXACT + drawn)
    assert polygon_area(pattern.outline) == pytest.approx(pattern.area, rel=1e-12)
    assert pattern.strain.max < EXACT


def test_straight_edges_are_straight(half):
    straight, _ = split(half[1])
    for edge in straight:
        along = (edge.points[-1] - edge.points[0]) / np.linalg.norm(edge.points[-1] - edge.points[0])
        aside = (edge.points - edge.points[0]) @ np.array([-along[1], along[0]])
        assert np.abs(aside).max() < EXACT * edge.length


def test_sector_of_a_frustum(half):
    # Machinery's Handbook, development of a cone (from memory): radius of the sector = slant of the whole
    # cone, angle of the sector = 360 degrees * radius / slant. Half of it here.
    case, pattern = half
    foot, head, slant = neutral_radii(*case)
    if foot == head:
        pytest.skip("a cylinder's development is no sector")
    whole = slant / abs(foot - head)  # slant of a whole cone per mm of its radius
    straight, arcs = split(pattern)
    apex = crossing(*(e.points[[0, -1]] for e in straight))
    size = EXACT * whole * max(foot, head)
    for edge, radius in ((arcs["start"], foot), (arcs["end"], head)):
        distance = np.linalg.norm(edge.points - apex, axis=1)
        assert distance == pytest.approx(np.full(len(distance), whole * radius), abs=2.0 * size)
        first, last = edge.points[0] - apex, edge.points[-1] - apex
        angle = math.atan2(first[0] * last[1] - first[1] * last[0], first @ last) % (2 * math.pi)
        turn = math.pi / whole
        assert min(angle, 2 * math.pi - angle) == pytest.approx(min(turn, 2 * math.pi - turn), rel=3e-6)


def crossing(first, second):
    """Where the lines through two pairs of points cross."""
    a, b = first[1] - first[0], second[0] - second[1]
    s, _ = np.linalg.solve(np.column_stack([a, b]), second[0] - first[0])
    return first[0] + s * a

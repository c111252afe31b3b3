"""Small round openings cut straight through thick foam that is bent: both lines against the sheet-metal development.

Parallel lines: what a cylinder's wall shows at the angle f of its neutral radius lies at R f on the paper. A hole of radius r
whose axis passes the cylinder's at c meets the face of radius F at F sin f = c + r cos a, at the height r sin a.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from tests.flatten.panel_designs import laid_flat, panel, plane, stock


@pytest.mark.parametrize(
    ("radius", "thickness", "hole", "aside"),
    [
        (20.0, 6.0, 3.0, 12.0),
        (20.0, 6.0, 3.0, 0.0),
        (12.0, 2.0, 1.5, 8.0),
        (60.0, 10.0, 4.0, 40.0),
        (30.0, 10.0, 12.0, 8.0),
    ],
)
def test_both_lines_of_a_hole_in_a_cylinder(tmp_path, radius, thickness, hole, aside):
    eye = {"prism": {"outline": {"circle": {"radius": hole}}, "along": "x", "centre": [0, aside, 0], "above": 0}}
    form = {
        "kind": "revolution",
        "axis": "z",
        "smooth": False,
        "profile": [[-200, radius], [200, radius]],
        "cuts": {"foot": plane("z", -40), "head": plane("z", 40), "half": plane("x"), "eye": eye},
    }
    where = {"foot": "beyond", "head": "before", "half": "beyond", "eye": "outside"}
    pattern = laid_flat(tmp_path, {"drum": form}, {"wall": panel("drum", where)}, stock(thickness)).pattern("wall")
    # the paper is seen from inside, z up; its middle is at f = 0
    middle = np.mean([pattern.outline.min(axis=0), pattern.outline.max(axis=0)], axis=0)
    angle = np.linspace(0.0, 2 * np.pi, 721)
    for ring, face in ((pattern.holes[0], radius), (pattern.other_holes[0], radius + thickness)):
        turn = np.arcsin((aside + hole * np.cos(angle)) / face)
        true = shapely.LinearRing(np.column_stack([(radius + thickness / 2) * turn, hole * np.sin(angle)]))
        drawn = min(
            (shapely.LinearRing((ring - middle) @ turned) for turned in turns()),
            key=lambda line: shapely.hausdorff_distance(line, true),
        )
        assert drawn.is_simple
        assert shapely.hausdorff_distance(drawn, true, densify=0.05) < 0.11  # a knife's cut is wider


def test_a_hole_that_meets_a_bowl_at_a_slant(tmp_path):
    """Where its outer line turns sharply, points of it slid past each other."""
    eye = {"prism": {"outline": {"circle": {"radius": 3}}, "along": "z", "centre": [16.5, 16.5, 0], "above": 0}}
    cuts = {"rim": plane("z"), "top": plane("z", 21.6), "q": plane("x"), "h": plane("y"), "eye": eye}
    form = {"kind": "superellipsoid", "radii": [30, 30, 24], "cuts": cuts}
    where = {"rim": "beyond", "top": "before", "q": "beyond", "h": "beyond", "eye": "outside"}
    wall = panel("bowl", where, flush=["rim"])
    pattern = laid_flat(tmp_path, {"bowl": form}, {"wall": wall}, stock(2.0, strain=0.2)).pattern("wall")
    for (ring,) in (pattern.holes, pattern.other_holes):
        assert shapely.Polygon(ring).exterior.is_simple
        assert shapely.Polygon(ring).convex_hull.length == pytest.approx(shapely.Polygon(ring).length, rel=2e-3)


def turns():
    """Quarter turns of the paper, and of its mirror image."""
    quarter = np.array([[0.0, 1.0], [-1.0, 0.0]])
    return [np.linalg.matrix_power(quarter, n) @ side for n in range(4) for side in (np.eye(2), np.diag([-1.0, 1.0]))]

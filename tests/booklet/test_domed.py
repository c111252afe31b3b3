"""Which panels are told to curve both ways. By Gauss-Bonnet the total curvature of a piece of a sphere is its solid angle, that
of a piece of a cylinder 0 (M. do Carmo, "Differential Geometry of Curves and Surfaces", section 4-5, from memory)."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "model"))
from solid_fixtures import Spheroid, panel, piece

from foamwright.booklet.words.bending import is_domed


class Cylinder:
    """Round about z with a radius of 100 mm: the coordinates are the height in radii and the angle in turns."""

    def offset(self, coords, distance):
        angle = 2.0 * np.pi * coords[:, 1]
        out = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(len(angle))])
        return (100.0 + distance) * out + np.outer(100.0 * coords[:, 0], [0.0, 0.0, 1.0])


def test_a_piece_of_a_sphere_is_a_dish_and_one_of_a_cylinder_is_none():
    ball = panel(Spheroid(100.0, 100.0), (0.3, 0.0), (0.7, 0.2))
    assert is_domed(piece("A", ball))
    assert not is_domed(piece("B", replace(ball, surface=Cylinder())))

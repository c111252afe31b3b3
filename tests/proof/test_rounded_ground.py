"""What lies on bent foam lies on a rounded face, not on the facets of the triangles it is bent by."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from foamwright.proof.bench.laying import ground_of
from foamwright.proof.bench.mesh import rounded, sheet_of
from foamwright.proof.bench.pieces import Placed
from tests.proof.test_both_faces import part_of

RADIUS = 100.0
STRIP = [[0.0, 0.0], [150.0, 0.0], [150.0, 60.0], [0.0, 60.0]]


def test_halved_sides_come_to_lie_on_a_sphere():
    """Two points of a sphere and its normals there tell the arc between them."""
    way = np.random.default_rng(5).normal(size=(300, 3))
    normals = way / np.linalg.norm(way, axis=1, keepdims=True)
    points, triangles = RADIUS * normals, ConvexHull(normals).simplices
    flat = np.linalg.norm(points[triangles].mean(axis=1), axis=1).min()
    for _ in range(2):
        points, normals, triangles = rounded(points, normals, triangles)
    assert len(triangles) == 16 * len(ConvexHull(way / np.linalg.norm(way, axis=1, keepdims=True)).simplices)
    off = np.abs(np.linalg.norm(points, axis=1) - RADIUS).max()
    assert off < 0.05 * (RADIUS - flat)


@pytest.mark.parametrize(("face", "sign"), [("outside", 1.0), ("inside", -1.0)])
def test_bent_foam_is_a_round_ground(face, sign):
    """A strip rolled to a radius, by triangles whose chords stand h^2 / 8 R off, is felt at the radius of its face."""
    part = replace(part_of(STRIP, STRIP, 6.0, True), id="strip")
    sheet = sheet_of(part, 20.0)
    angle = sheet.flat[:, 0] / RADIUS
    out = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(len(angle))])
    points = RADIUS * out + np.column_stack([np.zeros((len(angle), 2)), sheet.flat[:, 1]])
    piece = Placed(part, False, sheet, points)
    if float((piece.normals * out).sum()) * (1.0 if part.drawn_inside else -1.0) > 0.0:
        piece = Placed(part, True, sheet, points)  # its inside looks to the axis
    ground = ground_of(piece, face)
    over = np.linspace(0.3, 1.2, 40)
    there = np.column_stack([130.0 * np.cos(over), 130.0 * np.sin(over), np.full(40, 30.0)])
    near, normals, met = ground.feet(there)
    assert met.all()
    assert np.linalg.norm(near[:, :2], axis=1) == pytest.approx(RADIUS + sign * 3.0, abs=0.12)
    assert np.abs((normals * (there - [0.0, 0.0, 30.0]) / 130.0).sum(axis=1)).min() > np.cos(np.radians(2.0))

"""How far bent foam is stretched on average does not follow from how many triangles lie across it."""

from __future__ import annotations

import numpy as np
import pytest

from foamwright.proof.bench.mesh import sheet_of
from foamwright.proof.bench.pieces import Placed
from tests.proof.test_both_faces import part_of

STRIP = [[0.0, -15.0], [300.0, -15.0], [300.0, 15.0], [0.0, 15.0]]
PART = part_of(STRIP, STRIP, 6.0, True)


@pytest.mark.parametrize(("spacing", "beyond"), [(30.0, 0.6), (15.0, 0.12), (4.0, 0.03)])
def test_strip_bent_in_its_own_plane(spacing, beyond):
    """Euler and Bernoulli: the strain is the distance from the middle over the radius, w / 4 R on average."""
    sheet, radius = sheet_of(PART, spacing), 600.0
    angle, out = sheet.flat[:, 0] / radius, radius - sheet.flat[:, 1]
    points = np.column_stack([out * np.sin(angle), radius - out * np.cos(angle), np.zeros(len(out))])
    mean, _ = Placed(PART, False, sheet, points).stretch()
    assert 0.97 < mean / (30.0 / (4 * radius)) < 1.0 + beyond


@pytest.mark.parametrize("spacing", [30.0, 4.0])
def test_even_stretch(spacing):
    sheet = sheet_of(PART, spacing)
    points = np.column_stack([1.02 * sheet.flat[:, 0], sheet.flat[:, 1], np.zeros(len(sheet.flat))])
    assert Placed(PART, False, sheet, points).stretch() == pytest.approx((0.02, 0.02))

"""Match ticks of mitred edges: both edges of the side of a regular frustum are mirror images of each other, ticks too."""

from __future__ import annotations

import numpy as np
import pytest

from tests.flatten.panel_designs import laid_flat, stock

FRUSTUM = {"kind": "prism", "stock": "foam", "height": "90 * scale", "at": {"normal": "z"}}


@pytest.mark.parametrize("sides", [3, 4, 5, 6, 8])
@pytest.mark.parametrize(("scale", "thickness"), [(1.0, 6.0), (1.7, 10.0), (3.0, 2.0)])
def test_ticks_of_a_frustum_stand_at_one_height(tmp_path, sides, scale, thickness):
    size = {"sides": sides, "width": f"{160 * scale} * scale", "top_width": f"{80 * scale} * scale"}
    part = FRUSTUM | size | {"height": f"{90 * scale} * scale"}
    pattern = laid_flat(tmp_path, {}, {"lamp": part}, stock(thickness)).pattern("lamp_side")
    left, right = (heights(edge) for edge in pattern.edges if edge.id in ("left", "right"))
    assert left
    assert left == {number: pytest.approx(height, abs=0.01) for number, height in right.items()}


def heights(edge):
    along = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(edge.points, axis=0), axis=1)))
    return {n: float(np.interp(at, along, edge.points[:, 1])) for n, at in zip(edge.tick_numbers, edge.ticks)}

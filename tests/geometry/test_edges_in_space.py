"""Edges of parts are divided as they stand in space, upright ones too."""

import numpy as np
import pytest

from foamwright.geometry.polyline import divided


@pytest.mark.parametrize("way", [(0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.6, 0.0, 0.8)])
@pytest.mark.parametrize("long", [0.5, 7.0, 300.0])
def test_a_straight_edge_has_places_all_along_whichever_way_it_stands(way, long):
    places = divided(np.array([[5.0, 6.0, 7.0], np.array([5.0, 6.0, 7.0]) + long * np.array(way)]), 2.0)
    steps = np.linalg.norm(np.diff(places, axis=0), axis=1)
    assert steps.max() <= 2.0 and steps.sum() == pytest.approx(long)
    assert np.allclose(np.cross(places - places[0], way), 0.0)

"""The line of a bevelled edge beside a dart: the dart's legs are carried on, or cut off, where it would go on to."""

import numpy as np
import pytest
from panel_designs import panel, plane, prop, stock

from foamwright.flatten.faces import face_line


@pytest.fixture(scope="module")
def rim(tmp_path_factory):
    """Of the quarter of a bowl; it lies in a plane, so that it is bevelled."""
    forms = {
        "bowl": {
            "kind": "superellipsoid",
            "radii": [120, 120, 160],
            "cuts": {"rim": plane("z", 90), "foot": plane("z", -20), "fore": plane("x", 0), "side": plane("y", 0)},
        }
    }
    where = {"rim": "before", "foot": "beyond", "fore": "beyond", "side": "beyond"}
    (piece,) = prop(
        tmp_path_factory.mktemp("bowl"), forms, {"bowl": panel("bowl", where, flush=["rim"])}, stock()
    ).pieces
    return next(edge for edge in piece.body.edges if edge.id == "rim")


@pytest.mark.parametrize("steps", [-4, -1, 0, 1, 4])
@pytest.mark.parametrize("share", [1 / 8, 1 / 3, 3 / 8, 1 / 2, 3 / 4])
@pytest.mark.parametrize("vertices", [2, 12])
def test_it_goes_straight_on_wherever_the_dart_starts(rim, share, steps, vertices):
    """A dart may start from one of the edge's own points but for rounding: between the two there is no direction."""
    assert np.abs(rim.slope).max() > 10
    own = np.linspace(0.0, 1.0, len(rim.points))
    mouth = float(own[np.abs(own - share).argmin()])
    mouth += steps * np.spacing(mouth)
    for shares in (np.linspace(mouth, 1.0, vertices), np.linspace(0.0, mouth, vertices)):
        flat = 150.0 * np.column_stack([np.cos(shares), np.sin(shares)])
        line, _ = face_line(flat, np.arange(vertices), shares, rim, False, True)
        ways = np.diff(line, axis=0)
        lengths = np.linalg.norm(ways, axis=1)
        assert lengths.min() > 0.1
        turns = (ways[:-1] * ways[1:]).sum(axis=1) / (lengths[:-1] * lengths[1:])
        assert turns.min() > np.cos(np.radians(5))

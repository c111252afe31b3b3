"""The line of a bevelled edge beside a dart: the dart's legs are carried on, or cut off, where it would go on to."""

import numpy as np
import pytest
from panel_designs import panel, plane, prop, stock

from foamwright.flatten.faces import Stretch, face_line, joined


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


@pytest.mark.parametrize("ahead", [-2.4, 0.0, 2.4])
def test_what_is_reached_goes_on_from_one_leg_to_the_other(ahead):
    """Where the line of a face runs ahead of the neutral line, or behind it, one side of the dart's mouth has that much more of
    it and the other that much less; a tick in between stood at the mouth."""
    before, after = np.linspace(0.0, 40.0, 9), np.linspace(40.0, 80.0, 9)
    edge = [Stretch(np.column_stack([x + ahead + wide, 0.0 * x]), x) for x, wide in ((before, 0.0), (after, 2.0))]
    legs = [np.array([[40.0, 0.0], [41.0, 20.0]]), np.array([[41.0, 20.0], [42.0, 0.0]])]
    back = np.array([[82.0 + ahead, 0.0], [82.0 + ahead, 50.0], [ahead, 50.0], [ahead, 0.0]])
    ring = [edge[0], *(Stretch(leg, np.zeros(2)) for leg in legs), edge[1], Stretch(back, np.zeros(4))]
    first, _, _, last, _ = joined(ring)
    assert first.points[-1] == pytest.approx([40.0, 0.0]) and last.points[0] == pytest.approx([42.0, 0.0])
    assert first.reached[-1] == pytest.approx(40.0 - ahead) and last.reached[0] == pytest.approx(40.0 - ahead)

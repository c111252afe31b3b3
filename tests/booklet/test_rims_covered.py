"""No rule comes to the rim of a shell that the same step has covered."""

from types import SimpleNamespace

import numpy as np
import pytest

from foamwright.booklet.words import checks

TURN = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)


def tube(radius, low, high):
    circle = radius * np.column_stack([np.cos(TURN), np.sin(TURN)])
    return np.vstack([np.column_stack([circle, np.full(len(TURN), z)]) for z in (low, high)])


@pytest.mark.parametrize(
    ("cover", "told"),
    [
        (None, True),
        (tube(24.0, 50.0, 60.0), False),  # a lid, larger than the rim of 20 mm,
        (tube(20.0, 50.0, 60.0), False),  # and as large
        (tube(10.0, 50.0, 60.0), True),  # a knob within it leaves the rim free,
        (tube(24.0, 20.0, 30.0), True),  # and so does a hoop further down
    ],
)
def test_a_round_rim_is_measured_only_while_it_is_free(cover, told):
    """40 mm across: twice 20."""
    meshes = [tube(20.0, 0.0, 50.0), *([] if cover is None else [cover])]
    bodies = SimpleNamespace(
        mesh=lambda copies: (np.vstack([meshes[copy] for copy in copies]), None),
        pieces=[SimpleNamespace(body=None)] * 2,
        matrices=np.array([np.eye(4)] * 2),
    )
    step = SimpleNamespace(bodies=bodies, moves=[SimpleNamespace(copies=tuple(range(len(meshes))))])
    lines = checks.glue_up(step, [SimpleNamespace(copy=0)])
    assert [("40 mm" in line and "upper edge is round" in line) for line in lines] == [True] * told

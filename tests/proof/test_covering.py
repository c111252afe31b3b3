"""What is bent over what: a hoop lies on the panels that it goes round, whichever of them the lines are drawn on."""

from dataclasses import replace

import pytest

from foamwright.proof.bench.assembly import _covering
from foamwright.proof.bench.foam import Copy, Foam, Mark, Sewn
from foamwright.proof.bench.footings import Footing
from tests.proof.test_both_faces import part_of

STRIP = [[0.0, 0.0], [400.0, 0.0], [400.0, 20.0], [0.0, 20.0]]
GORE = [[0.0, 0.0], [100.0, 0.0], [100.0, 90.0], [0.0, 90.0]]


def standing(lower, upper, face):
    return Footing(Copy(lower, 1), Copy(upper, 1), Mark(upper, False, ((1, 1),), ()), (face,), 0.0)


@pytest.mark.parametrize("both", [False, True])
@pytest.mark.parametrize("sewn", [False, True])
def test_panels_do_not_lie_on_the_hoop_that_is_laid_round_them(both, sewn):
    parts = {
        name: replace(part_of(ring, ring, 6.0, True), id=name)
        for name, ring in (("low", GORE), ("high", GORE), ("hoop", STRIP))
    }
    seams = (Sewn("S1", Copy("low", 1), "top", Copy("high", 1), "foot"),) if sewn else ()
    foam = Foam(parts, tuple(Copy(name, 1) for name in parts), seams, ())
    joints = [standing("low", "hoop", "inside")] + [standing("hoop", "low", "outside")] * both
    assert _covering(foam, joints) == {"hoop"}

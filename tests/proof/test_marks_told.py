"""How far parts are from their placement lines is told of those that are proven: what came to stand elsewhere tells nothing."""

from types import SimpleNamespace

import pytest

from foamwright.proof.bench.build import _mark_gaps
from foamwright.proof.bench.foam import Copy

BOARD, EAR, STUD = (Copy(name, 1) for name in ("board", "ear", "stud"))


def stands(upper, lower, off, sure=True):
    joint = SimpleNamespace(copies=(lower, upper), grazes=False)
    return SimpleNamespace(copies=(upper,), joints=(joint,), fit=SimpleNamespace(sure=sure, by_mark=(off,)))


@pytest.mark.parametrize(
    ("sound", "told"), [({BOARD, EAR, STUD}, [0.1, 45.9]), ({BOARD, EAR}, [0.1]), ({EAR, STUD}, [45.9])]
)
def test_lines_are_told_of_where_both_parts_are_proven(sound, told):
    built = SimpleNamespace(sets=(stands(EAR, BOARD, 0.1), stands(STUD, EAR, 45.9)))
    assert _mark_gaps(built, sound) == told


def test_lines_that_can_be_read_in_two_ways_are_not_among_them():
    built = SimpleNamespace(sets=(stands(EAR, BOARD, 0.1, sure=False),))
    assert _mark_gaps(built, {BOARD, EAR}) == []

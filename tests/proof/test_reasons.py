"""Why a part is not proven."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from foamwright.errors import BuildError
from foamwright.proof.bench import build
from foamwright.proof.bench.foam import Copy, Edge, Foam, Sewn, Touch
from foamwright.proof.bench.reasons import reasons
from foamwright.proof.bench.records import BENT, BESIDE, FAR, PLACE, UNMARKED, BodyFigures, Fault
from tests.proof.test_bench_bodies import line, part, square


@pytest.mark.parametrize(("sewn", "near", "why"), [(False, True, UNMARKED), (True, True, FAR), (True, False, PLACE)])
def test_what_a_seam_leads_to_is_not_said_to_be_led_to_by_nothing(sewn, near, why):
    low, high = (part(name, [(e.id, e.stretches[0]) for e in square(40.0, 5.0, 0.0).edges]) for name in ("low", "high"))
    ends = Copy("low", 1), Copy("high", 1)
    seams = (Sewn("S1", ends[0], "s0", ends[1], "s2"),) if sewn else ()
    standing = SimpleNamespace(copies=ends, fit=SimpleNamespace(sure=True, by_mark=(0.1,)))
    built = SimpleNamespace(sets=(standing,), left=())
    body = BodyFigures(("low", "high"), 2, True, True, 0.5, 1.0, 0.0, False)
    foam = Foam({"low": low, "high": high}, ends, seams, ())
    told = reasons(foam, built, {body: SimpleNamespace(determined=True)}, ["high"], set(), {"high"} if near else set())
    assert told == (("high", why),)


def test_a_hole_leads_to_the_bar_that_goes_through_it():
    hole = Edge("hole_1", (np.array([(18.0, 20.0), (20.0, 22.0), (22.0, 20.0), (18.0, 20.0)]),), (), (0.0,), True)
    board = part("board", [(e.id, e.stretches[0]) for e in square(40.0, 5.0, 0.0).edges])
    board = replace(board, edges=(*board.edges, hole))
    bar = replace(
        part("bar", [("start", line((0, 0), (0, 4))), ("end", line((90, 0), (90, 4)))]), kind="rod", bent=False
    )
    ends = Copy("board", 1), Copy("bar", 1)
    touch = Touch(ends[0], "hole_1", ends[1], "outside", True, 0.0, 75.0)
    foam = Foam({"board": board, "bar": bar}, ends, (), (touch,))
    built = SimpleNamespace(sets=(), left=())
    told = reasons(foam, built, {}, ["bar"], set(), set())
    assert told == (("bar", PLACE),)
    assert reasons(replace(foam, touches=()), built, {}, ["bar"], set(), set()) == (("bar", UNMARKED),)


def test_all_that_does_not_come_out_is_told_in_one_line():
    faults = [Fault(f"{letter} Wall", "it is short", 1.0) for letter in "ABC"]
    with pytest.raises(BuildError) as told:
        build._empty(Foam({}, (), (), ()), faults).refuse()
    assert str(told.value).endswith("come out: A Wall: it is short; B Wall: it is short; C Wall: it is short")


@pytest.mark.parametrize("held", [True, False])
def test_parts_that_stand_on_each_other_are_not_each_the_others_reason(held):
    """A tall wall on a low one, sewn to it: what was there first has a reason of its own, which is the other's too."""
    low, high = (part(name, [(e.id, e.stretches[0]) for e in square(40.0, 5.0, 0.0).edges]) for name in ("low", "high"))
    ends = Copy("low", 1), Copy("high", 1)
    foam = Foam({"low": low, "high": high}, ends, (Sewn("S1", ends[0], "s0", ends[1], "s2"),), ())
    standing = SimpleNamespace(copies=ends[1:] if held else ends[:1], fit=SimpleNamespace(sure=True, by_mark=(2.0,)))
    built = SimpleNamespace(sets=(standing,), left=())
    told = dict(reasons(foam, built, {}, ["low", "high"], set(), set()))
    assert told == ({"low": BENT, "high": BESIDE} if held else {"low": BESIDE, "high": BENT})

"""How often a step waits for cement, and where a joint is begun that has no ends."""

from types import SimpleNamespace

from foamwright.assembly.records import Joint
from foamwright.booklet.words import bending, glue_up, gluing, in_turn, seaming
from foamwright.booklet.words.glue_up import Joining


def own(part, copies):
    return Joint("seam", (part,), 100.0, 0.0, copies, "contact", ("left", "right"))


def between(one, other):
    return Joint("seam", (one, other), 100.0, 0.0, 1, "contact", ("high", "low"))


def step(seams, **placements):
    every = {part: SimpleNamespace(id=part, placements=(None,) * n, glue="contact") for part, n in placements.items()}
    return SimpleNamespace(seams=seams, every=every, meetings=(), units=(), bench=(), standing=0, pieces=(), riders=())


def test_a_row_that_others_close_is_no_ring_and_waits_once():
    """Four gores, each to the next, with a front between the last and the first: three joints of their own for four pieces."""
    gores = step([own("gore", 3), between("gore", "front")], gore=4, front=2)
    assert bending.closed_rounds(gores) == set() and gluing.rounds(gores) == 1
    hoops = step([own("hoop", 4), own("upper", 1), between("hoop", "upper")], hoop=4, upper=1)
    assert bending.closed_rounds(hoops) == {"hoop", "upper"} and gluing.rounds(hoops) == 2


def test_a_closed_hoop_on_a_closed_hoop_has_no_end_to_start_at():
    hoops = step([own("hoop", 4), own("upper", 4), between("hoop", "upper")], hoop=4, upper=4)
    (line,) = seaming._ring_on_ring(hoops)
    assert "then at the place opposite" in line
    assert not seaming._ring_on_ring(step([own("hoop", 4), between("hoop", "rim")], hoop=4, rim=1))


def test_a_single_joint_needs_no_order():
    one = (Joining(0, ()), Joining(1, ((0, (3, 4)),)))
    assert "in the order" not in glue_up.dry(SimpleNamespace(), one)[0]
    assert "in the order that follows" in glue_up.dry(SimpleNamespace(), (*one, Joining(2, ((1, (5,)),))))[0]


def test_one_piece_is_coated_while_the_one_before_dries(monkeypatch):
    monkeypatch.setattr(in_turn, "_on_the_way", lambda told, order: True)
    assert "while that turns tacky" in in_turn.coating(SimpleNamespace(), ())[0]

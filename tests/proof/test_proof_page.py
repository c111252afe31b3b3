"""What a maker reads of the virtual build on its page."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from foamwright.drawing.primitives import Text
from foamwright.layout.paper import paper
from foamwright.layout.records import PackInfo
from foamwright.proof.bench.page import _facts, _words, proof_sheet
from foamwright.proof.bench.records import UNMARKED, BodyFigures, Measured, Proof


def square(part, number=1, away=0.5):
    """100 mm wide, as foam 6 mm thick."""
    face = np.array([[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0], [0.0, 100.0, 0.0]])
    points = np.vstack([face, face + (0.0, 0.0, 6.0)]) + (120.0 * number, 0.0, 0.0)
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    return Measured(part, number, number, points, np.full(8, away), triangles, np.zeros(0))


def outcome(standing, fitting=(), copies=None, bodies=(), reasons=()):
    away = [one.away.max() for one in standing] or [0.0]
    worst = max(standing, key=lambda one: one.away.max(), default=None)
    return Proof(
        size=250.0,
        mean=float(np.mean(away)),
        worst=float(max(away)),
        worst_part=worst.part if worst else "",
        bodies=tuple(bodies),
        seams=0,
        seam_gap=0.0,
        seam_worst="",
        open_seams=(),
        marks=0,
        mark_gap=0.0,
        copies=copies or len(standing) + len(fitting),
        formed=0,
        loose=(),
        left=(),
        reasons=tuple(reasons),
        faults=(),
        measured=(),
        standing=tuple(standing),
        fitting=tuple(fitting),
    )


def patterns(*pieces, segments=()):
    """By id, letter, pieces to cut and those of them that stand nowhere in the prop."""
    split = SimpleNamespace(segments=segments) if segments else None
    own = [SimpleNamespace(id=i, label=label, quantity=n, loose=loose) for i, label, n, loose in pieces]
    return SimpleNamespace(patterns=[SimpleNamespace(piece=piece, split=split) for piece in own])


TWO = patterns(("a", "A", 2, 0), ("b", "B", 1, 0))
SOUND = outcome([square("a"), square("a", 2), square("b", 3, 1.25)])


def test_where_all_came_out_nothing_is_to_be_done():
    assert len(_words(SOUND, TWO)) == 2
    (told,) = _facts(SOUND, TWO)
    assert told.startswith("3 of 3 parts came out by their lines alone") and "1.25 mm where it is most (part B)" in told
    assert "0 at most" not in told and "Seams" not in told


@pytest.mark.parametrize(
    ("pieces", "counted"),
    [
        (patterns(("a", "A", 4, 0), ("b", "B", 1, 0)), "5 pieces are cut for 3 parts in place"),
        (patterns(("a", "A", 2, 0), ("b", "B", 2, 1)), "Of B not all stand in the prop"),
        (patterns(("a", "A", 2, 0), ("b", "B", 1, 0), segments="12"), "6 pieces are cut for 3 parts in place"),
        (TWO, ""),
    ],
)
def test_the_pieces_that_the_booklet_counts_are_explained_where_they_are_others(pieces, counted):
    assert any(counted in fact for fact in _facts(SOUND, pieces))
    assert bool(counted) == (len(_facts(SOUND, pieces)) > 1)


def test_parts_that_are_not_proven_are_named_with_what_to_do_before_all_else():
    proof = outcome([square("a"), square("a", 2)], copies=3, reasons=[("b", UNMARKED)])
    assert "they are wrong: B. Hold these in place dry" in _words(proof, TWO)[1]
    assert _facts(proof, TWO)[-1].startswith("Not proven: B: ")


def test_where_nothing_is_proven_no_figure_is_told():
    told = _facts(outcome([], copies=3, reasons=[("a", UNMARKED), ("b", UNMARKED)]), TWO)
    assert told[0] == "None of 3 parts came out by its lines alone." and "0.00" not in " ".join(told)


def test_what_is_alike_and_glued_up_by_itself_has_one_line():
    bodies = [BodyFigures(("b",), 1, True, True, 0.2 + 0.1 * k, 0.5 + k, 0.0, False) for k in range(3)]
    told = [fact for fact in _facts(outcome(SOUND.standing, bodies=bodies), TWO) if "Glued" in fact]
    assert told == [
        "Glued edge to edge by themselves, B (3 parts) are 0.30 mm off on average, 2.50 mm where it is most."
    ]


def test_what_fits_is_drawn_and_told_apart_from_what_was_built():
    info = PackInfo("Can", "1.0.0", "toy")
    built, both = (proof_sheet(outcome([square("a")], fits), TWO, paper("a4"), info) for fits in ((), [square("b", 2)]))
    assert (built.pages[0].parts, both.pages[0].parts) == (("a",), ("a", "b"))
    texts = [[item.value for item in page.pages[0].drawing.items if isinstance(item, Text)] for page in (built, both)]
    assert ["fits in its place" in own for own in texts] == [False, True]


@pytest.mark.parametrize("proven", [True, False])
def test_foam_that_was_bent_over_the_design_is_named_where_it_is_proven(proven):
    """What fits beside other foam of its body is told of there."""
    bodies = [BodyFigures(("a", "b"), 3, True, False, 0.2, 0.5, 0.0, True)]
    own, others = ([square("a"), square("a", 2)], [square("b", 3)])
    proof = replace(outcome(own if proven else others[:0], others, 3, bodies), formed=2 * proven)
    told = [fact for fact in _facts(proof, TWO) if "springs open" in fact]
    assert [fact.endswith("should: A.") for fact in told] == [True] * proven


def test_a_page_of_nothing_has_no_picture():
    page = proof_sheet(outcome([], copies=1), TWO, paper("a4"), PackInfo("Can", "1.0.0", "toy")).pages[0]
    assert page.parts == ()

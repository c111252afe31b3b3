"""The order of the assembly: what must exist first comes first, checked against the constraints themselves."""

from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from order_checks import heated_after_glue
from sample_prop import (
    MIRROR_Y,
    ONE,
    SHELL,
    STRUCTURE,
    Maker,
    flat,
    rectangle,
    sample,
    submarine,
)

from foamwright.assembly.bodies import bodies
from foamwright.assembly.joints import joints, perimeter
from foamwright.assembly.units import prerequisites
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.pages.cautions import CAUTIONS
from foamwright.booklet.words.order import _Bench
from foamwright.booklet.words.order import order as order_in
from foamwright.errors import DesignError
from foamwright.flatten.records import Patterns

UNSEEN = Ways(bodies((), (), ()))  # the parts of these tests have no solids: nothing stands in the way of anything


def order(prop, patterns):
    return order_in(prop, patterns, UNSEEN)


def steps_of(maker, notes=()):
    prop = maker.prop(notes)
    return order(prop, Patterns(prop, tuple(maker.patterns), tuple(maker.seams)))


def titled(steps, start):
    return next(step for step in steps if step.title.startswith(start))


def fitted_in(steps):
    """Part -> number of the step that fits it: the first that names it after all preparation."""
    work = [
        s for s in steps if s.title not in ("Print, transfer and cut", "Close the darts", "Laminate the layered parts")
    ]
    return {part: step.number for step in reversed(work[:-2]) for part in step.places}


def behind(steps):
    """Step number -> every step that must be done before it."""
    found = {}
    for step in steps:
        found[step.number] = set(step.waits_for).union(*(found[n] for n in step.waits_for))
    return found


def test_the_submarine_goes_together_as_at_the_bench():
    prop, patterns = sample()
    steps = order(prop, patterns)
    assert [step.title for step in steps[:5]] == [
        "Print, transfer and cut",
        "Close the pores with heat",
        "Close the darts",
        "Laminate the layered parts",
        "Join the upper bows, lower bows, upper sterns and lower sterns",
    ]
    fitted = fitted_in(steps)
    assert fitted["deck"] < fitted["frame"]  # which nothing joins to the hull here
    assert (
        fitted["bow_upper"]
        == fitted["stern_lower"]
        < fitted["lip"]
        == fitted["hoop"]
        < fitted["brow"]
        < fitted["fin"]
        < fitted["cleat"]
        < fitted["port_ring"]
    )
    assert [step.title for step in steps[-2:]] == ["Seal and paint", "Let it cure, and check"]
    assert 8 <= len(steps) <= 25


def test_heat_comes_before_all_glue():
    """Too much heat weakens a glued joint (common practice, no source): none once the first glue is on."""
    steps = order(*sample())
    assert heated_after_glue(steps) == []
    heat = titled(steps, "Close the pores")
    assert "heat-gun" in heat.cautions and [step for step in steps if "heat" in step.uses] == [heat]
    assert any(line.startswith("I by hand") for line in heat.instructions)  # gives 4.1 %: more than foam does cold
    brows = titled(steps, "Lay on the brows")
    assert any(f"You have bent the 2 brows (I) in step {heat.number}." in line for line in brows.instructions)


def test_heat_too_late_is_found():
    steps = order(*sample())
    late = replace(titled(steps, "Lay on the brows"), instructions=("Warm the brows with the heat gun.",))
    assert heated_after_glue([late if step.number == late.number else step for step in steps]) == [late.number]


def test_a_band_is_trimmed_in_its_own_step_before_it_is_glued():
    steps = order(*sample())
    step = next(step for step in steps if "lip" in step.places)
    assert any("10 mm too long on purpose" in line and "before you glue" in line for line in step.instructions)
    assert "knife" in step.cautions and "knife" in step.uses


def test_every_constraint_holds():
    prop, patterns = sample()
    steps = order(prop, patterns)
    before, fitted = behind(steps), fitted_in(steps)
    for part, needed in prerequisites(prop).items():
        for other in needed:
            assert fitted[other] == fitted[part] or fitted[other] in before[fitted[part]]
    assert before[steps[-1].number] == {step.number for step in steps[:-1]}
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))


def test_waiting_names_no_step_twice():
    prop, patterns = sample()
    steps = order(prop, patterns)
    before = behind(steps)
    for step in steps:
        assert not any(a in before[b] for a in step.waits_for for b in step.waits_for)


def test_glue_and_cautions_follow_the_joints():
    steps = order(*sample())
    assert titled(steps, "Close the darts").glue == "contact"
    assert titled(steps, "Glue on the cleats").glue == "instant"
    assert "heat-gun" not in titled(steps, "Lay on the brows").cautions
    assert "heat-gun" not in titled(steps, "Join the").cautions
    assert {"sanding-dust", "paint"} <= set(steps[-2].cautions)
    for step in steps:
        assert set(step.cautions) <= CAUTIONS.keys()
        assert ("contact-cement" in step.cautions) == (step.glue == "contact")


def test_a_note_of_the_design_makes_one_step():
    notes = ({"title": "Dress the cockpit", "parts": ["lip", "cleat"], "note": "Start at the stern."},)
    steps = order(*sample(notes))
    step = titled(steps, "Dress the cockpit")
    assert set(step.parts) == {"lip", "cleat"}
    assert "Start at the stern." in step.instructions
    assert step.glue == "contact" and {"contact-cement", "instant-glue"} <= set(step.cautions)


@pytest.mark.parametrize(
    ("notes", "message"),
    [
        (
            (
                {"title": "One", "parts": ["port_ring", "port_glass"]},
                {"title": "Two", "parts": ["port_ring"]},
            ),
            "stands in two steps",
        ),
        (({"title": "One", "parts": ["keel"]},), "names part 'keel'"),
        (({"title": "Ends", "parts": ["bow_upper", "cleat"]},), "wait for each other.*Ends"),
    ],
)
def test_notes_that_cannot_be(notes, message):
    with pytest.raises(DesignError, match=message):
        order(*sample(notes))


def test_a_circle_of_parts_is_named():
    maker = submarine()
    maker.pieces[4] = replace(maker.pieces[4], after=("frame",))
    with pytest.raises(DesignError, match=r"never be fitted: .*deck.*frame"):
        steps_of(maker)


def many_parts():
    """Forty kinds: the submarine and 27 details on its hull."""
    maker = submarine()
    outline = rectangle(30.0, 12.0)
    for index in range(27):
        on = ("bow_upper", "bow_lower", "stern_upper", "stern_lower")[index % 4]
        maker.add(
            f"detail{index}",
            f"Detail {index}",
            ("plate", "disc", "ring")[index % 3],
            SHELL,
            flat(outline),
            outline,
            lies_on=(on,),
            glue="instant",
        )
    return maker


def test_forty_kinds_make_a_sensible_number_of_steps():
    maker = many_parts()
    assert len(maker.pieces) == 40
    assert 8 <= len(steps_of(maker)) <= 25


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_any_prop_without_circles_is_put_together(data):
    """Random parts that only wait for earlier ones, in a shuffled order of the file."""
    count = data.draw(st.integers(1, 14))
    order_in_file = data.draw(st.permutations(range(count)))
    kinds = st.sampled_from(["panel", "bulkhead", "band", "plate", "ring", "disc"])
    maker = Maker()
    outline = rectangle(60.0, 20.0)
    for i in order_in_file:
        earlier = st.lists(st.integers(0, i - 1), max_size=3, unique=True) if i else st.just([])
        kind = data.draw(kinds)
        maker.add(
            f"p{i}",
            f"Part {i}",
            kind,
            STRUCTURE,
            flat(outline),
            outline,
            placements=data.draw(st.sampled_from([(ONE,), (ONE, MIRROR_Y)])),
            after=[f"p{j}" for j in data.draw(earlier)],
            lies_on=[f"p{j}" for j in data.draw(earlier)],
            glue=data.draw(st.sampled_from(["contact", "instant"])),
        )
    panels = [p.id for p in maker.pieces if p.kind == "panel"]
    for a, b in pairwise(panels):
        maker.seam(f"{a}-{b}", a, "e", b, "e", 60.0, 60.0)
    for one in panels[::2]:
        maker.seam(f"{one}-own", one, "m", one, "m", 20.0, 20.0)
    steps = steps_of(maker)
    prop = maker.prop()
    before, fitted = behind(steps), fitted_in(steps)
    assert fitted.keys() == {piece.id for piece in prop.pieces}
    for part, needed in prerequisites(prop).items():
        assert all(fitted[n] == fitted[part] or fitted[n] in before[fitted[part]] for n in needed)
    assert all(n < step.number for step in steps for n in step.waits_for)
    assert steps == steps_of(maker)
    lines = [line for step in steps for line in step.instructions]
    assert sum("mirror image" in line or "one cut mirrored" in line for line in lines) == len(panels[::2])


def test_joints_are_measured_over_all_copies():
    prop, patterns = sample()
    found = joints(prop, patterns)
    waist = next(j for j in found if j.kind == "seam" and j.edges == ("waist", "waist") and "bow_upper" in j.parts)
    assert (waist.length, waist.copies) == (260.12, 2)  # the longer edge; port and starboard
    centre = next(j for j in found if j.parts == ("bow_upper",) and j.kind == "seam")
    assert (centre.length, centre.copies) == (260.0, 1)  # two copies meet each other once
    fin = next(j for j in found if j.kind == "laminate")
    assert (fin.area, fin.copies) == (pytest.approx(4900.0), 4)  # one glued face in each of four fins


def test_perimeter_counts_holes_and_darts():
    _, patterns = sample()
    ring = perimeter(patterns.pattern("port_ring"))
    assert ring == pytest.approx(2.0 * np.pi * (35.0 + 25.0), rel=1e-3)
    leg = (60.0**2 + 6.0**2) ** 0.5
    assert perimeter(patterns.pattern("bow_upper")) == pytest.approx(2.0 * (260.0 + 120.0) - 12.0 + 2.0 * leg)


def test_what_is_done_when_all_has_cured_comes_last_and_takes_no_part_out_of_its_step():
    """A strap is threaded after paint and cure, on a part that has gone in long before."""
    text = "Thread the strap through the fin.\nClose its buckle."
    steps = steps_of(
        submarine(), ({"title": "Thread the strap", "parts": ["fin"], "note": text, "when": "cured", "uses": ()},)
    )
    last, cured = steps[-1], steps[-2]
    assert (last.title, last.instructions) == ("Thread the strap", tuple(text.splitlines()))
    assert "cure" in cured.title and last.waits_for == (cured.number,) and last.parts == ("fin",)
    assert "strap" in last.uses and not last.places and not last.glue
    assert any("fin" in step.places for step in steps[:-2])


@pytest.mark.parametrize(
    "note, glue",
    [
        ("Glue the felt to the fin.", "contact"),
        ("Stick on the felt with instant glue.", "instant"),
        ("Hang it up.", ""),
        ("Do this away from open glue, and seal the ends.", ""),
        ("Lay it in without glue.", ""),
        ("Lay it in without glue, then glue the lid on.", "contact"),
    ],
)
def test_what_a_note_glues_on_paint_is_told_its_glue_and_to_scrape(note, glue):
    (last,) = steps_of(submarine(), ({"title": "Felt", "parts": ["fin"], "note": note, "when": "cured", "uses": ()},))[
        -1:
    ]
    cures = ["cure as well" in line for line in last.instructions]
    assert last.glue == glue and last.instructions[-1 - sum(cures)] == note
    assert cures[-1] is (glue == "contact")  # nothing is used with fresh cement (common practice, no source)
    assert any("scrape the paint off" in line for line in last.instructions) is bool(glue)
    assert ("contact-cement" in last.cautions) == (glue == "contact")


@pytest.mark.parametrize("painted", [set(), {"door"}])
def test_the_inside_of_what_is_painted_by_now_is_not_told_to_be_painted_later(painted):
    """What is painted apart on the bench has its inside rubbed out and painted there."""
    coats = SimpleNamespace(last=-1, shows_inside=lambda part, copies: True)
    ways = SimpleNamespace(bodies=SimpleNamespace(mask=lambda copies: 0))
    bench = SimpleNamespace(
        drawn_outside=set(), painted=painted, painted_inside=set(), stages=(), coats=coats, ways=ways
    )
    foam = SimpleNamespace(density=100.0, material_type="foam")
    piece = SimpleNamespace(id="door", glue="contact", paint="red", left_as_it_is=False, stock=foam)
    assert _Bench._inside_shows(bench, piece) is not bool(painted)


@pytest.mark.parametrize("when", ["glued", "cured"])
def test_what_a_note_asks_for_takes_the_time_that_the_design_says(when):
    def minutes(**told):
        note = {"title": "Sew", "parts": ["fin"], "note": "Sew it.", "when": when, "uses": (), **told}
        return next(step.minutes for step in steps_of(submarine(), (note,)) if step.title == "Sew")

    beside = 15.0 if when == "cured" else 0.0  # what a note at the very end takes where nothing is said
    assert minutes(minutes=90.0) - minutes() == pytest.approx(90.0 - beside, abs=5.0)

"""What hangs from something: held without touching it, put together by itself, and hung up when all has cured."""

import pytest
from block_props import piece, scene
from small_designs import head, lines_of, stages_of_text

from foamwright.assembly.hung_where import where
from foamwright.errors import BuildError
from foamwright.look.build import first_look
from foamwright.parts.attempt import attempt

GATE = (
    head("Gate")
    + """\
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
  cord: {name: Cord, thickness: 3 mm, sheet: [3 mm, 1000 mm]}
parts:
  leg: {kind: plate, stock: foam, outline: {rectangle: {width: 100, height: 200 * scale, centre: [0, 100 * scale]}}, at: {origin: [0, 130, 0], normal: y, up: z}, mirror: y}
  beam: {kind: plate, stock: foam, outline: {rectangle: {width: 30, height: 300}}, at: {origin: [0, 0, 200 * scale], normal: z, up: y}, after: [leg]}
  sign: {kind: plate, stock: foam, outline: {rectangle: {width: 180, height: 46}}, at: {origin: [-5, 0, HIGH], normal: x, up: z}, FROM}
  leaf: {kind: disc, stock: foam, radius: 10, at: {origin: [5, 0, HIGH], normal: x}, lies_on: [sign]}
supplies:
  chain: {name: chain, size: 3 mm, length: 60 mm}
  eyes: {name: screw eyes, count: 4}
steps:
  - {title: Put up the sign, parts: [sign], uses: [chain, eyes], when: cured}
"""
)


def gate(high="140", carried="hangs_from: [beam]"):
    return GATE.replace("HIGH", high).replace("FROM", carried)


def test_a_sign_that_hangs_is_put_together_by_itself_and_hung_up_last(tmp_path):
    steps = stages_of_text(tmp_path, gate()).record("steps")
    *before, last = steps
    assert last.title == "Put up the sign"
    assert last.instructions == (
        "Hang the sign (C), with all that is glued on, from the beam (B) by this: chain and screw eyes. It must swing "
        "freely, and hold when you pull at it gently. It hangs underneath, in the middle, measured level to its own "
        "middle. Its top is 37 mm below the lower side of the beam (B).",
    )
    glued = [step for step in before if "sign" in step.places]
    assert [step.places for step in glued] == [("sign", "leaf")]
    assert not any("Hang" in line for step in before for line in step.instructions)


def test_a_step_of_nothing_but_what_hangs_comes_at_the_end_unasked(tmp_path):
    steps = stages_of_text(tmp_path, gate().replace(", when: cured", "")).record("steps")
    assert steps[-1].title == "Put up the sign" and "Hang the sign (C)" in steps[-1].instructions[0]
    assert sum("Hang the sign" in line for step in steps for line in step.instructions) == 1


def test_what_is_painted_before_it_is_hung_is_not_told_to_be_glued_on(tmp_path):
    """A paper leaf, which takes no paint, is glued on when the sign has its own."""
    paper = "  paper: {name: Paper, thickness: 0.3 mm, sheet: [200 mm, 200 mm], material_type: paper}\n"
    text = gate().split("supplies:")[0].replace("  cord: {name", paper + "  cord: {name")
    text = text.replace("leaf: {kind: disc, stock: foam", "leaf: {kind: disc, stock: paper")
    said = lines_of(stages_of_text(tmp_path, text + "steps:\n  - {title: The sign, parts: [sign, leaf]}\n"))
    assert "Paint the sign (C) at the same time, apart on the bench." in said


def bags(places, size=(8.0, 20.0, 30.0)):
    """Bags that hang from a rim of 120 x 120 x 16 mm whose lower side is at z = 64, 6 mm below it."""
    rim = piece("rim", (120.0, 120.0, 16.0), (0.0, 0.0, 72.0))
    made = [piece(f"bag{i}", size, (x, y, 64.0 - 6.0 - size[2] / 2.0)) for i, (x, y) in enumerate(places)]
    found = scene(rim, *made)
    return where(found, [(copy, 0) for copy in range(1, len(found))], "the rim")


@pytest.mark.parametrize(
    ("places", "told"),
    [
        ([(60, 30), (60, -30)], "at the front, 30 mm to either side of the middle,"),
        (
            [(60, 30), (60, -30), (-60, 30), (-60, -30), (30, 60), (-30, 60)],
            "at the front, on the left and at the back, 30 mm to either side of the middle of each,",
        ),
        ([(60, 30)], "at the front, 30 mm to the left of the middle,"),
        ([(-20, -60)], "on the right, 20 mm behind the middle,"),
        ([(0, 60), (0, -60)], "on the left and on the right, in the middle of each,"),
        ([(0, 0)], "underneath, in the middle,"),
        ([(10, -20)], "underneath, 10 mm in front of and 20 mm to the right of the middle,"),
    ],
)
def test_where_something_hangs_is_told_from_the_middle_of_what_it_hangs_from(places, told):
    first, second = bags(places)
    assert told in first and first.startswith("They hang" if len(places) > 1 else "It hangs")
    assert "6 mm below the lower side of the rim" in second


def test_of_what_hangs_from_a_cord_no_place_is_told():
    found = scene(piece("cord", (3.0, 3.0, 40.0), (0.0, 0.0, 80.0)), piece("bag", (8.0, 20.0, 30.0), (0.0, 0.0, 40.0)))
    assert where(found, [(1, 0)], "the cord") == []


def test_what_no_step_at_the_end_names_is_hung_in_the_last_one(tmp_path):
    told = lines_of(stages_of_text(tmp_path, gate().split("supplies:")[0]))
    assert (
        sum(
            line.startswith("Hang the sign (C), with all that is glued on, from the beam (B), without glue")
            for line in told
        )
        == 1
    )


def test_a_step_that_uses_nothing_tells_nothing_of_what_hangs(tmp_path):
    told = gate().replace("steps:\n", "steps:\n  - {title: Legs and beam, parts: [leg, beam]}\n")
    steps = stages_of_text(tmp_path, told).record("steps")
    assert "Legs and beam" in [step.title for step in steps] and steps[-1].title == "Put up the sign"


CORDS = "  cord: {kind: rod, made: bought, stock: cord, from: [0, 60, 163], to: [0, 60, 200], hangs_from: [beam], mirror: y}\n"


def test_cords_that_are_drawn_hang_and_carry_without_glue(tmp_path):
    text = gate(carried="hangs_from: [cord]").replace("supplies:", CORDS + "supplies:")
    stages = stages_of_text(tmp_path, text)
    told = lines_of(stages)
    assert any(line.startswith("Hang the 2 cords (E) from the beam (B), without glue.") for line in told)
    assert any(
        line.startswith("Hang the sign (C), with all that is glued on, from the 2 cords (E) by this") for line in told
    )
    assert not any("Glue the sign" in line or ("cord" in line and line.startswith("Glue")) for line in told)
    assert stages.record("held")


def test_what_hangs_is_held_and_what_stands_there_is_not(tmp_path):
    assert stages_of_text(tmp_path, gate()).record("held")
    with pytest.raises(BuildError, match="nothing holds sign, leaf to the rest of the prop"):
        stages_of_text(tmp_path, gate(carried="after: [beam]")).record("held")


@pytest.mark.parametrize(("carried", "loose"), [("hangs_from: [beam]", 0), ("after: [beam]", 1)])
def test_a_first_look_tells_nothing_of_what_hangs(tmp_path, carried, loose):
    design = stages_of_text(tmp_path, gate(carried=carried)).record("design")
    assert len(first_look(attempt(design)).loose) == loose


def test_what_reaches_higher_than_what_it_hangs_from_is_refused(tmp_path):
    told = "part sign hangs from beam, but its copy 1 reaches higher than that"
    stages = stages_of_text(tmp_path, gate(high="300"))
    (untrue,) = first_look(attempt(stages.record("design"))).untrue
    assert untrue.told.startswith(told)
    with pytest.raises(BuildError, match=told):
        stages.record("held")


def test_what_is_worn_hangs_any_way_up(tmp_path):
    """The plate over a hand that straps hold to an arm guard."""
    stages = stages_of_text(tmp_path, gate(high="300").replace("stock:\n", "used_by: [wearer]\nstock:\n", 1))
    assert first_look(attempt(stages.record("design"))).untrue == () and stages.record("held")

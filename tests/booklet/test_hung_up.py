"""What hangs from something: held without touching it, put together by itself, and hung up when all has cured."""

import pytest
from small_designs import head, lines_of, stages_of_text

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
        "freely, and hold when you pull at it gently.",
    )
    glued = [step for step in before if "sign" in step.places]
    assert [step.places for step in glued] == [("sign", "leaf")]
    assert not any("Hang" in line for step in before for line in step.instructions)


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

"""The left and the right one of a mirrored pair have one name each, in sentences, on pictures and on templates."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.assembly import which_copy

PAIR = (
    head("Wings")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  round: {name: Dowel 8 mm, thickness: 8 mm, sheet: [1000 mm, 8 mm]}
parts:
  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 280 mm * scale, height: 172 mm}}, at: {origin: [0, 0, -10], normal: z, up: y}}
  wing:
    kind: plate
    stock: thick
    outline: {polygon: {points: [[0, 0], [90, 0], [30, 60]]}}
    at: {origin: [0, 60, 0], normal: y, up: z}
    mirror: y
    lies_on: [floor]
"""
)
BLOCK = (
    "  block: {kind: plate, stock: thick, outline: {rectangle: {width: 20 mm, height: 20 mm}}, "
    "at: {origin: [-30, 70, 20], normal: y, up: z}, lies_on: [wing]}\n"
)


@pytest.fixture
def stages(tmp_path):
    def of(text):
        path = tmp_path / "wings.yaml"
        path.write_text(text, encoding="utf-8")
        return Stages(Request(load(path)))

    return of


def test_a_pair_that_differs_by_what_lies_on_it_is_left_and_right_and_has_no_numbers(stages):
    """A block lies on the left wing alone: without a left and a right the wings would be numbered by that."""
    made = stages(PAIR + BLOCK)
    bodies = made.record("bodies")
    wings = bodies.of("wing")
    assert "wing" in bodies.numbered
    assert {which_copy.label(bodies, i) for i in wings} == {"B L", "B R"}
    assert {which_copy.name(bodies, i) for i in wings} == {"the left wing (B)", "the right wing (B)"}
    said = " ".join(line for step in made.record("steps") for line in step.instructions)
    assert (
        "mark the piece cut as drawn" in said
        and "Number what is cut more than once" not in made.record("steps")[0].heads.values()
    )
    printed = {
        text.value
        for template in made.record("templates")
        if template.pattern.piece.id == "wing"
        for label in template.drawing.labels
        for text in label.texts
    }
    assert any("drawn only" in text or "mirrored only" in text for text in printed)
    assert not any("copy 1" in text for text in printed)


def test_a_round_bar_has_no_hand(stages):
    bar = "  bar: {kind: rod, stock: round, from: [-60, 30, 4], to: [60, 30, 4], lies_on: [floor], mirror: y}\n"
    piece = stages(PAIR + bar).record("prop").piece("bar")
    assert len(piece.placements) == 2 and piece.cut_mirrored == 0


def test_the_front_and_the_back_half_of_a_thing_have_numbers_that_say_which_is_mirrored(stages):
    """Beside a left and a right wing, what is said of left and right is said of these alone."""
    half = (
        "  half: {kind: plate, stock: thick, outline: {polygon: {points: [[0, 0], [30, 0], [10, 20]]}}, "
        "at: {origin: [50, 0, 0], normal: x, up: z}, mirror: x, lies_on: [floor]}\n"
        "  stud: {kind: disc, stock: thick, radius: 4, at: {origin: [60, 8, 6], normal: x}, mirror: x, lies_on: [half]}\n"
    )
    made = stages(PAIR + BLOCK + half)
    bodies = made.record("bodies")
    assert {which_copy.label(bodies, i) for i in bodies.of("half")} == {"D 1", "D 2"}
    said = [line for step in made.record("steps") for line in step.instructions]
    (numbers,) = [line for line in said if line.startswith("D: 1 ")]
    assert "D: 1 at the front" in numbers and "2 (the mirrored one) at the back." in numbers
    assert "copy 1" not in numbers  # its template says "as drawn only"
    (hands,) = [line for line in said if "on the left of the prop" in line]
    assert hands.startswith("Of B one piece goes on the left of the prop and one on the right: mark the ")

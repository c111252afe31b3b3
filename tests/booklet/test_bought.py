"""What a design wants bought beside foam, glue and paint stands in the shopping list and in its steps, at every size."""

import pytest

from foamwright import Request, Stages, load
from foamwright.booklet.pages.materials import shopping
from foamwright.booklet.words.supplies import ready
from foamwright.errors import DesignError

DESIGN = """
format: 1
name: Satchel lid
version: 1.0.0
licence: CC0-1.0
units: mm
parameters:
  scale: {value: 1, min: 0.5, max: 3}
  clearance: {value: 1 mm}
  wide: {value: 25 mm}
sizes: {small: {}, large: {set: {scale: 2, wide: 40 mm}}}
stock: {sheet: {name: Sheet foam, thickness: 6, sheet: [1000, 700]}}
parts:
  lid: {kind: plate, stock: sheet, outline: {rectangle: {width: 200 * scale, height: 120 * scale}}, at: {origin: [0, 0, 0], normal: z}}
  flap: {kind: plate, stock: sheet, outline: {rectangle: {width: 80 * scale, height: 60 * scale}}, at: {origin: [0, 0, 6 mm], normal: z}}
supplies:
  strap: {name: Webbing, size: wide, length: 2 * 610 mm * scale, note: black if you can}
  bell: {name: Bell, count: round(3 * scale)}
  cord: {name: Cord}
steps:
  - {title: Glue on the flap, parts: [flap], note: The strap lies below it., uses: [strap, cord]}
  - {title: Hang up the bells, parts: [lid], when: cured, note: Sew them to the rim., uses: [bell]}
"""


def stages(folder, size, text=DESIGN, units="mm"):
    path = folder / "satchel.yaml"
    path.write_text(text + f"printed_units: {units}\n")
    return Stages(Request(load(path, size)))


def lists(made):
    """The rows of the shopping list by item, and what each step has ready by its title."""
    patterns, steps = made.record("patterns"), made.record("steps")
    rows = {line.item: (line.amount, line.unit, line.basis) for line in shopping(patterns.prop, patterns, (), steps)}
    return rows, {step.title: (step.number, ready(step)) for step in steps}


@pytest.mark.parametrize("size, across, metres, bells", [("small", 25, 1.3, 3), ("large", 40, 2.5, 6)])
def test_lengths_and_counts_are_those_of_the_size(tmp_path, size, across, metres, bells):
    rows, steps = lists(stages(tmp_path, size))
    number, have = steps["Glue on the flap"]
    last, hung = steps["Hang up the bells"]
    webbing = f"Webbing, {across} mm"
    assert rows[webbing] == (pytest.approx(metres), "m", f"for step {number}; black if you can")  # up to the next 0.1 m
    assert rows["Bell"] == (bells, "piece", f"for step {last}")
    assert rows["Cord"] == (1, "piece", f"for step {number}")
    assert have[-4:] == [webbing, "Cord", "gloves", "respirator"]  # cement
    assert hung == ["sewing needle and strong thread", "Bell"]


def test_one_that_is_called_as_the_programs_own_takes_its_place(tmp_path):
    """The word "strap" in a note calls for webbing: for that of the design, where it has some, else for a set."""
    own, _ = lists(stages(tmp_path, "small"))
    assert not any("webbing for the straps" in item.lower() for item in own)
    plain = DESIGN.replace("  strap: {", "  band: {").replace("[strap, cord]", "[cord]")
    rows, _ = lists(stages(tmp_path, "small", plain))
    assert rows["Webbing for the straps, with buckles"][:2] == (1, "set")
    assert rows["Webbing, 25 mm"] == (
        pytest.approx(1.3),
        "m",
        "black if you can",
    )  # no step uses it: bought all the same


def test_none_are_needed(tmp_path):
    text = DESIGN[: DESIGN.index("supplies:")]
    rows, _ = lists(stages(tmp_path, "small", text))
    assert "Bell" not in rows and "Adhesive" not in rows


@pytest.mark.parametrize(
    "old, new, told",
    [
        ("uses: [bell]", "uses: [bel]", "did you mean bell"),
        ("length: 2 * 610 mm * scale", "length: 610 mm, count: 2", "one of them"),
        ("count: round(3 * scale)", "count: 1.5", "whole number"),
        ("size: wide", "size: 0", "0.1"),
        ("name: Cord", "nam: Cord", "name"),
    ],
)
def test_mistakes_are_told_with_their_place(tmp_path, old, new, told):
    text = DESIGN.replace(old, new)
    line = next(i for i, one in enumerate(text.splitlines(), 1) if new in one)
    with pytest.raises(DesignError, match=rf"satchel.yaml:{line}:\d+: .*{told}"):
        stages(tmp_path, "small", text)

"""A lid that a hinge holds to its box is set on the box, whatever it is made of and wherever it stands in the design. Sizes are our
own."""

import pytest
from small_designs import head, lines_of, stages_of_text

LID = {
    "plate": "{kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 160}}, at: {origin: [0, 0, 100], normal: z, up: x}, rests_on: [chest]}",
    "box": "{kind: box, stock: thick, size: [160, 200, 40], without: [bottom], at: {origin: [0, 0, 100], normal: z, up: x}, rests_on: [chest]}",
}
CHEST = "{kind: box, stock: thick, size: [160, 200, 100], joint: JOINT, without: [top], at: {normal: z, up: x}}"
HINGE = "{kind: plate, stock: cloth, outline: {rectangle: {width: 100, height: 30, centre: [0, -5]}}, at: {origin: [-80 mm * scale, 0, 100], normal: -x, up: z}, lies_on: [chest, lid]}"


def chest(lid, joint, order):
    parts = {"chest": CHEST.replace("JOINT", joint), "lid": LID[lid], "hinge": HINGE}
    return (
        head("Chest")
        + "stock:\n"
        + "  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1000 mm]}\n"
        + "  cloth: {name: Strong cotton, thickness: 2 mm, sheet: [600 mm, 1000 mm], material_type: cloth}\n"
        + "parts:\n"
        + "".join(f"  {name}: {parts[name]}\n" for name in order.split())
    )


@pytest.mark.parametrize("order", ["chest lid hinge", "hinge lid chest"])
@pytest.mark.parametrize(("lid", "joint"), [("plate", "mitred"), ("plate", "butt"), ("box", "mitred")])
def test_the_box_stands_and_its_lid_is_set_on_it(tmp_path, lid, joint, order):
    """Rims that lie on each other have no lines: such a lid is laid on."""
    lines = lines_of(stages_of_text(tmp_path, chest(lid, joint, order)))
    upon = [line for line in lines if ("no glue\u201d" in line and "Set " in line) or "without glue" in line]
    assert upon and all(
        "lid" in line.partition(" on ")[0] and "of the chest" in line.partition(" on ")[2] for line in upon
    )
    assert not any("stays loose" in line or "stay loose" in line for line in lines)


LEDGE = "{kind: plate, stock: thick, outline: {rectangle: {width: 140, height: 14}}, at: {origin: [0, 83, 50], normal: z, up: y}, mirror: y, after: [chest], paint: oak}"
TRAY = "{kind: box, stock: thick, size: [138, 178, 30], without: [top], at: {origin: [0, 0, 60], normal: z, up: x}, rests_on: [ledge], paint: red}"


def test_a_hinged_lid_is_opened_for_what_stands_below_it(tmp_path):
    """A tray on ledges below it is a thing of its own, tried on and painted beside the chest; the insides that an open lid shows are
    painted when the ledges are in; the lid is painted by itself and hung when all is dry."""
    text = chest("plate", "mitred", "chest lid hinge").replace("rests_on: [chest]", "rests_on: [chest], paint: oak")
    steps = stages_of_text(tmp_path, text + f"  ledge: {LEDGE}\n  tray: {TRAY}\n").record("steps")
    tray = {part for step in steps for part in step.parts if part.startswith("tray")}
    (painted,) = [step for step in steps if "paint" in step.title.lower()]
    assert tray | {"ledge", "lid"} <= set(painted.parts) and "hinge" not in painted.parts
    assert any("First set the bottom" in line and "Take it off again" in line for line in painted.instructions)
    (hung,) = [step for step in steps if "hinge" in step.places]
    assert hung.places == ("lid", "hinge") and hung.number > painted.number
    assert {number for move in steps[-1].sets for number in move.copies} and tray <= set(steps[-1].parts)
    assert any("take it off before you carry" in line for line in steps[-1].loose)
    (heated,) = [step for step in steps if "heat" in step.title.lower()]
    assert not any(line.startswith("Not at all") for line in heated.instructions)


@pytest.mark.parametrize("gap", [0, 2, 20])
def test_a_door_is_held_with_its_gap_while_its_hinge_goes_on(tmp_path, gap):
    """A door of 160 mm in an opening that is larger by the gap on every side; with none, or with much, there is nothing to space."""
    parts = {
        "wall": "{kind: plate, stock: thick, outline: {rectangle: {width: 300, height: 300}}, minus: [{rectangle: {width: W, height: W}}], "
        "at: {origin: [0, 0, 150], normal: x, up: z}}".replace("W", str(160 + 2 * gap)),
        "door": "{kind: plate, stock: thick, outline: {rectangle: {width: 160, height: 160}}, at: {origin: [0, 0, 150], normal: x, up: z}, glue: none}",
        "hinge": "{kind: plate, stock: cloth, outline: {rectangle: {width: 80, height: 100}}, at: {origin: [10, 80, 150], normal: x, up: z}, lies_on: [wall, door]}",
    }
    text = chest("plate", "butt", "").replace("  {}", "") + "".join(f"  {name}: {it}\n" for name, it in parts.items())
    told = [line for line in lines_of(stages_of_text(tmp_path, text)) if "strips of card" in line]
    assert len(told) == (gap == 2)
    assert all("the door (B) in its place with tape, 2 mm from the wall (A)" in line for line in told)

"""Checks and joints are told as hands find them: a lid on a wall that leans, a bar that is loose in its hole, two halves that are
alike pressed hollow alike. Sizes are our own."""

import re

import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.booklet.pages.materials import shopping
from foamwright.booklet.words.gauging import gauges

HEAD = """
format: 1
name: {name}
version: 0.1.0
licence: CC-BY-4.0
summary: For a test.
parameters:
  scale: {{value: 1, note: Larger or smaller}}
  clearance: {{value: {clearance}, note: Gap around what is let in}}
sizes: {{shelf: {{note: for a shelf}}}}
stock:
  shell: {{name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}}
  bar: {{name: Beech dowel 8 mm, thickness: 8 mm, sheet: [8 mm, 1000 mm], material_type: plywood}}
"""

BUCKET = """
forms:
  wall:
    kind: revolution
    axis: z
    smooth: false
    profile: [[-10, 83 * scale], [0, 80 * scale], [60, 62 * scale], [70, 59 * scale]]
    cuts: {foot: {plane: {normal: z, at: 0}}, top: {plane: {normal: z, at: 60}}}
parts:
  wall: {kind: panel, stock: shell, form: wall, laid: outside, where: {foot: beyond, top: before}, opened: 180, flush: [foot, top]}
  lid: {kind: disc, stock: shell, radius: 84 * scale, at: {origin: [0, 0, 60], normal: z}, after: [wall]}
  post: {kind: plate, stock: shell, outline: {rectangle: {width: 30, height: 60, centre: [0, 30]}, minus: [{circle: {radius: 4.5, centre: [0, 40]}}]},
    at: {origin: [40, 0, 66], normal: x, up: z}, mirror: x, after: [lid]}
  bar: {kind: rod, stock: bar, from: [-60, 0, 106], to: [60, 0, 106], glue: instant, after: [post]}
"""


def made(folder, text, **head):
    path = folder / "prop.yaml"
    path.write_text(HEAD.format(**head) + text, encoding="utf-8")
    return Stages(Request(load(path)))


def test_a_lid_on_a_leaning_wall_is_measured_where_it_lies_and_glue_for_a_loose_bar_is_bought(tmp_path):
    stages = made(tmp_path, BUCKET, name="Bucket", clearance="0.5 mm")
    steps = stages.record("steps")
    text = " ".join(line for step in steps for line in step.instructions)
    # the wall's outside is 6 mm / cos(16.7 deg) off the form on the level: 62 + 6.3 mm at the top, 80 + 6.3 at the foot
    out = re.search(r"the lid \(\w\) stands (\d+) mm", text)
    assert out and abs(int(out[1]) - (84 - 62 - 6.3)) < 1.0
    # by hand: a bar of 8 mm in a hole of 9 mm
    assert "The fit is loose by up to 0.5 mm: use gel." in text
    bought = [line.item for line in shopping(stages.record("prop"), stages.record("patterns"), (), steps)]
    assert any("Instant glue" in item for item in bought)


def test_halves_that_are_alike_are_pressed_hollow_alike(tmp_path):
    ball = """
forms:
  hull:
    kind: superellipsoid
    centre: [0, 0, 100]
    radii: [95 * scale, 41, 41]
    cuts: {level: {plane: {normal: z, at: 100}}, nose: {plane: {normal: x, at: 80}}, tail: {plane: {normal: x, at: -80}}, mid: {plane: {normal: y}}}
parts:
  upper: {kind: panel, stock: shell, form: hull, where: {level: beyond, mid: beyond, nose: before, tail: beyond}, flush: [nose, tail], darts: auto, mirror: y}
  lower: {kind: panel, stock: shell, form: hull, where: {level: before, mid: beyond, nose: before, tail: beyond}, flush: [nose, tail], darts: auto, mirror: y}
"""
    own = gauges(made(tmp_path, ball, name="Hull", clearance="0.5 mm").patterns.patterns)
    assert abs(own["upper"].along.rise - own["lower"].along.rise) <= 1.0
    assert abs(own["upper"].around.rise - own["lower"].around.rise) <= 1.0


DECK = """
parts:
  deck: {kind: plate, stock: shell, outline: {rectangle: {width: 80 * scale, height: 100}}, at: {origin: [0, 0, 30], normal: z, up: x}}
  bulkhead: {kind: plate, stock: shell, outline: {OUTLINE}, at: {origin: [50, 0, 0], normal: x, up: z}, after: [deck]}
"""


@pytest.mark.parametrize(
    "outline, out", [("rectangle: {width: 120, height: 100}", "20 mm"), ("circle: {radius: 60}", None)]
)
def test_a_bulkhead_is_measured_against_a_deck_where_the_two_meet(tmp_path, outline, out):
    """120 mm against 80 mm are 20 mm on each side of a rectangle. A circle of 60 mm radius is 2 * sqrt(60^2 - 30^2) = 104 mm wide at
    the lower face of the deck, and 2 * sqrt(60^2 - 36^2) = 96 mm at the upper one: no one size is true of both."""
    steps = made(tmp_path, DECK.replace("OUTLINE", outline), name="Deck", clearance="0.5 mm").record("steps")
    text = " ".join(line for step in steps for line in step.instructions)
    found = re.search(r"the bulkhead \(\w\) stands (\d+ mm) \(± 2 mm\) out beyond the deck", text)
    assert (found and found[1]) == out


PORTHOLE = """
parts:
  wall: {kind: plate, stock: shell, layers: 2, outline: {rectangle: {width: 120 * scale, height: 120}, minus: [{circle: {radius: 30}}]},
    at: {origin: [0, 0, 60], normal: x, up: z}}
  ring: {kind: ring, stock: shell, outer_radius: 29.5, inner_radius: 20, at: {origin: [9, 0, 60], normal: x}, after: [wall]}
  pane: {kind: disc, stock: shell, radius: 29.5, at: {origin: [3, 0, 60], normal: x}, lies_on: [ring]}
"""


def test_a_ring_is_not_measured_on_the_face_that_its_pane_covers(tmp_path):
    """A wall from x = 0 to 12, the ring from 9 to 15; its back at 9 would be 9 mm deep, and the pane from 3 to 9 lies on it."""
    steps = made(tmp_path, PORTHOLE, name="Porthole", clearance="0.5 mm").record("steps")
    text = " ".join(line for step in steps for line in step.instructions)
    assert re.search(r"at the front (the|each) ring \(\w\) stands 3 mm out of the hole\.", text)
    assert "9 mm deep" not in text


def test_lines_inside_of_what_stays_open_are_rubbed_out_before_it_is_joined(tmp_path):
    """A bucket without its lid shows its inside; with it, nobody sees that."""
    told = {}
    for lid in (True, False):
        (tmp_path / str(lid)).mkdir()
        text = BUCKET if lid else BUCKET[: BUCKET.index("  lid:")]
        text = text.replace("form: wall, laid: outside", "form: wall, laid: outside, paint: red") + FLOOR
        steps = made(tmp_path / str(lid), text, name="Bucket", clearance="0.5 mm").record("steps")
        told[lid] = [
            step for step in steps if any("rub out the letter, the arrows" in line for line in step.instructions)
        ]
    assert not told[True]
    (step,) = told[False]
    assert step.places[0] == "wall" and "eraser" in step.uses


FLOOR = """
  floor: {kind: disc, stock: shell, radius: 79 * scale, at: {origin: [0, 0, 0], normal: z}, after: [wall]}
"""


TABLE = """
parts:
  side: {kind: plate, stock: shell, outline: {rectangle: {width: 80 * scale, height: 60, centre: [0, 30]}}, at: {origin: [0, 50, 0], normal: y, up: z}, mirror: y}
  top: {kind: plate, stock: shell, outline: {rectangle: {width: 80 * scale, height: 112}}, at: {origin: [0, 0, 60], normal: z, up: x}, after: [side]}
  toe: {kind: disc, stock: shell, radius: 15, at: {origin: [0, 53, -6], normal: z}, mirror: y, after: [side], paint: red}
"""


def test_what_goes_below_the_work_waits_for_a_height_that_is_measured_from_the_table(tmp_path):
    """By hand: the top's upper face lies at 66, the lower edge of the sides at 0 and that of the toes at -6."""
    steps = made(tmp_path, TABLE, name="Table", clearance="0.5 mm").record("steps")
    top, toe = (next(s for s in steps if part in s.places) for part in ("top", "toe"))
    (line,) = [line for line in top.instructions if "with the work on the table" in line]
    if top.number < toe.number:
        assert "66 mm" in line and top.number in toe.waits_for
    else:
        assert "72 mm" in line


PLUG = (
    BUCKET[: BUCKET.index("  lid:")]
    + """
  floor: {kind: disc, stock: shell, radius: 86 * scale, at: {origin: [0, 0, -6], normal: z}, after: [wall]}
  plug: {kind: bulkhead, stock: shell, form: wall, plane: {normal: z, at: PLACE}, after: [floor]}
"""
)


def test_a_plug_that_is_wider_below_is_squeezed_past_the_edge(tmp_path):
    """The wall leans in by 6 mm on 60: a plug of 6 mm is 1.2 mm wider across below than above, and comes from above, as the floor is
    in below."""
    text = PLUG.replace("PLACE", "57").replace(
        "[60, 62 * scale], [70, 59 * scale]", "[60, 74 * scale], [70, 73 * scale]"
    )
    steps = made(tmp_path, text, name="Bucket", clearance="0.5 mm").record("steps")
    step = next(s for s in steps if "plug" in s.places)
    told = " ".join(step.instructions)
    assert step.number > next(s for s in steps if "floor" in s.places).number
    assert "from above. The face that goes in first is the wider one" in told


DRUM = (
    head("Drum")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
forms:
  wall:
    kind: revolution
    axis: z
    smooth: false
    profile: [[-10, 60], [90, 60]]
    cuts:
      middle: {plane: {normal: y}}
      foot: {plane: {normal: z}}
      top: {plane: {normal: z, at: 80}}
parts:
  base: {kind: disc, stock: shell, radius: 100 mm * scale, at: {origin: [0, 0, -6], normal: z}}
  drum: {kind: panel, stock: shell, form: wall, where: {middle: beyond, foot: beyond, top: before}, flush: [foot, top], mirror: y, after: [base]}
"""
)


def test_what_a_flat_part_spans_by_itself_is_no_check_of_the_work_on_it(tmp_path):
    """A drum of 132 mm on a disc of 200 mm: the disc was measured when it was cut, and no hand bends it."""
    path = tmp_path / "drum.yaml"
    path.write_text(DRUM, encoding="utf-8")
    said = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    (line,) = [line for line in said if line.startswith("Check, once it is joined")]
    assert "86 mm (\u00b1 2 mm) high" in line and "200 mm" not in line and "Bend it" not in line


def test_what_only_lies_there_is_not_measured_as_if_it_were_joined(tmp_path):
    path = tmp_path / "drum.yaml"
    path.write_text(DRUM.replace(", mirror: y, after: [base]}", ", glue: none, rests_on: [base]}"), encoding="utf-8")
    said = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    assert any("the drum" in line and "without glue" in line for line in said)
    assert not any(line.startswith("Check, once it is joined") for line in said)


PADS = (
    head("Pads", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
  skin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [600 mm, 1200 mm]}
parts:
  board: {kind: plate, stock: shell, outline: {rectangle: {width: 200, height: 60}}, at: {normal: z, up: y}}
  long: {kind: plate, stock: skin, outline: {rectangle: {width: 100, height: 40}}, at: {origin: [-40, 0, 6], normal: z, up: y}, lies_on: [board]}
  short:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 6, height: 40}}
    at: {origin: [13, 0, 6], normal: z, up: y}
    lies_on: [board]
    after: [long]
"""
)


def test_parts_on_one_face_are_not_checked_for_being_flush_there(tmp_path):
    path = tmp_path / "pads.yaml"
    path.write_text(PADS, encoding="utf-8")
    said = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    assert any("the short (C) to the long (B) along the edges" in line for line in said)
    assert not any("is flush with" in line for line in said)

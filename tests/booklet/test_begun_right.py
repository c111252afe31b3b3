"""Where work is begun, which way round a round part goes, what is painted before it is shut in: a small drum in two halves with a
hoop, a lid with a hole, a board on posts. Sizes are our own."""

import re

import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.assembly import directions
from foamwright.assembly.practice import WAIT_TAPED

DRUM = (
    head("Drum", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
  skin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [600 mm, 1000 mm]}
forms:
  drum:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 50 * scale], [90, 50 * scale]]
    cuts: {middle: {plane: {normal: y, at: 0}}}
parts:
  wall: {kind: panel, stock: shell, form: drum, where: {middle: beyond}, mirror: y, paint: red}
  floor: {kind: disc, stock: shell, radius: 49.5 * scale, at: {origin: [0, 0, 0], normal: z}, after: [wall], paint: red}
  lid: {kind: disc, stock: shell, radius: 56 * scale, at: {origin: [0, 0, 90], normal: z}, after: [wall], paint: red LID}
  hoop:
    kind: band
    stock: skin
    along: {outline: {circle: {radius: 56 * scale}}, at: {origin: [0, 0, 40], normal: z}}
    from: -8 mm
    to: 8 mm
    laid: outside
    trim: {end: 6 mm}
    after: [wall]
    paint: red
  knob: {kind: disc, stock: shell, radius: 12, at: {origin: [30 * scale, 0, 96], normal: z}, lies_on: [lid], paint: red}
  flag:
    kind: plate
    stock: skin
    outline: {rectangle: {width: 16, height: 20, centre: [0, 10]}}
    at: {origin: [30 * scale, 0, 102], normal: x, up: z}
    after: [knob]
    paint: red
  sign:
    kind: plate
    stock: skin
    outline: {rectangle: {width: 20, height: 8}}
    at: {origin: [0, -58 * scale, 40], normal: -y, up: z}
    after: [hoop]
"""
)


def steps_of(folder, text):
    path = folder / "prop.yaml"
    path.write_text(text, encoding="utf-8")
    return Stages(Request(load(path))).record("steps")


@pytest.fixture(scope="module")
def drum(tmp_path_factory):
    lid = "{kind: disc, stock: shell, radius: 56 * scale"
    ring = "{kind: ring, stock: shell, outer_radius: 56 * scale, inner_radius: 15 * scale"
    return steps_of(tmp_path_factory.mktemp("drum"), DRUM.replace(lid, ring).replace("red LID", "red"))


def lines(steps):
    return [line for step in steps for line in step.instructions]


def test_a_hoop_is_begun_where_a_rule_finds_the_place(drum):
    """By construction: a circle begins at the right (y below 0) or the left; the seams of the halves lie in front and behind, a
    quarter of the round away from there."""
    (line,) = [line for line in lines(drum) if "Begin " in line]
    assert re.search(r"Begin on the (right|left), halfway between seams 1 and 2: lay", line)
    assert "run the strip across the front first" in line or "run the strip across the back first" in line


@pytest.mark.parametrize(
    ("lower", "where"), [("-8 mm", "where it shows least:"), ("-50 mm", "so that its cross lines come on the seams:")]
)
def test_a_hoop_with_nothing_on_it_is_begun_where_its_lines_fit(tmp_path, lower, where):
    """One that hangs below the halves has a line where they end, and lines across where they meet."""
    text = DRUM[: DRUM.index("  sign:")].replace("from: -8 mm", f"from: {lower}")
    (line,) = [line for line in lines(steps_of(tmp_path, text)) if "Begin " in line]
    assert where in line


def quarters(scale):
    """The drum of four equal quarters, whose seams share one number, at 30 degrees and every quarter turn from there."""
    cuts = "cuts: {right: {plane: {normal: [-sin(-60), cos(-60), 0]}}, left: {plane: {normal: [-sin(30), cos(30), 0]}}}"
    text = DRUM.replace("cuts: {middle: {plane: {normal: y, at: 0}}}", cuts).replace(
        "scale: {value: 1}", f"scale: {{value: {scale}}}"
    )
    text = text.replace(
        "where: {middle: beyond}, mirror: y",
        "where: {right: beyond, left: before}, repeat: {around: {count: 4, axis: z}}",
    )
    text = text.replace("56 * scale", "50 * scale + 6").replace("-58 * scale", "-50 * scale - 8")
    return (
        text[: text.index("  floor:")]
        + text[text.index("  hoop:") : text.index("  knob:")]
        + text[text.index("  sign:") :]
    )


@pytest.mark.parametrize(
    ("scale", "where"), [(1, "2[89] mm to the (left|right) of|2[89] mm (in front of|behind)"), (2, "5[56] mm from")]
)
def test_a_hoop_over_alike_quarters_is_begun_by_the_seam_that_is_nearest(tmp_path, scale, where):
    """By hand: it begins 30 degrees from the nearest seam, on the outside of the wall, 56 mm from the axis: 2 pi 56 / 12 = 29.3 mm
    (its chord is 29.0), and with a wall of 106 mm outside 55.5 along it. Of the copies of one seam none stands for the others."""
    (line,) = [line for line in lines(steps_of(tmp_path, quarters(scale))) if "Begin " in line]
    assert re.search(f"Begin on the (right|left), ({where}) seam 1", line)


def test_an_inside_that_shows_through_a_hole_is_painted_before_it_is_closed(drum):
    first = next(
        step for step in drum if any(re.search("Paint the inside of .* now", line) for line in step.instructions)
    )
    closed = next(step for step in drum if "wall" in step.places)
    assert first.number < closed.number and first.number in closed.waits_for
    assert {"eraser", "tape"} <= {*first.uses}
    (last,) = [line for line in lines(drum) if "is painted already" in line]
    assert "touch up the seams" in last


def test_an_inside_that_nothing_shows_is_left_alone(tmp_path):
    steps = steps_of(tmp_path, DRUM.replace("red LID", "red"))
    assert not any(re.search("Paint the inside of .* now", line) for line in lines(steps))


def test_the_arrow_of_a_round_part_is_carried_over_where_something_later_has_a_way_round(drum):
    (line,) = [line for line in lines(drum) if "carry the arrow" in line]
    assert "the knob" in line and "points to the front" in line


TABLE = """
parts:
  frame: {kind: box, stock: shell, size: [80 * scale, 80 * scale, 50], without: [top, bottom], at: {normal: z, up: x}}
  top: {kind: disc, stock: shell, radius: 70 * scale, at: {origin: [0, 0, 50], normal: z}, after: [frame]}
"""


def test_a_round_top_is_measured_in_the_middle_of_a_straight_wall(tmp_path):
    """70 - 40 = 30 mm square to the wall half way along it; beside its ends it is sqrt(70^2 - 40^2) - 40 = 17 mm."""
    steps = steps_of(tmp_path, DRUM[: DRUM.index("forms:")] + TABLE)
    (line,) = [line for line in lines(steps) if "out beyond" in line]
    assert "stands 30 mm" in line and "measured half way along the edge and square to it" in line


def test_a_level_part_is_measured_wherever_it_is_reached(tmp_path):
    """A bar of 80 by 8 mm has no "all round": 50 mm of frame and 6 mm of its own."""
    bar = "  top: {kind: plate, stock: shell, outline: {rectangle: {width: 80 * scale, height: 8}}, at: {origin: [0, 0, 50], normal: z}, after: [frame]}\n"
    steps = steps_of(tmp_path, DRUM[: DRUM.index("forms:")] + TABLE[: TABLE.index("  top:")] + bar)
    (line,) = [line for line in lines(steps) if "the upper face of the top" in line]
    assert line.endswith("is 56 mm (\u00b1 2 mm) above it, wherever you measure.")


CHARM = """
parts:
  frame: {kind: box, stock: shell, size: [80 * scale, 80 * scale, 50], without: [top, bottom], at: {normal: z, up: x}, paint: red}
  ring: {kind: ring, stock: shell, layers: 2, outer_radius: 20, inner_radius: 10.5, at: {origin: [40 * scale, 0, 25], normal: x, up: z},
    lies_on: [frame], paint: cream}
  glass: {kind: disc, stock: skin, radius: 10, at: {origin: [40 * scale, 0, 25], normal: x, up: z}, lies_on: [frame], paint: blue}
"""


def test_of_an_edge_that_touches_for_a_part_only_that_strip_is_masked(tmp_path):
    """A disc of 2 mm that lies at the bottom of a hole 12 mm deep: 2 mm of the hole's edge are glued."""
    steps = steps_of(tmp_path, DRUM[: DRUM.index("forms:")] + CHARM)
    (masked,) = [line for line in lines(steps) if "along the edges that meet" in line]
    assert "a strip 2 mm wide along the edges that meet" in masked


PORT = """
parts:
  wall: {kind: panel, stock: shell, form: drum, where: {middle: beyond, hole: outside}, square: [hole], paint: red}
  back: {kind: panel, stock: shell, form: drum, where: {middle: before}, paint: red}
  ring: {kind: ring, stock: shell, outer_radius: 19.5 * scale, inner_radius: 12 * scale, paint: brass, after: [wall], glue: instant,
    at: {origin: [0, 50 * scale, 45], normal: y, onto: {form: drum, offset: 3}}}
"""


def test_the_edge_of_a_ring_in_a_curved_wall_is_masked_as_far_as_it_goes_in(tmp_path):
    """A ring that is level in a wall of 50 mm stands out by 50 - sqrt(50^2 - 19.5^2) = 4 mm more at its sides than above."""
    forms = DRUM[: DRUM.index("parts:")].replace(
        "at: 0}}}",
        "at: 0}}, hole: {prism: {outline: {circle: {radius: 20 * scale}}, along: y, centre: [0, 0, 45], above: 0}}}",
    )
    text = [line for line in lines(steps_of(tmp_path, forms + PORT)) if "the edge as far as it goes into" in line]
    assert text and all("the ring" in line and "draw a line round it" in line for line in text)


def test_fresh_paint_dries_longer_before_it_is_taped(tmp_path):
    """Common practice, no source: hours, not half an hour."""
    text = DRUM[: DRUM.index("forms:")] + TABLE.replace("up: x}}", "up: x}, paint: red}").replace(
        "after: [frame]}", "after: [frame], paint: cream}"
    )
    (step,) = [step for step in steps_of(tmp_path, text) if "Seal" in step.title]
    (head,) = [line for line in step.instructions if line.startswith("Base colours go on in this order")]
    assert f"let it dry for {WAIT_TAPED / 60:.0f} h" in head and step.wait > WAIT_TAPED


def test_a_figure_that_rests_on_a_part_has_its_least_room_beside_it(tmp_path):
    """A box 60 mm wide in a frame whose walls are 68 mm apart, 2 mm above a floor: 4 mm of room at the walls."""
    text = DRUM[: DRUM.index("forms:")] + TABLE[: TABLE.index("  top:")].replace(
        "without: [top, bottom]", "without: [top]"
    )
    text += "figure: {name: mouse, solids: [{box: {centre: [0, 0, 28], size: [60 * scale, 60 * scale, 40]}}]}\n"
    path = tmp_path / "prop.yaml"
    path.write_text(text, encoding="utf-8")
    found = Stages(Request(load(path))).record("fit")
    assert found.clearance == pytest.approx(2.0, abs=0.06) and found.beside is not None
    assert found.beside.clearance == pytest.approx(4.0, abs=0.06) and found.beside.part != found.part


def test_three_directions_are_told_by_two_words():
    one = 3**-0.5
    assert directions.side((one, one, -one)) == "from the front and from below"
    assert directions.side((0.0, 0.0, -1.0)).count("from") == 1

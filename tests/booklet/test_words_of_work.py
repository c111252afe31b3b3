"""What a maker is told of bends, colours, loose parts and gaps, on a small letter box on a post."""

import pytest
from PIL import ImageColor
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.booklet.pictures import colours

DESIGN = (
    head("Letter box", "0.5 mm")
    + """\
stands: {}
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm], colour: "#e0dcd0"}
  skin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [600 mm, 1000 mm]}
forms:
  arch:
    kind: revolution
    axis: x
    origin: [0, 0, 160]
    profile: [[-100, 50], [100, 50]]
    smooth: false
    cuts:
      spring: {plane: {normal: z, at: 160}}
      fore: {plane: {normal: x, at: 70}}
      aft: {plane: {normal: x, at: -70}}
parts:
  foot: {kind: disc, stock: shell, radius: 70 * scale, at: {origin: [0, 0, -6], normal: z}, paint: green}
  post: {kind: box, stock: shell, size: [40, 40, 100], without: [top, bottom], at: {normal: z, up: x}, after: [foot], paint: brown}
  floor: {kind: plate, stock: shell, outline: {rectangle: {width: 112, height: 140}}, at: {origin: [0, 0, 100], normal: z}, after: [post], paint: red}
  side:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 140, height: 54, centre: [0, 27]}}
    at: {origin: [0, 50, 106], normal: y, up: z}
    mirror: y
    after: [floor]
    paint: red
  roof: {kind: panel, stock: shell, form: arch, where: {spring: beyond, fore: before, aft: beyond}, flush: [spring], after: [side], paint: red}
  hoop:
    kind: band
    stock: skin
    along: {outline: {rectangle: {width: 40, height: 40}}, at: {origin: [0, 0, 50], normal: z}}
    corners: scored
    width: 14
    after: [post]
    paint: black
  sign: {kind: disc, stock: skin, radius: 9, at: {origin: [20, 56, 130], normal: y, up: z}, lies_on: [side], paint: white}
  lid: {kind: disc, stock: shell, radius: 12, at: {origin: [0, 0, 106], normal: z}, rests_on: [floor], glue: none, paint: red}
"""
)


@pytest.fixture(scope="module")
def steps(tmp_path_factory):
    path = tmp_path_factory.mktemp("box") / "box.yaml"
    path.write_text(DESIGN, encoding="utf-8")
    return Stages(Request(load(path))).record("steps")


def lines(steps, start):
    return [line for step in steps for line in step.instructions if line.startswith(start)]


def test_a_roof_is_bent_with_its_arrow_along_what_it_is_bent_over(steps):
    # by hand: the axis of the arch is x, which is forward
    (line,) = [line for step in steps for line in step.instructions if "or a little less" in line]
    assert line.startswith("F over something round") and line.endswith("with the arrow \u201cforward\u201d along it.")


def test_the_face_that_gets_heat_is_told_by_letter(steps):
    # by hand: of post, hoop and sign one face is inside or glued down, the foot stands on the table; both faces of the others show,
    # the inside of the roof between its open ends
    told = [*lines(steps, "The drawn face down"), *lines(steps, "Both faces, one")]
    assert told == ["The drawn face down: A, B, C, G, H.", "Both faces, one after the other: D, E, F, J."]


def test_a_folded_hoop_that_stands_between_a_foot_and_a_floor_is_not_closed_before_it_is_laid_on(steps):
    text = " ".join(line for step in steps for line in step.instructions if "hoop" in line)
    assert "press each face on before you go to the next" in text and "Hold the joint with tape" not in text


def test_glue_goes_into_every_fold(steps):
    """Without it a fold springs open."""
    (line,) = lines(steps, "Brush cement on both faces of each V")
    assert line.endswith("and on its two ends, and let it go tacky.")


def test_colours_come_in_order_of_their_faces_with_what_is_taped(steps):
    base = next(step for step in steps if "paint" in step.uses)
    at = next(i for i, line in enumerate(base.instructions) if line.startswith("Base colours go on in this order"))
    told = base.instructions[at + 1 : at + 5]
    # faces, by hand: floor, sides, roof 46,000 mm2; post 13,400; foot 15,400; hoop 2,300
    assert [line.split(":")[0] for line in told] == ["Red", "Green", "Brown", "Black"]
    letters = {line.split(":")[0]: line.split("tape along ")[-1] for line in told if "tape along" in line}
    assert letters == {"Brown": "A, D.", "Black": "B, C."}
    assert "card-mask" in base.uses
    # half an hour for each coat: three of primer, two of each of four colours (the sign dries beside), one of varnish; two hours
    # for filler; four hours before each of the two tapes; and half a day beforehand until the glue has set (common practice, no
    # source)
    assert base.wait == 120 + 30 * (3 + 2 * 4 + 1) + 2 * 240
    assert base.rest == 12 * 60 and "12 h after the last joint" in " ".join(base.instructions)


def test_a_small_sign_of_another_colour_is_painted_by_itself_and_glued_on_after(steps):
    coat = next(step for step in steps if "paint" in step.uses)
    (glued,) = [step for step in steps if "sign" in step.places]
    assert "sign" in coat.parts and glued.number > coat.number
    assert sum("paint" in step.uses for step in steps) == 1
    assert any("left side (E)" in line and "where H will be glued on" in line for line in coat.instructions)


def test_what_only_rests_is_told_where_it_goes(steps):
    (step,) = [step for step in steps if "without glue" in step.title]
    assert any(
        line.startswith("Lay ") and line.endswith("without glue.") for line in step.instructions
    )  # paint covers lines


def test_a_wall_that_is_built_and_then_set_down_waits_twice(steps):
    (post,) = [step for step in steps if step.title.startswith("Build the post")]
    assert (post.rounds, post.wait) == (2, 60.0)


def test_words_for_colours_seen_are_of_the_published_names():
    # the names of CSS Color Module Level 4 as Pillow has them, a library of its own
    # Pillow keeps a colour as numbers once somebody has asked for it
    known = {
        value.lower() if isinstance(value, str) else "#{:02x}{:02x}{:02x}".format(*value[:3])
        for value in ImageColor.colormap.values()
    }
    assert {f"#{value}" for values in colours._SEEN.values() for value in values} <= known


@pytest.mark.parametrize(
    ("seen", "lab"),
    [  # CIELAB under D65 of sRGB primaries, as B. Lindbloom's calculator gives them (from memory)
        ("#ff0000", (53.24, 80.09, 67.20)),
        ("#00ff00", (87.73, -86.18, 83.18)),
        ("#0000ff", (32.30, 79.19, -107.86)),
        ("#ffffff", (100.0, 0.0, 0.0)),
    ],
)
def test_the_distance_of_colours_is_that_of_the_standard(seen, lab):
    assert colours._lab(seen) == pytest.approx(lab, abs=0.02)


@pytest.mark.parametrize(
    ("seen", "word"),
    [("#e0dcd0", "light grey"), ("#f6efd8", "cream"), ("#e8b23a", "yellow"), ("#2f6db0", "blue"), ("#35617d", "blue")],
)
def test_foam_is_called_by_the_hue_that_shows(seen, word):
    assert colours.word_of(seen) == word


ROD = """
format: 1
name: Towel rail
version: 0.1.0
licence: CC-BY-4.0
summary: A bar between two cheeks.
parameters:
  scale: {value: 1, note: Larger or smaller}
  clearance: {value: 0.5 mm, note: Gap around what is let in}
sizes: {wall: {note: for a wall}}
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
  skin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [600 mm, 1000 mm]}
  dowel: {name: Dowel 10 mm, thickness: 10 mm, sheet: [10 mm, 1000 mm]}
parts:
  back: {kind: plate, stock: shell, outline: {rectangle: {width: 200, height: 60 * scale}}, at: {origin: [0, 0, 0], normal: -y, up: z}}
  cheek: {kind: plate, stock: shell, outline: {rectangle: {width: 60, height: 60}}, at: {origin: [94, -36, 0], normal: x, up: z}, mirror: x}
  bar: {kind: rod, stock: dowel, from: [-94, -40, 0], to: [94, -40, 0]}
  star: {kind: disc, stock: skin, radius: 12, at: {origin: [100, -36, 0], normal: x}, lies_on: [cheek], mirror: x}
"""


def test_a_bar_that_is_bought_gets_no_heat(tmp_path):
    (tmp_path / "rail.yaml").write_text(ROD, encoding="utf-8")
    steps = Stages(Request(load(tmp_path / "rail.yaml"))).record("steps")
    heat = next(step for step in steps if "heat" in step.uses)
    told = " ".join(line for line in heat.instructions if line.startswith(("The drawn face", "Both faces")))
    assert sorted(letter for letter in "ABCD" if f"{letter}," in f"{told.replace('.', ',').replace(';', ',')}") == [
        "A",
        "B",
        "D",
    ]
    assert "bar" not in heat.parts and any("over D twice as fast" in line for line in heat.instructions)

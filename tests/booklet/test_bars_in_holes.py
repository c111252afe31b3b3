"""How far bars reach into the holes of what is put over their ends. Every figure follows from the numbers of the design."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

POSTS = (
    head("Posts", "1 mm")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  thin: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}
  bar: {name: beech, thickness: 20 mm, sheet: [20 mm, 1000 mm], material_type: plywood}
parts:
  floor:
    kind: plate
    stock: thick
    outline: {rectangle: {width: 280 mm * scale, height: 172 mm}}
    at: {origin: [0, 0, -10], normal: z, up: y}
  post: {kind: rod, stock: bar, from: [50, 0, 0], to: [50, 0, TOP], mirror: x}
  knob:
    kind: ring
    stock: STOCK
    layers: 5
    outer_radius: 30
    inner_radius: HOLE
    at: {origin: [50, 0, 50], normal: z}
    mirror: x
"""
)


def told(tmp_path, **values):
    text = POSTS
    for name, value in values.items():
        text = text.replace(name, str(value))
    path = tmp_path / "posts.yaml"
    path.write_text(text, encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    return next(line for step in steps for line in step.instructions if line.startswith("Slip"))


@pytest.mark.parametrize(("stock", "hole"), [("thick", 10), ("thin", 10)])
def test_bars_that_end_in_a_hole_are_told_by_how_much_of_them_is_in_it(tmp_path, stock, hole):
    """Not by how deep their ends lie under the far face, which nobody sees who puts it on: 50 or 30 mm thick, from 50 up."""
    line = told(tmp_path, TOP=63.8, STOCK=stock, HOLE=hole)
    assert line.endswith("The ends of the 2 posts (B) reach 14 mm into the holes.")


@pytest.mark.parametrize(("top", "says"), [(120, "20 mm of the 2 posts (B) stand out beyond it"), (100, "flush")])
def test_bars_that_run_through_are_told_by_what_stands_out(tmp_path, top, says):
    assert says in told(tmp_path, TOP=top, STOCK="thick", HOLE=10)


@pytest.mark.parametrize(
    ("start", "ends"),
    [
        (0, "It goes 20 mm deep, flush with the far face: 100 mm of the bar stand out."),
        (8, "It goes 12 mm deep."),
    ],
)
def test_how_deep_a_bar_goes_into_a_hole_is_told(tmp_path, start, ends):
    """A post of which the lower end is in a plate from 0 to 20."""
    post = (
        POSTS[: POSTS.index("  floor:")]
        + "  floor: {kind: plate, stock: bar2, outline: {rectangle: {width: 280 mm * scale, height: 172 mm}}, minus: [{circle: "
        "{radius: 10.2, centre: [50, 0]}}], at: {origin: [0, 0, 0], normal: z, up: y}}\n"
        f"  post: {{kind: rod, stock: bar, from: [50, 0, {start}], to: [50, 0, 120], after: [floor]}}\n"
    )
    slab = "  bar2: {name: EVA foam 20 mm, thickness: 20 mm, sheet: [1000 mm, 600 mm]}\nparts:"
    path = tmp_path / "post.yaml"
    path.write_text(post.replace("parts:", slab), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    (line,) = [line for step in steps for line in step.instructions if "into the hole" in line]
    assert line.endswith(ends)


AXLE = (
    head("Axle")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  bar: {name: beech, thickness: 12 mm, sheet: [12 mm, 1000 mm], material_type: plywood}
parts:
  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 200 mm * scale, height: 100}}, at: {normal: z, up: y}}
  front:
    kind: plate
    stock: thick
    outline: {rectangle: {width: 80, height: 60}}
    minus: [{circle: {radius: 6}}]
    at: {origin: [45, 0, 40], normal: x, up: z}
    after: [floor]
  back:
    kind: plate
    stock: thick
    outline: {rectangle: {width: 80, height: 60}}
    minus: [{circle: {radius: 6}}]
    at: {origin: [-55, 0, 40], normal: x, up: z}
    after: [floor]
  axle: {kind: rod, stock: bar, from: [-55, 0, 40], to: [125, 0, 40], glue: none, after: [front, back]}
"""
)


def test_an_axle_that_runs_through_one_wall_and_ends_in_another_stands_out_so_far(tmp_path):
    """From the outer face of the front wall, 55 mm from the middle, to the end of the axle at 125 mm: 70 mm."""
    path = tmp_path / "axle.yaml"
    path.write_text(AXLE, encoding="utf-8")
    lines = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    (line,) = [line for line in lines if line.startswith("Push the axle (D)")]
    assert line.endswith("It stands 70 mm out at the front; the other end is flush with the far face.")
    assert line.count(" mm ") == 1


LEANING = (
    head("Legs")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  dowel: {name: Dowel 8 mm, thickness: 8 mm, sheet: [8 mm, 1000 mm], material_type: plywood}
parts:
  top:
    kind: plate
    stock: thick
    outline:
      rectangle: {width: 160 mm * scale, height: 80}
      minus: [{slot: {length: 10.75 mm, width: 8 mm, centre: [40, 0]}}, {slot: {length: 10.75 mm, width: 8 mm, centre: [-40, 0]}}]
    at: {origin: [0, 0, 0], normal: z, up: y}
  leg: {kind: rod, stock: dowel, made: bought, from: [39.25, 0, 8], to: [61.25, 0, -80], mirror: x, glue: instant, after: [top]}
"""
)


def test_a_leg_that_leans_is_told_so_and_how_deep_it_goes(tmp_path):
    """22 mm outwards over 88 mm down: atan(22 / 88) = 14 degrees. It ends 2 mm below the upper face, 8 mm deep: 8.2 mm along it."""
    path = tmp_path / "legs.yaml"
    path.write_text(LEANING, encoding="utf-8")
    lines = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    assert "The 2 legs (B) lean 14° from upright, their lower ends outwards." in lines
    assert any("Each end goes 8 mm deep" in line and "flush" not in line for line in lines)
    assert not any("to the middle of the n" in line for line in lines)  # how far apart they are changes with the height


def test_a_bar_between_two_walls_goes_in_through_one_of_its_holes(tmp_path):
    """Both walls stand by then, and its two ends cannot be pushed in at once: 110 mm from the far face of one to that of the other."""
    path = tmp_path / "axle.yaml"
    path.write_text(AXLE.replace("to: [125, 0, 40], glue: none", "to: [55, 0, 40]"), encoding="utf-8")
    lines = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    (line,) = [line for line in lines if line.startswith("Push the axle (D)")]
    assert "through one hole into the one opposite, and glue it in both: the holes are in" in line
    assert line.endswith("Both ends are then flush with the far faces.")


def test_how_cement_is_used_in_holes_is_told_in_full_once_and_a_ring_is_slipped_on(tmp_path):
    """An axle through one wall and the other, then a wheel over its end, in a step of its own."""
    wheel = (
        "  wheel: {kind: ring, stock: thick, outer_radius: 25, inner_radius: 6, at: {origin: [80, 0, 40], normal: x}}\n"
    )
    path = tmp_path / "axle.yaml"
    path.write_text(AXLE.replace("glue: none, ", "") + wheel, encoding="utf-8")
    steps = [step for step in Stages(Request(load(path))).record("steps") if {"axle", "wheel"} & {*step.places}]
    assert [step.title for step in steps][1] == "Slip on the wheel"
    full = [
        any("push it home while it is wet, and let it set for" in line for line in step.instructions) for step in steps
    ]
    again = [any(f"as in step {steps[0].number}." in line for line in step.instructions) for step in steps]
    assert (full, again) == ([True, False], [False, True])

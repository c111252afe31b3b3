"""Rods, stacks and fillers."""

import numpy as np
import pytest
from space_designs import design, edge, patterns

from foamwright.booklet.pages.materials import shopping
from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.model.interference import interferences
from foamwright.outputs.cut_list import cut_list
from foamwright.parts import build_prop
from foamwright.templates.draw import draw

POSTS = "  post: {kind: rod, stock: dowel, from: [0, 0, 0], to: [0, 0, 300], repeat: {count: 4, step: [30, 0, 0]}}\n"


def rod(fields, to="[0, 30, 40]"):
    return f"  bar: {{kind: rod, stock: foam, from: [0, 0, 0], to: {to}, {fields}}}\n"


def volumes(found):
    model = build_model(found.prop)
    assert interferences(model, 0.01) == ()
    return {copy.piece.id: copy.volume for copy in model.copies}


def test_bought_rods_are_listed_by_length_and_have_no_template():
    found = patterns(POSTS)
    assert [t.pattern.piece.id for t in draw(found)] == ["block"]
    assert b"B,Post,Dowel 10 mm,10,4,0,1,300.0,10.0" in cut_list(found)
    (bought,) = [line for line in shopping(found.prop, found, ()) if "Dowel" in line.item]
    assert (bought.amount, bought.unit) == (
        2.0,
        "length",
    )  # three from one length of a metre, one from the next
    assert volumes(found)["post"] == pytest.approx(np.pi * 5**2 * 300, rel=1e-6)


def test_a_bought_rod_is_as_thick_as_it_is_bought():
    with pytest.raises(BuildError, match="bought round at 10 mm"):
        build_prop(design(POSTS.replace("stock: dowel,", "stock: dowel, diameter: 12 mm,")))


@pytest.mark.parametrize("diameter, layers", [(6, 1), (10, 2), (12, 2), (13, 3)])
def test_a_laminated_rod_begins_as_a_square_bar(diameter, layers):
    found = patterns(rod(f"made: laminated, diameter: {diameter}"))
    pattern = found.pattern("bar")
    assert pattern.piece.layers == layers
    assert pattern.strip == pytest.approx((50, layers * 6))
    assert volumes(found)["bar"] == pytest.approx(np.pi * diameter**2 / 4 * 50, rel=1e-6)


@pytest.mark.parametrize("sides", [6, 8, 12])
def test_a_wrapped_rod_is_a_strip_of_flats(sides):
    found = patterns(rod(f"made: wrapped, diameter: 40, sides: {sides}"))
    pattern = found.pattern("bar")
    flat = 40 * np.tan(np.pi / sides)  # a side of the polygon about a circle of 40 mm
    assert sorted(pattern.strip) == pytest.approx(sorted((sides * flat, 50)))
    assert edge(found, "bar", "start").bevel == pytest.approx((180 / sides,))
    assert edge(found, "bar", "start").joins == ("bar",)
    ring = sides * np.tan(np.pi / sides) * (20**2 - 14**2)
    assert volumes(found)["bar"] == pytest.approx(ring * 50, rel=1e-6)
    template = next(t for t in draw(found) if t.pattern is pattern)
    folds = [item.points[0, 0] for item in template.drawing.flat if getattr(item, "layer", "") == "fold"]
    folds = sorted(x for x in folds if np.isfinite(x))
    steps = np.diff([pattern.outline[:, 0].min(), *folds[: sides - 1], pattern.outline[:, 0].max()])
    steps[[0, -1]] += 6 * np.tan(np.pi / sides)  # the ends are bevelled, and the inner face is drawn on
    assert len(folds) == sides - 1 and steps == pytest.approx(flat)


def test_a_rod_too_thin_to_wrap_is_refused():
    with pytest.raises(BuildError, match="cannot be wrapped"):
        build_prop(design(rod("made: wrapped, diameter: 12")))
    with pytest.raises(BuildError, match="begins where it ends"):
        build_prop(design(rod("made: laminated", "[0, 0, 0]")))


def test_a_stack_of_rounds_stands_on_itself():
    found = patterns(
        "  foot: {kind: stack, stock: foam, at: {origin: [0, 0, 10], normal: -z},"
        " rounds: [{radius: 30}, {radius: 24, layers: 2}, {radius: 18, inner_radius: 8}]}\n"
    )
    pieces = {p.id: p for p in found.prop.pieces}
    assert [pieces[f"foot_{i}"].body.frame.origin[2] for i in (1, 2, 3)] == pytest.approx([10, 4, -8])
    assert pieces["foot_3"].lies_on == ("foot_2",)
    assert (pieces["foot_2"].body.radius, pieces["foot_3"].body.inner_radius) == (24, 8)
    assert volumes(found)["foot_3"] == pytest.approx(np.pi * (18**2 - 8**2) * 6, rel=1e-6)


WALLS = """\
  wall: {kind: plate, stock: foam, outline: {rectangle: {width: 200, height: 100, centre: [0, 50]}}, at: {origin: [0, 0, 0], normal: y, up: z}, repeat: {count: 2, step: [0, 100, 0]}}
  end: {kind: plate, stock: foam, outline: {rectangle: {width: 94, height: 100, centre: [0, 50]}}, at: {origin: [-90, 53, 0], normal: x, up: z}, mirror: x}
"""


def test_a_filler_takes_the_room_between_plates():
    found = patterns(
        WALLS + "  shelf: {kind: filler, stock: foam, plane: {normal: z, at: 30}, parts: [wall, end],"
        " within: {rectangle: {width: 400, height: 400}}, around: [-50, 0]}\n"
    )
    # 94 mm between the walls and 168 mm between the ends, less 1 mm of clearance at every side
    assert np.ptp(found.pattern("shelf").outline, axis=0) == pytest.approx([92, 166])
    assert volumes(found)["shelf"] == pytest.approx(92 * 166 * 6, rel=1e-9)


def test_a_filler_does_not_guess_which_room_is_meant():
    text = WALLS + (
        "  shelf: {kind: filler, stock: foam, plane: {normal: z, at: 30}, parts: [wall, end],"
        " within: {rectangle: {width: 400, height: 400}}}\n"
    )
    with pytest.raises(BuildError, match="falls into 2 pieces"):
        build_prop(design(text))


def test_a_filler_inside_a_form_beside_a_leaning_plate():
    found = patterns(
        "  fin: {kind: plate, stock: foam, outline: {rectangle: {width: 160, height: 60}},"
        " at: {origin: [0, 0, 43], normal: [1, 0, 1], up: z}}\n"
        "  deck: {kind: filler, stock: foam, form: tube, plane: {normal: z, at: 40}, parts: [fin], around: [0, 40],"
        " clearance: 2}\n"
    )
    # the fin leans at 45 degrees: through 6 mm of deck it takes from x = -3 to x = 3 + 6 sqrt(2)
    deck = found.pattern("deck").piece.body
    nearest = deck.frame.to_space(deck.outline)[:, 0].min()
    assert nearest == pytest.approx(3 + 6 * np.sqrt(2) + 2, abs=1e-3)
    assert np.hypot(*deck.frame.to_space(deck.outline)[:, :2].T).max() == pytest.approx(48, abs=0.01)
    assert set(volumes(found)) == {"block", "fin", "deck"}


@pytest.mark.parametrize(
    ("form", "foot", "slope", "height"), [("cone", 100, 0.5, 15), ("cone", 100, 0.5, 90), ("peak", 90, 0.75, 40)]
)
def test_a_filler_lies_along_a_cone_with_its_whole_edge(form, foot, slope, height):
    """By the formula of the cone: each of its faces ends 1 mm of clearance short of the wall at its own height."""
    found = patterns(
        "  fin: {kind: plate, stock: foam, outline: {rectangle: {width: 240, height: 60}},"
        f" at: {{origin: [0, 0, {height + 3}], normal: x, up: z}}}}\n"
        f"  deck: {{kind: filler, stock: foam, form: {form}, plane: {{normal: z, at: {height}}}, parts: [fin], around: [0, 20]}}\n"
    )
    deck = found.pattern("deck").piece.body
    for depth, face in zip((0.0, 6.0), deck.faces(6.0), strict=True):
        places = deck.frame.to_space(np.array(face))
        wall = foot - (height + depth) * slope
        assert np.hypot(*places[:, :2].T).max() == pytest.approx(wall - 1.0, abs=0.02)
        assert np.abs(places[:, 0]).min() in (pytest.approx(1.0), pytest.approx(7.0))


def test_a_filler_beside_a_curved_part_is_refused():
    text = (
        "  wall: {kind: panel, stock: foam, form: tube, where: {low: beyond, high: before}, opened: 0}\n"
        "  deck: {kind: filler, stock: foam, form: tube, plane: {normal: z, at: 40}, parts: [wall]}\n"
    )
    with pytest.raises(BuildError, match="wall is not flat"):
        build_prop(design(text))

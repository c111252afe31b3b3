"""A placement line is drawn around all of an edge that stands on a face, not only around what touches.

By elementary geometry: an edge cut square that leans by an angle a stands over a strip of t cos(a), one bevelled to the face
over t / cos(a), whatever the reach of the glue is.
"""

import math
import sys
from pathlib import Path

import numpy as np
import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.solids import solids
from foamwright.design import load
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.draw import draw

sys.path.insert(0, str(Path(__file__).parents[1] / "parts"))
from flat_designs import HEAD

LEANS = [0.0, 4.0, 12.0, 20.0, 35.0]
WALL = (
    "  wall: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 240, height: 160}}}}, "
    "at: {{origin: [{x}, 0, 0], normal: [{n[0]}, 0, {n[1]}], up: y}}}}\n"
)


def marks(folder, parts, head=HEAD):
    """(id of the part, mark) of every mark."""
    path = folder / "props.yaml"
    path.write_text(head + parts, "utf-8")
    model = build_model(build_prop(load(path)))
    contacts = find_contacts(solids(model), 0.5)
    made = draw(section_and_flatten(model), contacts)
    return [(t.pattern.piece.id, mark) for t in made for mark in t.marks]


def sides(region):
    box = np.array(region.minimum_rotated_rectangle.exterior.coords)
    return sorted(np.linalg.norm(np.diff(box, axis=0), axis=1)[:2].tolist())


@pytest.mark.parametrize("stock, t", [("foam", 6.0), ("thick", 10.0)])
@pytest.mark.parametrize("lean", LEANS)
@pytest.mark.parametrize("below", [False, True])
def test_a_square_edge_on_a_wall_that_leans(tmp_path, stock, t, lean, below):
    """Above the wall on its outer face, or below it on its inner one; 80 mm long."""
    a = math.radians(lean)
    wall = WALL.format(x=0, n=(math.sin(a), math.cos(a)))
    top = 6.0 / math.cos(a) if not below else -t * math.tan(a)  # where a corner of the post meets the wall
    up = "z" if not below else "-z"
    post = (
        f"  post: {{kind: plate, stock: {stock}, outline: {{polygon: {{points: [[-40, 0], [40, 0], [40, 60], [-40, 60]]}}}}, "
        f"at: {{origin: [0, 0, {top}], normal: x, up: {up}}}}}\n"
    )
    ((on, mark),) = marks(tmp_path, wall + post)
    assert on == "wall" and mark.on_inside == below
    assert sides(mark.region) == pytest.approx([t * math.cos(a), 80.0], abs=0.05)


@pytest.mark.parametrize("lean", LEANS[1:])
def test_a_leaning_plate_bevelled_to_the_floor_stands_over_its_thickness_by_the_cosine(tmp_path, lean):
    """A frustum on a floor: its walls lean, their feet are cut level."""
    draw_in = 60.0 * math.tan(math.radians(lean))
    parts = (
        f"  tower: {{kind: prism, stock: thick, sides: 4, width: 200, top_width: {200 - 2 * draw_in}, height: 60}}\n"
        "  floor: {kind: plate, stock: foam, outline: {rectangle: {width: 240, height: 240}}, "
        "at: {origin: [0, 0, -6], normal: z}}\n"
    )
    feet = [mark for on, mark in marks(tmp_path, parts) if on == "floor"]
    wide = 10.0 / math.cos(math.radians(lean))
    assert len(feet) == 4
    for mark in feet:
        assert sides(mark.region)[0] == pytest.approx(wide, abs=0.03)
        assert mark.region.area == pytest.approx(wide * (200.0 - wide), rel=1e-3)


@pytest.mark.parametrize("scale, t, stock", [(1.0, 10.0, "thick"), (3.0, 6.0, "foam")])
def test_a_square_fin_on_a_cone_and_its_mirrored_copy(tmp_path, scale, t, stock):
    """The fin is cut to the cone's larger section: t cos(a) along the slope, over the angle that it spans; the pattern is
    that of the middle of the foam, which is nearer to the axis."""
    a = math.radians(20.0)
    low, high, top = 120.0 * scale, (120.0 - 150.0 * math.tan(a)) * scale, 150.0 * scale
    cone = f"profile: [[0, {low / scale} * scale], [{top}, {high}]], cuts: {{side: {{plane: {{normal: y, at: 0}}}}}}"
    head = HEAD.replace("scale: {value: 1, min: 0.5, max: 2}", f"scale: {{value: {scale}}}")
    head = head.replace("parts:\n", f"  cone: {{kind: revolution, axis: z, {cone}}}\nparts:\n")
    parts = (
        "  shell: {kind: panel, stock: foam, form: cone, where: {side: beyond}, mirror: y}\n"
        f"  fin: {{kind: plate, stock: {stock}, outline: {{polygon: {{points: [[0, 60], [70, 60], [70, {top}], [0, {top}]]}}, "
        "minus: [{section: {form: cone, plane: {normal: z, at: 60}, offset: 6}}]}, "
        "at: {origin: [0, 0, 60], normal: z, up: y}, mirror: y}\n"
    )
    ((on, mark),) = marks(tmp_path, parts, head)
    assert on == "shell" and mark.copies == () and mark.of == ((1, 1), (2, 2))
    r = 120.0 * scale - 60.0 * math.tan(a) + 6.0 / math.cos(a)
    wide, span = t * math.cos(a), math.asin(70.0 / r)
    true = span * (wide * (r - 3.0 * math.cos(a)) - wide**2 * math.sin(a) / 2.0)
    assert mark.region.area == pytest.approx(true, rel=0.006)


@pytest.mark.parametrize("lean, reach", [(9.0, 60.0), (35.0, None)])
def test_along_its_length_an_edge_stands_where_it_was_to_lie(tmp_path, lean, reach):
    """An edge that leaves the floor at 9 degrees stands there as a whole; one at 35 meets it with a corner, over what glue
    reaches: 1.3 mm / sin(a) of edge, by the cosine of that on the floor."""
    a = math.radians(lean)
    rise = 60.0 * math.tan(a)
    floor = WALL.format(x=0, n=(0, 1)).replace("[0.0, 0, 0]", "[0, 0, 0]")
    post = (
        f"  post: {{kind: plate, stock: thick, outline: {{polygon: {{points: [[-30, 0], [30, {rise}], [30, 70], [-30, 70]]}}}}, "
        "at: {origin: [0, 0, 6], normal: y, up: z}}\n"
    )
    ((_, mark),) = marks(tmp_path, floor + post)
    assert sides(mark.region) == pytest.approx(sorted([10.0, reach or 1.3 / math.tan(a)]), abs=0.1)


def test_an_edge_is_marked_on_the_face_that_is_glued_to_it_whichever_lies_on_which(tmp_path):
    """A strip of 60 x 40 against the front edge of a floor of 10 mm, 12 mm below its upper face: the line on the strip is
    as wide as the floor is thick, and as far from the strip's upper edge as the strip stands over the floor."""
    floor = (
        "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 100}}, "
        "at: {origin: [0, 0, -10], normal: z, up: y}}\n"
    )
    strip = (
        "  strip: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 60, height: 40}}}}, "
        "at: {{origin: [0, -50, -8], normal: -y, up: z}}{more}}}\n"
    )
    for more in ("", ", lies_on: [floor]"):
        ((on, mark),) = marks(tmp_path, floor + strip.format(more=more))
        assert on == "strip" and mark.on_inside and mark.upper.id == "floor"
        assert sides(mark.region) == pytest.approx([10.0, 60.0], abs=0.01)
        y0, y1 = mark.region.bounds[1::2]
        assert (y0, y1) == pytest.approx((-2.0, 8.0), abs=0.01)  # of the strip's own middle, 8 mm below the floor's top


@pytest.mark.parametrize("sunk", [0.0, 0.25])
def test_a_corner_that_is_pressed_into_the_face_belongs_to_the_line(tmp_path, sunk):
    """Solids may overlap by a third of a millimetre where they touch; the foam is as thick there as elsewhere."""
    a = math.radians(25.0)
    wall = WALL.format(x=0, n=(math.sin(a), math.cos(a)))
    post = (
        "  post: {kind: plate, stock: thick, outline: {rectangle: {width: 80, height: 60, centre: [0, 30]}}, "
        f"at: {{origin: [0, 0, {6.0 / math.cos(a) - sunk / math.cos(a)}], normal: x, up: z}}}}\n"
    )
    ((_, mark),) = marks(tmp_path, wall + post)
    assert sides(mark.region) == pytest.approx([10.0 * math.cos(a), 80.0], abs=0.15)


CASE = (
    "  case: {kind: box, stock: foam, joint: mitred, size: [120, 160, 80], without: [bottom], at: {normal: z, up: x}}\n"
)


@pytest.mark.parametrize(
    ("part", "sizes"),
    [
        (
            "{rectangle: {width: 30, height: 100}}, lies_on: [case], at: {origin: [45, 0, 80], normal: z, up: y}",
            [30, 100],
        ),
        ("{rectangle: {width: 70, height: 40, centre: [0, 20]}}, at: {origin: [54, 0, 80], normal: x, up: z}", [6, 70]),
    ],
)
def test_what_lies_on_the_larger_face_of_a_bevelled_part_has_its_whole_line(tmp_path, part, sizes):
    """Flush with the outside of a mitred box, where the drawn face ends a thickness before."""
    more = f"  more: {{kind: plate, stock: foam, outline: {part}}}\n"
    ((on, mark),) = [(on, mark) for on, mark in marks(tmp_path, CASE + more) if mark.upper.id == "more"]
    assert on == "case_top" and not mark.on_inside
    assert sides(mark.region) == pytest.approx(sizes, abs=0.05)


@pytest.mark.parametrize("radius", [5.4, 8.0])
def test_the_line_is_on_the_larger_of_two_faces_that_touch(tmp_path, radius):
    """A disc on a mitred box so small that the drawn face of its top is smaller than the disc: 15 x 6 of 27 x 18 mm."""
    box = "  box: {kind: box, stock: foam, joint: mitred, size: [27, 18, 27], at: {origin: [0, 0, 0], normal: z, up: x}}\n"
    disc = f"  badge: {{kind: disc, stock: foam, radius: {radius}, at: {{origin: [0, 0, 27], normal: z}}}}\n"
    drawn = [(on, mark) for on, mark in marks(tmp_path, box + disc) if "badge" in (on, mark.upper.id)]
    ((on, mark),) = drawn
    assert on.startswith("box_") and mark.upper.id == "badge" and not mark.on_inside
    assert mark.region.area == pytest.approx(math.pi * radius**2, rel=0.01)

"""Small drawings beside the steps: what they show is as long, as wide and as steep as in the pattern or the model."""

import io
import tracemalloc
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
import trimesh
from block_props import piece, scene
from manifold3d import Manifold, Mesh64
from PIL import Image
from sample_prop import SHELL, band, edge, panel, panel_with_dart, rectangle, sample

from foamwright.assembly.bodies import Touch, bodies
from foamwright.assembly.records import Step, StepMove
from foamwright.booklet.pictures import section_words
from foamwright.booklet.pictures.before_after import before_and_after
from foamwright.booklet.pictures.edge_insets import bevel, dart, ticks
from foamwright.booklet.pictures.figures import INSET, inset_rows
from foamwright.booklet.pictures.insets import insets
from foamwright.booklet.pictures.joint_insets import (
    _WEDGE,
    _at_one_place,
    _kept_apart,
    _meeting,
    all_round,
    corner,
    joint,
    runs_level,
)
from foamwright.booklet.pictures.level_insets import recess, spacer
from foamwright.booklet.pictures.slices import sliced
from foamwright.booklet.words.checks import rim_above
from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Path, Shading, Text, Tick
from foamwright.parts.records import PanelEdge

UP = ((0.0, 0.0, 1.0), float("inf"))


def paths(inset, layer=None):
    return [item for item in inset.items if isinstance(item, Path) and layer in (None, item.layer)]


def words(inset):
    return [item.value for item in inset.items if isinstance(item, Text)]


def pattern_of(id_):
    return next(p for p in sample()[1].patterns if p.piece.id == id_)


def within(inset):
    every = np.vstack([item.points for item in paths(inset)])
    assert every[:, 0].min() >= -0.6 and every[:, 0].max() <= INSET[0] + 0.6
    assert every[:, 1].max() <= 1e-6 and every[:, 1].min() >= -inset.height - 1e-6


@pytest.mark.parametrize("flare", [7.0, 30.0, -45.0])
def test_a_bevel_leans_as_its_template_says(flare):
    """The part is to the left of the cut: where its lower face is the larger one, the cut runs to the right going down,
    and the handle of the knife is above the part."""
    inset = bevel(flare, pattern_of("fin"))
    foam, blade = paths(inset, "view")
    low, high = foam.points[2], foam.points[1]
    assert np.degrees(np.arctan2(low[0] - high[0], high[1] - low[1])) == pytest.approx(flare)
    handle, tip = blade.points[3], blade.points[0]
    assert np.degrees(np.arctan2(tip[0] - handle[0], handle[1] - tip[1])) == pytest.approx(flare)  # along the cut
    assert ("lower face larger: lean the handle over the part" in inset.said) == (flare > 0)
    assert words(inset) == [f"{abs(flare):.0f}°", "10 mm"]
    within(inset)


def test_the_bevels_shown_are_those_of_the_drawn_face():
    """A bevel that is positive makes the inside face the smaller one; drawn from outside, the lower one is that."""
    patterns = sample()[1]
    cutting = Step(1, "", ("fin",), "", 5.0, (), (), (), ("fin",), (), uses=("knife",))
    there = scene(piece("fin", (60, 40, 10), (0, 0, 0)))

    def shown(face, *bevels):
        made = [
            replace(p, drawn_face=face, edges=tuple(replace(e, bevel=bevels) for e in p.edges))
            for p in patterns.patterns
        ]
        return [inset.said for inset in insets((cutting,), replace(patterns, patterns=tuple(made)), there).get(1, ())]

    (inside,), (outside,) = shown("inside", 20.0, 30.0), shown("outside", 20.0, 30.0)
    assert "30° on" in inside and "lower face larger" in inside
    assert "30° on" in outside and "lower face smaller" in outside
    assert ["larger" in said for said in shown("inside", -20.0, 30.0)] == [True, False]
    assert not shown("inside", 0.0, 0.4)


def test_a_dart_is_open_as_in_the_pattern_and_then_shut():
    pattern = pattern_of("bow_upper")
    cut = panel_with_dart(260.0, 120.0)[1]
    inset = dart(cut, pattern)
    wedge = next(p for p in paths(inset, "view") if p.fill == "#ffffff").points
    assert np.ptp(wedge[:, 0]) / np.ptp(wedge[:, 1]) == pytest.approx(12.0 / 60.0)  # mouth by depth
    shut = paths(inset, "view-new")[0].points
    assert np.ptp(shut[:, 0]) == pytest.approx(0.0) and np.ptp(shut[:, 1]) == pytest.approx(np.ptp(wedge[:, 1]))
    assert "60 mm deep and 12 mm wide" in inset.said
    within(inset)


@pytest.mark.parametrize("turned", [False, True], ids=["alike", "against each other"])
def test_ticks_of_one_number_stand_against_each_other(turned):
    at, numbers = np.array([50.0, 100.0, 170.0]), (1, 2, 3)
    one = replace(edge("a", [0, 0], [200, 0]), ticks=at, tick_numbers=numbers)
    other = replace(one, ticks=200.0 - at[::-1], tick_numbers=numbers[::-1]) if turned else one
    inset = ticks(one, pattern_of("bow_upper"), other, pattern_of("bow_lower"))
    columns = {}
    for item in inset.items:
        if isinstance(item, Text):
            columns.setdefault(item.value, []).append(item.at[0])
    assert set(columns) == {"1", "2", "3"}
    assert all(len(found) == 2 and found[0] == pytest.approx(found[1]) for found in columns.values())
    strokes = sorted({round(t.start[0], 6) for t in inset.items if isinstance(t, Tick)})
    assert np.diff(strokes) == pytest.approx(np.array([50.0, 70.0]) * 40.0 / 200.0)  # distances to scale
    within(inset)


def test_the_number_of_a_tick_at_the_very_end_stands_on_the_foam():
    numbered = replace(edge("a", [0, 0], [200, 0]), ticks=np.array([0.5, 100.0, 199.5]), tick_numbers=(1, 2, 3))
    inset = ticks(numbered, pattern_of("bow_upper"), numbered, pattern_of("bow_lower"))
    foam = paths(inset, "shade")[0].points[:, 0]
    for text in (item for item in inset.items if isinstance(item, Text)):
        reach = text_box(text)[:, 0]
        assert foam.min() - 0.01 <= reach.min() and reach.max() <= foam.max() + 0.01


def bent(pattern):
    """The inset of a pattern, as if the part stood as a block of 100 x 60 x 40 in the prop."""
    return before_and_after(pattern, scene(piece(pattern.piece.id, (100, 60, 40))))


def test_a_bent_part_is_shown_flat_in_its_own_proportions_and_bent():
    inset = bent(pattern_of("lip"))
    shape = paths(inset, "view")[0]
    assert np.ptp(shape.points, axis=0)[0] / np.ptp(shape.points, axis=0)[1] == pytest.approx(530.0 / 30.0)
    assert shape.fill == SHELL.colour and "530 x 30 mm" in inset.said
    within(inset)
    tall = replace(pattern_of("lip"), outline=rectangle(30.0, 530.0))  # it is laid down
    assert np.ptp(paths(bent(tall), "view")[0].points, axis=0)[0] == pytest.approx(INSET[0])


@pytest.mark.parametrize("size", [(530.0, 30.0), (200.0, 150.0), (90.0, 90.0)])
def test_what_is_bent_stands_beside_the_flat_part_or_below_it(size):
    inset = bent(replace(pattern_of("lip"), outline=rectangle(*size)))
    within(inset)
    (picture,) = [item for item in inset.items if isinstance(item, Shading)]
    low, high = np.array(picture.at), np.add(picture.at, (picture.width, picture.height))
    assert low[0] > -1e-6 and high[0] < INSET[0] + 1e-6 and low[1] > -inset.height - 1e-6 and high[1] < 1e-6
    flat = paths(inset, "view")[0].points
    assert flat[:, 0].max() < low[0] or flat[:, 1].min() > high[1]
    drawn = np.array(Image.open(io.BytesIO(picture.png)).convert("L"))
    assert 0.2 < (drawn < 250).mean() < 0.95  # a block seen from a corner, and white around it


def test_a_cut_through_a_solid_has_the_area_that_manifold_finds():
    mesh = trimesh.creation.annulus(20.0, 50.0, 30.0)
    made, _ = piece("ring", (100, 100, 30))
    found = scene((made, (np.array(mesh.vertices), np.array(mesh.faces))))
    at, across = np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0])
    for towards in ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.6, 0.0, 0.8)):
        along = np.array(towards)
        view = np.vstack([across, np.cross(along, across), along])
        turned = np.ascontiguousarray((mesh.vertices - at) @ view.T)
        other = Manifold(Mesh64(turned, np.asarray(mesh.faces, np.uint64))).slice(0.0)
        assert sliced(found, 0, at, view).area == pytest.approx(other.area(), rel=1e-3)
    away = sliced(found, 0, np.array([500.0, 0.0, 0.0]), np.eye(3)[[1, 2, 0]])
    assert away.is_empty


def test_a_recess_is_drawn_as_deep_as_it_is():
    floor, wall = piece("floor", (200, 100, 10), (0, 0, -5)), piece("wall", (200, 10, 60), (0, 55, 20))
    found = scene(floor, wall)
    inset = recess(found, 0, [0, 1], 0.0, 50.0)
    assert words(inset) == ["50 mm"] and "50 mm below the rim" in inset.said
    wall_drawn = max((p.points for p in paths(inset, "view")), key=lambda p: np.ptp(p[:, 1]))
    rim = paths(inset, "fold")[0].points
    assert rim[0, 1] == pytest.approx(wall_drawn[:, 1].max())  # the wall ends 50 mm above the floor's upper face
    heads = [p.points for p in paths(inset, "shade")]
    ends = sorted(float(head[0, 1]) for head in heads)
    assert (ends[1] - ends[0]) / np.ptp(wall_drawn[:, 1]) == pytest.approx(50.0 / 60.0)
    within(inset)


@pytest.mark.parametrize(
    ("upper", "at", "said"),
    [
        ((60, 40, 10), (0, 0, 15), "face on face"),
        ((60, 10, 40), (0, 0, 30), "an edge on a face"),
    ],
)
def test_a_joint_is_cut_square_to_its_length(upper, at, said):
    base = piece("base", (200, 100, 20), (0, 0, 0))
    standing, mesh = piece("other", upper, at)
    if said != "face on face":  # a plate on its edge: its broad face looks along y
        turned = np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])
        body = replace(standing.body, frame=replace(standing.body.frame, axes=turned))
        standing = replace(standing, body=body)
    found = scene(base, (standing, mesh))
    inset = joint(found.touches[0, 1], found)
    assert said in inset.said and paths(inset, "glue")
    shapes = [np.ptp(item.points, axis=0) for item in paths(inset, "view")]
    if said != "face on face":
        assert shapes[1][0] == pytest.approx(10.0, abs=0.01)  # the plate's thickness, 34 mm of the prop on 34 of paper
    within(inset)


@pytest.mark.parametrize("high", [4.0, 5.0, 16.0])
def test_letters_of_a_section_keep_off_its_red(high):
    """A block `high` mm over its joint, whose middle is as near to the red as that of its letter may be, and nearer."""
    found = scene(piece("base", (200, 100, high), (0, 0, -high / 2)), piece("block", (100, 60, high), (0, 0, high / 2)))
    inset = joint(found.touches[0, 1], found)
    red = shapely.MultiLineString([item.points for item in paths(inset, "glue")])
    circles = [item for item in paths(inset, "tick") if item.fill == "#ffffff"]
    assert len(circles) == 2
    assert all(shapely.Polygon(circle.points).distance(red) > 0.35 for circle in circles)


def test_a_joint_is_not_cut_through_a_window_of_the_part_that_stands_on_it():
    """A wall 100 high with a window in its middle that leaves a web of 1 mm: the section shows the wall beside it."""
    base = piece("base", (240, 100, 20), (0, 0, -10))
    wall, _ = piece("wall", (200, 10, 100), (0, 0, 50))
    turned = np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])
    wall = replace(wall, body=replace(wall.body, frame=replace(wall.body.frame, axes=turned)))
    window = trimesh.creation.box((80, 12, 60), trimesh.transformations.translation_matrix((0, 0, 31)))
    whole = trimesh.creation.box((200, 10, 100), trimesh.transformations.translation_matrix((0, 0, 50)))
    cut = trimesh.boolean.difference([whole, window], engine="manifold")
    found = scene(base, (wall, (np.array(cut.vertices), np.array(cut.faces))))
    inset = joint(found.touches[0, 1], found)
    heights = sorted(np.ptp(item.points[:, 1]) for item in paths(inset, "view"))
    assert len(heights) == 2 and heights[0] > 5.0  # and no sliver of 1 mm
    within(inset)


def test_a_spacer_is_as_wide_as_the_even_gap():
    """A row of cleats 30 mm from middle to middle that closes up at its end: the even gap is shown."""
    places = [0.0, 30.0, 60.0, 85.0, 108.0]
    row = [piece("cleat", (20, 10, 6), (x, 0, 3)) for x in places]
    found = scene(*[(replace(made, gap=10.0), mesh) for made, mesh in row])
    gauge = pattern_of("cleat")
    inset = spacer(gauge, found.pieces[0], found)
    assert words(inset) == ["10 mm"]
    strip = paths(inset, "view-new")[0].points
    cleat = paths(inset, "view")[0].points
    assert np.ptp(strip[:, 0]) / np.ptp(cleat[:, 0]) == pytest.approx(10.0 / 20.0)
    assert spacer(gauge, replace(found.pieces[0], gap=None), found) is None
    within(inset)


@pytest.mark.parametrize(
    "along, told", [(25.0, "its short side lies across"), (10.2, "two CLEAT. Take"), (4.0, "its long side")]
)
def test_a_spacer_is_drawn_in_its_own_shape_and_says_which_side_counts(along, told):
    row = [piece("cleat", (20, 10, 6), (x, 0, 3)) for x in (0.0, 30.0)]
    found = scene(*[(replace(made, gap=10.0), mesh) for made, mesh in row])
    gauge = replace(pattern_of("cleat"), outline=np.array([[0.0, 0.0], [along, 0.0], [along, 10.0], [0.0, 10.0]]))
    inset = spacer(gauge, found.pieces[0], found)
    wide, high = np.ptp(paths(inset, "view-new")[0].points, axis=0)
    assert wide / high == pytest.approx(10.0 / along)
    assert told in inset.said
    within(inset)


def test_each_operation_is_drawn_once_and_a_joint_only_when_both_parts_are_there():
    found = scene(
        piece("base", (200, 100, 20), (0, 0, 0)),
        piece("one", (60, 40, 10), (-40, 0, 15)),
        piece("two", (60, 40, 10), (40, 0, 15)),
    )
    _, patterns = sample()

    def step(number, part, copy):
        return Step(number, "", (part,), "contact", 5.0, (), (), (), (part,), (StepMove((copy,), (UP,)),))

    drawn = insets((step(1, "base", 0), step(2, "one", 1), step(3, "two", 2)), patterns, found)
    assert {number: len(each) for number, each in drawn.items()} == {2: 1}
    assert insets((), patterns, found) == {}


def test_a_plug_in_a_hole_is_cut_through_its_axis():
    """A wall 10 thick with a hole of radius 20, a plug 16 high in it, and a pane 2 thick that closes the hole behind it."""
    parts = []
    for name, mesh, level in (
        ("wall", trimesh.creation.annulus(20.0, 50.0, 10.0), 0.0),
        ("plug", trimesh.creation.cylinder(20.0, 16.0, sections=64), 0.0),
        ("pane", trimesh.creation.cylinder(30.0, 2.0, sections=64), -6.0),
    ):
        mesh.apply_translation((0.0, 0.0, level))
        parts.append((piece(name, (100, 100, 10))[0], (np.array(mesh.vertices), np.array(mesh.faces))))
    found = bodies(tuple(p for p, _ in parts), [m for _, m in parts], tuple(np.eye(4) for _ in parts), {})
    turn = np.linspace(0.0, 2.0 * np.pi, 36, endpoint=False)
    ray = np.column_stack([np.cos(turn), np.sin(turn), 0.0 * turn])
    touch = Touch(1, 0, 20.0 * ray, -ray, np.full(36, 30.0), True, (0.0, 0.0))
    found = replace(found, touches={(1, 0): touch})

    def step(number, copy):
        part = parts[copy][0].id
        return Step(number, "", (part,), "contact", 5.0, (), (), (), (part,), (StepMove((copy,), (UP,)),))

    drawn = insets((step(1, 0), step(2, 2), step(3, 1)), sample()[1], found)
    (inset,) = drawn[3]
    assert "PLUG in the hole of WALL" in inset.said
    wall, plug, pane = (
        next(p.points for p in paths(inset, "view") if abs(np.ptp(p.points[:, 1]) - high) < 0.6) for high in (10, 16, 2)
    )
    assert abs(wall[:, 0].min() - plug[:, 0].max()) < 0.5 or abs(plug[:, 0].min() - wall[:, 0].max()) < 0.5
    assert np.ptp(pane[:, 0]) > 20.0  # it is drawn beside them
    within(inset)


def test_rows_of_insets_are_as_wide_as_the_page_allows():
    one = bent(pattern_of("lip"))
    narrow, wide = inset_rows((one, one, one), 92.0), inset_rows((one, one, one), 178.0)
    assert narrow.height > wide.height > one.height


def rim_edge(points, loop=0):
    line = np.asarray(points, float)
    flat, none = np.zeros((len(line), 2)), np.zeros(len(line))
    return PanelEdge("e", f"cut {loop}", "trim", loop, flat, line, none, line, line, flat, line, flat, flat, line)


def test_a_rim_is_that_of_the_opening_around_the_part_and_no_porthole():
    """Two walls beside a floor: their upper edges make the opening, 60 to 70 mm above it; round holes in them lie lower,
    and between them they surround the floor as well."""
    floor = piece("floor", (200, 100, 10), (0, 0, -5))
    turn = np.linspace(0.0, 2.0 * np.pi, 33)
    walls = []
    for side in (-1.0, 1.0):
        made, mesh = piece(f"wall{side:.0f}", (200, 10, 80), (0, 55.0 * side, 20))
        top = [(-100, 0, 70), (-100, 50 * side, 65), (0, 50 * side, 60), (100, 50 * side, 65), (100, 0, 70)]
        holes = [
            np.column_stack([x + 10 * np.cos(turn), np.full(33, 50.0 * side), 30 + 10 * np.sin(turn)])
            for x in (-60, 60)
        ]
        edges = (rim_edge(top), *(rim_edge(hole, 1) for hole in holes))
        walls.append((replace(made, body=replace(panel(), edges=edges)), mesh))
    found = scene(floor, *walls)
    assert rim_above(found, 0, (1, 2)) == pytest.approx((0.0, 60.0))
    assert rim_above(found, 0, (1,)) is None  # one side of an opening is none
    assert rim_above(found, 0, ()) is None
    covered = scene(
        floor, *walls, piece("cover", (200, 120, 10), (0, 0, 65)), piece("shelf", (200, 20, 10), (0, 40, 55))
    )
    assert rim_above(covered, 0, (1, 2, 3)) is None  # no rule lies on an edge that something lies on
    assert rim_above(covered, 0, (1, 2, 4)) == pytest.approx((0.0, 60.0))  # what stands beside it is not in its way


def test_glue_in_a_wedge_is_red_from_end_to_end():
    """Two faces that touch at both ends and stand 2 mm apart between: one red line, and none past the ends."""
    flat = shapely.box(0.0, -5.0, 20.0, 0.0)
    hollow = shapely.Polygon([(0.0, 0.0), (10.0, 2.0), (20.0, 0.0), (20.0, 6.0), (0.0, 6.0)])
    (line,) = _meeting(flat, hollow, _WEDGE)
    assert line.length == pytest.approx(20.0, abs=2.0) and line.bounds[1] >= -1.0
    apart = shapely.affinity.translate(hollow, 0.0, 3.0)
    assert _meeting(flat, apart, _WEDGE) == []


def test_a_ring_in_a_hole_is_one_wherever_it_touches():
    """A flat ring in the hole of a curved wall touches more on two sides than on the others."""
    turn = np.radians(np.concatenate([np.linspace(-50, 50, 14), np.linspace(145, 215, 8)]))
    normals = np.column_stack([np.cos(turn), np.sin(turn), 0 * turn])
    held = Touch(0, 1, 10.0 * normals, normals, np.ones(len(turn)), True, (0.0, 0.0))
    assert all_round(held) and not all_round(replace(held, normals=np.abs(normals)))


def test_halves_that_meet_along_two_seams_are_cut_square_to_one_of_them():
    """Two halves of a tube of square section, 6 mm thick: the cut shows two sheets 6 mm thick end to end."""
    touch = two_seams()
    one = _at_one_place(touch)
    assert len(one.places) == len(touch.places) // 2
    assert np.ptp(one.places[:, 1]) < 6.1  # and not 100 mm, from the one to the other


def two_seams():
    z, y = np.meshgrid(np.linspace(0.0, 90.0, 10), np.linspace(-3.0, 3.0, 3))
    seam = np.column_stack([np.zeros(z.size), y.ravel(), z.ravel()])
    places = np.vstack([seam + (0.0, 50.0, 0.0), seam - (0.0, 50.0, 0.0)])
    normals = np.tile([1.0, 0.0, 0.0], (len(places), 1))
    return Touch(0, 1, places, normals, np.ones(len(places)), True, (0.0, 0.0))


def test_glue_on_a_thin_part_is_red_on_the_side_that_is_glued():
    """A strip 2 mm thick on a board: 4 mm from the board is all of it, and round it nothing is glued."""
    strip, board = shapely.box(-10.0, 0.0, 10.0, 2.0), shapely.box(-40.0, -6.0, 40.0, 0.0)
    (line,) = _meeting(strip, board, 0.6 * 2.0)
    assert line.length < 20.0 + 2 * 1.3


def test_letters_of_a_section_stand_apart():
    places = _kept_apart(np.array([[5.0, 5.0], [5.0, 5.0], [20.0, 5.0]]), 4.8)
    assert min(np.hypot(*(a - b)) for a, b in combinations(places, 2)) > 4.7
    assert places[2] == pytest.approx([20.0, 5.0])


def test_a_joint_of_very_many_places_takes_no_more_memory_than_a_small_one():
    """Two boards of a disc half a metre wide share some 30,000 places: each beside each other are 7 GB."""
    x, y = np.meshgrid(np.linspace(-240.0, 240.0, 170), np.linspace(-240.0, 240.0, 170))
    places = np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)])
    touch = Touch(0, 1, places, np.tile([0.0, 0.0, 1.0], (x.size, 1)), np.ones(x.size), True, (1.0, 1.0))
    tracemalloc.start()
    assert len(_at_one_place(touch).places) == x.size and not all_round(touch)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 100e6


def test_a_section_says_which_side_is_outside_and_which_way_is_up():
    window, foam = shapely.box(0.0, -20.0, 40.0, 0.0), shapely.box(18.0, -20.0, 22.0, 0.0)
    for off, is_left in (((-1.0, 0.0), True), ((1.0, 0.0), False)):
        items = section_words.words(foam, window, (foam, np.array(off)), True)
        outside, up = (next(i for i in items if isinstance(i, Text) and i.value == word) for word in ("outside", "up"))
        assert (outside.at[0] < 18.0) == is_left
        boxes = [shapely.Polygon(text_box(text)) for text in (outside, up)]
        assert not any(box.intersects(foam) for box in boxes) and not boxes[0].intersects(boxes[1])
        assert all(window.covers(box) for box in boxes)
    full = section_words.words(window, window, (foam, np.array([1.0, 0.0])), True)
    assert full == []  # no room: no word over the foam
    assert section_words.words(foam, window, None, False) == []


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0, 200.0])
def test_a_strip_that_lies_aslant_is_measured_by_its_own_sides(turn):
    angle = np.radians(turn)
    aslant = rectangle(240.0, 26.0) @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    inset = bent(replace(pattern_of("lip"), outline=aslant))
    assert "240 x 26 mm" in inset.said
    spans = np.ptp(paths(inset, "view")[0].points, axis=0)
    assert spans[0] / spans[1] == pytest.approx(240.0 / 26.0)


def test_an_edge_that_leans_away_says_how_far_its_wedge_opens():
    found = scene(piece("base", (200, 100, 20), (0, 0, 0)), piece("other", (60, 40, 10), (0, 0, 15)))
    touch = found.touches[0, 1]
    assert "wedge" not in joint(touch, found).said
    assert "A wedge of up to 5 mm stays open" in joint(replace(touch, wedge=5.0), found).said


def test_the_corner_of_two_bent_parts_is_the_angle_between_their_outsides():
    parts = []
    for id_, lean in (("one", 20.0), ("other", -15.0)):  # degrees that the outside leans from straight up
        made, mesh = piece(id_, (100, 60, 10))
        across = np.array([0.0, np.cos(np.radians(lean)), np.sin(np.radians(lean))])
        body = replace(band(100.0, 60.0), across=across)
        off = np.array([0.0, -np.sin(np.radians(lean)), np.cos(np.radians(lean))])
        parts.append((replace(made, body=replace(body, normals=np.tile(off, (len(body.curve), 1)))), mesh))
    found = scene(piece("a", (100, 60, 10)), piece("b", (100, 60, 10), (0, 0, 10)))
    bent_ones = replace(found, pieces=tuple(part for part, _ in parts))
    assert corner(found.touches[0, 1], found) == 0.0
    assert corner(found.touches[0, 1], bent_ones) == pytest.approx(35.0)


@pytest.mark.parametrize("size, level", [((60, 10, 40), True), ((10, 40, 60), False)])
def test_seams_that_run_level_are_told_from_those_that_go_up(size, level):
    beside = (0, 10, 0) if level else (10, 0, 0)
    found = scene(piece("one", size), piece("other", size, beside))
    touch = next(iter(found.touches.values()))
    narrow = touch.places[:, 2] < touch.places[:, 2].min() + 5.0 if level else touch.places[:, 1] < -10.0
    seam = replace(touch, places=touch.places[narrow], normals=touch.normals[narrow], areas=touch.areas[narrow])
    assert runs_level(seam) == level


def test_copies_around_a_hub_that_meet_it_level_and_upright_have_their_joint_drawn_once():
    hub, one, other = (
        piece("hub", (100, 100, 20)),
        piece("one", (40, 30, 20), (70, 0, 0)),
        piece("other", (40, 6, 20), (70, -40, 0)),
    )
    found = scene(hub, one, other)
    spokes = tuple(replace(p, id="spoke", label="B") if p.id != "hub" else p for p in found.pieces)
    moves = tuple(StepMove((n,), ()) for n in range(3))
    glued = Step(1, "", ("hub", "spoke"), "contact", 5.0, (), (), (), ("hub", "spoke"), moves)
    assert [runs_level(found.touches[0, n]) for n in (1, 2)] == [True, False]
    apart, alike = (insets((glued,), sample()[1], replace(found, pieces=p)).get(1, ()) for p in (found.pieces, spokes))
    assert len([each for each in apart if "edge to edge" in each.said]) == 2
    assert len([each for each in alike if "edge to edge" in each.said]) == 1


def test_where_a_section_breaks_off_it_has_no_straight_edge():
    """A part that goes on beyond the picture would look as if it had an edge there, cut square or slanting."""
    found = scene(piece("base", (200, 100, 20), (0, 0, 0)), piece("other", (60, 40, 10), (0, 0, 15)))
    base = next(p for p in paths(joint(found.touches[0, 1], found), "view") if np.ptp(p.points[:, 0]) > 33.0).points
    sides = np.diff(np.vstack([base, base[:1]]), axis=0)
    straight = np.linalg.norm(sides, axis=1) > 2.0
    assert abs(sides[straight][:, 1]).max() < 0.01  # its two faces, and no end
    assert base[:, 0].max() - base[:, 0][base[:, 0] > 30.0].min() > 0.4


@pytest.mark.parametrize(("lean", "told"), [(0.0, False), (30.0, False), (60.0, True), (90.0, True)])
def test_a_section_says_which_way_is_up_where_up_lies_in_it(lean, told):
    """One across a seam that goes up and leans back a little is nearly level: up would be off the outside there."""
    turn = np.array([[1.0, 0, 0], [0, np.cos(np.radians(lean)), -np.sin(np.radians(lean))]])
    turn = np.vstack([turn, np.cross(*turn)])
    found = scene(piece("one", (14, 5, 200)), piece("other", (14, 5, 200), (0, 5, 0)))
    touch = found.touches[0, 1]
    leaning = replace(touch, places=touch.places @ turn.T, normals=touch.normals @ turn.T)
    tilted = replace(found, points=found.points @ turn.T)
    assert ("up" in words(joint(leaning, tilted))) == told


@pytest.mark.parametrize("up", [(0.0, 1.0), (1.0, 0.0), (-0.6, 0.8)])
def test_a_bent_part_is_shown_flat_the_way_up_that_its_template_tells(up):
    """A round end marks what is up: it comes to the top, with an arrow beside it."""
    turn = np.array([[up[1], -up[0]], [up[0], up[1]]])
    house = np.array([[-50.0, -50], [50, -50], [50, 30], [0, 60], [-50, 30]])
    drawn = bent(replace(pattern_of("bow_upper"), outline=house @ turn, holes=(), darts=(), up=up))
    points = paths(drawn, "view")[0].points
    top = points[points[:, 1].argmax()]
    assert top[0] == pytest.approx(np.mean([points[:, 0].min(), points[:, 0].max()]), abs=0.01)
    assert "up" in words(drawn)
    assert "up" not in words(bent(replace(pattern_of("bow_upper"), up=None)))
    within(drawn)

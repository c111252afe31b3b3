"""The edge of a bulkhead at a wall that slopes: both faces against plane sections of pyramids and of leaning prisms."""

import math
from dataclasses import replace

import numpy as np
import pytest
from flat_designs import HEAD
from shapely.geometry import LineString, Point, Polygon, box

from foamwright.design import load
from foamwright.errors import BuildError
from foamwright.geometry import inset
from foamwright.model.build import prototype
from foamwright.parts import build_prop
from foamwright.parts.cut_off import cut_off
from foamwright.parts.flat import Wall, flat_body
from foamwright.parts.records import Frame

THICKNESS = 10.0


def faces(inside: Polygon, outside: Polygon):
    """The corners of both faces that the bevels make of the outline."""
    wall = Wall(inside, outside, THICKNESS)
    body = flat_body(wall.shape, Frame(np.zeros(3), np.eye(3)))
    bevels = np.zeros(len(body.outline))
    for run in body.runs:
        assert run.stop - run.start == 1  # a straight leg stays one
        (bevels[run.start % len(bevels)],) = wall.bevel(body.outline, run)
    draw = THICKNESS * np.tan(np.radians(bevels))
    return (Polygon(inset(body.outline, np.maximum(sign * draw, 0.0))) for sign in (1.0, -1.0)), bevels


@pytest.mark.parametrize("turned", [False, True])
def test_in_a_pyramid_one_face_is_smaller_all_round_and_corners_stay(turned):
    """A wall that leans 4 mm over 10: at any corner both walls draw as much, not by the way from corner to corner."""
    pair = (box(-64, -44, 64, 44), box(-60, -40, 60, 40))
    made, bevels = faces(*(pair[::-1] if turned else pair))
    for face, true in zip(made, pair[::-1] if turned else pair):
        assert face.symmetric_difference(true).area < 1e-6
    assert bevels == pytest.approx(np.full(4, math.degrees(math.atan(0.4)) * (1 if turned else -1)))


def test_across_a_leaning_shaft_the_faces_are_cut_on_opposite_sides():
    """Through a square shaft at 30 degrees both faces have one size, one further along by the thickness times tan 30."""
    along = THICKNESS * math.tan(math.radians(30.0))
    pair = (box(0, 0, 90, 60), box(along, 0, 90 + along, 60))
    made, bevels = faces(*pair)
    for face, true in zip(made, pair):
        assert face.symmetric_difference(true).area < 1e-6
    assert sorted(bevels) == pytest.approx([-30.0, 0.0, 0.0, 30.0], abs=1e-9)


def test_sections_that_lie_beside_each_other_make_no_bulkhead():
    with pytest.raises(BuildError, match="beside each other"):
        Wall(box(0, 0, 5, 5), box(9, 0, 14, 5), THICKNESS)


@pytest.mark.parametrize(("thick", "is_built"), [(3.0, True), (4.5, True), (6.0, False), (10.0, False)])
def test_a_blade_cannot_follow_a_wall_that_leans_around_a_curve_tighter_than_its_way_through_the_foam(thick, is_built):
    """In a tube of 9 mm radius at 50 degrees the edge of a bulkhead is an ellipse of 9 and 14 mm, whose tightest curve has a
    radius of b * b / a = 5.8 mm; the cut comes out
    t tan(50) further in, which is more for over 4.9 mm of foam."""
    round_ = np.linspace(0.0, 2 * np.pi, 720, endpoint=False)
    ellipse = np.column_stack([9.0 / math.cos(math.radians(50.0)) * np.cos(round_), 9.0 * np.sin(round_)])
    pair = Polygon(ellipse), Polygon(ellipse + [thick * math.tan(math.radians(50.0)), 0.0])
    wall = Wall(*pair, thick)
    if not is_built:
        with pytest.raises(BuildError, match=r"several bulkheads of at most 4\.[5-8] mm"):
            wall.met_by(wall.shape, Frame(np.zeros(3), np.eye(3)))
        return
    body = wall.met_by(wall.shape, Frame(np.zeros(3), np.eye(3)))
    draw = thick * np.tan(np.radians(body.side_bevels))
    for sign, true in zip((1.0, -1.0), pair):
        face = Polygon(inset(body.outline, np.maximum(sign * draw, 0.0))).buffer(0.0)
        assert face.symmetric_difference(true).area < 0.02 * true.length


def test_no_bulkheads_thinner_than_foam_is_sold_are_advised():
    """As above, in a tube of 1 mm radius: there the cut may come out 0.64 mm further in, which is so at half a millimetre of foam."""
    round_ = np.linspace(0.0, 2 * np.pi, 720, endpoint=False)
    ellipse = np.column_stack([np.cos(round_) / math.cos(math.radians(50.0)), np.sin(round_)])
    wall = Wall(Polygon(ellipse), Polygon(ellipse + [2.0 * math.tan(math.radians(50.0)), 0.0]), 2.0)
    with pytest.raises(BuildError, match=r"through it; put its plane more nearly square to the form$"):
        wall.met_by(wall.shape, Frame(np.zeros(3), np.eye(3)))


@pytest.mark.parametrize("past", [0.01, 0.1, 0.3, 0.6])
def test_a_cut_just_past_a_sample_of_a_sloping_wall_leaves_no_short_chord_at_the_corner(past):
    """Both faces of a floor in an ellipsoid, cut off across, against its sections by formula."""
    radii, heights = np.array([90.0, 60.0, 50.0]), (-30.0, -20.0)
    round_ = np.linspace(0.0, 2 * np.pi, 400, endpoint=False)
    ellipse = np.column_stack([np.cos(round_), np.sin(round_)])
    pair = [Polygon(ellipse * (radii[:2] * math.sqrt(1.0 - (z / radii[2]) ** 2))) for z in heights]
    wall = Wall(pair[0], pair[1], THICKNESS)
    rim = np.array(wall.shape.exterior.coords)[:-1]
    x = np.sort(rim[(rim[:, 1] > 0) & (rim[:, 0] > 20), 0])
    limit = x[0] + past * (x[1] - x[0])
    across = box(-200, -200, limit, 200)
    body = wall.met_by(wall.shape.intersection(across), Frame(np.zeros(3), np.eye(3)))
    ring = body.outline
    chords = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    assert np.sort(chords)[0] > 0.5 * np.median(chords)
    draw = THICKNESS * np.tan(np.radians(body.side_bevels))
    for sign, true in zip((1.0, -1.0), pair):
        face = Polygon(inset(body.outline, np.maximum(sign * draw, 0.0)))
        assert face.is_valid
        assert face.exterior.hausdorff_distance(true.intersection(across).exterior) < 0.2


@pytest.mark.parametrize(
    ("low", "high"),
    [
        ((-200, -200), (200, 52)),  # across the long axis: the lower face ends 4 mm before it
        ((-80, -200), (200, 200)),  # across the short one, where the lower face ends 8 mm before it
        ((-68, -40), (68, 40)),  # all round: the lower face meets each cut for a part of it
        ((-200, -200), (60, 44)),  # a corner, which the lower face does not reach
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_a_floor_cut_off_where_its_lower_face_does_not_reach_stays_within_the_wall(low, high, turned):
    """Both faces of a floor in an ellipsoid against its sections by formula, cut off by a rectangle; turned over as well."""
    radii, heights = np.array([90.0, 60.0, 50.0]), (-30.0, -20.0)
    round_ = np.linspace(0.0, 2 * np.pi, 800, endpoint=False)
    ellipse = np.column_stack([np.cos(round_), np.sin(round_)])
    pair = [Polygon(ellipse * (radii[:2] * math.sqrt(1.0 - (z / radii[2]) ** 2))) for z in heights]
    pair = pair[::-1] if turned else pair
    wall = Wall(pair[0], pair[1], THICKNESS)
    cut = box(*low, *high)
    body = wall.met_by(wall.shape.intersection(cut), Frame(np.zeros(3), np.eye(3)))
    draw = THICKNESS * np.tan(np.radians(body.side_bevels))
    for sign, true in zip((1.0, -1.0), pair):
        face = Polygon(inset(body.outline, np.maximum(sign * draw, 0.0)))
        assert face.is_valid
        assert face.difference(true.intersection(cut).buffer(0.3)).area < 0.01
        assert face.area > 0.96 * true.intersection(cut).area


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("size", [1.0, 3.0])
def test_a_cut_that_both_faces_reach_as_far_as_the_walls_beside_it_is_square(size, turned):
    """A floor in an ellipsoid against its sections by formula: on the lower face the wall ends the cut 10 mm earlier at either end."""
    radii, heights = size * np.array([300.0, 110.0, 130.0]), (-50.0 * size, -50.0 * size + 10.0)
    round_ = np.linspace(0.0, 2 * np.pi, 2000, endpoint=False)
    ellipse = np.column_stack([np.cos(round_), np.sin(round_)])
    pair = [Polygon(ellipse * (radii[:2] * math.sqrt(1.0 - (z / radii[2]) ** 2))) for z in heights]
    pair = pair[::-1] if turned else pair
    wall = Wall(pair[0], pair[1], THICKNESS)
    cut = box(-500 * size, -500 * size, 255 * size, 500 * size)
    body = wall.met_by(wall.shape.intersection(cut), Frame(np.zeros(3), np.eye(3)))
    on_cut = np.abs(body.outline[:, 0] - 255 * size) < 0.1
    assert not body.side_bevels[on_cut & np.roll(on_cut, -1)].any()
    for made, true in zip(body.faces(THICKNESS), pair):
        on_cut = made[np.abs(made[:, 0] - 255 * size) < 0.1]
        expected = true.intersection(LineString([(255 * size, -500 * size), (255 * size, 500 * size)])).length
        assert np.ptp(on_cut[:, 1]) == pytest.approx(expected, abs=2.0)
        assert Polygon(made).difference(true.intersection(cut).buffer(0.5)).is_empty


@pytest.mark.parametrize("across", [1.0, -1.0])
def test_a_cut_that_one_face_reaches_at_one_end_only_is_bevelled_where_it_does_not(across):
    """A trapezium between walls that slope by 9 mm along the cut; its lower face runs away from the cut from the middle on, by
    6 mm at that end."""
    upper, lower = (
        Polygon([(across * x, y) for x, y in shape])
        for shape in (
            [(-100, -80), (100, -80), (60, 80), (-60, 80)],
            [(-91, -80), (91, -80), (52.5, 74), (0, 80), (-51, 80)],
        )
    )
    body = flat_body(upper, Frame(np.zeros(3), np.eye(3)))
    slope = math.degrees(math.atan2(9.0 * 160.0 / math.hypot(160.0, 40.0), THICKNESS))
    on_wall = np.ptp(body.outline[[(run.start, run.stop % 4) for run in body.runs], 1], axis=1) > 1.0
    runs = [replace(run, bevel=(slope,)) if there else run for run, there in zip(body.runs, on_wall)]
    made = Polygon(cut_off(replace(body, runs=tuple(runs)), (lower, upper), THICKNESS).faces(THICKNESS)[0])
    assert made.exterior.distance(Point(across * -51.0, 80.0)) < 0.01
    assert made.difference(lower.buffer(0.3)).is_empty and made.area > 0.99 * lower.area


@pytest.mark.parametrize("reach", [30.0, 45.0, 50.0, 53.0, 55.0])
def test_a_cut_that_runs_into_the_wall_at_a_small_angle_parts_bevel_and_square_edge(reach):
    """Along an ellipse of 800 x 120, from 13.1 degrees at 30 mm to 3.8 at 55: beyond the cut the edge follows the wall."""
    round_ = np.linspace(0.0, 2 * np.pi, 2000, endpoint=False)
    outside = Polygon(np.column_stack([400.0 * np.cos(round_), 60.0 * np.sin(round_)]))
    wall = Wall(outside.buffer(-4.5, quad_segs=64), outside, THICKNESS)
    cut = box(-500, -200, 500, reach)
    body = wall.met_by(wall.shape.intersection(cut), Frame(np.zeros(3), np.eye(3)))
    middles = (body.outline + np.roll(body.outline, -1, axis=0)) / 2.0
    on_wall = (middles[:, 1] < reach - 0.5) & (np.abs(middles[:, 0]) < 380.0)
    assert body.side_bevels[on_wall] == pytest.approx(math.degrees(math.atan(0.45)), abs=0.5)


def test_a_cut_that_leaves_nothing_of_one_face_is_refused():
    wall = Wall(box(-40, -40, 40, 40), box(-60, -60, 60, 60), THICKNESS)
    with pytest.raises(BuildError, match="nothing is left of one of its faces"):
        wall.met_by(wall.shape.intersection(box(45, -60, 60, 60)), Frame(np.zeros(3), np.eye(3)))


@pytest.mark.parametrize("radius", [20.0, 200.0])
@pytest.mark.parametrize("lean", [12.0, 40.0])
@pytest.mark.parametrize("narrows", [0.0, 0.2])
def test_a_bulkhead_that_leans_in_a_tube_or_cone_meets_it_with_both_faces(tmp_path, radius, lean, narrows):
    """By the formula of the tube and of the cone: every point of either face's line is as far from the axis as the wall is
    at its height, and the solid is bevelled too."""
    x, z = math.cos(math.radians(lean)), math.sin(math.radians(lean))
    path = tmp_path / "leans.yaml"
    path.write_text(
        HEAD.replace("parts:\n", "  tube: {kind: revolution, axis: x, smooth: false, profile: ")
        + f"[[0, {radius * (1 + 4 * narrows)}], [{8 * radius}, {radius * (1 - 4 * narrows)}]]}}\n"
        f"parts:\n  wall: {{kind: bulkhead, stock: thick, form: tube, clearance: 0, "
        f"plane: {{normal: [{x}, 0, {z}], at: {4 * radius * x}}}}}\n",
        "utf-8",
    )
    piece = build_prop(load(path)).piece("wall")
    body = piece.body
    draw = THICKNESS * np.tan(np.radians(body.side_bevels))
    for sign, depth in ((1.0, 0.0), (-1.0, THICKNESS)):
        line = inset(body.outline, np.maximum(sign * draw, 0.0))
        assert Polygon(line).is_valid
        space = body.frame.to_space(np.column_stack([line, np.full(len(line), depth)]))
        off = np.hypot(space[:, 1], space[:, 2]) - (radius * (1 + 4 * narrows) - narrows * space[:, 0])
        assert np.abs(off).max() < 0.06
    assert prototype(piece).shortfall == ""

"""Small drawings of bending, pressing hollow and laminating: their lines are those of the surface, their glue is where it goes."""

import pickle
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
from sample_prop import sample
from test_insets import paths, within, words

from foamwright.booklet.pictures import shaping
from foamwright.drawing.primitives import Path
from foamwright.flatten import bend_lines as bend_lines_module
from foamwright.flatten.bend_lines import bend_lines, hollow, main_bend
from foamwright.flatten.records import Fittings, FlatMesh
from foamwright.geometry import Mesh


def pattern_of(id_):
    return next(p for p in sample()[1].patterns if p.piece.id == id_)


def laid(surface, wide=200.0, high=120.0, turn=0.0, count=21):
    """A flat part wide x high, and where `surface` (x, y -> point) takes it, both turned on the paper by an angle in degrees."""
    x, y = (grid.ravel() for grid in np.meshgrid(np.linspace(0, wide, count), np.linspace(0, high, count)))
    a, b = np.radians(turn), np.arange(count * count).reshape(count, count)
    matrix = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    corner, right, up, across = b[:-1, :-1].ravel(), b[:-1, 1:].ravel(), b[1:, :-1].ravel(), b[1:, 1:].ravel()
    faces = np.vstack([np.column_stack([corner, right, across]), np.column_stack([corner, across, up])])
    points = np.column_stack(surface(x, y))
    mesh = FlatMesh(np.column_stack([x, y]) @ matrix, Mesh(points, faces), np.zeros((len(x), 2)))
    outline = np.array([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]]) @ matrix
    return replace(pattern_of("bow_upper"), outline=outline, holes=(), darts=(), mesh=mesh)


def cylinder(radius):
    return lambda x, y: (radius * np.sin(x / radius), y, radius * np.cos(x / radius))


@pytest.mark.parametrize("turn", [0.0, 33.0, 90.0])
def test_a_cylinder_stays_straight_along_its_axis(turn):
    lines = bend_lines(laid(cylinder(80.0), turn=turn))
    assert len(lines) == 5
    for line in lines:
        along = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
        assert abs(along @ [-np.sin(np.radians(turn)), np.cos(np.radians(turn))]) == pytest.approx(1.0, abs=1e-3)
        assert np.linalg.norm(line[-1] - line[0]) == pytest.approx(120.0, abs=6.0)  # from edge to edge
    assert hollow(laid(cylinder(80.0), turn=turn), lines) < 0.3


def test_a_cone_stays_straight_along_lines_through_its_tip():
    """Its development keeps the distance from the tip, and the angles times the sine of half its own."""
    sine = 0.4

    def cone(x, y):
        far, about = np.hypot(x + 60.0, y - 60.0), np.arctan2(y - 60.0, x + 60.0) / sine
        return far * sine * np.cos(about), far * sine * np.sin(about), far * np.sqrt(1 - sine**2)

    for line in bend_lines(laid(cone)):
        along = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
        out = line.mean(axis=0) - (-60.0, 60.0)
        assert abs(along @ out) / np.linalg.norm(out) > np.cos(np.radians(4.0))


def test_both_sides_of_a_doorway_have_lines():
    """A wall 200 wide with a doorway from its lower edge nearly to the upper one: the lines of a cylinder are parallel, so that
    foam everywhere has one at most as far off as they are apart."""
    wall = laid(cylinder(80.0))
    door = np.array([[0.0, 0], [70, 0], [70, 90], [130, 90], [130, 0], [200, 0], [200, 120], [0, 120]])
    kept = (wall.mesh.flat[:, 0] <= 70.0) | (wall.mesh.flat[:, 0] >= 130.0) | (wall.mesh.flat[:, 1] >= 90.0)
    triangles = wall.mesh.surface.triangles[kept[wall.mesh.surface.triangles].all(axis=1)]
    mesh = replace(wall.mesh, surface=Mesh(wall.mesh.surface.points, triangles))
    lines = bend_lines(replace(wall, outline=door, mesh=mesh))
    across = sorted(line[:, 0].mean() for line in lines)
    assert across[0] <= 40.0 and across[-1] >= 160.0
    below = [x for x, line in zip((line[:, 0].mean() for line in lines), lines) if line[:, 1].min() < 5.0]
    assert min(below) < 70.0 and max(below) > 130.0
    assert np.diff(across).max() <= 45.0
    plain = bend_lines(wall)
    assert len(plain) == 5  # no more where nothing is bare


def on_a_ball(wide, high):
    def ball(x, y):
        u, v = (x - wide / 2.0) / 300.0, (y - high / 2.0) / 300.0
        return 300.0 * np.sin(u) * np.cos(v), 300.0 * np.sin(v), 300.0 * np.cos(u) * np.cos(v)

    return ball


@pytest.mark.parametrize("turn", [0.0, 25.0])
def test_a_part_of_a_ball_that_is_as_long_as_wide_bends_alike_all_ways(turn):
    assert bend_lines(laid(on_a_ball(140.0, 140.0), 140.0, 140.0, turn)) == []


@pytest.mark.parametrize("turn", [0.0, 25.0, 90.0])
@pytest.mark.parametrize("wide, high", [(200.0, 60.0), (60.0, 200.0)])
def test_a_long_part_of_a_ball_is_bent_along_its_length(wide, high, turn):
    """It bends alike all ways at each place, and is laid round something the long way all the same: its lines cross it.
    The middle one is hollow by the sagitta of its arc, r (1 - cos(s / 2r))."""
    pattern = laid(on_a_ball(wide, high), wide, high, turn)
    lines = bend_lines(pattern)
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    across = (-s, c) if wide > high else (c, s)
    assert len(lines) == 5
    for line in lines:
        along = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
        assert abs(along @ across) == pytest.approx(1.0, abs=0.01)
        assert np.linalg.norm(line[-1] - line[0]) == pytest.approx(60.0, abs=0.5)
    assert hollow(pattern, lines) == pytest.approx(300.0 * (1.0 - np.cos(30.0 / 300.0)), rel=0.05)


@pytest.mark.parametrize("turn", [0.0, 33.0])
def test_a_part_that_bends_a_little_more_one_way_is_bent_along_its_length(turn):
    """An egg of 150 and 90 mm: six tenths as much one way as the other, and as long as wide where it turns most."""

    def egg(x, y):
        v = (y - 60.0) / 150.0
        r = 90.0 + 150.0 * (np.cos(v) - 1.0)
        return r * np.sin((x - 100.0) / 90.0), 150.0 * np.sin(v), r * np.cos((x - 100.0) / 90.0)

    lines = bend_lines(laid(egg, turn=turn))
    assert len(lines) == 5
    for line in lines:
        assert np.linalg.norm(line[-1] - line[0]) == pytest.approx(120.0, abs=1.0)
        assert np.linalg.norm(np.diff(line, axis=0), axis=1).sum() == pytest.approx(120.0, abs=1.0)  # straight


@pytest.mark.parametrize("turn", [0.0, 25.0, 90.0])
@pytest.mark.parametrize("outward", [1.0, -1.0])
def test_a_long_strip_is_bent_along_its_length_be_it_rounder_across(turn, outward):
    """400 long on a circle of 500 mm, 40 wide on one of 120: it rises by 40 mm along its length and by 1.7 mm across, by the
    sagitta r (1 - cos(s / 2r)); hollow to either side (a barrel and a saddle)."""

    def strip(x, y):
        u, v = (x - 200.0) / 500.0, (y - 20.0) / 120.0
        out = 500.0 + outward * 120.0 * (np.cos(v) - 1.0)
        return out * np.sin(u), 120.0 * np.sin(v), out * np.cos(u)

    pattern = laid(strip, 400.0, 40.0, turn)
    lines = bend_lines(pattern)
    across = np.array([-np.sin(np.radians(turn)), np.cos(np.radians(turn))])
    assert len(lines) == 5
    for line in lines:
        assert abs((line[-1] - line[0]) @ across) == pytest.approx(40.0, abs=10.0)
    assert hollow(pattern, lines) == pytest.approx(120.0 * (1.0 - np.cos(20.0 / 120.0)), rel=0.3)  # ends a step short
    ways = main_bend(pattern.mesh.surface.corners)
    assert ways is not None and abs(ways[1] @ [0.0, 1.0, 0.0]) == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize("scale", [0.3, 1.0, 3.0])
@pytest.mark.parametrize("turn", [0.0, 25.0, 90.0])
def test_a_stave_of_a_barrel_is_bent_round_the_barrel_though_it_rises_more_along_its_length(turn, scale):
    """140 wide on a circle of 110 mm, 360 long on one of 470: it turns by 73 degrees and rises by 21.4 mm round the barrel, by 44
    degrees and 34.0 mm along its length."""

    def stave(x, y):
        u, v = (x - 70.0 * scale) / (110.0 * scale), (y - 180.0 * scale) / (470.0 * scale)
        out = scale * (110.0 + 470.0 * (np.cos(v) - 1.0))
        return out * np.sin(u), scale * 470.0 * np.sin(v), out * np.cos(u)

    lines = bend_lines(laid(stave, 140.0 * scale, 360.0 * scale, turn))
    along = np.array([-np.sin(np.radians(turn)), np.cos(np.radians(turn))])
    assert len(lines) == 5
    for line in lines:
        assert abs((line[-1] - line[0]) @ along) > 300.0 * scale


@pytest.mark.parametrize("turn", [0.0, 40.0])
def test_the_main_bend_of_a_cylinder_cut_askew_is_that_of_the_cylinder(turn):
    """Its generating lines stay straight, however its outline lies."""
    a = np.radians(turn)

    def wall(x, y):
        return cylinder(150.0)(x * np.cos(a) - y * np.sin(a), x * np.sin(a) + y * np.cos(a))

    ways = main_bend(laid(wall, 200.0, 60.0).mesh.surface.corners)
    assert ways is not None and abs(ways[1] @ [0.0, 1.0, 0.0]) == pytest.approx(1.0, abs=1e-3)


def test_a_flat_part_has_no_lines():
    assert bend_lines(laid(lambda x, y: (x, 0.6 * y, 0.8 * y))) == []
    assert bend_lines(laid(lambda x, y: (x, 0.6 * y + 1e-9 * np.sin(x), 0.8 * y + 1e-9 * np.cos(7 * x)))) == []


def test_how_hollow_a_barrel_is():
    """The sagitta of an arc: r (1 - cos(s / 2r))."""

    def barrel(x, y):
        v = (y - 60.0) / 400.0
        return (
            (80.0 + 400.0 * (np.cos(v) - 1.0)) * np.sin(x / 80.0),
            400.0 * np.sin(v),
            (80.0 + 400.0 * (np.cos(v) - 1.0)) * np.cos(x / 80.0),
        )

    pattern = laid(barrel)
    lines = bend_lines(pattern)
    assert hollow(pattern, lines) == pytest.approx(400.0 * (1.0 - np.cos(60.0 / 400.0)), rel=0.12)


@pytest.mark.parametrize("layers", [2, 3])
@pytest.mark.parametrize("origin", [(0.0, 0.0), (340.0, 110.0)])  # of the drawing, wherever the part has it
def test_layers_are_red_below_each_other_and_not_on_top(layers, origin):
    pattern = pattern_of("fin")
    pin = tuple(np.add((30.0, 20.0), origin).tolist())
    pattern = replace(pattern, outline=pattern.outline + origin, fittings=Fittings(pins=(pin,)))
    pattern = replace(pattern, piece=replace(pattern.piece, layers=layers))
    inset = shaping.layered(pattern)
    faces = paths(inset, "view")
    top = max(faces, key=lambda face: face.points[:, 1].max())
    strokes = paths(inset, "glue")
    assert strokes and all(stroke.points[:, 1].max() < top.points[:, 1].max() - 1.0 for stroke in strokes)
    pins = paths(inset, "way")
    assert len(pins) == layers - 1  # the pin, from layer to layer
    assert any(shapely.Polygon(top.points).contains(shapely.Point(end)) for pin in pins for end in pin.points)
    assert words(inset) == [pattern.piece.label] and "Pins" in inset.said
    within(inset)


def test_a_tall_stack_says_how_many_of_its_layers_are_drawn():
    pattern = pattern_of("fin")
    tall = shaping.layered(replace(pattern, piece=replace(pattern.piece, layers=6)))
    assert "Drawn are 4 of the 6 layers." in tall.said
    assert "Drawn" not in shaping.layered(replace(pattern, piece=replace(pattern.piece, layers=4))).said


def test_lines_of_a_narrow_strip_do_not_run_into_each_other():
    """A strip 12 times as long as it is wide, bent across: five lines along it would be one black patch."""
    strip = laid(cylinder(60.0), wide=40.0, high=480.0)
    assert len(bend_lines(strip)) == 5
    inset = shaping.bent(strip)
    drawn = [shapely.LineString(line.points) for layer in ("view-new", "way") for line in paths(inset, layer)]
    assert drawn and all(a.distance(b) > 2.0 for a, b in combinations(drawn, 2))
    wide = laid(cylinder(60.0), wide=400.0, high=480.0)
    assert len(paths(shaping.bent(wide), "way")) == 4  # and the bold one


def test_no_line_to_bend_along_runs_over_a_hole():
    wall = laid(cylinder(80.0))
    window = np.array([[60.0, 30.0], [140.0, 30.0], [140.0, 90.0], [60.0, 90.0]])
    whole, holed = shaping.bent(wall), shaping.bent(replace(wall, holes=(window,)))
    hole = shapely.Polygon(paths(holed, "view")[1].points)
    drawn = [shapely.LineString(line.points) for line in paths(holed, "way")]
    assert any(shapely.LineString(line.points).intersects(hole) for line in paths(whole, "way"))
    assert drawn and all(line.intersection(hole).length < 0.01 for line in drawn)


def test_a_section_of_foam_pressed_hollow():
    inset = shaping.pressed([pattern_of("bow_upper"), pattern_of("bow_lower")], inwards=True)
    ball, foam = paths(inset, "view")
    assert ball.points[:, 1].max() == pytest.approx(foam.points[41:, 1].max(), abs=0.3)  # it lies on it
    rim = shapely.Polygon(ball.points).exterior
    assert max(rim.distance(shapely.Point(p)) for p in foam.points[41:]) < 0.3  # all along: a smaller ball makes a dent
    assert "A and B" in inset.said
    within(inset)


@pytest.mark.parametrize("wide, across, degrees", [(100.0, 240.0, 47.7), (200.0, 140.0, 163.7), (60.0, 240.0, 28.6)])
def test_foam_is_drawn_as_far_round_as_it_goes(wide, across, degrees):
    """A strip `wide` mm wide, laid over a bucket: length of arc by radius, by hand; drawn half-way round, it would be laid
    over it the long way."""
    strip = laid(cylinder(across / 2.0), wide=wide, high=400.0)
    thin = replace(strip.piece, stock=replace(strip.piece.stock, thickness=0.001))
    line = np.array([[wide / 2.0, 0.0], [wide / 2.0, 400.0]])
    assert shaping._wrapped(replace(strip, piece=thin), line, across) == pytest.approx(degrees, abs=0.1)
    items = shaping._over_round(np.zeros(2), "#cccccc", across, degrees)
    foam = next(item for item in items if isinstance(item, Path) and item.fill == "#cccccc").points
    turns = np.degrees(np.arctan2(foam[:, 0], foam[:, 1]))
    assert np.ptp(turns) == pytest.approx(degrees, abs=0.1) and turns.max() == pytest.approx(degrees / 2.0, abs=0.1)


def test_lines_end_where_a_part_bends_alike_all_ways():
    """A bowl that goes over into a cylinder: in its bottom no way is straighter than another, and a line would wander."""

    def spoon(x, y):
        far = np.maximum(y - 120.0, 0.0)  # along the handle, which is a cylinder
        radius, bowl = 80.0, np.minimum(y, 120.0) - 120.0
        about = (x - 100.0) / radius
        lift = radius * (1.0 - np.cos(bowl / radius))
        return radius * np.sin(about), radius * np.sin(bowl / radius) + far, radius * np.cos(about) - lift

    for line in bend_lines(laid(spoon, high=300.0, count=31)):
        steps = np.diff(line, axis=0)
        steps /= np.linalg.norm(steps, axis=1, keepdims=True)
        assert ((steps[:-1] * steps[1:]).sum(axis=1) >= 0.9 - 1e-9).all()


def test_lines_of_one_flat_part_are_looked_for_once_and_those_of_another_by_themselves(monkeypatch):
    looked_at = []
    field = bend_lines_module._Field
    monkeypatch.setattr(bend_lines_module, "_Field", lambda mesh: looked_at.append(mesh) or field(mesh))
    wall = laid(cylinder(81.0))
    lines = bend_lines(wall)
    lines.clear()  # whoever asked may do with the list what he likes
    again = bend_lines(pickle.loads(pickle.dumps(wall)))
    assert len(looked_at) == 1 and len(again) > 1
    door = np.array([[0.0, 0.0], [90.0, 0.0], [90.0, 60.0], [0.0, 60.0]])
    assert max(line[:, 0].max() for line in bend_lines(replace(wall, outline=door))) < 91.0
    assert len(looked_at) == 2


def test_a_part_to_bend_is_drawn_the_way_up_that_its_template_tells():
    """Its lines run along its axis: level where that lies level in the prop, however the part lies on its page."""
    for up, level in (((0.0, 1.0), False), ((1.0, 0.0), True), ((-1.0, 0.0), True)):
        drawn = shaping.bent(replace(laid(cylinder(80.0)), up=up))
        for line in paths(drawn, "way"):
            across, high = np.ptp(line.points, axis=0)
            assert (across > high) == level
        assert "up" in words(drawn)
        within(drawn)


@pytest.mark.parametrize(("thickness", "told"), [(6.0, True), (2.0, False)])
def test_a_bend_is_told_by_the_line_of_the_template_where_that_has_one(thickness, told):
    """Of five lines of the picture the template has one, and foam that is as thin as cloth has none."""
    pattern = laid(cylinder(80.0))
    piece = replace(pattern.piece, stock=replace(pattern.piece.stock, thickness=thickness))
    inset = shaping.bent(replace(pattern, piece=piece))
    assert ("Its template has the ends of the bold line." in inset.said) is told

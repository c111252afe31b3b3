"""Outlines of the design against closed formulas and the type library's own areas. Lengths in mm."""

import math

import numpy as np
import pytest
import shapely
from fontTools.pens.areaPen import AreaPen
from fontTools.ttLib import TTFont
from shapely.geometry import Polygon

from foamwright.drawing.fonts import face_file
from foamwright.errors import BuildError
from foamwright.parts.curves import SAGITTA, arc_through, flattened
from foamwright.parts.lettering import bridged, lettering
from foamwright.parts.outlines import area, polygon, spline

FACE = face_file(bold=False)
PLACED = {"angle": 0.0, "centre": (0.0, 0.0)}


def made(outline, folder="."):
    return area(outline, str(folder), None)


def path(start, *steps, corner=0.0):
    steps = tuple({"corner": 0.0, **s} if isinstance(s, dict) else s for s in steps)
    return {"path": {"from": start, "steps": steps, "corner": corner}}


def test_a_path_of_straight_legs_is_the_polygon():
    assert made(path((0, 0), (30, 0), (30, 20), (0, 20))).area == pytest.approx(600.0)


@pytest.mark.parametrize("radius", [1.0, 4.0, 10.0])
def test_rounded_corners_lose_a_square_and_gain_a_quarter_circle(radius):
    corners = [{"to": to, "corner": radius} for to in ((30, 0), (30, 20), (0, 20), (0, 0))]
    found = made(path((0, 0), *corners))
    assert found.area == pytest.approx(600 - (4 - math.pi) * radius**2, rel=1e-3)
    length = 2 * (30 + 20) - 8 * radius + 2 * math.pi * radius
    assert found.length == pytest.approx(length, rel=1e-3)
    assert found.bounds == pytest.approx((0, 0, 30, 20))


def test_the_corner_at_the_start_is_rounded_too():
    found = made(path((0, 0), (30, 0), (30, 20), (0, 20), corner=5.0))
    assert found.area == pytest.approx(600 - (1 - math.pi / 4) * 25, rel=1e-4)
    assert not found.covers(shapely.Point(0.5, 0.5))


def test_an_arc_makes_a_half_disc():
    found = made(path((-10, 0), (10, 0), {"to": (-10, 0), "through": (0, 10)}))
    assert found.area == pytest.approx(math.pi * 100 / 2, rel=2e-3)
    assert found.bounds == pytest.approx((-10, 0, 10, 10), abs=2 * SAGITTA)


@pytest.mark.parametrize("turn", [0.3, 1.5, 3.0, 4.5, 6.0, -0.3, -3.0, -6.0])
def test_every_point_of_an_arc_is_on_its_circle(turn):
    at = [np.array([7 + 25 * math.cos(a), -3 + 25 * math.sin(a)]) for a in (0.4, 0.4 + 0.37 * turn, 0.4 + turn)]
    found = arc_through(*at)
    assert np.hypot(*(found - (7, -3)).T) == pytest.approx(np.full(len(found), 25.0))
    assert shapely.LineString(found).length == pytest.approx(25 * abs(turn), rel=1e-3)


def test_a_smooth_curve_passes_its_points():
    found = made(path((0, 0), (40, 0), {"to": (0, 30), "along": ((35, 12), (20, 18))}))
    for point in ((35, 12), (20, 18), (0, 30)):
        assert found.exterior.distance(shapely.Point(point)) < 1e-9


def test_mistakes_of_a_path_are_named():
    with pytest.raises(BuildError, match="on one line"):
        made(path((0, 0), {"to": (10, 0), "through": (5, 0)}, (5, 5)))
    with pytest.raises(BuildError, match=r"a path that crosses itself.* at \[5\.00, 5\.00\]"):
        made(path((0, 0), (10, 10), (10, 0), (0, 10)))
    with pytest.raises(BuildError, match="between corners that take"):
        made(path((0, 0), {"to": (10, 0), "corner": 8.0}, {"to": (10, 10), "corner": 8.0}, (0, 10)))
    with pytest.raises(BuildError, match="only straight legs"):
        made(path((0, 0), {"to": (10, 0), "corner": 1.0}, {"to": (0, 0), "through": (5, 5)}))


def test_curves_keep_to_their_tolerance():
    radius = 40.0
    found = flattened(lambda t: radius * np.column_stack([np.cos(t), np.sin(t)]))
    middle = (found[1:] + found[:-1]) / 2
    assert (radius - np.hypot(*middle.T)).max() < SAGITTA
    dense = spline([(50, 0), (0, 80), (-60, 0), (0, -30)])
    assert len(dense) > 60


# Letters: areas against the areas of the type library, which integrates the outlines themselves.


@pytest.mark.parametrize("letter", "ABDOQRS8&agegi%")
def test_a_letter_has_the_area_of_its_outline(letter):
    face = TTFont(FACE)
    glyphs, name = face.getGlyphSet(), face.getBestCmap()[ord(letter)]
    pen = AreaPen(glyphs)
    glyphs[name].draw(pen)
    scale = 20.0 / 1493  # height of the capitals of the face, in its units
    assert lettering(letter, 20.0).area == pytest.approx(abs(pen.value) * scale**2, rel=2e-3)


def test_capitals_are_as_high_as_stated_and_centred():
    found = lettering("HEH", 12.0, bold=True)
    assert found.bounds[1::2] == pytest.approx((-6.0, 6.0))
    assert found.bounds[0] == pytest.approx(-found.bounds[2])


def test_a_line_is_as_wide_as_its_advances():
    face = TTFont(FACE)
    advance = face["hmtx"][face.getBestCmap()[ord("H")]][0] * 12.0 / 1493
    one, three = lettering("H", 12.0), lettering("HHH", 12.0)
    assert np.ptp(three.bounds[::2]) - np.ptp(one.bounds[::2]) == pytest.approx(2 * advance)


def test_a_letter_that_the_face_lacks_is_named():
    with pytest.raises(BuildError, match="U\\+6F22"):
        lettering("漢", 10.0)


@pytest.mark.parametrize("value", ["O", "ABDOPQR", "8", "0469", "aegobdpq&%@"])
def test_bridges_leave_nothing_loose(value):
    letters = lettering(value, 40.0)
    assert sum(len(p.interiors) for p in shapely.get_parts(letters)) > 0
    stencil = bridged(letters, 2.0)
    assert not any(len(p.interiors) for p in shapely.get_parts(stencil))
    assert letters.covers(stencil.buffer(-1e-6))
    sheet = letters.envelope.buffer(10).difference(stencil)
    assert sheet.geom_type == "Polygon"


def test_stencil_o_loses_two_bridges():
    ring = Polygon(shapely.Point(0, 0).buffer(20).exterior, [shapely.Point(0, 0).buffer(15).exterior])
    lost = ring.area - bridged(ring, 3.0).area
    assert lost == pytest.approx(2 * 3.0 * 5.0, rel=0.02)


def test_text_as_a_hole_may_be_in_several_pieces():
    text = {"value": "ILL", "height": 10.0, "bold": False, **PLACED}
    plate = polygon(
        {"rectangle": {"width": 80, "height": 30, "corner": 0, "centre": (0, 0)}, "minus": ({"text": text},)},
        ".",
        None,
    )
    assert len(plate.interiors) == 3


# Repeats in an outline.

HOLE = {"circle": {"radius": 2.0, "centre": (20.0, 0.0)}}


def test_holes_in_a_row_around_and_in_a_grid():
    one = made(HOLE).area
    row = made({**HOLE, "repeat": {"count": 5, "step": (6.0, 0.0)}})
    assert row.area == pytest.approx(5 * one) and row.bounds[2] == pytest.approx(46.0)
    ring = made({**HOLE, "repeat": {"around": {"count": 8, "centre": (0.0, 0.0), "angle": 360.0}}})
    centres = [p.centroid for p in shapely.get_parts(ring)]
    assert len(centres) == 8 and all(c.distance(shapely.Point(0, 0)) == pytest.approx(20.0) for c in centres)
    half = made({**HOLE, "repeat": {"around": {"count": 3, "centre": (0.0, 0.0), "angle": 180.0}}})
    assert half.bounds[0] == pytest.approx(-22.0) and half.bounds[3] == pytest.approx(22.0)
    own = made({**HOLE, "repeat": {"moves": ((7.0, 0.0), (19.0, 5.0))}})
    assert own.area == pytest.approx(3 * one) and own.bounds == pytest.approx((18, -2, 41, 7))
    grid = made({**HOLE, "repeat": {"grid": {"counts": (3, 2), "steps": ((10.0, 0.0), (0.0, 7.0))}}})
    assert grid.area == pytest.approx(6 * one) and grid.bounds == pytest.approx((18, -2, 42, 9))


# SVG.


def svg(tmp_path, body, head='width="100mm" height="50mm" viewBox="0 0 200 100"'):
    (tmp_path / "drawing.svg").write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>', "utf-8")
    return made({"svg": {"file": "drawing.svg", "scale": 1.0}}, tmp_path)


def test_svg_is_in_millimetres_and_curves_are_kept(tmp_path):
    found = svg(tmp_path, '<circle cx="100" cy="50" r="40"/>')
    assert found.bounds == pytest.approx((30, -45, 70, -5), abs=0.01)
    assert np.hypot(*(np.array(found.exterior.coords) - (50, -25)).T) == pytest.approx(20.0, abs=0.01)
    assert found.area == pytest.approx(math.pi * 400, rel=1e-3)


@pytest.mark.parametrize("scale", [0.3, 1, 3])
def test_svg_is_enlarged_about_its_own_origin_with_curves_as_fine_as_ever(tmp_path, scale):
    (tmp_path / "drawing.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" viewBox="0 0 200 100"><circle cx="100" cy="50" r="40"/></svg>',
        "utf-8",
    )
    found = made({"svg": {"file": "drawing.svg", "scale": scale}}, tmp_path)
    assert found.centroid.coords[0] == pytest.approx((50 * scale, -25 * scale))
    radii = np.hypot(*(shapely.get_coordinates(found) - (50 * scale, -25 * scale)).T)
    assert radii == pytest.approx(np.full(len(radii), 20 * scale), abs=1e-6)
    assert (
        found.exterior.hausdorff_distance(shapely.Point(50 * scale, -25 * scale).buffer(20 * scale, 512).exterior)
        < 2 * SAGITTA
    )


def test_svg_transforms_of_groups_and_holes(tmp_path):
    body = (
        '<g transform="translate(20 10)"><g transform="rotate(90) scale(2)">'
        '<path d="M0 0 H30 V-20 H0 Z M10 -5 V-15 H20 V-5 Z" transform="translate(1 0)"/></g></g>'
    )
    found = svg(tmp_path, body)
    # rotate(90) takes (x, y) to (-y, x): 0..40 across and 2..62 down, then moved, then half a millimetre a unit
    assert found.bounds == pytest.approx((10, -36, 30, -6))
    assert found.area == pytest.approx((30 * 20 - 100) * 4 / 4) and len(found.interiors) == 1


def test_svg_bezier_within_a_hundredth(tmp_path):
    found = svg(tmp_path, '<path d="M0 0 C0 100 200 100 200 0 Z"/>')
    t = np.linspace(0, 1, 2001)
    curve = np.column_stack([3 * t**2 * (1 - t) * 200 + t**3 * 200, -(3 * (1 - t) ** 2 * t + 3 * (1 - t) * t**2) * 100])
    assert shapely.distance(shapely.points(curve / 2), found.exterior).max() < SAGITTA
    assert found.area == pytest.approx(0.25 * 12000, rel=1e-3)  # integral of y dx over the curve, by hand: 12000


def test_svg_mistakes(tmp_path):
    with pytest.raises(BuildError, match="no closed shape"):
        svg(tmp_path, "<title>words</title>")
    (tmp_path / "drawing.svg").write_text("no drawing", "utf-8")
    with pytest.raises(BuildError, match="not an SVG drawing"):
        made({"svg": {"file": "drawing.svg", "scale": 1.0}}, tmp_path)


def test_a_word_gives_its_letters_one_by_one():
    """Squares of 10, 20 and 30 mm, as letters of a word."""
    squares = [
        {"rectangle": {"width": side, "height": side, "corner": 0.0, "centre": (x, 0.0)}}
        for side, x in ((30, 90), (20, 45))
    ]
    word = {"rectangle": {"width": 10, "height": 10, "corner": 0.0, "centre": (0.0, 0.0)}, "plus": squares}
    sides = [polygon({**word, "piece": number}, ".", None).area ** 0.5 for number in (1, 2, 3)]
    assert sides == pytest.approx([10.0, 20.0, 30.0])
    with pytest.raises(BuildError, match=r"falls into 3 pieces .*; `piece` takes one of them"):
        polygon(word, ".", None)
    with pytest.raises(BuildError, match="no piece 4, as it falls into 3"):
        polygon({**word, "piece": 4}, ".", None)


@pytest.mark.parametrize("lower", [0.0, 1e-13, 1e-12, 1e-9, 1e-6, 1e-3, 0.01])
def test_slivers_between_shapes_that_meet_are_no_holes(lower):
    """Half circles side by side along an edge, each of which begins where the one before ends."""
    circles = {"circle": {"radius": 26.0, "centre": (-208.0, 363.868)}, "repeat": {"count": 9, "step": (52.0, 0.0)}}
    edge = {"rectangle": {"width": 468.0, "height": 400.0, "corner": 0.0, "centre": (0.0, 563.868 + lower)}}
    shape = polygon({**edge, "plus": [circles]}, ".", None)
    assert not shape.interiors and shape.area == pytest.approx(468 * 400 + 9 * math.pi * 26**2 / 2, rel=1e-4)


@pytest.mark.parametrize(("width", "left"), [(1e-4, 0), (0.01, 0), (0.03, 1), (0.1, 1)])
def test_a_hole_as_wide_as_a_hair_is_filled(width, left):
    slit = {"rectangle": {"width": 40.0, "height": width, "corner": 0.0, "centre": (0.0, 0.0)}}
    plate = {"rectangle": {"width": 100.0, "height": 60.0, "corner": 0.0, "centre": (0.0, 0.0)}, "minus": [slit]}
    assert len(polygon(plate, ".", None).interiors) == left


@pytest.mark.parametrize("radius", np.linspace(0.005, 0.08, 16))
def test_a_round_hole_may_be_of_any_size(radius):
    hole = {"circle": {"radius": radius, "centre": (3.0, 2.0)}}
    plate = {"rectangle": {"width": 100.0, "height": 60.0, "corner": 0.0, "centre": (0.0, 0.0)}, "minus": [hole]}
    assert len(polygon(plate, ".", None).interiors) == (radius > 0.0275)

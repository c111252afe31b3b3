"""Outlines that cross or touch themselves, and drawings that say more than is read of them."""

import io
import time
from math import pi

import cairosvg
import numpy as np
import pytest
import shapely
from PIL import Image

from foamwright.errors import BuildError
from foamwright.geometry import Frame
from foamwright.parts.fill import filled
from foamwright.parts.flat import flat_body
from foamwright.parts.outlines import area, polygon
from foamwright.parts.svg_file import svg_shape


def made(outline):
    return polygon(outline, ".", None)


def points(*at, corner=0.0):
    return {"polygon": {"points": at, "corner": corner}}


@pytest.mark.parametrize(
    "outline, place",
    [
        (points((0, 0), (90, 0), (90, 90), (180, 90), (180, 0), (90, 0), (0, 90)), r"at \[90\.00, 0\.00\]"),
        (points((0, 0), (100, 0), (40, 0), (40, 50)), r"at \["),  # it goes back over itself
        (points((0, 0), (10, 10), (10, 0), (0, 10)), r"at \[5\.00, 5\.00\]"),
        (points((0, 0), (60, 0), (60, 60), (30, 0), (0, 60)), r"at \[30\.00, 0\.00\]"),  # a corner on a side
        (points((0, 0), (10, 0), (20, 0)), "no area|touches itself"),
        (points((0, 0), (10, 0), (10, 0), (0, 0)), "no area"),
        ({"spline": {"points": ((0, 0), (50, 40), (50, 0), (0, 40))}}, r"a spline that crosses itself.* at \["),
        ({"spline": {"points": ((0, 0), (50, 40), (50, 40), (0, 40))}}, r"names the point \[50, 40\] twice"),
    ],
)
def test_an_outline_that_crosses_or_touches_itself_is_refused_with_the_place(outline, place):
    with pytest.raises(BuildError, match=place):
        made(outline)


def test_a_polygon_that_runs_clockwise_has_its_area():
    assert made(points((0, 0), (0, 10), (10, 10), (10, 0))).area == pytest.approx(100)


def test_pieces_are_never_dropped_in_silence():
    square = {"rectangle": {"width": 10, "height": 10, "corner": 0, "centre": (0, 0)}}
    for size in (0.1, 1.0, 30.0):  # however small beside a millimetre
        pair = [{"rectangle": {"width": w * size, "height": 10 * size, "corner": 0, "centre": (x * size, 0)}}
                for w, x in ((10, 0), (8, 20))]  # fmt: skip
        with pytest.raises(BuildError, match="falls into 2 pieces"):
            made({**pair[0], "plus": pair[1:]})
    hole = {"rectangle": {"width": 4, "height": 4, "corner": 0, "centre": (0, 3)}}  # reaches the edge in a whole side
    assert made({**square, "minus": [hole]}).area == pytest.approx(84)
    touching = points((0, 0), (3, 5), (-3, 5))
    with pytest.raises(BuildError, match=r"hole that touches its edge or another hole at \[0\.00, 0\.00\]"):
        made({**points((-20, 0), (20, 0), (20, 20), (-20, 20)), "minus": [touching]})


def test_letters_that_lose_what_is_inside_of_them_are_told_of_bridges():
    plate = {"rectangle": {"width": 90, "height": 40, "corner": 0, "centre": (0, 0)}}
    letters = {"value": "TO", "height": 20, "bold": True, "angle": 0, "centre": (0, 0)}
    with pytest.raises(BuildError, match=r"falls into 2 pieces .* stencil_text has bridges"):
        made({**plate, "minus": [{"text": letters}]})
    made({**plate, "minus": [{"text": letters | {"value": "TL"}}]})
    made({**plate, "minus": [{"stencil_text": letters | {"bridge": 2}}]})


def test_tiny_shapes_are_kept():
    assert made({"circle": {"radius": 0.3, "centre": (0, 0)}}).area == pytest.approx(pi * 0.09, rel=0.05)


def svg(tmp_path, body, head='width="100mm" height="50mm" viewBox="0 0 100 50"', before=""):
    path = tmp_path / "drawing.svg"
    path.write_text(f'{before}<svg xmlns="http://www.w3.org/2000/svg" {head}>\n{body}\n</svg>', "utf-8")
    return svg_shape(path)


STAR = "M50 3 L63 45 L28 19 L72 19 L37 45 Z"
RINGS = "M10 10 H60 V40 H10 Z M30 5 H90 V45 H30 Z M40 15 V35 H50 V15 Z"
LOOPS = "M10 25 C40 0 60 50 90 25 S30 40 10 25 Q50 5 70 35 T20 25 Z"


@pytest.mark.parametrize("rule", ["nonzero", "evenodd"])
@pytest.mark.parametrize("data", [STAR, RINGS, LOOPS], ids=["star", "rings", "loops"])
def test_paths_are_filled_as_an_svg_renderer_fills_them(tmp_path, data, rule):
    # cairo's filling, at 20 pixels to the millimetre
    body = f'<path d="{data}" fill-rule="{rule}"/>'
    found = svg(tmp_path, body)
    picture = Image.open(io.BytesIO(cairosvg.svg2png(url=str(tmp_path / "drawing.svg"), output_width=2000)))
    ink = np.asarray(picture)[..., 3] / 255.0
    assert found.area == pytest.approx(ink.sum() / 400, rel=1e-3)
    y, x = np.mgrid[0 : ink.shape[0], 0 : ink.shape[1]]
    inside = shapely.contains_xy(found, (x.ravel() + 0.5) / 20, -(y.ravel() + 0.5) / 20).reshape(ink.shape)
    assert np.abs(inside - ink).mean() < 2e-3


def test_the_fill_rule_is_nonzero_unless_told():
    turn = np.radians(np.arange(5) * 144)
    star = 10 * np.column_stack([np.sin(turn), np.cos(turn)])
    whole, tips = filled([star], "nonzero"), filled([star], "evenodd")
    core = shapely.convex_hull(whole - tips)
    assert whole.area - tips.area == pytest.approx(core.area)


def test_shapes_in_each_other_are_holes_by_turns_and_shapes_that_cross_are_refused(tmp_path):
    found = svg(
        tmp_path, '<rect width="40" height="40"/><circle cx="20" cy="20" r="10"/><circle cx="20" cy="20" r="5"/>'
    )
    assert found.area == pytest.approx(1600 - pi * 75, rel=1e-3)
    with pytest.raises(BuildError, match=r"svg:3: it crosses or touches the rect of line 2 at \[40\.00, -"):
        svg(tmp_path, '<rect width="40" height="40"/>\n<circle cx="40" cy="20" r="10"/>')


@pytest.mark.parametrize(
    "units, size", [("mm", 1), ("cm", 10), ("in", 25.4), ("pt", 25.4 / 72), ("pc", 25.4 / 6), ("px", 25.4 / 96)]
)
def test_units_of_the_drawing(tmp_path, units, size):
    found = svg(tmp_path, '<rect x="1" y="1" width="50" height="20"/>', f'width="100{units}" viewBox="0 0 100 50"')
    assert found.area == pytest.approx(1000 * size**2)


def test_rounded_rectangles_take_the_other_radius_where_one_is_left_out(tmp_path):
    found = svg(tmp_path, '<rect width="40" height="20" rx="5"/>')
    assert found.area == pytest.approx(800 - (4 - pi) * 25, rel=5e-4)
    stadium = svg(tmp_path, '<rect width="40" height="20" rx="50" ry="10"/>')
    assert stadium.area == pytest.approx(pi * 20 * 10, rel=1e-3)  # rx is at most half the width


RECT = '<rect width="40" height="40"/>'


@pytest.mark.parametrize(
    "body, wrong",
    [
        ("<text>words</text>", "a text in the drawing.*convert it as a path"),
        ('<image href="http://example.org/x.png"/>', "a image in the drawing"),
        ('<use href="#a"/>', "a use in the drawing"),
        ('<line x1="0" y1="0" x2="9" y2="9"/>', "a line in the drawing"),
        ('<svg><rect width="4" height="4"/></svg>', "a drawing within the drawing"),
        ('<rect width="40"/>', r"a rect without size \(height\)"),
        ('<rect width="-4" height="4"/>', r"a rect without size \(width\)"),
        ('<rect width="four" height="4"/>', "width 'four'.*a number"),
        ('<rect width="10%" height="4"/>', "width '10%'"),
        ('<rect width="nan" height="4"/>', "width 'nan'"),
        ('<rect width="1e999" height="4"/>', "width '1e999'"),
        ('<rect width="1e200" height="4"/>', "it reaches too far"),
        ('<circle cx="1" cy="1"/>', r"a circle without size \(r\)"),
        ('<ellipse rx="3" ry="0"/>', r"an? ellipse without size \(ry\)"),
        ('<polygon points="0,0 4,0"/>', "three or more pairs"),
        ('<polygon points="0,0 4,0 4"/>', "three or more pairs"),
        ('<polygon points="0,0 4,0 x,4"/>', "three or more pairs"),
        ('<polygon points="0,0 4,0 8,0"/>', "encloses nothing"),
        ("<path/>", "a path without points"),
        ('<path d="M0 0"/>', "encloses nothing|cannot be read"),
        ('<path d="M0 0 L9 9"/>', "encloses nothing"),
        ('<path d="L0 0 L9 9 L0 9"/>', "beginning with M"),
        ('<path d="M0 0 L9 banana"/>', "path data"),
        ('<path d="M0 0 L9 9 C1 1 2"/>', "cannot be read"),
        ('<path d="M0 0 L9 0 L9 1e400 Z"/>', "it reaches too far|cannot be read"),
        ('<path d="M0 0 A 0 0 0 0 0 0 0 Z"/>', "encloses nothing|cannot be read"),
        (f'<g transform="scale(0)">{RECT}</g>', "leaves no area"),
        (f'<g transform="spin(9)">{RECT}</g>', r"transform 'spin\(9\)'"),
        (f'<g transform="matrix(1 2 3)">{RECT}</g>', "transform 'matrix"),
        (f'<g transform="scale(nan)">{RECT}</g>', "transform"),
        (f'<g clip-path="url(#a)">{RECT}</g>', "a g with clip-path"),
        (f'<g fill-rule="odd">{RECT}</g>', "fill-rule 'odd'"),
        ("<style>rect {display: none}</style>" + RECT, "a style sheet with display"),
        (f'<g>{"<g>" * 80}{RECT}{"</g>" * 80}</g>', "within each other"),
        (RECT + "<rect", "not an SVG drawing"),
    ],
)  # fmt: skip
def test_what_is_not_supported_is_refused_with_its_line(tmp_path, body, wrong):
    with pytest.raises(BuildError, match=rf"drawing\.svg:[23]: .*(?:{wrong})"):
        svg(tmp_path, body)


@pytest.mark.parametrize(
    "head, wrong",
    [
        ('width="banana"', "width 'banana'"),
        ('width="100em" viewBox="0 0 9 9"', "width '100em'"),
        ('width="50%" viewBox="0 0 9 9"', "width '50%'"),
        ('width="-3mm" viewBox="0 0 9 9"', "width '-3mm'"),
        ('width="3mm" viewBox="0 0 0 9"', "viewBox"),
        ('width="3mm" viewBox="0 0 9"', "viewBox"),
        ('width="3mm" viewBox="a b c d"', "viewBox"),
        ('width="1e300mm" viewBox="0 0 9 9"', "a scale of"),
        ('width="9mm" height="90mm" preserveAspectRatio="none" viewBox="0 0 9 9"', "stretch"),
    ],
)
def test_sizes_that_are_none_are_refused(tmp_path, head, wrong):
    with pytest.raises(BuildError, match=f"drawing.svg:1: .*{wrong}"):
        svg(tmp_path, RECT, head)


def test_nothing_is_expanded_and_nothing_outside_is_read(tmp_path):
    laughs = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10 if i else "ha"}">' for i in range(10))
    for inside in (laughs, '<!ENTITY x SYSTEM "file:///etc/passwd">'):
        with pytest.raises(BuildError, match="a document type with declarations"):
            svg(tmp_path, "<title>&x;</title>" + RECT, before=f"<!DOCTYPE svg [{inside}]>")
    plain = '<?xml version="1.0"?>\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">\n'
    assert svg(tmp_path, RECT, before=plain).area == pytest.approx(1600)
    (tmp_path / "large.svg").write_bytes(b"<svg>" + b" " * 5_000_000)
    with pytest.raises(BuildError, match="more than the 4 MB"):
        svg_shape(tmp_path / "large.svg")


def test_what_is_only_for_programs_is_passed_over(tmp_path):
    body = (
        '<defs><rect width="9" height="9"/></defs><metadata>me</metadata><desc>a</desc>'
        '<n:view xmlns:n="http://example.org/n"><n:grid/></n:view><style>.a {fill: none}</style>'
        f'<g display="none"><circle r="4"/></g><a>{RECT}</a>'
    )
    assert svg(tmp_path, body).area == pytest.approx(1600)


@pytest.mark.parametrize("exponent", [0.7, 2, 2.5, 8, 40])
@pytest.mark.parametrize("size", [0.5, 100.0, 3000.0])
def test_superellipses_keep_the_sagitta_at_every_size(exponent, size):
    outline = {"superellipse": {"width": size, "height": 0.6 * size, "exponent": exponent, "centre": (0, 0)}}
    found = area(outline, ".", None)
    turn = np.linspace(0, 2 * pi, 40001)
    c, s = np.cos(turn), np.sin(turn)
    rho = (abs(c) ** exponent + abs(s) ** exponent) ** (-1 / exponent)
    curve = np.column_stack([size / 2 * rho * c, 0.3 * size * rho * s])
    assert shapely.distance(shapely.points(curve), found.exterior).max() < 0.013


# The corners of an outline: known by how its curves were sampled, not by an angle.


def edges_of(outline):
    return flat_body(made(outline), Frame(np.zeros(3), np.eye(3))).runs


def regular(sides, radius):
    turn = np.arange(sides) * 2 * pi / sides
    return points(*zip(radius * np.cos(turn), radius * np.sin(turn)))


@pytest.mark.parametrize("sides", [3, 4, 6, 18, 36, 60])
@pytest.mark.parametrize("radius", [10.0, 200.0])
def test_every_side_of_a_coarse_polygon_is_an_edge(sides, radius):
    if radius * (1 - np.cos(pi / sides)) > 0.04:  # finer ones are a circle
        assert len(edges_of(regular(sides, radius))) == sides


@pytest.mark.parametrize("radius", [0.5, 3.0, 40.0, 2000.0])
def test_sampled_curves_have_no_corners(radius):
    circle = {"circle": {"radius": radius, "centre": (3, 4)}}
    slot = {"slot": {"length": 3 * radius, "width": radius, "angle": 20, "centre": (0, 0)}}
    round_ = {"rectangle": {"width": 3 * radius, "height": 2 * radius, "corner": 0.3 * radius, "centre": (0, 0)}}
    shapes = [
        {"superellipse": {"width": 3 * radius, "height": radius, "exponent": e, "centre": (0, 0)}} for e in (2, 3, 9)
    ]
    for outline in (circle, slot, round_, *shapes):
        assert len(edges_of(outline)) == 1


def test_corners_made_by_cutting_are_corners():
    circle = {"circle": {"radius": 50.0, "centre": (0, 0)}}
    away = {"rectangle": {"width": 200, "height": 100, "corner": 0, "centre": (0, -80)}}
    cut = {**circle, "minus": [away]}
    assert len(edges_of(cut)) == 2
    both = {**circle, "plus": [{"circle": {"radius": 50.0, "centre": (60, 0)}}]}
    assert len(edges_of(both)) == 2


def test_a_wrong_letter_far_into_a_path_is_found_at_once(tmp_path):
    # found by fuzzing: every way of parting the digits before it was tried
    path = "M -30.125 0.25 C -18.5 -18.25 " + "12345.678 " * 40 + "-1w 2 Z"
    began = time.process_time()
    with pytest.raises(BuildError, match="path data"):
        svg(tmp_path, f'<path d="{path}"/>')
    assert time.process_time() - began < 2

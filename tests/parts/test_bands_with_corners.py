"""Bands around curves with straight legs, arcs and corners.

Formulas: the perimeter of the parallel of a convex curve at distance d outwards is that of the curve plus 2 pi d, and
inwards less 2 pi d as long as every radius is greater than d (Steiner's formula for parallel curves of convex bodies,
J. Steiner 1840; from memory). In a corner that turns by an angle a each leg of a parallel is longer by d tan(a / 2)
(trigonometry of a mitre).
"""

from functools import cache
from itertools import pairwise
from math import atan, cos, degrees, hypot, pi, radians, sin, sqrt, tan
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import shapely
from scipy.special import ellipe
from shapely.geometry import Polygon

from foamwright.design.load import load
from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.parts.bent import _crossing
from foamwright.parts.legs import Straight
from foamwright.section.build import section_and_flatten
from foamwright.templates.draw import draw

HEAD = """\
format: 1
name: Try
version: 1.0.0
licence: CC0-1.0
units: mm
parameters: {scale: {value: 1}, clearance: {value: 1 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam, thickness: THICK mm, sheet: [6000, 9000], k: SHARE}}
forms:
  tube: {kind: revolution, axis: z, smooth: false, profile: [[0, 50 mm * scale], [120, 50]],
    cuts: {square: {prism: {outline: {rectangle: {width: 40, height: 30}}, along: y, centre: [0, 0, 60], above: 0}},
           round: {prism: {outline: {rectangle: {width: 40, height: 30, corner: 12}}, along: y, centre: [0, 0, 60],
             above: 0}},
           dee: {prism: {outline: {path: {from: [-40, 0], steps: [[40, 0], {to: [-40, 0], through: [0, 40]}]}}, along: y,
             centre: [0, 0, 60], above: 0}}}}
  can: {kind: revolution, axis: z, smooth: false, profile: [[0, 0], [30, 50], [120, 50], [160, 0]]}
parts:
"""


@cache
def patterns(band: str, thickness: float = 6.0, k: float = 0.5):
    with TemporaryDirectory() as folder:
        path = Path(folder) / "try.yaml"
        text = HEAD.replace("THICK", f"{thickness:g}").replace("SHARE", f"{k:g}")
        path.write_text(f"{text}  rim: {{kind: band, stock: foam, {band}}}\n", "utf-8")
        return section_and_flatten(build_model(build_prop(load(path))))


def along(outline: str, rest: str = "width: 20") -> str:
    return f"along: {{outline: {{{outline}}}, at: {{origin: [0, 0, 0], normal: z}}}}, {rest}"


def length(found) -> float:
    return found.pattern("rim").strip[0]


def volume(found) -> float:
    prototype = build_model(found.prop).prototype("rim")
    assert prototype.exact
    return prototype.volume


RECTANGLE = "rectangle: {width: 120, height: 80, corner: 12}"
CONVEX = {
    "rectangle with round corners": (RECTANGLE, 2 * (96 + 56) + 2 * pi * 12, 12),
    "one without straight legs on two sides": (
        "rectangle: {width: 120, height: 80, corner: 40}", 2 * 40 + 2 * pi * 40, 40),
    "slot": ("slot: {length: 120, width: 60, angle: 30, centre: [5, 7]}", 2 * 60 + pi * 60, 30),
    "slot that is a circle": ("slot: {length: 60, width: 60}", pi * 60, 30),
    "circle": ("circle: {radius: 40}", 2 * pi * 40, 40),
    "triangle with round corners": (
        "polygon: {points: [[0, 0], [100, 0], [0, 100]], corner: 15}",
        # the inset triangle's sides plus one full turn: Steiner's formula the other way round
        (200 + 100 * sqrt(2)) * (1 - 15 / (100 * (1 - sqrt(0.5)))) + 2 * pi * 15, 15),
    "path of legs and a half circle": (
        "path: {from: [0, -30], steps: [[60, -30], {to: [60, 30], through: [90, 0]}, [0, 30], "
        "{to: [0, -30], through: [-30, 0]}]}", 120 + 2 * pi * 30, 30),
    "superellipse of exponent 2, an ellipse": (
        "superellipse: {width: 160, height: 100, exponent: 2}", 4 * 80 * ellipe(1 - (50 / 80) ** 2), 50**2 / 80),
    "huge": ("rectangle: {width: 1200, height: 800, corner: 120}", 2 * (960 + 560) + 2 * pi * 120, 120),
}  # fmt: skip


@pytest.mark.parametrize("thickness, k", [(2, 0.5), (6, 0.5), (6, 0.3), (10, 0.5), (10, 0.3)])
@pytest.mark.parametrize("name", CONVEX)
def test_a_band_around_a_convex_curve_is_its_perimeter_and_a_turn_about_the_neutral_offset(name, thickness, k):
    outline, perimeter, radius = CONVEX[name]
    found = patterns(along(outline), thickness, k)
    assert length(found) == pytest.approx(perimeter + 2 * pi * k * thickness, abs=2e-3, rel=2e-6)
    if radius > thickness:
        found = patterns(along(outline, "width: 20, laid: inside"), thickness, k)
        assert length(found) == pytest.approx(perimeter - 2 * pi * (1 - k) * thickness, abs=2e-3, rel=2e-6)


@pytest.mark.parametrize("name", ["rectangle with round corners", "slot", "circle", "triangle with round corners"])
def test_its_solid_is_as_thick_as_the_foam_all_around(name):
    outline, perimeter, _ = CONVEX[name]
    found = patterns(along(outline))
    assert volume(found) == pytest.approx(20 * 6 * (perimeter + 2 * pi * 3), rel=2e-5)


def test_straight_legs_are_planes_of_the_solid():
    found = patterns(along(RECTANGLE))
    body = found.prop.piece("rim").body
    for stretch in body.stretches:
        if stretch.bend == "flat":
            run = body.curve[stretch.start : stretch.stop + 1]
            on = [abs(run[:, 0]) - 60, abs(run[:, 1]) - 40]  # in the plane, forward lies along the frame's y
            assert (
                min(abs(off).max() for off in on) < 1e-9
                or min(abs(abs(run[:, i]) - d).max() for i, d in ((0, 40), (1, 60))) < 1e-9
            )
    assert [s.bend for s in body.stretches].count("round") == 4
    # its ends meet in the middle of a long side
    assert sorted(abs(body.curve[0])) == pytest.approx([0, 0, 40], abs=1e-9)


def test_a_concave_corner_shortens_the_band():
    # an L whose corners are rounded: five turn out and one turns in, together one full turn
    points = "[[0, 0], [120, 0], [120, 60], [60, 60], [60, 120], [0, 120]]"
    found = patterns(along(f"polygon: {{points: {points}, corner: 20}}"))
    perimeter = 2 * 80 + 2 * 20 + 2 * 20 + 6 * pi * 10
    assert length(found) == pytest.approx(perimeter + 2 * pi * 3, abs=1e-6)
    assert volume(found) == pytest.approx(20 * 6 * (perimeter + 2 * pi * 3), rel=2e-5)


@pytest.mark.parametrize("sides", [3, 4, 5, 6, 8])
@pytest.mark.parametrize("laid", ["outside", "inside"])
def test_a_scored_band_folds_at_the_outer_skin(sides, laid):
    ring = ", ".join(f"[{60 * cos(2 * pi * i / sides)}, {60 * sin(2 * pi * i / sides)}]" for i in range(sides))
    found = patterns(along(f"polygon: {{points: [{ring}]}}", f"width: 20, laid: {laid}, corners: scored"), 6, 0.3)
    side = 2 * 60 * sin(pi / sides)
    outer = side + (2 * 6 * tan(pi / sides) if laid == "outside" else 0)
    pattern = found.pattern("rim")
    inner_face = sides * outer - 2 * 6 * tan(pi / sides)  # both ends are cut at half the turn
    x, other = pattern.outline[:, 0], pattern.other_outline[:, 0]
    assert x.max() - x.min() == pytest.approx(inner_face, abs=1e-6)
    assert other.max() - other.min() == length(found) == pytest.approx(sides * outer, abs=1e-6)
    assert [e.bevel for e in pattern.edges if e.id in ("start", "end")] == [pytest.approx((180 / sides,))] * 2
    assert volume(found) == pytest.approx(20 * 6 * sides * (outer - 6 * tan(pi / sides)), rel=1e-6)


def test_a_concave_corner_is_scored_from_the_other_face():
    points = "[[0, 0], [120, 0], [120, 60], [60, 60], [60, 120], [0, 120]]"
    found = patterns(along(f"polygon: {{points: {points}}}", "width: 20, corners: scored"))
    body = found.prop.piece("rim").body
    assert sorted(round(c.turn) for c in body.corners) == [-90, 90, 90, 90, 90, 90]
    # the skin is the outer face but in the corner that turns in, where it is the inner one
    skin = (132 + 132) + (60 + 12 - 6) * 0 + 2 * (60 + 6 + 6) + 2 * (60 + 6)
    assert max(found.pattern("rim").other_outline[:, 0]) - min(found.pattern("rim").other_outline[:, 0]) == (
        pytest.approx(skin, abs=1e-6)
    )
    ring = Polygon([(0, 0), (120, 0), (120, 60), (60, 60), (60, 120), (0, 120)])
    assert volume(found) == pytest.approx(20 * (ring.buffer(6, join_style="mitre").area - ring.area), rel=1e-6)


def test_a_mitred_band_falls_into_strips_with_bevels_of_half_the_turn():
    found = patterns(along("rectangle: {width: 120, height: 80}", "width: 20, corners: mitred"))
    split = found.pattern("rim").split
    assert split.joint == "mitre" and len(split.segments) == 4
    sizes = []
    for segment in split.segments:
        (x0, _), (x1, _) = segment.outline.min(axis=0), segment.outline.max(axis=0)
        (u0, _), (u1, _) = segment.other_outline.min(axis=0), segment.other_outline.max(axis=0)
        sizes.append((round(x1 - x0, 6), round(u1 - u0, 6)))
    assert sorted(sizes) == [(80, 92), (80, 92), (120, 132), (120, 132)]
    assert length(found) == pytest.approx(2 * (92 + 132))
    assert volume(found) == pytest.approx(20 * (132 * 92 - 120 * 80), rel=1e-6)


def test_folds_say_from_which_side_they_are_cut():
    ell = "polygon: {points: [[0, 0], [120, 0], [120, 60], [60, 60], [60, 120], [0, 120]]}"
    for outline, folds, labels in ((ell, 5, 5), ("rectangle: {width: 120, height: 80}", 3, 0)):
        found = patterns(along(outline, "width: 20, corners: scored"))
        (template,) = draw(found)
        items = template.drawing.flat
        lines = {round(float(i.points[0, 0]), 3) for i in items if getattr(i, "layer", "") == "fold"}
        texts = [i.value for i in items if getattr(i, "value", "").startswith("V 90")]
        assert (len(lines), len(texts)) == (folds, labels)
        assert texts.count("V 90° from the other side") == (1 if labels else 0)


def test_a_straight_leg_and_an_arc_meet_in_a_mitre():
    # a D: half a circle on its chord; the foam inside is cut where the parallels cross
    outline = "path: {from: [-50, 0], steps: [[50, 0], {to: [-50, 0], through: [0, 50]}]}"
    found = patterns(along(outline, "width: 20, laid: inside, corners: scored"))
    half = Polygon([(-50, 0), (50, 0), *[(50 * cos(radians(a / 8)), 50 * sin(radians(a / 8))) for a in range(1440)]])
    inner = shapely.Point(0, 0).buffer(44, 512) & shapely.box(-50, 6, 50, 50)
    assert volume(found) == pytest.approx(20 * (pi * 50**2 / 2 - inner.area), rel=1e-4)
    assert half.is_valid


def test_corners_are_never_rounded_in_silence():
    with pytest.raises(BuildError, match=r"sharp corners \(one of 90° at .*corners: scored.*corners: mitred"):
        patterns(along("rectangle: {width: 120, height: 80}"))
    with pytest.raises(BuildError, match=r"radius of 4\.0 mm, too tight"):
        patterns(along("rectangle: {width: 120, height: 80, corner: 4}", "width: 20, laid: inside"))
    with pytest.raises(BuildError, match=r"too short|leaves nothing"):
        patterns(along("rectangle: {width: 120, height: 8}", "width: 20, laid: inside, corners: scored"))


def test_a_part_of_the_way_along_legs_and_arcs():
    # from the middle of one side to the middle of the next: half of each and a quarter turn
    found = patterns(along(RECTANGLE, "width: 20, end_width: 8, span: {angles: [0, 90]}"))
    pattern = found.pattern("rim")
    neutral = 48 + 28 + pi / 2 * 15
    assert pattern.outline[:, 0].max() - pattern.outline[:, 0].min() == pytest.approx(neutral, abs=2e-3)
    assert pattern.area == pytest.approx(neutral * 14, rel=1e-2)  # it tapers evenly along its curve
    found = patterns(
        along("rectangle: {width: 120, height: 80}", "width: 20, corners: scored, span: {angles: [0, 90]}")
    )
    assert length(found) == pytest.approx(60 + 40 + 2 * 6, abs=2e-3)


PROFILE = "polygon: {points: [[0, 0], [300, 0], [300, 60], [220, 70], [160, 140], [0, 140]]}"


def test_from_corner_to_corner_of_a_polygon():
    """Over the nose, the bonnet, the slope and the roof of a truck's profile, and back below: each leg from its corners."""
    over = [(300, 0), (300, 60), (220, 70), (160, 140), (0, 140)]
    chain = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(over))
    band = "width: 40, corners: mitred, span: {points: [[300, 0], [0, 140]]}"
    found = patterns(along(PROFILE, band))
    segments = found.pattern("rim").split.segments
    assert len(segments) == 4 and sum(s.area for s in segments) / 40 == pytest.approx(chain, abs=1e-3)  # the inner face
    below = patterns(along(PROFILE, "width: 40, corners: mitred, span: {points: [[0, 140], [300, 0]]}"))
    assert len(below.pattern("rim").split.segments) == 2
    assert sum(s.area for s in below.pattern("rim").split.segments) / 40 == pytest.approx(140 + 300, abs=1e-3)


def test_a_point_within_a_leg_and_one_on_a_circle():
    found = patterns(along(PROFILE, "width: 40, corners: mitred, span: {points: [[100, 0], [300, 30]]}"))
    assert sum(s.area for s in found.pattern("rim").split.segments) / 40 == pytest.approx(200 + 30, abs=1e-3)
    quarter = patterns(along("circle: {radius: 100}", "width: 20, span: {points: [[100, 0], [0, 100]]}"))
    assert length(quarter) == pytest.approx(pi / 2 * 103, abs=5e-3)


@pytest.mark.parametrize(
    ("points", "told"),
    [
        ("[[300, 0], [0, 160]]", "lies 20.0 mm off the curve"),
        ("[[300, 0], [300, 0]]", "begins and ends at the same point"),
    ],
)
def test_points_that_are_none_of_the_curve(points, told):
    with pytest.raises(BuildError, match=told):
        patterns(along(PROFILE, f"width: 40, corners: mitred, span: {{points: {points}}}"))


def test_lips_stand_along_the_straight_sides_of_an_opening():
    lip = "along: {opening: {form: tube, cut: NAME}}, laid: inside, proud: 3, depth: 4"
    found = patterns(lip.replace("NAME", "round"), 2)
    pattern = found.pattern("rim")
    perimeter = 2 * (16 + 6) + 2 * pi * 12
    assert pattern.outline[:, 0].max() - pattern.outline[:, 0].min() == pytest.approx(perimeter - 2 * pi, abs=1e-3)
    found = patterns(lip.replace("NAME", "square") + ", corners: mitred", 2)
    assert len(found.pattern("rim").split.segments) == 4
    assert all(copy.prototype.exact for copy in build_model(found.prop).copies)


def test_a_hoop_around_a_section_with_corners():
    # a cylinder between two cones, cut 10 mm beside its axis: two straight sides and two hyperbolas
    hoop = "along: {hoop: {form: can, plane: {normal: x, at: 10}}}, width: 20"
    with pytest.raises(BuildError, match="sharp corners"):
        patterns(hoop)
    found = patterns(hoop + ", corners: mitred", 2)
    half = sqrt(50**2 - 10**2)
    turns = [degrees(atan(slope * 50 / half)) for slope in (50 / 30, 50 / 40)]
    assert sorted(corner.turn for corner in found.prop.piece("rim").body.corners) == pytest.approx(
        [turns[1], turns[1], turns[0], turns[0]], abs=0.15
    )
    heights = [(30 * i / 3000, 50 * i / 3000) for i in range(601, 3001)]
    heights += [(160 - 40 * i / 3000, 50 * i / 3000) for i in range(3000, 600, -1)]
    side = [(sqrt(r * r - 100), z) for z, r in heights]
    ring = Polygon([*side, *((-y, z) for y, z in side[::-1])])
    band = ring.buffer(2, join_style="mitre", mitre_limit=20)
    assert volume(found) == pytest.approx(20 * (band.area - ring.area), rel=2e-3)
    assert len(found.pattern("rim").split.segments) == 4


@pytest.mark.parametrize("size", [0.3, 30.0])
def test_small_and_large_rounded_rectangles(size):
    outline = f"rectangle: {{width: {120 * size}, height: {80 * size}, corner: {12 * size}}}"
    found = patterns(along(outline), 2)
    assert length(found) == pytest.approx(size * (304 + 24 * pi) + 2 * pi, abs=1e-4)
    assert hypot(*found.prop.piece("rim").body.normals[0]) == pytest.approx(1)


def test_a_line_that_turns_straight_back_is_refused_in_words_and_not_with_an_endless_figure():
    out, back = Straight(np.zeros(2), np.array([10.0, 0.0])), Straight(np.array([10.0, 0.0]), np.zeros(2))
    with pytest.raises(BuildError, match="turns straight back"):
        _crossing(out, back, pi, 6.0)


@pytest.mark.parametrize("laid", ["inside", "outside"])
@pytest.mark.parametrize("thickness", [2.0, 6.0, 10.0])
def test_a_lip_whose_mitred_legs_rise_has_the_height_of_its_opening_on_both_faces(laid, thickness):
    """A D in the wall of a tube: where its legs meet they are as much lower than in their middles as the tube's circle."""
    radius, half = 50.0, 40.0
    along = f"along: {{opening: {{form: tube, cut: dee}}}}, laid: {laid}, proud: 5, depth: 20, corners: mitred"
    rise = radius - sqrt(radius**2 - half**2)
    for piece in patterns(along, thickness).pattern("rim").split.segments:
        for face in (piece.outline, piece.other_outline):
            assert shapely.Polygon(face).is_valid
            x, y = face.T
            lower, upper = (y[np.abs(x - (x.min() + x.max()) / 2) < 1.0][[pick]] for pick in (0, -1))
            for end in (y[x < x.min() + 1e-6], y[x > x.max() - 1e-6]):
                assert abs(lower - end.min()) == pytest.approx(rise, abs=0.03)
                assert abs(upper - end.max()) == pytest.approx(rise, abs=0.03)


def test_a_leg_whose_inner_face_only_touches_the_next_is_refused():
    # half a circle on its chord, lined with foam half as thick as its radius: on its inside the arc touches the chord's line
    dee = "path: {from: [-12, 0], steps: [[12, 0], {to: [-12, 0], through: [0, 12]}]}"
    with pytest.raises(BuildError, match="leaves nothing of the foam's inner side"):
        patterns(along(dee, "width: 20, laid: inside, corners: mitred"), 6)

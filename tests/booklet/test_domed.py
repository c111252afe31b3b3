"""Which panels are told to curve both ways. By Gauss-Bonnet the total curvature of a piece of a sphere is its solid angle, that
of a piece of a cylinder 0 (M. do Carmo, "Differential Geometry of Curves and Surfaces", section 4-5, from memory)."""

import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

sys.path.insert(0, str(Path(__file__).parents[1] / "model"))
from solid_fixtures import Spheroid, panel, piece

import foamwright
from foamwright.booklet.words import bending
from foamwright.booklet.words.bending import ends_of, former, hollows, is_bent, is_domed, is_pressed, narrowest
from foamwright.flatten.bend_lines import bend_lines


class Cylinder:
    """Round about z with a radius of 100 mm: the coordinates are the height in radii and the angle in turns."""

    def offset(self, coords, distance):
        angle = 2.0 * np.pi * coords[:, 1]
        out = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(len(angle))])
        return (100.0 + distance) * out + np.outer(100.0 * coords[:, 0], [0.0, 0.0, 1.0])


def test_a_piece_of_a_sphere_is_a_dish_and_one_of_a_cylinder_is_none():
    ball = panel(Spheroid(100.0, 100.0), (0.3, 0.0), (0.7, 0.2))
    assert is_domed(piece("A", ball))
    assert not is_domed(piece("B", replace(ball, surface=Cylinder())))


HOOPS = """\
format: 1
name: Hoops
version: 1.0.0
licence: CC0-1.0
units: mm
parameters: {scale: {value: 1}, clearance: {value: 0 mm}}
sizes: {one: {}}
stock:
  foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [3000, 6000]}
  thick: {name: Foam 10 mm, thickness: 10 mm, sheet: [3000, 6000]}
forms:
  ball: {kind: superellipsoid, radii: [400 * scale, 400 * scale, 400 * scale], cuts: {
    a: {plane: {normal: z, at: 400 * sin(40)}}, b: {plane: {normal: z, at: 400 * sin(52)}},
    c: {plane: {normal: z, at: 400 * sin(72)}}, left: {plane: {normal: x}}, right: {plane: {normal: y}}}}
parts:
  narrow: {kind: panel, stock: foam, form: ball, where: {a: beyond, b: before, left: beyond, right: beyond}}
  wide: {kind: panel, stock: thick, form: ball, where: {b: beyond, c: before, left: beyond, right: beyond}}
"""


def test_a_wide_hoop_of_a_dome_is_pressed_hollow_although_nothing_in_the_house_is_as_round(tmp_path):
    """A zone of a sphere turns by the difference of its latitudes from edge to edge. Rolled to a cone its edges lean by half of
    that: 10 degrees in 10 mm foam, 1.7 mm at the outside; 6 degrees in 6 mm foam are 0.6 mm, which glue fills."""
    (tmp_path / "hoops.yaml").write_text(HOOPS, "utf-8")
    stages = foamwright.Stages(foamwright.Request(foamwright.load(tmp_path / "hoops.yaml")))
    narrow, wide = (stages.patterns.pattern(part) for part in ("narrow", "wide"))
    assert not is_bent(narrow.piece) and not is_bent(wide.piece)
    assert (is_pressed(narrow), is_pressed(wide)) == (False, True)
    assert hollows(stages.patterns)["wide"].depth == pytest.approx(
        (400 + 5) * (1 - np.cos(np.radians(10))), rel=0.08
    )  # its line ends a step short
    middle = shapely.LineString(bend_lines(wide)[0]).interpolate(0.5, normalized=True)
    window = shapely.get_coordinates(middle.buffer(10.0))[:-1]
    holed = SimpleNamespace(patterns=[replace(wide, holes=(window,))])
    assert hollows(holed)["wide"].depth == 0.0  # no foam below the middle of the rule


def test_a_door_is_bent_like_the_wall_that_it_is_cut_from():
    """Its rim runs along the bend and across it; the radius of a cylinder is that of its wall, whose hollow face lies on it."""
    turn = np.linspace(0.0, 2.0 * np.pi, 361)
    coords = np.column_stack([0.4 * np.sin(turn), 0.06 * np.cos(turn)])  # an oval door, 80 mm high and 75 mm wide
    ball = panel(Spheroid(100.0, 100.0), (0.3, 0.0), (0.7, 0.2))
    points, off = Cylinder().offset(coords, 0.0), Cylinder().offset(coords, 1.0)
    rim = replace(ball.edges[0], loop=0, points=points, normals=off - points)
    door = piece("A", replace(ball, surface=Cylinder(), edges=(rim,)))
    assert door.body.inner_offset == 0.0 and abs(former(door) - 2.0 * 100.0) < 0.5


def test_a_strip_is_bent_over_what_is_as_round_as_it_is_along_its_length(tmp_path):
    """A strip 40 mm wide and 480 long of a spindle: across it, it is round like a tube of 210 mm and rises by 2 mm; along it
    by 15. Laid along round that tube it would make a ring."""
    form = "{kind: superellipsoid, radii: [500 * scale, 120 * scale, 120 * scale], axis: x, cuts: {" + (
        "a: {plane: {normal: x, at: -240}}, b: {plane: {normal: x, at: 240}}, "
        "c: {plane: {normal: y, at: -20}}, d: {plane: {normal: y, at: 20}}, low: {plane: {normal: z}}}}"
    )
    head = HOOPS[: HOOPS.index("forms:")]
    parts = "parts:\n  strip: {kind: panel, stock: foam, form: spindle, where: {a: beyond, b: before, c: beyond, d: before, low: beyond}}\n"
    (tmp_path / "strip.yaml").write_text(head + "forms:\n  spindle: " + form + "\n" + parts, "utf-8")
    strip = (
        foamwright.Stages(foamwright.Request(foamwright.load(tmp_path / "strip.yaml"))).patterns.pattern("strip").piece
    )
    assert former(strip) > 1500.0 and not is_bent(strip)
    out = 120.0 * np.sqrt(
        1.0 - (240.0 / 500.0) ** 2
    )  # at its ends, and the lean of the spindle there (J. Meusnier, from memory)
    lean = np.arctan(120.0**2 * 240.0 / (500.0**2 * out))
    assert narrowest(strip) == pytest.approx(2.0 * out / np.cos(lean), rel=0.01)


@pytest.mark.parametrize(
    "across, bought", [(44.0, 40.0), (59.9, 40.0), (60.0, 60.0), (39.0, 35.0), (12.0, 10.0), (3.0, 5.0)]
)
def test_what_foam_is_bent_over_is_no_wider_than_its_bend(across, bought, monkeypatch):
    monkeypatch.setattr(bending, "ends_of", lambda _: (across, across))
    assert bending.round_about(None) == (bought, bought)


def test_a_gore_that_narrows_is_told_by_both_of_its_ends(tmp_path):
    """Half a frustum from 300 to 225 mm across inside or less is told by both of its rims; one that hardly narrows by its mean,
    the rims turning alike."""
    head = HOOPS[: HOOPS.index("forms:")]
    form = "forms:\n  pot: {{kind: revolution, axis: z, smooth: false, profile: [[0, 150], [200, {top}]], cuts: {{half: {{plane: {{normal: y}}}}}}}}\n"
    parts = "parts:\n  wall: {kind: panel, stock: foam, form: pot, where: {half: beyond}, mirror: y}\n"
    for top, told in ((130, (280.0, 280.0)), (100, (200.0, 300.0)), (40, (80.0, 300.0)), (75, (150.0, 300.0))):
        (tmp_path / "pot.yaml").write_text(head + form.format(top=top) + parts, "utf-8")
        stages = foamwright.Stages(foamwright.Request(foamwright.load(tmp_path / "pot.yaml")))
        lean = np.cos(np.arctan((150 - top) / 200))  # rims of a cone are as round as it is square to them
        narrow, wide = bending.ends_of(stages.patterns.pattern("wall").piece)
        assert narrow == pytest.approx(told[0] / lean, rel=0.03)
        assert wide == pytest.approx(told[1] / lean, rel=0.03)


@pytest.mark.parametrize(
    "slit",
    ["prism: {outline: {rectangle: {width: 600, height: 24}}, along: z, below: 0}", "plane: {normal: z, at: -30}"],
)
@pytest.mark.parametrize("foot, head", [(94, 54), (60, 45), (140, 60)])
def test_a_cuff_that_goes_nearly_round_is_told_by_both_of_its_ends(tmp_path, slit, foot, head):
    """Its rims turn as far as its normals do, and the edges of its slit tell nothing of its bend."""
    lower = HOOPS[: HOOPS.index("forms:")]
    form = f"forms:\n  cuff: {{kind: revolution, axis: x, smooth: false, profile: [[-70, {foot}], [0, {head}]], cuts: {{a: {{plane: {{normal: x, at: -70}}}}, b: {{plane: {{normal: x, at: 0}}}}, slit: {{{slit}}}}}}}\n"
    side = "outside" if "prism" in slit else "beyond"
    parts = f"parts:\n  cuff: {{kind: panel, stock: foam, form: cuff, where: {{a: beyond, b: before, slit: {side}}}, square: [slit]}}\n"
    (tmp_path / "cuff.yaml").write_text(lower + form + parts, "utf-8")
    piece = (
        foamwright.Stages(foamwright.Request(foamwright.load(tmp_path / "cuff.yaml"))).patterns.pattern("cuff").piece
    )
    lean = np.cos(np.arctan((foot - head) / 70))
    assert bending.ends_of(piece) == pytest.approx((2 * head / lean, 2 * foot / lean), rel=0.04)


@pytest.mark.parametrize("scale", [0.5, 1.0, 2.0])
def test_a_stave_that_curves_both_ways_is_no_cone(tmp_path, scale):
    """Its sides, which turn about another axis than its ends, are rounder by far; both ends are alike. At a height z the ellipsoid of
    radii a, a, c is as round, square to itself, as a r / sqrt(r^2 + (a z / c)^2 a^2 / c^2) tells (Meusnier): its normal leans there.
    What the wall is bent over is as round as the mean of all of it."""
    head = HOOPS[: HOOPS.index("forms:")].replace("scale: {value: 1}", f"scale: {{value: {scale}}}")
    cuts = "foot: {plane: {normal: z, at: -110 * scale}}, head: {plane: {normal: z, at: 110 * scale}}, left: {plane: {normal: [1, 0.6, 0]}}, right: {plane: {normal: [1, -0.6, 0]}}"
    form = f"forms:\n  egg: {{kind: superellipsoid, axis: z, centre: [0, 0, 0], radii: [95 * scale, 95 * scale, 155 * scale], cuts: {{{cuts}}}}}\n"
    parts = "parts:\n  wall: {kind: panel, stock: foam, form: egg, darts: auto, where: {foot: beyond, head: before, left: beyond, right: beyond}}\n"
    (tmp_path / "egg.yaml").write_text(head + form + parts, "utf-8")
    prop = foamwright.Stages(foamwright.Request(foamwright.load(tmp_path / "egg.yaml"))).model.prop
    narrow, wide = bending.ends_of(prop.piece("wall"))
    z = np.linspace(-110, 110, 2001)
    out = 95 * np.sqrt(1 - (z / 155) ** 2)  # from the axis
    lean = np.arctan(95**2 * z / (155**2 * out))
    mean = np.average(np.cos(lean) / out, weights=out / np.cos(lean))  # by the area of each ring
    assert narrow == wide == pytest.approx(2.0 / mean * scale, rel=0.02)


@pytest.mark.parametrize("scale", [0.3, 1.0, 3.0])
def test_a_tube_of_one_panel_is_as_wide_as_it_is_inside(tmp_path, scale):
    """The two edges of its slit are straight and as long as it is: they say nothing of its bend."""
    head = HOOPS[: HOOPS.index("forms:")].replace("scale: {value: 1}", f"scale: {{value: {scale}}}")
    form = "forms:\n  tube: {kind: revolution, axis: z, smooth: false, profile: [[0, 50 * scale], [300 * scale, 50 * scale]]}\n"
    parts = "parts:\n  wall: {kind: panel, stock: foam, form: tube, where: {}, opened: 0}\n"
    (tmp_path / "tube.yaml").write_text(head + form + parts, "utf-8")
    wall = foamwright.Stages(foamwright.Request(foamwright.load(tmp_path / "tube.yaml"))).patterns.pattern("wall").piece
    assert former(wall) == pytest.approx(100.0 * scale, rel=0.01)


@pytest.mark.parametrize("door", ["", ", door: outside"])
def test_an_opening_does_not_tell_how_wide_a_part_is_bent(tmp_path, door):
    """A fifth of a barrel of 94 to 134 mm, as far as its hollow face reaches, a little more across its slant: no cone."""
    form = (
        "{kind: revolution, axis: z, profile: [[0, 53], [80, 73], [160, 60]], cuts: {foot: {plane: {normal: z, at: 5}}, "
        "head: {plane: {normal: z, at: 155}}, right: {plane: {normal: [sin(36), cos(36), 0]}}, "
        "left: {plane: {normal: [-sin(36), cos(36), 0]}}, "
        "door: {prism: {outline: {superellipse: {width: 36, height: 70, exponent: 3}}, along: x, centre: [0, 0, 78], above: 0}}}}"
    )
    where = f"where: {{foot: beyond, head: before, right: beyond, left: before{door}}}"
    parts = f"parts:\n  stave: {{kind: panel, stock: foam, form: barrel, darts: auto, {where}}}\n"
    (tmp_path / "barrel.yaml").write_text(f"{HOOPS[: HOOPS.index('forms:')]}forms:\n  barrel: {form}\n{parts}", "utf-8")
    stages = foamwright.Stages(foamwright.Request(foamwright.load(tmp_path / "barrel.yaml")))
    stave = stages.patterns.pattern("stave").piece
    assert len(bending._along_bend(stave)) == 2  # at its foot and its head, and not around the door
    narrow, wide = ends_of(stave)
    assert narrow == wide and 94.0 < wide < 142.0

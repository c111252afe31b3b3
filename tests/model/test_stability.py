"""How props stand, against what statics gives on paper."""

import math
import sys
from dataclasses import replace
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from solid_fixtures import copy_of

from foamwright.design.records import Design, Stock
from foamwright.errors import BuildError
from foamwright.model.figure import Figure
from foamwright.model.figure_solids import body
from foamwright.model.meshes import closed_mesh, face_meshes, tessellate
from foamwright.model.placed import placed_copies
from foamwright.model.records import Model
from foamwright.model.stability import balance, centroid
from foamwright.parts.records import FlatBody, Frame, Piece, Placement, Prop

LIGHT = Stock("light", "EVA foam", 10.0, 0.5, 0.03, (600.0, 600.0), 50.0, "#888888", "")
HEAVY = replace(LIGHT, id="heavy", density=200.0)
WORDS = ("try", "Trial", "1.0.0", "CC0-1.0", "", "", "default", "")
POINT = FlatBody(np.zeros((3, 2)), (), Frame(np.zeros(3), np.eye(3)), ())


def solid(shape, stock=LIGHT, label="A"):
    place = Placement(np.eye(4), False)
    piece = Piece(f"p{label}", label, label, "plate", stock, POINT, (place,), 1, (), (), "contact", ())
    return copy_of(piece, shape)


def block(size, low, stock=LIGHT, label="A"):
    return solid(cq.Solid.makeBox(*size, cq.Vector(*low)), stock, label)


def standing(*copies, **stands):
    design = Design(*WORDS, (), {}, {}, (), None, (), (), "0" * 64, ".", (), {"down": "-z", **stands})
    return Model(Prop(design, tuple(c.piece for c in copies), (), ()), (), copies)


def balanced(model, figure):
    return balance(placed_copies(model), model.prop.design.stands, figure)


def test_a_box_tips_when_its_middle_passes_its_edge():
    """tan(angle) = half the width over the height of the middle: 30 / 100."""
    found = balanced(standing(block((120, 60, 200), (0, 0, 0))), None)
    assert found.mass == pytest.approx(120 * 60 * 200 * 50e-9)
    assert found.centre == pytest.approx((60, 30, 100))
    assert found.stability.stands
    assert found.stability.tipping_angle == pytest.approx(math.degrees(math.atan2(30, 100)))
    assert np.abs(found.stability.towards) == pytest.approx((0, 1, 0))
    assert len(found.stability.support) == 4


def test_a_box_on_four_feet_tips_over_the_line_of_its_feet():
    """Feet 20 wide at 100 x 60 between their outer sides; the mass of both counts by its density."""
    feet = [
        block((20, 20, 40), (x, y, 0), HEAVY, f"F{i}")
        for i, (x, y) in enumerate([(-50, -30), (30, -30), (-50, 10), (30, 10)])
    ]
    top = block((200, 160, 120), (-100, -70, 40), LIGHT)
    found = balanced(standing(top, *feet), None)
    masses = 200 * 160 * 120 * 50e-9, 4 * 20 * 20 * 40 * 200e-9
    height = (masses[0] * 100 + masses[1] * 20) / sum(masses)
    aside = masses[0] * 10 / sum(masses)
    assert found.mass == pytest.approx(sum(masses))
    assert found.centre == pytest.approx((0, aside, height), abs=1e-6)
    assert found.stability.towards == pytest.approx((0, 1, 0))
    assert found.stability.tipping_angle == pytest.approx(math.degrees(math.atan2(30 - aside, height)), abs=0.01)


def test_a_cone_on_its_base_and_on_its_tip():
    """The centroid of a cone is a quarter of its height above the base: tan(angle) = 4 r / h."""
    cone = solid(cq.Solid.makeCone(60, 0, 200))
    found = balanced(standing(cone), None).stability
    assert found.centre == pytest.approx((0, 0, 50), abs=0.2)
    # the circle of the base is a polygon within 0.1 mm of it
    assert found.tipping_angle == pytest.approx(math.degrees(math.atan(4 * 60 / 200)), abs=0.15)
    upside_down = balanced(standing(cone, down="z"), None).stability
    assert upside_down.tipping_angle < 0.5  # balanced on the tip, to within the tolerance of what is ground


def test_a_prop_whose_middle_is_beyond_its_foot_falls_over():
    leaning = block((20, 60, 10), (0, 0, 0)), block((120, 60, 90), (0, 0, 10), label="B")
    found = balanced(standing(*leaning), None).stability
    masses = 20 * 60 * 10, 120 * 60 * 90
    x = (masses[0] * 10 + masses[1] * 60) / sum(masses)
    height = (masses[0] * 5 + masses[1] * 55) / sum(masses)
    assert not found.stands
    assert found.towards == pytest.approx((1, 0, 0))
    assert found.tipping_angle == pytest.approx(-math.degrees(math.atan2(x - 20, height)), abs=0.01)


def test_on_a_line_nothing_stands():
    """A roller lies on one line of its side, as a tessellated cylinder on one edge."""
    roller = solid(cq.Solid.makeCylinder(50, 200, cq.Vector(-100, 0, 0), cq.Vector(1, 0, 0)))
    found = balanced(standing(roller), None).stability
    assert abs(found.tipping_angle) < 6.0
    assert abs(found.towards[1]) == pytest.approx(1.0, abs=1e-6)


def test_a_figure_adds_its_mass_at_the_middle_of_its_solids():
    """Two balls of one radius that do not meet: the middle is between them. One inside the other counts once."""
    base = block((200, 200, 20), (-100, -100, -20))
    ball = {"centre": (0, 0, 100), "radii": (40, 40, 40)}
    apart = {"centre": (50, 0, 300), "radii": (40, 40, 40)}
    inside = {"centre": (0, 10, 100), "radii": (10, 10, 10)}
    figure = Figure("two", tuple(body("ellipsoid", v, ".") for v in (ball, apart, inside)), None)
    mass = 200 * 200 * 20 * 50e-9
    found = balanced(standing(base, figure_mass=0.5), figure)
    assert found.mass == pytest.approx(mass)
    assert found.centre == pytest.approx((0, 0, -10))
    middle = (0.5 * np.array((25, 0, 200)) + mass * np.array((0, 0, -10))) / (0.5 + mass)
    assert found.stability.mass == pytest.approx(0.5 + mass)
    assert found.stability.centre == pytest.approx(middle, abs=1e-3)


def test_another_way_down():
    found = balanced(standing(block((120, 60, 200), (0, 0, 0)), down="x"), None).stability
    assert found.tipping_angle == pytest.approx(math.degrees(math.atan2(30, 60)))
    assert np.array(found.support)[:, 0] == pytest.approx(np.full(4, 120.0))


def test_where_nothing_is_said_nothing_has_to_stand():
    made = standing(block((10, 10, 10), (0, 0, 0)))
    silent = replace(made, prop=replace(made.prop, design=replace(made.prop.design, stands=None)))
    assert balanced(silent, None).stability is None
    assert balanced(replace(silent, copies=()), None) is None
    with pytest.raises(BuildError, match="no part in its place"):
        balanced(replace(made, copies=()), None)


def test_the_centroid_is_that_of_the_kernel():
    shape = cq.Workplane().box(40, 30, 20).faces(">Z").hole(12).val().moved(cq.Location((500, -20, 7)))
    tessellate(shape.wrapped)

    volume, centre = centroid(*closed_mesh(face_meshes(shape.wrapped)))
    assert volume == pytest.approx(shape.Volume(), rel=2e-3)
    assert centre == pytest.approx(cq.Shape.centerOfMass(shape).toTuple(), abs=1e-3)

"""A section of a form that is taken away from flat foam is taken at both faces, wherever the design names it."""

import math

import numpy as np
import pytest
import shapely
from flat_designs import design
from shapely.geometry import Polygon

from foamwright.parts import build_prop

RADII = (150.0, 100.0, 100.0)  # of the ellipsoid `egg`
THICK = 10.0
SECTION = "{{section: {{form: egg, plane: {{normal: z, at: {at}}}}}}}"
RECTANGLE = "rectangle: {width: 150, height: 90, centre: [150, 0]}"
WAYS = {
    "the plate's own minus": "outline: {{{rectangle}}}, minus: [{section}]",
    "the outline's minus": "outline: {{{rectangle}, minus: [{section}]}}",
    "a minus within a plus": "outline: {{rectangle: {{width: 20, height: 90, centre: [215, 0]}}, plus: [{{{rectangle}, minus: [{section}]}}]}}",
}


def widest(low: float, high: float) -> tuple[float, float]:
    """The half axes of the larger of the sections of the ellipsoid at two heights."""
    z = min(abs(low), abs(high))
    share = math.sqrt(1.0 - (z / RADII[2]) ** 2)
    return RADII[0] * share, RADII[1] * share


def plate(folder, way, at, normal):
    section = SECTION.format(at=at)
    words = way.format(rectangle=RECTANGLE, section=section)
    up = "up: y" if normal == "z" else "up: -y"  # x stays where it is
    parts = f"  wing: {{kind: plate, stock: thick, {words}, at: {{origin: [0, 0, {at}], normal: {normal}, {up}}}}}\n"
    (piece,) = build_prop(design(folder, parts)).pieces
    body = piece.body
    space = body.frame.to_space(np.column_stack([body.outline, np.zeros(len(body.outline))]))
    return Polygon(space[:, :2])


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)
@pytest.mark.parametrize("at, normal", [(50.0, "z"), (50.0, "-z"), (-30.0, "z"), (-5.0, "z")])
def test_nothing_of_either_face_lies_in_the_form(tmp_path, way, at, normal):
    """Below the middle the far face is the larger section, above it the near one."""
    shape = plate(tmp_path, way, at, normal)
    low, high = (at, at + THICK) if normal == "z" else (at - THICK, at)
    a, b = widest(low, high)
    turn = np.linspace(0.0, 2.0 * np.pi, 2000)
    ellipse = Polygon(np.column_stack([a * np.cos(turn), b * np.sin(turn)]))
    true = shapely.box(75.0, -45.0, 225.0, 45.0).difference(ellipse)
    assert shape.symmetric_difference(true).area < 0.05 * ellipse.intersection(shapely.box(75, -45, 225, 45)).length


def test_what_a_minus_gives_back_is_taken_at_its_own_plane(tmp_path):
    """An outline of which a ring around the section is taken away: what is left in the ring is the section itself."""
    words = (
        "outline: {rectangle: {width: 400, height: 300}, "
        f"minus: [{{rectangle: {{width: 360, height: 260}}, minus: [{SECTION.format(at=50)}, "
        "{rectangle: {width: 10, height: 400}}]}]}"
    )
    parts = f"  plate: {{kind: plate, stock: thick, {words}, at: {{origin: [0, 0, 50], normal: z, up: y}}}}\n"
    (piece,) = build_prop(design(tmp_path, parts)).pieces
    share = math.sqrt(1.0 - 0.25)
    left = math.pi * RADII[0] * RADII[1] * share**2
    foam = Polygon(piece.body.outline, piece.body.holes)
    strip = foam.intersection(shapely.box(-5, -130, 5, 130)).area
    inner = foam.intersection(shapely.box(-179, -129, 179, 129)).difference(shapely.box(-5, -150, 5, 150)).area
    kept = shapely.Polygon(
        [(RADII[0] * share * math.cos(t), RADII[1] * share * math.sin(t)) for t in np.linspace(0, 2 * np.pi, 2000)]
    )
    assert kept.area == pytest.approx(left, rel=1e-4)
    assert strip == pytest.approx(2600.0, rel=1e-6)
    assert inner == pytest.approx(kept.difference(shapely.box(-5, -150, 5, 150)).area, rel=1e-4)

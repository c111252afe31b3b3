"""Gussets beside plane geometry: a right triangle of legs a and b has the area ab/2 and the third side by Pythagoras.

The picture is drawn from `CORNER` by `foamwright.booklet.pictures.part_pictures.part_picture`.
"""

from itertools import product

import numpy as np
import pytest
from shapely.geometry import Polygon

from foamwright.design import load
from foamwright.errors import DesignError
from foamwright.making import Request, Stages
from foamwright.model.build import build_model
from foamwright.model.interference import interferences
from foamwright.parts import build_prop

CORNER = """\
format: 1
name: Corner
version: 0.1.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 1}, side: {value: 120 * scale}}
sizes: {only: {}}
stock: {foam: {name: Foam, thickness: 6, sheet: [1000, 1000]}}
forms: {}
parts:
  floor:
    {kind: plate, stock: foam, outline: {rectangle: {width: side, height: side}}, at: {origin: [0, 0, -6], normal: z}}
  wall:
    kind: plate
    stock: foam
    outline: {rectangle: {width: side, height: 80, centre: [0, 40]}}
    at: {origin: [side / 2, 0, 0], normal: -x}
    after: [floor]
  web:
    kind: gusset
    stock: foam
    legs: [40, 30]
    at: {origin: [side / 2 - 6, 3, 0], normal: y}
    repeat: {count: 2, step: [0, -side / 3, 0]}
    after: [floor, wall]
"""


def loaded(tmp_path, more="", text=CORNER):
    path = tmp_path / "corner.yaml"
    path.write_text(text.replace("legs: [40, 30]", f"legs: [40, 30]{more}"), "utf-8")
    return load(path)


def web(tmp_path, more=""):
    return build_prop(loaded(tmp_path, more)).piece("web")


def test_three_four_five(tmp_path):
    body = web(tmp_path, "\n    tips: 0").body
    assert Polygon(body.outline).area == pytest.approx(40 * 30 / 2)
    sides = sorted(np.linalg.norm(np.roll(body.outline, -1, axis=0) - body.outline, axis=1))
    assert sides == pytest.approx([30.0, 40.0, 50.0])
    assert len(body.runs) == 3


@pytest.mark.parametrize("tip, cut", [(0.0, 0.0), (3.0, 0.0), (0.0, 8.0), (4.0, 10.0), (29.0, 29.0)])
def test_area_with_blunt_tips_and_a_cut_corner(tmp_path, tip, cut):
    """Shoelace formula by hand over its six corners, less the triangle at the right angle."""
    a, b = 40.0, 30.0
    whole = (a * tip + a * b - tip * tip + tip * b) / 2  # (0,0), (a,0), (a,tip), (tip,b), (0,b)
    body = web(tmp_path, f"\n    tips: {tip}\n    corner: {cut}").body
    assert Polygon(body.outline).area == pytest.approx(whole - cut * cut / 2)
    assert Polygon(body.outline).is_valid


def test_its_legs_lie_on_both_faces_of_every_copy(tmp_path):
    """Of each copy one leg is in the floor's top (z = 0), the other in the wall's face (x = 54), none beyond."""
    piece = web(tmp_path)
    assert len(piece.placements) == 2
    for place, z in product(piece.placements, (0.0, 6.0)):
        flat = np.column_stack([piece.body.outline, np.full(len(piece.body.outline), z)])
        points = piece.body.frame.to_space(flat) @ place.matrix[:3, :3].T + place.matrix[:3, 3]
        on_floor, on_wall = points[np.abs(points[:, 2]) < 1e-9], points[np.abs(points[:, 0] - 54.0) < 1e-9]
        assert np.ptp(on_floor[:, 0]) == pytest.approx(40.0) and np.ptp(on_wall[:, 2]) == pytest.approx(30.0)
        assert points[:, 2].min() > -1e-9 and points[:, 0].max() < 54.0 + 1e-9


def test_it_shares_no_space_and_weighs_what_it_should(tmp_path):
    model = build_model(build_prop(loaded(tmp_path)))
    assert not interferences(model)
    solid = next(one for one in model.prototypes if one.piece.id == "web")
    assert solid.volume == pytest.approx(6.0 * (40 * 3 + 40 * 30 - 9 + 3 * 30) / 2)


def test_its_template_has_its_three_sides(tmp_path):
    pattern = Stages(Request(loaded(tmp_path, "\n    tips: 0"))).patterns.pattern("web")
    assert sorted(edge.length for edge in pattern.edges) == pytest.approx([30.0, 40.0, 50.0])
    assert pattern.area == pytest.approx(600.0)


@pytest.mark.parametrize(
    "more, words",
    [
        ("\n    tips: 30", "tips of 30 mm on a leg of 30 mm"),
        ("\n    corner: 31", "corner of 31 mm on a leg of 30 mm"),
        ("\n    tips: -1", "at least 0"),
    ],
)
def test_what_leaves_no_triangle_is_refused(tmp_path, more, words):
    with pytest.raises(DesignError, match=words):
        loaded(tmp_path, more)


def test_a_gusset_without_legs(tmp_path):
    with pytest.raises(DesignError, match="a list of length 1"):
        loaded(tmp_path, text=CORNER.replace("legs: [40, 30]", "legs: [40]"))

"""A filler in a form that slopes: both of its faces against sections of a cone and of an ellipsoid by formula."""

import math

import numpy as np
import pytest
import shapely
from flat_designs import HEAD
from shapely.geometry import Polygon

from foamwright.design import load
from foamwright.geometry import inset
from foamwright.parts import build_prop

CONE = "  cone: {kind: revolution, axis: z, profile: [[0, 120 * scale], [150, 60]]}\n"
THICK, CLEAR = 10.0, 1.0  # its foam and the gap


def cone(z: float) -> tuple[float, float]:
    """The half axes of the section of the cone, less the gap."""
    radius = 120.0 - 0.4 * z - CLEAR
    return radius, radius


def egg(z: float) -> tuple[float, float]:
    """Of the ellipsoid of 150 x 100 x 100."""
    share = math.sqrt(1.0 - (z / 100.0) ** 2)
    return 150.0 * share - CLEAR, 100.0 * share - CLEAR


@pytest.mark.parametrize("form, axes, at", [("cone", cone, 20.0), ("egg", egg, 20.0), ("egg", egg, -40.0)])
def test_both_faces_of_a_filler_lie_within_the_form_and_reach_it(tmp_path, form, axes, at):
    parts = (
        "  divider: {kind: plate, stock: thick, outline: {rectangle: {width: 400, height: 300}}, "
        "at: {origin: [-5, 0, 0], normal: x, up: z}}\n"
        f"  floor: {{kind: filler, stock: thick, form: {form}, plane: {{normal: z, at: {at}}}, parts: [divider], "
        f"around: [0, 40], clearance: {CLEAR}}}\n"
    )
    path = tmp_path / "room.yaml"
    path.write_text(HEAD.replace("parts:\n", f"{CONE}parts:\n") + parts, "utf-8")
    piece = build_prop(load(path)).piece("floor")
    body = piece.body
    draw = THICK * np.tan(np.radians(body.side_bevels))
    assert any(abs(bevel) > 5.0 for bevel in body.side_bevels)
    turn = np.linspace(0.0, 2.0 * np.pi, 4000)
    for sign, z in ((1.0, at), (-1.0, at + THICK)):
        face = Polygon(inset(body.outline, np.maximum(sign * draw, 0.0)))
        space = body.frame.to_space(
            np.column_stack([shapely.get_coordinates(face), np.zeros(len(face.exterior.coords))])
        )
        made = Polygon(space[:, :2])
        a, b = axes(z)
        true = Polygon(np.column_stack([a * np.cos(turn), b * np.sin(turn)])) & shapely.box(5.0 + CLEAR, -500, 500, 500)
        assert made.exterior.hausdorff_distance(true.exterior) < 0.25

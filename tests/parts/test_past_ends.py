"""Panels and bulkheads at a form's own ends, which are cut level: a cone's faces there against its formula.

A face at distance d from a cone of slope s (radius over height) has the radius r + s h + d sqrt(1 + s^2) at height h.
"""

import math

import numpy as np
import pytest
from space_designs import HEAD

from foamwright.design.load import load
from foamwright.errors import BuildError
from foamwright.parts import build_prop

SLOPE, LOW, HIGH, THICKNESS = 5 / 6, 70.0, 120.0, 6.0
CUTS = "cuts: {foot: {plane: {normal: AX, at: 0}}, head: {plane: {normal: AX, at: 60}}, side: {plane: {normal: SQ}}}"
REVOLUTION = "bowl: {kind: revolution, axis: AX, smooth: SMOOTH, profile: [[0, 70], [30, 95], [60, 120]], CUTS}"
CREASED = "bowl: {kind: revolution, axis: AX, smooth: false, profile: [[0, 70], [60, 120], [90, 120]], CUTS}"
LOFT = (
    "bowl: {kind: loft, axis: AX, sections: [{at: 0, width: 140, height: 140}, {at: 30, width: 190, height: 190},"
    " {at: 60, width: 240, height: 240}], CUTS}"
)
FORMS = {
    "straight": REVOLUTION.replace("SMOOTH", "false"),
    "smooth": REVOLUTION.replace("SMOOTH", "true"),
    "creased": CREASED,
    "loft": LOFT,
}
WALL = "wall: {kind: panel, stock: foam, form: bowl, laid: LAID, where: {WHERE}, flush: [FLUSH], mirror: SQ}"


def written(tmp_path, form, axis, parts):
    text = HEAD.replace("parts:\n", f"  {FORMS[form]}\nparts:\n") + "".join(f"  {part}\n" for part in parts)
    path = tmp_path / "bowl.yaml"
    path.write_text(
        text.replace("CUTS", CUTS).replace("AX", axis).replace("SQ", "y" if axis == "z" else "z"), encoding="utf-8"
    )
    return load(path)


def along_and_out(points, axis):
    along = "xyz".index(axis)
    return points[:, along], np.linalg.norm(np.delete(points, along, axis=1), axis=1)


@pytest.mark.parametrize("form, laid, axis", [(form, "inside", "z") for form in FORMS] + [("straight", "outside", "x")])
def test_both_faces_of_a_flush_panel_reach_the_plane_at_the_forms_own_end(tmp_path, form, laid, axis):
    faces = (-THICKNESS, 0.0) if laid == "inside" else (0.0, THICKNESS)
    wall = WALL.replace("LAID", laid).replace("WHERE", "foot: beyond, head: before, side: beyond")
    prop = build_prop(written(tmp_path, form, axis, [wall.replace("FLUSH", "foot, head")]))
    edges = {edge.cut: edge for edge in prop.piece("wall").body.edges}
    assert {"foot", "head"} < set(edges)
    for cut, height, radius in (("foot", 0.0, LOW), ("head", 60.0, HIGH)):
        if cut == "head" and form == "creased":
            continue  # a mitre with the cylinder above it
        for points, distance in zip((edges[cut].inner, edges[cut].outer), faces):
            along, out = along_and_out(points, axis)
            assert along == pytest.approx(np.full(len(along), height), abs=1e-3)
            assert out == pytest.approx(np.full(len(out), radius + distance * math.hypot(1.0, SLOPE)), abs=0.02)


@pytest.mark.parametrize("form, at, height", [("straight", "0", 0.0), ("smooth", "60 - 6", 60.0), ("loft", "0", 0.0)])
def test_a_bulkhead_at_an_end_fits_the_foam_there(tmp_path, form, at, height):
    """Its larger face is that of the cone's inside at the bulkhead's upper face, less the clearance of 1 mm."""
    wall = WALL.replace("LAID", "inside").replace("WHERE", "foot: beyond, head: before, side: beyond")
    floor = f"floor: {{kind: bulkhead, stock: foam, form: bowl, inside: [wall], plane: {{normal: z, at: {at}}}}}"
    prop = build_prop(written(tmp_path, form, "z", [wall.replace("FLUSH", "foot, head"), floor]))
    outline = prop.piece("floor").body.outline
    upper = height + (THICKNESS if height == 0.0 else 0.0)
    expected = LOW + SLOPE * upper - THICKNESS * math.hypot(1.0, SLOPE) - 1.0
    assert np.linalg.norm(outline, axis=1) == pytest.approx(np.full(len(outline), expected), abs=0.03)


def test_an_edge_that_a_plane_leaves_as_it_is_is_not_flush_with_it(tmp_path):
    wall = WALL.replace("LAID", "inside").replace("WHERE", "foot: beyond, head: before, side: beyond")
    written(tmp_path, "straight", "z", [wall.replace("FLUSH", "foot, head")])
    path = tmp_path / "bowl.yaml"
    path.write_text(path.read_text("utf-8").replace("normal: z, at: 0}", "normal: z, at: -4}"), "utf-8")
    with pytest.raises(BuildError, match="wall: no edge of it lies in foot"):
        build_prop(load(path))

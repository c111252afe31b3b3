"""Panels that go all around a cone, cylinder or dome with one seam. Formulas of developments are handbook ones,
from memory: sector angle = 360 r / s with r the foot's radius and s the slant length."""

import numpy as np
import pytest
from space_designs import design, edge, patterns

from foamwright.design import load
from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten

DESIGN_STEP = """\
format: 1
name: Can
version: 1.0.0
licence: CC0-1.0
units: mm
parameters: {{scale: {{value: {scale}}}, clearance: {{value: 0 mm}}}}
sizes: {{one: {{}}}}
stock: {{foam: {{name: Foam, thickness: {thickness}, sheet: [3000, 6000]}}}}
forms:
  can: {{kind: step, axis: z, file: can.step, scale: scale, cuts: {{
    low: {{plane: {{normal: z, at: 10 * scale}}}}, high: {{plane: {{normal: z, at: 80 * scale}}}}}}}}
parts:
  wall: {{kind: panel, stock: foam, form: can, where: {{low: beyond, high: before}}, flush: [low, high], opened: 180}}
"""

CONE = "  wall: {kind: panel, stock: foam, form: cone, where: {low: beyond, high: before}, opened: 180}\n"
TUBE = "  wall: {kind: panel, stock: foam, form: tube, where: {low: beyond, high: before}, opened: 90}\n"


def circle(points):
    """Centre and radius of the circle through (N, 2) points, by least squares."""
    x, y = points.T
    a = np.column_stack([2 * x, 2 * y, np.ones(len(points))])
    cx, cy, c = np.linalg.lstsq(a, x**2 + y**2, rcond=None)[0]
    return np.array([cx, cy]), np.sqrt(c + cx**2 + cy**2)


def test_frustum_develops_to_a_sector_of_a_ring():
    found = patterns(CONE)
    low, high = edge(found, "wall", "low").points, edge(found, "wall", "high").points
    fall = 60 / 120  # of the radius along the axis
    slant = np.hypot(1, fall)
    # free ends are cut square to the sheet: on the neutral cone, 3 mm off the form, its tip is 3 / tan(half angle)
    # farther from them than the form's own tip is
    beyond = 3 / fall
    (centre, outer), (other, inner) = circle(low), circle(high)
    assert np.linalg.norm(centre - other) < 1e-3
    assert outer == pytest.approx(95 * slant / fall + beyond, rel=1e-6)
    assert inner == pytest.approx(50 * slant / fall + beyond, rel=1e-6)
    angle = edge(found, "wall", "low").length / outer
    assert angle == pytest.approx(2 * np.pi * fall / slant, rel=1e-6)  # 360 r / s, as half angle's sine
    assert found.pattern("wall").strain.max < 1e-5


def test_the_seam_of_a_frustum_is_straight_and_meets_itself():
    found = patterns(CONE)
    for name in ("opened.1", "opened.2"):
        line = edge(found, "wall", name)
        assert line.length == pytest.approx(90 * np.hypot(1, 0.5), rel=1e-6)
        along = (line.points[-1] - line.points[0]) / np.linalg.norm(line.points[-1] - line.points[0])
        away = (line.points - line.points[0]) @ np.array([-along[1], along[0]])
        assert np.abs(away).max() < 1e-4
        assert line.joins == ("wall",)
    (seam,) = found.seams
    assert {seam.edge_a, seam.edge_b} == {"opened.1", "opened.2"}
    assert {seam.part_a, seam.part_b} == {"wall"}


def test_a_tube_develops_to_a_rectangle():
    found = patterns(TUBE)
    assert edge(found, "wall", "low").length == pytest.approx(2 * np.pi * 53, rel=1e-6)
    assert edge(found, "wall", "opened.1").length == pytest.approx(90, rel=1e-6)
    assert found.pattern("wall").area == pytest.approx(2 * np.pi * 53 * 90, rel=1e-6)


def test_a_tube_with_an_opening_keeps_it_as_a_hole():
    text = TUBE.replace("high: before}", "high: before, hole: outside}").replace("90}", "-90}")
    found = patterns(text)
    assert len(found.pattern("wall").holes) == 1


def test_a_saddle_cut_follows_the_developed_intersection():
    """A cylinder on the axis of a ball meets it in a level circle, which develops to a straight line."""
    found = patterns(
        "  wall: {kind: panel, stock: foam, form: tube, where: {saddle: outside, high: before}, opened: 0}\n"
    )
    height = np.sqrt(80**2 - 53**2)  # where the neutral cylinder leaves the ball
    assert edge(found, "wall", "opened.1").length == pytest.approx(100 - height, abs=1e-4)
    assert edge(found, "wall", "saddle").length == pytest.approx(2 * np.pi * 53, rel=1e-5)


@pytest.mark.parametrize("angle", [0, 75])
def test_a_saddle_cut_beside_the_axis_has_one_seam(angle):
    """The neutral cylinder of 28 mm stands 30 mm off the middle of a ball of 80 mm: z = sqrt(80^2 - x^2 - y^2)."""
    found = patterns(
        f"  wall: {{kind: panel, stock: foam, form: pipe, where: {{saddle: outside, high: before}}, opened: {angle}}}\n"
    )

    def height(a):
        return np.sqrt(80**2 - (30 + 28 * np.cos(a)) ** 2 - (28 * np.sin(a)) ** 2)

    a = np.linspace(0, 2 * np.pi, 20001)
    length = np.hypot(28 * np.diff(a), np.diff(height(a))).sum()
    assert edge(found, "wall", "saddle").length == pytest.approx(length, rel=1e-5)
    for name in ("opened.1", "opened.2"):
        assert edge(found, "wall", name).length == pytest.approx(110 - height(np.radians(angle)), abs=1e-3)
    assert found.pattern("wall").strain.max < 1e-6


@pytest.mark.parametrize("laid, way", [("outside", 1), ("inside", -1)])
def test_a_full_cone_is_a_full_sector(laid, way):
    """Radial-line development: a sector of the slant height and of 360 degrees times the sine of half the tip's angle."""
    text = f"  wall: {{kind: panel, stock: foam, form: peak, where: {{low: beyond}}, laid: {laid}, opened: 0}}\n"
    found = patterns(text)
    half = np.arctan2(90, 120)
    _, outer = circle(edge(found, "wall", "low").points)
    # the tip of the neutral cone lies that of the form's own off by 3 mm over the sine of half its angle
    slant = 110 / np.cos(half) + way * 3 / np.tan(half)
    assert outer == pytest.approx(slant, rel=3e-4)
    assert edge(found, "wall", "low").length == pytest.approx(2 * np.pi * np.sin(half) * slant, rel=3e-4)
    side = edge(found, "wall", "opened.1").points
    assert np.linalg.norm(np.diff(side[[0, -1]], axis=0)) == pytest.approx(slant, abs=0.2)
    assert found.pattern("wall").area == pytest.approx(np.pi * np.sin(half) * slant**2, rel=1e-3)
    assert {e.id for e in found.pattern("wall").edges} == {"low", "opened.1", "opened.2"}


def test_halves_of_a_cone_meet_along_their_sides_only():
    found = patterns(
        "  wall: {kind: panel, stock: foam, form: peak, where: {low: beyond, middle: beyond}, mirror: y}\n"
    )
    assert all("middle" in seam.edge_a and "middle" in seam.edge_b for seam in found.seams)
    assert len(found.seams) == 2


LOFT = """\
format: 1
name: Tube
version: 1.0.0
licence: CC0-1.0
parameters: {{scale: {{value: 1}}, clearance: {{value: 0 mm}}}}
sizes: {{one: {{}}}}
stock: {{foam: {{name: Foam, thickness: 6, sheet: [600, 1200]}}}}
forms:
  tube:
    kind: loft
    axis: x
    sections: [{{at: 0, width: 80, height: 80, centre: [{0}, 0]}}, {{at: 100 * scale, width: 80, height: 80, centre: [{1}, 0]}}]
    cuts: {{a: {{plane: {{normal: x, at: 10}}}}, b: {{plane: {{normal: x, at: 90}}}}}}
parts:
  wall: {{kind: panel, stock: foam, form: tube, where: {{a: beyond, b: before}}, opened: 180}}
"""


@pytest.mark.parametrize(
    ("centres", "place"),
    [
        ((100, 100), "(1|9)0, 100, 0"),
        ((-100, -100), "(1|9)0, -100, 0"),
        ((0, 100), "90, 90, 0"),
        ((0, -100), "90, -90, 0"),
    ],
)
def test_a_tube_that_leaves_its_axis_is_told_so_whatever_the_angle(tmp_path, centres, place):
    path = tmp_path / "tube.yaml"
    path.write_text(LOFT.format(*centres), encoding="utf-8")
    with pytest.raises(BuildError, match=rf"its end around \({place}\) lies beside the axis"):
        build_prop(load(path))


def test_a_tube_that_stays_around_its_axis_is_opened(tmp_path):
    path = tmp_path / "tube.yaml"
    path.write_text(LOFT.format(30, 30), encoding="utf-8")
    assert {edge.cut for edge in build_prop(load(path)).pieces[0].body.edges} == {"a", "b", "opened"}


def test_a_panel_around_a_tube_that_is_not_opened_is_refused():
    with pytest.raises(BuildError, match="opened"):
        build_prop(design(TUBE.replace(", opened: 90", "")))


def test_a_hoop_around_a_cone_lies_over_the_wall():
    """A conical hoop is a panel between two planes; its radius includes the wall beneath it."""
    found = patterns(
        CONE
        + "  hoop: {kind: panel, stock: skin, form: cone, where: {low: beyond, high: before}, over: [wall], opened: 0}\n"
    )
    slant = np.hypot(1, 0.5)
    assert edge(found, "hoop", "low").length == pytest.approx(2 * np.pi * (95 + 7 / slant), rel=1e-6)


def test_a_domed_cap_takes_darts():
    found = patterns("  top: {kind: panel, stock: skin, form: ball, where: {cap: beyond}, darts: auto}\n")
    pattern = found.pattern("top")
    assert pattern.strain.max <= 0.06
    # its rim lies on the neutral sphere of 81 mm, cut off at 60 mm; what the darts close is not part of it
    assert edge(found, "top", "cap").length == pytest.approx(2 * np.pi * np.sqrt(81**2 - 60**2), rel=0.02)


@pytest.mark.parametrize("top, scale, thickness", [(60.0, 6.0, 2.0), (30.0, 0.3, 10.0), (30.0, 1.0, 6.0)])
def test_a_can_or_cone_of_a_step_file_is_opened_about_its_axis(tmp_path, top, scale, thickness):
    """Cut lines of the ends of a frustum: those of circles at the neutral line, bevelled by its half angle."""
    import cadquery as cq

    body = cq.Solid.makeCone(60, top, 90) if top < 60 else cq.Workplane().circle(60).extrude(90)
    cq.exporters.export(cq.Workplane(body) if top < 60 else body, str(tmp_path / "can.step"))
    text = DESIGN_STEP.format(scale=scale, thickness=thickness)
    (tmp_path / "d.yaml").write_text(text, "utf-8")
    model = build_model(build_prop(load(tmp_path / "d.yaml")))
    found = section_and_flatten(model)
    assert not model.prototypes[0].shortfall
    half = np.arctan2(60 - top, 90)
    for name, at in (("low", 10), ("high", 80)):
        radius = (60 - (60 - top) * at / 90) * scale + thickness / 2 / np.cos(half)
        assert edge(found, "wall", name).length == pytest.approx(2 * np.pi * radius, abs=0.02)
    assert np.abs(np.array(edge(found, "wall", "low").bevel) - np.degrees(half)).max() < 0.05
    assert edge(found, "wall", "opened.1").length == pytest.approx(70 * scale / np.cos(half), abs=0.02)


def test_a_form_from_a_file_that_is_opened_wants_an_axis(tmp_path):
    import cadquery as cq

    cq.exporters.export(cq.Workplane().circle(60).extrude(90), str(tmp_path / "can.step"))
    text = DESIGN_STEP.format(scale=1, thickness=6).replace("axis: z, ", "")
    (tmp_path / "d.yaml").write_text(text, "utf-8")
    with pytest.raises(BuildError, match=r"form can has no axis .* expected `axis`: x, y or z"):
        build_prop(load(tmp_path / "d.yaml"))

"""Gauges that are held against bent panels. A plane across a cylinder cuts it in a circle, one square to a line of a cone in a conic
whose curvature there is that of the cone square to the line, cos(a) / rho (J. Meusnier); a sphere is a circle in every plane through
a normal (M. do Carmo, "Differential Geometry of Curves and Surfaces", section 3-2, from memory)."""

import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "booklet"))
from small_designs import head, stages_of_text

from foamwright.flatten.bend_gauges import bend_gauges
from foamwright.flatten.bend_lines import bend_lines, in_space

FOAM = "stock: {foam: {name: Foam, thickness: T mm, sheet: [6000, 6000], strain_limit: 0.06}}\n"
PART = "parts: {wall: {kind: panel, stock: foam, form: body, laid: LAID, where: {a: beyond, b: before, left: beyond, right: beyondMORE}}}\n"
CUTS = "cuts: {a: {plane: {normal: z, at: LOW}}, b: {plane: {normal: z, at: HIGH}}, left: {plane: {normal: [1, 0.5, 0]}}, right: {plane: {normal: [1, -0.5, 0]}}}"


def gauges_of(folder, form, thickness=6.0, widest=180.0, more="", laid="outside"):
    text = head("Gauged") + FOAM.replace("T mm", f"{thickness} mm") + f"forms: {{body: {{{form}}}}}\n" + PART
    stages = stages_of_text(folder, text.replace("MORE", more).replace("LAID", laid))
    pattern = stages.patterns.pattern("wall")
    return bend_gauges(pattern, widest), pattern


def radius(gauge):
    """Of the circle through the ends of a gauge and its middle (x of a chord against its rise)."""
    x, y = gauge.curve.T
    fit = np.linalg.lstsq(np.column_stack([2 * x, 2 * y, np.ones(len(x))]), x**2 + y**2, rcond=None)[0]
    return float(np.sqrt(fit[2] + fit[0] ** 2 + fit[1] ** 2))


def cylinder(r, high):
    cuts = CUTS.replace("LOW", str(-high)).replace("HIGH", str(high))
    return f"kind: revolution, axis: z, smooth: false, profile: [[{-2 * high}, {r}], [{2 * high}, {r}]], {cuts}"


def narrower(form, tangent):
    """The same between two planes that have that tangent of half their angle."""
    return form.replace("[1, 0.5, 0]", f"[{tangent}, 1, 0]").replace("[1, -0.5, 0]", f"[{tangent}, -1, 0]")


@pytest.mark.parametrize("r, thickness", [(40.0, 2.0), (150.0, 6.0), (150.0, 10.0), (900.0, 10.0)])
def test_a_piece_of_a_tube_has_the_circle_of_its_inside_and_is_straight_along_it(tmp_path, r, thickness):
    gauges, pattern = gauges_of(tmp_path, cylinder(r, r / 2.0), thickness)
    inside = r + pattern.piece.body.inner_offset
    assert gauges.along is None
    assert radius(gauges.around) == pytest.approx(inside, rel=2e-3)
    x, y = gauges.around.curve.T
    assert np.abs(np.hypot(x, y + inside) - inside).max() < 0.05
    assert np.ptp(x) == pytest.approx(min(180.0, 2 * inside * np.sin(np.arctan(2.0))), rel=0.02)


@pytest.mark.parametrize("thickness", [2.0, 10.0])
def test_a_piece_of_a_ball_has_one_circle_both_ways(tmp_path, thickness):
    cuts = CUTS.replace("LOW", "-60").replace("HIGH", "60")
    gauges, pattern = gauges_of(tmp_path, f"kind: superellipsoid, axis: z, radii: [300, 300, 300], {cuts}", thickness)
    inside = 300.0 + pattern.piece.body.inner_offset
    for gauge in (gauges.around, gauges.along):
        assert radius(gauge) == pytest.approx(inside, rel=3e-3)


def test_a_cone_has_its_middle_and_is_straight_along_it(tmp_path):
    """The middle of the foam lies nearer to the wide end than half-way; where that is, the arrow of the section tells."""
    cuts = CUTS.replace("LOW", "-50").replace("HIGH", "50")
    profile = "profile: [[-80, 180], [80, 100]]"
    gauges, pattern = gauges_of(tmp_path, f"kind: revolution, axis: z, smooth: false, {profile}, {cuts}")
    assert gauges.along is None
    (line,) = [lines[0] for lines in [bend_lines(pattern)]]
    place = in_space(pattern, line)[len(in_space(pattern, line)) // 2]
    lean = np.arctan(80 / 160)
    inside = np.hypot(*place[:2]) / np.cos(lean) - 6.0 * pattern.piece.stock.k
    near = gauges.around.curve[np.abs(gauges.around.curve[:, 0]) < 40.0]
    assert radius(SimpleNamespace(curve=near)) == pytest.approx(inside, rel=0.01)


def test_a_saddle_is_hollow_one_way_and_arched_the_other(tmp_path):
    cuts = CUTS.replace("LOW", "-50").replace("HIGH", "50")
    profile = "profile: [[-60, 150], [-30, 147], [0, 146], [30, 147], [60, 150]]"
    gauges, _ = gauges_of(tmp_path, narrower(f"kind: revolution, axis: z, {profile}, {cuts}", 0.5), 2.0)
    rises = [
        gauge.curve[len(gauge.curve) // 2, 1] - gauge.curve[[0, -1], 1].mean()
        for gauge in (gauges.around, gauges.along)
    ]
    assert min(rises) < -1.5 < 1.5 < max(rises)


def test_a_gauge_goes_over_a_hole_and_is_as_wide_as_it_may_be(tmp_path):
    hole = "port: {prism: {outline: {circle: {radius: 20}}, along: x, centre: [0, 20, 10], above: 0}}, a:"
    plain, _ = gauges_of(tmp_path, cylinder(150.0, 75.0), widest=100.0)
    holed, pattern = gauges_of(
        tmp_path, cylinder(150.0, 75.0).replace("a:", hole, 1), widest=100.0, more=", port: outside"
    )
    assert len(pattern.holes) == 1
    for gauges in (plain, holed):
        assert np.ptp(gauges.around.curve[:, 0]) == pytest.approx(100.0, abs=0.1)
    assert radius(holed.around) == pytest.approx(radius(plain.around), rel=0.01)


def test_what_is_flat_or_hardly_bent_has_none(tmp_path):
    gauges, _ = gauges_of(tmp_path, narrower(cylinder(5000.0, 60.0), 0.02))
    assert gauges.around is None and gauges.along is None


DOORED = """cuts: {a: {plane: {normal: z, at: 0}}, b: {plane: {normal: z, at: HIGH}}, left: {plane: {normal: x}}, right: {plane: {normal: x, at: -9000}},
  door: {prism: {outline: {polygon: {points: [[-HALF, SILL], [HALF, SILL], [HALF, TOP], [-HALF, TOP]]}}, along: x, above: 0}},
  window: {prism: {outline: {rectangle: {width: TOP, height: TOP, centre: [0, HIGH / 2]}}, along: y, above: 0}}}"""


@pytest.mark.parametrize("size", [0.4, 1.0, 2.5])
def test_a_wall_with_a_doorway_stays_straight_upwards_and_has_its_gauge_where_there_is_foam(tmp_path, size):
    """A half of a tube with a door off its middle and half a window in one edge: a tube's lines are parallel to its axis, and all
    gauges across it are one circle."""
    r, high, half, sill, top = 215.0 * size, 380.0 * size, 90.0 * size, 30.0 * size, 230.0 * size
    cuts = (
        DOORED.replace("HIGH", f"{high}").replace("HALF", f"{half}").replace("SILL", f"{sill}").replace("TOP", f"{top}")
    )
    form = f"kind: revolution, axis: z, smooth: false, profile: [[-20, {r}], [{high + 20}, {r}]], {cuts}"
    gauges, pattern = gauges_of(tmp_path, form, 10.0, more=", door: outside, window: outside")
    for line in bend_lines(pattern):
        ends = in_space(pattern, line)
        assert np.hypot(*(ends[-1] - ends[0])[:2]) < 5e-4 * abs((ends[-1] - ends[0])[2])
    around = gauges.around
    assert around.bare == 0.0 and gauges.along is None
    assert top < 0.5 * high + around.moved[2] < high
    inside = r + pattern.piece.body.inner_offset
    assert np.abs(np.hypot(around.curve[:, 0], around.curve[:, 1] + inside) - inside).max() < 0.05

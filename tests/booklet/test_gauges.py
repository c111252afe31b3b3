"""The sheets of bend gauges, and how the steps speak of them."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from small_designs import head, lines_of, stages_of_text

from foamwright.booklet.pages.gauge_pages import gauge_sheets
from foamwright.booklet.words.gauging import gauges, how_to
from foamwright.drawing.primitives import Path, Text
from foamwright.flatten.bend_lines import bend_lines
from foamwright.flatten.records import PatternDart
from foamwright.layout.paper import paper
from foamwright.layout.records import PackInfo

STOCK = "stock: {foam: {name: Foam, thickness: 10 mm, sheet: [3000, 3000], strain_limit: 0.06}}\n"
CUTS = "cuts: {a: {plane: {normal: z, at: LOW}}, b: {plane: {normal: z, at: HIGH}}, left: {plane: {normal: x}}, right: {plane: {normal: y}}}"
WALL = "parts: {wall: {kind: panel, stock: foam, form: body, where: {a: beyond, b: before, left: beyond, right: beyond}MORE}}\n"
INFO = PackInfo("Gauged", "0.1.0", "one")
TUBE = "kind: revolution, axis: z, smooth: false, profile: [[0, 200], [300, 200]]"
BALL = "kind: superellipsoid, axis: z, radii: [400, 400, 400]"


def made(folder, form, low, high, more=""):
    cuts = CUTS.replace("LOW", str(low)).replace("HIGH", str(high))
    text = head("Gauged") + STOCK + f"forms: {{body: {{{form}, {cuts}}}}}\n" + WALL.replace("MORE", more)
    return stages_of_text(folder, text)


@pytest.mark.parametrize("name", ["a4", "a5", "letter"])
def test_a_gauge_is_drawn_at_true_size_and_within_the_margins(tmp_path, name):
    stages = made(tmp_path, TUBE, 20, 250)
    (page,) = gauge_sheets(stages.patterns.patterns, paper(name), INFO).pages
    (cut,) = [item for item in page.drawing.items if isinstance(item, Path) and item.layer == "cut"]
    assert cut.points.min() >= 10.0 and (cut.points.max(axis=0) <= (page.width - 10.0, page.height - 10.0)).all()
    curve = cut.points[:-2]
    assert np.ptp(curve[:, 0]) == pytest.approx(min(180.0, page.width - 20.0), abs=0.1)
    inside = 200.0 + stages.patterns.pattern("wall").piece.body.inner_offset
    chord, rise = np.ptp(curve[:, 0]), curve[:, 1].max() - curve[[0, -1], 1].mean()
    assert chord**2 / (8.0 * rise) + rise / 2.0 == pytest.approx(
        inside, rel=0.005
    )  # the circle through ends and middle
    assert "A  across the bend line" in [item.value for item in page.drawing.items if isinstance(item, Text)]


def test_what_is_bent_and_pressed_hollow_is_checked_by_both_of_its_gauges(tmp_path):
    stages = made(tmp_path, BALL, 250, 380)
    told = " ".join(lines_of(stages))
    assert "Print gauges.pdf" in told
    assert "until its gauge \u201cacross the bend line\u201d fits" in told
    assert "until its gauge \u201calong the bend line\u201d fits" in told
    assert "circle drawn on paper" not in told
    heat = next(step for step in stages.record("steps") if "heat" in step.uses)
    assert {"bend-gauges", "ball"} <= {*heat.uses} and "Press hollow" in heat.heads.values()


def test_what_has_darts_is_pressed_hollow_by_them(tmp_path):
    stages = made(tmp_path, BALL.replace("400, 400, 400", "200, 200, 200"), 0, 120, ", darts: {count: 1}")
    assert stages.patterns.pattern("wall").darts
    told = lines_of(stages)
    assert any(line.startswith("Leave A flat along the bend line") for line in told)
    assert any(line.startswith("Check the wall (A) with the gauges") for line in told)
    assert not any("over a ball" in line for line in told)
    heat = next(step for step in stages.record("steps") if "heat" in step.uses)
    assert "ball" not in heat.uses and "Press hollow" not in heat.heads.values()


def test_a_gauge_over_a_dart_waits_until_that_is_closed(tmp_path):
    pattern = made(tmp_path, TUBE, 20, 250).patterns.pattern("wall")
    gauged = gauges([pattern])
    middle = shapely.LineString(bend_lines(pattern)[0]).interpolate(0.5, normalized=True)
    for off, waits in ((0.0, True), (60.0, False)):
        tip = np.array([middle.x + off, middle.y])
        legs = (np.array([tip + (side, -90.0), tip]) for side in (-8.0, 8.0))
        dart = PatternDart("a", *legs, lengths=(90.0, 90.0), opening=16.0, depth=90.0, place=np.zeros((2, 3)))
        told = how_to([replace(pattern, darts=(dart,))], gauged)
        assert any(line.startswith("Hold those of A there once the darts") for line in told) == waits
    assert len(how_to([pattern], gauged)) == 1


def test_a_prop_of_which_nothing_is_bent_has_no_gauges(tmp_path):
    text = (
        head("Flat")
        + STOCK
        + "parts: {plate: {kind: plate, stock: foam, outline: {rectangle: {width: 90, height: 60}}, at: {origin: [0, 0, 0], normal: z}}}\n"
    )
    stages = stages_of_text(tmp_path, text)
    assert gauges(stages.patterns.patterns) == {}
    assert gauge_sheets(stages.patterns.patterns, paper("a4"), INFO) is None
    assert not any("gauge" in line for line in lines_of(stages))

"""Where up and forward lie on panels. On a tube that lies along x, up goes one way round on one side and the other way on the
other, so that no arrow tells it; on one that stands, it goes along it all over."""

import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.affinity
import shapely.ops

sys.path.insert(0, str(Path(__file__).parents[1] / "booklet"))
from small_designs import head, stages_of_text

from foamwright.flatten.arrows import direction_on
from foamwright.flatten.bend_lines import bend_lines

STOCK = "stock: {foam: {name: Foam, thickness: 6 mm, sheet: [3000, 3000]}}\n"
SHELL = (
    "forms: {body: {kind: revolution, axis: AXIS, smooth: false, profile: [[-200, FOOT], [0, 50]], cuts: {a: {plane: {normal: AXIS, at: LOW}}, "
    "b: {plane: {normal: AXIS, at: -5}}, slit: {prism: {outline: {rectangle: {width: WIDE, height: WIDE}}, along: SLIT, below: 0}}}}}\n"
    "parts: {shell: {kind: panel, stock: foam, form: body, where: {a: beyond, b: before, slit: outside}}}\n"
)


def shell(folder, axis, foot, slit, low=-180.0, wide=24.0):
    """A tube open along a slit: `wide` by as much, below its axis along `slit`."""
    text = SHELL.replace("AXIS", axis).replace("FOOT", str(foot)).replace("SLIT", slit).replace("LOW", str(low))
    text = text.replace(
        "{width: WIDE, height: WIDE}",
        f"{{width: {'900' if slit == 'z' else wide}, height: {wide if slit == 'z' else '900'}}}",
    )
    return stages_of_text(folder, head("Shell") + STOCK + text).patterns.pattern("shell")


@pytest.mark.parametrize("foot", [50, 60, 75])
def test_up_is_no_way_on_a_tube_that_lies_and_along_one_that_stands(tmp_path, foot):
    lying = shell(tmp_path, "x", foot, "z")
    assert lying.up is None and direction_on(lying, np.array([0.0, 0.0, 1.0])) is None
    assert direction_on(lying, np.array([0.0, 1.0, 0.0])) is None
    standing = shell(tmp_path, "z", foot, "x")
    assert standing.up is not None and standing.forward is None


@pytest.mark.parametrize("foot, low", [(50, -180), (150, -60), (220, -40)])
def test_the_bend_line_of_a_collar_goes_through_its_middle(tmp_path, foot, low):
    """Flat it is a piece of a ring, round a middle that is no foam: the line lies across the ring half-way between its ends."""
    pattern = shell(tmp_path, "x", foot, "z", low)
    foam = shapely.Polygon(pattern.outline)
    line = shapely.LineString(bend_lines(pattern)[0])
    halves = shapely.get_parts(shapely.ops.split(foam, shapely.affinity.scale(line, 1.5, 1.5)))
    areas = sorted(part.area for part in halves)
    assert areas[-2] / areas[-1] > 0.9

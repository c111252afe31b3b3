"""What panels of a cylinder are bent over, and which way, whatever their outline: its generating lines and its radius tell both.
Lengths in mm."""

import numpy as np
import pytest
from small_designs import head, stages_of_text

from foamwright.booklet.words import bending
from foamwright.flatten.bend_lines import bend_lines

OUTLINES = {
    "square_corners": "rectangle: {width: 120 * scale, height: 36 * scale}",
    "round_corners": "rectangle: {width: 120 * scale, height: 36 * scale, corner: 8 * scale}",
    "lens": "superellipse: {width: 120 * scale, height: 36 * scale}",
    "across": "rectangle: {width: 40 * scale, height: 150 * scale, corner: 8 * scale}",
    "round": "circle: {radius: 55 * scale}",
    "wedge": "polygon: {points: [[-60 * scale, -18 * scale], [60 * scale, 0], [-60 * scale, 18 * scale]]}",
    "scallops": "rectangle: {width: 90 * scale, height: 130 * scale}, "
    "minus: [{circle: {radius: 9 * scale, centre: [45 * scale, 0]}, repeat: {count: 3, step: [0, 30 * scale]}}]",
}
TUBE = (
    head("Tube", "0.5 mm")
    + """\
stock:
  foam: {name: EVA foam, thickness: THICK mm, sheet: [2000 mm, 2000 mm]}
forms:
  tube:
    kind: revolution
    axis: x
    smooth: false
    profile: [[-800 * scale, 101 * scale], [800 * scale, 101 * scale]]
    cuts:
"""
)


def panels(folder, scale, thick):
    cuts = [
        f"      {name}: {{prism: {{outline: {{{outline}}}, along: z, centre: [{190 * i - 570} * scale, 0, 0], above: 0}}}}\n"
        for i, (name, outline) in enumerate(OUTLINES.items())
    ]
    parts = [
        f"  {name}: {{kind: panel, stock: foam, form: tube, where: {{{name}: inside}}, square: [{name}]}}\n"
        for name in OUTLINES
    ]
    text = TUBE.replace("THICK", str(thick)) + "".join(cuts) + "parts:\n" + "".join(parts)
    return stages_of_text(folder, text, scale=scale).patterns.patterns


@pytest.mark.parametrize(("scale", "thick"), [(1.0, 6), (1.0, 10), (3.0, 6)])
def test_panels_of_a_cylinder_are_bent_along_its_lines_over_its_radius(tmp_path, scale, thick):
    for pattern in panels(tmp_path, scale, thick):
        name = pattern.piece.id
        assert bending.former(pattern.piece) == pytest.approx(202.0 * scale, rel=0.01), (
            name
        )  # of the face laid on the tube
        narrow, wide = bending.round_about(pattern.piece)
        assert narrow == wide and 202.0 * scale - 40.0 <= wide <= 202.0 * scale * 1.001, name
        lines = bend_lines(pattern)
        assert lines, name
        along = pattern.forward[:2] / np.linalg.norm(pattern.forward[:2])
        for line in lines:
            way = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
            assert abs(way @ along) > 0.95, name

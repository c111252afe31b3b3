"""Narrow places of flat parts: webs between holes and edges, and necks, by their distances."""

from types import SimpleNamespace

import numpy as np
import pytest
from flat_designs import design

from foamwright.parts import build_prop, outlines
from foamwright.parts.webs import webs

BOX = np.array([[-50, -30], [50, -30], [50, 30], [-50, 30]], float)


def circle(radius, x=0.0, y=0.0):
    return outlines.circle(radius) + np.array([x, y])


def found(outline, *holes):
    told = webs(SimpleNamespace(outline=outline, holes=holes), 3.0)
    return sorted(
        (round(float(x), 1) + 0.0, round(float(y), 1) + 0.0, pytest.approx(width, abs=0.02)) for (x, y), width in told
    )


@pytest.mark.parametrize("width", [0.4, 1.0, 2.5])
def test_the_web_between_a_hole_and_an_edge_or_another_hole(width):
    assert found(BOX, circle(10.0, 0.0, 20.0 - width)) == [(0.0, pytest.approx(30.0 - width / 2, abs=0.6), width)]
    middle = 10.0 + width / 2
    assert found(BOX, circle(10.0, 0.0, -middle), circle(10.0, 0.0, middle)) == [(0.0, 0.0, width)]
    neck = np.array(
        [[-40, 0], [40, 0], [40, 20], [width / 2, 20], [width / 2, 40], [40, 40], [40, 60], [-40, 60], [-40, 40]]
    )
    neck = np.vstack([neck, [[-width / 2, 40], [-width / 2, 20], [-40, 20]]])
    assert found(neck.astype(float)) == [(0.0, 30.0, width)]


def test_corners_tips_and_wide_webs_are_none():
    assert found(BOX, circle(10.0, 0.0, 16.9)) == []
    assert found(np.array([[0, 0], [80, 0], [0, 10]], float)) == []  # a tip
    assert found(circle(40.0), circle(36.5)) == []


def test_the_maker_is_told_of_foam_and_not_of_card(tmp_path):
    arch = "  {id}: {{kind: plate, stock: {stock}, outline: {{rectangle: {{width: 100, height: 60}}, minus: [{{circle: {{radius: 10, centre: [0, 19]}}}}]}}, at: {{origin: [0, 0, {z}], normal: z, up: y}}}}\n"
    text = "".join(arch.format(id=stock, stock=stock, z=z) for stock, z in (("thick", 0), ("card", 50)))
    (note,) = build_prop(design(tmp_path, text)).notes
    assert note.startswith("part thick: no more than 1.0 mm of foam") and "near x 0, y 29 of its outline" in note

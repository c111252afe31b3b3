"""Bend marks lie along the generating lines of a cylinder, which stay straight when it is rolled up (M. do Carmo, "Differential
Geometry of Curves and Surfaces", section 3-5, from memory); what is said at a tab is said once, and notes stand near their part."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.affinity
import template_props as props

from foamwright.drawing.primitives import Text
from foamwright.drawing.typesetting import Line, label_block
from foamwright.templates.bends import bend_marks
from foamwright.templates.draw import draw
from foamwright.templates.edges import Walk, once
from foamwright.templates.place import Field, Ground


def test_marks_lie_on_a_generating_line_at_both_ends():
    panel = props.cylinder_panel(length=150.0)  # about x, so that it stays straight along x
    ends = bend_marks(panel)
    assert len(ends) == 2 and {path.layer for path in ends} == {"bend"}
    points = np.vstack([path.points for path in ends])
    assert np.ptp(points[:, 1]) < 1.0
    assert points[:, 0].min() == pytest.approx(2.0, abs=2.0) and points[:, 0].max() == pytest.approx(148.0, abs=2.0)
    (template,) = draw(props.patterns([panel]))
    assert sum(getattr(item, "layer", "") == "bend" for item in template.drawing.items) == 2


def test_no_marks_on_flat_and_on_thin_foam():
    panel = props.cylinder_panel()
    thin = replace(panel, piece=replace(panel.piece, stock=replace(panel.piece.stock, thickness=2.0)))
    assert bend_marks(thin) == [] and bend_marks(props.disc()) == []


def test_marks_keep_off_holes():
    panel = props.cylinder_panel(length=150.0)
    low, high = panel.outline.min(axis=0), panel.outline.max(axis=0)
    hole = np.array([0.0, (low[1] + high[1]) / 2.0]) + [(1, -20), (40, -20), (40, 20), (1, 20)]
    marks = bend_marks(replace(panel, holes=(hole,)))
    assert all(not shapely.LineString(path.points).intersects(shapely.Polygon(hole)) for path in marks)
    assert len(marks) == 1


def walk(length):
    at = np.array([0.0, length])
    return Walk(np.column_stack([at, 0.0 * at]), at, at, 1)


def test_the_edges_of_a_tab_have_one_label():
    lengths = (184, 7, 10, 12, 10.5, 7, 184, 7, 10, 12, 10, 7)  # a rail with a tab at both ends
    said = ["to AJ", "to AI", "to AI", None, "to AI", "to AI", None, *["to AH"] * 2, None, *["to AH"] * 2]
    kept = once(said, [walk(float(long)) for long in lengths])
    assert [text for text in kept if text] == ["to AJ", "to AI", "to AH"]
    assert kept[4] == "to AI"  # at the longest of them
    turned = once(said[9:] + said[:9], [walk(float(long)) for long in lengths[9:] + lengths[:9]])
    assert sorted(filter(None, turned)) == sorted(filter(None, kept))


def test_long_edges_and_other_words_keep_their_labels():
    assert once(["to A", "to A"], [walk(80.0), walk(80.0)]) == ["to A", "to A"]
    assert once(["to A", "to B", "to A"], [walk(8.0), walk(8.0), walk(200.0)]) == ["to A", "to B", "to A"]
    assert once([], []) == [] and once([None], [walk(5.0)]) == [None]


def test_notes_stand_beside_a_round_part_and_not_far_off():
    """A note wider than a disc stands next to it, whichever way the rectangle around the disc happens to lie."""
    disc = shapely.Point(0, 0).buffer(31.0)
    for turn in (0.0, 30.0, 90.0):
        field = Field(Ground(shapely.affinity.rotate(disc, turn), []), 0.0)
        note = label_block([Line("bevels: degrees from square; the blade enters at the line; no bevel printed", 2.2)])
        (label,) = field.aside(note, 0.0)
        spot = np.mean([text.at for text in label.texts if isinstance(text, Text)], axis=0)
        assert np.hypot(*spot) < 31.0 + 12.0

"""The strain sheet shows the right areas in shades that read in black and white."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
import template_props as props

from generator.drawing.metrics import text_box
from generator.drawing.primitives import Hatch, Path, Text
from generator.flatten.records import FlatMesh
from generator.templates.strain_sheet import SHADES, above, simple_polygons, strain_drawing, vertex_strain


def grey(colour):
    """Luma of ITU-R BT.601 (weights from memory), 0 black to 1 white."""
    red, green, blue = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    return 0.299 * red + 0.587 * green + 0.114 * blue


def strained(strain_at):
    """A 150 x 140 panel whose triangles are strained by a function of their middle, limit 3 %."""
    panel = props.cylinder_panel()
    middle = panel.mesh.flat[panel.mesh.faces].mean(axis=1)
    return replace(panel, mesh=replace(panel.mesh, strain=strain_at(middle[:, 0], middle[:, 1])))


def test_shades_darken_evenly_in_grey():
    steps = -np.diff([grey(shade) for shade in SHADES])
    assert (steps > 0.07).all() and steps.max() < 2 * steps.min()


def test_a_part_that_develops_exactly_has_no_sheet():
    assert strain_drawing(props.disc()) is None


def test_bands_have_the_area_of_their_strain():
    """Strain grows evenly along x to twice the limit: a fifth of the limit is a tenth of the area."""
    panel = strained(lambda x, y: 0.06 * x / 150)
    drawing = strain_drawing(panel)
    total = shapely.Polygon(panel.outline).area
    legend = {tuple(i.points[0]) for i in drawing.items if isinstance(i, Path) and len(i.points) == 4}
    for k, shade in enumerate(SHADES):
        areas = [i for i in drawing.items if isinstance(i, Path) and i.fill == shade]
        on_panel = [i for i in areas if i.points[:, 1].max() > 0]
        share = sum(shapely.Polygon(i.points).area for i in on_panel) / total
        assert share == pytest.approx(1 - k / 10, abs=0.012)
        assert any(tuple(i.points[0]) in legend for i in areas)
    hatched = [i for i in drawing.items if isinstance(i, Hatch) and i.boundary[:, 1].max() > 0]
    assert shapely.Polygon(hatched[0].boundary).area / total == pytest.approx(0.5, abs=0.012)


def test_nothing_is_hatched_within_the_limit():
    drawing = strain_drawing(strained(lambda x, y: 0.0 * x + 0.02))
    assert all(i.boundary[:, 1].max() < 0 for i in drawing.items if isinstance(i, Hatch))  # the legend's only


def test_compression_counts_as_strain():
    panel = strained(lambda x, y: -0.06 * x / 150)
    assert vertex_strain(panel.mesh).max() == pytest.approx(0.06, rel=0.03)


def test_the_worst_spot_is_marked_and_the_figures_printed():
    panel = strained(lambda x, y: 0.02 * np.exp(-((x - 100) ** 2 + (y - 40) ** 2) / 800))
    drawing = strain_drawing(replace(panel, strain=replace(panel.strain, max=0.0201, mean=0.004)))
    ring = next(i for i in drawing.items if isinstance(i, Path) and i.layer == "note" and len(i.points) == 24)
    assert np.hypot(*(ring.points.mean(axis=0) - (100, 40))) < 5.0
    said = [i.value for i in drawing.items if isinstance(i, Text)]
    assert "limit 3.0 % for EVA foam 6 mm" in said
    assert "worst 2.0 % (ring and cross), mean 0.4 %" in said


def test_few_shapes_and_no_overlapping_words():
    drawing = strain_drawing(strained(lambda x, y: 0.03 * np.hypot(x - 75, y - 70) / 80))
    assert len(drawing.items) < 60
    boxes = [shapely.Polygon(text_box(i)).buffer(-0.02) for i in drawing.items if isinstance(i, Text)]
    assert len(shapely.STRtree(boxes).query(boxes, predicate="intersects")[0]) == len(boxes)


def test_holes_are_parted_without_loss():
    square = shapely.box(0, 0, 10, 10) - shapely.box(2, 2, 4, 4) - shapely.box(6, 5, 8, 8)
    parts = [shapely.Polygon(p) for p in simple_polygons(square)]
    assert all(part.is_valid for part in parts)
    assert shapely.union_all(parts).symmetric_difference(square).area < 1e-9
    assert sum(part.area for part in parts) == pytest.approx(square.area)


def test_level_lines_run_straight_through_a_triangle():
    mesh = FlatMesh(
        np.array([[0, 0], [2, 0], [0, 2.0]]), np.zeros((3, 3)), np.array([[0, 1, 2]]), np.zeros(1)
    )
    assert above(mesh, np.array([0.0, 1.0, 0.0]), 0.5).area == pytest.approx(0.5)
    assert above(mesh, np.array([1.0, 0.0, 1.0]), 0.5).area == pytest.approx(1.5)

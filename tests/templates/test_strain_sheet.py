"""The strain sheet shows the right areas in shades that read in black and white."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
import template_props as props

from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Hatch, Path, Text
from foamwright.flatten.records import FlatMesh
from foamwright.geometry import Mesh
from foamwright.templates.strain_sheet import (
    SHADES,
    above,
    legend,
    simple_polygons,
    strain_chart,
    strain_facts,
    vertex_share,
)


def grey(colour):
    """Luma of ITU-R BT.601 (weights from memory), 0 black to 1 white."""
    red, green, blue = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    return 0.299 * red + 0.587 * green + 0.114 * blue


def strained(strain_at):
    """A 150 x 140 panel strained by a function of the place, limit 3 %: above 0 pulled, below pressed."""
    panel = props.cylinder_panel()
    values = strain_at(*panel.mesh.flat.T)
    return replace(panel, mesh=replace(panel.mesh, strain=np.maximum(np.column_stack([values, -values]), 0.0)))


def test_shades_darken_evenly_in_grey():
    steps = -np.diff([grey(shade) for shade in SHADES])
    assert (steps > 0.07).all() and steps.max() < 2 * steps.min()


@pytest.mark.parametrize("scale", [1.0, 0.5])
def test_bands_have_the_area_of_their_strain(scale):
    """Strain grows evenly along x to twice the limit: a fifth of the limit is a tenth of the area."""
    panel = strained(lambda x, y: 0.06 * x / 150)
    drawing = strain_chart(panel, scale)
    total = shapely.Polygon(panel.outline).area * scale**2
    for k, shade in enumerate(SHADES):
        areas = [i for i in drawing.flat if isinstance(i, Path) and i.fill == shade]
        share = sum(shapely.Polygon(i.points).area for i in areas) / total
        assert share == pytest.approx(1 - k / 10, abs=0.012)
    hatched = [i for i in drawing.flat if isinstance(i, Hatch)]
    assert shapely.Polygon(hatched[0].boundary).area / total == pytest.approx(0.5, abs=0.012)


def test_nothing_is_hatched_within_the_limit():
    drawing = strain_chart(strained(lambda x, y: 0.0 * x + 0.02), 1.0)
    assert not [i for i in drawing.flat if isinstance(i, Hatch)]


def test_pulled_and_pressed_are_measured_by_their_own_limits():
    for sign, limits, share in ((-1, (0.03, 0.03), 2.0), (-1, (0.03, 0.12), 0.5), (1, (0.03, 0.12), 2.0)):
        panel = strained(lambda x, y, sign=sign: sign * 0.06 + 0.0 * x)
        stock = replace(panel.piece.stock, tension_limit=limits[0], compression_limit=limits[1])
        panel = replace(panel, piece=replace(panel.piece, stock=stock))
        assert vertex_share(panel) == pytest.approx(share)


def test_the_worst_spot_is_marked():
    panel = strained(lambda x, y: 0.02 * np.exp(-((x - 100) ** 2 + (y - 40) ** 2) / 800))
    rings = [i for i in strain_chart(panel, 0.5).items if isinstance(i, Path) and len(i.points) == 24]
    assert len(rings) == 1 and np.hypot(*(rings[0].points.mean(axis=0) - (50, 20))) < 2.5


def test_the_figures_are_printed():
    panel = props.cylinder_panel()
    strain = replace(panel.strain, max=0.0201, tension=0.0123, compression=0.0201, p95=0.011, mean=0.004)
    strain = replace(strain, inner_face=-0.031, outer_face=0.029)
    assert strain_facts(replace(panel, strain=strain), "1:2") == (
        "drawn 1:2; EVA foam 6 mm",
        "limit 3.0 % pulled or pressed",
        "worst 1.2 % pulled, 2.0 % pressed",
        "mean 0.4 %, at most 1.1 % on 95 % by area",
        "from bending: inner face -3.1 %, outer face +2.9 %",
    )


def test_the_legend_shows_every_shade_and_fits():
    for width in (190.0, 100.0, 40.0):
        drawing, height = legend(width)
        fills = [i.fill for i in drawing.flat if isinstance(i, Path) and i.layer == "shade"]
        assert fills == [*SHADES, "#ffffff"]
        boxes = [shapely.Polygon(text_box(i)) for i in drawing.flat if isinstance(i, Text)]
        assert max(box.bounds[2] for box in boxes) <= width
        assert len(shapely.STRtree(boxes).query(boxes, predicate="intersects")[0]) == len(boxes)
        assert min(i.points[:, 1].min() for i in drawing.flat if isinstance(i, Path)) >= -height


def test_few_shapes():
    assert len(strain_chart(strained(lambda x, y: 0.03 * np.hypot(x - 75, y - 70) / 80), 1.0).items) < 60


def test_holes_are_parted_without_loss():
    square = shapely.box(0, 0, 10, 10) - shapely.box(2, 2, 4, 4) - shapely.box(6, 5, 8, 8)
    parts = [shapely.Polygon(p) for p in simple_polygons(square)]
    assert all(part.is_valid for part in parts)
    assert shapely.union_all(parts).symmetric_difference(square).area < 1e-9
    assert sum(part.area for part in parts) == pytest.approx(square.area)


def test_level_lines_run_straight_through_a_triangle():
    mesh = FlatMesh(np.array([[0, 0], [2, 0], [0, 2.0]]), Mesh(np.zeros((3, 3)), [[0, 1, 2]]), np.zeros((3, 2)))
    assert above(mesh, np.array([0.0, 1.0, 0.0]), 0.5).area == pytest.approx(0.5)
    assert above(mesh, np.array([1.0, 0.0, 1.0]), 0.5).area == pytest.approx(1.5)


@pytest.mark.parametrize(
    "values, area", [(lambda x, y: x, 9 * 4), (lambda x, y: x + y, 81 - 12.5), (lambda x, y: np.maximum(x, y), 81 - 25)]
)
def test_a_level_that_runs_through_corners_parts_the_area_exactly(values, area):
    """A square 9 mm wide, the part of it where values of 5 are reached: by elementary geometry."""
    x, y = np.meshgrid(np.arange(10.0), np.arange(10.0))
    first = (10 * np.arange(9)[:, None] + np.arange(9)).ravel()
    faces = [np.stack([first, first + 1, first + 11], 1), np.stack([first, first + 11, first + 10], 1)]
    flat = np.stack([x.ravel(), y.ravel()], axis=1)
    mesh = FlatMesh(flat, Mesh(np.zeros((100, 3)), np.concatenate(faces)), np.zeros((100, 2)))
    found = above(mesh, values(*flat.T), 5.0)
    assert found.is_valid and found.area == pytest.approx(area, abs=1e-6)

"""The strain sheets: which panels, at which scale, on how many pages."""

import re
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from foamwright.design.records import Stock
from foamwright.drawing.metrics import text_box
from foamwright.drawing.pdf import pdf_bytes
from foamwright.drawing.primitives import Path, Text
from foamwright.flatten.records import FlatMesh, Strain
from foamwright.geometry import Mesh
from foamwright.layout.paper import paper
from foamwright.layout.records import PackInfo
from foamwright.layout.strain import strain_sheets

INFO = PackInfo("Lantern fish", "1.2.0", "adult")
FOAM = Stock("shell", "EVA foam 6 mm", 6.0, 0.5, 0.03, (1000.0, 1000.0), 100.0, "#222222", "")
# ISO 5455: scales of reduction, from memory
STANDARD = {f"1:{m * 10**e}" for m in (1, 2, 5) for e in range(3)}


def panel(number, width, height, strain=0.02):
    x, y = np.meshgrid(np.linspace(0, width, 9), np.linspace(0, height, 7))
    flat = np.column_stack([x.ravel(), y.ravel()])
    rows = np.arange(63).reshape(7, 9)
    a, b, c, d = rows[:-1, :-1].ravel(), rows[:-1, 1:].ravel(), rows[1:, 1:].ravel(), rows[1:, :-1].ravel()
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    values = np.column_stack([strain * flat[:, 0] / width, np.zeros(63)])
    outline = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    label = chr(ord("A") + number)
    piece = SimpleNamespace(id=f"panel-{number}", label=label, name=f"Panel {number}", stock=FOAM)
    mesh = FlatMesh(flat, Mesh(np.zeros((63, 3)), faces), values)
    summary = Strain(strain, 0.9 * strain, 0.5 * strain, strain, 0.0, -0.03, 0.03)
    return SimpleNamespace(piece=piece, outline=outline, holes=(), mesh=mesh, strain=summary)


def panels():
    sizes = ((180, 180), (400, 250), (90, 60), (700, 30), (30, 900), (260, 150), (180, 120), (55, 55))
    return [panel(k, *size) for k, size in enumerate(sizes)]


@pytest.mark.parametrize("name", ["a4", "letter", "a3", "a5"])
def test_everything_is_on_the_page_and_apart(name):
    document = strain_sheets(panels(), paper(name), INFO)
    assert sorted(p for page in document.pages for p in page.parts) == [p.piece.id for p in panels()]
    for page in document.pages:
        boxes = [shapely.Polygon(text_box(i)) for i in page.drawing.items if isinstance(i, Text)]
        paths = np.vstack([i.points for i in page.drawing.items if isinstance(i, Path)])
        for points in (paths, shapely.get_coordinates(boxes)):
            assert (points >= 5.0).all() and (points <= np.array([page.width, page.height]) - 5.0).all()
        assert len(shapely.STRtree(boxes).query(boxes, predicate="intersects")[0]) == len(boxes)
    assert pdf_bytes(document) == pdf_bytes(strain_sheets(panels(), paper(name), INFO))


def test_charts_are_drawn_to_the_scale_that_is_stated():
    pages = strain_sheets(panels(), paper("a4"), INFO).pages
    outlines = [i for page in pages for i in page.drawing.items if isinstance(i, Path) and i.layer == "view"]
    words = [i.value for page in pages for i in page.drawing.items if isinstance(i, Text)]
    scales = [found[1] for word in words if (found := re.match(r"drawn (1:\d+);", word))]
    assert len(scales) == len(outlines) == len(panels()) and set(scales) <= STANDARD
    shown = [int(part.removeprefix("panel-")) for page in pages for part in page.parts]
    for given, drawn, scale in zip([panels()[k] for k in shown], outlines, scales):
        assert np.ptp(drawn.points, axis=0) * int(scale[2:]) == pytest.approx(np.ptp(given.outline, axis=0))


def test_several_panels_share_a_page():
    assert len(strain_sheets([panel(k, 150, 100) for k in range(6)], paper("a4"), INFO).pages) == 2


def test_a_panel_that_develops_exactly_has_no_chart():
    exact = panel(0, 100, 80, strain=0.0)
    flat = SimpleNamespace(**{**vars(exact), "mesh": None})
    assert strain_sheets([exact, flat], paper("a4"), INFO) is None
    assert strain_sheets([exact, panel(1, 100, 80)], paper("a4"), INFO).pages[0].parts == ("panel-1",)

"""The files of one small pack, as they are and spoilt in every way that the comparison is there to catch."""

from __future__ import annotations

import copy
import json
import re
from types import MappingProxyType

import numpy as np
import pytest
import shapely

from foamwright.errors import BuildError
from foamwright.making import build
from foamwright.proof.compare import differences, mean_area, refuse_differences
from foamwright.proof.read import dxf, glb, pdf_pages, svg
from tests.parts.flat_designs import design

PARTS = (
    "  can: {kind: prism, stock: foam, sides: 6, width: 90, height: 40, floor: open, roof: open, "
    "openings: [{rectangle: {width: 20, height: 15}}], at: {origin: [0, 0, 0], normal: z}}\n"
    "  lid: {kind: disc, stock: thick, radius: 45, at: {origin: [0, 0, 40], normal: z}}\n"
)


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    """A mitred can with windows and what stands on it."""
    made = build(design(tmp_path_factory.mktemp("pack"), PARTS), only=("templates", "template_files", "model"))
    return MappingProxyType(dict(made.files)), json.loads(made.files["pack.json"])


def with_file(pack, path, data):
    return {**{p: d for p, d in pack[0].items() if p != path}, **({path: data} if data is not None else {})}


def changed(pack, part, **values):
    record = copy.deepcopy(pack[1])
    next(p for p in record["parts"] if p["id"] == part).update(values)
    return record


def side(pack):
    return next(p for p in pack[1]["parts"] if p["id"] == "can_side")


def test_a_pack_agrees_with_itself(pack):
    assert differences(*pack) == []
    refuse_differences(*pack)


def test_readers_read_what_the_standards_say(pack):
    files, _ = pack
    drawn, cut = svg(files["templates/A-can-side.svg"]), dxf(files["templates/A-can-side.dxf"])
    assert len(drawn.rings["cut"]) == len(cut.rings["cut"]) == 1 and len(drawn.rings["cut-inner"]) == 1
    assert "A" in drawn.texts and "A" in cut.texts
    sizes = {(round(width), round(height)) for width, height, _ in pdf_pages(files["templates.pdf"])}
    assert sizes <= {(210, 297), (297, 210)}  # ISO 216, A4
    bodies = glb(files["model/prop.glb"])
    assert len(bodies) == 7
    lid = next(b for b in bodies if b.name.startswith("B"))
    assert lid.volume == pytest.approx(3.14159265 * 45**2 * 10, rel=0.005)  # of a cylinder, less its facets
    assert lid.points[:, 2].min() == pytest.approx(40.0, abs=1e-3)


def test_a_cut_line_two_millimetres_long(pack):
    path = "templates/A-can-side.svg"
    text = pack[0][path].decode()
    group = re.search(r'<g id="cut".*?</g>', text, re.S)[0]
    x, y = re.search(r"M (\S+) (\S+) L", group).groups()
    longer = group.replace(f"M {x} {y} L", f"M {x} {float(y) + 2:.3f} L", 1)
    found = differences(with_file(pack, path, text.replace(group, longer).encode()), pack[1])
    assert found and found[0].startswith(f"{path}: the cut line is")


def test_a_bevel_of_the_wrong_sign(pack):
    part = side(pack)
    other = [[2 * a - c, 2 * b - d] for (a, b), (c, d) in zip(part["outline"], part["other_outline"])]
    assert other != part["other_outline"]
    (found,) = differences(pack[0], changed(pack, "can_side", other_outline=other))
    assert "of foam" in found and "Can" in found


def test_a_missing_window(pack):
    found = differences(pack[0], changed(pack, "can_side", holes=[], other_holes=[]))
    assert any("mm3 of foam" in fault for fault in found)
    window = side(pack)["holes"][0]
    moved = [[x * 1.1, y] for x, y in window]
    found = differences(pack[0], changed(pack, "can_side", holes=[moved], other_holes=[moved]))
    assert any("no line is hole 1" in fault for fault in found)


def test_swapped_templates(pack):
    """Two parts under each other's name."""
    a, b = "templates/A-can-side.svg", "templates/B-lid.svg"
    files = {**pack[0], a: pack[0][b], b: pack[0][a]}
    found = differences(files, pack[1])
    assert any(fault.startswith(a) for fault in found) and any(fault.startswith(b) for fault in found)
    assert any("the label A is not on it" in fault for fault in found)


def test_a_count_that_differs(pack):
    found = differences(pack[0], changed(pack, "can_side", quantity=5))
    assert any("it says cut [6], but 5 are needed" in fault for fault in found)
    assert any("6 copies of can_side, but 5 are cut" in fault for fault in found)


def test_a_format_that_is_missing(pack):
    found = differences(with_file(pack, "templates/B-lid.dxf", None), pack[1])
    assert found == ["part lid: a template is there as SVG or as DXF only"]


def test_a_page_that_is_missing(pack):
    record = copy.deepcopy(pack[1])
    record["pages"].append(dict(record["pages"][0]))
    (found,) = differences(pack[0], record)
    assert "pages, but" in found


def test_the_error_is_one_line(pack):
    with pytest.raises(BuildError, match=r"^the files of the pack differ: .* \(and \d+ more\)$") as caught:
        refuse_differences(pack[0], changed(pack, "can_side", quantity=5))
    assert "\n" not in str(caught.value)


def test_nothing_to_compare():
    assert differences({}, {}) == []


@pytest.mark.parametrize("turned", [False, True])
def test_foam_between_unlike_lines_is_that_of_a_frustum(turned):
    """A cone cut off, 60 mm wide at one face and 36 at the other, its lines with unlike numbers of points: pi / 3 times
    (R2 + R r + r2), as handbooks have it, for each mm of thickness; and of a pyramid, whose corners stay corners."""

    def circle(radius, points):
        turn = np.linspace(0.0, 2 * np.pi, points, endpoint=False)
        return radius * np.column_stack([np.cos(turn), np.sin(turn)])

    def square(half, corners):
        ring = shapely.box(-half, -half, half, half).exterior
        points = [ring.interpolate(share, normalized=True) for share in np.arange(4 * corners) / (4 * corners)]
        return np.array([point.coords[0] for point in points])

    for low, high, mean in (
        (circle(30.0, 300), circle(18.0, 240), np.pi / 3 * (900 + 540 + 324)),
        (square(30.0, 10), square(18.0, 7), 4 / 3 * (900 + 540 + 324)),
    ):
        rings = (high, low) if turned else (low, high)
        found = mean_area({"outline": rings[0], "other_outline": rings[1], "holes": [], "other_holes": []})
        assert found == pytest.approx(mean, rel=1e-3)


@pytest.mark.parametrize("width", [7.0, 11.3, 40.0])
def test_foam_of_a_strip_that_is_hardly_wider_than_its_faces_are_apart(width):
    """A parallelogram across, 6 mm from face to face: as much foam as a straight one, however narrow."""

    def strip(low, count):
        along = np.linspace(0.0, 300.0, count)
        return np.vstack(
            [np.column_stack([along, np.full(count, low)]), np.column_stack([along[::-1], np.full(count, low + width)])]
        )

    lines = {"outline": strip(0.0, 300), "other_outline": strip(6.0, 210), "holes": [], "other_holes": []}
    assert mean_area(lines) == pytest.approx(300.0 * width, rel=1e-6)

"""Which way is up and forward on the template of every copy, and how long a bevelled edge is on the drawn face.

By elementary geometry: a copy turned by an angle has its arrows turned back by it on its template, a mirrored one mirrored.
"""

import math
import sys
from pathlib import Path

import pytest

from foamwright.model.build import build_model
from foamwright.pack.pattern_entries import pattern_entry
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten

sys.path.insert(0, str(Path(__file__).parents[1] / "parts"))
from flat_designs import design


def entry(folder, parts, name):
    patterns = section_and_flatten(build_model(build_prop(design(folder, parts))))
    pattern = next(p for p in patterns.patterns if p.piece.id == name)
    return pattern_entry(pattern), pattern


def test_vanes_around_an_axis_point_out_each_its_own_way(tmp_path):
    """Four tiles lie level around z, seen from below: forward of each is turned by a quarter against the one before."""
    tile = "  tile: {kind: plate, stock: foam, outline: {polygon: {points: [[60, -10], [90, -8], [90, 12], [60, 9]]}}, at: {normal: z}, MORE}\n"
    told, pattern = entry(tmp_path, tile.replace("MORE", "repeat: {around: {count: 4, axis: z}}"), "tile")
    assert [one["copy"] for one in told["arrows"]] == [1, 2, 3, 4]
    assert told["arrows"][0]["forward"] == told["forward"] and "up" not in told["arrows"][0]
    angles = [math.degrees(math.atan2(y, x)) for x, y in (one["forward"] for one in told["arrows"])]
    assert [(a - angles[0]) % 360.0 for a in angles] == pytest.approx([0.0, 90.0, 180.0, 270.0])
    for one, place in zip(told["arrows"], pattern.piece.placements):
        way = pattern.frame.axes[:, :2] @ one["forward"]  # from the paper to the place of the part as modelled
        assert place.matrix[:3, :3] @ way == pytest.approx([1.0, 0.0, 0.0], abs=1e-9)


@pytest.mark.parametrize("plane, forward, up", [("x", -1.0, 1.0), ("y", 1.0, 1.0), ("z", 1.0, -1.0)])
def test_a_mirrored_copy_has_its_arrows_on_the_template_before_it_is_flipped(tmp_path, plane, forward, up):
    fin = (
        "  fin: {kind: plate, stock: foam, outline: {polygon: {points: [[10, 20], [60, 10], [50, 70]]}}, "
        f"at: {{origin: [0, 30, 0], normal: y, up: z}}, mirror: {plane}}}\n"
    )
    told, _ = entry(tmp_path, fin, "fin")
    one, other = told["arrows"]
    assert other["forward"] == pytest.approx([forward * c for c in one["forward"]], abs=1e-9)
    assert other["up"] == pytest.approx([up * c for c in one["up"]], abs=1e-9)


@pytest.mark.parametrize("stock, t", [("foam", 6.0), ("thick", 10.0)])
def test_the_length_of_a_bevelled_edge_is_that_on_the_drawn_face(tmp_path, stock, t):
    """The sides of a frustum of five sides: where the drawn, inner face is the smaller one, and where it is the larger."""
    parts = f"  tower: {{kind: prism, stock: {stock}, sides: 5, width: 120, top_width: 80, height: 90}}\n"
    told, _ = entry(tmp_path, parts, "tower_side")
    lean = math.atan(20 / 90)
    edges = {edge["id"]: edge for edge in told["edges"]}
    assert edges["foot"]["length"] == pytest.approx((120 - 2 * t / math.cos(lean)) * math.tan(math.pi / 5), abs=0.01)
    for edge in told["edges"]:
        (ax, ay), (bx, by) = edge["ends"]
        assert edge["length"] == pytest.approx(math.hypot(bx - ax, by - ay), abs=1e-6)
        assert edge.get("face") == (told["drawn_face"] if edge["bevel"] else None)

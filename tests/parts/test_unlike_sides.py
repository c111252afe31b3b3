"""Prisms of which some sides have openings of their own. The sides of a regular frustum are one outline; each faces 360 / n
degrees from the next, and what stands beside it follows from its number."""

import sys
from pathlib import Path

import numpy as np
import pytest
import shapely

sys.path.insert(0, str(Path(__file__).parents[1] / "booklet"))
from small_designs import head

import foamwright
from foamwright.errors import DesignError
from foamwright.parts import build_prop

STOCK = "stock: {foam: {name: Foam, thickness: T mm, sheet: [3000, 3000]}}\n"
TOWER = (
    "parts: {tower: {kind: prism, stock: foam, sides: 8, width: 200 * scale, top_width: 150 * scale, height: 220 * scale, "
    "floor: mitred, openings: [{circle: {radius: 10 * scale}}], unlike: UNLIKE}}\n"
)
DOOR = "{name: door side, sides: [3], openings: [{rectangle: {width: 40 * scale, height: 80 * scale, centre: [0, -40 * scale]}}]}"
BLIND = "{name: blind side, sides: [8, 5]}"


def prop_of(folder, unlike, scale=1.0, thickness=6.0):
    path = folder / "tower.yaml"
    path.write_text(head("Tower") + STOCK.replace("T mm", f"{thickness} mm") + TOWER.replace("UNLIKE", unlike), "utf-8")
    return build_prop(foamwright.load(path, None, {"scale": scale}))


def faces(prop, piece):
    """Round the axis, in degrees from the first side, which way each copy faces; the frame's z is that of its outer face."""
    ways = [place.matrix[:3, :3] @ piece.body.frame.axes[:, 2] for place in piece.placements]
    first = next(p for p in prop.pieces if p.id == "tower_floor").body.frame.axes[:, 1]  # forward of the floor
    angles = np.degrees([np.arctan2(first[0] * way[1] - first[1] * way[0], first[:2] @ way[:2]) for way in ways])
    return sorted(round(float(angle)) % 360 for angle in angles)


@pytest.mark.parametrize("scale, thickness", [(0.3, 2.0), (1.0, 6.0), (3.0, 10.0)])
def test_each_side_faces_the_way_of_its_number_and_has_its_own_openings(tmp_path, scale, thickness):
    prop = prop_of(tmp_path, f"[{DOOR}, {BLIND}]", scale, thickness)
    pieces = {piece.id: piece for piece in prop.pieces}
    assert list(pieces) == ["tower_side", "tower_side_3", "tower_side_8_5", "tower_floor"]
    start = faces(prop, pieces["tower_side"])[0]  # of side 1
    turns = {
        name: [round((angle - start) / 45) + 1 for angle in faces(prop, pieces[name])] for name in list(pieces)[:3]
    }
    assert turns == {"tower_side": [1, 2, 4, 6, 7], "tower_side_3": [3], "tower_side_8_5": [5, 8]}
    plain, door, blind = (pieces[name].body for name in list(pieces)[:3])
    for body in (door, blind):
        assert shapely.Polygon(body.outline).symmetric_difference(shapely.Polygon(plain.outline)).area < 1e-6
    holes = [sum(shapely.Polygon(hole).area for hole in body.holes) for body in (plain, door, blind)]
    assert holes == pytest.approx([np.pi * (10 * scale) ** 2, 40 * 80 * scale**2, 0.0], rel=5e-3)


def test_edges_join_what_stands_beside_the_side(tmp_path):
    prop = prop_of(tmp_path, f"[{DOOR}, {BLIND}]")
    runs = {piece.id: {run.id: set(run.joins) for run in piece.body.runs} for piece in prop.pieces}
    assert runs["tower_side_3"]["left"] == runs["tower_side_3"]["right"] == {"tower_side"}
    assert runs["tower_side_8_5"]["left"] == {"tower_side"}
    assert runs["tower_side"]["right"] == {
        "tower_side",
        "tower_side_3",
        "tower_side_8_5",
    }  # of 1: 8; of 2: 1; of 4: 3; of 6: 5
    assert runs["tower_floor"]["side_3"] == {"tower_side_3"} and runs["tower_floor"]["side_4"] == {"tower_side"}


def test_all_sides_may_be_unlike(tmp_path):
    every = "[{name: odd side, sides: [1, 3, 5, 7]}, {name: even side, sides: [2, 4, 6, 8]}]"
    assert [p.id for p in prop_of(tmp_path, every).pieces] == [
        "tower_side_1_3_5_7",
        "tower_side_2_4_6_8",
        "tower_floor",
    ]


@pytest.mark.parametrize(
    "unlike, said",
    [
        ("[{name: door side, sides: [9]}]", "side 9 of 8 under unlike; expected a number from 1 to 8"),
        ("[{name: door side, sides: [0]}]", "sides"),
        (f"[{DOOR}, {{name: other side, sides: [3]}}]", "side 3 twice under unlike; expected each side once"),
        ("[{name: door side, sides: []}]", "sides"),
        ("[{sides: [1]}]", "name"),
    ],
)
def test_a_number_that_is_no_side_is_refused_with_its_place(tmp_path, unlike, said):
    with pytest.raises(DesignError, match=r"tower\.yaml:\d+:\d+: .*" + said):
        prop_of(tmp_path, unlike)

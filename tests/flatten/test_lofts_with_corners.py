"""Lofts with creases: those whose sections are rhombs, as roofs, tents and kites, along each of their corners, and those that
end in a line, as a boat does in its stem.

Expected values follow from plane trigonometry: a slope of the angle a, moved out by h, reaches the upright plane through its
ridge h tan(a) further on and the plane of its eaves h / tan(a).
"""

import math

import numpy as np
import pytest
from panel_designs import laid_flat, panel, plane, prop, stock

from foamwright.errors import BuildError
from foamwright.forms.loft import Loft
from foamwright.parts.sections import section

LONG, WIDE, HIGH = 180.0, 110.0, 60.0  # a roof, half as wide


def loft(scale, sections, **cuts):
    return {
        "kind": "loft",
        "axis": "x",
        "sections": [
            {"at": at * scale, "width": w * scale, "height": h * scale, "exponent": 1} for at, w, h in sections
        ],
        "cuts": {
            "ridge": plane("y"),
            "eaves": plane("z"),
            "front": plane("x", LONG / 2 * scale),
            "back": plane("x", -LONG / 2 * scale),
            **cuts,
        },
    }


BETWEEN = {"front": "before", "back": "beyond"}


@pytest.mark.parametrize("flush", [[], ["eaves"]])  # the mitre at the eaves lies in the plane of both
@pytest.mark.parametrize("scale, thickness", [(0.3, 6.0), (1.0, 2.0), (5.0, 10.0)])
def test_a_pitched_roof_is_two_rectangles(tmp_path, scale, thickness, flush):
    roof = loft(scale, [(-100, 2 * WIDE, 2 * HIGH), (100, 2 * WIDE, 2 * HIGH)])
    where = {"ridge": "beyond", "eaves": "beyond", **BETWEEN}
    made = laid_flat(
        tmp_path, {"roof": roof}, {"side": panel("roof", where, mirror="y", flush=flush)}, stock(thickness)
    )
    side, pitch, half = made.pattern("side"), math.atan2(HIGH, WIDE), thickness / 2
    slope = math.hypot(WIDE, HIGH) * scale + half * (math.tan(pitch) + 1 / math.tan(pitch))
    lengths = {edge.id: edge.length for edge in side.edges}
    assert lengths["ridge"] == pytest.approx(LONG * scale, abs=1e-3)
    assert lengths["eaves"] == pytest.approx(LONG * scale, abs=1e-3)
    assert lengths["front"] == pytest.approx(slope, abs=1e-3) == lengths["back"]
    assert side.area == pytest.approx(math.hypot(WIDE, HIGH) * LONG * scale**2, rel=1e-5)  # of the inside face
    bevels = {edge.id: edge.bevel for edge in side.edges}
    assert bevels["ridge"] == pytest.approx([math.degrees(pitch)], abs=0.01)
    assert bevels["eaves"] == pytest.approx([90 - math.degrees(pitch)], abs=0.01)
    assert bevels["front"] == bevels["back"] == (0.0,)


@pytest.mark.parametrize("laid, way", [("outside", 1.0), ("inside", -1.0)])
def test_foam_bent_over_a_shallow_ridge_is_as_long_as_its_slopes_and_the_turn(tmp_path, laid, way):
    # the neutral surface goes round the crease: on each side it is longer by what half the turn makes of its offset
    high, thickness = 10.0, 6.0
    shallow = loft(1.0, [(-100, 2 * WIDE, 2 * high), (100, 2 * WIDE, 2 * high)], low=plane("z", 2))
    made = laid_flat(
        tmp_path, {"roof": shallow}, {"roof": panel("roof", {"low": "beyond", **BETWEEN}, laid=laid)}, stock(thickness)
    )
    pitch = math.atan2(high, WIDE)
    expected = 2 * (math.hypot(WIDE, high) * 0.8 + way * thickness / 2 * math.tan(pitch))
    front = next(edge for edge in made.pattern("roof").edges if edge.id == "front")
    assert front.length == pytest.approx(expected, abs=0.02)


@pytest.mark.slow
@pytest.mark.parametrize("scale", [0.3, 5.0])
def test_the_four_sides_of_a_kite_meet_along_its_corners(tmp_path, scale):
    kite = loft(scale, [(-100, 120, 60), (-30, 200, 120), (60, 150, 90), (100, 0, 0)])  # rounded off in front
    parts = {
        side: panel("kite", {"ridge": "beyond", "eaves": side, **BETWEEN}, mirror="y") for side in ("beyond", "before")
    }
    made = laid_flat(tmp_path, {"kite": kite}, parts)
    for seam in made.seams:
        assert seam.length_a == pytest.approx(seam.length_b, abs=0.01)
    one, other = (made.pattern(side).piece.body for side in parts)
    a, b = ({edge.id: edge for edge in body.edges}["eaves"] for body in (one, other))
    for face in ("inner", "outer"):
        there, here = getattr(a, face), getattr(b, face)
        ends = np.linalg.norm(there[[0, -1]] - here[[-1, 0]], axis=1)
        assert ends.max() < 0.01
    assert made.pattern("beyond").area == pytest.approx(made.pattern("before").area, rel=1e-5)


STEM, BEAM, DEPTH = 150.0, 100.0, 60.0  # a wedge: from its widest section to its stem, half as wide and half as high
LEAN = math.atan2(BEAM, STEM)  # of each side
PLANKS = {"half": "beyond", "aft": "beyond", "low": "beyond", "high": "before"}


def bow(scale, exponent):
    """Between `low` and `high` sections of a high exponent have upright sides, to a ten-thousandth of a millimetre."""
    sections = [(0.0, 2 * BEAM, 2 * DEPTH), (STEM, 0.0, 2 * DEPTH)]
    return {
        "kind": "loft",
        "axis": "x",
        "sections": [
            {"at": at * scale, "width": w * scale, "height": h * scale, "exponent": exponent} for at, w, h in sections
        ],
        "cuts": {
            "half": plane("y"),
            "aft": plane("x", 20 * scale),
            "low": plane("z", -20 * scale),
            "deck": plane("z"),
            "high": plane("z", 20 * scale),
        },
    }


@pytest.mark.parametrize(
    "scale, thickness, laid, way", [(1, 6.0, "outside", 1.0), (0.3, 10.0, "outside", 1.0), (3, 2.0, "inside", -1.0)]
)
def test_the_sides_of_a_wedge_are_mitred_at_its_stem(tmp_path, scale, thickness, laid, way):
    made = laid_flat(
        tmp_path, {"bow": bow(scale, 12)}, {"side": panel("bow", PLANKS, mirror="y", laid=laid)}, stock(thickness)
    )
    side, turn = made.pattern("side"), math.pi / 2 - LEAN  # half of that at the stem
    long = (STEM - 20) * scale / math.cos(LEAN) + way * thickness / 2 * math.tan(turn)
    edges = {edge.id: edge for edge in side.edges}
    assert edges["high"].length == pytest.approx(long, abs=1e-3) == edges["low"].length
    assert edges["half"].length == pytest.approx(40 * scale, abs=1e-3)
    assert edges["half"].bevel == pytest.approx([math.degrees(turn)], abs=0.02)
    assert edges["aft"].bevel == (0.0,)
    in_space = next(edge for edge in side.piece.body.edges if edge.id == "half")
    assert max(np.abs(face[:, 1]).max() for face in (in_space.inner, in_space.points, in_space.outer)) < 1e-6


@pytest.mark.parametrize("thickness", [6.0, 10.0])
def test_the_sides_of_a_wedge_that_is_low_beside_its_foam_are_mitred_at_its_stem(tmp_path, thickness):
    """The mitre of a fine stem is then further from it than the stem is high: the outside face ends t / sin(a) ahead of it."""
    long, beam, deep, lean = 60.0, 18.0, 9.0, math.atan2(18.0, 60.0)
    form = bow(1, 8)
    form["sections"] = [
        {"at": at, "width": 2 * wide, "height": 2 * deep, "exponent": 8} for at, wide in ((0.0, beam), (long, 0.0))
    ]
    form["cuts"] |= {"aft": plane("x", 10.0), "low": plane("z", -4.0), "high": plane("z", 4.0)}
    (piece,) = prop(tmp_path, {"bow": form}, {"side": panel("bow", PLANKS, mirror="y")}, stock(thickness)).pieces
    stem = next(edge for edge in piece.body.edges if edge.id == "half")
    assert stem.outer[:, 0] == pytest.approx(np.full(len(stem.outer), long + thickness / math.sin(lean)), abs=0.02)
    assert stem.slope == pytest.approx(np.full(len(stem.slope), 90.0 - math.degrees(lean)), abs=0.02)


def test_the_four_sides_of_a_bow_with_a_chine_meet_at_its_stem_and_along_the_chine(tmp_path):
    parts = {
        name: panel("bow", {**PLANKS, "deck": side}, mirror="y")
        for name, side in (("upper", "beyond"), ("lower", "before"))
    }
    made = laid_flat(tmp_path, {"bow": bow(1, 1)}, parts)
    assert len(made.seams) == 3
    for seam in made.seams:
        assert seam.length_a == pytest.approx(seam.length_b, abs=0.01)
    upper, lower = (made.pattern(name).piece.body for name in parts)
    for body in (upper, lower):
        stem = next(edge for edge in body.edges if edge.id == "half")
        assert max(np.abs(face[:, 1]).max() for face in (stem.inner, stem.outer)) < 1e-3
    a, b = (next(edge for edge in body.edges if edge.id == "deck") for body in (upper, lower))
    assert np.linalg.norm(a.outer[[0, -1]] - b.outer[[-1, 0]], axis=1).max() < 0.02


@pytest.mark.parametrize("offset", [0.0, 1.0])
def test_a_floor_comes_to_a_point_in_the_stem(offset):
    wedge = Loft("x", [0, STEM], [(BEAM, DEPTH), (0, DEPTH)], [(0, 0), (0, 0)], [12, 12])
    foremost = section(wedge, {"normal": "z", "at": -20.0}, offset)[:, 0].max()
    assert foremost == pytest.approx(STEM + offset / math.sin(LEAN), abs=1e-3)


@pytest.mark.parametrize(
    "exponent, where, words",
    [
        (12, {key: side for key, side in PLANKS.items() if key != "half"}, "runs over a crease of its form"),
        (2, {"half": "beyond", "aft": "beyond"}, "turns by 180 degrees at the crease along half"),
        # half a beam of 100 sqrt(1 - (z / 60)^2) over 150 mm leans by 15 degrees up to z = 55
        (2, {"half": "beyond", "aft": "beyond"}, r"less than 150 degrees, between \(150, 0, 55\) and \(150, 0, -55\)"),
    ],
)
def test_foam_goes_neither_round_a_stem_nor_to_where_it_is_a_knife_edge(tmp_path, exponent, where, words):
    with pytest.raises(BuildError, match=words):
        prop(tmp_path, {"bow": bow(1, exponent)}, {"side": panel("bow", where)})


def test_no_cut_is_advised_along_a_stem_that_is_a_knife_edge_all_along(tmp_path):
    form = bow(1, 2)
    form["sections"][0]["width"] = 70.0  # of the slopes beside the stem the blunter is atan(35 / 150)
    with pytest.raises(BuildError, match="it turns by 154 degrees or more all along; make the form broader"):
        prop(tmp_path, {"bow": form}, {"side": panel("bow", {"half": "beyond", "aft": "beyond"})})


def test_a_double_ender_is_mitred_at_both_stems_and_a_chisel_at_its_edge():
    """Half the turn by the slopes of the sections beside each line; 45 degrees for the parabola through three of them."""
    double = Loft("x", [-150, 0, 150], [(0, 60), (100, 60), (0, 60)], [(0, 0)] * 3, [12, 12, 12])
    chisel = Loft("x", [0, STEM], [(DEPTH, BEAM), (DEPTH, 0)], [(0, 0), (0, 0)], [12, 12])
    for form, turns in ((double, (90.0, 90.0)), (chisel, (180.0 - 2 * math.degrees(LEAN),))):
        lines = form.creases()[form.sheet_count :]
        assert [float(line.turns[len(line.points) // 2]) for line in lines] == pytest.approx(turns, abs=0.1)


def test_a_form_that_ends_in_an_upright_and_in_a_level_line_has_a_sheet_for_each_quarter():
    sphenoid = Loft("x", [-100, 0, 100], [(0, 60), (50, 50), (60, 0)], [(0, 0)] * 3, [4, 4, 4])
    assert sphenoid.sheet_count == 4
    assert len(sphenoid.creases()) == 8  # along four corners, and two halves of each line
    for number in range(4):
        beyond = sphenoid.sheet((number,), 20.0)
        assert np.isfinite(beyond.normal(beyond.triangulation(200).coords)).all()

"""Panels at the creases of their forms, corners of cuts, the lines of both faces, and seams of unlike thickness.

Expected values are those of sheet-metal development (parallel-line and radial-line development, mitre of half the
turn), as any handbook of it or of descriptive geometry has them; written from memory, no page is cited.
"""

import re

import numpy as np
import pytest
import shapely
import trimesh
import yaml
from panel_designs import laid_flat, panel, plane, prop, stock
from scipy.spatial import cKDTree

from foamwright.design import load
from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.model.interference import interferences
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten

R, HIGH, TOP, CONE = 60.0, 80.0, 25.0, 50.0  # a can with a cone on it
T = 8.0
CAN = {
    "kind": "revolution",
    "axis": "z",
    "profile": [[0, R], [HIGH, R], [HIGH + CONE, TOP]],
    "smooth": False,
    "cuts": {"rim": plane("z", HIGH), "half": plane("y", 0)},
}


HEAD = {
    "format": 1,
    "name": "Test",
    "version": "1.0.0",
    "licence": "CC0-1.0",
    "units": "mm",
    "parameters": {"scale": {"value": 1}, "clearance": {"value": 0, "unit": "mm"}},
    "sizes": {"one": {}},
}


def edges(pattern):
    return {e.id: e for e in pattern.edges}


def box(ring):
    return np.ptp(ring, axis=0)


@pytest.mark.parametrize("top", [TOP, 2 * R - TOP])  # a convex and a hollow shoulder
@pytest.mark.parametrize("laid, way", [("inside", -1.0), ("outside", 1.0)])
def test_a_can_with_a_cone_on_it(tmp_path, laid, way, top):
    half = np.arctan2(R - top, CONE) / 2
    found = laid_flat(
        tmp_path,
        {"can": {**CAN, "profile": [[0, R], [HIGH, R], [HIGH + CONE, top]]}},
        {
            "wall": panel("can", {"rim": "before", "half": "beyond"}, laid=laid),
            "cone": panel("can", {"rim": "beyond", "half": "beyond"}, laid=laid),
        },
        stock(thickness=T),
    )
    wall, cone = found.pattern("wall"), found.pattern("cone")
    neutral, inner, outer = (way * T / 2, way * T if way < 0 else 0.0, 0.0 if way < 0 else T)
    # neither is bulged: both are developable
    assert max(wall.strain.max, cone.strain.max) < 1e-3
    for pattern, height in ((wall, HIGH), (cone, np.hypot(R - top, CONE))):
        own = edges(pattern)
        assert own["rim"].bevel == pytest.approx((np.degrees(half),), abs=0.02)
        assert own["rim"].length == pytest.approx(np.pi * (R + neutral), rel=1e-4)
        # the mitre line leans out by half the turn: each face reaches as far as its own offset takes it
        assert own["half.1"].length == pytest.approx(height + neutral * np.tan(half), abs=0.01)
    assert box(wall.outline)[1] == pytest.approx(HIGH + inner * np.tan(half), abs=0.01)
    assert box(wall.other_outline)[1] == pytest.approx(HIGH + outer * np.tan(half), abs=0.01)
    (seam,) = found.seams
    assert {seam.part_a, seam.part_b} == {"wall", "cone"} and (seam.step, seam.flush) == (0.0, "both")
    # the faces of the two meet along the whole mitre
    one, other = (next(e for e in p.piece.body.edges if e.cut == "rim") for p in (wall, cone))
    for face in ("inner", "outer"):
        a, b = getattr(one, face), getattr(other, face)[::-1]
        assert np.abs(a - b).max() < 0.02, face


def test_a_panel_does_not_run_over_a_crease(tmp_path):
    with pytest.raises(BuildError, match=r"panel all: it runs over a crease of its form that turns by 35 degrees"):
        prop(tmp_path, {"can": CAN}, {"all": panel("can", {"half": "beyond"}, laid="inside")})


def test_a_panel_strained_by_a_shallow_crease_is_told_to_end_there(tmp_path):
    form = {**CAN, "profile": [[0, R], [HIGH, R], [HIGH + CONE, R - CONE * float(np.tan(np.radians(15)))]]}
    cuts = {"low": plane("z", 40), "top": plane("z", 120), "half": plane("y", 0)}
    wall = panel("can", {"half": "beyond", "low": "beyond", "top": "before"})
    with pytest.raises(
        BuildError, match=r"it runs over a crease of its form that turns by 15 degrees, as at"
    ) as caught:
        laid_flat(tmp_path, {"can": {**form, "cuts": cuts}}, {"wall": wall}, stock(thickness=T))
    told = np.array(re.search(r"as at \((\S+), (\S+), (\S+)\)", str(caught.value)).groups(), float)
    assert np.hypot(*told[:2]) == pytest.approx(R, abs=1.0) and told[2] == HIGH


def test_a_profile_of_many_small_turns_may_be_one_panel(tmp_path):
    angle = np.radians(np.arange(30, 91, 10))
    profile = [[float(-100 * np.cos(a)), float(100 * np.sin(a))] for a in angle]
    form = {"kind": "revolution", "axis": "z", "profile": profile, "smooth": False}
    cuts = {"a": plane("y", 0), "b": plane([-0.5, 0.75**0.5, 0], 0)}
    made = prop(tmp_path, {"bowl": {**form, "cuts": cuts}}, {"gore": panel("bowl", {"a": "beyond", "b": "before"})})
    assert len(made.piece("gore").body.edges) == 4


def solid(folder, shape, name="form.step"):
    cq = pytest.importorskip("cadquery")
    cq.exporters.export(shape(cq), str(folder / name))
    return {"kind": "step", "file": name}


def test_a_prism_cut_at_its_own_edges(tmp_path):
    a, high = 60.0, 100.0
    c, s = 0.5, 0.75**0.5
    form = solid(tmp_path, lambda cq: cq.Workplane().polygon(6, 2 * a).extrude(high))
    ring = [[float(a * np.cos(k * np.pi / 3)), float(a * np.sin(k * np.pi / 3))] for k in range(6)]
    form["cuts"] = {
        "a": plane("y", 0),
        "b": plane([-s, c, 0], 0),
        "top": plane("z", high),
        "low": plane("z", 0),
        "middle": plane("z", high / 2),
        "rim": {"prism": {"along": "z", "outline": {"polygon": {"points": ring}}}},
    }
    found = laid_flat(
        tmp_path,
        {"prism": form},
        {
            "side": panel("prism", {"a": "beyond", "b": "before", "top": "before", "low": "beyond"}, laid="inside"),
            "lid": panel("prism", {"rim": "inside", "middle": "beyond"}, laid="inside"),
        },
        stock(thickness=T),
    )
    # a side: mitred by 30 degrees to its neighbours and by 45 to the ends
    side, lid = found.pattern("side"), found.pattern("lid")
    assert side.strain.max < 1e-6
    own = edges(side)
    for name, bevel in (("a", 30), ("b", 30), ("top", 45), ("low", 45)):
        assert own[name].bevel == pytest.approx((bevel,), abs=0.01), name
    inside = a - 2 * T * np.tan(np.radians(30)), high - 2 * T
    assert sorted(box(side.outline)) == pytest.approx(sorted(inside), abs=1e-3)
    assert sorted(box(side.other_outline)) == pytest.approx(sorted((a, high)), abs=1e-3)
    # the lid: a hexagon with six straight edges, whose inside is smaller by the mitre
    assert len(lid.edges) == 6 and all(e.bevel == pytest.approx((45,), abs=0.01) for e in lid.edges)
    for ring, apothem in ((lid.outline, a * s - T), (lid.other_outline, a * s)):
        sides = [ring @ [np.cos(t), np.sin(t)] for t in _hexagon(ring)]
        assert [x.max() for x in sides] == pytest.approx([apothem] * 6, abs=1e-3)


ELL = [(0, 0), (120, 0), (120, 50), (50, 50), (50, 100), (0, 100)]
TEE = [(30, 0), (70, 0), (70, 60), (110, 60), (110, 95), (-20, 95), (-20, 60), (30, 60)]


@pytest.mark.parametrize("laid, way", [("inside", -1.0), ("outside", 1.0)])
@pytest.mark.parametrize("outline, scale, thickness", [(ELL, 1.0, 6.0), (TEE, 0.3, 2.0), (TEE, 3.0, 10.0)])
def test_a_lid_cut_along_its_own_edges_keeps_its_hollow_corners(tmp_path, outline, scale, thickness, laid, way):
    """Both faces are polygons, parallel to the solid's at the thickness (mitres of 45 degrees all round)."""
    form = solid(tmp_path, lambda cq: cq.Workplane().polyline(outline).close().extrude(70)) | {"scale": scale}
    points = [[x * scale, y * scale] for x, y in outline]
    form["cuts"] = {
        "rim": {"prism": {"along": "z", "outline": {"polygon": {"points": points}}}},
        "middle": plane("z", 35.0 * scale),
    }
    lid = panel("block", {"rim": "inside", "middle": "beyond"}, laid=laid)
    pattern = laid_flat(tmp_path, {"block": form}, {"lid": lid}, stock(thickness=thickness)).pattern("lid")
    assert [edge.bevel for edge in pattern.edges] == [pytest.approx((45.0,), abs=0.01)] * len(outline)
    there = shapely.Polygon(points)
    for ring, offset in (
        (pattern.outline, 0.0 if way > 0 else -thickness),
        (pattern.other_outline, max(0.0, way) * thickness),
    ):
        true = there.buffer(offset, join_style="mitre")
        assert shapely.Polygon(ring).area == pytest.approx(true.area, rel=1e-5)
        assert shapely.Polygon(ring).length == pytest.approx(true.length, abs=0.01)


def test_the_halves_of_a_heart_meet_in_the_plane_between_them(tmp_path):
    """Its cleft and its tip, where thick foam lies on lobes that bend hardly wider than it is thick."""

    def heart(cq):
        side = cq.Workplane().moveTo(0, -50).spline([(45, 0), (50, 35), (25, 50), (0, 30)], includeCurrent=True)
        return side.spline([(0, 30), (-25, 50), (-50, 35), (-45, 0), (0, -50)]).close().extrude(60)

    form = solid(tmp_path, heart) | {"scale": 0.3}
    form["cuts"] = {"half": plane("x"), "low": plane("z", 1.5), "top": plane("z", 16.5)}
    half = panel("heart", {"half": "beyond", "low": "beyond", "top": "before"}, mirror="x")
    made = prop(tmp_path, {"heart": form}, {"half": half}, stock(thickness=6.0))
    assert interferences(build_model(made)) == ()
    mitres = [edge for edge in made.piece("half").body.edges if edge.cut == "half"]
    assert len(mitres) == 2
    for edge in mitres:
        assert np.abs([line[:, 0] for line in (edge.inner, edge.points, edge.outer)]).max() < 0.01


@pytest.mark.parametrize("at, across", [(43.9, 100), (50.1, 50), (70, 50)])
def test_a_bulkhead_beside_the_hollow_corner_of_a_solid(tmp_path, at, across):
    form = solid(tmp_path, lambda cq: cq.Workplane().polyline(ELL).close().extrude(70))
    form["cuts"] = {"middle": plane("z", 35)}
    wall = {"kind": "bulkhead", "stock": "foam", "form": "block", "plane": {"normal": "x", "at": f"{at} * scale"}}
    pattern = laid_flat(tmp_path, {"block": form}, {"wall": wall}, stock(thickness=6)).pattern("wall")
    assert sorted(box(pattern.outline)) == pytest.approx(sorted((across, 70)), abs=1e-3)
    assert [edge.bevel for edge in pattern.edges] == [(0.0,)] * 4


def test_a_bulkhead_over_a_step_of_a_solid_is_refused(tmp_path):
    form = solid(tmp_path, lambda cq: cq.Workplane().polyline(ELL).close().extrude(70))
    form["cuts"] = {"middle": plane("z", 35)}
    wall = {"kind": "bulkhead", "stock": "foam", "form": "block", "plane": {"normal": "x", "at": "47 * scale"}}
    with pytest.raises(BuildError, match=r"its edge would lean by 83 degrees.*move its plane"):
        prop(tmp_path, {"block": form}, {"wall": wall}, stock(thickness=6))


@pytest.mark.parametrize("scale, thickness", [(0.3, 10.0), (6.0, 2.0)])
def test_a_short_piece_of_a_long_crease_is_mitred_as_all_of_it(tmp_path, scale, thickness):
    """A crease between flat faces of a solid has points of its own at its ends only, far from a panel in the middle."""
    side, low, high = 60.0 * scale, 30.0 * scale, 52.0 * scale
    form = solid(tmp_path, lambda cq: cq.Workplane().polygon(6, 120).extrude(100)) | {"scale": scale}
    half = 0.75**0.5
    form["cuts"] = {
        "a": plane("y", 0),
        "b": plane([-half, 0.5, 0], 0),
        "low": plane("z", low),
        "high": plane("z", high),
    }
    where = {"a": "beyond", "b": "before", "low": "beyond", "high": "before"}
    found = laid_flat(tmp_path, {"prism": form}, {"side": panel("prism", where)}, stock(thickness=thickness))
    pattern = found.pattern("side")
    own = edges(pattern)
    assert [own[name].bevel for name in "ab"] == [pytest.approx((30,), abs=0.01)] * 2
    mitre = 2 * thickness * np.tan(np.radians(30))
    assert sorted(box(pattern.outline)) == pytest.approx(sorted((side, high - low)), abs=1e-3)
    assert sorted(box(pattern.other_outline)) == pytest.approx(sorted((side + mitre, high - low)), abs=1e-3)


def test_unlike_foams_meet_at_the_creases_of_a_solid_and_share_no_space(tmp_path):
    """A roof whose ridge turns by 20 degrees and whose eave by 70, of 6 and 10 mm foam: mitres of 10 and 35 degrees."""
    drop, high = 40 * np.tan(np.radians(20)), 40.0
    ends = [(-60, 0), (60, 0), (60, high), (20, high + drop), (-20, high + drop), (-60, high)]
    form = solid(tmp_path, lambda cq: cq.Workplane().polyline(ends).close().extrude(120))
    form["cuts"] = {
        "ridge": plane("x", 20),
        "left": plane("x", -20),
        "eave": plane("y", high),
        "low": plane("y", 5),
        "front": plane("z", 10),
        "back": plane("z", 110),
    }
    along = {"front": "beyond", "back": "before"}
    design = {
        **HEAD,
        "stock": {"foam": stock(6), "thick": stock(10)},
        "forms": {"roof": {**form, "scale": "scale"}},
        "parts": {
            "top": panel("roof", {"ridge": "before", "left": "beyond", "low": "beyond", **along}),
            "slope": panel("roof", {"ridge": "beyond", "eave": "beyond", **along}),
            "wall": {
                **panel("roof", {"eave": "before", "ridge": "beyond", "low": "beyond", **along}),
                "stock": "thick",
            },
        },
    }
    path = tmp_path / "roof.yaml"
    path.write_text(yaml.safe_dump(design, sort_keys=False), encoding="utf-8")
    model = build_model(build_prop(load(path)))
    assert interferences(model) == ()
    found = section_and_flatten(model)
    ridge, eave, sloping = np.tan(np.radians(10)), np.tan(np.radians(35)), np.hypot(40, drop)
    for part, inner, outer in (
        ("top", 40, 40 + 12 * ridge),
        ("slope", sloping, sloping + 6 * (ridge + eave)),
        ("wall", 35, 35 + 10 * eave),
    ):
        pattern = found.pattern(part)
        assert box(pattern.outline).min() == pytest.approx(inner, abs=0.01), part
        assert box(pattern.other_outline).min() == pytest.approx(outer, abs=0.01), part
    # area of the section between two mitres, times 100 mm
    for made, width, thickness, lean in zip(
        model.prototypes, (40, sloping, 35), (6, 6, 10), (2 * ridge, ridge + eave, eave)
    ):
        assert made.exact and made.volume == pytest.approx(100 * thickness * (width + thickness * lean / 2), rel=1e-4)


def test_a_lid_cut_at_the_round_edge_of_a_solid_is_flat(tmp_path):
    form = solid(tmp_path, lambda cq: cq.Workplane().circle(50).extrude(60))
    form["cuts"] = {
        "rim": {"prism": {"along": "z", "outline": {"circle": {"radius": 50}}}},
        "middle": plane("z", 30),
    }
    lid = panel("can", {"rim": "inside", "middle": "beyond"}, laid="inside")
    found = laid_flat(tmp_path, {"can": form}, {"lid": lid}, stock(thickness=T))
    pattern = found.pattern("lid")
    assert pattern.strain.max < 1e-6
    assert box(pattern.outline) == pytest.approx([100 - 2 * T] * 2, abs=0.02)
    assert box(pattern.other_outline) == pytest.approx([100, 100], abs=0.02)


def _hexagon(ring):
    """Directions square to the sides of a regular hexagon about the origin."""
    corner = ring[np.argmax(np.hypot(*(ring - ring.mean(0)).T))]
    ring -= (ring.max(0) + ring.min(0)) / 2
    first = np.arctan2(corner[1], corner[0]) + np.pi / 6
    return first + np.arange(6) * np.pi / 3


def test_an_oblique_cut_of_a_cylinder_is_a_sine(tmp_path):
    r, slope, level = 50.0, 0.8, 100.0

    def cut(cq):
        over = cq.Workplane("XZ").polyline([(-100, 180), (100, 20), (100, 400), (-100, 400)]).close()
        return cq.Workplane().circle(r).extrude(200).cut(over.extrude(200, both=True))

    form = solid(tmp_path, cut)
    steep = float(np.hypot(1, slope))
    form["cuts"] = {
        "low": plane("z", 20),
        "half": plane("y", 0),
        "slant": {"plane": {"normal": [slope, 0, 1], "at": f"{level / steep} * scale"}},
    }
    parts = {"wall": panel("tube", {"low": "beyond", "half": "beyond", "slant": "before"}, laid="inside")}
    found = laid_flat(tmp_path, {"tube": form}, parts, stock(thickness=T))
    body = found.pattern("wall").piece.body
    edge = next(e for e in body.edges if e.cut == "slant")
    # parallel-line development: at the angle t of the neutral cylinder the cut is at level - slope r cos t, here
    # lowered by what the mitre takes off there, since it lies as far beneath the slanting face as beneath the wall
    radius = r - T / 2
    angle = np.arctan2(edge.points[:, 1], edge.points[:, 0])
    assert np.hypot(*edge.points[:, :2].T) == pytest.approx(np.full(len(angle), radius), abs=2e-3)
    sine = level - slope * radius * np.cos(angle) - T / 2 * steep
    assert np.abs(edge.points[:, 2] - sine).max() < 0.01
    # and on the pattern: straight below, the sine above
    pattern = found.pattern("wall")
    own = edges(pattern)
    assert own["low"].length == pytest.approx(np.pi * radius, rel=1e-4)
    assert own["half.1"].length + own["half.2"].length == pytest.approx(2 * (level - T / 2 * steep - 20), abs=0.01)
    # half of the turn at every point: cos(turn) = n . n'
    turn = np.degrees(np.arccos(slope * np.cos(angle) / steep)) / 2
    assert np.abs(edge.slope - turn).max() < 0.5


def window(outline, **more):
    cuts = {
        "half": plane("z", 0),
        "low": plane("x", 20),
        "high": plane("x", 180),
        "window": {"prism": {"along": "z", "above": 0, "outline": outline}},
    }
    form = {"kind": "revolution", "axis": "x", "profile": [[0, 100], [200, 100]], "smooth": False, "cuts": cuts}
    where = {"half": "beyond", "low": "beyond", "high": "before", "window": "outside"}
    return {"tube": form}, {"wall": panel("tube", where, laid="inside", **more)}


def test_an_opening_keeps_its_corners_and_its_straight_legs(tmp_path):
    wide, across = 80.0, 60.0
    found = laid_flat(
        tmp_path, *window({"rectangle": {"width": wide, "height": across, "centre": [100, 0]}}), stock(thickness=T)
    )
    pattern = found.pattern("wall")
    legs = [e for e in pattern.edges if e.id.startswith("window")]
    assert len(legs) == 4
    # a wall cut straight down: arcs of the neutral surface across, bevelled by the form's own slope along
    arc = 2 * (100 - T / 2) * np.arcsin(across / 2 / (100 - T / 2))
    lean = np.degrees(np.arcsin(across / 2 / (100 - T / 2)))
    for leg in legs:
        straight = abs(leg.length - wide) < 1.0
        assert leg.length == pytest.approx(wide if straight else arc, abs=0.01)
        assert leg.bevel == (pytest.approx((lean,), abs=0.3) if straight else (0.0,))
        way = leg.points[-1] - leg.points[0]
        aside = (leg.points - leg.points[0]) @ [-way[1], way[0]] / np.linalg.norm(way)
        assert np.abs(aside).max() < 0.01
    # the drawn line is the hole in the inside face, whose arcs are shorter by their radius but wider in angle
    inside = 2 * (100 - T / 2) * np.arcsin(across / 2 / (100 - T))
    outside = 2 * (100 - T / 2) * np.arcsin(across / 2 / 100)
    assert sorted(box(pattern.holes[0])) == pytest.approx([inside, wide], abs=0.02)
    assert sorted(box(pattern.other_holes[0])) == pytest.approx([outside, wide], abs=0.02)


def test_a_round_opening_states_its_bevel_all_around(tmp_path):
    found = laid_flat(tmp_path, *window({"circle": {"radius": 45, "centre": [100, 0]}}), stock(thickness=T))
    (leg,) = [e for e in found.pattern("wall").piece.body.edges if e.cut == "window"]
    # square down through the top: the wall leans against the surface by its slope, seen in the direction outwards
    offset = leg.points - [100, 0, 0]
    slope = np.arcsin(offset[:, 1] / (100 - T / 2))
    outwards = -offset[:, :2] / np.hypot(*offset[:, :2].T)[:, None]  # of the panel, into the hole
    # vertical against the normal (0, sin, cos), in the plane square to the edge
    true = np.degrees(np.arctan2(-outwards[:, 1] * np.sin(slope), np.cos(slope) ** 2 * 1.0 + 0 * slope))
    assert np.abs(np.abs(leg.slope) - np.abs(true)).max() < 6.0  # the two planes differ a little
    assert leg.slope[0] == pytest.approx(leg.slope[-1], abs=1e-6)
    stated = np.interp(np.linspace(0, 1, len(leg.slope)), np.linspace(0, 1, len(leg.bevel)), leg.bevel)
    assert np.abs(stated - leg.slope).max() < 1.5


def test_sheets_of_unlike_thickness_are_each_developed_at_their_own_neutral_surface(tmp_path):
    design = {
        **HEAD,
        "stock": {"foam": stock(10), "thin": stock(6)},
        "forms": {
            "tube": {
                "kind": "revolution",
                "axis": "z",
                "profile": [[0, 100], [200, 100]],
                "smooth": False,
                "cuts": {"middle": plane("z", 100), "half": plane("y", 0)},
            }
        },
        "parts": {
            "low": panel("tube", {"middle": "before", "half": "beyond"}, laid="inside"),
            "high": {**panel("tube", {"middle": "beyond", "half": "beyond"}, laid="inside"), "stock": "thin"},
        },
    }
    path = tmp_path / "test.yaml"
    path.write_text(yaml.safe_dump(design, sort_keys=False), encoding="utf-8")
    found = section_and_flatten(build_model(build_prop(load(path))))
    for part, thickness in (("low", 10), ("high", 6)):
        assert box(found.pattern(part).outline)[0] == pytest.approx(np.pi * (100 - thickness / 2), rel=1e-5)
    # flush outside, they touch over the thickness of the thinner one: compared in its middle
    (seam,) = found.seams
    assert (seam.length_a, seam.length_b) == pytest.approx((np.pi * 97, np.pi * 97), rel=1e-5)
    assert (seam.step, seam.flush) == (4.0, "outside")


@pytest.mark.parametrize(
    "count, scale, laid, way", [(18, 0.3, "outside", 1.0), (18, 6.0, "inside", -1.0), (36, 1.0, "outside", 1.0)]
)
def test_foam_bent_over_shallow_creases_is_as_long_as_its_flats_and_turns(tmp_path, count, scale, laid, way):
    """Bend allowance, as sheet-metal handbooks have it (from memory): each bend adds its angle times the radius of the
    neutral line, here that of a bend of no radius inside, so half the circle of the neutral offset over half a prism. Both
    ends of the panel lie in a crease, or in the middle of a side."""
    apothem = 50.0
    form = solid(tmp_path, lambda cq: cq.Workplane().polygon(count, 2 * apothem / np.cos(np.pi / count)).extrude(60))
    form |= {
        "scale": scale,
        "cuts": {"half": plane("x", 0), "low": plane("z", 10 * scale), "high": plane("z", 30 * scale)},
    }
    where = {"half": "beyond", "low": "beyond", "high": "before"}
    pattern = laid_flat(tmp_path, {"f": form}, {"side": panel("f", where, laid=laid)}, stock(thickness=6.0)).pattern(
        "side"
    )
    own = edges(pattern)
    flats = count * apothem * scale * np.tan(np.pi / count)
    assert own["low"].length == pytest.approx(flats + way * np.pi * 3, abs=0.01)
    assert own["half.1"].length == pytest.approx(20 * scale, abs=0.01)
    assert pattern.strain.max < 1e-3


def test_frusta_bent_over_a_crease_turn_evenly():
    """The normal is square to each frustum in the middle of the form's own sides, and half way between in the crease."""
    from foamwright.forms.parametric import Revolution

    bent = Revolution("z", (0, 0, 0), [[0, 40], [50, 40], [100, 30], [120, 0]], smooth=False).sheet((0, 1), 5.0)
    u = np.array([0.0, bent._profile.knots[1]])
    lean = np.degrees(np.arcsin(bent.normal(np.column_stack([u, u * 0]))[:, 2]))
    assert lean == pytest.approx([0.0, np.degrees(np.arctan2(10, 50)) / 2])


def test_a_full_cone_beside_a_larger_panel_is_the_sector_of_a_circle(tmp_path):
    """Development by radial lines, as sheet-metal handbooks have it (from memory): a cone laid flat is a sector of its slant
    height, its arc as long as the foot. A panel much larger beside it makes its triangles reach far around its tip."""
    scale, thickness = 6.0, 2.0
    cone = {
        "kind": "revolution",
        "axis": "z",
        "smooth": False,
        "profile": [[-60 * scale, 0], [0, 60 * scale], [80 * scale, 0]],
        "cuts": {"middle": plane("z", 0), "half": plane("y", 0)},
    }
    parts = {
        "below": panel("cone", {"middle": "before", "half": "beyond"}),
        "above": panel("cone", {"middle": "beyond"}, opened=0),
    }
    pattern = laid_flat(tmp_path, {"cone": cone}, parts, stock(thickness=thickness)).pattern("above")
    # where the neutral lines of both sides meet, at half the thickness from a side of slope 3 : 4 and one of 1 : 1
    station = (thickness / 2) * (5 / 4 - np.sqrt(2)) / (3 / 4 + 1)
    radius = 60 * scale - 3 / 4 * station + 5 / 4 * thickness / 2
    for edge in pattern.edges:
        true = np.pi * radius if edge.id.startswith("middle") else radius * 5 / 3  # half the foot meets the part below
        assert edge.length == pytest.approx(true, abs=0.01)
    assert pattern.strain.max < 1e-4


@pytest.mark.parametrize("at, laid, way", [(40.0, "outside", 1.0), (44.0, "outside", 1.0), (40.0, "inside", -1.0)])
def test_a_cover_over_a_crease_is_as_wide_as_stated(tmp_path, at, laid, way):
    """A rectangle on the bench: parallel-line development. Its line lies in the crease, or 4 mm beside it."""
    turn = np.radians(20.0)
    over = 40.0 + 50.0 * np.cos(turn), -50.0 * np.sin(turn)
    form = solid(
        tmp_path,
        lambda cq: cq.Workplane("XZ").polyline([(0, -60), (0, 0), (40, 0), over, (over[0], -60)]).close().extrude(-80),
    )
    form["cuts"] = {"line": plane("x", at), "one": plane("y", 10), "other": plane("y", 70), "floor": plane("z", -50)}
    cover = panel("f", {"one": "beyond", "other": "before", "floor": "beyond"}, laid=laid)
    cover |= {"kind": "cover", "seam": "line", "width": 24}
    pattern = laid_flat(tmp_path, {"f": form}, {"cover": cover}, stock(thickness=6.0)).pattern("cover")
    own = edges(pattern)
    assert [own[name].length for name in ("one", "other")] == pytest.approx([24.0, 24.0], abs=0.01)
    assert [own[name].length for name in ("line_near", "line_far")] == pytest.approx([60.0, 60.0], abs=0.01)
    assert pattern.strain.max < 1e-4


def test_a_wall_that_lies_flat_by_itself_keeps_its_length_at_a_seam_with_a_dome(tmp_path):
    """Half the wall of a capsule is as long as half its circle, however its dome must give."""
    radius, thickness = 40.0, 6.0
    tin = solid(
        tmp_path, lambda cq: cq.Workplane().circle(radius).extrude(-60).union(cq.Workplane(cq.Solid.makeSphere(radius)))
    )
    tin["cuts"] = {"rim": plane("z", 0), "foot": plane("z", -40), "half": plane("y", 0), "quarter": plane("x", 0)}
    parts = {
        "wall": panel("tin", {"foot": "beyond", "rim": "before", "half": "beyond"}),
        "dome": panel("tin", {"rim": "beyond", "half": "beyond", "quarter": "beyond"}),
    }
    found = laid_flat(tmp_path, {"tin": tin}, parts, stock(thickness=thickness, strain=0.08))
    assert found.pattern("dome").strain.mean > 20 * found.pattern("wall").strain.mean
    true = np.pi * (radius + thickness / 2)
    assert edges(found.pattern("wall"))["foot"].length == pytest.approx(true, abs=0.05)


@pytest.mark.parametrize("radius", [40.0, 12.0])
def test_two_tubes_that_meet_at_a_right_angle_are_mitred_all_the_way_round(tmp_path, radius):
    """The crease is convex on the far side of the bend and hollow on the near side, and is none in between: the edge of each
    tube, laid flat, is a sine (the elbow of parallel-line development), and its length that of half an ellipse."""
    long = 3 * radius

    def shape(cq):
        def tube(way):
            start = tuple(-2 * radius * w for w in way)
            return cq.Workplane(cq.Plane(origin=start, normal=way, xDir=(0, 1, 0))).circle(radius).extrude(6 * radius)

        half = cq.Workplane(cq.Plane(origin=(0, 0, 0), normal=(1, 0, 1), xDir=(0, 1, 0))).rect(400, 400).extrude(400)
        return tube((0, 0, -1)).cut(half).union(tube((1, 0, 0)).intersect(half))

    cuts = {"foot": plane("z", -long), "end": plane("x", long), "mitre": plane([1, 0, 1], 0), "half": plane("y", 0)}
    found = laid_flat(
        tmp_path,
        {"elbow": {**solid(tmp_path, shape), "cuts": cuts}},
        {
            "down": panel("elbow", {"foot": "beyond", "mitre": "before", "half": "beyond"}, flush=["foot"]),
            "out": panel("elbow", {"end": "before", "mitre": "beyond", "half": "beyond"}, flush=["end"]),
        },
        stock(),
    )
    mean = radius + 3.0
    angle = np.linspace(0, np.pi, 20001)
    half_ellipse = np.hypot(np.diff(mean * angle), np.diff(mean * np.cos(angle))).sum()
    for name, end in (("down", "foot"), ("out", "end")):
        own = edges(found.pattern(name))
        assert own["mitre"].length == pytest.approx(half_ellipse, abs=0.02)
        assert own[end].length == pytest.approx(np.pi * mean, abs=0.02)
        assert sorted(own[f"half.{n}"].length for n in (1, 2)) == pytest.approx([long - mean, long + mean], abs=0.02)
        # half of the turn, which is a right angle at both ends of the half tube, hollow at one of them
        assert (min(own["mitre"].bevel), max(own["mitre"].bevel)) == pytest.approx((-45.0, 45.0), abs=0.05)


def test_an_edge_that_is_flush_lies_in_its_plane_also_where_the_form_has_a_crease(tmp_path):
    """A side of a pyramid's stump that stands on the table: cut at its lean, not mitred with a floor that is not there."""
    wide, high, top = 100.0, 60.0, 40.0
    lean = np.arctan2((wide - top) / 2, high)
    form = solid(tmp_path, lambda cq: cq.Workplane().rect(wide, wide).workplane(offset=high).rect(top, top).loft())
    cuts = {"foot": plane("z", 0), "rim": plane("z", high), "a": plane([-1, 1, 0], 0), "b": plane([1, 1, 0], 0)}
    found = laid_flat(
        tmp_path,
        {"stump": {**form, "cuts": cuts}},
        {"side": panel("stump", {"foot": "beyond", "rim": "before", "a": "before", "b": "beyond"}, flush=["foot"])},
        stock(thickness=T),
    )
    side = edges(found.pattern("side"))
    assert abs(side["foot"].bevel[0]) == pytest.approx(np.degrees(lean), abs=0.02)
    assert min(found.pattern("side").piece.body.edges, key=lambda e: e.cut != "foot").outer[:, 2] == pytest.approx(
        0.0, abs=1e-6
    )
    # the plane is the mitre of half the turn between the slope and the level roof
    assert abs(side["rim"].bevel[0]) == pytest.approx(np.degrees(np.pi / 2 - lean) / 2, abs=0.02)


@pytest.mark.parametrize("top", [TOP, 2 * R - TOP])  # a convex and a hollow shoulder
@pytest.mark.parametrize("laid, way", [("inside", -1.0), ("outside", 1.0)])
def test_an_opening_that_ends_at_a_crease_goes_on_through_the_mitre(tmp_path, laid, way, top):
    """Its sides stand at the sine of half its width, on every face at that face's radius; the cone above it is whole, and both
    edges of the seam beside it are arcs of one angle."""
    half, neutral = np.arctan2(R - top, CONE) / 2, way * T / 2
    opening = {
        "outline": {"rectangle": {"width": 30, "height": 30}},
        "along": "y",
        "centre": [0, 0, HIGH - 15],
        "above": 0,
    }
    cuts = {**CAN["cuts"], "foot": plane("z", 0), "win": {"prism": opening}}
    found = laid_flat(
        tmp_path,
        {"can": {**CAN, "profile": [[-10, R], [HIGH, R], [HIGH + CONE, top]], "cuts": cuts}},
        {
            "wall": panel("can", {"foot": "beyond", "rim": "before", "half": "beyond", "win": "outside"}, laid=laid),
            "cone": panel("can", {"rim": "beyond", "half": "beyond", "win": "outside"}, laid=laid),
        },
        stock(thickness=T),
    )
    wall, cone = (edges(found.pattern(name)) for name in ("wall", "cone"))
    assert max(found.pattern(name).strain.max for name in ("wall", "cone")) < 1e-3
    radius = R + neutral
    angle = np.arcsin(15 / radius)
    beside = radius * (np.pi / 2 - angle)
    assert [wall[name].length for name in ("rim.1", "rim.2")] == pytest.approx([beside, beside], abs=0.02)
    sides = sorted(wall[f"win.{k}"].length for k in (1, 2, 3))
    upright = 30 + neutral * np.tan(half)
    assert sides == pytest.approx(sorted([upright, upright, 2 * radius * angle]), abs=0.02)
    along = sorted(cone[name].length for name in ("rim.1", "rim.2", "rim.3"))
    assert along == pytest.approx(sorted([beside, beside, 2 * radius * angle]), abs=0.02)
    assert not any(name.startswith("win") for name in cone)


def test_an_edge_that_one_face_has_nothing_of_is_refused(tmp_path):
    """A window that reaches 1.5 mm above a crease is gone where the outer face is mitred: that begins 8 tan 19.3 = 2.8 mm up."""
    opening = {
        "outline": {"rectangle": {"width": 30, "height": 31.5}},
        "along": "y",
        "centre": [0, 0, HIGH - 14.25],
        "above": 0,
    }
    cuts = {**CAN["cuts"], "win": {"prism": opening}}
    with pytest.raises(BuildError, match="its edge win is there in the middle of the foam and not on its outside"):
        laid_flat(
            tmp_path,
            {"can": {**CAN, "cuts": cuts}},
            {"cone": panel("can", {"rim": "beyond", "half": "beyond", "win": "outside"})},
            stock(thickness=T),
        )


@pytest.mark.parametrize("scale", [0.4, 1])
def test_a_warped_plank_of_a_hull_is_as_large_as_the_face_that_it_lies_on(tmp_path, scale):
    """Its long edges are straight in space and not in its own map. Area by OCCT (`Face.Area`) of the face of the form within
    the same cuts."""
    import cadquery as cq

    def ring(x, beam, bilge, low, high):
        return cq.Wire.makePolygon(
            [cq.Vector(x, *p) for p in ((beam, high), (bilge, low), (0, 0), (-bilge, low), (-beam, high))], close=True
        )

    hull = cq.Solid.makeLoft([ring(0, 50, 40, 20, 60), ring(240, 30, 20, 30, 70)], True)
    cq.exporters.export(cq.Workplane(hull), str(tmp_path / "form.step"))
    chine = {"points": [[0, 20 * scale], [240 * scale, 30 * scale]], "along": "y", "smooth": False}
    cuts = {
        "aft": plane("x", 20 * scale),
        "fore": plane("x", 200 * scale),
        "half": plane("y", 0),
        "chine": {"curve": chine},
    }
    form = {"kind": "step", "file": "form.step", "scale": scale, "cuts": cuts}
    found = laid_flat(
        tmp_path,
        {"hull": form},
        {
            "plank": panel(
                "hull", {"aft": "beyond", "fore": "before", "half": "beyond", "chine": "before"}, laid="inside"
            )
        },
        stock(thickness=2, strain_limit=1),
    )
    (solid,) = (copy.prototype.shape for copy in build_model(found.prop).copies)
    plank = solid.Faces()
    whole = max(face.Area() for face in plank)
    box_ = cq.Workplane().box(180 * scale, 300 * scale, 300 * scale).translate((110 * scale, 150 * scale, 0)).val()
    bottom = next(f for f in hull.scale(scale).Faces() if f.Center().y > 0 and f.Center().z < 20 * scale)
    assert whole == pytest.approx(bottom.intersect(box_).Area(), rel=2e-3)


def test_a_crease_too_sharp_for_a_mitre_is_refused(tmp_path):
    """A wedge of 24 degrees turns by 156 at its edge; a mitre would lean by 78."""
    solid(tmp_path, lambda cq: cq.Workplane("XZ").polyline([(0, 0), (100, 21.3), (100, -21.3)]).close().extrude(80))
    cuts = {"low": plane("z", 0), "end": plane("x", 90)}
    with pytest.raises(BuildError, match="turns by 156 degrees at the crease along low"):
        laid_flat(
            tmp_path,
            {
                "wedge": {
                    "kind": "step",
                    "file": "form.step",
                    "cuts": {**cuts, "l": plane("y", -79), "r": plane("y", -1)},
                }
            },
            {"side": panel("wedge", {"low": "beyond", "end": "before", "l": "beyond", "r": "before"})},
            stock(),
        )


@pytest.mark.parametrize("scale, thickness", [(1, 6), (0.3, 2)])
def test_a_rib_between_grooves_that_fade_out_ends_in_the_planes_of_its_grooves(tmp_path, scale, thickness):
    """A pumpkin of eight equal ribs, r = 60 (0.85 + 0.15 |sin 4q| sin p): its grooves are deepest at the equator and none at
    the poles. By symmetry both faces of a rib end in the planes of its grooves, and half of its turn
    there is the angle between its first chord and the way around."""
    around, along = 96, 32
    p, q = np.meshgrid(np.pi * np.arange(1, along) / along, 2 * np.pi * np.arange(around) / around, indexing="ij")
    r = 60 * (0.85 + 0.15 * np.abs(np.sin(4 * q)) * np.sin(p))
    rings = np.stack([r * np.sin(p) * np.cos(q), r * np.sin(p) * np.sin(q), -45 * np.cos(p)], axis=2)
    points = np.vstack([[0, 0, -45], rings.reshape(-1, 3), [0, 0, 45]])
    number = 1 + np.arange((along - 1) * around).reshape(along - 1, around)
    a, b, c, d = number[:-1], np.roll(number[:-1], -1, 1), number[1:], np.roll(number[1:], -1, 1)
    low, high = number[0], number[-1]
    faces = [
        *(np.stack(face, axis=-1).reshape(-1, 3) for face in ((a, b, c), (b, d, c))),
        np.column_stack([np.roll(low, -1), low, np.zeros(around, int)]),
        np.column_stack([high, np.roll(high, -1), np.full(around, len(points) - 1)]),
    ]
    trimesh.Trimesh(points, np.vstack(faces), process=False).export(tmp_path / "pumpkin.stl")
    normals = {"one": (0.0, 1.0, 0.0), "two": (-np.sin(np.pi / 4), np.cos(np.pi / 4), 0.0)}
    cuts = {name: plane([float(x) for x in normal]) for name, normal in normals.items()}
    cuts |= {"foot": plane("z", -35 * scale), "top": plane("z", 35 * scale)}
    found = laid_flat(
        tmp_path,
        {"pumpkin": {"kind": "mesh", "file": "pumpkin.stl", "scale": scale, "crease": 25, "cuts": cuts}},
        {"rib": panel("pumpkin", {"one": "beyond", "two": "before", "foot": "beyond", "top": "before"})},
        stock(thickness=thickness, strain_limit=1),
    )
    (pattern,) = found.patterns
    by_cut = {edge.cut: edge for edge in pattern.piece.body.edges}
    for cut, normal in normals.items():
        for line in (by_cut[cut].inner, by_cut[cut].outer):
            assert np.abs(line @ normal).max() < 0.3
    beside, at = rings[along // 2 - 1, 1], rings[along // 2 - 1, 0]  # the equator's first chord
    turn = np.degrees(np.arctan2(*(beside - at)[:2]))
    assert min(edges(pattern)["one"].bevel) == pytest.approx(-turn, abs=0.5)


@pytest.mark.parametrize("scale, thickness", [(1, 6), (0.3, 2)])
def test_the_sides_of_a_twisted_prism_meet_along_helices(tmp_path, scale, thickness):
    """A hexagon of radius 60 carried up 100 and turned by 30 degrees: its edges are helices, 90 mm of height of one are
    90 sqrt(1 + (r w)^2) long for a turn of w in each mm. A turn of a sixth about the axis takes one edge of a side to the
    other, both faces of the foam too."""
    solid(tmp_path, lambda cq: cq.Workplane().polygon(6, 120).twistExtrude(100, 30))
    turn, sixth = np.pi / 600, np.pi / 3

    def helix(start):
        heights = np.linspace(0, 100, 9) * scale
        angles = start + turn / scale * heights
        through = np.column_stack([60 * scale * np.cos(angles), 60 * scale * np.sin(angles), heights])
        return {"line": {"through": through.tolist()}}

    cuts = {
        "foot": plane("z", 5 * scale),
        "head": plane("z", 95 * scale),
        "one": helix(0.0),
        "two": helix(sixth),
        "near": plane([float(np.cos(np.pi / 4)), float(np.sin(np.pi / 4)), 0.0], 10 * scale),
    }
    where = {"foot": "beyond", "head": "before", "one": "before", "two": "beyond", "near": "beyond"}
    found = laid_flat(
        tmp_path,
        {"prism": {"kind": "step", "file": "form.step", "scale": scale, "cuts": cuts}},
        {"side": panel("prism", where, flush=["foot", "head"])},
        stock(thickness=thickness),
    )
    (pattern,) = found.patterns
    one, two = (next(e for e in pattern.piece.body.edges if e.cut == cut) for cut in ("one", "two"))
    length = 90 * scale * np.sqrt(1 + (60 * turn) ** 2)
    for edge in (one, two):
        assert np.linalg.norm(np.diff(edge.on_form, axis=0), axis=1).sum() == pytest.approx(length, abs=0.05)
    c, s = np.cos(sixth), np.sin(sixth)
    onto = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    for mine, other in ((one.inner, two.inner), (one.outer, two.outer)):
        gap = cKDTree(mine @ onto.T).query(other)[0]
        step = np.linalg.norm(np.diff(mine, axis=0), axis=1).max()
        assert np.sqrt(np.maximum(gap**2 - (step / 2) ** 2, 0)).max() < 0.1
    lengths = [edge.length for edge in pattern.edges if edge.id in ("one", "two")]
    assert lengths[0] == pytest.approx(lengths[1], abs=0.02)

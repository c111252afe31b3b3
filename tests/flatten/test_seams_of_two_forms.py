"""Seams between panels of two forms that meet in the plane in which both are cut, as the lobes of a cushion do.

Two balls of radius R about points C off that plane meet there in a circle; what lies d outside of either has the radius
sqrt((R + d)^2 - C^2) in the plane.
"""

import math

import numpy as np
import pytest
from panel_designs import laid_flat, panel, plane, prop, stock

from foamwright.geometry import arc_length, chord_length
from foamwright.parts.records import EdgeRef

R, C = 60.0, 40.0
THICK = {"thick": stock(thickness=10)}


def lobes(at: float = -C, **more) -> tuple[dict, dict]:
    """The upper halves of two balls, the second about another point if need be."""
    forms, parts = {}, {}
    for name, x, side in (("one", C, "beyond"), ("two", at, "before")):
        cuts = {"between": plane("x"), "foot": plane("z")}
        forms[name] = {"kind": "superellipsoid", "centre": [x, 0, 0], "radii": [R, R, R], "cuts": cuts}
        where = {"between": side, "foot": "beyond"}
        parts[name] = panel(name, where, flush=["between", "foot"], **(more if name == "two" else {}))
    return forms, parts


def test_lobes_meet_in_a_seam_of_one_length_whatever_their_forms(tmp_path):
    made = laid_flat(tmp_path, *lobes(), stock(strain=0.9))
    (seam,) = made.seams
    assert {(seam.part_a, seam.edge_a), (seam.part_b, seam.edge_b)} == {("one", "between"), ("two", "between")}
    assert seam.length_a == pytest.approx(seam.length_b, abs=0.01)
    for name, other in (("one", "two"), ("two", "one")):
        pattern = made.pattern(name)
        (edge,) = (edge for edge in pattern.edges if edge.id == "between")
        assert edge.joins == (other,) and len(edge.ticks)
        (line,) = (edge for edge in pattern.piece.body.edges if edge.id == "between")
        assert arc_length(line.points)[-1] == pytest.approx(math.pi * math.sqrt((R + 3) ** 2 - C**2), abs=1e-3)


def test_the_seam_of_two_forms_is_known_before_anything_is_laid_flat(tmp_path):
    (seam,) = prop(tmp_path, *lobes()).seams
    assert {seam.a, seam.b} == {EdgeRef("one", "between"), EdgeRef("two", "between")}


def test_lobes_of_which_one_stands_over_the_other_are_compared_where_they_touch(tmp_path):
    """Of the second, about a point nearer to the plane, the circles of both faces are wider by that."""
    made = laid_flat(tmp_path, *lobes(at=2 - C), stock(strain=0.9))
    (seam,) = made.seams
    low, high = math.sqrt(R**2 - (C - 2) ** 2), math.sqrt((R + 6) ** 2 - C**2)
    assert seam.length_a == pytest.approx(seam.length_b, abs=0.01)
    assert (seam.flush, seam.step) == ("neither", pytest.approx(low - math.sqrt(R**2 - C**2), abs=0.02))
    wide = high - math.sqrt(R**2 - C**2)
    assert seam.touch_a == (pytest.approx(6 * seam.step / wide, abs=0.02), 6.0)


@pytest.mark.parametrize("other", [{"at": 10 - C}, {"laid": "inside"}])
def test_edges_that_touch_by_less_than_half_are_no_seam(tmp_path, other):
    assert prop(tmp_path, *lobes(**other)).seams == ()


def tubes(scale: float, start: float = -90.0, **more) -> tuple[dict, dict]:
    """Half a tube of 6 mm, and on it from an angle on to its end one of 10 mm, of a form of its own."""
    profile = [[-10 * scale, 60 * scale], [150 * scale, 60 * scale]]
    turned = [math.sin(math.radians(start)), math.cos(math.radians(start)), 0.0]
    cuts = {"half": plane("x"), "foot": plane("z"), "top": plane("z", 80 * scale), "end": plane("z", 140 * scale)}
    cuts["start"] = {"plane": {"normal": turned}}
    form = {"kind": "revolution", "axis": "z", "smooth": False, "profile": profile, "cuts": cuts}
    between = {"half": "beyond", "foot": "beyond", "top": "before"}
    above = {"half": "beyond", "top": "beyond", "end": "before"} | ({"start": "beyond"} if start > -90.0 else {})
    parts = {"low": panel("low", between, **more), "high": panel("high", above, stock="thick", **more)}
    return {"low": form, "high": form}, parts


@pytest.mark.parametrize("scale", [0.3, 1, 3])
def test_edges_of_unlike_foam_are_as_long_as_the_line_on_which_they_touch(tmp_path, scale):
    """Both are laid on the form, so the 6 mm next to it touch: half a circle in the middle of these."""
    made = laid_flat(tmp_path, *tubes(scale), stocks=THICK)
    (seam,) = [seam for seam in made.seams if {seam.part_a, seam.part_b} == {"low", "high"}]
    assert seam.length_a == pytest.approx(seam.length_b, abs=0.01)
    assert seam.length_a == pytest.approx(math.pi * (60 * scale + 3), rel=2e-4)
    assert (seam.flush, seam.step) == ("inside", pytest.approx(4.0, abs=0.05))
    low, high = (next(e for e in made.pattern(part).edges if e.id == "top").tick_numbers for part in ("low", "high"))
    assert low == high[::-1] != ()


@pytest.mark.parametrize("mirror", [{}, {"mirror": "x"}])
def test_an_edge_that_runs_on_where_another_ends_is_a_seam_as_far_as_that(tmp_path, mirror):
    """The upper tube takes a quarter of a circle, the lower one goes on for another that is glued to nothing."""
    forms, parts = tubes(1, 0.0, **mirror)
    found = prop(tmp_path, forms, parts, stocks=THICK)
    (seam,) = [seam for seam in found.seams if {seam.a.part, seam.b.part} == {"low", "high"}]
    low = found.piece("low")
    tops = {edge.id: arc_length(edge.on_form)[-1] for edge in low.body.edges if edge.cut == "top"}
    assert sorted(tops.values()) == pytest.approx([30 * math.pi, 30 * math.pi], abs=0.05)
    assert seam.copies == (2 if mirror else 1)
    (free,) = {*tops} - {seam.a.edge, seam.b.edge}
    assert not next(edge for edge in low.body.edges if edge.id == free).joins


def test_what_only_rests_on_another_has_no_seam_with_it(tmp_path):
    forms, parts = tubes(1.0)
    parts["high"]["rests_on"] = ["low"]
    assert prop(tmp_path, forms, parts, stocks=THICK).seams == ()


def test_ticks_stand_at_the_same_places_of_the_circle_where_darts_part_a_bevelled_edge(tmp_path):
    """Between two darts the drawn line has its own points and both ends, which are nearer to the next than those are to each
    other: a tick on it, square to the edge beside the neutral line, is on the circle where that of the other lobe is."""
    darts = [{"edge": "between", "at": at, "depth": 20} for at in (0.215, 0.507, 0.783)]
    made = laid_flat(tmp_path, *lobes(darts=darts), stock(strain=0.9))
    angles = [_angles(made.pattern(name)) for name in ("one", "two")]
    apart = np.abs(np.subtract(*angles)) * math.sqrt((R + 3) ** 2 - C**2)
    assert len(apart) > 2 and apart.max() < 0.15


def _angles(pattern):
    """Where on the circle the ticks of a lobe's bevelled edge stand, by their numbers: the nearest sides of its mesh in space."""
    edge = next(edge for edge in pattern.edges if edge.id == "between")
    along, mesh = chord_length(edge.points), pattern.mesh
    sides = np.sort(np.vstack([mesh.surface.triangles[:, [i, (i + 1) % 3]] for i in range(3)]), axis=1)
    sides, times = np.unique(sides, axis=0, return_counts=True)
    a, b = (mesh.flat[sides[times == 1, i]] for i in (0, 1))
    space = mesh.surface.points[sides[times == 1]]
    found = {}
    for number, at in zip(edge.tick_numbers, edge.ticks, strict=True):
        tick = np.array([np.interp(at, along, column) for column in edge.points.T])
        share = np.clip(((tick - a) * (b - a)).sum(axis=1) / ((b - a) ** 2).sum(axis=1), 0.0, 1.0)
        side = int(np.linalg.norm(tick - a - share[:, None] * (b - a), axis=1).argmin())
        _, y, z = space[side, 0] + share[side] * (space[side, 1] - space[side, 0])
        found[number] = math.atan2(z, y)
    return np.array([found[number] for number in sorted(found)])

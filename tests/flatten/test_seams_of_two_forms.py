"""Seams between panels of two forms that meet in the plane in which both are cut, as the lobes of a cushion do.

Two balls of radius R about points C off that plane meet there in a circle; what lies d outside of either has the radius
sqrt((R + d)^2 - C^2) in the plane.
"""

import math

import pytest
from panel_designs import laid_flat, panel, plane, prop, stock

from foamwright.geometry import arc_length
from foamwright.parts.records import EdgeRef

R, C = 60.0, 40.0


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


@pytest.mark.parametrize("other", [{"at": 2 - C}, {"laid": "inside"}])
def test_edges_of_which_a_face_ends_elsewhere_are_no_seam(tmp_path, other):
    assert prop(tmp_path, *lobes(**other)).seams == ()

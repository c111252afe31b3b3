"""Which points of the other face's line belong to those of the drawn one, where a corner is a hair's breadth wide."""

from dataclasses import replace
from math import radians, tan

import numpy as np
import pytest
import shapely

from foamwright.proof.bench.foam import Copy, Edge, Foam, Part, corners, opposite_stretches
from foamwright.proof.bench.lengths import bevel_faults, neutral_lengths
from foamwright.proof.bench.measure import Model, Surface
from foamwright.proof.bench.mesh import sheet_of
from foamwright.proof.bench.written import edge_faults

# An arch on two feet, each cut off by a hair at its inner corner; the other face is a millimetre further in or out.
ARCH = [
    *([-135.0, 0.0], [-110.2, 0.1], [-110.0, 0.0], [-110.0, 75.0], [0.0, 75.0]),
    *([0.0, 0.0], [0.2, 0.1], [25.0, 0.0], [25.0, 100.0], [-135.0, 100.0]),
]
OTHER = [
    *([-134.0, -0.8], [-111.0, -0.7], [-110.0, -0.1], [-109.0, 75.0], [-1.0, 75.0]),
    *([-1.0, 0.0], [0.0, -0.6], [24.0, -0.8], [24.0, 99.0], [-134.0, 99.0]),
]
# A wall of 6 mm with both ends mitred: its inside face is 5 mm wide, its outside one 17.
WALL, BEYOND = (
    [[0.0, 0.0], [5.0, 0.0], [5.0, 30.0], [0.0, 30.0]],
    [[-6.0, 0.0], [11.0, 0.0], [11.0, 30.0], [-6.0, 30.0]],
)


def part_of(ring, other, thickness, bent):
    return Part(
        *("p", "A", "P", "panel", thickness, bent, thickness / 2 if bent else 0.0, True),
        *((np.array(ring),), (np.array(other),), (), (), (), (False,), ({},)),
    )


def edge_of(points, bevel):
    return Edge("foot", (np.array(points),), (), (bevel,), False)


@pytest.mark.parametrize("foot", [slice(0, 3), slice(5, 8)])
def test_a_foot_is_as_long_as_it_is_and_not_as_the_way_to_the_other(foot):
    part = part_of(ARCH, OTHER, 2.0, True)
    edge = edge_of(ARCH[foot], 21.0)
    lengths = neutral_lengths(part, edge, np.array([0.0, edge.length]))
    assert float(np.ptp(lengths)) == pytest.approx(25.0, abs=1.0)


def test_corners_belong_to_those_of_the_other_face_in_their_order():
    part = part_of(ARCH[5:] + ARCH[:5], OTHER, 2.0, True)
    away = part.neutral_rings[0] - part.rings[0]
    assert float(np.linalg.norm(away, axis=1).max()) < 1.5


@pytest.mark.parametrize("begin", range(6))
def test_a_corner_written_twice_is_one_corner(begin):
    # once to the last decimal, and once beside it: foam was bent of an eighth of a cone, and lay as it liked
    ring = [[0.0, 0.0], [0.0, 0.0], [60.0, 0.0], [60.0, 40.0], [59.999, 40.0], [0.0, 40.0]]
    other = [[-2.0, -2.0], [62.0, -2.0], [62.0, 42.0], [-2.0, 42.0]]
    part = part_of(ring[begin:] + ring[:begin], other, 4.0, True)
    sheet = sheet_of(part, 12.0)
    assert len(corners(part.rings[0])) == 4
    assert float(shapely.area(shapely.polygons(sheet.flat[sheet.triangles])).sum()) == pytest.approx(
        62.0 * 42.0, abs=1.0
    )  # midway between both faces


def test_the_foot_of_a_mitred_wall_is_a_trapezium():
    part = part_of(WALL, BEYOND, 6.0, False)
    (line,) = opposite_stretches(part, edge_of(WALL[:2], 0.0))
    assert line.tolist() == [[-6.0, 0.0], [11.0, 0.0]]  # 5 mm and 6 tan 45 at both ends


def test_a_hole_at_a_slant_is_as_long_as_its_lines_tell():
    """Both lines are circles of 3 mm, 2.5 mm apart: between them lies another one. Nearest points lead past where they cross."""
    turn = np.linspace(0.0, 2 * np.pi, 180, endpoint=False)
    circle = 3.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    part = part_of(circle.tolist(), (circle + [2.5, 0.0]).tolist(), 6.0, True)
    edge = replace(edge_of([*circle.tolist(), circle[0].tolist()], 22.0), loop=True)
    assert float(np.ptp(neutral_lengths(part, edge, np.array([0.0, edge.length])))) == pytest.approx(
        6 * np.pi, rel=1e-3
    )


def test_a_steep_cut_is_measured_by_its_lines_and_not_by_what_is_told_of_it():
    """Foam of 6 mm that curves under the cut: 59 degrees are told, but the lines, and the face of the model, lean by 62.8."""
    apart = 6.0 * tan(radians(62.8))
    strip, beyond = ([[0.0, y], [75.6, y], [75.6, 50.0], [0.0, 50.0]] for y in (0.0, -apart))
    part = replace(part_of(strip, beyond, 6.0, True), edges=(edge_of(strip[:2], 59.0),))
    foam = Foam({"p": part}, (Copy("p", 1),), (), ())
    face = np.array([[0.0, 0.0, 0.0], [75.6, 0.0, 0.0], [75.6, apart, 6.0], [0.0, apart, 6.0]])
    model = Model({(Copy("p", 1), "foot"): Surface.of([(face, np.array([[0, 1, 2], [0, 2, 3]]))])}, {})
    assert edge_faults(foam, model) == []
    assert bevel_faults(foam) == []
    short = replace(part, edges=(edge_of([[0.0, 0.0], [70.0, 0.0]], 59.0),))
    assert len(edge_faults(Foam({"p": short}, foam.copies, (), ()), model)) == 1

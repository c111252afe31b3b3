"""Seams and darts of the flagship: lengths, and match ticks on both sides."""

import numpy as np
import pytest
from panel_designs import polygon_area, polyline_length
from shapely.geometry import Polygon

from foamwright.flatten.records import cut_square

EVEN = 0.1  # mm


def agrees(a, b):
    """The project's own rule: within 0.25 mm or 0.1 %, whichever is larger."""
    return abs(a - b) <= max(0.25, 0.001 * max(a, b))


def edge_of(patterns, part, edge):
    return next(e for e in patterns.pattern(part).edges if e.id == edge)


def closed(edge):
    """Places of an edge's ticks, its middle and its end once its darts are closed, by its drawn points."""
    steps = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    reached = np.concatenate([[0.0], np.cumsum(steps)])
    mouths = np.array(edge.mouths, int)

    def less_mouths(distance):
        return distance - steps[mouths][reached[mouths] < distance - 1e-9].sum()

    ticks = {n: less_mouths(t) for n, t in zip(edge.tick_numbers, edge.ticks)}
    return ticks, less_mouths(edge.middle), less_mouths(reached[-1])


def test_both_edges_of_every_seam_have_one_length(flagship):
    assert len(flagship.seams) >= 20
    for seam in flagship.seams:
        assert agrees(seam.length_a, seam.length_b), seam.id
        for part, edge, length in (
            (seam.part_a, seam.edge_a, seam.length_a),
            (seam.part_b, seam.edge_b, seam.length_b),
        ):
            # by the cut line itself, which is a polyline of points at most 1 mm apart; beside a bevel it is the line of
            # the face that is drawn on, which ends before or after the neutral line that is compared
            drawn = closed(edge_of(flagship, part, edge))[2]
            pattern = flagship.pattern(part)
            end = 0.0 if cut_square(pattern) else 2 * pattern.piece.stock.thickness
            assert drawn == pytest.approx(length, rel=2e-4, abs=end), (part, edge)


def test_seams_are_listed_once(flagship):
    sides = [frozenset([(s.part_a, s.edge_a), (s.part_b, s.edge_b)]) for s in flagship.seams]
    assert len(set(sides)) == len(sides)
    # a panel glued to its own mirror image is one seam of one edge with itself
    alone = {next(iter(side)) for side in sides if len(side) == 1}
    assert {("bow_upper", "centre"), ("side_lower", "centre"), ("stern_lower", "centre")} <= alone
    ids = [p.piece.id for p in flagship.patterns]
    assert len(set(ids)) == len(ids)
    upper = flagship.pattern("bow_upper").piece
    assert (upper.quantity, upper.mirrored) == (2, 1)


def test_both_legs_of_every_dart_have_one_length(flagship):
    darts = [(p, d) for p in flagship.patterns for d in p.darts]
    assert len(darts) >= 4
    for pattern, dart in darts:
        first, second = polyline_length(dart.leg_a), polyline_length(dart.leg_b)
        assert agrees(first, second), (pattern.piece.id, dart.edge)
        assert dart.lengths == pytest.approx((first, second), rel=2e-4)
        assert np.allclose(dart.leg_a[-1], dart.leg_b[-1])
        # both legs lie on the cut line
        for leg in (dart.leg_a, dart.leg_b):
            gap = np.linalg.norm(pattern.outline[:, None] - leg[None], axis=2).min(axis=0)
            assert gap.max() < 1e-9


def test_ticks_are_spaced_evenly(flagship):
    for pattern in flagship.patterns:
        for edge in pattern.edges:
            if edge.seam is None or pattern.mesh is None:
                continue
            ticks, middle, length = closed(edge)
            count = len(ticks) + 1
            along = np.sort(np.array([0.0, *ticks.values(), length]))
            assert sorted(ticks) == list(range(1, count))
            if cut_square(pattern):
                even = np.linspace(0.0, length, count + 1)
                assert np.abs(along - even).max() < EVEN, (pattern.piece.id, edge.id)
                assert middle == pytest.approx(length / 2, abs=EVEN)
            else:  # the line that is drawn may end before or after that along which they are even
                steps = np.diff(along[1:-1])
                assert len(steps) == 0 or np.ptp(steps) < 2 * EVEN


def test_ticks_of_one_number_meet(flagship):
    for seam in flagship.prop.seams:
        if flagship.pattern(seam.a.part).mesh is None:
            continue
        one, _, length = closed(edge_of(flagship, seam.a.part, seam.a.edge))
        other, _, _ = closed(edge_of(flagship, seam.b.part, seam.b.edge))
        assert sorted(one) == sorted(other)
        for number, place in one.items():
            there = length - other[number] if seam.reversed_b else other[number]
            assert there == pytest.approx(place, abs=EVEN), (seam, number)


def test_outlines_are_single_counter_clockwise_rings(flagship):
    for pattern in flagship.patterns:
        if pattern.mesh is None:
            continue
        ring = Polygon(pattern.outline, pattern.holes)
        assert ring.is_valid, pattern.piece.id
        assert polygon_area(pattern.outline) > 0
        other = Polygon(pattern.other_outline, pattern.other_holes)
        assert other.is_valid, pattern.piece.id
        assert ring.area == pytest.approx(pattern.area, rel=1e-9)

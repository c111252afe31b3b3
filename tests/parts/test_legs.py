"""Corners of outlines and of open lines, of figures whose corners are known."""

import numpy as np
import pytest
import shapely

from foamwright.parts import legs as legs_module
from foamwright.parts.leg_levels import legs_of
from foamwright.parts.legs import Arc, Straight, corners, corners_of_line, is_smooth, legs
from foamwright.parts.paths import path_ring


def bend(angle: float) -> np.ndarray:
    """A line that turns once, by so many degrees, to the left."""
    way = np.radians(angle)
    return np.array([[0.0, 0.0], [10.0, 0.0], [10.0 + 10 * np.cos(way), 10 * np.sin(way)]])


def arc(count: int = 60) -> np.ndarray:
    t = np.linspace(0.0, np.pi, count)
    return 20 * np.column_stack([np.cos(t), np.sin(t)])


@pytest.mark.parametrize("angle, legs", [(24, 0), (26, 2), (-24, 0), (-26, 2), (150, 2), (180, 2)])
def test_an_open_line_is_parted_where_it_turns_by_more_than_25_degrees(angle, legs):
    found = legs_of(bend(angle), closed=False)
    assert len(found) == legs
    if legs:
        assert np.array_equal(found[0][-1], found[1][0]) and np.array_equal(found[0][-1], [10.0, 0.0])


def test_the_ends_of_a_line_are_no_corners_and_a_curve_has_none():
    assert not len(corners_of_line(arc()))
    assert not len(corners_of_line(np.array([[0.0, 0.0], [5.0, 0.0]])))
    with_straight_ends = np.vstack([[[30.0, 0.0]], arc(), [[-20.0, -30.0]]])  # in square, out along the tangent
    assert corners_of_line(with_straight_ends).tolist() == [1]


def test_a_closed_line_has_the_same_corners_wherever_it_begins_and_whichever_way_it_runs():
    ring = np.vstack([arc(), [[-20.0, -15.0], [20.0, -15.0]]])  # a gate: tangents go on into the posts
    expected = {(-20.0, -15.0), (20.0, -15.0)}
    for shift in range(0, len(ring), 7):
        for one in (np.roll(ring, shift, axis=0), np.roll(ring, shift, axis=0)[::-1]):
            assert {tuple(p) for p in one[corners(one)].tolist()} == expected
            assert len(legs_of(one, closed=True)) == 2


def test_a_drop_is_parted_once_more_opposite_to_its_corner():
    # 10 mm round; its legs touch it at 30 degrees and meet at 60
    t = np.linspace(np.radians(-30), np.radians(210), 80)
    drop = np.vstack([[[0.0, -20.0]], 10 * np.column_stack([np.cos(t), np.sin(t)])])
    assert corners(drop).tolist() == [0]
    first, second = legs_of(drop, closed=True)
    assert np.array_equal(first[0], [0.0, -20.0]) and np.array_equal(second[-1], [0.0, -20.0])
    assert np.array_equal(first[-1], second[0]) and first[-1][1] > 9.9


@pytest.mark.parametrize("left", [1e-4, 0.01, 0.03, 0.2, 0.7])
def test_a_cut_through_a_curve_leaves_two_corners_however_short_the_rest_of_its_last_chord(left):
    """Two corners at the ends of one straight leg, each beside `left` of a sample: seen with a transom of a boat."""
    around = np.radians(np.arange(0, 360, 1.2))
    ring = np.column_stack([60 * np.cos(around), 48 * np.sin(around)])
    above = float(np.sort(ring[:, 1])[np.sort(ring[:, 1]) > 20][0])  # a sample; the cut goes `left` past it
    half = np.array([[-99, -99], [99, -99], [99, above + left / 2], [-99, above + left / 2]])
    cut = shapely.Polygon(ring).intersection(shapely.Polygon(half))
    points = shapely.get_coordinates(cut.exterior)[:-1]
    found = points[corners(points, np.radians(5.0))]
    assert len(found) == 2 and np.allclose(found[:, 1], above + left / 2)


@pytest.mark.parametrize("wobble", [0.0, 1e-9, 1e-7, 1e-5, 1e-3])
def test_what_rules_out_arcs_at_once_rules_out_none_that_there_is(monkeypatch, wobble):
    random = np.random.default_rng(4)
    t = np.linspace(0.0, 2.0 * np.pi, 90, endpoint=False)
    oval = np.column_stack([70.0 * np.cos(t), 40.0 * np.sin(t)])  # no arc, but nearly one at its ends
    gate = np.vstack([arc(), [[-20.0, -15.0], [0.0, -22.0], [20.0, -15.0]]])
    tried = []
    on_circle = legs_module._on_one_circle
    monkeypatch.setattr(legs_module, "_on_one_circle", lambda points: tried.append(len(points)) or on_circle(points))
    for ring in (oval, gate, np.vstack([gate, 0.5 * gate[::-1]])):
        ring = ring + wobble * random.normal(size=ring.shape)
        quick, thorough = legs_module._Vertices(ring), legs_module._Vertices(ring)
        vars(thorough)["_may_begin"] = [True] * len(ring)
        found = quick._arcs(0, 2 * len(quick.kept))
        looked_at = len(tried)
        assert found == thorough._arcs(0, 2 * len(thorough.kept))
        assert looked_at <= len(tried) - looked_at
        tried.clear()
    assert legs_module._Vertices(oval)._may_begin.count(True) < 0.3 * len(oval)


@pytest.mark.parametrize("half", [5.0, 10.0, 15.0, 30.0])
def test_a_flat_cut_from_a_disc_is_straight_though_both_its_ends_lie_on_the_circle(half):
    high = np.sqrt(130.0**2 - half**2)
    round_step = {"to": [-half, high], "through": [0.0, -130.0], "corner": 0.0}
    found = legs(path_ring({"from": [-half, high], "steps": [[half, high], round_step], "corner": 0.0}))
    assert sorted(type(leg).__name__ for leg in found) == ["Arc", "Straight"]
    (flat,) = (leg for leg in found if isinstance(leg, Straight))
    assert flat.length == pytest.approx(2 * half)


def test_a_straight_leg_that_a_curve_meets_alike_at_both_ends_is_no_arc_with_that():
    way = [[63.8, 355.4], [98.0, 290.0], [130.0, 95.0], [0.0, 0.0], [-130.0, 95.0], [-98.0, 290.0], [-63.8, 355.4]]
    round_step = {"to": [-40.0, 360.0], "along": way, "corner": 0.0}
    ring = path_ring({"from": [-40.0, 360.0], "steps": [[40.0, 360.0], round_step], "corner": 0.0})
    found = legs(ring)
    places = np.vstack([leg.at(np.linspace(0.0, leg.length, 200))[0] for leg in found])
    assert shapely.distance(shapely.LinearRing(ring), shapely.points(places)).max() < 0.02
    assert any(isinstance(leg, Straight) and leg.length == pytest.approx(80.0) for leg in found)
    assert not any(isinstance(leg, Arc) for leg in found)


def test_a_long_arc_is_told_in_a_few_looks_and_only_as_far_as_it_goes(monkeypatch):
    """Of ever more of its points at once: vertex by vertex, an arc of n of them took n looks at all of n."""
    looks = []
    all_through = legs_module._all_through
    monkeypatch.setattr(legs_module, "_all_through", lambda *given: looks.append(0) or all_through(*given))
    for on in (3, 4, 7, 8, 40, 700):
        t = np.linspace(0.0, 1.5, 700)
        points = 50.0 * np.column_stack([np.cos(t), np.sin(t)])
        points[on:] += 0.01
        looks.clear()
        assert legs_module._on_one_circle(points) == on
        assert len(looks) < 12


def test_of_a_finely_sampled_curve_few_vertices_are_tried_as_the_beginning_of_an_arc(monkeypatch):
    turn = np.linspace(0.0, 2.0 * np.pi, 1500, endpoint=False)
    oval = np.column_stack([150.0 * np.cos(turn), 110.0 * np.sin(turn)])
    tried = []
    exact = legs_module._on_one_circle
    monkeypatch.setattr(legs_module, "_on_one_circle", lambda points: tried.append(len(points)) or exact(points))
    assert is_smooth(legs(oval))
    assert len(tried) < 150  # of 1500: four vertices that mirror each other across an axis do lie on one circle

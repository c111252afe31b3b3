"""Whether a leader runs along a line, against lengths that shapely finds within a buffer around it."""

import numpy as np
import shapely

from foamwright.templates.place import Field, Ground

BESIDE, LONGEST = 0.3, 2.0  # mm


def test_leaders_that_run_along_a_line_are_those_with_more_than_2_mm_of_it_beside_them():
    rng = np.random.default_rng(1)
    told = []
    for sides in (2, 5, 40):
        ground = Ground(
            shapely.Point(0, 0).buffer(50, quad_segs=sides),
            [shapely.LineString(rng.uniform(-50, 50, (6, 2))) for _ in range(8)],
        )
        lines = shapely.get_coordinates(ground.segments.geometries).reshape(-1, 2, 2)
        some = lines[rng.integers(0, len(lines), 60)]
        near_one, on_one = (some + rng.normal(0, off, some.shape) for off in (0.3, 1e-9))
        leaders = np.concatenate([rng.uniform(-80, 80, (60, 2, 2)), near_one, on_one])
        leaders = leaders[np.hypot(*(leaders[:, 1] - leaders[:, 0]).T) > 1.0]
        around = shapely.buffer(shapely.linestrings(leaders), BESIDE)
        beside = [shapely.length(shapely.intersection(ground.segments.geometries, one)).sum() for one in around]
        assert np.array_equal(Field(ground, 0.0)._along_lines(leaders), np.array(beside) > LONGEST)
        told += beside
    assert min(told) < LONGEST < max(told)


def test_what_is_level_with_a_leader_is_counted_only_within_its_reach():
    foam = shapely.box(0, 0, 100, 100)
    rows = [shapely.LineString([(10, y), (90, y)]) for y in (50.0, 50.31)]
    field = Field(Ground(foam, rows), 0.0)
    leaders = np.array([[[20, y], [40, y]] for y in (50.0, 50.29, 49.71, 49.69, 50.62, 50.6)])
    assert field._along_lines(leaders).tolist() == [True, True, True, False, False, True]

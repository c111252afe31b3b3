"""An arrow ends where the part goes, and not on what stands before that."""

import numpy as np
from block_props import piece, scene

from foamwright.assembly.sight import basis
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.arrows import Way, guides
from foamwright.booklet.pictures.looks import FRONT

LIFT = 90.0


def arrows(wall_high):
    """Of a plate that is set on two posts, the one to port behind a wall."""
    found = scene(
        piece("left", (20, 20, 60), (0, 80, 30)),
        piece("right", (20, 20, 60), (0, -80, 30)),
        piece("wall", (10, 120, wall_high), (60, 110, wall_high / 2)),
        piece("plate", (40, 200, 10), (0, 0, 65)),
    )
    points = render.shifted(found, {3: np.array([0.0, 0.0, LIFT])})
    seen = render.window(points, found, range(4), basis(FRONT), (600, 480))
    way = Way((3,), np.array([[0.0, 0.0, 0.0], [0.0, 0.0, LIFT]]), (0, 1, 2))
    return guides(found, [way], render.look(points, found, range(4), seen), seen), seen.frame


def nearest(line, frame):
    """The y of the post whose top the arrow's head is nearer to, and how far from it that is, in mm of the view."""
    tops = {y: frame[:2] @ np.array([0.0, y, 60.0]) for y in (80.0, -80.0)}
    return min((float(np.linalg.norm(line[-1] - top)), y) for y, top in tops.items())


def test_both_ends_have_an_arrow_where_both_are_seen():
    lines, frame = arrows(20.0)
    assert sorted(nearest(line, frame)[1] for line in lines) == [-80.0, 80.0]
    assert all(nearest(line, frame)[0] < 20.0 for line in lines)


def test_the_end_behind_a_wall_has_none():
    lines, frame = arrows(130.0)
    assert [nearest(line, frame)[1] for line in lines] == [-80.0]
    assert nearest(lines[0], frame)[0] < 20.0


def test_what_goes_straight_away_from_the_eye_has_no_arrow_where_another_shows_the_way():
    """Bars go on the four walls of a box. Of those that go level, but seem to go up, the reader would take that for the way."""
    out = {0: (1.0, 0.0), 1: (-1.0, 0.0), 2: (0.0, 1.0), 3: (0.0, -1.0)}
    bars = [piece("bar", (10, 10, 40), (75 * x, 75 * y, 50)) for x, y in out.values()]
    found = scene(piece("box", (140, 140, 100), (0, 0, 50)), *bars)
    shifts = {1 + k: np.array([60.0 * x, 60.0 * y, 0.0]) for k, (x, y) in out.items()}
    eye = basis((-1.0, -0.15, -0.6))
    points = render.shifted(found, shifts)
    seen = render.window(points, found, range(5), eye, (600, 480))
    ways = [Way((copy,), np.array([np.zeros(3), shift]), (0,)) for copy, shift in shifts.items()]
    look = render.look(points, found, range(5), seen)
    up = eye[:2] @ (0.0, 0.0, 1.0)

    def rises(line):
        leg = line[-1] - line[0]
        return abs(leg @ up) / np.linalg.norm(leg) / np.linalg.norm(up)

    assert rises(guides(found, ways[:1], look, seen)[0]) > 0.9  # by itself it has one all the same
    drawn = guides(found, ways, look, seen)
    assert drawn and all(rises(line) < 0.8 for line in drawn)


def test_of_two_alike_the_one_whose_place_is_hidden_has_no_arrow():
    """It would end on what stands before its place, as if that were where the part goes; by itself it has such a one."""
    fins = [piece("fin", (60, 40, 10), (0, y, 50)) for y in (-120.0, 120.0)]
    found = scene(piece("hull", (200, 200, 100), (0, 0, 50)), *fins)
    shifts = {copy: np.array([0.0, sign * 60.0, 40.0]) for copy, sign in ((1, -1.0), (2, 1.0))}
    for towards in ((-0.4, 1.0, -0.35), (-0.4, -1.0, -0.35)):
        eye = basis(towards)
        points = render.shifted(found, shifts)
        seen = render.window(points, found, range(3), eye, (600, 480))
        look = render.look(points, found, range(3), seen)
        ways = {copy: Way((copy,), np.array([np.zeros(3), shift]), (0,)) for copy, shift in shifts.items()}
        near, far = sorted(
            ways, key=lambda copy: found.points[slice(*render.points_of(found)[copy])].mean(axis=0) @ eye[2]
        )
        assert guides(found, [ways[far]], look, seen)
        both = guides(found, list(ways.values()), look, seen)
        assert len(both) == len(guides(found, [ways[near]], look, seen)) > 0

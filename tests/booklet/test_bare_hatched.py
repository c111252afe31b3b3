"""Red in the picture of a step that paints is what stays bare: every place that glue comes to, and faces that get no paint.
Areas are worked out by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from block_props import piece, scene

from foamwright.assembly.patches import patches
from foamwright.assembly.sight import basis
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.coats import Painter
from foamwright.booklet.pictures.hatching import Glued, all_spots, hatching
from foamwright.booklet.words.coats import Coats


def square(size, at=(0.0, 0.0), height=0.0):
    corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * size / 2.0 + at
    return np.column_stack([corners, np.full(4, height)])


UP = np.tile([0.0, 0.0, 1.0], (5, 1))


def test_two_places_of_one_contact_bound_each_other_no_more_than_a_hole_does_what_lies_in_it():
    """A bar over a window lies on its frame at two places. A frame with a pad within it: a hole belongs to what is around it."""
    low, high = square(6, (0, -70)), square(6, (0, 70))
    assert patches((low, high), UP) == ((low,), (high,))
    outer, hole, pad = square(60), square(40), square(20)
    apart = square(10, (100, 0))
    assert patches((pad, apart, hole, outer), UP) == ((outer, hole), (pad,), (apart,))


def test_what_goes_round_in_a_hole_is_one_patch_with_two_rims():
    angles = np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False)
    around = np.column_stack([np.cos(angles), np.sin(angles), 0.0 * angles])
    rims = (5.0 * around, 5.0 * around + (0.0, 0.0, 10.0))
    assert patches(rims, around) == (rims,)


def looked_at(found, shown, towards=(0.0, 0.0, -1.0)):
    seen = render.window(found.points, found, shown, basis(towards, (0.0, 1.0, 0.0)), (400, 300))
    view = render.look(found.points, found, shown, seen)
    return view, render.normals_of(found.points, found, render.corner_normals(found), view, seen), seen


@pytest.mark.parametrize("feet", [(-70, 70), (-70, 0, 70)])
def test_each_of_several_places_that_one_part_is_glued_by_is_hatched(feet):
    """A bridge of so many feet of 20 by 20 mm on a board."""
    found = scene(piece("board", (200, 60, 10)))
    loops = [square(20, (x, 0.0), 5.0) for x in feet]
    near = np.array([(x + u, v, 5.0) for x in feet for u in range(-8, 9, 4) for v in range(-8, 9, 4)], float)
    one_way = np.tile([0.0, 0.0, 1.0], (len(near), 1))
    view, normal, seen = looked_at(found, [0])
    red = hatching(view, normal, seen, [Glued(0, near, one_way, patches(loops, one_way))])
    assert red.sum() * seen.step**2 == pytest.approx(400.0 * len(feet), rel=0.05)


def test_what_hardly_shows_of_a_place_stays_red_where_paint_comes():
    """A board that a screen hides up to 10 of the 100 mm that are glued: somebody paints those by the picture."""
    found = scene(piece("board", (200, 60, 10)), piece("screen", (140, 80, 10), (-30, 0, 60)))
    near = np.array([(x, y, 5.0) for x in range(-50, 51, 4) for y in range(-8, 9, 4)], float)
    place = Glued(0, near, np.tile([0.0, 0.0, 1.0], (len(near), 1)))
    view, normal, seen = looked_at(found, [0, 1])
    assert not hatching(view, normal, seen, [place]).any()
    assert all_spots(view, normal, seen, [place]).sum() * seen.step**2 > 100.0


def test_a_face_that_gets_no_paint_is_red_on_what_stands():
    """A slab over a foot: the slab's lower face is left bare (1: it is painted on its outside, the upper face, alone)."""
    found = scene(piece("foot", (40, 40, 40)), piece("slab", (200, 200, 10), (0, 0, 25)))
    painter = Painter(SimpleNamespace(bodies=found))
    view, normal, seen = looked_at(found, [0, 1], (0.0, 0.0, 1.0))
    for sign, area in ((1.0, 200.0**2 - 40.0**2), (-1.0, 0.0)):
        red = painter._bare_faces(view, normal, seen, [0, 1], {"slab": sign})
        assert red.sum() * seen.step**2 == pytest.approx(area, rel=0.03)


def chamber(hole):
    """A rib on the floor of a chamber of 200 mm, behind the rim of the hole (mm) in the lid; that is 100 mm
    thick, so that the rib is seen through it at 18 degrees and neither upright nor at 45."""
    lid = [
        piece(f"lid{n}", size, at)
        for n, (size, at) in enumerate(
            (
                ((200, 100 - hole / 2, 100), (0, 50 + hole / 4, 150)),
                ((200, 100 - hole / 2, 100), (0, -50 - hole / 4, 150)),
                ((100 - hole / 2, hole, 100), (50 + hole / 4, 0, 150)),
                ((100 - hole / 2, hole, 100), (-50 - hole / 4, 0, 150)),
            )
        )
    ]
    walls = [
        piece(f"wall{n}", size, at)
        for n, (size, at) in enumerate(
            (
                ((10, 220, 220), (105, 0, 100)),
                ((10, 220, 220), (-105, 0, 100)),
                ((200, 10, 220), (0, 105, 100)),
                ((200, 10, 220), (0, -105, 100)),
            )
        )
    ]
    return scene(piece("rib", (10, 10, 90), (40, 0, 45)), piece("floor", (200, 200, 10), (0, 0, -5)), *walls, *lid)


@pytest.mark.parametrize("hole, sealed", [(60, False), (2, True)])
def test_what_is_seen_aslant_through_a_hole_is_not_sealed_in(hole, sealed):
    found = chamber(hole)
    prop = SimpleNamespace(pieces=found.pieces, design=SimpleNamespace(stands=None))
    assert Coats((), prop, Ways(found), ()).sealed("rib") is sealed

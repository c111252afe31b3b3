"""Room for one shape beside another: the same on any sheet as when it is looked for there, checked with shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, translate

from foamwright.layout.packing import CELL, Rooms, Sheet, mask_of

GAP = 6.0


def leaf(seed: int, size: float) -> shapely.Polygon:
    """An odd shape with a bay in it, about `size` mm across."""
    rng = np.random.default_rng(seed)
    turn = np.linspace(0.0, 2.0 * np.pi, 40, endpoint=False)
    reach = size / 2.0 * (1.0 + 0.4 * np.cos(3.0 * turn + rng.uniform(0.0, 6.0)) + 0.05 * rng.uniform(-1.0, 1.0, 40))
    return rotate(shapely.Polygon(np.column_stack([reach * np.cos(turn), reach * np.sin(turn)])), rng.uniform(0, 90))


def looked_for(first: shapely.Polygon, second: shapely.Polygon, width: float, height: float):
    """Where the second goes on a sheet with the first in its corner, from the corner, as `Sheet` finds it."""
    x0, _, _, y1 = first.bounds
    sheet = Sheet(width, height)
    sheet.take(translate(first, -x0, height - y1), GAP)
    shift = sheet.find(mask_of(second))
    if shift is None:
        return None
    left, _, _, top = second.bounds
    return shift[0] + left, height - shift[1] - top


@pytest.mark.parametrize("seed", range(4))
def test_it_is_found_once_for_all_sheets(seed):
    first, second = leaf(seed, 180.0), leaf(seed + 50, 120.0)
    room = Rooms(GAP)(first, second)
    x0, y0, x1, y1 = first.bounds
    sizes = [(x1 - x0 + dx, y1 - y0 + dy) for dx in (0.5, 41.0, 90.0, 400.0) for dy in (0.5, 63.0, 150.0, 700.0)]
    found = [room.on(*size) for size in sizes]
    expected = [looked_for(first, second, *size) for size in sizes]
    assert None in expected and any(expected)
    for ours, theirs in zip(found, expected):
        assert (ours is None) == (theirs is None)
        assert ours is None or np.allclose(ours, theirs, atol=1e-6)


def test_none_fits_where_the_sheet_is_smaller_than_the_shape():
    room = Rooms(GAP)(leaf(1, 180.0), leaf(2, 120.0))
    assert room.on(50.0, 1000.0) is None and room.on(1000.0, 50.0) is None


def test_of_large_shapes_cells_are_larger_and_the_gap_stays():
    first, second = leaf(3, 3000.0), leaf(4, 2400.0)
    room = Rooms(GAP)(first, second)
    assert room.cell > CELL and len(room.leftmost) < 1500  # and not one for every 2 mm
    for width, height in ((9000.0, 4000.0), (4500.0, 9000.0)):
        across, down = room.on(width, height)
        x0, _, _, y1 = first.bounds
        left, _, _, top = second.bounds
        stood, laid = translate(first, -x0, height - y1), translate(second, across - left, height - down - top)
        assert GAP <= laid.distance(stood) < GAP + 8.0 * room.cell
        assert shapely.box(0.0, 0.0, width, height).buffer(1e-6).covers(laid)


def test_each_shape_is_counted_and_transformed_once(monkeypatch):
    """Every part is laid beside every other in every turn: most of the time went into what each of them takes."""
    from foamwright.layout import packing

    counted = {"rfft2": 0, "_covers": 0}

    def watch(name):
        real = getattr(packing, name)

        def call(*given):
            counted[name] += 1
            return real(*given)

        monkeypatch.setattr(packing, name, call)

    for name in counted:
        watch(name)
    shapes = [leaf(seed, 150.0) for seed in range(4)]
    rooms = Rooms(GAP)
    for first in shapes:
        for second in shapes:
            rooms(first, second)
    assert counted["_covers"] == 2 * len(shapes)  # with the gap and without
    assert counted["rfft2"] <= 4 * len(shapes)  # on grids of few sizes, where one by one it were 32

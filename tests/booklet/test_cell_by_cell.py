"""What pictures work out cell by cell in compiled code or for a whole grid at once, beside the same said plainly with numpy."""

import numpy as np
import pytest

from foamwright.assembly import raster
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.lettering import clear_of


@pytest.mark.parametrize("shape", [(4, 6), (5, 7), (1, 9)])
def test_every_two_by_two_cells_are_their_rounded_mean(shape):
    picture = np.random.default_rng(1).integers(0, 256, (*shape, 3)).astype(np.uint8)
    rows, columns = (n // 2 for n in shape)
    cells = picture[: 2 * rows, : 2 * columns].reshape(rows, 2, columns, 2, 3)
    assert (render.halved(picture) == np.floor(cells.mean(axis=(1, 3)) + 0.5)).all()


def test_a_leader_pays_for_what_it_runs_over_but_its_own_part():
    """Along a row of three copies, 10 cells each, from the first: a third of the line on each of the others."""
    owner = np.repeat(np.array([[0, 1, 2]], np.int32), 10, axis=1).repeat(3, axis=0)
    ends, spots = np.array([[0.0, 1.0], [0.0, 1.0]]), np.array([[29.0, 1.0], [0.0, 40.0]])
    shares = np.linspace(0.0, 1.0, 30)
    over = raster.run_over(owner, np.array([5.0, 3.0, 9.0]), ends, spots, shares, np.zeros(2), 1.0)
    assert over == pytest.approx([(3.0 + 9.0) / 3.0, 0.0])


@pytest.mark.parametrize("count", [0, 1, 40])
def test_places_are_clear_where_no_point_lies_in_their_rectangle(count):
    draw = np.random.default_rng(2)
    taken, places, half = draw.uniform(0, 10, (count, 2)), draw.uniform(0, 10, (6, 2)), np.array([1.0, 2.0])
    plain = [
        [not any(abs(x - u) <= half[0] and abs(y - v) <= half[1] for x, y in taken) for u in places[:, 0]]
        for v in places[:, 1]
    ]
    assert (clear_of(taken, places, half) == np.array(plain)).all()


def test_what_shows_of_each_copy_is_counted_for_those_that_do_not_show_too():
    owner = np.array([[-1, 0, 0], [2, -1, 0]], np.int32)
    scene = render.Scene(np.zeros(owner.shape), owner, owner, 4)
    assert scene.met.tolist() == [3, 0, 1, 0]

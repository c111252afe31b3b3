"""How far a strip stands out of a cut edge on both sides is told so that it holds for every copy."""

from types import SimpleNamespace

import numpy as np
import pytest

from foamwright.booklet.words import places
from foamwright.parts.records import BandBody


def told_of(copies, outside):
    """A strip across x, 4 mm and 2 mm beyond an edge 6 mm thick, of which the outside is on that side of it along x."""
    body = object.__new__(BandBody)
    object.__setattr__(body, "across", np.array([1.0, 0.0, 0.0]))
    piece = SimpleNamespace(body=body, placements=(None,) * copies)
    told = SimpleNamespace(bodies=SimpleNamespace(matrices=[np.eye(4)]))
    faces = np.full(5, 3.0 * outside), np.full(5, -3.0 * outside)
    beside = places._Beside((), (), *faces, low=np.full(5, -5.0), high=np.full(5, 7.0))
    return places._on_cut_edge(told, piece, 0, beside, {"part": "the lip (J)", "others": "the window (D)"})


def test_a_single_lip_is_told_by_the_sides_of_the_prop():
    assert "Its edge at the front stands 4 mm beyond it, its edge at the back stands 2 mm beyond it" in told_of(1, 1)


@pytest.mark.parametrize("outside, sizes", [(1, (4, 2)), (-1, (2, 4))])
def test_lips_of_mirrored_windows_are_told_by_outside_and_inside(outside, sizes):
    line = told_of(2, outside)
    assert "front" not in line and "back" not in line
    first, second = ("on the outside", "on the inside")[::outside]
    assert f"Its edge {first} stands 4 mm beyond it, its edge {second} stands 2 mm beyond it" in line
    assert f"on the outside stands {sizes[0]} mm" in line

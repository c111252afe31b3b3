"""What foam is bent over is about as wide as the bend: things at hand by their own measures, no source."""

import pytest

from foamwright.booklet.words.bending import _ROUND, former_of


@pytest.mark.parametrize("across", range(40, 261, 20))
def test_a_thing_is_as_wide_as_the_bend_or_a_little_less(across):
    least, name = [(least, name) for least, name in _ROUND if least <= across][-1]
    assert name in former_of(across) and 0.74 * across < least <= across
    assert across > 140 or 0.9 * across - 1.0 <= least

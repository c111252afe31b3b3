"""A gap that cement does not fill is left where the part is glued well enough elsewhere, and told to be filled where it is not."""

from types import SimpleNamespace

import pytest

from foamwright.booklet.words.gluing import _carriers


def joint(other, area, gap=0.0, glue="contact"):
    return SimpleNamespace(other=other, area=area, gap=gap, glue=glue)


@pytest.mark.parametrize(
    ("elsewhere", "held"),
    [
        ([joint("bracket", 1200.0)], ["bracket"]),
        ([joint("bracket", 600.0), joint("bracket", 600.0)], ["bracket"]),
        ([joint("bracket", 100.0)], []),
        ([joint("bracket", 1200.0, gap=1.4)], []),
        ([joint("bracket", 1200.0, glue="none")], []),
        ([], []),
    ],
)
def test_what_holds_a_part_beside_a_gap(elsewhere, held):
    wall = joint("wall", 4000.0, gap=1.4)
    assert _carriers([wall], [wall, *elsewhere]) == held

"""What the command says of a finished pack."""

import pytest

from foamwright.commands.summary import sentences

PACK = {
    "folder": "out",
    "part_kinds": 2,
    "pieces": 5,
    "worst_strain": 0.01,
    "worst_seam_mismatch": 0.0,
    "notes": [],
    "left": [],
}


@pytest.mark.parametrize("proven", [0, 3])
def test_a_figure_is_told_only_of_what_was_proven(proven):
    """With nothing proven there is no deviation that could be named."""
    built = {"built_copies": 5, "built_proven": proven, "bent_over_model": proven // 2} | (
        {"built_mean": 0.4, "built_worst": 1.2} if proven else {}
    )
    (line,) = sentences(PACK | built)
    assert f"{proven} of 5 pieces proven" in line
    assert ("mm off" in line) == (proven > 0)
    assert ("1 of them bent over the model" in line) == (proven > 0)

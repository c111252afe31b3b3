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
    built = {
        "built_copies": 5,
        "built_proven": proven,
        "bent_over_model": proven // 2,
        "fitted_in_place": 0,
        "not_proven": ["A"],
    }
    built |= {"built_mean": 0.4, "built_worst": 1.2} if proven else {}
    (line,) = sentences(PACK | built)
    assert f"{proven} of 5 pieces proven" in line
    assert ("mm off" in line) == (proven > 0)
    assert ("1 of them bent over the model" in line) == (proven > 0)


@pytest.mark.parametrize(
    ("proven", "fitted", "left", "told"),
    [
        (5, 0, [], None),
        (3, 0, ["B", "C"], ", the other 2 were not proven (B, C: see proof.pdf)"),
        (3, 2, [], ", the other 2 agree with every line drawn for them where the model has them"),
        (
            1,
            3,
            ["D"],
            ", 3 of the other 4 agree with every line drawn for them where the model has them, 1 not proven (D: see proof.pdf)",
        ),
    ],
)
def test_what_is_left_is_counted_and_named(proven, fitted, left, told):
    built = {
        "built_copies": 5,
        "built_proven": proven,
        "bent_over_model": 0,
        "fitted_in_place": fitted,
        "not_proven": left,
    }
    (line,) = sentences(PACK | built)
    assert (told in line) if told else ("other" not in line and "see proof" not in line)

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


BUILT = {
    "built_copies": 5,
    "built_proven": 5,
    "bent_over_model": 0,
    "fitted_in_place": 0,
    "not_proven": [],
    "built_mean": 0.4,
    "built_worst": 1.2,
    "worst_allowed": 3.0,
    "proof_page": True,
}
OFF = "0.4 mm off on average, 1.2 mm at most (3.0 mm is allowed)"


@pytest.mark.parametrize(
    ("built", "told"),
    [
        ({}, []),
        ({"bent_over_model": 2}, []),
        (
            {"built_proven": 3, "not_proven": ["B", "C"]},
            ["  2 parts not proven: B, C; hold in place dry before gluing (proof.pdf tells why)"],
        ),
        (
            {"built_proven": 0, "not_proven": list("ABCDEFGHJ"), "built_mean": None, "proof_page": False},
            ["  5 parts not proven: A, B, C, D, E, F, G, H and 1 more; hold in place dry before gluing"],
        ),
        (
            {"built_proven": 1, "fitted_in_place": 3, "not_proven": ["D"]},
            [
                "  3 more parts fit: put where the design has it, each agrees with every line that is drawn for it",
                "  1 part not proven: D; hold in place dry before gluing (proof.pdf tells why)",
            ],
        ),
    ],
)
def test_what_was_proven_and_what_is_left_is_counted_and_named(built, told):
    """With nothing proven there is no deviation that could be named, and without its page none is spoken of."""
    line, *notes = sentences(PACK | BUILT | built)
    proven = (BUILT | built)["built_proven"]
    assert f"{proven} of 5 parts in place proven" in line and (OFF in line) == (proven > 0)
    assert (", 2 of them bent over the model" in line) == ("bent_over_model" in built)
    assert notes == told


@pytest.mark.parametrize(
    ("met", "barring", "told"),
    [
        (["wall"], ["door"], "the figure runs into wall in its place (see Fit"),
        ([], ["hinge"], "the figure cannot get to its place: in its way is hinge (see Fit"),
        ([], ["post", "sill"], "the figure cannot get to its place: in its way are post, sill (see Fit"),
    ],
)
def test_a_figure_that_does_not_fit_is_told_by_what(met, barring, told):
    (line,) = sentences(PACK | {"figure_fits": False, "figure_meets": met, "in_its_way": barring})
    assert told in line
    (line,) = sentences(PACK | {"figure_fits": True, "figure_meets": [], "in_its_way": []})
    assert "figure" not in line

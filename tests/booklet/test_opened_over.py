"""A strip that is laid round more than half of a tube from outside is opened on its way; the tube does not give way."""

from types import SimpleNamespace

import pytest
from block_props import piece, scene

from foamwright.booklet.words import joining, relations


@pytest.mark.parametrize(
    ("relation", "opened"), [("over all", True), ("lapped", True), ("lining", False), ("edge", False)]
)
def test_what_goes_round_is_opened_and_what_goes_in_spreads_the_rest(monkeypatch, relation, opened):
    found = scene(piece("tube", (100, 100, 50)), piece("strip", (100, 40, 10), (0, 0, 30)))
    tube, strip = found.pieces
    monkeypatch.setattr(relations, "relation", lambda *facts: relation)
    monkeypatch.setattr(joining, "_wider_in_front", lambda *facts: False)
    way = SimpleNamespace(legs=(SimpleNamespace(towards=(0.0, 0.0, 1.0), travel=1.0),), bend=None, laid="")
    met = SimpleNamespace(new="strip", other="tube", broad=True, on_broad=True, around=(), share=1.0, glue="contact")
    told = SimpleNamespace(
        bodies=found,
        moves=[SimpleNamespace(copies=(1,), way=way)],
        meetings=[met],
        every={"tube": tube, "strip": strip},
        standing=1,
        seams=(),
        pieces=[strip],
        tight={"strip": {"tube"}},
        whole_of=lambda piece: "",
        goes_inside=lambda piece: False,
    )
    (line,) = joining._way_lines(told)
    assert ("open it by hand" in line) is opened and ("spread the tube" in line) is not opened

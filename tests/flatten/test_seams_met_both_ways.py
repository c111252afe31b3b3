"""Match ticks in space: on every copy, a tick lies upon one of its number of the copy that is joined there.

Copies that are turned around an axis meet a mirrored pair one way on one side and the other way on the other.
"""

import numpy as np
import pytest
from panel_designs import laid_flat, panel, plane, prop

from foamwright.flatten.seams import met_both_ways
from foamwright.parts.placing import move

TUBE = {
    "kind": "revolution",
    "axis": "z",
    "smooth": False,
    "profile": [["-20 * scale", 100], ["220 * scale", 100]],
    "cuts": {
        "halves": plane("y"),
        "quarters": plane("x"),
        "low": plane("z", 0),
        "waist": plane("z", 100),
        "top": plane("z", 200),
    },
}
HALF = panel("tube", {"halves": "beyond", "low": "beyond", "waist": "before"}, mirror="y")
QUARTER = panel("tube", {"halves": "beyond", "quarters": "beyond", "waist": "beyond", "top": "before"})
TURNED = {**QUARTER, "repeat": {"around": {"count": 4, "axis": "z"}}}
CONE = {
    "kind": "revolution",
    "axis": "z",
    "smooth": False,
    "profile": [["-20 * scale", 100], ["80 * scale", 50]],
    "cuts": {"half": plane("x"), "low": plane("z", 0), "top": plane("z", 60)},
}
TWICE = panel(
    "cone", {"half": "beyond", "low": "beyond", "top": "before"}, repeat={"around": {"count": 2, "axis": "x"}}
)


def in_space(patterns, part, name):
    """(number, place) of every tick of an edge on every copy, by its share of the edge's curve on the form."""
    pattern = patterns.pattern(part)
    edge = next(e for e in pattern.edges if e.id == name)
    line = next(e for e in pattern.piece.body.edges if e.id == name).on_form
    reached = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    drawn = np.linalg.norm(np.diff(edge.points, axis=0), axis=1).sum()
    for number, at in zip(edge.tick_numbers, edge.ticks):
        share = (1.0 - at / drawn) * reached[-1]  # patterns are seen from inside: against the edge's own order
        place = np.array([np.interp(share, reached, line[:, k]) for k in range(3)])
        for copy in pattern.piece.placements:
            yield number, move(place[None], copy.matrix)[0]


@pytest.mark.parametrize(
    "forms, parts, count",
    [
        ({"tube": TUBE}, {"half": HALF, "quarter": TURNED}, 12),
        ({"tube": TUBE}, {"half": HALF, "quarter": {**QUARTER, "mirror": "y"}}, 6),
    ],
)
def test_ticks_of_one_number_meet_on_every_copy(tmp_path, forms, parts, count):
    patterns = laid_flat(tmp_path, forms, parts)
    seams = [seam for seam in patterns.seams if seam.part_a != seam.part_b]
    marks = [list(in_space(patterns, *end)) for s in seams for end in ((s.part_a, s.edge_a), (s.part_b, s.edge_b))]
    met = 0
    for own, other in zip(marks[::2], marks[1::2]):
        places = np.array([place for _, place in other])
        for number, place in own:
            near = np.linalg.norm(places - place, axis=1) < 1.0
            met += near.any()
            assert {other[i][0] for i in np.flatnonzero(near)} <= {number}
    assert met == count  # each quarter of a circle has three ticks


def test_who_meets_whom_which_way(tmp_path):
    turned = prop(tmp_path, {"tube": TUBE}, {"half": HALF, "quarter": TURNED})
    between = [seam for seam in turned.seams if seam.a.part != seam.b.part]
    assert len(between) == 2 and all(seam.both_ways for seam in between)
    assert {part for part, _ in met_both_ways(turned.seams)} == {"half", "quarter"}
    mirrored = prop(tmp_path, {"tube": TUBE}, {"half": HALF, "quarter": {**QUARTER, "mirror": "y"}})
    assert not met_both_ways(mirrored.seams)


def test_an_edge_that_meets_itself_turned_round_reads_the_same_from_both_ends(tmp_path):
    patterns = laid_flat(tmp_path, {"cone": CONE}, {"cone": TWICE})
    rim = next(edge for edge in patterns.pattern("cone").edges if edge.id == "low")
    assert len(rim.tick_numbers) > 2 and rim.tick_numbers == rim.tick_numbers[::-1]

"""A hoop over walls with darts: what touches is parted by the mouths of the darts on the paper of one, and whole on the other's."""

import numpy as np
import pytest
import shapely

from foamwright.proof.bench import charts
from foamwright.proof.bench.build import virtual_build
from foamwright.proof.bench.charts import Strip
from tests.parts.flat_designs import HEAD
from tests.proof.sabotage import BOWL, BOWL_FORM
from tests.proof.test_virtual_build import built

LINES = "low: {plane: {normal: z, at: 22}}, high: {plane: {normal: z, at: 36}}, foot: {"
HOOP = (
    "  belt: {kind: panel, stock: foam, form: pot, over: [wall], where: {low: beyond, high: before, q: beyond}, mirror: x, "
    "lies_on: [wall]}\n"
)


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    head = HEAD.replace("forms:\n", BOWL_FORM.replace("foot: {", LINES), 1)
    return built(tmp_path_factory.mktemp("pack"), head, BOWL + HOOP)


def test_what_touches_is_one_area_on_both_papers(pack):
    """Faces that lie against each other are as large as each other, but for the mouths of darts, which are no foam."""
    touched = [
        own
        for own in pack.record["touched"]
        if own["contact"] in {o["contact"] for o in pack.record["touched"] if o["part"] == "belt"}
    ]
    for own in touched:
        area = sum(shapely.Polygon(line).area for line in own["lines"])
        wide = 2 * area / sum(shapely.Polygon(line).length for line in own["lines"])
        assert area == pytest.approx(pack.record["contacts"][own["contact"]]["area"], rel=0.08)
        assert 10.0 < wide < 17.2  # 14 mm high, on a wall that leans by up to 35 degrees
    assert {len(own["lines"]) for own in touched if own["part"] == "wall"} == {3}  # of two darts


def test_it_comes_out_and_its_seams_close(pack):
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert [str(fault) for fault in proof.faults] == []
    assert (proof.proven, proof.open_seams) == (7, ()) and proof.seam_gap < 0.5
    assert max(float(one.edges.max(initial=0.0)) for one in proof.measured) < 1.0


def test_foam_that_is_laid_astray_is_told_with_its_seams(pack, monkeypatch):
    """Without the pieces between darts the bench lays the hoop on itself: near the model's face, with its edges elsewhere."""
    monkeypatch.setattr(charts, "_parted", lambda rings: ())
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.proven == 5
    assert {seam.seam for seam in proof.open_seams} == {"S2", "S3"}
    assert all(seam.unproven == ("belt",) and seam.gap > 10.0 for seam in proof.open_seams)


def test_pieces_of_a_strip_are_put_in_line():
    def piece(begin, end):
        along = np.linspace(begin, end, 5)
        side = 1.0 if end > begin else -1.0
        return Strip(*(np.column_stack([along, np.full(5, s * side), np.zeros(5)]) for s in (-5.0, 5.0)))

    pieces = [piece(41.0, 60.0), piece(20.0, 0.0), piece(21.0, 40.0)]
    order = charts._in_line(pieces, 3.0)
    assert order in ([(1, True), (2, False), (0, False)], [(0, True), (2, True), (1, False)])
    assert charts._in_line(pieces, 0.5) == []


GORE_FORM = (
    "forms:\n"
    "  pot: {kind: revolution, axis: z, profile: [[-20, 92], [0, 115], [50, 156], [110, 170], [170, 158], [230, 105], [255, 79]],\n"
    "    cuts: {foot: {plane: {normal: z}}, top: {plane: {normal: z, at: 230}}, near: {plane: {normal: [-sin(60), cos(60), 0]}},\n"
    "      far: {plane: {normal: [-sin(120), cos(120), 0]}}}}\n"
)
GORE = (
    "  gore: {kind: panel, stock: thick, form: pot, where: {foot: beyond, top: before, near: beyond, far: before}, "
    "flush: [foot, top], darts: auto, repeat: {around: {count: 6, axis: z}}}\n"
)


def test_the_mouth_of_a_dart_in_a_slanted_edge_is_where_its_surface_ends(tmp_path):
    """At an edge that is cut at 47 degrees the drawn face ends 5.4 mm beside the middle of 10 mm of foam."""
    gore = built(tmp_path, HEAD.replace("forms:\n", GORE_FORM, 1), GORE)
    assert gore.record["parts"][0]["darts"] and max(abs(np.ravel(gore.record["parts"][0]["edges"][1]["bevel"]))) > 40.0
    proof = virtual_build(gore.files, gore.record, gore.solids)
    assert [str(fault) for fault in proof.faults] == [] and proof.proven == 6

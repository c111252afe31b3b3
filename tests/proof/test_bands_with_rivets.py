"""A band is as long as what it goes round, and of that alone: not of what stands near its inside."""

from foamwright.proof.bench.bands import band_faults
from foamwright.proof.bench.foam import read_foam
from tests.parts.flat_designs import HEAD
from tests.proof.test_virtual_build import built, moved

RIVETED = (
    "  tray: {kind: disc, stock: thick, radius: 60, at: {origin: [0, 0, 0], normal: z}}\n"
    "  belt: {kind: band, stock: foam, along: {outline: {circle: {radius: 60}}, at: {origin: [0, 0, 0], normal: z}}, "
    "from: 0, to: 26, laid: outside}\n"
    "  rivet: {kind: disc, stock: foam, radius: 9, at: {origin: [50.9, 0, 10], normal: z}, lies_on: [tray], glue: instant, "
    "repeat: {around: {count: 3, axis: z}}}\n"
)


def test_a_disc_that_comes_near_the_inside_of_a_band_is_not_what_it_goes_round(tmp_path):
    record = built(tmp_path, HEAD, RIVETED).record
    assert any({c["a"]["part"], c["b"]["part"]} == {"belt", "rivet"} for c in record["contacts"])
    assert not band_faults(read_foam({}, record), {})
    moved(record, "belt", lambda x, y: (1.05 * x, y))
    (fault,) = band_faults(read_foam({}, record), {})
    assert str(fault).endswith("mm go round A Tray")

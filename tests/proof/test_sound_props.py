"""No sound prop is refused by its own proof, whatever its size: odd small ones, built from their files."""

import pytest

from foamwright.proof.bench.build import virtual_build
from tests.classes.props import HEAD
from tests.proof.sound import PROPS
from tests.proof.test_virtual_build import built

WAIST = "creased waist of two thicknesses"
RING = "pail with a hoop"
CONE = "cone cut aslant"
SKINS = "two skins round a cone"
TUB = "tub"


def proof_of(folder, name, scale):
    pack = built(folder, HEAD.replace("scale: {value: 1}", f"scale: {{value: {scale}}}"), PROPS[name])
    return virtual_build(pack.files, pack.record, pack.solids)


@pytest.mark.parametrize("scale", [3, 4])
def test_foam_that_springs_open_is_not_refused_for_lengths_taken_from_it(tmp_path, scale):
    """Its seams are right by formula: pi (50 s + 3) where both touch, from either side."""
    proof = proof_of(tmp_path, WAIST, scale)
    assert [str(fault) for fault in proof.faults] == []
    assert not any(body.judged for body in proof.bodies)  # it is left open, and said so
    assert proof.formed == proof.proven == 4  # bent over the model it comes out


@pytest.mark.parametrize("scale", [0.3, 1, 3])
@pytest.mark.parametrize("name", [name for name in PROPS if name not in (WAIST, RING, CONE, SKINS, TUB)])
def test_what_stands_on_marks_is_proven_at_any_size(tmp_path, name, scale):
    proof = proof_of(tmp_path, name, scale)
    assert [str(fault) for fault in proof.faults] == []
    assert proof.proven >= len({one.part for one in proof.measured}) - 1, (proof.loose, proof.left)


@pytest.mark.parametrize("scale", [0.3, 1, 3])
def test_a_ring_that_may_lie_any_way_round_its_form_is_not_refused_for_it(tmp_path, scale):
    assert [str(fault) for fault in proof_of(tmp_path, RING, scale).faults] == []


@pytest.mark.parametrize("scale", [0.3, 1, 3])
def test_the_line_below_the_seam_of_a_skin_is_no_fault_though_its_face_does_not_end_there(tmp_path, scale):
    assert [str(fault) for fault in proof_of(tmp_path, SKINS, scale).faults] == []


@pytest.mark.parametrize("scale", [0.3, 1])
def test_a_seam_that_ends_on_one_face_before_it_begins_on_the_other_is_not_refused(tmp_path, scale):
    assert [str(fault) for fault in proof_of(tmp_path, CONE, scale).faults] == []


def test_a_belt_that_is_the_same_foam_either_way_up_is_proven_whichever_way_the_bench_lays_it(tmp_path):
    """Nothing on the paper of a plate tells which way up a belt goes round it, and as both ends are alike nothing need."""
    proof = proof_of(tmp_path, "band round a rounded rectangle", 3)
    assert proof.proven == 2 and proof.reasons == ()
    assert max(float(one.edges.max(initial=0.0)) for one in proof.measured) < 1.6


@pytest.mark.parametrize("scale", [0.3, 1, 3])
def test_foam_that_goes_round_the_smaller_of_two_parts_is_bent_and_its_ends_are_joined(tmp_path, scale):
    """Begun from the larger one nothing was built; with its ends free the wall sprang open above the floor."""
    proof = proof_of(tmp_path, "drum with a wall round its floor", scale)
    assert proof.faults == () and proof.reasons == () and proof.proven + proof.fitted == proof.copies == 3


@pytest.mark.parametrize("scale", [0.3, 1, 3])
def test_a_wall_tells_which_face_of_a_floor_is_up_that_is_the_same_foam_either_way(tmp_path, scale):
    """Laid on the model by the floor alone the wall hung below it where it should stand up."""
    assert proof_of(tmp_path, "tub", scale).proven == 2

"""Flat parts against the outlines of the model, bars against their faces, and what only agrees with its lines in its place."""

import copy
import dataclasses
import itertools

import numpy as np
import pytest

from foamwright.proof.bench import build
from foamwright.proof.bench.assembly import sewn_bodies
from foamwright.proof.bench.build import virtual_build
from foamwright.proof.bench.foam import Copy, read_foam
from foamwright.proof.bench.footings import footings
from foamwright.proof.bench.in_place import agreeing, laid_in_place
from foamwright.proof.bench.measure import Model, registered
from foamwright.proof.bench.outlines import laid_flat, lying_there, outline_faults
from foamwright.proof.bench.pieces import as_cut, plain_sheet
from foamwright.proof.bench.records import BESIDE, FAR, PLACE, SHARED
from foamwright.proof.bench.rigid import Lines, Motion, slid, turned_about
from tests.classes.props import HEAD
from tests.proof.test_virtual_build import built, moved

# two boards on four posts; a bar through a hole in either of two others
POSTS = """
forms: {}
parts:
  low: {kind: plate, stock: thick, outline: {rectangle: {width: 120 * s, height: 100 * s}}, at: {origin: [0, 0, 0], normal: z, up: y}}
  high: {kind: plate, stock: thick, outline: {rectangle: {width: 120 * s, height: 100 * s}},
    at: {origin: [0, 0, 90], normal: z, up: y}}
  post: {kind: rod, stock: dowel, from: [45, 35, 10], to: [45, 35, 90],
    repeat: {grid: {counts: [2, 2], steps: [[-90, 0, 0], [0, -70, 0]]}}}
"""
AXLE = """
forms: {}
parts:
  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 120 * s, height: 100 * s}}, at: {origin: [0, 0, -10], normal: z, up: y}}
  cheek: {kind: plate, stock: foam, mirror: y, at: {origin: [0, 30, 0], normal: y, up: z},
    outline: {polygon: {points: [[-40, 0], [40, 0], [30, 60], [-20, 60]]}, minus: [{circle: {radius: 4, centre: [5, 40]}}]}}
  axle: {kind: rod, stock: dowel, from: [-5, -50, 40], to: [-5, 50, 40]}
"""
STOCK = HEAD + "  dowel: {name: Dowel 8 mm, thickness: 8 mm, sheet: [8, 1000]}\n"


@pytest.fixture(scope="module")
def posts(tmp_path_factory):
    return built(tmp_path_factory.mktemp("posts"), STOCK, POSTS)


def test_boards_on_posts_are_proven_posts_and_all(posts):
    proof = virtual_build(posts.files, posts.record, posts.solids)
    assert proof.faults == () and proof.proven == proof.copies == 6 and proof.worst < 0.1


def test_what_shares_space_in_the_model_is_not_proven_whatever_fits(posts):
    """No template tells what is cut away of it. What stands on it is proven all the same."""
    proof = virtual_build(posts.files, posts.record, posts.solids, sharing=[("high", 1)])
    assert proof.faults == () and (proof.proven, proof.fitted) == (5, 0) and proof.reasons == (("high", SHARED),)


def test_a_post_that_is_short_is_not(posts):
    record = copy.deepcopy(posts.record)
    moved(record, "post", lambda x, y: (x * 76 / 80, y))
    assert virtual_build({}, record, posts.solids).proven < 6


def test_a_bar_through_holes_agrees_with_these_in_its_place(tmp_path):
    pack = built(tmp_path, STOCK, AXLE)
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.proven + proof.fitted == proof.copies == 4
    assert proof.fitted >= 1 and proof.reasons == ()


@pytest.mark.parametrize(
    ("change", "off"), [(lambda x, y: (x + (2.0 if x > 0 else 0.0), y), 1.0), (lambda x, y: (x, y), 0.0)]
)
def test_a_board_that_is_long_by_two_is_off_by_half_of_that_at_either_end(posts, change, off):
    record = copy.deepcopy(posts.record)
    moved(record, "low", change)
    foam, model = read_foam({}, record), Model.of(posts.solids)
    own = lying_there(foam.parts["low"], Copy("low", 1), False, model)
    assert own.off == pytest.approx(off, abs=0.05) and own.line == "the outline"
    assert [f.where for f in outline_faults(foam, laid_flat(foam, model))] == (["A Low"] if off else [])


def test_lines_slide_on_lines():
    """A rectangle turned by 2 degrees and moved along itself comes back onto its own lines in a few steps."""
    ring = np.array([[0.0, 0, 0], [60, 0, 0], [60, 40, 0], [0, 40, 0], [0, 0, 0]])
    lines = Lines.of([ring])
    angle = np.radians(2.0)
    turn = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]])
    at = np.linspace(0.0, 1.0, 11)
    own = np.vstack([a + at[:, None] * (b - a) for a, b in itertools.pairwise(ring)])
    points = own @ turn.T + (0.7, -0.4, 0.3)
    for _ in range(4):
        points = slid(points, *lines.feet(points))(points)
    assert np.abs(points - own).max() < 1e-3


def test_a_bar_agrees_with_the_holes_of_boards_that_came_out_aside(tmp_path):
    """Boards within the bounds on the bench may be further off than a bar may be from the rim of its hole."""
    pack = built(tmp_path, STOCK, AXLE)
    foam, model = read_foam(pack.files, pack.record), Model.of(pack.solids)
    flat = {copy: as_cut(part := foam.part(copy), foam.mirrored(copy), plain_sheet(part)) for copy in foam.copies}
    there, axle = laid_in_place(flat, flat, model), Copy("axle", 1)
    aside = Motion(np.eye(3), np.array([0.8, 0.0, 0.0]))
    boards = {copy: piece.moved(aside) for copy, piece in there.items() if copy.part == "cheek"}
    assert set(agreeing(foam, boards, {axle: flat[axle]}, (), model, lambda _: None)) == {axle}


# two pipes mitred to an elbow, one of which stands on a wide cone
ELBOW = """
forms:
  across: {kind: revolution, axis: x, profile: [[-60, 15], [80 * s, 15]], smooth: false,
    cuts: {mitre: {plane: {normal: [1, 0, 1]}}, end: {plane: {normal: x, at: 60}}}}
  down: {kind: revolution, axis: z, profile: [[-190, 15], [60, 15]], smooth: false,
    cuts: {mitre: {plane: {normal: [1, 0, 1]}}, foot: {form: {form: cone, offset: 6}}}}
  cone: {kind: revolution, axis: z, origin: [150, 0, 0], profile: [[-185, 180], [-125, 96]], smooth: false,
    cuts: {low: {plane: {normal: z, at: -185}}, top: {plane: {normal: z, at: -125}}, half: {plane: {normal: y}}}}
parts:
  across: {kind: panel, stock: foam, form: across, where: {mitre: beyond, end: before}, opened: 180, flush: [mitre, end]}
  down: {kind: panel, stock: foam, form: down, where: {mitre: before, foot: outside}, opened: 0, flush: [mitre],
    after: [cone]}
  cone: {kind: panel, stock: foam, form: cone, where: {low: beyond, top: before, half: beyond}, flush: [low, top],
    mirror: y}
"""


def test_pipes_that_are_mitred_to_each_other_agree_where_their_edges_meet(tmp_path):
    """A pipe that stands on one line may lean any way on the bench; its mitre tells how it belongs."""
    pack = built(tmp_path, HEAD, ELBOW)
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.reasons == ()
    assert (proof.proven, proof.fitted) == (2, 2)


def test_a_pipe_whose_mitre_is_cut_for_another_place_does_not_agree(tmp_path):
    """The model of a pack in which the other pipe stands 30 mm away, beside the paper of this one, of a mitre that is no seam."""
    pack = built(tmp_path, HEAD, ELBOW)
    foam, model = read_foam(pack.files, pack.record), Model.of(pack.solids)
    foam = dataclasses.replace(foam, sewn=tuple(sewn for sewn in foam.sewn if sewn.a == sewn.b))
    lying = {copy: group.placed[copy] for group in sewn_bodies(foam).groups for copy in group.copies}
    there = {copy: lying[copy].moved(registered(lying, model, [copy])) for copy in (Copy("across", 1), Copy("down", 1))}
    assert set(agreeing(foam, {}, there, (), model, lambda _: None)) == set(there)
    there[Copy("across", 1)] = there[Copy("across", 1)].moved_to(there[Copy("across", 1)].points + (30.0, 0.0, 0.0))
    assert set(agreeing(foam, {}, there, (), model, lambda _: None)) == set()


TUBE = """
forms:
  tube: {kind: revolution, axis: z, profile: [[-10, 60], [110, 60]], smooth: false,
    cuts: {foot: {plane: {normal: z}}, top: {plane: {normal: z, at: 100}}, half: {plane: {normal: y}}}}
parts:
  half: {kind: panel, stock: foam, form: tube, where: {foot: beyond, top: before, half: beyond}, mirror: y}
  rib: {kind: bulkhead, stock: thick, form: tube, plane: {normal: z, at: 50}}
"""


def test_what_stands_on_foam_that_came_out_aside_agrees_where_that_is_bent_over_the_model(tmp_path):
    """Foam springs open on the bench by more than what stands on it may be off its line."""
    pack = built(tmp_path, HEAD, TUBE)
    foam, model = read_foam(pack.files, pack.record), Model.of(pack.solids)
    halves, rib = (Copy("half", 1), Copy("half", 2)), Copy("rib", 1)
    over = {half: build._bent_over(foam, (half,), model, {}).placed[half] for half in halves}
    aside = {half: piece.moved_to(piece.points + (0.0, 0.0, 4.0)) for half, piece in over.items()}
    flat = {rib: as_cut(foam.parts["rib"], False, plain_sheet(foam.parts["rib"]))}
    joints = footings(foam)
    assert set(agreeing(foam, aside, flat, joints, model, lambda _: None)) == set()
    assert set(agreeing(foam, aside, flat, joints, model, over.get)) == {rib}


SLATS = """
forms: {}
parts:
  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 200 * s, height: 120 * s}}, at: {origin: [0, 0, -10], normal: z, up: y}}
  end: {kind: plate, stock: foam, outline: {rectangle: {width: 60, height: 90, centre: [0, 45]}},
    at: {origin: [0, -50, 0], normal: y, up: z}, mirror: y}
  slat: {kind: plate, stock: thin, outline: {rectangle: {width: 100, height: 10, centre: [0, 5]}},
    at: {origin: [30, 0, 0], normal: x, up: z}, repeat: {grid: {counts: [1, 3], steps: [[0, 0, 0], [0, 0, 38]]}}}
"""


def test_what_is_glued_high_up_to_what_leans_by_a_little_agrees(tmp_path):
    """Half a degree on the bench is within the bounds at the foot of a wall, and 0.8 mm at its top."""
    pack = built(tmp_path, HEAD, SLATS)
    foam, model = read_foam(pack.files, pack.record), Model.of(pack.solids)
    flat = {copy: as_cut(part := foam.part(copy), foam.mirrored(copy), plain_sheet(part)) for copy in foam.copies}
    there = laid_in_place(flat, flat, model)
    ends = [copy for copy in flat if copy.part == "end"]
    leaning = {
        end: there[end].moved(turned_about(np.array([0.0, 1.0, 0.0]), np.radians(0.5), np.zeros(3))) for end in ends
    }
    slats = {copy: piece for copy, piece in flat.items() if copy.part == "slat"}
    assert set(agreeing(foam, leaning, slats, footings(foam), model, lambda _: None)) == set(slats)


@pytest.mark.parametrize("first", [1, 2, 3])
def test_of_copies_that_are_alike_the_bench_may_set_any_in_the_place_of_another(tmp_path, monkeypatch, first):
    """Lines on the slats do not tell at which height each goes. One that came out where another is modelled leaves its own
    place to that."""
    pack = built(tmp_path, HEAD, SLATS)
    foam, model = read_foam(pack.files, pack.record), Model.of(pack.solids)
    flat = {copy: as_cut(part := foam.part(copy), foam.mirrored(copy), plain_sheet(part)) for copy in foam.copies}
    there = laid_in_place(flat, flat, model)
    aside = Motion(np.eye(3), np.array([40.0, 0.0, 0.0]))
    placed = {copy: piece.moved(aside) if copy.part == "slat" else piece for copy, piece in there.items()}
    placed[Copy("slat", 2)] = there[Copy("slat", first)]
    real = build._assembled

    def out_of_order(foam, model, figures):
        return dataclasses.replace(real(foam, model, figures), placed=placed, pieces=(tuple(placed),), left=())

    monkeypatch.setattr(build, "_assembled", out_of_order)
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert (proof.faults, proof.reasons) == ((), ()) and (proof.proven, proof.fitted) == (4, 2)


def test_foam_that_has_its_shape_is_not_blamed_for_where_it_stands(tmp_path, monkeypatch):
    """Both pipes came out as they are modelled: one stands otherwise on its line, and the other is sewn to it."""
    monkeypatch.setattr(build, "_fitted", lambda *_: {})
    pack = built(tmp_path, HEAD, ELBOW)
    told = dict(virtual_build(pack.files, pack.record, pack.solids).reasons)
    assert told["across"] == BESIDE and told["down"] in (PLACE, FAR)

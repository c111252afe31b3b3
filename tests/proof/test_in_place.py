"""Flat parts against the outlines of the model, bars against their faces, and what only agrees with its lines in its place."""

import copy
import itertools

import numpy as np
import pytest

from foamwright.proof.bench.build import virtual_build
from foamwright.proof.bench.foam import Copy, read_foam
from foamwright.proof.bench.measure import Model
from foamwright.proof.bench.outlines import laid_flat, lying_there, outline_faults
from foamwright.proof.bench.rigid import Lines, slid
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

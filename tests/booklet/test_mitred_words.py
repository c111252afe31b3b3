"""What the cutting step and the joining step say of a band that is mitred from flat pieces. By hand: two square corners of 10 mm foam
are four bevels of 45 degrees, which reach 10 mm beyond the line of the inner face, and lie at 90 degrees to each other. Sizes are our
own."""

import re
from dataclasses import replace

import numpy as np
import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.segmenting import joined
from foamwright.booklet.pictures.step_views import staged
from foamwright.booklet.words.cutting import cut_by_itself, mitres
from foamwright.drawing.primitives import Path, Text
from foamwright.outputs.cut_list import _cut_row
from foamwright.templates.wording import dimensions

FRAME = (
    head("Hood", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1000 mm]}
parts:
  hood:
    kind: band
    stock: shell
    along: {outline: {polygon: {points: [[0, 0], [0, 80], [120, 80], [120, 0]]}}, at: {origin: [0, -30, 0], normal: -y, up: z}}
    laid: outside
    from: -60 * scale
    to: 0
    corners: mitred
    span: {angles: [-30, 210]}
"""
)


@pytest.fixture(scope="module")
def hood(tmp_path_factory):
    path = tmp_path_factory.mktemp("hood") / "hood.yaml"
    path.write_text(FRAME, encoding="utf-8")
    return Stages(Request(load(path)))


def test_mitres_are_bevels_like_others(hood):
    (pattern,) = hood.record("patterns").patterns
    assert [abs(bevel) for bevel in mitres(pattern)] == pytest.approx([45.0] * 4)
    cut = hood.record("steps")[0]
    text = " ".join(cut.instructions)
    assert "tilt the blade by that angle" in text and "every edge is cut square" not in text
    assert "leave 10 mm of foam beyond the cut line" in text
    assert {"gauge"} <= {*cut.uses} and "from 3 templates" in text


def test_each_piece_is_labelled_with_its_own_length(hood):
    """The top lies on the inner 120 mm, and is 140 mm long outside."""
    (pattern,) = hood.record("patterns").patterns
    assert [own.strip for own in cut_by_itself(pattern)][1] == pytest.approx((140.0, 60.0), abs=0.1)


def test_each_piece_tells_how_long_it_is_on_the_face_that_is_drawn(hood):
    """The outline that the hood is bent round, of which the foam stands off outside: 120 mm, and legs that the span ends 30 degrees
    below the middle, 40 + 60 tan 30 = 74.6."""
    (pattern,) = hood.record("patterns").patterns
    told = [line for own in cut_by_itself(pattern) for line in dimensions(own)]
    assert told[1] == "length 140.0 mm over both faces, 120.0 mm on the drawn one, width 60.0 mm"
    assert _cut_row(pattern)[-1].endswith("mitred joint, 74.6 / 120.0 / 74.6 mm long on the drawn face")


@pytest.mark.parametrize(("bevel", "told"), [(8.4, "0"), (45.0, "45.0"), (-45.0, "-45.0")])
def test_the_cut_list_has_no_bevel_that_a_template_cuts_square(hood, bevel, told):
    """In felt of 2 mm 8.4 degrees are 0.3 mm: 2 tan 8.4."""
    (pattern,) = hood.record("patterns").patterns
    felt = replace(pattern.piece, stock=replace(pattern.piece.stock, thickness=2.0))
    edges = tuple(replace(edge, bevel=(bevel,)) for edge in pattern.edges)
    assert edges and _cut_row(replace(pattern, piece=felt, edges=edges, split=None))[11] == told


def test_mitred_pieces_are_joined_in_their_order_at_their_angles(hood):
    (step,) = [step for step in hood.record("steps") if "segments" in step.title]
    (line,) = [line for line in step.instructions if line.startswith("Mitred joints")]
    assert re.search(r"A1 to A2 90° and A2 to A3 90°", line) and "drawn faces inside" in line


def test_mitred_pieces_are_drawn_in_a_row_with_their_angles(hood):
    """A top of 120 mm inside, 10 mm thick: 140 x 10 mm from the side, which is as wide as the picture."""
    (pattern,) = hood.record("patterns").patterns
    inset = joined(pattern)
    foam = [item for item in inset.items if isinstance(item, Path) and item.layer == "view"]
    assert (
        len(foam) == 3 and len([item for item in inset.items if isinstance(item, Path) and item.layer == "glue"]) == 2
    )
    assert np.ptp(foam[1].points, axis=0) == pytest.approx((INSET[0], INSET[0] * 10.0 / 140.0), abs=0.01)
    words = [item.value for item in inset.items if isinstance(item, Text)]
    assert sorted(words) == ["90°", "90°", "A1", "A2", "A3"]
    assert "A in their order" in inset.said
    (step,) = [step for step in hood.record("steps") if "segments" in step.title]
    assert inset.said in [one.said for one in hood.record("pictures").insets[step.number]]


MOULDING = (
    FRAME[: FRAME.index("  hood:")]
    + """  wall: {kind: plate, stock: shell, outline: {rectangle: {width: 200 mm * scale, height: 160}}, at: {normal: -y, up: z}}
  frame: {kind: band, stock: shell, along: {outline: {rectangle: {width: 120, height: 80}}, at: {origin: [0, -10, 0], normal: -y, up: z}}, laid: outside, from: 0, to: 8, corners: mitred, after: [wall]}
"""
)


def test_a_stiff_frame_is_closed_on_the_bench_and_goes_on_as_one(tmp_path):
    """Laid on end by end, its corners would be glued in the air."""
    path = tmp_path / "moulding.yaml"
    path.write_text(MOULDING, encoding="utf-8")
    said = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    (line,) = [line for line in said if line.startswith("Mitred joints")]
    assert "stand the segments on the flat bench in a ring" in line and "B4 to B1 90\u00b0" in line
    assert any("Set the frame (B) on as one" in line for line in said)
    assert not any("press the strip on bit by bit" in line for line in said)


@pytest.mark.parametrize("around", [True, False])
def test_a_frame_that_lies_round_something_is_slid_on_as_one_too(tmp_path, around):
    """Its ends are joined on the bench before: no end of it is laid on, in words or in the picture."""
    board = "{rectangle: {width: 120, height: 80}}"
    text = MOULDING.replace(
        "{rectangle: {width: 200 mm * scale, height: 160}}", board if around else board.replace("120", "160")
    )
    text = text.replace("origin: [0, -10, 0]", "origin: [0, 0, 0]") if around else text
    path = tmp_path / "tray.yaml"
    path.write_text(text, encoding="utf-8")
    stages = Stages(Request(load(path)))
    said = [line for step in stages.record("steps") for line in step.instructions]
    assert any(
        ("Slide the frame (B) into its place" if around else "Set the frame (B) on") + " as one" in line
        for line in said
    )
    assert not any("press the strip on bit by bit" in line for line in said)
    bodies = stages.record("bodies")
    step = next(step for step in stages.record("steps") if "frame" in step.places)
    stage = staged(bodies, (), step, [copy for copy in range(len(bodies)) if bodies.pieces[copy].id == "wall"])
    assert not stage.wrapped

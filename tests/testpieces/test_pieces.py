"""Test pieces: what a measurement of each says, and that each is what its note says."""

import re
from functools import cache
from math import pi

import numpy as np
import pytest

from foamwright.design.load import load
from foamwright.design.records import Stock
from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.testpieces import bend_share, design_text, gap_of_ring, kerf_of

STOCKS = {"skin": (2, 0.5), "shell": (6, 0.4), "structure": (10, 0.3)}


@cache
def built(stock, tmp):
    thickness, k = STOCKS[stock]
    foam = Stock(stock, f"Foam {thickness} mm", thickness, k, 0.03, (1000, 1200), 100, "#b8bcc2", "")
    path = tmp / f"{stock}.yaml"
    path.write_text(design_text(foam), "utf-8")
    design = load(path)
    model = build_model(build_prop(design))
    return design, model, section_and_flatten(model)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("pieces")


@pytest.mark.parametrize("k", [0.0, 0.3, 0.5, 1.0])
@pytest.mark.parametrize("radius", [20.0, 75.0])
def test_k_is_read_from_the_outer_face_of_a_bend(k, radius):
    # bend allowance of sheet metal, angle (r + k t), over a full turn (handbook formula, from memory)
    thickness = 6.0
    length, outer = 2 * pi * (radius + k * thickness), 2 * pi * (radius + thickness)
    assert bend_share(outer, length, thickness) == pytest.approx(k)


def test_kerf_and_gap():
    # a beam of 0.3 mm takes 0.15 mm on each side of its line
    assert kerf_of(100 - 0.3, 40 + 0.3, 100, 40) == pytest.approx(0.3)
    assert gap_of_ring(61.4, 60.0) == pytest.approx(0.7)


@pytest.mark.parametrize("stock", STOCKS)
def test_each_piece_is_what_its_note_says(stock, folder):
    design, model, found = built(stock, folder)
    thickness, k = STOCKS[stock]
    notes = {part.id: part.values["note"] for part in design.parts}
    length = found.pattern("ring").strip[0]
    stated, share = map(float, re.search(r"that length - (\d+)\) / ([\d.]+\d)", notes["ring"]).groups())
    assert length == pytest.approx(stated, abs=1e-6) and share == pytest.approx(2 * pi * thickness, abs=0.01)

    def width(part, face):
        body = model.prop.piece(part).body
        curve = body.curve + (body.inner_offset + face * thickness) * body.normals
        return np.ptp(curve[:, 0]), np.linalg.norm(np.diff(curve, axis=0), axis=1).sum()

    # the ring as modelled, measured around its outer face, gives the foam's own k again
    assert bend_share(width("ring", 1)[1], length, thickness) == pytest.approx(k, abs=1e-3)
    outside, inside = map(float, re.search(r"it is ([\d.]+) outside and ([\d.]+) inside", notes["frame"]).groups())
    assert width("frame", 1)[0] == pytest.approx(outside) and width("frame", 0)[0] == pytest.approx(inside)
    disc = 2 * model.prop.piece("disc").body.radius
    assert f"over {disc:g} is" in notes["hoop"]
    assert gap_of_ring(width("hoop", 0)[0], disc) == pytest.approx(1.0, abs=0.01)
    board = found.pattern("board")
    side = float(re.search(r"half of \((\d+) less", notes["board"])[1])
    assert board.strip is None and np.ptp(board.outline, axis=0) == pytest.approx([side, side])
    assert np.ptp(board.holes[0], axis=0) == pytest.approx([40, 40])
    dome = found.pattern("dome")
    assert dome.darts and 0 < dome.strain.max <= 0.03


def test_a_sheet_that_is_no_foam_has_no_test_pieces():
    card = Stock("card", "Card", 1.0, 0.5, 0.03, (100, 100), 100, "#b8bcc2", "", material_type="card")
    with pytest.raises(BuildError, match="test pieces are of foam"):
        design_text(card)


@pytest.mark.parametrize("stock", STOCKS)
def test_nothing_overlaps_and_all_stands_on_the_board(stock, folder):
    from foamwright.model.interference import interferences

    _, model, _ = built(stock, folder)
    assert interferences(model, 0.05) == ()
    lowest = {c.piece.id for c in model.copies}
    assert lowest == {"board", "ring", "disc", "hoop", "frame", "dome"}

"""Bent parts are as far across on their paper as along the foam of their solids; edges of the right lengths alone are not enough."""

from __future__ import annotations

import copy
import json

import numpy as np
import pytest

from foamwright.design import load
from foamwright.making import build
from tests.parts.flat_designs import HEAD
from tests.proof.across import across
from tests.proof.test_virtual_build import FORM

WALL = "  wall: {kind: panel, stock: foam, form: tube, where: {start: beyond, end: before, c: beyond}, mirror: y}\n"


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    path = tmp_path_factory.mktemp("pack") / "tube.yaml"
    path.write_text(HEAD.replace("forms:\n", FORM, 1) + WALL)
    made = build(load(path), only=("template_files", "model"), prove=False)
    return dict(made.files), json.loads(made.files["pack.json"])


def test_a_tube_is_as_wide_on_paper_as_round_about(pack, tmp_path):
    found = list(across(*pack, tmp_path))
    assert len(found) > 20 and max(off.by for off in found) < 0.05


def test_a_paper_that_leans_is_told_though_its_edges_are_as_long_as_they_should_be(pack, tmp_path):
    """Turned out of square by 2 degrees about its lower edge: all four sides keep their lengths, the diagonals do not."""
    files, record = pack[0], copy.deepcopy(pack[1])
    lean = np.radians(2.0)
    for part in record["parts"]:
        for key in ("outline", "other_outline"):
            x, y = np.asarray(part[key]).T
            low = y.min()
            part[key] = np.column_stack([x + np.sin(lean) * (y - low), low + np.cos(lean) * (y - low)]).tolist()
    found = list(across(files, record, tmp_path))
    assert max(off.by - off.may for off in found) > 1.0

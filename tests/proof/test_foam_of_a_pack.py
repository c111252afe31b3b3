"""Foam cut by the lines of a small pack is its solids; spoilt in every way that would cut it wrong, it is not."""

from __future__ import annotations

import copy
import json
import re

import pytest

from foamwright.making import build
from tests.parts.flat_designs import design
from tests.proof.foam import compared

PARTS = """\
  can: {kind: prism, stock: foam, sides: 5, width: 90, top_width: 70, height: 40, floor: mitred,
        openings: [{rectangle: {width: 20, height: 15}}], at: {origin: [0, 0, 0], normal: z}}
  lid: {kind: disc, stock: thick, radius: 42, at: {origin: [0, 0, 40], normal: z}}
  tire: {kind: band, stock: foam, along: {outline: {circle: {radius: 42}}, at: {origin: [0, 0, 40], normal: z}},
         from: 0, to: 10, lies_on: [lid]}
"""


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    made = build(design(tmp_path_factory.mktemp("pack"), PARTS), only=("template_files", "model"))
    return dict(made.files), json.loads(made.files["pack.json"])


def wrong(files, record, folder):
    return {(off.part, off.what) for off in compared(files, record, folder) if off.by > off.may}


def test_nowhere_more_than_a_fifth_of_a_millimetre_off(pack, tmp_path):
    found = list(compared(*pack, tmp_path))
    assert {off.part for off in found} == {"can_side", "can_floor", "lid", "tire"}
    assert max(off.by for off in found) < 0.05


def spoilt(pack, part, **values):
    record = copy.deepcopy(pack[1])
    next(p for p in record["parts"] if p["id"] == part).update(values)
    return record


def test_a_bevel_of_the_wrong_sign(pack, tmp_path):
    side = next(p for p in pack[1]["parts"] if p["id"] == "can_side")
    other = [[2 * a - c, 2 * b - d] for (a, b), (c, d) in zip(side["outline"], side["other_outline"])]
    assert ("can_side", "the other face") in wrong(pack[0], spoilt(pack, "can_side", other_outline=other), tmp_path)


def test_a_line_half_a_millimetre_out(pack, tmp_path):
    path = "templates/A-can-side.svg"
    text = pack[0][path].decode()
    group = re.search(r'<g id="cut".*?</g>', text, re.S)[0]
    x, y = re.search(r"M (\S+) (\S+) L", group).groups()
    moved = group.replace(f"M {x} {y} L", f"M {x} {float(y) + 0.5:.3f} L", 1)
    files = {**pack[0], path: text.replace(group, moved).encode()}
    assert ("can_side", "the drawn face") in wrong(files, pack[1], tmp_path)


def test_a_hoop_a_hundredth_too_short(pack, tmp_path):
    tire = next(p for p in pack[1]["parts"] if p["id"] == "tire")
    short = {key: [[0.99 * x, y] for x, y in tire[key]] for key in ("outline", "other_outline")}
    assert any(part == "tire" for part, _ in wrong(pack[0], spoilt(pack, "tire", **short), tmp_path))

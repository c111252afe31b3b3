"""A handle, an ear on a board, of which one end stands off: a pack is made of it, and the maker is told."""

import pytest

from foamwright import Request, Stages, load
from foamwright.look.build import first_look
from foamwright.look.report import report, sentences
from foamwright.parts.attempt import attempt

HANDLE = """
format: 1
name: Handle
version: 0.1.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0.5 mm}, off: {value: 0 mm}}
sizes: {one: {}}
stock: {mat: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}}
parts:
  board: {kind: plate, stock: mat, outline: {rectangle: {width: 150 * scale, height: 200}}, at: {origin: [0, -10, 0], normal: y, up: z}}
  handle:
    kind: band
    stock: mat
    along: {outline: {path: {from: [0, 60], steps: [{to: [off, -60], through: [60, 0]}]}}, at: {normal: x, up: z}}
    width: 40
    span: {points: [[off, -60], [0, 60]]}
    after: [board]
"""


def seen(tmp_path, off):
    path = tmp_path / "handle.yaml"
    path.write_text(HANDLE, "utf-8")
    design = load(path, None, {"off": f"{off} mm"})
    return design, first_look(attempt(design))


@pytest.mark.parametrize("off", [2, 5])
def test_an_end_that_stands_a_little_off_is_told_and_bars_nothing(tmp_path, off):
    _, look = seen(tmp_path, off)
    (remark,) = look.remarks
    assert (
        remark.startswith("part handle: its end near (0, ") and f"stands {off}.0 to" in remark and "off board" in remark
    )
    assert look.buildable and any("note: part handle" in line for line in sentences(report(look, "")))


@pytest.mark.parametrize("off", [0, 12])
def test_an_end_that_touches_or_is_meant_to_be_free_is_not(tmp_path, off):
    assert seen(tmp_path, off)[1].remarks == ()


def test_the_record_has_it_as_well(tmp_path):
    design, look = seen(tmp_path, 2)
    notes = Stages(Request(design)).record("notes")
    assert [note for note in notes if "its end near" in note] == list(look.remarks)

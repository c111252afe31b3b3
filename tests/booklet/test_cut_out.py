"""What the first step says is cut out and drawn on: only where there is something, and in the order in which it can be done."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

RING = (
    head("Ring", "0.5 mm")
    + """\
stock:
  board: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [SHEET, SHEET]}
parts:
  foot: {kind: disc, stock: board, radius: 220 * scale, at: {origin: [0, 0, 0], normal: z}}
  hoop: {kind: ring, stock: board, outer_radius: 280 * scale, inner_radius: 180 * scale, at: {origin: [0, 0, 10], normal: z}, lies_on: [foot]}
"""
)


BOARD = RING[: RING.index("  foot:")] + (  # one edge of the top lies across the base, and has a V there
    "  base: {kind: plate, stock: board, outline: {rectangle: {width: 200 mm * scale, height: 100}}, at: {normal: z, up: y}}\n"
    "  top: {kind: plate, stock: board, outline: {rectangle: {width: 220, height: 80}}, at: {origin: [0, 40, 10], normal: z, up: y}, lies_on: [base]}\n"
)


def first_step(folder, sheet, text=RING):
    path = folder / "ring.yaml"
    path.write_text(text.replace("SHEET", sheet), encoding="utf-8")
    return Stages(Request(load(path))).record("steps")[0].instructions


@pytest.mark.parametrize(("sheet", "whole"), [("800 mm", True), ("500 mm", False)])
def test_segments_of_a_ring_have_no_hole_of_their_own(tmp_path, sheet, whole):
    assert any("Cut out the holes" in line for line in first_step(tmp_path, sheet)) is whole


def test_a_mark_at_an_edge_is_carried_over_it_once_it_is_cut(tmp_path):
    lines = first_step(tmp_path, "800 mm", BOARD)
    cut, over = (
        next(n for n, line in enumerate(lines) if said in line) for said in ("Now cut", "Draw each V on across")
    )
    assert cut < over
    assert not any("edge of the far face" in line for line in lines)  # nothing of it lies beyond a cut line
    assert not any("Draw each V" in line for line in first_step(tmp_path, "800 mm"))  # a ring on a disc has none


PANE = RING[: RING.index("  foot:")].replace(
    "parts:", "  clear: {name: Acrylic 2 mm, thickness: 2 mm, sheet: [500 mm, 500 mm], material_type: acrylic}\nparts:"
) + (
    "  base: {kind: plate, stock: board, outline: {rectangle: {width: 200 mm * scale, height: 100}}, minus: [{circle: {radius: 3}}], at: {normal: z, up: y}}\n"
    "  pane: {kind: disc, stock: clear, radius: 30, at: {origin: [0, 0, 10], normal: z}, lies_on: [base], paint: none}\n"
)


def test_a_part_with_none_but_a_small_hole_is_listed_with_those_that_are_cut_out(tmp_path):
    assert any("Cut out the holes or slots within A as well" in line for line in first_step(tmp_path, "800 mm", PANE))
    assert not any("Cut out the holes" in line for line in first_step(tmp_path, "800 mm", BOARD))


def test_clear_sheet_is_sawn_and_has_no_drawn_face(tmp_path):
    """Common practice, no source: its film stays on, curves are sawn, straight edges scored and snapped."""
    path = tmp_path / "pane.yaml"
    path.write_text(PANE.replace("SHEET", "800 mm"), encoding="utf-8")
    lines = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    assert any("film on the clear sheet of B. Saw curves with a fretsaw" in line for line in lines)
    assert any("Draw round" in line and "and cut them out" not in line for line in lines)
    assert not any("drawn face of B" in line for line in lines)


@pytest.mark.parametrize("name", ["harbour-lantern"])
def test_how_the_blade_is_held_is_told_before_it_cuts(name, stages_of):
    """And where the templates lie before they are drawn round. The foot of the lantern has bevels and small holes."""
    lines = stages_of(name).record("steps")[0].instructions
    told = (
        "Lay the templates",
        "draw round it",
        "tilt the blade",
        "sand to the angle",
        "hole punch",
        "Now cut",
        "Cut out the holes",
    )
    at = [next(n for n, line in enumerate(lines) if said in line) for said in told]
    assert at == sorted(at)
    (onto,) = [n for n, line in enumerate(lines) if "on the other face" in line]
    assert "draw it on from there to the edge of the far face" in lines[onto + 1]


TUBES = """\
stock:
  thin: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [800 mm, 800 mm]}
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [800 mm, 800 mm]}
forms:
  tube: {kind: revolution, axis: z, smooth: false, profile: [[-10, 60 * scale], [150, 60 * scale]],
    cuts: {half: {plane: {normal: x}}, foot: {plane: {normal: z}}, top: {plane: {normal: z, at: 80}}, end: {plane: {normal: z, at: 140}}}}
parts:
  low: {kind: panel, stock: thin, form: tube, where: {half: beyond, foot: beyond, top: before}}
  high: {kind: panel, stock: STOCK, form: tube, where: {half: beyond, top: beyond, end: before}}
"""


@pytest.mark.parametrize(
    ("stock", "said"), [("thin", "are equally long."), ("thick", "are as long as the appendix tells.")]
)
def test_edges_of_one_seam_are_told_to_be_alike_on_paper_only_where_they_are(tmp_path, stock, said):
    """Bent to one radius, thicker foam has its neutral surface further out: pi times 2 mm longer over half a turn."""
    path = tmp_path / "tubes.yaml"
    path.write_text(head("Tubes", "0.5 mm") + TUBES.replace("STOCK", stock), encoding="utf-8")
    lines = Stages(Request(load(path))).record("steps")[0].instructions
    assert [line for line in lines if "same seam number" in line] == [f"Two edges with the same seam number {said}"]

"""Strips, spacers and masks: listed, drawn, and nowhere in the prop. Lengths in mm."""

import csv
import io
import math

import numpy as np
import pytest
import shapely
from flat_designs import design
from shapely.geometry import Polygon

from foamwright.assembly.bodies import bodies_of
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.words.order import order
from foamwright.contacts.find import find_contacts
from foamwright.contacts.solids import solids
from foamwright.drawing.primitives import Text
from foamwright.errors import BuildError
from foamwright.flatten.segments import pieces_of_foam
from foamwright.layout.pages import lay_out
from foamwright.layout.paper import paper
from foamwright.layout.records import PackInfo
from foamwright.model.build import build_model
from foamwright.outputs.cut_list import cut_list
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.bevels import bevel_note, bevelled
from foamwright.templates.draw import draw

ROW = (
    "  floor: {kind: disc, stock: thick, radius: 180, at: {origin: [0, 0, -10], normal: z}}\n"
    "  block: {kind: plate, stock: thick, outline: {rectangle: {width: 35, height: 20}}, at: {normal: z}, lies_on: [floor], note: Keep them level., "
    "repeat: {along: {outline: {circle: {radius: 150}}, at: {normal: z}, count: 20}}}\n"
    "  gauge: {kind: spacer, stock: foam, of: block, length: 80}\n"
)
STRIP = "  edging: {kind: strip, stock: foam, length: 11 in, width: 1 in, count: 3}\n"


def test_the_spacer_is_as_wide_as_the_gap(tmp_path):
    prop = build_prop(design(tmp_path, ROW))
    pattern = section_and_flatten(build_model(prop)).pattern("gauge")
    block = prop.piece("block")
    assert pattern.strip == pytest.approx((80.0, block.gap))
    assert block.note == f"Keep them level. Set the gaps of {block.gap:.1f} mm with spacer C."
    copies = build_model(prop).copies
    assert {copy.piece.id for copy in copies} == {"floor", "block"}


@pytest.mark.parametrize(
    ("row", "even"),
    [
        ("count: 20}}", True),
        ("count: 5, span: [0.1, 0.4]}}, mirror: y", False),  # two rows, whose ends stand as they may
        ("count: 10, taper: {to: 8, over: 4}}}", False),
    ],
)
def test_a_spacer_is_told_to_set_the_gaps_that_are_as_wide_and_no_others(tmp_path, row, even):
    note = build_prop(design(tmp_path, ROW.replace("count: 20}}", row))).piece("block").note
    assert ("Set the gaps of" in note) is even
    assert ("go by these alone" in note) is not even


def test_a_spacer_needs_gaps(tmp_path):
    parts = "  a: {kind: disc, stock: foam, radius: 20, at: {normal: z}}\n  g: {kind: spacer, stock: foam, of: a}\n"
    with pytest.raises(BuildError, match="part g: a spacer of a, which has no gaps"):
        build_prop(design(tmp_path, parts))


def test_a_plain_strip_is_listed_and_not_drawn(tmp_path):
    """The inch is 25.4 mm (international yard and pound agreement of 1959)."""
    patterns = section_and_flatten(build_model(build_prop(design(tmp_path, ROW + STRIP))))
    assert patterns.pattern("edging").strip == pytest.approx((11 * 25.4, 25.4))
    templates = draw(patterns)
    assert "edging" not in [t.pattern.piece.id for t in templates]
    row = next(r for r in csv.DictReader(io.StringIO(cut_list(patterns).decode())) if r["name"] == "Edging")
    assert (row["quantity"], row["length_mm"], row["width_mm"]) == ("3", "279.4", "25.4")
    pages = lay_out(templates, paper("A4"), PackInfo("Flat", "1", "one"), [patterns.pattern("edging")])
    said = [i.value for page in pages.pages for i in page.drawing.items if isinstance(i, Text)]
    assert any("length 279.4 mm, width 25.4 mm" in text for text in said)
    assert not any("edging" in page.parts for page in pages.pages)


def test_loose_parts_are_cut_but_never_fitted(tmp_path):
    prop = build_prop(design(tmp_path, ROW + STRIP))
    model = build_model(prop)
    steps = order(prop, section_and_flatten(model), Ways(bodies_of(model, find_contacts(solids(model)))))
    assert {"gauge", "edging"} <= set(steps[0].parts)
    assert not any({"gauge", "edging"} & set(step.parts) for step in steps[1:])


def test_a_mask_of_a_part_has_its_outline_and_reads_from_outside(tmp_path):
    parts = (
        "  sign: {kind: plate, stock: foam, outline: {rectangle: {width: 120, height: 40}}, at: {normal: -y}}\n"
        "  mask: {kind: mask, stock: card, of: sign, windows: [{circle: {radius: 10, centre: [40, 0]}}]}\n"
    )
    patterns = section_and_flatten(build_model(build_prop(design(tmp_path, parts))))
    mask = patterns.pattern("mask")
    assert np.ptp(mask.outline, axis=0) == pytest.approx((120, 40))
    (window,) = mask.holes
    assert Polygon(window).centroid.coords[0] == pytest.approx((40, 0), abs=1e-6)  # as told, not turned over
    assert mask.forward is None and mask.up is None


def test_bridges_hold_the_inside_of_letters_and_rings(tmp_path):
    text = "{text: {value: BOA, height: 30}}"
    ring = "{circle: {radius: 15, centre: [60, 0]}, minus: [{circle: {radius: 9, centre: [60, 0]}}]}"
    parts = f"  mask: {{kind: mask, stock: card, windows: [{text}, {ring}], border: 12, bridge: 1.5}}\n"
    mask = section_and_flatten(build_model(build_prop(design(tmp_path, parts)))).pattern("mask")
    sheet = Polygon(mask.outline, mask.holes)
    windows = shapely.union_all([Polygon(h) for h in mask.holes])
    x0, y0, x1, y1 = windows.bounds
    assert sheet.is_valid and sheet.contains(shapely.Point(60, 0))
    ring_lost = math.pi * (15**2 - 9**2) - windows.intersection(shapely.box(44, -20, 80, 20)).area
    assert ring_lost == pytest.approx(2 * 1.5 * (15 - 9), rel=0.03)  # two bridges across the ring
    assert sheet.bounds == pytest.approx((x0 - 12, y0 - 12, x1 + 12, y1 + 12), abs=0.05)


def test_a_mask_is_named_where_its_part_is_painted(tmp_path):
    parts = ROW + "  mask: {kind: mask, stock: card, windows: [{circle: {radius: 9}}]}\n"
    prop = build_prop(design(tmp_path, parts))
    model = build_model(prop)
    steps = order(prop, section_and_flatten(model), Ways(bodies_of(model, find_contacts(solids(model)))))
    assert [step.title for step in steps if any("mask (D)" in line for line in step.instructions)] == ["Seal and paint"]


def test_a_mask_is_used_when_its_parts_are_painted_not_with_the_last_coat(tmp_path):
    """A pad of paper must stay clear of paint, and a block goes on only after it: the floor is painted before both."""
    parts = (
        "  floor: {kind: disc, stock: thick, radius: 90, at: {origin: [0, 0, -10], normal: z}}\n"
        "  pad: {kind: disc, stock: card, radius: 20, lies_on: [floor], glue: none, at: {normal: z}}\n"
        "  block: {kind: plate, stock: thick, outline: {rectangle: {width: 20, height: 20}}, lies_on: [floor], "
        "after: [pad], at: {origin: [60, 0, 0], normal: z}}\n"
        "  mask: {kind: mask, stock: card, windows: [{circle: {radius: 9}}], paints: [floor]}\n"
    )
    prop = build_prop(design(tmp_path, parts))
    model = build_model(prop)
    steps = order(prop, section_and_flatten(model), Ways(bodies_of(model, find_contacts(solids(model)))))
    masked = [step for step in steps if "mask" in step.parts and step.number > 1]
    pad = next(step.number for step in steps if "pad" in step.places)
    assert len(masked) == 1 and masked[0].number < pad and "floor" in masked[0].parts


DOOR = "{kind: plate, stock: foam, outline: {polygon: {points: [[0, 0], [90, 0], [90, TALL], [0, 120]]}}, at: {origin: [0, 60, 0], normal: y}, mirror: y}"


@pytest.mark.parametrize("tall, turned", [(120, False), (80, True)])
def test_a_mask_of_a_mirrored_part_says_when_it_is_turned_over(tmp_path, tall, turned):
    parts = (
        f"  door: {DOOR.replace('TALL', str(tall))}\n  mask: {{kind: mask, stock: card, of: door, windows: [WINDOW]}}\n"
    )
    prop = build_prop(design(tmp_path, parts.replace("WINDOW", "{circle: {radius: 10, centre: [45, 40]}}")))
    assert ("Turn it over for the mirrored A." in prop.piece("mask").note) is turned
    letters = parts.replace("WINDOW", "{stencil_text: {value: B2, height: 20, centre: [45, 40]}}")
    if turned:
        with pytest.raises(BuildError, match="turned over for them it reads backwards"):
            build_prop(design(tmp_path, letters))
    else:
        build_prop(design(tmp_path, letters))


def test_a_mitred_band_counts_as_bevelled_and_its_pieces_have_their_own_length(tmp_path):
    """Half of a hexagon of sides 60 and a width of 200: each corner turns by 60 degrees and is cut at 30, so that a piece is
    longer outside by 6 mm times the tangent of that at each mitre (mitre tables of joinery)."""
    points = [[60 * np.cos(np.radians(a)), 60 * np.sin(np.radians(a))] for a in range(0, 360, 60)]
    text = ", ".join(f"[{x:.6f}, {y:.6f}]" for x, y in points)
    parts = (
        "  hood: {kind: band, stock: foam, from: -100, to: 100, corners: mitred, "
        f"along: {{outline: {{polygon: {{points: [{text}]}}}}, at: {{normal: z}}}}}}\n"
    )
    patterns = section_and_flatten(build_model(build_prop(design(tmp_path, parts))))
    hood = patterns.pattern("hood")
    outside = 60 + 2 * 6 * np.tan(np.radians(30))
    assert [own.strip for own in pieces_of_foam(hood)] == [pytest.approx((outside, 200), abs=0.01)] * 6
    assert bevelled(hood) and bevel_note(hood) is not None and "cut all edges square" not in bevel_note(hood)
    row = next(csv.DictReader(io.StringIO(cut_list(patterns).decode())))
    assert row["bevel_deg"] in ("30.0", "-30.0")

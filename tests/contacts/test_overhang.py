"""What is glued on and reaches beyond what it is glued to: by how much, from elementary geometry."""

import sys
from pathlib import Path

import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.solids import solids
from foamwright.drawing.primitives import Text
from foamwright.model.build import build_model
from foamwright.pack.record import SECTIONS
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.draw import draw

sys.path.insert(0, str(Path(__file__).parents[1] / "parts"))
from flat_designs import design

BASE = "  base: {{kind: plate, stock: thick, outline: {{rectangle: {{width: {w}, height: {h}}}}}, at: {{origin: [0, 0, -10], normal: z, up: y}}}}\n"
ON = "  {name}: {{kind: plate, stock: {stock}, outline: {{rectangle: {{width: {w}, height: {h}}}}}, at: {{origin: {at}, normal: {n}, up: {up}}}{more}}}\n"


def built(folder, text):
    model = build_model(build_prop(design(folder, text)))
    return model, find_contacts(solids(model), 0.5)


def overhangs(contacts):
    return [(c.hangs.part, c.hangs.copy, round(c.overhang, 2)) for c in contacts.found if c.hangs]


@pytest.mark.parametrize("scale", [0.3, 1.0, 2.5])
@pytest.mark.parametrize("stock", ["foam", "thick"])
@pytest.mark.parametrize("lies", ["", ", lies_on: [base]"])
def test_a_strip_reaches_beyond_the_edge_of_what_it_lies_on(tmp_path, scale, stock, lies):
    """16 of its 40 mm beyond either end of a base of 200; both sides have the line where the other ends."""
    w, h = 200 * scale, 100 * scale
    strip = ON.format(
        name="strip",
        stock=stock,
        w=40 * scale,
        h=80 * scale,
        at=[96 * scale, 0, 0],
        n="z",
        up="y",
        more=lies + ", mirror: x",
    )
    model, contacts = built(tmp_path, BASE.format(w=w, h=h) + strip)
    assert overhangs(contacts) == [("strip", 1, 16 * scale), ("strip", 2, 16 * scale)]
    told = SECTIONS["contacts"](prop=model.prop, contacts=contacts)
    assert [(one["overhang"], one[one["hangs"]]["part"]) for one in told] == [(pytest.approx(16 * scale), "strip")] * 2
    drawn = {t.pattern.piece.id: t for t in draw(section_and_flatten(model), contacts)}
    for part in ("base", "strip"):
        for mark in drawn[part].marks:
            assert mark.region.area == pytest.approx(24 * scale * 80 * scale, rel=0.01)
    assert len(drawn["base"].marks) == 2 and len(drawn["strip"].marks) == 1
    words = [i.value for i in drawn["base"].drawing.flat if isinstance(i, Text)]
    assert any(f"{16 * scale:.0f} mm out" in word for word in words)


@pytest.mark.parametrize("layers, across", [(1, 0.0), (2, 8.0)])
def test_a_post_at_the_rim_of_a_hole_stands_on_a_part_of_its_thickness(tmp_path, layers, across):
    """Of a post 20 mm thick 12 mm stand on the base, the rest over its hole; one 10 mm thick stands on it as a whole."""
    hole = BASE.format(w=200, h=100).replace("}}, at", "}, minus: [{rectangle: {width: 60, height: 60}}]}, at")
    post = f"  post: {{kind: plate, stock: thick, layers: {layers}, outline: {{rectangle: {{width: 26, height: 80, centre: [0, 40]}}}}, at: {{origin: [42, 0, 0], normal: -x, up: z}}}}\n"
    model, contacts = built(tmp_path, hole + post)
    assert overhangs(contacts) == ([("post", 1, across)] if across else [])
    drawn = {t.pattern.piece.id: t for t in draw(section_and_flatten(model), contacts)}
    words = [i.value for t in drawn.values() for i in t.drawing.flat if isinstance(i, Text)]
    assert any("8 mm out" in word for word in words) == bool(across)
    assert ("to A, 8 mm of the edge stand out" in words) == bool(across)


def test_a_strip_over_a_round_hole_reaches_furthest_in_its_middle(tmp_path):
    """Its edge is a chord's side at 52 from the middle of a hole of radius 60: 8 mm there, 6.4 at its corners."""
    hole = BASE.format(w=200, h=200).replace("}}, at", "}, minus: [{circle: {radius: 60}}]}, at")
    strip = ON.format(name="strip", stock="foam", w=40, h=26, at=[72, 0, 0], n="z", up="y", more="")
    _, contacts = built(tmp_path, hole + strip)
    assert overhangs(contacts) == [("strip", 1, pytest.approx(8.0, abs=0.05))]


@pytest.mark.parametrize("apart", [0.0, 0.6, 1.0, 20.0])
def test_a_strip_that_bridges_a_gap_reaches_beyond_neither_part_there(tmp_path, apart):
    """Two boards as far apart as glue and the clearance of 0.5 bridge, nearly, or by far more; moved aside it reaches 10 mm beyond both, and no further."""
    boards = "".join(
        ON.format(name=name, stock="thick", w=100, h=100, at=[x, 0, -10], n="z", up="y", more="")
        for name, x in (("west", -50 - apart / 2), ("east", 50 + apart / 2))
    )
    strip = ON.format(name="strip", stock="foam", w=60, h=80, at=[0, 0, 0], n="z", up="y", more="")
    assert overhangs(built(tmp_path, boards + strip)[1]) == []
    off = strip.replace("[0, 0, 0]", "[0, 20, 0]")
    assert overhangs(built(tmp_path, boards + off)[1]) == [("strip", 1, pytest.approx(10.0, abs=0.02))] * 2


def test_a_post_behind_slats_does_not_stand_out_between_them(tmp_path):
    """Three slats of 10 mm across an edge of 42, 6 mm apart, flush with it at both ends; higher by 9 it stands out by these."""
    slats = "".join(
        ON.format(name=f"slat_{k}", stock="foam", w=96, h=10, at=[0, y, 0], n="z", up="y", more="")
        for k, y in enumerate((-16, 0, 16))
    )
    post = ON.format(name="post", stock="thick", w=42, h=60, at=[0, 0, -30], n="x", up="z", more="")
    assert overhangs(built(tmp_path, slats + post)[1]) == []
    higher = post.replace("width: 42", "width: 60")
    assert overhangs(built(tmp_path, slats + higher)[1]) == [("post", 1, 9.0)] * 2


@pytest.mark.parametrize("wide", [42, 60])
def test_of_slats_cut_by_one_template_only_what_holds_of_all_is_said(tmp_path, wide):
    """Beyond the outer two the post stands out by half of what it is wider than 42, beyond the one in the middle by nothing."""
    slat = ON.format(
        name="slat",
        stock="foam",
        w=96,
        h=10,
        at=[0, -16, 0],
        n="z",
        up="y",
        more=", repeat: {count: 3, step: [0, 16, 0]}",
    )
    post = ON.format(name="post", stock="thick", w=wide, h=60, at=[0, 0, -30], n="x", up="z", more="")
    model, contacts = built(tmp_path, slat + post)
    assert len(contacts.found) == 3
    drawn = {t.pattern.piece.id: t for t in draw(section_and_flatten(model), contacts)}
    for part in ("slat", "post"):
        words = [i.value for i in drawn[part].drawing.flat if isinstance(i, Text)]
        assert not any(" out" in word for word in words), words


def test_what_lies_on_two_parts_or_on_little_of_itself_reaches_beyond_none(tmp_path):
    """A strip over the joint of two boards; a beam of 160 mm across a block of 40."""
    boards = "".join(
        ON.format(name=name, stock="thick", w=100, h=100, at=[x, 0, -10], n="z", up="y", more="")
        for name, x in (("west", -50), ("east", 50))
    )
    strip = ON.format(name="strip", stock="foam", w=60, h=80, at=[20, 0, 0], n="z", up="y", more="")
    _, contacts = built(tmp_path, boards + strip)
    assert len(contacts.found) == 3 and overhangs(contacts) == []
    beam = ON.format(name="beam", stock="foam", w=160, h=40, at=[0, 0, 0], n="z", up="y", more="")
    _, contacts = built(tmp_path, BASE.format(w=40, h=40) + beam)
    assert len(contacts.found) == 1 and overhangs(contacts) == []

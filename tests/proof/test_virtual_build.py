"""A small pack built on the virtual bench as it is, and spoilt in every way that the bench is there to catch."""

from __future__ import annotations

import copy
import json
import re
from types import SimpleNamespace

import numpy as np
import pytest

from foamwright.contacts.solids import solids
from foamwright.design import load
from foamwright.errors import BuildError
from foamwright.making import Request, Stages
from foamwright.proof.bench.build import virtual_build
from tests.parts.flat_designs import HEAD

# A mitred can with a lid, a mitred crate on it, a belt round a plate with round corners, and a tube of two thicknesses.
PARTS = (
    "  can: {kind: prism, stock: foam, sides: 6, width: 90, height: 60, floor: open, roof: open, "
    "at: {origin: [0, 0, 0], normal: z}}\n"
    "  lid: {kind: disc, stock: thick, radius: 60, at: {origin: [0, 0, 60], normal: z}}\n"
    "  crate: {kind: box, stock: foam, size: [80, 60, 50], joint: mitred, at: {origin: [0, 0, 70], normal: z}}\n"
    "  tray: {kind: plate, stock: thick, outline: {rectangle: {width: 120, height: 80, corner: 12}}, "
    "at: {origin: [0, 0, -10], normal: z}}\n"
    "  belt: {kind: band, stock: foam, along: {outline: {rectangle: {width: 120, height: 80, corner: 12}}, "
    "at: {origin: [0, 0, -10], normal: z}}, from: 0, to: 10, laid: outside}\n"
)
# two half hoops of 6 mm, and two of 10 mm on them
TUBE = (
    "  low: {kind: panel, stock: foam, form: tube, where: {start: beyond, middle: before, c: beyond}, mirror: y}\n"
    "  high: {kind: panel, stock: thick, form: tube, where: {end: before, middle: beyond, c: beyond}, mirror: y}\n"
)
FORM = (
    "forms:\n"
    "  tube:\n"
    "    {kind: revolution, axis: z, smooth: false, profile: [[-10, 80], [120, 80 * scale]],\n"
    "     cuts: {c: {plane: {normal: y, at: 0}}, start: {plane: {normal: z, at: 0}}, "
    "middle: {plane: {normal: z, at: 50}}, end: {plane: {normal: z, at: 100}}}}\n"
)


def built(folder, head, parts):
    path = folder / "props.yaml"
    path.write_text(head + parts, "utf-8")
    stages = Stages(Request(load(path), prove=False))
    files = stages.pack(("template_files",)).files
    return SimpleNamespace(
        files={path: data for path, data in files.items() if path != "pack.json"},
        record=json.loads(files["pack.json"]),
        solids=solids(stages.model),
    )


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    return built(tmp_path_factory.mktemp("pack"), HEAD, PARTS)


@pytest.fixture(scope="module")
def tube(tmp_path_factory):
    return built(tmp_path_factory.mktemp("tube"), HEAD.replace("forms:\n", FORM, 1), TUBE)


def part(record, name):
    return next(p for p in record["parts"] if p["id"] == name)


def edge(record, name, edge_id):
    return next(e for e in part(record, name)["edges"] if e["id"] == edge_id)


def faults(pack, record, files=None):
    return [str(fault) for fault in virtual_build(files or {}, record, pack.solids).faults]


@pytest.fixture
def spoilt(pack):
    return copy.deepcopy(pack.record)


def moved(record, name, change):
    """Every point of a part's paper, changed."""
    own = part(record, name)
    for key in ("outline", "other_outline"):
        own[key] = [list(change(x, y)) for x, y in own[key]]
    for key in ("holes", "other_holes"):
        own[key] = [[list(change(x, y)) for x, y in ring] for ring in own[key]]
    for one in own["edges"]:
        one["ends"] = [list(change(x, y)) for x, y in one["ends"]]
        for tick in one["ticks"]:
            tick["at"] = list(change(*tick["at"]))


def test_the_pack_as_it_is_comes_out(pack):
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert [str(fault) for fault in proof.faults] == []
    proof.refuse()
    away = {one.part: float(one.away.max()) for one in proof.measured}
    assert away.pop("belt") < 2.0 and proof.mean < 0.25  # its corners bend by triangles
    assert max(away.values()) < 1.0 and proof.seam_gap < 0.01
    assert proof.left == () and {part for part, _ in proof.reasons} <= {"belt"}  # which way up it goes no line tells
    sewn = [body for body in proof.bodies if body.copies > 1]
    assert len(sewn) == 2 and all(body.worst < 0.1 for body in sewn)  # a hexagon and a box close


def test_the_same_files_give_the_same_figures(pack):
    one, other = (virtual_build(pack.files, pack.record, pack.solids) for _ in range(2))
    assert (one.mean, one.worst, one.seam_gap, one.mark_gap) == (
        other.mean,
        other.worst,
        other.seam_gap,
        other.mark_gap,
    )


def test_a_bevel_of_the_wrong_sign(pack, spoilt):
    edge(spoilt, "can_side", "left")["bevel"] = -30.0
    assert any("A Can" in f and "cut at -30.0 degrees, but its two lines make +30.0" in f for f in faults(pack, spoilt))


def test_bevels_and_lines_of_the_wrong_sign(pack, spoilt):
    """Then the paper agrees with itself, and the round does not close."""
    own = part(spoilt, "can_side")
    own["outline"], own["other_outline"] = own["other_outline"], own["outline"]
    for one in own["edges"]:
        one["bevel"] = -one["bevel"]
        one["ends"] = [
            min(own["outline"], key=lambda p, e=end: (p[0] - e[0]) ** 2 + (p[1] - e[1]) ** 2) for end in one["ends"]
        ]
    found = faults(pack, spoilt)
    assert any(f.startswith("A Can, side: it comes out") for f in found)


def test_the_line_of_the_wrong_face(pack, spoilt):
    """What is drawn on the inside face is the line of the outside face, and the bevel as it was."""
    own = part(spoilt, "crate_top_bottom")
    own["outline"], own["other_outline"] = own["other_outline"], own["outline"]
    assert any("Crate" in f and "but its two lines make" in f for f in faults(pack, spoilt))


def test_a_seam_two_millimetres_long(pack, spoilt):
    moved(spoilt, "crate_front_back", lambda x, y: (x + (2.0 if x > 0 else 0.0), y))
    found = faults(pack, spoilt)
    assert any(f.startswith("seam ") and "its edges differ by 2.00 mm" in f for f in found)


def test_a_band_five_per_cent_long(pack, spoilt):
    moved(spoilt, "belt", lambda x, y: (1.05 * x, y))
    assert any(f.startswith("G Belt: it is 418.2 mm long") and "398.2 mm go round" in f for f in faults(pack, spoilt))


def test_a_band_whose_corners_were_rounded(pack, spoilt):
    """One curve through the corners of 120 x 80 with corners of 12 came to 621.8 mm; it is 398.25 by Steiner's formula
    (2 (96 + 56) + 2 pi (12 + 3))."""
    moved(spoilt, "belt", lambda x, y: (621.8 / 398.248 * x, y))
    assert any("it is 621.8 mm long" in f for f in faults(pack, spoilt))


def test_a_mark_on_the_wrong_face(pack, spoilt):
    mark = next(m for m in spoilt["marks"] if m["on"] == "lid" and m["part"] == "can_side")
    mark["face"] = "outside"
    assert any(
        f == "the line on B Lid for A Can, side: it is on the outside, but it touches inside"
        for f in faults(pack, spoilt)
    )


def test_a_mark_that_was_moved(pack, spoilt):
    """The crate's foot on the lid, a centimetre aside: it is set where the line is, and that is not its place."""
    for mark in spoilt["marks"]:
        if mark["on"] == "lid" and mark["part"] == "can_side" and mark["of"] == [[1, 1]]:
            mark["lines"] = [[[x + 10.0, y + 10.0] for x, y in line] for line in mark["lines"]]
    found = faults(pack, spoilt)
    assert any("B Lid" in f or "A Can" in f for f in found)


def test_a_swapped_pair_of_parts(pack, spoilt):
    one, other = part(spoilt, "crate_front_back"), part(spoilt, "crate_left_right")
    for key in ("outline", "other_outline"):
        one[key], other[key] = other[key], one[key]
    for a, b in zip(one["edges"], other["edges"]):
        a["ends"], b["ends"] = b["ends"], a["ends"]
    assert any(f.startswith("seam ") for f in faults(pack, spoilt))


def test_swapped_edges(pack, spoilt):
    one, other = edge(spoilt, "crate_top_bottom", "left"), edge(spoilt, "crate_top_bottom", "front")
    one["id"], other["id"] = "front", "left"
    assert any(f.startswith("seam ") for f in faults(pack, spoilt))


def test_a_line_that_is_not_on_the_paper(pack):
    path = next(p for p in pack.files if p.endswith("lid.svg"))
    bare = re.sub(rb'<g id="mark(?:-other)?".*?</g>', b"", pack.files[path], flags=re.S)
    assert bare != pack.files[path]
    found = faults(pack, pack.record, {**pack.files, path: bare})
    assert "B Lid: the line for can_side is not on its paper" in found


def test_unlike_thickness_in_one_length(tube):
    """A tube of 10 and 6 mm foam: forced to their mean, both half hoops were 1.2 % wrong."""
    record = copy.deepcopy(tube.record)
    assert faults(tube, record) == []
    lengths = [np.ptp([x for x, _ in part(record, name)["outline"]]) for name in ("low", "high")]
    assert lengths == pytest.approx([83 * np.pi, 85 * np.pi], abs=0.02)  # circles in the middle of either foam
    mean = sum(lengths) / 2
    moved(record, "low", lambda x, y: (x * mean / lengths[0], y))
    moved(record, "high", lambda x, y: (x * mean / lengths[1], y))
    found = faults(tube, record)
    assert any(f.startswith("seam ") and "differ by" in f and "on the line where they touch" in f for f in found)


def test_a_pack_that_fails_its_proof_fails_the_build(pack, spoilt):
    moved(spoilt, "belt", lambda x, y: (1.05 * x, y))
    with pytest.raises(
        BuildError, match=r"^built from its own templates the prop does not come out: G Belt: .*"
    ) as caught:
        virtual_build({}, spoilt, pack.solids).refuse()
    assert "\n" not in str(caught.value)


# an open tube of two halves in two lengths, with a disc inside each end and a ring over the joint: free edges at both ends
OPEN = (
    "  a: {kind: panel, stock: foam, form: tube, where: {start: beyond, middle: before, c: beyond}, mirror: y}\n"
    "  b: {kind: panel, stock: foam, form: tube, where: {middle: beyond, end: before, c: beyond}, mirror: y}\n"
    "  floor: {kind: bulkhead, stock: thick, form: tube, plane: {normal: z, at: 0}}\n"
    "  ring: {kind: bulkhead, stock: thick, form: tube, plane: {normal: z, at: 45}}\n"
    "  head: {kind: bulkhead, stock: thick, form: tube, plane: {normal: z, at: 85}}\n"
)
# a box without a top: its walls stand on the bottom and on each other with square edges
TRAY = "  crate: {kind: box, stock: foam, size: [120, 80, 60], without: [top], at: {origin: [0, 0, 0], normal: z}}\n"


def test_flat_parts_hold_an_open_tube(tmp_path):
    """Discs keep a cylinder of bent foam round, at the gap that was left for glue: built without them it stands off further."""
    pack = built(tmp_path, HEAD.replace("forms:\n", FORM, 1), OPEN)
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert [str(fault) for fault in proof.faults] == []
    (body,) = (body for body in proof.bodies if body.bent)
    assert set(body.parts) == {"a", "b", "floor", "ring", "head"} and body.judged
    assert proof.proven == proof.copies == 7 and proof.mean < 0.3 and proof.worst < 1.2


def test_a_butted_box_closes_and_a_wall_that_is_short_does_not(tmp_path):
    pack = built(tmp_path, HEAD, TRAY)
    proof = virtual_build(pack.files, pack.record, pack.solids)
    assert proof.faults == () and proof.proven == proof.copies == 5 and proof.worst < 0.5
    record = copy.deepcopy(pack.record)
    moved(record, "crate_left_right", lambda x, y: (x - (9.0 if x > 0 else 0.0), y))
    short = virtual_build({}, record, pack.solids)
    assert short.faults or short.proven < 5


def test_letters_of_two_parts_that_are_swapped_are_told(pack):
    record = copy.deepcopy(pack.record)
    can, lid = part(record, "can_side"), part(record, "lid")
    can["label"], lid["label"] = lid["label"], can["label"]
    found = faults(pack, record, pack.files)
    assert sum("its template has another letter" in fault for fault in found) == 2

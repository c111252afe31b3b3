"""Every design of this project builds, and its record can be cut by: pieces apart on their sheets, seams, strain."""

import json
from collections import Counter
from itertools import combinations
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from shapely.affinity import rotate, scale, translate
from shapely.geometry import MultiLineString, Point, Polygon, box

from foamwright.drawing.primitives import Path as Line
from foamwright.templates.records import LAID
from tests.proof.foam import compared

ROOT = Path(__file__).parents[2]
DESIGNS = sorted(path.stem for path in (ROOT / "designs").glob("*.yaml"))


@pytest.fixture(scope="module", params=DESIGNS)
def name(request):
    return request.param


@pytest.fixture(scope="module")
def folder(name, request, stages_of, tmp_path_factory):
    """The pack of each design at its first size."""
    if name == "pocket-submarine":
        return request.getfixturevalue("plush").folder
    folder = tmp_path_factory.mktemp(name) / "pack"
    stages_of(name).pack().write(folder)
    return folder


@pytest.fixture(scope="module")
def built(name, folder, stages_of):
    """The design and the record of its first size, as it is written."""
    return stages_of(name).design, json.loads((folder / "pack.json").read_text("utf-8"))


def test_foam_cut_by_the_written_lines_is_the_solids(folder, tmp_path):
    files = {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.suffix in (".svg", ".step")
    }
    record = json.loads((folder / "pack.json").read_text("utf-8"))
    found = list(compared(files, record, tmp_path))
    assert len({off.part for off in found}) > 5
    assert [off for off in found if off.by > off.may] == []


def pieces_of(part: dict) -> list[Polygon]:
    loops = part["split"]["segments"] if part.get("split") else [part]
    return [Polygon(loop["outline"], loop["holes"]) for loop in loops]


def on_sheet(foam: Polygon, placed: dict) -> Polygon:
    foam = scale(foam, -1.0, 1.0, origin=(0, 0)) if placed["flipped"] else foam
    return translate(rotate(foam, placed["angle"], origin=(0, 0)), placed["x"], placed["y"])


def test_the_record_has_its_form(built):
    schema = json.loads((ROOT / "generator" / "foamwright" / "pack" / "schema.json").read_text("utf-8"))
    jsonschema.validate(built[1], schema, jsonschema.Draft202012Validator)


def test_no_design_tells_a_fault_of_its_own(built):
    pair = "things alike that nothing joins"  # of a pair of shoulders it is no fault
    assert [note for note in built[1]["notes"] if pair not in note] == []


def test_pieces_lie_apart_on_their_sheets_and_none_is_missing(built):
    design, record = built
    parts = {part["id"]: part for part in record["parts"]}
    laid = Counter()
    for sheet in record["sheets"]:
        stock = design.stock[sheet["material"]]
        foam = [on_sheet(pieces_of(parts[p["part"]])[p["segment"]], p) for p in sheet["placed"]]
        laid.update((p["part"], p["segment"], p["copy"]) for p in sheet["placed"])
        room = box(0, 0, *sheet["size"]).buffer(0.002 - stock.edge, join_style="mitre")
        assert all(room.contains(f) for f in foam)
        assert all(a.distance(b) >= stock.gap - 0.002 for a, b in combinations(foam, 2))
        area = sum(f.area for f in foam)
        assert sheet["used"] == pytest.approx(area / np.prod(sheet["size"]), abs=0.001)
    expected = Counter(
        (id_, segment, copy)
        for id_, part in parts.items()
        for segment in range(len(pieces_of(part)))
        for copy in range(part["quantity"])
        if any(p["part"] == id_ for s in record["sheets"] for p in s["placed"])
    )
    assert laid == expected
    bought = [part for id_, part in parts.items() if not any(id_ == own for own, *_ in laid)]
    assert {part["kind"] for part in bought} <= {"rod"}


def test_a_v_beside_a_line_stands_at_one(name, stages_of):
    """Flat foam that stands off a curve lands on it far beyond the line that is drawn: a V out there would turn another part."""
    for template in stages_of(name).record("templates"):
        drawn = [item for item in template.drawing.items if isinstance(item, Line) and len(item.points) > 1]
        for inside, layer in LAID.items():
            beside = "mark" if inside else "mark-other"
            lines = MultiLineString([item.points for item in drawn if item.layer == beside])
            for v in (item.points for item in drawn if item.layer == layer):
                assert lines.distance(Point((v[0] + v[-1]) / 2.0)) < 5.0, (template.pattern.piece.id, layer)


def test_every_part_with_a_template_is_on_a_page(built):
    _, record = built
    printed = {part for page in record["pages"] for part in page["parts"]}
    files = {f["path"] for f in record["files"]}
    for part in record["parts"]:
        own = any(f.startswith(f"templates/{part['label']}") and part["id"].replace("_", "-") in f for f in files)
        assert (part["id"] in printed) >= own, part["id"]


def test_seams_and_strain_keep_the_rules_and_nothing_shares_space(built):
    design, record = built
    limit = {m["id"]: m["strain_limit"] for m in record["materials"]}
    assert all(part["strain"]["max"] <= limit[part["material"]] for part in record["parts"])
    for seam in record["seams"]:
        a, b = seam["length_a"], seam["length_b"]
        assert abs(a - b) <= max(0.25, 0.001 * max(a, b))
    found = {frozenset((i["a"]["part"], i["b"]["part"])) for i in record["fit"]["interferences"]}
    assert found <= {frozenset(pair) for pair in design.expected_overlaps}

"""The packs of the flagship at both sizes: what their record says, and whether their files bear it out."""

import csv
import hashlib
import io
import json
import struct
import zipfile
from pathlib import Path

import jsonschema
import pytest
from shapely.geometry import Polygon

from foamwright.design import load
from foamwright.parts import build_prop

ROOT = Path(__file__).parents[2]
FLAGSHIP = ROOT / "designs" / "pocket-submarine.yaml"


@pytest.fixture(scope="module", params=["plush", "cat"])
def pack(request):
    return request.getfixturevalue(request.param)


def by_id(pack):
    return {part["id"]: part for part in pack.record["parts"]}


def test_record_has_the_form_that_its_schema_states(pack):
    schema = json.loads((ROOT / "generator" / "foamwright" / "pack" / "schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(pack.record, schema, jsonschema.Draft202012Validator)


def test_it_tells_no_fault_of_its_own(pack):
    assert pack.record["notes"] == []


def test_it_is_a_whole_prop(pack):
    parts = pack.record["parts"]
    assert len(parts) >= 30
    assert len({part["thickness"] for part in parts}) >= 3
    panels = [part for part in parts if part["kind"] == "panel"]
    assert sum(part["quantity"] for part in panels if part["darts"]) >= 8
    labels = [part["label"] for part in parts]
    assert labels[:2] == ["A", "B"] and len(set(labels)) == len(labels)
    assert pack.record["steps"] and pack.record["laps"] and pack.record["seams"]


def test_size_changes_the_form_and_never_the_foam(plush, cat):
    small, large = by_id(plush), by_id(cat)
    assert small.keys() == large.keys()
    assert plush.record["materials"] == cat.record["materials"]
    for part in small:
        assert small[part]["thickness"] == large[part]["thickness"]
        assert small[part]["quantity"] == large[part]["quantity"]
        if small[part]["kind"] in ("panel", "bulkhead", "cover"):
            assert large[part]["area"] > 1.3 * small[part]["area"], part
    # a hull panel grows with the square of the size, but for the foam that it stands off by
    scale = cat.record["design"]["parameters"]["scale"]
    for part in ("bow_lower", "side_upper", "side_lower", "stern_lower"):
        ratio = large[part]["area"] / small[part]["area"]
        assert ratio == pytest.approx(scale**2, rel=0.06)
        assert ratio != pytest.approx(scale**2, rel=0.002)
        assert small[part]["neutral_offset"] == large[part]["neutral_offset"]


def test_strain_seams_and_darts_keep_the_rules(pack):
    limit = {m["id"]: m["strain_limit"] for m in pack.record["materials"]}
    for part in pack.record["parts"]:
        assert part["strain"]["mean"] <= part["strain"]["p95"] <= 1.5 * part["strain"]["max"] + 1e-4
        assert part["strain"]["max"] <= limit[part["material"]]
        for dart in part["darts"]:
            assert abs(dart["legs"][0] - dart["legs"][1]) <= max(0.25, 0.001 * max(dart["legs"]))
    edges = {(p["id"], e["id"]): e["length"] for p in pack.record["parts"] for e in p["edges"]}
    for seam in pack.record["seams"]:
        a, b = seam["length_a"], seam["length_b"]
        assert abs(a - b) <= max(0.25, 0.001 * max(a, b))
        assert edges[seam["a"]["part"], seam["a"]["edge"]] == a
        assert edges[seam["b"]["part"], seam["b"]["edge"]] == b


def test_outlines_are_sound_and_have_their_areas(pack):
    for part in pack.record["parts"]:
        ring = Polygon(part["outline"])
        assert ring.exterior.is_ccw, part["id"]
        assert part["outline"][0] != part["outline"][-1]
        whole = Polygon(part["outline"], part["holes"])
        assert whole.is_valid, part["id"]
        # round parts state the area of the true circle; the cut line stays within 0.01 mm of it
        most = 0.01 * whole.length if "round" in part else 1e-5 * part["area"]
        assert whole.area == pytest.approx(part["area"], abs=most), part["id"]


def test_no_parts_share_space_unless_the_design_says_so(pack):
    design = load(FLAGSHIP, pack.record["design"]["size"])
    declared = {frozenset(pair) for pair in design.expected_overlaps}
    found = {frozenset((i["a"]["part"], i["b"]["part"])) for i in pack.record["fit"]["interferences"]}
    assert found <= declared
    told = {"plush": "seated plush", "cat": "seated toy cat"}  # a size may have a figure of its own
    assert pack.record["fit"]["figure"] == told[pack.record["design"]["size"]]
    assert pack.record["fit"]["clearance_min"] > 0


def test_files_are_listed_with_their_hashes(pack):
    files = pack.files
    archive = next(name for name in files if name.endswith(".zip"))
    listed = {f["path"]: f for f in pack.record["files"]}
    assert listed.keys() == files.keys() - {"pack.json", archive}
    for path, entry in listed.items():
        assert entry["bytes"] == len(files[path])
        assert entry["sha256"] == hashlib.sha256(files[path]).hexdigest()


def test_archive_holds_the_same_bytes(pack):
    files = pack.files
    name = next(name for name in files if name.endswith(".zip"))
    with zipfile.ZipFile(io.BytesIO(files[name])) as archive:
        assert archive.testzip() is None
        inside = {info.filename: archive.read(info) for info in archive.infolist()}
    folder = name.removesuffix(".zip")
    assert inside == {f"{folder}/{path}": content for path, content in files.items() if path != name}


def test_every_part_has_its_template(pack):
    parts = by_id(pack)
    on_pages = {p for page in pack.record["pages"] if page["file"] == "templates.pdf" for p in page["parts"]}
    assert on_pages == parts.keys()
    drawn = {path.split("/")[1].split("-")[0] for path in pack.files if path.startswith("templates/")}
    assert drawn == {part["label"] for part in parts.values()}
    rows = list(csv.DictReader(io.StringIO(pack.files["cut-list.csv"].decode("utf-8"))))
    assert len(rows) == len(parts)


@pytest.fixture(scope="module")
def standing():
    """Copies that stand in the prop, each as its part and of how many layers it is."""
    return [(piece.id, piece.layers) for piece in build_prop(load(FLAGSHIP)).pieces for _ in piece.placements]


def test_model_is_read_back_as_solids(plush, standing):
    import cadquery

    solids = cadquery.importers.importStep(str(plush.folder / "model" / "prop.step")).solids().vals()
    assert len(solids) == len(standing)
    assert all(solid.isValid() and solid.Volume() > 0 for solid in solids)
    # foam is neither lost nor gained: area times thickness, but for bevels, bends and edges cut at a slant
    parts = by_id(plush)
    flat = sum(parts[i]["area"] * parts[i]["thickness"] * layers for i, layers in standing)
    assert sum(solid.Volume() for solid in solids) == pytest.approx(flat, rel=0.02)


def test_model_for_viewers_is_sound(plush, standing):
    # Khronos Group, glTF 2.0 specification, section 4.4: GLB file format
    content = plush.files["model/prop.glb"]
    magic, version, length = struct.unpack("<4sII", content[:12])
    assert (magic, version, length) == (b"glTF", 2, len(content))
    size, kind = struct.unpack("<I4s", content[12:20])
    assert kind == b"JSON"
    scene = json.loads(content[20 : 20 + size])
    binary, kind = struct.unpack("<I4s", content[20 + size : 28 + size])
    assert kind == b"BIN\0" and 28 + size + binary == length
    assert len([node for node in scene["nodes"] if "mesh" in node]) == len(standing)
    assert sum(view["byteLength"] for view in scene["bufferViews"]) <= scene["buffers"][0]["byteLength"] <= binary

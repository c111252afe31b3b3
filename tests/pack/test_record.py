"""The record of a pack against its schema, the schema against its metaschema, areas against shapely."""

import hashlib
import json
import re
from types import SimpleNamespace

import jsonschema
import numpy as np
import pytest
from known_records import SCHEMA, STRICT, known
from sample_prop import INFO, pictures, sample
from shapely import Polygon

from foamwright.assembly.bodies import bodies
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.pages.pages import booklet
from foamwright.booklet.words.order import order
from foamwright.layout.records import Paper
from foamwright.pack.plain import record_bytes
from foamwright.pack.record import pack_record

UNSEEN = Ways(bodies((), (), ()))  # the sample has no solids: nothing stands in the way of anything
FILES = {"templates.pdf": b"%PDF-1.4", "model/prop.step": b"ISO-10303-21;", "cut_list.csv": b"label\r\n"}
FIT = SimpleNamespace(
    figure="seated plush",
    clearance=4.20004,
    part="lip",
    copy=1,
    at=(1.0, 2.0, 3.0),
    contacts=(SimpleNamespace(part="lip", copy=1, depth=0.4, at=(1.0, 2.0, 3.0)),),
    entry=SimpleNamespace(
        direction=(0.0, 0.0, -1.0),
        clearance=0.0,
        part="lip",
        copy=1,
        at=(1.0, 2.0, 3.0),
        blocks=(),
        left=0.0,
        taken_out=(),
    ),
)
BALANCE = SimpleNamespace(
    mass=0.31,
    centre=(0.0, 0.0, 20.0),
    stability=SimpleNamespace(
        mass=0.71,
        centre=(0.0, 0.0, 40.0),
        figure_mass=0.4,
        stands=True,
        tipping_angle=31.5,
        towards=(0.0, 1.0, 0.0),
        support=((0.0, 0.0, 0.0), (50.0, 0.0, 0.0), (0.0, 50.0, 0.0)),
    ),
)
SHARED = SimpleNamespace(
    part_a="cleat",
    copy_a=5,
    part_b="lip",
    copy_b=0,
    volume=321.0,
    depth=0.8,
    at=(np.float64(-0.00001), 0.0, 9.0),
)


@pytest.fixture(scope="module")
def record():
    prop, patterns = sample()
    steps = order(prop, patterns, UNSEEN)
    document = booklet(prop, patterns, steps, pictures(steps), Paper("A4", 210.0, 297.0, ""), INFO)
    shared = {"fit": FIT, "interferences": (SHARED,), "balance": BALANCE}
    return pack_record(known(prop, patterns, steps=steps, documents={"booklet.pdf": document}, files=FILES, **shared))


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_the_record_keeps_to_its_schema_and_every_field_is_described(record):
    jsonschema.Draft202012Validator(STRICT).validate(json.loads(record_bytes(record)))


@pytest.mark.parametrize("path", [(), ("design",), ("parts", 0), ("parts", 0, "edges", 0), ("steps", 0), ("fit",)])
def test_a_reader_of_today_takes_the_record_of_tomorrow(record, path):
    """The record changes by adding, so the schema a reader keeps must not refuse a field that it does not know."""
    later = json.loads(record_bytes(record))
    place = later
    for key in path:
        place = place[key]
    place["added_later"] = 1
    jsonschema.Draft202012Validator(SCHEMA).validate(later)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(STRICT).validate(later)


def test_a_section_is_there_when_all_that_it_needs_is_known(record):
    whole = known(*sample(), steps=())
    for missing, gone in (
        ("sheets", {"sheets"}),
        ("prop", {"materials", "laps", "work", "contacts"}),
        ("balance", {"fit"}),
    ):
        partial = pack_record({name: value for name, value in whole.items() if name != missing} | {"only": ("x",)})
        assert pack_record(whole).keys() - partial.keys() == gone
        with pytest.raises(jsonschema.ValidationError):  # only a partial pack may leave them out
            jsonschema.Draft202012Validator(SCHEMA).validate({k: v for k, v in partial.items() if k != "only"})


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("parts", 0, "outline"), [[0, 0], [1, 0]]),
        (("parts", 0, "quantity"), 0),
        (("parts", 0, "label"), "a1"),
        (("seams", 0, "glue"), "tape"),
        (("steps", 0, "waits_for"), ["1"]),
        (("design", "digest"), "abc"),
    ],
)
def test_the_schema_refuses_a_wrong_record(record, path, value):
    wrong = json.loads(record_bytes(record))
    place = wrong
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(SCHEMA).validate(wrong)


def test_areas_are_those_of_the_outlines(record):
    for part in record["parts"]:
        assert Polygon(part["outline"]).exterior.is_ccw
        assert Polygon(part["outline"], part["holes"]).area == pytest.approx(part["area"], abs=0.1)


def test_kinds_of_parts_say_what_only_they_have(record):
    part = {p["id"]: p for p in record["parts"]}
    assert part["port_ring"]["round"] == {"radius": 35.0, "inner_radius": 25.0}
    assert part["lip"]["strip"] == {"length": 530.0, "width": 30.0}
    assert "round" not in part["fin"] and "strip" not in part["fin"]
    assert part["fin"]["quantity"] == 8 and part["fin"]["mirrored"] == 0
    assert part["brow"]["quantity"] == 2 and part["brow"]["mirrored"] == 1
    bevel = {edge["id"]: edge["bevel"] for edge in part["bow_upper"]["edges"]}
    assert bevel == {"waist": [4.0, 6.5, 3.0], "frame": 0.0, "centre": 0.0}
    leg = (60.0**2 + 6.0**2) ** 0.5
    (dart,) = part["bow_upper"]["darts"]
    assert {key: dart[key] for key in ("legs", "opening", "depth")} == {
        "legs": [round(leg, 4)] * 2,
        "opening": 12.0,
        "depth": 60.0,
    }
    mouth, tip = np.array(dart["mouth"]), np.array(dart["tip"])
    assert np.linalg.norm(mouth[1] - mouth[0]) == pytest.approx(12.0)
    assert np.linalg.norm(mouth - tip, axis=1) == pytest.approx([leg, leg], abs=1e-4)


def test_every_reference_has_its_target(record):
    parts = {p["id"]: {edge["id"] for edge in p["edges"]} for p in record["parts"]}
    for seam in record["seams"]:
        for side in ("a", "b"):
            assert seam[side]["edge"] in parts[seam[side]["part"]]
    numbers = [step["number"] for step in record["steps"]]
    assert numbers == list(range(1, len(numbers) + 1))
    named = [*record["steps"], *record["pages"]]
    assert all(part in parts for entry in named for part in entry["parts"])
    assert {m["id"] for m in record["materials"]} == {p["material"] for p in record["parts"]}


def test_fit_and_files(record):
    assert record["fit"]["clearance_min"] == 4.2
    assert record["fit"]["interferences"][0]["at"] == [0.0, 0.0, 9.0]
    assert record["files"] == [
        {
            "path": path,
            "sha256": hashlib.sha256(FILES[path]).hexdigest(),
            "bytes": len(FILES[path]),
            "kind": kind,
        }
        for path, kind in (
            ("cut_list.csv", "text/csv"),
            ("model/prop.step", "model/step"),
            ("templates.pdf", "application/pdf"),
        )
    ]


def test_a_prop_without_a_figure():
    prop, patterns = sample()
    bare = pack_record(known(prop, patterns, steps=order(prop, patterns, UNSEEN)))
    jsonschema.Draft202012Validator(SCHEMA).validate(bare)
    nothing = dict.fromkeys(bare["fit"]) | {"contacts": [], "interferences": []}
    assert bare["fit"] == nothing


def test_numbers_have_at_most_four_decimals_and_no_minus_zero(record):
    text = record_bytes(record).decode()
    assert not re.search(r"\d\.\d{5,}(?!\d*e)", text.replace(record["design"]["digest"], ""))
    assert not re.search(r"-0\.0(?![0-9])", text)


def test_bytes_read_back_and_repeat(record):
    data = record_bytes(record)
    assert json.loads(data) == record
    assert data == record_bytes(record)
    assert data.endswith(b"}\n")

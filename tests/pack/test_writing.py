"""Files of a pack: the archive read by zipfile, the lists by csv, and writing that is all or nothing."""

import csv
import io
import json
import os
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sample_prop import sample

from foamwright.booklet.pages.materials import shopping
from foamwright.errors import BuildError
from foamwright.layout.records import FoamSheet
from foamwright.outputs.cut_list import CUT_COLUMNS, cut_list
from foamwright.outputs.shopping_list import shopping_list
from foamwright.pack.files import zip_bytes
from foamwright.pack.write import write_pack


def pack(**files):
    """A pack of these files (`__` for a slash and `_` for a dot in the names) with its record."""
    named = {name.replace("__", "/").replace("_", "."): content for name, content in files.items()}
    listed = [{"path": path} for path in named if not path.endswith(".zip")]
    record = {"format": 1, "design": {"name": "x"}, "files": listed}
    record |= {"archive": "x.zip"} if "x.zip" in named else {}
    return {**named, "pack.json": json.dumps(record).encode()}


FIRST = pack(templates__a_svg=b"<svg/>", old_txt=b"old", x_zip=b"PK")
SECOND = pack(booklet_pdf=b"%PDF", templates__b_svg=b"<svg>b</svg>")


def read_back(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@given(st.dictionaries(st.from_regex(r"[a-z]{1,8}(/[a-z]{1,8})?\.txt", fullmatch=True), st.binary(max_size=200)))
def test_the_archive_holds_every_file(files):
    data = zip_bytes(files, "sub-plush")
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == [f"sub-plush/{path}" for path in sorted(files)]
        assert all(archive.read(f"sub-plush/{path}") == content for path, content in files.items())
        for entry in archive.infolist():
            assert entry.date_time == (1980, 1, 1, 0, 0, 0)
            assert entry.external_attr >> 16 == 0o100644
    assert data == zip_bytes(dict(reversed(files.items())), "sub-plush")


def test_a_pack_replaces_the_one_before_it(tmp_path):
    target = tmp_path / "out" / "pack"
    write_pack(target, FIRST)
    assert read_back(target) == FIRST
    write_pack(target, SECOND)
    assert read_back(target) == SECOND
    assert os.listdir(target.parent) == ["pack"]


def test_an_empty_folder_may_become_a_pack(tmp_path):
    target = tmp_path / "pack"
    target.mkdir()
    write_pack(target, FIRST)
    assert read_back(target) == FIRST


def test_files_that_are_no_pack_are_left_alone(tmp_path):
    (tmp_path / "holiday.jpg").write_bytes(b"jpg")
    with pytest.raises(BuildError, match="no pack"):
        write_pack(tmp_path, FIRST)
    with pytest.raises(BuildError, match="is a file"):
        write_pack(tmp_path / "holiday.jpg", FIRST)
    assert read_back(tmp_path) == {"holiday.jpg": b"jpg"}


@pytest.mark.parametrize("path", ["../outside.txt", "/etc/outside.txt", "a/../../b", ""])
def test_no_file_leaves_the_pack(tmp_path, path):
    with pytest.raises(ValueError, match="not a path inside"):
        write_pack(tmp_path / "pack", {path: b""})
    assert list(tmp_path.iterdir()) == []


def test_a_link_to_a_pack_keeps_being_one(tmp_path):
    real, link = tmp_path / "real", tmp_path / "link"
    write_pack(real, FIRST)
    link.symlink_to(real, target_is_directory=True)
    write_pack(link, SECOND)
    assert link.is_symlink() and read_back(real) == SECOND


def test_the_cut_list_has_every_part():
    _, patterns = sample()
    rows = list(csv.DictReader(io.StringIO(cut_list(patterns).decode(), newline="")))
    assert tuple(rows[0]) == CUT_COLUMNS
    assert [row["label"] for row in rows] == [p.piece.label for p in patterns.patterns]
    by_name = {row["name"]: row for row in rows}
    assert by_name["Tail fin"]["quantity"] == "8" and by_name["Tail fin"]["layers"] == "2"
    assert by_name["Tail fin"]["area_mm2"] == "4900.0"  # trapezium: (90 + 50) / 2 * 70
    assert by_name["Bow, upper"]["bevel_deg"] == "6.5"  # 3 degrees in 6 mm of foam are cut square
    assert by_name["Cockpit lip"]["length_mm"] == "530.0"
    assert cut_list(patterns).count(b"\r\n") == len(rows) + 1  # RFC 4180: lines end in CR LF


def test_the_shopping_list_is_csv_of_the_purchases():
    prop, patterns = sample()
    bought = shopping(prop, patterns, [FoamSheet("shell", (600.0, 1200.0), (), 0.5, 900.0)])
    rows = list(csv.DictReader(io.StringIO(shopping_list(bought).decode(), newline="")))
    assert [(row["item"], float(row["amount"]), row["unit"]) for row in rows] == [
        (line.item, line.amount, line.unit) for line in bought
    ]

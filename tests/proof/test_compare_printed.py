"""What is printed of one small pack, its STEP file and what a machine cuts, as they are and spoilt."""

from __future__ import annotations

import copy
import io
import json
import re
from types import MappingProxyType

import numpy as np
import pytest
from pypdf import PdfReader, PdfWriter

from foamwright.drawing.document import Document, Page
from foamwright.drawing.pdf import pdf_bytes
from foamwright.drawing.primitives import Drawing, Text
from foamwright.making import build
from foamwright.proof.compare import differences
from foamwright.proof.read import pdf_leaves, short_lines, step_names
from tests.parts.flat_designs import design
from tests.proof.test_compare import PARTS, changed, with_file

ALL = PARTS + (
    "  sign: {kind: plate, stock: acrylic, name: O'Hara's Schildchen ä, at: {origin: [0, 0, 50], normal: z}, "
    "outline: {rectangle: {width: 40, height: 25}}, minus: [{circle: {radius: 4}}], lies_on: [lid]}\n"
    "  fin: {kind: plate, stock: foam, outline: {polygon: {points: [[0, 0], [11, 0], [0, 7]]}}, mirror: y, "
    "at: {origin: [0, 33, 50], normal: z}}\n"
    "  edging: {kind: strip, stock: foam, length: 200, width: 25, count: 3}\n"
)


@pytest.fixture(scope="module")
def printed(tmp_path_factory, little_search):
    """The same can with a sign that a machine cuts, mirrored fins and strips: what is read of it, and by whom."""
    found = design(tmp_path_factory.mktemp("printed"), ALL)
    made = build(found, only=("booklet", "sheets", "model", "machine"))
    return MappingProxyType(dict(made.files)), json.loads(made.files["pack.json"])


def test_what_is_printed_agrees_with_the_record(printed):
    assert differences(*printed) == []


def test_a_step_file_names_every_copy(printed):
    """ISO 10303-21: names beyond ASCII in hexadecimal, apostrophes doubled; six sides, a lid, a sign, two fins."""
    solids, names = step_names(printed[0]["model/prop.step"])
    assert solids == 5  # of the fin both hands
    assert len(names) == 10 and "CO'Hara'sSchildchenä(1)" in names


@pytest.mark.parametrize(
    ("written", "spoilt", "said"),
    [
        (b"'B Lid (1)'", b"'B Lud (1)'", "BLid(1), BLud(1)"),
        (b"= MANIFOLD_SOLID_BREP(", b"= SHELL_BASED_SURFACE_MODEL(", "4 solids, but 5"),
        (b"NEXT_ASSEMBLY_USAGE_OCCURRENCE(", b"NEXT_ASSEMBLY(", "9 copies, but 10"),
    ],
)
def test_a_step_file_that_lacks_something(printed, written, spoilt, said):
    data = printed[0]["model/prop.step"]
    assert written in data
    found = differences(with_file(printed, "model/prop.step", data.replace(written, spoilt, 1)), printed[1])
    assert any(fault.startswith("model/prop.step: ") and said in fault for fault in found)


def without_page(data, left_out):
    """A PDF file without some of its pages."""
    writer = PdfWriter()
    for number, page in enumerate(PdfReader(io.BytesIO(data)).pages):
        if number not in left_out:
            writer.add_page(page)
    stream = io.BytesIO()
    writer.write(stream)
    return stream.getvalue()


@pytest.mark.parametrize("file", ["booklet.pdf", "sheets.pdf"])
def test_a_page_that_is_lost(printed, file):
    pages = sum(page["file"] == file for page in printed[1]["pages"])
    found = differences(with_file(printed, file, without_page(printed[0][file], {0})), printed[1])
    assert found == [f"{file}: {pages - 1} pages, but {pages} in the record"]


@pytest.mark.parametrize("file", ["booklet.pdf", "sheets.pdf"])
def test_a_part_whose_letter_is_not_printed(printed, file):
    record = changed(printed, "lid", label="Z")
    found = differences({file: printed[0][file]}, record)
    assert found == [f"{file}: nothing on it is Z"]


def test_a_letter_in_a_sentence_is_not_the_letter_of_a_part(printed):
    whole = "\n".join(leaf.extract_text() for leaf in pdf_leaves(printed[0]["booklet.pdf"]))
    alone = set().union(*(short_lines(leaf) for leaf in pdf_leaves(printed[0]["booklet.pdf"])))
    assert {"A", "B", "C", "D", "E"} <= alone
    assert re.search(r"\bthe\b", whole) and "the" not in alone


@pytest.mark.parametrize(("share", "what"), [(1.01, "it cuts out"), (0.99, "it cuts out")])
def test_a_cutting_file_of_another_size(printed, share, what):
    (sign,) = (part for part in printed[1]["parts"] if part["id"] == "sign")
    larger = {key: (np.array(sign[key]) * share).tolist() for key in ("outline", "other_outline")}
    found = differences(printed[0], changed(printed, "sign", **larger))
    assert any(fault.startswith("machine/C-sign.dxf: ") and what in fault for fault in found)


def test_a_cutting_file_without_its_kerf_or_hole(printed):
    """Half the kerf outside of 2 (40 + 25) mm and inside of a hole of 2 pi 4 mm: 15.5 mm2, and 4 of them are found."""
    record = copy.deepcopy(printed[1])
    stock = next(stock for stock in record["materials"] if stock["id"] == "acrylic")
    assert stock["kerf"] == 0.2
    stock["kerf"] = 0.1
    assert any("it cuts out" in fault for fault in differences(printed[0], record))
    del stock["kerf"]
    assert any("its foam is cut by hand" in fault for fault in differences(printed[0], record))
    record = changed(printed, "sign", holes=[], other_holes=[])
    assert any("1 cut lines and 1 holes, but 1 and 0" in fault for fault in differences(printed[0], record))
    record = changed(printed, "sign", engraving=[[[0, 0], [5, 0], [0, 5]]])
    assert any("0 engraved lines" in fault for fault in differences(printed[0], record))


def test_a_pack_of_the_model_alone_has_no_list_of_parts_to_compare_with(printed):
    record = {key: value for key, value in printed[1].items() if key not in ("parts", "pages")}
    assert differences(printed[0], record) == []


def test_letters_of_parts_that_are_operators_of_pdf_are_read_like_others():
    """BT and ET bound a text object (ISO 32000-1, 9.4.1), BI and EI an inline image; all of them are labels of parts."""
    labels = ["A", "BT", "ET", "BI", "ID", "EI", "ET (2)", "Q)", "Tj\\"]
    words = tuple(Text((20.0, 20.0 + 8.0 * i), label, 4.0, "note") for i, label in enumerate(labels))
    page = Page(1, 100.0, 120.0, "", (), None, None, Drawing(words))
    (leaf,) = pdf_leaves(pdf_bytes(Document("labels", "", "A6", (page,))))
    assert short_lines(leaf) >= {*labels}

"""What is told of two packs, from records made by hand and from builds."""

import copy
import json
import math
import re
import zipfile
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from foamwright.changes.find import compare, raised
from foamwright.changes.packs import read_pack, side
from foamwright.changes.reports import FORMATS, markdown
from foamwright.changes.words import headline, runs, sections, version_fault
from foamwright.errors import DesignError
from foamwright.language import Reader, reading


def part(id_, label, width, height, **other):
    outline = [[0, 0], [width, 0], [width, height], [0, height]]
    return {
        "id": id_, "label": label, "name": id_.capitalize(), "kind": "plate", "material": "foam", "thickness": 6.0,
        "quantity": 1, "mirrored": 0, "outline": outline, "holes": [], "drawn_face": "inside", "darts": [],
        "strain": {"max": 0.0}, "edges": [{"id": str(i), "length": 1.0, "bevel": 0.0} for i in range(4)],
    } | other  # fmt: skip


def record(*parts, version="1.0.0", **parameters):
    return {
        "format": 1,
        "design": {"name": "Crate", "version": version, "size": "one", "parameters": parameters, "digest": "0" * 64},
        "parts": list(parts),
        "seams": [],
        "sheets": [{"material": "foam"}],
        "steps": [{"minutes": 30}],
        "pages": [
            {"file": "templates.pdf", "page": 2, "parts": ["deck"]},
            {"file": "templates.pdf", "page": 3, "parts": ["side", "lid"]},
            {"file": "booklet.pdf", "page": 4, "parts": ["deck"]},
        ],
    }


DECK, SIDE, LID = part("deck", "A", 249, 206), part("side", "B", 90, 40), part("lid", "C", 60, 50)


def changes(old, new):
    return compare(side("old", old, b""), side("new", new, b""))


def told(found):
    return {section.title: section.lines for section in sections(found)}


def test_nothing_changed():
    found = changes(record(DECK, SIDE), record(DECK, SIDE))
    assert not found.cut_lines_changed and not found.pages and not sections(found)
    assert version_fault(found) is None


def test_one_part_grew():
    found = changes(record(DECK, SIDE, LID, beam=206), record(part("deck", "A", 249, 210), SIDE, LID, beam=210))
    assert headline(found) == (
        "A Deck: 4.0 mm wider; the cut line moves by up to 2.0 mm.",
        "Print page 2 again.",
        "2 of 3 templates are unchanged.",
    )
    assert told(found)["Cut again"] == ("A Deck: 4.0 mm wider; the cut line moves by up to 2.0 mm",)
    assert told(found)["Parameters"] == ("beam: 206 to 210",)


def test_added_removed_renamed_and_relabelled():
    new = record(part("hatch", "A", 30, 20), part("floor", "B", 249, 206, name="Floor"), part("side", "C", 90, 40))
    found = changes(record(DECK, SIDE, LID), new)
    assert [p["id"] for p in found.added] == ["hatch"]
    assert [p["id"] for p in found.removed] == ["lid"]
    assert told(found)["Called otherwise"] == ("A Deck is now B Floor", "B Side is now C Side")
    assert not found.recut


def test_the_first_sentences_name_two_parts_and_count_the_others():
    new = [part(one["id"], one["label"], 2.0 * one["outline"][1][0], one["outline"][2][1]) for one in (DECK, SIDE, LID)]
    first, second, *others = headline(changes(record(DECK, SIDE, LID, part("rod", "D", 5, 5)), record(*new)))
    assert first.startswith("A Deck: 249.0 mm longer") and second.startswith("B Side: 90.0 mm longer")
    assert others == [
        "1 more is to be cut again.",
        "1 part is no longer needed.",
        "Print pages 2 and 3 again.",
        "0 of 3 templates are unchanged.",
    ]


def test_strain_time_and_what_a_foam_is_called():
    names = {"materials": [{"id": "foam", "name": "EVA 6"}, {"id": "mat", "name": "EVA 10"}]}
    old = record(DECK) | names
    new = record(DECK | {"strain": {"max": 0.031}, "material": "mat"}) | names
    new |= {"steps": [{"minutes": 90}], "sheets": [{"material": "mat"}, {"material": "mat"}]}
    found = told(changes(old, new))
    assert found["Cut again"] == ("A Deck: cut from EVA 10 instead of EVA 6",)
    assert found["Strain"] == ("A Deck: 3.1 % instead of 0.0 %",)
    assert {"sheets of EVA 10: 0 to 2", "time at the bench: 30 min to 1 h 30 min"} <= set(found["The whole pack"])


def test_a_german_comparison_has_no_english_word():
    """All that is told of two packs in which everything differs; names and figures are those of the design."""
    rod, hatch = part("rod", "D", 5, 5), part("hatch", "D", 30, 20)
    other = DECK | {"thickness": 12.5, "quantity": 3, "mirrored": 1, "drawn_face": "outside"}
    other |= {"holes": [[[1, 1], [2, 1], [2, 2]]], "darts": [{"opening": 3.0}], "strain": {"max": 0.031}}
    old = record(DECK, SIDE, LID, rod, beam=20.5, verloren=1.0)
    new = record(other, part("side", "C", 94, 40), part("lid", "B", 61, 51), hatch, beam=21.0, frisch=2.5)
    with reading(Reader("de")):
        found = changes(old, new)
        texts = {name: write(found) for name, write in FORMATS.items() if name != "json"}
    english = (
        r"\b(the|of|is|are|to|new|gone|was|instead|cut|page|pages|piece|pieces|unchanged|wider|size|before|after|and)\b"
    )
    for name, words in texts.items():
        visible = re.sub(r"<style>.*?</style>|<[^>]*>", " ", words)
        assert not re.findall(english, visible), name
    assert "12,5 mm" in texts["text"] and "20,5" in texts["text"] and "lang='de'" in texts["html"]


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"thickness": 10.0}, "cut from 10 mm instead of 6 mm"),
        ({"material": "mat"}, "cut from mat instead of foam"),
        ({"quantity": 3}, "3 to cut instead of 1"),
        ({"mirrored": 1}, "1 of them mirrored instead of 0"),
        ({"drawn_face": "outside"}, "drawn on its outside face now"),
        ({"darts": [{"opening": 3.0}]}, "1 dart instead of 0"),
        (
            {"edges": [{"id": str(i), "bevel": [0.0, -7.5][i == 2]} for i in range(4)]},
            "bevels that differ by up to 7.5°",
        ),
        ({"edges": []}, "0 edges instead of 4"),
        ({"holes": [[[1, 1], [2, 1], [2, 2]]]}, "1 opening instead of 0"),
    ],
)
def test_what_else_makes_a_part_another(other, words):
    found = changes(record(DECK), record(DECK | other))
    assert found.recut[0].facts[0] == words
    assert found.cut_lines_changed


def test_an_empty_pack_on_either_side():
    for old, new in ((record(), record(DECK)), (record(DECK), record()), (record(), record())):
        for write in FORMATS.values():
            assert write(changes(old, new))


# order of Semantic Versioning 2.0.0, paragraph 11: its own chain of examples
CHAIN = ["1.0.0-alpha", "1.0.0-alpha.1", "1.0.0-alpha.beta", "1.0.0-beta", "1.0.0-beta.2", "1.0.0-beta.11",
         "1.0.0-rc.1", "1.0.0"]  # fmt: skip


def test_versions_are_in_the_order_of_their_standard():
    assert all(raised(a, b) and not raised(b, a) for a, b in pairwise(CHAIN))
    assert raised("1.9.0", "1.10.0") and not raised("1.0.0+x", "1.0.0+y")


def test_the_version_rule():
    grown = part("deck", "A", 250, 206)
    fault = version_fault(changes(record(DECK), record(grown)))
    assert fault is not None and "A Deck" in fault and "1.1.0" in fault
    assert version_fault(changes(record(DECK), record(grown, version="1.0.1"))) is None
    assert version_fault(changes(record(DECK, version="1.0.1"), record(grown, version="1.0.1-rc.1"))) is not None
    assert version_fault(changes(record(DECK), record(DECK | {"name": "Floor"}))) is None


@pytest.mark.parametrize(
    ("numbers", "words"), [([7], "7"), ([2, 1], "1 and 2"), ([1, 2, 3, 5, 9, 10], "1 to 3, 5, 9 and 10")]
)
def test_pages_as_people_say_them(numbers, words):
    assert runs(numbers) == words


class Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.seen, self.links = set(), []

    def handle_starttag(self, tag, attrs):
        self.seen.add(tag)
        self.links += [value for name, value in attrs if name in ("href", "src")]


def test_a_hostile_name_stays_a_name():
    name = "<script>alert(1)</script> @everyone | [x](http://a.b) \x1b[31m \u202eevil"
    old, new = record(DECK), record(part("deck", "A", 260, 206, name=name))
    found = changes(old, new)
    tags = Tags()
    tags.feed(FORMATS["html"](found))
    assert "script" not in tags.seen and not tags.links
    posted = markdown(found)
    assert not any(mark in posted for mark in ("<script", "@everyone", "](", "http://"))
    assert "\x1b" not in FORMATS["text"](found)
    assert json.loads(FORMATS["json"](found))["changed"][0]["name"] == name


@pytest.mark.parametrize("words", ["_sly_", "a __b", "x_ y", ":smile:", "see http://x", "`a`", "#7", "*b*"])
def test_no_words_of_a_design_are_markup(words):
    """CommonMark's emphasis, code, links and GitHub's marks begin with one of these; within a word `_` is none."""
    posted = markdown(changes(record(DECK), record(part("deck", "A", 260, 206, name=words), half_width=3)))
    assert words not in posted and "half_width: new, 3" in posted


def written():
    """A record as whole as a build writes it."""
    strain = {"max": 0.0, "p95": 0.0, "mean": 0.0}
    deck = part("deck", "A", 249, 206, area=51294.0, neutral_offset=3.0, strain=strain)
    pages = [{"file": "templates.pdf", "paper": "a4", "page": 2, "row": 1, "column": 1, "parts": ["deck"]}]
    return record(deck) | {"pages": pages, "sheets": [], "steps": []}


def test_packs_are_read_from_folder_archive_and_record(tmp_path):
    old = written()
    (tmp_path / "pack.json").write_text(json.dumps(old), "utf-8")
    (tmp_path / "shopping-list.csv").write_text(
        "item,amount,unit,basis,cost,currency\nFoam,1,,,12.50,EUR\nGlue,1,,,3,EUR\n"
    )
    with zipfile.ZipFile(tmp_path / "crate-one.zip", "w") as archive:
        for name in ("pack.json", "shopping-list.csv"):
            archive.write(tmp_path / name, f"crate-one/{name}")
    for path in (tmp_path, tmp_path / "pack.json", tmp_path / "crate-one.zip"):
        read = read_pack(path)
        assert read.record == old and read.costs == {"EUR": 15.5}


@pytest.mark.parametrize("content", ["", "[]", "{", '{"format": 2}', '{"format": 1, "design": {}}', "[" * 5000])
def test_what_is_no_pack_is_said_in_one_line(tmp_path, content):
    (tmp_path / "pack.json").write_text(content)
    with pytest.raises(DesignError) as error:
        read_pack(tmp_path)
    assert "\n" not in str(error.value) and str(tmp_path) in str(error.value)


@pytest.mark.parametrize(
    ("route", "value", "told"),
    [
        (("parts", 0, "outline"), [[0, 0], [1, 0], [2, 0]], r"parts[0].outline: is no closed line of points"),
        (("parts", 0, "outline"), [[0, 0], [1, 0], [2, 1e300]], "parts[0].outline: is no closed line of points"),
        (("parts", 0, "holes"), [[[0, 0]]], "parts[0].holes[0]: is no closed line of points"),
        (("parts", 0, "quantity"), "two", "parts[0].quantity: is not a whole number"),
        (("parts", 0, "thickness"), 10**400, "parts[0].thickness: is not a value that it may have"),
        (("pages", 0, "parts"), None, "pages[0].parts: is not a list"),
        (("parts", 0, "edges"), [{"id": "a"}], "parts[0].edges[0]: has no length"),
        (("design", "parameters"), {"x\x1b[31m": []}, "design.parameters.x\ufffd[31m: is not a number"),
    ],
)
def test_a_value_that_no_build_writes_is_told_with_its_place(tmp_path, route, value, told):
    old = written()
    holder = old
    for step in route[:-1]:
        holder = holder[step]
    holder[route[-1]] = value
    (tmp_path / "pack.json").write_text(json.dumps(old))
    with pytest.raises(DesignError) as error:
        read_pack(tmp_path)
    assert f"pack.json is none: {told}; expected what a build writes" in str(error.value)


def test_numbers_that_are_none_and_letters_that_a_terminal_obeys(tmp_path):
    old = written()
    old["parts"][0]["name"] = "Deck\x1b[31m"
    (tmp_path / "pack.json").write_text(json.dumps(old))
    assert read_pack(tmp_path).record["parts"][0]["name"] == "Deck\ufffd[31m"
    old["parts"][0]["area"] = math.nan
    (tmp_path / "pack.json").write_text(json.dumps(old))
    with pytest.raises(DesignError, match="NaN is no number"):
        read_pack(tmp_path)


def test_an_archive_that_is_locked(tmp_path):
    """The first bit of the general flags says so (APPNOTE.TXT 6.3.10, section 4.4.4)."""
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as archive:
        archive.writestr("crate/pack.json", "{}")
    content = bytearray((tmp_path / "x.zip").read_bytes())
    for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        content[content.index(mark) + at] |= 1
    (tmp_path / "x.zip").write_bytes(content)
    with pytest.raises(DesignError, match="cannot be read as a zip archive"):
        read_pack(tmp_path / "x.zip")


def test_no_archive_and_a_folder_without_a_record(tmp_path):
    (tmp_path / "x.zip").write_bytes(b"no zip")
    for path in (tmp_path / "x.zip", tmp_path):
        with pytest.raises(DesignError):
            read_pack(path)


def test_a_record_is_not_changed_by_comparing():
    old, new = record(DECK, SIDE), record(SIDE)
    kept = copy.deepcopy((old, new))
    changes(old, new)
    assert (old, new) == kept

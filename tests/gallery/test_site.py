"""The site on disk: what it consists of, what is written again, what it refuses."""

import hashlib
import json
import os
import re
import struct
import xml.etree.ElementTree as xml
import zlib
from pathlib import Path
from urllib.parse import unquote

import pytest
from made_packs import make

from foamwright.errors import BuildError, DesignError
from foamwright.gallery import site as module
from foamwright.gallery.pictures import card_and_preview
from foamwright.gallery.site import build_site
from foamwright.language import Reader, reading, say
from foamwright.store import Store

ATOM = "{http://www.w3.org/2005/Atom}"
PAGES = Path(module.__file__).parent / "pages"


def build(packs, out, store=None, address="", language="en"):
    return build_site([str(packs)], out, "Props", address, store or Store(None), language=language)


def tree(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.fixture
def packs(tmp_path):
    make(tmp_path / "packs/lamp/small")
    make(tmp_path / "packs/lamp/large", size="large", width=500.0)
    make(tmp_path / "packs/older/lamp", version="0.9.0", width=190.0)
    make(tmp_path / "packs/boat/one", design="boat", name="Boat", size="one", width=900.0)
    return tmp_path / "packs"


def test_every_file_that_the_index_lists_is_there_with_its_sum(packs, tmp_path):
    build(packs, tmp_path / "site")
    listed = json.loads((tmp_path / "site/index.json").read_bytes())["packs"]
    assert [(p["design"], p["version"], p["size"]) for p in listed] == [
        ("boat", "1.0.0", "one"),
        ("lamp", "1.0.0", "small"),
        ("lamp", "1.0.0", "large"),
        ("lamp", "0.9.0", "small"),
    ]
    for pack in listed:
        for file in pack["files"]:
            content = (tmp_path / "site" / unquote(file["path"])).read_bytes()
            assert (len(content), hashlib.sha256(content).hexdigest()) == (file["bytes"], file["sha256"])


def test_the_page_tells_what_changed_since_the_older_pack(packs, tmp_path):
    build(packs, tmp_path / "site")
    page = (tmp_path / "site/lamp/index.html").read_text("utf-8")
    # both parts are 10 mm wider in 1.0.0, and stand on page 1
    told = re.search(r"In 1\.0\.0: (.*)", page)[1]
    assert told.startswith("A Side: 10.0 mm longer") and "Print page 1 again. 0 of 2 templates are unchanged." in told
    build(packs, tmp_path / "seite", language="de")
    page = (tmp_path / "seite/lamp/index.html").read_text("utf-8")
    assert re.search(r"In 1\.0\.0: .*10,0 mm länger.* Seite 1 neu drucken\. 0 von 2 Schablonen sind", page)


def test_the_feed_is_atom_with_the_parts_that_rfc_4287_asks_for(packs, tmp_path):
    build(packs, tmp_path / "site", address="https://example.org/props/")
    feed = xml.fromstring((tmp_path / "site/feed.xml").read_bytes())
    assert [feed.find(f"{ATOM}{name}") is not None for name in ("title", "id", "updated")] == [True] * 3
    entries = feed.findall(f"{ATOM}entry")
    assert [e.findtext(f"{ATOM}title") for e in entries] == ["Lamp 1.0.0", "Boat 1.0.0"]
    assert len({e.findtext(f"{ATOM}id") for e in entries}) == 2
    assert {e.findtext(f"{ATOM}updated") for e in entries} == {"2026-11-26T00:00:00Z"}
    assert entries[0].find(f"{ATOM}link").get("href") == "https://example.org/props/lamp/index.html"
    assert entries[0].findtext(f"{ATOM}author/{ATOM}name") == "Nobody"


def test_without_dates_there_is_no_feed(tmp_path):
    make(tmp_path / "packs/lamp", history=[{"version": "1.0.0", "text": "First."}])
    build(tmp_path / "packs", tmp_path / "site")
    assert not (tmp_path / "site/feed.xml").exists()
    assert "feed.xml" not in (tmp_path / "site/index.html").read_text("utf-8")


def test_same_packs_same_bytes(packs, tmp_path):
    build(packs, tmp_path / "a")
    build(packs, tmp_path / "elsewhere/b", Store(tmp_path / "store"))
    assert tree(tmp_path / "a") == tree(tmp_path / "elsewhere/b")


def test_only_what_changed_is_written_again(packs, tmp_path):
    store = Store(tmp_path / "store")
    first = build(packs, tmp_path / "site", store)
    assert (first.designs, first.packs) == (2, 4)
    assert build(packs, tmp_path / "site", store).written == 0
    before = {p: p.stat().st_mtime_ns for p in (tmp_path / "site").rglob("*") if p.is_file()}
    store.made.clear()
    make(packs / "boat/one", design="boat", name="Boat", size="one", width=901.0)
    build(packs, tmp_path / "site", store)
    changed = {p.relative_to(tmp_path / "site").as_posix() for p in before if p.stat().st_mtime_ns != before[p]}
    assert store.made["published pack"] == 1
    assert changed >= {"index.html", "index.json", "boat/index.html", "boat/1.0.0/one/pack.json"}
    assert not [path for path in changed if path.startswith("lamp/")]
    assert b'"overall":[901.0' in (tmp_path / "site/index.json").read_bytes()


def test_what_is_gone_is_taken_away_and_the_makers_files_stay(packs, tmp_path):
    site = tmp_path / "site"
    build(packs, site)
    (site / "CNAME").write_text("props.example.org")
    (site / "boat/photo.jpg").write_bytes(b"mine")
    for path in sorted((packs / "boat/one").rglob("*"), reverse=True):
        path.unlink() if path.is_file() else path.rmdir()
    assert build(packs, site).removed > 5
    assert (site / "CNAME").exists() and (site / "boat/photo.jpg").read_bytes() == b"mine"
    assert not (site / "boat/index.html").exists() and not (site / "boat/1.0.0").exists()
    assert "Boat" not in (site / "index.html").read_text("utf-8")


def test_a_folder_of_somebody_else_is_refused(packs, tmp_path):
    (tmp_path / "site").mkdir()
    (tmp_path / "site/index.html").write_text("mine")
    with pytest.raises(BuildError, match="holds other files and no gallery"):
        build(packs, tmp_path / "site")
    assert (tmp_path / "site/index.html").read_text() == "mine"


def test_a_file_of_the_makers_keeps_its_name(packs, tmp_path):
    build(packs / "boat", tmp_path / "site")
    (tmp_path / "site/lamp").mkdir()
    (tmp_path / "site/lamp/index.html").write_text("mine")
    with pytest.raises(BuildError, match=r"lamp/index.html is not of the gallery"):
        build(packs, tmp_path / "site")
    assert (tmp_path / "site/lamp/index.html").read_text() == "mine"


@pytest.mark.parametrize("path", ["../mine", "/etc/hostname", ""])
def test_a_list_of_files_that_names_others_is_refused(packs, tmp_path, path):
    build(packs, tmp_path / "site")
    (tmp_path / "mine").write_text("mine")
    (tmp_path / "site/gallery.json").write_text(json.dumps({"format": 1, "files": {path: ""}}))
    with pytest.raises(BuildError, match="is no list of the files of a gallery"):
        build(packs, tmp_path / "site")
    assert (tmp_path / "mine").exists()


def test_a_run_that_ended_early_is_gone_on_with(packs, tmp_path, monkeypatch):
    build(packs, tmp_path / "whole")
    with monkeypatch.context() as patch, pytest.raises(KeyboardInterrupt):
        patch.setattr(module.setting, "index_page", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        build(packs, tmp_path / "site")
    assert not (tmp_path / "site/index.html").exists()
    build(packs, tmp_path / "site")
    assert tree(tmp_path / "site") == tree(tmp_path / "whole")


@pytest.mark.parametrize("path", ["templates.pdf", "model/prop.glb"])
def test_a_file_that_is_not_what_the_record_says_is_not_given_away(packs, tmp_path, path):
    file = packs / "lamp/small" / path
    file.write_bytes(file.read_bytes()[:-1] + b"!")
    with pytest.raises(DesignError, match=rf"{path}: is not the file that pack.json lists"):
        build(packs, tmp_path / "site")
    file.unlink()
    with pytest.raises(DesignError, match=rf"{path}: is listed by pack.json and cannot be read"):
        build(packs, tmp_path / "site")


@pytest.mark.parametrize(
    ("design", "version", "size"),
    [
        ("../up", "1.0.0", "a"),
        ("a/b", "1.0.0", "a"),
        ("a", "1.0.0/..", "a"),
        ("a", "1.0.0", ".."),
        ("a", "1", "a"),
        ("", "1.0.0", "a"),
    ],
)
def test_names_that_would_lead_out_of_the_site_are_refused(tmp_path, design, version, size):
    make(tmp_path / "packs/x", record={"archive": "lamp-small.zip"})
    file = tmp_path / "packs/x/pack.json"
    record = json.loads(file.read_text())
    record["about"]["id"], record["design"]["version"], record["design"]["size"] = design, version, size
    file.write_text(json.dumps(record))
    with pytest.raises(DesignError, match="names no design, version and size that could be folders"):
        build(tmp_path / "packs", tmp_path / "site")


@pytest.mark.parametrize("archive", ["../../secret", "/etc/hostname"])
def test_an_archive_elsewhere_is_refused(tmp_path, archive):
    make(tmp_path / "packs/x", record={"archive": archive})
    with pytest.raises(DesignError, match="is no file of the pack"):
        build(tmp_path / "packs", tmp_path / "site")


@pytest.mark.parametrize(
    ("section", "value", "told"),
    [
        ("about", {}, r"pack.json is none: about: has no id; expected what a build writes"),
        ("work", {"difficulty": "easy", "hands_on": None, "start_to_end": 9}, r"work.hands_on: is not a number"),
        ("work", {"difficulty": "easy", "hands_on": 10**400, "start_to_end": 9}, r"work.hands_on: is not a value"),
        ("materials", [], r"lists no material 'shell'"),
        ("overall", [], None),
    ],
)
def test_records_that_tell_too_little_or_nonsense_are_refused_in_one_line(tmp_path, section, value, told):
    make(tmp_path / "packs/x", record={section: value})
    if told is None:
        build(tmp_path / "packs", tmp_path / "site")
        return
    with pytest.raises(DesignError, match=told):
        build(tmp_path / "packs", tmp_path / "site")


@pytest.mark.parametrize("name", ["lamp-small.zip", "templates.pdf", "model"])
def test_files_that_a_pack_only_points_at_are_not_given_away(tmp_path, name):
    pack, elsewhere = make(tmp_path / "packs/x"), tmp_path / "elsewhere"
    (pack / name).rename(elsewhere)
    (pack / name).symlink_to(elsewhere)
    with pytest.raises(DesignError, match="expected a file of the pack itself"):
        build(tmp_path / "packs", tmp_path / "site")


def test_a_device_in_a_pack_does_not_make_a_gallery_wait(tmp_path):
    pack = make(tmp_path / "packs/x")
    (pack / "templates.pdf").unlink()
    os.mkfifo(pack / "templates.pdf")
    with pytest.raises(DesignError, match="no link or device"):
        build(tmp_path / "packs", tmp_path / "site")


def test_pictures_are_png_alone(tmp_path):
    """Of other sorts some are drawn by a program that is called for it, as EPS by an interpreter of PostScript."""
    eps = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n%%EndComments\nshowpage\n"
    path = tmp_path / "picture.png"
    for content in (eps, b"\x89PNG\r\n\x1a\n" + bytes(40), _png_of(20_000, 20_000)):
        path.write_bytes(content)
        with pytest.raises(DesignError, match="picture"):
            card_and_preview(path, ("Lamp",))


def _png_of(width, height):
    """The head of a picture that would take gigabytes (PNG, W3C Recommendation, section 11.2.2)."""
    head = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head))


def test_two_packs_of_one_name_that_differ_are_refused(packs, tmp_path):
    make(packs / "twin", width=210.0)
    with pytest.raises(DesignError, match=r"are both lamp/1.0.0/small and not the same"):
        build(packs, tmp_path / "site")


def test_filters_find_by_any_size(packs, tmp_path):
    """The lamp comes up to 30 cm and 30 to 60 cm long, the boat over 60 cm: three choices, and rules for each."""
    build(packs, tmp_path / "site")
    page, rules = ((tmp_path / "site" / name).read_text("utf-8") for name in ("index.html", "filters.css"))
    boat, lamp = (part for part in page.split('<li class="card')[1:])
    assert "in-size-3" in boat and "in-size-1" not in boat
    assert "in-size-1" in lamp and "in-size-2" in lamp and "in-size-3" not in lamp
    assert "body:has(#size-3:checked) .card:not(.in-size-3){display:none}" in rules


def test_the_archive_is_the_same_file_and_takes_no_room(packs, tmp_path):
    build(packs, tmp_path / "site")
    assert os.path.samefile(packs / "boat/one/boat-one.zip", tmp_path / "site/boat/1.0.0/one/boat-one.zip")


def test_a_site_speaks_the_language_that_is_asked_for(packs, tmp_path):
    english, german = tmp_path / "site", tmp_path / "seite"
    build(packs, english)
    build_site([str(packs)], german, "Props", "", Store(None), language="de")
    words = (german / "index.html").read_text("utf-8") + (german / "lamp/index.html").read_text("utf-8")
    assert words.count('<html lang="de">') == 2 and "Entwürfe: 2" in words
    words = re.sub("<bdi.*?</bdi>", "", words)  # the pack's own words
    for said in re.findall(r">\s*([^<>{}]+?)\s*<", words):
        with reading(Reader("de")):
            assert say(said) == said, f"{said!r} was left in English"
    # another language renews what says something, and nothing is left of the first
    build_site([str(packs)], english, "Props", "", Store(None), language="de")
    assert tree(english) == tree(german)


@pytest.mark.parametrize("page", sorted(path.name for path in PAGES.glob("*.html")))
def test_no_words_stand_in_the_pages_but_through_the_catalogue(page):
    text = re.sub(r"\{\{.*?\}\}|\{%.*?%\}", "", (PAGES / page).read_text("utf-8"))
    labels = re.findall(r'(?:aria-label|alt|placeholder)="([^"]+)"', text)
    between = re.findall(r">([^<>]*)<", text)
    between = [words for words in between if not words.startswith(" --")]  # options of a command
    assert not [words for words in (*labels, *between) if re.search("[A-Za-z]{2}", words)]

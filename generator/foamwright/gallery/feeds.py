"""What programs read: an index of all packs as JSON, and new versions as a feed (RFC 4287, Atom)."""

from __future__ import annotations

import json
import uuid
import xml.etree.ElementTree as xml
from collections.abc import Iterable
from typing import Any
from urllib.parse import quote

from foamwright.gallery.published import Published
from foamwright.gallery.setting import Site
from foamwright.gallery.shelf import Title

_ATOM = "http://www.w3.org/2005/Atom"
_MOST_ENTRIES = 100


def dated(titles: Iterable[Title]) -> list[tuple[str, Title, str]]:
    """Date, design and what it says of its newest version, the latest first; versions without a date are left out."""
    entries = [
        (str(change["date"]), title, str(change["text"]))
        for title in titles
        for change in title.first.about["history"]
        if change["version"] == title.first.version and change.get("date")
    ]
    return sorted(entries, key=lambda entry: (entry[0], entry[1].id), reverse=True)


def feed(site: Site, titles: Iterable[Title]) -> bytes:
    """The newest version of each design that says when it was published."""
    entries = dated(titles)[:_MOST_ENTRIES]
    xml.register_namespace("", _ATOM)
    root = xml.Element(f"{{{_ATOM}}}feed")
    _add(root, "title", site.title)
    _add(root, "id", _name(site.address or site.title))
    _add(root, "updated", _moment(entries[0][0] if entries else "1970-01-01"))
    xml.SubElement(root, f"{{{_ATOM}}}link", {"rel": "alternate", "href": site.address or "index.html"})
    if site.address:
        xml.SubElement(root, f"{{{_ATOM}}}link", {"rel": "self", "href": f"{site.address}feed.xml"})
    for date, title, text in entries:
        pack = title.first
        entry = xml.SubElement(root, f"{{{_ATOM}}}entry")
        _add(entry, "title", f"{pack.name} {pack.version}")
        _add(entry, "id", _name(f"{site.address}{pack.id}/{pack.version}"))
        _add(entry, "updated", _moment(date))
        link = {"rel": "alternate", "href": f"{site.address}{quote(pack.id)}/index.html"}
        xml.SubElement(entry, f"{{{_ATOM}}}link", link)
        author = xml.SubElement(entry, f"{{{_ATOM}}}author")
        _add(author, "name", pack.about["author"] or site.title)
        _add(entry, "summary", text)
    return b'<?xml version="1.0" encoding="utf-8"?>\n' + xml.tostring(root, encoding="utf-8") + b"\n"


def index(site: Site, titles: Iterable[Title]) -> bytes:
    """Every pack with its files; paths are relative to the index, sums are SHA-256."""
    data = {
        "format": 1,
        "title": site.title,
        "packs": [_pack(pack) for title in titles for pack in (*title.newest, *title.older)],
    }
    return (json.dumps(data, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def _pack(pack: Published) -> dict[str, Any]:
    return {
        "design": pack.id,
        "name": pack.name,
        "version": pack.version,
        "size": pack.size,
        "licence": pack.about["licence"],
        "digest": pack.digest,
        "overall": list(pack.overall),
        "foam": list(pack.foams),
        "pieces": pack.pieces,
        "minutes": pack.work["hands_on"],
        "difficulty": pack.work["difficulty"],
        "files": [
            {"path": quote(f"{pack.place}/{f.path}"), "bytes": f.bytes, "sha256": f.sha256, "kind": f.kind}
            for f in pack.downloads
        ],
    }


def _add(parent: xml.Element, name: str, text: str) -> None:
    xml.SubElement(parent, f"{{{_ATOM}}}{name}").text = text


def _name(words: str) -> str:
    """A name that stays the same for the same words (RFC 9562, version 5)."""
    return uuid.uuid5(uuid.NAMESPACE_URL, words).urn


def _moment(date: str) -> str:
    return f"{date}T00:00:00Z"

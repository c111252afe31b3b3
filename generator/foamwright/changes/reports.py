"""The same comparison as text, Markdown, JSON, SVG and one HTML file."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as xml
from collections.abc import Callable, Mapping
from html import escape
from typing import Any

from foamwright.changes.overlay import overlay_svg
from foamwright.changes.records import Amount, Changes, PartChange
from foamwright.changes.words import Section, headline, sections
from foamwright.design.letters import shown
from foamwright.language import language, say

_MOST_LINES = 40  # of a section of a posted comment; the rest is counted


def text(changes: Changes) -> str:
    """For a terminal."""
    told = [f"{shown(changes.before.title)}  ->  {shown(changes.after.title)}", *map(shown, headline(changes))]
    for section in sections(changes):
        told += ["", section.title, *(f"  {shown(line)}" for line in section.lines)]
    return "\n".join(told) + "\n"


def markdown(changes: Changes) -> str:
    """For a comment on a change (CommonMark); nothing in a name is markup, a mention or a link."""
    told = [
        f"### {_inert(changes.before.title)} → {_inert(changes.after.title)}",
        "",
        " ".join(map(_inert, headline(changes))),
    ]
    for section in sections(changes):
        listed = section.lines[:_MOST_LINES]
        told += ["", f"**{section.title}**", "", *(f"- {_inert(line)}" for line in listed)]
        if len(section.lines) > len(listed):
            told.append("- " + say("and {n} more", n=len(section.lines) - len(listed)))
    return "\n".join(told) + "\n"


def html(changes: Changes) -> str:
    """One page with everything in it, and no request to anywhere."""
    title = f"{changes.before.title} → {changes.after.title}"
    body = [f"<h1>{escape(title)}</h1>", f"<p class='first'>{escape(' '.join(headline(changes)))}</p>"]
    body += [_html_section(section) for section in sections(changes)]
    if changes.recut:
        root = xml.fromstring(overlay_svg(changes))
        root.set("class", "lines")
        xml.register_namespace("", "http://www.w3.org/2000/svg")
        body += ["<h2>" + escape(say("Cut lines")) + "</h2>", xml.tostring(root, encoding="unicode")]
    return (
        f"<!doctype html>\n<html lang='{language()}'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head>\n<body><main>\n"
        + "\n".join(body)
        + "\n</main></body></html>\n"
    )


def as_json(changes: Changes) -> str:
    """For a script; lengths in mm, strain in percent, times in minutes."""
    data = {
        "before": _side(changes.before.record),
        "after": _side(changes.after.record),
        "cut_lines_changed": changes.cut_lines_changed,
        "added": [_part(part) for part in changes.added],
        "removed": [_part(part) for part in changes.removed],
        "changed": [_change(part) for part in changes.parts if part.recut or part.relabelled],
        "unchanged": sum(not part.recut for part in changes.parts),
        "pages": list(changes.pages),
        "parameters": [{"name": name, "before": a, "after": b} for name, a, b in changes.parameters],
        "amounts": [_amount(amount) for amount in changes.amounts],
    }
    return json.dumps(data, indent=1, ensure_ascii=False) + "\n"


def svg(changes: Changes) -> str:
    """Cut lines before and after over each other."""
    return overlay_svg(changes).decode()


FORMATS: dict[str, Callable[[Changes], str]] = {
    "text": text, "markdown": markdown, "json": as_json, "svg": svg, "html": html,
}  # fmt: skip


def _side(record: Mapping[str, Any]) -> dict[str, Any]:
    return {key: record["design"].get(key) for key in ("name", "version", "size", "digest")}


def _amount(amount: Amount) -> dict[str, Any]:
    what = amount.what.format(material=amount.material)  # in English for every reader
    return {"what": what, "unit": amount.unit, "before": amount.before, "after": amount.after}


def _part(part: Mapping[str, Any]) -> dict[str, Any]:
    return {key: part[key] for key in ("id", "label", "name", "material", "quantity")}


def _change(part: PartChange) -> dict[str, Any]:
    moved = None if part.moved != part.moved else round(part.moved, 3)
    return {
        **_part(part.after),
        "before": _part(part.before),
        "cut_again": part.recut,
        "moved": moved,
        "longer": round(part.longer, 3),
        "wider": round(part.wider, 3),
        "facts": list(part.facts),
    }


def _html_section(section: Section) -> str:
    lines = "".join(f"<li>{escape(line)}</li>" for line in section.lines)
    return f"<h2>{escape(section.title)}</h2><ul>{lines}</ul>"


def _inert(words: str) -> str:
    """Punctuation as numbered entities, which CommonMark 0.31 never reads as markup (its section 2.5).

    A colon before a space and an underscore within a word are none, and are easier to read as they are.
    """
    words = " ".join(words.split())
    return re.sub(_MARKUP, lambda match: f"&#{ord(match[0])};", words)


_MARKUP = r"[\\`*{}\[\]<>()#!|~@&/]|:(?=\S)|(?<![A-Za-z0-9])_|_(?![A-Za-z0-9])"


_STYLE = (
    ":root{color-scheme:light dark}body{font:16px/1.5 system-ui,sans-serif;margin:0}"
    "main{max-width:60rem;margin:auto;padding:1rem;overflow-wrap:anywhere}"
    "h1{font-size:1.3rem}h2{font-size:1.05rem;margin:1.4rem 0 .3rem}.first{font-size:1.1rem}"
    "ul{margin:0;padding-left:1.2rem}.lines{width:100%;height:auto;border:1px solid #8884;border-radius:6px}"
)

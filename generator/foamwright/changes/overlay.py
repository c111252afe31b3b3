"""Cut lines before and after, drawn over each other."""

from __future__ import annotations

import math
import xml.etree.ElementTree as xml

import numpy as np

from foamwright.changes.records import Changes, Lines, PartChange
from foamwright.language import say

_CELL, _ROOM, _WORDS, _COLUMNS = 220.0, 14.0, 34.0, 4  # px: a part's square, what is left around it, its words' height
# the older line is dashed and the newer one whole, so that they differ without colour too
_BEFORE = {"stroke": "#c2410c", "stroke-dasharray": "5 3", "stroke-width": "1.2"}
_AFTER = {"stroke": "#1d4ed8", "stroke-width": "1.4"}
_INK, _PAPER = "#1c1917", "#ffffff"


def overlay_svg(changes: Changes) -> bytes:
    """Every part that has to be cut again, its line before (dashed) laid over the line after; one SVG 1.1 file."""
    parts = changes.recut
    columns = min(_COLUMNS, max(1, len(parts)))
    rows = max(1, math.ceil(len(parts) / columns))
    width, height = columns * _CELL, rows * (_CELL + _WORDS) + _WORDS
    root = xml.Element(
        "svg",
        {"xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {width:g} {height:g}", "width": f"{width:g}",
         "height": f"{height:g}", "font-family": "sans-serif", "font-size": "12"},
    )  # fmt: skip
    xml.SubElement(root, "title").text = say("{first} and {last}", first=changes.before.title, last=changes.after.title)
    xml.SubElement(root, "rect", {"width": "100%", "height": "100%", "fill": _PAPER})
    for index, part in enumerate(parts):
        row, column = divmod(index, columns)
        root.append(part_group(part, column * _CELL, row * (_CELL + _WORDS)))
    key = say("dashed: before; whole: after") if parts else say("no cut line has changed")
    _text(root, _ROOM, height - 12.0, key)
    return bytes(xml.tostring(root, encoding="utf-8", xml_declaration=True))


def part_group(part: PartChange, x: float, y: float) -> xml.Element:
    """A part in a square cell at x, y (px), its name below."""
    group = xml.Element("g", {"transform": f"translate({x:g} {y:g})"})
    points = np.concatenate([line for lines in part.lines for line in lines])
    low, high = points.min(axis=0), points.max(axis=0)
    scale = (_CELL - 2.0 * _ROOM) / max(float((high - low).max()), 1e-9)
    offset = (_CELL - scale * (high - low)) / 2.0
    for lines, style in zip(part.lines, (_BEFORE, _AFTER), strict=True):
        xml.SubElement(group, "path", {"d": _path(lines, low, scale, offset), "fill": "none", **style})
    _text(group, _ROOM, _CELL + 10.0, _short(f"{part.after['label']} {part.after['name']}"))
    return group


def _path(lines: Lines, low: np.ndarray, scale: float, offset: np.ndarray) -> str:
    told = []
    for line in lines:
        xy = (line - low) * scale + offset
        xy[:, 1] = _CELL - xy[:, 1]  # y goes down on a screen
        told.append("M" + "L".join(f"{a:.2f} {b:.2f}" for a, b in xy) + "Z")
    return "".join(told)


def _text(parent: xml.Element, x: float, y: float, words: str) -> None:
    xml.SubElement(parent, "text", {"x": f"{x:g}", "y": f"{y:g}", "fill": _INK}).text = words


def _short(words: str, most: int = 32) -> str:
    return words if len(words) <= most else words[: most - 1] + "…"

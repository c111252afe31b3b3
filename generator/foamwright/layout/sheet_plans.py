"""Cutting plans: each sheet of foam, scaled down to a page, with what is cut from it. Lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np
import shapely
from scipy.sparse.csgraph import minimum_spanning_tree
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from foamwright.drawing.document import Document, Page
from foamwright.drawing.hatch import hatch_strokes
from foamwright.drawing.metrics import text_box, text_width
from foamwright.drawing.primitives import Drawing, Hatch, Path, Primitive, Text
from foamwright.drawing.typesetting import fitted, set_line, wrap
from foamwright.flatten.records import Patterns
from foamwright.flatten.segments import segment_label
from foamwright.language import count, language, say
from foamwright.layout.records import FoamSheet, PackInfo, Paper, PlacedPiece
from foamwright.layout.sheets import numbered, piece_on_sheet
from foamwright.parts.records import Piece
from foamwright.templates.wording import stock_title

PLAN_MARGIN = 14.0  # of a page that is read, not cut by: wide enough to hold and to punch
_HEAD = 22.0  # room for the title of a plan
_FOOT = 8.0  # and for the number of its page
_BETWEEN = 8.0  # two plans that share a page
_FEW, _SMALLER = (
    12,
    2.0,
)  # pieces at most of a plan that shares a page, and how many times smaller they are there at most
_SIDE = 11.0  # room beside the sheet for labels that do not fit on their piece
_LIST = 3.0  # font size of the list of pieces
_LABEL = (1.9, 7.0)  # least and greatest font size of a label on a piece
_SMALL = 2.4  # font size of a label next to its piece
_PITCH = 3.4  # of labels beside the sheet
_TOGETHER = 9.0  # between pieces that share a label
_MIRRORED = 2.0  # mm between the strokes that mark a mirrored copy
_LIST_WIDTH = 52.0
_REST = 0.1  # of a sheet's width, that is drawn of what is left over of a sheet that is not drawn whole:
_WORTH_IT = 1.5  # it is cut off there, and turned, where its pieces are so many times larger then
_SAME = 0.002  # share of its area by which what is cut may differ, to count as the same
_LEFT_OVER = 20.0  # mm of a sheet's length, from which on they are told
_GROUND = "#f4f4f2"
_BREAK = 2.0  # mm that the line goes in and out at which a sheet is cut off that is not drawn whole


@dataclass(frozen=True, eq=False)
class _Plan:
    """A sheet, and the numbers `first` to `last` of those of its material, of `total`, on which pieces lie as they do on it."""

    sheet: FoamSheet
    first: int
    last: int
    total: int


def sheet_plans(sheets: Sequence[FoamSheet], patterns: Patterns, paper: Paper, info: PackInfo) -> Document:
    """The plan of each sheet at a whole scale, with the list of its pieces, on pages of upright `paper`: one for sheets that are
    alike, and two of few pieces on a page."""
    wide = paper.width - 2.0 * PLAN_MARGIN - 2.0 * _SIDE - _LIST_WIDTH
    high = paper.height - 2.0 * PLAN_MARGIN - _FOOT
    whole, half = (wide, high - _HEAD), (wide, (high - _BETWEEN) / 2.0 - _HEAD)
    shared = _on_pages(_plans(sheets, patterns), whole, half)
    pages = []
    for number, plans in enumerate(shared, start=1):
        titles = [_named(plan, patterns) for plan in plans]
        items = _foot(paper, info, number, len(shared))
        top = paper.height - PLAN_MARGIN
        for plan, title in zip(plans, titles):
            items += _drawn(plan.sheet, title, patterns, paper, top, whole if len(plans) == 1 else half)
            top -= _HEAD + half[1] + _BETWEEN
        parts = tuple(dict.fromkeys(placed.part for plan in plans for placed in plan.sheet.placed))
        bookmark = "; ".join(titles)
        pages.append(Page(number, paper.width, paper.height, bookmark, parts, None, None, Drawing(tuple(items))))
    subject = say("Cutting plans: size {size}, version {version}", size=info.size, version=info.version)
    title = say("{name}: cutting plans", name=info.name)
    return Document(title, subject, paper.name, tuple(pages), info.author, language())


def _plans(sheets: Sequence[FoamSheet], patterns: Patterns) -> list[_Plan]:
    """One for all sheets in a row that are alike."""
    plans: list[_Plan] = []
    for sheet, number, total in numbered(sheets):
        if number > 1 and _cut_alike(plans[-1].sheet, sheet, patterns):
            plans[-1] = replace(plans[-1], last=number)
        else:
            plans.append(_Plan(sheet, number, number, total))
    return plans


def _cut_alike(one: FoamSheet, other: FoamSheet, patterns: Patterns) -> bool:
    """Is the same cut from two sheets, and in the same places, whichever copies it is, and whichever way round it lies there?"""
    if (one.size, one.on_hand, len(one.placed)) != (other.size, other.on_hand, len(other.placed)):
        return False
    foams = [_foam_by_part(sheet, patterns) for sheet in (one, other)]
    return foams[0].keys() == foams[1].keys() and all(
        foam.symmetric_difference(foams[1][part]).area < _SAME * foam.area for part, foam in foams[0].items()
    )


def _foam_by_part(sheet: FoamSheet, patterns: Patterns) -> dict[tuple[str, int, bool], BaseGeometry]:
    """What of a sheet becomes copies of each part, or each of its segments, as drawn and mirrored."""
    foam: dict[tuple[str, int, bool], list[Polygon]] = {}
    for placed in sheet.placed:
        own = foam.setdefault((placed.part, placed.segment, _is_hatched(patterns, placed)), [])
        own.append(piece_on_sheet(patterns.pattern(placed.part), placed))
    return {part: shapely.union_all(own) for part, own in foam.items()}


def _on_pages(plans: Sequence[_Plan], whole: tuple[float, float], half: tuple[float, float]) -> list[list[_Plan]]:
    """The plans of each page: of few pieces, which are not much smaller so, two share one."""
    pages: list[list[_Plan]] = []
    waiting: list[_Plan] | None = None  # the page of one that would share it
    for plan in plans:
        few = len(plan.sheet.placed) <= _FEW
        if not few or _way_to_draw(plan.sheet, half)[0] > _SMALLER * _way_to_draw(plan.sheet, whole)[0]:
            pages.append([plan])
        elif waiting is None:
            waiting = [plan]
            pages.append(waiting)
        else:
            waiting.append(plan)
            waiting = None
    return pages


def _named(plan: _Plan, patterns: Patterns) -> str:
    facts = {
        "stock": stock_title(patterns.prop.piece(plan.sheet.placed[0].part).stock),
        "n": plan.first,
        "total": plan.total,
    }
    if plan.last > plan.first:
        return say("{stock}, sheets {n} to {last} of {total}, all alike", last=plan.last, **facts)
    return say("{stock}, sheet {n} of {total}", **facts)


def _drawn(
    sheet: FoamSheet, title: str, patterns: Patterns, paper: Paper, top: float, room: tuple[float, float]
) -> list[Primitive]:
    scale, shown, lying = _way_to_draw(sheet, room)
    left, below = PLAN_MARGIN + _SIDE, top - _HEAD
    across, up = (shown, sheet.size[0]) if lying else (sheet.size[0], shown)
    items = _title(sheet, title, scale, patterns, paper, top)
    items += _plan(sheet, patterns, scale, np.array([left, below - up / scale]), shown, lying)
    x = left + across / scale + _SIDE + 3.0
    items += _piece_list(sheet, patterns, x, below, paper.width - PLAN_MARGIN - x, room[1])
    return items


def _foot(paper: Paper, info: PackInfo, number: int, total: int) -> list[Primitive]:
    """The name of the pack, and the number of the page."""
    low, right = PLAN_MARGIN - 4.0, paper.width - PLAN_MARGIN
    named = say("{name}, version {version}, size {size}", name=info.name, version=info.version, size=info.size)
    page = say("page {n} of {total}", n=number, total=total)
    return [
        set_line(fitted(named, right - PLAN_MARGIN - 30.0, 2.8), PLAN_MARGIN, low, "page"),
        Text((right, low), page, 2.8, "page", "end"),
    ]


def _way_to_draw(sheet: FoamSheet, room: tuple[float, float]) -> tuple[float, float, bool]:
    """So many mm of the sheet are one on paper, how much of its length is drawn, and whether its length runs across the page: all
    of it upright, unless what is used of it, upright or lying, is much larger on paper."""

    def scale(across: float, up: float) -> float:
        return max(1, ceil(2.0 * max(across / room[0], up / room[1]) - 1e-9)) / 2.0

    width, length = sheet.size
    used = min(length, sheet.length + _REST * width)
    whole = scale(width, length)
    best = min((scale(width, used), False), (scale(used, width), True))
    return (best[0], used, best[1]) if best[0] * _WORTH_IT <= whole else (whole, length, False)


def _title(sheet: FoamSheet, title: str, scale: float, patterns: Patterns, paper: Paper, top: float) -> list[Primitive]:
    room = paper.width - 2.0 * PLAN_MARGIN
    rest = sheet.size[1] - sheet.length
    facts = say(
        "{size}, drawn at 1 : {scale}; pieces cover {used}",
        size=f"{sheet.size[0]:g} x {sheet.size[1]:g} mm",
        scale=f"{scale:g}",
        used=f"{100.0 * sheet.used:.0f} %",
    )
    if sheet.on_hand:
        facts = say("from the shelf, {facts}", facts=facts)
    if rest > _LEFT_OVER:
        facts += say(", {rest} mm of its length are left over", rest=f"{rest:.0f}")
    hatched = any(_is_hatched(patterns, placed) for placed in sheet.placed)
    told = [say("Hatched pieces are mirrored copies.")] if hatched else []
    told += [say("The dashed line is the end of what is used.")] if rest > _LEFT_OVER else []
    return [
        set_line(fitted(title, room, 6.0, bold=True), PLAN_MARGIN, top - 6.0, "page"),
        set_line(fitted(facts, room, 3.5), PLAN_MARGIN, top - 12.5, "page"),
        set_line(fitted(" ".join(told), room, 2.8), PLAN_MARGIN, top - 17.0, "page"),
    ]


def _plan(
    sheet: FoamSheet, patterns: Patterns, scale: float, corner: np.ndarray, shown: float, lying: bool
) -> list[Primitive]:
    width, length = sheet.size

    def on_page(points) -> np.ndarray:
        points = np.asarray(points, float)
        points = np.column_stack([points[:, 1], width - points[:, 0]]) if lying else points
        return points / scale + corner

    frame = on_page([[0.0, shown], [0.0, 0.0], [width, 0.0], [width, shown], *_break(width, length, shown, scale)])
    items: list[Primitive] = [Path(frame, "shade", True, _GROUND), Path(frame, "page", True)]
    if length - sheet.length > _LEFT_OVER:
        items.append(Path(on_page([[0.0, sheet.length], [width, sheet.length]]), "view-hidden"))
    pieces = [(p, piece_on_sheet(patterns.pattern(p.part), p)) for p in sheet.placed]
    pieces.sort(key=lambda piece: -shapely.Polygon(piece[1].exterior).area)  # what lies in a hole is drawn over it
    small, drawn_foam = [], []
    for placed, foam in pieces:
        piece = patterns.prop.piece(placed.part)
        ring = on_page(foam.exterior.coords)[:-1]
        holes = [on_page(hole.coords)[:-1] for hole in foam.interiors]
        items.append(Path(ring, "shade", True, tint(piece.stock.colour)))
        items += [Path(hole, "shade", True, _GROUND) for hole in holes]
        drawn = Polygon(ring, holes).buffer(0.0)
        drawn_foam.append(drawn)
        if _is_hatched(patterns, placed):
            items += _strokes(drawn)
        items += [Path(loop, "view", True) for loop in (ring, *holes)]
        label = segment_label(patterns.pattern(placed.part), placed.segment)
        text = _label(drawn, label)
        if text is None:
            small.append((label, drawn))
        else:
            items.append(text)
    labels = [Polygon(text_box(i)) for i in items if isinstance(i, Text)]
    return items + _small_labels(small, drawn_foam, labels, frame)


def _break(width: float, length: float, shown: float, scale: float) -> list[tuple[float, float]]:
    """Corners of the jagged end of a sheet that is not drawn to its `length`: none where it is."""
    if shown == length:
        return []
    strokes = max(2 * round(width / (4.0 * _BREAK * scale)), 2)
    return [(width * (1.0 - k / strokes), shown - (k % 2) * _BREAK * scale) for k in range(1, strokes)]


def _is_hatched(patterns: Patterns, placed: PlacedPiece) -> bool:
    """Is it a mirrored copy that is not its own mirror image?"""
    return placed.flipped and not patterns.prop.piece(placed.part).either_hand


def tint(colour: str, white: float = 0.55) -> str:
    """A colour "#rrggbb" mixed with `white` of white, so that print on it can be read."""
    parts = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(255 * white + part * (1.0 - white)):02x}" for part in parts)


def _strokes(foam: Polygon) -> list[Primitive]:
    """Hatching that leaves out the holes."""
    x0, y0, x1, y1 = foam.bounds
    frame = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    inside = shapely.multilinestrings(hatch_strokes(Hatch(frame, _MIRRORED, 45.0))).intersection(foam)
    lines = [line for line in getattr(inside, "geoms", [inside]) if line.geom_type == "LineString"]
    return [Path(np.array(line.coords), "bevel") for line in lines if not line.is_empty]


def _label(foam: Polygon, label: str) -> Text | None:
    """The label in the middle of the widest place of a piece; None where it is too small for it."""
    circle = shapely.maximum_inscribed_circle(foam, 0.1)
    x, y = circle.coords[0]
    room = 1.8 * circle.length
    height = min(room / 1.2, room / text_width(label, 1.0, True), _LABEL[1])
    if height < _LABEL[0]:
        return None
    return Text((x, y - 0.36 * height), label, height, "note", "middle", bold=True)


def _small_labels(
    small: Sequence[tuple[str, Polygon]],
    foam: Sequence[Polygon],
    labels: Sequence[Polygon],
    frame: np.ndarray,
) -> list[Primitive]:
    """Labels of small pieces: next to a piece where no foam is, else beside the sheet with a line to it.

    Pieces of one label that lie close together are joined by a line and share a label that says how many they are.
    """
    taken, far = [f.buffer(0.3) for f in foam], []
    items: list[Primitive] = []
    sheet = Polygon(frame)
    for label, pieces in _groups(small):
        middles = [shapely.maximum_inscribed_circle(piece, 0.1).coords[0] for piece in pieces]
        items += [Path(np.array([middles[a], middles[b]]), "bevel") for a, b in _links(pieces)]
        text = label if len(pieces) == 1 else f"{len(pieces)} x {label}"
        around = (t for piece in pieces for t in _around(text, piece))
        room = next((t for t in around if _free(t, sheet, taken)), None)
        if room is None:
            far.append((text, middles))
        else:
            items.append(room)
            taken.append(Polygon(text_box(room)))
    labels = [*labels, *taken[len(foam) :]]
    return items + _beside(far, np.array(labels, object), frame)


def _groups(small: Sequence[tuple[str, Polygon]]) -> list[tuple[str, list[Polygon]]]:
    """Pieces of one label of which each is close to another of them."""
    groups: list[tuple[str, list[Polygon]]] = []
    for label, piece in small:
        near = [g for g in groups if g[0] == label and min(piece.distance(p) for p in g[1]) < _TOGETHER]
        groups = [g for g in groups if g not in near]
        groups.append((label, [p for _, own in near for p in own] + [piece]))
    return groups


def _links(pieces: Sequence[Polygon]) -> list[tuple[int, int]]:
    """Pairs of pieces that join them all with the least length of lines."""
    distance = np.array([[a.centroid.distance(b.centroid) for b in pieces] for a in pieces])
    tree = minimum_spanning_tree(distance)
    return [(int(a), int(b)) for a, b in zip(*tree.nonzero())]


def _around(label: str, piece: Polygon) -> Iterator[Text]:
    x0, y0, x1, y1 = piece.bounds
    x, y, low = (x0 + x1) / 2.0, (y0 + y1) / 2.0 - 0.36 * _SMALL, 0.75 * _SMALL
    for at, anchor in (
        ((x1 + 0.6, y), "start"),
        ((x0 - 0.6, y), "end"),
        ((x, y1 + 0.8), "middle"),
        ((x, y0 - low - 0.8), "middle"),
        ((x1 + 0.3, y1 - 0.3), "start"),
        ((x1 + 0.3, y0 - low + 0.3), "start"),
        ((x0 - 0.3, y1 - 0.3), "end"),
        ((x0 - 0.3, y0 - low + 0.3), "end"),
    ):
        yield Text(at, label, _SMALL, "note", anchor, bold=True)


def _free(text: Text, sheet: Polygon, taken: Sequence[Polygon]) -> bool:
    box = Polygon(text_box(text))
    return sheet.contains(box) and not shapely.intersects(box, np.array(taken)).any()


def _beside(
    groups: Sequence[tuple[str, Sequence[tuple[float, float]]]], labels: np.ndarray, frame: np.ndarray
) -> list[Primitive]:
    """Labels of groups of points beside the sheet, with a line to the nearest that crosses few other labels."""
    items: list[Primitive] = []
    (x0, low), (x1, high) = frame.min(axis=0), frame.max(axis=0)

    small = [(text, min(points, key=lambda p: min(p[0] - x0, x1 - p[0]))) for text, points in groups]

    def to_the_right(point: tuple[float, float]) -> bool:
        x, y = point
        crossed = [shapely.crosses(LineString([(x, y), (end, y)]), labels).sum() for end in (x0, x1)]
        if crossed[0] != crossed[1]:
            return bool(crossed[1] < crossed[0])
        return x > (x0 + x1) / 2.0

    for right in (False, True):
        here = sorted((s for s in small if to_the_right(s[1]) == right), key=lambda s: s[1][1])
        for (label, (x, y)), at in zip(here, _spread([s[1][1] for s in here], low, high)):
            end = x1 + 2.0 if right else x0 - 2.0
            items.append(Path(np.array([[x, y], [end, at]]), "bevel"))
            anchor, off = ("start", 0.6) if right else ("end", -0.6)
            items.append(Text((end + off, at - 0.36 * _SMALL), label, _SMALL, "note", anchor, bold=True))
    return items


def _spread(wanted: Sequence[float], low: float, high: float) -> list[float]:
    """Heights near the `wanted` ones, ascending, at least a line apart and as far as can be within the sheet."""
    spread: list[float] = []
    for height in wanted:
        spread.append(max(height, spread[-1] + _PITCH if spread else low + 1.0))
    limit = high - 1.0
    for k in range(len(spread) - 1, -1, -1):
        spread[k] = min(spread[k], limit)
        limit = spread[k] - _PITCH
    return spread


def _piece_list(
    sheet: FoamSheet, patterns: Patterns, x: float, top: float, room: float, high: float
) -> list[Primitive]:
    """What is cut from the sheet, in lines of `room` mm that are broken, in `high` mm."""
    cut = Counter(p.part for p in sheet.placed)
    mirrored = Counter(p.part for p in sheet.placed if p.flipped)
    pieces = [p for p in patterns.prop.pieces if p.id in cut]
    size = _LIST
    while True:
        rows = [wrap(_entry(p, cut[p.id], mirrored[p.id]), room - 8.0, size) for p in pieces]
        pitch, gaps = 1.3 * size, 0.3 * size * len(rows)
        if size < _LABEL[0] or 8.0 + gaps + pitch * sum(map(len, rows)) <= high:
            break
        size *= 0.95
    total = count("{n} piece", "{n} pieces", len(sheet.placed))
    items: list[Primitive] = [Text((x, top - 4.0), total, _LIST + 0.6, "note", bold=True)]
    y = top - 5.0
    for piece, lines in zip(pieces, rows):
        y -= 0.3 * size
        items.append(Text((x, y - pitch), piece.label, size, "note", bold=True))
        for line in lines:
            y -= pitch
            items.append(Text((x + 8.0, y), line, size, "note"))
    return items


def _entry(piece: Piece, cut: int, mirrored: int) -> str:
    told = f"{cut} x {piece.name}"
    if mirrored and piece.cut_mirrored:
        told += " " + say("({n} mirrored)", n=mirrored)
    return told

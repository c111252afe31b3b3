"""The first pages: how to print, squares to measure, what the lines mean, and which part is on which page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import LAYERS, Drawing, Path, Primitive, Text
from foamwright.drawing.transform import translate
from foamwright.drawing.typesetting import Block, beside, bullet, fitted, paragraph, set_line, shortened, stack, wrap
from foamwright.flatten.records import Pattern
from foamwright.language import count, decimal, listed, number_ranges, phrase, say
from foamwright.layout.filling import page_code
from foamwright.layout.furniture import Area, measured_square, white_behind
from foamwright.layout.records import PackInfo, Paper
from foamwright.layout.shape import Item
from foamwright.layout.tiling import Tiling
from foamwright.parts.details import PIN
from foamwright.parts.outlines import circle
from foamwright.parts.records import Piece
from foamwright.templates import wording
from foamwright.templates.edges import SEAM_END, TICK, notch, seam_end
from foamwright.templates.fittings import pin
from foamwright.templates.records import LAID

_COLUMN = 190.0  # mm, the widest column that is still easy to read
_GUTTER = 10.0
_INCH = 25.4
_BODY = 3.2
_HEADING = 4.2
_SMALL = 2.8
_LEADING = 0.286  # white below a line, as a share of the font size: read at the printer, not at a desk
_ROW = 4.4  # height of a row of a table
_SECOND_SQUARE = 58.0  # from the left edge of the first square to that of the second
_BESIDE_SQUARES = 6.0  # white between the squares and the words beside them
_NARROWEST = 60.0  # column of words that is worth setting beside the squares
_LEGEND = (
    "cut",
    "cut-inner",
    "other-face",
    "mark",
    "mark-other",
    "rest",
    "rest-other",
    "laid",
    "laid-other",
    "tick",
    "seam-end",
    "touch",
    "fold",
    "bend",
    "bevel",
    "trim",
    "engrave",
    "pin",
)
_SAMPLE = 22.0  # mm, the length of a line in the legend
_TALL = 4.4  # mm, the height of a sample that is a shape
_MANY = 14  # parts, from which on the table stands in two columns
_MAP = (58.0, 46.0)  # mm, the picture of a split part
_TITLE_LINES = 3  # above it, at most

_SCALING = phrase("Print with page scaling off: choose 100 % or actual size, never \u201cfit to page\u201d.")
_CHECKS = (
    phrase(
        "Print this page first and measure both squares with a ruler, across and up. A square that is more "
        "than 0.5 mm off means a wrong print setting: correct it before you print the rest."
    ),
    phrase(
        "Every page has a square of 25 mm, mostly in its lower right corner, and two marks 100 mm apart on the line above its "
        "name; check those too."
    ),
)
_JOINING = (
    phrase(
        "Where a page says trim here, cut along that line and lay the page on its neighbour so that line and "
        "crosses meet; the cut line runs on without a step. Tape from the middle outwards."
    ),
    phrase("A small part may use the free room of such a page: cut it out of the page before you trim."),
)
_CAUTIONS = (
    phrase("Cut with a fresh blade, on a mat, away from your hand; several light passes rather than one hard one."),
    phrase("Keep blades out of reach of children; an adult does the cutting and the gluing for them."),
    phrase("Foam dust, hot foam and glue give off what should not be breathed: air the room, keep flames away."),
    phrase("The safety data sheet of each product and your local rules come first."),
)


@dataclass(frozen=True)
class Made:
    """What the parts of a pack have, of all that one kind of line may stand for."""

    darts: bool
    holes: bool
    folds: bool


@dataclass(frozen=True, eq=False)
class SplitPart:
    """A part, or several side by side, that run over several pages; `pages` by (row, column)."""

    item: Item
    grid: Tiling
    pages: Mapping[tuple[int, int], int]


@dataclass(frozen=True, eq=False)
class FrontPage:
    """A page of front matter without its title strip, and the (x0, y0, x1, y1) that its columns cover."""

    title: str
    drawing: Drawing
    columns: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True)
class _Row:
    """A block in a column, never the last of it if it is to be kept with the next."""

    block: Block
    keep_with_next: bool = False


def front_pages(
    info: PackInfo,
    paper: Paper,
    room: Area,
    total: int,
    pieces: Sequence[Piece],
    pages_of: Mapping[str, Sequence[int]],
    splits: Sequence[SplitPart],
    used: frozenset[str],
    made: Made,
    listed_only: Sequence[Pattern],
) -> list[FrontPage]:
    """The front matter in the columns of as many pages as it takes, broken the same whatever the numbers.

    `pieces` are those of the templates and `pages_of` goes by their labels. `used` are the layers of the
    templates, `made` what else the lines on them stand for, `listed_only` the patterns of parts that have none.
    """
    columns = max(1, int((room.width + _GUTTER) // (_COLUMN + _GUTTER)))
    width = min(_COLUMN, room.width)
    sections = [
        (say("How to print"), [*_title(info, width), *_printing(paper, total, width)]),
        (say("How to use"), _legend(width, used, made)),
        (say("How to use"), _joining(splits, width)),
        (say("How to use"), _cutting(width)),
        (say("Page map"), _table(pieces, pages_of, width)),
        (say("Page map"), _listed(listed_only, width)),
        (say("Page map"), _pictures(splits, width)),
    ]
    return _flow(sections, room, width, columns)


def _flow(sections: Sequence[tuple[str, Sequence[_Row]]], room: Area, width: float, columns: int) -> list[FrontPage]:
    """Titled sections below each other; one that fits into a column is not broken."""
    filled: list[list[Primitive]] = [[]]
    used = [0.0]
    titles = [sections[0][0]]

    def next_column(title: str) -> None:
        filled.append([])
        used.append(0.0)
        titles.append(title)

    for title, section in sections:
        whole = sum(row.block.height for row in section)
        if used[-1] > 0.0 and room.height - used[-1] < whole <= room.height:
            next_column(title)
        for index, row in enumerate(section):
            height, follower = row.block.height, index
            while section[follower].keep_with_next:
                follower += 1
                height += section[follower].block.height
            if used[-1] > 0.0 and used[-1] + height > room.height:
                next_column(title)
            filled[-1] += row.block.hung(0.0, room.y1 - used[-1])
            used[-1] += row.block.height
    pages = []
    for first in range(0, len(filled), columns):
        items: list[Primitive] = []
        covered = []
        for k in range(first, min(first + columns, len(filled))):
            x = room.x0 + (k - first) * (width + _GUTTER)
            items += translate(Drawing(tuple(filled[k])), x, 0.0).items
            covered.append((x, room.y1 - used[k], x + width, room.y1))
        pages.append(FrontPage(titles[first], Drawing(tuple(items)), tuple(covered)))
    return pages


def _heading(value: str, width: float) -> list[_Row]:
    title = paragraph(value, width, _HEADING, bold=True, leading=_LEADING, after=1.2)
    return [_Row(Block((), width, 4.0), keep_with_next=True), _Row(title, keep_with_next=True)]


def _bullets(paragraphs: Sequence[str], width: float) -> list[_Row]:
    return [_Row(bullet(value, width, _BODY, _LEADING, after=0.8)) for value in paragraphs]


def _title(info: PackInfo, width: float) -> list[_Row]:
    name = fitted(info.name, width, 9.0, bold=True)
    facts = [say("Foam templates at true size. Size {size}, version {version}.", size=info.size, version=info.version)]
    facts += [s for s in (info.size_note, say("Licence: {licence}", licence=info.licence) if info.licence else "") if s]
    rule = Block((Path(np.array([[0.0, -1.5], [width, -1.5]]), "page"),), width, 2.0)
    blocks = (
        paragraph(name.value, width, name.height, bold=True, leading=_LEADING),
        *(paragraph(f, width, _BODY, leading=_LEADING) for f in facts),
        rule,
    )
    return [_Row(block) for block in blocks]


def _printing(paper: Paper, total: int, width: float) -> list[_Row]:
    side = 2.0 * _INCH
    size = f"{paper.width:g} × {paper.height:g} mm"
    if paper.roll:
        size = say("{width} mm wide", width=f"{paper.width:g}")
    pages = count("{n} page", "{n} pages", total)
    sheet = say("Paper: {paper}, {size}; {pages}, one side.", paper=paper_name(paper), size=size, pages=pages)
    text = [say(_SCALING), sheet, *map(say, _CHECKS)]
    drawn = (
        *measured_square(0.0, -side, 50.0, ("50 mm", f"{50.0 / _INCH:.3f} in", say("10 mm marks"))),
        *measured_square(_SECOND_SQUARE, -side, side, ("2 in", f"{side:g} mm", say("1/4 in marks")), divisions=8),
    )
    squares = Block(drawn, _SECOND_SQUARE + side, side)
    rest = width - squares.width - _BESIDE_SQUARES
    if rest >= _NARROWEST:
        words = stack(row.block for row in _bullets(text, rest))
        both = beside(squares, words, squares.width + _BESIDE_SQUARES)
        return [*_heading(say("Print at true size"), width), _Row(replace(both, height=both.height + 1.0))]
    below = replace(squares, height=side + 3.0)
    return [*_heading(say("Print at true size"), width), _Row(below), *_bullets(text, width)]


def _legend(width: float, used: frozenset[str], made: Made) -> list[_Row]:
    """A sample of each line beside what it means, the words broken to the column's width."""
    layers = [layer for layer in _LEGEND if layer in used]
    columns = 2 if width >= _COLUMN - 1.0 else 1
    span = (width - (columns - 1) * _GUTTER) / columns
    deep = -(-len(layers) // columns)
    rows = [
        _Row(_across([_meaning(layer, span, made) for layer in layers[k::deep]], span), keep_with_next=k < deep - 1)
        for k in range(deep)
    ]
    return [*_heading(say("What the lines mean"), width), *rows]


def _meaning(layer: str, span: float, made: Made) -> Block:
    """The sample of a layer's line and its words, in a cell `span` mm wide."""
    said = say(LAYERS[layer])
    if layer == "cut-inner" and not made.darts:
        said = say("closed within a part: cut this hole out")
    elif layer == "cut-inner" and not made.holes:
        said = say("a ring of 2 mm at the tip of a dart: punch it first")
    elif layer == "fold" and not made.folds:
        said = say("centre lines and axes")
    words = paragraph(said, span - _SAMPLE - 4.0, _SMALL, leading=_LEADING, after=1.2)
    return beside(_sample(layer, made), words, _SAMPLE + 4.0)


def _sample(layer: str, made: Made) -> Block:
    """A line of a layer; of what is known by its shape and not by its line, that shape."""
    middle = -0.5 * _TALL
    if layer == "cut-inner":
        hole = np.array([[3.0, 0.0], [9.0, 0.0], [9.0, -_TALL], [3.0, -_TALL]])
        tip = circle(1.0, (15.0, middle))
        shapes = ((hole, made.holes), (tip, made.darts))
        return Block(tuple(Path(ring, layer, closed=True) for ring, there in shapes if there), _SAMPLE, _TALL)
    if layer == "tick":
        edge = Path(np.array([[0.0, -0.4], [_SAMPLE, -0.4]]), "cut")
        ticks = [Path(np.array([[x, -0.4], [x, -0.4 - TICK]]), layer) for x in (4.0, 18.0)]
        return Block((edge, *ticks, _v(-0.4, layer)), _SAMPLE, _TALL)
    if layer in LAID.values():
        return Block((_v(-0.5, layer),), _SAMPLE, _TALL)
    if layer == "seam-end":
        edge = Path(np.array([[0.0, -0.4], [_SAMPLE, -0.4]]), "cut")
        t = seam_end(np.array([_SAMPLE / 2, -0.4]), np.array([0.0, -1.0]), TICK / SEAM_END[0])
        return Block((edge, *t), _SAMPLE, _TALL)
    if layer == "pin":
        return Block(tuple(pin((_SAMPLE / 2, middle))), _SAMPLE, 2 * PIN)
    return Block((Path(np.array([[0.0, -0.5 * _SMALL], [_SAMPLE, -0.5 * _SMALL]]), layer),), _SAMPLE, _SMALL)


def _v(top: float, layer: str) -> Path:
    return notch(np.array([_SAMPLE / 2, top]), np.array([1.0, 0.0]), np.array([0.0, -1.0]), TICK, layer)


def _joining(splits: Sequence[SplitPart], width: float) -> list[_Row]:
    if not splits:
        return []
    key_map = say("The key map in the title strip shows where the page belongs.")
    told = [f"{_named_so(splits)} {key_map}"]
    return [*_heading(say("Join the pages of a large part"), width), *_bullets([*told, *map(say, _JOINING)], width)]


def _named_so(splits: Sequence[SplitPart]) -> str:
    """How pages that belong together are named, with one of a part alone and one of parts side by side that occur."""
    alone = next((part for part in splits if len(part.item.pieces) == 1), None)
    several = next((part for part in splits if len(part.item.pieces) > 1), None)
    told = []
    for part in (alone, several):
        if part is not None:
            row, column = part.grid.used[-1]
            code = page_code(part.item.label, (row, column))
            labels = listed([piece.label for piece in part.item.pieces])
            place = {"code": code, "row": row + 1, "column": column + 1}
            if part is alone:
                told.append(say("{code} is row {row}, column {column} of part {part}", part=labels, **place))
            else:
                told.append(
                    say("{code} is row {row}, column {column} of the parts {parts} side by side", parts=labels, **place)
                )
    return say("Pages that belong together are named by part letter, row and column: {pages}.", pages="; ".join(told))


def _cutting(width: float) -> list[_Row]:
    return [*_heading(say("Before you cut"), width), *_bullets([*map(say, _CAUTIONS)], width)]


def _table(pieces: Sequence[Piece], pages_of: Mapping[str, Sequence[int]], width: float) -> list[_Row]:
    """A row for each part or segment; many stand in two columns, the second going on where the first ends."""
    columns = 2 if len(pieces) > _MANY and width >= _COLUMN - 1.0 else 1
    deep = -(-len(pieces) // columns)
    span = (width - (columns - 1) * _GUTTER) / columns
    edges = (0.0, 0.09 * span, 0.58 * span, 0.82 * span, span)
    head = [
        Text((x, -_SMALL), v, _SMALL, bold=True)
        for x, v in zip(edges, (say("part"), say("name"), say("cut"), say("pages")))
    ]
    ruled = Block((*head, Path(np.array([[0.0, -4.2], [span, -4.2]]), "page")), span, 5.0)
    rows = [_Row(_across([ruled] * columns, span), keep_with_next=True)]
    for k in range(deep):
        cells = [_entry(piece, pages_of[piece.label], edges) for piece in pieces[k::deep]]
        rows.append(_Row(_across(cells, span)))
    return [*_heading(say("Which part is on which page"), width), *rows]


def _listed(patterns: Sequence[Pattern], width: float) -> list[_Row]:
    """The parts that are measured off by their length and so have no template."""
    if not patterns:
        return []
    edges = (0.0, 0.05 * width, 0.32 * width, 0.44 * width, width)
    rows = []
    for pattern in patterns:
        piece = pattern.piece
        long = decimal(float(np.ptp(pattern.outline[:, 0])), 1)
        size = ", ".join(wording.dimensions(pattern)) or say("length {length}", length=long)
        told = f"{size}; {wording.stock_title(piece.stock)}"
        rows.append(_Row(_cells((piece.label, piece.name, str(piece.quantity), told), edges)))
    return [*_heading(say("Measured off, without a template"), width), *rows]


def _across(cells: Sequence[Block], span: float) -> Block:
    """Columns `span` mm wide next to each other."""
    items = tuple(item for k, cell in enumerate(cells) for item in cell.hung(k * (span + _GUTTER), 0.0))
    return Block(items, len(cells) * (span + _GUTTER) - _GUTTER, max(cell.height for cell in cells))


def _entry(piece: Piece, pages: Sequence[int], edges: tuple[float, ...]) -> Block:
    number = str(piece.quantity)
    if piece.cut_mirrored:
        number = say("{n}, {mirrored} mirrored", n=piece.quantity, mirrored=piece.cut_mirrored)
    return _cells((piece.label, piece.name, number, number_ranges(pages)), edges)


def _cells(cells: Sequence[str], edges: tuple[float, ...]) -> Block:
    """A row of a table, its columns from edge to edge, the first in bold."""
    row = []
    for value, x, end in zip(cells, edges, edges[1:]):
        row.append(set_line(fitted(value, end - x - 1.5, _SMALL, bold=x == 0.0), x, -_SMALL))
    return Block(tuple(row), edges[-1], _ROW)


def _pictures(splits: Sequence[SplitPart], width: float) -> list[_Row]:
    if not splits:
        return []
    step = _MAP[0] + 4.0
    across = max(1, int((width + 4.0) // step))
    rows = []
    for first in range(0, len(splits), across):
        items: list[Primitive] = []
        row = splits[first : first + across]
        titles = [_map_title(part) for part in row]
        high = _SMALL * 1.3 * max(len(lines) for lines in titles)
        for k, (part, lines) in enumerate(zip(row, titles)):
            named = [Text((0.0, -_SMALL * (1.0 + 1.3 * n)), line, _SMALL, bold=True) for n, line in enumerate(lines)]
            drawn = translate(Drawing(tuple(_picture(part))), 0.0, -high - 2.6).items
            items += translate(Drawing((*named, *drawn)), k * step, 0.0).items
        rows.append(_Row(Block(tuple(items), width, _MAP[1] + high + 5.6)))
    return [*_heading(say("How the pages of a large part lie"), width), *rows]


def _map_title(part: SplitPart) -> list[str]:
    """The letters and names of what a map shows, in no more lines than it has room for."""
    lines = wrap(f"{part.item.label}  {part.item.name}", _MAP[0], _SMALL, bold=True)
    last = " ".join(lines[_TITLE_LINES - 1 :])
    return [*lines[: _TITLE_LINES - 1], *([shortened(last, _MAP[0], _SMALL, bold=True)] if last else [])]


def _picture(part: SplitPart) -> list[Primitive]:
    """Foam outline, page edges and page numbers, to fit _MAP; origin at the upper left."""
    cores = {cell: part.grid.core(*cell) for cell in part.grid.used}
    bounds = np.array(list(cores.values()))
    x0, y0 = bounds[:, :2].min(axis=0)
    x1, y1 = bounds[:, 2:].max(axis=0)
    scale = min(_MAP[0] / (x1 - x0), _MAP[1] / (y1 - y0))

    def small(points) -> np.ndarray:
        return (np.asarray(points, float)[:, :2] - (x0, y1)) * scale

    items: list[Primitive] = []
    shape = part.item.footprint.simplify(0.3 / scale)
    for polygon in shapely.get_parts(shape):
        items.append(Path(small(polygon.exterior.coords)[:-1], "shade", closed=True, fill="#dddddd"))
        items.append(Path(small(polygon.exterior.coords)[:-1], "tick", closed=True))
    for cell, (a0, b0, a1, b1) in cores.items():
        items.append(Path(small([(a0, b0), (a1, b0), (a1, b1), (a0, b1)]), "page", closed=True))
        number = str(part.pages[cell])
        room = (a1 - a0) * scale / (text_width(number, 1.0) + 0.5)
        height = min(3.6, 0.5 * (b1 - b0) * scale, room)
        x, y = small([((a0 + a1) / 2.0, (b0 + b1) / 2.0)])[0]
        label = Text((x, y - 0.36 * height), number, height, "note", anchor="middle", bold=True)
        items += [white_behind(label), label]
    return items


def paper_name(paper: Paper) -> str:
    """As it is written on a box of paper: A4, ANSI-C, Letter, Roll."""
    if paper.roll:
        return "Roll"
    return paper.name.upper() if paper.name.startswith("a") else paper.name.capitalize()

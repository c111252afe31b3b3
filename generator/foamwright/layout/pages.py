"""Templates on pages: whole where they fit, several to a page, else split over the fewest pages."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from itertools import zip_longest

import shapely
from shapely import box

from foamwright.drawing.document import Document, Page
from foamwright.drawing.primitives import Drawing, Primitive
from foamwright.drawing.shapes import ink
from foamwright.drawing.transform import clip, translate
from foamwright.flatten.bands import folds
from foamwright.flatten.records import Pattern
from foamwright.language import language, say
from foamwright.layout.filling import OpenPage, Size, cut_off, fill, homes, longest, open_page, page_code
from foamwright.layout.front import FrontPage, Made, SplitPart, front_pages
from foamwright.layout.furniture import Caption, area, area_above_square, joins, page_square, title_strip
from foamwright.layout.records import PackInfo, Paper
from foamwright.layout.runs import Run, runs, window_view
from foamwright.layout.shape import Item, Letterer, as_drawn, item_of
from foamwright.templates.records import Template

_FRONT = 400.0  # mm of a roll that the front matter may take
_LONGER = 1.3
_WHOLE = (
    "note",
    "bevel",
)  # layers of arrows and small pictures: what stands beyond a join is on the next page, here but a scrap
_ROOMY = 80.0  # mm beside or below front matter that parts may use


def lay_out(
    templates: Sequence[Template],
    paper: Paper,
    info: PackInfo,
    listed_only: Sequence[Pattern] = (),
    letter: Letterer = as_drawn,
) -> Document:
    """`templates` at true size on pages of `paper`, after pages that say how to print and where each part is.

    Parts are turned to fit but never scaled or mirrored. Pages follow the order of the templates as far as
    sharing allows. `listed_only` are the patterns of parts without a template. `letter` sets
    the words of a part that is turned.
    """
    pieces = [t.pattern.piece for t in templates]
    order = {piece.label: k for k, piece in enumerate(pieces)}
    layers = frozenset(item.layer for t in templates for item in t.drawing.items)
    items = [item_of(t, letter) for t in templates]

    made = _made([t.pattern for t in templates])
    told = partial(front_pages, info, paper, pieces=pieces, used=layers, made=made, listed_only=tuple(listed_only))

    for sizes in _sizes(paper, items):
        placed = [(item, homes(item, sizes)) for item in items]
        splits = runs([item for item, own in placed if not own], sizes)
        splits.sort(key=lambda s: min(order[p.label] for p in s[0].pieces))

        # Once to see how much room it takes, and again when the numbers of the pages are known.
        first = [_under_front(f, sizes[0]) for f in _front(told, sizes[0], splits, 0, dict.fromkeys(order, ()), {})]
        whole = [(item, own) for item, own in placed if own]
        filled = fill(whole, first, [page for *_, pages in splits for page in pages])
        if len(filled) == 1:
            break

    first, rest = filled[: len(first)], filled[len(first) :]
    rest.sort(key=lambda p: (min(order[q.label] for q in p.leading), p.tile.cell if p.tile else (-1, -1)))
    opened = [cut_off(page) if paper.roll else page for page in (*first, *rest)]
    for page in opened:
        page.items.sort(key=lambda i: order[i.pieces[0].label])

    shown = [{piece.label for piece in page.pieces} for page in opened]
    pages_of = {label: [n for n, own in enumerate(shown, start=1) if label in own] for label in order}
    numbers = {p.tile.code: n for n, p in enumerate(opened, start=1) if p.tile}
    front_matter = _front(told, sizes[0], splits, len(opened), pages_of, numbers)
    pages = []
    for number, (page, matter) in enumerate(zip_longest(opened, front_matter), start=1):
        title, caption = _named(page, matter)
        width, height = page.size
        drawn = [*_from_top(matter, sizes[0], page), *_contents(page, numbers), *page_square(page.square)]
        drawn += title_strip(page.size[0], info, number, len(opened), caption, page.square)
        row, column = (page.tile.cell[0] + 1, page.tile.cell[1] + 1) if page.tile else (None, None)
        seen = window_view(page.tile.grid, page.size) if page.tile else None
        window = (seen.x0, seen.y0, seen.x1, seen.y1) if seen else None
        parts = tuple(dict.fromkeys(piece.id for piece in page.pieces))
        pages.append(
            Page(number, width, height, title, parts, row, column, Drawing(Drawing(tuple(drawn)).flat), window)
        )
    subject = say("Foam templates at true size: size {size}, version {version}", size=info.size, version=info.version)
    return Document(
        say("{name}: templates", name=info.name), subject, paper.name, tuple(pages), info.author, language()
    )


def _made(patterns: Sequence[Pattern]) -> Made:
    return Made(
        any(pattern.darts for pattern in patterns),
        any(len(pattern.holes) > 0 for pattern in patterns),
        any(folds(pattern.piece) for pattern in patterns),
    )


def _sizes(paper: Paper, items: Sequence[Item]) -> list[tuple[Size, ...]]:
    """The sizes of page to lay out for, upright first; for a roll, longer and longer until all is on one."""
    if not paper.roll:
        return [((paper.width, paper.height), (paper.height, paper.width))]
    covered = sum(i.shape.convex_hull.area for i in items) / area(paper.width, paper.height).width
    length = max([1.3 * covered, *(longest(i.shape) for i in items)]) + _FRONT
    lengths = [min(length * _LONGER**k, paper.height) for k in range(12)]
    return [((paper.width, length),) for length in dict.fromkeys(lengths)]


def _front(
    told: Callable[..., list[FrontPage]],
    size: Size,
    splits: Sequence[Run],
    total: int,
    pages_of: Mapping[str, Sequence[int]],
    numbers: Mapping[str, int],
) -> list[FrontPage]:
    """The front matter that `told` makes, when there are `total` pages and split parts have the `numbers`."""
    codes = [{c: numbers.get(page_code(i.label, c), 0) for c in g.used} for i, g, _ in splits]
    parts = [SplitPart(item, grid, pages) for (item, grid, _), pages in zip(splits, codes)]
    return told(room=area_above_square(*size), total=total, pages_of=pages_of, splits=parts)


def _from_top(matter: FrontPage | None, size: Size, page: OpenPage) -> Sequence[Primitive]:
    """What front matter that was laid out for `size` draws on a page of another length."""
    return translate(matter.drawing, 0.0, page.size[1] - size[1]).items if matter else ()


def _under_front(page: FrontPage, size: Size) -> OpenPage:
    """A front page as one to be filled: only where there is much room beside or below the text."""
    columns = shapely.union_all([box(*c) for c in page.columns])
    opened = open_page(size, [], columns, (), None)
    if opened is None:
        raise ValueError("front matter leaves no room for the square")
    _, low, right, _ = columns.bounds
    if opened.view.x1 - right < _ROOMY and low - opened.view.y0 < _ROOMY:
        opened.sheet.take_all()
    return opened


def _named(page: OpenPage, matter: FrontPage | None) -> tuple[str, Caption]:
    """Title for the bookmark, and caption of the title strip."""
    holds = tuple(f"{p.label} {p.name}" for p in page.pieces)
    listed = ", ".join(holds)
    if page.tile:
        code = page.tile.code
        return f"{code}: {listed}", Caption(code, holds, page.tile.grid.used, page.tile.cell)
    if matter:
        labels = ", ".join(p.label for p in page.pieces)  # it is not left out of the print as one that is only read
        code = say("{title}, and {labels}", title=matter.title, labels=labels) if labels else matter.title
        return ", ".join(s for s in (matter.title, listed) if s), Caption(code, holds)
    return listed, Caption(", ".join(p.label for p in page.pieces), holds)


def _contents(page: OpenPage, numbers: Mapping[str, int]) -> list[Primitive]:
    """Everything of the parts on a page, in page coordinates."""
    whole = [p for i in page.items for p in i.drawing.items]
    if page.tile is None:
        return whole
    item, grid, cell = page.tile.item, page.tile.grid, page.tile.cell
    window, view = grid.window(*cell), window_view(grid, page.size)
    within = box(*grid.core(*cell))
    drawn = (s for s in item.drawing.strokes if s.layer not in _WHOLE or ink(s).intersects(within))
    shown = Drawing((*clip(Drawing(tuple(drawn)), *window).items, *page.tile.labels))
    placed = translate(shown, view.x0 - window[0], view.y0 - window[1])
    codes = {side: page_code(item.label, c) for side, c in grid.neighbours(*cell).items()}
    around = {side: (numbers[code], code) for side, code in codes.items()}
    return [*placed.items, *joins(view, around, placed), *whole]

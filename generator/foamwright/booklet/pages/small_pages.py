"""All pages of the templates small, in the order of the print, each part with its letter. Lengths in mm on paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from foamwright.booklet.pages.flowing import Block, Section, Setting
from foamwright.booklet.words.typeset import BODY, SMALL, ColumnItem, moved, paragraph, stack, wrap
from foamwright.drawing.document import Document, Page
from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Path, Primitive, Text
from foamwright.language import say

_GRID = 1e-4  # mm
_INWARDS = 0.02  # mm from a cut line that is on the foam beside it, however narrow this is
_ACROSS = (3, 4, 5, 6, 7, 8, 9)  # small pages in a row: as few as fill what is left of a page, or it and the next
_SMALLER = 0.06  # how much worse one more in a row reads
_MANY_PAGES = 48  # of the print, from which on not all of them are shown
_APART = 5.0
_FOAM = "#efe6cf"
_LETTER = 2.6  # height of a letter,
_FOOT, _HEAD, _SIDE = 0.5, 2.3, 0.4  # and the white ground around it: below and above its foot, and beside it
_AROUND = 2  # rings of places around a part that are tried for its letter
_COARSE = 0.1  # detail of a small part that no place of a letter turns on
# What a place of a letter costs: each mm2 beyond the frame or on another letter, all of its ground on another part, what it
# covers of its own beyond so much of it, each mm from its part, and each place that would have come before.
_OUTSIDE, _ON_LETTER, _ON_OTHER, _COVERS, _MOST_COVERED, _AWAY, _LATER = 100.0, 100.0, 6.0, 6.0, 0.4, 1.0, 0.01


def small_templates(pages: Document, labels: Mapping[str, str], width: float, height: float) -> Section:
    """The pages of the templates that carry parts, small and in their order, with the letters where the parts are; `labels` by
    id. A page that lies is turned upright, as it comes out of the printer."""
    shown = [page for page in pages.pages if page.parts]
    said = say("Every page of the print that has parts on it, with their letters.")
    if len(shown) > _MANY_PAGES:
        shown = [page for page in shown if any(_is_cut(item) for item in page.drawing.flat)]
        said += " " + say("Pages that show only the inside of a part are left out.")
    if any(_lies(page) for page in shown):
        said += " " + say("Landscape pages are turned upright: their top is on the left.")
    told = paragraph(said, width, BODY)
    laid = [_rows(shown, labels, across, width, height) for across in _ACROSS]
    settings = tuple(
        Setting((stack((told, rows[0]), 2.0), *rows[1:]), _SMALLER * i) for i, rows in enumerate(laid) if rows
    )
    return Section(say("Templates, page by page"), (Block(settings, gap=_APART),) if settings else ())


def _lies(page: Page) -> bool:
    return page.width > page.height


def _is_cut(item: Primitive) -> bool:
    return isinstance(item, Path) and item.layer == "cut"


def _rows(
    shown: Sequence[Page], labels: Mapping[str, str], across: int, width: float, height: float
) -> list[ColumnItem]:
    """Pages small, so many in a row."""
    cell = (width - (across - 1) * _APART) / across
    small = [_small(page, labels, cell, min(1.5 * cell, height / 3.0)) for page in shown]
    rows = []
    for start in range(0, len(small), across):
        row = small[start : start + across]
        items = [item for i, block in enumerate(row) for item in moved(block, i * (cell + _APART), 0.0)]
        rows.append(ColumnItem(max(block.height for block in row), tuple(items)))
    return rows


@dataclass(frozen=True)
class _OnPaper:
    """How a page lies in its cell of the booklet: turned upright, `scale` times as large, `left` from the cell's left side and
    below its top."""

    page: Page
    scale: float
    left: float

    def at(self, points: np.ndarray) -> np.ndarray:
        """Places (n, 2) of the page, in the cell."""
        x, y = np.asarray(points, float).reshape(-1, 2).T
        turned = np.column_stack([self.page.height - y, x]) if _lies(self.page) else np.column_stack([x, y])
        return self.scale * turned + (self.left, -self.height)

    @property
    def height(self) -> float:
        return self.scale * max(self.page.width, self.page.height)

    @property
    def frame(self) -> np.ndarray:
        """Corners (4, 2) of the paper."""
        wide, high = self.page.width, self.page.height
        return self.at(np.array([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]]))


def _small(page: Page, labels: Mapping[str, str], width: float, height: float) -> ColumnItem:
    """One page of the print: its edge, the cut lines on it, letters, and below it its number and all that is on it."""
    short, long = sorted((page.width, page.height))
    scale = min(width / short, height / long)
    paper = _OnPaper(page, scale, (width - scale * short) / 2.0)
    items: list[Primitive] = [Path(paper.frame, "page", True, "#ffffff")]
    cuts = [item for item in page.drawing.flat if isinstance(item, Path) and item.layer in ("cut", "cut-inner")]
    faces = [*_parted(cuts, page), *(_closed(cut) for cut in cuts if cut.layer == "cut" and cut.closed)]
    items += [Path(paper.at(np.asarray(f.exterior.coords)[:-1]), "shade", True, _FOAM) for f in faces]
    for cut in sorted(cuts, key=lambda cut: cut.layer):
        fill = "#ffffff" if cut.closed and cut.layer == "cut-inner" else None
        items.append(Path(paper.at(cut.points), "bevel", cut.closed, fill))
    for letter, box in _placed(list(_letters(page, faces)), faces, paper):
        items += [Path(np.asarray(box.exterior.coords)[:-1], "shade", True, "#ffffff"), letter]
    names = ", ".join(labels[part] for part in page.parts)
    said = wrap(say("page {n}: {parts}", n=page.number, parts=names), width + 0.6 * _APART, SMALL)
    foot = [
        Text((width / 2.0, -paper.height - 3.6 - 1.25 * SMALL * i), line, SMALL, "note", "middle")
        for i, line in enumerate(said)
    ]
    return ColumnItem(paper.height + 1.0 + 1.25 * SMALL * len(said), (*items, *foot))


def _closed(cut: Path) -> shapely.Polygon:
    return shapely.Polygon(np.asarray(cut.points, float))


def _parted(cuts: Sequence[Path], page: Page) -> list[shapely.Polygon]:
    """What lies on this page of parts that go over its edge: left of their cut lines, which go round them counter-clockwise;
    all that it shows, where it has only the inside of a part."""
    if page.window is None:
        return []
    view = shapely.box(*page.window)
    lines = [np.asarray(cut.points, float) for cut in cuts if cut.layer == "cut" and not cut.closed]
    if not lines:
        return [view]
    # on a grid, so that a line that ends on the edge of the page to the last digit but one meets it
    net = shapely.union_all([view.boundary, *(shapely.LineString(line) & view for line in lines)], grid_size=_GRID)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(net)))
    left = []
    for line in lines:
        sides = np.diff(line, axis=0)
        k = int(np.hypot(*sides.T).argmax())
        across = np.array([-sides[k, 1], sides[k, 0]]) / np.hypot(*sides[k])
        left.append(shapely.Point(line[k] + sides[k] / 2.0 + _INWARDS * across))
    return [face for face in faces if any(face.contains(point) for point in left)]


def _letters(page: Page, faces: Sequence[shapely.Polygon]) -> Iterator[tuple[Text, shapely.Polygon]]:
    """Each letter of a page with the outline that it belongs to. That of a whole part is drawn next after its cut line; that of
    a part that goes over the edge stands on the foam of it that is here, or by it."""
    own: shapely.Polygon | None = None
    seen: set[tuple[str, bytes]] = set()
    for item in page.drawing.flat:
        if _is_cut(item):
            assert isinstance(item, Path)
            own = _closed(item) if item.closed else None
        elif isinstance(item, Text) and item.role == "label":
            spot = shapely.Point(_middle(item))
            near = own or min(faces, key=spot.distance, default=spot.buffer(item.height / 2.0))
            if (item.value, near.wkb) not in seen:
                seen.add((item.value, near.wkb))
                yield item, near


def _middle(letter: Text) -> np.ndarray:
    half = {"start": 0.5, "middle": 0.0, "end": -0.5}[letter.anchor] * text_width(letter.value, letter.height, True)
    turn = np.radians(letter.angle)
    along, up = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    return np.array(letter.at) + half * along + 0.36 * letter.height * up


def _placed(
    letters: Sequence[tuple[Text, shapely.Polygon]], faces: Iterable[shapely.Polygon], paper: _OnPaper
) -> list[tuple[Text, shapely.Polygon]]:
    """The letters as they stand on the small page, each with its white ground: on their parts where these are larger, else
    beside them, within the frame, and clear of each other and of other parts as far as there is room."""
    frame = shapely.Polygon(paper.frame)
    outlines = [_outline(face, paper) for face in faces]
    own = [_outline(face, paper) for _, face in letters]
    largest = sorted(range(len(letters)), key=lambda i: (-round(own[i].area, 3), i))
    placed: dict[int, tuple[Text, shapely.Polygon]] = {}
    for i in largest:
        text = letters[i][0]
        places = _places(paper.at(_middle(text))[0], own[i], text)
        grounds = _grounds(places, text)
        whole = grounds[0].area
        shared = shapely.intersection(grounds, own[i])
        cost = _OUTSIDE * shapely.area(shapely.difference(grounds, frame)) + _LATER * np.arange(len(places))
        cost += _AWAY * shapely.distance(grounds, own[i])
        cost += _COVERS * np.maximum(shapely.area(shared) / max(own[i].area, 1e-9) - _MOST_COVERED, 0.0)
        for other in outlines:
            if not other.equals(own[i]):
                cost += _ON_OTHER * shapely.area(shapely.intersection(grounds, other)) / whole
        for _, ground in placed.values():
            cost += _ON_LETTER * shapely.area(shapely.intersection(grounds, ground))
        best = int(np.round(cost, 6).argmin())
        x, y = places[best].tolist()
        letter = replace(text, at=(x, y), height=_LETTER, layer="note", anchor="middle", angle=0.0, role="")
        placed[i] = letter, grounds[best]
    return [placed[i] for i in range(len(letters))]


def _outline(face: shapely.Polygon, paper: _OnPaper) -> shapely.Polygon:
    return shapely.make_valid(shapely.Polygon(paper.at(np.asarray(face.exterior.coords))).simplify(_COARSE))


def _places(label: np.ndarray, own: shapely.Polygon, text: Text) -> np.ndarray:
    """Where a letter may have the middle of its foot (n, 2): where it stands on the template, if that is on its part, in the
    middle of the part, elsewhere on it, and in rings around it."""
    half = np.array([text_width(text.value, _LETTER, True) / 2.0 + _SIDE, (_HEAD + _FOOT) / 2.0])
    down = np.array([0.0, (_HEAD - _FOOT) / 2.0])
    low, high = np.reshape(own.bounds, (2, 2))
    shares = np.linspace(0.0, 1.0, 7)
    grid = np.array([low + (x, y) * (high - low) for x in shares for y in shares])
    middle = np.array(shapely.maximum_inscribed_circle(own, _COARSE).coords[0]) if own.area > 0.0 else label
    on = [spot for spot in (label, middle, *grid) if own.contains(shapely.Point(spot))]
    around = []
    for ring in range(1, _AROUND + 1):
        x0, y0 = low - ring * half
        x1, y1 = high + ring * half
        x, y = (low + high) / 2.0
        around += [(x1, y), (x, y0), (x0, y), (x, y1), (x1, y0), (x0, y0), (x0, y1), (x1, y1)]
    return np.array([*on, *around]) - down


def _grounds(places: np.ndarray, text: Text) -> np.ndarray:
    """The white ground (n,) around a letter with the middle of its foot at each of the places (n, 2)."""
    half = text_width(text.value, _LETTER, True) / 2.0 + _SIDE
    x, y = places.T
    return np.asarray(shapely.box(x - half, y - _FOOT, x + half, y + _HEAD))

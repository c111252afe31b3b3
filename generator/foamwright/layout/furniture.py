"""What every page carries besides the templates: a title strip, a square to measure, and joins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from foamwright.drawing.metrics import text_box, text_width
from foamwright.drawing.primitives import Drawing, Path, Primitive, Text, Tick
from foamwright.drawing.shapes import room
from foamwright.drawing.typesetting import fitted, set_line, wrap
from foamwright.language import say
from foamwright.layout.records import PackInfo
from foamwright.layout.tiling import OVERLAP, cross_points, join_line

PRINT_MARGIN = 10.0  # mm at every edge of the paper that stay white: no common printer needs more
PAGE_SQUARE = 25.0  # mm, the measured square of every page
TITLE_STRIP = 10.0  # height of the title strip
CROSS = 4.0  # half the length of a registration cross
_RULER, _MARK, _RULER_WORDS = 100.0, 1.6, 2.2  # mm: between the marks of the strip, their height and that of the figure
_ABOVE = 2.0  # mm between the strip and the room for templates
_MAP_WIDTH = 16.0  # of the key map in the strip
_CONTENTS = 2.2  # font size of what a page holds, in the strip
_LABEL = 2.5  # font size of the texts at joins
# Where on a join its text may stand, as shares of it, those that are tried first before others.
_LABEL_AT = (0.31, 0.69, 0.25, 0.75, 0.36, 0.64, *(k / 40.0 for k in range(6, 35)))
_NUMBER_WIDTH = 36.0  # of the page's number in the strip, at its right end
_CODE_SHARE = 0.42  # of what is left of the strip, that the page's code may take: its name needs the rest
_STRIP_ROWS = (6.6, 3.55, 0.7)  # baselines above the lower edge of the strip


@dataclass(frozen=True)
class Area:
    """The room for templates on a page, in page coordinates."""

    x0: float
    y0: float
    width: float
    height: float

    @property
    def x1(self) -> float:
        return self.x0 + self.width

    @property
    def y1(self) -> float:
        return self.y0 + self.height


@dataclass(frozen=True)
class Caption:
    """What a page's title strip says of its contents: `holds` are the parts on it, by letter and name. `cells` and `here` draw a
    key map of a split part."""

    code: str
    holds: tuple[str, ...]
    cells: tuple[tuple[int, int], ...] = ()
    here: tuple[int, int] | None = None


def area(width: float, height: float) -> Area:
    """The room above the title strip on a page of `width` x `height` mm; the square stands somewhere in it."""
    low = PRINT_MARGIN + TITLE_STRIP + _ABOVE
    return Area(PRINT_MARGIN, low, width - 2 * PRINT_MARGIN, height - PRINT_MARGIN - low)


def area_above_square(width: float, height: float) -> Area:
    """The room above a square in the lower corner of a page of `width` x `height` mm."""
    low = PRINT_MARGIN + PAGE_SQUARE + _ABOVE
    return Area(PRINT_MARGIN, low, width - 2 * PRINT_MARGIN, height - PRINT_MARGIN - low)


def square_corners(width: float, height: float) -> tuple[tuple[float, float], ...]:
    """Where the square stands by choice: its lower left corner in each corner of the page, the usual first."""
    left, right = PRINT_MARGIN, width - PRINT_MARGIN - PAGE_SQUARE
    low, high = PRINT_MARGIN, height - PRINT_MARGIN - PAGE_SQUARE
    return (right, low), (left, low), (right, high), (left, high)


def page_square(at: tuple[float, float]) -> list[Primitive]:
    """The square to measure of a page, its lower left corner `at` in page coordinates."""
    return measured_square(*at, PAGE_SQUARE, (f"{PAGE_SQUARE:g} mm", say("check me")))


def title_strip(
    width: float, info: PackInfo, number: int, total: int, caption: Caption, square: tuple[float, float]
) -> list[Primitive]:
    """The strip along the lower edge of a page that is `width` mm wide; it leaves room for the square if that
    stands at the same edge."""
    left, right, low = PRINT_MARGIN, width - PRINT_MARGIN, PRINT_MARGIN
    if square[1] < low + TITLE_STRIP:
        left, right = (
            (left + PAGE_SQUARE + 3.0, right) if square[0] < width / 2.0 else (left, right - PAGE_SQUARE - 3.0)
        )
    items: list[Primitive] = [_line((left, low + TITLE_STRIP), (right, low + TITLE_STRIP))]
    items += _ruler(left, low + TITLE_STRIP, right - left)
    last = right - min(_NUMBER_WIDTH, 0.3 * (right - left))
    count = fitted(say("page {n} of {total}", n=number, total=total), right - last, 3.6, bold=True)
    scale = fitted(say("true size, print at 100 %"), right - last, 2.4)
    items += [set_line(count, right, low + 5.4, "page", "end"), set_line(scale, right, low + 1.0, "page", "end")]
    if caption.cells:
        last -= _MAP_WIDTH + 2.0
        items += _key_map(last + 2.0, low, caption)
    code = fitted(caption.code, _CODE_SHARE * (last - 3.0 - left), 6.0, bold=True)
    items.append(set_line(code, left, low + 2.6, "page"))
    first = left + text_width(code.value, code.height, bold=True) + 4.0
    span = last - 3.0 - first
    name = fitted(info.name, span, 3.0, bold=True)
    about = fitted(say("size {size}, version {version}", size=info.size, version=info.version), span, 2.4)
    after = first + text_width(name.value, name.height, bold=True) + 3.0
    in_one_row = after + text_width(about.value, about.height) <= first + span
    upper, middle, lower = (low + rise for rise in _STRIP_ROWS)
    items.append(set_line(name, first, upper, "page"))
    items.append(set_line(about, *((after, upper) if in_one_row else (first, middle)), "page"))
    # What the page holds is worth two lines where size and version leave them free.
    free = (middle, lower) if in_one_row else (lower,)
    for row, y in zip(_whole(caption.holds, span, len(free)), free):
        if row:
            items.append(Text((first, y), row, _CONTENTS, "page"))
    return items


def _whole(names: Sequence[str], span: float, most: int) -> list[str]:
    """Lines of all names, `most` at most, or none where they do not hold them: the page's code has their letters, and a list that
    breaks off looks cut off."""
    lines = wrap(", ".join(names), span, _CONTENTS) if names else []
    return lines if len(lines) <= most else []


def _ruler(x: float, y: float, room: float) -> list[Primitive]:
    """Marks `_RULER` mm apart on the line above a title strip, or as many tens as there is room for: by them a print is
    measured more finely than by a square. What they say stands between the line and the templates."""
    span = min(_RULER, room // 10.0 * 10.0)
    ends = [Tick((x + at, y), (x + at, y + _MARK), "page") for at in (0.0, span)]
    return [*ends, Text((x + span / 2.0, y + 0.4), f"{span:g} mm", _RULER_WORDS, "page", "middle")] if span else []


def measured_square(x: float, y: float, side: float, lines: Sequence[str], divisions: int = 5) -> list[Primitive]:
    """A square of `side` mm with its lower left corner at (x, y), `divisions` marked along two sides."""
    corners = np.array([[x, y], [x + side, y], [x + side, y + side], [x, y + side]])
    items: list[Primitive] = [Path(corners, "page", closed=True)]
    for k in range(1, divisions):
        d = side * k / divisions
        items.append(Tick((x + d, y), (x + d, y + 1.5), "page"))
        items.append(Tick((x, y + d), (x + 1.5, y + d), "page"))
    height = 3.0
    start = y + side / 2.0 + (len(lines) - 1) * 0.75 * height - 0.35 * height
    for k, line in enumerate(lines):
        at = (x + side / 2.0, start - 1.5 * height * k)
        items.append(Text(at, line, height, "page", anchor="middle", bold=k == 0))
    return items


def joins(view: Area, neighbours: dict[str, tuple[int, str]], placed: Drawing) -> list[Primitive]:
    """Joins at the edges of `view`: line, registration crosses, and which page (number, code) meets there.

    `neighbours` is keyed "left", "right", "top", "bottom"; `placed` is what is drawn of the part, which what is
    written here avoids. Crosses stand in the middle of the overlap and so are whole on both pages.
    """
    outward = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "top": (0.0, 1.0), "bottom": (0.0, -1.0)}
    lines = {side: join_line((view.x0, view.y0, view.x1, view.y1), side) for side in neighbours}
    furniture: list[Primitive] = []
    for line in lines.values():
        furniture += [Path(line, "page"), *(mark for point in cross_points(line) for mark in _cross(point))]
    cut = [item for item in placed.items if item.layer in ("cut", "cut-inner")]
    others = [item for item in placed.items if item.layer not in ("cut", "cut-inner")]
    in_the_way = [shapely.STRtree([room(item) for item in items]) for items in (furniture, cut, others)]
    labels = []
    for side, (number, code) in neighbours.items():
        # With the page's code where it finds room.
        if side in ("left", "top"):
            values = (
                say("trim here, lay on page {n} ({code})", n=number, code=code),
                say("trim here, lay on page {n}", n=number),
            )
        else:
            values = (say("goes under page {n} ({code})", n=number, code=code), say("goes under page {n}", n=number))
        labels.append(_join_label(values, lines[side], np.array(outward[side]), in_the_way))
    return [*furniture, *labels]


def _join_label(
    values: Sequence[str], line: np.ndarray, outward: np.ndarray, in_the_way: Sequence[shapely.STRtree]
) -> Text:
    """The label in the strip beyond the join, where it covers the least of what is in the way: of the first group above all. It
    stands within the join where it covers less there: along a line that runs beside the join there is no room beyond it."""
    start, along = line[0], line[1] - line[0]
    angle = 0.0 if abs(along[0]) > abs(along[1]) else 90.0
    shift = np.array([0.0, -0.36 * _LABEL]) if angle == 0.0 else np.array([0.36 * _LABEL, 0.0])

    def at(value: str, share: float, beyond: float) -> Text:
        x, y = start + share * along + beyond * outward * OVERLAP / 4.0 + shift
        return Text((float(x), float(y)), value, _LABEL, "page", anchor="middle", angle=angle)

    def covered(text: Text) -> tuple[int, ...]:
        own = shapely.Polygon(text_box(text))
        return tuple(len(tree.query(own, predicate="intersects")) for tree in in_the_way)

    axis = 0 if angle == 0.0 else 1
    low, high = sorted((float(line[0, axis]), float(line[1, axis])))
    tried = [at(value, share, beyond) for value in values for beyond in (1.0, -1.0) for share in _LABEL_AT]
    tried = [t for t in tried if low <= text_box(t)[:, axis].min() and text_box(t)[:, axis].max() <= high] or tried[-1:]
    return min(tried, key=covered)


def white_behind(text: Text) -> Path:
    """A white ground for a level or upright text, to be drawn just before it."""
    corners = text_box(text)
    low, high = corners.min(axis=0), corners.max(axis=0)
    ring = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    return Path(ring, "shade", closed=True, fill="#ffffff")


def _cross(at: np.ndarray) -> list[Primitive]:
    x, y = at
    half = 0.5 * CROSS  # a square, as a ring is where a pin goes
    ring = at + half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return [
        Tick((x - CROSS, y), (x + CROSS, y), "page"),
        Tick((x, y - CROSS), (x, y + CROSS), "page"),
        Path(ring, "page", closed=True),
    ]


def _key_map(x: float, y: float, caption: Caption) -> list[Primitive]:
    """The pages of a split part as small cells, this one dark, in the height of the strip.

    The sides of the cells are drawn as lines as long as they go: a map of all pages stands on every page.
    """
    rows = max(r for r, _ in caption.cells) + 1
    columns = max(c for _, c in caption.cells) + 1
    height = TITLE_STRIP - 1.0
    side = min(height / rows, _MAP_WIDTH / columns, 5.0)
    left, top = x + (_MAP_WIDTH - columns * side) / 2.0, y + (height + rows * side) / 2.0
    used = np.zeros((rows, columns), bool)
    used[tuple(np.transpose(caption.cells))] = True
    items: list[Primitive] = []
    if caption.here is not None:
        x0, y1 = left + caption.here[1] * side, top - caption.here[0] * side
        ring = np.array([[x0, y1 - side], [x0 + side, y1 - side], [x0 + side, y1], [x0, y1]])
        items.append(Path(ring, "page", closed=True, fill="#555555"))
    for at, start, end in _cell_sides(used):
        items.append(_line((left + start * side, top - at * side), (left + end * side, top - at * side)))
    for at, start, end in _cell_sides(used.T):
        items.append(_line((left + at * side, top - start * side), (left + at * side, top - end * side)))
    return items


def _cell_sides(used: np.ndarray) -> list[tuple[int, int, int]]:
    """The lines between rows that bound a used cell, of `used` (rows, columns): number of the line, first and last
    column, each as long as it goes."""
    lines = []
    for at, drawn in enumerate(np.pad(used, ((1, 0), (0, 0))) | np.pad(used, ((0, 1), (0, 0)))):
        ends = np.flatnonzero(np.diff(np.pad(drawn, 1).astype(int)))
        lines += [(at, int(start), int(end)) for start, end in zip(ends[::2], ends[1::2])]
    return lines


def _line(start, end) -> Path:
    return Path(np.array([start, end], float), "page")

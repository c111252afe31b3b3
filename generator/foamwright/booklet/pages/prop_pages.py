"""Pages of the booklet that show the whole: the prop from three sides with its dimensions, and all parts apart with their
letters. Lengths in mm on paper."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from foamwright.assembly.records import Picture, Pictures
from foamwright.booklet.pages.flowing import Block, Section, Setting
from foamwright.booklet.pictures.figures import lettered_block, picture_block
from foamwright.booklet.pictures.prop_pictures import apart_share
from foamwright.booklet.words.typeset import BODY, SMALL, ColumnItem, beside, moved, paragraph, stack
from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Path, Primitive, Text, Tick
from foamwright.language import decimal, length, say, units

# Scales of technical drawings (ISO 5455), largest first, and round ones between, with which a small prop fills its page: so many
# mm of the prop are one on paper.
_SCALES = tuple(
    k * decade / 100 for decade in (1, 10, 100, 1000, 10_000, 100_000) for k in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8)
)
_DIMENSION = 3.5  # height of a dimension's figures
_GAP, _PAST, _OFF = 1.0, 2.0, 8.0  # of extension lines: off the view and past the dimension line; of that from the view
_HEAD = (3.0, 15.0)  # of an arrowhead: its length, and degrees that it is open (ISO 129-1: 15 to 90)
_SHORT = 3.0 * _HEAD[0]  # dimension with its arrowheads outside
_OUTSIDE = 2.0 * _HEAD[0] + 0.8  # from a dimension to its figures where there is no room for them within
_BETWEEN = 16.0  # from view to view, the dimension line and a title in it
# Sizes of the prop taken apart, of the largest that its letters ask for, and how much worse they read with so many of these;
# more are the worse to follow.
_CROWDED = 20
_APARTS = ((1.0, 0.0), (0.9, 0.1), (0.8, 0.25), (0.7, 0.45))
_LEAST_APART = _APARTS[-1][0]  # of the largest
_TOLD = 14.0  # what the words above the prop taken apart take
_WORTH_IT = 0.1  # by how much better views and parts read beside each other, for them to leave their places
_BETWEEN_TITLES = 5.0  # a title may be wider than its view is
_SMALL_VIEWS, _SMALLEST = 0.3, 2.5  # how much worse views half as large read, and how many times smaller are tried


def whole_prop(pictures: Pictures, width: float, height: float) -> Section:
    """The views with dimensions, and all parts apart; no blocks where there are no such pictures."""
    title = say("The whole prop")
    level = _side_by_side(pictures, width, height - 20.0)
    if level is not None:
        return Section(title, (level,), gap=8.0)
    blocks: list[ColumnItem | Block] = []
    if pictures.square_on:
        scales = _scales(pictures, width, height - 20.0)
        blocks.append(
            Block(
                tuple(
                    Setting((_views(pictures, width, scale),), _SMALL_VIEWS * math.log2(scale / scales[0]))
                    for scale in scales
                )
            )
        )
    if pictures.apart is not None:
        most = apart_share(len(pictures.apart.bubbles))
        crowded = max(len(pictures.apart.bubbles) / _CROWDED, 1.0)
        sizes = tuple(
            Setting((_apart(pictures.apart, width, most * scale, height - 20.0),), crowded * cost)
            for scale, cost in _APARTS
        )
        blocks.append(Block(sizes))
    return Section(title, tuple(blocks), gap=8.0)


def _side_by_side(pictures: Pictures, width: float, height: float) -> Block | None:
    """The views of a tall prop with all its parts apart beside them, where both together are larger so than one below the other;
    None where they are not."""
    if not pictures.square_on or pictures.apart is None or pictures.overall is None:
        return None
    long, across, _ = pictures.overall
    size = np.subtract(pictures.apart.bounds[2:], pictures.apart.bounds[:2])
    scales = _scales(pictures, width, height)
    largest = min(apart_share(len(pictures.apart.bubbles)) * width / size[0], (height - _TOLD) / size[1])

    def cost(scale: float, room: tuple[float, float]) -> float:
        share = min(room[0] / size[0], room[1] / size[1], largest) / largest
        small = _SMALL_VIEWS * math.log2(scale / scales[0])
        return small - _SMALL_VIEWS * math.log2(share) if share >= _LEAST_APART else math.inf

    level, below = [], [math.inf]
    for scale in scales:
        left = _beside(long / scale) + across / scale + _BETWEEN
        views = _views(pictures, left - _BETWEEN, scale)
        below.append(cost(scale, (width, height - views.height - _TOLD)))
        worse = cost(scale, (width - left, height - _TOLD))
        if views.height <= height and worse < math.inf:
            apart = _apart(pictures.apart, width - left, 1.0, min(height, largest * size[1] + _TOLD))
            level.append(Setting((beside(views, apart, left),), worse))
    best = min((setting.cost for setting in level), default=math.inf)
    return Block(tuple(level)) if best + _WORTH_IT < min(below) else None


def _scales(pictures: Pictures, width: float, height: float) -> list[float]:
    """So many mm of the prop as may be one on paper, where the views have `width` x `height`: the largest scale first."""
    assert pictures.overall is not None
    full, across, high = pictures.overall
    room = np.array([width - 2.0 * _BETWEEN - 4.0, height - 2.0 * _BETWEEN - 14.0])
    needed = np.array([full + across, high + across])
    least = float((needed / room).max())
    fits = (s for s in _SCALES if s >= least and _beside(full / s) + across / s <= width - 4.0)
    fitting = list(fits) or [least]
    return [scale for scale in fitting if scale <= _SMALLEST * fitting[0]]


def _views(pictures: Pictures, width: float, scale: float) -> ColumnItem:
    """The view from the left with those from the front and from above where first-angle projection puts them (ISO
    5456-2), and in the room that is left the prop from below, if the cover does not show that; at 1:`scale`."""
    left, front, above = (pictures.square_on[name] for name in ("left", "front", "above"))
    assert pictures.overall is not None
    full, across, high = pictures.overall
    on_paper = 1.0 / scale
    x, y = _BETWEEN, -8.0
    items: list[Primitive] = []
    long, wide, tall = (value * on_paper for value in (full, across, high))
    right = _beside(long)
    items += _view(left, on_paper, x, y, say("From the left"))
    items += _view(front, on_paper, right, y, say("From the front"))
    low = y - tall - _BETWEEN
    items += _view(above, on_paper, x, low, say("From above"))
    items += _level(x, x + long, low - wide, low - wide - _OFF, full)
    items += _upright(y - tall, y, x, x - _OFF, high)
    items += _level(right, right + wide, y - tall, y - tall - _OFF, across)
    room = (width - right, wide + _BETWEEN - 10.0)
    if pictures.below is not None and min(room) > 25.0:
        size = np.subtract(pictures.below.bounds[2:], pictures.below.bounds[:2])
        items += _view(pictures.below, float((room / size).min()), right, low, say("From below, not to scale"))
    ratio = f"1:{scale:g}" if scale >= 1 else f"{1 / scale:g}:1"
    if units() == "mm":
        said = say("Scale {scale}; first-angle projection; dimensions in millimetres.", scale=ratio)
    else:
        said = say("Scale {scale}; first-angle projection.", scale=ratio)
    if pictures.alike > 1:
        said = say("One of {n} that are built alike.", n=pictures.alike) + " " + said
    note = paragraph(said, width, SMALL)
    bottom = -low + wide + _OFF + 5.0
    return ColumnItem(bottom + note.height, (*items, *moved(note, 0.0, -bottom)))


def _beside(long: float) -> float:
    """Where the view from the front begins, beside one that is `long` on paper or has a longer title."""
    titles = (text_width(title, SMALL, True) for title in (say("From the left"), say("From above")))
    return _BETWEEN + max(long + _BETWEEN, max(titles) + _BETWEEN_TITLES)


def _view(picture: Picture, scale: float, x: float, y: float, title: str) -> list[Primitive]:
    """A view with the upper left corner of what it shows at (x, y), and its title above."""
    x0, y0, x1, y1 = picture.bounds
    block = picture_block(picture, scale * (x1 - x0), scale * (y1 - y0))
    return [*moved(block, x, y), Text((x, y + 2.0), title, SMALL, "note", bold=True)]


def _level(x0: float, x1: float, view: float, line: float, value: float) -> list[Primitive]:
    """A dimension from x0 to x1 on a line at height `line`, below a view that ends at `view`."""
    figures = Text(((x0 + x1) / 2.0, line + 0.9), _value(value), _DIMENSION, "note", "middle")
    if _is_short(x1 - x0, figures):
        figures = replace(figures, at=(x1 + _OUTSIDE, line - 0.36 * _DIMENSION), anchor="start")
    return [
        *(Tick((x, view - _GAP), (x, line - _PAST), "bevel") for x in (x0, x1)),
        *_dimension_line(np.array([x0, line]), np.array([x1, line])),
        figures,
    ]


def _upright(y0: float, y1: float, view: float, line: float, value: float) -> list[Primitive]:
    """A dimension from y0 to y1 on a line at `line`, left of a view that begins at `view`; read from the right."""
    figures = Text((line - 0.9, (y0 + y1) / 2.0), _value(value), _DIMENSION, "note", "middle", 90.0)
    if _is_short(y1 - y0, figures):
        figures = replace(figures, at=(line - 0.9, y0 - _OUTSIDE), anchor="end")
    return [
        *(Tick((view - _GAP, y), (line - _PAST, y), "bevel") for y in (y0, y1)),
        *_dimension_line(np.array([line, y0]), np.array([line, y1])),
        figures,
    ]


def _is_short(long: float, figures: Text) -> bool:
    """Does a dimension leave no room for its figures between its arrowheads?"""
    return long < text_width(figures.value, figures.height, figures.bold) + 2.0 * _HEAD[0]


def _value(mm: float) -> str:
    """The figures of a dimension: millimetres go without their unit."""
    return decimal(mm) if units() == "mm" else length(mm)


def _dimension_line(start: np.ndarray, end: np.ndarray) -> list[Primitive]:
    """A continuous narrow line with closed, filled arrowheads; they point inwards from outside where it is short."""
    along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    across = np.array([-along[1], along[0]]) * _HEAD[0] * np.tan(np.radians(_HEAD[1] / 2.0))
    short = float(np.linalg.norm(end - start)) < _SHORT
    sense = -1.0 if short else 1.0
    out = along * (2.0 * _HEAD[0] if short else 0.0)
    heads = [
        Path(np.array([tip, tip + sense * outward * _HEAD[0] + across, tip + sense * outward * _HEAD[0] - across]),
             "shade", True, "#111111")
        for tip, outward in ((start, along), (end, -along))
    ]  # fmt: skip
    first, last = start - out, end + out
    return [Tick((float(first[0]), float(first[1])), (float(last[0]), float(last[1])), "bevel"), *heads]


def _apart(picture: Picture, width: float, scale: float, height: float) -> ColumnItem:
    told = say("Exploded view: each part is pulled out the way it goes in. Of several alike, one has the letter.")
    drawn = lettered_block(picture, scale * width, scale * (height - _TOLD))
    return stack(
        (paragraph(told, width, BODY), ColumnItem(drawn.height, moved(drawn, (1.0 - scale) * width / 2.0, 0.0))), 3.0
    )

"""A sheet of foam at true size, for a projector, a plotter or a machine: every piece where it is cut. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon

from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Drawing, Hatch, Label, Path, Primitive, Text, Tick
from foamwright.drawing.shapes import ink
from foamwright.drawing.transform import place
from foamwright.drawing.typesetting import fitted, set_line
from foamwright.language import say
from foamwright.layout.furniture import measured_square
from foamwright.layout.records import FoamSheet, PackInfo, PlacedPiece
from foamwright.layout.shape import Letterer, as_drawn
from foamwright.layout.sheets import foam_of
from foamwright.templates.records import Template
from foamwright.templates.wording import stock_title

SHEET_SQUARE = 50.0  # side of the measured square below the sheet
FOOT = SHEET_SQUARE + 6.0  # height of what stands below the sheet
_LABEL = (2.0, 14.0)  # least and greatest font size of a piece's label
_STRAY = 1.0  # by which a line may stand out from the piece that it belongs to


def draw_sheet(
    sheet: FoamSheet,
    number: int,
    total: int,
    templates: Mapping[str, Sequence[Template]],
    info: PackInfo,
    letter: Letterer = as_drawn,
) -> Drawing:
    """The sheet with its origin at its lower left corner; below it what it is and a square to measure.

    `number` and `total` count the sheets of its material. A piece carries what its template says as far as that
    lies within its outline, and at least its label. `templates` gives those of each part, or of its segments;
    `letter` sets their words anew for how they lie.
    """
    width, length = sheet.size
    stock = templates[sheet.placed[0].part][0].pattern.piece.stock
    frame = np.array([[0.0, 0.0], [width, 0.0], [width, length], [0.0, length]])
    items: list[Primitive] = [Path(frame, "page", closed=True)]
    for placed in sheet.placed:
        turn = -placed.angle if placed.flipped else placed.angle  # a reflection reverses all turns
        items += laid(_content(letter(templates[placed.part][placed.segment], turn, ())), placed)
    items += measured_square(width - SHEET_SQUARE, -FOOT, SHEET_SQUARE, (f"{SHEET_SQUARE:g} mm", say("check me")))
    lines = (
        say(
            "{stock}, sheet {n} of {total}, {size}",
            stock=stock_title(stock),
            n=number,
            total=total,
            size=f"{width:g} x {length:g} mm",
        ),
        say(
            "{name}, version {version}, size {size}; {n} pieces, {used} of the sheet",
            name=info.name,
            version=info.version,
            size=info.size,
            n=len(sheet.placed),
            used=f"{100.0 * sheet.used:.0f} %",
        ),
        say("True size. Seen from the inside face of the pieces; mirrored copies are drawn mirrored."),
    )
    for k, line in enumerate(lines):
        text = fitted(line, width - SHEET_SQUARE - 10.0, 9.0 if k == 0 else 6.0, bold=k == 0)
        items.append(set_line(text, 0.0, -14.0 - 13.0 * k, "page"))
    return Drawing(Drawing(tuple(items)).flat)


def sheet_bounds(sheet: FoamSheet) -> tuple[float, float, float, float]:
    """(x0, y0, x1, y1) of all of the drawing of a sheet."""
    return -1.0, -FOOT - 1.0, sheet.size[0] + 1.0, sheet.size[1] + 1.0


def _content(template: Template) -> Drawing:
    """What a template says within its foam, with a label if that is not among it."""
    pattern = template.pattern
    label = pattern.piece.label
    (foam,) = foam_of(pattern)
    wide = foam.buffer(_STRAY)
    shapely.prepare(foam)
    shapely.prepare(wide)
    lines = [i for i in template.drawing.strokes if (foam if i.layer == "note" else wide).contains(ink(i))]
    labels = [own for own in map(_for_one_copy, template.drawing.labels) if own and foam.contains(ink(own))]
    if any(text.role == "label" for own in labels for text in own.texts):
        return Drawing((*lines, *labels))
    # where even the label had no room, the label alone is worth more than what else is written there
    return Drawing((*(i for i in lines if i.layer != "note"), _label_in(foam, label)))


def _for_one_copy(label: Label) -> Label | None:
    """Without how many to cut: a sheet shows every copy itself, and who counts would cut them twice."""
    texts = tuple(text for text in label.texts if text.role != "count")
    return Label(texts) if texts else None


def _label_in(foam: Polygon, label: str) -> Text:
    """The label of a piece in the middle of its widest place, as large as that allows."""
    circle = shapely.maximum_inscribed_circle(foam, 0.2)
    x, y = circle.coords[0]
    room = 1.7 * circle.length
    height = float(np.clip(min(room, room / text_width(label, 1.0, True)), *_LABEL))
    return Text((x, y - 0.36 * height), label, height, "note", "middle", bold=True)


def laid(drawing: Drawing, placed: PlacedPiece) -> list[Primitive]:
    """A piece's drawing where the piece lies. Texts are turned with it, but neither mirrored nor upside down."""
    items = tuple(map(_reflected, drawing.items)) if placed.flipped else drawing.items
    return list(place(Drawing(items), placed.angle, placed.x, placed.y).items)


def _reflected(item: Primitive) -> Primitive:
    """With x and -x exchanged; a text stands in the reflected box but still reads."""
    match item:
        case Path():
            return replace(item, points=np.asarray(item.points, float) * (-1.0, 1.0))
        case Tick():
            (x0, y0), (x1, y1) = item.start, item.end
            return replace(item, start=(-x0, y0), end=(-x1, y1))
        case Hatch():
            return replace(item, boundary=np.asarray(item.boundary, float) * (-1.0, 1.0), angle=-item.angle)
        case Label():
            return Label(tuple(map(_reflected_text, item.texts)))
        case Text():
            return _reflected_text(item)
    raise TypeError(f"no primitive: {item!r}")


def _reflected_text(text: Text) -> Text:
    anchor = {"start": "end", "middle": "middle", "end": "start"}[text.anchor]
    return replace(text, at=(-text.at[0], text.at[1]), angle=-text.angle, anchor=anchor)

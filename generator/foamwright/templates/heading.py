"""What a template says about the whole part: the main block, the notes, and the arrows up and forward."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain, repeat

import numpy as np
import shapely

from foamwright.drawing.primitives import Primitive
from foamwright.drawing.typesetting import SMALLEST, Block, Line, arrow_block, label_block, side_by_side, wrap
from foamwright.flatten.arrows import Arrow
from foamwright.flatten.records import Pattern, Patterns
from foamwright.language import say
from foamwright.parts.records import Piece
from foamwright.templates import wording
from foamwright.templates.bevels import EVEN, bevel_note
from foamwright.templates.marks import Mark
from foamwright.templates.place import Field

# Of the label in the main block: tried level and along the part group by group, at other angles size by size.
LARGE = ((12.0, 10.0, 8.5, 7.0), (6.0, 5.0))
SMALL = ((4.0, 3.0),)
_OFF_LINES = 0.5  # mm more above and below than any label has: large type that all but touches the cut line reads badly
_NARROW = 34.0  # width of a column of notes
_BESIDE = 100.0  # width of a row beside a part: it goes on the narrowest paper, upright, with the label beside it


def heading(
    patterns: Patterns, pattern: Pattern, laps: tuple[Mark, ...], field: Field, largest: float = LARGE[0][0]
) -> tuple[tuple[Primitive, ...], Block | None]:
    """Label, name, foam and count as large as fits, the label no higher than `largest`, and the notes; off the foam if there is
    no room on it.

    Notes that alone find no room on the foam are left over: they go beside the part when its edges have their words, which
    could not be reached through them.
    """
    piece = pattern.piece
    facts = _facts(piece)
    notes = _notes(patterns, pattern)
    main = None
    for groups in (LARGE, SMALL):
        low = [tuple(height for height in group if height <= largest) for group in groups]
        sizes = [tuple(_head_blocks(piece.label, piece.name, facts, heights)) for heights in low]
        main = main or _inside(field, laps, sizes)
    if main is None:
        rows = [Line(piece.name, 2.8, bold=True), *(replace(fact, height=SMALLEST) for fact in facts)]
        rows += [Line(row, SMALLEST) for text in _beside(notes) for row in wrap(text, _BESIDE, SMALLEST)]
        big = label_block([Line(piece.label, 6.0, bold=True, role="label")])
        return field.outside(side_by_side(big, label_block(rows, anchor="start"), 2.0), field.material.boundary), None
    narrow = tuple(row for note in notes for row in wrap(note, _NARROW, SMALLEST))
    shapes = (notes, (". ".join(notes),), narrow)  # as a paragraph, in one row, which suits a strip, or as a column
    blocks = tuple(label_block([Line(text, height) for text in rows]) for rows in shapes for height in (2.8, SMALLEST))
    second = _inside(field, laps, (blocks,))
    if second is not None:
        return (*main, *second), None
    first, *others = _beside(notes)
    named = (f"{piece.label}: {first}", *others)  # beside the part they could be taken for another's
    return main, label_block([Line(row, SMALLEST) for text in named for row in wrap(text, _BESIDE, SMALLEST)])


def _inside(field: Field, laps: tuple[Mark, ...], groups: Sequence[tuple[Block, ...]]) -> tuple[Primitive, ...] | None:
    """The first block that fits on the foam: clear of glued-on parts if it can, level if it can, else along it.

    At other angles only once none of all `groups` fits so.
    """
    best, others = field.reading_angles(field.material)
    clear = field.material - shapely.union_all([mark.region for mark in laps]) if laps else None
    groups = [tuple(block.padded(0.0, _OFF_LINES) for block in group) for group in groups]
    whole = tuple(block for group in groups for block in group)
    tried = [((angle,), group) for group in groups for angle in best]
    for region in (clear, None) if laps else (None,):
        for angles, blocks in (*tried, (others, whole)):
            placed = field.inside(blocks, angles, region)
            if placed is not None:
                return placed
    return None


def _notes(patterns: Patterns, pattern: Pattern) -> tuple[str, ...]:
    lines = (
        wording.drawn_face(pattern.piece),
        wording.lamination(pattern.piece),
        wording.segment_note(pattern),
        *wording.dimensions(pattern),
        *wording.fittings(pattern.piece),
        wording.use(pattern.piece),
        bevel_note(pattern),
        wording.edge_finish(pattern.piece),  # once it is cut
        wording.fold_note(pattern),
        wording.pack(patterns.prop.design),
    )
    return tuple(line for line in lines if line)


def _beside(notes: tuple[str, ...]) -> tuple[str, ...]:
    """Notes without the last, of which prop it is: what is beside a part goes with the waste, and the page tells it."""
    return notes[:-1] or notes


def _facts(piece: Piece) -> tuple[Line, ...]:
    """The foam, and how many to cut."""
    foam = Line(wording.stock_title(piece.stock), SMALLEST)
    return (foam, *(Line(text, SMALLEST, role="count") for text in wording.count(piece)))


def _head_blocks(label: str, name: str, facts: tuple[Line, ...], heights: tuple[float, ...]) -> Iterator[Block]:
    """The main block from large to small: the label over the text, beside it, and all in one row."""
    for height in heights:
        small = max(SMALLEST, 0.3 * height)
        big = Line(label, height, bold=True, role="label")
        title = Line(name, max(SMALLEST, 0.42 * height), bold=True)
        rows = [replace(fact, height=small) for fact in facts]
        yield label_block([big, title, *rows])
        yield side_by_side(label_block([big]), label_block([title, *rows], anchor="start"), 0.4 * height)
        row = label_block([title])
        for fact, gap in zip(rows, chain((0.8 * height,), repeat(small))):
            row = side_by_side(row, label_block([fact]), gap)
        yield side_by_side(label_block([big]), row, 0.6 * height)


ROUND = 0.5  # mm by which a line may wander from a circle, and shows no way round
_ALIKE = 0.87  # cosine of 30 degrees: copies that lie so differently are not told by one arrow


def holds_for_all(piece: Piece, axis: int) -> bool:
    """Does a direction of the prop (0 forward, 2 up) lie on every copy of a part as it does on the first? A mirrored copy
    that is cut as drawn stands there as the part's own mirror image."""
    n = np.zeros(3) if piece.own_mirror is None else np.array(piece.own_mirror)
    turned = np.eye(3) - 2.0 * np.outer(n, n)
    as_modelled = np.array([p.matrix[axis, :3] @ (turned if p.mirrored else np.eye(3)) for p in piece.placements])
    return bool((as_modelled @ as_modelled[0] >= _ALIKE * (as_modelled[0] @ as_modelled[0])).all())


def arrows(pattern: Pattern) -> dict[int, tuple[str, Arrow]]:
    """The arrows of a template by their direction of the prop (0 forward, 2 up): the word and where it points; none that a copy
    would belie."""
    drawn = {0: (say("forward"), pattern.forward), 2: (say("up"), pattern.up)}
    return {
        axis: (word, way)
        for axis, (word, way) in drawn.items()
        if way is not None and holds_for_all(pattern.piece, axis)
    }


def turns_freely(pattern: Pattern, laps: tuple[Mark, ...]) -> bool:
    """Is a part a disc or a round ring that is the same however it is turned about its middle, with all that is marked on it?"""
    if pattern.fittings.engraving or pattern.fittings.pins or any(e.ticks.size for e in pattern.edges):
        return False
    if any(max(edge.bevel, default=0.0) - min(edge.bevel, default=0.0) > EVEN for edge in pattern.edges):
        return False
    rims = [pattern.outline, *pattern.holes, *(line for mark in laps for line in mark.lines)]
    circle = pattern.fittings.round  # a plate may be a disc as well
    centre = shapely.Polygon(pattern.outline).centroid.coords[0] if circle is None else circle.centre
    away = [np.hypot(*(_with_middles(np.asarray(rim)) - centre).T) for rim in rims]
    return all(float(np.ptp(far)) <= ROUND for far in away)


def _with_middles(line: np.ndarray) -> np.ndarray:
    """Corners (n, 2) and the middles between them, since those of a hexagon lie on a circle as well."""
    return np.vstack([line, (line[:-1] + line[1:]) / 2.0])


def directions(pattern: Pattern, laps: tuple[Mark, ...], field: Field) -> tuple[Primitive, ...]:
    """The arrows up and forward, on the foam if there is room, else beside it."""
    if turns_freely(pattern, laps):
        return ()
    clear = field.material - shapely.union_all([mark.region for mark in laps])
    drawn: list[Primitive] = []
    for word, direction in reversed(arrows(pattern).values()):
        angle = float(np.degrees(np.arctan2(direction[1], direction[0])))
        along = field.upright(angle)
        reverse = abs((angle - along + 180.0) % 360.0 - 180.0) > 90.0
        sizes = ((16.0, 3.2), (12.0, 2.6), (8.0, SMALLEST))
        blocks = [arrow_block(word, length, height, reverse) for length, height in sizes]
        placed = field.inside(blocks, (along,), clear) or field.inside(blocks, (along,))
        drawn += placed or field.aside(blocks[-1], along)
    return tuple(drawn)

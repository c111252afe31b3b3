"""Texts on a part that runs over several pages: blocks of lines that stay together, each whole on a page."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import shapely
from shapely import Polygon

from generator.drawing.metrics import text_box
from generator.drawing.primitives import Drawing, Text
from generator.layout.furniture import CROSS
from generator.layout.shape import Item, outline
from generator.layout.tiling import Tiling, cross_points, join_line

Block = tuple[Text, ...]

_CLEAR = 0.5  # mm between a text and a join
_NUDGES = (0.0, -5.0, 5.0, -10.0, 10.0, -20.0, 20.0)  # mm, tried both ways for a text that has to move


def text_blocks(drawing: Drawing) -> tuple[Block, ...]:
    """The drawing's texts; lines of one angle that follow each other closely are one block."""
    blocks: list[list[Text]] = []
    last = None
    for text in (item for item in drawing.items if isinstance(item, Text)):
        room = Polygon(text_box(text)).buffer(0.6 * text.height)
        if last is not None and blocks[-1][-1].angle == text.angle and room.intersects(last):
            blocks[-1].append(text)
        else:
            blocks.append([text])
        last = room
    return tuple(map(tuple, blocks))


def block_corners(block: Block) -> np.ndarray:
    """(4 N, 2) corners of the boxes of all lines."""
    return np.vstack([text_box(t) for t in block])


def deal(item: Item, grid: Tiling) -> dict[tuple[int, int], list[Text]]:
    """The texts of each used window of `grid` over `item`, which is already turned: every text is dealt once.

    A block that lies within one window's joins stays where it is. One that a join or a registration cross
    runs through moves a short way, preferring a place where it covers nothing and stays within the foam.
    """
    rooms = {cell: np.array(grid.core(*cell)) for cell in grid.used}
    crosses = []
    for cell in grid.used:
        for side in grid.neighbours(*cell):
            for x, y in cross_points(join_line(grid.window(*cell), side)):
                crosses.append(shapely.box(x - CROSS, y - CROSS, x + CROSS, y + CROSS))
    crossed = shapely.STRtree(crosses)
    dealt: dict[tuple[int, int], list[Text]] = {cell: [] for cell in grid.used}
    obstacles = [*crosses, *(outline(i) for i in item.drawing.items if not isinstance(i, Text))]
    cut = []
    for block in text_blocks(item.drawing):
        low, high = _bounds(block)
        inside = {
            c: (low >= r[:2] + _CLEAR).all() and (high <= r[2:] - _CLEAR).all() for c, r in rooms.items()
        }
        home = [cell for cell, whole in inside.items() if whole]
        if home and not len(crossed.query(shapely.box(*low, *high), predicate="intersects")):
            dealt[home[0]] += block
            obstacles += [Polygon(text_box(t)) for t in block]
        else:
            cut.append(block)
    for block in cut:
        cell, block = _moved(block, rooms, shapely.STRtree(obstacles), item.footprint)
        dealt[cell] += block
        obstacles += [Polygon(text_box(t)) for t in block]
    return dealt


def _moved(block: Block, rooms, obstacles: shapely.STRtree, footprint) -> tuple[tuple[int, int], Block]:
    low, high = _bounds(block)
    belongs = footprint.contains(shapely.box(*low, *high))
    choices = []
    for cell, room in rooms.items():
        for nudge in product(_NUDGES, _NUDGES):
            most = np.maximum(room[2:] - _CLEAR - (high - low), room[:2])
            at = np.clip(low + nudge, room[:2] + _CLEAR, most)
            shift = at - low
            place = shapely.box(*at, *(high + shift))
            reach = float(np.abs(shift).sum())
            if choices and reach > 2.0 * float((high - low).sum()) + 30.0:
                continue
            strays = belongs and not footprint.contains(place)
            covered = len(obstacles.query(place, predicate="intersects"))
            choices.append(((strays, covered, round(reach, 6), cell), cell, shift))
    _, cell, shift = min(choices, key=lambda c: c[0])
    return cell, tuple(replace(t, at=(t.at[0] + float(shift[0]), t.at[1] + float(shift[1]))) for t in block)


def _bounds(block: Block) -> tuple[np.ndarray, np.ndarray]:
    corners = block_corners(block)
    return corners.min(axis=0), corners.max(axis=0)

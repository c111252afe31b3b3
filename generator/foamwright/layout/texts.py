"""The labels of a part that runs over several pages, each whole on one of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from foamwright.drawing.labels import label_corners
from foamwright.drawing.primitives import Drawing, Label
from foamwright.drawing.shapes import ink
from foamwright.drawing.transform import moved_label
from foamwright.drawing.typesetting import SMALLEST, Block, Line, label_block, side_by_side
from foamwright.layout.furniture import CROSS
from foamwright.layout.shape import Item
from foamwright.layout.tiling import Tiling, cross_points, join_line

_FAR = 20.0  # mm off its place, beyond half of its own size that it must make way for a join
_CLEAR = 0.5  # mm between a text and a join
# mm along its lines and across them that a text which has to move is moved
_ALONG = (0.0, -5.0, 5.0, -10.0, 10.0, -20.0, 20.0, -35.0, 35.0, -60.0, 60.0, -90.0, 90.0)
_ACROSS = (0.0, -5.0, 5.0, -10.0, 10.0, -20.0, 20.0, -35.0, 35.0, -60.0, 60.0, -90.0, 90.0)
_LETTERS = (7.0, 5.0, 3.5, SMALLEST)  # heights of the letter of a part on a page that does not have its heading
_SCRAP = 20.0  # mm2 of a part that need no letter
_PITCH = 3.0  # mm between the places that are tried for one,
_PLACES = 4000  # and how many there are at most
_AROUND = 1.5  # white around one
_HAIR = 1e-6  # by which lengths that are worked out in two ways may differ
_BESIDE = 12.0  # mm off its part where one may stand for which there is no room on it


def join_marks(grid: Tiling) -> list[BaseGeometry]:
    """The joins between the windows of a grid, with the outlines of their registration crosses, as lines."""
    return [*map(shapely.LineString, _joins(grid)), *(cross.boundary for cross in _crosses(grid))]


def whole_on_pages(drawing: Drawing, grid: Tiling) -> bool:
    """Is every label within one window's joins, and clear of their crosses?"""
    return all(cell is not None for _, cell in _at_home(drawing, grid))


def deal(item: Item, grid: Tiling) -> dict[tuple[int, int], list[Label]]:
    """The labels of each used window of `grid` over `item`, which is already turned: every one is dealt once.

    One that lies within one window's joins stays where it is. One that a join or a registration cross
    runs through moves a short way, preferring a place where it covers nothing and stays within the foam.
    """
    rooms = {cell: np.array(grid.core(*cell)) for cell in grid.used}
    dealt: dict[tuple[int, int], list[Label]] = {cell: [] for cell in grid.used}
    obstacles = [*_crosses(grid), *map(ink, item.drawing.strokes)]
    never = [*_crosses(grid), *(ink(stroke) for stroke in item.drawing.strokes if stroke.layer in ("cut", "cut-inner"))]
    cut = []
    for label, home in _at_home(item.drawing, grid):
        if home is None:
            cut.append(label)
        else:
            dealt[home].append(label)
            obstacles.append(ink(label))
            never.append(ink(label))
    for label in sorted(cut, key=lambda label: -ink(label).area):  # the largest first, as it finds room least easily
        cell, label = _moved(label, rooms, shapely.STRtree(obstacles), shapely.STRtree(never), item.footprint)
        dealt[cell].append(label)
        obstacles.append(ink(label))
        never.append(ink(label))
    for cell, label in _letters(item, rooms, dealt, obstacles):
        dealt[cell].append(label)
    return dealt


def _letters(
    item: Item,
    rooms: Mapping[tuple[int, int], np.ndarray],
    dealt: Mapping[tuple[int, int], Sequence[Label]],
    obstacles: Sequence[BaseGeometry],
) -> Iterator[tuple[tuple[int, int], Label]]:
    """Letter and name of each part for every window that shows some of it and does not have its heading: pages are taped
    together one by one, and what is cut off by mistake must be known again."""
    taken = _in_stretches(obstacles)
    for placed in item.placed:
        piece, foam = placed.worded.template.pattern.piece, placed.footprint
        blocks = tuple(_letter_blocks(piece.label, piece.name))
        for cell, room in rooms.items():
            own = foam & shapely.box(*room)
            headed = any(t.role == "label" and t.value == piece.label for label in dealt[cell] for t in label.texts)
            if headed or own.area < _SCRAP:
                continue
            within = shapely.box(*(room + (_CLEAR, _CLEAR, -_CLEAR, -_CLEAR)))
            label = _lettered(blocks, own, within, item.footprint, shapely.STRtree(taken))
            if label is not None:
                taken.append(ink(label))
                yield cell, label


def _letter_blocks(letter: str, name: str) -> Iterator[Block]:
    """Letter and name from large to small, beside each other and below each other, and last the letter alone."""
    for height in _LETTERS:
        big = label_block([Line(letter, height, bold=True, role="label")])
        title = label_block([Line(name, max(SMALLEST, 0.45 * height))])
        yield side_by_side(big, title, 0.4 * height)
        yield label_block([Line(letter, height, bold=True, role="label"), Line(name, max(SMALLEST, 0.45 * height))])
    for height in _LETTERS[1:]:
        yield label_block([Line(letter, height, bold=True, role="label")])


def _lettered(
    blocks: Sequence[Block],
    own: BaseGeometry,
    within: BaseGeometry,
    foams: BaseGeometry,
    taken: shapely.STRtree,
) -> Label | None:
    """The first of `blocks` that is clear of what is taken: on the foam `own`, where there is most room, level or upright;
    else beside it, off all `foams`; None if there is no such place."""
    x0, y0, x1, y1 = own.bounds
    pitch = max(_PITCH, float(np.sqrt((x1 - x0) * (y1 - y0) / _PLACES)))
    across, up = np.arange(x0, x1 + pitch, pitch), np.arange(y0, y1 + pitch, pitch)
    grid = np.stack(np.meshgrid(across, up, indexing="ij"), axis=-1).reshape(-1, 2)
    ground = own & within
    shapely.prepare(ground)
    on = grid[shapely.contains_xy(ground, *grid.T)]
    if len(on):
        room = np.minimum(
            taken.query_nearest(shapely.points(on), return_distance=True, all_matches=False)[1],
            shapely.distance(shapely.points(on), ground.boundary),
        )
        order = np.argsort(-np.round(room, 3), kind="stable")
        on, room = on[order], room[order]
    else:
        room = np.zeros(0)
    label = _placed(blocks, on, room, ground, taken)
    if label is not None:
        return label
    around = _around(own, foams)
    return _placed(blocks, around, np.full(len(around), np.inf), within - foams, taken)


def _in_stretches(shapes: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    """The same with lines in straight stretches, of which a tree finds the nearest much sooner."""
    stretches: list[BaseGeometry] = []
    for shape in shapely.get_parts(list(shapes)):
        if shape.geom_type in ("LineString", "LinearRing"):
            points = shapely.get_coordinates(shape)
            stretches += shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)).tolist()
        else:
            stretches.append(shape)
    return stretches


def _placed(
    blocks: Sequence[Block], places: np.ndarray, room: np.ndarray, ground: BaseGeometry, taken: shapely.STRtree
) -> Label | None:
    """The first of `blocks` that lies on the ground and clear of what is taken at one of `places` (n, 2), level or upright,
    at the first of them; None if there is no such place. `room` (n,) is no less than what there is around each."""
    shapely.prepare(ground)
    for block in blocks if len(places) else ():
        for angle in (0.0, 90.0):
            wide, high = (block.width, block.height) if angle == 0.0 else (block.height, block.width)
            half = np.array([wide, high]) / 2.0 + _AROUND
            roomy = places[room >= half.min() - _HAIR]
            boxes = shapely.box(*(roomy - half).T, *(roomy + half).T)
            free = shapely.contains(ground, boxes)
            inside = np.flatnonzero(free)
            free[inside[taken.query(boxes[inside], predicate="intersects")[0]]] = False
            if free.any():
                (label,) = (i for i in block.centred(roomy[int(free.argmax())], angle) if isinstance(i, Label))
                return label
    return None


def _around(foam: BaseGeometry, foams: BaseGeometry) -> np.ndarray:
    """Places (n, 2) beside the foam and off all `foams`, the nearest first."""
    rings = [shapely.buffer(part, far).exterior for far in np.arange(2.0, _BESIDE, 2.0) for part in _parts(foam)]
    lengths = [np.arange(0.0, ring.length, _PITCH) for ring in rings]
    points = [shapely.get_coordinates(shapely.line_interpolate_point(r, at)) for r, at in zip(rings, lengths)]
    places = np.concatenate(points) if points else np.zeros((0, 2))
    return places[shapely.contains_xy(shapely.buffer(foams, _BESIDE) - foams, *places.T)]


def _parts(foam: BaseGeometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(foam) if part.geom_type == "Polygon"]


def _joins(grid: Tiling) -> list[np.ndarray]:
    """(2, 2) the ends of every join, once from each side."""
    return [join_line(grid.window(*cell), side) for cell in grid.used for side in grid.neighbours(*cell)]


def _crosses(grid: Tiling) -> list[Polygon]:
    """The room of every registration cross."""
    places = [place for line in _joins(grid) for place in cross_points(line)]
    return [shapely.box(x - CROSS, y - CROSS, x + CROSS, y + CROSS) for x, y in places]


def _at_home(drawing: Drawing, grid: Tiling) -> Iterator[tuple[Label, tuple[int, int] | None]]:
    """Each label with the window within whose joins, and clear of whose crosses, it lies; None if none."""
    rooms = {cell: np.array(grid.core(*cell)) for cell in grid.used}
    crosses = shapely.STRtree(_crosses(grid))
    for label in drawing.labels:
        low, high = _bounds(label)
        around = (c for c, r in rooms.items() if (low >= r[:2] + _CLEAR).all() and (high <= r[2:] - _CLEAR).all())
        home = next(around, None)
        crossed = len(crosses.query(shapely.box(*low, *high), predicate="intersects"))
        yield label, None if crossed else home


def _moved(
    label: Label,
    rooms: Mapping[tuple[int, int], np.ndarray],
    obstacles: shapely.STRtree,
    never: shapely.STRtree,
    footprint: BaseGeometry,
) -> tuple[tuple[int, int], Label]:
    """The label at the nearest of the best places: on its own foam, or off all foam if it stood there, and clear of everything;
    neither on the foam of another part nor on what it may `never` cover, if that can be, nor far off, where it would be read as
    being about something else: words over another line are the lesser evil."""
    low, high = _bounds(label)
    words = ink(label)
    room_of_words = words.convex_hull
    foams = shapely.get_parts(footprint)
    own = next((foam for foam in foams if foam.contains(words.centroid)), None)
    others = shapely.union_all([foam for foam in foams if foam is not own])
    shapely.prepare(others)
    turn = np.radians(label.angle)
    axes = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    nudges = np.array(list(product(_ALONG, _ACROSS))) @ axes
    if own is not None:
        shapely.prepare(own)
    choices: list[tuple[tuple, tuple[int, int], np.ndarray]] = []
    for cell, room in rooms.items():
        most = np.maximum(room[2:] - _CLEAR - (high - low), room[:2])
        shifts = np.clip(low + nudges, room[:2] + _CLEAR, most) - low
        reach = np.abs(shifts).sum(axis=1)
        near = reach <= 2.0 * float((high - low).sum()) + 30.0
        near[0] |= not choices
        shifts, reach = shifts[near], reach[near]
        places = _shifted(room_of_words, shifts)
        covered = np.bincount(obstacles.query(places, predicate="intersects")[0], minlength=len(places))
        on_others = shapely.intersects(others, places)
        strays = np.zeros(len(places), bool) if own is None else ~shapely.contains(own, places)
        spoilt = np.bincount(never.query(places, predicate="intersects")[0], minlength=len(places)) > 0
        far = reach > _FAR + float((high - low).sum()) / 2.0  # its line or arrow is no longer beside it
        scores = zip(on_others, spoilt, far, covered > 0, strays, covered, np.round(reach, 6), [cell] * len(places))
        choices += [(score, cell, shift) for score, shift in zip(scores, shifts)]
    _, cell, shift = min(choices, key=lambda c: c[0])
    return cell, moved_label(label, float(shift[0]), float(shift[1]))


def _shifted(shape: BaseGeometry, shifts: np.ndarray) -> np.ndarray:
    """(N,) the shape in each of N places."""
    moves = np.repeat(shifts, shapely.get_num_coordinates(shape), axis=0)
    return np.asarray(shapely.transform(np.full(len(shifts), shape), lambda points: points + moves))


def _bounds(label: Label) -> tuple[np.ndarray, np.ndarray]:
    corners = label_corners(label)
    return corners.min(axis=0), corners.max(axis=0)

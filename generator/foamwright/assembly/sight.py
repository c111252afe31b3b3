"""What can be seen and reached of each copy from where: the prop looked at along parallel lines, on a grid.

Along every line the copies are listed from the nearest on, once for all; whichever stand, the first of them is what is
seen, and a place with none of them before it is open to that side. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from foamwright.assembly import practice, raster
from foamwright.assembly.bodies import Bodies, Touch

_COARSE = 160  # lines along the longer side
_EVEN = tuple((x, y, z) for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if x or y or z)
_LOOKED_FROM = tuple(i for i, side in enumerate(_EVEN) if np.count_nonzero(side) != 2)
# Between them a brush that is held steeply: what stands in rows, as four posts in the corners of a box do, hides one post
# from another along all even lines, and a hand goes past it.
_STEEP = tuple(
    (x * a, y * b, z * c) for a, b, c in ((1, 1, 2), (1, 2, 1), (2, 1, 1)) for x, y, z in _EVEN if x and y and z
)
_SIDES = tuple(np.array(side, float) for side in (*_EVEN, *_STEEP))
_ASLANT = tuple(  # nearer to an axis: so are things seen through an opening that lie behind its rim
    np.array(side, float) for side in product((-3, -1, 0, 1, 3), repeat=3) if sorted(map(abs, side))[1:] == [1, 3]
)
_PAINTED = 200  # places of a face that are asked for
_BRUSHED = 24  # places of a contact that are asked for
_NEAR = 2.0  # mm before a place, within which a copy does not hide it: the lines are that far apart


def basis(towards: Sequence[float] | np.ndarray, up: Sequence[float] = (0.0, 0.0, 1.0)) -> np.ndarray:
    """Rows across (to the right), up and along of a view whose eye looks along `towards`."""
    along = np.asarray(towards, float) / np.linalg.norm(towards)
    if abs(np.dot(along, up)) > 0.999 * float(np.linalg.norm(up)):
        up = (1.0, 0.0, 0.0)
    right = np.cross(along, up)
    right /= np.linalg.norm(right)
    return np.ascontiguousarray(np.vstack([right, np.cross(right, along), along]))


@dataclass(frozen=True, eq=False)
class _Side:
    """The prop along one direction: `frame` (3, 3) has it as its last row. Line `i` of a grid of `shape` (rows,
    columns), the first through `low`, `step` apart, meets `copies[starts[i]:starts[i + 1]]` at `depths`. `alone` (n,)
    is how many lines meet each copy by itself."""

    frame: np.ndarray
    low: np.ndarray
    step: float
    shape: tuple[int, int]
    starts: np.ndarray
    copies: np.ndarray
    depths: np.ndarray
    alone: np.ndarray

    def clear(self, seen: np.ndarray, lean: np.ndarray, own: int, here: np.ndarray, near: float) -> np.ndarray:
        """Which of the places (k, 3), in this frame, nothing of what stands hides (`raster.clear`)."""
        lists = self.starts, self.copies, self.depths
        found: np.ndarray = raster.clear(seen, lean, own, self.low, self.step, self.shape, *lists, here, near)
        return found


class Sight:
    """What shows of each copy, and which places a brush reaches, while ever fewer of them stand."""

    def __init__(self, bodies: Bodies):
        self.bodies = bodies
        self._sides: dict[int, _Side] = {}
        spans = [bodies.points[np.unique(bodies.triangles[slice(*span)])] for span in bodies.spans]
        self.boxes = np.array([(points.min(axis=0), points.max(axis=0)) for points in spans]).reshape(-1, 2, 3)
        self._asked: dict[tuple[int, int], tuple[np.ndarray, np.ndarray, np.ndarray]] = {}

    def shown(self, standing: int) -> np.ndarray:
        """For each copy (n,) the largest share of it that shows from one of fourteen sides, where the copies in
        `standing`, as bits, stand; 0 for the others."""
        return self._largest(_LOOKED_FROM, standing)

    def glimpsed(self, standing: int) -> np.ndarray:
        """The same from 48 sides between those: what shows aslant through an opening, behind its rim."""
        return self._largest(range(len(_SIDES), len(_SIDES) + len(_ASLANT)), standing)

    def _largest(self, sides: Sequence[int], standing: int) -> np.ndarray:
        here = self._standing(standing)
        best = np.zeros(len(here))
        for number in sides if len(here) else ():
            side = self._side(number)
            best = np.maximum(best, raster.firsts(side.starts, side.copies, here) / np.maximum(side.alone, 1))
        return best

    def reached(self, touches: Sequence[Touch], standing: int) -> float:
        """Share of the area of contacts that a brush reaches on the copies that stand, before the others go in.

        A brush comes along a straight line that leans from the face by no more than its bristles bend, past all that
        stands. It goes no further into it than it is long, unless hand and arm find room behind it (`_room`).
        """
        here = self._standing(standing)
        total = within = 0.0
        for touch in touches:
            places, normals, areas = self._places(touch)
            total += float(areas.sum())
            within += float(areas[self._reached(touch.b, places, normals, here)].sum())
        return within / total if total else 1.0

    def brushed(self, copy: int, places: np.ndarray, normals: np.ndarray, standing: int) -> float:
        """Share of `places` (k, 3) on a copy, with directions off it there, that a brush reaches where the copies in
        `standing`, as bits, stand."""
        few = np.linspace(0, len(places) - 1, min(len(places), _PAINTED)).astype(int)
        return float(self._reached(copy, places[few], normals[few], self._standing(standing)).mean())

    def _reached(self, copy: int, places: np.ndarray, normals: np.ndarray, here: np.ndarray) -> np.ndarray:
        """Which (k,) of the places on a copy a brush reaches where the copies `here` stand: all if none does."""
        if not here.any():
            return np.ones(len(places), bool)
        open_ = np.zeros(len(places), bool)
        box = self.boxes[here]
        low, high = box[:, 0].min(axis=0), box[:, 1].max(axis=0)
        for number in range(len(_SIDES)):
            if open_.all():
                break
            side = self._side(number)
            toward = side.frame[2]
            slope = -normals @ toward
            asked = ~open_ & (slope > practice.BRUSH_SLOPE)
            way_out = _way_out(places, -toward, low, high)
            asked &= way_out < practice.BRUSH_REACH + practice.ARM_REACH
            if asked.any():
                seen = places[asked] @ side.frame.T
                lean = np.sqrt(np.maximum(1.0 / slope[asked] ** 2 - 1.0, 0.0))
                clear = side.clear(seen, _NEAR + side.step * lean, copy, here, _NEAR)
                far = clear & (way_out[asked] >= practice.BRUSH_REACH)
                if far.any():
                    clear[far] = _room(side, seen[far], here)
                open_[asked] = clear
        return open_

    def _standing(self, standing: int) -> np.ndarray:
        count = len(self.bodies)
        packed = np.frombuffer(standing.to_bytes(count // 8 + 1, "little"), np.uint8)
        return np.unpackbits(packed, count=count, bitorder="little").astype(bool)

    def _places(self, touch: Touch) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Some places of a contact, each with the direction off the face of `b` and the area it stands for."""
        key = touch.a, touch.b
        if key not in self._asked:
            every = max(len(touch.places) // _BRUSHED, 1)
            areas = np.add.reduceat(touch.areas, np.arange(0, len(touch.areas), every))
            self._asked[key] = touch.places[::every], touch.normals[::every], areas
        return self._asked[key]

    def _side(self, number: int) -> _Side:
        if number not in self._sides:
            self._sides[number] = _side(self.bodies, basis((*_SIDES, *_ASLANT)[number]))
        return self._sides[number]


def _room(side: _Side, seen: np.ndarray, here: np.ndarray) -> np.ndarray:
    """Where (k,) a hand and an arm have room behind a brush that comes along this direction to places (k, 3) in its frame.

    The hand holds the brush where it ends; it may be to one side of the line. Asked at 5 x 5 lines, half its breadth apart:
    it fits if nine neighbours are free from there on, and the line itself is one of them.
    """
    half, reach = practice.ARM_WIDE / 2.0, practice.BRUSH_REACH
    lean = np.full(len(seen), reach)
    free = np.ones((5, 5, len(seen)), bool)
    for i in range(5):
        for j in range(5):
            free[i, j] = side.clear(seen + (half * (i - 2), half * (j - 2), 0.0), lean, -1, here, reach)
    rows = free[:-2] & free[1:-1] & free[2:]
    return np.any(rows[:, :-2] & rows[:, 1:-1] & rows[:, 2:], axis=(0, 1))


def _way_out(places: np.ndarray, towards: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """How far (k,) it is from each place to the outside of a box."""
    with np.errstate(divide="ignore", invalid="ignore"):
        far = np.where(towards > 0.0, (high - places) / towards, (low - places) / towards)
    return np.where(np.abs(towards) > 1e-9, far, np.inf).min(axis=1)


def _side(bodies: Bodies, frame: np.ndarray) -> _Side:
    flat = bodies.points @ frame[:2].T
    low, span = flat.min(axis=0), np.maximum(np.ptp(flat, axis=0), 1e-6)
    step = float(span.max()) / _COARSE
    low = low + step / 2.0
    columns, rows = np.maximum(np.ceil(span / step), 1).astype(int).tolist()
    lines, depths = [], []
    for first, last in bodies.spans.tolist():
        triangles = bodies.triangles[first:last]
        own = flat[triangles.min() : triangles.max() + 1]
        # the lines that could meet this copy alone
        start = np.maximum(np.ceil((own.min(axis=0) - low) / step), 0).astype(int)
        end = np.minimum(np.floor((own.max(axis=0) - low) / step), (columns - 1, rows - 1)).astype(int)
        shape = tuple(np.maximum(end - start + 1, 0)[::-1].tolist())
        near, far = np.full(shape, np.inf), np.full(shape, -np.inf)
        raster.reach(bodies.points, triangles, frame, low + start * step, np.array([step, step]), near, far)
        met = np.nonzero(np.isfinite(near))
        lines.append((met[0] + start[1]) * columns + met[1] + start[0])
        depths.append(near[met])
    alone = np.array([len(met) for met in lines])
    line, depth = np.concatenate(lines), np.concatenate(depths)
    order = np.lexsort((depth, line))  # stable: of two at one depth the first in the design
    starts = np.searchsorted(line[order], np.arange(rows * columns + 1))
    copies = np.repeat(np.arange(len(bodies)), alone)[order]
    return _Side(frame, low, step, (rows, columns), starts, copies, depth[order], alone)

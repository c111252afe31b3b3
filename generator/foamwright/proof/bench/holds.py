"""What the lines drawn for a part hold when it is glued there: its edge along the normal of the foam, and each of the two
lines at its own face; along the line it slides, as it would on a bench. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.spatial import cKDTree

from foamwright.geometry import chord_length
from foamwright.proof.bench.foam import Copy, Edge, Part, other_stretches
from foamwright.proof.bench.footings import Footing, out_of_foam, outward, own_points
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.shell import Holds, joined
from foamwright.proof.bench.shells import Net

_SPACING = 8.0  # between the points of a mark that hold
_DENSE = 2.0  # between the points of an edge
_LOOKS = 0.4  # cosine from which a line is known to be that of one face
_STEEP = 0.4  # cosine between the plane of a part and the normal of the foam it stands on, at least
_END = 4.0  # mm along an edge between its end and a line across the marked strip: more, and it only touches in part
_BESIDE = 1.0  # mm past the end of an edge, from where it holds nothing
_CLEAR = 0.05  # mm: less of a gap is none


@dataclass(frozen=True, eq=False)
class Held:
    """The holds of one footing: `holds` as the solver takes them, and how far each was from its place, in mm."""

    footing: Footing
    holds: Holds
    away: np.ndarray

    @property
    def middle(self) -> float:
        return float(np.median(self.away))

    def within(self, reach: float) -> Holds:
        return _some(self.holds, self.away < reach)


def held(net: Net, placed: Mapping[Copy, Placed], footing: Footing) -> Held | None:
    """What a footing holds, as both copies lie now; None if its lines or the edge are not on the paper."""
    lower, upper = placed[footing.lower], placed[footing.upper]
    flat, _ = own_points(footing, lower, _SPACING)
    rims = [rim for share in (0.0, 0.5, 1.0) if (rim := _rim(upper.part, footing.faces, share)) is not None]
    if not len(flat) or not rims:
        return None
    depth = np.full(len(flat), lower.part.depth(footing.mark.inside))
    at = lower.place(flat, depth)
    normal = out_of_foam(footing, lower, flat)
    directions = outward(footing, lower, upper.part.thickness, _SPACING)
    foot, deep = np.zeros_like(flat), np.zeros(len(flat))
    met = np.zeros(len(flat), bool)
    lean = (directions * upper.up(rims[1].nearest(upper, at)[0])).sum(axis=1)
    line = np.where(np.abs(lean) < _LOOKS, 1, np.where(lean > 0.0, 0, 2))  # of the drawn face, of neither, of the other
    known = bool((line != 1).any())  # then the others are ends of the marked strip
    for number, rim in enumerate(rims):
        here = (line == number) & ~(known & (line == 1))
        if here.any():
            foot[here], past = rim.nearest(upper, at[here])
            met[here] = past < _BESIDE
            deep[here] = number / 2 * upper.part.thickness
    up = upper.up(foot)
    level = normal - (normal * up).sum(axis=1)[:, None] * up  # along the plane of the part that stands there
    steep = np.linalg.norm(level, axis=1)
    met &= steep > _STEEP
    level = level / np.maximum(steep, _STEEP)[:, None]
    if not met.any():
        return None
    lines = met & (line != 1)
    ends, end_foot, ahead = _ends(rims[1], upper, at, known & (line == 1))
    gap = _gaps(footing, upper, line, np.stack([normal, up, level], axis=1), foot, deep)
    a, b = net.spots(footing.lower, flat, depth), net.spots(footing.upper, foot, deep)
    length = np.full(len(flat), min(_SPACING, footing.mark.run / len(flat)))
    off = np.concatenate([-(gap / np.maximum(steep, _STEEP))[met], np.zeros(int(lines.sum()) + len(ends))])
    half = np.full(len(ends), 0.5 * upper.part.thickness)
    holds = Holds(
        joined([a[met], a[lines], a[ends]]),
        joined([b[met], b[lines], net.spots(footing.upper, end_foot, half)]),
        np.vstack([level[met], up[lines], ahead]),
        off,
        np.concatenate([length[met], length[lines], length[ends]]),
    )
    apart = at - upper.place(foot, deep)
    past_end = ((at[ends] - upper.place(end_foot, half)) * ahead).sum(axis=1)
    away = np.concatenate([(apart * level)[met].sum(axis=1), (apart * up)[lines].sum(axis=1), past_end])
    return Held(footing, holds, np.abs(away - off))


def _ends(rim: _Rim, upper: Placed, at: np.ndarray, across: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Those of the points `at` (K, 3) on lines `across` (K,) the marked strip that an end of the edge belongs to: their
    numbers (E,), that end on the paper (E, 2) and the way along the edge there (E, 3). They keep it from sliding."""
    number = np.flatnonzero(across)
    tips = np.flatnonzero(rim.ends)
    if not len(number) or not len(tips):
        return np.zeros(0, int), np.zeros((0, 2)), np.zeros((0, 3))
    line = upper.place(rim.flat, np.full(len(rim.flat), rim.share * upper.part.thickness))
    tip = tips[cKDTree(line[tips]).query(at[number])[1]]
    inner = np.where(rim.ends[np.minimum(tip + 1, len(line) - 1)] | (tip == len(line) - 1), tip - 1, tip + 1)
    ahead = line[tip] - line[inner]
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1, keepdims=True), 1e-9)
    near = np.abs(((at[number] - line[tip]) * ahead).sum(axis=1)) < _END
    return number[near], rim.flat[tip[near]], ahead[near]


def _gaps(
    footing: Footing, upper: Placed, line: np.ndarray, directions: np.ndarray, foot: np.ndarray, deep: np.ndarray
) -> np.ndarray:
    """The gap (K,) at each point: it is told for the middle of the marked strip, and is more or less at a `line` of it
    where the foam slopes otherwise than the edge; `directions` (K, 3, 3) are the foam's normal and the part's up and level."""
    if footing.gap <= _CLEAR:
        return np.zeros(len(line))
    part = upper.part
    counted = max(int((line == 0).sum()), int((line == 2).sum()), 1)
    wide = min(part.thickness, footing.area / (counted * _SPACING))
    normal, up, level = directions[:, 0], directions[:, 1], directions[:, 2]
    rim = _rim(part, footing.faces, 0.5)
    at = upper.place(foot, deep)
    grown = np.zeros(len(line))
    if rim is not None:
        middle = rim.nearest(upper, at)[0]
        grown = ((at - upper.place(middle, np.full(len(middle), part.thickness / 2))) * level).sum(axis=1)
    slope = (normal * up).sum(axis=1) / np.maximum((normal * level).sum(axis=1), _STEEP)
    side = np.where(line == 0, 0.5, np.where(line == 2, -0.5, 0.0))
    more = side * wide * slope + np.abs(side) * 2 * grown * wide / part.thickness
    return np.clip(footing.gap + more, 0.0, 2 * footing.gap)


def all_held(held: Sequence[Held], reach: Mapping[int, float], strength: float) -> Holds | None:
    """The holds of several footings as one, those that are no further off than `reach` of each by its number."""
    parts = [one.within(reach[number]) for number, one in enumerate(held)]
    if not sum(len(part.off) for part in parts):
        return None
    return Holds(
        joined([part.a for part in parts]),
        joined([part.b for part in parts]),
        np.vstack([part.directions for part in parts]),
        np.concatenate([part.off for part in parts]),
        strength * np.concatenate([part.share for part in parts]),
    )


def _some(holds: Holds, which: np.ndarray) -> Holds:
    return Holds(holds.a[which], holds.b[which], holds.directions[which], holds.off[which], holds.share[which])


@dataclass(frozen=True, eq=False)
class _Rim:
    """Points (N, 2) of a paper along its edges, close together, at a `share` of its thickness below the drawn face, and
    whether they end a line (N,)."""

    flat: np.ndarray
    ends: np.ndarray
    share: float

    def nearest(self, piece: Placed, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Points (K, 2) of the paper that are nearest to points (K, 3) in space, and how far past the end of the line
        (K,) these are."""
        part = piece.part
        line = piece.place(self.flat, np.full(len(self.flat), self.share * part.thickness))
        near = cKDTree(line).query(points)[1]
        before, after = np.maximum(near - 1, 0), np.minimum(near + 1, len(line) - 1)
        foot, least = self.flat[near].copy(), np.full(len(points), np.inf)
        past = np.zeros(len(points))
        for one, two in ((before, near), (near, after)):
            real = (one != two) & ~(self.ends[one] & self.ends[two])
            step = line[two] - line[one]
            square = np.maximum((step * step).sum(axis=1), 1e-18)
            share = ((points - line[one]) * step).sum(axis=1) / square
            inside = np.clip(share, 0.0, 1.0)
            away = np.where(real, np.linalg.norm(line[one] + inside[:, None] * step - points, axis=1), np.inf)
            here = away < least
            least[here] = away[here]
            foot[here] = (self.flat[one] + inside[:, None] * (self.flat[two] - self.flat[one]))[here]
            beyond = np.abs(share - inside) * np.sqrt(square)
            at_end = np.where(share > inside, self.ends[two], self.ends[one])
            past[here] = np.where(at_end, beyond, 0.0)[here]
        return foot, past


@lru_cache(maxsize=1024)
def _rim(part: Part, faces: tuple[str, ...], share: float) -> _Rim | None:
    edges = [edge for face in faces if (edge := part.edge(face)) is not None]
    lines = [line for edge in edges for line in _lines(part, edge, share)]
    if not lines:
        return None
    ends = [np.isin(np.arange(len(line)), (0, len(line) - 1)) for line in lines]
    for line, end in zip(lines, ends):
        if float(np.linalg.norm(line[0] - line[-1])) < _CLEAR:
            end[:] = False
    return _Rim(np.vstack(lines), np.concatenate(ends), share)


def _lines(part: Part, edge: Edge, share: float) -> list[np.ndarray]:
    lines = []
    for stretch, across in zip(edge.stretches, other_stretches(part, edge)):
        line = stretch + share * (across - stretch)
        s = chord_length(line)
        at = np.unique(np.concatenate([s, np.linspace(0.0, s[-1], int(s[-1] / _DENSE) + 2)]))
        lines.append(np.column_stack([np.interp(at, s, column) for column in line.T]))
    return lines

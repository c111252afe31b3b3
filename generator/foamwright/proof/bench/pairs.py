"""A mark and the foot that belongs on it: which of their points are nearest to each other, and from where to begin."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from foamwright.geometry import chord_length
from foamwright.proof.bench.foam import Copy
from foamwright.proof.bench.footings import (
    Foot,
    Footing,
    drawn_normal,
    foot,
    foot_normal,
    is_bar,
    out_of_foam,
    outward,
    own_points,
)
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import Motion, Motions, all_round, best_motion, frame_of, lengths, sampled

_SPACING = 4.0  # mm between the points of a foot, about
_TURNS = 16  # tried about the normal of the face
_PLACES = 16  # along a foot
_FEWEST = 4  # points of a mark that tell where a part stands
_LEVER = 20.0  # mm
_SQUARE_BELOW = 0.5  # degrees of bevel
_STRAIGHT = 0.999  # of the length of an edge, from end to end
_LONGER, _ABOUT = 1.2, 0.25  # times a mark, for an edge that goes on past it; and shares of it, for a stretch of that
_WHOLE = 0.85  # of the length of a foot, from where a mark shows all of it
_THIN = 12  # points of a mark by which starts are compared
_AWAY = 0.2  # cosine between two faces that should look at each other, from which they look away


@dataclass(frozen=True, eq=False)
class Pair:
    """A mark and a foot, one of them fixed: `samples` are the mark's points, `rim` those of them at the edge of the
    foam, `directions` out of the marked strip, `foot` the foot; `on_fixed` tells whether the mark is on what stands."""

    samples: np.ndarray
    rim: np.ndarray
    directions: np.ndarray
    foot: Foot
    on_fixed: bool
    normal: np.ndarray  # out of the foam that is drawn on
    other: np.ndarray | None  # out of the foam that stands there
    middles: tuple[np.ndarray, ...]  # of the foot, and of each of its lines where there are two
    runs: tuple[
        tuple[np.ndarray, np.ndarray], ...
    ]  # middles of straight stretches about as long as it, and their normals
    bounds: bool  # the mark is the line of the foot, not the bound of what comes near
    square: bool  # a flat part stands with an edge that is cut square on a flat face
    shows_all: bool  # the mark is about as long as the foot, so that its middle tells that of the foot

    @staticmethod
    def of(footing: Footing, fixed: Mapping[Copy, Placed], moving: Mapping[Copy, Placed]) -> Pair | None:
        on_fixed = footing.lower in fixed
        lower = fixed[footing.lower] if on_fixed else moving[footing.lower]
        upper = moving[footing.upper] if on_fixed else fixed[footing.upper]
        stands = Foot.of(footing, upper)
        if stands is None:
            return None
        normal = drawn_normal(footing, lower)
        points, edge = own_points(footing, lower)
        if len(points) < _FEWEST:
            return None
        depth = lower.part.depth(footing.mark.inside)
        samples, rim = (lower.place(some, np.full(len(some), depth)) for some in (points, edge))
        gap = footing.gap if footing.gap > 0.05 else 0.0
        dense = [sampled(line, _SPACING) for line in foot(footing, upper)]
        middles = [np.vstack(dense).mean(axis=0)]
        if len(dense) == 2:  # a mark at the edge of the foam may show one of them alone
            middles += [line.mean(axis=0) for line in dense]
        standing = foot_normal(footing, upper)
        directions = np.zeros_like(samples) if stands.drawn is None else outward(footing, lower, upper.part.thickness)
        samples = samples + gap * out_of_foam(footing, lower, points)
        return Pair(
            samples,
            rim,
            directions,
            stands,
            on_fixed,
            normal,
            standing,
            tuple(middles),
            _runs(footing, upper, samples),
            not footing.grazes,
            _square(footing, lower, upper),
            footing.mark.run * len(points) > _WHOLE * _run(foot(footing, upper)) * (len(points) + len(edge)),
        )

    def thinned(self) -> Pair:
        """With fewer points, enough to tell one start from another."""
        step, rim = (max(1, len(points) // _THIN) for points in (self.samples, self.rim))
        return replace(self, samples=self.samples[::step], directions=self.directions[::step], rim=self.rim[::rim])

    def matched(self, motions: Motions) -> tuple[np.ndarray, np.ndarray]:
        """Points (S, N, 3) of what moves, as it lay, and where they should come."""
        own = np.broadcast_to(self.samples, (len(motions), *self.samples.shape))
        way = motions.inverse() if self.on_fixed else motions  # to where the foot lies
        directions = self.directions @ np.swapaxes(way.turns, 1, 2)
        feet = self.foot.nearest(way(self.samples).reshape(-1, 3), directions.reshape(-1, 3)).reshape(own.shape)
        return (feet, own) if self.on_fixed else (own, feet)

    def slides(self, motions: Motions) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Points (S, N, 3) of what moves as the motions have it, where they should come, and along which way (S, N, 3) they
        may be off, since the line there goes on."""
        shape = (len(motions), *self.samples.shape)
        way = motions.inverse() if self.on_fixed else motions
        directions = self.directions @ np.swapaxes(way.turns, 1, 2)
        found = self.foot.feet(way(self.samples).reshape(-1, 3), directions.reshape(-1, 3))
        feet, along = (each.reshape(shape) for each in found)
        if self.on_fixed:
            return motions(feet), np.broadcast_to(self.samples, shape), along @ np.swapaxes(motions.turns, 1, 2)
        return motions(self.samples), feet, along

    def lifted(self, points: np.ndarray, goals: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Matched points moved along the normals of both, which look at each other: a line alone does not keep an edge
        that is cut square from leaning over."""
        if not self.square or self.other is None:
            return points[:, :0], goals[:, :0]
        own, fixed = (self.other, -self.normal) if self.on_fixed else (self.normal, -self.other)
        return points + _LEVER * own, goals + _LEVER * fixed

    @property
    def stands(self) -> bool:
        """Does the edge stand square on the face?"""
        return self.square and self.other is not None

    def stood(self, motions: Motions, points: np.ndarray, goals: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Points (S, N, 3) in place and where they should come, as `lifted`."""
        if not self.square or self.other is None:
            return points[:, :0], goals[:, :0]
        own, fixed = (self.other, -self.normal) if self.on_fixed else (self.normal, -self.other)
        return points + _LEVER * (motions.turns @ own)[:, None], goals + _LEVER * fixed

    def off_rim(self, motions: Motions) -> np.ndarray:
        """How far the mark's points at the edge of the foam are from the foot (S, M)."""
        rim = (motions.inverse() if self.on_fixed else motions)(self.rim)
        feet = self.foot.lines.nearest(rim.reshape(-1, 3)).reshape(rim.shape)
        return lengths(feet - rim)

    def looks_away(self, motions: Motions) -> np.ndarray:
        """(S,) whether the faces do not look at each other."""
        if self.other is None:
            return np.zeros(len(motions), bool)
        moved = motions.turns @ (self.other if self.on_fixed else self.normal)
        stays = self.normal if self.on_fixed else self.other
        return moved @ stays > _AWAY


def _run(lines: Sequence[np.ndarray]) -> float:
    """How long lines are together, in mm."""
    return float(sum(chord_length(line)[-1] for line in lines))


def _runs(footing: Footing, upper: Placed, mark: np.ndarray) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    """Where an edge runs straight for about as long as a mark: middles (3,) there, and unit normals (3,) out of the foam.

    An edge may go on round a corner, and the middle of all of it tells nothing of the stretch that stands on the mark.
    """
    part, found = upper.part, []
    if part.bent or is_bar(part):
        return ()
    size = float(np.linalg.norm(np.ptp(mark, axis=0)))
    for face in footing.faces:
        edge = part.edge(face)
        if edge is None or edge.length < _LONGER * size:
            continue
        for line in edge.stretches:
            step = np.diff(line, axis=0)
            length = np.linalg.norm(step, axis=1)
            for k in np.flatnonzero(np.abs(length - size) < _ABOUT * size):
                middle, way = (line[k] + line[k + 1]) / 2, step[k] / length[k]
                out = np.array([way[1], -way[0]])
                at = upper.place(np.array([middle, middle + out]), np.full(2, part.thickness / 2))
                found.append((at[0], at[1] - at[0]))
    return tuple(found)


def starts_of(pairs: Sequence[Pair]) -> list[Motion]:
    """From the middles of all marks, where there are enough of them, and from the longest one turned all round."""
    starts = []
    moving = np.array([pair.middles[0] if pair.on_fixed else pair.samples.mean(axis=0) for pair in pairs])
    fixed = np.array([pair.samples.mean(axis=0) if pair.on_fixed else pair.middles[0] for pair in pairs])
    if len(pairs) > 2:
        spread = np.linalg.svd(fixed - fixed.mean(axis=0), compute_uv=False)
        if spread[1] > 0.05 * spread[0] > 0.0:
            starts.append(best_motion(moving, fixed))
            if spread[2] < 0.05 * spread[0]:  # they lie in a plane, and it may be seen from either side
                axis = np.linalg.svd(moving - moving.mean(axis=0))[2][2]
                mirrored = moving - 2 * np.outer((moving - moving.mean(axis=0)) @ axis, axis)
                starts.append(best_motion(mirrored, fixed))
    pair = max(pairs, key=lambda p: len(p.samples))
    normal, other = pair.normal, pair.other
    axes: list[tuple[np.ndarray, np.ndarray]] = []
    for middle, out in pair.runs:
        begin, at = (middle, pair.samples.mean(axis=0)) if pair.on_fixed else (pair.samples.mean(axis=0), middle)
        from_, onto = (out, -normal) if pair.on_fixed else (normal, -out)
        turn = frame_of(onto).T @ frame_of(from_)
        first = Motion(turn, at - turn @ begin)
        starts += all_round(onto, at, first, _TURNS)
    if other is None:  # a rim: the planes of both lines, from either side
        dense = np.vstack([pair.foot.lines.starts, pair.foot.lines.ends])
        planes = [np.linalg.svd(p - p.mean(axis=0), full_matrices=False)[2][2] for p in (pair.samples, dense)]
        one, two = planes if pair.on_fixed else planes[::-1]
        axes = [(two, one), (two, -one)]
    else:
        axes = [(other, -normal)] if pair.on_fixed else [(normal, -other)]
    for from_, onto in axes:
        turn = frame_of(onto).T @ frame_of(from_)
        for middle in pair.middles:
            begin, at = middle, pair.samples.mean(axis=0)
            if not pair.on_fixed:
                begin, at = at, begin
            first = Motion(turn, at - turn @ begin)
            starts += all_round(onto, at, first, _TURNS)
    return starts


def more_starts(pairs: Sequence[Pair]) -> list[Motion]:
    """From places all along the foot: a mark that shows a part of it tells nothing of its middle."""
    pair = max(pairs, key=lambda p: len(p.samples))
    if pair.other is None:
        return []
    middle = pair.samples.mean(axis=0)
    line = pair.foot.lines.starts
    spots = [pair.middles[0], *line[:: max(1, len(line) // _PLACES)]]
    if pair.on_fixed:
        turn = frame_of(-pair.normal).T @ frame_of(pair.other)
        firsts = [Motion(turn, middle - turn @ spot) for spot in spots]
        axis, through = pair.normal, [middle] * len(spots)
    else:
        turn = frame_of(-pair.other).T @ frame_of(pair.normal)
        firsts = [Motion(turn, spot - turn @ middle) for spot in spots]
        axis, through = pair.other, list(spots)
    return [start for first, at in zip(firsts, through) for start in all_round(axis, at, first, _TURNS)]


def _square(footing: Footing, lower: Placed, upper: Placed) -> bool:
    if lower.part.bent or upper.part.bent or is_bar(upper.part):
        return False
    edges = [edge for face in footing.faces if (edge := upper.part.edge(face)) is not None]
    straight = [len(e.stretches) == 1 and float(np.linalg.norm(e.stretches[0][-1] - e.stretches[0][0])) for e in edges]
    return bool(edges) and all(
        max(map(abs, edge.bevel)) < _SQUARE_BELOW and along > _STRAIGHT * edge.length
        for edge, along in zip(edges, straight)
    )

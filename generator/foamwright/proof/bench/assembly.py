"""The whole prop on the bench: bodies sewn along their seams, stiffened by what stands in them, set on their marks."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence, Set
from dataclasses import dataclass, replace

import numpy as np

from foamwright.proof.bench.foam import Copy, Foam, Sewn, ring_area
from foamwright.proof.bench.footings import (
    Fit,
    Foot,
    Footing,
    arrow,
    drawn,
    fitted,
    followed,
    footings,
    outward,
    own_points,
)
from foamwright.proof.bench.pieces import Placed, as_cut, plain_sheet
from foamwright.proof.bench.plates import assembled, seam_gap
from foamwright.proof.bench.rigid import Lines, Motion, best_motion, sampled
from foamwright.proof.bench.seams import glue
from foamwright.proof.bench.shell import Rested, Spots, at_rest, joined
from foamwright.proof.bench.shells import Net, bent_body
from foamwright.proof.bench.sides import left_open, looks, way_round

_ANEW = 2  # the round after which frames are tried again from all sides, as they may have been set in turned over
_FRAME = 0.012  # of the body's size: a flat part whose foot is further from its marks, on the whole, is not set in
_REACH = 4.0  # mm: foam is not drawn to what is further off, and
_WIDER = 2.5  # times as far as the marks of a frame are from it, while they still are
_OPEN = 0.15  # share of a body's edges that may be free: more, and it springs open as far as its foam will
_HOLDS = 0.3  # mm from marks to foot, by the middle one of the points
_FRAMES = 2  # so many flat parts that fit hold it, whatever is free
_PIN_SPACING = 8.0
_STIFFENED = (
    0.02,
    0.1,
    0.5,
    1.0,
    1.0,
)  # how hard frames draw at the foam, beside glue, round by round as they come to fit
_LOOSE = 0.5  # mm between the ends of two starts, from which paper alone does not tell the shape; of the mean


@dataclass(frozen=True, eq=False)
class Group:
    """Copies that are sewn to each other, as they came out. `apart` is the mean and the largest distance between the
    ends of two starts; `bent` tells whether foam had to be bent for it."""

    copies: tuple[Copy, ...]
    placed: Mapping[Copy, Placed]
    bent: bool
    apart: tuple[float, float]
    closed: bool = True  # its edges are all joined, or flat parts hold it open
    net: Net | None = None
    rested: Rested | None = None
    held: bool = False  # it is flat parts alone that hold it open

    @property
    def determined(self) -> bool:
        return self.apart[0] <= _LOOSE


@dataclass(frozen=True, eq=False)
class Standing:
    """A group that was set on its marks, and what was left between them."""

    copies: tuple[Copy, ...]
    joints: tuple[Footing, ...]
    fit: Fit


@dataclass(frozen=True, eq=False)
class Assembly:
    """Everything that could be built. `seams` are the largest gaps of all seams between copies, in mm."""

    placed: Mapping[Copy, Placed]
    groups: tuple[Group, ...]
    sets: tuple[Standing, ...]
    seams: tuple[tuple[Sewn, float], ...]
    left: tuple[Copy, ...]  # that nothing on the paper places, or that are bent by what they lie on


def assemble(foam: Foam) -> Assembly:
    """Builds the prop from its foam."""
    joints = footings(foam)
    groups = [_built(foam, copies) for copies in _sewn_together(foam, _covering(foam, joints))]
    sets: list[Standing] = []
    merged: list[Group] = []
    frames: set[Copy] = set()
    for group in sorted((g for g in groups if g.bent), key=lambda g: -_area(foam, g.copies)):
        stiff, own = _stiffened(foam, group, [g for g in groups if not g.bent and g.copies[0] not in frames], joints)
        frames |= {copy for found in own for copy in found.copies}
        sets += own
        merged.append(stiff)
    merged += [g for g in groups if not g.bent and g.copies[0] not in frames]
    placed, others = _set_up(foam, merged, joints)
    sets += others
    built = [sewn for sewn in foam.sewn if sewn.a in placed and sewn.b in placed]
    seams = [(sewn, seam_gap(placed, g)) for sewn in built if (g := glue(foam, sewn))]
    left = tuple(copy for copy in foam.copies if copy not in placed)
    return Assembly(placed, tuple(merged), tuple(sets), tuple(seams), left)


def _covering(foam: Foam, joints: Sequence[Footing]) -> set[str]:
    """Parts that are bent by those they lie on, face on face."""
    return {
        f.upper.part
        for f in joints
        if foam.part(f.upper).bent and foam.part(f.lower).bent and not _edge_on(f) and f.upper.part != f.lower.part
    }


def _sewn_together(foam: Foam, without: Set[str]) -> list[tuple[Copy, ...]]:
    """Copies that seams connect to a round; bent parts that seams do not close lie as they like and are left out."""
    beside: dict[Copy, list[Copy]] = {copy: [] for copy in foam.copies if copy.part not in without}
    for sewn in foam.sewn:
        if sewn.a in beside and sewn.b in beside:
            beside[sewn.a].append(sewn.b)
            beside[sewn.b].append(sewn.a)
    seen: set[Copy] = set()
    found = []
    for copy in beside:
        if copy in seen:
            continue
        group = [copy]
        seen.add(copy)
        for here in group:
            for there in beside[here]:
                if there not in seen:
                    seen.add(there)
                    group.append(there)
        seams = sum(len(beside[here]) for here in group) // 2
        if seams >= len(group) or not any(foam.part(here).bent for here in group):
            found.append(tuple(group))
    return found


def _built(foam: Foam, copies: tuple[Copy, ...]) -> Group:
    sewn = [joint for joint in foam.sewn if joint.a in copies]
    if any(foam.part(copy).bent for copy in copies):
        body = bent_body(foam, copies, sewn)
        return Group(copies, body.placed, True, body.apart, _free(foam, copies, sewn) < _OPEN, body.net, body.rested)
    lying = {copy: as_cut(foam.part(copy), foam.mirrored(copy), plain_sheet(foam.part(copy))) for copy in copies}
    if len(copies) == 1:
        return Group(copies, lying, False, (0.0, 0.0))
    glues = [g for joint in sewn if (g := glue(foam, joint))]
    ends = [assembled(lying, glues, first) for first in (copies[0], copies[-1])]
    one, other = (np.vstack([end[copy].points for copy in copies]) for end in ends)
    away = np.linalg.norm(best_motion(one, other)(one) - other, axis=1)
    return Group(copies, ends[0], False, (float(away.mean()), float(away.max())))


def _free(foam: Foam, copies: Sequence[Copy], sewn: Sequence[Sewn]) -> float:
    """The share of all edges that nothing is sewn to."""
    joined = {end for joint in sewn for end in ((joint.a, joint.edge_a), (joint.b, joint.edge_b))}
    lengths = [(edge.length, (copy, edge.id) in joined) for copy in copies for edge in foam.part(copy).edges]
    return sum(length for length, held in lengths if not held) / max(sum(length for length, _ in lengths), 1e-9)


def _stiffened(
    foam: Foam, group: Group, others: Sequence[Group], joints: Sequence[Footing]
) -> tuple[Group, list[Standing]]:
    """A bent body with the flat parts that stand in it edge on: they are set on their marks, the foam is drawn to
    them, and so on in turn."""
    inner = []
    for other in others:
        own = [f for f in joints if _between(f, group.copies, other.copies) and _edge_on(f)]
        if len({c for f in own for c in f.copies if c in group.copies}) >= min(2, len(group.copies)):
            inner.append((other, own))
    if not inner or group.net is None or group.rested is None:
        return group, []
    x, placed = group.rested.points, dict(group.placed)
    fits = _first_set(foam, placed, inner, _far(group) * _FRAME)
    for number, hold in enumerate(_STIFFENED):
        frames = {copy: piece.moved(fit.motion) for other, _, fit in fits for copy, piece in other.placed.items()}
        pulls = [(f, max(_REACH, _WIDER * fit.middle)) for _, own, fit in fits for f in own]
        spots, targets, share = _pins(group.net, placed, frames, pulls)
        if not len(targets):
            break
        made = replace(group.net.made, pinned=spots, targets=targets, pin_share=hold * share)
        x = at_rest(made, x, steps=8).points
        placed = group.net.placed(x)
        near = [(other, own, followed(placed, other.placed, own, fit.motion)) for other, own, fit in fits]
        if number == _ANEW:
            ways = _arrows(placed | frames)
            again = [
                fitted(placed, other.placed, own, ways, _read(foam, placed, frames, other, own))
                for other, own, _ in near
            ]
            near = [
                (other, own, min((fit, new or fit), key=lambda f: f.score))
                for (other, own, fit), new in zip(near, again)
            ]
        fits = near
    frames = {copy: piece.moved(fit.motion) for other, _, fit in fits for copy, piece in other.placed.items()}
    sets = []
    for other, own, fit in fits:
        here = {copy: frames[copy] for copy in other.copies}
        told = not left_open(foam, placed, _but(frames, other), here, own)
        sets.append(Standing(other.copies, tuple(own), replace(fit, sure=fit.sure and told)))
    for other, _, fit in fits:
        placed |= {copy: piece.moved(fit.motion) for copy, piece in other.placed.items()}
    copies = (*group.copies, *(copy for s in sets for copy in s.copies))
    held = sum(fit.middle < _HOLDS for _, _, fit in fits) >= _FRAMES
    rested = replace(group.rested, points=x)
    return replace(
        group, copies=copies, placed=placed, closed=group.closed or held, held=not group.closed and held, rested=rested
    ), sets


def _first_set(
    foam: Foam, placed: Mapping[Copy, Placed], inner: Sequence[tuple[Group, list[Footing]]], nearer: float
) -> list[tuple[Group, list[Footing], Fit]]:
    """The flat parts that come within `nearer` mm of their marks, by the middle one of the points; set twice, as what
    stands beside a part may say which way round it goes in."""
    first = [
        (other, own, fitted(placed, other.placed, own, {}, _read(foam, placed, {}, other, own))) for other, own in inner
    ]
    fits = [(other, own, fit) for other, own, fit in first if fit is not None and fit.middle < nearer]
    frames = {copy: piece.moved(fit.motion) for other, _, fit in fits for copy, piece in other.placed.items()}
    again = []
    for other, own, fit in first:
        if looks(foam, frames, other.placed):
            fit = fitted(placed, other.placed, own, {}, _read(foam, placed, frames, other, own))
        if fit is not None and fit.middle < nearer:
            again.append((other, own, fit))
    return again


def _read(
    foam: Foam, placed: Mapping[Copy, Placed], frames: Mapping[Copy, Placed], other: Group, own: Sequence[Footing]
) -> Callable[[Motion], float]:
    return way_round(foam, placed, _but(frames, other), other.placed, own)


def _but(frames: Mapping[Copy, Placed], other: Group) -> dict[Copy, Placed]:
    return {copy: piece for copy, piece in frames.items() if copy not in other.placed}


def _far(group: Group) -> float:
    """The longest side of the box that holds it, as it lies."""
    return float(np.ptp(np.vstack([piece.points for piece in group.placed.values()]), axis=0).max())


def _between(f: Footing, one: Collection[Copy], other: Collection[Copy]) -> bool:
    return (f.lower in one and f.upper in other) or (f.lower in other and f.upper in one)


def _edge_on(f: Footing) -> bool:
    return any(face not in ("inside", "outside") for face in f.faces)


def _pins(
    net: Net, placed: Mapping[Copy, Placed], frames: Mapping[Copy, Placed], pulls: Sequence[tuple[Footing, float]]
) -> tuple[Spots, np.ndarray, np.ndarray]:
    """Points of the bent foam, where the frames draw them to, and the length in mm that each stands for; `pulls` are
    marks and how far off foam is drawn to them."""
    spots, targets, share = [], [], []
    for f, reach in pulls:
        if f.upper in frames and f.lower in net.first:  # the mark is on the foam
            part = placed[f.lower].part
            stands = Foot.of(f, frames[f.upper])
            flat, _ = own_points(f, placed[f.lower], _PIN_SPACING)
            if not len(flat) or stands is None:
                continue
            ways = outward(f, placed[f.lower], frames[f.upper].part.thickness, _PIN_SPACING)
            depth = np.full(len(flat), part.depth(f.mark.inside))
            own = f.lower
            at = placed[own].place(flat, depth)
            goals = stands.nearest(at, ways)
        elif f.lower in frames and f.upper in net.first:  # the foam's edge stands on the frame
            part = placed[f.upper].part
            lines = Lines.of(drawn(f, frames[f.lower]))
            edges = [edge for face in f.faces if (edge := part.edge(face)) is not None]
            if not edges:
                continue
            near = np.vstack([sampled(stretch, _PIN_SPACING) for edge in edges for stretch in edge.stretches])
            flat = np.vstack([near, part.across(near)])
            depth = np.repeat([0.0, part.thickness], len(near))
            own = f.upper
            at = placed[own].place(flat, depth)
            goals = lines.nearest(at)
            reach = _REACH
        else:
            continue
        found = net.spots(own, flat, depth)
        close = np.linalg.norm(goals - at, axis=1) < reach
        spots.append(found[close])
        targets.append(goals[close])
        share.append(np.full(int(close.sum()), _PIN_SPACING / 2))
    if not spots:
        return Spots(np.zeros((0, 3), int), np.zeros((0, 3)), np.zeros(0)), np.zeros((0, 3)), np.zeros(0)
    return joined(spots), np.vstack(targets), np.concatenate(share)


def _set_up(
    foam: Foam, groups: Sequence[Group], joints: Sequence[Footing]
) -> tuple[dict[Copy, Placed], list[Standing]]:
    """From the largest group on, that which shares most marks with what stands already is set next."""
    if not groups:
        return {}, []
    rest = sorted(groups, key=lambda g: -_area(foam, g.copies))
    placed, sets = dict(rest.pop(0).placed), []
    while rest:
        counted = []
        for number, group in enumerate(rest):
            own = [f for f in joints if _between(f, placed.keys(), group.copies)]
            counted.append((-sum(len(line) for f in own for line in f.mark.lines), number, own))
        _, number, own = min(counted, key=lambda c: c[:2])
        if not own:
            break
        group = rest.pop(number)
        fit = fitted(placed, group.placed, own, _arrows(placed))
        if fit is None:
            continue
        sets.append(Standing(group.copies, tuple(own), fit))
        placed |= {copy: piece.moved(fit.motion) for copy, piece in group.placed.items()}
    return placed, sets


def _arrows(placed: Mapping[Copy, Placed]) -> dict[str, np.ndarray]:
    """Which way up and forward are, as the arrows on what stands already agree."""
    found: dict[str, np.ndarray] = {}
    for copy, piece in placed.items():
        for name in piece.part.arrows:
            way = arrow(copy, piece, name)
            if way is not None:
                found[name] = found.get(name, np.zeros(3)) + way
    return {name: way / np.linalg.norm(way) for name, way in found.items() if np.linalg.norm(way) > 0.1}


def _area(foam: Foam, copies: Sequence[Copy]) -> float:
    return sum(ring_area(foam.part(copy).rings) for copy in copies)

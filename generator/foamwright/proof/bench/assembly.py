"""The whole prop on the bench: bodies sewn along their seams, stiffened by what stands in them, set on their marks."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from foamwright.proof.bench.charts import lies_on
from foamwright.proof.bench.fits import Fit, as_it_stands, fitted, turned_by_arrows, turned_round, turned_to
from foamwright.proof.bench.foam import Copy, Foam, Sewn, ring_area
from foamwright.proof.bench.folded import folded
from foamwright.proof.bench.footings import Footing, arrow, footings, own_points
from foamwright.proof.bench.holds import Held, all_held, held
from foamwright.proof.bench.laying import laid
from foamwright.proof.bench.on_edge import stood_on_edge
from foamwright.proof.bench.pieces import Placed, as_cut, plain_sheet
from foamwright.proof.bench.plates import assembled, seam_gap
from foamwright.proof.bench.records import PROP
from foamwright.proof.bench.resting import rested
from foamwright.proof.bench.rigid import STILL, Motion, best_motion
from foamwright.proof.bench.seams import glue
from foamwright.proof.bench.settling import settled
from foamwright.proof.bench.shell import Rested, at_rest
from foamwright.proof.bench.shells import Net, bent_body, stiffened
from foamwright.proof.bench.sides import left_open, looks, way_round

_FRAME = 0.03  # of the body's size: a flat part whose foot is further from its marks, on the whole, is not set in
_UNFIT = 0.5  # mm from its marks at rest, by the middle one of the points: it was set in otherwise than it belongs
_REACH = 1.5  # mm: foam is not drawn to what is further off, and
_WIDER = 4.0  # times as far as the marks of a frame are from it, while they still are
_OPEN = 0.15  # share of a body's edges that may be free: more, and it springs open as far as its foam will
_NARROW = 0.8  # of its thickness: a part whose marks spread no wider stands on one line
_EASED = 2e-4  # share of the energy: plates slide along their marks for less, and move nothing else
_ROUGHLY = 20.0  # times that, while frames hold the foam softly
_STIFFENED = (0.001, 0.01, 0.1, 1.0, 1.0)  # how hard frames hold the foam, beside glue, round by round
_STILL = 0.02  # mm of a round on average: no further one would move it more
_UNSTEADY = 0.5  # the same, of a body that has not come to rest and will not
_ASTRAY, _LOST = (
    1.0,
    10.0,
)  # mm from a mark, of a prop of `PROP` mm, from where another start is tried; and that is lost
_AGREES = 0.99  # cosine between arrows that say the same
_LOOSE = 0.5  # mm between the ends of two starts, from which paper alone does not tell the shape; of the mean


@dataclass(frozen=True, eq=False)
class Group:
    """Copies that are sewn to each other, as they came out. `apart` is the mean and the largest distance between the
    ends of two starts; `bent` tells whether foam had to be bent for it. `finer` is the mean distance by which smaller
    triangles came to lie elsewhere, infinite where the foam was not at rest in the end. What was bent over the model is
    `formed`, and lies in its place."""

    copies: tuple[Copy, ...]
    placed: Mapping[Copy, Placed]
    bent: bool
    apart: tuple[float, float]
    closed: bool = True  # its edges are all joined
    finer: float = 0.0
    net: Net | None = None
    rested: Rested | None = None
    formed: bool = False
    bare: Mapping[Copy, Placed] = field(default_factory=dict)  # its foam before flat parts were set in
    inner: tuple[Group, ...] = ()  # those

    def taken_apart(self) -> tuple[Group, ...]:
        """Its foam as it came out by itself, and what was set in; nothing if nothing was."""
        if not self.inner:
            return ()
        return replace(self, copies=tuple(self.bare), placed=self.bare, bare={}, inner=()), *self.inner

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
    """Everything that could be built. `seams` are the largest gaps of all seams between copies, in mm.

    `pieces` are copies that stand together: a lid that only rests on its box is a piece by itself, and where the two lie
    to each other means nothing. `made` is what came of each of them.
    """

    placed: Mapping[Copy, Placed]
    pieces: tuple[tuple[Copy, ...], ...]
    groups: tuple[Group, ...]
    sets: tuple[Standing, ...]
    seams: tuple[tuple[Sewn, float], ...]
    left: tuple[Copy, ...]  # that nothing on the paper places, or that are bent by what they lie on
    made: Mapping[Whole, tuple[dict[Copy, Placed], list[Standing]]]


# The groups of a piece, the largest first, and the bent copies beside them that are glued to it
Whole = tuple[tuple[Group, ...], tuple[Copy, ...]]


@dataclass(frozen=True, eq=False)
class Bodies:
    """What is sewn up, each by itself, with the flat parts that stand in it; `sets` are those."""

    joints: tuple[Footing, ...]
    groups: tuple[Group, ...]
    sets: tuple[Standing, ...]


def sewn_bodies(foam: Foam) -> Bodies:
    """What seams join to closed rounds, what is folded or bent along a line to one, and flat parts."""
    joints = footings(foam)
    made = ((copy, folded(foam, copy) or stood_on_edge(foam, copy, joints)) for copy in foam.copies)
    rows = {copy: row for copy, row in made if row is not None}
    groups = [Group((copy,), {copy: row}, True, (0.0, 0.0), closed=False) for copy, row in rows.items()]
    without = _covering(foam, joints) | {copy.part for copy in rows}
    groups += [built_alone(foam, copies) for copies in _sewn_together(foam, without)]
    sets: list[Standing] = []
    merged: list[Group] = []
    frames: set[Copy] = set()
    for group in sorted((g for g in groups if g.bent), key=lambda g: -_area(foam, g.copies)):
        stiff, own = _stiffened(foam, group, [g for g in groups if not g.bent and g.copies[0] not in frames], joints)
        frames |= {copy for body in own for copy in body.copies}
        sets += own
        merged.append(stiff)
    merged += [g for g in groups if not g.bent and g.copies[0] not in frames]
    return Bodies(joints, tuple(merged), tuple(sets))


def set_up(foam: Foam, bodies: Bodies, before: Assembly | None = None) -> Assembly:
    """The prop from what is sewn up, body on body. A piece of the same bodies as one of those `before` stands as it did."""
    joints, merged, sets = bodies.joints, bodies.groups, list(bodies.sets)
    placed: dict[Copy, Placed] = {}
    pieces: list[tuple[Copy, ...]] = []
    made: dict[Whole, tuple[dict[Copy, Placed], list[Standing]]] = {}
    for whole in _glued_together(foam, merged):
        known = before.made.get(whole) if before is not None else None
        standing, others = made[whole] = known or _set_up(foam, *whole, joints)
        placed |= standing
        pieces.append(tuple(standing))
        sets += others
    built = [sewn for sewn in foam.sewn if sewn.a in placed and sewn.b in placed]
    seams = [(sewn, seam_gap(placed, g)) for sewn in built if (g := glue(foam, sewn))]
    left = tuple(copy for copy in foam.copies if copy not in placed)
    return Assembly(placed, tuple(pieces), merged, tuple(sets), tuple(seams), left, made)


def sewn_rounds(foam: Foam, copies: Collection[Copy]) -> list[tuple[Copy, ...]]:
    """Those of the copies that seams connect, whether or not they close a round; each by itself that none does."""
    beside: dict[Copy, list[Copy]] = {copy: [] for copy in foam.copies if copy in copies}
    for sewn in foam.sewn:
        if sewn.a in beside and sewn.b in beside:
            beside[sewn.a].append(sewn.b)
            beside[sewn.b].append(sewn.a)
    return _connected(beside)


def _covering(foam: Foam, joints: Sequence[Footing]) -> set[str]:
    """Parts that are bent by those they lie on, face on face. Where lines are drawn on both, the one that is sewn to more others
    is what the other lies on, or the larger."""
    sewn: dict[str, set[str]] = {}
    for joint in foam.sewn:
        sewn.setdefault(joint.a.part, set()).add(joint.b.part)
        sewn.setdefault(joint.b.part, set()).add(joint.a.part)

    def firm(part: str) -> tuple[int, float]:
        return len(sewn.get(part, set()) - {part}), ring_area(foam.parts[part].rings)

    lying = {
        (f.upper.part, f.lower.part)
        for f in joints
        if foam.part(f.upper).bent and foam.part(f.lower).bent and not _edge_on(f) and f.upper.part != f.lower.part
    }
    return {upper for upper, lower in lying if (lower, upper) not in lying or firm(upper) <= firm(lower)}


def _sewn_together(foam: Foam, without: Set[str]) -> list[tuple[Copy, ...]]:
    """Copies that seams connect to a round; bent parts that seams do not close lie as they like and are left out."""
    rounds = []
    for group in sewn_rounds(foam, {copy for copy in foam.copies if copy.part not in without}):
        seams = sum(sewn.a in group and sewn.b in group for sewn in foam.sewn)
        if seams >= len(group) or not any(foam.part(here).bent for here in group):
            rounds.append(group)
    return rounds


def _connected(beside: Mapping[Copy, Sequence[Copy]]) -> list[tuple[Copy, ...]]:
    seen: set[Copy] = set()
    groups = []
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
        groups.append(tuple(group))
    return groups


def built_alone(foam: Foam, copies: tuple[Copy, ...]) -> Group:
    """Copies that are sewn to each other, joined."""
    sewn = [joint for joint in foam.sewn if joint.a in copies and joint.b in copies]
    if any(foam.part(copy).bent for copy in copies):
        body = bent_body(foam, copies, sewn)
        closed = _free(foam, copies, sewn) < _OPEN
        return Group(copies, body.placed, True, body.apart, closed, body.finer, body.net, body.rested)
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
    """A bent body with the flat parts that stand in it edge on: they are set on their marks, then foam and flat parts
    settle together, held to each other along the lines of the marks, in rounds."""
    inner = []
    for other in others:
        own = [f for f in joints if _between(f, group.copies, other.copies) and _edge_on(f)]
        holds = len({c for f in own for c in f.copies if c in group.copies}) >= min(2, len(group.copies))
        if holds and not _standing_on_a_line(foam, group.placed, own):
            inner.append((other, own))
    if not inner or group.net is None or group.rested is None:
        return group, []
    fits = _first_set(foam, dict(group.placed), inner, joints, _far(group) * _FRAME)
    if not fits:
        return group, []
    moved = [{copy: piece.moved(fit.motion) for copy, piece in other.placed.items()} for other, _, fit in fits]
    frames = {copy: piece for body in moved for copy, piece in body.items()}
    marks = [f for _, own, _ in fits for f in own]
    marks += [f for f in joints if f.lower in frames and f.upper in frames and _edge_on(f) and not _one_body(f, fits)]
    holding = [copy for copy in frames if any(copy in f.copies for f in marks)]
    whole = stiffened(group.net, holding)
    x = np.vstack([group.rested.points, *(frames[copy].points for copy in holding)])
    last_step = np.inf
    for strength in _STIFFENED:
        placed = whole.placed(x)
        held_edges = [one for f in marks if (one := held(whole, placed, f)) is not None]
        together = all_held(held_edges, _reaches(held_edges), strength)
        if together is None:
            break
        eases = _EASED if strength == _STIFFENED[-1] else _ROUGHLY * _EASED
        before, x = x, at_rest(whole.made, x, together, steps=8, formed=True, eases=eases).points
        last_step = float(np.linalg.norm(x - before, axis=1).mean())
        if strength == _STIFFENED[-1] and last_step < _STILL:
            break
    if last_step > _UNSTEADY:  # flat parts that foam does not settle on stiffen nothing
        return group, []
    placed = whole.placed(x)
    for body in moved:  # what is sewn up stays as stiff as it is, wherever its plates were drawn to
        stood = [copy for copy in body if copy in placed]
        motion = best_motion(*(np.vstack([of[copy].points for copy in stood]) for of in (body, placed)))
        placed |= {copy: piece.moved(motion) for copy, piece in body.items()}
    sets = []
    for other, own, fit in fits:
        here = {copy: placed[copy] for copy in other.copies}
        standing = {copy: placed[copy] for copy in frames}
        told = not left_open(foam, placed, _but(standing, other), here, own)
        left = [one.away for f in own if (one := held(whole, placed, f)) is not None]
        by_mark = tuple(float(np.median(away)) for away in left)
        # where no edge is within reach of its mark, it stands as it was first set
        away = np.concatenate(left) if left else fit.left
        made = Fit(STILL, away, 0.0, fit.sure and told, by_mark)
        sets.append(Standing(other.copies, tuple(own), made))
    unfit = [s.copies for s in sets if s.fit.middle > _UNFIT]
    if unfit:  # the others hold it better without them
        return _stiffened(foam, group, [other for other in others if other.copies not in unfit], joints)
    copies = (*group.copies, *frames)
    rested = replace(group.rested, points=x)
    finer = max(group.finer, last_step)  # in the last round everything should lie where it did before
    set_in = tuple(other for other, _, _ in fits)
    stiff = replace(group, copies=copies, placed=placed, rested=rested, finer=finer, bare=group.placed, inner=set_in)
    return stiff, sets


def _reaches(held_edges: Sequence[Held]) -> dict[int, float]:
    """How far off marks may be and still hold what stands there, by their numbers: some times as far as they are, but no mark
    draws a part that by its other marks stands nearer."""
    nearest: dict[Copy, float] = {}
    for one in held_edges:
        nearest[one.footing.upper] = min(one.middle, nearest.get(one.footing.upper, np.inf))
    middles = [min(one.middle, _ASTRAY + nearest[one.footing.upper]) for one in held_edges]
    return {number: max(_REACH, _WIDER * middle) for number, middle in enumerate(middles)}


def _one_body(f: Footing, fits: Sequence[tuple[Group, list[Footing], Fit]]) -> bool:
    return any(f.lower in other.placed and f.upper in other.placed for other, _, _ in fits)


def _first_set(
    foam: Foam,
    placed: Mapping[Copy, Placed],
    inner: Sequence[tuple[Group, list[Footing]]],
    joints: Sequence[Footing],
    nearer: float,
) -> list[tuple[Group, list[Footing], Fit]]:
    """The flat parts that come within `nearer` mm of their marks, by the middle one of the points; set twice, as what
    stands beside a part may say which way round it goes in."""
    first = [
        (other, own, fitted(placed, other.placed, own, {}, _read(foam, placed, {}, other, own))) for other, own in inner
    ]
    fits = [(other, own, fit) for other, own, fit in first if fit is not None and fit.middle < nearer]
    frames = {copy: piece.moved(fit.motion) for other, _, fit in fits for copy, piece in other.placed.items()}
    again = []
    arrows = _arrows(placed)
    for other, own, fit in first:
        beside = _but(frames, other)
        both = [*own, *(f for f in joints if _between(f, beside, other.copies) and _edge_on(f))]
        if len(both) > len(own) or looks(foam, frames, other.placed):
            fit = fitted({**placed, **beside}, other.placed, both, {}, _read(foam, placed, frames, other, own))
        if fit is not None and fit.middle < nearer:
            turned = turned_to(placed, other.placed, own, fit, arrows)
            again.append((other, own, replace(turned, sure=fit.sure)))
    return again


def _standing_on_a_line(foam: Foam, placed: Mapping[Copy, Placed], own: Sequence[Footing]) -> bool:
    """Are all marks along one line, so that the part may lean to either side and stiffens nothing?"""
    standing = []
    for f in own:
        if f.lower in placed:
            flat, _ = own_points(f, placed[f.lower])
            standing.append(placed[f.lower].place(flat, np.zeros(len(flat))))
    points = np.vstack([*standing, np.zeros((0, 3))])
    if len(points) < 2:
        return False
    spread = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    thick = max(foam.part(f.upper).thickness for f in own)
    return bool(spread[1] < _NARROW * thick * np.sqrt(len(points)))


def _read(
    foam: Foam, placed: Mapping[Copy, Placed], frames: Mapping[Copy, Placed], other: Group, own: Sequence[Footing]
) -> Callable[[Motion], float]:
    return way_round(foam, placed, _but(frames, other), other.placed, own)


def _but(frames: Mapping[Copy, Placed], other: Group) -> dict[Copy, Placed]:
    return {copy: piece for copy, piece in frames.items() if copy not in other.placed}


def _far(group: Group) -> float:
    """The longest side of the box that holds it, as it lies."""
    return float(np.ptp(np.vstack([piece.points for piece in group.placed.values()]), axis=0).max())


def _telling(joints: Sequence[Footing], standing: Collection[Copy], group: Group) -> list[Footing]:
    """The footings between a group and what stands that tell where it goes: such as only graze are left out, unless it has
    no others at all."""
    own = [f for f in joints if any(c in group.copies for c in f.copies) and not set(f.copies) <= set(group.copies)]
    firm = [f for f in own if not f.grazes] or own
    return [f for f in firm if _between(f, standing, group.copies)]


def _between(f: Footing, one: Collection[Copy], other: Collection[Copy]) -> bool:
    return (f.lower in one and f.upper in other) or (f.lower in other and f.upper in one)


def _edge_on(f: Footing) -> bool:
    return any(face not in ("inside", "outside") for face in f.faces)


def _glued_together(foam: Foam, groups: Sequence[Group]) -> list[Whole]:
    """The groups parted into pieces between which nothing is glued."""
    owner = {copy: number for number, group in enumerate(groups) for copy in group.copies}
    ends = [(touch.a, touch.b) for touch in foam.touches if touch.glued]
    others = {copy: len(owner) + k for k, copy in enumerate(c for c in foam.copies if c not in owner)}
    number = owner | others
    rows, columns = ([number[end[k]] for end in ends if end[0] in number and end[1] in number] for k in range(2))
    size = len(owner) + len(others)
    links = sparse.coo_matrix((np.ones(len(rows)), (rows, columns)), shape=(size, size))
    of = connected_components(links, directed=False)[1]
    found: dict[int, list[Group]] = {}
    for group in sorted(groups, key=lambda g: -_area(foam, g.copies)):
        found.setdefault(int(of[owner[group.copies[0]]]), []).append(group)
    bent = [copy for copy in others if foam.part(copy).bent]
    return [(tuple(own), tuple(copy for copy in bent if of[others[copy]] == piece)) for piece, own in found.items()]


def _set_up(
    foam: Foam, groups: Sequence[Group], bent: Sequence[Copy], joints: Sequence[Footing]
) -> tuple[dict[Copy, Placed], list[Standing]]:
    """From the largest group on. Where that leads astray by the marks themselves, as from foam on which a part may slide, from
    the largest of the other sort, flat or bent; and where it leads to nothing that foam is bent over which is left then, from
    the largest of that. Kept is what agrees best. How something fits on one body alone does not change with where that stands."""
    firsts = [groups[0], *[group for group in groups if group.bent != groups[0].bent][:1]]
    found = []
    astray = _ASTRAY * max(1.0, _far(groups[0]) / PROP)
    for number, first in enumerate(firsts):
        placed, sets = _set_up_from(foam, first, [g for g in groups if g is not first], bent, joints)
        off = {s: max(s.fit.by_mark, default=0.0) for s in sets}
        found.append((-len(placed), sum(min(far, _LOST) for far in off.values()), placed, sets))
        loose = [copy for copy in bent if copy not in placed]
        under = [group for group in groups if any(lies_on(foam, copy, group.placed) for copy in loose)]
        if number == 0 and under and not any(group.copies[0] in placed for group in under):
            firsts[1:] = under[:1]
        elif max((far for s, far in off.items() if not _on_one(s, groups)), default=0.0) <= astray:
            break
    _, _, placed, sets = min(found, key=lambda one: one[:2])
    return placed, sets


def _on_one(standing: Standing, groups: Sequence[Group]) -> bool:
    """Do all marks that it stands by join it to one body?"""
    below = {copy for f in standing.joints for copy in f.copies} - set(standing.copies)
    return any(below <= set(group.copies) for group in groups)


def _set_up_from(
    foam: Foam, first: Group, others: Sequence[Group], bent: Sequence[Copy], joints: Sequence[Footing]
) -> tuple[dict[Copy, Placed], list[Standing]]:
    """That which shares most marks with what stands already is set next; where none does, foam is `bent` over what stands,
    and so on."""
    rest, loose = list(others), list(bent)
    groups = [first, *others]
    placed, sets = dict(first.placed), []
    _turn_frames(foam, placed, [first.copies], joints)
    if first.formed:
        sets += _beside(placed, rest, joints, STILL)
    while True:
        fresh = _all_set(foam, placed, rest, joints, [group.copies for group in groups])
        sets += _settled(foam, placed, groups, fresh, joints)
        over = _all_laid(foam, placed, loose, joints)
        if not over:
            return placed, sets
        sets += over


def _settled(
    foam: Foam, placed: dict[Copy, Placed], groups: Sequence[Group], sets: Sequence[Standing], joints: Sequence[Footing]
) -> list[Standing]:
    """What was set last, once all of it and what it stands on have settled together; kept in `placed` if the marks agree
    better then. What only grazes, or lies on bent foam, goes with what it is set on."""
    fresh = {copy for standing in sets for copy in standing.copies}
    formed = {copy for group in groups if group.formed for copy in group.copies} & fresh
    bodies = [[copy for copy in placed if copy not in fresh], [copy for copy in placed if copy in formed]]
    bodies += [list(standing.copies) for standing in sets if not set(standing.copies) <= formed]
    for standing in sets:  # what was pressed on bent foam goes with that
        lying = [
            f for f in standing.joints if f.upper in standing.copies and foam.part(f.lower).bent and not _edge_on(f)
        ]
        if lying:
            own = next(body for body in bodies if standing.copies[0] in body)
            below = next(body for body in bodies if lying[0].lower in body)
            if own is not below:
                bodies.remove(own)
                below += own
    firm = [f for f in joints if not f.grazes]
    bodies = [body for number, body in enumerate(bodies) if body or number == 0]
    there = settled(placed, bodies, firm)
    made = []
    for standing in sets:
        here = {copy: there[copy] for copy in standing.copies}
        others = {copy: piece for copy, piece in there.items() if copy not in here}
        by_mark = as_it_stands(others, here, standing.joints)
        made.append(replace(standing, fit=replace(standing.fit, left=np.array(by_mark or (0.0,)), by_mark=by_mark)))
    if sum(max(s.fit.by_mark, default=0.0) for s in made) > sum(max(s.fit.by_mark, default=0.0) for s in sets):
        return list(sets)
    placed |= there
    return made


def _beside(placed: dict[Copy, Placed], rest: list[Group], joints: Sequence[Footing], motion: Motion) -> list[Standing]:
    """All others that were bent over the model lie beside one that was, as there; both are kept up to date."""
    sets = []
    for group in [group for group in rest if group.formed]:
        rest.remove(group)
        own = tuple(f for f in joints if _between(f, placed.keys(), group.copies))
        here = {copy: piece.moved(motion) for copy, piece in group.placed.items()}
        if by_mark := as_it_stands(placed, here, own):
            sets.append(Standing(group.copies, own, Fit(STILL, np.array(by_mark), 0.0, True, by_mark)))
        placed |= here
    return sets


def _all_laid(foam: Foam, placed: dict[Copy, Placed], rest: list[Copy], joints: Sequence[Footing]) -> list[Standing]:
    """Those of `rest` that lie on what is `placed`, bent over it; both are kept up to date."""
    sets = []
    for copy in list(rest):
        touched = [t for t in foam.touches if t.glued and copy in (t.a, t.b) and (t.on_a if t.a == copy else t.on_b)]
        below = {t.b if t.a == copy else t.a for t in touched}
        bound = {f.lower for f in joints if f.upper == copy} | {f.upper for f in joints if f.lower == copy}
        if not below & placed.keys() or not bound & placed.keys():
            continue
        made = laid(foam, copy, placed, joints, _arrows(placed))
        if made is None:
            continue
        rest.remove(copy)
        placed[copy], by_mark = made
        own = tuple(f for f in joints if copy in f.copies and all(c in placed for c in f.copies))
        sets.append(Standing((copy,), own, Fit(STILL, np.array(by_mark or (0.0,)), 0.0, True, by_mark)))
    return sets


def _rides(group: Group, joints: Sequence[Footing]) -> bool:
    """Does it share marks with one copy of all others alone?"""
    beside = {copy for f in joints for copy in f.copies if set(f.copies) & set(group.copies)}
    return len(beside - set(group.copies)) == 1


def _all_set(
    foam: Foam,
    placed: dict[Copy, Placed],
    rest: list[Group],
    joints: Sequence[Footing],
    bodies: Sequence[Sequence[Copy]],
) -> list[Standing]:
    """Those of `rest` whose marks lead to what is `placed`, set there; both are kept up to date.

    First comes that of whose marks most do, by their lengths: what stands on six others is best set when these stand.
    What rides on one other alone says nothing of when that is set."""
    sets: list[Standing] = []
    # of hundreds of groups each shares marks with a few
    shared = {group: [f for f in joints if not set(f.copies).isdisjoint(group.copies)] for group in rest}
    every = {copy for group in rest for copy in group.copies if not _rides(group, shared[group])}
    known: dict[Group, tuple[float, float, list[Footing]]] = {}
    seen: set[Copy] = set()
    while rest:
        fresh, seen = placed.keys() - seen, set(placed)
        for group in rest:
            if group not in known or any(not fresh.isdisjoint(f.copies) for f in shared[group]):
                own = _telling(shared[group], placed.keys(), group)
                open_ = [f for f in shared[group] if _between(f, every, group.copies)]
                here, all_ = (
                    sum(f.mark.run for f in some) for some in (own, [*own, *(f for f in open_ if f not in own)])
                )
                known[group] = -round(here / all_, 3) if here else 1.0, -here, own
        group = min(rest, key=lambda group: known[group][:2])
        own = known[group][2]
        if not own:
            break
        rest.remove(group)
        lone = len(group.copies) == 1 and not group.bent
        below = {copy for f in own for copy in f.copies if copy in placed}
        body = {copy: placed[copy] for whole in bodies if below & set(whole) for copy in whole if copy in placed}
        read = _read(foam, body or placed, placed, group, own) if lone else None
        fit = fitted(placed, group.placed, own, _arrows(placed), read)
        if fit is None:
            continue
        if fit.middle > _UNFIT:
            fit = _set_otherwise(foam, placed, group, own, fit, joints, sets)
        placed |= {copy: piece.moved(fit.motion) for copy, piece in group.placed.items()}
        _turn_frames(foam, placed, bodies, joints)
        if lone:
            (copy,) = group.copies
            others = {other: piece for other, piece in placed.items() if other != copy}
            if (down := rested(foam, copy, placed[copy], others, own)) is not None:
                placed[copy], by_mark = down
                fit = replace(fit, left=np.array(by_mark), by_mark=by_mark)
        sets.append(Standing(group.copies, tuple(own), fit))
        if group.formed:
            sets += _beside(placed, rest, joints, fit.motion)
    return sets


def _turn_frames(
    foam: Foam, placed: dict[Copy, Placed], bodies: Sequence[Sequence[Copy]], joints: Sequence[Footing]
) -> None:
    """Flat parts that stand in bent bodies, in `placed`, turned as their own arrows say, once those of other parts tell what
    that means: a lid in a tube without arrows fits every way round. What has something on it by now stays."""
    for body in bodies:
        bent = body[0] in placed and foam.part(body[0]).bent
        frames = [copy for copy in body if bent and not foam.part(copy).bent]
        while frames:  # first that which fits both ways alike: it tells the others nothing
            told = _pointing(placed)
            turns = {copy: _turn(placed, copy, told, body, joints) for copy in frames}
            copy = min(frames, key=lambda copy: turns[copy][1])
            frames.remove(copy)
            placed[copy] = placed[copy].moved(turns[copy][0])


def _turn(
    placed: Mapping[Copy, Placed],
    copy: Copy,
    told: Mapping[str, np.ndarray],
    body: Sequence[Copy],
    joints: Sequence[Footing],
) -> tuple[Motion, float]:
    """How a flat copy in a body is turned as the arrows of all others say, and by how much worse it fits then, in mm; `told`
    are the arrows of all."""
    own = {name: way for name in ("up", "forward") if (way := arrow(copy, placed[copy], name)) is not None}
    arrows = _agreed({name: way - own.get(name, 0.0) for name, way in told.items()}) if own else {}
    if all(float(own[name] @ arrows[name]) > _AGREES for name in own.keys() & arrows.keys()):
        return STILL, 0.0
    if any(copy in f.copies and not set(f.copies) <= set(body) and set(f.copies) <= placed.keys() for f in joints):
        return STILL, 0.0
    inner = [f for f in joints if copy in f.copies and set(f.copies) <= set(body)]
    beside = {other: placed[other] for f in inner for other in f.copies if other != copy}
    return turned_by_arrows(beside, {copy: placed[copy]}, inner, arrows)


def _set_otherwise(
    foam: Foam,
    placed: dict[Copy, Placed],
    group: Group,
    own: Sequence[Footing],
    fit: Fit,
    joints: Sequence[Footing],
    sets: list[Standing],
) -> Fit:
    """A group that does not fit what it stands on: the flat parts below it, which may have been set the wrong way round,
    are turned, all copies of one part together, or set once more with its marks as well. Kept, in `placed` and `sets`,
    where it fits then."""
    moved = {copy: piece.moved(fit.motion) for copy, piece in group.placed.items()}
    below = {copy for f in own for copy in f.copies if copy in placed}
    lone = [n for n, s in enumerate(sets) if len(s.copies) == 1 and s.copies[0] in below]
    lone = [number for number in lone if not foam.part(sets[number].copies[0]).bent]
    if len(lone) < max(2, len(below)):
        return fit  # what else it stands on would hold it where it is
    for part in dict.fromkeys(sets[number].copies[0].part for number in lone):
        turned = _turned(placed, sets, [number for number in lone if sets[number].copies[0].part == part])
        there = {**placed, **{copy: piece for _, pieces in turned.values() for copy, piece in pieces.items()}}
        other = fitted(there, group.placed, own, _arrows(there)) if turned else None
        if other is not None and other.middle <= _UNFIT:
            return _kept(placed, sets, there, {number: standing for number, (standing, _) in turned.items()}, other)
    again = dict(placed)
    made: dict[int, Standing] = {}
    for number in lone:
        standing = sets[number]
        (copy,) = standing.copies
        others = {**{other: piece for other, piece in again.items() if other != copy}, **moved}
        by = [f for f in joints if _between(f, others.keys(), (copy,))]
        if (better := fitted(others, {copy: again[copy]}, by)) is not None:
            again[copy] = again[copy].moved(better.motion)
            made[number] = Standing(standing.copies, standing.joints, better)
    other = fitted(again, group.placed, own) if made else None
    if other is None or other.middle > _UNFIT:
        return fit
    return _kept(placed, sets, again, made, other)


def _kept(
    placed: dict[Copy, Placed],
    sets: list[Standing],
    again: Mapping[Copy, Placed],
    made: Mapping[int, Standing],
    fit: Fit,
) -> Fit:
    placed |= again
    for number, standing in made.items():
        sets[number] = standing
    return fit


def _turned(
    placed: Mapping[Copy, Placed], sets: Sequence[Standing], numbers: Sequence[int]
) -> dict[int, tuple[Standing, dict[Copy, Placed]]]:
    """Single copies by the numbers of their `sets`, turned half round on their marks; those that fit there as well."""
    turned = {}
    for number in numbers:
        standing = sets[number]
        (copy,) = standing.copies
        others = {other: piece for other, piece in placed.items() if other != copy}
        by = [f for f in standing.joints if f.copies != (copy, copy) and set(f.copies) - {copy} <= others.keys()]
        if (fit := turned_round(others, {copy: placed[copy]}, by)) is not None:
            turned[number] = replace(standing, fit=fit), {copy: placed[copy].moved(fit.motion)}
    return turned


def _arrows(placed: Mapping[Copy, Placed]) -> dict[str, np.ndarray]:
    """Which way up and forward are, as the arrows on what stands already agree."""
    return _agreed(_pointing(placed))


def _pointing(placed: Mapping[Copy, Placed]) -> dict[str, np.ndarray]:
    """The sums (3,) of all arrows of one name."""
    arrows: dict[str, np.ndarray] = {}
    for copy, piece in placed.items():
        for name in piece.part.arrows[copy.number - 1]:
            direction = arrow(copy, piece, name)
            if direction is not None:
                arrows[name] = arrows.get(name, np.zeros(3)) + direction
    return arrows


def _agreed(arrows: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    return {
        name: direction / np.linalg.norm(direction)
        for name, direction in arrows.items()
        if np.linalg.norm(direction) > 0.1
    }


def _area(foam: Foam, copies: Sequence[Copy]) -> float:
    return sum(ring_area(foam.part(copy).rings) for copy in copies)

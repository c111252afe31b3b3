"""What is built apart and is set on something else without glue, when all is done."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from math import inf

import igl
import numpy as np
from scipy.cluster.hierarchy import DisjointSet

from foamwright.assembly import hung_where, on_bars
from foamwright.assembly.bodies import Bodies, axis_of, surface, swinging
from foamwright.assembly.naming import all_of, capital
from foamwright.assembly.records import StepMove
from foamwright.assembly.taking_apart import Move
from foamwright.assembly.units import is_bare
from foamwright.assembly.ways_in import Ways
from foamwright.assembly.work import recorded
from foamwright.language import count, length, listed, say
from foamwright.parts.records import Piece, RodBody

_UP = (0.0, 0.0, 1.0)
_STRAIGHT_UP = ((_UP, inf),)
_CARRIES = 0.2  # of a direction off a face, upwards, so that something rests on it
_NEAR = 6.0  # times the padding, within which what is not padded is still meant to be carried
_STEEP = 0.7  # of a direction, as a cosine, from which a bar stands and does not lie
_EDGES = 0.5  # share of a contact at a broad face: less, and it is edges that meet
_ALMOST = 0.1  # of a layer of padding that may be wanting to a whole one
_FEW = 4  # places that tell of a gap
_EVEN = 1.5  # mm between gaps that are told as one


def set_down(ways: Ways, things: Collection[int], built_in: Mapping[str, int]) -> list[str]:
    """The sentences for everything that rests on something else, for when all has cured; `things` are the copies that
    are built together, as bits, `built_in` by part the step that it goes in."""
    lines: dict[str, None] = {}  # twins are told once
    for upper, pairs in _set_last(ways.bodies, things):
        if not _hangs(ways.bodies, pairs):
            lines |= dict.fromkeys(_sentences(ways, upper, pairs, built_in))
    return list(lines)


def hung(bodies: Bodies, things: Collection[int], by: Mapping[str, str]) -> dict[str, str]:
    """By part that hangs from something else the sentence for it, for when all has cured; `by` has for such parts what is
    bought to hang them by, in words."""
    last = [(upper, pairs) for upper, pairs in _set_last(bodies, things) if _hangs(bodies, pairs)]
    alike: dict[str, list[tuple[int, int]]] = {}
    for _, pairs in last:
        for a, b in pairs:
            alike.setdefault(bodies.pieces[a].id, []).append((a, b))
    return {
        bodies.pieces[a].id: _hung(bodies, upper, pairs, by, alike[bodies.pieces[a].id])
        for upper, pairs in last
        for a, _ in pairs
    }


def _hangs(bodies: Bodies, pairs: Sequence[tuple[int, int]]) -> bool:
    """Does the first of each pair hang from the second?"""
    return all(bodies.pieces[b].id in bodies.pieces[a].hangs_from for a, b in pairs)


def _hung(
    bodies: Bodies,
    upper: int,
    pairs: Sequence[tuple[int, int]],
    bought: Mapping[str, str],
    alike: Sequence[tuple[int, int]],
) -> str:
    """How a thing is hung up, and where; `alike` are the pairs of all copies of its part."""
    how = _hung_by(bodies, upper, pairs, bought)
    first = [pair for pair in alike if bodies.pieces[pair[1]].id == bodies.pieces[alike[0][1]].id]
    return " ".join([how, *hung_where.where(bodies, first, all_of(_pieces(bodies, [b for _, b in first])))])


def _hung_by(bodies: Bodies, upper: int, pairs: Sequence[tuple[int, int]], bought: Mapping[str, str]) -> str:
    by = [bought[piece.id] for piece in _pieces(bodies, [a for a, _ in pairs]) if piece.id in bought]
    facts = {"parts": _with_all(bodies, upper, pairs, {}), "below": all_of(_pieces(bodies, [b for _, b in pairs]))}
    apart = len(held_together(bodies, _copies(bodies, upper)))
    if by:
        return count(
            "Hang {parts} from {below} by this: {by}. It must swing freely, and hold when you pull at it gently.",
            "Hang {parts} from {below} by this: {by}. Each must swing freely, and hold when you pull at it gently.",
            apart,
            by=listed(list(dict.fromkeys(by))),
            **facts,
        )
    return count(
        "Hang {parts} from {below}, without glue. It must swing freely, and hold when you pull at it gently.",
        "Hang {parts} from {below}, without glue. Each must swing freely, and hold when you pull at it gently.",
        apart,
        **facts,
    )


def loose(ways: Ways, things: Collection[int]) -> list[str]:
    """For whoever uses the prop, between which parts there is no glue: what comes off, what hangs, what turns, and what
    is built together and may move."""
    bodies = ways.bodies
    carried: dict[int, list[tuple[int, int]]] = {}
    for upper, pairs in _carried(bodies, things):
        carried[upper] = [*carried.get(upper, ()), *pairs]
    lines = [_free(ways, upper, pairs) for upper, pairs in carried.items()]
    built = {
        copy: (thing, group)
        for thing in things
        for group in held_together(bodies, _copies(bodies, thing))
        for copy in _copies(bodies, group)
    }
    beside: dict[str, list[int]] = {}
    turning: dict[str, list[tuple[int, int]]] = {}
    for a, b in bodies.touches:
        together = a in built and b in built and built[a][0] == built[b][0]
        if together and built[a] != built[b] and _moves_in(bodies, a, b):
            if on_bars.is_bar(bodies, a) and on_bars.in_holes(bodies, [(a, b)]) is not None:
                turning.setdefault(bodies.pieces[a].id, []).append((a, b))
            else:
                beside.setdefault(bodies.pieces[a].id, []).append(b)
    lines += [
        say(
            "No glue holds {parts} in the holes of {others}: one turns in the other. {kept}",
            parts=all_of(_pieces(bodies, [a for a, _ in pairs])),
            others=all_of(_pieces(bodies, [b for _, b in pairs])),
            kept=on_bars.kept_on(ways, pairs),
        )
        for pairs in turning.values()
    ]
    lines += [
        say(
            "No glue holds {parts} to {others}, and none should: one of them turns, slides or comes off.",
            parts=all_of(_pieces(bodies, bodies.of(part))),
            others=all_of(_pieces(bodies, others)),
        )
        for part, others in beside.items()
    ]
    return list(dict.fromkeys(lines))


def _free(ways: Ways, upper: int, pairs: list[tuple[int, int]]) -> str:
    """How the copies `upper`, as bits, are carried without glue where the `pairs` meet."""
    bodies = ways.bodies
    parts, below = _with_all(bodies, upper, pairs, {}), all_of(_pieces(bodies, [b for _, b in pairs]))
    if _hangs(bodies, pairs):
        return say("No glue holds {parts} to {below}: what hangs there can be taken down.", parts=parts, below=below)
    facts = {"parts": parts, "below": below}
    if on_bars.in_holes(bodies, pairs) is not None:
        if all(on_bars.in_slot(bodies, *pair) for pair in pairs):
            return say("No glue holds {parts} in the slots of {below}: it turns there, and can be lifted out.", **facts)
        kept = on_bars.kept_on(ways, pairs)
        return say("No glue holds {parts} in the holes of {below}: it turns there. {kept}", kept=kept, **facts)
    if on_bars.sits_on(bodies, pairs) is not None:
        kept = on_bars.kept_on(ways, pairs)
        return say("No glue holds {parts} on {below}: it turns there. {kept}", kept=kept, **facts)
    return say("No glue holds {parts} to {below}: take it off before you carry or clean the prop.", **facts)


def _moves_in(bodies: Bodies, a: int, b: int) -> bool:
    """Is the first of two copies that touch without glue told of, as a bar in its hole, else what the design names later?"""
    bars = [isinstance(bodies.pieces[copy].body, RodBody) for copy in (a, b)]
    return bars[0] if bars[0] != bars[1] else a > b


def moves(ways: Ways, things: Collection[int]) -> tuple[StepMove, ...]:
    """How it comes off again: along a bar that goes through holes, straight up, or as it can where what it rests on stands above
    it too; of twins, which have the same parts, the first."""
    bodies = ways.bodies
    found: dict[tuple[str, ...], StepMove] = {}
    for upper, pairs in _set_last(bodies, things):
        copies = tuple(_copies(bodies, upper))
        along = _along_bar(bodies, pairs)
        parts = tuple(sorted(bodies.pieces[copy].id for copy in copies))
        if parts in found:
            continue
        if along is None:
            below = [thing for thing in things if any(thing >> b & 1 for _, b in pairs)]
            legs = _off(ways, copies, bodies.mask(copy for thing in below for copy in _copies(bodies, thing)))
        else:
            bar = pairs[0][0] if on_bars.is_bar(bodies, pairs[0][0]) else pairs[0][1]
            legs = ((_on_the_side_of(bodies, copies, bar, along), inf),)
        found[parts] = StepMove(copies, legs)
    return tuple(found.values())


def past_what_stands(ways: Ways, things: Collection[int], moves: Sequence[Move], standing: int) -> tuple[StepMove, ...]:
    """The moves of a step. The way of what is only laid on something else was found without that: where something of it stands
    above, it goes in as it can past all that is `standing`, as bits."""
    found = []
    for move, told in zip(moves, recorded(moves), strict=True):
        below = [thing for thing in things if ways.touches_of(move.copies, standing & thing)]
        if below and not move.own & standing:
            legs = _off(
                ways,
                move.copies,
                ways.bodies.mask(c for thing in below for c in _copies(ways.bodies, thing)) & standing,
            )
            told = told if legs == _STRAIGHT_UP else replace(told, outwards=legs)
        found.append(told)
    return tuple(found)


def _off(ways: Ways, copies: tuple[int, ...], standing: int) -> tuple[tuple[tuple[float, float, float], float], ...]:
    """The legs of a way off what is `standing`, as bits: up, unless something that it does not touch is above it and there is
    another way."""
    touching = [touch.b for touch in ways.touches_of(copies, standing)]
    touched, opening = ways.bodies.mask({*touching}), swinging(ways.bodies)
    for copy in touching:
        standing &= ~opening[copy]
    roof = ways.met_by(*ways.bodies.mesh(copies), _UP) & standing & ~touched & ~ways.bodies.mask(copies)
    way = ways.free(copies, standing) if roof else None
    if way is None or way.bend is not None or way.laid:
        return _STRAIGHT_UP
    return tuple((leg.towards, leg.travel) for leg in way.legs)


def _set_last(bodies: Bodies, things: Collection[int]) -> Iterator[tuple[int, list[tuple[int, int]]]]:
    """Each thing that rests on another or hangs from it, with the pairs of copies; what rests and is not glued within itself
    has a step of its own."""
    for upper, pairs in _carried(bodies, things):
        if _hangs(bodies, pairs) or any(bodies.pieces[a].glue != "none" or bodies.pieces[a].padding for a, _ in pairs):
            yield upper, pairs


def tried_on(
    bodies: Bodies,
    things: Collection[int],
    fresh: Collection[str],
    done: Collection[str],
    built_in: Mapping[str, int],
) -> list[str]:
    """What is set on something else dry before both are painted, each by itself: in the step that paints some of it, `fresh`,
    when all of it is at hand, `done`; until then, what of the lower one stays without paint for it. `built_in` has by part the
    step that it goes in."""
    lines: dict[str, None] = {}
    for upper, pairs in _carried(bodies, things):
        apart = len(held_together(bodies, _copies(bodies, upper)))  # two strings of one part are two things to lay on
        above, below = _pieces(bodies, [a for a, _ in pairs]), _pieces(bodies, [b for _, b in pairs])
        ids = {piece.id for piece in (*above, *below)}
        # it is set on as it is in the end
        ids |= {bodies.pieces[a].id for a in _copies(bodies, upper) if not is_bare(bodies.pieces[a])}
        if not ids & {*fresh} or _hangs(bodies, pairs):
            continue
        if any(is_bare(piece) for piece in (*above, *below)) or on_bars.in_holes(bodies, pairs) is not None:
            continue
        sits_in = all(stands_up(bodies, a) or goes_in(bodies, a, b) for a, b in pairs)
        if not ids <= {*done}:
            seat = [piece for piece in below if piece.id in fresh]
            if seat and not sits_in and not any(piece.padding for piece in above):
                lines[_seat_line(above, seat)] = None
            continue
        if any(piece.padding for piece in above):
            text = say(
                "Paint {below} apart from {parts}: nothing is glued there, and one is set on the other when all is dry.",
                below=all_of(below),
                parts=all_of(above),
            )
        elif sits_in:
            text = count(
                "First try {parts} in its place in {below}, dry: it must go in and come out "
                "freely. Take it out again and paint it beside the rest.",
                "First try {parts} in their places in {below}, dry: they must go in and come "
                "out freely. Take them out again and paint them beside the rest.",
                apart,
                parts=_with_all(bodies, upper, pairs, built_in),
                below=all_of(below),
            )
        else:
            text = count(
                "First set {parts} on {below}, dry. It must lie without rocking; sand the edge "
                "that it rests on where it rocks. Take it off again: paint the two beside each other, never one on the other, "
                "and keep paint off the faces that will lie on each other, as painted foam sticks to painted foam.",
                "First set {parts} on {below}, dry. Each must lie without rocking; sand the "
                "edge that it rests on where it rocks. Take them off again: paint them beside what they rest on, never on it, "
                "and keep paint off the faces that will lie on each other, as painted foam sticks to painted foam.",
                apart,
                parts=_with_all(bodies, upper, pairs, built_in),
                below=all_of(below),
            )
        lines[text] = None
    return list(lines)


def _with_all(bodies: Bodies, upper: int, pairs: Sequence[tuple[int, int]], built_in: Mapping[str, int]) -> str:
    """The copies `upper`, as bits, by the parts with which they rest where the `pairs` meet."""
    several = _built_alike(bodies, upper, built_in)
    above = all_of(_pieces(bodies, [a for a, _ in pairs]))
    more = len(_copies(bodies, upper)) > len({a for a, _ in pairs})
    return several or (say("{parts}, with all that is glued on,", parts=above) if more else above)


def _built_alike(bodies: Bodies, upper: int, built_in: Mapping[str, int]) -> str:
    """The copies `upper`, as bits, where they make several things alike, as crates of slats: nobody counts their slats any more.
    "" for others."""
    groups = alike(bodies, _copies(bodies, upper))
    pieces = _pieces(bodies, groups[0]) if groups else []
    if not groups or not all(piece.id in built_in for piece in pieces):
        return ""
    return say(
        "the {n} that you built alike in step {step} ({labels})",
        n=len(groups),
        step=max(built_in[piece.id] for piece in pieces),
        labels=listed([piece.label for piece in pieces]),
    )


def alike(bodies: Bodies, copies: Collection[int]) -> list[list[int]]:
    """The copies of each of several things that are put together from as many copies of the same parts, none of them the mirror
    image of another; empty for others."""
    groups = [_copies(bodies, mask) for mask in held_together(bodies, copies)]
    made = [sorted((bodies.pieces[copy].id, _is_mirrored(bodies, copy)) for copy in group) for group in groups]
    return groups if len(groups) > 1 and len(made[0]) > 1 and all(each == made[0] for each in made) else []


def _is_mirrored(bodies: Bodies, copy: int) -> bool:
    piece = bodies.pieces[copy]
    return piece.placements[bodies.of(piece.id).index(copy)].mirrored


def _seat_line(above: Sequence[Piece], seat: Sequence[Piece]) -> str:
    return say(
        "Keep paint off {seat} where {parts} will rest later, as painted foam sticks to painted foam.",
        seat=all_of(seat),
        parts=all_of(above),
    )


def held_together(bodies: Bodies, copies: Collection[int]) -> list[int]:
    """Copies that glue holds together, as bits: they come off each other first, a lid with all that is glued to it."""
    groups = DisjointSet(copies)
    for a, b in bodies.touches:
        if bodies.touches[a, b].glued and a in groups and b in groups:
            groups.merge(a, b)
    return [bodies.mask(group) for group in groups.subsets()]


def stands_up(bodies: Bodies, copy: int) -> bool:
    """Is a copy a bar that stands, as a mast does?"""
    return isinstance(bodies.pieces[copy].body, RodBody) and abs(float(axis_of(bodies, copy)[1][2])) > _STEEP


def goes_in(bodies: Bodies, copy: int, other: int) -> bool:
    """Does a copy sit in another by its edges, as a door does in its hole, and not on it?"""
    touch = bodies.touches.get((copy, other))
    if touch is None or max(touch.broad) > _EDGES:
        return False
    points, middle = bodies.mesh((other,))[0], bodies.spheres[copy, :3]
    return bool((middle > points.min(axis=0)).all() and (middle < points.max(axis=0)).all())


def _carried(bodies: Bodies, things: Collection[int]) -> Iterator[tuple[int, list[tuple[int, int]]]]:
    """Each thing that rests on another or hangs from it, with the pairs of copies of which the second carries the first."""
    for upper in things:
        for lower in things:
            pairs = _resting(bodies, upper, lower) if upper != lower else []
            if pairs:
                yield upper, pairs


def _resting(bodies: Bodies, upper: int, lower: int) -> list[tuple[int, int]]:
    """The pairs of copies of which the second carries the first: those that touch, else all that are to."""
    pairs = [
        (a, b)
        for a in _copies(bodies, upper)
        for b in _copies(bodies, lower)
        if bodies.pieces[b].id in bodies.pieces[a].carried_by
    ]
    return [pair for pair in pairs if pair in bodies.touches] or pairs


def _along_bar(bodies: Bodies, pairs: Sequence[tuple[int, int]]) -> np.ndarray | None:
    """The way (3,) along the bar that something is pushed on to, or along itself into holes; None for what is set down."""
    along = on_bars.in_holes(bodies, pairs)
    if along is not None and all(on_bars.in_slot(bodies, *pair) for pair in pairs):
        return None
    return along if along is not None else on_bars.sits_on(bodies, pairs)


def _on_the_side_of(bodies: Bodies, copies: Collection[int], bar: int, along: np.ndarray) -> tuple[float, float, float]:
    """Along a bar, out at the end where what sits on it is: that does not go through the holes."""
    off = (bodies.spheres[list(copies), :3].mean(axis=0) - bodies.spheres[bar, :3]) @ along
    x, y, z = (along if off >= 0.0 else -along).tolist()
    return x, y, z


def _copies(bodies: Bodies, mask: int) -> list[int]:
    return [copy for copy in range(len(bodies)) if mask >> copy & 1]


def _sentences(ways: Ways, upper: int, pairs: list[tuple[int, int]], built_in: Mapping[str, int]) -> list[str]:
    """How the copies `upper`, as bits, are set on something else where the `pairs` meet."""
    bodies = ways.bodies
    above, below = _pieces(bodies, [a for a, _ in pairs]), _pieces(bodies, [b for _, b in pairs])
    padding = max(piece.padding for piece in above)
    facts = {"parts": all_of(above), "below": all_of(below)}
    if on_bars.in_holes(bodies, pairs) is not None:
        if all(on_bars.in_slot(bodies, *pair) for pair in pairs):
            return [say("Lay {parts} in the slots of {below}, without glue: it must turn freely.", **facts)]
        return [say("Push {parts} through the holes of {below}, without glue: it must turn freely.", **facts)]
    if on_bars.sits_on(bodies, pairs) is not None:
        n = len({a for a, _ in pairs})
        return [
            count(
                "Slip {parts} on to {below}, without glue: it must turn freely. {kept}",
                "Slip {parts} on to {below}, without glue: each must turn freely. {kept}",
                n,
                kept=on_bars.kept_on(ways, pairs),
                **facts,
            )
        ]
    several = _built_alike(bodies, upper, built_in)
    if several and not padding:
        return [
            say("Put {parts} on {below}, without glue: they must come off freely.", parts=several, below=all_of(below))
        ]
    if not padding:
        whole = len(_pieces(bodies, _copies(bodies, upper))) > len(above)
        n = sum(len(piece.placements) for piece in above)
        return [
            count(
                "Now set down what you have built apart, all in one piece: {parts} rests on {below}, without glue. It must "
                "come off freely.",
                "Now set down what you have built apart, all in one piece: {parts} rest on {below}, without glue. It must "
                "come off freely.",
                n,
                **facts,
            )
            if whole
            else count(
                "Put {parts} on {below}, without glue: it must come off freely.",
                "Put {parts} on {below}, without glue: they must come off freely.",
                n,
                **facts,
            )
        ]
    beside = _beside(bodies, upper, pairs)
    layers = int(beside[0] / padding + _ALMOST) if beside else 1
    if beside and layers > 1:
        felt = say(
            "Stick one layer of self-adhesive felt, {size} thick, on the edge or face of {below} where {parts} rests. Beside "
            "that the gap to {others} is {gap}: stick {n} layers there, one on the other, so that nothing rocks.",
            below=all_of(below),
            size=length(padding),
            parts=all_of(above),
            n=layers,
            others=all_of(beside[1]),
            gap=length(beside[0], 1),
        )
    else:
        felt = say(
            "Stick self-adhesive felt, {size} thick, along the whole edge or face of {below} that something rests on.",
            below=all_of(below),
            size=length(padding),
        )
    return [felt, *_where(bodies, above, below, pairs)]


def _beside(bodies: Bodies, upper: int, pairs: list[tuple[int, int]]) -> tuple[float, list[Piece]] | None:
    """How far in mm the rest of a thing (`upper`: its copies, as bits) is above what carries it, beside the parts that lie
    there on their padding; and which parts that are. None where nothing else of it faces what carries at an even distance."""
    resting = tuple(sorted({a for a, _ in pairs}))
    rest = [copy for copy in _copies(bodies, upper) if copy not in resting]
    if not rest:
        return None
    padding = max(bodies.pieces[a].padding for a in resting)
    gaps, nearest, under_them = [], [], []
    for copy in sorted({b for _, b in pairs}):
        places, normals = surface(bodies, copy)
        places, normals = places[normals[:, 2] > _CARRIES], normals[normals[:, 2] > _CARRIES]
        if not len(places):
            continue
        under = _clear(bodies, resting, places, normals)
        each = np.array([_clear(bodies, (other,), places, normals) for other in rest])
        gap = each.min(axis=0)
        faced = (gap < under) & (gap < _NEAR * padding)
        under_them.append(under[(under < gap) & (under < _NEAR * padding)])
        gaps.append(gap[faced])
        nearest += [rest[i] for i in np.unique(each.argmin(axis=0)[faced]).tolist()]
    found = np.concatenate([np.zeros(0), *gaps])
    if len(found) < _FEW or np.ptp(np.percentile(found, (10, 90))) > _EVEN:
        return None
    carried = np.concatenate(under_them)
    sinks = max(float(np.median(carried)) - padding, 0.0) if len(carried) else 0.0  # until it lies on its felt
    return float(np.median(found)) - sinks, _pieces(bodies, nearest)


def _clear(bodies: Bodies, copies: tuple[int, ...], places: np.ndarray, normals: np.ndarray) -> np.ndarray:
    """How far it is to some copies from places (k, 3), square off the face that they are on; inf where they are not before it."""
    points, triangles = bodies.mesh(copies)
    tree = igl.AABB()
    tree.init(points, triangles)
    hits, far = tree.intersect_ray_first(points, triangles, places, normals)[:2]
    return np.where(np.asarray(hits).reshape(-1) >= 0, np.asarray(far).reshape(-1), np.inf)


def _where(bodies: Bodies, above: list[Piece], below: list[Piece], pairs: list[tuple[int, int]]) -> list[str]:
    """How far along each part stands that carries, measured from the foremost point of what it carries."""
    front = max(float(bodies.mesh((a,))[0][:, 0].max()) for a, _ in pairs)
    return [
        say(
            "{parts} rests on {below} without glue: set it down so that the middle of {label} comes {size} behind the "
            "foremost point of {front}.",
            parts=capital(all_of(above)),
            below=all_of([piece]),
            label=piece.label,
            size=length(
                front - float(np.mean([bodies.spheres[b, 0] for _, b in pairs if bodies.pieces[b].id == piece.id]))
            ),
            front=all_of(above),
        )
        for piece in below
    ]


def _pieces(bodies: Bodies, copies: Collection[int]) -> list[Piece]:
    """The pieces of these copies, each once, by label as the prop lists them."""
    ids = dict.fromkeys(bodies.pieces[copy].id for copy in sorted(copies))
    return [next(piece for piece in bodies.pieces if piece.id == part) for part in ids]

"""The order of assembly, found by taking the finished prop apart.

Taking apart has no dead ends: a part that is free stays free as others go. So if parts are left that nothing frees, no
order exists; otherwise the way apart, backwards, is one (assembly by disassembly, as in L. S. Homem de Mello and
A. C. Sanderson, "A correct and complete algorithm for the generation of mechanical assembly sequences", IEEE
Transactions on Robotics and Automation 7, 1991). What is taken apart first is chosen so that the steps go in the order of
their ranks and nothing is left in the air.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set

import numpy as np
from scipy.cluster.hierarchy import DisjointSet

from foamwright.assembly.bodies import Bodies, swinging
from foamwright.assembly.taking_apart import BENDING, Move, Stage, TakingApart, brushed, go_in_bare, meets_several
from foamwright.assembly.units import Unit, is_bare, lifts_out
from foamwright.assembly.ways_in import Ways, cost
from foamwright.errors import BuildError
from foamwright.parts.records import Piece
from foamwright.registry import RANK

_WALLS = {
    RANK["panel"],
    RANK["bulkhead"],
    RANK["plate"],
}  # ranks of what things are built from, before what is laid on them
_AWKWARD = 0.3  # what a way costs that is not straight


def plan(units: Sequence[Unit], needs: Mapping[str, set[str]], ways: Ways) -> tuple[Stage, ...]:
    """Stages from the first part to the last.

    BuildError: no order puts the parts together, or not in the order that the design's own steps state.
    """
    caught: set[tuple[str, str]] = set()
    riders: dict[str, str] = {}
    while True:
        apart, stages = _straightest(units, needs, ways, riders, caught)
        barred = _cannot_be_set_down(apart, ways)
        if barred is None:
            return _before_bare(_gathered(stages, needs, ways), needs, ways)
        one, two = (ways.bodies.pieces[copy].id for copy in barred)
        if (one, two) in caught:
            raise BuildError(
                f"{one} and {two} rest on each other without glue, but what is built onto the one has no "
                "straight way off the other: join them, or build the part in the way on later"
            )
        caught |= _resting(apart, ways, barred)
        riders |= _as_one(units, apart, ways, barred)


def _straightest(
    units: Sequence[Unit],
    needs: Mapping[str, set[str]],
    ways: Ways,
    inside: Mapping[str, str],
    caught: Set[tuple[str, str]],
) -> tuple[TakingApart, tuple[Stage, ...]]:
    """Taken apart with what is better put on its carrier at the bench put on it there. `inside` is what a thing is built of
    that others close in, part -> the part that it is put on, and `caught` are the parts of which the one rests on the other."""

    def attempt(riders: Mapping[str, str]) -> TakingApart:
        return TakingApart(units, needs, ways, riders, caught)

    riders = _on_loose_parts(units, needs, ways)
    if inside and attempt({**riders, **inside}).run() is not None:
        riders |= inside
    elif riders and attempt(riders).run() is None:
        riders = {}
    reason = ""
    while True:
        apart = attempt(riders)
        stages = apart.run()
        if stages is not None:
            break
        riding = apart.next_rider()
        reason = reason or apart.reason()
        if riding is None:
            raise BuildError(reason)
        riders[riding[0]] = riding[1]
    for rider, carrier in _awkward(stages, ways):
        other = attempt({**apart.riders, rider: carrier})
        better = other.run()
        if better is not None and _trouble(better) < _trouble(stages) - 0.1:
            apart, stages = other, better
    return _unbowed(units, needs, ways, apart, stages)


def _unbowed(
    units: Sequence[Unit], needs: Mapping[str, set[str]], ways: Ways, apart: TakingApart, stages: tuple[Stage, ...]
) -> tuple[TakingApart, tuple[Stage, ...]]:
    """The same taken apart so that as little as can be is bowed on its way in, with cement on its edges: what stands in the
    straight way of a part goes in after it, where that bars nothing else."""
    tried: set[tuple[int, ...]] = set()
    while bowed := [pair for pair in _bowed(stages, ways) if pair[0].copies not in tried]:
        move, standing = bowed[0]
        tried.add(move.copies)
        mine = {ways.bodies.pieces[copy].id for copy in move.copies}
        before = _all_before(mine, needs)
        barring = [
            {ways.bodies.pieces[copy].id for copy in range(len(ways.bodies)) if blockers >> copy & 1}
            for blockers in ways.straight(move.copies, standing)
        ]
        later = min((parts for parts in barring if not parts & (before | mine)), key=len, default=set())
        waiting = {part: needed | mine if part in later else needed for part, needed in needs.items()}
        other = TakingApart(units, waiting, ways, apart.riders, apart.caught)
        better = other.run() if later else None
        if better is not None and len(_bowed(better, ways)) < len(_bowed(stages, ways)):
            needs, apart, stages = waiting, other, better
    return apart, stages


def _bowed(stages: Sequence[Stage], ways: Ways) -> list[tuple[Move, int]]:
    """The moves on which a part that is glued is bowed, with the copies, as bits, that stand by then."""
    standing = 0
    found = []
    for move in (move for stage in stages for move in stage.moves):
        if move.way.bend and ways.bodies.pieces[move.copies[0]].glue != "none":
            found.append((move, standing & move.own))
        standing |= ways.bodies.mask(move.copies)
    return found


def _all_before(parts: Set[str], needs: Mapping[str, set[str]]) -> set[str]:
    """All that must be in place before some parts, straight or by way of others."""
    met: set[str] = set()
    open_ = list(parts)
    while open_:
        more = needs.get(open_.pop(), set()) - met
        met |= more
        open_ += more
    return met


def _on_loose_parts(units: Sequence[Unit], needs: Mapping[str, set[str]], ways: Ways) -> dict[str, str]:
    """What is glued on a part that is only laid in: it is put on that before, as its knob is on a lid and its flag on a mast."""
    pieces = {piece.id: piece for piece in ways.bodies.pieces}
    riders: dict[str, str] = {}
    for unit in units:
        members = [pieces[part] for part in unit.parts if part in pieces]
        carried = {piece.id: piece.lies_on or _loose_before(piece, needs, pieces) for piece in members}
        beneath = {p.id: carried[p.id][0] for p in members if len(carried[p.id]) == 1 and p.glue != "none"}
        below = {part for part in beneath.values() if part in pieces and part not in unit.parts}
        if not unit.noted and len(beneath) == len(unit.parts) and all(pieces[part].glue == "none" for part in below):
            riders |= beneath if below else {}
    return riders


def _loose_before(piece: Piece, needs: Mapping[str, set[str]], pieces: Mapping[str, Piece]) -> tuple[str, ...]:
    """The parts that lift out and that one is joined to."""
    return tuple(part for part in sorted(needs[piece.id]) if part in pieces and lifts_out(pieces[part]))


def _cannot_be_set_down(apart: TakingApart, ways: Ways) -> tuple[int, int] | None:
    """Two copies that rest on each other, of things that are built apart and of which the one has no straight way onto the
    other once both are whole, as a pail has none into a well that has its roof; a lid on a hinge is open then."""
    bodies = ways.bodies
    opening = swinging(bodies)
    asked = set()
    for a, b in ways.touches:
        if apart.built_with(a) == apart.built_with(b):
            continue
        one, two = (apart.built_with(copy) & ~opening[copy] for copy in (a, b))
        if (one, two) in asked:
            continue
        asked |= {(one, two), (two, one)}
        mine = tuple(i for i in range(len(bodies)) if one >> i & 1)
        if ways.free((a, *(i for i in mine if i != a)), two, BENDING) is None:
            return a, b
    return None


def _resting(apart: TakingApart, ways: Ways, barred: tuple[int, int]) -> set[tuple[str, str]]:
    """The parts, in both orders, that rest on each other where two things do."""
    one, two = (apart.built_with(copy) for copy in barred)
    pieces = ways.bodies.pieces
    pairs = {(pieces[a].id, pieces[b].id) for a, b in ways.touches if one >> a & 1 and two >> b & 1}
    return pairs | {(b, a) for a, b in pairs}


def _as_one(units: Sequence[Unit], apart: TakingApart, ways: Ways, barred: tuple[int, int]) -> dict[str, str]:
    """The smaller of two things put together at the bench, on the largest of its parts: part -> the part that it is put on.
    Nothing, where the design has steps for it or where its largest part is itself of several pieces."""
    bodies = ways.bodies
    things = [[i for i in range(len(bodies)) if apart.built_with(copy) >> i & 1] for copy in barred]
    thing = min(things, key=lambda copies: float(np.ptp(bodies.mesh(tuple(copies))[0], axis=0).prod()))
    lead = max(thing, key=lambda copy: bodies.spheres[copy, 3])
    parts = {bodies.pieces[copy].id for copy in thing}
    alone = sum(bodies.pieces[copy].id == bodies.pieces[lead].id for copy in thing) == 1
    if not alone or any(unit.noted or unit.whole for unit in units if parts & set(unit.parts)):
        return {}
    riders: dict[str, str] = {}
    reached = [lead]
    for copy in reached:
        for other in thing:
            if other not in reached and (copy, other) in ways.touches:
                reached.append(other)
                riders.setdefault(bodies.pieces[other].id, bodies.pieces[copy].id)
    return {rider: carrier for rider, carrier in riders.items() if rider != carrier}


def _gathered(stages: Sequence[Stage], needs: Mapping[str, set[str]], ways: Ways) -> list[Stage]:
    """The same stages with what is glued to parts of its own rank alone, as the last wall of a box is, moved up to these, and
    every second wall of a tower up to those that others join it to: a maker completes one thing before the next is begun. It
    bars no way and no brush to what goes in between."""
    met = [{i for i in range(j) if _is_met(stage, stages[i], needs, ways)} for j, stage in enumerate(stages)]
    things = _built_of_walls(stages, met)
    order: list[int] = []
    for j, stage in enumerate(stages):
        at = 1 + max((n for n, i in enumerate(order) if i in met[j] or things.connected(i, j)), default=len(order) - 1)
        if (
            at < len(order)
            and _are_walls(stage, *(stages[i] for i in order[at - 1 : at]))
            and not any(unit.noted or unit.whole for unit in stage.units)
            and _passes(stage, [stages[i] for i in order[:at]], [stages[i] for i in order[at:]], needs, ways)
        ):
            order.insert(at, j)
        else:
            order.append(j)
    return [stages[i] for i in order]


def _built_of_walls(stages: Sequence[Stage], met: Sequence[Set[int]]) -> DisjointSet:
    """The numbers of stages, those in one set that put in walls of one rank which hang together, be it by others of them."""
    things = DisjointSet(range(len(stages)))
    for j, before in enumerate(met):
        for i in before:
            if _are_walls(stages[j], stages[i]):
                things.merge(i, j)
    return things


def _are_walls(*stages: Stage) -> bool:
    """Is all that some stages put in of one rank, and of what things are built from?"""
    ranks = {unit.rank for stage in stages for unit in stage.units}
    return len(ranks) == 1 and ranks <= _WALLS


def _is_met(stage: Stage, other: Stage, needs: Mapping[str, set[str]], ways: Ways) -> bool:
    """Does a stage touch what another puts in, if they are built together, or wait for it?"""
    theirs = _copies(other)
    there = ways.bodies.mask(theirs)
    needed = {part for copy in _copies(stage) for part in needs.get(ways.bodies.pieces[copy].id, ())}
    touched = any(ways.touches_of(move.copies, there & move.own) for move in stage.moves)
    return touched or bool(needed & {ways.bodies.pieces[copy].id for copy in theirs})


def _before_bare(stages: Sequence[Stage], needs: Mapping[str, set[str]], ways: Ways) -> tuple[Stage, ...]:
    """The same stages with what can go in before the first part that takes no paint moved there, to be painted with the
    rest: it touches nothing that goes in between, waits for none of it, and bars no way and no brush to it."""
    first = next((i for i, stage in enumerate(stages) if i and goes_in_bare(stage, ways.bodies)), len(stages))
    early, later = list(stages[:first]), list[Stage]()
    for stage in stages[first:]:
        if not goes_in_bare(stage, ways.bodies) and _passes(stage, early, later, needs, ways):
            early.append(stage)
        else:
            later.append(stage)
    return (*early, *later)


def _passes(
    stage: Stage,
    before: Sequence[Stage],
    others: Sequence[Stage],
    needs: Mapping[str, set[str]],
    ways: Ways,
) -> bool:
    """Can a stage go in after those `before` it and ahead of the `others` just as well?"""
    bodies = ways.bodies
    mine = _copies(stage)
    barred = bodies.mask(mine)
    standing = barred | bodies.mask(copy for other in before for copy in _copies(other))
    needed = {part for copy in mine for part in needs.get(bodies.pieces[copy].id, ())}
    for other in others:
        if needed & {bodies.pieces[copy].id for copy in _copies(other)}:
            return False
        if all(any(unit.listed is not None for unit in one.units) for one in (stage, other)):
            return False  # the design states their order
        for move in other.moves:
            touches = ways.touches_of(move.copies, standing & move.own)
            if move.way.blockers & barred & move.own or any(barred >> touch.b & 1 for touch in touches):
                return False
            if not brushed(touches, standing, ways):
                return False
            standing |= bodies.mask(move.copies)
    return True


def _copies(stage: Stage) -> list[int]:
    return [copy for move in stage.moves for copy in move.copies]


def goes_in_bare(stage: Stage, bodies: Bodies) -> bool:
    """Is it all without paint, or does it carry what is, or hang from it? Then what stands is painted before."""
    groups = [move.copies for move in stage.moves]
    return bool(groups) and (go_in_bare(bodies, groups) or hangs_from_bare(stage, bodies))


def hangs_from_bare(stage: Stage, bodies: Bodies) -> bool:
    """Is all that is painted of a stage glued to nothing but what of it is not, as a lid to its hinge?"""
    copies = {*_copies(stage)}
    painted = {copy for copy in copies if not is_bare(bodies.pieces[copy])}
    met = {b for (a, b), touch in bodies.touches.items() if touch.glued and a in painted} - painted
    return bool(met) and met <= copies


def _awkward(stages: Sequence[Stage], ways: Ways) -> list[tuple[str, str]]:
    """Parts that must be led in round corners and lie on one copy of one part: they are better put on that before. What goes
    round several is closed when these stand."""
    awkward = []
    for stage in stages:
        for unit in stage.units:
            moves = [move for move in stage.moves if ways.bodies.pieces[move.copies[0]].id in unit.parts]
            piece = ways.bodies.pieces[moves[0].copies[0]] if moves else None
            if piece is None or unit.noted or len(unit.parts) > 1 or len(piece.lies_on) != 1 or piece.glue == "none":
                continue
            if meets_several(ways.bodies, piece.id, piece.lies_on[0]):
                continue
            if piece.stock.material_type != "paper" and max(cost(move.way) for move in moves) >= _AWKWARD:
                awkward.append((unit.parts[0], piece.lies_on[0]))
    return awkward


def _trouble(stages: Sequence[Stage]) -> float:
    """What all ways in cost together."""
    return sum(cost(move.way) for stage in stages for move in (*stage.moves, *stage.bench))

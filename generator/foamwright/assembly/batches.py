"""Which stages of the plan make one step at the bench."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence, Set
from dataclasses import replace
from math import ceil

from scipy.cluster.hierarchy import DisjointSet

from foamwright.assembly.planning import hangs_from_bare
from foamwright.assembly.taking_apart import Stage
from foamwright.assembly.units import is_bare
from foamwright.assembly.ways_in import Ways
from foamwright.parts.records import FlatBody, PanelBody
from foamwright.registry import RANK

PARTS_PER_STEP = 6
PIECES_IN_TURN = 12  # that are joined to each other one by one in one step; more are told by their part


def batched(
    stages: Sequence[Stage], sewn: set[frozenset[str]], needs: Mapping[str, set[str]], ways: Ways
) -> tuple[Stage, ...]:
    """The stages with those made one that are one step: `sewn` are the pairs of parts that share a seam, `needs` has for
    each part those that must be in place before it."""
    hung = {part for stage in stages if hangs_from_bare(stage, ways.bodies) for part in stage.parts}
    return tuple(_with_their_base(_batched(stages, sewn, needs, _joints(stages, ways), hung), sewn, ways))


def _batched(
    stages: Sequence[Stage],
    sewn: set[frozenset[str]],
    needs: Mapping[str, set[str]],
    joined: Mapping[str, set[Hashable]],
    hung: Set[str],
) -> list[Stage]:
    """Stages that follow each other made one step: parts of one rank and one glue, joined by seams or by none. Where they are
    too many for one step they are dealt out evenly, so that no part is left to a step by itself. `hung` are the parts that
    go in when the others have got their paint, as a lid with its hinge."""
    runs = (run for row in _rows(stages, hung) for run in _runs(row, sewn, needs, joined))
    return [_as_one(batch) for run in runs for batch in _dealt(run, sewn)]


def _joints(stages: Sequence[Stage], ways: Ways) -> dict[str, set[Hashable]]:
    """For each part what stands by then and it is glued to, as ids of parts and as what is like what: the hubs of front and of
    the rear wheels are glued to other parts, and are one kind of work."""
    pieces = ways.bodies.pieces
    found: dict[str, set[Hashable]] = {}
    standing = 0
    for stage in stages:
        for move in stage.moves:
            piece = pieces[move.copies[0]]
            hosts = [pieces[t.b] for t in ways.touches_of(move.copies, standing) if t.glued]
            joints = found.setdefault(piece.id, set())
            joints |= {host.id for host in hosts}
            joints |= {(piece.kind, piece.stock.id, host.kind, host.stock.id) for host in hosts}
            standing |= ways.bodies.mask(move.copies)
    return found


def _rows(stages: Sequence[Stage], hung: Set[str]) -> list[list[Stage]]:
    """The stages in rows of what is alike in all but its seams and what it waits for."""
    rows: list[list[Stage]] = []
    for stage in stages:
        if rows and _alike(rows[-1][-1], stage, hung):
            rows[-1].append(stage)
        else:
            rows.append([stage])
    return rows


def _runs(
    row: Sequence[Stage], sewn: set[frozenset[str]], needs: Mapping[str, set[str]], joined: Mapping[str, set[Hashable]]
) -> list[list[Stage]]:
    """What of a row is one piece of work: what its seams join, be it by way of a stage that comes later in it, as every second
    wall of a tower by those between them, or what has no seams at all and is glued to the same thing, to each other or in the
    same way: the ribs of a roof and the lip of a shelf are two steps."""
    parts = {part for stage in row for part in stage.parts}
    things = DisjointSet(parts)
    for pair in sewn:
        if len(pair) == 2 and pair <= parts:
            things.merge(*pair)
    runs: list[list[Stage]] = []

    def is_one_work(stage: Stage, run: list[Stage]) -> bool:
        if _is_sewn((*run, stage), sewn):
            return things.connected(run[0].parts[0], stage.parts[0])
        return _is_joined_alike(stage, run, joined)

    for stage in row:
        if not runs or _waits(stage, runs[-1], needs) or not is_one_work(stage, runs[-1]):
            runs.append([])
        runs[-1].append(stage)
    return runs


def _as_one(stages: Sequence[Stage]) -> Stage:
    return Stage(
        tuple(unit for stage in stages for unit in stage.units),
        tuple(move for stage in stages for move in stage.moves),
        tuple(move for stage in stages for move in stage.bench),
    )


def _dealt(run: Sequence[Stage], sewn: set[frozenset[str]]) -> list[list[Stage]]:
    """The stages of a run in as few batches as they go into, about equally many parts in each; what is sewn together stays one
    as long as its pieces can be told one by one, since a ring is set down when all of it is joined."""
    count = sum(len(stage.parts) for stage in run)
    pieces = sum(len(move.copies) for stage in run for move in stage.moves)
    if len(run) == 1 or (_is_sewn(run, sewn) and pieces <= PIECES_IN_TURN):
        return [[*run]]
    each = count / ceil(count / PARTS_PER_STEP)
    batches: list[list[Stage]] = [[]]
    parts = 0
    for stage in run:
        if batches[-1] and parts + len(stage.parts) > each * len(batches):
            batches.append([])
        batches[-1].append(stage)
        parts += len(stage.parts)
    return batches


def _alike(one: Stage, two: Stage, hung: Set[str]) -> bool:
    """Have two stages one rank and one glue, and nothing of their own to tell?"""
    every = (*one.units, *two.units)
    if len({move.own for move in (*one.moves, *two.moves)}) > 1:  # things that are built apart
        return False
    if any(unit.noted or unit.whole for unit in every) or one.bench or two.bench:
        return False
    if (one.parts[0] in hung) != (two.parts[0] in hung):  # paint comes between
        return False
    return len({unit.rank for unit in every}) == 1 and len({unit.glue for unit in every}) == 1


def _waits(stage: Stage, run: Sequence[Stage], needs: Mapping[str, set[str]]) -> bool:
    """Must a stage wait for what a run puts in? Details go one onto the other in one step."""
    before = {part for other in run for part in other.parts}
    return stage.units[0].rank < RANK["detail"] and any(needs[part] & before for part in stage.parts)


def _is_joined_alike(stage: Stage, run: Sequence[Stage], joined: Mapping[str, set[Hashable]]) -> bool:
    """Is a stage glued to what a run is glued to, to the run itself, or as that is? What is only laid down begins anywhere."""
    before = {part for other in run for part in other.parts}
    there = {joint for part in before for joint in joined.get(part, ())}
    here = {joint for part in stage.parts for joint in joined.get(part, ())}
    return not there or not here or bool(here & (there | before))


def _is_sewn(stages: Sequence[Stage], sewn: set[frozenset[str]]) -> bool:
    """Has any part of some stages a seam?"""
    return any(part in pair for pair in sewn for stage in stages for part in stage.parts)


def _with_their_base(stages: Sequence[Stage], sewn: set[frozenset[str]], ways: Ways) -> list[Stage]:
    """A part that is only laid on the table to begin with has no step of its own, but one with what first goes on it: under
    its own title nothing would be told."""
    joined: list[Stage] = []
    standing = 0
    for stage in stages:
        last = joined[-1] if joined else None
        if last is not None and _only_lies_there(last, sewn, ways, standing) and _goes_on(stage, last, ways):
            base = [replace(unit, title="") for unit in last.units]
            joined[-1] = Stage((*base, *stage.units), (*last.moves, *stage.moves), (*last.bench, *stage.bench))
        else:
            standing |= ways.bodies.mask(copy for move in (last.moves if last else ()) for copy in move.copies)
            joined.append(stage)
    return joined


def _only_lies_there(stage: Stage, sewn: set[frozenset[str]], ways: Ways, standing: int) -> bool:
    """One part, of which there is nothing to say but how it is bent: it touches nothing that stands, and none of its copies
    another."""
    single = bool(stage.moves) and all(len(move.copies) == 1 for move in stage.moves)
    if len(stage.parts) != 1 or not single or stage.units[0].note or stage.units[0].uses:
        return False
    copies = tuple(move.copies[0] for move in stage.moves)
    piece = ways.bodies.pieces[copies[0]]
    if not isinstance(piece.body, FlatBody | PanelBody) or any(piece.id in pair for pair in sewn):
        return False
    with_own = standing | ways.bodies.mask(copies)
    return not any(touch.glued for copy in copies for touch in ways.touches_of((copy,), with_own))


def _goes_on(stage: Stage, base: Stage, ways: Ways) -> bool:
    """Does a stage put something on what has just been laid down, and is it not one of several things by itself? What the design
    tells of it stands in a step of its own, unless the design tells of the base as well; what gets no paint comes after the
    base has got its own."""
    below = ways.bodies.mask(copy for move in base.moves for copy in move.copies)
    glued = any(touch.glued for move in stage.moves for touch in ways.touches_of(move.copies, below))
    titled = any(unit.title for unit in base.units)
    pieces = {piece.id: piece for piece in ways.bodies.pieces}
    if any(is_bare(pieces[part]) for part in stage.parts) and not all(is_bare(pieces[part]) for part in base.parts):
        return False
    return glued and not any(unit.whole or (unit.noted and not titled) for unit in stage.units)

"""What of the assembled prop is a fault of its pack, and what is only left open.

A fault needs a shape that came out: at rest, from both starts, whatever the size of the triangles; or flat parts that do
not fit each other where the model has them either. Anything else is not proven, and no fault. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set

import numpy as np

from foamwright.proof.bench.assembly import Assembly, Group, Standing
from foamwright.proof.bench.foam import Copy, Foam, Sewn
from foamwright.proof.bench.in_place import fits_together, laid_in_place, stands_on
from foamwright.proof.bench.lengths import SEAM
from foamwright.proof.bench.measure import Model, edges_away, measured, registered
from foamwright.proof.bench.records import CRUMPLED, MEAN, BodyFigures, Fault, Measured, bounds

_BENT_SEAM = 1.0  # mm between edges of bent foam, for a prop of `PROP` mm: the bench bends with triangles, hands do not
_FAR = 2.0  # times the bounds, from which bent foam that came out elsewhere tells of its lines and not of the bench
_MARK = 1.0  # mm from any of its marks to a foot that stands on them, by the middle one of the mark's points


def body_figures(foam: Foam, group: Group, model: Model) -> BodyFigures:
    """The figures of what is sewn up. It is judged where all its parts come out within the bounds; beyond them only if no edge is
    free, since foam springs open there, and bent foam only if it is far off, since the bench bends it by triangles."""
    most_mean, most = bounds(model.size)
    own = {copy: group.placed[copy] for copy in group.copies if copy in group.placed}
    result = measured(own, registered(own, model, list(own)), model)
    away = np.concatenate([one.away for one in result] or [np.zeros(1)])
    if group.formed:
        away = np.concatenate([away, edges_away(group.placed, model)])
    off = max(float(away.mean()) / most_mean, float(away.max()) / most)
    came_right = off <= 1.0 and all(float(one.away.mean()) <= most_mean for one in result)
    came_out = group.closed and group.finer <= most_mean and (off > _FAR or not group.bent)
    return BodyFigures(
        tuple(dict.fromkeys(copy.part for copy in group.copies)),
        len(group.copies),
        group.bent,
        not group.formed and group.determined and (came_right or came_out),
        float(away.mean()),
        float(away.max()),
        group.apart[0],
        group.formed and off <= 1.0,
    )


def faults_of(
    foam: Foam, built: Assembly, sewn_up: Mapping[BodyFigures, Group], results: Sequence[Measured], model: Model
) -> list[Fault]:
    """Bodies, seams and marks that do not come out. `sewn_up` are the groups by their figures."""
    return [
        *_bodies(foam, sewn_up, model),
        *_stretched(foam, sewn_up, model),
        *_seams(foam, built, sewn_up, model),
        *_marks(foam, built, results, model),
    ]


def _bodies(foam: Foam, sewn_up: Mapping[BodyFigures, Group], model: Model) -> Iterator[Fault]:
    most_mean, most = bounds(model.size)
    for body, group in sewn_up.items():
        if not body.judged or (body.mean <= most_mean and body.worst <= most):
            continue
        if not group.bent and _right_in_place(foam, group, model):
            continue
        by, how = (body.mean, "on average") if body.mean > most_mean else (body.worst, "at worst")
        yield Fault(titles(foam, body.parts), f"it comes out {by:.2f} mm from the model {how}", by)


def _stretched(foam: Foam, sewn_up: Mapping[BodyFigures, Group], model: Model) -> Iterator[Fault]:
    """Parts with darts that came out about where the model has them, but only stretched by far more than the pack tells: such
    foam is cut for another shape. Foam that crumpled on the bench tells nothing, nor does what flat parts alone pull at."""
    found = set()
    for body, group in sewn_up.items():
        if not group.bent or body.mean > bounds(model.size)[0]:
            continue
        for copy in group.copies:
            part = foam.part(copy)
            if not part.darts or part.id in found:
                continue
            mean, most = group.placed[copy].stretch()
            if copy in group.bare:
                mean = min(mean, group.bare[copy].stretch()[0])
            if most < CRUMPLED and mean > part.most_mean_strain:
                found.add(part.id)
                told = f"its foam is stretched by {100 * mean:.1f} % on average, and {100 * part.mean_strain:.1f} % is told"
                yield Fault(part.title, told, mean)


def _right_in_place(foam: Foam, group: Group, model: Model) -> bool:
    there = laid_in_place(group.placed, group.copies, model)
    return len(there) < len(group.copies) or fits_together(foam, there, model, SEAM, bounds(model.size)[1])


def _open(foam: Foam, built: Assembly, among: Set[Copy], model: Model) -> list[tuple[Sewn, float]]:
    """The seams between some copies that are further apart than any may be, and how far."""
    share = bounds(model.size)[0] / MEAN
    bent = {sewn: foam.part(sewn.a).bent or foam.part(sewn.b).bent for sewn, _ in built.seams}
    wide = [(sewn, gap) for sewn, gap in built.seams if gap > (_BENT_SEAM * share if bent[sewn] else SEAM)]
    return [(sewn, gap) for sewn, gap in wide if {sewn.a, sewn.b} <= among]


def gaping(foam: Foam, built: Assembly, near: Set[Copy], model: Model) -> set[Copy]:
    """Of copies that are `near` the model those that a seam between them keeps from being proven, as it stayed open."""
    return {copy for sewn, _ in _open(foam, built, near, model) for copy in (sewn.a, sewn.b)}


def _seams(foam: Foam, built: Assembly, sewn_up: Mapping[BodyFigures, Group], model: Model) -> Iterator[Fault]:
    share = bounds(model.size)[0] / MEAN
    firm = {copy for body, group in sewn_up.items() if body.judged for copy in group.copies}
    for sewn, gap in _open(foam, built, firm, model):
        flat = not (foam.part(sewn.a).bent or foam.part(sewn.b).bent)
        if flat:
            there = laid_in_place(built.placed, (sewn.a, sewn.b), model)
            if len(there) < 2 or fits_together(foam, there, model, SEAM, bounds(model.size)[1]):
                continue
        elif not all(group.finer <= share * MEAN for group in sewn_up.values() if sewn.a in group.copies):
            continue
        where = f"seam {sewn.seam} of {titles(foam, sorted({sewn.a.part, sewn.b.part}))}"
        yield Fault(where, f"its edges are {gap:.2f} mm apart when all is joined", gap)


def _marks(foam: Foam, built: Assembly, results: Sequence[Measured], model: Model) -> Iterator[Fault]:
    """Lines that one stiff body stands beside. What is set on a part that was itself set astray says nothing of its own
    lines."""
    most_mean, most = bounds(model.size)
    astray = {Copy(one.part, one.number) for one in results if one.away.max() > most}
    for standing in built.sets:
        gap = max(standing.fit.by_mark, default=0.0)
        off = _MARK * most_mean / MEAN
        told = not any(foam.part(copy).bent or f.lower in astray for f in standing.joints for copy in f.copies)
        if not told or gap <= off or not _alone(standing, built.groups):
            continue
        copies = {copy for f in standing.joints for copy in f.copies}
        there = laid_in_place(built.placed, copies, model)
        if len(there) < len(copies) or stands_on(there, standing.joints, model, off):
            continue
        first = standing.joints[0]
        where = f"the line on {foam.part(first.lower).title} for {foam.part(first.upper).title}"
        yield Fault(where, f"what stands there is {gap:.2f} mm off it", gap)


def _alone(standing: Standing, groups: Sequence[Group]) -> bool:
    """Is it one stiff body on another, and do the marks say where? Of several bodies one that is misread moves all."""
    bodies = [set(group.copies) for group in groups]
    ends = ({f.lower for f in standing.joints}, {f.upper for f in standing.joints})
    return standing.fit.sure and all(len(end) == 1 or any(end <= body for body in bodies) for end in ends)


def titles(foam: Foam, parts: Sequence[str]) -> str:
    """Names of parts, the first three of them."""
    names = [foam.parts[name].title for name in parts]
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")

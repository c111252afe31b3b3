"""The virtual build of a pack: from its files alone to a prop, and that prop held against the model."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence, Set
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from foamwright.contacts.records import Solid
from foamwright.proof.bench.assembly import Assembly, Group, built_alone, set_up, sewn_bodies, sewn_rounds
from foamwright.proof.bench.bands import band_faults
from foamwright.proof.bench.foam import Copy, Foam, part_files, read_foam, ring_area
from foamwright.proof.bench.folded import folded, turns_sharply
from foamwright.proof.bench.footings import footings
from foamwright.proof.bench.in_place import agreeing, laid_in_place
from foamwright.proof.bench.lengths import (
    bevel_faults,
    contact_faults,
    crossing_faults,
    dart_faults,
    mark_faults,
    paper_faults,
    seam_faults,
    unsewn_faults,
)
from foamwright.proof.bench.lines_there import line_faults
from foamwright.proof.bench.mark_places import bent_place_faults, mark_place_faults
from foamwright.proof.bench.measure import Model, measured, registered, turns_over
from foamwright.proof.bench.outlines import laid_flat, outline_faults
from foamwright.proof.bench.over_form import over_form
from foamwright.proof.bench.pieces import Placed, as_cut, plain_sheet
from foamwright.proof.bench.reasons import reasons
from foamwright.proof.bench.records import NOT_FAR, BodyFigures, Fault, Measured, OpenSeam, Proof, bounds
from foamwright.proof.bench.rigid import STILL
from foamwright.proof.bench.ticks_met import tick_faults
from foamwright.proof.bench.verdict import body_figures, faults_of, gaping
from foamwright.proof.bench.written import edge_faults, hoop_faults, unlike_faults
from foamwright.proof.read import Drawn, svg

Figures = Callable[[Group], BodyFigures]


def virtual_build(
    files: Mapping[str, bytes],
    record: Mapping[str, Any],
    solids: Sequence[Solid],
    sharing: Collection[tuple[str, int]] = (),
) -> Proof:
    """Cuts, bends and joins what is in the files, then lays it on the model, whose faces `solids` gives. Copies (part, number)
    that are `sharing` space there are not proven: no template tells what of them is cut away."""
    foam = read_foam(files, record)
    model = Model.of(solids, sharing)
    drawings = _drawings(foam, files)
    faults = [
        *crossing_faults(foam),
        *seam_faults(foam),
        *unsewn_faults(foam),
        *unlike_faults(foam, model),
        *hoop_faults(foam, model, drawings),
        *edge_faults(foam, model),
        *dart_faults(foam),
        *bevel_faults(foam),
        *mark_faults(foam),
        *contact_faults(foam),
        *band_faults(foam, drawings),
        *paper_faults(foam, drawings),
        *_misnamed(foam, drawings, files),
    ]
    if faults:  # what does not fit on paper is not worth bending
        return _empty(foam, faults)
    figures = cache(lambda group: body_figures(foam, group, model))
    return _held_against(foam, _assembled(foam, model, figures), model, figures)


def _assembled(foam: Foam, model: Model, figures: Figures) -> Assembly:
    """Everything joined and set up. What springs open by itself is bent over the model first, then what no body leads to."""
    bodies = sewn_bodies(foam)
    groups = tuple(own for group in bodies.groups for own in _formed(foam, group, model, figures))
    kept = tuple(s for s in bodies.sets if any(set(s.copies) < set(group.copies) for group in groups))
    bodies = replace(bodies, groups=groups, sets=kept)
    built = set_up(foam, bodies)
    told = {copy for group in groups if group.bent and (group.formed or figures(group).judged) for copy in group.copies}
    rounds = sewn_rounds(foam, {copy for copy in built.left if foam.part(copy).bent} - told)
    more = [group for copies in rounds if (group := _bent_over(foam, copies, model, {})) is not None]
    again = {copy for group in more for copy in group.copies}
    first = tuple(group for group in groups if not again & set(group.copies))
    return set_up(foam, replace(bodies, groups=(*first, *more)), built) if more else built


def _formed(foam: Foam, group: Group, model: Model, figures: Figures) -> tuple[Group, ...]:
    """A group whose shape its lengths leave open: its foam by itself, if that comes out and only what was set in drew it
    astray; else bent over the model, if that goes; else what of it comes out by itself, and the rest."""
    if not group.bent or figures(group).judged:
        return (group,)
    apart = group.taken_apart()
    if apart and figures(apart[0]).judged:
        return apart
    motion = registered(group.placed, model, list(group.placed))
    begun = {copy: piece.moved(motion) for copy, piece in group.placed.items()}
    over = _bent_over(foam, group.copies, model, begun)
    if over is not None and figures(over).formed:
        return (over,)
    return _parted(foam, over or group, model, figures) or (over or group,)


def _parted(foam: Foam, group: Group, model: Model, figures: Figures) -> tuple[Group, ...]:
    """A group without the copies of it that lie astray, and those; nothing unless some of it then comes out."""
    there = measured(group.placed, registered(group.placed, model, list(group.placed)), model)
    right = {Copy(one.part, one.number) for one in there if one.within(*bounds(model.size))}
    astray = {*group.placed} - right
    if not right or not astray:
        return ()
    bodies = [built_alone(foam, copies) for copies in sewn_rounds(foam, right)]
    found = [own for body in bodies for own in _formed(foam, body, model, figures)]
    if not any(figures(own).judged or figures(own).formed for own in found):
        return ()
    return (*found, *(built_alone(foam, copies) for copies in sewn_rounds(foam, astray)))


def _bent_over(foam: Foam, copies: Sequence[Copy], model: Model, begun: Mapping[Copy, Placed]) -> Group | None:
    if any(turns_sharply(foam.part(copy)) for copy in copies):
        return None
    sewn = [joint for joint in foam.sewn if joint.a in copies and joint.b in copies]
    lying = over_form(foam, copies, sewn, model, begun)
    return None if lying is None else Group(tuple(copies), lying.placed, True, (0.0, 0.0), False, np.inf, formed=True)


def _lone(foam: Foam, copy: Copy, model: Model) -> Group | None:
    """A copy bent over the model by itself. A ring that is sewn to itself is closed first: laid on the model flat it would
    be drawn through itself."""
    begun: Mapping[Copy, Placed] = {}
    if any(sewn.a == sewn.b == copy for sewn in foam.sewn):
        closed = built_alone(foam, (copy,)).placed
        begun = {copy: closed[copy].moved(registered(closed, model, [copy]))}
    return _bent_over(foam, (copy,), model, begun)


def _drawings(foam: Foam, files: Mapping[str, bytes]) -> dict[str, tuple[Drawn, ...]]:
    """The drawing of every part, or those of its segments, in their order; none if one is missing."""
    drawings = {}
    for name, part in foam.parts.items():
        labels = [f"{part.label}{n}" for n in range(1, len(part.segments) + 1)] or [part.label]
        data = [files.get(f"templates/{label}-{name.replace('_', '-')}.svg") for label in labels]
        if all(own is not None for own in data):
            drawings[name] = tuple(svg(own) for own in data if own is not None)
    return drawings


def _misnamed(foam: Foam, drawings: Mapping[str, tuple[Drawn, ...]], files: Mapping[str, bytes]) -> list[Fault]:
    """Parts whose template has another letter than the record tells; a bar that is sawn to length has none."""
    named = {path.removesuffix(".svg").partition("-")[2] for path in part_files(files)}
    lacking = (part for name, part in foam.parts.items() if name not in drawings and name.replace("_", "-") in named)
    return [Fault(part.title, "its template has another letter", 0.0) for part in lacking]


def _empty(foam: Foam, faults: Sequence[Fault]) -> Proof:
    every = tuple(sorted(foam.parts))
    return Proof(
        0.0, 0.0, 0.0, "", (), 0, 0.0, "", (), 0, 0.0, len(foam.copies), 0, (), every, (), tuple(faults), (), (), ()
    )


def _held_against(foam: Foam, built: Assembly, model: Model, figures: Figures) -> Proof:
    most_mean, most = bounds(model.size)
    sewn_up = {figures(group): group for group in built.groups if group.bent or len(group.copies) > 1}
    laid = [_laid_on(model, foam, built, piece, most) for piece in built.pieces]
    results = [one for found, _ in laid for one in found]
    soft = {part for body in sewn_up if not (body.judged or body.formed) for part in body.parts}
    formed = {part for body in sewn_up if body.formed for part in body.parts}
    # A part that came to stand elsewhere tells that its marks can be read in two ways, and not which of them is wrong.
    near = [one for one in results if one.part not in soft and one.within(most_mean, most)]
    apart = gaping(foam, built, {Copy(one.part, one.number) for one in near}, model)
    right = [one for one in near if Copy(one.part, one.stands) not in model.sharing]
    proven = [one for one in right if Copy(one.part, one.number) not in apart]
    loose = soft | {one.part for one in results if one not in proven}
    sound = {Copy(one.part, one.number) for one in proven}
    marks = _mark_gaps(built, sound)
    near_by = {one.part for one in results if one.within(NOT_FAR * most, NOT_FAR * most)}
    there = {copy: piece for _, some in laid for copy, piece in some.items()}
    standing = {Copy(one.part, one.stands): there[Copy(one.part, one.number)] for one in proven}
    lone = cache(lambda copy: _lone(foam, copy, model))

    @cache
    def over_faces(copy: Copy) -> Placed | None:
        begun = {copy: there[copy]} if copy in there else {}
        group = lone(copy) or _bent_over(foam, (copy,), model, begun)
        return group.placed[copy] if group is not None and body_figures(foam, group, model).formed else None

    firm = [group for body, group in sewn_up.items() if body.judged and group.bent]
    agreed = _fitted(foam, standing, model, firm, over_faces)
    fitted = {copy: piece for copy, piece in agreed.items() if copy not in model.sharing}
    open_ = {copy.part for copy in foam.copies if copy not in standing and copy not in fitted}
    loose &= open_
    left = tuple(sorted({copy.part for copy in built.left} & open_))
    away = np.concatenate([one.away for one in proven] or [np.zeros(1)])
    worst = max(proven, key=lambda one: one.away.max(), default=None)
    gaps = [(sewn, gap) for sewn, gap in built.seams if {sewn.a, sewn.b} <= sound]
    lying, joints = laid_flat(foam, model), footings(foam)
    worst_seam = max(gaps, key=lambda s: s[1], default=None)
    return Proof(
        size=model.size,
        mean=float(away.mean()),
        worst=float(away.max()),
        worst_part=worst.part if worst else "",
        bodies=tuple(sewn_up),
        seams=len(gaps),
        seam_gap=worst_seam[1] if worst_seam else 0.0,
        seam_worst=worst_seam[0].seam if worst_seam else "",
        open_seams=_open_seams(foam, built, sound),
        marks=len(marks),
        mark_gap=max(marks, default=0.0),
        copies=len(foam.copies),
        formed=sum(1 for one in proven if one.part in formed),
        loose=tuple(sorted(loose)),
        left=left,
        reasons=reasons(
            foam,
            built,
            sewn_up,
            {*loose, *left},
            {copy.part for copy in apart},
            near_by,
            {copy.part for copy in model.sharing},
        ),
        faults=(
            *outline_faults(foam, lying),
            *mark_place_faults(foam, model, lying, joints),
            *bent_place_faults(foam, model, standing, joints),
            *line_faults(foam, model, standing, lone),
            *tick_faults(foam, model, lone),
            *faults_of(foam, built, sewn_up, results, model),
        ),
        measured=tuple(results),
        standing=tuple(proven),
        fitting=tuple(measured(fitted, STILL, model)),
    )


def _fitted(
    foam: Foam,
    standing: Mapping[Copy, Placed],
    model: Model,
    firm: Sequence[Group],
    over_faces: Callable[[Copy], Placed | None],
) -> dict[Copy, Placed]:
    """Copies that the paper alone does not set, but that agree with all their lines where the model has them, as they lie there
    beside those that are `standing`; bent ones as those came out whose shape is `firm`, others as bent `over_faces`."""
    others: dict[Copy, Placed] = {}
    for own in firm:
        if not standing.keys() & set(own.copies):
            motion = registered(own.placed, model, own.copies)
            others |= {copy: own.placed[copy].moved(motion) for copy in own.copies if foam.part(copy).bent}
    most_mean, most = bounds(model.size)
    there = measured(others, STILL, model)
    others = {
        copy: others[copy] for one in there if one.within(most_mean, most) and (copy := Copy(one.part, one.number))
    }
    for copy in foam.copies:
        part = foam.part(copy)
        if copy in standing or copy in others:
            continue
        if not part.bent:
            others[copy] = as_cut(part, foam.mirrored(copy), plain_sheet(part))
        elif (row := folded(foam, copy)) is not None:
            others |= laid_in_place({copy: row}, [copy], model)
        elif (piece := over_faces(copy)) is not None:
            others[copy] = piece
    bodies = [own.copies for own in firm if others.keys() >= set(own.copies)]
    return agreeing(foam, standing, others, footings(foam), model, over_faces, bodies) if others else {}


def _open_seams(foam: Foam, built: Assembly, sound: Set[Copy]) -> tuple[OpenSeam, ...]:
    """All seams of which an end is not proven by the paper, once each: the widest apart."""
    gaps = dict(built.seams)
    found: dict[str, OpenSeam] = {}
    for sewn in sorted(foam.sewn, key=lambda sewn: -gaps.get(sewn, np.inf)):
        ends = {
            copy.part: copy in sound for copy in sorted((sewn.a, sewn.b), key=lambda copy: copy in sound, reverse=True)
        }
        if not all(ends.values()):
            unproven = tuple(part for part, proven in ends.items() if not proven)
            found.setdefault(sewn.seam, OpenSeam(sewn.seam, tuple(ends), unproven, gaps.get(sewn)))
    return tuple(found.values())


def _laid_on(
    model: Model, foam: Foam, built: Assembly, piece: Sequence[Copy], most: float
) -> tuple[list[Measured], dict[Copy, Placed]]:
    """The copies of a piece against the model, on which the largest that is sewn up, or the largest part, is laid; and as
    they lie there."""
    placed = {copy: built.placed[copy] for copy in piece}
    groups = [group for group in built.groups if set(group.copies) & set(piece)]
    root = max(groups, key=lambda g: sum(ring_area(foam.part(c).rings) for c in g.copies))
    by = [copy for copy in root.copies if copy in placed]
    motion = registered(placed, model, by)
    found = measured(placed, motion, model)
    near = [Copy(one.part, one.number) for one in found if one.within(most, most)]
    gauges = [near] if len(near) > len(by) else []  # once more by all that is near, as one body is a poor gauge
    if len(near) < len(placed) and all(turns_over(foam.part(copy)) for copy in by):
        gauges.append([copy for copy in placed if copy not in by])  # others tell which face of those is up
    for other in filter(None, gauges):
        again = registered(placed, model, other)
        there = measured(placed, again, model)
        # what is alike all round may have other names there than it was given
        if _within(there, most) >= _within(found, most):
            motion, found = again, there
    return found, {copy: piece.moved(motion) for copy, piece in placed.items()}


def _within(found: Sequence[Measured], most: float) -> int:
    return sum(one.within(most, most) for one in found)


def _mark_gaps(built: Assembly, sound: Set[Copy]) -> list[float]:
    """How far parts stand from the marks that tell their places, in mm, where they and all that these are drawn on are
    `sound`: what came to stand elsewhere says nothing of its lines."""
    marks: list[float] = []
    for s in built.sets:
        told = s.fit.sure and not all(f.grazes for f in s.joints)
        if told and all(copy in sound for f in s.joints for copy in f.copies):
            marks += s.fit.by_mark
    return marks

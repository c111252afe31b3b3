"""The virtual build of a pack: from its files alone to a prop, and that prop held against the model."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from foamwright.contacts.records import Solid
from foamwright.proof.bench.assembly import LOOSE, Assembly, Group, assemble
from foamwright.proof.bench.bands import BAND, band_faults, trimmed
from foamwright.proof.bench.foam import Copy, Foam, read_foam, ring_area
from foamwright.proof.bench.lengths import (
    SEAM,
    bevel_faults,
    contact_faults,
    dart_faults,
    mark_faults,
    paper_faults,
    seam_faults,
)
from foamwright.proof.bench.measure import Model, measured, registered
from foamwright.proof.bench.records import MEAN, BodyFigures, Fault, Measured, Proof, bounds
from foamwright.proof.bench.unlike import unlike_faults
from foamwright.proof.read import Drawn, svg

BENT_SEAM = 1.0  # mm between edges of bent foam, for a prop of `PROP` mm: the bench bends with triangles, hands do not
OPEN_MEAN, OPEN_WORST = 3.0, 4.0  # times the bounds of a closed body, for one with open edges: it springs as foam does
MARK = 1.0  # mm from any of its marks to a foot that stands on them, by the middle one of the mark's points
_COMES_ROUND = 0.12  # of its length between the ends of a band that is meant to close
_ENDS, _ENDS_SHARE = 3.0, 0.02  # mm, or of its length: as what it lies on is bent by triangles
_GRAZES = 0.3  # mm between two broad faces: the outline of what touches is that of no face


def virtual_build(files: Mapping[str, bytes], record: Mapping[str, Any], solids: Sequence[Solid]) -> Proof:
    """Cuts, bends and joins what is in the files, then lays it on the model, whose faces `solids` gives."""
    foam = read_foam(files, record)
    model = Model.of(solids)
    drawings = _drawings(foam, files)
    faults = [
        *seam_faults(foam),
        *unlike_faults(foam, model),
        *dart_faults(foam),
        *bevel_faults(foam),
        *mark_faults(foam),
        *contact_faults(foam),
        *band_faults(foam, drawings),
        *paper_faults(foam, drawings),
    ]
    if faults:  # what does not fit on paper is not worth bending
        return _empty(foam, faults)
    built = assemble(foam)
    return _judged(foam, built, model, _end_faults(foam, built, drawings))


def _end_faults(foam: Foam, built: Assembly, drawings: Mapping[str, Sequence[Drawn]]) -> list[Fault]:
    """Bands that come round on themselves and whose ends do not meet there, by their own length."""
    found = []
    for copy, piece in built.placed.items():
        part = foam.part(copy)
        if part.kind != BAND or part.folds or part.mitred or not part.bent:
            continue
        x = part.rings[0][:, 0]
        left_on = trimmed(part, drawings.get(part.id, ()))
        length = float(np.ptp(x)) - left_on
        y = float(part.rings[0][:, 1].mean())
        ends = np.array([[x.min(), y], [x.min() + 1.0, y], [x.max() - 1.0, y], [x.max(), y]])
        at = piece.place(ends, np.full(4, part.neutral))
        if float(np.linalg.norm(at[3] - at[0])) > _COMES_ROUND * length:
            continue
        ahead = (at[1] - at[0]) + (at[3] - at[2])
        off = float((at[0] - at[3]) @ ahead / max(float(np.linalg.norm(ahead)), 1e-9)) + left_on
        if abs(off) > max(_ENDS, _ENDS_SHARE * length):
            told = "apart" if off > 0 else "over each other"
            found.append(Fault(part.title, f"its ends come {abs(off):.1f} mm {told} where it closes", abs(off)))
    return found


def _drawings(foam: Foam, files: Mapping[str, bytes]) -> dict[str, tuple[Drawn, ...]]:
    """The drawing of every part, or those of its segments, in their order; none if one is missing."""
    drawings = {}
    for name, part in foam.parts.items():
        labels = [f"{part.label}{n}" for n in range(1, len(part.segments) + 1)] or [part.label]
        data = [files.get(f"templates/{label}-{name.replace('_', '-')}.svg") for label in labels]
        if all(own is not None for own in data):
            drawings[name] = tuple(svg(own) for own in data if own is not None)
    return drawings


def _empty(foam: Foam, faults: Sequence[Fault]) -> Proof:
    every = tuple(sorted(foam.parts))
    return Proof(0.0, 0.0, 0.0, "", (), 0, 0.0, "", 0, 0.0, len(foam.copies), 0, (), every, tuple(faults), ())


def _judged(foam: Foam, built: Assembly, model: Model, ends: Sequence[Fault]) -> Proof:
    size = model.size
    most_mean, most = bounds(size)
    share = most_mean / MEAN
    faults: list[Fault] = list(ends)
    sewn_up = (group for group in built.groups if group.bent or len(group.copies) > 1)
    bodies = [_body(foam, group, built, model, (most_mean, most)) for group in sewn_up]
    for body in bodies:
        names = _titles(foam, body.parts)
        if body.judged and body.mean > most_mean:
            faults.append(Fault(names, f"it comes out {body.mean:.2f} mm from the model on average", body.mean))
        elif body.judged and body.worst > most:
            faults.append(Fault(names, f"it comes out {body.worst:.2f} mm from the model at worst", body.worst))
        elif body.apart <= LOOSE and (body.mean > OPEN_MEAN * most_mean or body.worst > OPEN_WORST * most):
            what = f"left open it comes out {body.mean:.2f} mm from the model on average, {body.worst:.2f} mm at worst"
            faults.append(Fault(names, what, body.worst))
    soft = {part for body in bodies if not body.judged for part in body.parts}
    seams = built.seams
    worst_seam = max(seams, key=lambda s: s[1], default=None)
    for sewn, gap in seams:
        bent = foam.part(sewn.a).bent or foam.part(sewn.b).bent
        if gap > (BENT_SEAM * share if bent else SEAM) and sewn.a.part not in soft:
            where = f"seam {sewn.seam} of {_titles(foam, sorted({sewn.a.part, sewn.b.part}))}"
            faults.append(Fault(where, f"its edges are {gap:.2f} mm apart when all is joined", gap))
    marks = _mark_gaps(foam, built, soft)
    results: list[Measured] = []
    loose: set[str] = set(soft)
    for piece in built.pieces:
        results += _laid_on(model, foam, built, piece, most)
    astray = {Copy(one.part, one.number) for one in results if one.away.max() > most}
    for standing in built.sets:
        # what is set on a part that was itself set astray says nothing of its own lines
        flat = not any(foam.part(copy).bent or f.lower in astray for f in standing.joints for copy in f.copies)
        gap = max(standing.fit.by_mark, default=0.0)
        if flat and gap > MARK * share and _alone(standing, built.groups):
            first = standing.joints[0]
            where = f"the line on {foam.part(first.lower).title} for {foam.part(first.upper).title}"
            faults.append(Fault(where, f"what stands there is {gap:.2f} mm off it", gap))
    proven = []
    # A part that came to stand elsewhere tells that its marks can be read in two ways, and not which of them is wrong.
    for one in results:
        off = one.away.mean() > most_mean or one.away.max() > most
        if one.part in soft or off:
            loose.add(one.part)
            continue
        proven.append(one)
    away = np.concatenate([one.away for one in proven] or [np.zeros(1)])
    worst = max(proven, key=lambda one: one.away.max(), default=None)
    return Proof(
        size=size,
        mean=float(away.mean()),
        worst=float(away.max()),
        worst_part=worst.part if worst else "",
        bodies=tuple(bodies),
        seams=len(seams),
        seam_gap=worst_seam[1] if worst_seam else 0.0,
        seam_worst=worst_seam[0].seam if worst_seam else "",
        marks=len(marks),
        mark_gap=max(marks, default=0.0),
        copies=len(foam.copies),
        proven=len(proven),
        loose=tuple(sorted(loose)),
        left=tuple(sorted({copy.part for copy in built.left})),
        faults=tuple(faults),
        measured=tuple(results),
    )


def _laid_on(model: Model, foam: Foam, built: Assembly, piece: Sequence[Copy], most: float) -> list[Measured]:
    """The copies of a piece against the model, on which the largest that is sewn up, or the largest part, is laid."""
    placed = {copy: built.placed[copy] for copy in piece}
    groups = [group for group in built.groups if set(group.copies) & set(piece)]
    root = max(groups, key=lambda g: sum(ring_area(foam.part(c).rings) for c in g.copies))
    by = [copy for copy in root.copies if copy in placed]
    found = measured(placed, registered(placed, model, by), model)
    near = [Copy(one.part, one.number) for one in found if one.away.max() <= most]
    if len(near) > len(by):  # once more by all that is near, as one body is a poor gauge
        found = measured(placed, registered(placed, model, near), model)
    return found


def _body(foam: Foam, group: Group, built: Assembly, model: Model, most: tuple[float, float]) -> BodyFigures:
    """The figures of what is sewn up. Foam with open edges is proven by coming out within the bounds `most`; beyond them
    it is not judged, up to a multiple of them: it springs open as far as it will."""
    own = {copy: group.placed[copy] for copy in group.copies if copy in group.placed}
    result = measured(own, registered(own, model, list(own)), model)
    away = np.concatenate([one.away for one in result] or [np.zeros(1)])
    within = away.mean() <= most[0] and away.max() <= most[1]
    return BodyFigures(
        tuple(dict.fromkeys(copy.part for copy in group.copies)),
        len(group.copies),
        group.bent,
        group.determined and (within or group.closed),
        float(away.mean()),
        float(away.max()),
        group.apart[0],
    )


def _alone(standing: Any, groups: Sequence[Group]) -> bool:
    """Is it one stiff body on another, and do the marks say where? Of several bodies one that is misread moves all."""
    bodies = [set(group.copies) for group in groups]
    ends = ({f.lower for f in standing.joints}, {f.upper for f in standing.joints})
    return standing.fit.sure and all(len(end) == 1 or any(end <= body for body in bodies) for end in ends)


def _firm(foam: Foam, standing: Any, soft: set[str]) -> bool:
    """Do the marks say where it stands, and are they on foam whose shape is known?"""
    if not standing.fit.sure or any(copy.part in soft for f in standing.joints for copy in f.copies):
        return False
    return any(f.gap < _GRAZES or any(face not in ("inside", "outside") for face in f.faces) for f in standing.joints)


def _mark_gaps(foam: Foam, built: Assembly, soft: set[str]) -> list[float]:
    """How far parts stand from their marks, in mm, where their places follow from marks one after another."""
    standing = {copy for s in built.sets for copy in s.copies}
    sound = {copy for copy in built.placed if copy not in standing and copy.part not in soft}
    marks: list[float] = []
    for s in built.sets:
        below = {copy for f in s.joints for copy in f.copies if copy not in s.copies}
        if _firm(foam, s, soft) and below & sound:
            sound |= set(s.copies)
            marks += s.fit.by_mark
    return marks


def _titles(foam: Foam, parts: Sequence[str]) -> str:
    names = [foam.parts[name].title for name in parts]
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")

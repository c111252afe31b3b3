"""Small drawings beside a step where the eye needs them, true to the model and the patterns: each kind of operation the
first time that it occurs, and every bent part as it lies flat. Lengths in mm on paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np

from foamwright.assembly.bodies import Bodies, Touch
from foamwright.assembly.records import Inset, Step
from foamwright.booklet.pictures import folding, free_curve, segmenting, shaping
from foamwright.booklet.pictures.before_after import before_and_after
from foamwright.booklet.pictures.edge_insets import bevel, dart, seam, ticks
from foamwright.booklet.pictures.joint_insets import corner, joint, kind_of, runs_level
from foamwright.booklet.pictures.level_insets import recess, spacer
from foamwright.booklet.words import bending, free_bands, saddles
from foamwright.booklet.words.checks import rim_above
from foamwright.booklet.words.cutting import mitres
from foamwright.flatten.records import Pattern, Patterns
from foamwright.geometry.bevel import least_bevel
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody
from foamwright.registry import kind
from foamwright.templates.bevels import as_told, by_sanding, flares

_LAYERED = 4  # parts shown in their layers beside one step
_BENT = 0.04  # of its length by which a part rises from flat when it is bent
_CORNER = 8.0  # degrees at which the outsides of two bent parts meet; less, and their joint looks like any other
_LEANS = 4.0  # degrees of a corner that stand for each mm of a wedge that stays open beside an edge
_CORNERS = 3  # of such joints beside one step
_FLAT_SHAPES = 3  # bent parts shown flat beside one step


def insets(steps: Sequence[Step], patterns: Patterns, bodies: Bodies) -> dict[int, tuple[Inset, ...]]:
    """The insets of each step that has any, by its number."""
    by_id = {pattern.piece.id: pattern for pattern in patterns.patterns}
    by_step: dict[int, list[Inset]] = {}
    gauges = {spec.values["of"]: spec.id for spec in patterns.prop.design.parts if kind(spec.kind).sets_gaps}
    for number, inset in _once(steps, by_id, gauges, bodies):
        by_step.setdefault(number, []).append(inset)
    shown: set[str] = set()  # what is bent at the bench and set in later has its picture once
    for step in steps:
        own = [p for p in (*step.places, *(step.parts if step.bench else ())) if p in by_id and p not in shown]
        bent = [by_id[part] for part in own if _is_bent(by_id[part].piece, bodies) and not mitres(by_id[part])]
        shown.update(own)
        by_step.setdefault(step.number, []).extend(before_and_after(p, bodies) for p in bent[:_FLAT_SHAPES])
    return {number: tuple(each) for number, each in sorted(by_step.items()) if each}


def _once(
    steps: Sequence[Step], by_id: Mapping[str, Pattern], gauges: Mapping[str, str], bodies: Bodies
) -> Iterator[tuple[int, Inset]]:
    """Each kind of operation where it first occurs."""
    cut = next((step for step in steps if "knife" in step.uses and not step.moves), None)
    if cut is not None:
        for angle, pattern in _leanings(by_id.values()):
            yield cut.number, bevel(angle, pattern)
        yield from ((cut.number, inset) for inset in folding.folds(by_id.values()))
    yield from _alone(steps, by_id, bodies)
    said: set[str] = set()
    stands: set[int] = set()
    for step in steps:
        own = [by_id[part] for part in step.parts if part in by_id]
        new = {copy for move in step.moves for copy in move.copies}
        there = new | {copy for part in step.bench for copy in bodies.of(part)} if step.bench else new | stands
        stands |= new
        for which, inset in _operations(step, own, said) if step.glue else ():
            said.add(which)
            yield step.number, inset
        for which, inset in _joints(new, there, bodies, said) if step.glue else ():
            said.add(which)
            yield step.number, inset
        if "recess" not in said and step.glue:
            for copy in sorted(new):
                if (levels := rim_above(bodies, copy, sorted(there - new))) is not None:
                    said.add("recess")
                    yield step.number, recess(bodies, copy, sorted(there), *levels)
                    break
        if "spacer" not in said:
            for pattern in own if step.moves else ():
                gauge = by_id.get(gauges.get(pattern.piece.id, ""))
                if gauge is not None and (drawn := spacer(gauge, pattern.piece, bodies)) is not None:
                    said.add("spacer")
                    yield step.number, drawn
                    break


def _alone(steps: Sequence[Step], by_id: Mapping[str, Pattern], bodies: Bodies) -> Iterator[tuple[int, Inset]]:
    """What is done to single parts: bends and hollows, and layers."""
    within = [step for step in steps if step.glue and not step.moves]
    kinds: set[str] = set()  # of joints of segments, each drawn in the first step that glues such
    for step in steps:
        own = [by_id[part] for part in step.parts if part in by_id]
        for pattern in own if step in within else ():
            if pattern.split is None:
                continue
            which = pattern.piece.id if mitres(pattern) else pattern.split.joint  # each row of mitred pieces is another
            if which not in kinds and (drawn := segmenting.joined(pattern)):
                kinds.add(which)
                yield step.number, drawn
        if "heat" in step.uses:
            pressed = [p for p in own if bending.is_pressed(p)]
            both_ways = [*pressed, *filter(saddles.is_bent_back, own)]
            shaped = [shaping.bent(p) for p in own if bending.is_bent(p.piece) or p in both_ways]
            by_hand = {
                inwards: [p for p in pressed if not p.darts and bending.main(p.piece).inwards == inwards]
                for inwards in (True, False)
            }
            shaped += [shaping.pressed(those, inwards) for inwards, those in by_hand.items() if those]
            shaped += [free_curve.curve(band) for band in free_bands.free_bands(own, bodies)]
            yield from ((step.number, inset) for inset in shaped if inset is not None)
        if step.glue and not step.moves:  # what is joined in layers has its darts and segments joined before
            last = [
                p for p in own if not any(p.piece.id in later.parts for later in within if later.number > step.number)
            ]
            layered = [p for p in last if p.piece.layers > 1 and isinstance(p.piece.body, FlatBody | RodBody)]
            yield from ((step.number, shaping.layered(p)) for p in layered[:_LAYERED])


def _leanings(patterns: Iterable[Pattern]) -> Iterator[tuple[float, Pattern]]:
    """The flare of the longest bevelled edge whose lower face is the larger one, and of the longest other one."""
    every = [
        (edge.length, flare, p)
        for p in patterns
        for edge in p.edges
        if not by_sanding(flares(p, edge), p.piece.thickness)
        for flare in as_told(flares(p, edge))
    ]
    for sign in (1.0, -1.0):
        own = [one for one in every if sign * one[1] >= least_bevel(one[2].piece.thickness)]
        if own:
            _, flare, pattern = max(own, key=lambda one: (one[0], sign * one[1]))
            yield flare, pattern


def _operations(step: Step, own: Sequence[Pattern], said: set[str]) -> Iterator[tuple[str, Inset]]:
    if "dart" not in said and (darted := [p for p in own if p.darts]):
        yield "dart", dart(max(darted[0].darts, key=lambda d: d.depth), darted[0])
    if "ticks" not in said and step.moves and (pair := seam(own)):
        yield "ticks", ticks(*pair)


def _joints(new: set[int], there: set[int], bodies: Bodies, said: set[str]) -> Iterator[tuple[str, Inset]]:
    """A joint of each kind between a new copy and one that is there, seams that run level and others apart; and those that
    meet at a corner or leave a wedge open, which each look like no other: the widest of each pair of parts."""
    met = [
        touch
        for (a, b), touch in sorted(bodies.touches.items())
        if touch.glued and a in new and b in there and not (b in new and a > b)
    ]
    kinds = {(touch.a, touch.b): kind_of(touch, bodies) for touch in met}
    for touch in met:
        how = kinds[touch.a, touch.b]
        which = f"{how}, level" if how == "butt" and runs_level(touch) else how
        pair = (
            f"{how} of {_pair(touch, bodies)}"  # copies all round a hub meet it both ways, and their joints look alike
        )
        if not {which, pair} & said and (drawn := joint(touch, bodies, sorted(there | new) if how == "hole" else ())):
            said |= {pair, _pair(touch, bodies)}
            yield which, drawn
    open_by = {(t.a, t.b): max(corner(t, bodies) if kinds[t.a, t.b] == "butt" else 0.0, _LEANS * t.wedge) for t in met}
    count = 0
    for touch in sorted(met, key=lambda t: (-round(open_by[t.a, t.b], 1), -round(t.area), t.a, t.b)):
        if count == _CORNERS or open_by[touch.a, touch.b] < _CORNER:
            return
        which = _pair(touch, bodies)
        if which not in said and touch.glued and (drawn := joint(touch, bodies)):
            count += 1
            yield which, drawn


def _pair(touch: Touch, bodies: Bodies) -> str:
    """The parts of a joint, in one order."""
    return " ".join(sorted({bodies.pieces[touch.a].id, bodies.pieces[touch.b].id}))


def _is_bent(piece: Piece, bodies: Bodies) -> bool:
    """Is a part bent so far that a picture of it before and after tells more than that it is thin?"""
    if not isinstance(piece.body, BandBody | PanelBody):
        return False
    points, _ = bodies.mesh(bodies.of(piece.id)[:1])
    spans = np.ptp((points - points.mean(axis=0)) @ np.linalg.svd(points - points.mean(axis=0), False)[2].T, axis=0)
    return bool(spans.min() - piece.thickness > _BENT * spans.max())

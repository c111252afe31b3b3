"""Copies laid each by itself where the model has them, to tell a fault of the paper from one of the bench.

What fits together there is cut and marked right, however the bench came to set it; only that its lines can be read in one
way is not shown. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

import numpy as np

from foamwright.proof.bench.charts import edge_lines
from foamwright.proof.bench.fits import as_it_stands
from foamwright.proof.bench.foam import Copy, Foam
from foamwright.proof.bench.folded import turns_sharply
from foamwright.proof.bench.footings import Foot, Footing, Stuck, is_bar, out_of_foam, own_points, stuck
from foamwright.proof.bench.measure import Model, axis_of, measured, registered
from foamwright.proof.bench.outlines import goes_round, just_there, lying_there
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.plates import seam_gap
from foamwright.proof.bench.records import bounds
from foamwright.proof.bench.resting import outline_off
from foamwright.proof.bench.rigid import STILL, Lines, turned_about
from foamwright.proof.bench.seams import glue

_OFF = 0.5  # from the faces of the model, and from a line to the foot that belongs there, where both parts are flat
_MET = 0.8  # of how long two edges touch, along which they must meet
_HOLE = 0.5  # by which a hole may be wider or narrower about a bar than the record tells


def agreeing(
    foam: Foam,
    standing: Mapping[Copy, Placed],
    others: Mapping[Copy, Placed],
    joints: Sequence[Footing],
    model: Model,
    over_faces: Callable[[Copy], Placed | None],
    bodies: Sequence[Sequence[Copy]] = (),
) -> dict[Copy, Placed]:
    """Those of `others` that agree with every line drawn for them or on them, every hole that they go through and every edge of
    bent foam that they are mitred to, at least one, where the model has them, and as they lie there. `standing` is what is proven
    otherwise, laid on the model, flat parts just where that has them, as what leans a little is the further off at its top.
    `others` are taken as they were built only where they are bent, and lie in their place. Bent foam comes out within the bounds,
    but not just where the model has it: its lines may agree where it is bent over its faces there instead (`over_faces`, None
    where that does not go). Of `bodies` that are sewn up those go along that have no line or hole of their own."""
    in_holes = tuple(stuck(foam))
    pairs = [*(f.copies for f in joints), *((one.plate, one.bar) for one in in_holes)]
    beside = {end for ends in pairs if not others.keys().isdisjoint(ends) for end in ends}
    there = {
        copy: just_there(piece, copy, model) if copy in beside and not piece.part.bent else piece
        for copy, piece in standing.items()
    }
    for copy, piece in others.items():
        if piece.part.bent:
            there[copy] = piece
        else:
            there |= laid_in_place({copy: piece}, [copy], model)
    for copy in [*there]:
        if turns_sharply(foam.part(copy)):
            there[copy] = _turned_as_marked(copy, there, joints, model)
    exact = {Copy(one.part, one.number) for one in measured(there, STILL, model) if one.away.max() <= _OFF}
    share, worst = bounds(model.size)
    agree: dict[Copy, list[bool]] = {}
    for copy in others:
        if copy not in there or not (copy in exact or there[copy].part.bent):
            continue
        own = [f for f in joints if copy in f.copies and set(f.copies) <= there.keys() and f.lower != f.upper]
        marks = []
        for f in own:
            soft = [end for end in f.copies if foam.part(end).bent]
            far = _off_lines(f, there)
            if soft and max(far, default=0.0) > share:
                lying = {end: over for end in soft if (over := over_faces(end)) is not None}
                far = _off_lines(f, there | lying)
            marks += [off <= (share if soft else _OFF) for off in far]
        agree[copy] = [*marks, *_holes(foam, copy, in_holes, there), *_ends(foam, copy, there, worst)]
    for body in bodies:
        told = [one for copy in body for one in agree.get(copy, [False])]
        agree |= {copy: told for copy in body if agree.get(copy) == []}
    return {copy: there[copy] for copy, own in agree.items() if own and all(own)}


def _turned_as_marked(copy: Copy, there: Mapping[Copy, Placed], joints: Sequence[Footing], model: Model) -> Placed:
    """A strip with sharp corners that goes round something, so turned that what is drawn on it agrees: laid on the model its foam
    is alike at every corner of a square, and only its lines tell which is which."""
    piece = there[copy]
    own = [f for f in joints if f.lower == copy and f.upper != copy and f.upper in there]

    def off(turned: Placed) -> float:
        return sum(max(_off_lines(f, {**there, copy: turned}), default=0.0) for f in own)

    def lies(turned: Placed) -> bool:
        return all(one.away.max() <= _OFF for one in measured({copy: turned}, STILL, model))

    if off(piece) <= _OFF * len(own):
        return piece
    flat = piece.part.rings[0].min(axis=0) + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    corner, ahead, beside = piece.place(flat, np.zeros(3))
    axes = np.array([ahead - corner, beside - corner, np.cross(ahead - corner, beside - corner)])
    points = piece.points @ axes.T
    middle = (points.min(axis=0) + points.max(axis=0)) / 2 @ axes
    pieces = len(piece.part.mitred) or len(piece.part.folds) + 1
    shares = {k / count for count in (pieces - 1, pieces) if count > 1 for k in range(count)}
    round_about = [turned_about(axes[1], 2 * np.pi * share, middle) for share in sorted(shares)]
    over = turned_about(axes[0], np.pi, middle)
    tried = [piece.moved(turn) for one in round_about for turn in (one, one.after(over))]
    return min(filter(lies, tried), key=off, default=piece)


def _off_lines(f: Footing, there: Mapping[Copy, Placed]) -> tuple[float, ...]:
    """How far what stands on a mark is from it in the middle, in mm; nothing where the mark does not tell."""
    lower, upper = there[f.lower], there[f.upper]
    if f.grazes:
        return outline_off(f, lower, upper) if lower.part.bent and not upper.part.bent else ()
    if f.opens and (stands := Foot.of(f, upper)) is not None:
        return _off_below(f, lower, stands)
    return as_it_stands({f.lower: lower}, {f.upper: upper}, [f])


def _off_below(f: Footing, lower: Placed, stands: Foot) -> tuple[float, ...]:
    """How far a mark is in the middle from what stands above it, seen along the face: an edge that leans away touches with its
    near rim, and its far one is above its line by no more than it opens."""
    flat, _ = own_points(f, lower)
    if not len(flat):
        return ()
    points = lower.place(flat, np.full(len(flat), lower.part.depth(f.mark.inside)))
    up = out_of_foam(f, lower, flat)
    apart = stands.lines.nearest(points) - points
    above = (apart * up).sum(axis=1)
    aside = np.linalg.norm(apart - above[:, None] * up, axis=1)
    past = np.maximum(np.maximum(-above, above - f.opens), 0.0)
    return (float(np.median(np.hypot(aside, past))),)


def _holes(foam: Foam, copy: Copy, in_holes: Sequence[Stuck], there: Mapping[Copy, Placed]) -> Iterator[bool]:
    """Of every hole with a bar in it of which a copy is one: does the bar fill it, at the gap that the record tells?"""
    for plate, hole, bar, gap in in_holes:
        if copy not in (plate, bar) or plate not in there or bar not in there:
            continue
        line = np.vstack(hole.stretches)
        ring = there[plate].place(line, np.full(len(line), foam.part(plate).thickness / 2))
        first, last = axis_of(there[bar])
        way = (last - first) / np.linalg.norm(last - first)
        away = ring - first
        away = np.linalg.norm(away - (away @ way)[:, None] * way, axis=1) - foam.part(bar).thickness / 2
        yield bool(np.abs(away - gap).max() <= _HOLE)


def _ends(foam: Foam, copy: Copy, there: Mapping[Copy, Placed], off: float) -> Iterator[bool]:
    """Of every edge of a bent copy that is glued to an edge without a seam, as where two pipes are mitred: do they meet for as
    long as the record tells?"""
    for touch in foam.touches:
        if copy not in (touch.a, touch.b) or not touch.glued or not {touch.a, touch.b} <= there.keys():
            continue
        parts = foam.part(touch.a), foam.part(touch.b)
        own, other = (part.edge(face) for part, face in zip(parts, (touch.face_a, touch.face_b)))
        sewn = any(
            {(s.a, s.edge_a), (s.b, s.edge_b)} == {(touch.a, touch.face_a), (touch.b, touch.face_b)} for s in foam.sewn
        )
        if own is None or other is None or sewn or not (parts[0].bent and parts[1].bent):
            continue
        both = [edge_lines(there[end], edge)[:2] for end, edge in ((touch.a, own), (touch.b, other))]
        lines = [Lines.of([(near + far) / 2]) for near, far in both]
        away = np.linalg.norm(lines[1].nearest(lines[0].starts) - lines[0].starts, axis=1)
        long, beyond = (np.linalg.norm(line.ends - line.starts, axis=1) for line in lines)
        thick = min(part.thickness for part in parts)  # cut at a slant more touches than that
        met = min(float(long.sum()), float(beyond.sum()), touch.area / thick)
        yield float(long[away <= touch.gap + off].sum()) >= _MET * met


def laid_in_place(placed: Mapping[Copy, Placed], copies: Iterable[Copy], model: Model) -> dict[Copy, Placed]:
    """The copies as the model has them, those of which it has the faces."""
    found = {}
    for copy in copies:
        piece = placed[copy]
        bar = is_bar(piece.part)
        if not all((copy, side) in model.faces for side in (("outside",) if bar else ("inside", "outside"))):
            continue
        if bar or piece.part.bent:
            found[copy] = piece.moved(registered({copy: piece}, model, [copy]))
        else:
            found[copy] = lying_there(piece.part, copy, piece.mirrored, model).piece
    return found


def fits_together(foam: Foam, there: Mapping[Copy, Placed], model: Model, gap: float, off: float) -> bool:
    """Are copies, as they lie `there`, no further than `off` from their faces, and their seams no wider than `gap`?"""
    joined = [sewn for sewn in foam.sewn if sewn.a in there and sewn.b in there]
    gaps = [seam_gap(there, g) for sewn in joined if (g := glue(foam, sewn))]
    away = [float(one.away.max()) for one in measured(there, STILL, model)]
    return max(gaps, default=0.0) <= gap and max(away, default=0.0) <= off


def stands_on(there: Mapping[Copy, Placed], joints: Sequence[Footing], model: Model, off: float) -> bool:
    """Are the feet of flat copies, as they lie `there`, no further than `off` from the lines drawn for them? Where nothing says
    how a round one lies that they are drawn on, they may be."""
    joints = [f for f in joints if not goes_round(there[f.lower], f.lower, model)]
    lower = {f.lower: there[f.lower] for f in joints}
    upper = {f.upper: there[f.upper] for f in joints}
    return max(as_it_stands(lower, upper, joints), default=0.0) <= off

"""Lines drawn on parts for others, held against where those stand in the model.

Each flat part is laid on its faces in the model by its own lines (`outlines.py`), bent foam lies there as the bench built it;
what is drawn on it must then lie on the bound of what stands there. So a line is told of on which a part would come to stand
elsewhere without a word. Over all designs 0.1 mm on flat parts, half of what is allowed on bent ones. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from foamwright.proof.bench.bands import BAND
from foamwright.proof.bench.foam import Copy, Foam
from foamwright.proof.bench.footings import FACES, Footing, arrow, drawn_normal, out_of_foam, own_points
from foamwright.proof.bench.measure import Model, Surface, edges_away
from foamwright.proof.bench.outlines import OFF, Lying
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.records import MEAN, Fault, bounds
from foamwright.proof.bench.rigid import Lines, best_motion

_ASTRAY = 0.5  # mm between a line and the bound of what stands there, and
_SHARED = 1.5  # the same of a line that is drawn once for several copies, as each of them may be a mm off
_SOME = 2  # points of the line that are, from which it is drawn elsewhere
_MIDDLE, _MOST = (
    1.5,
    3.0,
)  # mm on bent foam, of a prop of `PROP` mm: what half of the points, and nearly all, may be away
_NEARLY_ALL = 0.95
_SAME = 0.01  # mm between the faces of two copies, one moved onto the other
_LEVEL = 0.5  # mm by which what touches may rise off the face: more, and its bound is not that of the contact


def mark_place_faults(
    foam: Foam, model: Model, lying: Mapping[Copy, Lying], joints: Sequence[Footing]
) -> Iterator[Fault]:
    """Lines that are drawn elsewhere, by parts that are `lying` in the model. Where nothing says how a part that is round
    lies there, nothing is said of it."""
    told = set()
    for f in joints:
        pair = f.lower.part, f.upper.part
        if pair in told or f.grazes or (lower := _there(foam, model, lying, f.lower)) is None:
            continue
        away = away_from_foot(f, lower, model)
        shared = len({lower for lower, _ in f.mark.of}) > 1
        if np.count_nonzero(away > (_SHARED if shared else _ASTRAY)) >= _SOME:
            told.add(pair)
            yield _fault(foam, f, away)


def bent_place_faults(
    foam: Foam, model: Model, there: Mapping[Copy, Placed], joints: Sequence[Footing]
) -> Iterator[Fault]:
    """Lines that are drawn elsewhere on bent parts, which lie `there` in the model as they were built. A flat part that lies on
    them with a face touches only as far as that goes, so its own outline says nothing; and no line is nearer than the edges
    of the foam that it is drawn on, which may have slid. A band has some foam left on to be trimmed, and slides by that."""
    share = bounds(model.size)[0] / MEAN
    told = set()
    for f in joints:
        pair = f.lower.part, f.upper.part
        lies = any(face in FACES for face in f.faces) and not foam.part(f.upper).bent
        lower = foam.part(f.lower)
        if pair in told or lies or f.grazes or f.lower not in there or not lower.bent or lower.kind == BAND:
            continue
        away = _along_foam(f, there[f.lower], model)
        middle, most = (float(np.quantile(away, part)) for part in (0.5, _NEARLY_ALL)) if len(away) else (0.0, 0.0)
        if middle <= _MIDDLE * share and most <= _MOST * share:
            continue
        edges = edges_away({f.lower: there[f.lower]}, model)
        slid, at_most = (float(np.median(edges)), float(edges.max())) if len(edges) else (0.0, 0.0)
        if middle > _MIDDLE * share + slid or most > _MOST * share + at_most:
            told.add(pair)
            yield _fault(foam, f, away)


def _fault(foam: Foam, f: Footing, away: np.ndarray) -> Fault:
    where = f"the line on {foam.part(f.lower).title} for {foam.part(f.upper).title}"
    by = float(away.max())
    return Fault(where, f"it is up to {by:.1f} mm from where that stands in the model", by)


def _there(foam: Foam, model: Model, lying: Mapping[Copy, Lying], copy: Copy) -> Placed | None:
    """A copy in the model: that of its hand which was laid there, moved as its faces are from those of that one."""
    for other, own in lying.items():
        if other.part != copy.part or foam.mirrored(other) != foam.mirrored(copy) or own.off > OFF:
            continue
        if not any(arrow(other, own.piece, name) is not None for name in ("up", "forward")):
            return None
        one, two = (np.vstack([model.faces[end, face].points for face in FACES]) for end in (other, copy))
        if one.shape != two.shape:
            return None
        motion = best_motion(one, two)
        return own.piece.moved(motion) if np.abs(motion(one) - two).max() < _SAME else None
    return None


def away_from_foot(f: Footing, lower: Placed, model: Model) -> np.ndarray:
    """(K,) how far points of a mark are from the bound of the faces that stand there, seen along the normal of the foam; none
    where these do not lie flat on it."""
    surfaces = [model.faces.get((f.upper, face)) for face in f.faces]
    flat, _ = own_points(f, lower)
    if not len(flat) or any(surface is None for surface in surfaces):
        return np.zeros(0)
    normal = drawn_normal(f, lower)
    at = lower.place(flat, np.full(len(flat), lower.part.depth(f.mark.inside)))
    here = [surface for surface in surfaces if surface is not None]
    rise = np.concatenate([(surface.points - at[0]) @ normal for surface in here]) - f.gap
    if float(np.abs(rise).max()) > _LEVEL:
        return np.zeros(0)
    starts, ends = _ends(f, here, model)
    level = [points - np.outer((points - at[0]) @ normal, normal) for points in (starts, ends, at)]
    feet = Lines.between(level[0], level[1]).nearest(level[2])
    return np.asarray(np.linalg.norm(feet - level[2], axis=1))


def _along_foam(f: Footing, lower: Placed, model: Model) -> np.ndarray:
    """(K,) how far points of a mark are along bent foam from the bound of the faces that stand there."""
    flat, _ = own_points(f, lower)
    here = [model.faces[f.upper, face] for face in f.faces if (f.upper, face) in model.faces]
    if not len(flat) or len(here) < len(f.faces):
        return np.zeros(0)
    normals = out_of_foam(f, lower, flat)
    at = lower.place(flat, np.full(len(flat), lower.part.depth(f.mark.inside))) + f.gap * normals
    starts, ends = _ends(f, here, model)
    apart = Lines.between(starts, ends).nearest(at) - at
    return np.asarray(np.linalg.norm(apart - (apart * normals).sum(axis=1)[:, None] * normals, axis=1))


def _ends(f: Footing, here: Sequence[Surface], model: Model) -> tuple[np.ndarray, np.ndarray]:
    """Both ends (N, 3) of the lines at which the faces that stand there end; also of those in which such a face meets itself, as
    a skin that is closed by a seam of its own."""
    starts, ends = ([getattr(surface.bound, end) for surface in here] for end in ("starts", "ends"))
    for (copy, name), edge in model.faces.items():
        if copy == f.upper and name not in f.faces:
            rim = edge.bound
            away = [np.maximum(surface.nearest(rim.starts)[0], surface.nearest(rim.ends)[0]) for surface in here]
            on = np.min(away, axis=0) < _SAME
            starts, ends = [*starts, rim.starts[on]], [*ends, rim.ends[on]]
    return np.vstack(starts), np.vstack(ends)

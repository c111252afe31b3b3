"""Flat parts whose corners meet in a line, as two roof slopes with square edges do: no faces touch there, so that no contact
tells of it, and yet a maker must know that the two belong together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from foamwright.assembly import directions
from foamwright.assembly.bodies import Bodies, thickness
from foamwright.assembly.naming import all_of, capital
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import length, say
from foamwright.parts.records import FlatBody

_MET = 0.5  # mm between two lines that are one
_SHARP = 0.9  # cosine between the faces of a corner, above which it is none
_PARALLEL = 0.999  # cosine
_STRAIGHT = 5.0  # mm of a corner that runs straight
_STEP = 4.0  # mm from one place along a corner to the next
_ONE_SIDE = 0.9  # of the length of the mean of directions that name one side
_LONG = 20.0  # mm of a line, and
_SHARE = 0.5  # of the length of the shorter part, to be told


def lines(told: Fitting) -> list[tuple[int, str]]:
    """A sentence for each two parts of a step, or of it and of what stands, that meet along a line only, with the turn of the one
    that goes in last."""
    bodies = told.bodies
    new = [c for move in told.moves for c in move.copies]
    near = [*(c for c in range(len(bodies)) if told.standing >> c & 1), *new]
    found: dict[frozenset[str], list[tuple[int, int, np.ndarray]]] = {}
    corners: dict[int, np.ndarray] = {}
    for a in new:
        for b in near:
            both = frozenset((bodies.pieces[a].id, bodies.pieces[b].id))
            if (a <= b and b in new) or (a, b) in bodies.touches or not _may_meet(bodies, a, b):
                continue
            for copy in (a, b):
                if copy not in corners:
                    corners[copy] = _corners(bodies, copy)
            line = _shared(bodies, a, b, corners)
            if line is not None and not (_bounds(bodies, a, line) or _bounds(bodies, b, line)):
                found.setdefault(both, []).append((a, b, line))
    turn = told.turn
    return [
        (max(turn.get(part, 0) for part in both), _sentence(told, sorted(both), pairs)) for both, pairs in found.items()
    ]


def _sentence(told: Fitting, both: Sequence[str], pairs: Sequence[tuple[int, int, np.ndarray]]) -> str:
    bodies = told.bodies
    offs = np.array([line.mean(axis=0) - bodies.spheres[[a, b], :3].mean(axis=0) for a, b, line in pairs])
    offs /= np.maximum(np.linalg.norm(offs, axis=1, keepdims=True), 1e-9)
    facts = {
        "parts": capital(all_of([told.every[part] for part in both])),
        "size": length(float(np.mean([np.linalg.norm(np.ptp(line, axis=0)) for _, _, line in pairs]))),
    }
    if float(np.linalg.norm(offs.mean(axis=0))) < _ONE_SIDE:  # as the four corners of a tent
        return say(
            "{parts} meet each other only along lines, each {size} long: bring their corners together there without a gap, and "
            "hold them so with tape until the glue of this step has set. The groove beside each line is as it should be.",
            **facts,
        )
    return say(
        "{parts} meet only along a line {where}, {size} long: bring their corners together there without a gap, and hold them "
        "so with tape until the glue of this step has set. The groove beside the line is as it should be.",
        where=directions.at(offs.mean(axis=0)),
        **facts,
    )


def _may_meet(bodies: Bodies, a: int, b: int) -> bool:
    """Are two copies flat, near each other, and at an angle?"""
    if a == b or not all(isinstance(bodies.pieces[i].body, FlatBody) for i in (a, b)):
        return False
    apart = float(np.linalg.norm(bodies.spheres[a, :3] - bodies.spheres[b, :3]))
    return apart < bodies.spheres[a, 3] + bodies.spheres[b, 3] + _MET


def _shared(bodies: Bodies, a: int, b: int, corners: Mapping[int, np.ndarray]) -> np.ndarray | None:
    """The places (k, 3) of a line that is a corner of both copies, if it is long enough."""
    mine, theirs = corners[a], corners[b]
    if not len(mine) or not len(theirs):
        return None
    start, along = theirs[:, 0], theirs[:, 1] - theirs[:, 0]
    long = np.linalg.norm(along, axis=1)
    along = along / long[:, None]
    met = []
    for one in mine:
        size = float(np.linalg.norm(one[1] - one[0]))
        parallel = np.abs(along @ (one[1] - one[0])) > _PARALLEL * size
        places = one[0] + np.linspace(0.0, 1.0, max(int(size / _STEP), 1) + 1)[:, None] * (one[1] - one[0])
        away = places[:, None, :] - start[parallel][None]
        far = np.clip(np.einsum("kmi,mi->km", away, along[parallel]), 0.0, long[parallel])
        off = np.linalg.norm(away - far[:, :, None] * along[parallel], axis=2).min(axis=1, initial=np.inf)
        met.append(places[off < _MET])
    line = np.vstack(met)
    if len(line) < 2:
        return None
    size = float(np.linalg.norm(np.ptp(line, axis=0)))
    least = min(bodies.spheres[i, 3] for i in (a, b))
    thick = max(thickness(bodies.pieces[i]) for i in (a, b))
    return line if size > max(_LONG, 2.0 * thick, _SHARE * float(least)) else None


def _bounds(bodies: Bodies, copy: int, line: np.ndarray) -> bool:
    """Does a line bound what a copy touches of another? Then it is held along it, and the two run on level."""
    rims = [
        np.vstack([outline, outline[:1]])
        for (one, _), touch in bodies.touches.items()
        if one == copy and touch.glued
        for patch in touch.outlines
        for outline in patch
    ]
    near = np.zeros(len(line), bool)
    for rim in rims:
        start, along = rim[:-1], np.diff(rim, axis=0)
        long = np.maximum((along**2).sum(axis=1), 1e-12)
        far = np.clip(np.einsum("kmi,mi->km", line[:, None] - start[None], along) / long, 0.0, 1.0)
        off = np.linalg.norm(line[:, None] - start[None] - far[:, :, None] * along, axis=2)
        near |= off.min(axis=1) < _MET
    return bool(near.mean() > _SHARE)


def _corners(bodies: Bodies, copy: int) -> np.ndarray:
    """The sharp edges (k, 2, 3) of a copy's solid."""
    points, triangles = bodies.mesh((copy,))
    normals = np.cross(
        points[triangles[:, 1]] - points[triangles[:, 0]], points[triangles[:, 2]] - points[triangles[:, 0]]
    )
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)
    ends = np.sort(np.vstack([triangles[:, [i, (i + 1) % 3]] for i in range(3)]), axis=1)
    faces = np.tile(np.arange(len(triangles)), 3)
    _, edge = np.unique(ends, axis=0, return_inverse=True)
    order = np.argsort(edge.reshape(-1), kind="stable")
    pairs = order.reshape(-1, 2) if len(order) == 2 * len(np.unique(edge)) else np.zeros((0, 2), int)
    sharp = np.einsum("ki,ki->k", normals[faces[pairs[:, 0]]], normals[faces[pairs[:, 1]]]) < _SHARP
    found = points[ends[pairs[sharp, 0]]]
    return found[np.linalg.norm(found[:, 1] - found[:, 0], axis=1) > _STRAIGHT]  # what is shorter is a step of a curve

"""Where glue goes that the picture of a step does not show: foam stands before it, or it is on the far side. A small picture from
the side that shows most of it. Lengths in mm in space."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Inset
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.arrows import guides
from foamwright.booklet.pictures.close_views import close_window
from foamwright.booklet.pictures.hatching import Glued
from foamwright.booklet.pictures.lettering import OTHER_SIDE, Drawn, small
from foamwright.booklet.pictures.step_views import VIEWS, View, view_of
from foamwright.language import say
from foamwright.parts.records import RodBody

_SHOWS = 0.2  # of a face that takes glue; of less nobody can tell where it is,
_WELL = 0.35  # and the small picture shows so much of it at least
_COARSE, _CELLS = (300, 232), (700, 450)
_ON_FACE = (0.5, 3.0)  # mm, and cells: no further from a place is the face that is seen there
_FACING = 0.05  # cosine between a face and the line of sight, at least
_EARNEST = 0.25  # of all that a step glues: less of it that is hidden needs no picture of its own
_POINTED_AT = 0.004  # of what a picture shows: less of a part, and no leader is seen to end on it


@dataclass(frozen=True, eq=False)
class _Joint:
    """The faces that tell where two parts are glued to each other, all copies of them, and how much is glued there (mm2)."""

    faces: tuple[Glued, ...]
    area: float


def hidden_glue(
    bodies: Bodies,
    draw: Callable[[View, render.Window], Drawn],
    glue: Sequence[Glued],
    view: View,
    drawn: Drawn,
) -> tuple[Inset, ...]:
    """A small picture from where most shows of the faces that take `glue` and hardly show in the picture, if any do."""
    every = _joints(bodies, glue)
    joints = [joint for joint in every if _share(joint, drawn.scene, drawn.seen) < _SHOWS]
    if sum(joint.area for joint in joints) <= _EARNEST * sum(joint.area for joint in every):
        return ()
    scores = {name: _score(bodies, joints, view, name) for name in VIEWS if name != view.chosen.name}
    name = max(scores, key=lambda name: (round(scores[name], 1), -VIEWS[name][1]))
    if scores[name] <= 0.0:
        return ()
    whole = render.window(view.points, bodies, view.shown, view_of(name), _CELLS)
    new = [i for i in view.new if i in view.shown]
    seen = close_window(bodies, view.points, whole, new) or whole
    there = draw(view, seen)
    met = there.scene.met
    named = [one for one in render.best_seen(bodies, new, there.scene) if met[one[1]] >= _POINTED_AT * met.sum()]
    return (small(there, named, _said(name), OTHER_SIDE, guides(bodies, view.chosen.ways, there.scene, there.seen)),)


def _said(name: str) -> str:
    """The words below a picture of what takes glue, from a side."""
    return {
        "front": say("Glued places that the large picture hides, seen from the front."),
        "side": say("Glued places that the large picture hides, seen from the left."),
        "other": say("Glued places that the large picture hides, seen from behind on the left."),
        "above": say("Glued places that the large picture hides, seen from above."),
        "back": say("Glued places that the large picture hides, seen from behind."),
        "below": say("Glued places that the large picture hides, seen from below."),
        "below-back": say("Glued places that the large picture hides, seen from below and behind."),
    }[name]


def _joints(bodies: Bodies, glue: Sequence[Glued]) -> list[_Joint]:
    """The joints by the parts that they are between. Where a part goes on a face by its edge, that face tells where: it has the
    placement line. Where a bar goes, its hole tells."""
    found: dict[frozenset[str], list[Glued]] = {}
    for one in glue:
        pieces = bodies.pieces[one.copy], bodies.pieces[one.other]
        if not any(isinstance(piece.body, RodBody) for piece in pieces):
            found.setdefault(frozenset(piece.id for piece in pieces), []).append(one)
    joints = []
    for faces in found.values():
        touches = [bodies.touches[one.copy, one.other] for one in faces]
        telling = tuple(one for one, touch in zip(faces, touches) if touch.broad[0] > 0.5)
        joints.append(_Joint(telling or tuple(faces), sum(touch.area for touch in touches)))
    return joints


def _score(bodies: Bodies, joints: Sequence[_Joint], view: View, name: str) -> float:
    """How much in mm2 of hidden joints shows from a side, of those of which enough does."""
    seen = render.window(view.points, bodies, view.shown, view_of(name), _COARSE)
    scene = render.look(view.points, view.stage.bodies, view.shown, seen)
    shares = [(_share(joint, scene, seen), joint.area) for joint in joints]
    return sum(share * area for share, area in shares if share >= _WELL)


def _share(joint: _Joint, scene: render.Scene, seen: render.Window) -> float:
    """How much of the faces of a joint is seen: of several copies the better half counts."""
    shares = sorted((_seen_of(one, scene, seen) for one in joint.faces), reverse=True)
    return float(np.mean(shares[: (len(shares) + 1) // 2]))


def _seen_of(one: Glued, scene: render.Scene, seen: render.Window) -> float:
    """The share of the places of a face that takes glue that are seen."""
    if not len(one.places):
        return 0.0
    columns, rows = np.rint(seen.pixel(one.places)).astype(int).T
    there = (rows >= 0) & (rows < seen.shape[0]) & (columns >= 0) & (columns < seen.shape[1])
    there &= one.faces @ seen.frame[2] < -_FACING
    rows, columns = rows[there], columns[there]
    off = np.abs(scene.depth[rows, columns] - one.places[there] @ seen.frame[2])
    met = (scene.owner[rows, columns] == one.copy) & (off < _ON_FACE[0] + _ON_FACE[1] * seen.step)
    return float(met.sum()) / len(one.places)

"""Close views: what is around new parts that would hardly be seen in the whole, and of parts that are too small in the picture
to see how they go, or turn their edge to it. Lengths in mm in the plane of the view."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import igl
import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Inset, Picture, Step
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.arrows import guides
from foamwright.booklet.pictures.figures import INSET, picture_block
from foamwright.booklet.pictures.lettering import PRINTED, Drawn, printed_in
from foamwright.booklet.pictures.step_views import LEAST_SEEN, VIEWS, View, view_of
from foamwright.language import say

_CLOSE_CELLS = (1000, 804)  # of a picture that is filled to its edges
_AROUND = 0.4  # a close view shows so much of the size of all around the new parts,
_DETAIL = 0.5  # at least so much of it in all,
_SEEN = 9.0  # mm on paper: as large is one of the new parts at least, be it closer then,
_BESIDE = 1.5  # yet with so much of the size of all of them around,
_RIM = 0.03  # of its size off its edge, and a part at the end of the whole does not look cut off,
_WORTH = 0.75  # and is not worth it where the whole would be more than so much as large,
_HARDLY_CLOSER = 0.9  # or so, however narrow it is
_TINY = 4.5  # mm on paper: what is no larger in the picture has a close view of its own,
_AROUND_TINY = 1.6  # which shows so much of the way that it goes
_TOGETHER = 2.0  # times as much of the way as of one, and all that are alike are in it
_LARGER = 1.5  # times as large as in the picture; a close view that shows it no larger shows nothing more
_SMALL, _BY_ITS_EDGE = (
    12.0,
    0.38,
)  # mm on paper, and of its broad face that shows: so small a part is seen from elsewhere,
_MORE_FACE = 1.6  # if so many times as much of its face shows there
_FACE_CELLS = (120, 120)
_DETAILS = 3  # close views beside one step, at most
_DETAIL_CELLS = 700
_SHORT_WAY = 2.5  # times as far off its place as it is long a tiny part is drawn there


def close_window(bodies: Bodies, points, whole: render.Window, new: Sequence[int]) -> render.Window | None:
    """What is around the new parts, where these are so small that they would hardly be seen in the whole."""
    span = whole.step * np.array(whole.shape[::-1])
    home = bodies.points
    own = np.vstack([at[slice(*render.points_of(bodies)[i])] for i in new for at in (points, home)])
    flat = own @ whole.frame[:2].T
    low, high = flat.min(axis=0), flat.max(axis=0)
    wanted = np.maximum(high - low + _AROUND * float(span.max()), _DETAIL * float(span.max()))
    one = float(np.median([np.ptp(points[slice(*render.points_of(bodies)[i])], axis=0).max() for i in new]))
    enough = np.maximum(np.array(PRINTED) * one / _SEEN, _BESIDE * (high - low))
    wanted = np.minimum(np.minimum(wanted, enough), span)
    whole_scale, scale = (float((printed_in(*size) / size).min()) for size in (span, wanted))
    filled = min(
        whole_scale * float(span[0]) / PRINTED[0], 1.0
    )  # of the paper's breadth: beside a tall thing it is white
    if whole_scale * np.sqrt(filled) > _WORTH * scale or whole_scale > _HARDLY_CLOSER * scale:
        return None
    wanted = np.minimum(np.maximum(wanted, np.array(PRINTED) / scale), span)
    rim = _RIM * float(wanted.max())
    corner = np.clip((low + high - wanted) / 2.0, whole.low - rim, whole.low + span - wanted + rim)
    step = float((wanted / _CLOSE_CELLS).max())
    rows, columns = np.ceil(wanted[::-1] / step).astype(int)
    return render.Window(whole.frame, corner, step, (int(rows), int(columns)))


def details(
    bodies: Bodies, draw: Callable[[View, render.Window], Drawn], step: Step, view: View, drawn: Drawn
) -> tuple[Inset, ...]:
    """Close views of new parts that are too small in the picture to see how they go, alone or with what goes in as one; of
    those that are small and turn their edge to it, from another side."""
    x0, y0, x1, y1 = drawn.box
    scale = min(PRINTED[0] / (x1 - x0), PRINTED[1] / (y1 - y0))
    found = []
    for label, copy in render.best_seen(bodies, view.new, drawn.scene):
        together = next(move.copies for move in step.moves if copy in move.copies)
        rows, columns = np.nonzero(np.isin(drawn.scene.owner, together))
        size = max(np.ptp(rows), np.ptp(columns)) * drawn.seen.step * scale if len(rows) else np.inf
        side = _side_of_face(bodies, view, copy, drawn.seen) if size < _SMALL else ""
        if size >= _TINY and not side:
            continue
        frame = view_of(side) if side else drawn.seen.frame
        alike = [i for i in view.new if bodies.pieces[i].id == bodies.pieces[copy].id]
        view = _less_far(bodies, view, alike)
        low, high = _way_of(bodies, [copy], view, frame)
        wide = float(((high - low) * _AROUND_TINY / INSET).max())
        every = _way_of(bodies, alike, view, frame)
        if float(((every[1] - every[0]) * _AROUND_TINY / INSET).max()) <= _TOGETHER * wide:
            shown, (low, high) = alike, every
            wide = float(((high - low) * _AROUND_TINY / INSET).max())
        else:
            shown = [copy]
        if 1.0 / wide < (1.0 if side else _LARGER) * scale:
            continue
        corner = (low + high - wide * np.array(INSET)) / 2.0
        cell = wide * INSET[0] / _DETAIL_CELLS
        shape = (int(wide * INSET[1] / cell), _DETAIL_CELLS)
        close = draw(view, render.Window(frame, corner, cell, shape))
        ways = [way for way in view.chosen.ways if {*shown} & {*way.copies}]
        x0, y0, x1, y1 = close.box
        edge = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]])
        arrows = tuple(guides(bodies, ways, close.scene, close.seen))
        picture = Picture((edge,), (), close.box, png=close.png, box=close.box, arrows=arrows)
        block = picture_block(picture, *INSET)
        found.append(Inset(block.items, block.height, _said(label, side)))
    return tuple(found[:_DETAILS])


def _said(label: str, side: str) -> str:
    """The words below a close view of a part, from another `side` than the picture if that is one."""
    words = {
        "front": say("Close view of {part}, seen from the front.", part=label),
        "side": say("Close view of {part}, seen from the left.", part=label),
        "other": say("Close view of {part}, seen from behind on the left.", part=label),
        "above": say("Close view of {part}, seen from above.", part=label),
        "back": say("Close view of {part}, seen from behind.", part=label),
        "below": say("Close view of {part}, seen from below.", part=label),
        "below-back": say("Close view of {part}, seen from below and behind.", part=label),
    }
    return words.get(side, say("Close view of {part}.", part=label))


def _side_of_face(bodies: Bodies, view: View, copy: int, seen: render.Window) -> str:
    """The view that shows most of the broad face of a copy, where the picture shows it by its edge; else ""."""

    def face(frame: np.ndarray) -> float:
        window = render.window(view.points, bodies, [copy], frame, _FACE_CELLS)
        return render.alone(view.points, bodies, copy, window) * window.step**2

    here = face(seen.frame)
    surface = igl.doublearea(bodies.points, bodies.triangles[slice(*bodies.spans[copy])]).sum() / 2.0
    if here > _BY_ITS_EDGE * surface / 2.0:
        return ""
    faces = {name: area for name in VIEWS if (area := round(face(view_of(name)), 1)) >= _MORE_FACE * here}
    for name in sorted(faces, key=lambda name: (-faces[name], VIEWS[name][1])):
        if view.stage.share(view.points, view.stood, [copy], name, view.chosen.ghosts) >= LEAST_SEEN:
            return name
    return ""


def _less_far(bodies: Bodies, view: View, copies: Sequence[int]) -> View:
    """The same with copies drawn less far off their places, where that is straight: a short way may be seen larger."""
    shifts, ways = dict(view.chosen.shifts), []
    for way in view.chosen.ways:
        away = way.corners[-1] - way.corners[0]
        far = max(float(np.linalg.norm(away)), 1e-9)
        near = _SHORT_WAY * max(float(np.ptp(render.all_points(bodies, [i]), axis=0).max()) for i in way.copies)
        own = {*way.copies} <= {*copies} and all(np.allclose(shifts.get(i, 0.0), way.corners[-1]) for i in way.copies)
        if own and len(way.corners) == 2 and near < far:
            way = replace(way, corners=np.array([way.corners[0], way.corners[0] + away * (near / far)]))
            shifts |= dict.fromkeys(way.copies, way.corners[-1])
        ways.append(way)
    chosen = replace(view.chosen, shifts=shifts, ways=tuple(ways))
    return replace(view, points=view.stage.placed(view.new, shifts), chosen=chosen)


def _way_of(bodies: Bodies, copies: Sequence[int], view: View, frame: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The corners (2,), (2,) of what a frame (3, 3) shows of copies where they are drawn and where their ways lead: home, or to
    what they go on, which may be off its place as well."""
    away = {copy: way.corners[-1] - way.corners[0] for way in view.chosen.ways for copy in way.copies}
    flat = []
    for copy in copies:
        span = slice(*render.points_of(bodies)[copy])
        ends = view.points[span] - away[copy] if copy in away else bodies.points[span]
        flat += [view.points[span] @ frame[:2].T, ends @ frame[:2].T]
    every = np.vstack(flat)
    return every.min(axis=0), every.max(axis=0)

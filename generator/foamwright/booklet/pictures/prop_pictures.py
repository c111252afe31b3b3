"""Pictures of the whole prop: finished, with the figure in it; taken apart, with all letters; and square on, from three
sides. Lengths in mm in the plane of the view."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Inset, Picture, Pictures, Step
from foamwright.assembly.sight import basis
from foamwright.booklet.pictures import bubbles, render
from foamwright.booklet.pictures.colours import painted
from foamwright.booklet.pictures.engraving import printed, seen_lines
from foamwright.booklet.pictures.exploded import exploded, one_of_alike
from foamwright.booklet.pictures.looks import BACK, BELOW, FRONT
from foamwright.booklet.pictures.together import Together
from foamwright.language import say

SQUARE_ON = {"front": (-1.0, 0.0, 0.0), "left": (0.0, -1.0, 0.0), "above": (0.0, 0.0, -1.0)}
PAGE = (178.0, 226.0)  # mm of paper that the picture of all parts fits into
_LETTER = 3.1  # mm on paper, radius of a letter's bubble
_FEWEST, _LETTERED = 0.3, 0.025  # of a page: what the prop taken apart takes with no letters, and more for each
_CELLS = (1900, 1500)  # lines of sight across and up, four to a cell of the picture
PORTRAIT = (2400, 2400)  # of a picture that stands alone
_PAGE_CELLS = (1900, 2400)
_LIGHTEST = 0.85  # luminance: nothing pale stands beside it, and white foam should look white
_TONE, _TONE_OF_PAPER = 40, 250  # of 255: tones so far apart differ, and what is lighter is paper
_UNLIKE = 0.03  # of what is drawn: less that differs, and nobody sees that it was seen from elsewhere
_FIGURE = np.array([178.0, 160.0, 140.0])  # a colour that no foam has

Mesh = tuple[np.ndarray, np.ndarray]


def finished(
    bodies: Bodies, towards: Sequence[float], figure: Mesh | None = None, cells: tuple[int, int] = _CELLS
) -> Picture:
    """The prop, and the figure (points (n, 3), triangles (m, 3)) that it is made for in its place; `cells` are the most
    lines of sight across and up."""
    return _framed(*_finished(bodies, _with(bodies, figure), towards, cells))


def all_round(bodies: Bodies, figure: Mesh | None = None) -> tuple[Picture, ...]:
    """As `finished`, from the front, from behind, unless it looks alike from both, and from below: each with a note that tells
    from where."""
    every = _with(bodies, figure)
    (front, seen), (back, behind), (under, from_below) = (
        _finished(bodies, every, towards, _CELLS) for towards in (FRONT, BACK, BELOW)
    )
    below = replace(_framed(under, from_below), note=say("From below"))
    second = () if _alike(front, back) else (replace(_framed(back, behind), note=say("From behind")),)
    return (replace(_framed(front, seen), note=say("From the front")), *second, below)


def _alike(one: np.ndarray, other: np.ndarray) -> bool:
    """Do two pictures (rows, columns, 3) show the same but for a few cells along their edges?"""
    if max(np.abs(np.subtract(one.shape, other.shape))) > 1:
        return False
    rows, columns = np.minimum(one.shape[:2], other.shape[:2])
    apart = np.abs(one[:rows, :columns].astype(int) - other[:rows, :columns]).max(axis=2) > _TONE
    drawn = (one[:rows, :columns] < _TONE_OF_PAPER).any(axis=2)
    return bool(apart.sum() < _UNLIKE * drawn.sum())


def _finished(
    bodies: Bodies, scene: Bodies, towards: Sequence[float], cells: tuple[int, int]
) -> tuple[np.ndarray, render.Window]:
    """Of the `bodies`, or those `_with` the figure as `scene`."""
    colours = painted(bodies) if scene is bodies else np.vstack([painted(bodies), _FIGURE])
    copies = list(range(len(bodies)))
    shown = list(range(len(scene.spans)))
    seen = render.window(scene.points, scene, shown, basis(towards), cells)
    found = render.look(scene.points, scene, shown, seen)
    prints = printed(scene, scene.points, found, seen, copies)
    return _painted(scene, scene.points, colours, copies, seen, found, prints), seen


def square_on(bodies: Bodies, copies: Sequence[int]) -> dict[str, Picture]:
    """Some copies from the front, from their left and from above, forward to the left in both."""
    views = {}
    for name, towards in SQUARE_ON.items():
        up = (0.0, -1.0, 0.0) if name == "above" else (0.0, 0.0, 1.0)
        frame = basis(towards, up)
        seen = render.window(bodies.points, bodies, copies, frame, _CELLS)
        scene = render.look(bodies.points, bodies, copies, seen)
        prints = printed(bodies, bodies.points, scene, seen, copies)
        drawn = _framed(_painted(bodies, bodies.points, painted(bodies), copies, seen, scene, prints), seen)
        flat = render.all_points(bodies, copies) @ frame[:2].T
        views[name] = replace(drawn, bounds=(*flat.min(axis=0).tolist(), *flat.max(axis=0).tolist()))
    return views


def apart_share(letters: int) -> float:
    """The share of a page that the prop taken apart is printed on, by how many letters it has."""
    return min(1.0, _FEWEST + _LETTERED * letters)


def taken_apart(bodies: Bodies, steps: Sequence[Step]) -> Picture:
    """All copies off their places, along the ways that they go in, with the letter of every part; of things built alike, one."""
    frame = basis(FRONT)
    shifts = exploded(bodies, steps, frame)
    points = render.shifted(bodies, shifts)
    copies = one_of_alike(bodies, frame[2])
    seen = render.window(points, bodies, copies, frame, _PAGE_CELLS)
    scene = render.look(points, bodies, copies, seen)
    picture = _framed(_painted(bodies, points, render.foam_colours(bodies), copies, seen, scene), seen)
    low, high = np.array(picture.box[:2]), np.array(picture.box[2:])
    named = render.best_seen(bodies, copies, scene)
    printed = apart_share(len(named)) * np.array(PAGE)
    radius = float(_LETTER / ((printed - 4.0 * _LETTER) / (high - low)).min())
    owner = render.alike_as_one(bodies, scene, [copy for _, copy in named], copies).owner
    ground = bubbles.Ground(owner[::4, ::4], seen.low, 4.0 * seen.step)
    letters = bubbles.placed(ground, named, radius)
    ends = [np.add(b.spot, sign * 1.1 * radius) for b in letters for sign in (-1.0, 1.0)]
    corners = np.vstack([low, high, *ends])
    bounds = (*corners.min(axis=0).tolist(), *corners.max(axis=0).tolist())
    alt = say("Exploded view of the parts, with their letters.")
    return replace(picture, bounds=bounds, bubbles=letters, alt=alt)


def in_each(bodies: Bodies, figure: Mesh) -> Mesh:
    """The figure in each of several things that are built alike: an arm in both guards of a pair."""
    points, triangles = figure
    meshes = [(points, triangles)]
    for move in Together(bodies).at_figure(points)[1]:
        turned = triangles if np.linalg.det(move[:3, :3]) > 0.0 else triangles[:, ::-1]
        meshes.append((points @ move[:3, :3].T + move[:3, 3], turned + len(points) * len(meshes)))
    every, faces = zip(*meshes)
    return np.vstack(every), np.vstack(faces)


def _with(bodies: Bodies, figure: Mesh | None) -> Bodies:
    """The bodies and one more, which is no part, if there is a figure."""
    if figure is None:
        return bodies
    points, triangles = figure
    return replace(
        bodies,
        points=np.vstack([bodies.points, points]),
        triangles=np.vstack([bodies.triangles, triangles + len(bodies.points)]),
        spans=np.vstack([bodies.spans, [len(bodies.triangles), len(bodies.triangles) + len(triangles)]]),
    )


def _painted(
    bodies: Bodies,
    points: np.ndarray,
    colours: np.ndarray,
    copies: Sequence[int],
    seen: render.Window,
    scene: render.Scene,
    prints: tuple[np.ndarray, np.ndarray] | None = None,
) -> np.ndarray:
    normal = render.normals_of(points, bodies, render.corner_normals(bodies), scene, seen)
    lines = seen_lines(bodies, points, scene, seen)
    return render.paint(colours, scene, normal, seen, copies, bold=1, lightest=_LIGHTEST, lines=lines, prints=prints)


def _framed(colours: np.ndarray, seen: render.Window) -> Picture:
    data, box = render.framed(colours, seen)
    return Picture((), (), box, png=data, box=box)


def pictures_of(bodies: Bodies, steps: Sequence[Step], figure: Mesh | None = None) -> Pictures:
    """All pictures of a booklet that show the whole prop, with the figure in it."""
    if not len(bodies):
        return Pictures((), {}, None)
    one = one_of_alike(bodies, basis(FRONT)[2])
    length, width, height = np.ptp(render.all_points(bodies, one), axis=0).tolist()
    views = all_round(bodies, None if figure is None else in_each(bodies, figure))
    apart = taken_apart(bodies, steps) if len(bodies) > 1 else None
    below = views[2] if len(views) > 2 else None
    return Pictures(
        views[:2],
        {},
        (length, width, height),
        apart=apart,
        square_on=square_on(bodies, one),
        below=below,
        alike=len(bodies) // len(one),
    )


def with_steps(
    whole: Pictures, drawn: Mapping[int, Picture], insets: Mapping[int, tuple[Inset, ...]], fit: Sequence[Picture]
) -> Pictures:
    """The pictures of the whole prop with those of the steps, what is beside each, and those of the figure's fit."""
    every = {n: (*drawn[n].details, *insets.get(n, ())) if n in drawn else insets[n] for n in sorted({*drawn, *insets})}
    told = {number: each for number, each in every.items() if each}
    return replace(whole, steps=drawn, fit=tuple(fit), insets=told)

"""The cross-section of a joint, to scale: which kind it is, where it is cut, and where its glue goes. Lengths in mm on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree
from shapely import affinity
from shapely.ops import substring

from foamwright.assembly.bodies import Bodies, Touch, frame, outward
from foamwright.assembly.records import Inset
from foamwright.booklet.pictures import section_words
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.slices import sliced
from foamwright.booklet.pictures.strokes import figure, lines, polygons
from foamwright.drawing.primitives import Path, Primitive, Tick
from foamwright.language import length, say
from foamwright.parts.records import BandBody, PanelBody, RodBody

_EDGED = 0.5  # mm to both sides of a red line that are white, so that it shows on red foam as well
_WINDOW = 34.0  # mm of the prop that a cross-section of a joint shows
# Where a joint ends and another begins: times as far from the next place as others are, or so much of all that they take.
_NEXT, _NEXT_OF_ALL = 4.0, 0.25
_PLACES = 300  # of a joint, at most, that are looked at beside each other
_CUT_AT = (0.3, 0.7, 0.15, 0.85)  # shares of its length where a joint may be cut if its middle shows its parts badly,
_ENOUGH_CUT = 0.5  # which shows less than so much of the foam that is cut elsewhere
_CIRCLE = 2.1  # mm on paper, radius of a letter's circle
_TURNS_APART = 8  # rounds in which letters move off each other
_WEDGE = 4.0  # mm that two faces glued to each other may stand apart between places where they touch
_OPEN = 1.0  # mm of air at the mouth of a wedge beside a joint; less, and the cut shows it well enough
_LETTERED = 20.0  # mm2 of the prop in a cut, of which there is room for a letter
_STANDING = 0.7  # of the upward direction that lies in a cut; less, and what is up in it leads out of it rather
_LEVEL = 0.3  # of the way along a joint that leads up; less, and it is level
_WAVE, _HIGH_WAVE = 4.0, 0.5  # mm from wave to wave of an edge at which a drawing of foam breaks off, and their height
_FACING = 0.75  # cosine between a face and the direction in which it meets another
_OPPOSITE = -0.7  # cosine of directions that face each other
_ROUND = 0.7  # share of directions that have such a one where a part goes all round
_OF_THINNEST = 0.6  # of the thinner of two parts, that no wedge between them opens further than, or all would be red


def kind_of(touch: Touch, bodies: Bodies) -> str:
    """ "lap" where both meet with their faces, "edge" where one stands on the other, "butt" where two edges meet, "hole" where
    they do so all round one of them."""
    nearest = int(np.linalg.norm(touch.places - touch.places.mean(axis=0), axis=1).argmin())
    at, along = touch.places[nearest], touch.normals[nearest]
    broad = sum(_broad(i, at, along, bodies) for i in (touch.a, touch.b))
    return "hole" if not broad and all_round(touch) else {2: "lap", 1: "edge", 0: "butt"}[broad]


def runs_level(touch: Touch) -> bool:
    """Does a joint run level, so that what it joins stand one above the other?"""
    spread = _at_one_place(touch).places
    along = np.linalg.svd(spread - spread.mean(axis=0), full_matrices=False)[2][0]
    return bool(abs(along[2]) < _LEVEL)


def corner(touch: Touch, bodies: Bodies) -> float:
    """The angle in degrees at which the outside of one bent part goes on into that of another where their edges meet; 0 where
    either is flat."""
    at = touch.places[int(np.linalg.norm(touch.places - touch.places.mean(axis=0), axis=1).argmin())]
    off = []
    for copy in (touch.a, touch.b):
        piece = bodies.pieces[copy]
        if not isinstance(piece.body, PanelBody | BandBody):
            return 0.0
        places, normals = outward(piece, bodies.matrices[copy])
        off.append(normals[int(np.linalg.norm(places - at, axis=1).argmin())])
    return float(np.degrees(np.arccos(np.clip(off[0] @ off[1], -1.0, 1.0))))


def all_round(touch: Touch) -> bool:
    """Does one part sit in a hole of the other?"""
    normals = touch.normals[_some(len(touch.normals))]
    return float(((normals @ normals.T).min(axis=1) < _OPPOSITE).mean()) > _ROUND


def _some(count: int) -> np.ndarray:
    """Numbers of places of a joint that stand for all of them: each beside each other would fill the memory where it is large."""
    return np.unique(np.linspace(0, count - 1, _PLACES).astype(int))


def _broad(copy: int, at: np.ndarray, along: np.ndarray, bodies: Bodies) -> bool:
    """Does a copy meet another with a broad face, along a direction at a place?"""
    piece, matrix = bodies.pieces[copy], bodies.matrices[copy]
    axes = frame(piece, matrix)
    if isinstance(piece.body, RodBody):
        return True
    if axes is not None:
        return bool(abs(axes[2] @ along) > _FACING)
    places, normals = outward(piece, matrix)
    return bool(abs(normals[int(np.linalg.norm(places - at, axis=1).argmin())] @ along) > _FACING)


def _at_one_place(touch: Touch) -> Touch:
    """The largest of the places at which two parts meet: halves of a tube meet along two seams, and a cut square to the way
    from one to the other would run along both."""
    if len(touch.places) < 3:
        return touch
    some = touch.places[_some(len(touch.places))]
    tree = cKDTree(some)
    apart = float(np.median(tree.query(some, k=2)[0][:, 1]))
    reach = max(_NEXT * apart, _NEXT_OF_ALL * float(np.ptp(some, axis=0).max()))
    pairs = np.array(sorted(tree.query_pairs(reach))).reshape(-1, 2)
    graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(some),) * 2)
    which = connected_components(graph, directed=False)[1][tree.query(touch.places)[1]]
    kept = which == np.bincount(which).argmax()
    return replace(touch, places=touch.places[kept], normals=touch.normals[kept], areas=touch.areas[kept])


def joint(touch: Touch, bodies: Bodies, beside: Sequence[int] = ()) -> Inset | None:
    """The cross-section of two parts where they meet, square to the length of what they share, and of what stands `beside`
    them; None where a straight cut does not show it."""
    touch = _at_one_place(touch)
    middle = touch.places.mean(axis=0)
    nearest = int(np.linalg.norm(touch.places - middle, axis=1).argmin())
    at, up = touch.places[nearest], touch.normals[nearest]
    spread = touch.places - at
    spread = spread - np.outer(spread @ up, up)
    if len(spread) < 3 or float(np.linalg.norm(spread, axis=1).max()) < 6.0:
        return None
    axes = np.linalg.svd(spread, full_matrices=False)[2]
    along = np.cross(axes[2], up) if all_round(touch) else axes[0]
    along = along - (along @ up) * up
    along /= np.linalg.norm(along)
    level = np.array([0.0, 0.0, 1.0]) - along[2] * along
    is_upright = bool(np.linalg.norm(level) > _STANDING)
    if is_upright:  # up on paper is up in the prop
        up = level / np.linalg.norm(level)
    across = np.cross(along, up)
    view = np.vstack([across, up, along])
    low = _WINDOW / 4.0 if abs(float(touch.normals[nearest] @ up)) > _FACING else _WINDOW / 3.0
    window = _broken_off(_WINDOW / 2.0, low)
    tried = [nearest] if all_round(touch) else _along_joint(touch, nearest, along)
    cuts = [
        [shapely.intersection(sliced(bodies, copy, touch.places[k], view), window) for copy in (touch.a, touch.b)]
        for k in tried
    ]
    smaller = [min(shape.area for shape in cut) for cut in cuts]
    if max(smaller) < 4.0:
        return None
    chosen = next(k for k, area in enumerate(smaller) if area >= _ENOUGH_CUT * max(smaller))
    at, cut = touch.places[tried[chosen]], cuts[chosen]
    thinnest = min(bodies.pieces[copy].thickness for copy in (touch.a, touch.b))
    meeting = _meeting(cut[0], cut[1], min(_WEDGE, _OF_THINNEST * thinnest))
    scale = (INSET[0] - 8.0) / _WINDOW
    shift = np.array([INSET[0] / 2.0, -low * scale - 1.0])
    items: list[Primitive] = []
    others = [copy for copy in beside if copy not in (touch.a, touch.b)]
    shapes = [(copy, shapely.intersection(sliced(bodies, copy, at, view), window)) for copy in others]
    for copy, shape in (*shapes, *zip((touch.a, touch.b), cut)):
        colour = bodies.pieces[copy].stock.colour
        rings = [scale * np.array(polygon.exterior.coords)[:-1] + shift for polygon in polygons(shape)]
        items += [Path(ring, "view", True, colour) for ring in rings]
    if not meeting:
        return None
    red = [scale * np.array(line.coords) + shift for line in meeting]
    around = [
        ring for line in red for ring in polygons(shapely.buffer(shapely.LineString(line), _EDGED, cap_style="flat"))
    ]
    items += [Path(np.array(ring.exterior.coords)[:-1], "shade", True, "#ffffff") for ring in around]
    items += [Path(line, "glue") for line in red]
    letters: list[Primitive] = []
    lettered = [*(each for each in shapes if each[1].area > _LETTERED), *zip((touch.a, touch.b), cut)]
    off_red = shapely.union_all(meeting).buffer((_CIRCLE + _EDGED) / scale)
    spots = [_spot(shape, off_red) for _, shape in lettered]
    homes = scale * np.array(spots) + shift
    places = _kept_apart(homes, 2.0 * _CIRCLE + 0.6)
    for (copy, _), home, place in zip(lettered, homes, places):
        ring = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
        if np.linalg.norm(place - home) > _CIRCLE:
            letters.append(Tick((float(home[0]), float(home[1])), (float(place[0]), float(place[1])), "tick"))
        letters.append(Path(place + _CIRCLE * np.column_stack([np.cos(ring), np.sin(ring)]), "tick", True, "#ffffff"))
        letters.append(figure((float(place[0]), float(place[1]) - 0.36 * 2.2), bodies.pieces[copy].label, 2.2))
    on_paper = [
        affinity.affine_transform(shape, [scale, 0, 0, scale, *shift]) for _, shape in (*shapes, *zip((0, 1), cut))
    ]
    circles = [shapely.Point(place).buffer(_CIRCLE) for place in places]
    edge = shapely.box(0.0, -2.0 * low * scale - 2.0, INSET[0], 0.0)
    found = section_words.outside_of(bodies, (touch.a, touch.b), at, view)
    side = None if found is None else (on_paper[len(shapes) + (touch.a, touch.b).index(found[0])], found[1])
    letters += section_words.words(shapely.union_all([*on_paper, *circles]), edge, side, is_upright)
    names = {"a": bodies.pieces[touch.a].label, "b": bodies.pieces[touch.b].label}
    said = {
        "lap": say("Cut through the joint of {a} and {b}, to scale: face on face. Glue goes where it is red.", **names),
        "edge": say(
            "Cut through the joint of {a} and {b}, to scale: an edge on a face. Glue goes where it is red.", **names
        ),
        "butt": say(
            "Cut through the joint of {a} and {b}, to scale: edge to edge. Glue goes where it is red.", **names
        ),
        "hole": say("Cut through {a} in the hole of {b}, to scale. Glue goes where it is red.", **names),
    }[kind_of(touch, bodies)]
    if touch.wedge > _OPEN:
        said += " " + say("A wedge of up to {gap} stays open beside it.", gap=length(touch.wedge))
    return Inset((*items, *letters), 2.0 * low * scale + 2.0, said)


def _broken_off(half: float, low: float) -> shapely.Polygon:
    """The room of a section, with sides that wave where a drawing breaks off (after ISO 128-2, limits of partial views): straight
    ones would look like edges of the foam."""
    corners = np.array([[-half, -low], [half, -low], [half, low], [-half, low], [-half, -low]])
    ring = []
    for start, end in pairwise(corners):
        long = float(np.linalg.norm(end - start))
        inwards = np.array([-(end - start)[1], (end - start)[0]]) / long
        at = np.linspace(0.0, 1.0, int(8.0 * long / _WAVE), endpoint=False)[:, None]
        deep = _HIGH_WAVE / 2.0 * (1.0 - np.cos(2.0 * np.pi * at * round(long / _WAVE)))
        ring.append(start + at * (end - start) + deep * inwards)
    return shapely.Polygon(np.vstack(ring))


def _spot(shape: shapely.Geometry, taken: shapely.Geometry) -> tuple[float, float]:
    """A place in the largest piece of a shape that is clear of what is taken, where any is."""
    clear = polygons(shape - taken) or polygons(shape)
    x, y = max(clear, key=lambda polygon: polygon.area).representative_point().coords[0]
    return float(x), float(y)


def _along_joint(touch: Touch, nearest: int, along: np.ndarray) -> list[int]:
    """Places of a joint at which it may be cut, its middle first: there may be a hole of one of the two just there."""
    at = touch.places @ along
    low, high = float(at.min()), float(at.max())
    alike = np.flatnonzero(touch.normals @ touch.normals[nearest] > _FACING)
    others = [int(alike[np.abs(at[alike] - low - share * (high - low)).argmin()]) for share in _CUT_AT]
    return list(dict.fromkeys([nearest, *others]))


def _kept_apart(homes: np.ndarray, least: float) -> np.ndarray:
    """Places (n, 2) moved off each other until no two are nearer than `least`: each pair along the line between them, level where
    they are one."""
    places = np.array(homes)
    for _ in range(_TURNS_APART):
        for i, j in combinations(range(len(places)), 2):
            way = places[j] - places[i]
            far = float(np.linalg.norm(way))
            if far < least:
                way = way / far if far > 1e-6 else np.array([1.0, 0.0])
                places[i] -= (least - far) / 2.0 * way
                places[j] += (least - far) / 2.0 * way
    return places


def _meeting(one: shapely.Geometry, other: shapely.Geometry, wedge: float) -> list[shapely.LineString]:
    """Where the cut through one part meets that of another: from where they touch first to where they touch last, and across a
    wedge between the two that opens no further than `wedge`."""
    touched = lines(shapely.intersection(one.boundary, shapely.buffer(other, 0.8)))
    found = []
    for line in lines(shapely.intersection(one.boundary, shapely.buffer(other, wedge))):
        here = [piece for piece in touched if shapely.dwithin(line, piece, 1e-6)]
        ends = [line.project(shapely.Point(end)) for piece in here for end in piece.coords]
        if ends and max(ends) - min(ends) > 0.5:
            found.append(substring(line, min(ends), max(ends)))
    return found

"""Small drawings beside a step where the eye needs them, true to the model and the patterns: each kind of operation the
first time that it occurs, and every bent part as it lies flat. Lengths in mm on paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
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
from foamwright.assembly.records import Inset, Step
from foamwright.assembly.sight import basis
from foamwright.booklet.pictures import render, section_words, segmenting, shaping
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.looks import FRONT
from foamwright.booklet.pictures.slices import sliced
from foamwright.booklet.words import bending
from foamwright.booklet.words.checks import rim_above
from foamwright.booklet.words.cutting import mitres
from foamwright.drawing.primitives import Drawing, Path, Primitive, Shading, Text, Tick
from foamwright.drawing.transform import translate
from foamwright.flatten.records import Pattern, PatternDart, PatternEdge, Patterns
from foamwright.geometry.bevel import least_bevel
from foamwright.language import length, lengths, say
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody
from foamwright.registry import kind
from foamwright.templates.bevels import as_told, by_sanding, flares, half_degrees
from foamwright.templates.folds import fold_lines
from foamwright.templates.marks import thickness

_WORDS = 2.6  # height of figures
_SQUARE = 0.05  # sides of a spacer that differ by less look alike
_PALE_FOAM, _FOAM, _RED, _BLADE = "#ece7dc", "#cfc4ac", "#cd281e", "#9aa3ad"
_EDGED = 0.5  # mm to both sides of a red line that are white, so that it shows on red foam as well
_WINDOW = 34.0  # mm of the prop that a cross-section of a joint shows
_LAYERED = 4  # parts shown in their layers beside one step
_BENT = 0.04  # of its length by which a part rises from flat when it is bent
_FLAT_SHAPES = 3  # bent parts shown flat beside one step
_SLENDER = 2.6  # times as long as it is wide
_FLAT_ROOM, _BENT_ROOM = (20.0, 20.0), (17.0, 20.0)  # mm
_BENT_CELLS = (520, 520)
_TICKS = 3  # of them have their numbers
_OPPOSITE, _ROUND = (
    -0.7,
    0.7,
)  # cosine of directions that face each other; share that have such a one where they go all round
# Where a joint ends and another begins: times as far from the next place as others are, or so much of all that they take.
_NEXT, _NEXT_OF_ALL = 4.0, 0.25
_PLACES = 300  # of a joint, at most, that are looked at beside each other
_OF_THINNEST = (
    0.6  # of the thinner of two parts, that no wedge between them opens further than, or all round it would be red
)
_CUT_AT = (0.3, 0.7, 0.15, 0.85)  # shares of its length where a joint may be cut if its middle shows its parts badly,
_ENOUGH_CUT = 0.5  # which shows less than so much of the foam that is cut elsewhere
_CIRCLE = 2.1  # mm on paper, radius of a letter's circle
_TURNS_APART = 8  # rounds in which letters move off each other
_WEDGE = 4.0  # mm that two faces glued to each other may stand apart between places where they touch
_LETTERED = 20.0  # mm2 of the prop in a cut, of which there is room for a letter
_STANDING = 0.3  # of the upward direction that lies in a cut; less, and the cut is level
_FACING = 0.75  # cosine between a face and the direction in which it meets another


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
    yield from _alone(steps, by_id)
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


def _alone(steps: Sequence[Step], by_id: Mapping[str, Pattern]) -> Iterator[tuple[int, Inset]]:
    """What is done to single parts: bends and hollows, and layers."""
    within = [step for step in steps if step.glue and not step.moves]
    kinds: set[str] = set()  # of joints of segments, each drawn in the first step that glues such
    for step in steps:
        own = [by_id[part] for part in step.parts if part in by_id]
        for pattern in own if step in within else ():
            if pattern.split is not None and pattern.split.joint not in kinds and (drawn := segmenting.joined(pattern)):
                kinds.add(pattern.split.joint)
                yield step.number, drawn
        if "heat" in step.uses:
            pressed = [p for p in own if bending.is_pressed(p)]
            shaped = [shaping.bent(p) for p in own if bending.is_bent(p.piece)]
            if pressed:
                shaped.append(shaping.pressed(pressed))
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
        if not by_sanding(flares(p, edge), thickness(p.piece))
        for flare in as_told(flares(p, edge))
    ]
    for sign in (1.0, -1.0):
        own = [one for one in every if sign * one[1] >= least_bevel(thickness(one[2].piece))]
        if own:
            _, flare, pattern = max(own, key=lambda one: (one[0], sign * one[1]))
            yield flare, pattern


def _operations(step: Step, own: Sequence[Pattern], said: set[str]) -> Iterator[tuple[str, Inset]]:
    if "dart" not in said and (darted := [p for p in own if p.darts]):
        yield "dart", dart(max(darted[0].darts, key=lambda d: d.depth), darted[0])
    if "ticks" not in said and step.moves and (pair := _seam(own)):
        yield "ticks", ticks(*pair)


def _joints(new: set[int], there: set[int], bodies: Bodies, said: set[str]) -> Iterator[tuple[str, Inset]]:
    """A joint of each kind between a new copy and one that is there."""
    for (a, b), touch in sorted(bodies.touches.items()):
        if a not in new or b not in there or (b in new and a > b):
            continue
        which = _kind(touch, bodies)
        if which not in said and (drawn := joint(touch, bodies, sorted(there | new) if which == "hole" else ())):
            yield which, drawn


def _is_bent(piece: Piece, bodies: Bodies) -> bool:
    """Is a part bent so far that a picture of it before and after tells more than that it is thin?"""
    if not isinstance(piece.body, BandBody | PanelBody):
        return False
    points, _ = bodies.mesh(bodies.of(piece.id)[:1])
    spans = np.ptp((points - points.mean(axis=0)) @ np.linalg.svd(points - points.mean(axis=0), False)[2].T, axis=0)
    return bool(spans.min() - thickness(piece) > _BENT * spans.max())


# The drawings


def before_and_after(pattern: Pattern, bodies: Bodies) -> Inset:
    """A bent part as it is cut, in the colour of its foam, and bent as it stands in the prop."""
    points, holes, scored = pattern.outline, pattern.holes, fold_lines(pattern)
    low, high = points.min(axis=0), points.max(axis=0)
    if high[1] - low[1] > high[0] - low[0] and not scored:  # lying; folds run as they do on the template
        points, holes = points[:, ::-1] * (1, -1), tuple(hole[:, ::-1] * (1, -1) for hole in holes)
        low, high = points.min(axis=0), points.max(axis=0)
    long, wide = np.maximum(high - low, 1e-9)
    slender = long > _SLENDER * wide  # the two below each other, else side by side
    room, bent_room = ((INSET[0], 6.0), (INSET[0], 15.0)) if slender else (_FLAT_ROOM, _BENT_ROOM)
    scale = float(min(room[0] / long, room[1] / wide))
    shift = np.array([(room[0] - scale * long) / 2.0 - scale * low[0], -scale * high[1]])
    items: list[Primitive] = [Path(_thin(scale * points + shift), "view", True, pattern.piece.stock.colour)]
    items += [Path(_thin(scale * hole + shift), "view", True, "#ffffff") for hole in holes]
    items += [replace(line, points=scale * line.points + shift) for line in scored]
    size = lengths((float(long), float(wide)))
    said = (
        say(
            "{part} before and after it is folded; flat, the drawn face up: {size}.",
            part=pattern.piece.label,
            size=size,
        )
        if scored
        else say(
            "{part} before and after it is bent; flat, the drawn face up: {size}.", part=pattern.piece.label, size=size
        )
    )
    png, across, up = _bent(bodies, bodies.of(pattern.piece.id), *bent_room)
    flat_up = float(scale * wide)
    if slender:
        bent = Shading(((INSET[0] - across) / 2.0, -flat_up - 2.0 - up), across, up, png)
        return Inset((*items, bent), flat_up + 2.0 + up, said)
    tall = max(flat_up, up)
    bent = Shading((INSET[0] - (_BENT_ROOM[0] + across) / 2.0, -(tall + up) / 2.0), across, up, png)
    start = np.array([_FLAT_ROOM[0] + 0.6, -tall / 2.0])
    flat = translate(Drawing(tuple(items)), 0.0, (flat_up - tall) / 2.0).items
    return Inset((*flat, *_pointed(start, start + (3.4, 0.0)), bent), tall, said)


def _bent(bodies: Bodies, copies: Sequence[int], width: float, height: float) -> tuple[bytes, float, float]:
    """The copy that shows most from the front, by itself: a PNG file, and how wide and high it is on paper."""
    frame = basis(FRONT)
    windows = [render.window(bodies.points, bodies, [copy], frame, _BENT_CELLS) for copy in copies]
    scenes = [render.look(bodies.points, bodies, [copy], seen) for copy, seen in zip(copies, windows)]
    most = int(np.argmax([round(float((s.owner >= 0).sum()) * w.step**2) for s, w in zip(scenes, windows)]))
    scene, seen = scenes[most], windows[most]
    normal = render.normals_of(bodies.points, bodies, render.corner_normals(bodies), scene, seen)
    png, (x0, y0, x1, y1) = render.framed(
        render.paint(render.foam_colours(bodies), scene, normal, seen, copies, bold=1), seen
    )
    scale = min(width / (x1 - x0), height / (y1 - y0))
    return png, scale * (x1 - x0), scale * (y1 - y0)


def _thin(loop: np.ndarray) -> np.ndarray:
    """A loop without what is finer than print."""
    return np.array(shapely.Polygon(loop).simplify(0.03).exterior.coords)[:-1]


def bevel(flare: float, pattern: Pattern) -> Inset:
    """The section of a bevelled edge with the knife in it, the face that is drawn on up and the part to the left.

    `flare` in degrees from square is positive where the lower face is the larger one (`templates.bevels.flare`).
    """
    thick = pattern.piece.stock.thickness
    scale = min(12.0 / thick, 2.0)
    t = scale * thick
    lean = t * np.tan(np.radians(flare))
    x = 18.0 - min(lean, 0.0) / 2.0
    foam = np.array([[1.0, 0.0], [x, 0.0], [x + lean, -t], [1.0, -t]]) + (0.0, -12.0)
    direction = np.array([lean, -t]) / np.hypot(lean, t)
    side = np.array([-direction[1], direction[0]])
    tip = np.array([x, -12.0]) + direction * np.hypot(lean, t)
    top = np.array([x, -12.0]) - direction * 11.5
    blade = np.array([tip, tip + 0.7 * side - 1.5 * direction, top + 0.7 * side, top])
    square = np.array([[x, -1.0], [x, -12.0 - t]])
    turn = np.radians(np.linspace(90.0, 90.0 + flare, 12))
    arc = np.array([x, -12.0]) + 8.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    beside, anchor = (x + 3.0, "start") if flare > 0.0 else (x - 2.5, "end")
    items: tuple[Primitive, ...] = (
        Path(foam, "view", True, pattern.piece.stock.colour),
        Path(square, "fold"),
        Path(blade, "view", True, _BLADE),
        Path(arc, "bevel"),
        Text((beside, -5.0), f"{half_degrees(abs(flare))}°", 3.2, "note", anchor, bold=True),
        _figure((8.0, -12.0 - t - 3.2), length(thick)),
    )
    sentence = (
        say(
            "A bevel of {angle}° on {part}, lower face larger: lean the handle over the part.",
            angle=half_degrees(abs(flare)),
            part=pattern.piece.label,
        )
        if flare > 0.0
        else say(
            "A bevel of {angle}° on {part}, lower face smaller: lean the handle away from the part.",
            angle=half_degrees(abs(flare)),
            part=pattern.piece.label,
        )
    )
    return Inset(items, 12.0 + t + 4.2, sentence)


def dart(cut: PatternDart, pattern: Pattern) -> Inset:
    """A dart open as it is cut, and closed."""
    legs = [np.asarray(leg, float) for leg in (cut.leg_a, cut.leg_b)]
    mouth, tip = (legs[0][0] + legs[1][0]) / 2.0, (legs[0][-1] + legs[1][-1]) / 2.0
    down = (tip - mouth) / np.linalg.norm(tip - mouth)
    across = np.array([-down[1], down[0]])
    flat = [np.column_stack([(leg - mouth) @ across, -(leg - mouth) @ down]) for leg in legs]
    if flat[0][0, 0] > flat[1][0, 0]:
        flat.reverse()
    scale = min(20.0 / max(cut.depth, 1e-9), 9.0 / max(cut.opening, 1e-9))
    half, deep = 9.0, scale * cut.depth
    items: list[Primitive] = []
    for middle, legs_here in ((10.0, flat), (33.0, [np.column_stack([np.zeros(2), [0.0, -cut.depth]])])):
        box = np.array([[-half, 0.0], [half, 0.0], [half, -deep - 4.0], [-half, -deep - 4.0]]) + (middle, -3.0)
        items.append(Path(box, "shade", True, _FOAM))
        if len(legs_here) == 2:
            wedge = scale * np.vstack([legs_here[0], legs_here[1][::-1]]) + (middle, -3.0)
            items.append(Path(wedge, "view", True, "#ffffff"))
            for sign in (-1.0, 1.0):
                start = np.array([middle + sign * (half - 0.5), -1.2])
                end = np.array([middle + sign * scale * cut.opening / 2.0, -1.2])
                items += _pointed(start, end)
        else:
            items.append(Path(scale * legs_here[0] + (middle, -3.0), "view-new"))
    items += _pointed(np.array([20.0, -3.0 - deep / 2.0]), np.array([23.0, -3.0 - deep / 2.0]))
    said = say(
        "A dart of {part}, {deep} deep and {wide} wide at its mouth.",
        part=pattern.piece.label,
        deep=length(cut.depth),
        wide=length(cut.opening),
    )
    return Inset(tuple(items), deep + 7.5, said)


def _seam(own: Sequence[Pattern]) -> tuple[PatternEdge, Pattern, PatternEdge, Pattern] | None:
    """The two edges of a seam of the parts that is long enough to have ticks; both may belong to one part."""
    edges: dict[str, list[tuple[PatternEdge, Pattern]]] = {}
    for pattern in own:
        for edge in pattern.edges:
            if edge.seam is not None and len(edge.ticks) >= 2:
                edges.setdefault(edge.seam, []).append((edge, pattern))
    for pair in edges.values():
        (one, first), (other, second) = pair[0], pair[-1]
        if len(pair) > 1 or first.piece.id in one.joins:
            return one, first, other, second
        # the other side has several seams, as the alike ends of a box do, and names another of them
        beside = [
            (edge, pattern)
            for pattern in own
            for edge in pattern.edges
            if pattern.piece.id in one.joins and first.piece.id in edge.joins and edge.tick_numbers == one.tick_numbers
        ]
        if beside:
            return one, first, *beside[0]
    return None


def ticks(one: PatternEdge, first: Pattern, other: PatternEdge, second: Pattern) -> Inset:
    """The two edges of a seam stretched out, their ticks in true distances, one against the other."""
    scale = 40.0 / max(one.length, other.length)
    items: list[Primitive] = []
    lowest = [np.argmin(edge.tick_numbers) > len(edge.ticks) / 2 for edge in (one, other)]
    shared = sorted({*one.tick_numbers} & {*other.tick_numbers})
    few = (
        {shared[i] for i in np.linspace(0, len(shared) - 1, min(_TICKS, len(shared))).astype(int)} if shared else set()
    )
    for edge, sign, middle in ((one, 1.0, -8.0), (other, -1.0, -10.0)):
        back = edge is other and lowest[0] != lowest[1]  # the two run against each other along the seam
        long = scale * edge.length
        body = np.array(
            [[2.0, middle], [2.0 + long, middle], [2.0 + long, middle + sign * 6.0], [2.0, middle + sign * 6.0]]
        )
        items.append(Path(body, "shade", True, _FOAM))
        items.append(Path(body[:2], "view-new"))
        for k, at in enumerate(edge.ticks):
            x = 2.0 + scale * (edge.length - float(at) if back else float(at))
            items.append(Tick((x, middle), (x, middle + sign * 2.0), "tick"))
            if edge.tick_numbers[k] in few:
                y = middle + (2.5 if sign > 0 else -2.5 - 0.72 * _WORDS)
                items.append(_figure((x, y), str(edge.tick_numbers[k])))
    if first is second and len(first.piece.placements) == 1:
        said = say("Ticks with the same number meet where the two ends of {part} are joined.", part=first.piece.label)
    elif first is second:
        said = say(
            "Ticks with the same number meet all along the seam from one {part} to the next.", part=first.piece.label
        )
    else:
        labels = {"one": first.piece.label, "other": second.piece.label}
        said = say("Ticks with the same number meet all along the seam of {one} and {other}.", **labels)
    return Inset(tuple(items), 17.0, said)


def _kind(touch: Touch, bodies: Bodies) -> str:
    """ "lap" where both meet with their faces, "edge" where one stands on the other, "butt" where two edges meet, "hole" where
    they do so all round one of them."""
    nearest = int(np.linalg.norm(touch.places - touch.places.mean(axis=0), axis=1).argmin())
    at, along = touch.places[nearest], touch.normals[nearest]
    broad = sum(_broad(i, at, along, bodies) for i in (touch.a, touch.b))
    return "hole" if not broad and _all_round(touch) else {2: "lap", 1: "edge", 0: "butt"}[broad]


def _all_round(touch: Touch) -> bool:
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
    along = np.cross(axes[2], up) if _all_round(touch) else axes[0]
    along = along - (along @ up) * up
    along /= np.linalg.norm(along)
    level = np.array([0.0, 0.0, 1.0]) - along[2] * along
    is_upright = bool(np.linalg.norm(level) > _STANDING)
    if is_upright:  # up on paper is up in the prop
        up = level / np.linalg.norm(level)
    across = np.cross(along, up)
    view = np.vstack([across, up, along])
    low = _WINDOW / 4.0 if abs(float(touch.normals[nearest] @ up)) > _FACING else _WINDOW / 3.0
    window = shapely.box(-_WINDOW / 2.0, -low, _WINDOW / 2.0, low)
    tried = [nearest] if _all_round(touch) else _along_joint(touch, nearest, along)
    cuts = [
        [shapely.intersection(sliced(bodies, copy, touch.places[k], view), window) for copy in (touch.a, touch.b)]
        for k in tried
    ]
    smaller = [min(shape.area for shape in cut) for cut in cuts]
    if max(smaller) < 4.0:
        return None
    chosen = next(k for k, area in enumerate(smaller) if area >= _ENOUGH_CUT * max(smaller))
    at, cut = touch.places[tried[chosen]], cuts[chosen]
    thinnest = min(thickness(bodies.pieces[copy]) for copy in (touch.a, touch.b))
    lines = _meeting(cut[0], cut[1], min(_WEDGE, _OF_THINNEST * thinnest))
    scale = (INSET[0] - 8.0) / _WINDOW
    shift = np.array([INSET[0] / 2.0, -low * scale - 1.0])
    items: list[Primitive] = []
    others = [copy for copy in beside if copy not in (touch.a, touch.b)]
    shapes = [(copy, shapely.intersection(sliced(bodies, copy, at, view), window)) for copy in others]
    for copy, shape in (*shapes, *zip((touch.a, touch.b), cut)):
        colour = bodies.pieces[copy].stock.colour
        rings = [scale * np.array(polygon.exterior.coords)[:-1] + shift for polygon in _polygons(shape)]
        items += [Path(ring, "view", True, colour) for ring in rings]
    if not lines:
        return None
    red = [scale * np.array(line.coords) + shift for line in lines]
    around = [
        ring for line in red for ring in _polygons(shapely.buffer(shapely.LineString(line), _EDGED, cap_style="flat"))
    ]
    items += [Path(np.array(ring.exterior.coords)[:-1], "shade", True, "#ffffff") for ring in around]
    items += [Path(line, "glue") for line in red]
    letters: list[Primitive] = []
    lettered = [*(each for each in shapes if each[1].area > _LETTERED), *zip((touch.a, touch.b), cut)]
    off_red = shapely.union_all(lines).buffer((_CIRCLE + _EDGED) / scale)
    spots = [_spot(shape, off_red) for _, shape in lettered]
    homes = scale * np.array(spots) + shift
    places = _kept_apart(homes, 2.0 * _CIRCLE + 0.6)
    for (copy, _), home, place in zip(lettered, homes, places):
        ring = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
        if np.linalg.norm(place - home) > _CIRCLE:
            letters.append(Tick((float(home[0]), float(home[1])), (float(place[0]), float(place[1])), "tick"))
        letters.append(Path(place + _CIRCLE * np.column_stack([np.cos(ring), np.sin(ring)]), "tick", True, "#ffffff"))
        letters.append(_figure((float(place[0]), float(place[1]) - 0.36 * 2.2), bodies.pieces[copy].label, 2.2))
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
    }[_kind(touch, bodies)]
    return Inset((*items, *letters), 2.0 * low * scale + 2.0, said)


def _spot(shape: shapely.Geometry, taken: shapely.Geometry) -> tuple[float, float]:
    """A place in the largest piece of a shape that is clear of what is taken, where any is."""
    clear = _polygons(shape - taken) or _polygons(shape)
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
    touched = _lines(shapely.intersection(one.boundary, shapely.buffer(other, 0.8)))
    found = []
    for line in _lines(shapely.intersection(one.boundary, shapely.buffer(other, wedge))):
        here = [piece for piece in touched if shapely.dwithin(line, piece, 1e-6)]
        ends = [line.project(shapely.Point(end)) for piece in here for end in piece.coords]
        if ends and max(ends) - min(ends) > 0.5:
            found.append(substring(line, min(ends), max(ends)))
    return found


def recess(bodies: Bodies, copy: int, there: Sequence[int], top: float, rim: float) -> Inset:
    """A cut across the prop through a level part, with how far its upper face lies below the rim of the opening."""
    middle = bodies.mesh((copy,))[0].mean(axis=0)
    view = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
    at = np.array([middle[0], middle[1], top])
    cut = {i: shape for i in there if not (shape := sliced(bodies, i, at, view)).is_empty}
    bounds = np.array([shape.bounds for shape in cut.values()])
    low, high = bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)
    high[1] = max(high[1], rim - top)
    scale = float((np.array(INSET) * (1.0, 1.3) / (high - low)).min())
    shift = np.array([INSET[0] / 2.0 - scale * (low[0] + high[0]) / 2.0, -scale * high[1] - 0.5])
    items: list[Primitive] = []
    for i, shape in cut.items():
        colour = bodies.pieces[i].stock.colour
        rings = [scale * np.array(polygon.exterior.coords)[:-1] + shift for polygon in _polygons(shape)]
        items += [Path(ring, "view", True, colour) for ring in rings]
    ends = [np.array([0.0, level]) * scale + shift for level in (rim - top, 0.0)]
    across = [np.array([x, rim - top]) * scale + shift for x in (low[0], high[0])]
    items.append(Path(np.array(across), "fold"))
    middle_of = (ends[0] + ends[1]) / 2.0
    items += _pointed(middle_of, ends[0]) + _pointed(middle_of, ends[1])
    items.append(Text((float(middle_of[0]) + 1.2, float(middle_of[1]) - 1.0), length(rim - top), _WORDS, "note"))
    said = say("Cut across: the upper face of {part} is {size} below the rim.", part=bodies.pieces[copy].label,
               size=length(rim - top))  # fmt: skip
    return Inset(tuple(items), scale * float(high[1] - low[1]) + 1.0, said)


def spacer(gauge: Pattern, piece: Piece, bodies: Bodies) -> Inset | None:
    """Two neighbours with the gauge between them, seen square to the face that they stand on."""
    copies = bodies.of(piece.id)
    axes = frame(piece, bodies.matrices[copies[0]]) if len(copies) > 1 else None
    even = piece.gap
    if axes is None or even is None:
        return None
    pairs = [_side_by_side(bodies, axes[2], one, other) for one, other in pairwise(copies)]
    shapes = min(pairs, key=lambda pair: round(abs(_gap(pair) - even), 2))  # a row may close up towards its end
    gap = _gap(shapes)
    if gap < 0.5:
        return None
    low, high = shapes[0].bounds[0], shapes[1].bounds[2]
    tall = max(shape.bounds[3] - shape.bounds[1] for shape in shapes)
    sides = np.ptp(gauge.outline, axis=0).tolist()
    across, along = sorted(sides, key=lambda side: abs(side - gap))
    scale = min((INSET[0] - 4.0) / (high - low), 16.0 / tall, 24.0 / along)
    half = scale * max(along, tall) / 2.0
    shift = np.array([INSET[0] / 2.0 - scale * (low + high) / 2.0, -half - 0.5])
    items: list[Primitive] = []
    for shape in shapes:
        ring = np.array(_polygons(shape)[0].simplify(0.05).exterior.coords)[:-1]
        items.append(Path(scale * ring + shift, "view", True, piece.stock.colour))
    x0, x1 = shapes[0].bounds[2], shapes[1].bounds[0]
    y = along / 2.0
    strip = scale * np.array([[x0, -y], [x1, -y], [x1, y], [x0, y]]) + shift
    items.append(Path(strip, "view-new", True, gauge.piece.stock.colour))
    items.append(_figure((float(strip[:, 0].mean()), -2.0 * half - 3.6), length(gap)))
    if abs(across - along) < _SQUARE * along:
        said = say("Spacer {gauge} sets the gap between two {part}.", gauge=gauge.piece.label, part=piece.label)
    elif across < along:
        said = say("Spacer {gauge} sets the gap between two {part}: its short side lies across.",
                   gauge=gauge.piece.label, part=piece.label)  # fmt: skip
    else:
        said = say("Spacer {gauge} sets the gap between two {part}: its long side lies across.",
                   gauge=gauge.piece.label, part=piece.label)  # fmt: skip
    said += " " + say("Take it away before the glue holds it.")
    return Inset(tuple(items), 2.0 * half + 4.6, said)


def _side_by_side(bodies: Bodies, off: np.ndarray, one: int, other: int) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Two copies seen along `off`, the second to the right of the first."""
    here, there = (bodies.mesh((copy,))[0].mean(axis=0) for copy in (one, other))
    line = there - here - ((there - here) @ off) * off
    line = line / max(float(np.linalg.norm(line)), 1e-9)
    view = np.vstack([line, np.cross(off, line)])
    shapes = []
    for copy in (one, other):
        points, triangles = bodies.mesh((copy,))
        flat = (points - here) @ view.T
        shapes.append(shapely.union_all(shapely.polygons(flat[triangles])))
    return shapes[0], shapes[1]


def _gap(shapes: tuple[shapely.Geometry, shapely.Geometry]) -> float:
    return float(shapes[1].bounds[0] - shapes[0].bounds[2])


def _figure(at: tuple[float, float], value: str, height: float = _WORDS) -> Text:
    return Text(at, value, height, "note", "middle")


def _pointed(start: np.ndarray, end: np.ndarray) -> list[Primitive]:
    """A short arrow."""
    along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    across = 0.6 * np.array([-along[1], along[0]])
    head = np.array([end, end - 1.6 * along + across, end - 1.6 * along - across])
    return [Path(np.array([start, end - 1.4 * along]), "bevel"), Path(head, "shade", True, "#111111")]


def _polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    return [part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon) and not part.is_empty]


def _lines(shape: shapely.Geometry) -> list[shapely.LineString]:
    merged = shapely.line_merge(shape) if shape.geom_type in ("MultiLineString", "LineString") else shape
    return [part for part in shapely.get_parts(merged) if isinstance(part, shapely.LineString)]

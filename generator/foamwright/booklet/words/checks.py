"""What can be checked with a rule before the glue goes on: measures of each step, taken from the model."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import numpy as np
from scipy.sparse.csgraph import connected_components
from scipy.spatial.distance import cdist

from foamwright.assembly import practice
from foamwright.assembly.bodies import Bodies, frame, thickness
from foamwright.assembly.naming import all_of, name_of, one_of, plain, role, the
from foamwright.assembly.units import Unit
from foamwright.booklet.words import bending
from foamwright.booklet.words.fitting import Fitting
from foamwright.booklet.words.glue_up import Joining
from foamwright.language import length, lengths, listed, say
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody
from foamwright.registry import kind

_PARALLEL = 0.999  # cosine
_EVEN = 0.5  # mm between distances that are told as one
_GROWN = 5.0  # mm that what stands must grow by for its size to tell anything
_FOOT = 0.4  # of the length and the width of what stands, that its foot must have
_ALIKE = 0.9  # of the size of the larger of two parts that face each other
_ALONGSIDE = 0.7  # cosine between the faces of neighbours in a row
_ROW = 3  # copies that make a row
STANDS_OUT = 2.0  # mm that a part must stand out for a rule to tell it
_BELOW = 0.7  # cosine between a way in and straight up
_AT_END = 0.1  # mm from the outermost place of a part, within which a rule is laid there
_AT_JOINT = 1.5  # mm from the face that lies on edges, within which these end there
_WALL = 25.0  # mm of an edge in the middle of which a rule is laid
_FAR = 5.0  # mm apart, for a clear distance between two faces


def lines(told: Fitting) -> list[str]:
    """A dry fit with a measure, where the model has one that a rule can take; one sentence at most."""
    sentences = []
    for piece in told.pieces:
        line = _rim(told, piece) or _level(told, piece) or _apart(told, piece) or _spacing(told, piece)
        line = line or _diameter(told, piece) or _against(told, piece)
        if line:
            sentences.append(line)
    heights = [line for piece in told.pieces if (line := _height(told, piece))]
    heights += [line for piece in told.pieces if (line := _overhang(told, piece))]
    return [*sentences[:1], *heights]


def whole(told: Fitting, unit: Unit, copies: Sequence[int]) -> list[str]:
    """The size of a whole that is put together at the bench."""
    name = plain(unit.whole)
    frames = [frame(told.bodies.pieces[c], told.bodies.matrices[c]) for c in copies]
    axes = [axis for axis in frames if axis is not None]
    if len(axes) < 2:
        return []
    points = told.bodies.mesh(tuple(copies))[0]
    normals = np.array([axis[2] for axis in axes])
    turns = np.abs(normals @ normals.T)
    if (turns > _PARALLEL).all():
        return [say("Check: the {thing} is {size} high.", thing=name, size=about(_extent(points, normals[0])))]
    if ((turns > _PARALLEL) | (turns < 0.01)).all() and np.linalg.matrix_rank(normals, tol=0.1) == 3:
        return [_square(say("the {whole}", whole=name), points, axes)]
    opposite = [i for i in range(len(normals)) if (normals @ normals[i] < -_PARALLEL).any()]
    if len(opposite) == len(normals):
        return [
            say(
                "Check: from the outside of one side to the outside of the opposite one the {thing} is {size}, and the "
                "same for every pair of sides. If not, press it into shape by hand and hold it so with tape until the glue has "
                "cured.",
                thing=name,
                size=about(_extent(points, normals[0])),
            )
        ]
    return []


def glue_up(told: Fitting, order: Sequence[Joining]) -> list[str]:
    """The size of what several pieces make that are joined in one step: with square corners where they are flat plates, as
    far across in every direction where they make a round."""
    copies = [joining.copy for joining in order]
    points = told.bodies.mesh(tuple(copies))[0]
    frames = [frame(told.bodies.pieces[copy], told.bodies.matrices[copy]) for copy in copies]
    flat = [axes for axes in frames if axes is not None]
    if len(flat) == len(frames) > 2:
        normals = np.array([axes[2] for axes in flat])
        turns = np.abs(normals @ normals.T)
        if ((turns > _PARALLEL) | (turns < 0.01)).all() and np.linalg.matrix_rank(normals, tol=0.1) > 1:
            wholes = {role(told.bodies.pieces[copy])[1] for copy in copies}
            thing = say("the {whole}", whole=wholes.pop()) if len(wholes) == 1 and "" not in wholes else say("the work")
            return [_square(thing, points, flat)]
        return []
    others = {copy for move in told.moves for copy in move.copies} - {*copies}
    return [] if _is_covered(points, [told.bodies.mesh((copy,))[0] for copy in sorted(others)]) else _round(points)


def _is_covered(points: np.ndarray, others: Sequence[np.ndarray]) -> bool:
    """Does one of the `others` (k, 3) that go in by the same step lie over the upper rim of a shell, where no rule comes to it
    any more?"""
    top = points[points[:, 2] > points[:, 2].max() - _EVEN]
    low, high = top[:, :2].min(axis=0), top[:, :2].max(axis=0)
    return any(
        bool(
            (other[:, :2].min(axis=0) < low + _EVEN).all()
            and (other[:, :2].max(axis=0) > high - _EVEN).all()
            and other[:, 2].min() > top[:, 2].min() - _EVEN
        )
        for other in others
    )


def _round(points: np.ndarray) -> list[str]:
    """The upper rim of a round shell: how far across it is in any direction."""
    top = points[points[:, 2] > points[:, 2].max() - _EVEN, :2]
    spans = np.ptp(top, axis=0)
    middle = (top.max(axis=0) + top.min(axis=0)) / 2.0
    out = np.linalg.norm(top - middle, axis=1)
    turned = np.unique(np.round(np.arctan2(*(top - middle).T) / (np.pi / 8.0)))
    outer = out[out > 0.6 * out.max()]
    if len(top) < 8 or len(turned) < 14 or abs(spans[0] - spans[1]) > _EVEN or outer.max() > 0.5 * spans[0] + _EVEN:
        return []
    return [
        say(
            "Check: the upper edge is round: {size} across on the outside, whichever way you measure. Press it round by "
            "hand until it is.",
            size=about(float(spans[0])),
        )
    ]


def _square(thing: str, points: np.ndarray, frames: Sequence[np.ndarray]) -> str:
    """Sizes of a box of points (n, 3), the largest first, and what shows that its corners are square: across the side on which no
    plate of it lies, as a plate's own diagonals tell nothing; `frames` are the axes of its plates."""
    sizes = [_extent(points, axis) for axis in frames[0]]
    plates = [sum(abs(float(axes[2] @ axis)) > _PARALLEL for axes in frames) for axis in frames[0]]
    fewest = [i for i in range(3) if plates[i] == min(plates)]
    open_side = min(fewest, key=lambda i: sizes[i])  # the largest of those on which fewest plates lie
    diagonal = float(np.linalg.norm(np.delete(sizes, open_side)))
    return say(
        "Check: {thing} is {size} on the outside. Its corners are square when the two diagonals across its open side are equal: "
        "{diagonal} each.",
        thing=thing,
        size=about(*sorted(sizes, reverse=True)),
        diagonal=length(diagonal),
    )


def about(*sizes: float) -> str:
    """Sizes in mm to check with a rule, with what a maker of foam may be off: the largest of 2 mm and a hundredth, and 1 mm of
    what is so small that 2 mm would be half of it."""
    off = max(practice.CHECKED_LEAST, float(ceil(practice.CHECKED * max(sizes) - 1e-9)))
    off = off if max(sizes) > 2.0 * off else practice.CHECKED_SMALL
    return say("{size} (\u00b1 {off})", size=lengths(sizes) if len(sizes) > 1 else length(sizes[0]), off=length(off))


def _extent(points: np.ndarray, axis: np.ndarray) -> float:
    return float(np.ptp(points @ axis))


def _standing(told: Fitting) -> tuple[int, ...]:
    return tuple(i for i in range(len(told.bodies)) if told.standing >> i & 1)


def _level(told: Fitting, piece: Piece) -> str:
    """A level part: how high its upper face lies above the lowest point of what stands, if it does not lie flat on that."""
    copies = told.own(piece)
    if any(m.new == piece.id and m.broad and m.on_broad and m.glue != "none" for m in told.meetings):
        return ""
    if not copies or not told.standing or not _lies_level(told, piece, copies[0]):
        return ""
    tops = {round(float(told.bodies.mesh((copy,))[0][:, 2].max()), 1) for copy in copies}
    levels = told.bodies.mesh(_standing(told))[0][:, 2]
    height = max(tops) - float(levels.min())
    if float(levels.max()) > max(tops) + 1.0:
        return ""  # something stands higher, so that no straight edge can be laid on it
    if len(tops) != 1 or height < 2.0 * thickness(piece) or told.whole_of(piece) or not _stands_level(told):
        return ""
    return say(
        "Dry-fit first. Check: with the work on the table, the upper face of {part} is {size} above it, wherever you measure.",
        part=one_of(piece),
        size=about(height),
    )


def on_table(told: Fitting) -> bool:
    """Is a height above the table measured in a step? It changes with whatever goes below the work."""
    return any(_height(told, piece) or (not _rim(told, piece) and _level(told, piece)) for piece in told.pieces)


def measured_from(told: Fitting) -> list[str]:
    """The parts on which a rule is laid for the checks of a step, that are not glued to its parts: they must stand before "
    "it."""
    found = [(piece, levels) for piece in told.pieces if (levels := _levels(told, piece)) is not None]
    lips = [_lip(told, levels[1]) for _, levels in found]
    return [lip[0].id for lip in lips if lip is not None]


def _levels(told: Fitting, piece: Piece) -> tuple[float, float] | None:
    """Heights of a level part's upper face, and of the lowest place of the opening's edge above it; None where that is not to be
    measured."""
    copies = told.own(piece)
    covered = any(m.new == piece.id and m.from_other[2] < -_PARALLEL for m in told.meetings)
    if len(copies) != 1 or covered or piece.glue == "none":
        return None
    return rim_above(told.bodies, copies[0], _standing(told))


def _rim(told: Fitting, piece: Piece) -> str:
    """A level part below an opening: how far its upper face lies below the lowest place of the opening's edge."""
    levels = _levels(told, piece)
    if levels is None:
        return ""
    lip = _lip(told, levels[1])
    if lip is not None:
        return say(
            "Dry-fit first. Check, with the work the right way up: lay a straight edge across the upper opening at its lowest "
            "place, on the upper edge of {lip}; the upper face of {part} is {size} below it.",
            lip=the(lip[0]),
            part=the(piece),
            size=about(lip[1] - levels[0]),
        )
    return say(
        "Dry-fit first. Check, with the work the right way up: lay a straight edge across the upper opening at its lowest place, "
        "on the outside edge of the foam; the upper face of {part} is {size} below it.",
        part=the(piece),
        size=about(levels[1] - levels[0]),
    )


def _lip(told: Fitting, rim: float) -> tuple[Piece, float] | None:
    """A band that stands and rises above the lowest place of an opening's edge, at height `rim`, with its lowest height there; a
    straight edge lies on it."""
    for copy in _standing(told):
        piece = told.bodies.pieces[copy]
        if isinstance(piece.body, BandBody):
            upper, lower = band_levels(piece, told.bodies.matrices[copy])
            if lower.min() < rim < upper.min() - _EVEN:
                return piece, float(upper.min())
    return None


def band_levels(piece: Piece, matrix: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The heights (n,) of the upper and of the lower edge of a band in its place."""
    body = piece.body
    assert isinstance(body, BandBody)
    ends = [
        ((body.curve + side[:, None] * body.across) @ matrix[:3, :3].T + matrix[:3, 3])[:, 2]
        for side in (body.low, body.high)
    ]
    low, high = sorted(ends, key=lambda line: float(line.mean()))
    return high, low


def rim_above(bodies: Bodies, copy: int, standing: Sequence[int]) -> tuple[float, float] | None:
    """Heights of a level copy's upper face and of the lowest place of the edge of the opening around it, above it; None where
    something lies on that edge, so that no rule does."""
    piece = bodies.pieces[copy]
    axes = frame(piece, bodies.matrices[copy]) if isinstance(piece.body, FlatBody) else None
    if axes is None or abs(axes[2][2]) < _PARALLEL:
        return None
    points = bodies.mesh((copy,))[0]
    top = float(points[:, 2].max())
    middle = points[:, :2].mean(axis=0)
    rims: dict[str, list[np.ndarray]] = {}
    covered: set[str] = set()
    shell = [other for other in standing if isinstance(bodies.pieces[other].body, PanelBody)]
    if not shell or float(bodies.mesh(tuple(shell))[0][:, 2].min()) > top:
        return None  # the part does not lie in it
    for other in shell:
        body = bodies.pieces[other].body
        assert isinstance(body, PanelBody)
        matrix = bodies.matrices[other]
        for edge in body.edges:
            line = edge.outer @ matrix[:3, :3].T + matrix[:3, 3]
            above = float(line[:, 2].min()) - top > 2.0 * thickness(piece)
            if edge.kind == "trim" and above and (edge.loop == 0 or _surrounds(line, middle)):
                rims.setdefault(edge.cut, []).append(line)
                if any(_lies_on(bodies, above_it, other, line) for above_it in standing if above_it not in shell):
                    covered.add(edge.cut)
    openings = {cut: rim for cut, lines in rims.items() if _surrounds(rim := np.vstack(lines), middle)}
    if len(openings) != 1 or covered & {*openings}:
        return None
    (rim,) = openings.values()
    return top, float(rim[:, 2].min())


def _lies_on(bodies: Bodies, copy: int, wall: int, line: np.ndarray) -> bool:
    """Does a copy lie from above on the edge of a wall that runs along a line (n, 3)? A rule is laid on bands that do."""
    touch = bodies.touches.get((copy, wall))
    if touch is None or isinstance(bodies.pieces[copy].body, BandBody):
        return False
    from_above = touch.places[touch.normals[:, 2] > _BELOW]
    return len(from_above) > 0 and bool((cdist(from_above, line).min(axis=0) < thickness(bodies.pieces[wall])).any())


def _surrounds(line: np.ndarray, middle: np.ndarray) -> bool:
    """Seen from above, is `middle` between the ends of what the line spans?"""
    low, high = line[:, :2].min(axis=0), line[:, :2].max(axis=0)
    return bool((low < middle - 1.0).all() and (high > middle + 1.0).all())


def _stands_level(told: Fitting) -> bool:
    """Does what stands rest on a broad foot, so that heights can be measured from the table?"""
    return _has_foot(told.bodies, _standing(told))


def _has_foot(bodies: Bodies, copies: tuple[int, ...]) -> bool:
    """Do these copies rest on a broad foot when they stand as in the finished prop?"""
    points = bodies.mesh(copies)[0]
    foot = points[points[:, 2] < points[:, 2].min() + 1.0, :2]
    return bool((np.ptp(foot, axis=0) > _FOOT * np.ptp(points[:, :2], axis=0)).all())


def _apart(told: Fitting, piece: Piece) -> str:
    """An upright flat part: the clear distance to the nearest parallel one that stands already."""
    copies = told.own(piece)
    if len(copies) != 1 or not isinstance(piece.body, FlatBody) or told.whole_of(piece):
        return ""  # the size of a whole is checked when it is put together
    axes = frame(piece, told.bodies.matrices[copies[0]])
    if axes is None or abs(axes[2][2]) > 0.01:
        return ""
    points = told.bodies.mesh((copies[0],))[0]
    normal = axes[2]
    low, high = float((points @ normal).min()), float((points @ normal).max())
    best: tuple[float, Piece] | None = None
    before = [c for move in told.moves for c in move.copies]
    for copy in (*_standing(told), *before[: before.index(copies[0])]):
        other = told.bodies.pieces[copy]
        if not isinstance(other.body, FlatBody) or other.id == piece.id or len(other.placements) > 1:
            continue
        sizes = sorted(told.bodies.spheres[[copies[0], copy], 3])
        together = other.id in {one.id for one in told.pieces} and sizes[0] > _ALIKE * sizes[1]
        if not together and not (kind(piece.kind).rim_only and kind(other.kind).rim_only):
            continue
        theirs = frame(other, told.bodies.matrices[copy])
        if theirs is None or abs(float(theirs[2] @ normal)) < _PARALLEL:
            continue
        there = told.bodies.mesh((copy,))[0] @ normal
        gap = max(float(there.min()) - high, low - float(there.max()))
        if gap > _FAR and (best is None or gap < best[0]):
            best = (gap, other)
    if best is None:
        return ""
    every = told.bodies.mesh((*_standing(told), *before))[0] @ normal
    there = told.bodies.mesh(tuple(told.bodies.of(best[1].id)))[0] @ normal
    ends = float(every.min()), float(every.max())
    if max(abs(min(low, float(there.min())) - ends[0]), abs(max(high, float(there.max())) - ends[1])) < _EVEN:
        return say(
            "Dry-fit first. Check: from the outside of {part} to the outside of {other} it is {size}, wherever you measure.",
            part=the(piece),
            size=about(ends[1] - ends[0]),
            other=the(best[1]),
        )
    return say(
        "Dry-fit first. Check, while a rule still goes between them: {part} is upright, and from its face to the face of "
        "{other} that looks at it there are {size}, wherever you measure.",
        part=the(piece),
        size=about(best[0]),
        other=the(best[1]),
    )


def _spacing(told: Fitting, piece: Piece) -> str:
    """Copies that stand at even distances: from the middle of one to the middle of the next."""
    copies = told.own(piece)
    places = [
        [b for a, b in told.bodies.touches if a == copy and told.bodies.pieces[b].id in piece.lies_on]
        for copy in copies
    ]
    if all(len(place) == 1 for place in places) and len({place[0] for place in places}) == len(copies):
        return ""  # each lies on a copy of its own, which has its line
    if len(copies) < _ROW or told.whole_of(piece) or not isinstance(piece.body, FlatBody | RodBody):
        return ""
    middles = told.bodies.spheres[copies, :3]
    apart = cdist(middles, middles)
    np.fill_diagonal(apart, np.inf)
    nearest = apart.min(axis=1)
    if np.ptp(nearest) > _EVEN or nearest[0] < _FAR or not _in_a_row(told.bodies, copies, apart.argmin(axis=1)):
        return ""
    facts = {"name": name_of(piece), "label": piece.label, "size": about(float(nearest.mean()))}
    beside = apart < nearest.mean() + _EVEN
    if connected_components(beside)[0] > 1:  # pairs, or rows that are farther apart than what stands in each
        return say(
            "Dry-fit first. Check: from the middle of each {name} ({label}) to the middle of the nearest other one it is "
            "{size}.",
            **facts,
        )
    return say(
        "Dry-fit first. Check: from the middle of one {name} ({label}) to the middle of the next it is {size}.", **facts
    )


def _in_a_row(bodies: Bodies, copies: Sequence[int], nearest: np.ndarray) -> bool:
    """Do copies face about as those next to them do, so that a rule goes from the middle of one to that of the next?"""
    axes = [frame(bodies.pieces[copy], bodies.matrices[copy]) for copy in copies]
    # bars that lean are farther apart at one end than at the other
    least = _PARALLEL if isinstance(bodies.pieces[copies[0]].body, RodBody) else _ALONGSIDE
    return all(
        one is None or other is None or abs(float(one[2] @ other[2])) > least
        for one, other in zip(axes, (axes[i] for i in nearest.tolist()))
    )


def _diameter(told: Fitting, piece: Piece) -> str:
    """A round hoop: its diameter over the outside."""
    copies = told.own(piece)
    if not copies or not isinstance(piece.body, BandBody) or not piece.body.closed:
        return ""
    body = piece.body
    middle = body.curve[:-1].mean(axis=0)
    outer = body.curve + (body.inner_offset + piece.stock.thickness) * body.normals - middle
    outer -= np.outer(outer @ body.across, body.across)
    radii = np.linalg.norm(outer, axis=1)
    if np.ptp(radii) > _EVEN:
        return ""
    return say(
        "Dry-fit first. Check: {part} is {size} across on the outside, wherever you measure.",
        part=one_of(piece),
        size=about(2.0 * float(radii.mean())),
    )


def _height(told: Fitting, piece: Piece) -> str:
    """A level band: how high its lower edge runs above the lowest point of what stands."""
    copies = told.own(piece)
    if len(copies) != 1 or not isinstance(piece.body, BandBody) or not told.standing or not _stands_level(told):
        return ""
    body, matrix = piece.body, told.bodies.matrices[copies[0]]
    if not _runs_level(body, matrix):
        return ""
    edge = (body.curve + np.outer(body.low, body.across)) @ matrix[:3, :3].T + matrix[:3, 3]
    other = (body.curve + np.outer(body.high, body.across)) @ matrix[:3, :3].T + matrix[:3, 3]
    low = edge if edge[:, 2].mean() < other[:, 2].mean() else other
    if np.ptp(low[:, 2]) > _EVEN:
        return ""
    height = float(low[:, 2].min()) - float(told.bodies.mesh(_standing(told))[0][:, 2].min())
    if height < _FAR:
        return ""
    return say(
        "With the work on the table, the lower edge of {part} runs {size} above it all round.",
        part=one_of(piece),
        size=about(height),
    )


def _overhang(told: Fitting, piece: Piece) -> str:
    """A flat part that lies on the edges of others: how far it stands out beyond them, where that is the same at both ends or
    all round."""
    copies = told.own(piece)
    on = [m for m in told.meetings if m.new == piece.id and m.broad and not m.on_broad and m.glue != "none"]
    on = [m for m in on if not told.whole_of(piece) or told.whole_of(told.every[m.other]) != told.whole_of(piece)]
    if not copies or not on or not isinstance(piece.body, FlatBody):
        return ""
    axes = frame(piece, told.bodies.matrices[copies[0]])
    below = sorted({other for m in on for copy, other in m.pairs if copy == copies[0]})
    if axes is None or not below:
        return ""
    mine = told.bodies.mesh(tuple(copies[:1]))
    faces = mine[0] @ axes[2]

    def at_joint(copy: int) -> np.ndarray:
        places = told.bodies.mesh((copy,))[0]
        heights = places @ axes[2]
        return places[np.minimum(np.abs(heights - faces.min()), np.abs(heights - faces.max())) < _AT_JOINT]

    places = [at_joint(copy) for copy in below]
    theirs = np.vstack(places)
    if len(theirs) < 2:
        return ""
    sizes, middle, outermost = {}, False, set()
    for axis in (0, 1):
        out, wall = np.zeros((0, 3)), 0.0
        if abs(axes[2][axis]) < 0.01:
            out, wall = _out_at_ends(mine, theirs, axes[2], axis)
        if len(out) and np.ptp(out[:, 1]) < _EVEN and out[:, 1].mean() > STANDS_OUT:
            sizes[axis] = float(out[:, 1].mean())
            middle |= bool(np.ptp(out) >= _EVEN)  # as a round plate over a straight wall
            if np.ptp(out) >= _EVEN and wall < _WALL:
                return ""  # a bevelled edge, which has no middle to measure at
            ends = theirs[:, axis].min() + _AT_END, theirs[:, axis].max() - _AT_END
            outermost |= {
                told.bodies.pieces[copy].id
                for copy, own in zip(below, places)
                if len(own) and (own[:, axis].min() < ends[0] or own[:, axis].max() > ends[1])
            }
    if not sizes:
        return ""
    # a part that ends further in stands further in: the figure is of the outermost ones alone
    facts = {
        "part": say("the {whole}", whole=told.whole_of(piece)) if told.whole_of(piece) else one_of(piece),
        "others": all_of([told.every[m.other] for m in on if m.other in outermost]),
    }
    if len(sizes) == 2 and abs(sizes[0] - sizes[1]) < _EVEN and not middle:
        return say("Check: {part} stands {size} out beyond {others} all round.", size=about(sizes[0]), **facts)
    ends = (say("at the front and at the back alike"), say("on the left and on the right alike"))
    for axis, size in sizes.items():
        if middle:
            return say(
                "Check: {part} stands {size} out beyond {others}, {where}, measured half way along the edge and square to it.",
                size=about(size),
                where=ends[axis],
                **facts,
            )
        return say(
            "Check: {part} stands {size} out beyond {others}, {where}.", size=about(size), where=ends[axis], **facts
        )
    return ""


def _out_at_ends(
    mine: tuple[np.ndarray, np.ndarray], theirs: np.ndarray, off: np.ndarray, axis: int
) -> tuple[np.ndarray, float]:
    """How far (2, 3) a mesh stands out along one of the axes beyond the outermost of the places `theirs` (n, 3), at both ends of
    the axis: beside one end of these, beside their middle and beside the other end, as a rule is laid there, and not where the
    mesh is widest; and how far apart these ends are, at least. `off` is the direction off its face."""
    along = np.eye(3)[axis]
    plane = np.column_stack([along, np.cross(off, along)])
    flat, there = mine[0] @ plane, theirs @ plane
    out, wall = [], np.inf
    for way in (1.0, -1.0):
        ends = there[way * there[:, 0] > (way * there[:, 0]).max() - _AT_END]
        low, high = float(ends[:, 1].min()), float(ends[:, 1].max())
        wall = min(wall, high - low)
        reached = [
            _reach_beside(way * flat[:, 0], flat[:, 1], mine[1], level) for level in (low, (low + high) / 2.0, high)
        ]
        if any(reach is None for reach in reached):
            return np.zeros((0, 3)), wall  # it ends before it gets there
        out.append([float(reach) - float((way * ends[:, 0]).max()) for reach in reached if reach is not None])
    return np.array(out), wall


def _reach_beside(along: np.ndarray, across: np.ndarray, triangles: np.ndarray, level: float) -> float | None:
    """How far a mesh reaches in the direction of `along` (n,), of its points, on the line where `across` (n,) is `level`;
    None where it has nothing on that."""
    starts, ends = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    within = float(np.clip(level, across.min(), across.max()))
    level = within if abs(within - level) < _AT_END else level
    low, high = across[starts] - level, across[ends] - level
    met = (low * high <= 0.0) & (np.abs(low - high) > 1e-9)
    if not met.any():
        return None
    part = low[met] / (low[met] - high[met])
    return float((along[starts[met]] + part * (along[ends[met]] - along[starts[met]])).max())


def _against(told: Fitting, piece: Piece) -> str:
    """A level plate that is set into a wall: its upper face beside the upper edge of the wall. What lies face to face on
    something has its height from that."""
    copies = told.own(piece)
    if any(m.new == piece.id and m.broad and m.on_broad and m.glue != "none" for m in told.meetings):
        return ""
    if len(copies) != 1 or not _lies_level(told, piece, copies[0]) or told.whole_of(piece):
        return ""
    return _beside_rim(told, piece)


def _lies_level(told: Fitting, piece: Piece, copy: int) -> bool:
    """Is it a flat part that is glued in with its faces level?"""
    if not isinstance(piece.body, FlatBody) or piece.glue == "none":
        return False
    axes = frame(piece, told.bodies.matrices[copy])
    return axes is not None and abs(axes[2][2]) >= _PARALLEL


def _runs_level(body: BandBody, matrix: np.ndarray) -> bool:
    """Does a band run round in a level plane?"""
    return abs(float((matrix[:3, :3] @ body.across)[2])) >= _PARALLEL


def _beside_rim(told: Fitting, piece: Piece) -> str:
    """How far the upper face of a part lies above or below the level upper edge of what it is mostly glued to; of what goes in
    from below, how far its lower face lies above the lower edge."""
    mine = [m for m in told.meetings if m.new == piece.id and m.glue != "none" and m.other in told.every]
    walls = [m.other for m in mine if isinstance(told.every[m.other].body, PanelBody)]
    if not walls:
        return ""
    wall = told.every[walls[0]]
    if _from_below(told, piece):
        foot = _level_end(told.bodies, wall, -1.0)
        off = 0.0 if foot is None else float(told.bodies.mesh(tuple(told.own(piece)))[0][:, 2].min()) - foot
        facts = {"part": the(piece), "wall": the(wall), "size": about(abs(off))}
        if foot is None or off < -_EVEN:
            return ""
        if off < _EVEN:
            return say(
                "Dry-fit first. Check: the lower face of {part} is level with the lower edge of {wall}.", **facts
            )
        return say(
            "Dry-fit first. Check: the lower face of {part} lies {size} above the lower edge of {wall}.", **facts
        )
    top = _level_end(told.bodies, wall, 1.0)
    if top is None:
        return ""
    off = float(told.bodies.mesh(tuple(told.own(piece)))[0][:, 2].max()) - top
    facts = {"part": the(piece), "wall": the(wall), "size": about(abs(off))}
    if abs(off) < _EVEN:
        return say("Dry-fit first. Check: the upper face of {part} is level with the upper edge of {wall}.", **facts)
    if off > 0.0:
        return say(
            "Dry-fit first. Check: the upper face of {part} stands {size} above the upper edge of {wall}.", **facts
        )
    return say("Dry-fit first. Check: the upper face of {part} lies {size} below the upper edge of {wall}.", **facts)


def _from_below(told: Fitting, piece: Piece) -> bool:
    """Does a part go in from below?"""
    moves = [move for move in told.moves if told.bodies.pieces[move.copies[0]].id == piece.id]
    return bool(moves) and all(move.way.legs[-1].towards[2] < -_BELOW for move in moves)


def _level_end(bodies: Bodies, wall: Piece, end: float) -> float | None:
    """The height of the upper (`end` 1) or the lower edge (-1) of a curved wall; None where it does not run level."""
    assert isinstance(wall.body, PanelBody)
    copies = bodies.of(wall.id)
    last = float((end * bodies.mesh(copies)[0][:, 2]).max())
    for copy in copies:
        matrix = bodies.matrices[copy]
        heights = [end * (edge.outer @ matrix[2, :3] + matrix[2, 3]) for edge in wall.body.edges]
        if not any(float(np.ptp(line)) < _EVEN and last - float(line.mean()) < _FAR for line in heights):
            return None
    return end * last


def grown(told: Fitting) -> list[str]:
    """How large the work is once the step is done, where the step has made it larger."""
    new = [c for move in told.moves for c in move.copies]
    joins = (*told.seams, *told.whole_seams) or any(m.glue != "none" for m in told.meetings)
    if not new or not joins or not any(isinstance(piece.body, PanelBody) for piece in told.pieces):
        return []
    things = _things(told.bodies, (*_standing(told), *new))
    after = [np.ptp(told.bodies.mesh(thing)[0], axis=0) for thing in things]
    if any(np.abs(size - after[0]).max() > _EVEN for size in after):
        return []  # several things that are not alike, and that nothing joins yet
    stood = [copy for copy in things[0] if told.standing >> copy & 1]
    before = np.ptp(told.bodies.mesh(tuple(stood))[0], axis=0) if stood else np.zeros(3)
    words = (
        lambda size: say("{size} from front to back", size=size),
        lambda size: say("{size} from left to right", size=size),
        lambda size: say("{size} high", size=size),
    )
    if len(things) > 1 and not _has_foot(told.bodies, things[0]):
        after = [size[:1] for size in after]  # how far it leans to a side in the prop cannot be seen on the bench
    stiff = [
        np.ptp(told.bodies.mesh((c,))[0], axis=0) for c in things[0] if isinstance(told.bodies.pieces[c].body, FlatBody)
    ]
    cut = np.max([np.zeros(3), *stiff], axis=0)  # what a flat part spans by itself was measured when it was cut
    told_sizes = [
        word(about(size))
        for word, size, was, own in zip(words, after[0], before, cut)
        if size - was > _GROWN and size - own > _EVEN
    ]
    if not told_sizes:
        return []
    line = (
        say(
            "Check, once it is joined: each of the {n} is {sizes} overall.",
            n=len(things),
            sizes=listed(told_sizes),
        )
        if len(things) > 1
        else say("Check, once it is joined: the work is {sizes} overall.", sizes=listed(told_sizes))
    )
    across = any(size - max(was, own) > _GROWN for size, was, own in zip(after[0][:2], before, cut))
    across = across and any(map(bending.is_curved, told.pieces))
    return [say("{sentence} Where it is too wide or too narrow, bend it by hand.", sentence=line) if across else line]


def _things(bodies: Bodies, copies: Sequence[int]) -> list[tuple[int, ...]]:
    """Copies that hang together by what touches, each thing by itself."""
    left = set(copies)
    things = []
    for copy in copies:
        if copy not in left:
            continue
        stack, thing = [copy], []
        left.discard(copy)
        while stack:
            here = stack.pop()
            thing.append(here)
            met = {b for b in left if (here, b) in bodies.touches}
            left -= met
            stack += sorted(met)
        things.append(tuple(sorted(thing)))
    return things

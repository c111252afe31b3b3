"""How curved parts take their shape before they are glued, and how far."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
import shapely

from foamwright.assembly import practice
from foamwright.assembly.bodies import Bodies
from foamwright.assembly.meetings import Meeting
from foamwright.assembly.naming import all_of, one_of
from foamwright.assembly.records import Joint
from foamwright.assembly.units import is_bare
from foamwright.booklet.words import flat_on_curved
from foamwright.booklet.words.fitting import Fitting
from foamwright.flatten.bend_lines import Bends, bend_lines, bends, hollow, main_bend, spanned
from foamwright.flatten.records import Pattern, Patterns
from foamwright.flatten.strain import TIGHT_RADIUS, comes_to_a_point
from foamwright.geometry import chord_length
from foamwright.language import count, length, listed, phrase, say
from foamwright.parts.records import FlatBody, PanelBody, PanelEdge, Piece
from foamwright.templates.heading import arrows

_FORMER = 260.0  # mm across; what is rounder is bent by hand over any round thing
_DISH = 0.1  # radians of total curvature that make a panel hollow like a dish
_GAP = 0.4  # mm that a flat face stands off a curved one at its rim; less, and foam gives way
_TURNS = 0.1  # of the most that an edge turns with a part; less, and it runs along it where it is straight
_BOTH_WAYS = 0.01  # strain of foam that is pressed to a double curve, to be told,
_OPENS = 0.8  # mm that each edge would stand open outside if it were not pressed: as much as glue bridges
SEEN = 1500.0  # mm across; what is rounder takes its bend as it is glued
_WIDTH = 20.0  # mm: bottles and tubes are told apart to that
_ALONG = 0.9  # of the length of an edge, that it goes the way that a panel stays straight
_CONE = 1.25  # times as wide at one end as at the other, so that a panel is told to be a cone
_NARROWS = 2.5  # times, of one that curves both ways
_FAR_ROUND = 0.5  # of a part's area that it faces one way in all; less, and it goes more than 215 degrees round
_FAN = 0.12  # mean square of the sine between the ways that a panel stays straight and their mean: 35 degrees to both sides
_SURPLUS = 0.015  # of an edge that it is longer flat than bent, and more is told
_LEAST_SURPLUS = 2.0  # mm
_TWISTED = 0.3  # cosine between a step on a face and the turn of its normal; less, and the face is twisted there
_ARROW = 0.85  # cosine between a bend and the arrow that it is told by
_HOLLOW = 1.0  # mm that a part is pressed hollow, to be measured
_STRONG = 0.1  # of its span that it is hollow, and has no dart for that
_ROUND = (  # mm across, and what is about as wide; our own measures of things at hand
    (0.0, phrase("a skewer")),
    (4.0, phrase("a knitting needle")),
    (7.0, phrase("a pencil")),
    (14.0, phrase("a thick marker")),
    (25.0, phrase("a broom handle")),
    (38.0, phrase("a drain pipe of 40 mm")),
    (50.0, phrase("a drain pipe of 50 mm")),
    (60.0, phrase("a beer bottle")),
    (75.0, phrase("a wine bottle")),
    (90.0, phrase("a drain pipe of 90 mm")),
    (99.0, phrase("a food tin of 800 g")),
    (108.0, phrase("a drain pipe of 110 mm or a paint tin of one litre")),
    (140.0, phrase("a small saucepan")),
    (180.0, phrase("a saucepan")),
    (240.0, phrase("a bucket or a large pot")),
)


@dataclass(frozen=True)
class Hollow:
    """How a part that is bent one way curves along its lines too: `depth` in mm, 0 where no line tells, below a rule of `span` mm
    from one edge to the other; `darted` where darts give it that; `inwards` if the drawn face is the hollow one."""

    label: str
    depth: float
    span: float
    darted: bool
    inwards: bool

    @property
    def is_strong(self) -> bool:
        """Is it so hollow that thumbs do not do it?"""
        return not self.darted and self.depth > _STRONG * self.span

    @property
    def across(self) -> float:
        """Of the circle, in mm, that it is hollow like."""
        return self.span**2 / (4.0 * self.depth) + self.depth


@dataclass(frozen=True)
class Bend:
    """A bend of a panel: how far across in mm its hollow face is at the narrow and at the wide end, both alike where it is no
    cone; `inwards` if the drawn face is the hollow one, and not the other; `narrows` if the narrow end is at the shorter edge."""

    narrow: float
    wide: float
    inwards: bool
    narrows: bool


@dataclass(frozen=True)
class Tight:
    """Where a panel bends to less than foam takes cold: `radius` in mm of its hollow face along an edge, and the ids of the
    parts that the edge meets; that face is `length` mm long there, and the one that is drawn on where it is bent `inwards`."""

    radius: float
    meets: tuple[str, ...]
    length: float
    inwards: bool = True


def lines(told: Fitting) -> list[str]:
    """What has been on the bench already, or rides in on something, is bent before."""
    at_the_bench = {told.bodies.pieces[m.copies[0]].id for m in told.moves if told.riders and len(m.copies) > 1}
    rolled = [
        piece
        for piece in told.pieces
        if is_rolled(piece) or (piece.id in told.warmed and is_curved(piece))
        if piece.id not in at_the_bench
        and (
            piece.id in told.warmed or piece.id not in {*told.painted, *told.painted_inside}
        )  # else it was bent before that
        and not (len(piece.placements) == 1 and any(closes(joint, piece) for joint in told.seams))
    ]
    return bent(told, rolled)


def closes(joint: Joint, piece: Piece) -> bool:
    """Does a seam join the two ends of one part?"""
    return joint.parts == (piece.id,) and joint.edges[0] != joint.edges[1]


def closed_rounds(told: Fitting) -> set[str]:
    """The parts that a step closes to rounds by themselves: each of their copies, or each to the next all round."""
    return {
        joint.parts[0]
        for joint in told.seams
        if len(joint.parts) == 1
        and joint.edges[0] != joint.edges[1]
        and joint.copies >= len(told.every[joint.parts[0]].placements)
    }


def hollowed(
    pieces: Sequence[Piece], meetings: Sequence[Meeting], every: Mapping[str, Piece], bodies: Bodies
) -> list[str]:
    """Those of some flat parts of thick foam that are glued face to face on a curve: they touch it only in their middle."""
    flats: dict[str, tuple[Piece, list[str]]] = {}  # by what they lie on
    for m in meetings:
        piece, other = every[m.new], every[m.other]
        if piece not in pieces:
            continue
        flat = isinstance(piece.body, FlatBody) and piece.stock.material_type == "foam"
        if not (flat and m.broad and m.on_broad and isinstance(other.body, PanelBody)) or m.glue == "none":
            continue
        off = max(flat_on_curved.lifted(bodies, pair) for pair in m.pairs)
        if off > _GAP and flat_on_curved.is_sanded(piece, off, narrowest(other)):
            flats.setdefault(other.id, (other, []))[1].append(piece.label)
    return [
        say(
            "Sand {parts} a little hollow where it will lie on {other}, which curves there like something {size} across: wrap "
            "abrasive paper round a thing of that width, and sand until hardly any light shows through when you hold the two "
            "together.",
            parts=listed(list(dict.fromkeys(labels))),
            other=other.label,
            size=length(max(_WIDTH * round(narrowest(other) / _WIDTH), _WIDTH)),
        )
        for other, labels in flats.values()
    ]


def onto_edges(told: Fitting) -> list[tuple[int, str]]:
    """Of panels that are bent over the edges of other parts, each with its turn: where the bend is begun."""
    text = []
    for piece in told.pieces:
        sewn = any(piece.id in joint.parts for joint in told.seams)  # then its seams tell where it begins
        bent = is_curved(piece) and not sewn
        over = any(m.new == piece.id and m.broad and not m.on_broad and m.glue != "none" for m in told.meetings)
        if bent and over:
            line = say(
                "Begin in the middle of the bend and press {part} on to both sides, so that both ends come out alike.",
                part=one_of(piece),
            )
            text.append((told.turn.get(piece.id, 0), line))
    return text


def surplus(told: Fitting) -> list[str]:
    """Of sewn panels that are bent on what they are glued on: how they are pressed on, and which of their edges are longer by
    more than bending takes up."""
    here = {piece.id for piece in told.pieces} | {
        piece.id for copy, piece in enumerate(told.bodies.pieces) if told.standing >> copy & 1
    }
    rounds = closed_rounds(told)
    text = []
    over: list[Piece] = []
    for piece in told.pieces:
        joints = [joint for joint in told.seams if piece.id in joint.parts]
        ends = any(len(joint.parts) == 1 and joint.edges[0] != joint.edges[1] for joint in joints)
        closed = ends and len(piece.placements) == 1
        if not isinstance(piece.body, PanelBody) or not joints or closed:
            continue  # what is closed by itself has taken its bend before it goes on
        for edge in piece.body.edges:
            met = [told.every[part] for part in edge.joins if part in here and part != piece.id]
            flat = told.drawn.get((piece.id, edge.id), 0.0)
            sewn = any((piece.id, edge.id) in key for key in told.seam_numbers)
            more = flat - float(np.linalg.norm(np.diff(edge.inner, axis=0), axis=1).sum()) - _taken_up(piece, edge)
            if met and not sewn and more > max(_SURPLUS * flat, _LEAST_SURPLUS):
                text.append(_longer(piece, met, more, piece.id in rounds))
        if any(_over(told, piece, m) for m in told.meetings) and former(piece) < _FORMER * 2.0:
            over.append(piece)
    if over:
        text.append(
            say(
                "Where {parts} go over the edge of another part, set both ends and the middle first, and press the rest evenly "
                "on to the edge.",
                parts=all_of(over),
            )
        )
    return text


def _taken_up(piece: Piece, edge: PanelEdge) -> float:
    """How much longer in mm an edge is flat than along its hollow face once it is bent: the foam between there and the layer that
    keeps its length, times the turn."""
    turns = np.arccos(np.clip((edge.normals[1:] * edge.normals[:-1]).sum(axis=1), -1.0, 1.0)).sum()
    return float(piece.stock.k * piece.stock.thickness * turns)


def _over(told: Fitting, piece: Piece, m: Meeting) -> bool:
    """Does a panel go over the edge of a flat part with its inside?"""
    if m.glue == "none" or piece.id not in m.parts:
        return False
    mine, theirs = (m.broad, m.on_broad) if m.new == piece.id else (m.on_broad, m.broad)
    other = told.every[m.other if m.new == piece.id else m.new]
    return mine and not theirs and isinstance(other.body, FlatBody)


def _longer(piece: Piece, met: Sequence[Piece], more: float, closed: bool) -> str:
    facts = {"others": listed([other.label for other in met]), "part": one_of(piece), "size": length(more)}
    if closed:
        return say(
            "The edge of {part} that meets {others} is {size} longer than what it goes on: set the round on at its seams and "
            "half-way between them first, and press the rest evenly together.",
            **facts,
        )
    return say(
        "The edge of {part} that meets {others} is {size} longer than what it goes on: set both ends and the middle of that "
        "edge first, and press the rest evenly together between them.",
        **facts,
    )


def is_rolled(piece: Piece) -> bool:
    """Is it a curved panel that stands by itself, and not a skin that lies on others?"""
    return is_curved(piece) and not piece.lies_on


def is_curved(piece: Piece) -> bool:
    """Is it a panel that is not flat, as one wall of a box is?"""
    return isinstance(piece.body, PanelBody) and piece.body.plane is None


def needs_former(piece: Piece, warmed: Collection[str]) -> bool:
    """Is a panel that stands by itself bent over something round, be it once more? Those of the `warmed` that are wider are bent
    by hand."""
    return is_rolled(piece) and (is_about_something(piece) if piece.id in warmed else former(piece) < SEEN)


def closes_alone(piece: Piece) -> bool:
    """Is it a panel of which two edges, or the two ends, are joined to each other?"""
    if not isinstance(piece.body, PanelBody):
        return False
    own = [edge.id for edge in piece.body.edges if tuple(edge.joins) == (piece.id,)]
    return any(piece.closes_itself(one, other) for one, other in combinations(own, 2)) or (
        len(own) == 1 and len(piece.placements) == 1
    )


def is_bent(piece: Piece) -> bool:
    """Is it a panel that curves so much that it is bent over something before it is glued? A cone with a tip is rolled by
    hand."""
    return is_about_something(piece) and piece.stock.thickness > practice.THIN


def is_about_something(piece: Piece) -> bool:
    """Is a panel bent as narrow as something round from about the house, and does it not run to a tip?"""
    return is_curved(piece) and former(piece) <= _FORMER and not is_pointed(piece)


def is_domed(piece: Piece) -> bool:
    """Does a panel curve both ways to one side, hollow like a dish?"""
    return _total_curvature(piece) > _DISH


def is_saddled(piece: Piece) -> bool:
    """Does a panel curve one way to the one side and across it to the other, like a saddle?"""
    return _total_curvature(piece) < -_DISH


@lru_cache(maxsize=256)  # many sentences and pictures ask for it
def _total_curvature(piece: Piece) -> float:
    """That of a panel's drawn face, in radians: the sum of the angles that are missing from a full turn around the points within
    its mesh (Gauss-Bonnet; M. do Carmo, "Differential Geometry of Curves and Surfaces", section 4-5, from memory)."""
    body = piece.body
    if not isinstance(body, PanelBody):
        return 0.0
    points, faces = body.surface.offset(body.chart.coords, body.inner_offset), body.chart.faces
    around = np.zeros(len(points))
    for k in range(3):
        here, one, two = (points[faces[:, (k + i) % 3]] for i in range(3))
        a, b = one - here, two - here
        cosine = (a * b).sum(axis=1) / np.maximum(np.linalg.norm(a, axis=1) * np.linalg.norm(b, axis=1), 1e-12)
        np.add.at(around, faces[:, k], np.arccos(np.clip(cosine, -1.0, 1.0)))
    sides = np.sort(np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    ends, times = np.unique(sides, axis=0, return_counts=True)
    within = np.ones(len(points), bool)
    within[ends[times == 1]] = False
    within[np.bincount(faces.ravel(), minlength=len(points)) == 0] = False
    return float((2.0 * np.pi - around[within]).sum())


def is_pressed(pattern: Pattern) -> bool:
    """Is it pressed hollow, however wide its main bend is? Foam that keeps straight along its lines meets what is sewn to it in
    a ridge, and the edges, cut square, with their inner corners alone."""
    piece = pattern.piece
    if pattern.mesh is None or piece.stock.thickness <= practice.THIN or is_pointed(piece) or not is_domed(piece):
        return False
    return is_curved_along(pattern)


def is_curved_along(pattern: Pattern) -> bool:
    """Does a panel that curves both ways do so much along its bend line that it must be bent so before its seams are closed?"""
    if pattern.strain.max > _BOTH_WAYS:
        return True
    lines = bend_lines(pattern)
    if not lines or not (span := spanned(pattern, lines)):
        return False
    leans = 4.0 * hollow(pattern, lines) / span  # radians at each end, of a flat arc
    return leans * pattern.piece.stock.thickness > _OPENS


def hollows(patterns: Patterns) -> dict[str, Hollow]:
    """The parts that are pressed hollow, by id."""
    found = {}
    for pattern in patterns.patterns:
        if is_heated(pattern.piece) and is_pressed(pattern):
            lines = bend_lines(pattern)
            told = bool(lines) and not _over_a_hole(pattern, lines[0])
            depth, span = (hollow(pattern, lines), spanned(pattern, lines)) if told else (0.0, 0.0)
            piece, depth = pattern.piece, depth if depth >= _HOLLOW else 0.0
            found[piece.id] = Hollow(piece.label, depth, span, bool(pattern.darts), main(piece).inwards)
    return found


def _over_a_hole(pattern: Pattern, line: np.ndarray) -> bool:
    """Does the middle of a line (k, 2) lie where no foam is to measure to?"""
    middle = shapely.LineString(line).interpolate(0.5, normalized=True)
    return any(shapely.Polygon(hole).contains(middle) for hole in pattern.holes)


def is_pointed(piece: Piece) -> bool:
    """Is it a cone that runs to its tip?"""
    place = tight(piece)
    if place is None or not isinstance(piece.body, PanelBody):
        return False
    return comes_to_a_point(piece.body, place.radius, piece.stock.thickness)


def bent(told: Fitting, pieces: Sequence[Piece]) -> list[str]:
    """How panels come by their bend: most have it from the step with the heat gun."""
    kept = [piece for piece in pieces if piece.id in told.warmed]
    text = []
    if kept:
        text.append(
            say(
                "You have bent {parts} in step {n}. If a piece has sprung open, bend it once more as you did there, but cold, "
                "{face}.",
                parts=all_of(kept),
                n=told.heated_in,
                face=face_inside(kept),
            )
        )
    return text + by_hand(pieces, told.warmed)


def by_hand(pieces: Sequence[Piece], warmed: Collection[str]) -> list[str]:
    """How those of some panels are bent that were not bent with heat, before glue or paint goes on."""
    these = [piece for piece in pieces if piece.id not in warmed and former(piece) < SEEN]
    if not these:
        return []
    text = [
        say(
            "Roll {parts} by hand over {thing}, {face}, before any glue or paint goes on, so often that the foam keeps some of "
            "the bend: its joints hold the rest.",
            parts=all_of(these),
            thing=former_of(min(map(former, these))),
            face=face_inside(these),
        )
    ]
    if saddles := [piece.label for piece in these if is_saddled(piece)]:
        text.append(
            count(
                "{parts} also curves the opposite way, along the thing it is rolled over: leave that to its joints.",
                "{parts} also curve the opposite way, along the thing they are rolled over: leave that to their joints.",
                len(saddles),
                parts=listed(saddles),
            )
        )
    return text


def face_inside(pieces: Sequence[Piece]) -> str:
    """Which face of what is bent comes inside the bend, in words."""
    outwards = [piece.label for piece in pieces if is_curved(piece) and not main(piece).inwards]
    if not outwards:
        return say("the drawn face inside")
    if len(outwards) == len(pieces):
        return say("the drawn face outside")
    return say("the drawn face inside, but that of {parts} outside", parts=listed(outwards))


def ends_of(piece: Piece) -> tuple[float, float]:
    """How far across in mm the hollow face of a panel is bent at its narrow and at its wide end, as its edges there tell; both
    alike, as it is bent on the mean, where it is not much wider at the one than at the other."""
    bend = main(piece)
    return bend.narrow, bend.wide


@lru_cache(maxsize=256)
def main(piece: Piece) -> Bend:
    """The bend about the line along which a panel stays straight."""
    assert isinstance(piece.body, PanelBody)
    whole = None if closes_alone(piece) else _bends(piece)
    cone, widest = (_NARROWS, _FORMER) if is_domed(piece) else (_CONE, float("inf"))  # what is wider needs no former
    return _bend(piece, _along_bend(piece), None if whole is None else whole.along, cone, widest)


@lru_cache(maxsize=256)
def second(piece: Piece) -> Bend | None:
    """The bend along that line of a panel that curves like a saddle, to the opposite side; None of any other."""
    whole = _bends(piece) if is_saddled(piece) else None
    if whole is None or not whole.opposite:
        return None
    turned = Bends(whole.along, whole.across, 1.0, opposite=True)
    return _bend(piece, _along_edges_of(piece, turned), whole.across, _CONE, float("inf"))


def _bend(piece: Piece, places: Sequence[Tight], about: np.ndarray | None, cone: float, widest: float) -> Bend:
    """How a panel is bent `about` a way (3,) as edges that turn about it tell, or by these alone; its wide end is told if it is
    `cone` times as wide as the other, and no wider than `widest`."""
    assert isinstance(piece.body, PanelBody)
    if about is not None:
        turn = _mean_turn(piece.body, about)
    else:
        long = [place.length / place.radius if place.inwards else -place.length / place.radius for place in places]
        turn = sum(long) / max(sum(place.length for place in places), 1e-12)
    mean = _hollow_across(piece, turn)
    ends = sorted((2.0 * place.radius, place.length) for place in places if place.radius < float("inf"))
    if ends and ends[-1][0] > cone * ends[0][0] and ends[0][0] < mean < ends[-1][0]:
        narrow, wide = ends[0][0], ends[-1][0]
        return Bend(narrow, max(narrow, min(wide, widest)), turn >= 0.0, narrows=ends[0][1] < ends[-1][1])
    return Bend(mean, mean, turn >= 0.0, narrows=False)


def _hollow_across(piece: Piece, turn: float) -> float:
    """How far across in mm the hollow face is of foam of which the normals turn by so much for each mm on its drawn face: that
    face itself, or, of foam that is bent outwards, the other one."""
    if abs(turn) < 1e-9:
        return float("inf")
    return 2.0 / turn if turn > 0.0 else max(-2.0 / turn - 2.0 * piece.stock.thickness, 0.0)


@lru_cache(maxsize=256)
def _bends(piece: Piece) -> Bends | None:
    """How the face of a panel that is drawn on bends on the whole; None where it goes far round, or the ways along which it stays
    straight lie like a fan, as on a wide piece of a cone."""
    assert isinstance(piece.body, PanelBody)
    whole = bends(_drawn_side(piece.body, 0.0))
    if whole is None or is_domed(piece) or is_saddled(piece):
        return whole
    turned, sizes = _turned(piece.body)
    bent, ways = np.linalg.eigh((turned + turned.transpose(0, 2, 1)) / 2.0)
    most = np.take_along_axis(ways, np.abs(bent).argmax(axis=1)[:, None, None], axis=2)[:, :, 0]
    face = _drawn_side(piece.body, 0.0)
    normals = np.cross(face[:, 1] - face[:, 0], face[:, 2] - face[:, 0])
    straight = np.cross(most, normals)
    straight /= np.maximum(np.linalg.norm(straight, axis=1, keepdims=True), 1e-12)
    alike = np.linalg.eigvalsh((straight * sizes[:, None]).T @ straight / sizes.sum())[-1]
    far_round = float(np.linalg.norm(normals.sum(axis=0))) < _FAR_ROUND * float(sizes.sum())
    return None if far_round or 1.0 - alike > _FAN else whole


def _drawn_side(body: PanelBody, out: float) -> np.ndarray:
    """The triangles (n, 3, 3) of the face of a panel that is drawn on, each corner carried `out` mm along its normal."""
    return body.surface.offset(body.chart.coords, body.inner_offset + out)[body.chart.faces]


def _mean_turn(body: PanelBody, along: np.ndarray) -> float:
    """How much the normals of a panel turn for each mm that one goes on its drawn face square to a way (3,), on the mean of its
    area: 1 / radius, below 0 where they lean towards each other (M. do Carmo, "Differential Geometry of Curves and Surfaces",
    section 3-2, from memory)."""
    turned, sizes = _turned(body)
    normals = (_drawn_side(body, 1.0) - _drawn_side(body, 0.0)).mean(axis=1)
    across = np.cross(along, normals)
    across /= np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-12)
    each = (turned @ across[:, :, None])[:, :, 0]
    return float(sizes @ (each * across).sum(axis=1)) / max(float(sizes.sum()), 1e-12)


def _turned(body: PanelBody) -> tuple[np.ndarray, np.ndarray]:
    """How much the normal of a panel turns (n, 3, 3) for a step on each triangle of the face that is drawn on, and twice the
    areas (n,) of these."""
    points = _drawn_side(body, 0.0)
    normals = _drawn_side(body, 1.0) - points
    sides, turns = ((corners[:, 1:] - corners[:, :1]).transpose(0, 2, 1) for corners in (points, normals))
    return turns @ np.linalg.pinv(sides), np.linalg.norm(np.cross(sides[:, :, 0], sides[:, :, 1]), axis=1)


def round_about(piece: Piece) -> tuple[float, float]:
    """How far across in mm what a panel is bent over is at its narrow and its wide end, to a step that a maker can tell by eye
    and never wider than the bend; both alike where it is no cone."""
    narrow, wide = ends_of(piece)
    return _as_bought(narrow), _as_bought(wide)


def lies(pattern: Pattern) -> str:
    """How a panel that bends mainly one way is laid over a round thing: by an arrow of its template along that or square to it;
    "" where no arrow tells."""
    body, piece = pattern.piece.body, pattern.piece
    if not isinstance(body, PanelBody) or closes_alone(piece):
        return ""
    ways = main_bend(_drawn_side(body, 0.0))
    if ways is None:
        return ""
    turn = piece.placements[0].matrix[:3, :3]
    across, along = (turn @ way for way in ways)
    for axis, (word, _) in arrows(pattern).items():
        if abs(along[axis]) > _ARROW:
            return say("with the arrow \u201c{word}\u201d along it", word=word)
        if abs(across[axis]) > _ARROW:
            return say("with the arrow \u201c{word}\u201d going round it", word=word)
    return ""


def is_heated(piece: Piece) -> bool:
    """Is it foam that gets heat before any glue, to close its pores?"""
    return piece.stock.material_type == "foam" and not is_bare(piece)


def former_of(across: float) -> str:
    """Something round to bend foam over, from about the house, that is as wide as the bend or a little less."""
    name = [name for least, name in _ROUND if least <= across] or [_ROUND[0][1]]
    if across > _FORMER:
        return say(name[-1])
    return say("something round, {size} across or a little less ({thing})", thing=say(name[-1]), size=length(across))


def former(piece: Piece) -> float:
    """How far across in mm a round thing is that a panel is bent over: as its hollow face bends along the edges that turn
    with its main bend, of a cone at its narrow end."""
    return ends_of(piece)[0] if _along_bend(piece) else float("inf")


def _as_bought(across: float) -> float:
    """The round thing in mm that is told for a bend so far across: foam springs back from one that is narrower."""
    step = _WIDTH if across >= 2.0 * _WIDTH else _WIDTH / 4.0
    return max(step * math.floor(across / step + 1e-6), step)


def _along_bend(piece: Piece) -> list[Tight]:
    """Its outer edges that turn the way that a panel is bent most."""
    return _along_edges_of(piece, _bends(piece))


def _along_edges_of(piece: Piece, whole: Bends | None) -> list[Tight]:
    """Its outer edges that turn with the main bend of the `whole` of a panel, be it more or less, and do not run along it; of one
    that goes all the way round those that turn about the same axis as the tightest of them; if none does, all that turn far."""
    assert isinstance(piece.body, PanelBody)
    places = _along_edges(piece)
    edges = [edge for edge in piece.body.edges if len(edge.points) > 2]
    normals = [edge.normals for edge in edges]
    runs_along = [False] * len(edges)
    if whole is None:
        axes = [np.cross(edge[:-1], edge[1:]).sum(axis=0) for edge in normals]
        tightest = axes[int(np.argmin([place.radius for place in places]))] if places else np.zeros(3)
        about = tightest / max(float(np.linalg.norm(tightest)), 1e-12)
        told = [(abs(float(axis @ about)), float(np.linalg.norm(np.cross(axis, about)))) for axis in axes]
    else:
        turns = [
            np.abs(np.diff(edge, axis=0) @ np.column_stack([whole.across, whole.along])).sum(axis=0) for edge in normals
        ]
        told = [(float(across), float(along)) for across, along in turns]
        steps = [np.diff(edge.points, axis=0) for edge in edges]
        runs_along = [
            float(np.abs(step @ whole.along).sum()) > _ALONG * float(np.linalg.norm(step, axis=1).sum())
            for step in steps
        ]
    most = max((one for one, _ in told), default=0.0)
    bent = [
        place
        for edge, place, (one, other), straight in zip(edges, places, told, runs_along)
        if edge.loop == 0 and one >= other and one > _TURNS * most and not straight
    ]
    around = [one + other for one, other in told]  # what goes far round tells no one way
    return bent or [place for place, turned in zip(places, around) if turned > _TURNS * max(around)]


def narrowest(piece: Piece) -> float:
    """How far across in mm a panel is round where it is so most, whichever way; infinite for what is no panel."""
    if not isinstance(piece.body, PanelBody):
        return float("inf")
    return min(former(piece), min((2.0 * place.radius for place in _along_edges(piece)), default=float("inf")))


def tight(piece: Piece) -> Tight | None:
    """The edge of a panel along which it bends tightest, if that is tighter than it takes cold."""
    if not isinstance(piece.body, PanelBody):
        return None
    least = min(_along_edges(piece), key=lambda place: place.radius, default=None)
    return least if least is not None and least.radius < TIGHT_RADIUS * piece.stock.thickness else None


def _along_edges(piece: Piece) -> list[Tight]:
    assert isinstance(piece.body, PanelBody)
    places = []
    for edge in piece.body.edges:
        if len(edge.points) > 2:
            line = edge.points - _to_inside(piece) * edge.normals
            inwards = bool((np.diff(line, axis=0) * np.diff(edge.normals, axis=0)).sum() >= 0.0)
            line = line if inwards else line + piece.stock.thickness * edge.normals
            places.append(Tight(_radius(line, edge.normals), edge.joins, float(chord_length(line)[-1]), inwards))
    return places


def _to_inside(piece: Piece) -> float:
    """mm from the neutral surface to the inside face."""
    return piece.stock.k * piece.stock.thickness


def _radius(line: np.ndarray, normals: np.ndarray) -> float:
    """Mean radius in mm to which foam is bent at a line (n, 3) of its hollow face, by the `normals` (n, 3) there, be the line
    askew to the bend or not; infinite if it is not bent.

    A step dx that is askew to the bend of a round face by an angle a turns the normal by dn, across the bend:
    |dn| = |dx| cos(a) / r, and dx and dn make that angle a. Where they are nearly square the step runs along the bend, as at the
    tips of scallops, and tells nothing of it; or the face is twisted, if most of the turn is there, and the whole step counts.
    """
    steps, turns = np.diff(line, axis=0), np.diff(normals, axis=0)
    long, turned = np.linalg.norm(steps, axis=1), np.linalg.norm(turns, axis=1)
    across = np.abs((steps * turns).sum(axis=1)) / np.maximum(long * turned, 1e-12)
    clear = across > _TWISTED
    if turned[clear].sum() < 0.5 * turned.sum():
        bent = float((turned / np.where(clear, across, 1.0)).sum())
        return float(long.sum()) / bent if bent > 1e-6 else float("inf")
    bent = float((turned[clear] / across[clear]).sum())
    return float(long[clear].sum()) / bent if bent > 1e-6 else float("inf")

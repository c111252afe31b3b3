"""Bevels: in words that say which face is the larger, and as a small cross-section with the blade. Lengths in mm.

Whoever cuts looks at the face that is drawn on; the other one is the lower face. The line is where the blade enters.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from foamwright.drawing.primitives import Hatch, Label, Path, Primitive, Text
from foamwright.drawing.typesetting import SMALLEST, Block, Line, beside, label_block, stack, wrap
from foamwright.flatten.records import Pattern, PatternEdge
from foamwright.flatten.segments import pieces_of_foam
from foamwright.geometry.bevel import CUT_SQUARE_WITHIN, least_bevel
from foamwright.language import decimal, say
from foamwright.templates.place import Field

EVEN = 2.0  # degrees by which a bevel may vary and be told as one: no hand holds a blade truer (common practice, no source)
OTHER_LINE_FROM = CUT_SQUARE_WITHIN  # by which the line of the lower face must lie apart to be drawn
_SANDED = 1.0  # mm between both lines that are sanded away where the bevel changes its side; common practice, no source
_SANDED_FOAM = 2.0  # mm: foam so thin is sanded whatever they are
_SHORTEST = 1.0  # piece of it that is worth drawing
_ALIKE = 5.0  # degrees by which the bevels of one class differ at most
_PART, _WASTE = 13.0, 8.0  # what a cross-section shows of the foam to both sides of the line
_BLADE, _HANDLE = 6.0, 8.0  # of the knife above the foam
_LISTED = 3  # angles of edges that are listed one by one
_CAPTION, _BRIEF = 40.0, 24.0  # width of the words beside a cross-section, and below one where there is little room
# From the middle of a cross-section to its own edges at most, and to those that lean the other way at least: it is taken
# for that of the nearest.
_NEAR, _APART = 40.0, 25.0
_THICKEST = 25.0  # foam that is drawn at true size; thicker foam at half of it


_Span = tuple[bool, float, float]  # is the lower face the larger one; the least and the greatest angle with it so


@dataclass(frozen=True)
class BevelClass:
    """Edges that are cut at nearly one angle: `low` to `high` degrees from square, the same face larger on all."""

    lower_larger: bool
    low: float
    high: float
    edges: tuple[str, ...]
    angles: tuple[str, ...]  # as they are printed at these edges, but for those where either face is the larger
    both_ways: tuple[str, ...]  # what is printed at those


def flare(pattern: Pattern, bevel: float) -> float:
    """By how many degrees from square the cut runs away from the part on its way down from the drawn face.

    Positive where the lower face is the larger one. `bevel` is positive where the inside face is the smaller one.
    """
    return bevel if pattern.drawn_face == "inside" else -bevel


def flares(pattern: Pattern, edge: PatternEdge) -> tuple[float, ...]:
    """The same along an edge; empty for one without bevels."""
    return tuple(flare(pattern, bevel) for bevel in edge.bevel)


def bevel_words(values: Iterable[float], foam: float) -> str | None:
    """The flares of an edge in words; None where it is cut square, as little as they are in foam so thick. Where now one
    and now the other face is the larger, only the greatest of both: the others stand along the edge, and which face is
    meant in the cross-sections."""
    spans = tuple(_spans(values, foam))
    if not spans:
        return None
    if by_sanding(values, foam):
        return say("cut square along the line that leaves more foam, then sand down to the other line")
    if len(spans) == 2:
        return say("bevel {angles}", angles=_both_ways(spans))
    ((lower_larger, low, high),) = spans
    return say("bevel {angles}", angles=_one_way(lower_larger, _angles(low, high)))


def _one_way(lower_larger: bool, angles: str) -> str:
    if lower_larger:
        return say("{angle}, lower face larger", angle=angles)
    return say("{angle}, lower face smaller", angle=angles)


def _both_ways(spans: Sequence[_Span]) -> str:
    (_, _, larger), (_, _, smaller) = spans
    return say(
        "{larger} larger to {smaller} smaller", larger=_angles(larger, larger), smaller=_angles(smaller, smaller)
    )


def _spans(values: Iterable[float], foam: float) -> Iterator[_Span]:
    """Is the lower face the larger one, and the least and the greatest angle with it so, for each that occurs.

    What varies by less than a hand can follow is one angle.
    """
    along = tuple(values) or (0.0,)
    for larger, low, high in ((True, min(along), max(along)), (False, -max(along), -min(along))):
        if high < least_bevel(foam):
            continue
        low = max(low, 0.0)
        even = high - low < EVEN
        yield (larger, (low + high) / 2.0, (low + high) / 2.0) if even else (larger, low, high)


def by_sanding(values: Iterable[float], foam: float) -> bool:
    """Is now one and now the other face the larger along an edge, by so little or in foam so thin that no hand turns a blade
    along it? It is cut square and sanded."""
    along = tuple(values)
    if not goes_both_ways(along, foam):
        return False
    return foam <= _SANDED_FOAM or bool(foam * np.tan(np.radians(max(map(abs, along)))) < _SANDED)


def as_told(values: Sequence[float]) -> tuple[float, ...]:
    """The flares of an edge as they are printed: one, their middle, where they vary by less than a hand can follow."""
    if not values or max(values) - min(values) >= EVEN or min(values) < 0.0 < max(values):
        return tuple(values)
    return ((min(values) + max(values)) / 2.0,)


def bevel_value(value: float, both_ways: bool, foam: float) -> str:
    """What is printed at one place of an edge; which face is larger is said where both are, along the edge."""
    if abs(value) < least_bevel(foam):
        return say("square")
    angle = f"{half_degrees(abs(value))}°"
    if not both_ways:
        return angle
    return f"{angle} " + (say("larger") if value > 0.0 else say("smaller"))


def goes_both_ways(values: Sequence[float], foam: float) -> bool:
    """Is now one and now the other face the larger along an edge?"""
    return len(tuple(_spans(values, foam))) == 2


def is_bevelled(pattern: Pattern, edge: PatternEdge) -> bool:
    """Is an edge not cut square all along, by what is printed there?"""
    return any(_spans(flares(pattern, edge), pattern.piece.thickness))


def bevelled(pattern: Pattern) -> bool:
    """Is any edge of a part, or of a segment that it is glued up from, cut with a tilted blade?"""
    return any(map(bevel_classes, pieces_of_foam(pattern)))


def bevel_note(pattern: Pattern) -> str | None:
    """What holds for all edges of a part: that they are cut square, or how its bevels are to be read."""
    if not bevelled(pattern):
        return say("cut all edges square") if pattern.piece.placements else None
    return say("bevels: degrees from square; the blade enters at the line; no bevel printed: cut square")


def bevel_classes(pattern: Pattern) -> tuple[BevelClass, ...]:
    """The bevels of a part, or of a segment of one, its mitres included, those with the lower face larger first."""
    foam = pattern.piece.thickness
    cut = [edge for edge in pattern.edges if not by_sanding(flares(pattern, edge), foam)]
    marked = [(tuple(_spans(flares(pattern, edge), foam)), _name(edge)) for edge in cut]
    marked += [
        (tuple(_spans((flare(pattern, joint.bevel),), foam)), say("mitre to {label}", label=joint.to))
        for joint in pattern.joints
    ]
    alone = []
    for spans, name in marked:
        both = (_both_ways(spans),) if len(spans) == 2 else ()
        alone += [
            BevelClass(larger, low, high, (name,), () if both else (_angles(low, high),), both)
            for larger, low, high in spans
        ]
    classes: list[BevelClass] = []
    for one in sorted(alone, key=lambda one: (not one.lower_larger, one.low, one.high)):
        if classes and _alike(classes[-1], one):
            classes[-1] = _joined(classes[-1], one)
        else:
            classes.append(one)
    return tuple(classes)


def _alike(one: BevelClass, other: BevelClass) -> bool:
    """Does one section do for both: all of one range, or nearly so, lies in the other?"""
    widest = max(one.high - one.low, other.high - other.low, _ALIKE)
    over_all = max(one.high, other.high) - min(one.low, other.low)
    return (
        one.lower_larger == other.lower_larger and over_all <= widest + EVEN / 2.0
    )  # both sides of one part differ a little


def _joined(one: BevelClass, other: BevelClass) -> BevelClass:
    edges, angles, both_ways = (
        tuple(dict.fromkeys((*a, *b)))
        for a, b in ((one.edges, other.edges), (one.angles, other.angles), (one.both_ways, other.both_ways))
    )
    low, high = min(one.low, other.low), max(one.high, other.high)
    return BevelClass(one.lower_larger, low, high, edges, angles, both_ways)


def other_face_lines(pattern: Pattern) -> list[Path]:
    """The line of the lower face, as far as it lies apart from the cut line."""
    rings = [shapely.LinearRing(ring) for ring in (pattern.outline, *pattern.holes)]
    near = shapely.union_all(rings).buffer(OTHER_LINE_FROM)
    lines = []
    for ring in (pattern.other_outline, *pattern.other_holes):
        closed = np.concatenate([ring, ring[:1]])
        apart = shapely.difference(shapely.LineString(closed), near)
        apart = shapely.line_merge(apart) if apart.geom_type == "MultiLineString" else apart
        for line in shapely.get_parts(apart):
            if line.length >= _SHORTEST:
                points = shapely.get_coordinates(line)
                whole = bool(np.allclose(points[0], points[-1]))
                lines.append(Path(points[:-1] if whole else points, "other-face", closed=whole))
    return lines


def draw_cross_sections(pattern: Pattern, taken: shapely.Geometry, field: Field) -> tuple[tuple[Primitive, ...], int]:
    """One for each class of bevels: on foam that is clear of what is `taken` there, and nearer to its own edges than to those
    that lean the other way, else beside the part with its label; and how many stand beside it."""
    drawn: list[Primitive] = []
    beside_it = 0
    clear = field.material - taken
    foam = pattern.piece.thickness
    classes = bevel_classes(pattern)
    for bevels in classes:
        blocks = (cross_section(bevels, foam), cross_section(bevels, foam, True), brief_section(bevels, foam))
        others = _edges_of(pattern, [one for one in classes if one.lower_larger != bevels.lower_larger])
        near = shapely.buffer(_edges_of(pattern, [bevels]), _NEAR) - shapely.buffer(others, _APART)
        own = clear if others.is_empty else clear & near
        placed = None
        for angle in (field.level, field.upright(field.level + 90.0)):
            for region in (own, clear, None):
                placed = placed or field.inside(blocks, (angle,), region)
        beside_it += placed is None
        drawn += placed or field.aside(cross_section(bevels, foam, label=pattern.piece.label), field.level)
    return tuple(drawn), beside_it


def _name(edge: PatternEdge) -> str:
    return edge.id.replace("_", " ")


def _edges_of(pattern: Pattern, classes: Iterable[BevelClass]) -> shapely.Geometry:
    """The edges that are cut by these classes alone; those that change over to another one are not among them."""
    named = {edge for one in classes if not one.both_ways for edge in one.edges}
    return shapely.union_all([shapely.linestrings(edge.points) for edge in pattern.edges if _name(edge) in named])


def brief_section(bevels: BevelClass, foam: float) -> Block:
    """The same picture with no more than the angle and which face is larger, where there is little room."""
    words = [say("for edges marked {angles}", angles=say(" or ").join(bevels.both_ways))] if bevels.both_ways else []
    lines = _titled("", bevels)
    lines += [Line(row, SMALLEST) for text in words for row in wrap(text, _BRIEF, SMALLEST)]
    return stack((_section(bevels, foam), label_block(lines, anchor="start")), 0.6)


def cross_section(bevels: BevelClass, foam: float, words_below: bool = False, label: str = "") -> Block:
    """The foam, `foam` thick, with its drawn face up, cut by a blade at the middle of the class; and what it means,
    beside the picture or below it. It names the part `label` if it does not stand on it."""
    scale, picture = _scale(foam), _section(bevels, foam)
    angles = _angles(bevels.low, bevels.high)
    listed = say(" or ").join(bevels.angles) if len(bevels.angles) <= _LISTED else angles
    marked = [*([_one_way(bevels.lower_larger, listed)] if listed else []), *bevels.both_ways]
    marked = [] if marked == [_one_way(bevels.lower_larger, angles)] else marked
    if bevels.lower_larger:
        runs = say("going down, the cut runs outwards, away from the part")
    else:
        runs = say("going down, the cut runs inwards, under the part")
    lines = _titled(label, bevels)
    for text in (
        runs,
        *([say("for edges marked {angles}", angles=say(" or ").join(marked))] if marked else []),
        say("foam {size} mm, drawn face up, {scale}", size=f"{foam:g}", scale="1:1" if scale == 1.0 else "1:2"),
    ):
        lines += [Line(line, SMALLEST) for line in wrap(text, _CAPTION, SMALLEST)]
    words = label_block(lines, anchor="start")
    return stack((picture, words), 1.0) if words_below else beside(picture, words, picture.width + 2.0)


def _titled(label: str, bevels: BevelClass) -> list[Line]:
    """The title of a picture: the angle, and below it which face is larger, in words as they stand along the edges."""
    angle = say("bevel {angles}", angles=_angles(bevels.low, bevels.high))
    face = say("lower face larger") if bevels.lower_larger else say("lower face smaller")
    return [Line(f"{label}: {angle}" if label else angle, 2.8, bold=True), Line(face, SMALLEST, bold=True)]


def _scale(foam: float) -> float:
    return 1.0 if foam <= _THICKEST else 0.5


def _section(bevels: BevelClass, foam: float) -> Block:
    """The picture of a class, at its middle."""
    return _picture((bevels.low + bevels.high) / 2.0 * (1.0 if bevels.lower_larger else -1.0), foam * _scale(foam))


def _picture(angle: float, foam: float) -> Block:
    """A cross-section without its caption: the part on the left of the cut, waste on the right."""
    down = np.array([np.sin(np.radians(angle)), -np.cos(np.radians(angle))])
    side = np.array([-down[1], down[0]])
    enters, leaves = np.zeros(2), down * foam / -down[1]
    left, right = min(-_PART, leaves[0] - _PART / 2.0), max(_WASTE, leaves[0] + _WASTE / 2.0)
    part = np.array([[left, 0.0], enters, leaves, [left, -foam]])
    neck, end = -down * _BLADE, -down * (_BLADE + _HANDLE)
    blade = np.array([leaves, neck + 0.7 * side, neck - 0.7 * side])
    handle = np.array([neck + 1.3 * side, end + 1.3 * side, end - 1.3 * side, neck - 1.3 * side])
    waste = (np.array([enters, [right, 0.0]]), np.array([leaves, [right, -foam]]))
    square = np.array([[0.0, 0.0], [0.0, 0.8 * (_BLADE + _HANDLE)]])
    words = [
        Text((left, -foam - 2.6), say("part"), SMALLEST, "note", "start"),
        Text((right, -foam - 2.6), say("waste"), SMALLEST, "note", "end"),
    ]
    items: list[Primitive] = [
        Hatch(part, 1.6, 45.0, "bevel"),
        Path(part, "bevel", closed=True),
        *(Path(line, "bevel") for line in waste),
        Path(square, "bevel"),
        Path(blade, "bevel", closed=True, fill="#000000"),
        Path(handle, "bevel", closed=True, fill="#ffffff"),
        Label(tuple(words[:1])),
        Label(tuple(words[1:])),
    ]
    corners = np.vstack([part, blade, handle, square, *waste])
    x0, x1, top = corners[:, 0].min(), max(corners[:, 0].max(), left + 14.0), corners[:, 1].max()
    low = -foam - 3.4
    return Block(Block(tuple(items), 0.0, 0.0).hung(-x0, -top), float(x1 - x0), float(top - low))


def half_degrees(angle: float) -> str:
    """An angle as it is printed, on templates and in the booklet alike: to half a degree, as a protractor shows."""
    halves = round(2.0 * angle)
    return decimal(halves / 2.0, halves % 2)


def _angles(low: float, high: float) -> str:
    """One angle or a range."""
    ends = half_degrees(low), half_degrees(high)
    return f"{ends[0]}°" if ends[0] == ends[1] else say("{low} to {high}°", low=ends[0], high=ends[1])

"""Every part's template: the cut line, what is marked on the foam, and everything the maker must know."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
import shapely

from generator.drawing.metrics import text_box
from generator.drawing.primitives import Drawing, Hatch, Path, Primitive, Text, Tick
from generator.flatten.records import Pattern, PatternDart, Patterns
from generator.parts.records import BandBody, FlatBody
from generator.templates import edges, wording
from generator.templates.block import SMALLEST, Block, Line, arrow_block, beside, text_block, upright
from generator.templates.marks import Mark, marks
from generator.templates.place import Candidates, Field
from generator.templates.records import Template

LARGE = (12.0, 10.0, 8.5, 7.0, 6.0, 5.0)  # of the label in the main block: these are looked for level first
SMALL = (4.0, 3.0)
CROSS = 5.0  # half length of a centre cross


def draw(patterns: Patterns) -> tuple[Template, ...]:
    """One template per pattern, in their order; all in the coordinates of the pattern, mm."""
    return tuple(_template(patterns, pattern) for pattern in patterns.patterns)


def _template(patterns: Patterns, pattern: Pattern) -> Template:
    material = shapely.Polygon(pattern.outline, pattern.holes)
    laps = marks(patterns, pattern, material)
    walks = [edges.walk(pattern, edge, material) for edge in pattern.edges]
    radius = shapely.maximum_inscribed_circle(material, 0.5).length
    tick = float(np.clip(0.6 * radius, 1.0, edges.TICK))

    lines: list[Primitive] = [Path(pattern.outline, "cut", closed=True)]
    lines += [Path(hole, "cut-inner", closed=True) for hole in pattern.holes]
    lines += [Path(line, "mark") for mark in laps for line in mark.lines]
    for edge, path in zip(pattern.edges, walks):
        lines += edges.strokes(edge, path, tick)
    lines += _centre_cross(pattern, radius)
    zones = _trim_zones(pattern, material)
    for _, zone, line in zones:
        lines += [Hatch(zone, 2.5, 45.0, "trim"), Path(line, "trim")]

    field = Field(material, [geometry(item) for item in lines])
    field.draw(*(shapely.Polygon(zone) for _, zone, _ in zones))
    items = list(lines)
    for edge, path in zip(pattern.edges, walks):
        items += edges.tick_numbers(edge, path, tick, field)
    items += _heading(patterns, pattern, laps, field)
    for mark in laps:
        items += _mark_label(mark, field)
    items += _directions(pattern, laps, field)
    for edge, path in zip(pattern.edges, walks):
        texts = wording.edge_texts(patterns, pattern, edge)
        if texts:
            items += edges.edge_label(texts, path, field)
    for dart in pattern.darts:
        items += _dart_label(dart, field)
    for length, _, line in zones:
        items += _trim_label(length, line, field)
    for edge, path in zip(pattern.edges, walks):
        items += edges.bevel_values(edge, path, field)
    return Template(pattern, Drawing(tuple(items)), _bounds(items), pattern.outline)


def geometry(item: Primitive) -> shapely.Geometry:
    """What a primitive covers, as a shape: a line, or the area of a text or hatch."""
    if isinstance(item, Text):
        return shapely.Polygon(text_box(item))
    if isinstance(item, Tick):
        return shapely.LineString([item.start, item.end])
    if isinstance(item, Hatch):
        return shapely.Polygon(item.boundary)
    if item.fill is not None:
        return shapely.Polygon(item.points)
    return shapely.LinearRing(item.points) if item.closed else shapely.LineString(item.points)


def _bounds(items: Iterable[Primitive]) -> tuple[float, float, float, float]:
    boxes = shapely.bounds([geometry(item) for item in items])
    return (*map(float, boxes[:, :2].min(axis=0)), *map(float, boxes[:, 2:].max(axis=0)))


def _heading(
    patterns: Patterns, pattern: Pattern, laps: tuple[Mark, ...], field: Field
) -> tuple[Primitive, ...]:
    """Label, name, foam and count as large as fits, and the notes; off the foam if there is no room on it."""
    piece = pattern.piece
    head = (wording.foam(piece), *wording.count(piece))
    notes = _notes(patterns, pattern)
    main = None
    for heights in (LARGE, SMALL):
        main = main or _inside(field, laps, tuple(_head_blocks(piece.label, piece.name, head, heights)))
    if main is None:
        rows = [Line(piece.name, 2.8, bold=True), *(Line(text, SMALLEST) for text in (*head, *notes))]
        big = text_block([Line(piece.label, 6.0, bold=True)])
        return field.outside(beside(big, text_block(rows, anchor="start"), 2.0), field.material.boundary)
    shapes = (notes, (". ".join(notes),))  # as a paragraph, or in one row, which suits a strip
    blocks = tuple(
        text_block([Line(text, height) for text in rows]) for rows in shapes for height in (2.8, SMALLEST)
    )
    second = _inside(field, laps, blocks) or field.outside(blocks[1], field.material.boundary)
    return (*main, *second)


def _inside(field: Field, laps: tuple[Mark, ...], blocks: tuple[Block, ...]) -> tuple[Primitive, ...] | None:
    """The first of `blocks` that fits on the foam: clear of glued-on parts if it can, and level if it can."""
    level, others = _angles(field.material)
    clear = field.material - shapely.union_all([mark.region for mark in laps]) if laps else None
    for region in (clear, None) if laps else (None,):
        for angles in (level, others):
            found = field.inside(blocks, angles, region)
            if found is not None:
                return found
    return None


def _notes(patterns: Patterns, pattern: Pattern) -> tuple[str, ...]:
    lines = (
        wording.inside_face(),
        wording.lamination(pattern.piece),
        *wording.dimensions(pattern),
        wording.bevel_note(pattern),
        wording.pack(patterns.prop.design),
    )
    return tuple(line for line in lines if line)


def _head_blocks(
    label: str, name: str, facts: tuple[str, ...], heights: tuple[float, ...]
) -> Iterator[Block]:
    """The main block from large to small: the label over the text, beside it, and all in one row."""
    for height in heights:
        small = max(SMALLEST, 0.3 * height)
        big = Line(label, height, bold=True)
        title = Line(name, max(SMALLEST, 0.42 * height), bold=True)
        rows = [Line(text, small) for text in facts]
        yield text_block([big, title, *rows])
        yield beside(text_block([big]), text_block([title, *rows], anchor="start"), 0.4 * height)
        row = beside(text_block([title]), text_block([Line(", ".join(facts), small)]), 0.8 * height)
        yield beside(text_block([big]), row, 0.6 * height)


def _angles(shape: shapely.Geometry) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The angle that reads best: along a shape that is clearly longer than wide, else level; then the others."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shape))
    sides = np.diff(corners[:3], axis=0)
    lengths = np.hypot(*sides.T)
    long = sides[int(np.argmax(lengths))]
    along = upright(float(np.round(np.degrees(np.arctan2(long[1], long[0])), 3)))
    best = along if lengths.max() > 1.3 * lengths.min() and min(abs(along), 90 - abs(along)) > 8.0 else 0.0
    if lengths.max() > 1.3 * lengths.min() and abs(along) >= 82.0:
        best = 90.0
    rest = (0.0, upright(best + 90.0), 90.0, 45.0, -45.0)
    return (best,), tuple(angle for angle in dict.fromkeys(rest) if angle != best)


def _directions(pattern: Pattern, laps: tuple[Mark, ...], field: Field) -> tuple[Primitive, ...]:
    """The arrows up and forward, on the foam if there is room, else beside it."""
    clear = field.material - shapely.union_all([mark.region for mark in laps])
    drawn: list[Primitive] = []
    for word, direction in (("up", pattern.up), ("forward", pattern.forward)):
        if direction is None:
            continue
        angle = float(np.degrees(np.arctan2(direction[1], direction[0])))
        along = upright(angle)
        reverse = abs((angle - along + 180.0) % 360.0 - 180.0) > 90.0
        sizes = ((16.0, 3.2), (12.0, 2.6), (8.0, SMALLEST))
        blocks = [arrow_block(word, length, height, reverse) for length, height in sizes]
        found = field.inside(blocks, (along,), clear) or field.inside(blocks, (along,))
        drawn += found or field.aside(blocks[-1], along)
    return tuple(drawn)


def _dart_label(dart: PatternDart, field: Field) -> tuple[Primitive, ...]:
    """In the wedge, past its tip, beside a leg, or with a leader to its mouth."""
    mouth = (dart.leg_a[0] + dart.leg_b[0]) / 2
    tip = dart.leg_a[-1]
    axis = (tip - mouth) / np.hypot(*(tip - mouth))
    side = np.array([-axis[1], axis[0]])
    angle = upright(float(np.degrees(np.arctan2(axis[1], axis[0]))))
    for text in wording.dart_texts(dart):
        block = text_block([Line(text, SMALLEST)])
        spots = [mouth + axis * (block.width / 2 + 1.0)]
        for leg in (dart.leg_a, dart.leg_b):
            out = np.sign((leg[0] - mouth) @ side)
            for gap in (1.5, 3.0, 6.0):
                for share in (0.5, 0.6, 0.4, 0.8, 0.2):
                    foot = leg[0] + share * (tip - leg[0])
                    spots.append(foot + out * side * (gap + block.height / 2))
        spots += [tip + axis * (block.width / 2 + gap) for gap in (1.5, 3.0, 6.0, 10.0)]
        found = field.first(block, Candidates(np.array(spots), np.full(len(spots), angle)), inside=None)
        if found is not None:
            return found
    return field.outside(
        text_block([Line(wording.dart_texts(dart)[0], SMALLEST)]), shapely.Point(dart.leg_a[0])
    )


def _mark_label(mark: Mark, field: Field) -> tuple[Primitive, ...]:
    """In the outline of the part that is glued on top, else beside its line, else with a leader."""
    texts = wording.mark_texts(mark.upper, mark.on_inside)
    blocks = [
        text_block([Line(text, height, bold=True)], "mark")
        for text in texts
        for height in (4.0, 3.0, SMALLEST)
    ]
    for angles in _angles(mark.region) if mark.region.area > 1.0 else ():
        found = field.inside(blocks, angles, mark.region)
        if found is not None:
            return found
    block = blocks[-1]
    for line in mark.lines:
        points = shapely.LineString(line)
        places = shapely.line_interpolate_point(points, np.linspace(0.1, 0.9, 9), normalized=True)
        centres = shapely.get_coordinates(places)
        ring = [
            centres + (block.height / 2 + gap) * np.array([np.cos(a), np.sin(a)])
            for gap in (0.8, 2.0, 4.0)
            for a in np.radians(np.arange(0, 360, 30))
        ]
        spots = np.concatenate(ring)
        found = field.first(block, Candidates(spots, np.zeros(len(spots))), inside=True)
        if found is not None:
            return found
    target = shapely.LineString(mark.lines[0]) if mark.lines else field.material.boundary
    return field.outside(text_block([Line(texts[0], SMALLEST, bold=True)], "mark"), target)


def _centre_cross(pattern: Pattern, radius: float) -> tuple[Path, ...]:
    """The centre of a round part."""
    body = pattern.piece.body
    if not isinstance(body, FlatBody) or body.radius is None:
        return ()
    half = min(CROSS, 0.5 * body.radius)
    x, y = body.centre
    across = np.array([[x - half, y], [x + half, y]])
    up = np.array([[x, y - half], [x, y + half]])
    return (Path(across, "fold"), Path(up, "fold"))


def _trim_zones(pattern: Pattern, material: shapely.Polygon) -> list[tuple[float, np.ndarray, np.ndarray]]:
    """Each end left long on purpose: its length, its area (N, 2) and the line (2, 2) to cut it off along."""
    body = pattern.piece.body
    if not isinstance(body, BandBody):
        return []
    x0, y0, x1, y1 = material.bounds
    zones = []
    for length, end, line in (
        (body.trim_start, x0, x0 + body.trim_start),
        (body.trim_end, x1, x1 - body.trim_end),
    ):
        if length <= 0:
            continue
        zone = material & shapely.box(min(end, line), y0, max(end, line), y1)
        cut = material & shapely.LineString([(line, y0 - 1), (line, y1 + 1)])
        zones.append((length, shapely.get_coordinates(zone)[:-1], shapely.get_coordinates(cut)))
    return zones


def _trim_label(length: float, line: np.ndarray, field: Field) -> tuple[Primitive, ...]:
    """Along the line, else near it, else with a leader."""
    block = text_block([Line(wording.trim(length), SMALLEST)], "trim")
    middle = line.mean(axis=0)
    gaps = [sign * gap for gap in (1.2, 2.5, 5.0) for sign in (1, -1)]
    along = [middle + (np.sign(gap) * block.height / 2 + gap, 0.0) for gap in gaps]
    level = [
        middle + (np.sign(gap) * block.width / 2 + gap, rise)
        for gap in gaps
        for rise in (0.0, 4.0, -4.0, 8.0, -8.0)
    ]
    spots = Candidates(np.array(along + level), np.array([90.0] * len(along) + [0.0] * len(level)))
    return field.first(block, spots, inside=True) or field.outside(block, shapely.Point(line[0]))

"""Labels that belong to one spot of a part: a dart, the outline of a part glued on top, a trim line."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from foamwright.drawing.primitives import Primitive
from foamwright.drawing.typesetting import SMALLEST, Block, Line, label_block
from foamwright.flatten.records import PatternDart
from foamwright.templates import wording
from foamwright.templates.marks import Mark
from foamwright.templates.place import CLEARANCE, Candidates, Field

_LARGEST = 2.8  # mm, the height of the name of another part: no larger than that of the part itself
_THICKET = 6  # labels of one text that may stand beside the marks of a part that have no room for them
_LETTERS = 2  # and the least height of so few letters, which smaller are a speck beside the lines


def dart_label(dart: PatternDart, field: Field) -> tuple[Primitive, ...]:
    """In the wedge, past its tip, beside a leg, or with a leader to its mouth."""
    mouth = (dart.leg_a[0] + dart.leg_b[0]) / 2
    tip = dart.leg_a[-1]
    axis = (tip - mouth) / np.hypot(*(tip - mouth))
    side = np.array([-axis[1], axis[0]])
    angle = field.upright(float(np.degrees(np.arctan2(axis[1], axis[0]))))
    for text in wording.dart_texts(dart):
        block = label_block([Line(text, SMALLEST)])
        spots = [mouth + axis * (block.width / 2 + 1.0)]
        for leg in (dart.leg_a, dart.leg_b):
            out = np.sign((leg[0] - mouth) @ side)
            for gap in (1.5, 3.0, 6.0):
                for share in (0.5, 0.6, 0.4, 0.8, 0.2):
                    foot = leg[0] + share * (tip - leg[0])
                    spots.append(foot + out * side * (gap + block.height / 2))
        spots += [tip + axis * (block.width / 2 + gap) for gap in (1.5, 3.0, 6.0, 10.0)]
        placed = field.first(block, Candidates(np.array(spots), np.full(len(spots), angle)), inside=None)
        if placed is not None:
            return placed
    return field.outside(label_block([Line(wording.dart_texts(dart)[0], SMALLEST)]), shapely.Point(dart.leg_a[0]))


def mark_labels(marks: Sequence[Mark], field: Field, told: wording.Told) -> tuple[Primitive, ...]:
    """A label for each mark on the foam, in it, beside it or with a leader; one off the foam, where it is lost with the waste,
    for all copies of a part that found no room; and one on the foam for so many that their labels would be a thicket."""
    drawn: list[Primitive] = []
    regions = shapely.STRtree([mark.region for mark in marks])
    smallest_first = np.argsort([round(mark.region.area, 3) for mark in marks], kind="stable")  # it has the least room
    roomless: dict[_Alike, list[tuple[Mark, shapely.Geometry]]] = {}
    for number in smallest_first.tolist():
        mark = marks[number]
        near = np.sort(regions.query(mark.region))
        others = shapely.union_all([marks[k].region for k in near.tolist() if k != number])
        placed = _in_mark(mark, others, field, told)
        if placed is None:
            roomless.setdefault(_alike(mark), []).append((mark, others))
        drawn += placed or ()
    for alike in roomless.values():
        is_thicket = len(alike) > _THICKET
        left = []
        for mark, others in alike:
            placed = (
                None if is_thicket else _beside_mark(mark, others, field, told) or _pointing(mark, others, field, told)
            )
            left += [mark] if placed is None else []
            drawn += placed or ()
        if not left:
            continue
        text = wording.copies(len(left), wording.mark_texts(left[0], told)[0])
        lines = [shapely.LineString(line) for mark in left for line in mark.lines]
        target = shapely.multilinestrings(lines) if lines else field.material.boundary
        block = _blocks(text, left[0].layer)[-1]
        drawn += (field.pointing(block, target, False) if is_thicket and lines else None) or field.outside(
            block, target
        )
    return tuple(drawn)


_Alike = tuple[str, bool, tuple[int, ...]]


def _alike(mark: Mark) -> _Alike:
    """What marks have in common that one label may be about."""
    return mark.upper.label, mark.on_inside, mark.copies


def _blocks(text: str, layer: str) -> list[Block]:
    """What a mark is called, from large to small."""
    heights = (_LARGEST, SMALLEST) if len(text) > _LETTERS else (_LARGEST,)
    return [label_block([Line(text, height, bold=True)], layer) for height in heights]


def _in_mark(mark: Mark, others: shapely.Geometry, field: Field, told: wording.Told) -> tuple[Primitive, ...] | None:
    """In the outline of the part that is glued on top, where no other of the `others` lies if that can be; None if there is no
    room for it."""
    texts = wording.mark_texts(mark, told)
    blocks = [block for text in texts for block in _blocks(text, mark.layer)]
    for part in (*_largest_first(mark.region - others), *_largest_first(mark.region)):
        turns = field.reading_angles(part)
        for angles in turns[:1] if _is_slim(part) else turns:
            placed = field.inside(blocks, angles, part)
            if placed is not None:
                return placed
    return None


def _is_slim(region: shapely.Geometry) -> bool:
    """Does it have no room for letters along it? One set across it would lie on its side there, a hook between two lines."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(region))
    return float(np.hypot(*np.diff(corners[:3], axis=0).T).min()) < _LARGEST + 2.0 * CLEARANCE


def _beside_mark(
    mark: Mark, others: shapely.Geometry, field: Field, told: wording.Told
) -> tuple[Primitive, ...] | None:
    """Beside its line; None if there is no room for it."""
    block = _blocks(wording.mark_texts(mark, told)[-1], mark.layer)[-1]
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
        spots = spots[~shapely.contains_xy(others, *spots.T)]  # there it would be read as theirs
        for angle in (field.level, field.upright(field.level + 90.0)):
            placed = field.first(block, Candidates(spots, np.full(len(spots), angle)), inside=True)
            if placed is not None:
                return placed
    return None


def _pointing(mark: Mark, others: shapely.Geometry, field: Field, told: wording.Told) -> tuple[Primitive, ...] | None:
    """On the foam with a leader to its lines, which crosses others only if it must."""
    lines = [shapely.LineString(line) for line in mark.lines if len(line) > 1]
    if not lines:
        return None
    target = shapely.multilinestrings(lines)
    for over_lines in (False, True):
        for text in wording.mark_texts(mark, told):
            block = _blocks(text, mark.layer)[-1]
            placed = field.pointing(block, target, over_lines, off=others)
            if placed is not None:
                return placed
    return None


def _largest_first(region: shapely.Geometry) -> np.ndarray:
    """The polygons of a region, without mere slivers."""
    parts = shapely.get_parts(region)
    areas = np.round(shapely.area(parts), 6)
    order = np.argsort(-areas, kind="stable")
    return parts[order][areas[order] > 1.0]


def trim_label(length: float, line: np.ndarray, field: Field) -> tuple[Primitive, ...]:
    """Along the line, else near it, else with a leader."""
    block = label_block([Line(wording.trim(length), SMALLEST)], "trim")
    middle = line.mean(axis=0)
    gaps = [sign * gap for gap in (1.2, 2.5, 5.0) for sign in (1, -1)]
    along = [middle + np.array([np.sign(gap) * block.height / 2 + gap, 0.0]) for gap in gaps]
    level = [
        middle + np.array([np.sign(gap) * block.width / 2 + gap, rise])
        for gap in gaps
        for rise in (0.0, 4.0, -4.0, 8.0, -8.0)
    ]
    upright, flat = field.upright(90.0), field.upright(0.0)
    spots = Candidates(np.array(along + level), np.array([upright] * len(along) + [flat] * len(level)))
    return field.first(block, spots, inside=True) or field.outside(block, shapely.Point(line[0]))

"""The joints of a part that is glued up from segments: where each segment ends, and its label."""

from __future__ import annotations

import numpy as np
import shapely

from generator.drawing.primitives import Path, Primitive
from generator.flatten.records import Pattern
from generator.templates import wording
from generator.templates.block import Line, text_block
from generator.templates.edges import Walk, edge_label
from generator.templates.place import Field, reading_angles

_HEIGHTS = (8.0, 6.0, 4.0, 3.0, 2.4)  # of a segment's label


def joint_lines(pattern: Pattern) -> list[Path]:
    """Every line along which segments are cut apart; a scarf has two, as its segments overlap."""
    return [Path(line, "cut") for line in pattern.split.lines] if pattern.split else []


def joint_labels(pattern: Pattern, field: Field) -> tuple[Primitive, ...]:
    """What each line is, beside it, and the label of each segment on its foam."""
    if pattern.split is None:
        return ()
    foam = [shapely.Polygon(s.outline, s.holes) for s in pattern.split.segments]
    drawn: list[Primitive] = []
    for number, own in enumerate(foam, start=1):
        alone = own - shapely.union_all([other for other in foam if other is not own])
        label = wording.segment(pattern, number)
        blocks = [text_block([Line(label, height, bold=True)]) for height in _HEIGHTS]
        for angles in reading_angles(alone):
            found = field.inside(blocks, angles, alone)
            if found is not None:
                drawn += found
                break
        else:
            drawn += field.outside(blocks[-1], alone.boundary)
    for line in pattern.split.lines:
        drawn += edge_label(_text(pattern, foam, line), _walk(line), field)
    return tuple(drawn)


def _text(pattern: Pattern, foam: list[shapely.Polygon], line: np.ndarray) -> str:
    """A scarf's line is the end of one segment, another joint's line that of both beside it."""
    middle = shapely.LineString(line)
    return wording.joint(pattern, [n for n, own in enumerate(foam, start=1) if _shares(own, middle)])


def _shares(own: shapely.Polygon, line: shapely.LineString) -> bool:
    return (own.boundary & line.buffer(1e-3)).length > 0.5 * line.length


def _walk(line: np.ndarray) -> Walk:
    """Along the straight line between its ends, with its words on the side where no dovetails stand."""
    ends = line[[0, -1]]
    way = ends[1] - ends[0]
    left = np.array([-way[1], way[0]])
    distance = np.array([0.0, np.hypot(*way)])
    return Walk(ends, distance, distance, -1 if ((line - ends[0]) @ left).sum() > 0 else 1)

"""The joints of a segment with the others of its part: what each is, and where another ends on this one."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.ops import split as parted

from foamwright.drawing.primitives import Path, Primitive
from foamwright.drawing.typesetting import SMALLEST, Line, label_block
from foamwright.flatten.records import Pattern, SegmentJoint
from foamwright.templates import wording
from foamwright.templates.edges import Walk, edge_label
from foamwright.templates.place import Field

_HAIR = 0.2  # mm off a line, where it is asked on which side of it the foam lies


def joint_lines(segment: Pattern) -> list[Path]:
    """Where a scarf begins to slope: the end of the other segment. Other joints are part of the outline."""
    return [Path(joint.line, "mark") for joint in segment.joints if joint.joint == "scarf"]


def joint_labels(segment: Pattern, field: Field) -> tuple[Primitive, ...]:
    """What each joint is and what it is to: along its line, or if there is room on the slope of a scarf."""
    foam = shapely.Polygon(segment.outline, segment.holes)
    drawn: list[Primitive] = []
    for joint in segment.joints:
        words = wording.joint(segment, joint)
        drawn += _on_slope(joint, words, foam, field) or edge_label(" ".join(words), _walk(joint, foam), field)
    return tuple(drawn)


def _on_slope(joint: SegmentJoint, words: tuple[str, ...], foam: shapely.Polygon, field: Field):
    """The words below each other between a scarf's line and the end; None if there is no such room."""
    if joint.joint != "scarf":
        return None
    start, end = joint.line[[0, -1]]
    past = (end - start) / np.hypot(*(end - start))
    cut = shapely.LineString([start - past, end + past])
    slope = min(shapely.get_parts(parted(foam, cut)), key=shapely.area)
    block = label_block([Line(text, SMALLEST) for text in words])
    best, others = field.reading_angles(slope)
    return field.inside((block,), (*best, *others), slope)


def _walk(joint: SegmentJoint, foam: shapely.Polygon) -> Walk:
    """Straight along the line, past its dovetails, on the side that is all foam and not the slope of a scarf."""
    ends = joint.line[[0, -1]]
    chord = ends[1] - ends[0]
    length = float(np.hypot(*chord))
    left = np.array([-chord[1], chord[0]]) / length
    rises = (joint.line - ends[0]) @ left
    middle = shapely.get_coordinates(foam.centroid)[0]
    sides = []
    for side in (1, -1):
        base = ends + left * (side * max(side * rises))
        spots = base[0] + np.linspace(0.05, 0.95, 9)[:, None] * chord + side * _HAIR * left
        votes = int(shapely.contains_xy(foam, *spots.T).sum())
        sides.append((votes, side * float((middle - base[0]) @ left), side, base))
    *_, inward, base = max(sides, key=lambda sided: sided[:2])
    distance = np.array([0.0, length])
    return Walk(base, distance, distance, inward)

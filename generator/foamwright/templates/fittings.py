"""What flat parts carry beside marks: engraving, alignment pins, and slots for tabs. Lengths in mm."""

from __future__ import annotations

import numpy as np
import shapely

from foamwright.drawing.primitives import Path, Primitive
from foamwright.drawing.typesetting import SMALLEST, Line, label_block
from foamwright.flatten.records import Pattern, Patterns
from foamwright.language import decimal, say
from foamwright.parts.details import PIN
from foamwright.parts.outlines import circle
from foamwright.templates import wording
from foamwright.templates.place import Candidates, Field

_OFF_ROUND = 0.3  # mm by which a hole, or its place in a round part, may be off and still be told as round
_CORNERS = 8  # of an outline; more, and it stands for a curve
_SMALL = 40.0  # across; an engraved line that goes round more than this leaves room for labels
_SAME = 0.2  # difference of distances that does not count
_GAPS = (1.2, 2.5, 4.0, 7.0)


def fitting_lines(pattern: Pattern) -> tuple[Path, ...]:
    """Engraved lines, and a circle and a cross for each alignment pin."""
    lines = [Path(ring, "engrave", closed=True) for ring in pattern.fittings.engraving]
    return (*lines, *(line for at in pattern.fittings.pins for line in pin(at)))


def pin(at) -> tuple[Path, Path, Path]:
    """A circle and a cross where a pin goes through a part."""
    x, y = at
    return (
        Path(circle(PIN / 2, (x, y)), "pin", closed=True),
        Path(np.array([[x - PIN, y], [x + PIN, y]]), "pin"),
        Path(np.array([[x, y - PIN], [x, y + PIN]]), "pin"),
    )


def engraved_words(pattern: Pattern) -> tuple[shapely.Geometry, ...]:
    """Where letters and other small things are engraved: no label belongs inside of them."""
    lines = [path.points for path in fitting_lines(pattern) if path.layer == "engrave"]
    rings = [shapely.Polygon(line) for line in lines]
    return tuple(ring.envelope for ring in rings if max(np.ptp(np.reshape(ring.bounds, (2, 2)), axis=0)) < _SMALL)


def hole_labels(pattern: Pattern, field: Field) -> tuple[Primitive, ...]:
    """How wide the round holes of a flat part are, once for those that are alike: in one of them, or beside it with a leader. A
    ring has its inner radius among its notes."""
    round_ = pattern.fittings.round
    found: dict[str, list[tuple[np.ndarray, np.ndarray]]] = {}
    for hole in pattern.holes:
        centre = np.array(shapely.Polygon(hole).centroid.coords[0])
        away = np.hypot(*(hole - centre).T)
        concentric = round_ is not None and float(np.hypot(*(centre - round_.centre))) < _OFF_ROUND
        if len(hole) > _CORNERS and float(np.ptp(away)) < _OFF_ROUND and not concentric:
            found.setdefault(decimal(2.0 * float(away.mean()), 1), []).append((centre, hole))
    drawn: list[Primitive] = []
    for size, holes in found.items():
        text = wording.copies(len(holes), say("hole {size} mm across", size=size))
        block = label_block([Line(text, SMALLEST)])
        centres = np.array([centre for centre, _ in holes])
        placed = field.first(block, Candidates(centres, np.full(len(centres), field.level)), inside=None)
        rims = (shapely.LinearRing(hole) for _, hole in holes)
        drawn += placed or next((at for rim in rims if (at := field.pointing(block, rim)) is not None), ())
    return tuple(drawn)


def slot_labels(patterns: Patterns, pattern: Pattern, field: Field) -> tuple[Primitive, ...]:
    """Which part's tab enters each slot: beside the slot and along it, else with a leader.

    Of the slots of `pattern` those at the foam of the field, which may be a segment of it.
    """
    foam = shapely.Polygon(pattern.outline, pattern.holes)
    drawn: list[Primitive] = []
    for slot in pattern.fittings.slots:
        at = np.array(slot.at)
        if field.material.distance(shapely.Point(at)) > foam.distance(shapely.Point(at)) + _SAME:
            continue
        block = label_block([Line(wording.slot(patterns.prop.piece(slot.part)), SMALLEST)])
        legs = np.diff(slot.corners[:3], axis=0)
        lengths = np.hypot(*legs.T)
        along = legs[int(np.argmax(lengths))] / lengths.max()
        across = np.array([-along[1], along[0]])
        off = lengths.min() / 2 + block.height / 2
        spots = np.array([at + side * (off + gap) * across for gap in _GAPS for side in (1, -1)])
        angle = field.upright(float(np.degrees(np.arctan2(along[1], along[0]))))
        placed = field.first(block, Candidates(spots, np.full(len(spots), angle)), inside=True)
        rim = shapely.buffer(shapely.Polygon(slot.corners), _SAME) & foam.boundary
        drawn += placed or field.outside(block, rim)
    return tuple(drawn)

"""Small drawings of how the segments of a part that is larger than its sheet go together: a scarf in section, a puzzle joint from
above. Lengths in mm on paper; true to the patterns."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely

from foamwright.assembly.records import Inset
from foamwright.booklet.pictures.figures import INSET
from foamwright.booklet.pictures.strokes import polygons
from foamwright.drawing.primitives import Path, Primitive, Text
from foamwright.flatten.records import Pattern, Split
from foamwright.flatten.segments import segment_label
from foamwright.language import length, say
from foamwright.parts.records import BandBody

_ROOM = 26.0  # mm high that a puzzle joint may take
_SLOPE, _DEEP = 18.0, 7.0  # mm that the slope and the thickness of a scarf may take
_APART = 5.5  # mm by which segments are drawn apart
_BESIDE = 0.9  # of the length of a puzzle joint, how much of the segments is drawn to both sides of it
_LEVEL = 0.7  # of a band's breadth that goes up; more, and it is seen from above
_ANGLE_OFF = 3.6  # from a corner to its angle
_NEAR = 0.01  # mm within which a segment's edge lies on the line of a joint


def joined(pattern: Pattern) -> Inset | None:
    """The first joint of a part that is glued up from segments; None where they are cut straight and need no picture."""
    if pattern.split is None:
        return None
    drawn = {"scarf": _scarf, "puzzle": _puzzle, "mitre": _mitre}.get(pattern.split.joint)
    return drawn(pattern, pattern.split) if drawn else None


def _scarf(pattern: Pattern, split: Split) -> Inset:
    """Both ends in section, the drawn face up: the first is sloped on that, the other from below."""
    thick = pattern.piece.stock.thickness
    start, end = (line.mean(axis=0) for line in split.lines[:2])
    long = float(np.linalg.norm(end - start))
    scale = min(_SLOPE / long, _DEEP / thick)
    slope, t = scale * long, scale * thick
    stub = (INSET[0] - slope) / 2.0
    level = -_APART - t
    lower = np.array([[0.0, level], [stub, level], [stub + slope, level - t], [0.0, level - t]])
    upper = np.array([[INSET[0], 0.0], [stub, 0.0], [stub + slope, -t], [INSET[0], -t]]) - (0.0, 0.5)
    colour = pattern.piece.stock.colour
    items: list[Primitive] = [Path(foam, "view", True, colour) for foam in (lower, upper)]
    items += [Path(foam[1:3], "glue") for foam in (lower, upper)]
    middle = np.array([stub + slope / 2.0, -t / 2.0 - 0.5])
    items.append(Path(np.array([middle - (0.0, 0.4), (middle[0], level - t / 2.0 + 0.4)]), "way"))
    items += _letter(segment_label(pattern, 0), np.array([stub / 2.0, level - t / 2.0]))
    items += _letter(segment_label(pattern, 1), np.array([INSET[0] - stub / 2.0, -t / 2.0 - 0.5]))
    figures = np.array([[stub, level - t - 1.2], [stub + slope, level - t - 1.2]])
    items.append(Path(figures, "bevel"))
    items.append(Text((stub + slope / 2.0, level - t - 4.0), length(round(long, 1)), 2.4, "note", "middle"))
    said = say(
        "Cut through the scarf joint of {part}, to scale, the drawn faces up: each end is pared down to nothing. Glue goes where "
        "it is red.",
        part=pattern.piece.label,
    )
    return Inset(tuple(items), -level + t + 4.6, said)


def _puzzle(pattern: Pattern, split: Split) -> Inset:
    """Both ends from above, drawn apart."""
    line = split.lines[0]
    ends = line[-1] - line[0]
    across = ends / np.linalg.norm(ends)
    along = np.array([across[1], -across[0]])
    middle = line.mean(axis=0)
    frame = np.column_stack([along, across])
    flat = [
        shapely.Polygon((s.outline - middle) @ frame, [(h - middle) @ frame for h in s.holes]) for s in split.segments
    ]
    joint = shapely.LineString((line - middle) @ frame)
    first, second = sorted((foam for foam in flat if foam.distance(joint) < _NEAR), key=lambda foam: foam.centroid.x)[
        :2
    ]
    x0, y0, x1, y1 = joint.bounds
    beside = _BESIDE * (y1 - y0)
    window = shapely.box(x0 - beside, y0 - 0.3 * beside, x1 + beside, y1 + 0.3 * beside)
    seen = [shapely.intersection(foam, window) for foam in (first, second)]
    low, high = np.reshape(shapely.total_bounds(seen), (2, 2))
    scale = float(min((INSET[0] - _APART) / (high[0] - low[0]), _ROOM / (high[1] - low[1])))
    shift = np.array([(INSET[0] - _APART - scale * (high[0] - low[0])) / 2.0 - scale * low[0], -scale * high[1]])
    items: list[Primitive] = []
    numbers = [next(i for i, foam in enumerate(flat) if foam is one) for one in (first, second)]
    for number, foam, off in zip(numbers, seen, (0.0, _APART)):
        at = shift + (off, 0.0)
        rings = [scale * np.array(polygon.exterior.coords)[:-1] + at for polygon in polygons(foam)]
        items += [Path(ring, "view", True, pattern.piece.stock.colour) for ring in rings]
        items.append(Path(scale * np.array(joint.coords) + at, "glue"))
        spot = max(polygons(foam), key=lambda p: p.area).representative_point().coords[0]
        items += _letter(segment_label(pattern, number), scale * np.array(spot) + at)
    said = say("The puzzle joint of {part}, the drawn faces up. Glue goes where it is red.", part=pattern.piece.label)
    return Inset(tuple(items), float(scale * (high[1] - low[1])) + 0.5, said)


def _mitre(pattern: Pattern, split: Split) -> Inset | None:
    """All pieces in a row as they are joined, seen along their edges."""
    body = pattern.piece.body
    mitred = [c for c in body.corners if c.made == "mitred"] if isinstance(body, BandBody) else []
    if not isinstance(body, BandBody) or not mitred:
        return None
    up = np.array([0.0, 0.0, 1.0]) if abs(body.across[2]) < _LEVEL else np.array([1.0, 0.0, 0.0])
    up = up - (up @ body.across) * body.across
    up /= np.linalg.norm(up)
    side = np.column_stack([np.cross(up, body.across), up])
    inner, outer = (
        (body.curve + off * body.normals) @ side
        for off in (body.inner_offset, body.inner_offset + pattern.piece.stock.thickness)
    )
    low, high = (f(np.vstack([inner, outer]), axis=0) for f in (np.min, np.max))
    room = np.array(INSET) - (0.0, 1.0)
    scale = float((room / np.maximum(high - low, 1e-9)).min())
    shift = np.array([INSET[0] / 2.0 - scale * (low[0] + high[0]) / 2.0, -scale * high[1] - 0.5])
    inner, outer = scale * inner + shift, scale * outer + shift
    last = len(inner) - 1
    ends = sorted({corner.at % last if body.closed else corner.at for corner in mitred})
    stretches = list(pairwise(ends if body.closed else [0, *ends, last]))
    runs = [np.arange(start, stop + 1) for start, stop in stretches]
    if body.closed:  # what begins at its last corner goes on over the point where its curve begins
        runs.append(np.r_[np.arange(ends[-1], last), np.arange(ends[0] + 1)])
    items: list[Primitive] = [
        Path(np.vstack([inner[run], outer[run][::-1]]), "view", True, pattern.piece.stock.colour) for run in runs
    ]
    items += [Path(np.array([inner[at], outer[at]]), "glue") for at in ends]
    for corner in mitred:
        at = corner.at % last if body.closed else corner.at
        off = (inner[at] - outer[at]) * (1.0 if corner.turn > 0.0 else -1.0)  # to where the faces face each other
        start = inner[at] if corner.turn > 0.0 else outer[at]
        spot = start + _ANGLE_OFF * off / max(float(np.linalg.norm(off)), 1e-9)
        angle = f"{180.0 - abs(corner.turn):.0f}\u00b0"
        items.append(Text((float(spot[0]), float(spot[1]) - 0.8), angle, 2.2, "note", "middle"))
    for number, run in enumerate(runs):
        ring = shapely.Polygon(np.vstack([inner[run], outer[run][::-1]]))
        half = shapely.LineString((inner[run] + outer[run]) / 2.0).interpolate(0.5, normalized=True)
        items += _letter(
            segment_label(pattern, number), np.array((half if ring.covers(half) else ring.centroid).coords[0])
        )
    said = say(
        "The pieces of {part} in their order, seen along their edges, to scale, with the angles between their faces. Glue goes "
        "where it is red.",
        part=pattern.piece.label,
    )
    return Inset(tuple(items), scale * float(high[1] - low[1]) + 1.0, said)


def _letter(label: str, at: np.ndarray) -> list[Primitive]:
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    ring = at + 2.4 * np.column_stack([np.cos(turn), np.sin(turn)])
    return [
        Path(ring, "tick", True, "#ffffff"),
        Text((float(at[0]), float(at[1]) - 0.75), label, 2.0, "note", "middle"),
    ]

"""What the bench can tell with a rule and a bevel gauge alone, before anything is bent: part against part on paper."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely

from foamwright.geometry import chord_length, crossing_of
from foamwright.proof.bench.foam import Edge, Foam, Part, Sewn, beside, nearest, other_stretches, ring_of
from foamwright.proof.bench.footings import is_bar
from foamwright.proof.bench.records import Fault
from foamwright.proof.bench.seams import is_even, matched
from foamwright.proof.read import Drawn

SEAM = 0.5  # mm by which two edges of a seam may differ from tick to tick, and from end to end
_SEAM_SHARE = 0.0015  # of its length, by which they may differ where that is more: seams are made to 0.1 %
_HAIR = 0.1  # of an edge: less of it touches at its ends what is beside its neighbour
_BEVEL = 0.35  # mm by which the line of the other face may be off from what the stated bevel makes
_ALONG = 2.6  # radians: less of a turn is no corner
_STEEP = 60.0  # degrees: beyond it lines say nothing of a bevel
_SLANTED = 45.0  # degrees: likewise of foam that curves under the cut, whose two faces this meets at unlike angles
_LONGER, _SPOT = 0.02, 4.0  # share and mm2 by which what touches may be more than an edge: it is found by triangles
_CROSSED = (
    1.0  # mm2 of a face that lines which cross would take away or count twice: less is the decimals of lines that touch
)
_DRAWN = 0.05  # mm: files have 3 decimals


def seam_faults(foam: Foam) -> list[Fault]:
    """Seams whose two edges are not of one length from tick to tick, or whose ticks run the wrong way."""
    faults: list[Fault] = []
    seen = set()
    for sewn in foam.sewn:
        key = (sewn.seam, sewn.edge_a, sewn.edge_b, foam.mirrored(sewn.a) == foam.mirrored(sewn.b))
        if key in seen:
            continue
        seen.add(key)
        faults += _seam(foam, sewn)
    return faults


def _seam(foam: Foam, sewn: Sewn) -> Iterator[Fault]:
    a, b = foam.part(sewn.a), foam.part(sewn.b)
    edge_a, edge_b = a.edge(sewn.edge_a), b.edge(sewn.edge_b)
    where = f"seam {sewn.seam} of {a.title} and {b.title}" if a is not b else f"seam {sewn.seam} of {a.title}"
    if edge_a is None or edge_b is None:
        missing, name = (a, sewn.edge_a) if edge_a is None else (b, sewn.edge_b)
        yield Fault(where, f"{missing.title} has no edge {name} on its paper", 0.0)
        return
    numbers = [number for number, _ in edge_a.ticks], [number for number, _ in edge_b.ticks]
    if sorted(numbers[0]) != sorted(numbers[1]):
        yield Fault(where, f"ticks {_told(numbers[0])} on one edge, {_told(numbers[1])} on the other", 0.0)
        return
    along_a, along_b = matched(edge_a, edge_b, foam.mirrored(sewn.a) == foam.mirrored(sewn.b))
    forth = np.diff(along_b)
    if len(numbers[0]) and not (np.all(forth > 0) or np.all(forth < 0)):
        yield Fault(where, "the ticks of both edges do not run the same way", 0.0)
        return
    if not is_even(a, b, sewn):
        return  # what touches has one length, which the papers of both show only when they are bent
    one, other = neutral_lengths(a, edge_a, along_a), neutral_lengths(b, edge_b, along_b)
    differ = np.abs(np.diff(one)) - np.abs(np.diff(other))
    total = abs(one[-1] - one[0]) - abs(other[-1] - other[0])
    worst = max([*differ.tolist(), total], key=abs)
    if abs(worst) > max(SEAM, _SEAM_SHARE * abs(one[-1] - one[0])):
        stretch = "" if worst == total else _between(int(np.abs(differ).argmax()), [n for n, _ in edge_a.ticks])
        yield Fault(where, f"its edges differ by {abs(worst):.2f} mm{stretch}", abs(float(worst)))


def unsewn_faults(foam: Foam) -> list[Fault]:
    """Edges that are glued to an edge of another part without a seam, though other copies of them have one with that part."""
    ends = [end for s in foam.sewn for end in ((s.a, s.edge_a, s.b), (s.b, s.edge_b, s.a))]
    sewn = {(copy, name) for copy, name, _ in ends}
    partners = {(copy.part, name, other.part) for copy, name, other in ends}
    found: dict[str, Fault] = {}
    for t in foam.touches:
        for copy, name, other, facing in ((t.a, t.face_a, t.b, t.face_b), (t.b, t.face_b, t.a, t.face_a)):
            part, met = foam.part(copy), foam.part(other)
            edge = part.edge(name)
            if edge is None or met.edge(facing) is None or not t.glued:
                continue
            if (copy, name) in sewn or (copy.part, name, other.part) not in partners:
                continue
            along = t.area / part.thickness
            if along > _HAIR * edge.length:
                where = f"edge {name} of {part.title}, copy {copy.number}"
                what = f"{along:.1f} mm of it lie against edge {facing} of {met.title}, and no seam joins them"
                found[where] = Fault(where, what, along)
    return list(found.values())


def _told(numbers: list[int]) -> str:
    return ", ".join(map(str, sorted(numbers))) or "none"


def _between(number: int, ticks: list[int]) -> str:
    names = ["one end", *(f"tick {tick}" for tick in ticks), "the other end"]
    return f" between {names[number]} and {names[number + 1]}"


def neutral_lengths(part: Part, edge: Edge, along: np.ndarray) -> np.ndarray:
    """Running lengths (K,) of places on an edge, on the surface that keeps its lengths; on the longer line of the edge
    where the foam stays flat.

    Of an edge that is a whole ring both lines tell it: with each point halfway to where the other runs the same way it is
    halfway between theirs, as perimeters of sums of outlines are (Minkowski). By the nearest points it would be too long
    wherever the lines cross, as round a small hole at a slant.
    """
    reached, behind, total = np.zeros(len(along)), 0.0, 0.0
    share = part.neutral / part.thickness if part.bent else 0.0
    if edge.loop and share and len(edge.stretches) == 1:
        own, other = _round(part.rings[ring_of(part, edge)]), _round(part.other_rings[ring_of(part, edge)])
        return along * ((1.0 - share) * own + share * other) / own
    for stretch, across in zip(edge.stretches, other_stretches(part, edge)):
        s = chord_length(stretch)
        line = stretch if share == 0.0 else stretch + share * (across - stretch)
        made = chord_length(line)
        here = along >= behind - 1e-9
        reached[here] = total + np.interp(along[here] - behind, s, made)
        behind += float(s[-1])
        total += float(made[-1])
    return reached


def _round(ring: np.ndarray) -> float:
    return float(chord_length(np.vstack([ring, ring[:1]]))[-1])


def dart_faults(foam: Foam) -> list[Fault]:
    """Darts whose legs are not of one length, or whose mouth is not as wide as is told."""
    faults = []
    for part in foam.parts.values():
        for number, dart in enumerate(part.darts, 1):
            one, other = (float(chord_length(leg)[-1]) for leg in (dart.first, dart.second))
            if abs(one - other) > SEAM:
                what = f"the legs of dart {number} differ by {abs(one - other):.2f} mm"
                faults.append(Fault(part.title, what, abs(one - other)))
            wide = float(np.linalg.norm(dart.second[0] - dart.first[0]))
            if abs(wide - dart.opening) > SEAM:
                what = f"dart {number} is {wide:.1f} mm wide at its mouth, and {dart.opening:.1f} mm are told"
                faults.append(Fault(part.title, what, abs(wide - dart.opening)))
    return faults


def crossing_faults(foam: Foam) -> list[Fault]:
    """Lines of a face that cross themselves or each other: no face can be cut along them."""
    faults = []
    for part in foam.parts.values():
        for rings in (part.rings, part.other_rings):
            face = shapely.Polygon(rings[0], rings[1:])
            if face.is_valid:
                continue
            off = abs(shapely.make_valid(face).area - face.area)
            if off > _CROSSED:
                at = crossing_of(face)
                near = "" if at is None else f" near ({at[0]:.0f}, {at[1]:.0f})"
                what = f"its cut lines cross or lie outside each other{near} on its paper"
                faults.append(Fault(part.title, what, math.sqrt(off)))
                break
    return faults


def bevel_faults(foam: Foam) -> list[Fault]:
    """Edges whose stated bevel is not what the lines of both faces make over the thickness."""
    faults = []
    for part in foam.parts.values():
        for edge in part.edges:
            if max(map(abs, edge.bevel)) > (_SLANTED if part.bent else _STEEP) or edge.length < 8.0:
                continue
            shares = np.array([0.25, 0.5, 0.75])
            points = edge.at(shares * edge.length)
            ahead = edge.at(shares * edge.length + 0.01 * edge.length)
            tangent = ahead - points
            out = np.column_stack([tangent[:, 1], -tangent[:, 0]])
            out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
            apart = ((part.across(points, edge) - points) * out).sum(axis=1)
            stated = np.interp(shares, np.linspace(0.0, 1.0, len(edge.bevel)), edge.bevel)
            side = 1.0 if part.drawn_inside else -1.0
            made = np.degrees(np.arctan2(side * apart, part.thickness))
            # where the other line must pass; what is nearest may be the line of an edge close by
            due = points + out * (side * part.thickness * np.tan(np.radians(stated)))[:, None]
            # and a short edge between two slanted ones may end there on the other face: how far ahead of its place that line
            # ends says nothing of the angle
            off = np.abs(((nearest(due, part.other_rings) - due) * out).sum(axis=1))
            worst = int(off.argmax())
            if off.min() > _BEVEL:  # at all places: a corner of the other line may be near one of them
                what = (
                    f"edge {edge.id} is to be cut at {stated[worst]:+.1f} degrees, but its two lines make "
                    f"{made[worst]:+.1f}"
                )
                faults.append(Fault(part.title, what, float(off[worst])))
    return faults


def mark_faults(foam: Foam) -> list[Fault]:
    """Marks on a face that what they are about does not touch, as the list of what is glued to what tells."""
    touching: dict[tuple[str, int, str, int], set[str]] = {}
    for touch in foam.touches:
        touching.setdefault((touch.a.part, touch.a.number, touch.b.part, touch.b.number), set()).add(touch.face_a)
        touching.setdefault((touch.b.part, touch.b.number, touch.a.part, touch.a.number), set()).add(touch.face_b)
    faults = {}
    for name, part in foam.parts.items():
        for mark in part.marks:
            side = "inside" if mark.inside else "outside"
            for lower, upper in mark.of:
                met = touching.get((name, lower, mark.part, upper), set())
                if side not in met and mark.part in foam.parts:
                    where = f"the line on {part.title} for {foam.parts[mark.part].title}"
                    told = f"it touches {' and '.join(sorted(met))}" if met else "the two do not touch"
                    faults[where] = Fault(where, f"it is on the {side}, but {told}", 0.0)
    return list(faults.values())


def contact_faults(foam: Foam) -> list[Fault]:
    """Edges of flat parts that are shorter than what they are told to touch: a part that stands where another belongs."""
    found = {}
    for touch in foam.touches:
        for copy, face, other in ((touch.a, touch.face_a, touch.b), (touch.b, touch.face_b, touch.a)):
            part = foam.part(copy)
            edge = part.edge(face)
            if edge is None or part.bent or is_bar(part) or part.segments or max(map(abs, edge.bevel)) > _STEEP:
                continue
            lean = max(map(abs, np.radians(edge.bevel)))
            near, far = (
                sum(float(chord_length(line)[-1]) for line in lines)
                for lines in (edge.stretches, other_stretches(part, edge))
            )
            most = (max(near, far) + _longer_below(part, edge)) * part.thickness / np.cos(lean)
            if touch.area > (1.0 + _LONGER) * most + _SPOT:
                where = f"edge {face} of {part.title}"
                met = f"{touch.area / part.thickness:.1f} mm of it touch {foam.part(other).title}"
                what = f"it is {edge.length:.1f} mm long on its paper, but {met}"
                found[where] = Fault(where, what, touch.area / part.thickness - edge.length)
    return list(found.values())


def _longer_below(part: Part, edge: Edge) -> float:
    """By how much in mm an edge may be longer on the other face at most, at both of its ends together, since the edges beside it
    are bevelled, or it is itself and the corner is no right angle: the line beside a corner moves by d / sin(corner) along it
    for d of the edge there, and by d / tan(corner) for its own."""
    slants = np.minimum([max(map(abs, edge.bevel)), *beside(part, edge)], _STEEP)
    own, *ends = part.thickness * np.tan(np.radians(slants))
    longer = 0.0
    for point, end in zip(edge.ends, ends):
        corner = _corner(part, point)
        longer += end if corner > _ALONG else end / np.sin(corner) + own / np.tan(min(corner, np.pi / 2.0))
    return float(longer)


def _corner(part: Part, point: np.ndarray) -> float:
    """The angle in radians between both ways from a place of a part's outline, as wide as it is on either side of the foam."""
    ring = part.rings[0]
    at = int(np.argmin(np.linalg.norm(ring - point, axis=1)))
    ways = ring[[at - 1, (at + 1) % len(ring)]] - ring[at]
    cosine = float(ways[0] @ ways[1]) / max(float(np.prod(np.linalg.norm(ways, axis=1))), 1e-12)
    return float(np.arccos(np.clip(cosine, -1.0, 1.0)))


def paper_faults(foam: Foam, drawings: Mapping[str, Sequence[Drawn]]) -> list[Fault]:
    """Marks and ticks that are in the record but not among the lines of the part's drawing, by part id;
    of parts that are cut in one piece."""
    faults = []
    for name, part in foam.parts.items():
        if part.segments or not drawings.get(name):
            continue
        drawing = drawings[name][0]
        shift = part.rings[0].mean(axis=0) - drawing.rings["cut"][0].mean(axis=0)
        marked = np.vstack([_cloud(drawing, layer, shift) for layer in ("mark", "mark-other", "rest", "rest-other")])
        for mark in part.marks:
            if mark.lines and _off(np.vstack(mark.lines), marked) > _DRAWN:
                what = f"the line for {mark.part} is not on its paper"
                faults.append(Fault(part.title, what, 0.0))
        ticks = _cloud(drawing, "tick", shift)
        faults += [
            Fault(part.title, f"a tick of edge {edge.id} is not on its paper", 0.0)
            for edge in part.edges
            if edge.ticks and _off(edge.at(np.array([at for _, at in edge.ticks])), ticks) > _DRAWN
        ]
    return faults


def _cloud(drawing: Drawn, layer: str, shift: np.ndarray) -> np.ndarray:
    lines = [*drawing.rings.get(layer, ()), *drawing.lines.get(layer, ())]
    return np.vstack([*lines, np.zeros((0, 2))]) + shift


def _off(points: np.ndarray, cloud: np.ndarray) -> float:
    """The largest distance from points to the nearest of a cloud."""
    from scipy.spatial import cKDTree

    return float(cKDTree(cloud).query(points)[0].max()) if len(cloud) else np.inf

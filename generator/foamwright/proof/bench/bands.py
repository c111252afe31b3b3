"""Bands against what they go round: the length on the paper, less what is trimmed, must reach once about it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely

from foamwright.geometry import chord_length
from foamwright.proof.bench.foam import Copy, Foam, Part, Touch
from foamwright.proof.bench.records import Fault
from foamwright.proof.read import Drawn

BAND = "band"
_SHORT, _SHARE = 1.0, 0.006  # mm, or of the length: by which a band may be too long or too short
_MOST = 0.85  # of what it goes round that must touch it, or it goes round less than all of it
_ALONG = 0.5  # of that length over which it is touched: a disc that stands near its inside is touched on a spot


def band_faults(foam: Foam, drawings: Mapping[str, Sequence[Drawn]]) -> list[Fault]:
    """Closed bands around one flat part, or within a hole of one, that are too long or too short for it. `drawings` are
    those of a part, by its id: of each segment, where it is cut in several.

    Once about a convex outline a line that keeps a distance d is longer by 2 pi d (Steiner's formula).
    """
    bands = [part for part in foam.parts.values() if part.kind == BAND and part.bent]
    faults = [fault for part in bands for fault in _faults(foam, part, drawings.get(part.id, ()))]
    return list({str(fault): fault for fault in faults}.values())  # once of copies that are alike


def goes_once_round(foam: Foam, band: Copy) -> bool:
    """Is a strip without sharp corners as long as what it goes round, all about that, so that its ends are one joint? Not with
    foam left on to be trimmed."""
    part = foam.part(band)
    if not part.bent or part.folds or part.mitred or part.edge("start") is None or part.edge("end") is None:
        return False
    length = float(np.ptp(part.rings[0][:, 0]))
    for other, names, face, gap in _round(foam, band):
        path = sum(edge.length for edge in foam.part(other).edges if edge.id in names)
        inside = face == "inside"
        depth = part.neutral if part.drawn_inside == inside else part.thickness - part.neutral
        wanted = path + (2 * np.pi if inside else -2 * np.pi) * (depth + gap)
        if abs(length - wanted) <= max(_SHORT, _SHARE * wanted):
            return True
    return False


def _faults(foam: Foam, band: Part, drawings: Sequence[Drawn]) -> Iterator[Fault]:
    lengths, corners = _net_lengths(band, drawings)
    own = Copy(band.id, 1)
    for other, names, face, gap in _round(foam, own):
        part = foam.part(other)
        edges = [edge for edge in part.edges if edge.id in names]
        hole = all(edge.id.startswith("hole") for edge in edges)
        rings = part.rings[:1] if hole else (part.rings[0], part.other_rings[0])
        whole = [float(chord_length(np.vstack([ring, ring[:1]]))[-1]) for ring in rings]
        path = sum(edge.length for edge in edges)
        if (not hole and path < _MOST * whole[0]) or _touched(foam, own, other) < _ALONG * path:
            continue
        flat = face == "inside"
        bent = 2 * np.pi - corners
        depth = band.neutral if band.drawn_inside == flat else band.thickness - band.neutral
        more = (1.0 if flat else -1.0) * (bent * depth + 2 * np.pi * gap)
        # it may touch what is cut at a slant on the line of either face, and need not touch all of its edges
        least, most = (path + more, path + more) if hole else (min(path, *whole) + more, max(path, *whole) + more)
        length = lengths[flat]
        wanted = min(max(length, least), most)
        if abs(length - wanted) > max(_SHORT, _SHARE * wanted):
            what = f"it is {length:.1f} mm long on its paper, but {wanted:.1f} mm go round {part.title}"
            yield Fault(band.title, what, abs(length - wanted))


def _round(foam: Foam, band: Copy) -> Iterator[tuple[Copy, set[str], str, float]]:
    """Flat parts whose edges stand on a broad face of the band: which edges, on which face, and how far off."""
    met: dict[tuple[Copy, str], list[tuple[str, Touch]]] = {}
    for touch in foam.touches:
        for (one, face), (other, edge) in (
            ((touch.a, touch.face_a), (touch.b, touch.face_b)),
            ((touch.b, touch.face_b), (touch.a, touch.face_a)),
        ):
            broad = face in ("inside", "outside")
            if one == band and broad and edge not in ("inside", "outside") and not foam.part(other).bent:
                met.setdefault((other, face), []).append((edge, touch))
    for (other, face), touches in met.items():
        gap = float(np.mean([touch.gap for _, touch in touches]))
        yield other, {edge for edge, _ in touches}, face, gap if gap > 0.05 else 0.0


def _touched(foam: Foam, band: Copy, other: Copy) -> float:
    """Over how much of its length a band is touched by another part, on its paper."""
    on = [line for t in foam.touches if (t.a, t.b) == (band, other) for line in t.on_a]
    on += [line for t in foam.touches if (t.b, t.a) == (band, other) for line in t.on_b]
    ends = [(line[:, 0].min(), line[:, 0].max()) for line in on]
    return float(shapely.union_all([shapely.LineString([(low, 0.0), (high, 0.0)]) for low, high in ends]).length)


def _net_lengths(band: Part, drawings: Sequence[Drawn]) -> tuple[dict[bool, float], float]:
    """Along the inside face (True) and the outside face (False) of a band once it is folded, but as its neutral surface
    is long where it bends, between the lines at which its ends are trimmed; and the radians by which it turns in sharp
    corners.

    A groove down to the skin takes twice t tan(a / 2) of the face that it is cut from, at a turn of a; pieces that are
    mitred have the lines of both faces.
    """
    inside = band.drawn_inside
    pieces = band.mitred or ((band.rings[0], band.other_rings[0]),)
    cut = trimmed(band, drawings)
    folds = [fold.turn for fold in band.folds]
    drawn, other = (sum(float(np.ptp(piece[face][:, 0])) for piece in pieces) - cut for face in (0, 1))
    beyond = [
        end for one, far in pieces for end in (far[:, 0].max() - one[:, 0].max(), one[:, 0].min() - far[:, 0].min())
    ]
    turned = float(np.arctan(np.array(beyond) / band.thickness).sum() + np.radians(folds).sum())
    for fold in np.radians(folds):
        groove = 2.0 * band.thickness * abs(np.tan(fold / 2.0))
        drawn, other = (drawn - groove, other) if fold > 0 else (drawn, other - groove)
    return {inside: drawn, not inside: other}, turned


def trimmed(band: Part, drawings: Sequence[Drawn]) -> float:
    """How much of its length is left on to be trimmed."""
    x = band.rings[0][:, 0]
    low, high = float(x.min()), float(x.max())
    for own, drawing in zip(band.segments or (band.rings[0],), drawings):
        shift = own[:, 0].mean() - drawing.rings["cut"][0][:, 0].mean()
        for line in drawing.lines.get("trim", ()):
            if len(line) == 2 and abs(line[0, 0] - line[1, 0]) < 1e-3:
                at = float(line[0, 0] + shift)
                low, high = (at, high) if at - low < high - at else (low, at)
    return float(np.ptp(x)) - (high - low)

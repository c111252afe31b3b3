"""What a stranger cuts: the foam of every part, from the written lines and the record alone. Lengths in mm.

A part lies as it is drawn: x and y on the paper, z towards the reader; the drawn face is at z = 0 and the other one at
z = -thickness. A copy that is cut flipped is the mirror image with x turned round.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

import numpy as np

from foamwright.geometry import chord_length, signed_area
from foamwright.proof.read import svg

_SAME = 0.02  # mm: files and record are written to 3 and 4 decimals
_SPECK = 0.01  # mm: which way a shorter line runs is rounded away
_ALONG = 0.9  # cosine: lines of both faces of one edge run the same way; those of the next one at a corner do not
SLANTED = 4.0  # times the thickness: no line across the foam is longer
_CLOSE = 1.0  # mm between points along an edge of foam that is bent, at most
_STRETCH, _BY_TRIANGLES = 1.6, 0.005  # times the strain that is told, and what bending by triangles adds to it,
_BY_DART = 0.0003  # for each dart more: as measured of lobes with 2, 4 and 8 darts, which came out 0.1 mm off


@dataclass(frozen=True, eq=False)
class Dart:
    """A wedge: its legs (N, 2) and (M, 2) from the mouth to the tip, the first met first along the outline. `place` (2, 3)
    tells where its mouth and its tip belong in the finished prop, of the first copy; nothing in older packs (0, 3).
    `opening` is how wide its mouth is told to be."""

    first: np.ndarray
    second: np.ndarray
    place: np.ndarray
    opening: float


@dataclass(frozen=True, eq=False)
class Edge:
    """A stretch of the line on the drawn face, in its direction; stretches part at the mouths of darts.

    `ticks` are (number, running length with the mouths closed) in that direction. `bevel` is in degrees from square.
    """

    id: str
    stretches: tuple[np.ndarray, ...]
    ticks: tuple[tuple[int, float], ...]
    bevel: tuple[float, ...]
    loop: bool

    @property
    def ends(self) -> np.ndarray:
        """Where it begins and where it ends (2, 2)."""
        return np.array([self.stretches[0][0], self.stretches[-1][-1]])

    @cached_property
    def length(self) -> float:
        """With the darts closed."""
        return float(sum(chord_length(s)[-1] for s in self.stretches))

    @cached_property
    def mouths(self) -> tuple[float, ...]:
        """Running lengths at which the mouths of darts are."""
        return tuple(np.cumsum([chord_length(s)[-1] for s in self.stretches])[:-1].tolist())

    def at(self, lengths: np.ndarray, later: bool = False) -> np.ndarray:
        """Points (K, 2) at running lengths; at the mouth of a dart that before it or, if `later`, that past it."""
        places = np.zeros((len(lengths), 2))
        behind = 0.0
        for number, stretch in enumerate(self.stretches):
            along = behind + chord_length(stretch)
            low = behind - 1e-9 if number == 0 or later else behind + 1e-9
            here = lengths >= low
            places[here] = np.column_stack([np.interp(lengths[here], along, column) for column in stretch.T])
            behind = float(along[-1])
        return places


@dataclass(frozen=True, eq=False)
class Mark:
    """Lines (N, 2) drawn on a face where a copy of `part` is glued on; `of` pairs the numbers of the copies that are
    drawn on with those that lie there."""

    part: str
    inside: bool
    of: tuple[tuple[int, int], ...]
    lines: tuple[np.ndarray, ...]

    @cached_property
    def run(self) -> float:
        """How long its lines are together, in mm."""
        return float(sum(chord_length(line)[-1] for line in self.lines))


@dataclass(frozen=True)
class Fold:
    """Where a strip is scored and folded: at x = `at`, by `turn` degrees, + where the groove is cut from the drawn face."""

    at: float
    turn: float


@dataclass(frozen=True, eq=False)
class Part:
    """One kind of part as it is cut. `rings` and `other_rings` are the lines of the drawn face and the opposite one,
    the outline first; `neutral` is the depth of the surface that keeps its lengths when the foam is bent. `folds` are
    those of a strip that is scored, from left to right. `mitred` has the lines of
    both faces of the pieces that a part is mitred from, if it is."""

    id: str
    label: str
    name: str
    kind: str
    thickness: float
    bent: bool
    neutral: float
    drawn_inside: bool
    rings: tuple[np.ndarray, ...]
    other_rings: tuple[np.ndarray, ...]
    edges: tuple[Edge, ...]
    darts: tuple[Dart, ...]
    marks: tuple[Mark, ...]
    mirrored: tuple[bool, ...]  # of each copy that stands in the prop
    arrows: tuple[Mapping[str, np.ndarray], ...]  # "up" and "forward" on the paper of each copy, as far as told
    folds: tuple[Fold, ...] = ()
    mitred: tuple[tuple[np.ndarray, np.ndarray], ...] = ()
    segments: tuple[np.ndarray, ...] = ()  # outlines of what it is cut in, where it is larger than its sheet
    strain: float = 0.0  # by which its foam is stretched at most, lying flat against bent
    mean_strain: float = 0.0  # the same over all of it

    def edge(self, name: str) -> Edge | None:
        return next((edge for edge in self.edges if edge.id == name), None)

    @property
    def title(self) -> str:
        return f"{self.label} {self.name}"

    @property
    def most_mean_strain(self) -> float:
        """Over all of it, up to which it is stretched as is told, bent of triangles as it is."""
        return _STRETCH * self.mean_strain + _BY_TRIANGLES + _BY_DART * len(self.darts)

    def depth(self, inside: bool) -> float:
        """How far below the drawn face a face is."""
        return 0.0 if inside == self.drawn_inside else self.thickness

    def face_rings(self, inside: bool) -> tuple[np.ndarray, ...]:
        return self.rings if inside == self.drawn_inside else self.other_rings

    def across(self, points: np.ndarray, edge: Edge | None = None) -> np.ndarray:
        """Where the blade comes out: of points (K, 2) on the drawn line the nearest on the other face's line (K, 2).

        That is on the line of the same ring, which an opening's rim may be nearer than, where it runs the same way: near
        a corner the line of the next edge may be nearer. An `edge` that is cut square has them above each other.
        """
        if edge is not None and max(map(abs, edge.bevel)) < 1e-3:
            return points
        nearest, least = np.zeros_like(points), np.full(len(points), np.inf)
        for ring, other in zip(self.rings, self.other_rings):
            away, tangents = _lying(points, ring)
            if edge is not None:  # at a corner the ring runs two ways, and the edge one
                tangents = _tangents_at(points, edge.stretches)
            here = away < least
            feet = _feet(points[here], other, tangents[here])[0]
            astray = np.linalg.norm(feet - points[here], axis=1) > SLANTED * self.thickness
            feet[astray] = _feet(points[here][astray], other)[0]
            nearest[here], least[here] = feet, away[here]
        return nearest

    @cached_property
    def neutral_rings(self) -> tuple[np.ndarray, ...]:
        """The rings at the depth of the surface that keeps its lengths."""
        share = self.neutral / self.thickness
        if share == 0.0:
            return self.rings
        return tuple(between(ring, other, share) for ring, other in zip(self.rings, self.other_rings))

    def within(self, points: np.ndarray) -> np.ndarray:
        """Where points (K, 2) of the outline are on the surface that keeps its lengths."""
        ring, inner = np.vstack(self.rings), np.vstack(self.neutral_rings)
        return inner[np.linalg.norm(points[:, None] - ring, axis=2).argmin(axis=1)]


@lru_cache(maxsize=2048)
def other_stretches(part: Part, edge: Edge) -> tuple[np.ndarray, ...]:
    """For each stretch of an edge where the blade comes out at its points."""
    return tuple(part.across(stretch, edge) for stretch in edge.stretches)


@lru_cache(maxsize=2048)
def opposite_stretches(part: Part, edge: Edge) -> tuple[np.ndarray, ...]:
    """For each stretch of an edge the line of the other face, from corner to corner: an edge that is cut square is longer or
    shorter there where those beside it are bevelled. `other_stretches` where both faces do not turn at as many corners."""
    rings = [(ring, other) for ring, other in zip(part.rings, part.other_rings) if _on_ring(ring, edge)]
    if edge.loop or not rings or len(corners(rings[0][0])) != len(corners(rings[0][1])):
        return other_stretches(part, edge)
    ring, other = rings[0]
    opposite, span = between(ring, other, 1.0), len(ring)
    begins = [_index(ring, stretch[0]) for stretch in edge.stretches]
    return tuple(opposite[np.arange(i, i + len(s)) % span] for i, s in zip(begins, edge.stretches))


def beside(part: Part, edge: Edge) -> tuple[float, float]:
    """The steepest bevels, in degrees either way from square, of those edges that end where it begins and where it ends, or no
    further from there than the foam is thick: of a short one between two slants nothing may be left on the other face."""
    others = [] if edge.loop else [other for other in part.edges if other is not edge and not other.loop]
    near = ([o for o in others if np.linalg.norm(o.ends - end, axis=1).min() <= part.thickness] for end in edge.ends)
    first, last = (max((abs(b) for other in there for b in other.bevel), default=0.0) for there in near)
    return first, last


def ring_of(part: Part, edge: Edge) -> int:
    """The number of the ring that an edge lies on."""
    begin = edge.stretches[0][0]
    return int(np.argmin([np.linalg.norm(ring - begin, axis=1).min() for ring in part.rings]))


def _on_ring(ring: np.ndarray, edge: Edge) -> bool:
    return float(np.linalg.norm(ring - edge.stretches[0][0], axis=1).min()) < _SAME


class Copy(NamedTuple):
    """One copy in the prop, counted from 1."""

    part: str
    number: int


@dataclass(frozen=True)
class Sewn:
    """Two edges of two copies that are glued to each other; `touch_a` and `touch_b` are the depths below the inside faces, in mm,
    from which and to which they touch, None where all of both does."""

    seam: str
    a: Copy
    edge_a: str
    b: Copy
    edge_b: str
    touch_a: tuple[float, float] | None = None
    touch_b: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class Touch:
    """Two faces of copies that lie against each other, as the record tells; `on_a` and `on_b` are the outlines (N, 2) of
    what is touched on the papers of bent parts; an edge that leans away stands off by as much as it `opens`, in mm."""

    a: Copy
    face_a: str
    b: Copy
    face_b: str
    glued: bool
    gap: float
    area: float
    on_a: tuple[np.ndarray, ...] = ()
    on_b: tuple[np.ndarray, ...] = ()
    opens: float = 0.0


@dataclass(frozen=True, eq=False)
class Foam:
    """Everything that the virtual bench knows."""

    parts: Mapping[str, Part]
    copies: tuple[Copy, ...]
    sewn: tuple[Sewn, ...]
    touches: tuple[Touch, ...]

    def part(self, copy: Copy) -> Part:
        return self.parts[copy.part]

    def mirrored(self, copy: Copy) -> bool:
        return self.parts[copy.part].mirrored[copy.number - 1]


def read_foam(files: Mapping[str, bytes], record: Mapping[str, Any]) -> Foam:
    """The foam of a pack from its template files and its record.

    Cut lines are those of the files where a part has a template, which `proof.compare` holds against the record.
    """
    parts = {entry["id"]: _part(entry, record, files) for entry in record["parts"]}
    parts = {name: part for name, part in parts.items() if part.mirrored}
    copies = tuple(Copy(name, n) for name, part in parts.items() for n in range(1, len(part.mirrored) + 1))
    touched = {
        (own["contact"], _copy(own)): tuple(np.asarray(line, float) for line in own["lines"])
        for own in record.get("touched", ())
    }
    touches = tuple(
        Touch(
            *(_copy(t["a"]), t["a"]["face"], _copy(t["b"]), t["b"]["face"], t["glued"], t["gap"], t["area"]),
            touched.get((number, _copy(t["a"])), ()),
            touched.get((number, _copy(t["b"])), ()),
            t.get("opens", 0.0),
        )
        for number, t in enumerate(record.get("contacts", ()))
    )
    return Foam(parts, copies, _sewn(record, touches, copies), touches)


def _copy(end: Mapping[str, Any]) -> Copy:
    return Copy(end["part"], end["copy"])


def _sewn(record: Mapping[str, Any], touches: Sequence[Touch], copies: Sequence[Copy]) -> tuple[Sewn, ...]:
    """Which copies are joined along the seams, each edge once. What touches is told of two copies, so a seam of which
    nothing is told closes a part on itself.

    An edge is joined to what touches it most: at its ends it may touch the neighbour of that by a hair.
    """
    named = {}
    for seam in record.get("seams", ()):
        a, b = ((end["part"], end["edge"]) for end in (seam["a"], seam["b"]))
        named[a, b] = named[b, a] = seam
    seams = []
    taken: set[tuple[Copy, str]] = set()
    for touch in sorted(touches, key=lambda touch: -touch.area):
        seam = named.get(((touch.a.part, touch.face_a), (touch.b.part, touch.face_b)))
        ends = {(touch.a, touch.face_a), (touch.b, touch.face_b)}
        if seam is not None and not ends & taken:
            taken |= ends
            seams.append(Sewn(seam["id"], touch.a, touch.face_a, touch.b, touch.face_b, *_depths(seam, touch)))
    told = {joint.seam for joint in seams}
    for seam in record.get("seams", ()):
        if seam["id"] not in told and seam["a"]["part"] == seam["b"]["part"]:
            seams += [
                Sewn(seam["id"], copy, seam["a"]["edge"], copy, seam["b"]["edge"])
                for copy in copies
                if copy.part == seam["a"]["part"]
            ]
    return tuple(seams)


def _depths(seam: Mapping[str, Any], touch: Touch) -> tuple[tuple[float, float], ...]:
    """Those of a seam's edges, in the order in which two copies touch; none where the record does not tell them."""
    ends = ((seam["a"], "touch_a"), (seam["b"], "touch_b"))
    ordered = ends if (ends[0][0]["part"], ends[0][0]["edge"]) == (touch.a.part, touch.face_a) else ends[::-1]
    return tuple((float(seam[name][0]), float(seam[name][1])) for _, name in ordered if name in seam)


def _part(entry: Mapping[str, Any], record: Mapping[str, Any], files: Mapping[str, bytes]) -> Part:
    ring = np.asarray(entry["outline"], float)
    rings = (ring, *(np.asarray(hole, float) for hole in entry["holes"]))
    other = (np.asarray(entry["other_outline"], float), *(np.asarray(h, float) for h in entry["other_holes"]))
    if "split" not in entry:
        rings = _as_drawn(entry, rings, files)
    layers = entry.get("layers", 1)
    thickness = float(entry["thickness"]) * layers
    count = (entry["quantity"] - entry.get("loose", 0)) // layers
    images = set(entry.get("mirror_images", ()))
    bent = entry["neutral_offset"] > 0.0
    inside = entry["drawn_face"] == "inside"
    neutral = float(entry["neutral_offset"]) if inside else thickness - float(entry["neutral_offset"])
    darts = tuple(_dart(ring, dart) for dart in entry["darts"])
    return Part(
        id=entry["id"],
        label=entry["label"],
        name=entry["name"],
        kind=entry["kind"],
        thickness=thickness,
        bent=bent,
        neutral=neutral if bent else 0.0,
        drawn_inside=inside,
        rings=rings,
        other_rings=other,
        edges=tuple(_edge(edge, rings, darts, _CLOSE if bent else np.inf) for edge in entry["edges"]),
        darts=darts,
        marks=tuple(_mark(mark) for mark in record.get("marks", ()) if mark["on"] == entry["id"]),
        mirrored=tuple(n in images for n in range(1, count + 1)),
        arrows=_arrows(entry, count),
        folds=tuple(Fold(float(fold["at"]), float(fold["turn"])) for fold in entry.get("folds", ())),
        mitred=_mitred(entry),
        segments=tuple(np.asarray(own["outline"], float) for own in entry.get("split", {}).get("segments", ())),
        strain=float(entry["strain"]["max"]),
        mean_strain=float(entry["strain"]["mean"]),
    )


def _arrows(entry: Mapping[str, Any], count: int) -> tuple[dict[str, np.ndarray], ...]:
    """Of each copy. Where they are told for the first alone, what stands round about an axis still has its up from that."""
    told = {own["copy"]: own for own in entry.get("arrows", ())}
    names = ("up", "forward")
    first = {name: entry[name] for name in names if name in entry}
    by_copy = [
        told.get(n, {}) if told else {k: v for k, v in first.items() if n == 1 or k == "up"}
        for n in range(1, count + 1)
    ]
    return tuple({name: np.asarray(own[name], float) for name in names if name in own} for own in by_copy)


def _mitred(entry: Mapping[str, Any]) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    split = entry.get("split", {"joint": ""})
    pieces = split["segments"] if split["joint"] == "mitre" else ()
    return tuple((np.asarray(p["outline"], float), np.asarray(p["other_outline"], float)) for p in pieces)


def _as_drawn(
    entry: Mapping[str, Any], rings: tuple[np.ndarray, ...], files: Mapping[str, bytes]
) -> tuple[np.ndarray, ...]:
    """The cut line in the file, moved to where the record has it; that of the record if there is no file."""
    stem = f"{entry['label']}-{entry['id'].replace('_', '-')}"
    data = files.get(f"templates/{stem}.svg")
    if data is None:
        return rings
    drawn = svg(data).rings
    if len(drawn.get("cut", ())) != 1 or len(drawn["cut"][0]) != len(rings[0]):
        return rings
    cut = drawn["cut"][0]
    shift = (rings[0] - cut).mean(axis=0)
    holes = []
    for ring in rings[1:]:
        middle = ring.mean(axis=0) - shift
        near = [h for h in drawn.get("cut-inner", ()) if len(h) == len(ring)]
        hole = min(near, key=lambda h: float(np.linalg.norm(h.mean(axis=0) - middle)), default=None)
        holes.append(ring if hole is None else hole + shift)
    return (cut + shift, *holes)


def _mark(mark: Mapping[str, Any]) -> Mark:
    lines = tuple(np.asarray(line, float) for line in mark["lines"])
    return Mark(mark["part"], mark["face"] == "inside", tuple((a, b) for a, b in mark.get("of", ())), lines)


def _dart(ring: np.ndarray, dart: Mapping[str, Any]) -> Dart:
    """Its legs as the outline has them: up to the tip, and from there on."""
    one, other, tip = (_index(ring, point) for point in (*dart["mouth"], dart["tip"]))
    span = len(ring)
    if (tip - one) % span > (tip - other) % span:
        one, other = other, one
    first = ring[np.arange(one, one + (tip - one) % span + 1) % span]
    second = ring[np.arange(tip, tip + (other - tip) % span + 1) % span][::-1]
    told = dart.get("place")
    place = np.array([told["mouth"], told["tip"]], float) if told else np.zeros((0, 3))
    return Dart(first, second, place, float(dart["opening"]))


def _edge(edge: Mapping[str, Any], rings: Sequence[np.ndarray], darts: Sequence[Dart], spacing: float) -> Edge:
    """With points no further apart than `spacing`: what is straight on the paper goes round with the foam."""
    begin, end = np.asarray(edge["ends"], float)
    ring = min(rings, key=lambda r: float(np.linalg.norm(r - begin, axis=1).min()))
    i, j = _index(ring, begin), _index(ring, end)
    loop = i == j
    span = len(ring)
    count = span if loop else (j - i) % span
    line = ring[np.arange(i, i + count + 1) % span]
    stretches = [line]
    for dart in darts:
        stretches = [piece for stretch in stretches for piece in _parted(stretch, dart)]
    made = Edge(edge["id"], tuple(stretches), (), _bevels(edge["bevel"]), loop)
    ticks = tuple((tick["number"], _reached(made, np.asarray(tick["at"], float))) for tick in edge["ticks"])
    return Edge(made.id, tuple(_close(stretch, spacing) for stretch in stretches), ticks, made.bevel, loop)


def _close(line: np.ndarray, spacing: float) -> np.ndarray:
    """A line (N, 2) with more points between its own where these are further apart than `spacing`."""
    step = np.diff(line, axis=0)
    times = np.maximum(np.ceil(np.linalg.norm(step, axis=1) / spacing), 1.0).astype(int)
    which = np.repeat(np.arange(len(step)), times)
    share = np.concatenate([np.arange(n) / n for n in times])[:, None]
    return np.vstack([line[which] + share * step[which], line[-1:]])


def _bevels(bevel: float | Sequence[float]) -> tuple[float, ...]:
    return tuple(bevel) if isinstance(bevel, Sequence) else (float(bevel),)


def _parted(stretch: np.ndarray, dart: Dart) -> list[np.ndarray]:
    """The stretch before the mouth of a dart and the one past it; itself if the dart is elsewhere."""
    i, j = (int(np.linalg.norm(stretch - leg[0], axis=1).argmin()) for leg in (dart.first, dart.second))
    tip = np.linalg.norm(stretch - dart.first[-1], axis=1).min()
    if tip > _SAME or j <= i:
        return [stretch]
    return [piece for piece in (stretch[: i + 1], stretch[j:]) if len(piece) > 1]


def _reached(edge: Edge, point: np.ndarray) -> float:
    """Running length of the point of the edge that is nearest to a point."""
    best, behind = (np.inf, 0.0), 0.0
    for stretch in edge.stretches:
        s = chord_length(stretch)
        a, step = stretch[:-1], np.diff(stretch, axis=0)
        share = np.clip(((point - a) * step).sum(1) / np.maximum((step * step).sum(1), 1e-18), 0.0, 1.0)
        away = np.linalg.norm(a + share[:, None] * step - point, axis=1)
        k = int(away.argmin())
        best = min(best, (float(away[k]), behind + float(s[k] + share[k] * (s[k + 1] - s[k]))))
        behind += float(s[-1])
    return best[1]


def corners(ring: np.ndarray, turn: float = 20.0) -> np.ndarray:
    """Indices of the points at which a closed line turns by more than `turn` degrees. Of points that are the same but for the
    decimals they are written to the last is one: beside such a one a corner would be told twice, or not at all."""
    apart = np.flatnonzero(np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1) > _SAME)
    step = np.roll(ring[apart], -1, axis=0) - ring[apart]
    before = np.roll(step, 1, axis=0)
    turned = np.arctan2(before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0], (before * step).sum(1))
    return apart[np.abs(turned) > np.radians(turn)]


def between(ring: np.ndarray, other: np.ndarray, share: float) -> np.ndarray:
    """A closed line at a share of the way to another, from corner to corner and evenly between them."""
    if _alike(ring, other):
        return ring
    own, theirs = corners(ring), corners(other)
    if len(own) < 2 or len(own) != len(theirs):
        return ring + share * (nearest(ring, (other,)) - ring)
    away = np.linalg.norm(ring[own][:, None] - other[theirs][None], axis=2)
    at = np.arange(len(own))
    first = int(np.argmin([away[at, (at + k) % len(own)].sum() for k in at]))  # two corners may be a hair apart
    order = theirs[(at + first) % len(theirs)]
    pieces = []
    for i, j, k, m in zip(own, np.roll(own, -1), order, np.roll(order, -1)):
        line = ring[np.arange(i, i + ((j - i) % len(ring) or len(ring)) + 1) % len(ring)]
        twin = other[np.arange(k, k + ((m - k) % len(other) or len(other)) + 1) % len(other)]
        s, t = chord_length(line), chord_length(twin)
        at = s / s[-1] * t[-1]
        opposite = np.column_stack([np.interp(at, t, column) for column in twin.T])
        pieces.append((line + share * (opposite - line))[:-1])
    made = np.vstack(pieces)
    return np.roll(made, int(own[0]), axis=0)


def _index(ring: np.ndarray, point: Sequence[float] | np.ndarray) -> int:
    return int(np.linalg.norm(ring - np.asarray(point, float), axis=1).argmin())


def _alike(a: np.ndarray, b: np.ndarray) -> bool:
    return a.shape == b.shape and bool(np.abs(a - b).max() < _SAME)


def nearest(points: np.ndarray, rings: Sequence[np.ndarray]) -> np.ndarray:
    """The nearest points (K, 2) on closed lines."""
    feet = np.stack([_feet(points, ring)[0] for ring in rings])
    best = np.linalg.norm(feet - points, axis=2).argmin(axis=0)
    return feet[best, np.arange(len(points))]


def _feet(points: np.ndarray, ring: np.ndarray, tangents: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray]:
    """The nearest points (K, 2) on a closed line, and the numbers (K,) of the stretches of it that they lie on.

    With `tangents` (K, 2) only stretches that run the same way count, if there are any.
    """
    step = np.roll(ring, -1, axis=0) - ring
    square = np.maximum((step * step).sum(1), 1e-18)
    nearest, on = np.zeros_like(points), np.zeros(len(points), int)
    for start in range(0, len(points), 256):
        dx, dy, share = _shares(points[start : start + 256], ring, step, square)
        away = dx * dx + dy * dy
        if tangents is not None:
            tangent = tangents[start : start + 256]
            length = np.maximum(np.linalg.norm(tangent, axis=1)[:, None] * np.sqrt(square), 1e-18)
            astray = tangent @ step.T < _ALONG * length
            away = np.where(astray & ~astray.all(axis=1, keepdims=True), np.inf, away)
        best = away.argmin(axis=1)
        along = share[np.arange(len(best)), best]
        nearest[start : start + 256], on[start : start + 256] = ring[best] + along[:, None] * step[best], best
    return nearest, on


def _shares(
    points: np.ndarray, starts: np.ndarray, step: np.ndarray, square: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of points (K, 2) from stretches (S, 2) of line: how far the nearest point of each stretch is in x and in y (K, S), and
    at which share of the stretch it is; `square` (S,) of their lengths."""
    dx, dy = points[:, :1] - starts[:, 0], points[:, 1:] - starts[:, 1]
    share = np.minimum(np.maximum((dx * step[:, 0] + dy * step[:, 1]) / square, 0.0), 1.0)
    return dx - share * step[:, 0], dy - share * step[:, 1], share


def _lying(points: np.ndarray, line: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far points (K, 2) are from a closed line (K,), and which way it runs where it is nearest (K, 2)."""
    line = line[np.linalg.norm(np.roll(line, -1, axis=0) - line, axis=1) > _SPECK]
    feet, on = _feet(points, line)
    return np.linalg.norm(feet - points, axis=1), np.roll(line, -1, axis=0)[on] - line[on]


def _tangents_at(points: np.ndarray, stretches: Sequence[np.ndarray]) -> np.ndarray:
    """Which way the stretches of an edge run (K, 2) where they are nearest to points on them."""
    directions, least = np.zeros_like(points), np.full(len(points), np.inf)
    for stretch in stretches:
        real = np.linalg.norm(np.diff(stretch, axis=0), axis=1) > _SPECK
        if not real.any():
            continue
        begin, step = stretch[:-1][real], np.diff(stretch, axis=0)[real]
        dx, dy, _ = _shares(points, begin, step, np.maximum((step * step).sum(1), 1e-18))
        square = dx * dx + dy * dy
        away, on = square.min(axis=1), square.argmin(axis=1)
        here = away < least
        directions[here], least[here] = step[on[here]], away[here]
    return directions


def ring_area(rings: Sequence[np.ndarray]) -> float:
    """mm2 within the first less that within the others."""
    return abs(signed_area(rings[0])) - sum(abs(signed_area(ring)) for ring in rings[1:])


def part_files(files: Mapping[str, bytes]) -> list[str]:
    """The template files, in their order."""
    return sorted(path for path in files if re.match(r"templates/.*\.svg$", path))

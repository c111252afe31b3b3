"""What a part meets as it goes in: the contacts of its copies with what stands, gathered by part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.cluster.hierarchy import DisjointSet

from foamwright.assembly.bodies import Bodies, Touch, frame, goes_around
from foamwright.assembly.taking_apart import Move
from foamwright.assembly.ways_in import Ways
from foamwright.parts.records import Prop, RodBody

CORNER = 0.04  # of the largest contact of a part
EARNEST = 150.0  # mm2 of a contact that is no corner, however large the others are
LEAST = 12.0  # mm2 of a contact that is worth a word
_BROAD = 0.8  # cosine between a contact and the way of a rod
_HOLLOW = 0.4  # of the way from the middle of a contact to its rim that is free in a ring
_ROUND = 8  # places at least that a ring is seen by
UPRIGHT = 0.94  # of a direction, as a cosine, that counts as up or down


@dataclass(frozen=True)
class Meeting:
    """Copies of part `new` against part `other`, all of which meet it alike: `area` in mm2 over all of them, `copies` pairs.

    `from_other` (unit) leads from the other part to the new one, the mean over the first pair. `broad` says that the
    new part meets it with its broad face, `on_broad` that it is the other's broad face.
    """

    new: str
    other: str
    area: float
    copies: int
    from_other: tuple[float, float, float]
    broad: bool
    on_broad: bool
    around: bool  # it lies against the new part from several sides
    in_hole: bool  # one of the two is a rod that stands in a hole of the other
    share: float  # of the new part's broad face that touches the other, for one copy
    glue: str  # "contact", "instant" or "none"
    others: int  # copies of the other part that are touched
    pairs: tuple[tuple[int, int], ...]  # the copies themselves, the new one first
    ringed: bool = False  # what touches goes round a middle that does not, as the foot of a tube does
    gap: float = 0.0  # mm between the two where they are to be glued
    wedge: float = 0.0  # mm of air that stays beside an edge which leans away

    @property
    def parts(self) -> tuple[str, str]:
        return self.new, self.other

    def reversed(self) -> Meeting:
        """The same contact told of the other part, which goes in later."""
        x, y, z = self.from_other
        return replace(
            self,
            new=self.other,
            other=self.new,
            from_other=(-x, -y, -z),
            broad=self.on_broad,
            on_broad=self.broad,
            others=len({a for a, _ in self.pairs}),
            pairs=tuple((b, a) for a, b in self.pairs),
        )


def meetings(ways: Ways, moves: Sequence[Move], standing: int, prop: Prop, sewn: set[frozenset[str]]) -> list[Meeting]:
    """The contacts that the moves make, the largest first for each new part; those along seams are left to them.

    Without mere corners, but with one where nothing else holds the new part to what stands, as a ball on the ends of rods.
    """
    before = standing
    pieces = ways.bodies.pieces
    laps = {(lap.upper, lap.lower): lap.glue for lap in prop.laps}
    pairs: dict[tuple[str, str, tuple], list[tuple[int, int]]] = {}  # those that meet alike: by how, one sentence each
    for move in moves:
        for copy in move.copies:
            for touch in ways.by_copy.get(copy, ()):
                new, other = pieces[copy].id, pieces[touch.b].id
                if standing >> touch.b & 1 and frozenset((new, other)) not in sewn:
                    pairs.setdefault((new, other, _lie(ways, copy, touch.b).kind), []).append((copy, touch.b))
        standing |= ways.bodies.mask(move.copies)
    every = [_meeting(ways, *key[:2], these, laps) for key, these in pairs.items()]
    made = _less_corners(every)
    made += _all_that_holds(ways, before, standing, made, [m for m in every if m not in made], sewn)
    order = {piece.id: i for i, piece in enumerate(pieces)}
    return sorted(made, key=lambda m: (order[m.new], -m.area, order[m.other], m.pairs))


def _less_corners(made: list[Meeting]) -> list[Meeting]:
    """Without parts that a part meets at a mere corner while it meets others in earnest: of what is glued, those that it is glued
    to as well, as what it rests on holds nothing."""
    most: dict[tuple[str, bool], float] = {}
    for m in made:
        for glued in {False, m.glue != "none"}:
            most[m.new, glued] = max(most.get((m.new, glued), 0.0), m.area / m.copies)
    return [m for m in made if m.area / m.copies > max(min(CORNER * most[m.new, m.glue != "none"], EARNEST), LEAST)]


def _all_that_holds(
    ways: Ways, before: int, standing: int, told: Sequence[Meeting], small: Sequence[Meeting], sewn: set[frozenset[str]]
) -> list[Meeting]:
    """Of the `small` meetings those without which what is `standing` in the end would be in more pieces than it need be.

    Held already is what stood `before` and is glued together, what is sewn, and what the meetings say that are `told`.
    """
    held = DisjointSet(range(len(ways.bodies.pieces)))
    for (a, b), touch in ways.touches.items():
        stood = before >> a & before >> b & 1 and touch.glued
        sewn_now = frozenset((ways.bodies.pieces[a].id, ways.bodies.pieces[b].id)) in sewn
        if stood or (sewn_now and standing >> a & standing >> b & 1):
            held.merge(a, b)
    for meeting in told:
        for a, b in meeting.pairs:
            held.merge(a, b)
    holding = []
    for meeting in sorted(small, key=lambda m: -m.area):
        if meeting.glue != "none" and not all(held.connected(a, b) for a, b in meeting.pairs):
            holding.append(meeting)
            for a, b in meeting.pairs:
                held.merge(a, b)
    return holding


@dataclass(frozen=True)
class _Lie:
    """How a copy lies against another: the unit direction (3,) from the other to it, 0 where there is none, which of the two
    touch with their broad face, and whether the other is on several sides of it."""

    from_other: tuple[float, float, float]
    broad: bool
    on_broad: bool
    around: bool

    @property
    def kind(self) -> tuple[bool, bool, bool, int]:
        """What is one sentence for all copies: a shelf below a wall is not glued as the one on top of it."""
        level = int(self.from_other[2] > UPRIGHT) - int(self.from_other[2] < -UPRIGHT)
        if self.broad == self.on_broad:  # face to face only the underside has a word of its own, edge to edge none has
            level = min(level, 0) if self.broad else 0
        return self.broad, self.on_broad, self.around, 0 if self.around else level


def _lie(ways: Ways, copy: int, other: int) -> _Lie:
    touch = ways.touches[copy, other]
    size = float(np.linalg.norm(touch.off))
    x, y, z = np.round(touch.off / size, 6).tolist() if size > 0.05 else (0.0, 0.0, 0.0)
    broad, on_broad = (_is_broad(ways, one, (x, y, z), of_it) for one, of_it in zip((copy, other), touch.broad))
    return _Lie((x, y, z), broad, on_broad, goes_around(touch))


def _meeting(ways: Ways, new: str, other: str, pairs: Sequence[tuple[int, int]], laps) -> Meeting:
    first, lie = ways.touches[pairs[0]], _lie(ways, *pairs[0])
    one = ways.bodies.pieces[pairs[0][0]]
    rods = [piece for piece in (ways.bodies.pieces[copy] for copy in pairs[0]) if isinstance(piece.body, RodBody)]
    # a bar in its hole takes its own glue, whichever of the two goes in later
    glue = laps.get((new, other), laps.get((other, new), (rods[0] if lie.around and rods else one).glue))
    if not first.glued:
        glue = "none"
    share = sum(ways.touches[pair].area for pair in pairs if pair[0] == pairs[0][0]) / face_area(
        ways.bodies, pairs[0][0]
    )
    return Meeting(
        new,
        other,
        sum(ways.touches[pair].area for pair in pairs),
        len(pairs),
        lie.from_other,
        lie.broad,
        lie.on_broad,
        lie.around,
        lie.around and bool(rods),
        share,
        glue,
        len({pair[1] for pair in pairs}),
        tuple(pairs),
        not lie.around and _goes_round(first),
        max(ways.touches[pair].gap for pair in pairs),
        max(ways.touches[pair].wedge for pair in pairs),
    )


def _goes_round(touch: Touch) -> bool:
    """Does what touches leave a middle free all the way round it?"""
    if len(touch.places) < _ROUND:
        return False
    off = touch.places - touch.places.mean(axis=0)
    across, along, _ = np.linalg.svd(off, full_matrices=False)[2]
    flat = off @ np.column_stack([across, along])
    out = np.linalg.norm(flat, axis=1)
    turned = np.sort(np.arctan2(flat[:, 1], flat[:, 0]))
    widest = np.diff(turned, append=turned[:1] + 2.0 * np.pi).max()
    return bool(out.min() > _HOLLOW * out.max() and widest < 4.0 * np.pi / _ROUND)


def face_area(bodies: Bodies, copy: int) -> float:
    """The area of a copy's broad face in mm2; of one without, half its surface."""
    points, triangles = bodies.mesh((copy,))
    a, b, c = (points[triangles[:, i]] for i in range(3))
    doubled = np.cross(b - a, c - a)
    axes = frame(bodies.pieces[copy], bodies.matrices[copy])
    if axes is None:
        return float(np.linalg.norm(doubled, axis=1).sum()) / 4.0
    return float(np.abs(doubled @ axes[2]).sum()) / 4.0


def _is_broad(ways: Ways, copy: int, normal: tuple[float, float, float], share: float) -> bool:
    """Is it a broad face of a copy that touches, or of a rod its end? `share` is that of its broad faces."""
    piece = ways.bodies.pieces[copy]
    axes = frame(piece, ways.bodies.matrices[copy]) if isinstance(piece.body, RodBody) else None
    return share > 0.5 if axes is None else abs(float(np.dot(axes[2], normal))) > _BROAD

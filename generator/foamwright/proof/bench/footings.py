"""Where a part stands on others: its foot is laid on the lines that are drawn for it, and turned until they agree."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from types import MappingProxyType

import numpy as np
import shapely

from foamwright.proof.bench.foam import Copy, Edge, Foam, Mark, Part, Touch, nearest
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import STILL, Lines, Motion, best_motion, frame_of, sampled, turned_about

_SPACING = 4.0  # mm between the points of a mark that are laid on a foot, about
_TURNS = 16  # tried about the normal of the face
_ROUGH, _FINE = 8, 40  # rounds of nearest points
_BEGUN = 16  # starts that are followed further than one round
_KEPT, _KEPT_BY_ARROW = 3, 6  # starts that are followed to their end
_FITS = 0.05  # mm, or a score so good that no other start need be followed
_POOR = 0.3  # mm that half of a mark's points keep: more, and other starts are tried
_PLACES = 16  # along a foot
_ONE_PLACE = 1.0  # mm: starts that lie nearer to each other are followed once
_SAME_WAY = 2.0  # mm between two places that are one
_ALIKE = 0.08  # scores that differ by less are ways in which the marks fit alike
_WRONG_SIDE = 1e3  # mm: no distance makes up for a foot that looks away from the face
_RIM = 0.4  # mm from the edge of the foam
_RIM_COUNTS = 0.05  # of the distance there, in comparing starts
_FEWEST = 4  # points of a mark that tell where a part stands
_TRIM = 2.5  # of the middle distance: what is further off is no line of the foot, as where it leaves the foam
FACES = ("inside", "outside")
_LEVER = 20.0  # mm
_SQUARE_BELOW = 0.5  # degrees of bevel
_STRAIGHT = 0.999  # of the length of an edge, from end to end
_BAR = "rod"
_STRIP = 1.7  # times as wide as the part is thick: no mark of its edge is wider
_LOOKS = 0.4  # cosine
_LONGER, _ABOUT = 1.2, 0.25  # times a mark, for an edge that goes on past it; and shares of it, for a stretch of that
_THIN = 12  # points of a mark by which starts are compared
_GRAZES = 0.3  # mm between two broad faces: the outline of what touches is that of no face


@dataclass(frozen=True, eq=False)
class Footing:
    """A copy stands on a mark: `lower` is drawn on, `upper` stands there with its `faces`.

    `gap` is what is left between the two, felt or glue, over the `area` in mm2 that touches.
    """

    lower: Copy
    upper: Copy
    mark: Mark
    faces: tuple[str, ...]
    gap: float
    area: float = 0.0

    @property
    def copies(self) -> tuple[Copy, Copy]:
        return self.lower, self.upper


def footings(foam: Foam) -> tuple[Footing, ...]:
    """Every mark with the copies that it is about and the faces of the upper one that are glued on there."""
    by_pair: dict[tuple[Copy, Copy], list[tuple[str, Touch]]] = {}
    for touch in foam.touches:
        by_pair.setdefault((touch.a, touch.b), []).append((touch.face_b, touch))
        by_pair.setdefault((touch.b, touch.a), []).append((touch.face_a, touch))
    all_footings = []
    for name, part in foam.parts.items():
        for mark in part.marks:
            for lower, upper in mark.of:
                pair = Copy(name, lower), Copy(mark.part, upper)
                if pair[0] == pair[1] or pair[1].part not in foam.parts or not mark.lines:
                    continue
                side = "inside" if mark.inside else "outside"
                met = [
                    (face, touch)
                    for face, touch in by_pair.get(pair, ())
                    if touch.glued and side == (touch.face_a if touch.a == pair[0] else touch.face_b)
                ]
                faces = tuple(dict.fromkeys(face for face, _ in met))
                gap = float(np.median([touch.gap for _, touch in met])) if met else 0.0
                if faces:
                    all_footings.append(Footing(*pair, mark, faces, gap, sum(touch.area for _, touch in met)))
    return tuple(all_footings)


def drawn(footing: Footing, lower: Placed) -> list[np.ndarray]:
    """The lines (N, 3) of a mark in space, on the face that they are drawn on."""
    depth = lower.part.depth(footing.mark.inside)
    return [lower.place(line, np.full(len(line), depth)) for line in footing.mark.lines]


def own_points(footing: Footing, lower: Placed, spacing: float = _SPACING) -> tuple[np.ndarray, np.ndarray]:
    """Points (K, 2) of the paper along a mark, and those (M, 2) on the edge of the foam that it is drawn on: there it
    may end because that part does, and says little of the one that is glued on."""
    points, _, inner = _mark_points(footing, lower.part, spacing)
    return points[inner], points[~inner]


@lru_cache(maxsize=2048)
def _mark_points(footing: Footing, part: Part, spacing: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points (K, 2) along a mark, unit steps (K, 2) along its lines there, and which points (K,) are not on the rim."""
    lines = [sampled(line, _fine(line, spacing)) for line in footing.mark.lines]
    points, steps = np.vstack(lines), np.vstack([np.gradient(line, axis=0) for line in lines])
    steps = steps / np.maximum(np.linalg.norm(steps, axis=1, keepdims=True), 1e-9)
    rim = nearest(points, (*part.rings, *part.other_rings))
    return points, steps, np.linalg.norm(points - rim, axis=1) > _RIM


def outward(footing: Footing, lower: Placed, thickness: float, spacing: float = _SPACING) -> np.ndarray:
    """(K, 3) in space, for the first of `own_points`: unit steps out of the strip that is marked, which is about as
    wide as what stands there is thick and ends at another line of the mark or at the edge of the foam; 0 where neither
    or both sides of the line have such an end."""
    flat, points = _outward(footing, lower.part, thickness, spacing)
    depth = np.full(len(points), lower.part.depth(footing.mark.inside))
    direction: np.ndarray = lower.place(points + 0.5 * flat, depth) - lower.place(points - 0.5 * flat, depth)
    return direction


@lru_cache(maxsize=2048)
def _outward(footing: Footing, part: Part, thickness: float, spacing: float) -> tuple[np.ndarray, np.ndarray]:
    """The same steps (K, 2) on the paper, and the points (K, 2)."""
    points, steps, inner = _mark_points(footing, part, spacing)
    points, steps = points[inner], steps[inner]
    rings = part.face_rings(footing.mark.inside)
    ends = shapely.union_all([*map(shapely.LineString, footing.mark.lines), *map(shapely.LinearRing, rings)])
    shapely.prepare(ends)
    side = np.column_stack([steps[:, 1], -steps[:, 0]])
    met = []
    for direction in (side, -side):
        rays = np.stack([points + 0.15 * thickness * direction, points + _STRIP * thickness * direction], axis=1)
        met.append(shapely.intersects(ends, shapely.linestrings(rays)).astype(float))
    return side * (met[1] - met[0])[:, None], points


def _fine(line: np.ndarray, spacing: float) -> float:
    """At least so many points on a short line, too."""
    return min(spacing, max(0.5, float(np.ptp(line, axis=0).max()) / 6.0))


def out_of_foam(footing: Footing, lower: Placed, flat: np.ndarray) -> np.ndarray:
    """(K, 3) unit, out of the face that a mark is drawn on, at points (K, 2) of the paper."""
    up = lower.up(flat)
    return up if footing.mark.inside == lower.part.drawn_inside else -up


def drawn_normal(footing: Footing, lower: Placed) -> np.ndarray:
    """(3,) unit, out of the foam, in the middle of a mark."""
    points = np.vstack(footing.mark.lines)
    up = lower.up(points).mean(axis=0)
    up = up / max(float(np.linalg.norm(up)), 1e-9)
    return up if footing.mark.inside == lower.part.drawn_inside else -up


@lru_cache(maxsize=2048)
def _both_lines(part: Part, edge: Edge) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    """Each stretch of an edge on the drawn face, and on the other one."""
    return tuple((stretch, part.across(stretch, edge)) for stretch in edge.stretches)


def foot(footing: Footing, upper: Placed) -> list[np.ndarray]:
    """Closed lines (N, 3) that bound the faces of the upper part that stand on the mark."""
    part = upper.part
    lines = []
    for face in footing.faces:
        if face in FACES:
            inside = face == "inside"
            for ring in part.face_rings(inside):
                closed = np.vstack([ring, ring[:1]])
                lines.append(upper.place(closed, np.full(len(closed), part.depth(inside))))
            continue
        edge = part.edge(face)
        if edge is None:
            continue
        if part.kind == _BAR:
            lines.append(_end(upper, edge))
            continue
        for stretch, across in _both_lines(part, edge):
            near = upper.place(stretch, np.zeros(len(stretch)))
            far = upper.place(across, np.full(len(stretch), part.thickness))
            lines += [near, far] if edge.loop else [np.vstack([near, far[::-1], near[:1]])]
    return lines


@dataclass(frozen=True, eq=False)
class Foot:
    """The lines of a foot; of a flat part that stands on its edge also those of the drawn face and of the other one
    apart, with the normal `up` (3,) of the drawn face."""

    lines: Lines
    drawn: Lines | None
    other: Lines | None
    up: np.ndarray

    @staticmethod
    def of(footing: Footing, upper: Placed) -> Foot | None:
        every = foot(footing, upper)
        if not every:
            return None
        part, up = upper.part, upper.up(upper.part.rings[0][:1])[0]
        edges = [part.edge(face) for face in footing.faces]
        if part.bent or part.kind == _BAR or any(edge is None for edge in edges):
            return Foot(Lines.of(every), None, None, up)
        both = [pair for edge in edges if edge is not None for pair in _both_lines(part, edge)]
        near = [upper.place(stretch, np.zeros(len(stretch))) for stretch, _ in both]
        far = [upper.place(across, np.full(len(across), part.thickness)) for _, across in both]
        return Foot(Lines.of(every), Lines.of(near), Lines.of(far), up)

    def nearest(self, points: np.ndarray, directions: np.ndarray) -> np.ndarray:
        """The points (N, 3) of the lines that are nearest to marks (N, 3), of the face that `directions` (N, 3) look to."""
        lean = directions @ self.up
        drawn, other = lean > _LOOKS, lean < -_LOOKS
        feet = np.empty_like(points)
        for lines, here in ((self.drawn, drawn), (self.other, other), (self.lines, ~(drawn | other))):
            if here.any():
                feet[here] = (lines or self.lines).nearest(points[here])
        return feet


def _square(footing: Footing, lower: Placed, upper: Placed) -> bool:
    if lower.part.bent or upper.part.bent or upper.part.kind == _BAR:
        return False
    edges = [edge for face in footing.faces if (edge := upper.part.edge(face)) is not None]
    straight = [len(e.stretches) == 1 and float(np.linalg.norm(e.stretches[0][-1] - e.stretches[0][0])) for e in edges]
    return bool(edges) and all(
        max(map(abs, edge.bevel)) < _SQUARE_BELOW and along > _STRAIGHT * edge.length
        for edge, along in zip(edges, straight)
    )


def _end(bar: Placed, edge: Edge) -> np.ndarray:
    """The circle (N, 3) in which a round bar ends, whose paper is a strip as wide as it is thick."""
    radius, angle = bar.part.thickness / 2, np.linspace(0.0, 2 * np.pi, 49)
    line = edge.stretches[0]
    across = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
    flat = line.mean(axis=0) + radius * np.outer(np.cos(angle), across)
    return bar.place(flat, radius * (1.0 + np.sin(angle)))


def foot_normal(footing: Footing, upper: Placed) -> np.ndarray | None:
    """(3,) unit, out of the foam where the upper part stands on the mark; None where it faces all ways, as a rim."""
    part, total = upper.part, np.zeros(3)
    for face in footing.faces:
        if face in FACES:
            ring = part.rings[0]
            up = upper.up(ring[:: max(1, len(ring) // 12)]).mean(axis=0)
            total += up if (face == "inside") == part.drawn_inside else -up
        elif (edge := part.edge(face)) is not None:
            line = np.vstack(edge.stretches)
            tangent = np.gradient(line, axis=0)
            out = np.column_stack([tangent[:, 1], -tangent[:, 0]])  # the foam is to the left of its outline
            ends = upper.place(
                line + 0.5 * out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9),
                np.full(len(line), part.thickness / 2),
            ) - upper.place(line, np.full(len(line), part.thickness / 2))
            total += ends.mean(axis=0) / 0.5
    size = float(np.linalg.norm(total))
    return None if size < 0.6 else total / size


@dataclass(frozen=True, eq=False)
class Fit:
    """The motion that sets a body on its marks, and the distances (K,) that are left between marks and feet."""

    motion: Motion
    left: np.ndarray
    rim: float = 0.0  # the same at the edge of the foam, on average, where it need not be any line of the foot
    sure: bool = True  # it fits one way only
    by_mark: tuple[float, ...] = ()  # of each mark that bounds what touches, what half of its points keep

    @cached_property
    def middle(self) -> float:
        """Half of the points are nearer, in mm."""
        return _kept_by(self.left, 0.5)

    @cached_property
    def score(self) -> float:
        """By which starts are compared: what nine of ten points keep, and a little of the rest."""
        return _kept_by(self.left, 0.9) + 0.1 * float(self.left.mean()) + _RIM_COUNTS * self.rim


def _kept_by(distances: np.ndarray, share: float) -> float:
    """What that share of the distances keep, as `numpy.quantile` has it, which takes ten times as long for a few."""
    at = share * (len(distances) - 1)
    low = int(at)
    both = [low, min(low + 1, len(distances) - 1)]
    near, far = np.partition(distances, both)[both]
    return float(near + (at - low) * (far - near))


def arrow(copy: Copy, piece: Placed, name: str) -> np.ndarray | None:
    """(3,) where an arrow on a copy's paper points in space; None if it says nothing of this copy.

    Arrows are true of the first copy; of parts that stand round about an axis they still tell which way is up.
    """
    direction = piece.part.arrows.get(name)
    if direction is None or (copy.number > 1 and name != "up"):
        return None
    middle = piece.part.rings[0].mean(axis=0)
    ends = piece.place(np.array([middle, middle + direction]), np.zeros(2))
    step = ends[1] - ends[0]
    return step / max(float(np.linalg.norm(step)), 1e-9)


def fitted(
    fixed: Mapping[Copy, Placed],
    moving: Mapping[Copy, Placed],
    joints: Sequence[Footing],
    arrows: Mapping[str, np.ndarray] = MappingProxyType({}),
    way_round: Callable[[Motion], float] | None = None,
) -> Fit | None:
    """Sets copies that move as one on those that stand, by all the marks between them; None if none says where.

    Only motions of which `way_round`, in whole numbers, says most are followed. Where marks fit several ways even so,
    as those of a disc or a bar do, the `arrows` on the paper decide, then what else `way_round` says.
    """
    pairs = [pair for f in joints if (pair := _Pair.of(f, fixed, moving)) is not None]
    if not pairs:
        return None
    fit = _best_of(pairs, _starts(pairs), moving, arrows, way_round)
    if fit.middle < _POOR:
        return fit
    more = _more_starts(pairs)
    other = _best_of(pairs, more, moving, arrows, way_round) if more else fit
    return other if other.score < fit.score else fit


def _best_of(
    pairs: Sequence[_Pair],
    starts: Sequence[Motion],
    moving: Mapping[Copy, Placed],
    arrows: Mapping[str, np.ndarray],
    way_round: Callable[[Motion], float] | None,
) -> Fit:
    """Of all starts the one that fits best in the end."""
    thin = [pair.thinned() for pair in pairs]
    spots = np.vstack([piece.points for piece in moving.values()])
    begun = sorted((_nearer(thin, start, 1) for start in starts), key=lambda fit: fit.score)
    if way_round is not None:
        told = [round(way_round(fit.motion)) for fit in begun]
        begun = [fit for fit, said in zip(begun, told) if said == max(told)]
    begun = _distinct(begun, spots)[:_BEGUN]
    tried = sorted((_nearer(thin, fit.motion, _ROUGH) for fit in begun), key=lambda fit: fit.score)
    tried = _distinct(tried, spots)
    kept = tried[:1] if tried[0].score < _FITS else tried[:_KEPT]
    if arrows:
        kept = tried[:_KEPT_BY_ARROW]
    if way_round is not None:  # of those that begin alike one for each way in which the paper can be read
        alike = [fit for fit in tried if fit.score < tried[0].score + _ALIKE and fit not in kept]
        kept += [fit for fit in alike if way_round(fit.motion) > max(way_round(other.motion) for other in kept)][:1]
    refined = [_nearer(pairs, fit.motion, _FINE) for fit in kept]
    best = min(fit.score for fit in refined)
    alike = [fit for fit in refined if fit.score < best + _ALIKE]
    ends = [fit.motion(spots) for fit in alike]
    sure = all(float(np.linalg.norm(end - ends[0], axis=1).max()) < _SAME_WAY for end in ends)
    alike += [_turned_to(fit, pairs, moving, arrows) for fit in alike if arrows]
    alike = [fit for fit in alike if fit.score < best + 2 * _ALIKE]

    def order(fit: Fit) -> tuple[float, float, float]:
        read = way_round(fit.motion) if way_round is not None else 0.0
        return round(-_agreement(fit.motion, moving, arrows), 2), -read, fit.score

    chosen = min(alike, key=order)
    return replace(chosen, sure=sure)


def _distinct(fits: Sequence[Fit], spots: np.ndarray) -> list[Fit]:
    """The first of all that lead to one place."""
    distinct: list[Fit] = []
    ends = np.zeros((0, *spots.shape))
    for fit in fits:
        end = fit.motion(spots)
        if not len(ends) or ((ends - end) ** 2).sum(axis=2).max(axis=1).min() > _ONE_PLACE**2:
            distinct.append(fit)
            ends = np.concatenate([ends, end[None]])
    return distinct


def followed(
    fixed: Mapping[Copy, Placed], moving: Mapping[Copy, Placed], joints: Sequence[Footing], start: Motion
) -> Fit:
    """As `fitted` from a place near by, when what stands has moved a little."""
    return _nearer([pair for f in joints if (pair := _Pair.of(f, fixed, moving)) is not None], start, _FINE)


def as_it_stands(
    fixed: Mapping[Copy, Placed], moving: Mapping[Copy, Placed], joints: Sequence[Footing]
) -> tuple[float, ...]:
    """What half of the points of each mark that bounds what touches keep, with nothing moved; in mm."""
    pairs = [pair for f in joints if (pair := _Pair.of(f, fixed, moving)) is not None]
    return _nearer(pairs, STILL, 0).by_mark if pairs else ()


def turned_to(
    fixed: Mapping[Copy, Placed],
    moving: Mapping[Copy, Placed],
    joints: Sequence[Footing],
    fit: Fit,
    arrows: Mapping[str, np.ndarray],
) -> Fit:
    """A fit turned about the normal of its mark as the `arrows` tell, if it fits there as well: that of a round lid."""
    pairs = [pair for f in joints if (pair := _Pair.of(f, fixed, moving)) is not None]
    if not pairs or not arrows:
        return fit
    turned = _turned_to(fit, pairs, moving, arrows)
    return turned if turned.score < fit.score + 2 * _ALIKE else fit


def _agreement(motion: Motion, moving: Mapping[Copy, Placed], arrows: Mapping[str, np.ndarray]) -> float:
    """Sum of the cosines between arrows on what moves and those on what stands."""
    total = 0.0
    for copy, piece in moving.items():
        for name, direction in arrows.items():
            own = arrow(copy, piece, name)
            total += 0.0 if own is None else float((motion.turn @ own) @ direction)
    return total


def _turned_to(
    fit: Fit, pairs: Sequence[_Pair], moving: Mapping[Copy, Placed], arrows: Mapping[str, np.ndarray]
) -> Fit:
    """The fit turned about the normal of its mark until the arrows agree: for parts that are round."""
    pair = max(pairs, key=lambda p: len(p.samples))
    normal = pair.normal if pair.on_fixed else fit.motion.turn @ pair.normal
    through = pair.samples.mean(axis=0) if pair.on_fixed else fit.motion(pair.samples).mean(axis=0)
    side, ahead = 0.0, 0.0
    for copy, piece in moving.items():
        for name, direction in arrows.items():
            own = arrow(copy, piece, name)
            if own is not None:
                now = fit.motion.turn @ own
                side += float(np.cross(now, direction) @ normal)
                ahead += float(now @ direction - (now @ normal) * (direction @ normal))
    if abs(side) + abs(ahead) < 0.05:
        return fit
    turn = turned_about(normal, float(np.arctan2(side, ahead)), through)
    return _nearer(pairs, turn.after(fit.motion), 1)


@dataclass(frozen=True, eq=False)
class _Pair:
    """A mark and a foot, one of them fixed: `samples` are the mark's points, `rim` those of them at the edge of the
    foam, `directions` out of the marked strip, `foot` the foot; `on_fixed` tells whether the mark is on what stands."""

    samples: np.ndarray
    rim: np.ndarray
    directions: np.ndarray
    foot: Foot
    on_fixed: bool
    normal: np.ndarray  # out of the foam that is drawn on
    other: np.ndarray | None  # out of the foam that stands there
    middles: tuple[np.ndarray, ...]  # of the foot, and of each of its lines where there are two
    runs: tuple[
        tuple[np.ndarray, np.ndarray], ...
    ]  # middles of straight stretches about as long as it, and their normals
    bounds: bool  # the mark is the line of the foot, not the bound of what comes near
    square: bool  # a flat part stands with an edge that is cut square on a flat face

    @staticmethod
    def of(footing: Footing, fixed: Mapping[Copy, Placed], moving: Mapping[Copy, Placed]) -> _Pair | None:
        on_fixed = footing.lower in fixed
        lower = fixed[footing.lower] if on_fixed else moving[footing.lower]
        upper = moving[footing.upper] if on_fixed else fixed[footing.upper]
        stands = Foot.of(footing, upper)
        if stands is None:
            return None
        normal = drawn_normal(footing, lower)
        points, edge = own_points(footing, lower)
        if len(points) < _FEWEST:
            return None
        depth = lower.part.depth(footing.mark.inside)
        samples, rim = (lower.place(some, np.full(len(some), depth)) for some in (points, edge))
        gap = footing.gap if footing.gap > 0.05 else 0.0
        dense = [sampled(line, _SPACING) for line in foot(footing, upper)]
        middles = [np.vstack(dense).mean(axis=0)]
        if len(dense) == 2:  # a mark at the edge of the foam may show one of them alone
            middles += [line.mean(axis=0) for line in dense]
        standing = foot_normal(footing, upper)
        bounds = footing.gap < _GRAZES or any(face not in FACES for face in footing.faces)
        directions = np.zeros_like(samples) if stands.drawn is None else outward(footing, lower, upper.part.thickness)
        samples = samples + gap * out_of_foam(footing, lower, points)
        return _Pair(
            samples,
            rim,
            directions,
            stands,
            on_fixed,
            normal,
            standing,
            tuple(middles),
            _runs(footing, upper, samples),
            bounds,
            _square(footing, lower, upper),
        )

    def thinned(self) -> _Pair:
        """With fewer points, enough to tell one start from another."""
        step, rim = (max(1, len(points) // _THIN) for points in (self.samples, self.rim))
        return replace(self, samples=self.samples[::step], directions=self.directions[::step], rim=self.rim[::rim])

    def matched(self, motion: Motion) -> tuple[np.ndarray, np.ndarray]:
        """Points of what moves, as it lay, and where they should come."""
        if self.on_fixed:
            back = motion.inverse()
            return self.foot.nearest(back(self.samples), self.directions @ motion.turn), self.samples
        return self.samples, self.foot.nearest(motion(self.samples), self.directions @ motion.turn.T)

    def lifted(self, points: np.ndarray, goals: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Matched points moved along the normals of both, which look at each other: a line alone does not keep an edge
        that is cut square from leaning over."""
        if not self.square or self.other is None:
            return points[:0], goals[:0]
        own, fixed = (self.other, -self.normal) if self.on_fixed else (self.normal, -self.other)
        return points + _LEVER * own, goals + _LEVER * fixed

    def off_rim(self, motion: Motion) -> np.ndarray:
        """How far the mark's points at the edge of the foam are from the foot (M,)."""
        rim = motion.inverse()(self.rim) if self.on_fixed else motion(self.rim)
        return np.linalg.norm(self.foot.lines.nearest(rim) - rim, axis=1)

    def looks_away(self, motion: Motion) -> bool:
        if self.other is None:
            return False
        moved = motion.turn @ (self.other if self.on_fixed else self.normal)
        stays = self.normal if self.on_fixed else self.other
        return float(moved @ stays) > 0.2


def _runs(footing: Footing, upper: Placed, mark: np.ndarray) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    """Where an edge runs straight for about as long as a mark: middles (3,) there, and unit normals (3,) out of the foam.

    An edge may go on round a corner, and the middle of all of it tells nothing of the stretch that stands on the mark.
    """
    part, found = upper.part, []
    if part.bent or part.kind == _BAR:
        return ()
    size = float(np.linalg.norm(np.ptp(mark, axis=0)))
    for face in footing.faces:
        edge = part.edge(face)
        if edge is None or edge.length < _LONGER * size:
            continue
        for line in edge.stretches:
            step = np.diff(line, axis=0)
            length = np.linalg.norm(step, axis=1)
            for k in np.flatnonzero(np.abs(length - size) < _ABOUT * size):
                middle, way = (line[k] + line[k + 1]) / 2, step[k] / length[k]
                out = np.array([way[1], -way[0]])
                at = upper.place(np.array([middle, middle + out]), np.full(2, part.thickness / 2))
                found.append((at[0], at[1] - at[0]))
    return tuple(found)


def _starts(pairs: Sequence[_Pair]) -> list[Motion]:
    """From the middles of all marks, where there are enough of them, and from the longest one turned all round."""
    starts = []
    moving = np.array([pair.middles[0] if pair.on_fixed else pair.samples.mean(axis=0) for pair in pairs])
    fixed = np.array([pair.samples.mean(axis=0) if pair.on_fixed else pair.middles[0] for pair in pairs])
    if len(pairs) > 2:
        spread = np.linalg.svd(fixed - fixed.mean(axis=0), compute_uv=False)
        if spread[1] > 0.05 * spread[0] > 0.0:
            starts.append(best_motion(moving, fixed))
            if spread[2] < 0.05 * spread[0]:  # they lie in a plane, and it may be seen from either side
                axis = np.linalg.svd(moving - moving.mean(axis=0))[2][2]
                mirrored = moving - 2 * np.outer((moving - moving.mean(axis=0)) @ axis, axis)
                starts.append(best_motion(mirrored, fixed))
    pair = max(pairs, key=lambda p: len(p.samples))
    normal, other = pair.normal, pair.other
    axes: list[tuple[np.ndarray, np.ndarray]] = []
    for middle, out in pair.runs:
        begin, at = (middle, pair.samples.mean(axis=0)) if pair.on_fixed else (pair.samples.mean(axis=0), middle)
        from_, onto = (out, -normal) if pair.on_fixed else (normal, -out)
        turn = frame_of(onto).T @ frame_of(from_)
        first = Motion(turn, at - turn @ begin)
        starts += [turned_about(onto, 2 * np.pi * k / _TURNS, at).after(first) for k in range(_TURNS)]
    if other is None:  # a rim: the planes of both lines, from either side
        dense = np.vstack([pair.foot.lines.starts, pair.foot.lines.ends])
        planes = [np.linalg.svd(p - p.mean(axis=0), full_matrices=False)[2][2] for p in (pair.samples, dense)]
        one, two = planes if pair.on_fixed else planes[::-1]
        axes = [(two, one), (two, -one)]
    else:
        axes = [(other, -normal)] if pair.on_fixed else [(normal, -other)]
    for from_, onto in axes:
        turn = frame_of(onto).T @ frame_of(from_)
        for middle in pair.middles:
            begin, at = middle, pair.samples.mean(axis=0)
            if not pair.on_fixed:
                begin, at = at, begin
            first = Motion(turn, at - turn @ begin)
            starts += [turned_about(onto, 2 * np.pi * k / _TURNS, at).after(first) for k in range(_TURNS)]
    return starts


def _more_starts(pairs: Sequence[_Pair]) -> list[Motion]:
    """From places all along the foot: a mark that shows a part of it tells nothing of its middle."""
    pair = max(pairs, key=lambda p: len(p.samples))
    if pair.other is None:
        return []
    middle = pair.samples.mean(axis=0)
    line = pair.foot.lines.starts
    spots = [pair.middles[0], *line[:: max(1, len(line) // _PLACES)]]
    if pair.on_fixed:
        turn = frame_of(-pair.normal).T @ frame_of(pair.other)
        firsts = [Motion(turn, middle - turn @ spot) for spot in spots]
        axis, through = pair.normal, [middle] * len(spots)
    else:
        turn = frame_of(-pair.other).T @ frame_of(pair.normal)
        firsts = [Motion(turn, spot - turn @ middle) for spot in spots]
        axis, through = pair.other, list(spots)
    return [
        turned_about(axis, 2 * np.pi * k / _TURNS, at).after(first)
        for first, at in zip(firsts, through)
        for k in range(_TURNS)
    ]


def _nearer(pairs: Sequence[_Pair], motion: Motion, rounds: int) -> Fit:
    last = np.inf
    for _ in range(rounds):
        both = [pair.matched(motion) for pair in pairs]
        points, goals = (np.vstack([b[k] for b in both]) for k in range(2))
        left = np.linalg.norm(motion(points) - goals, axis=1)
        score = _kept_by(left, 0.5)
        if score < 1e-4 or last - score < 1e-5 * last:
            break
        last = score
        near = left <= max(_TRIM * score, 0.3)
        lifted = [pair.lifted(*own) for pair, own in zip(pairs, both)]
        points, goals = (
            np.vstack([all_of[near], *(own[k] for own in lifted)]) for k, all_of in enumerate((points, goals))
        )
        motion = best_motion(points, goals)
    both = [pair.matched(motion) for pair in pairs]
    each = [np.linalg.norm(motion(b[0]) - b[1], axis=1) for b in both]
    left = np.concatenate(each)
    if any(pair.looks_away(motion) for pair in pairs):
        left = left + _WRONG_SIDE
    rim = np.concatenate([np.minimum(pair.off_rim(motion), 10.0) for pair in pairs if len(pair.rim)] or [np.zeros(1)])
    return Fit(
        motion,
        left,
        float(rim.mean()),
        True,
        tuple(_kept_by(own, 0.5) for own, pair in zip(each, pairs) if pair.bounds),
    )

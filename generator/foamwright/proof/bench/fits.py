"""Where a part stands on others: its foot is laid on the lines that are drawn for it, and turned until they agree."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

import numpy as np

from foamwright.proof.bench.foam import Copy
from foamwright.proof.bench.footings import Footing, arrow
from foamwright.proof.bench.pairs import Pair, more_starts, starts_of
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import STILL, Motion, Motions, all_slid, best_motions, lengths, turned_about

_ROUGH, _FINE = 8, 2  # rounds of nearest points, before lines are laid on lines
_SLIDES, _AT_REST = 12, 1e-4  # rounds of lines laid on lines at most, and mm that end them
_BEGUN = 16  # starts that are followed further than one round
_KEPT, _KEPT_BY_ARROW = 3, 6  # starts that are followed to their end
_FITS = 0.05  # mm, or a score so good that no other start need be followed
_POOR = 0.3  # mm that half of a mark's points keep: more, and other starts are tried
_ASKEW = 1.0  # of the score, likewise: half of a mark agrees where a part has slid along a curve
_ONE_PLACE = 1.0  # mm: starts that lie nearer to each other are followed once
_SAME_WAY = 2.0  # mm between two places that are one
_ALIKE = 0.08  # scores that differ by less are ways in which the marks fit alike
_WRONG_SIDE = 1e3  # mm: no distance makes up for a foot that looks away from the face
_RIM_COUNTS = 0.05  # of the distance there, in comparing starts
_FAR_RIM = 10.0  # mm: further off counts as much
_TRIM = 2.5  # of the middle distance: what is further off is no line of the foot, as where it leaves the foam
_ALL = 1e6  # times that: everything
_NEVER_FAR = 0.3  # mm, in which everything counts


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
        return float(_kept_by(self.left, 0.5))

    @cached_property
    def score(self) -> float:
        """By which starts are compared: what nine of ten points keep, and a little of the rest."""
        return float(_kept_by(self.left, 0.9)) + 0.1 * float(self.left.mean()) + _RIM_COUNTS * self.rim


def _kept_by(distances: np.ndarray, share: float) -> np.ndarray:
    """What that share of the distances (..., K) keep, as `numpy.quantile` has it, which takes ten times as long."""
    at = share * (distances.shape[-1] - 1)
    low = int(at)
    high = min(low + 1, distances.shape[-1] - 1)
    ordered = np.partition(distances, [low, high], axis=-1)
    near, far = ordered[..., low], ordered[..., high]
    kept: np.ndarray = near + (at - low) * (far - near)
    return kept


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
    pairs = [pair for f in joints if (pair := Pair.of(f, fixed, moving)) is not None]
    if not pairs:
        return None
    fit = _best_of(pairs, starts_of(pairs), moving, arrows, way_round)
    if (fit.middle < _POOR and fit.score < _ASKEW) or max(pairs, key=lambda p: len(p.samples)).shows_all:
        return fit
    more = more_starts(pairs)
    other = _best_of(pairs, more, moving, arrows, way_round) if more else fit
    return other if other.score < fit.score else fit


def _best_of(
    pairs: Sequence[Pair],
    starts: Sequence[Motion],
    moving: Mapping[Copy, Placed],
    arrows: Mapping[str, np.ndarray],
    way_round: Callable[[Motion], float] | None,
) -> Fit:
    """Of all starts the one that fits best in the end."""
    thin = [pair.thinned() for pair in pairs]
    spots = _outermost(np.vstack([piece.points for piece in moving.values()]))
    begun = sorted(_nearer(thin, starts, 1), key=lambda fit: fit.score)
    if way_round is not None:
        told = [round(way_round(fit.motion)) for fit in begun]
        begun = [fit for fit, said in zip(begun, told) if said == max(told)]
    begun = _distinct(begun, spots)[:_BEGUN]
    tried = sorted(_nearer(thin, [fit.motion for fit in begun], _ROUGH), key=lambda fit: fit.score)
    tried = _distinct(tried, spots)
    kept = tried[:1] if tried[0].score < _FITS else tried[:_KEPT]
    if arrows:
        kept = tried[:_KEPT_BY_ARROW]
    if way_round is not None:  # of those that begin alike one for each way in which the paper can be read
        alike = [fit for fit in tried if fit.score < tried[0].score + _ALIKE and fit not in kept]
        kept += [fit for fit in alike if way_round(fit.motion) > max(way_round(other.motion) for other in kept)][:1]
    refined = _settled(pairs, _nearer(pairs, [fit.motion for fit in kept], _FINE))
    first = min(refined, key=lambda fit: fit.score)
    if _agreement(first.motion, moving, arrows) < 0.0:  # the paper says that it goes in the other way
        refined.append(_other_way(pairs, first))
    best = min(fit.score for fit in refined)
    alike = [fit for fit in refined if fit.score < best + _ALIKE]
    ends = [fit.motion(spots) for fit in alike]
    sure = all(float(lengths(end - ends[0]).max()) < _SAME_WAY for end in ends)
    places = _distinct(sorted(alike, key=lambda fit: fit.score), spots)
    alike += [_turned_to(fit, pairs, moving, arrows) for fit in places if arrows]
    alike = [fit for fit in alike if fit.score < best + 2 * _ALIKE]

    def order(fit: Fit) -> tuple[float, float, float]:
        read = way_round(fit.motion) if way_round is not None else 0.0
        return round(-_agreement(fit.motion, moving, arrows), 2), -read, fit.score

    chosen = min(alike, key=order)
    return replace(chosen, sure=sure)


def _outermost(points: np.ndarray) -> np.ndarray:
    """A few points (K, 3) that move furthest, whatever turns them."""
    away = points - points.mean(axis=0)
    ways = np.array([[x, y, z] for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if (x, y, z) != (0, 0, 0)])
    return points[np.unique((away @ ways.T).argmax(axis=0))]


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


def as_it_stands(
    fixed: Mapping[Copy, Placed], moving: Mapping[Copy, Placed], joints: Sequence[Footing]
) -> tuple[float, ...]:
    """What half of the points of each mark that bounds what touches keep, with nothing moved; in mm."""
    pairs = [pair for f in joints if (pair := Pair.of(f, fixed, moving)) is not None]
    return _nearer(pairs, [STILL], 0)[0].by_mark if pairs else ()


def turned_to(
    fixed: Mapping[Copy, Placed],
    moving: Mapping[Copy, Placed],
    joints: Sequence[Footing],
    fit: Fit,
    arrows: Mapping[str, np.ndarray],
) -> Fit:
    """A fit turned about the normal of its mark as the `arrows` tell, if it fits there as well: that of a round lid."""
    pairs = [pair for f in joints if (pair := Pair.of(f, fixed, moving)) is not None]
    if not pairs or not arrows:
        return fit
    turned = _turned_to(fit, pairs, moving, arrows)
    return turned if turned.score < fit.score + 2 * _ALIKE else fit


def turned_by_arrows(
    fixed: Mapping[Copy, Placed],
    moving: Mapping[Copy, Placed],
    joints: Sequence[Footing],
    arrows: Mapping[str, np.ndarray],
) -> tuple[Motion, float]:
    """The turn about the normal of their mark by which copies that stand there agree with the `arrows`, none if they do not
    fit there as well; and by how many mm the worst point of their marks is further off then. Lines about a round body lie on
    each other however it is turned, but where they end they do not."""
    pairs = [pair for f in joints if (pair := Pair.of(f, fixed, moving)) is not None]
    if not pairs or not arrows:
        return STILL, 0.0
    still = _nearer(pairs, [STILL], 0)[0]
    turned = _turned_to(still, pairs, moving, arrows)
    if turned.score >= still.score + 2 * _ALIKE:
        return STILL, 0.0
    return turned.motion, float(turned.left.max() - still.left.max())


def turned_round(fixed: Mapping[Copy, Placed], moving: Mapping[Copy, Placed], joints: Sequence[Footing]) -> Fit | None:
    """Copies that stand on their marks turned half round about the normal of the longest; None if they do not fit there
    as well. A foot that ends in a straight edge fits so, and nothing drawn there tells which way it is."""
    pairs = [pair for f in joints if (pair := Pair.of(f, fixed, moving)) is not None]
    if not pairs:
        return None
    pair = max(pairs, key=lambda p: len(p.samples))
    half = turned_about(pair.normal, float(np.pi), pair.samples.mean(axis=0))
    (there,) = _settled(pairs, _nearer(pairs, [half], _FINE))
    return there if there.middle < _POOR else None


def _agreement(motion: Motion, moving: Mapping[Copy, Placed], arrows: Mapping[str, np.ndarray]) -> float:
    """Sum of the cosines between arrows on what moves and those on what stands."""
    total = 0.0
    for copy, piece in moving.items():
        for name, direction in arrows.items():
            own = arrow(copy, piece, name)
            total += 0.0 if own is None else float((motion.turn @ own) @ direction)
    return total


def _turned_to(fit: Fit, pairs: Sequence[Pair], moving: Mapping[Copy, Placed], arrows: Mapping[str, np.ndarray]) -> Fit:
    """The fit turned about the normal of its mark until the arrows agree: for parts that are round. What stands there with a rim
    that goes all round is turned in its own plane."""
    pair = max(pairs, key=lambda p: len(p.samples))
    normal = pair.normal if pair.on_fixed else fit.motion.turn @ pair.normal
    if pair.other is None:
        normal = fit.motion.turn @ pair.foot.up if pair.on_fixed else pair.foot.up
    every = [own.samples if own.on_fixed else fit.motion(own.samples) for own in pairs]
    through = np.vstack(every).mean(axis=0)  # of a lid whose rim stands on several parts its middle
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
    return _nearer(pairs, [turn.after(fit.motion)], _ROUGH)[0]


def _settled(pairs: Sequence[Pair], fits: Sequence[Fit]) -> list[Fit]:
    """Each fit with its marks laid on the lines of the feet rather than on the nearest points of these: what lies along a
    long line slides there by the hair that points alone would take many rounds for. Kept where it fits better."""
    motions = _slid(pairs, [fit.motion for fit in fits], _TRIM)
    return [min(pair, key=lambda fit: fit.score) for pair in zip(_nearer(pairs, motions, 0), fits)]


def _slid(pairs: Sequence[Pair], starts: Sequence[Motion], trim: float) -> list[Motion]:
    """The motions after steps that lay marks on lines, all of them at once; what is further off than `trim` times the middle
    distance is no line of the foot."""
    motions, going = Motions.of(starts), np.arange(len(starts))
    for _ in range(_SLIDES):
        now = motions[going]
        rows = [pair.slides(now) for pair in pairs]
        points, goals, ways = (np.concatenate([row[k] for row in rows], axis=1) for k in range(3))
        left = lengths(points - goals)
        near = left <= np.maximum(trim * _kept_by(left, 0.5), _NEVER_FAR)[:, None]
        stood = [(*pair.stood(now, *row[:2]), row[2]) for pair, row in zip(pairs, rows) if pair.stands]
        held = [
            np.concatenate([every, *(own[k] for own in stood)], axis=1) for k, every in enumerate((points, goals, ways))
        ]
        counts = np.ones(held[0].shape[:2])
        counts[:, : near.shape[1]] = near
        steps = all_slid(held[0], held[1], held[2], counts)
        there = steps.after(now)
        motions.turns[going], motions.shifts[going] = there.turns, there.shifts
        going = going[lengths(steps(points) - points).max(axis=1) >= _AT_REST]
        if not len(going):
            break
    return [motions.one(k) for k in range(len(starts))]


def _other_way(pairs: Sequence[Pair], fit: Fit) -> Fit:
    """The fit turned half round on its longest mark. Every point counts to begin with: the ends of a strip alone tell how far
    along it a foot belongs."""
    pair = max(pairs, key=lambda p: len(p.samples))
    normal = pair.normal if pair.on_fixed else fit.motion.turn @ pair.normal
    through = pair.samples.mean(axis=0) if pair.on_fixed else fit.motion(pair.samples).mean(axis=0)
    half = turned_about(normal, float(np.pi), through).after(fit.motion)
    return _settled(pairs, _nearer(pairs, _slid(pairs, [half], _ALL), 0))[0]


def _nearer(pairs: Sequence[Pair], starts: Sequence[Motion], rounds: int) -> list[Fit]:
    """From every start at most so many rounds of iterated closest points (Besl and McKay 1992), all of them at once."""
    motions = Motions.of(starts)
    last, going = np.full(len(starts), np.inf), np.arange(len(starts))
    for _ in range(rounds):
        now = motions[going]
        both = [pair.matched(now) for pair in pairs]
        points, goals = (np.concatenate([b[k] for b in both], axis=1) for k in range(2))
        left = lengths(now(points) - goals)
        score = _kept_by(left, 0.5)
        on = (score >= 1e-4) & (last[going] - score >= 1e-5 * last[going])
        if not on.any():
            break
        last[going] = score
        lifted = [pair.lifted(*own) for pair, own in zip(pairs, both)]
        near = left <= np.maximum(_TRIM * score, _NEVER_FAR)[:, None]
        points, goals = (
            np.concatenate([every, *(own[k] for own in lifted)], axis=1) for k, every in enumerate((points, goals))
        )
        weights = np.ones(points.shape[:2])
        weights[:, : near.shape[1]] = near
        going = going[on]
        better = best_motions(points[on], goals[on], weights[on])
        motions.turns[going], motions.shifts[going] = better.turns, better.shifts
    both = [pair.matched(motions) for pair in pairs]
    each = [lengths(motions(points) - goals) for points, goals in both]
    left = np.concatenate(each, axis=1)
    away = np.logical_or.reduce([pair.looks_away(motions) for pair in pairs])
    left = left + np.where(away, _WRONG_SIDE, 0.0)[:, None]
    off = [np.minimum(pair.off_rim(motions), _FAR_RIM) for pair in pairs if len(pair.rim)]
    rim = np.concatenate([*off, np.zeros((len(starts), 0 if off else 1))], axis=1).mean(axis=1)
    by_mark = [_kept_by(own, 0.5) for own, pair in zip(each, pairs) if pair.bounds]
    return [
        Fit(motions.one(k), left[k], float(rim[k]), True, tuple(float(mark[k]) for mark in by_mark))
        for k in range(len(starts))
    ]

"""Lengths that edges of one seam agree on before they are laid flat for good.

Each panel is first flattened freely. Where panels meet, the edges' flattened lengths differ a little; the
mean of them, at every point along the seam, is what all sides are then held to. A panel that is strained has to give
anyway, and one that lies flat by itself would only be pulled out of its true shape, so each edge counts the more the
less its panel is strained. The two legs of a dart agree on their mean.

Panels of unlike thickness have neutral surfaces of unlike size: on a tube that is flush outside, the edges of both
are right at two different lengths. Such edges are compared on the line in the middle of what touches, and so are those of
two forms of which one stands over the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.geometry import arc_length
from foamwright.parts.records import PanelBody, PanelEdge, Piece, SeamSpec

EdgeKey = tuple[str, str]  # part id, edge id
_WHOLE = (0.0, 1.0)  # of the foam, from face to face
_UNSTRAINED = 1e-4  # mean strain: a panel with less lies flat by itself


class RunningLength:
    """Flattened length along an edge as a function of the share of its length in space."""

    def __init__(self, shares: np.ndarray, lengths: np.ndarray):
        self.shares, self.lengths = shares, lengths

    def __call__(self, share: np.ndarray) -> np.ndarray:
        return np.interp(share, self.shares, self.lengths)

    def reversed(self) -> RunningLength:
        return RunningLength(1 - self.shares[::-1], self.lengths[-1] - self.lengths[::-1])


def running_length(
    flat: np.ndarray, chains: Sequence[np.ndarray], shares: Sequence[np.ndarray], bows: Sequence[np.ndarray]
) -> RunningLength:
    """Of one edge, its darts closed. `bows` tells for each stretch how many times longer the edge is than the straight
    way from vertex to vertex: where a cone stands on a cylinder one edge lies straight and the other in an arc."""
    all_shares, all_lengths, reached = [np.array([shares[0][0]])], [np.array([0.0])], 0.0
    for chain, share, bow in zip(chains, shares, bows):
        steps = bow * np.linalg.norm(np.diff(flat[chain], axis=0), axis=1)
        all_shares.append(share[1:])
        all_lengths.append(reached + np.cumsum(steps))
        reached += steps.sum()
    return RunningLength(np.concatenate(all_shares), np.concatenate(all_lengths))


def groups(seams: Sequence[SeamSpec]) -> list[dict[EdgeKey, bool]]:
    """Edges that must have one length, as {edge: does it run against the group's first edge}.

    An edge that only meets its own mirror image makes no group: it matches as it is.
    """
    neighbours: dict[EdgeKey, list[tuple[EdgeKey, bool]]] = {}
    for seam in seams:
        a, b = (seam.a.part, seam.a.edge), (seam.b.part, seam.b.edge)
        if a == b:
            continue
        neighbours.setdefault(a, []).append((b, seam.reversed_b))
        neighbours.setdefault(b, []).append((a, seam.reversed_b))
    seen, result = set(), []
    for root in neighbours:
        if root in seen:
            continue
        group = {root: False}
        stack = [root]
        while stack:
            edge = stack.pop()
            for other, against in neighbours[edge]:
                if other not in group:
                    group[other] = group[edge] != against
                    stack.append(other)
        seen |= set(group)
        result.append(group)
    return result


def met_both_ways(seams: Sequence[SeamSpec]) -> frozenset[EdgeKey]:
    """The edges that some of their copies meet one way and some the other: what is marked on them must read the same from
    both ends, and their lengths must be alike from both."""
    group_of = {edge: group for group in groups(seams) for edge in group}
    both: set[EdgeKey] = set()
    for seam in seams:
        a, b = (seam.a.part, seam.a.edge), (seam.b.part, seam.b.edge)
        group = group_of.get(a, {})
        turned = a != b and (group[a] != group[b]) != seam.reversed_b
        if seam.both_ways or turned:
            both |= {a, *group}
    return frozenset(both)


@dataclass(frozen=True, eq=False)
class CommonLine:
    """The line on which an edge is compared along its seam, beside the edge's own neutral line.

    `shares` (N,) of the neutral line's length and, at the same points, `in_common` (N,) of the common line's, which all
    sides of a seam have; `longer` (N - 1,) is how many times longer the common line is than the neutral line between them.
    """

    shares: np.ndarray
    in_common: np.ndarray
    longer: np.ndarray

    def of(self, neutral: RunningLength) -> RunningLength:
        """A running length on the neutral line as one on the common line, over the shares of that."""
        steps = np.diff(neutral.lengths) * self._longer_between(neutral.shares)
        lengths = np.concatenate([[0.0], np.cumsum(steps)])
        return RunningLength(np.interp(neutral.shares, self.shares, self.in_common), lengths)

    def neutral_steps(self, common: RunningLength, shares: np.ndarray) -> np.ndarray:
        """The lengths on the neutral line between `shares` (K,) of it that give those of `common`."""
        return np.diff(common(np.interp(shares, self.shares, self.in_common))) / self._longer_between(shares)

    def _longer_between(self, shares: np.ndarray) -> np.ndarray:
        reached = np.concatenate([[0.0], np.cumsum(self.longer * np.diff(self.shares))])
        return np.diff(np.interp(shares, self.shares, reached)) / np.diff(shares)


def common_lines(pieces: Sequence[Piece[PanelBody]], seams: Sequence[SeamSpec]) -> dict[EdgeKey, CommonLine]:
    """Of the edges whose seams join panels that lie at unlike depths, or of which one stands over the other: where they are
    compared."""
    by_id = {p.id: p for p in pieces}
    touching: dict[EdgeKey, list[tuple[float, float]]] = {}
    for seam in seams:
        for end, shares in ((seam.a, seam.touch_a), (seam.b, seam.touch_b)):
            touching.setdefault((end.part, end.edge), []).append(shares)
    lines = {}
    for group in groups(seams):
        foams = {(by_id[part].stock.thickness, by_id[part].stock.k) for part, _ in group}
        if len(foams) > 1 or any(shares != _WHOLE for key in group for shares in touching[key]):
            for part, name in group:
                edge = next(e for e in by_id[part].body.edges if e.id == name)
                lines[(part, name)] = _common_line(edge, float(np.mean(touching[(part, name)])))
    return lines


def _common_line(edge: PanelEdge, share: float) -> CommonLine:
    line = edge.inner + share * (edge.outer - edge.inner)
    neutral, common = (arc_length(points) for points in (edge.points, line))
    return CommonLine(neutral / neutral[-1], common / common[-1], np.diff(common) / np.diff(neutral))


def agree(
    free: Mapping[EdgeKey, RunningLength], strains: Mapping[str, float], seams: Sequence[SeamSpec]
) -> dict[EdgeKey, RunningLength]:
    """The running length that each edge of a seam is held to: the mean over its group, each edge counted by the mean strain
    of its panel (`strains`, by part) when that is laid flat freely."""
    agreed: dict[EdgeKey, RunningLength] = {}
    both = met_both_ways(seams)
    for group in groups(seams):
        one_way = [free[edge].reversed() if against else free[edge] for edge, against in group.items()]
        counted = [1 / (strains[part] + _UNSTRAINED) for part, _ in group]
        turned = [number for number, edge in enumerate(group) if edge in both]
        one_way += [one_way[number].reversed() for number in turned]
        counted += [counted[number] for number in turned]
        shares = np.unique(np.concatenate([np.round(r.shares, 12) for r in one_way]))
        mean = RunningLength(shares, np.average([r(shares) for r in one_way], axis=0, weights=counted))
        for edge, against in group.items():
            agreed[edge] = mean.reversed() if against else mean
    return agreed

"""Lengths that edges of one seam agree on before they are laid flat for good.

Each panel is first flattened freely. Where panels meet, the edges' flattened lengths differ a little; the
mean of them, at every point along the seam, is what all sides are then held to. The two legs of a dart
agree in the same way. Nothing is stretched further than half the disagreement.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from foamwright.parts.records import SeamSpec

EdgeKey = tuple[str, str]  # part id, edge id


class RunningLength:
    """Flattened length along an edge as a function of the share of its length in space."""

    def __init__(self, shares: np.ndarray, lengths: np.ndarray):
        self.shares, self.lengths = shares, lengths

    def __call__(self, share: np.ndarray) -> np.ndarray:
        return np.interp(share, self.shares, self.lengths)

    def reversed(self) -> RunningLength:
        return RunningLength(1 - self.shares[::-1], self.lengths[-1] - self.lengths[::-1])


def running_length(flat: np.ndarray, chains: Sequence[np.ndarray], shares: Sequence[np.ndarray]) -> RunningLength:
    """Of one edge, its darts closed."""
    all_shares, all_lengths, reached = [np.array([shares[0][0]])], [np.array([0.0])], 0.0
    for chain, share in zip(chains, shares):
        steps = np.linalg.norm(np.diff(flat[chain], axis=0), axis=1)
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
    found, result = set(), []
    for root in neighbours:
        if root in found:
            continue
        group = {root: False}
        stack = [root]
        while stack:
            edge = stack.pop()
            for other, against in neighbours[edge]:
                if other not in group:
                    group[other] = group[edge] != against
                    stack.append(other)
        found |= set(group)
        result.append(group)
    return result


def agree(free: Mapping[EdgeKey, RunningLength], seams: Sequence[SeamSpec]) -> dict[EdgeKey, RunningLength]:
    """The running length that each edge of a seam is held to: the mean over its group."""
    agreed: dict[EdgeKey, RunningLength] = {}
    for group in groups(seams):
        one_way = [free[edge].reversed() if against else free[edge] for edge, against in group.items()]
        shares = np.unique(np.concatenate([np.round(r.shares, 12) for r in one_way]))
        mean = RunningLength(shares, np.mean([r(shares) for r in one_way], axis=0))
        for edge, against in group.items():
            agreed[edge] = mean.reversed() if against else mean
    return agreed

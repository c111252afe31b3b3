"""The smooth legs of a drawn line between its sharp corners, each a cutting level of its own."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from foamwright.parts.legs import corners, corners_of_line

_SHARP = np.radians(25.0)  # of turn between two legs that are cut by themselves
_ON = 30.0  # mm that a curved leg is carried on straight past its ends


@dataclass(frozen=True, eq=False)
class LegLevel:
    """Distance to one leg in the two `columns` of space that a view shows, carried on straight past its ends;
    positive on its left (`side` 1) or on its right (-1)."""

    line: np.ndarray  # (N, 2)
    columns: tuple[int, int]
    side: int

    def __call__(self, points: np.ndarray) -> np.ndarray:
        flat = points[:, self.columns]
        if len(self.line) == 2:
            chord = self.line[1] - self.line[0]
            return self.side * _cross(chord / np.linalg.norm(chord), flat - self.line[0])
        best = np.full(len(flat), np.inf)
        signed = np.zeros(len(flat))
        first, last = self.line[0] - self.line[1], self.line[-1] - self.line[-2]
        line = np.vstack(
            [
                self.line[0] + _ON * first / np.linalg.norm(first),
                self.line,
                self.line[-1] + _ON * last / np.linalg.norm(last),
            ]
        )
        for a, b in itertools.pairwise(line):
            chord = b - a
            share = np.clip((flat - a) @ chord / (chord @ chord), 0.0, 1.0)
            away = flat - a - share[:, None] * chord
            distance = np.hypot(*away.T)
            nearer = distance < best
            best[nearer] = distance[nearer]
            signed[nearer] = np.copysign(distance, _cross(chord, flat - a))[nearer]
        return self.side * signed

    def onwards(self) -> np.ndarray:
        """A step (3,) the way the leg begins, as long as it is wide from there."""
        return self._leaving(self.line)

    def back(self) -> np.ndarray:
        """A step (3,) back the way the leg ends, as long."""
        return self._leaving(self.line[::-1])

    def _leaving(self, line: np.ndarray) -> np.ndarray:
        first = line[1] - line[0]
        there = np.zeros(3)
        there[list(self.columns)] = first / np.linalg.norm(first) * np.linalg.norm(line - line[0], axis=1).max()
        return there


def legs_of(line: np.ndarray, closed: bool) -> list[np.ndarray]:
    """A line (N, 2), of a closed one the first point not repeated, parted at its sharp corners; none if it has none.

    Each leg ends where the next begins; of a closed line the last where the first begins.
    """
    if not closed:
        turned = corners_of_line(line, _SHARP)
        if not len(turned):
            return []
        return [line[a : b + 1] for a, b in itertools.pairwise([0, *turned.tolist(), len(line) - 1])]
    turned = corners(line, _SHARP)
    if not len(turned):
        return []
    if len(turned) == 1:  # a drop: its one leg is parted once more, opposite to the corner
        turned = np.sort(np.append(turned, (turned[0] + len(line) // 2) % len(line)))
    ends = np.append(turned[1:], turned[0] + len(line))
    return [line[np.arange(a, b + 1) % len(line)] for a, b in zip(turned, ends)]


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]

"""Flat plates that together bound a solid: each is a sheet cut along its edges by planes.

At a mitre both plates are cut by the plane that halves the angle between them, through their outer edge; at a
butt joint one plate runs to the outer face of the other, which stops at its inner face.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from foamwright.errors import BuildError
from foamwright.parts.records import EdgeRun, FlatBody, Frame

_NO_BEVEL = 1e-6  # degrees


@dataclass(frozen=True, eq=False)
class Cut:
    """A plane that ends a plate: the foam is where (p - point) @ normal is negative."""

    id: str
    point: np.ndarray  # (3,)
    normal: np.ndarray  # (3,), of any length
    joins: tuple[str, ...] = ()  # ids of the parts glued to the face that it makes


def facing(outer: np.ndarray, normal: np.ndarray, up: np.ndarray, thickness: float) -> Frame:
    """The frame of a plate whose outer face passes through `outer` and faces along `normal`.

    x runs to the right and y along `up` for one who looks at the outer face.
    """
    normal = normal / np.linalg.norm(normal)
    up = up - (up @ normal) * normal
    up = up / np.linalg.norm(up)
    return Frame(outer - thickness * normal, np.column_stack([np.cross(up, normal), up, normal]))


def mitre(name: str, own: np.ndarray, other: np.ndarray, on_edge: np.ndarray, joins: tuple[str, ...] = ()) -> Cut:
    """The cut of a plate with outward unit normal `own` where it meets one with `other` in an outer edge."""
    return Cut(name, on_edge, other - own, joins)


def wall_body(frame: Frame, thickness: float, cuts: Sequence[Cut]) -> FlatBody:
    """The plate between its two faces (z = 0 and z = `thickness` of the frame) and the planes of `cuts`.

    Every edge of the outline lies in the face where it stands out farther. Raises BuildError if the planes
    leave no plate between them.
    """
    lines = []
    for cut in cuts:
        n = cut.normal @ frame.axes
        flat = float(np.hypot(n[0], n[1]))
        if flat < 1e-9 * np.linalg.norm(n):
            raise BuildError(f"its edge {cut.id} is cut along the plate; give it another angle")
        inside = float((cut.point - frame.origin) @ cut.normal)
        outside = inside - thickness * n[2]
        bevel = float(np.degrees(np.arctan2(-n[2], flat)))
        lines.append((float(np.arctan2(n[1], n[0])), n[:2] / flat, max(inside, outside) / flat, bevel, cut))
    lines.sort(key=lambda line: line[0])
    corners = []
    for (_, a, at_a, *_), (_, b, at_b, *_) in zip(lines[-1:] + lines[:-1], lines):
        corners.append(np.linalg.solve(np.array([a, b]), np.array([at_a, at_b])))
    outline = np.array(corners)
    sides = np.roll(outline, -1, axis=0) - outline
    ahead = np.array([[-n[1], n[0]] for _, n, *_ in lines])
    if ((sides * ahead).sum(axis=1) <= 1e-6).any():
        raise BuildError("nothing is left of a plate between its edges; make it larger or its foam thinner")
    runs = tuple(
        EdgeRun(cut.id, i, i + 1, (0.0 if abs(bevel) < _NO_BEVEL else bevel,), cut.joins)
        for i, (_, _, _, bevel, cut) in enumerate(lines)
    )
    return FlatBody(outline, (), frame, runs)

"""Triangle meshes of panels on smooth surfaces for the tests and benchmarks of flattening, lengths in mm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

Surface = Callable[[np.ndarray, np.ndarray], np.ndarray]


@dataclass(frozen=True, eq=False)
class PanelMesh:
    V: np.ndarray
    N: np.ndarray
    F: np.ndarray
    darts: tuple[tuple[np.ndarray, np.ndarray], ...] = ()  # vertices of both legs from the edge to the tip
    low: np.ndarray | None = None  # vertices along u = 0

    @property
    def chords(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """V, N, F such that the mesh itself is flattened, not the smooth surface: normals that never turn."""
        return self.V, np.zeros_like(self.V), self.F


def patch(surface: Surface, rows: int, columns: int, darts: tuple[tuple[float, float], ...] = (), hole: float = 0.0):
    """A mesh over the unit square of `surface(u, v)`, whose normal is that of dS/du x dS/dv.

    `darts` (u, depth) are slits from v = 0 to v = depth, moved to the nearest line of the mesh. A hole has
    the diameter `hole` in u and v about the middle.
    """
    u, v = (x.ravel() for x in np.meshgrid(np.linspace(0, 1, rows), np.linspace(0, 1, columns), indexing="ij"))
    index = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]
    even = np.indices(a.shape).sum(axis=0) % 2 == 0
    F = np.concatenate(
        [
            np.stack([a, b, np.where(even, c, d)], axis=-1).reshape(-1, 3),
            np.stack([np.where(even, a, b), c, d], axis=-1).reshape(-1, 3),
        ]
    )
    if hole:
        inside = np.hypot(u - 0.5, v - 0.5) < hole / 2
        F = F[~inside[F].any(axis=1)]
    V, h = surface(u, v), 1e-5
    N = np.cross(surface(u + h, v) - surface(u - h, v), surface(u, v + h) - surface(u, v - h))
    N /= np.linalg.norm(N, axis=1)[:, None]
    legs = []
    for at, depth in darts:
        row, last = round(at * (rows - 1)), round(depth * (columns - 1))
        old = index[row, :last]
        new = np.arange(len(V), len(V) + last)
        below = (u[F].mean(axis=1) < row / (rows - 1)) & np.isin(F, old).any(axis=1)
        swap = np.arange(len(V))
        swap[old] = new
        F = np.where(below[:, None], swap[F], F)
        V, N = np.concatenate([V, V[old]]), np.concatenate([N, N[old]])
        u, v = np.concatenate([u, u[old]]), np.concatenate([v, v[old]])
        tip = index[row, last]
        legs.append((np.append(new, tip), np.append(old, tip)))
    used, F = np.unique(F, return_inverse=True)
    place = np.full(len(V), -1)
    place[used] = np.arange(len(used))
    return PanelMesh(V[used], N[used], F.reshape(-1, 3), tuple((place[x], place[y]) for x, y in legs), place[index[0]])


def cylinder(radius: float, angle: float, height: float) -> Surface:
    return lambda u, v: np.stack([radius * np.cos(angle * u), radius * np.sin(angle * u), height * v], axis=-1)


def cone(half_angle: float, turn: float, near: float, far: float) -> Surface:
    """`near` and `far` are distances from the tip along the slope."""

    def surface(u, v):
        slope = far + (near - far) * v
        radius = slope * np.sin(half_angle)
        return np.stack([radius * np.cos(turn * u), radius * np.sin(turn * u), -slope * np.cos(half_angle)], axis=-1)

    return surface


def ball(radius: float, width: float, height: float) -> Surface:
    """The part of a ball within +-width / 2 of longitude and +-height / 2 of latitude."""

    def surface(u, v):
        a, b = (u - 0.5) * width, (v - 0.5) * height
        return radius * np.stack([np.cos(a) * np.cos(b), np.sin(a) * np.cos(b), np.sin(b)], axis=-1)

    return surface


def saddle(size: float, twist: float) -> Surface:
    def surface(u, v):
        x, y = (u - 0.5) * size, (v - 0.5) * size
        return np.stack([x, y, twist * x * y], axis=-1)

    return surface


def cap(radius: float, angle: float, rings: int, sectors: int, darts: int, depth: float) -> PanelMesh:
    """A cap of a ball to the polar angle `angle`, slit from the rim over the share `depth` of the way."""
    ring, around = np.meshgrid(np.arange(1, rings + 1), np.arange(sectors), indexing="ij")
    polar = np.append(0.0, (angle * ring / rings).ravel())
    turn = np.append(0.0, (2 * np.pi * around / sectors).ravel())
    N = np.stack([np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn), np.cos(polar)], axis=1)

    def at(i: np.ndarray, j: np.ndarray) -> np.ndarray:
        return np.where(i == 0, 0, 1 + (i - 1) * sectors + j % sectors)

    i, j = (x.ravel() for x in np.meshgrid(np.arange(1, rings), np.arange(sectors), indexing="ij"))
    fan = np.arange(sectors)
    zero = np.zeros_like(fan)
    F = np.concatenate(
        [
            np.stack([zero, at(zero + 1, fan), at(zero + 1, fan + 1)], axis=1),
            np.stack([at(i, j), at(i + 1, j), at(i + 1, j + 1)], axis=1),
            np.stack([at(i, j), at(i + 1, j + 1), at(i, j + 1)], axis=1),
        ]
    )
    sector = np.concatenate([fan, j, j])
    legs = []
    first = rings - round(depth * rings)
    for dart in range(darts):
        line = dart * sectors // darts
        old = at(np.arange(rings, first, -1), np.full(rings - first, line))
        new = np.arange(len(N), len(N) + len(old))
        swap = np.arange(len(N))
        swap[old] = new
        before = sector == (line - 1) % sectors
        F = np.where(before[:, None], swap[F], F)
        N = np.concatenate([N, N[old]])
        tip = at(np.array([first]), np.array([line]))
        legs.append((np.concatenate([new, tip]), np.concatenate([old, tip])))
    return PanelMesh(radius * N, N, F, tuple(legs))

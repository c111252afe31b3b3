"""Panels of different kinds for the benchmark, each at any number of triangles, lengths in mm."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.flatten.panel_meshes import PanelMesh, patch, saddle


def ovoid(u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """A quarter of an egg 900 mm long, from near its blunt end to near its sharp one."""
    along, around = np.pi * (0.08 + 0.84 * u), 0.5 * np.pi * v
    radius = 240.0 * np.sin(along) * (1.0 + 0.25 * np.cos(along))
    return np.stack([-450.0 * np.cos(along), -radius * np.cos(around), radius * np.sin(around)], axis=-1)


def waist(u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """A half of a body with a narrow waist, round at one end and nearly square at the other."""
    around = np.pi * v
    power = 2.0 + 2.0 * u
    reach = (np.abs(np.cos(around)) ** power + np.abs(np.sin(around)) ** power) ** (-1.0 / power)
    radius = (220.0 - 70.0 * np.sin(np.pi * u)) * reach
    return np.stack([700.0 * u, -radius * np.cos(around), radius * np.sin(around)], axis=-1)


def bumpy(u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """The ovoid as a scan would have it: waves of three sizes on it."""
    rng = np.random.default_rng(5)
    height = 0.0
    for waves, size in ((3, 6.0), (8, 1.2), (16, 0.25)):
        for _ in range(4):
            a, b = rng.uniform(-waves, waves, 2)
            height = height + size * np.sin(2 * np.pi * (a * u + b * v) + rng.uniform(0, 6.28))
    base = ovoid(u, v)
    across = base * [0.25, 1.0, 1.0]
    return base + height[..., None] * across / np.linalg.norm(across, axis=-1, keepdims=True)


def shared(v: np.ndarray) -> np.ndarray:
    """The curve in space that the two sides of the seam have in common."""
    return np.stack([600.0 * v, 80.0 * np.sin(np.pi * v), 90.0 * np.sin(2.0 * v)], axis=-1)


def seam_dome(u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """From the shared curve over a dome."""
    bulge = 90.0 * np.sin(2.2 * u) * np.sin(np.pi * (0.1 + 0.8 * v))
    return shared(v) + np.stack([0 * u, 260.0 * u, bulge], axis=-1)


def seam_hollow(u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """From the shared curve to the other side, into a hollow that twists."""
    drop = -60.0 * u**2 * (1.0 + 0.6 * np.sin(5.0 * v))
    return shared(v) + np.stack([30.0 * u * v, -220.0 * u - 40.0 * u * v, drop], axis=-1)


def _patch(surface: Callable, ratio: float, **cuts) -> Callable[[int], PanelMesh]:
    """By number of triangles; `ratio` is lines along u over lines along v."""

    def make(triangles: int) -> PanelMesh:
        columns = max(round((triangles / 2 / ratio) ** 0.5) + 1, 4)
        return patch(surface, round(triangles / 2 / (columns - 1)) + 1, columns, **cuts)

    return make


PANELS: dict[str, Callable[[int], PanelMesh]] = {
    "ovoid quarter, 3 darts": _patch(ovoid, 2.2, darts=((0.3, 0.45), (0.5, 0.45), (0.7, 0.45))),
    "saddle": _patch(saddle(500.0, 0.0016), 1.0),
    "concave loft": _patch(waist, 1.2),
    "ovoid with a hole": _patch(ovoid, 2.2, hole=0.3),
    "scan-like, 2 darts": _patch(bumpy, 2.2, darts=((0.35, 0.4), (0.65, 0.4))),
    "seam side, dome": _patch(seam_dome, 0.5),
    "seam side, hollow": _patch(seam_hollow, 0.5),
}

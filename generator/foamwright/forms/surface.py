"""The one face that every form shows to the rest: surface coordinates in, points and normals out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np


@dataclass(frozen=True, eq=False)
class Triangulation:
    """A whole form as triangles: `coords` (n, k), `faces` (m, 3) counter-clockwise from outside.

    `start` and `end` are the vertices on the open rim where a form begins or ends without closing.
    """

    coords: np.ndarray
    faces: np.ndarray
    start: np.ndarray
    end: np.ndarray


class Surface(Protocol):
    """A smooth closed surface without thickness, lengths in mm.

    A place on it is a row of coordinates. What they are is the surface's own affair: (u, v) where a formula
    gives it (`PeriodicCoordinates`), a point of the mesh where it was imported (`MeshSurface`). Whoever moves
    about on a surface does so by the methods below. All arrays hold N places in N rows.
    """

    def point(self, coords: np.ndarray) -> np.ndarray:
        """(N, k) coordinates to (N, 3) points."""
        ...

    def normal(self, coords: np.ndarray) -> np.ndarray:
        """(N, k) coordinates to (N, 3) outward unit normals, well defined everywhere."""
        ...

    def offset(self, coords: np.ndarray, distance: float | np.ndarray) -> np.ndarray:
        """Points at `distance` along the normal: `point + distance * normal`. (N, 3)."""
        ...

    def moved(self, coords: np.ndarray, step: np.ndarray) -> np.ndarray:
        """Coordinates after a step (N, 2) or (2,) in two directions along the surface; 1 is about its size."""
        ...

    def tangents(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """How the point changes with the two numbers of `moved`'s step: two (N, 3)."""
        ...

    def within(self, coords: np.ndarray) -> np.ndarray:
        """Coordinates brought back to the nearest end of the form where they went past it."""
        ...

    def blend(self, corners: np.ndarray, weights: np.ndarray) -> np.ndarray:
        """The places (N, k) at weights (N, m) that sum to 1 between corners (N, m, k) close to each other."""
        ...

    def near(self, coords: np.ndarray, reference: np.ndarray) -> np.ndarray:
        """The same places, written the way that is nearest to `reference`, so that coordinates do not jump."""
        ...

    def at_pole(self, coords: np.ndarray) -> np.ndarray:
        """(N,) True where coordinates are a pole, so that not all of them mean something."""
        ...

    def triangulation(self, faces: int) -> Triangulation:
        """The whole form as about `faces` triangles of about one size in its coordinates."""
        ...

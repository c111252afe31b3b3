"""The one face that every form shows to the rest: surface coordinates in, points and normals out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

SAMPLES = 6000  # about, over a whole form
# Foam that is bent over a crease leaves the sheets beside it within this share of how far they are carried on past it,
BEND = 0.25
NARROW = 0.45  # and within this share of how far the next crease is from it.


@dataclass(frozen=True, eq=False)
class Triangulation:
    """A whole form as triangles: `coords` (n, k), `faces` (m, 3) counter-clockwise from outside.

    `start` and `end` are the vertices on the open rim where a form begins or ends without closing.
    """

    coords: np.ndarray
    faces: np.ndarray
    start: np.ndarray
    end: np.ndarray


@dataclass(frozen=True, eq=False)
class Crease:
    """Where two sheets of a form meet: points (K, 3) close together along it, the unit way `ahead` (K, 3) there with the
    first sheet on its left seen from outside, and the unit `normals` (2, K, 3) of both sheets."""

    sheets: tuple[int, int]
    points: np.ndarray
    ahead: np.ndarray
    normals: np.ndarray

    @cached_property
    def turns(self) -> np.ndarray:
        """(K,) by how many degrees it turns, negative where it is hollow."""
        first, second = self.normals
        rise = -(second * np.cross(first, self.ahead)).sum(1)
        return np.degrees(np.arctan2(rise, (first * second).sum(1)))

    @cached_property
    def turn(self) -> float:
        """By how many degrees it turns on average."""
        return float(np.abs(self.turns).mean())


class Surface(Protocol):
    """A closed surface without thickness, smooth but for its creases; lengths in mm.

    Creases part it into `sheets`, numbered from 0, each smooth. A panel lies on one of them and takes everything
    from that sheet alone: what lies across a crease has other normals, and other places beside the surface.

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

    def coarse_search(self) -> tuple[np.ndarray, Callable[[np.ndarray], np.ndarray]]:
        """Points (S, 3) spread over it, and what gives for points (N, 3) coordinates (N, k) near the place nearest to each."""
        ...

    sheet_count: int

    def sheet(self, numbers: tuple[int, ...], reach: float) -> Surface:
        """Sheets by themselves, carried on smoothly by `reach` mm past their creases; with coordinates of their own.

        Beside the creases between them the normal turns evenly from that of one to that of the other, as in foam that is
        bent over them.
        """
        ...

    def creases(self) -> tuple[Crease, ...]:
        """One for each pair of sheets that meet."""
        ...

    def unbent(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Points (N, 3), the normals there of the sheet on which each lies, which foam bent over a crease does not follow
        beside it, and that sheet's number (N,)."""
        ...

    def samples(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Points (S, 3) spread over the whole form, the area in mm2 that each stands for, and the sheet it is on."""
        ...

    def height(self, points: np.ndarray) -> np.ndarray:
        """(N,) how far points (N, 3) beside a sheet are from it, negative inside."""
        ...

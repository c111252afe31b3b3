"""A loft: sections of one family along an axis, and the sides of one whose sections have corners."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy

import numpy as np

from foamwright.forms.axes import turning_frame
from foamwright.forms.mesh import Bend, bends
from foamwright.forms.parametric import Parametric, Profile, once_around
from foamwright.forms.periodic import grid
from foamwright.forms.surface import BEND, SAMPLES, Crease, Surface, Triangulation
from foamwright.geometry import Mesh

_RHOMB = 1e-9  # of an exponent: this near to 1 the section is a rhomb
_ALONG = 720  # points that stand for a crease
_CORNERS = np.array(
    [(1.0, 0.0), (0.0, -1.0), (-1.0, 0.0), (0.0, 1.0)]
)  # in half widths and heights, as v comes to them
_FARTHEST = 0.9  # of a side: how far it is carried on past its corners at most, short of where coordinates meet again


class Loft(Parametric):
    """Superelliptic sections along an axis, joined by cubic splines.

    `stations` (N,), `half` (N, 2) half widths and half heights, `centres` (N, 2), `exponents` (N,) with
    2 for an ellipse. The section's two directions are those of an outline seen along the axis. Where all exponents are 1 the
    sections are rhombs, and the loft has a crease along each of their four corners.
    """

    def __init__(self, axis: str, stations, half, centres, exponents):
        half = np.asarray(half, float)
        self.frame = turning_frame(axis)
        others = np.column_stack([np.asarray(centres, float), np.asarray(exponents, float)])
        self._profile = Profile(np.asarray(stations, float), half, others, True)
        self.poles = self._profile.poles
        self.sheet_count = 4 if np.abs(self._profile.values(self._profile.knots)[-1] - 1.0).max() < _RHOMB else 1

    def carried_on(self, start: float, end: float) -> Loft:
        """The form going straight on at its two ends, by so many mm along its width, or short of the axis."""
        longer = copy(self)
        longer._profile = self._profile.carried_on(start, end, 2)
        return longer

    def sheet(self, numbers: tuple[int, ...], reach: float) -> Surface:
        """Sheet k lies between the k-th corner of the sections and the next, in the order in which v comes to them."""
        if self.sheet_count == 1:
            return self
        first = next(k for k in numbers if (k - 1) % 4 not in numbers)
        corners = tuple((first + k) % 4 for k in range(1, len(numbers)))
        bent = tuple(crease for k, crease in enumerate(self.creases()) if k in corners)
        turning = bends(bent, self.creases(), BEND * reach)
        return LoftSides(self.frame, self._profile, (first, first + len(numbers)), reach, bent, turning)

    def creases(self) -> tuple[Crease, ...]:
        if self.sheet_count == 1:
            return ()
        u = (np.arange(_ALONG) + 0.5) / _ALONG if any(self.poles) else np.linspace(0.0, 1.0, _ALONG)
        sides = [LoftSides(self.frame, self._profile, (k, k + 1), 0.0, (), {}) for k in range(4)]
        creases = []
        for k, side in enumerate(sides):
            here, there = (np.column_stack([u, np.full(_ALONG, v / 4)]) for v in (k, (k - 1) % 4 + 1))
            ahead = side.partials(here)[0]
            ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
            normals = np.stack([side.normal(here), sides[k - 1].normal(there)])
            creases.append(Crease((k, (k - 1) % 4), side.point(here), ahead, normals))
        return tuple(creases)

    def samples(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        made = self.triangulation(SAMPLES)
        middle = self.blend(made.coords[made.faces], np.full((len(made.faces), 3), 1 / 3))
        return self.point(middle), Mesh(self.point(made.coords), made.faces).areas, self._number(middle)

    def unbent(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return self.point(coords), self.normal(coords), self._number(coords)

    def _number(self, coords: np.ndarray) -> np.ndarray:
        return (
            np.zeros(len(coords), int) if self.sheet_count == 1 else np.floor(4 * (coords[:, 1] % 1.0)).astype(int) % 4
        )

    def _section(self, u, v):
        station, a, b, y, z, n = self._profile.values(u)
        c, s = once_around(v)
        c_n, s_n = np.abs(c) ** n, np.abs(s) ** n
        return station, a, b, y, z, n, c, s, (c_n + s_n) ** (-1 / n), c_n, s_n

    def point(self, coords):
        coords = np.asarray(coords, float)
        station, a, b, y, z, _, c, s, rho, *_ = self._section(coords[:, 0], coords[:, 1])
        return np.column_stack([station, y + a * rho * c, z + b * rho * s]) @ self.frame.T

    def partials(self, coords):
        coords = np.asarray(coords, float)
        u = coords[:, 0]
        _, a, b, _, _, n, c, s, rho, c_n, s_n = self._section(u, coords[:, 1])
        d_station, da, db, dy, dz, dn = self._profile.derivatives(u)
        # rho = g^(-1/n) with g = |c|^n + |s|^n
        g = c_n + s_n
        log_c = np.log(np.maximum(np.abs(c), 1e-300))
        log_s = np.log(np.maximum(np.abs(s), 1e-300))
        g_n = c_n * log_c + s_n * log_s
        rho_n = rho * (np.log(g) / n**2 - g_n / (n * g))
        du = np.column_stack(
            [
                d_station,
                dy + (da * rho + a * rho_n * dn) * c,
                dz + (db * rho + b * rho_n * dn) * s,
            ]
        )
        c_v, s_v = 2 * np.pi * s, -2 * np.pi * c  # of the clockwise ring
        g_v = n * (np.abs(c) ** (n - 1) * np.sign(c) * c_v + np.abs(s) ** (n - 1) * np.sign(s) * s_v)
        rho_v = -rho / (n * g) * g_v
        dv = np.column_stack([np.zeros_like(c), a * (rho_v * c + rho * c_v), b * (rho_v * s + rho * s_v)])
        return du @ self.frame.T, dv @ self.frame.T


class LoftSides(Parametric):
    """Neighbouring sides of a loft whose sections are rhombs, from one of their corners to another: `sides` counts corners as
    v comes to them, four to a turn. Between two corners a section is straight; at the outer ones it goes straight on by `reach`
    mm. Beside `bent`, the creases between the sides, the normal turns evenly as `turning`, by side, says."""

    def __init__(
        self,
        frame: np.ndarray,
        profile: Profile,
        sides: tuple[int, int],
        reach: float,
        bent: tuple[Crease, ...],
        turning: Mapping[int, Bend],
    ):
        self.frame, self._profile, self.poles = frame, profile, profile.poles
        self._sides, self._bent, self._turning = sides, bent, turning
        _, half, other, *_ = profile.values(np.linspace(0.0, 1.0, _ALONG))
        on = min(reach / float(np.hypot(half, other).max()), _FARTHEST)
        self._ends = (sides[0] - on) / 4, (sides[1] + on) / 4

    def creases(self) -> tuple[Crease, ...]:
        return self._bent

    def within(self, coords: np.ndarray) -> np.ndarray:
        return np.column_stack([np.clip(coords[:, 0], 0.0, 1.0), np.clip(coords[:, 1], *self._ends)])

    def triangulation(self, faces: int) -> Triangulation:
        return grid(faces, self.poles, self._ends)

    def point(self, coords: np.ndarray) -> np.ndarray:
        coords = np.asarray(coords, float)
        values = self._profile.values(coords[:, 0])
        return self._in_space(values[0], values[3:5], self._section(values[1:3], coords)[0])

    def partials(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        coords = np.asarray(coords, float)
        values, slopes = self._profile.values(coords[:, 0]), self._profile.derivatives(coords[:, 0])
        du = self._in_space(slopes[0], slopes[3:5], self._section(slopes[1:3], coords)[0])
        return du, self._in_space(0.0 * values[0], 0.0 * values[3:5], self._section(values[1:3], coords)[1])

    def normal(self, coords: np.ndarray) -> np.ndarray:
        coords = np.asarray(coords, float)
        normals, number = super().normal(coords), self._side(coords) % 4
        for side, bend in self._turning.items():
            mine = number == side
            if mine.any():
                normals[mine] = bend.leaning(self.point(coords[mine]), normals[mine])
        return normals

    def unbent(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return self.point(coords), super().normal(coords), self._side(coords) % 4

    def _side(self, coords: np.ndarray) -> np.ndarray:
        """(N,) the corner from which each place's side goes out."""
        return np.clip(np.floor(4 * coords[:, 1]), self._sides[0], self._sides[1] - 1).astype(int)

    def _section(self, half: np.ndarray, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Each place (N, 2) in a section of so much half width and height (2, N), from its centre, and its slope along v."""
        side = self._side(coords)
        before, after = (half.T * _CORNERS[number % 4] for number in (side, side + 1))
        return before + (4 * coords[:, 1] - side)[:, None] * (after - before), 4 * (after - before)

    def _in_space(self, station: np.ndarray, centre: np.ndarray, beside: np.ndarray) -> np.ndarray:
        return np.column_stack([station, centre.T + beside]) @ self.frame.T

"""A loft: sections of one family along an axis, and the sides of one whose sections have corners."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import copy
from itertools import pairwise

import numpy as np
from scipy.spatial import cKDTree

from foamwright.forms.axes import turning_frame
from foamwright.forms.mesh import Bend, bends
from foamwright.forms.parametric import SEARCHED, Parametric, Profile, once_around
from foamwright.forms.periodic import grid
from foamwright.forms.surface import BEND, SAMPLES, Crease, Surface, Triangulation
from foamwright.geometry import Mesh

_RHOMB = 1e-9  # of an exponent: this near to 1 the section is a rhomb
_ALONG = 720  # points that stand for a crease
_CORNERS = np.array(
    [(1.0, 0.0), (0.0, -1.0), (-1.0, 0.0), (0.0, 1.0)]
)  # in half widths and heights, as v comes to them
_A_LITTLE = 0.001  # of a turn
_LOST = 1e-9  # of the size of a loft: how far a place moves with v where rounding leaves nothing of that
_FARTHEST = 0.9  # of a side: how far it is carried on past its corners at most, short of where coordinates meet again


class Loft(Parametric):
    """Superelliptic sections along an axis, joined by cubic splines.

    `stations` (N,), `half` (N, 2) half widths and half heights, `centres` (N, 2), `exponents` (N,) with
    2 for an ellipse. The section's two directions are those of an outline seen along the axis. Where all exponents are 1 the
    sections are rhombs, and the loft has a crease along each of their four corners. At an end without width, or without
    height, the loft ends in a line, as a boat does in its stem; there both sides meet in a crease.
    """

    def __init__(self, axis: str, stations, half, centres, exponents):
        half = np.asarray(half, float)
        self.frame = turning_frame(axis)
        others = np.column_stack([np.asarray(centres, float), np.asarray(exponents, float)])
        self._profile = Profile(np.asarray(stations, float), half, others, True)
        self.poles = self._profile.poles
        # by end, 0 or 1: which of width and height there is none of
        self._lines = {
            end: narrow for end in (0, 1) for narrow in (0, 1) if half[-end, narrow] == 0.0 and not self.poles[end]
        }
        self.tips = 0 in self._lines, 1 in self._lines
        self._rhombs = np.abs(self._profile.values(self._profile.knots)[-1] - 1.0).max() < _RHOMB
        ends_of_lines = {1 - narrow for narrow in self._lines.values()}
        self._corners = [k for k in range(4) if self._rhombs or k % 2 in ends_of_lines]
        self.sheet_count = max(len(self._corners), 1)

    @property
    def notes(self) -> tuple[str, ...]:
        """Where the smooth surface leaves its sections, for the maker."""
        told = (
            "between its sections at {start:.0f} and {end:.0f} its {what} is {by:.1f} mm {way} than at both; {remedy}"
        )
        remedy = "set a section between them where it must not be"
        return tuple(
            told.format(
                what=what, by=abs(by) * 2, way="more" if by > 0 else "less", start=start, end=end, remedy=remedy
            )
            for row, what in ((1, "width"), (2, "height"))
            for start, end, by in self._profile.swells(row)
        )

    def carried_on(self, start: float, end: float) -> Loft:
        """The form going straight on at its two ends, by so many mm along its width, or short of the axis."""
        longer = copy(self)
        longer._profile = self._profile.carried_on(start, end, (1, 2))
        return longer

    def sheet(self, numbers: tuple[int, ...], reach: float) -> Surface:
        """Sheet k lies between the k-th of the corners that the form is parted at and the next, in the order in which v comes to
        them."""
        count = self.sheet_count
        if len(numbers) == count:
            return self
        first = next(k for k in numbers if (k - 1) % count not in numbers)
        start, stop = (self._corners[k % count] + 4 * (k // count) for k in (first, first + len(numbers)))
        profile = self._through_lines(reach)
        if not self._rhombs:
            return LoftPart(self, profile, (start, stop))
        within = {(first + k) % 4 for k in range(1, len(numbers))}
        creases = self.creases()
        bent = tuple(crease for k, crease in enumerate(creases[:4]) if k in within)
        return LoftSides(self.frame, profile, (start, stop), reach, bent, bends(bent, creases, BEND * reach))

    def _through_lines(self, reach: float) -> Profile:
        """The profile going straight on through the lines in which the form ends, to the other side of them."""
        profile = self._profile
        for end, narrow in self._lines.items():
            onwards = (0.0, reach) if end else (reach, 0.0)
            profile = profile.carried_on(*onwards, (2 - narrow,))
        return profile

    def creases(self) -> tuple[Crease, ...]:
        """Those along the corners, the k-th with sheet k on its left, and then those at the lines in which the form ends."""
        if self.sheet_count == 1:
            return ()
        u = (np.arange(_ALONG) + 0.5) / _ALONG if any(self.poles) else np.linspace(0.0, 1.0, _ALONG)
        sides = [self._side(k) for k in range(self.sheet_count)]
        creases = []
        for k, (side, corner) in enumerate(zip(sides, self._corners)):
            here, there = (np.column_stack([u, np.full(_ALONG, v / 4)]) for v in (corner, corner if k else corner + 4))
            ahead = side.partials(here)[0]
            ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
            normals = np.stack([side.normal(here), sides[k - 1].normal(there)])
            creases.append(Crease((k, (k - 1) % self.sheet_count), side.point(here), ahead, normals))
        return (*creases, *(crease for end in self._lines for crease in self._in_line(end, sides)))

    def _side(self, number: int) -> LoftSides | LoftPart:
        """A sheet that ends at its creases."""
        start, stop = (self._corners[k % self.sheet_count] + 4 * (k // self.sheet_count) for k in (number, number + 1))
        if self._rhombs:
            return LoftSides(self.frame, self._profile, (start, stop), 0.0, (), {})
        return LoftPart(self, self._profile, (start, stop))

    def _in_line(self, end: int, sides: Sequence[LoftSides | LoftPart]) -> list[Crease]:
        """The crease at a line in which the form ends, one for each two sheets that meet there."""
        narrow = self._lines[end]
        mirror = 2 + 2 * narrow  # corner c of the sections lies where the corner `mirror` - c does
        stops = [corner for corner in range(3 - narrow, 6 - narrow) if corner % 4 in self._corners]
        creases = []
        for start, stop in pairwise(stops):
            v = np.linspace(start, stop, _ALONG) / 4
            line = self.point(np.column_stack([np.full(_ALONG, float(end)), v]))
            way = (line[-1] - line[0]) / np.linalg.norm(line[-1] - line[0])
            numbers, normals = [], []
            for corner, around, along in ((start, v, way), (mirror - stop, mirror / 4 - v, -way)):
                numbers.append(self._corners.index(corner % 4))
                at = np.column_stack([np.full(_ALONG, float(end)), around - corner // 4])
                normal = np.cross(sides[numbers[-1]].partials(at)[0], along)
                normal[[0, -1]] = normal[[1, -2]]  # at its ends both sides of rounded sections face apart
                normals.append(normal / np.linalg.norm(normal, axis=1, keepdims=True))
            ahead = np.tile(way if end else -way, (_ALONG, 1))
            creases.append(Crease((numbers[0], numbers[1]), line, ahead, np.stack(normals)))
        return creases

    def samples(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        made = self.triangulation(SAMPLES)
        middle = self.blend(made.coords[made.faces], np.full((len(made.faces), 3), 1 / 3))
        return self.point(middle), Mesh(self.point(made.coords), made.faces).areas, self._number(middle)

    def unbent(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return self.point(coords), self.normal(coords), self._number(coords)

    def _number(self, coords: np.ndarray) -> np.ndarray:
        if self.sheet_count == 1:
            return np.zeros(len(coords), int)
        return (np.searchsorted(self._corners, 4 * (coords[:, 1] % 1.0), side="right") - 1) % self.sheet_count

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


class LoftPart(Loft):
    """Neighbouring sheets of a loft with rounded sections, from one corner of these to another: `corners` counts them as v comes
    to them, four to a turn. Past both it goes a little straight on, and by its `profile` past the lines in which the loft
    ends."""

    def __init__(self, loft: Loft, profile: Profile, corners: tuple[int, int]):
        self.frame, self._profile, self.poles = loft.frame, profile, profile.poles
        self.tips, self._corners, self._lines, self._rhombs, self.sheet_count = (False, False), [], {}, False, 1
        self._first, self._last = (corner / 4 for corner in corners)
        self._size = float(np.abs(profile.values(profile.knots)[1:3]).max())

    def within(self, coords: np.ndarray) -> np.ndarray:
        ends = self._first - _A_LITTLE, self._last + _A_LITTLE
        return np.column_stack([np.clip(coords[:, 0], 0.0, 1.0), np.clip(coords[:, 1], *ends)])

    def triangulation(self, faces: int) -> Triangulation:
        return grid(faces, self.poles, (self._first - _A_LITTLE, self._last + _A_LITTLE))

    def coarse_search(self) -> tuple[np.ndarray, Callable[[np.ndarray], np.ndarray]]:
        """Past a line in which the loft ends, what faces away from the line alone is looked at: the caps of a section that is low
        beside thick foam are nearer there than the side that goes straight on."""
        samples, start = super().coarse_search()
        coords = self.triangulation(SEARCHED).coords
        facing = np.abs(np.column_stack(once_around(coords[:, 1])))
        stations, *halves = self._profile.values(np.linspace(0.0, 1.0, _ALONG))[:3]
        lines = [
            (half, cKDTree(samples[own]), coords[own])
            for narrow, half in enumerate(halves)
            if half.min() < 0.0
            for own in [facing[:, narrow] >= facing[:, 1 - narrow]]
        ]

        def beside_lines(points: np.ndarray) -> np.ndarray:
            found = np.array(start(points))
            for half, tree, places in lines:
                past = np.interp(points @ self.frame[:, 0], stations, half) < 0.0
                found[past] = places[tree.query(points[past])[1]]
            return found

        return samples, beside_lines

    def point(self, coords: np.ndarray) -> np.ndarray:
        coords, own = np.asarray(coords, float), self._own(coords)
        return super().point(own) + (coords - own)[:, 1:] * self._straight_on(own)

    def partials(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        own = self._own(coords)
        du, dv = super().partials(own)
        # through a line the foam goes straight on, with the normals that it has there
        through = np.column_stack([np.zeros(len(own)), (self._profile.values(own[:, 0])[1:3] < 0).T]) @ self.frame.T
        dv = np.where(np.abs(through) > 0.5, 0.0, dv)
        past = (own[:, 1] == self._first) | (own[:, 1] == self._last)
        dv = np.where(past[:, None], self._straight_on(own), dv)
        lost = np.linalg.norm(dv, axis=1) < _LOST * self._size
        if lost.any():  # by rounding, near the end of a line, which the section follows there
            middle = np.column_stack([own[lost, 0], np.full(np.count_nonzero(lost), (self._first + self._last) / 2)])
            dv[lost] = np.sign(middle - own[lost])[:, 1:] * (super().point(middle) - super().point(own[lost]))
        return du, dv

    def _own(self, coords: np.ndarray) -> np.ndarray:
        """Places (N, 2), those past one of both corners at that corner."""
        coords = np.asarray(coords, float)
        return np.column_stack([coords[:, 0], np.clip(coords[:, 1], self._first, self._last)])

    def _straight_on(self, coords: np.ndarray) -> np.ndarray:
        """(N, 3) how a place at a corner moves with v: there the sections are level."""
        ahead = _CORNERS[(np.round(4 * coords[:, 1]).astype(int) + 1) % 4]
        return 2 * np.pi * self._size * np.column_stack([np.zeros(len(ahead)), ahead]) @ self.frame.T


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

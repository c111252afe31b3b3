"""Thin sheets in space: bent from flat, glued along lines, until they lie as easily as they can. Knows arrays only.

The energy is that of a thin elastic sheet, for each mm of thickness and unit stiffness: Green's strain in the surface
that keeps its lengths (Saint Venant and Kirchhoff), and bending from flat by the quadratic form of Bergou et al., "A
Quadratic Bending Model for Inextensible Surfaces" (SGP 2006). Glued points pull at each other by stiff springs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from foamwright.proof.bench.rigid import moves

_POISSON = 0.3  # of foam; taken from memory, 0.2 to 0.35 in handbooks
_BEND = 0.3  # of what it takes to bend the foam cold, as it is bent beforehand; common practice, no source
_EASIER, _HARDER = 0.2, 3.0  # times the damping, at least and to begin with
_GLUE = 2.0  # stiffness of a glued line, each mm of it
_SET = 0.2  # share of that which foam keeps when it is formed to an even curve beforehand; common practice, no source
_DEGREES = (2, 3)  # of the polynomials whose graph is an even curve
_HINGE = 2.0 * np.sqrt(3.0)  # a glued line bends like any line across even triangles, whose side is 1 here


@dataclass(frozen=True, eq=False)
class Spots:
    """Points of sheets: for each the corners (K, 3) of its triangle, its weights (K, 3), and `lift` (K,) along the
    triangle's normal."""

    corners: np.ndarray
    weights: np.ndarray
    lift: np.ndarray

    def __getitem__(self, some) -> Spots:
        return Spots(self.corners[some], self.weights[some], self.lift[some])

    @property
    def still(self) -> bool:
        """Do they stay where they are, whatever moves?"""
        return not (self.weights.any() or self.lift.any())

    def at(self, x: np.ndarray) -> np.ndarray:
        """(K, 3) for vertices at `x` (n, 3)."""
        foot = np.einsum("ki,kij->kj", self.weights, x[self.corners])
        return foot + self.lift[:, None] * _normals(x[self.corners])[0]


NO_SPOTS = Spots(np.zeros((0, 3), int), np.zeros((0, 3)), np.zeros(0))


def joined(spots: Sequence[Spots]) -> Spots:
    every = [NO_SPOTS, *spots]
    return Spots(*(np.concatenate([getattr(s, n) for s in every]) for n in ("corners", "weights", "lift")))


@dataclass(frozen=True, eq=False)
class Holds:
    """Points `a` that are held at a distance `off` (H,) from points `b` along `directions` (H, 3), but slide across these;
    each stands for `share` (H,) mm of a glued line."""

    a: Spots
    b: Spots
    directions: np.ndarray
    off: np.ndarray
    share: np.ndarray

    def left(self, x: np.ndarray) -> np.ndarray:
        """(H,) how far they are from where they are held."""
        gap: np.ndarray = ((self.a.at(x) - self.b.at(x)) * self.directions).sum(axis=1) - self.off
        return gap


@dataclass(frozen=True, eq=False)
class Sheets:
    """Flat sheets (n, 2) with triangles (m, 3), counter-clockwise; `thickness` and `stiff` (m,) of each triangle.

    `piece` (m,) is the number of the sheet, and `stiff` multiplies what it takes to stretch and to bend it. `a` and `b`
    are glued, in two halves: one side of what touches, then the other; `share` (K / 2,) is the length in mm that each
    pair stands for.
    """

    flat: np.ndarray
    triangles: np.ndarray
    thickness: np.ndarray
    stiff: np.ndarray
    piece: np.ndarray
    a: Spots
    b: Spots
    share: np.ndarray

    @cached_property
    def bending(self) -> tuple[sparse.csr_matrix, np.ndarray]:
        """What `_bending` makes of them, the same for all that they are held by."""
        return _bending(self)

    @cached_property
    def even(self) -> sparse.csr_matrix:
        """(h, k) what even curves, some for each sheet that bends, make of the rows of `bending`."""
        return _all_even(self)


@dataclass(frozen=True, eq=False)
class Rested:
    """Vertices (n, 3) at rest, the energy, and how many steps it took; `moved` is the largest of the last step, and
    `still` tells that no further one would ease it."""

    points: np.ndarray
    energy: float
    steps: int
    moved: float
    still: bool


def at_rest(
    sheets: Sheets,
    start: np.ndarray,
    holds: Holds | None = None,
    steps: int = 60,
    enough: float = 0.02,
    formed: bool = False,
    eases: float = 1e-7,
) -> Rested:
    """From `start` (n, 3) by steps of Levenberg and Marquardt, damped by what they ease beside what they promise (Nielsen,
    "Damping Parameter in Marquardt's Method", 1999), until none is longer than `enough` mm, or eases the sheets by
    less than that share of their energy; `holds` pull at them beside the glue. What is held to nothing that stands still stays
    where it is, as a whole: holds have their directions from the start, and would turn it.

    With `formed` the sheets are bent beforehand, each to the even curve that suits it best; without they are flat.
    """
    terms = _Formed(sheets, holds) if formed else _Terms(sheets, holds)
    x = np.concatenate([start.ravel(), terms.curves(start)])
    energy, jacobian, residual = terms.linear(x)
    damping, harder = 1e-3, _HARDER
    moved = np.inf
    taken, still = 0, False
    while taken < steps:
        taken += 1
        hessian = (jacobian.T @ jacobian).tocsc()
        gradient = jacobian.T @ residual
        while True:
            damped = hessian + damping * sparse.identity(hessian.shape[0], format="csc")
            change = _solved(damped, gradient, terms.rigid(x))
            tried = terms.energy(x + change)
            if tried <= energy or damping > 1e8:
                break
            damping *= harder
            harder *= 2.0
        if tried > energy:
            still = True
            break
        x = x + change
        step = change[: start.size].reshape(-1, 3)
        moved = float(np.abs(step - step.mean(axis=0)).max())
        eased = energy - tried
        told = (damping * float(change @ change) - float(gradient @ change)) / 2.0
        damping = max(damping * max(_EASIER, 1.0 - (2.0 * eased / max(told, 1e-300) - 1.0) ** 3), 1e-7)
        harder = _HARDER
        energy, jacobian, residual = terms.linear(x)
        if (moved < enough and damping < 1e-3) or eased < eases * energy:
            still = True
            break
    return Rested(x[: start.size].reshape(-1, 3), energy, taken, moved, still)


def _solved(matrix: sparse.csc_matrix, gradient: np.ndarray, without: np.ndarray) -> np.ndarray:
    """The step down, of a matrix that is symmetric and positive, that has nothing of the columns of `without` (n, r). Columns
    that are the same for all of a sheet, as those of even curves, are no reason to count others as full (`relax`), which
    takes three times as long."""
    options = {"SymmetricMode": True}
    factors = splu(matrix, permc_spec="MMD_AT_PLUS_A", options=options, diag_pivot_thresh=0.0, relax=1)
    found: np.ndarray = factors.solve(gradient)
    if without.shape[1]:
        across = factors.solve(without)
        found = found - across @ np.linalg.solve(without.T @ across, without.T @ found)
    return -found


class _Terms:
    """The residuals of all terms and how they change; half their squares is the energy. Unknowns are the points, x, y
    and z one after another."""

    def __init__(self, sheets: Sheets, holds: Holds | None) -> None:
        self._sheets, self._holds = sheets, holds
        flat, triangles = sheets.flat, sheets.triangles
        a, b, c = (flat[triangles[:, k]] for k in range(3))
        edges = np.stack([b - a, c - a], axis=2)  # columns are edges
        self._area = np.abs(np.linalg.det(edges)) / 2
        self._back = np.linalg.inv(edges)  # (m, 2, 2)
        self._root = np.sqrt(self._area * sheets.stiff)
        bending, self._hinges = sheets.bending
        self._bend = np.sqrt(_BEND) * bending
        self._bend_each = sparse.kron(self._bend, sparse.identity(3), format="csr")  # of x, y and z
        self._glue = np.sqrt(_GLUE * sheets.share)
        self._hinge = np.sqrt(_HINGE * _BEND * sheets.share / 12.0 / np.sqrt(self._area.mean() * 2.0))
        self._hold = np.sqrt(_GLUE * holds.share) if holds is not None else None
        self._unknown = 3 * len(flat)

    def curves(self, points: np.ndarray) -> np.ndarray:
        """Unknowns beside the points, to begin with."""
        return np.zeros(0)

    def energy(self, unknown: np.ndarray) -> float:
        return 0.5 * float(sum((r * r).sum() for r in self._residuals(unknown)))

    def _residuals(self, unknown: np.ndarray) -> list[np.ndarray]:
        x = unknown[: 3 * len(self._sheets.flat)].reshape(-1, 3)
        strain = self._strain(self._gradient(x))
        parts = [strain, *self._bent(x, unknown[x.size :]), *self._glued(x)]
        if self._hold is not None and self._holds is not None:
            parts.append(self._hold * self._holds.left(x))
        return parts

    def rigid(self, unknown: np.ndarray) -> np.ndarray:
        """(n, 6) how the unknowns change when everything moves as one, of what is held to itself alone; else (n, 0)."""
        if self._holds is None or self._holds.b.still:
            return np.zeros((self._unknown, 0))
        x = unknown[: 3 * len(self._sheets.flat)].reshape(-1, 3)
        beside = x - x.mean(axis=0)
        found = np.zeros((self._unknown, 6))
        found[: x.size] = moves(beside / np.abs(beside).max()).reshape(-1, 6)
        return found

    def _bent(self, x: np.ndarray, curves: np.ndarray) -> list[np.ndarray]:
        return [self._bend @ x]

    def _bent_jacobian(self, x: np.ndarray) -> list[sparse.csr_matrix]:
        return [self._bend_each]

    def _gradient(self, x: np.ndarray) -> np.ndarray:
        a, b, c = (x[self._sheets.triangles[:, k]] for k in range(3))
        return np.stack([b - a, c - a], axis=2) @ self._back  # (m, 3, 2)

    def _strain(self, f: np.ndarray) -> np.ndarray:
        """(m, 4): along, across, shear, and both together, each as its share of the energy."""
        green = (np.swapaxes(f, 1, 2) @ f - np.eye(2)) / 2
        e = np.stack([green[:, 0, 0], green[:, 1, 1], np.sqrt(2.0) * green[:, 0, 1]], axis=1)
        both = green[:, 0, 0] + green[:, 1, 1]
        return self._root[:, None] * np.column_stack([np.sqrt(1 - _POISSON) * e, np.sqrt(_POISSON) * both])

    def _glued(self, x: np.ndarray) -> list[np.ndarray]:
        half = len(self._sheets.share)
        apart = self._sheets.a.at(x) - self._sheets.b.at(x)
        first, second = apart[:half], apart[half:]
        return [self._glue[:, None] * (first + second) / 2, self._hinge[:, None] * (second - first)]

    def linear(self, unknown: np.ndarray) -> tuple[float, sparse.csr_matrix, np.ndarray]:
        """The energy, the jacobian and the residuals."""
        x = unknown[: 3 * len(self._sheets.flat)].reshape(-1, 3)
        residuals = self._residuals(unknown)
        blocks = [self._strain_jacobian(x), *self._bent_jacobian(x)]
        half = len(self._sheets.share)
        count = len(x)
        apart = _beside(_moves(self._sheets.a, x), -_moves(self._sheets.b, x))
        corners = np.hstack([self._sheets.a.corners, self._sheets.b.corners])
        first, second, both = apart[:half], apart[half:], np.hstack([corners[:half], corners[half:]])
        blocks.append(_by_points(self._glue[:, None, None, None] / 2 * _beside(first, second), both, count))
        blocks.append(_by_points(self._hinge[:, None, None, None] * _beside(-first, second), both, count))
        if self._hold is not None and self._holds is not None:
            holds = self._holds
            ways = (self._hold[:, None] * holds.directions)[:, None, None, :]
            along, corners = (ways @ _moves(holds.a, x))[:, :, 0, None], holds.a.corners
            if not holds.b.still:
                along = _beside(along, -(ways @ _moves(holds.b, x))[:, :, 0, None])
                corners = np.hstack([corners, holds.b.corners])
            blocks.append(_by_points(along, corners, count))
        wide = self._unknown
        for number, block in enumerate(blocks):
            if block.shape[1] < wide:
                block.resize(block.shape[0], wide)
                blocks[number] = block
        jacobian = sparse.vstack(blocks, format="csr")
        residual = np.concatenate([r.ravel() for r in residuals])
        return 0.5 * float(residual @ residual), jacobian, residual

    def _strain_jacobian(self, x: np.ndarray) -> sparse.csr_matrix:
        f = self._gradient(x)
        back = self._back
        # how F changes with the corners: dF = [db - da, dc - da] back
        by = np.stack([-(back[:, 0] + back[:, 1]), back[:, 0], back[:, 1]], axis=1)  # (m, corner, 2)
        # d e_ij = (dF_i . F_j + F_i . dF_j) / 2
        along = np.einsum("mc,mk->mck", by[:, :, 0], f[:, :, 0])
        across = np.einsum("mc,mk->mck", by[:, :, 1], f[:, :, 1])
        shear = (
            np.einsum("mc,mk->mck", by[:, :, 0], f[:, :, 1]) + np.einsum("mc,mk->mck", by[:, :, 1], f[:, :, 0])
        ) / 2
        rows = np.stack(
            [
                np.sqrt(1 - _POISSON) * along,
                np.sqrt(1 - _POISSON) * across,
                np.sqrt(2.0 * (1 - _POISSON)) * shear,
                np.sqrt(_POISSON) * (along + across),
            ],
            axis=1,
        )  # (m, 4, corner, xyz)
        rows = rows * self._root[:, None, None, None]
        return _by_points(np.swapaxes(rows, 1, 2), self._sheets.triangles, len(x))


class _Formed(_Terms):
    """Of sheets that were bent beforehand: only what departs from an even curve takes force, and a little of that curve.

    An even curve is one whose height over the flat sheet is a polynomial of the third degree. Its coefficients, for
    each sheet, are unknowns as well.
    """

    def __init__(self, sheets: Sheets, holds: Holds | None) -> None:
        super().__init__(sheets, holds)
        self._even = sheets.even
        self._count = self._even.shape[1]
        self._unknown += self._count

    def _up(self, x: np.ndarray) -> np.ndarray:
        """(h, 3) unit normals where two triangles meet."""
        corners = x[self._sheets.triangles]
        cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        cross /= np.maximum(np.linalg.norm(cross, axis=1, keepdims=True), 1e-12)
        both = cross[self._hinges].sum(axis=1)
        return both / np.maximum(np.linalg.norm(both, axis=1, keepdims=True), 1e-12)

    def curves(self, points: np.ndarray) -> np.ndarray:
        bend: np.ndarray = self._even.T @ ((self._bend @ points) * self._up(points)).sum(axis=1)
        return bend

    def _bent(self, x: np.ndarray, curves: np.ndarray) -> list[np.ndarray]:
        return [((self._bend @ x) * self._up(x)).sum(axis=1) - self._even @ curves, np.sqrt(_SET) * curves]

    def _bent_jacobian(self, x: np.ndarray) -> list[sparse.csr_matrix]:
        up = self._up(x)
        count = len(up)
        index = np.repeat(np.arange(count), 3), np.arange(3 * count)
        along = sparse.csr_matrix((up.ravel(), index), shape=(count, 3 * count))
        bent = along @ self._bend_each
        lone = sparse.csr_matrix((self._count, 3 * len(x)))
        return [
            sparse.hstack([bent, -self._even], format="csr"),
            sparse.hstack([lone, np.sqrt(_SET) * sparse.identity(self._count)], format="csr"),
        ]


def _all_even(sheets: Sheets) -> sparse.csr_matrix:
    bend, inner = sheets.bending
    own = sheets.piece[inner[:, 0]]
    columns, count = [], 0
    for number in np.unique(own):
        rows = np.flatnonzero(own == number)
        if sheets.stiff[inner[rows[0], 0]] > 1.0:
            continue
        basis = _even(sheets.flat, bend, rows)
        index = np.repeat(rows, basis.shape[1]), np.tile(np.arange(basis.shape[1]), len(rows)) + count
        columns.append((basis.ravel(), index))
        count += basis.shape[1]
    values = np.concatenate([v for v, _ in columns])
    at = tuple(np.concatenate([index[k] for _, index in columns]) for k in range(2))
    return sparse.csr_matrix((values, at), shape=(len(inner), count))


def _even(flat: np.ndarray, bend: sparse.csr_matrix, rows: np.ndarray) -> np.ndarray:
    """(R, k) orthonormal: what even curves, one for each column, make of the rows of `bend`."""
    own = bend[rows]
    used = np.unique(own.indices)
    middle, size = flat[used].mean(axis=0), np.abs(flat[used] - flat[used].mean(axis=0)).max()
    u, v = ((flat - middle) / size).T
    heights = np.column_stack([u ** (n - k) * v**k for n in _DEGREES for k in range(n + 1)])
    q, r = np.linalg.qr(own @ heights)
    return q[:, np.abs(np.diag(r)) > 1e-6 * np.abs(r).max()]


def _normals(corners: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Unit normals (K, 3) of triangles (K, 3, 3), and twice their areas (K,)."""
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.maximum(np.linalg.norm(cross, axis=1), 1e-12)
    return cross / size[:, None], size


def _by_points(moves: np.ndarray, corners: np.ndarray, count: int) -> sparse.csr_matrix:
    """The jacobian (K r, 3 count) of r rows for each of K things, (K, c, r, 3) by how these move with c points `corners`
    (K, c); points may be named twice."""
    things, own, rows, _ = moves.shape
    columns = np.broadcast_to((3 * corners[:, None, :, None] + np.arange(3)).astype(np.int32), (things, rows, own, 3))
    index = np.arange(0, 3 * own * things * rows + 1, 3 * own, dtype=np.int32)
    values = np.swapaxes(moves, 1, 2)
    return sparse.csr_matrix((values.ravel(), columns.ravel(), index), shape=(things * rows, 3 * count))


def _beside(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    return np.concatenate([one, other], axis=1)


def _moves(spots: Spots, x: np.ndarray) -> np.ndarray:
    """(K, corner, 3, 3): how spots move with the corners of their triangles."""
    corners = x[spots.corners]
    normal, size = _normals(corners)
    project = (np.eye(3) - normal[:, :, None] * normal[:, None, :]) * (spots.lift / size)[:, None, None]
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    # the cross product changes by d(one) x two + one x d(two)
    by_one, by_two = -_skew(two), _skew(one)
    turn = np.stack([-(by_one + by_two), by_one, by_two], axis=1)  # (K, corner, 3, 3)
    moves: np.ndarray = project[:, None] @ turn + spots.weights[:, :, None, None] * np.eye(3)
    return moves


def _skew(v: np.ndarray) -> np.ndarray:
    """(K, 3, 3) with skew(v) w = v x w."""
    zero = np.zeros(len(v))
    x, y, z = v.T
    return np.stack([np.stack([zero, -z, y], 1), np.stack([z, zero, -x], 1), np.stack([-y, x, zero], 1)], axis=1)


def inner_sides(triangles: np.ndarray) -> np.ndarray:
    """(6, h) of each side at which two of the triangles (m, 3) meet: its ends, the lower number first, and of both triangles
    their number and the corner across."""
    ends = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    across, number = triangles[:, [2, 0, 1]].ravel(), np.repeat(np.arange(len(triangles)), 3)
    order = np.lexsort((np.arange(len(ends)), ends[:, 1], ends[:, 0]))
    ends, across, number = ends[order], across[order], number[order]
    new = np.r_[True, (ends[1:] != ends[:-1]).any(axis=1)]
    first = np.flatnonzero(new)
    first = first[np.diff(np.r_[first, len(ends)]) == 2]
    return np.stack([*ends[first].T, number[first], across[first], number[first + 1], across[first + 1]])


def _bending(sheets: Sheets) -> tuple[sparse.csr_matrix, np.ndarray]:
    """(h, n): for each inner side of triangles, what half its square is the energy of, coordinate by coordinate; and the
    triangles (h, 2) that meet there."""
    flat, triangles = sheets.flat, sheets.triangles
    p, q, t0, o0, t1, o1 = inner_sides(triangles)
    if not len(p):
        return sparse.csr_matrix((0, len(flat))), np.zeros((0, 2), int)

    def cot(at: np.ndarray, one: np.ndarray, two: np.ndarray) -> np.ndarray:
        u, v = flat[one] - flat[at], flat[two] - flat[at]
        return (u * v).sum(1) / np.maximum(np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]), 1e-9)

    c01, c02, c03, c04 = cot(p, q, o0), cot(p, q, o1), cot(q, p, o0), cot(q, p, o1)
    weights = np.stack([c03 + c04, c01 + c02, -c01 - c03, -c02 - c04], axis=1)
    a, b, c = (flat[triangles[:, k]] for k in range(3))
    area = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2
    rigidity = (sheets.stiff * sheets.thickness**2 / 12.0)[t0]
    scale = np.sqrt(3.0 * rigidity / (area[t0] + area[t1]))
    rows = np.repeat(np.arange(len(p)), 4)
    columns = np.stack([p, q, o0, o1], axis=1).ravel()
    matrix = sparse.csr_matrix(((scale[:, None] * weights).ravel(), (rows, columns)), shape=(len(p), len(flat)))
    return matrix, np.column_stack([t0, t1])

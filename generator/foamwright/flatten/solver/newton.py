"""Flattens a triangle mesh of a smooth surface with the least strain.

The flat positions X minimise the symmetric Dirichlet energy, the sum over triangles of
    area * (s1^2 + s1^-2 + s2^2 + s2^-2),
where s1 and s2 are the stretches of the triangle from its true size in the surface: 4 per unit of area where
nothing is stretched, without bound where a triangle would collapse. It is minimised by Newton's method: the
Hessian of each triangle comes from the closed eigensystem of an energy of singular values, with the one
eigenvalue that can be negative set to zero until the solution is near (Smith, De Goes, Kim: Analytic
Eigensystems for Isotropic Distortion Energies, ACM Transactions on Graphics 38(1), 2019), and no step goes as
far as the first triangle that would flip. Edges with a stated length are held by an augmented Lagrangian
(Nocedal, Wright: Numerical Optimization, 2nd ed., chapter 17).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse.linalg import SuperLU

from foamwright.flatten.solver import embedding
from foamwright.flatten.solver.blocks import BlockPattern, System
from foamwright.flatten.solver.coarsen import coarsen
from foamwright.flatten.solver.failure import CannotFlatten
from foamwright.flatten.solver.intrinsic import areas, edge_lengths, rest_triangles

Constraint = tuple[np.ndarray, np.ndarray]  # vertices (k,) along a line of edges, length of each edge (k - 1,)

TOLERANCE = 2e-4  # rms strain of the last Newton step; measured, less than a tenth of it is left after it
SMALL_STRAIN = 0.01  # rms strain of a step from which on the true Hessian is convex and changes little
LENGTH_TOLERANCE = 2e-7  # relative error of a stated length
_BALANCED = 0.1  # of TOLERANCE, before forces that hold lengths are corrected; corrected sooner, they swing
MAX_STEPS = 200
COARSE_FACES = 3000  # meshes below are solved as they are


@dataclass(frozen=True, eq=False)
class FlatResult:
    """A flat mesh. `energy` is the mean per unit of area, at least 4.

    `gradient` is the size of the energy's gradient in the metric of its Hessian, as the root-mean-square
    strain that the last Newton step changed. It is at most `TOLERANCE`.
    """

    flat: np.ndarray  # (n, 2)
    energy: float
    iterations: int  # Newton steps on the full mesh
    gradient: float


def flatten(V: np.ndarray, N: np.ndarray, F: np.ndarray, constraints: Sequence[Constraint] = ()) -> FlatResult:
    """Flat positions of the mesh `V` (n, 3), `F` (m, 3) of a surface with unit normals `N` (n, 3) at `V`.

    The mesh is a disk, with or without holes, all faces turned alike; the flat faces run counter-clockwise.
    Raises CannotFlatten if the mesh is not that or the constraints cannot be met.
    """
    return Flattener(V, N, F).solve(constraints)


class Flattener:
    """Flattens one mesh, as often as needed: with other constraints, or from a known start."""

    def __init__(
        self,
        V: np.ndarray,
        N: np.ndarray,
        F: np.ndarray,
        rough: np.ndarray | None = None,
        lengths: np.ndarray | None = None,
    ):
        """`rough` (n, 2) is any flat shape without flipped triangles, for meshes that are hard to begin with; `lengths`
        (m, 3) are those of `edge_lengths`, where something better is known."""
        self._rough = None if rough is None else np.asarray(rough, float)
        self._V, self._N = np.asarray(V, float), np.asarray(N, float)
        self._F = np.asarray(F, np.int64)
        lengths = edge_lengths(self._V, self._N, self._F) if lengths is None else lengths
        self._energy = SymmetricDirichlet(rest_triangles(lengths), self._F)
        self._pattern = BlockPattern(self._F, len(self._V))
        self._free: FlatResult | None = None

    def solve(self, constraints: Sequence[Constraint] = (), start: np.ndarray | None = None) -> FlatResult:
        """The flat mesh whose lines of edges have the stated lengths to a relative 1e-6 and least energy.

        `start` (n, 2) is a flat mesh without flipped triangles to begin with. Without one the free solution
        is found first (once), from the mesh made coarser. Raises CannotFlatten where no solution is found.
        """
        if start is None:
            if self._free is None:
                first = self._first_start()
                self._free = self._minimise(first, _Lengths.none())
            if not constraints:
                return self._free
            start = self._free.flat
        start = np.asarray(start, float)
        if self._energy.flips(start):
            raise ValueError("the start has flipped triangles")
        return self._minimise(start, _Lengths.of(constraints, start, self._pattern))

    def _first_start(self) -> np.ndarray:
        if len(self._F) > COARSE_FACES:
            coarse = coarsen(self._V, self._F, len(self._F) // 8)
            if len(coarse.F) < len(self._F) // 2:
                V, N = self._V[coarse.kept], self._N[coarse.kept]
                flat = coarse.prolong(Flattener(V, N, coarse.F).solve().flat)
                if not self._energy.flips(flat):
                    return flat
        flat = embedding.conformal(self._V, self._F, self._energy.shape, self._energy.area, self._pattern)
        if not self._energy.flips(flat):
            return flat
        if self._rough is not None and not self._energy.flips(self._rough):
            return self._rough
        flat = embedding.convex(self._F, len(self._V), float(self._energy.area.sum()))
        if not self._energy.flips(flat):
            return flat
        raise CannotFlatten("no shape without folds was found to begin with")

    def _minimise(self, X: np.ndarray, lengths: _Lengths) -> FlatResult:
        energy = self._energy
        total = energy.area.sum()
        value = energy.value(X) + lengths.value(X)
        factor, strain = None, np.inf
        for step in range(1, MAX_STEPS + 1):
            gradient, system = self._system(X, lengths, -np.inf if strain < SMALL_STRAIN else 0.0)
            move, factor = _newton_move(system, -gradient, factor, strain)
            decrement = -float(np.sum(gradient * move))
            if decrement < 0.0:  # the true Hessian is not convex here
                gradient, system = self._system(X, lengths, 0.0)
                move, factor = _newton_move(system, -gradient, None, strain)
                decrement = -float(np.sum(gradient * move))
            strain = np.sqrt(max(decrement, 0.0) / (8.0 * total))
            X, value = self._search(X, move, value, decrement, lengths)
            if strain <= TOLERANCE * (1.0 if lengths.met(X) else _BALANCED):
                if lengths.met(X):
                    return FlatResult(X, 4.0 + energy.value(X) / total, step, float(strain))
                lengths.update(X)
                value = energy.value(X) + lengths.value(X)
        raise CannotFlatten("a panel could not be flattened: the solver did not converge")

    def _system(self, X: np.ndarray, lengths: _Lengths, floor: float) -> tuple[np.ndarray, System]:
        """Gradient (n, 2) and Hessian, in which no eigenvalue that may be negative is taken as less than
        `floor`.

        0 makes the Hessian convex, minus infinity leaves it true.
        """
        corners, blocks = self._energy.derivatives(X, floor)
        gradient = self._pattern.gather(corners)
        diagonal, across = self._pattern.sum_blocks(blocks)
        lengths.add_derivatives(X, floor, gradient, diagonal, across)
        return gradient, self._pattern.system(diagonal, across)

    def _search(
        self, X: np.ndarray, move: np.ndarray, value: float, decrement: float, lengths: _Lengths
    ) -> tuple[np.ndarray, float]:
        """The first of ever shorter steps along `move` that lowers the value enough, and its value."""
        t = min(1.0, 0.9 * self._energy.first_flip(X, move))
        noise = 1e-13 * self._energy.area.sum()
        while t > 1e-12:
            trial = X + t * move
            trial_value = self._energy.value(trial) + lengths.value(trial)
            if trial_value <= value - 1e-4 * t * decrement + noise:
                return trial, trial_value
            t *= 0.5
        raise CannotFlatten("a panel could not be flattened: no step lowers its strain")


def _newton_move(
    system: System, right: np.ndarray, factor: SuperLU | None, strain: float
) -> tuple[np.ndarray, SuperLU]:
    """The system's solution and a factor for the next one: the same again while the matrix changes little."""
    if factor is not None and strain < SMALL_STRAIN:
        move = system.solve_nearby(factor, right, most=6, tolerance=1e-2)
        if move is not None:
            return move, factor
    factor = system.factor()
    return system.solve(factor, right), factor


class SymmetricDirichlet:
    """The energy over a mesh with given rest triangles, less its least value of 4 per unit of area."""

    def __init__(self, rest: np.ndarray, F: np.ndarray):
        self.area = areas(rest)
        self._F = F
        a, b, h = rest[:, 0, 0], rest[:, 0, 1], rest[:, 1, 1]
        # gradients of the three hat functions: J = sum of X_i (outer) shape_i
        one = np.stack([1.0 / a, -b / (a * h)], axis=1)
        two = np.stack([np.zeros_like(h), 1.0 / h], axis=1)
        self.shape = np.stack([-one - two, one, two], axis=1)  # (m, 3, 2)
        self._to_xy = tuple(np.ascontiguousarray(x) for x in (1.0 / a, -b / (a * h), 1.0 / h))

    def jacobian(self, X: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Entries xx, xy, yx, yy of the triangles' Jacobians, (m,) each."""
        i, j, k = self._F.T
        x, y = np.ascontiguousarray(X[:, 0]), np.ascontiguousarray(X[:, 1])
        p, q, r = self._to_xy
        ux, uy, wx, wy = x[j] - x[i], y[j] - y[i], x[k] - x[i], y[k] - y[i]
        return ux * p, ux * q + wx * r, uy * p, uy * q + wy * r

    def flips(self, X: np.ndarray) -> bool:
        xx, xy, yx, yy = self.jacobian(X)
        return not np.all(xx * yy - xy * yx > 0.0)

    def first_flip(self, X: np.ndarray, move: np.ndarray) -> float:
        """Least t > 0 at which X + t move has a triangle without area; infinite if there is none."""
        axx, axy, ayx, ayy = self.jacobian(X)
        bxx, bxy, byx, byy = self.jacobian(move)
        c = axx * ayy - axy * ayx
        b = axx * byy + bxx * ayy - axy * byx - bxy * ayx
        a = bxx * byy - bxy * byx
        root = b**2 - 4.0 * a * c
        real = root >= 0.0
        # the least positive root of a t^2 + b t + c with c > 0, in the form without cancellation
        below = np.where(real, -b + np.sqrt(np.where(real, root, 0.0)), 0.0)
        hits = below > 0.0
        return float(np.min(2.0 * c[hits] / below[hits], initial=np.inf))

    def value(self, X: np.ndarray) -> float:
        """Energy less 4 times the area; infinite where a triangle is flipped."""
        xx, xy, yx, yy = self.jacobian(X)
        det = xx * yy - xy * yx
        if not np.all(det > 0.0):
            return np.inf
        large = 0.5 * (np.hypot(xx + yy, yx - xy) + np.hypot(xx - yy, xy + yx))
        small = det / large
        return float(self.area @ ((large - 1.0 / large) ** 2 + (small - 1.0 / small) ** 2))

    def derivatives(self, X: np.ndarray, floor: float) -> tuple[np.ndarray, np.ndarray]:
        """Gradient (2, 3, m) by axis and corner, and blocks (4, 6, m) of the triangles' Hessians.

        The eigenvalue of twisting, which alone may be negative, is raised to `floor` where it is less. The
        Hessian's axis 0 is xx, xy, yx, yy; axis 1 the corner pairs 00, 11, 22, 01, 12, 20.
        """
        xx, xy, yx, yy = self.jacobian(X)
        # J = R(turn_u) diag(s1, s2) R(turn_v)
        sum_angle = np.arctan2(xy + yx, xx - yy)
        difference = np.arctan2(yx - xy, xx + yy)
        u, v = 0.5 * (difference + sum_angle), 0.5 * (difference - sum_angle)
        cu, su, cv, sv = np.cos(u), np.sin(u), np.cos(v), np.sin(v)
        s1 = 0.5 * (np.hypot(xx + yy, yx - xy) + np.hypot(xx - yy, xy + yx))
        s2 = (xx * yy - xy * yx) / s1

        # the shape gradients in the directions of the two stretches: rows of R(turn_v)
        gx, gy = self.shape[:, :, 0].T, self.shape[:, :, 1].T  # (3, m)
        first, second = gx * cv - gy * sv, gx * sv + gy * cv
        slope1, slope2 = 2.0 * self.area * (s1 - s1**-3), 2.0 * self.area * (s2 - s2**-3)
        gradient = np.stack([cu * slope1 * first - su * slope2 * second, su * slope1 * first + cu * slope2 * second])

        stretch1, stretch2 = self.area * (2.0 + 6.0 * s1**-4), self.area * (2.0 + 6.0 * s2**-4)
        cube = (s1 * s2) ** 3
        twist = self.area * np.maximum(2.0 - 2.0 * (s1 * s1 - s1 * s2 + s2 * s2) / cube, floor)
        flip = self.area * (2.0 + 2.0 * (s1 * s1 + s1 * s2 + s2 * s2) / cube)
        p, q = 0.5 * (twist + flip), 0.5 * (flip - twist)

        i, j = [0, 1, 2, 0, 1, 2], [0, 1, 2, 1, 2, 0]
        ff, ss = first[i] * first[j], second[i] * second[j]
        m11, m22 = stretch1 * ff + p * ss, stretch2 * ss + p * ff
        m12, m21 = q * second[i] * first[j], q * first[i] * second[j]
        # U M U^T with U = R(turn_u)
        a, b = cu * m11 - su * m21, cu * m12 - su * m22
        c, d = su * m11 + cu * m21, su * m12 + cu * m22
        return gradient, np.stack([cu * a - su * b, su * a + cu * b, cu * c - su * d, su * c + cu * d])


class _Lengths:
    """Edges held at stated lengths: multipliers and a penalty, an augmented Lagrangian."""

    STIFFNESS = 1000.0  # the foam beside an edge resists its stretch with about 4, in area per length squared

    def __init__(self, tail: np.ndarray, head: np.ndarray, target: np.ndarray, slots: np.ndarray):
        self._tail, self._head, self._target, self._slots = tail, head, target, slots
        self._force = np.zeros(len(target))

    @staticmethod
    def none() -> _Lengths:
        nothing = np.zeros(0, np.int64)
        return _Lengths(nothing, nothing, np.zeros(0), nothing)

    @staticmethod
    def of(constraints: Sequence[Constraint], start: np.ndarray, pattern: BlockPattern) -> _Lengths:
        if not constraints:
            return _Lengths.none()
        lines = [np.asarray(vertices, np.int64) for vertices, _ in constraints]
        tail, head = np.concatenate([x[:-1] for x in lines]), np.concatenate([x[1:] for x in lines])
        target = np.concatenate([np.asarray(lengths, float) for _, lengths in constraints])
        if len(target) != len(tail) or not np.all(target > 0.0):
            raise ValueError("a constraint needs one positive length for each edge of its line")
        return _Lengths(tail, head, target, pattern.slots_of(tail, head))

    def _error(self, X: np.ndarray) -> np.ndarray:
        return np.hypot(*(X[self._head] - X[self._tail]).T) - self._target

    def met(self, X: np.ndarray) -> bool:
        return bool(np.all(np.abs(self._error(X)) <= LENGTH_TOLERANCE * self._target))

    def value(self, X: np.ndarray) -> float:
        error = self._error(X)
        return float(self._force @ error + 0.5 * self.STIFFNESS * error @ error)

    def update(self, X: np.ndarray) -> None:
        self._force += self.STIFFNESS * self._error(X)

    def add_derivatives(
        self, X: np.ndarray, floor: float, gradient: np.ndarray, diagonal: np.ndarray, across: np.ndarray
    ) -> None:
        """Adds to the gradient (n, 2), the vertices' blocks (4, n) and the edges' blocks (4, pairs)."""
        if not len(self._target):
            return
        edge = X[self._head] - X[self._tail]
        length = np.hypot(*edge.T)
        along = edge / length[:, None]
        force = self._force + self.STIFFNESS * (length - self._target)
        np.add.at(gradient, self._head, force[:, None] * along)
        np.add.at(gradient, self._tail, -force[:, None] * along)
        # a pull also holds the direction of an edge; a push would turn it
        hold = np.maximum(force, floor) / length
        x, y = along.T
        rest = self.STIFFNESS - hold
        block = np.stack([rest * x * x + hold, rest * x * y, rest * x * y, rest * y * y + hold])
        for k in range(4):
            np.add.at(diagonal[k], self._head, block[k])
            np.add.at(diagonal[k], self._tail, block[k])
            np.add.at(across[k], self._slots, -block[k])

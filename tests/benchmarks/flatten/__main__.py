"""Flattening beside libigl's SLIM on the same cut meshes: `python -m tests.benchmarks.flatten [sizes]`.

Both minimise the symmetric Dirichlet energy of the mesh's own chords. SLIM gets 20 iterations from a convex
map, and the making of that map is left out of its time. Ours is everything from mesh to flat mesh. Times are
processor seconds, the best of a few runs of both. The worst strain is the worst mean over 10 mm around a
vertex, and of a single triangle.
"""

from __future__ import annotations

import sys
from time import process_time

import igl
import numpy as np

from foamwright.flatten import strain
from foamwright.flatten.solver import embedding
from foamwright.flatten.solver.intrinsic import edge_lengths, rest_triangles
from foamwright.flatten.solver.newton import Flattener, SymmetricDirichlet, flatten
from tests.benchmarks.flatten.panels import PANELS
from tests.flatten.panel_meshes import PanelMesh

SIZES = (1000, 10000, 100000)
REACH = 10.0


def timed(run, most: int):
    """The result of `run` and its least time over `most` runs."""
    best = np.inf
    for _ in range(most):
        start = process_time()
        result = run()
        best = min(best, process_time() - start)
    return result, best


def slim(V: np.ndarray, F: np.ndarray, start: np.ndarray, iterations: int = 20) -> np.ndarray:
    data = igl.slim_precompute(
        np.asfortranarray(V),
        np.asfortranarray(F.astype(np.int32)),
        np.asfortranarray(start),
        igl.MappingEnergyType.SYMMETRIC_DIRICHLET,
        np.zeros(0, np.int32),
        np.zeros((0, 2), order="F"),
        0.0,
    )
    return np.array(igl.slim_solve(data, iterations))


def line_lengths(X: np.ndarray, line: np.ndarray) -> np.ndarray:
    return np.hypot(*np.diff(X[line], axis=0).T)


def dart_mismatch(mesh: PanelMesh, X: np.ndarray) -> float:
    return max((abs(line_lengths(X, a).sum() - line_lengths(X, b).sum()) for a, b in mesh.darts), default=0.0)


def strains(V, N, F, X) -> tuple[float, float, float]:
    lengths = edge_lengths(V, N, F)
    summary = strain.summary(lengths, X, F, REACH)
    single = np.abs(strain.triangle_strain(lengths, X, F) - 1.0).max()
    return 100 * summary.max, 100 * float(single), 100 * summary.mean


def compare(name: str, triangles: int) -> tuple[float, float]:
    """Prints one row; returns the times of both."""
    mesh = PANELS[name](triangles)
    V, N, F = mesh.chords
    runs = 5 if triangles <= 2000 else 2 if triangles <= 20000 else 1
    ours, our_time = timed(lambda: flatten(V, N, F), runs)
    energy = SymmetricDirichlet(rest_triangles(edge_lengths(V, N, F)), F)
    start = embedding.convex(F, len(V), float(energy.area.sum()))
    theirs, their_time = timed(lambda: slim(V, F, start), min(runs, 2))
    their_energy = 4.0 + energy.value(theirs) / energy.area.sum()
    ours_worst, ours_single, ours_mean = strains(V, N, F, ours.flat)
    their_worst, their_single, their_mean = strains(V, N, F, theirs)
    print(
        f"| {name} | {len(F)} | {ours.energy:.6f} / {their_energy:.6f} "
        f"| {ours_worst:.2f} / {their_worst:.2f} | {ours_single:.2f} / {their_single:.2f} "
        f"| {ours_mean:.3f} / {their_mean:.3f} "
        f"| {dart_mismatch(mesh, ours.flat):.2f} / {dart_mismatch(mesh, theirs):.2f} "
        f"| {our_time:.3f} / {their_time:.3f} | {their_time / our_time:.1f} |",
        flush=True,
    )
    return our_time, their_time


def converged(name: str, triangles: int) -> None:
    """Prints the same comparison with SLIM run on until it changes no more."""
    mesh = PANELS[name](triangles)
    V, N, F = mesh.chords
    ours = flatten(V, N, F)
    energy = SymmetricDirichlet(rest_triangles(edge_lengths(V, N, F)), F)
    theirs = slim(V, F, embedding.convex(F, len(V), float(energy.area.sum())), 400)
    their_energy = 4.0 + energy.value(theirs) / energy.area.sum()
    ours_worst, their_worst = (strains(V, N, F, X)[0] for X in (ours.flat, theirs))
    print(
        f"| {name} | {len(F)} | {ours.energy:.8f} / {their_energy:.8f} | {ours_worst:.3f} / {their_worst:.3f} |",
        flush=True,
    )


def seam(triangles: int) -> None:
    """The two sides of one seam, free and held to their mean lengths, on the smooth surface."""
    sides = [PANELS[name](triangles) for name in ("seam side, dome", "seam side, hollow")]
    work = [Flattener(m.V, m.N, m.F) for m in sides]
    free = [w.solve() for w in work]
    lengths = [line_lengths(r.flat, m.low) for r, m in zip(free, sides)]
    common = 0.5 * (lengths[0] + lengths[1])
    held, time = timed(lambda: [w.solve([(m.low, common)]) for w, m in zip(work, sides)], 1)
    after = [line_lengths(r.flat, m.low) for r, m in zip(held, sides)]
    worst = [[strains(m.V, m.N, m.F, r.flat)[0] for r, m in zip(results, sides)] for results in (free, held)]
    print(
        f"| seam | {triangles} | {abs(lengths[0].sum() - lengths[1].sum()):.3f} "
        f"| {abs(after[0].sum() - after[1].sum()):.7f} | {np.abs(after[0] / after[1] - 1).max():.1e} "
        f"| {worst[0][0]:.2f}, {worst[0][1]:.2f} | {worst[1][0]:.2f}, {worst[1][1]:.2f} | {time:.3f} |",
        flush=True,
    )


def darts(name: str, triangles: int) -> None:
    """The legs of each dart of a panel held to their mean lengths."""
    mesh = PANELS[name](triangles)
    work = Flattener(mesh.V, mesh.N, mesh.F)
    free = work.solve()
    common = [0.5 * (line_lengths(free.flat, a) + line_lengths(free.flat, b)) for a, b in mesh.darts]
    lines = [(leg, length) for pair, length in zip(mesh.darts, common) for leg in pair]
    held, time = timed(lambda: work.solve(lines), 1)
    error = max(np.abs(line_lengths(held.flat, line) / length - 1).max() for line, length in lines)
    before, after = (strains(mesh.V, mesh.N, mesh.F, r.flat)[0] for r in (free, held))
    print(
        f"| {name} | {triangles} "
        f"| {dart_mismatch(mesh, free.flat):.3f} | {dart_mismatch(mesh, held.flat):.7f} "
        f"| {error:.1e} | {before:.2f} | {after:.2f} | {time:.3f} |",
        flush=True,
    )


def main(sizes: tuple[int, ...]) -> None:
    print("Ours / SLIM after 20 iterations. Strain in %, mismatch of dart legs in mm, time in s.\n")
    print("| panel | triangles | energy | worst strain | worst triangle | mean strain | darts | time | ratio |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    times = {name: [compare(name, size)[0] for size in sizes] for name in PANELS}
    if len(sizes) > 1:
        growth = [np.log(t[-1] / t[0]) / np.log(sizes[-1] / sizes[0]) for t in times.values()]
        print(f"\nOur time grows with the power {min(growth):.2f} to {max(growth):.2f} of the triangles.")
    print("\nThe same with SLIM run on to 400 iterations, at which it has nearly or wholly converged.\n")
    print("| panel | triangles | energy | worst strain |")
    print("| --- | --- | --- | --- |")
    for name in PANELS:
        converged(name, sizes[0])
    print("\nEdges held to the mean of their free lengths (worst strain in %, mismatch in mm).\n")
    print("| what | triangles | mismatch free | held | worst edge, relative | strain free | held | time |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for size in sizes[:2]:
        seam(size)
        darts("ovoid quarter, 3 darts", size)
        darts("scan-like, 2 darts", size)


if __name__ == "__main__":
    main(tuple(int(a) for a in sys.argv[1:]) or SIZES)

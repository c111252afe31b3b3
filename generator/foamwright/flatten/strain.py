"""What a pattern asks of the foam: strain in the sheet, and strain of its two faces from bending."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from foamwright.design.records import Stock
from foamwright.flatten.records import Strain
from foamwright.flatten.solver.intrinsic import areas, rest_triangles
from foamwright.forms.periodic import PeriodicCoordinates
from foamwright.language import phrase
from foamwright.parts.records import PanelBody

EXPLAINED = phrase(
    "Strain is how much longer or shorter the foam is on the form than on the flat pattern, in the middle of its "
    "thickness (its neutral surface), averaged over one thickness around each place, and along an edge never told as "
    "less than that of the edge's whole length. The limit, the tables, the shades and the hatching all mean this "
    "strain. Bending is limited apart from it: it stretches one face and presses the other without changing the "
    "middle, and foam takes that down to an inside radius of twice its thickness."
)
TIGHT_RADIUS = 2.0  # least inner radius in thicknesses that a cold sheet takes; common practice, no source


def limits(stock: Stock) -> tuple[float, float]:
    """The greatest strain that a foam takes pulled, and pressed together: 0.03 is 3 %."""
    pulled = stock.strain_limit if stock.tension_limit is None else stock.tension_limit
    pressed = stock.strain_limit if stock.compression_limit is None else stock.compression_limit
    return pulled, pressed


def triangle_strain(lengths: np.ndarray, flat: np.ndarray, F: np.ndarray) -> np.ndarray:
    """Principal stretches (m, 2) of each triangle's foam as the pattern is put on the form, larger first.

    `lengths` (m, 3) of the edges in the surface, opposite the corners; `flat` (n, 2). A stretch is length on
    the form over length on the pattern: above 1 the foam is pulled, below 1 it is pressed.
    """
    base, side = flat[F[:, 1]] - flat[F[:, 0]], flat[F[:, 2]] - flat[F[:, 0]]
    det = base[:, 0] * side[:, 1] - base[:, 1] * side[:, 0]
    inverse = np.stack([side[:, 1], -side[:, 0], -base[:, 1], base[:, 0]], axis=1).reshape(-1, 2, 2)
    return np.linalg.svd(rest_triangles(lengths) @ (inverse / det[:, None, None]), compute_uv=False)


def strained(
    lengths: np.ndarray, flat: np.ndarray, F: np.ndarray, reach: float, edges: Sequence[Sequence[np.ndarray]] = ()
) -> np.ndarray:
    """The strain (n, 2) of the neutral surface at each vertex, pulled and pressed, both positive.

    This is the strain that limits, tables, shades and hatching mean (`EXPLAINED`): that at each triangle, averaged
    by area over what lies within `reach` mm of the vertex on the pattern, and at least over the triangles around it.
    A mean over a fixed distance does not depend on how fine the mesh is, even at the tip of a dart, where the strain
    of an ideal sheet has no bound. The sheet's thickness is a fair `reach`: foam cannot follow finer detail than that.

    Around a vertex of the border that mean lies to one side, where the foam gives less than at the border itself. So at
    the vertices of each of `edges` (its stretches of vertices between darts) it is at least the strain of that edge's
    whole length, which is what a rule finds; edges shorter than `reach` are finer detail.
    """
    stretches = triangle_strain(lengths, flat, F)
    area = areas(rest_triangles(lengths))
    pulled = np.maximum(stretches[:, 0] - 1.0, 0.0)
    pressed = np.maximum(1.0 - stretches[:, 1], 0.0)
    at = _nearby_means(np.stack([pulled, pressed]), area, flat, F, reach).T
    for edge, stretch in zip(edges, edge_stretches(lengths, flat, F, edges)):
        if stretch[0] >= reach:
            change = stretch[0] / stretch[1] - 1.0
            along = np.concatenate(edge)
            at[along] = np.maximum(at[along], [max(change, 0.0), max(-change, 0.0)])
    return at


def edge_stretches(
    lengths: np.ndarray, flat: np.ndarray, F: np.ndarray, edges: Sequence[Sequence[np.ndarray]]
) -> np.ndarray:
    """Length in the surface and on the pattern (e, 2) of each edge, darts closed, from its stretches of vertices."""
    sides = np.sort(F[:, [[1, 2], [2, 0], [0, 1]]].reshape(-1, 2), axis=1) @ [len(flat), 1]
    order = np.argsort(sides, kind="stable")
    stretches = np.zeros((len(edges), 2))
    for row, edge in zip(stretches, edges):
        for stretch in edge:
            steps = np.sort(np.stack([stretch[:-1], stretch[1:]], axis=1), axis=1) @ [len(flat), 1]
            row[0] += lengths.ravel()[order[np.searchsorted(sides, steps, sorter=order)]].sum()
            row[1] += np.linalg.norm(np.diff(flat[stretch], axis=0), axis=1).sum()
    return stretches


def summary(
    lengths: np.ndarray,
    flat: np.ndarray,
    F: np.ndarray,
    reach: float,
    inner_face: float = 0.0,
    outer_face: float = 0.0,
    edges: Sequence[Sequence[np.ndarray]] = (),
) -> Strain:
    """The strain of a whole pattern: of `strained` the greatest, that within which 95 % of the form's area lies, and
    the mean over its area, each of the greater of pulled and pressed."""
    at = strained(lengths, flat, F, reach, edges)
    worse = at.max(axis=1)
    share = np.bincount(F.ravel(), np.repeat(areas(rest_triangles(lengths)) / 3, 3), len(flat))
    order = np.argsort(worse, kind="stable")
    within = np.cumsum(share[order]) / share.sum()
    tension, compression = (float(m) for m in at.max(axis=0))
    return Strain(
        max=max(tension, compression),
        p95=float(worse[order][min(np.searchsorted(within, 0.95), len(order) - 1)]),
        mean=float(worse @ share / share.sum()),
        tension=tension,
        compression=compression,
        inner_face=inner_face,
        outer_face=outer_face,
    )


def _nearby_means(values: np.ndarray, area: np.ndarray, flat: np.ndarray, F: np.ndarray, reach: float) -> np.ndarray:
    """(rows, n) at each vertex the mean within `reach` of each row of `values` (rows, m)."""
    count = len(flat)
    corners = F.ravel()
    weight = np.bincount(corners, np.repeat(area, 3), count)
    sums = np.stack([np.bincount(corners, np.repeat(area * row, 3), count) for row in values], axis=1)
    pairs = cKDTree(flat).query_pairs(reach, output_type="ndarray")
    near_weight, near_sums = weight.copy(), sums.copy()
    for here, there in (pairs.T, pairs.T[::-1]):
        near_weight += np.bincount(here, weight[there], minlength=count)
        for k in range(len(values)):
            near_sums[:, k] += np.bincount(here, sums[there, k], minlength=count)
    return (near_sums / np.maximum(near_weight, 1e-300)[:, None]).T


def percents(*shares: float) -> tuple[str, ...]:
    """Shares as "3.1 %", with as many digits as it takes to tell those apart that differ."""
    for digits in (1, 2, 3):
        texts = tuple(f"{100 * share:.{digits}f} %" for share in shares)
        if len(set(texts)) == len(set(shares)):
            break
    return texts


def curvatures(V: np.ndarray, N: np.ndarray, F: np.ndarray) -> np.ndarray:
    """Principal curvatures (m, 2) of each triangle from the turn of its normals, larger first.

    1/mm; positive where the surface bends away from its normal, as a ball does.
    """
    p, q, r = V[F[:, 0]], V[F[:, 1]], V[F[:, 2]]
    x = (q - p) / np.linalg.norm(q - p, axis=1)[:, None]
    normal = np.cross(q - p, r - p)
    y = np.cross(normal / np.linalg.norm(normal, axis=1)[:, None], x)
    frame = np.stack([x, y], axis=1)  # (m, 2, 3)
    edges = frame @ np.stack([q - p, r - p], axis=2)
    turns = frame @ np.stack([N[F[:, 1]] - N[F[:, 0]], N[F[:, 2]] - N[F[:, 0]]], axis=2)
    shape = turns @ np.linalg.inv(edges)
    return np.linalg.eigvalsh(0.5 * (shape + shape.transpose(0, 2, 1)))[:, ::-1]


def curves_like_a_saddle(V: np.ndarray, N: np.ndarray, F: np.ndarray) -> bool:
    """Does a surface of triangles (m, 3) curve more like a saddle than like a ball? By its total Gaussian curvature."""
    area = np.linalg.norm(np.cross(V[F[:, 1]] - V[F[:, 0]], V[F[:, 2]] - V[F[:, 0]]), axis=1)
    keep = area > 1e-9
    return float(curvatures(V, N, F[keep]).prod(axis=1) @ area[keep]) < 0.0


def bending(V: np.ndarray, N: np.ndarray, F: np.ndarray, thickness: float, k: float) -> tuple[float, float]:
    """Worst strain of the inner and of the outer face from bending alone: negative pressed, positive pulled.

    `V` lies on the neutral surface, at `k` of the `thickness` from the inner face; `N` points to the outer
    face. A face at the distance d outside a surface of curvature c is longer than the surface by d c.
    """
    bend = curvatures(V, N, F)
    worst = float(bend.ravel()[np.argmax(np.abs(bend))])
    return -k * thickness * worst, (1.0 - k) * thickness * worst


def comes_to_a_point(body: PanelBody, radius: float, thickness: float) -> bool:
    """Is what bends a panel to `radius`, tighter than its `thickness` (mm), the tip of a cone, or a stump no wider than
    the foam is thick, and not a fold?"""
    if radius >= thickness or not isinstance(body.surface, PeriodicCoordinates):
        return False
    u = body.chart.coords[:, 0]
    around = (body.surface.point(np.array([[end, v] for v in (0.0, 0.25, 0.5)])) for end in (u.min(), u.max()))
    return any(float(np.ptp(points, axis=0).max()) < thickness for points in around)


def least_radius(V: np.ndarray, N: np.ndarray, F: np.ndarray, thickness: float, k: float) -> float:
    """Least radius in mm to which the foam's hollow face is bent; infinite if it is flat, 0 if it folds.

    Below `TIGHT_RADIUS` thicknesses a cold sheet creases.
    """
    bend = curvatures(V, N, F)
    outward = 1.0 / max(float(bend.max()), 1e-12) - k * thickness
    inward = 1.0 / max(float(-bend.min()), 1e-12) - (1.0 - k) * thickness
    least = max(min(outward, inward), 0.0)
    return least if least < 1e9 else float("inf")

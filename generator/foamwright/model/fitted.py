"""Smooth spline patches of panels whose form has no plane map of its own, drawn over the panel as it is seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline, RectBivariateSpline
from scipy.sparse import csr_matrix, diags, eye, kron, vstack
from scipy.sparse.linalg import splu

from foamwright.geometry import Frame
from foamwright.model.failure import ShapeFailure
from foamwright.model.patch import GRIDS, OVERHANG, PATCH_TOLERANCE, Patch
from foamwright.parts.records import PanelBody

_STIFFNESS = 1e-3  # of the patch against bending, where no point of the panel says how it runs
_MOST = 20.0  # times the tolerance: a patch further off than this is refused
_LEAST_FACING = 0.4  # cosine between the panel's own direction and every normal of it, to be seen from one side
# Where each triangle of the chart is probed: its corners, the middles of its sides, its own middle.
_PROBES = np.vstack([np.eye(3), (1 - np.eye(3)) / 2, np.full((1, 3), 1 / 3)])


@dataclass(frozen=True, eq=False)
class View:
    """Where the points of a panel are drawn: as seen along the normal of `frame`, or where the panel has no such side, over
    its chart, whose own triangles show in the patch."""

    frame: Frame | None

    def flat(self, points: np.ndarray, chart: np.ndarray) -> np.ndarray:
        """(N, 2) of points (N, 3) that have the places `chart` (N, 2) there."""
        return chart if self.frame is None else self.frame.to_frame(points)[:, :2]


def view_of(body: PanelBody) -> View:
    normals = body.surface.normal(body.chart.coords)
    across = normals.mean(axis=0)
    across /= max(float(np.linalg.norm(across)), 1e-12)
    if (normals @ across).min() < _LEAST_FACING:
        return View(None)
    x = np.cross(across, np.eye(3)[int(np.argmin(np.abs(across)))])
    x /= np.linalg.norm(x)
    return View(Frame(np.zeros(3), np.column_stack([x, np.cross(across, x), across])))


def fitted_patch(body: PanelBody, view: View, distance: float, thickness: float) -> Patch:
    """The patch at `distance` from the form by least squares, carried on smoothly past the panel's edges.

    Raises ShapeFailure if it stays too far from the form.
    """
    chart, surface = body.chart, body.surface
    coords = surface.blend(
        np.repeat(chart.coords[chart.faces], len(_PROBES), axis=0), np.tile(_PROBES, (len(chart.faces), 1))
    )
    truth, normal = surface.offset(coords, distance), surface.normal(coords)
    flat = view.flat(truth, np.einsum("pk,fkd->fpd", _PROBES, chart.flat[chart.faces]).reshape(-1, 2))
    # the face's own edges, which a slanting cut leaves outside the chart
    low = abs(distance - body.inner_offset) < 1e-9
    rim = np.vstack([edge.inner if low else edge.outer for edge in body.edges])
    near = view.flat(rim, np.vstack([edge.chart for edge in body.edges]))
    extent = np.vstack([flat, near])
    room = OVERHANG * np.ptp(extent, axis=0) + 2.0 * thickness
    box = np.stack([extent.min(axis=0) - room, extent.max(axis=0) + room])
    for grid in GRIDS:
        counts = np.maximum(8, np.round(grid * (box[1] - box[0]) / (box[1] - box[0]).max())).astype(int)
        feet = near if view.frame is not None else _fit(flat, truth, box, counts).foot(rim, near)
        patch = _fit(np.vstack([flat, feet]), np.vstack([truth, rim]), box, counts)
        error = np.abs(((patch.at(flat) - truth) * normal).sum(1)).max()
        if error < PATCH_TOLERANCE:
            break
    if error > _MOST * PATCH_TOLERANCE:
        raise ShapeFailure(f"no smooth patch within {error:.2f} mm of the form")
    return patch


def _fit(flat: np.ndarray, points: np.ndarray, box: np.ndarray, counts: np.ndarray) -> Patch:
    """The bicubic patch through `points` (N, 3) at `flat` (N, 2), as stiff as `_STIFFNESS` says elsewhere."""
    lines = [np.linspace(box[0, i], box[1, i], counts[i]) for i in range(2)]
    knots = [np.r_[[line[0]] * 3, line, [line[-1]] * 3] for line in lines]
    bases = [BSpline.design_matrix(flat[:, i], knots[i], 3).tocsr() for i in range(2)]
    sizes = [basis.shape[1] for basis in bases]
    rows = _row_products(*bases)
    bend = [diags([1.0, -2.0, 1.0], [0, 1, 2], shape=(size - 2, size)) for size in sizes]
    twist = [diags([-1.0, 1.0], [0, 1], shape=(size - 1, size)) for size in sizes]
    stiff = vstack(
        [
            kron(bend[0], eye(sizes[1])),
            np.sqrt(2.0) * kron(twist[0], twist[1]),
            kron(eye(sizes[0]), bend[1]),
        ]
    )
    normal = rows.T @ rows + _STIFFNESS**2 * (stiff.T @ stiff)
    poles = splu(normal.tocsc()).solve(rows.T @ points).reshape(sizes[0], sizes[1], 3)
    at = [BSpline.design_matrix(line, knot, 3).toarray() for line, knot in zip(lines, knots)]
    values = np.einsum("ia,jb,abd->ijd", at[0], at[1], poles)
    return Patch(tuple(RectBivariateSpline(*lines, values[:, :, k], s=0) for k in range(3)), box)


def _row_products(a: csr_matrix, b: csr_matrix) -> csr_matrix:
    """Each row the Kronecker product of the same rows of both, all with 4 entries."""
    count = a.shape[0]
    values = a.data.reshape(count, 4, 1) * b.data.reshape(count, 1, 4)
    columns = a.indices.reshape(count, 4, 1).astype(np.int64) * b.shape[1] + b.indices.reshape(count, 1, 4)
    index = np.arange(0, 16 * count + 1, 16)
    return csr_matrix((values.ravel(), columns.ravel(), index), shape=(count, a.shape[1] * b.shape[1]))

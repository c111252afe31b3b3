"""What to do about a panel that is strained more than its foam takes, by how its form curves there."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from foamwright.flatten.strain import curves_like_a_saddle
from foamwright.forms.surface import Crease
from foamwright.geometry import Mesh
from foamwright.parts.records import PanelBody

_OVER = 3.0  # degrees: a crease that turns by less is none that foam would mind


def remedy(body: object) -> str:
    """The remedy as the end of a sentence."""
    if not isinstance(body, PanelBody) or body.automatic:
        return "divide it there with another cut, or take foam that stretches further (strain_limit, of warmed foam as well)"
    chart = body.chart
    points, normals = body.surface.point(chart.coords), body.surface.normal(chart.coords)
    crease = _crossed(body, points)
    if crease is not None:
        at, turn = crease
        x, y, z = np.round(at) + 0.0
        return (
            f"it runs over a crease of its form that turns by {turn:.0f} degrees, as at ({x:.0f}, {y:.0f}, {z:.0f}): "
            "end it there with a cut along the crease"
        )
    if curves_like_a_saddle(points, normals, chart.faces):
        return (
            "it curves like a saddle, where darts cannot help, since they take foam away and its rim is short of it: "
            "divide it with another cut"
        )
    return "give it darts (darts: auto) or another cut"


def _crossed(body: PanelBody, points: np.ndarray) -> tuple[np.ndarray, float] | None:
    """A point of the sharpest crease that a panel runs over, and its turn in degrees."""
    creases = [crease for crease in body.surface.creases() if crease.turn > _OVER]
    if not creases:
        return None
    mesh = Mesh(points, body.chart.faces)
    size = float(np.sqrt(mesh.areas.mean()))
    rim = np.vstack([edge.on_form for edge in body.edges])
    middles, edges = cKDTree(mesh.corners.mean(axis=1)), cKDTree(rim)

    def inside(crease: Crease) -> np.ndarray:
        near, _ = middles.query(crease.points)
        aside, _ = edges.query(crease.points)
        return np.asarray(crease.points[(near < size) & (aside > 2 * size)])

    found = [(crease.turn, inside(crease)) for crease in creases]
    found = [(turn, where) for turn, where in found if len(where)]
    if not found:
        return None
    turn, where = max(found, key=lambda each: each[0])
    return where[len(where) // 2], turn

"""The theorem of Gauss and Bonnet on the flagship's panels: curvature + turning of the edge = 2 pi chi."""

import numpy as np
import pytest

from foamwright.flatten.mesh import PanelMesher
from foamwright.flatten.panels import neutral_offset
from foamwright.flatten.solver.intrinsic import edge_lengths

PANELS = ("bow_upper", "bow_lower", "side_upper", "side_lower", "stern_upper", "stern_lower")


@pytest.fixture(scope="module", params=PANELS)
def panel(request, flagship):
    """A panel's piece and its mesh without darts, of about 1500 triangles."""
    piece = flagship.pattern(request.param).piece
    mesher = PanelMesher(piece.body, neutral_offset(piece))
    return piece, mesher.mesh(np.sqrt(mesher.shape.area / 1500 * 4 / np.sqrt(3)))


def corner_angles(lengths):
    """Angles (m, 3) of triangles with edges (m, 3) opposite the corners: the law of cosines."""
    a, b, c = lengths.T
    return np.stack(
        [np.arccos((q**2 + r**2 - p**2) / (2 * q * r)) for p, q, r in ((a, b, c), (b, c, a), (c, a, b))],
        axis=1,
    )


def curvature(normals, faces):
    """Gauss curvature within each triangle (m,): the signed area of its image under the normals.

    By the formula of A. van Oosterom and J. Strackee, The solid angle of a plane triangle,
    IEEE Trans. Biomed. Eng. 30(2), 1983 (from memory).
    """
    a, b, c = (normals[faces[:, k]] for k in range(3))
    triple = np.sum(a * np.cross(b, c), axis=1)
    below = 1.0 + np.sum(a * b, axis=1) + np.sum(b * c, axis=1) + np.sum(c * a, axis=1)
    return 2.0 * np.arctan2(triple, below)


def geodesic_turning(body):
    """Total turning to the left of the exact edges as seen in the surface, corners included."""
    total = 0.0
    loops = {}
    for edge in body.edges:
        loops.setdefault(edge.loop, []).append(edge)
    for edges in loops.values():
        ends = []
        for edge in edges:
            points, normals = edge.points, body.surface.normal(edge.coords)
            chords = np.diff(points, axis=0)
            chords /= np.linalg.norm(chords, axis=1, keepdims=True)
            total += np.sum(turns(chords[:-1], chords[1:], normals[1:-1]))
            # tangents at the ends: the end chord and half the turn to the next
            first = 1.5 * chords[0] - 0.5 * chords[1]
            last = 1.5 * chords[-1] - 0.5 * chords[-2]
            total += turns(first, chords[0], normals[0]) + turns(chords[-1], last, normals[-1])
            ends.append((first, last, normals[0]))
        for (_, last, _), (first, _, normal) in zip([ends[-1], *ends[:-1]], ends):
            total += turns(last, first, normal)
    return float(total)


def turns(a, b, normal):
    """Angle from direction a to b about a normal, the parts along it left out."""
    a = a - np.sum(a * normal, axis=-1, keepdims=True) * normal
    b = b - np.sum(b * normal, axis=-1, keepdims=True) * normal
    return np.arctan2(np.sum(normal * np.cross(a, b), axis=-1), np.sum(a * b, axis=-1))


def test_curvature_and_turning_of_the_smooth_panel_make_a_disk(panel):
    piece, mesh = panel
    loops = 1 + max(edge.loop for edge in piece.body.edges)
    total = curvature(mesh.normals, mesh.surface.triangles).sum() + geodesic_turning(piece.body)
    assert total == pytest.approx(2 * np.pi * (2 - loops), abs=0.002)


def test_triangles_laid_flat_hold_the_curvature_of_the_smooth_panel(panel):
    # Legendre's theorem (1787): a plane triangle with the sides of a small one on a curved surface has each
    # angle less by a third of the curvature within. So around inner vertices the flat triangles lack what
    # their corners there stand for, and along the edge they turn by that much more than the edge itself.
    piece, mesh = panel
    angles = corner_angles(edge_lengths(mesh.surface.points, mesh.normals, mesh.surface.triangles))
    around = np.bincount(mesh.surface.triangles.ravel(), angles.ravel(), minlength=len(mesh.surface.points))
    third = np.repeat(curvature(mesh.normals, mesh.surface.triangles) / 3, 3)
    third = np.bincount(mesh.surface.triangles.ravel(), third, minlength=len(mesh.surface.points))
    edge = np.unique(np.concatenate([chain for chains in mesh.chains for chain in chains]))
    inner = np.setdiff1d(np.arange(len(mesh.surface.points)), edge)
    assert np.sum(2 * np.pi - around[inner]) == pytest.approx(third[inner].sum(), abs=0.002)
    assert np.sum(np.pi - around[edge]) == pytest.approx(geodesic_turning(piece.body) + third[edge].sum(), abs=0.002)

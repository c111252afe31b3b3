"""What is mended in a mesh and what is refused."""

import re
from itertools import pairwise

import numpy as np
import pytest
import trimesh

from foamwright.errors import BuildError
from foamwright.forms import repair
from foamwright.forms.mesh import MeshSurface
from foamwright.geometry import Mesh

BALL = trimesh.creation.icosphere(3, 100.0)
V, F = np.array(BALL.vertices), np.array(BALL.faces, np.int64)


def repaired(vertices, faces):
    mesh, notes = repair.repaired(Mesh(vertices, faces))
    return mesh.points, mesh.triangles, notes


def closed_outwards(vertices, faces):
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    return mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0


def test_a_good_mesh_is_left_alone():
    vertices, faces, notes = repaired(V, F)
    assert notes == () and len(faces) == len(F) and closed_outwards(vertices, faces)


def test_loose_triangles_are_joined():
    soup = V[F].reshape(-1, 3)
    vertices, faces, _ = repaired(soup, np.arange(len(soup)).reshape(-1, 3))
    assert len(vertices) == len(V) and len(faces) == len(F) and closed_outwards(vertices, faces)


def test_triangles_are_turned_to_one_side_and_outwards():
    faces = F.copy()
    faces[::7] = faces[::7, ::-1]
    for given in (faces, faces[:, ::-1]):
        vertices, made, notes = repaired(V, given)
        assert closed_outwards(vertices, made)
        assert notes == (f"{len(F[::7])} triangles turned over",)


def test_small_holes_are_filled():
    fine = trimesh.creation.icosphere(4, 100.0)
    corners, triangles = np.array(fine.vertices), np.array(fine.faces, np.int64)
    missing = (triangles == 400).any(axis=1)
    far = np.linalg.norm(corners[triangles].mean(1) - corners[400], axis=1)
    missing[np.argmax(far)] = True  # one triangle on the other side
    vertices, faces, notes = repaired(corners, triangles[~missing])
    assert closed_outwards(vertices, faces)
    assert notes == ("2 holes filled",)
    assert abs(trimesh.Trimesh(vertices, faces).volume / BALL.volume - 1) < 0.01


def _at(mesh, corner, missing):
    """A ball's mesh without those triangles around one corner of six whose numbers, around it, are `missing`."""
    around = np.flatnonzero((mesh.faces == corner).any(axis=1))
    middle = mesh.triangles_center[around] - mesh.vertices[corner]
    across = np.cross(mesh.vertices[corner], middle[0])
    turn = np.argsort(
        np.arctan2(middle @ across / np.linalg.norm(across), middle @ middle[0] / np.linalg.norm(middle[0]))
    )
    assert len(turn) == 6
    return np.delete(mesh.faces, around[turn[missing]], axis=0)


@pytest.mark.parametrize("missing", [[0, 2], [0, 3], [0, 2, 4], [0, 1, 3, 4]])
def test_openings_that_touch_in_a_point_are_made_one(missing):
    fine = trimesh.creation.icosphere(4, 100.0)
    vertices, faces, notes = repaired(fine.vertices, _at(fine, 400, missing))
    assert closed_outwards(vertices, faces)
    assert any(re.fullmatch("[1-3] triangles? taken off where openings touched each other", note) for note in notes)
    assert notes[-1] in ("1 hole filled", "2 holes filled")
    assert abs(trimesh.Trimesh(vertices, faces).volume / fine.volume - 1) < 1e-3


@pytest.mark.parametrize("seed", range(6))
def test_a_ragged_hole_with_islands_is_filled(seed):
    fine = trimesh.creation.icosphere(5, 100.0)
    near = np.linalg.norm(fine.triangles_center - fine.vertices[0], axis=1) < 9.0
    missing = near & (np.random.default_rng(seed).random(len(near)) < 0.6)
    vertices, faces, notes = repaired(fine.vertices, fine.faces[~missing])
    assert closed_outwards(vertices, faces)
    assert any("taken off where openings touched" in note for note in notes)
    assert abs(trimesh.Trimesh(vertices, faces).volume / fine.volume - 1) < 1e-3


def _touching_all_over():
    # each of the triangles is of the lesser of two fans at some corner
    return 100.0 * np.vstack([np.eye(3), -np.eye(3)]), [[3, 2, 0], [2, 3, 5], [4, 0, 5], [2, 4, 1]]


def test_a_fin_without_thickness_is_dropped():
    # twice the same triangle, once each way round: there is nothing between them
    fin = np.array([F[0, 0], F[0, 1], len(V)])
    vertices, faces, _ = repaired(np.vstack([V, [[0, 0, 200.0]]]), np.vstack([F, [fin, fin[[1, 0, 2]]]]))
    assert len(faces) == len(F) and closed_outwards(vertices, faces)


def test_triangles_that_are_written_both_ways_round_are_one_skin():
    vertices, faces, _ = repaired(V, np.vstack([F, F[:, ::-1]]))
    assert len(faces) == len(F) and closed_outwards(vertices, faces)


def test_specks_are_dropped():
    speck = trimesh.creation.icosphere(1, 2.0)
    speck.apply_translation((150, 0, 0))
    both = trimesh.util.concatenate([BALL, speck])
    _, faces, notes = repaired(np.array(both.vertices), np.array(both.faces))
    assert len(faces) == len(F) and notes == ("1 loose speck dropped",)


def _two():
    other = trimesh.creation.icosphere(2, 60.0)
    other.apply_translation((300, 0, 0))
    both = trimesh.util.concatenate([BALL, other])
    return both.vertices, both.faces


def _open():
    return V, F[V[F].mean(1)[:, 2] > -50]


def _fin():
    return np.vstack([V, [[0, 0, 200.0]]]), np.vstack([F, [F[0, 0], F[0, 1], len(V)]])


def _touching():
    a = trimesh.creation.icosphere(2, 50.0)
    b = a.copy()
    top = a.vertices[np.argmax(a.vertices[:, 2])]
    b.apply_transform(trimesh.transformations.rotation_matrix(np.pi, (1, 0, 0)))
    b.apply_translation(top - b.vertices[np.argmin(b.vertices[:, 2])])
    both = trimesh.util.concatenate([a, b])
    return both.vertices, both.faces


def _through_itself():
    # a tube around a figure of eight whose two strands meet in the middle
    t = np.linspace(0, 2 * np.pi, 160, endpoint=False)
    line = np.column_stack([100 * np.sin(t), 60 * np.sin(2 * t), 8 * np.cos(t)])
    way = np.roll(line, -1, 0) - np.roll(line, 1, 0)
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    side = np.cross(way, (0, 0, 1.0))
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    up = np.cross(side, way)
    a = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    ring = np.cos(a)[None, :, None] * side[:, None] + np.sin(a)[None, :, None] * up[:, None]
    vertices = (line[:, None] + 15 * ring).reshape(-1, 3)
    i = np.arange(160 * 16).reshape(160, 16)
    p, q = np.roll(i, -1, 0), np.roll(i, -1, 1)
    r = np.roll(p, -1, 1)
    return vertices, np.vstack([np.stack(s, -1).reshape(-1, 3) for s in ((i, p, r), (i, r, q))])


def _twisted_loop():
    t = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    c, s = np.cos(t), np.sin(t)
    low, high = (
        np.column_stack([(100 + w * np.cos(t / 2)) * c, (100 + w * np.cos(t / 2)) * s, w * np.sin(t / 2)])
        for w in (-20, 20)
    )
    i = np.arange(60)
    a, b = i, i + 60
    c_, d = np.r_[i[1:], 60], np.r_[i[1:] + 60, 0]
    return np.vstack([low, high]), np.vstack([np.column_stack([a, c_, d]), np.column_stack([a, d, b])])


@pytest.mark.parametrize(
    "given, words",
    [
        (_two, "in 2 pieces; join them into one closed skin"),
        (_open, r"an opening \d+ mm across near .*; close all"),
        (_touching_all_over, "open all over, its triangles touch each other in points"),
        (_fin, "1 side with three or more triangles"),
        (_touching, "touches itself in single points"),
        (_through_itself, "passes through itself near"),
        (_twisted_loop, "has only one side"),
        (lambda: (V, F[:0]), "no triangles"),
        (lambda: (V, np.repeat(F[:, :1], 3, axis=1)), "no triangle in the file has an area"),
        (lambda: (V * np.nan, F), "not a number"),
    ],
)
def test_what_cannot_be_mended_is_refused_in_one_line(given, words):
    vertices, faces = given()
    with pytest.raises(BuildError, match=words) as caught:
        repaired(np.array(vertices), np.array(faces, np.int64))
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("share", [0.5, 0.1])
@pytest.mark.parametrize("off", [0.0, 1e-3])
def test_a_triangle_with_a_corner_on_its_own_side_is_taken_out(share, off):
    # a box has twelve edges and six faces, however its faces are divided
    box = trimesh.creation.box((120.0, 80.0, 60.0))
    vertices, faces = np.array(box.vertices), np.array(box.faces, np.int64)
    diagonal = int(np.argmin(box.face_adjacency_angles))
    flat, ends = box.face_adjacency[diagonal], box.face_adjacency_edges[diagonal]
    face = faces[flat[0]]
    k = next(k for k in range(3) if {face[k], face[k - 2]} == set(ends))
    a, b, c = (face[(k + n) % 3] for n in range(3))
    middle = vertices[a] + share * (vertices[b] - vertices[a]) + off * box.face_normals[flat[0]]
    m = len(vertices)
    faces = np.vstack([np.delete(faces, flat[0], axis=0), [[a, m, c], [m, b, c], [a, b, m]]])
    made, triangles, _ = repaired(np.vstack([vertices, middle]), faces)
    assert closed_outwards(made, triangles) and len(triangles) == 14
    assert Mesh(made, triangles).areas.min() > 100
    assert MeshSurface(Mesh(made, triangles)).sheet_count == 6


def test_rows_of_triangles_without_an_area_are_taken_out():
    # one side of a box's diagonal is divided at four places and the other at none, with a fan of flat triangles between
    box = trimesh.creation.box((120.0, 80.0, 60.0))
    vertices, faces = np.array(box.vertices), np.array(box.faces, np.int64)
    diagonal = int(np.argmin(box.face_adjacency_angles))
    number, ends = box.face_adjacency[diagonal][0], box.face_adjacency_edges[diagonal]
    face = faces[number]
    k = next(k for k in range(3) if {face[k], face[k - 2]} == set(ends))
    a, b, c = (int(face[(k + n) % 3]) for n in range(3))
    shares = (0.2, 0.4, 0.6, 0.8)
    line = [a, *range(len(vertices), len(vertices) + len(shares)), b]
    divided = [(p, q, c) for p, q in pairwise(line)]
    fan = [(a, q, p) for p, q in pairwise(line[1:])]
    vertices = np.vstack([vertices, *(vertices[a] + share * (vertices[b] - vertices[a]) for share in shares)])
    made, triangles, _ = repaired(vertices, np.vstack([np.delete(faces, number, axis=0), divided, fan]))
    assert closed_outwards(made, triangles) and len(triangles) == 12 + 2 * len(shares)
    assert Mesh(made, triangles).areas.min() > 100
    assert MeshSurface(Mesh(made, triangles)).sheet_count == 6


def test_flat_triangles_that_only_flat_ones_are_beside_are_left():
    # a box whose diagonal is gone over twice: turning the side between two flat triangles would only turn it back
    vertices = np.array([[0, 0, 0], [3, 0, 0], [1, 0, 0], [2, 0, 0]], float)
    faces = np.array([[0, 1, 2], [1, 0, 3]])
    assert repair.without_caps(vertices, faces).tolist() == faces.tolist()

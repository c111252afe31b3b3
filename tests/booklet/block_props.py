"""Props of plain blocks for tests of the order: plates whose solids are boxes, with the contacts found between them."""

import numpy as np
import shapely
import trimesh
from sample_prop import STRUCTURE

from foamwright.assembly.bodies import bodies, touches_of
from foamwright.contacts.find import find_contacts
from foamwright.contacts.records import Face, Plane, Solid
from foamwright.geometry.frame import Frame
from foamwright.parts.records import FlatBody, Piece, Placement

HERE = Placement(np.eye(4), False)


def piece(id_, size, at=(0, 0, 0), stock=STRUCTURE, glue="contact", lies_on=()):
    """A plate whose thickness is its size along z, and its mesh: a box of `size` whose middle is at `at`."""
    outline = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array(size[:2]) / 2.0
    body = FlatBody(outline, (), Frame(np.array(at, float), np.eye(3)), ())
    made = Piece(id_, id_.upper(), id_.title(), "plate", stock, body, (HERE,), 1, tuple(lies_on), (), glue, ())
    mesh = trimesh.creation.box(size)
    mesh.apply_translation(at)
    return made, (np.array(mesh.vertices), np.array(mesh.faces))


def scene(*parts):
    """The bodies of parts from `piece`, each in one copy."""
    pieces, meshes = zip(*parts)
    solids = [Solid(piece.id, 1, faces(*mesh), np.eye(4), piece.stock.thickness) for piece, mesh in parts]
    by_id = {piece.id: piece for piece in pieces}

    def glued(contact):
        a, b = by_id[contact.a.part], by_id[contact.b.part]
        return "none" not in (a.glue, b.glue) and b.id not in a.rests_on and a.id not in b.rests_on

    number = {(piece.id, 1): i for i, piece in enumerate(pieces)}
    return bodies(pieces, meshes, tuple(np.eye(4) for _ in pieces), touches_of(find_contacts(solids), number, glued))


def faces(points, triangles):
    """The flat faces of a convex mesh, as the contacts know them."""
    mesh = trimesh.Trimesh(points, triangles, process=False)
    found = []
    for facet, normal in zip(mesh.facets, mesh.facets_normal):
        x = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
        axes = np.column_stack([x, np.cross(normal, x), normal]) / np.array([np.linalg.norm(x)] * 2 + [1.0])
        origin = mesh.vertices[mesh.faces[facet[0]][0]]
        flat = (mesh.vertices - origin) @ axes[:, :2]
        area = shapely.MultiPoint(flat[np.unique(mesh.faces[facet])]).convex_hull
        normals = np.tile(normal, (len(mesh.vertices), 1))
        plane = Plane(np.array(origin), axes)
        corners = np.array(mesh.faces[facet])
        found.append(
            Face(f"f{len(found)}", np.array(mesh.vertices), corners, normals, plane, area, area.area, normal, 0.0)
        )
    return tuple(found)

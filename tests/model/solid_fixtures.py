"""A hand-made prop for the tests of the solids: closed formulas say what it must come to."""

from __future__ import annotations

import numpy as np

from foamwright.design.records import Design, Stock
from foamwright.model.meshes import face_meshes, tessellate
from foamwright.model.records import Copy, Prototype
from foamwright.parts.records import (
    BandBody,
    Chart,
    EdgeRun,
    FlatBody,
    Frame,
    PanelBody,
    PanelEdge,
    Piece,
    Placement,
    Prop,
)

FOAM = Stock("eva5", "EVA 5 mm", 5.0, 0.5, 0.03, (600.0, 600.0), 100.0, "#2a6fb0", "")
DARK = Stock("eva10", "EVA 10 mm", 10.0, 0.5, 0.03, (600.0, 600.0), 100.0, "#303030", "")


class Spheroid:
    """x = a sin cos, y = a sin sin, z = c cos; u from the north pole down, v counter-clockwise from above."""

    poles = (True, True)

    def __init__(self, a: float, c: float):
        self.a, self.c = a, c

    def _unit(self, coords):
        polar, turn = np.pi * coords[:, 0], 2 * np.pi * coords[:, 1]
        return np.stack([np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn), np.cos(polar)], axis=1)

    def point(self, coords):
        return self._unit(np.asarray(coords, float)) * [self.a, self.a, self.c]

    def normal(self, coords):
        n = self._unit(np.asarray(coords, float)) / [self.a, self.a, self.c]
        return n / np.linalg.norm(n, axis=1, keepdims=True)

    def offset(self, coords, distance):
        return self.point(coords) + np.reshape(distance, (-1, 1)) * self.normal(coords)


class Tube:
    """A cylinder about z without ends; u from the bottom up, v clockwise seen from above."""

    poles = (False, False)

    def __init__(self, radius: float, height: float):
        self.radius, self.height = radius, height

    def point(self, coords):
        turn = -2 * np.pi * coords[:, 1]
        return np.stack([self.radius * np.cos(turn), self.radius * np.sin(turn), self.height * coords[:, 0]], axis=1)

    def normal(self, coords):
        turn = -2 * np.pi * coords[:, 1]
        return np.stack([np.cos(turn), np.sin(turn), np.zeros(len(turn))], axis=1)

    def offset(self, coords, distance):
        return self.point(coords) + np.reshape(distance, (-1, 1)) * self.normal(coords)


def grid(low, high, n=24, m=24):
    u, v = np.meshgrid(np.linspace(low[0], high[0], n), np.linspace(low[1], high[1], m), indexing="ij")
    index = np.arange(n * m).reshape(n, m)
    a, b, c, d = (i.ravel() for i in (index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]))
    faces = np.vstack([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    return np.stack([u, v], -1).reshape(-1, 2), faces


def panel(surface, low, high, inner_offset=0.0, thickness=5.0, hole=None, cells=24):
    """The panel over a rectangle of surface coordinates; `hole` is (middle u, middle v, radii in u and v)."""
    coords, faces = grid(low, high, cells, cells)
    if hole is not None:
        middle = coords[faces].mean(axis=1)
        faces = faces[np.hypot(*((middle - hole[:2]) / hole[2:]).T) > 1.0]
    corners = [np.array(c) for c in (low, (high[0], low[1]), high, (low[0], high[1]))]
    paths = [
        (f"side {k}", 0, corners[k] + np.linspace(0, 1, 60)[:, None] * (corners[(k + 1) % 4] - corners[k]))
        for k in range(4)
    ]
    if hole is not None:
        turn = np.linspace(0, 2 * np.pi, 121)
        round_hole = np.array(hole[:2]) + np.stack([np.cos(turn), np.sin(turn)], 1) * hole[2:]
        round_hole[-1] = round_hole[0]
        paths.append(("hole", 1, round_hole))
    edges = []
    for name, loop, path in paths:
        if np.ptp(surface.point(path), axis=0).max() < 1e-9:
            continue  # a pole
        inner, middle, outer = (surface.offset(path, inner_offset + share * thickness) for share in (0.0, 0.5, 1.0))
        edges.append(
            PanelEdge(
                name,
                name,
                "seam",
                loop,
                path * 200,
                middle,
                np.zeros(len(path)),
                inner,
                outer,
                path,
                middle,
                *np.zeros((2, len(path), 2)),
                np.zeros((len(path), 3)),
            )
        )
    x, z = np.eye(3)[0], np.eye(3)[2]
    return PanelBody("form", surface, Chart(coords * 200, coords, faces), tuple(edges), inner_offset, (), False, x, z)


def rectangle(width, height):
    return np.array([(0, 0), (width, 0), (width, height), (0, height)], float)


def ring_points(radius, count=180, centre=(0.0, 0.0)):
    turn = np.arange(count) * 2 * np.pi / count
    return np.array(centre) + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)


def frame(origin=(0, 0, 0), axes=None):
    return Frame(np.array(origin, float), np.eye(3) if axes is None else np.array(axes, float).T)


def plate(outline, origin=(0, 0, 0), holes=(), bevels=None, **more):
    """A plate in a plane square to z; `bevels` gives one bevel per side of the outline."""
    runs = tuple(EdgeRun(f"side {i}", i, i + 1, (b,), ()) for i, b in enumerate(bevels or ()))
    return FlatBody(np.array(outline, float), tuple(holes), frame(origin), runs, **more)


def hoop(radius, low, high, inner_offset=0.0, share=1.0, count=121):
    """A band about z through `share` of a full turn."""
    turn = np.linspace(0, 2 * np.pi * share, count)
    normals = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)
    ends = np.full(count, low), np.full(count, high)
    return BandBody(radius * normals, normals, np.eye(3)[2], *ends, inner_offset, share == 1.0, 0, 0, (), ())


def placed(x=0.0, y=0.0, z=0.0, mirrored=False):
    matrix = np.diag([1.0, -1.0 if mirrored else 1.0, 1.0, 1.0])
    matrix[:3, 3] = x, y, z
    return Placement(matrix, mirrored)


def piece(label, body, stock=FOAM, placements=None, layers=1):
    kind = {"PanelBody": "panel", "FlatBody": "plate", "BandBody": "band"}[type(body).__name__]
    places = placements or (placed(),)
    part_id = f"p{label.lower()}"
    return Piece(part_id, label, f"part {label}", kind, stock, body, places, layers, (), (), "contact", ())


def copy_of(piece, shape, matrix=None):
    """The first copy of a part whose solid is any shape of CadQuery's."""
    tessellate(shape.wrapped)
    made = Prototype(piece.id, piece, False, shape.wrapped, {}, face_meshes(shape.wrapped), shape.Volume(), "")
    return Copy(piece, 1, made, np.eye(4) if matrix is None else matrix)


def prop(*pieces):
    stock = {p.stock.id: p.stock for p in pieces}
    words = ("try", "Trial Größe", "1", "CC0-1.0", "", "", "default", "")
    design = Design(*words, (), stock, {}, (), None, (), (), "0" * 64, ".")
    return Prop(design, tuple(pieces), (), ())


def small_prop():
    """Gores of a spheroid, a panel in both hands, a hoop, a laminated disc, a ring, a plate with a hole."""
    form = Spheroid(150.0, 220.0)
    gores = [piece(chr(65 + i), panel(form, (0.05, (i + 1) / 8), (0.6, (i + 2) / 8))) for i in range(6)]
    side = piece("G", panel(form, (0.65, 0.02), (0.8, 0.1)), placements=(placed(), placed(mirrored=True)))
    return prop(
        *gores,
        side,
        piece("H", hoop(150.0, -15, 15, 5.0), DARK),
        piece("I", plate(ring_points(60), (0, 0, 300), radius=60.0), layers=2),
        piece("J", plate(ring_points(60), (0, 0, 330), (ring_points(40)[::-1],), radius=60.0, inner_radius=40.0)),
        piece("K", plate(rectangle(80, 50), (200, 0, 0), (ring_points(10, centre=(40, 25))[::-1],))),
    )

"""The files of a first look."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from foamwright.drawing.png import png_bytes, prepare
from foamwright.drawing.svg import svg_bytes
from foamwright.geometry import Mesh
from foamwright.look.picture import FIGURE, sheet
from foamwright.look.records import Look, corner_normals
from foamwright.model.glb import Glb
from foamwright.parts.placing import move
from foamwright.parts.records import PanelBody

if TYPE_CHECKING:
    from foamwright.beside import Beside

PIXELS = 1900  # width of the picture
_RED, _BLUE, _BLACK = "#d0201a", "#0b4f9c", "#202020"
_LENGTH = 1.08  # of an axis, in extents of the prop


def files(look: Look, beside: Beside | None = None) -> Mapping[str, bytes]:
    """`look.svg`, `look.png` and `look.glb` by name. Same look, same bytes.

    Some of the drawing is made in the process `beside` this one, if there is one, and there it becomes a picture.
    """
    if beside is not None:
        beside.start(prepare)
    drawing, width, height = sheet(look, beside)
    svg = svg_bytes(drawing, width, height, title=f"{look.design.name}, size {look.design.size}, first look")
    coming = None if beside is None else beside.start(png_bytes, svg, PIXELS)
    scene = scene_bytes(look)
    png = None if coming is None else coming.result()
    return {"look.svg": svg, "look.png": png or png_bytes(svg, PIXELS), "look.glb": scene}


def scene_bytes(look: Look) -> bytes:
    """A node for every copy, for the space that each pair shares, for the figure and what reaches into it, for every edge of a
    panel, and for each axis."""
    file = Glb()
    opacity = 0.45 if any(not pair.declared for pair in look.overlaps) else 1.0  # one sees through to what is red
    stocks = {copy.piece.stock.id: copy.piece.stock for copy in look.copies}
    foams = {stock.id: file.material(stock.name, stock.colour, opacity) for stock in stocks.values()}
    meshes: dict[str, int] = {}
    for copy in look.copies:
        part = copy.piece.id
        if part not in meshes:
            points, normals, triangles = _shaded(copy.modelled, copy.smooth)
            name = f"{copy.piece.label} {copy.piece.name}"
            meshes[part] = file.mesh(name, points, normals, triangles, foams[copy.piece.stock.id])
        file.node(copy.name, meshes[part], copy.matrix)
    red, blue, black = (file.material(*pair) for pair in (("overlap", _RED), ("cut", _BLUE), ("axis", _BLACK)))
    for pair in look.overlaps:
        name = f"overlap of {pair.a.name} and {pair.b.name}"
        flat = np.full(len(pair.mesh.triangles), -1)
        file.node(name, file.mesh(name, *_shaded(pair.mesh, flat), red))
    if look.figure is not None:
        pale = file.material("figure", FIGURE, 0.45)
        inside = [(f"{reach.copy.name} in the figure", reach.mesh, red) for reach in look.figure.reaches]
        for name, mesh, colour in [(f"figure {look.figure.name}", look.figure.mesh, pale), *inside]:
            flat = np.full(len(mesh.triangles), -1)
            file.node(name, file.mesh(name, *_shaded(mesh, flat), colour))
    for copy in look.copies:
        if isinstance(copy.piece.body, PanelBody):
            for edge in copy.piece.body.edges:
                name = f"edge {edge.id} of {copy.name}, cut {edge.cut} of {copy.piece.body.form}"
                line = move(edge.outer, copy.matrix)
                pairs = np.column_stack([np.arange(len(line) - 1), np.arange(1, len(line))])
                file.node(name, file.lines(name, line, pairs, blue))
    low, high = look.box
    for axis, name in enumerate(("x forward", "y left", "z up")):
        end = low.copy()
        end[axis] += _LENGTH * max(high[axis] - low[axis], 1.0)
        file.node(name, file.lines(name, np.stack([low, end]), np.array([[0, 1]]), black))
    return file.file(f"{look.design.name}, first look")


def _shaded(mesh: Mesh, smooth: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points (n, 3), unit normals (n, 3) and triangles (m, 3), with a point for every face that shades it otherwise."""
    face = np.where(smooth >= 0, smooth, smooth.max(initial=0) + 1 + np.arange(len(smooth)))
    corner = mesh.triangles.ravel().astype(np.int64)
    shaded = corner * (int(face.max(initial=0)) + 1) + np.repeat(face, 3)  # a number of its own for each
    _, first, number = np.unique(shaded, return_index=True, return_inverse=True)
    normals = corner_normals(mesh, smooth).reshape(-1, 3)
    return mesh.points[corner[first]], normals[first], number.reshape(-1, 3)

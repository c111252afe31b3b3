"""The prop as a binary glTF file: one material per foam, copies of one shape share its mesh."""

from __future__ import annotations

import numpy as np

from foamwright.model.glb import Glb
from foamwright.model.meshes import normals
from foamwright.model.records import Model


def gltf_bytes(model: Model) -> bytes:
    """A node named after every copy. Same model, same bytes."""
    file = Glb()
    stocks = {copy.piece.stock.id: copy.piece.stock for copy in model.copies}
    material = {stock.id: file.material(stock.name, stock.colour) for stock in stocks.values()}
    meshes: dict[str, int] = {}
    for copy in model.copies:
        if copy.prototype.key not in meshes:
            faces = copy.prototype.face_meshes  # smooth within a face, sharp between faces
            starts = np.cumsum([0] + [len(f.points) for f in faces[:-1]])
            meshes[copy.prototype.key] = file.mesh(
                f"{copy.piece.label} {copy.piece.name}",
                np.vstack([f.points for f in faces]),
                np.vstack([normals(f) for f in faces]),
                np.vstack([f.triangles + s for f, s in zip(faces, starts)]),
                material[copy.piece.stock.id],
            )
        file.node(copy.name, meshes[copy.prototype.key], copy.matrix)
    return file.file(model.prop.design.name)

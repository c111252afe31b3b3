"""The prop as a binary glTF 2.0 file (ISO/IEC 12113:2022): metres, y up, z forward, one material per foam."""

from __future__ import annotations

import json
import struct

import numpy as np

from foamwright.model.colours import linear, rgb
from foamwright.model.meshes import FaceMesh, face_meshes, normals
from foamwright.model.records import Model

# x forward, y left, z up in mm to x left, y up, z forward in metres: a rotation, so nothing is mirrored.
TO_GLTF = np.array([[0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0], [0, 0, 0, 1000]]) / 1000.0

FLOAT, UNSIGNED = 5126, 5125
VERTICES, INDICES = 34962, 34963


def gltf_bytes(model: Model) -> bytes:
    """A node named after every copy; copies of one shape share its mesh. Same model, same bytes."""
    stocks = list({copy.piece.stock.id: copy.piece.stock for copy in model.copies}.values())
    material = {stock.id: i for i, stock in enumerate(stocks)}
    store = _Store()
    meshes: dict[str, int] = {}
    mesh_list: list[dict] = []
    nodes: list[dict] = []
    to_space = np.linalg.inv(TO_GLTF)
    for copy in model.copies:
        if copy.prototype.key not in meshes:
            meshes[copy.prototype.key] = len(mesh_list)
            primitive = store.primitive(face_meshes(copy.prototype.shape.wrapped))
            primitive["material"] = material[copy.piece.stock.id]
            mesh_list.append({"name": f"{copy.piece.label} {copy.piece.name}", "primitives": [primitive]})
        node = {"name": copy.name, "mesh": meshes[copy.prototype.key]}
        if not np.array_equal(copy.matrix, np.eye(4)):
            moved = TO_GLTF @ copy.matrix @ to_space
            node["matrix"] = [round(float(x), 12) + 0.0 for x in moved.T.ravel()]
        nodes.append(node)
    document = {
        "asset": {"version": "2.0", "generator": "foamwright"},
        "scene": 0,
        "scenes": [{"name": model.prop.design.name, "nodes": [len(nodes)]}],
        "nodes": [*nodes, {"name": model.prop.design.name, "children": list(range(len(nodes)))}],
        "meshes": mesh_list,
        "materials": [_material(stock) for stock in stocks],
        "accessors": store.accessors,
        "bufferViews": store.views,
        "buffers": [{"byteLength": len(store.data)}],
    }
    text = json.dumps(document, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
    return _container(text, bytes(store.data))


class _Store:
    """The binary buffer while it grows, with the views and accessors that describe it."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[dict] = []
        self.accessors: list[dict] = []

    def primitive(self, faces: tuple[FaceMesh, ...]) -> dict:
        """One mesh of all faces, shaded smooth within a face and sharp between faces."""
        starts = np.cumsum([0] + [len(f.points) for f in faces[:-1]])
        points = np.vstack([f.points for f in faces]) @ TO_GLTF[:3, :3].T
        directions = np.vstack([normals(f) for f in faces]) @ (1000.0 * TO_GLTF[:3, :3].T)
        triangles = np.vstack([f.triangles + s for f, s in zip(faces, starts)])
        points = points.astype("<f4")
        position = self._add(points, VERTICES, FLOAT, "VEC3")
        self.accessors[position]["min"] = [float(x) for x in points.min(axis=0)]
        self.accessors[position]["max"] = [float(x) for x in points.max(axis=0)]
        normal = self._add(directions.astype("<f4"), VERTICES, FLOAT, "VEC3")
        indices = self._add(triangles.astype("<u4").ravel(), INDICES, UNSIGNED, "SCALAR")
        return {"attributes": {"POSITION": position, "NORMAL": normal}, "indices": indices}

    def _add(self, values: np.ndarray, target: int, component: int, kind: str) -> int:
        raw = values.tobytes()
        view = {"buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw), "target": target}
        self.views.append(view)
        self.data += raw
        accessor = {
            "bufferView": len(self.views) - 1,
            "componentType": component,
            "count": len(values),
            "type": kind,
        }
        self.accessors.append(accessor)
        return len(self.accessors) - 1


def _material(stock) -> dict:
    base = [round(linear(x), 6) for x in rgb(stock.colour)]
    matt = {"baseColorFactor": [*base, 1.0], "metallicFactor": 0.0, "roughnessFactor": 0.9}
    return {"name": stock.name, "pbrMetallicRoughness": matt}


def _container(text: bytes, data: bytes) -> bytes:
    """The GLB container: header, JSON chunk padded with spaces, binary chunk padded with zeros."""
    text += b" " * (-len(text) % 4)
    data += b"\0" * (-len(data) % 4)
    chunks = struct.pack("<II", len(text), 0x4E4F534A) + text + struct.pack("<II", len(data), 0x004E4942) + data
    return struct.pack("<III", 0x46546C67, 2, 12 + len(chunks)) + chunks

"""A binary glTF 2.0 file (ISO/IEC 12113:2022) while it is put together: metres, y up, z forward."""

from __future__ import annotations

import json
import struct
from typing import Any

import numpy as np

from foamwright.model.colours import linear, rgb

# x forward, y left, z up in mm to x left, y up, z forward in metres: a rotation, so nothing is mirrored.
TO_GLTF = np.array([[0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0], [0, 0, 0, 1000]]) / 1000.0

_FLOAT, _UNSIGNED = 5126, 5125
_VERTICES, _INDICES = 34962, 34963
_LINES = 1  # the mode of a primitive; triangles where none is said


class Glb:
    """Materials, meshes and nodes in the order in which they are given; numbers count from 0."""

    def __init__(self) -> None:
        self._data = bytearray()
        self._views: list[dict[str, Any]] = []
        self._accessors: list[dict[str, Any]] = []
        self._meshes: list[dict[str, Any]] = []
        self._materials: list[dict[str, Any]] = []
        self._nodes: list[dict[str, Any]] = []

    def material(self, name: str, colour: str, opacity: float = 1.0) -> int:
        """A matt material of the colour "#rrggbb"; its number."""
        base = [round(linear(x), 6) for x in rgb(colour)]
        matt = {"baseColorFactor": [*base, opacity], "metallicFactor": 0.0, "roughnessFactor": 0.9}
        made: dict[str, Any] = {"name": name, "pbrMetallicRoughness": matt}
        if opacity < 1.0:
            made |= {"alphaMode": "BLEND", "doubleSided": True}
        self._materials.append(made)
        return len(self._materials) - 1

    def mesh(self, name: str, points: np.ndarray, normals: np.ndarray, triangles: np.ndarray, material: int) -> int:
        """Triangles (m, 3) of points (n, 3) in mm with unit normals (n, 3) there; its number."""
        attributes = {"POSITION": self._places(points)}
        turned = normals @ (1000.0 * TO_GLTF[:3, :3].T)
        attributes["NORMAL"] = self._add(turned.astype("<f4"), _VERTICES, _FLOAT, "VEC3")
        indices = self._add(triangles.astype("<u4").ravel(), _INDICES, _UNSIGNED, "SCALAR")
        return self._mesh(name, {"attributes": attributes, "indices": indices, "material": material})

    def lines(self, name: str, points: np.ndarray, pairs: np.ndarray, material: int) -> int:
        """Strokes (m, 2) between points (n, 3) in mm; its number."""
        attributes = {"POSITION": self._places(points)}
        indices = self._add(pairs.astype("<u4").ravel(), _INDICES, _UNSIGNED, "SCALAR")
        return self._mesh(name, {"attributes": attributes, "indices": indices, "material": material, "mode": _LINES})

    def node(self, name: str, mesh: int, matrix: np.ndarray | None = None) -> None:
        """Show a mesh, moved by a (4, 4) matrix of space."""
        node: dict[str, Any] = {"name": name, "mesh": mesh}
        if matrix is not None and not np.array_equal(matrix, np.eye(4)):
            moved = TO_GLTF @ matrix @ np.linalg.inv(TO_GLTF)
            node["matrix"] = [round(float(x), 12) + 0.0 for x in moved.T.ravel()]
        self._nodes.append(node)

    def file(self, title: str) -> bytes:
        """The whole file: all nodes as children of one named `title`."""
        count = len(self._nodes)
        document = {
            "asset": {"version": "2.0", "generator": "foamwright"},
            "scene": 0,
            "scenes": [{"name": title, "nodes": [count]}],
            "nodes": [*self._nodes, {"name": title, "children": list(range(count))}],
            "meshes": self._meshes,
            "materials": self._materials,
            "accessors": self._accessors,
            "bufferViews": self._views,
            "buffers": [{"byteLength": len(self._data)}],
        }
        text = json.dumps(document, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
        return _container(text, bytes(self._data))

    def _mesh(self, name: str, primitive: dict[str, Any]) -> int:
        self._meshes.append({"name": name, "primitives": [primitive]})
        return len(self._meshes) - 1

    def _places(self, points: np.ndarray) -> int:
        turned = (points @ TO_GLTF[:3, :3].T).astype("<f4")
        number = self._add(turned, _VERTICES, _FLOAT, "VEC3")
        self._accessors[number]["min"] = [float(x) for x in turned.min(axis=0)]
        self._accessors[number]["max"] = [float(x) for x in turned.max(axis=0)]
        return number

    def _add(self, values: np.ndarray, target: int, component: int, kind: str) -> int:
        raw = values.tobytes()
        view = {"buffer": 0, "byteOffset": len(self._data), "byteLength": len(raw), "target": target}
        self._views.append(view)
        self._data += raw
        accessor = {
            "bufferView": len(self._views) - 1,
            "componentType": component,
            "count": len(values),
            "type": kind,
        }
        self._accessors.append(accessor)
        return len(self._accessors) - 1


def _container(text: bytes, data: bytes) -> bytes:
    """The GLB container: header, JSON chunk padded with spaces, binary chunk padded with zeros."""
    text += b" " * (-len(text) % 4)
    data += b"\0" * (-len(data) % 4)
    chunks = struct.pack("<II", len(text), 0x4E4F534A) + text + struct.pack("<II", len(data), 0x004E4942) + data
    return struct.pack("<III", 0x46546C67, 2, 12 + len(chunks)) + chunks

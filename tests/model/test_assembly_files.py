from __future__ import annotations

import hashlib
import json
import os
import struct
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from OCP.Quantity import Quantity_Color, Quantity_TypeOfColor
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool, XCAFDoc_ShapeTool
from solid_fixtures import small_prop

from foamwright.model.brep import volume
from foamwright.model.build import build_model
from foamwright.model.gltf import gltf_bytes
from foamwright.model.meshes import closed_mesh, face_meshes
from foamwright.model.step import step_text
from foamwright.model.step_text import step_file


@pytest.fixture(scope="module")
def model():
    return build_model(small_prop())


def test_every_copy_is_there_and_its_mirror_image_is_one(model):
    assert len(model.copies) == 12 and all(c.prototype.exact for c in model.copies)
    left, right = (c for c in model.copies if c.piece.id == "pg")
    assert (left.name, right.name) == ("G part G (1)", "G part G (2)")
    a, b = left.shape.BoundingBox(), right.shape.BoundingBox()
    assert (a.xmin, a.zmax) == pytest.approx((b.xmin, b.zmax), abs=1e-6)
    assert (a.ymin, a.ymax) == pytest.approx((-b.ymax, -b.ymin), abs=1e-6)
    assert volume(right.shape.wrapped) == pytest.approx(left.volume, rel=1e-6)


def test_triangles_of_every_copy_are_closed_and_face_outwards(model):
    for copy in model.copies:
        points, triangles = closed_mesh(face_meshes(copy.shape.wrapped))
        sides = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
        assert (np.unique(sides, axis=0, return_counts=True)[1] == 2).all()
        a, b, c = (points[triangles[:, k]] for k in range(3))
        assert np.einsum("ij,ij->", a, np.cross(b, c)) / 6 == pytest.approx(copy.volume, rel=5e-3)


def test_a_prototype_has_the_triangles_of_the_kernel_also_in_its_mirror_image(model):
    mirrored = [prototype for prototype in model.prototypes if prototype.mirrored]
    assert len(mirrored) == 1
    for prototype in model.prototypes:
        for own, mesh in zip(prototype.face_meshes, face_meshes(prototype.solid), strict=True):
            assert np.array_equal(own.points, mesh.points)
            assert np.array_equal(np.sort(own.triangles, axis=1), np.sort(mesh.triangles, axis=1))
            corners = own.points[own.triangles], mesh.points[mesh.triangles]
            one, other = (np.cross(c[:, 1] - c[:, 0], c[:, 2] - c[:, 0]) for c in corners)
            assert np.allclose(one, other, rtol=0.0, atol=1e-9)


def test_step_comes_back_with_names_colours_and_volumes(model, tmp_path):
    path = tmp_path / "prop.step"
    path.write_bytes(step_file(step_text(model)))
    document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    reader.SetColorMode(True)
    reader.ReadFile(str(path))
    reader.Transfer(document)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    roots, parts = TDF_LabelSequence(), TDF_LabelSequence()
    tool.GetFreeShapes(roots)
    assert _name(roots.Value(1)) == "Trial Größe"
    XCAFDoc_ShapeTool.GetComponents_s(roots.Value(1), parts)
    labels = [parts.Value(i) for i in range(1, parts.Length() + 1)]
    assert [_name(x) for x in labels] == [c.name for c in model.copies]
    for label, copy in zip(labels, model.copies):
        shape = XCAFDoc_ShapeTool.GetShape_s(label)
        assert volume(shape) == pytest.approx(copy.volume, rel=1e-4)
        colour, prototype = Quantity_Color(), TDF_Label()
        XCAFDoc_ShapeTool.GetReferredShape_s(label, prototype)
        assert colours.GetColor(XCAFDoc_ShapeTool.GetShape_s(prototype), XCAFDoc_ColorType.XCAFDoc_ColorSurf, colour)
        rgb = [round(255 * x) for x in colour.Values(Quantity_TypeOfColor.Quantity_TOC_sRGB)]
        assert "#{:02x}{:02x}{:02x}".format(*tuple(rgb)) == copy.piece.stock.colour


def _name(label):
    found = TDataStd_Name()
    assert label.FindAttribute(TDataStd_Name.GetID_s(), found)
    return found.Get().ToExtString()


def test_glb_is_a_valid_container_in_metres_with_y_up(model):
    """The layout of ISO/IEC 12113:2022 (glTF 2.0), 4.4 and 3.4, read back by hand."""
    raw = gltf_bytes(model)
    magic, version, length = struct.unpack_from("<4sII", raw)
    assert (magic, version, length) == (b"glTF", 2, len(raw))
    size, kind = struct.unpack_from("<I4s", raw, 12)
    assert kind == b"JSON" and size % 4 == 0
    scene = json.loads(raw[20 : 20 + size])
    data_size, kind = struct.unpack_from("<I4s", raw, 20 + size)
    assert kind == b"BIN\0" and data_size % 4 == 0 and 28 + size + data_size == len(raw)
    data = raw[28 + size :]
    assert scene["buffers"] == [{"byteLength": len(data)}]
    assert [m["name"] for m in scene["materials"]] == ["EVA 5 mm", "EVA 10 mm"]
    nodes = [scene["nodes"][i] for i in scene["nodes"][scene["scenes"][0]["nodes"][0]]["children"]]
    assert [n["name"] for n in nodes] == [c.name for c in model.copies]
    for node, copy in zip(nodes, model.copies):
        (primitive,) = scene["meshes"][node["mesh"]]["primitives"]
        points = _values(scene, data, primitive["attributes"]["POSITION"], "<f4").reshape(-1, 3)
        normals = _values(scene, data, primitive["attributes"]["NORMAL"], "<f4").reshape(-1, 3)
        corners = _values(scene, data, primitive["indices"], "<u4").reshape(-1, 3)
        assert np.linalg.norm(normals, axis=1) == pytest.approx(np.ones(len(normals)), abs=1e-4)
        matrix = np.array(node.get("matrix", np.eye(4).ravel())).reshape(4, 4).T
        assert np.linalg.det(matrix[:3, :3]) == pytest.approx(1.0)
        a, b, c = (points[corners[:, k]].astype(float) for k in range(3))
        turned = np.cross(b - a, c - a)
        facing = (turned * normals[corners[:, 0]]).sum(axis=1)
        assert (facing[np.linalg.norm(turned, axis=1) > 1e-9] > 0).mean() > 0.999
        assert np.einsum("ij,ij->", a, np.cross(b, c)) / 6 == pytest.approx(copy.volume * 1e-9, rel=5e-3)
        moved = points @ matrix[:3, :3].T + matrix[:3, 3]
        box = copy.shape.BoundingBox()
        assert moved.max(axis=0) == pytest.approx([box.ymax / 1e3, box.zmax / 1e3, box.xmax / 1e3], abs=3e-4)


def _values(scene, data, number, dtype):
    accessor = scene["accessors"][number]
    view = scene["bufferViews"][accessor["bufferView"]]
    width = {"SCALAR": 1, "VEC3": 3}[accessor["type"]]
    assert view["byteLength"] == 4 * width * accessor["count"] and view["byteOffset"] % 4 == 0
    return np.frombuffer(data, dtype, width * accessor["count"], view["byteOffset"])


def test_the_bytes_are_the_same_in_another_process_and_the_second_time(model):
    here = [hashlib.sha256(make(model)).hexdigest() for make in (lambda made: step_file(step_text(made)), gltf_bytes)]
    again = [hashlib.sha256(make(model)).hexdigest() for make in (lambda made: step_file(step_text(made)), gltf_bytes)]
    program = (
        "import hashlib, solid_fixtures\n"
        "from foamwright.model.build import build_model\n"
        "from foamwright.model.gltf import gltf_bytes\n"
        "from foamwright.model.step import step_text\n"
        "from foamwright.model.step_text import step_file\n"
        "a = build_model(solid_fixtures.small_prop())\n"
        "print(*(hashlib.sha256(make(a)).hexdigest() for make in (lambda made: step_file(step_text(made)), gltf_bytes)))\n"
    )
    folder = Path(__file__).parent
    path = {"PYTHONPATH": f"{folder}:{folder.parents[1] / 'generator'}", "PATH": "/usr/bin:/bin"}
    # what is said of the processor stays: the last digits of a product of matrices depend on it
    path |= {name: value for name, value in os.environ.items() if name.startswith("OPENBLAS_")}
    other = subprocess.run([sys.executable, "-c", program], env=path, capture_output=True, text=True, check=True)
    assert here == again == other.stdout.split()

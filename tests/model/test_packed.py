"""Solids as bytes and back: the same faces, names and triangles, and the same bytes again."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))
from solid_fixtures import hoop, piece, plate, rectangle

from foamwright.model.build import prototype
from foamwright.model.meshes import face_meshes
from foamwright.model.packed import packed, unpacked
from foamwright.model.records import NamedSolid
from foamwright.store import Store

PLATE = piece("A", plate(rectangle(80, 50)))
HOOP = piece("B", hoop(100.0, -10, 10))


@pytest.mark.parametrize("part", [PLATE, HOOP])
def test_a_solid_comes_back_with_its_faces_by_name(part):
    made = prototype(part)
    back = unpacked(packed(NamedSolid(made.solid, made.named)))
    assert {name: len(faces) for name, faces in back.faces.items()} == {n: len(f) for n, f in made.named.items()}
    for name, faces in back.faces.items():
        assert [f.Orientation() for f in faces] == [f.Orientation() for f in made.named[name]]
    for one, other in zip(face_meshes(back.shape), made.face_meshes, strict=True):
        assert np.array_equal(one.points, other.points) and np.array_equal(one.triangles, other.triangles)


def test_a_face_of_another_solid_is_left_out():
    one, other = prototype(PLATE), prototype(HOOP)
    faces = {"own": one.named["inside"], "foreign": other.named["inside"]}
    assert {name: len(own) for name, own in unpacked(packed(NamedSolid(one.solid, faces))).faces.items()} == {
        "own": 1,
        "foreign": 0,
    }


def test_a_part_is_modelled_once_while_it_stays(tmp_path):
    store = Store(tmp_path)
    first = prototype(PLATE, store)
    second = prototype(PLATE, store)
    assert (store.made["solid"], store.found["solid"]) == (1, 1)
    assert second.volume == first.volume and second.shortfall == first.shortfall
    prototype(piece("A", plate(rectangle(80, 51))), store)
    assert store.made["solid"] == 2

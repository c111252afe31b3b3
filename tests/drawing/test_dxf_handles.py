"""Handles of DXF entities: unique, below $HANDSEED (Autodesk, DXF Reference), and the same while the entity is."""

import difflib
import io

import ezdxf
import numpy as np

from foamwright.drawing.dxf import dxf_bytes
from foamwright.drawing.primitives import Drawing, Path, Text


def drawn(*more):
    lines = [Path(np.array([[k, 0.0], [k, 9.0], [k + 1.0, 9.0]]), "cut", True) for k in range(30)]
    twice = [Path(np.array([[0.0, 0.0], [5.0, 5.0]]), "cut", False)] * 2
    return dxf_bytes(Drawing((*more, *lines, *twice, Text((1.0, 1.0), "A", 5.0, "note")))).decode()


def test_handles_are_unique_and_below_the_seed():
    text = drawn()
    document = ezdxf.read(io.StringIO(text))
    handles = [entity.dxf.handle for entity in document.modelspace()]
    assert len(handles) == len(set(handles)) == 33
    assert max(int(handle, 16) for handle in document.entitydb) < int(document.header["$HANDSEED"], 16) < 2**64
    found = document.audit()
    assert not found.errors and not found.fixes


def test_a_new_line_in_front_changes_no_other():
    before = drawn().splitlines()
    after = drawn(Path(np.array([[0.0, 0.0], [3.0, 9.0], [1.0, 9.0]]), "cut", True)).splitlines()
    told = [
        line for line in difflib.unified_diff(before, after, n=0) if line[0] in "+-" and line[:3] not in ("+++", "---")
    ]
    assert len(told) == len(after) - len(before) < 40 and all(line[0] == "+" for line in told)


def test_same_drawing_same_bytes():
    assert drawn() == drawn()

"""Files read back: what another library wrote is read as that library has it."""

import io

import ezdxf
import numpy as np
import pytest

from foamwright.proof.read import dxf


def written(**lines):
    document = ezdxf.new("R2010", setup=True)
    for layer, (points, closed) in lines.items():
        document.modelspace().add_lwpolyline(points, close=closed, dxfattribs={"layer": layer})
    document.modelspace().add_text("Grüße, 0", dxfattribs={"layer": "words"})
    document.blocks.new("aside").add_lwpolyline([(0, 0), (1, 0), (1, 1)], close=True)  # no part of the drawing
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def test_closed_lines_and_texts_are_those_that_ezdxf_wrote():
    square, bent = [(0, 0), (40.125, 0), (40.125, 30), (0, 30)], [(5, 5), (9, 5), (7, 8.5)]
    drawn = dxf(written(cut=(square, True), inner=(bent, True), fold=(bent, False)))
    assert sorted(drawn.rings) == ["cut", "inner"] and drawn.texts == ("Grüße, 0",)
    assert np.array_equal(drawn.rings["cut"][0], square) and np.array_equal(drawn.rings["inner"][0], bent)


def test_a_torn_file_is_refused():
    whole = written(cut=([(0, 0), (1, 0), (1, 1)], True))
    torn = whole[: whole.index(b"ENDSEC", whole.index(b"\nENTITIES"))]
    with pytest.raises(ValueError, match="ends within"):
        dxf(torn)

"""The QR code of an address: its parts as ISO/IEC 18004 places them, and what a reader of such codes finds in it.

`zbarimg` (ZBar, a general reader) is used where it is installed.
"""

import shutil
import subprocess

import numpy as np
import pytest
from shapely import box, unary_union
from shapely.geometry import Point, Polygon

from foamwright.booklet.pages.qr import qr_code
from foamwright.drawing.primitives import Drawing
from foamwright.drawing.svg import svg_bytes

ADDRESS = "https://example.org/foamwright/harbour-lantern"
SIZE = 24.0


def dark(text):
    return unary_union([Polygon(item.points) for item in qr_code(text, SIZE).items])


@pytest.mark.parametrize("text", ["a", ADDRESS, ADDRESS * 8])
def test_finder_patterns_and_quiet_zone(text):
    """Clause 6.3: three finder patterns of 7 modules, and 4 modules left white all around."""
    code = dark(text)
    x0, y0, x1, y1 = code.bounds
    quiet = x0
    module = quiet / 4.0
    assert [x0, -y1, SIZE - x1, SIZE + y0] == pytest.approx([quiet] * 4)
    modules = (x1 - x0) / module
    assert modules == pytest.approx(round(modules)) and (round(modules) - 17) % 4 == 0  # versions are 21, 25, ... wide
    for left, top in ((x0, y1), (x1 - 7 * module, y1), (x0, y0 + 7 * module)):
        ring = box(left, top - 7 * module, left + 7 * module, top)
        ring = ring.difference(box(left + module, top - 6 * module, left + 6 * module, top - module))
        middle = box(left + 2 * module, top - 5 * module, left + 5 * module, top - 2 * module)
        assert code.intersection(ring.union(middle)).area == pytest.approx(ring.area + middle.area, rel=1e-6)
        assert not code.contains(Point(left + 1.5 * module, top - 1.5 * module))


@pytest.mark.skipif(shutil.which("zbarimg") is None, reason="ZBar is not installed")
def test_a_reader_finds_the_address(tmp_path):
    import cairosvg

    drawn = svg_bytes(Drawing(qr_code(ADDRESS, SIZE).items), SIZE, SIZE, (0.0, -SIZE))
    (tmp_path / "code.png").write_bytes(cairosvg.svg2png(bytestring=drawn, output_width=284, background_color="white"))
    found = subprocess.run(["zbarimg", "-q", "--raw", str(tmp_path / "code.png")], capture_output=True, text=True)
    assert found.stdout.strip() == ADDRESS


def test_same_address_same_code():
    first, second = qr_code(ADDRESS, SIZE), qr_code(ADDRESS, SIZE)
    assert all(np.array_equal(a.points, b.points) for a, b in zip(first.items, second.items, strict=True))

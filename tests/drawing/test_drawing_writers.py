import hashlib
import io
import os
import subprocess
import sys
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pypdf
import pypdfium2
import pytest
import svgpathtools
from fontTools.ttLib import TTFont
from PIL import Image

from foamwright.drawing.document import Document, Page
from foamwright.drawing.dxf import dxf_bytes
from foamwright.drawing.fonts import face_file
from foamwright.drawing.pdf import pdf_bytes
from foamwright.drawing.png import png_bytes
from foamwright.drawing.primitives import LAYERS, Drawing, Hatch, Path, Shading, Text, Tick
from foamwright.drawing.style import STYLES
from foamwright.drawing.svg import svg_bytes

SVG = "{http://www.w3.org/2000/svg}"
SQUARE = np.array([[20.0, 30.0], [70.0, 30.0], [70.0, 80.0], [20.0, 80.0]])


def sample():
    items = [
        Path(SQUARE, "cut", closed=True),
        Path(SQUARE + 5.0, "shade", closed=True, fill="#ddeeff"),
        Path(np.array([[10.0, 10.0], [40.0, 50.0]]), "mark"),
        Tick((20.0, 30.0), (20.0, 36.0)),
        Hatch(SQUARE, 10.0, 0.0),
        Text((40.0, 55.0), "A  side panel, Ø 12 é", 5.0, anchor="middle", bold=True),
        Text((40.0, 45.0), "cut 2 < 3 & more", 3.0, angle=90.0),
    ]
    return Drawing(tuple(items))


def document():
    pages = tuple(Page(n, 210.0, 297.0, f"page {n}", (), None, None, sample()) for n in (1, 2, 3))
    return Document("Lantern templates", "Foam templates", "a4", pages, "A. Maker")


def test_svg_is_in_millimetres_with_y_down_and_upright_text():
    root = ElementTree.fromstring(svg_bytes(sample(), 100.0, 90.0, origin=(10.0, 10.0), title="A & B"))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "90mm", "0 0 100 90")
    assert root.find(f"{SVG}title").text == "A & B"
    groups = {g.get("id"): g for g in root.findall(f"{SVG}g")}
    assert set(groups) == {"cut", "shade", "mark", "tick", "note"}
    assert next(iter(groups)) == "shade"
    square = svgpathtools.parse_path(groups["cut"].find(f"{SVG}path").get("d"))
    assert square.length() == pytest.approx(200.0)
    assert square.bbox() == pytest.approx((10.0, 60.0, 20.0, 70.0))
    mark = svgpathtools.parse_path(groups["mark"].find(f"{SVG}path").get("d"))
    assert mark.length() == pytest.approx(50.0)
    level, steep = groups["note"].findall(f"{SVG}text")
    assert (level.get("x"), level.get("y"), level.get("transform")) == ("30", "45", None)
    assert steep.get("transform") == "rotate(-90 30 55)" and steep.text == "cut 2 < 3 & more"


def test_dxf_read_back():
    drawing = ezdxf.read(io.StringIO(dxf_bytes(sample()).decode("utf-8")))
    assert drawing.header["$INSUNITS"] == 4  # millimetres (DXF reference)
    assert not drawing.audit().errors
    space = drawing.modelspace()
    square = space.query('LWPOLYLINE[layer=="cut"]').first
    points = np.array(list(square.get_points("xy")))
    assert square.closed and points == pytest.approx(SQUARE)
    title = space.query("TEXT").first
    assert title.dxf.text == "A  side panel, Ø 12 é" and title.dxf.halign == 1
    assert drawing.layers.get("mark").dxf.lineweight == round(100 * STYLES["mark"].width)


def test_pdf_says_what_it_is_and_prints_unscaled():
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(document())))
    assert reader.metadata.title == "Lantern templates" and reader.metadata.author == "A. Maker"
    assert reader.viewer_preferences["/PrintScaling"] == "/None"
    assert reader.page_labels == ["1", "2", "3"]
    assert [o.title for o in reader.outline] == ["1  page 1", "2  page 2", "3  page 3"]
    assert [reader.get_destination_page_number(o) for o in reader.outline] == [0, 1, 2]
    box = reader.pages[0].mediabox
    assert (float(box.width) / 72, float(box.height) / 72) == pytest.approx((210 / 25.4, 297 / 25.4), abs=1e-5)


def test_pdf_fonts_are_embedded_and_text_can_be_extracted():
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(document())))
    fonts = [f.get_object() for f in reader.pages[0]["/Resources"]["/Font"].get_object().values()]
    used = [f for f in fonts if "/FontDescriptor" in f]
    assert len(used) == len(fonts) >= 2
    assert all("/FontFile2" in f["/FontDescriptor"].get_object() for f in used)
    text = reader.pages[0].extract_text()
    assert "side panel, Ø 12 é" in text and "cut 2 < 3 & more" in text


def test_pdf_square_measured_by_an_independent_reader():
    square = Page(1, 100.0, 100.0, "square", (), None, None, Drawing((Path(SQUARE, "cut", closed=True),)))
    page = pypdfium2.PdfDocument(pdf_bytes(Document("", "", "", (square,))))[0]
    scale = 10.0 * 25.4 / 72.0  # 10 pixels to the millimetre
    image = np.asarray(page.render(scale=scale, grayscale=True).to_numpy())
    dark = image.reshape(image.shape[0], -1) < 60
    columns = np.flatnonzero(dark.sum(axis=0) > 450)
    sides = np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1)
    assert len(sides) == 2 and sides[1].mean() - sides[0].mean() == pytest.approx(500.0, abs=1.0)
    assert [len(s) for s in sides] == pytest.approx([10.0 * STYLES["cut"].width] * 2, abs=2.0)


def test_bytes_are_the_same_in_other_processes():
    code = (
        "import sys, hashlib; sys.path.insert(0, sys.argv[1]); import test_drawing_writers as t\n"
        "for b in t.written(): print(hashlib.sha256(b).hexdigest())"
    )
    here = os.path.dirname(__file__)
    mine = [hashlib.sha256(b).hexdigest() for b in written()]
    for seed in ("77",):
        environment = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)}
        command = [sys.executable, "-c", code, here]
        run = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
        assert run.stdout.split() == mine


def written():
    return svg_bytes(sample(), 100.0, 100.0), dxf_bytes(sample()), pdf_bytes(document())


def test_line_widths_and_types_can_be_told_apart_in_black_and_white():
    """Widths are those of ISO 128-2 (0.13 to 2 mm, ratio 1 : sqrt 2; from memory)."""
    series = {0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0}
    assert set(STYLES) == set(LAYERS)
    assert {s.width for s in STYLES.values()} <= series
    names = (
        "cut",
        "cut-inner",
        "other-face",
        "mark",
        "mark-other",
        "rest",
        "rest-other",
        "tick",
        "fold",
        "bevel",
        "trim",
    )
    printed = [STYLES[k] for k in names]
    assert len({(s.line_type, s.width) for s in printed}) == len(printed)


@pytest.mark.parametrize("bold", [False, True])
def test_a_capital_is_as_tall_in_dxf_as_a_pdf_reader_finds_it(bold):
    """TEXT states the height of capitals (group code 40, DXF reference); SVG and PDF the size of the font."""
    drawing = Drawing((Text((20.0, 20.0), "H", 9.0, bold=bold),))
    stated = ezdxf.read(io.StringIO(dxf_bytes(drawing).decode("utf-8"))).modelspace().query("TEXT").first.dxf.height
    pages = (Page(1, 100.0, 100.0, "one", (), None, None, drawing),)
    reader = pypdfium2.PdfDocument(pdf_bytes(Document("", "", "", pages)))[0].get_textpage()
    _, low, _, high = reader.get_charbox(0)
    assert stated == pytest.approx((high - low) * 25.4 / 72.0, rel=0.01)
    root = ElementTree.fromstring(svg_bytes(drawing, 100.0, 100.0))
    outlines = TTFont(face_file(bold))
    capital = outlines["glyf"]["H"].yMax / outlines["head"].unitsPerEm
    assert stated == pytest.approx(float(root.find(f".//{SVG}text").get("font-size")) * capital, rel=0.01)


def test_a_picture_in_a_drawing_is_drawn_without_the_network(monkeypatch):
    """PIL reads the pixels back; nothing is opened, which also loads no certificates."""
    monkeypatch.setattr("urllib.request.urlopen", lambda *_, **__: pytest.fail("opened"))
    monkeypatch.setattr("cairosvg.url.urlopen", lambda *_, **__: pytest.fail("opened"))
    dot = io.BytesIO()
    Image.new("RGB", (2, 2), (200, 30, 30)).save(dot, "PNG")
    svg = svg_bytes(Drawing((Shading((0.0, 0.0), 10.0, 10.0, dot.getvalue()),)), 10.0, 10.0)
    drawn = Image.open(io.BytesIO(png_bytes(svg, 20))).convert("RGB")
    assert drawn.size == (20, 20) and drawn.getpixel((10, 10)) == (200, 30, 30)
    with pytest.raises(ValueError, match="outside"):
        png_bytes(svg.replace(b"data:image/png;base64", b"https://example.org/x"), 20)

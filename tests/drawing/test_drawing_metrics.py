import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from foamwright.drawing.document import Document, Page
from foamwright.drawing.fonts import check_glyphs
from foamwright.drawing.metrics import text_box, text_width
from foamwright.drawing.pdf import pdf_bytes
from foamwright.drawing.primitives import Drawing, Text
from foamwright.errors import BuildError

POINTS_PER_MM = 72.0 / 25.4


def one_page(*items):
    page = Page(1, 200.0, 200.0, "one", (), None, None, Drawing(items))
    return Document("title", "subject", "a4", (page,))


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("bold", [False, True])
def test_box_holds_what_an_independent_reader_finds(anchor, bold):
    text = Text((100.0, 80.0), "Quill gap 6 mm", 8.0, anchor=anchor, bold=bold)
    document = pypdfium2.PdfDocument(pdf_bytes(one_page(text)))
    reader = document[0].get_textpage()
    boxes = [reader.get_charbox(i) for i in range(reader.count_chars())]
    left, low = min(b[0] for b in boxes) / POINTS_PER_MM, min(b[1] for b in boxes) / POINTS_PER_MM
    right, high = max(b[2] for b in boxes) / POINTS_PER_MM, max(b[3] for b in boxes) / POINTS_PER_MM
    (x0, y0), (x1, y1) = text_box(text)[0], text_box(text)[2]
    assert x0 - 0.01 <= left < x0 + 1.0 and x1 - 1.0 < right <= x1 + 0.01
    assert y0 - 0.01 <= low < high <= y1 + 0.01


@given(st.text("ABCxyz 019", max_size=20), st.floats(1.0, 20.0))
def test_width_grows_with_size_and_adds_up(value, height):
    assert text_width(value, 2.0 * height) == pytest.approx(2.0 * text_width(value, height))
    assert text_width(value + value, height) == pytest.approx(2.0 * text_width(value, height))


def test_turned_box_keeps_its_size():
    level = text_box(Text((3.0, 4.0), "fin", 5.0))
    steep = text_box(Text((3.0, 4.0), "fin", 5.0, angle=90.0))
    assert steep[:, 0] - 3.0 == pytest.approx(-(level[:, 1] - 4.0))
    assert steep[:, 1] - 4.0 == pytest.approx(level[:, 0] - 3.0)


def test_character_without_glyph_is_named():
    check_glyphs("Ø 12 mm, é, ñ, ½, 90°, ± 0.5, 2 × 3")
    with pytest.raises(BuildError, match=r"U\+4E00"):
        check_glyphs("fin \u4e00")

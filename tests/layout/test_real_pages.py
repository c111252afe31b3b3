"""The template pages of every design that is shipped, as an independent reader finds them in the PDF file.

What is measured in the file is read by pypdfium2 and pypdf, which share no code with the writer.
"""

from __future__ import annotations

import ctypes
import io
import re

import numpy as np
import pypdf
import pypdfium2
import pytest
import shapely

from foamwright.drawing.metrics import text_box
from foamwright.drawing.pdf import pdf_bytes
from foamwright.drawing.primitives import Path, Text
from foamwright.drawing.style import STYLES
from foamwright.layout.furniture import PRINT_MARGIN
from foamwright.layout.pages import lay_out
from foamwright.layout.paper import paper
from foamwright.layout.tiling import OVERLAP

PAGES = (
    ("acorn-bed", "a4"),
    ("beetle-shoulder", "letter"),
    ("harbour-lantern", "a4"),
    ("harbour-lantern", "a5"),
    ("pocket-submarine", "letter"),
)
MM = 25.4 / 72.0
CUT_WIDTHS = [STYLES["cut"].width, STYLES["cut-inner"].width]


@pytest.fixture(scope="module", params=PAGES, ids="-".join)
def chosen(request):
    return request.param


@pytest.fixture(scope="module")
def templates(chosen, stages_of):
    return stages_of(chosen[0]).record("templates")


def pages(stages, paper_name):
    """The templates of a design on pages of a paper."""
    listed = [p for p in stages.patterns.patterns if p.piece.listed_only]
    made = [stages.record(name) for name in ("templates", "info", "lettering")]
    return lay_out(made[0], paper(paper_name), made[1], listed, made[2])


@pytest.fixture(scope="module")
def document(chosen, stages_of):
    return pages(stages_of(chosen[0]), chosen[1])


@pytest.fixture(scope="module")
def written(document):
    return pdf_bytes(document)


def texts(page):
    return [i for i in page.drawing.items if isinstance(i, Text)]


def test_every_text_is_in_the_printable_area_and_clear_of_texts_and_cut_lines(document):
    """Labels at joins stand on white ground and may cover a line; all others may not."""
    for page in document.pages:
        boxes = np.array([shapely.Polygon(text_box(t)).buffer(-0.05) for t in texts(page)])
        corners = shapely.get_coordinates(boxes)
        assert (corners >= PRINT_MARGIN - 0.1).all()
        assert (corners <= np.array([page.width, page.height]) - PRINT_MARGIN + 0.1).all()
        pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects").T
        met = [(texts(page)[a].value, texts(page)[b].value) for a, b in pairs if a < b]
        assert not met, f"page {page.number}"
        cuts = [i for i in page.drawing.items if isinstance(i, Path) and i.layer in ("cut", "cut-inner")]
        lines = [np.vstack([i.points, i.points[:1]]) if i.closed else i.points for i in cuts]
        tree = shapely.STRtree([shapely.LineString(line) for line in lines])
        for text, box in zip(texts(page), boxes):
            if not re.match("trim here|goes under", text.value):
                assert not len(tree.query(box, predicate="intersects")), (page.number, text.value)


def test_texts_read_from_below_or_from_the_right_and_most_are_level(document):
    """Nothing is upside down (the ways of reading that ISO 129-1 allows, from memory). What is neither level nor
    upright runs along something: a slanting edge, a dart, an arrow, a long narrow part."""
    found = [t for page in document.pages for t in texts(page)]
    assert all(-75.0 < t.angle <= 105.0 for t in found)
    notes = [t for t in found if t.layer in ("note", "mark", "mark-other")]
    level = [t for t in notes if abs(t.angle) < 0.01]
    assert len(level) > 0.65 * len(notes)


def test_the_main_label_of_a_part_is_level_unless_the_part_is_narrow(templates, document):
    """One of ten may lean with its part, or one of a few: where level words would have led a label off the foam."""
    labels = [t for p in document.pages for t in texts(p) if t.bold and t.layer == "note"]
    wide = []
    for template in templates:
        foam = shapely.Polygon(template.footprint, template.pattern.holes)
        own = [t for t in labels if t.value == template.pattern.piece.label]
        assert own, template.pattern.piece.label
        if shapely.maximum_inscribed_circle(foam, 0.5).length > 30.0:
            wide += own
    leaning = [t.value for t in wide if abs(t.angle) > 0.01]
    assert len(leaning) <= max(0.1 * len(wide), 1), leaning


def test_pages_have_not_become_more(chosen, document):
    """As many as when the packs had got their cross-sections and the marks of all contacts; counted by hand."""
    most = {
        # two more since a grid is chosen for what a part has beside it as it lies, and not as it was drawn
        ("acorn-bed", "a4"): 33,
        ("beetle-shoulder", "letter"): 4,
        ("harbour-lantern", "a4"): 10,
        (
            "harbour-lantern",
            "a5",
        ): 24,  # a small page has one less part on it since every stretch of a bevel has its angle
        # one more since up and forward are the mean of where they point all over a panel, which turns the hull's a little
        ("pocket-submarine", "letter"): 19,
    }
    assert len(document.pages) <= most[chosen]


def test_no_page_is_blank_in_grey(document, written):
    """Ink on every page besides title strip and square, in the shades of a black and white print."""
    pdf = pypdfium2.PdfDocument(written)
    assert len(pdf) == len(document.pages)
    for number in range(len(pdf)):
        image = np.asarray(pdf[number].render(scale=1.0, grayscale=True).to_numpy())
        above_strip = image.reshape(image.shape[:2])[: -round((PRINT_MARGIN + 28.0) / MM)]
        assert (above_strip < 160).mean() > 0.004, number + 1


def test_lines_that_are_followed_are_dark_in_grey():
    """Luma by ITU-R BT.601 (weights from memory)."""
    for layer in ("cut", "cut-inner", "mark", "mark-other", "engrave", "pin", "tick", "fold", "trim", "page", "note"):
        red, green, blue = (int(STYLES[layer].colour[k : k + 2], 16) for k in (1, 3, 5))
        assert 0.299 * red + 0.587 * green + 0.114 * blue < 110, layer


def test_bookmarks_labels_fonts_and_text(document, written):
    reader = pypdf.PdfReader(io.BytesIO(written))
    assert [entry.title for entry in reader.outline] == [f"{p.number}  {p.title}" for p in document.pages]
    assert reader.page_labels == [str(p.number) for p in document.pages]
    for page, read in zip(document.pages, reader.pages):
        for font in read["/Resources"]["/Font"].values():
            assert "/FontFile2" in font["/FontDescriptor"]
        said = re.sub(r"\s+", " ", read.extract_text())
        for text in texts(page):
            assert re.sub(r"\s+", " ", text.value).strip() in said, (page.number, text.value)


def paths_of(page):
    """(line width, (N, 2) points) in mm of every path on a page of the file, as pdfium reads them."""
    raw = pypdfium2.raw
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        width = ctypes.c_float()
        raw.FPDFPageObj_GetStrokeWidth(item, width)
        points, matrix = [], item.get_matrix()
        for k in range(raw.FPDFPath_CountSegments(item)):
            x, y = ctypes.c_float(), ctypes.c_float()
            segment = raw.FPDFPath_GetPathSegment(item, k)
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            points.append(matrix.on_point(x.value, y.value))
            if raw.FPDFPathSegment_GetClose(segment):
                points.append(points[0])
        yield width.value * MM, np.array(points) * MM


def crossings(page, line):
    """Where the cut lines of a page of the file cross a level or upright line, sorted along it, in mm."""
    found = []
    for width, points in paths_of(page):
        if np.isclose(width, CUT_WIDTHS, atol=0.01).any() and len(points) > 1:
            found.append(shapely.LineString(points).intersection(line))
    return np.sort(shapely.get_coordinates(shapely.union_all(found)).sum(axis=1)) if found else np.zeros(0)


def test_cut_lines_run_on_across_joins_in_the_file(document, written):
    """At a join both pages show the cut line at one place, to 0.1 mm; each names the other."""
    pdf = pypdfium2.PdfDocument(written)
    half, joined = OVERLAP / 2.0, 0
    for page in document.pages:
        for text in texts(page):
            found = re.fullmatch(r"goes under page (\d+)(?: \((.+)\))?", text.value)
            if not found:
                continue
            other = document.pages[int(found[1]) - 1]
            assert found[2] is None or found[2] in [
                t.value for t in texts(other)
            ]  # the code where there is room for it
            back = [t.value for t in texts(other) if re.match(rf"trim here, lay on page {page.number}\b", t.value)]
            assert len(back) == 1
            x0, y0, x1, y1 = page.window
            u0, v0, u1, v1 = other.window
            if other.column > page.column:
                assert (other.row, other.column) == (page.row, page.column + 1)
                here, there = (x1 - half, y0, x1 - half, y1), (u0 + half, v0, u0 + half, v1)
            else:
                assert (other.row, other.column) == (page.row + 1, page.column)
                here, there = (x0, y0 + half, x1, y0 + half), (u0, v1 - half, u1, v1 - half)
            seen = [
                crossings(pdf[p.number - 1], shapely.LineString(np.reshape(ends, (2, 2)))) - sum(ends[:2])
                for p, ends in ((page, here), (other, there))
            ]
            assert seen[0] == pytest.approx(seen[1], abs=0.1)
            joined += len(seen[0])
    assert joined > 0 or not any(page.row for page in document.pages)


def joined_sides(document, page):
    """The half of the overlap beyond each join of a page, which its neighbour shows as well."""
    x0, y0, x1, y1 = page.window
    half = OVERLAP / 2.0
    rims = {
        (0, -1): (x0, y0, x0 + half, y1),
        (0, 1): (x1 - half, y0, x1, y1),
        (-1, 0): (x0, y1 - half, x1, y1),
        (1, 0): (x0, y0, x1, y0 + half),
    }
    named = [re.fullmatch(r"(?:trim here, lay on|goes under) page (\d+)\b.*", t.value) for t in texts(page)]
    others = [document.pages[int(found[1]) - 1] for found in named if found]
    return [shapely.box(*rims[other.row - page.row, other.column - page.column]) for other in others]


def test_every_outline_is_in_the_file_once(templates, document, written):
    """Cut lines in the file, without what two pages share, are as long as the outlines of all the foam."""
    pdf, found = pypdfium2.PdfDocument(written), 0.0
    for page in document.pages:
        shared = shapely.union_all(joined_sides(document, page) if page.row else [])
        for width, points in paths_of(pdf[page.number - 1]):
            if abs(width - STYLES["cut"].width) < 0.01 and len(points) > 1:
                found += (shapely.LineString(points) - shared).length
        if "What the lines mean" in [t.value for t in texts(page)]:
            # the samples beside what a cut line means, ticks on one, and where a seam ends on one
            found -= 22.0 * (
                1 + sum(t.value.startswith(("short lines and a V", "a T at the cut line")) for t in texts(page))
            )
    assert found == pytest.approx(sum(shapely.LinearRing(t.footprint).length for t in templates), rel=2e-4)


def test_every_piece_is_named_where_the_pages_are_listed(templates, document, written):
    reader = pypdf.PdfReader(io.BytesIO(written))
    said = [re.sub(r"\s+", " ", page.extract_text()) for page in reader.pages]
    assert {t.pattern.piece.id for t in templates} == {part for page in document.pages for part in page.parts}
    for template in templates:
        piece = template.pattern.piece
        own = [page for page in document.pages if piece.id in page.parts]
        assert any(f"{piece.label} {piece.name}" in page.title for page in own), piece.label
        assert any(piece.name in said[page.number - 1] for page in own), piece.label


@pytest.mark.parametrize("name", ["harbour-lantern"])
def test_every_outline_in_the_file_is_the_pattern(name, stages_of):
    """On a roll every part is whole: its outline in the file has the area and length of the pattern."""
    templates = stages_of(name).record("templates")
    (page,) = pypdfium2.PdfDocument(pdf_bytes(pages(stages_of(name), "roll-914")))
    outlines = [p for w, p in paths_of(page) if abs(w - STYLES["cut"].width) < 0.01 and len(p) > 3]
    found = sorted(shapely.Polygon(p).area for p in outlines)
    wanted = sorted(shapely.Polygon(t.pattern.outline).area for t in templates)
    assert found == pytest.approx(wanted, rel=1e-4)

"""Paper and the measured square, read from the PDF files themselves."""

import io

import numpy as np
import pypdf
import pytest

MM = 72.0 / 25.4  # points in a millimetre: ISO 32000-1, 8.3.2.3
EXACT = 0.01  # mm
ISO_A4 = (210.0, 297.0)  # ISO 216
LETTER = (8.5 * 25.4, 11.0 * 25.4)  # ASME Y14.1, size A


def pages(pack, file):
    return pypdf.PdfReader(io.BytesIO(pack.files[file])).pages


def squares(page, side):
    """Lower left corners in mm of the upright squares of `side` mm that a page draws as closed paths.

    Operators: ISO 32000-1, 8.4.4 and 8.5.2.
    """
    found, points = [], []
    matrix, saved = np.eye(3), []
    for operands, operator in page.get_contents().operations:
        if operator == b"q":
            saved.append(matrix)
        elif operator == b"Q":
            matrix = saved.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = map(float, operands)
            matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
            # texts are turned and moved; nothing is ever scaled
            assert np.allclose(matrix[:2, :2] @ matrix[:2, :2].T, np.eye(2), atol=1e-4)
        elif operator in (b"m", b"l"):
            points = [] if operator == b"m" else points
            points.append((np.array([*map(float, operands), 1.0]) @ matrix)[:2] / MM)
        elif operator == b"h" and len(points) in (4, 5):
            low = np.min(points, axis=0)
            corners = {tuple(np.round(point - low, 2)) for point in points}
            if len(corners) == 4 and all(min(c, abs(c - side)) < EXACT for point in corners for c in point):
                found.append(tuple(low))
    return found


@pytest.mark.parametrize("file", ["templates.pdf", "booklet.pdf"])
def test_pages_have_the_size_of_their_paper(plush, starter, file):
    for pack, paper in ((plush, ISO_A4), (starter, LETTER)):
        found = pages(pack, file)
        assert len(found) >= 2
        for page in found:
            size = tuple(float(x) / MM for x in page.mediabox[2:])
            assert tuple(map(float, page.mediabox[:2])) == (0.0, 0.0)
            # some pages may lie on their side
            assert sorted(size) == pytest.approx(sorted(paper), abs=EXACT)
            assert float(page.get("/UserUnit", 1)) == 1.0


def test_record_names_the_paper(plush, starter):
    assert {page["paper"].lower() for page in plush.record["pages"]} == {"a4"}
    assert {page["paper"].lower() for page in starter.record["pages"]} == {"letter"}


def test_every_template_page_carries_a_true_square(plush, starter):
    for pack in (plush, starter):
        for number, page in enumerate(pages(pack, "templates.pdf"), 1):
            assert len(squares(page, 25.0)) >= 1, f"page {number}"
            assert not squares(page, 25.1)

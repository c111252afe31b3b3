"""Words in lines and blocks: nothing is lost, nothing is wider or higher than it says."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from foamwright.drawing.labels import label_corners
from foamwright.drawing.metrics import text_box, text_width
from foamwright.drawing.primitives import Drawing, Label, Text
from foamwright.drawing.shapes import bounds
from foamwright.drawing.typesetting import (
    Line,
    arrow_block,
    beside,
    bullet,
    fitted,
    label_block,
    paragraph,
    shortened,
    side_by_side,
    stack,
    wrap,
)

WORDS = st.lists(st.text("abcdefgW", min_size=1, max_size=30), max_size=20).map(" ".join)


@given(WORDS, st.floats(8.0, 120.0), st.floats(2.2, 6.0), st.booleans())
def test_wrapped_lines_hold_all_letters_and_are_no_wider_than_asked(value, width, height, bold):
    lines = wrap(value, width, height, bold)
    assert "".join(lines).replace(" ", "") == value.replace(" ", "")
    assert all(text_width(line, height, bold) <= width for line in lines if len(line) > 1)


def test_nothing_is_one_empty_line():
    assert wrap("", 50.0, 3.0) == [""]


@given(st.text("abcW ,", max_size=60), st.floats(4.0, 90.0), st.floats(1.0, 9.0))
def test_what_is_fitted_or_shortened_fits(value, width, height):
    line = fitted(value, width, height)
    assert height / 2.0 <= line.height <= height
    assert text_width(line.value, line.height) <= max(width, text_width("…", line.height)) + 1e-6
    assert text_width(shortened(value, width, height), height) <= max(width, text_width("…", height)) + 1e-6


@pytest.mark.parametrize(
    "block",
    [
        label_block([Line("A", 9.0, bold=True), Line("a longer line", 2.2)]),
        label_block([Line("one", 3.0), Line("two and more", 4.0)], anchor="start"),
        side_by_side(label_block([Line("A", 9.0)]), label_block([Line("x", 2.2), Line("y", 2.2)], anchor="start"), 2.0),
        arrow_block("forward", 16.0, 3.2, False),
        arrow_block("up", 16.0, 3.2, True),
        paragraph("words that need several lines to be set in a narrow column", 40.0, 3.0, indent=4.0),
        bullet("words that need several lines to be set in a narrow column", 40.0, 3.0),
        stack([paragraph("one", 30.0, 3.0), paragraph("two", 50.0, 4.0)], 2.0),
        beside(paragraph("one", 30.0, 3.0), paragraph("two words", 9.0, 4.0), 31.0),
    ],
)
def test_a_block_holds_what_is_set_in_it_wherever_it_stands(block):
    x0, y0, x1, y1 = bounds(block.hung(30.0, -7.0))
    assert x0 >= 30.0 - 1e-6 and y1 <= -7.0 + 1e-6
    assert x1 <= 30.0 + block.width + 1e-6 and y0 >= -7.0 - block.height - 1e-6
    x0, y0, x1, y1 = bounds(block.centred((5.0, 6.0), 90.0))
    assert x1 - x0 <= block.height + 1e-6 and y1 - y0 <= block.width + 1e-6
    assert abs((x0 + x1) / 2.0 - 5.0) <= block.height / 2.0 and abs((y0 + y1) / 2.0 - 6.0) <= block.width / 2.0


def test_a_centred_label_has_its_middle_there():
    block = label_block([Line("middle", 4.0)])
    (label,) = block.centred((12.0, -3.0), 30.0)
    assert np.allclose(label_corners(label).mean(axis=0), (12.0, -3.0))


def test_blocks_side_by_side_are_one_label_with_the_roles_of_their_lines():
    both = side_by_side(
        label_block([Line("A", 9.0, role="label")]), label_block([Line("cut 2", 2.2, role="count")]), 1.0
    )
    (label,) = both.items
    assert isinstance(label, Label) and [text.role for text in label.texts] == ["label", "count"]
    left, right = (text_box(text) for text in label.texts)
    assert left[:, 0].max() < right[:, 0].min()
    assert left[:, 1].mean() == pytest.approx(right[:, 1].mean())


def test_a_drawing_opens_its_labels_in_their_order():
    texts = (Text((0.0, 0.0), "a", 3.0), Text((0.0, -4.0), "b", 3.0), Text((9.0, 0.0), "c", 3.0))
    drawing = Drawing((Label(texts[:2]), texts[2]))
    assert drawing.flat == texts
    assert [label.texts for label in drawing.labels] == [texts[:2], texts[2:]]

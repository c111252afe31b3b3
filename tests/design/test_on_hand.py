"""The file of what lies on the shelf."""

import pytest

from foamwright.design.on_hand import read_stock_on_hand
from foamwright.design.records import Stock
from foamwright.errors import DesignError

STOCK = {"shell": Stock("shell", "EVA foam", 6.0, 0.5, 0.03, (600.0, 1200.0), 100.0, "#e8b23a", "")}


def shelf(tmp_path, text):
    path = tmp_path / "shelf.yaml"
    path.write_text(text)
    return path


def test_offcuts_come_before_whole_sheets(tmp_path):
    text = "format: 1\nstock:\n  shell: {sheets: 2, offcuts: [[1 ft, 450], [30 cm, 10 in]]}\n"
    found = read_stock_on_hand(shelf(tmp_path, text), STOCK)
    assert found == {"shell": ((304.8, 450.0), (300.0, 254.0), (600.0, 1200.0), (600.0, 1200.0))}


def test_foam_of_other_designs_is_left_out(tmp_path):
    text = "format: 1\nstock:\n  shell: {offcuts: [[100, 200]]}\n  lining: {sheets: 1}\n"
    assert read_stock_on_hand(shelf(tmp_path, text), STOCK) == {"shell": ((100.0, 200.0),)}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format: 1\nstock:\n  shell: {sheet: 2}\n", ":3:11: unknown key 'sheet'.*did you mean sheets"),
        (
            "format: 1\nstock:\n  shell: {sheets: -1}\n",
            ":3:19: -1 in stock.shell.sheets; expected at least 0",
        ),
        ("format: 1\nstock:\n  shell: {offcuts: [[100]]}\n", ":3:.*length 1.*exactly 2"),
        ("format: 1\nstock:\n  shell: {offcuts: [[100, -2]]}\n", ":3:.*at least 10"),
        ("stock: {}\n", "'format' is missing"),
        ("- 1\n", "a list at the top"),
    ],
)
def test_mistakes_are_one_line_with_their_place(tmp_path, text, words):
    with pytest.raises(DesignError, match=words) as error:
        read_stock_on_hand(shelf(tmp_path, text), STOCK)
    assert "\n" not in str(error.value)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(DesignError, match="cannot be read"):
        read_stock_on_hand(tmp_path / "none.yaml", STOCK)

"""Sentences that are done one after another: what is said of one copy after another is said twice, and then in one."""

from shapely import Polygon

from foamwright.booklet.words.numbered import numbered, parted
from foamwright.booklet.words.typeset import bullet
from foamwright.drawing.metrics import text_box


def of(copy, seam=5, low=12):
    return f"Join gore B {copy} to gore B {copy - 1} (seam {seam}, 283 mm). Glue it to the floor (C), {low} mm up."


def test_a_long_row_is_told_by_its_first_two():
    told = numbered(["Start with A 1.", *map(of, range(2, 8)), "Last, join gore B 8 to gore B 7."])
    assert told == [
        "1) Start with A 1.",
        f"2) {of(2)}",
        f"3) {of(3)}",
        "4) to 7) Go on in the same way, one after the other, up to B 7.",
        "8) Last, join gore B 8 to gore B 7.",
    ]
    assert parted(told[3]) == ("4)", "to 7) Go on in the same way, one after the other, up to B 7.")


def test_what_differs_by_more_is_told_in_full():
    same = [of(2), of(3), of(4)]
    assert numbered(same) == [f"{n}) {line}" for n, line in enumerate(same, start=1)]  # a short row
    for other in (
        [of(2), of(3), of(5), of(6)],
        [of(2), of(3, seam=6), of(4, seam=7), of(5, seam=8)],
        [of(k, low=k) for k in (2, 3, 4, 5)],
        [of(2)] * 5,
    ):
        assert numbered(other) == [f"{n}) {line}" for n, line in enumerate(other, start=1)]
    assert numbered([of(2)]) == [of(2)] and numbered([]) == []


def test_a_number_of_two_digits_stands_before_its_sentence():
    for number in ("1)", "10)", "100)"):
        before, after = (Polygon(text_box(text)) for text in bullet(f"{number} Glue it on.", 80.0).items)
        assert after.bounds[0] - before.bounds[2] > 0.5

"""Marks on parts of which there are more copies than anybody tells apart. Lengths in mm."""

import pytest
from small_designs import head, stages_of_text

from foamwright.templates.marks import marks

SLATS = (
    head("Slats", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [2000 mm, 2000 mm]}
parts:
  short:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 80, height: SHORT}}
    at: {origin: [0, SHORT / 2 - 20, 0], normal: z, up: y}
  slat:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 160, height: 12}}
    at: {origin: [60, 0, 6], normal: z, up: y}
    repeat: {count: COUNT, step: [0, 20, 0]}
    lies_on: [short]
"""
)


def drawn(folder, count, short):
    """By part, how many of the copies have each of its marks; all where that is 0."""
    stages = stages_of_text(folder, SLATS.replace("SHORT", str(short)).replace("COUNT", str(count)))
    contacts, patterns = stages.record("contacts"), stages.patterns

    def of(part):
        pattern = patterns.pattern(part)
        return sorted(len(mark.copies) for mark in marks(patterns, pattern, contacts))

    return of("slat"), of("short")


@pytest.mark.parametrize(
    ("count", "short", "of_slat"),
    [(8, 40 + 7 * 20, [0]), (12, 40 + 11 * 20, [0]), (8, 20 + 7 * 20, [1, 7]), (12, 20 + 11 * 20, [])],
)
def test_what_some_of_many_copies_lie_on_is_marked_below_alone(tmp_path, count, short, of_slat):
    """Of the last slat half lies on the plate where that is `short`: of 8 copies the template says which, of 12 nobody could."""
    on_slat, on_short = drawn(tmp_path, count, short)
    assert on_slat == of_slat
    assert on_short == [0] * count  # the line of each of them is there

"""Letters of a first look: what they may stand on, and that a line leads to the part where there is no room on it."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from foamwright.design import load
from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Path, Shading, Text
from foamwright.look import labels
from foamwright.look.build import first_look
from foamwright.look.picture import sheet
from foamwright.parts.attempt import attempt

HALF = (20.0, 15.0)
CLOCK = """
format: 1
name: Clock
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
  wide: {value: 120 mm}
sizes: {one: {note: as it is}}
stock:
  foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
parts:
  case:
    kind: box
    stock: foam
    size: [80 mm, wide, 400 mm * scale]
    at: {normal: z, up: x}
  dial:
    kind: disc
    stock: foam
    radius: 50 mm
    at: {origin: [40 mm, 0, 330 mm], normal: x, up: z}
    lies_on: [case]
    engrave: [{text: {value: XII, height: 12 mm, centre: [0, 36 mm]}}]
  hand:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 4 mm, height: 60 mm}}
    at: {origin: [46 mm, 0, 330 mm], normal: x, up: z}
    lies_on: [dial]
"""


def scene(hand: bool = True) -> np.ndarray:
    """A dial, 0, with a hand, 1, across its middle, and three tiles alike, 2 to 4, of which the last is at the rim of a
    large part, 5, on empty ground."""
    rows, columns = np.indices((700, 900))
    owner = np.full(rows.shape, -1)
    owner[100:600, 100:700] = 5
    owner[np.hypot(rows - 350, columns - 300) < 140] = 0
    if hand:
        owner[345:356, 170:430] = 1
    for copy, column in ((2, 480), (3, 560), (4, 660)):
        owner[200:230, column : column + 30] = copy
    return owner


def box(label: labels.Label) -> tuple[float, float, float, float]:
    (x, y), (across, up) = label.at, HALF
    return x - across, y - up, x + across, y + up


def under(label: labels.Label, owner: np.ndarray) -> set[int]:
    x0, y0, x1, y1 = (round(c) for c in box(label))
    return set(np.unique(owner[y0 : y1 + 1, x0 : x1 + 1]).tolist())


def test_a_letter_hides_nothing_but_its_own_part_and_where_there_is_no_room_a_line_leads_there():
    owner, drawn = scene(), np.zeros((700, 900), bool)
    drawn[250:270, 250:350] = True  # something is engraved on the dial
    names = ["G", "H", "T", "T", "T", "B"]
    found = {label.copy: label for label in labels.placed(owner, drawn, names, [HALF] * 6, [(20, 20, 90, 60)])}
    assert sorted(found) == [0, 1, 4, 5]  # tiles are named once, where the line to one of them is short
    for copy in (0, 5):
        assert found[copy].on is None and under(found[copy], owner) == {copy}
    x0, y0, x1, y1 = (int(c) for c in box(found[0]))
    assert not drawn[y0:y1, x0:x1].any()
    for copy in (1, 4):
        assert under(found[copy], owner) == {-1}
        column, row = (round(c) for c in found[copy].on)
        assert owner[row, column] == copy
    boxes = [*map(box, found.values()), (20, 20, 90, 60)]
    for one, other in combinations(boxes, 2):
        assert one[2] < other[0] or other[2] < one[0] or one[3] < other[1] or other[3] < one[1]


def test_what_is_hardly_seen_and_what_has_no_room_anywhere_is_not_named():
    owner = np.zeros((60, 60), int)
    owner[10:14, 10:14] = 1
    assert labels.placed(owner, np.zeros(owner.shape, bool), ["A", "B"], [HALF] * 2, []) == []
    nothing = np.full((60, 60), -1)
    assert labels.placed(nothing, np.zeros(owner.shape, bool), [], [], []) == []


def test_a_narrow_prop_is_seen_straight_from_the_front_as_well_with_what_is_engraved_there(tmp_path):
    path = tmp_path / "clock.yaml"
    path.write_text(CLOCK, "utf-8")
    views, lines = [], []
    for wide in ("120 mm", "700 mm"):
        look = first_look(attempt(load(path, None, {"wide": wide})))
        drawing, width, _ = sheet(look)
        views.append([item for item in drawing.items if isinstance(item, Shading)])
        lines.append([item for item in drawing.items if isinstance(item, Path) and len(item.points) > 20])
        words = [item for item in drawing.items if isinstance(item, Text)]
        for letter in ("dial", "hand"):
            label = next(c.piece.label for c in look.copies if c.piece.id == letter)
            assert label in {word.value for word in words}
        assert all(0.0 < word.at[0] < width for word in words)
    assert [len(shown) for shown in views] == [3, 2]
    straight = views[0][2].at[0]
    assert any((line.points[:, 0] > straight).all() for line in lines[0])  # XII


SCREENED = """
format: 1
name: Screened
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
sizes: {one: {note: as it is}}
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
parts:
  lower:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 100 mm * scale, height: 60 mm}}
    at: {normal: z, up: y}
  upper:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 40 mm, height: 30 mm}}
    at: {origin: [0, 0, 6 mm], normal: z, up: y}
  screen:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 600 mm, height: 400 mm}}
    at: {origin: [60 mm, 0, 100 mm], normal: x, up: z}
"""


def test_a_number_behind_other_parts_is_in_brackets_and_words_stand_whole_on_the_sheet(tmp_path):
    path = tmp_path / "screened.yaml"
    path.write_text(SCREENED, "utf-8")
    look = first_look(attempt(load(path)))
    assert len(look.overlaps) == 1 and len(look.loose) == 1
    drawing, width, _ = sheet(look)
    left, right = sorted(item.at[0] for item in drawing.items if isinstance(item, Shading))
    words = [item for item in drawing.items if isinstance(item, Text)]
    before = {word.value for word in words if left < word.at[0] < right}
    behind = {word.value for word in words if word.at[0] > right}
    assert "(1)" in before and "1" not in before  # the screen is before what they share
    assert "1" in behind and "(1)" not in behind
    for word in words:
        wide = text_width(word.value, word.height, word.bold)
        start = word.at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[word.anchor] * wide
        assert start > 0.0 and start + wide < width, word.value


def test_the_empty_ground_is_looked_over_once_for_labels_of_one_size(monkeypatch):
    """Not once for each label beside the prop: that took as long as all else of the picture."""
    owner = np.full((700, 900), -1)
    for number in range(12):
        owner[250:290, 100 + 50 * number : 108 + 50 * number] = number
    looked = []
    real = labels._middles

    def counted(room, *given):
        looked.append(room.shape)
        return real(room, *given)

    monkeypatch.setattr(labels, "_middles", counted)
    found = labels.placed(owner, np.zeros(owner.shape, bool), [f"{k}" for k in range(12)], [HALF] * 12, [])
    assert len([label for label in found if label.on is not None]) == 12
    assert looked.count(owner.shape) == 1


@pytest.mark.parametrize("stride", [1, 3, 8])
def test_places_in_strides_are_those_of_all_places_that_lie_on_them(stride):
    room = np.random.default_rng(3).uniform(size=(90, 130)) > 0.01
    every = labels._middles(room, 4, 3)
    assert len(every) > 500 and room[every[:, 1], every[:, 0]].all()
    assert np.array_equal(labels._middles(room, 4, 3, stride), every[(every % stride == 0).all(axis=1)])


@pytest.mark.parametrize("count", [0, 1, 1499, 1501, 6000])
def test_a_letter_stands_at_the_cheapest_of_the_nearest_places_on_which_nothing_stands(count):
    """As if all of them had been looked at; few are."""
    random = np.random.default_rng(count)
    middles = random.integers(10, 890, (count, 2))
    lines = [(random.uniform(0.0, 900.0, 2), random.uniform(0.0, 900.0, 2)) for _ in range(12)]
    taken = [(*low, *(low + 40.0)) for low in random.uniform(0.0, 850.0, (12, 2))]
    owner, on, half = random.integers(-1, 3, (900, 900)), np.array([450.0, 450.0]), (20.0, 12.0)
    length = np.linalg.norm(middles - on, axis=1)
    free = [k for k in np.argsort(length, kind="stable").tolist() if _stands_free(middles[k], half, taken, lines)]
    some = np.array(free[: labels._TRIED], int)
    costs = labels._costs(middles[some], length[some], owner, 1, on, taken, lines)
    wanted = tuple(map(float, middles[some[costs.argmin()]])) if len(some) else None
    assert labels._beside(owner, 1, lambda across, up: middles, on, half, taken, lines) == wanted


def _stands_free(middle, half, taken, lines):
    (x, y), (across, up) = middle, half
    boxes = all(x + across < x0 or x - across > x1 or y + up < y0 or y - up > y1 for x0, y0, x1, y1 in taken)
    return boxes and all(labels._distance(middle[None], *line)[0] > np.hypot(*half) for line in lines)


def test_the_best_place_beside_the_prop_is_found_without_a_look_at_those_that_are_too_far_off(monkeypatch):
    random = np.random.default_rng(7)
    owner = np.full((400, 500), -1)
    for copy in range(9):
        x, y = random.integers(60, 380, 2)
        owner[y : y + 60, x : x + 50] = copy
    free = owner < 0
    taken = [(10.0, 10.0, 60.0, 40.0), (300.0, 20.0, 340.0, 50.0)]
    lines = [(np.array([20.0, 30.0]), np.array([250.0, 260.0]))]

    def at_once(number):
        monkeypatch.setattr(labels, "_AT_ONCE", number)
        looked_at.clear()
        on = np.argwhere(owner == copy).mean(axis=0)[::-1]
        return labels._beside(
            owner, copy, lambda across, up: labels._middles(free, across, up, 8), on, HALF, taken, lines
        )

    looked_at = []
    costs = labels._costs
    monkeypatch.setattr(
        labels, "_costs", lambda middles, *given: looked_at.append(len(middles)) or costs(middles, *given)
    )
    few = 0
    for copy in range(9):
        if not (owner == copy).any():
            continue
        best = at_once(100000)
        many = sum(looked_at)
        assert at_once(50) == best
        few += sum(looked_at) < many
    assert few

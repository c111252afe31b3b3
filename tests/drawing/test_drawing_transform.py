import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon, box

from foamwright.drawing.hatch import hatch_strokes
from foamwright.drawing.labels import reading_angle, upright
from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Drawing, Hatch, Label, Path, Text, Tick
from foamwright.drawing.transform import clip, place, translate
from foamwright.drawing.typesetting import Line, label_block, side_by_side

TURN = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
CIRCLE = 50.0 * np.column_stack([np.cos(TURN), np.sin(TURN)])


def length(drawing):
    total = 0.0
    for item in drawing.items:
        points = np.vstack([item.points, item.points[:1]]) if item.closed else item.points
        total += LineString(points).length
    return total


@given(st.floats(-360, 360), st.floats(-500, 500), st.floats(-500, 500))
def test_placing_keeps_lengths(angle, dx, dy):
    drawing = Drawing((Path(CIRCLE, "cut", closed=True),))
    assert length(place(drawing, angle, dx, dy)) == pytest.approx(length(drawing))


@given(st.floats(-720, 720), st.sampled_from(["start", "middle", "end"]))
def test_text_stays_upright_in_its_box(angle, anchor):
    text = Text((7.0, -3.0), "upper seam", 4.0, anchor=anchor, angle=angle)
    (turned,) = upright(Label((text,))).texts
    assert -75.0 < turned.angle <= 105.0
    half_turn = round((text.angle - turned.angle) / 180.0) % 2
    assert np.roll(text_box(turned), 2 * half_turn, axis=0) == pytest.approx(text_box(text))


@pytest.mark.parametrize(
    ("line", "reads"), [(-90.0, 90.0), (-80.0, 100.0), (91.0, 91.0), (-74.0, -74.0), (106.0, -74.0)]
)
def test_what_is_nearly_vertical_reads_from_the_right(line, reads):
    assert reading_angle(line) == pytest.approx(reads)


def block_of(angle):
    """A label beside two lines, as a template has it, and a text near it that is not part of the block."""
    rows = label_block([Line("first", 3.0), Line("second, longer", 2.2)], anchor="start")
    label = label_block([Line("A", 7.0, bold=True)])
    return (*side_by_side(label, rows, 2.0).centred((30.0, 10.0), angle), Text((30.0, 13.5), "apart", 2.2, angle=angle))


@given(st.sampled_from([0.0, 90.0, -45.0]), st.floats(-360, 360))
def test_a_block_keeps_its_order_and_its_box_however_it_is_turned(own, angle):
    drawing = Drawing(block_of(own))
    assert [len(label.texts) for label in drawing.labels] == [3, 1]
    texts = drawing.flat
    placed = place(drawing, angle, 5.0, -3.0).flat
    assert all(-75.0 < t.angle <= 105.0 for t in placed)
    label, first, second, _ = placed
    a = np.radians(label.angle)
    along, up = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    assert (np.subtract(first.at, label.at)) @ along > 0 and (np.subtract(first.at, second.at)) @ up > 0
    turn = np.radians(angle)
    whole = np.vstack([text_box(t) for t in texts[:3]]).mean(axis=0)
    middle = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ whole + (5.0, -3.0)
    boxes = np.vstack([text_box(t) for t in (label, first, second)])
    frame = np.column_stack([along, up])
    extent = np.ptp(boxes @ frame, axis=0)
    was = np.radians(own)
    before = np.vstack([text_box(t) for t in texts[:3]]) @ [
        [np.cos(was), -np.sin(was)],
        [np.sin(was), np.cos(was)],
    ]
    assert extent == pytest.approx(np.ptp(before, axis=0), abs=1e-6)
    assert np.hypot(*(boxes.mean(axis=0) - middle)) < extent.max()


def test_clip_against_shapely():
    window = (-20.0, -60.0, 45.0, 30.0)
    cut = clip(Drawing((Path(CIRCLE, "cut", closed=True),)), *window)
    ring = LineString(np.vstack([CIRCLE, CIRCLE[:1]]))
    assert not any(item.closed for item in cut.items)
    assert length(cut) == pytest.approx(ring.intersection(box(*window)).length)


def test_clips_of_both_sides_of_a_line_add_up_and_meet():
    whole = Drawing((Path(CIRCLE, "cut", closed=True),))
    left, right = clip(whole, -60, -60, 13.3, 60), clip(whole, 13.3, -60, 60, 60)
    assert length(left) + length(right) == pytest.approx(length(whole))
    ends = [np.vstack([i.points[[0, -1]] for i in side.items]) for side in (left, right)]
    order = [np.lexsort(e.T) for e in ends]
    assert ends[0][order[0]] == pytest.approx(ends[1][order[1]])


def test_clip_keeps_whole_texts_and_cuts_ticks_and_fills():
    items = (
        Text((0.0, 0.0), "in", 3.0),
        Text((18.0, 0.0), "across the edge", 3.0),
        Tick((10.0, 5.0), (30.0, 5.0)),
        Path(np.array([[0, 0], [40, 0], [40, 10], [0, 10]], float), "shade", closed=True, fill="#aabbcc"),
        Hatch(np.array([[0, 0], [40, 0], [40, 10], [0, 10]], float), 2.0, 30.0),
    )
    kept = clip(Drawing(items), -1.0, -1.0, 20.0, 20.0).items
    assert [i.value for i in kept if isinstance(i, Text)] == ["in"]
    ticks = [i for i in kept if isinstance(i, Tick) and i.layer == "tick"]
    assert np.array([ticks[0].start, ticks[0].end]) == pytest.approx(np.array([[10.0, 5.0], [20.0, 5.0]]))
    fills = [i for i in kept if isinstance(i, Path)]
    assert Polygon(fills[0].points).area == pytest.approx(200.0) and fills[0].fill == "#aabbcc"


@given(st.floats(-90, 90), st.floats(0.3, 2.0))
def test_hatch_covers_its_area(angle, spacing):
    """Strokes at a distance d stand for stripes d wide, so their length times d is about the area."""
    strokes = hatch_strokes(Hatch(CIRCLE, spacing, angle))
    total = np.hypot(*(strokes[:, 1] - strokes[:, 0]).T).sum()
    assert total * spacing == pytest.approx(Polygon(CIRCLE).area, rel=0.01)


def test_translate():
    moved = translate(Drawing((Tick((0.0, 1.0), (2.0, 3.0)),)), 10.0, -1.0).items[0]
    assert (*moved.start, *moved.end) == pytest.approx((10.0, 0.0, 12.0, 2.0))


@pytest.mark.parametrize("right", [10.0, 15.0])
def test_a_filled_line_that_crosses_itself_keeps_both_its_lobes_in_a_window(right):
    """Two triangles of 50 mm2 each that meet in (10, 5); of the second a quarter lies up to x = 15 (plane geometry)."""
    crossed = Path(np.array([[0.0, 0.0], [20.0, 10.0], [20.0, 0.0], [0.0, 10.0]]), "shade", True, "#123456")
    kept = clip(Drawing((crossed,)), -1.0, -1.0, right, 11.0).items
    assert sum(Polygon(item.points).area for item in kept) == pytest.approx(50.0 if right == 10.0 else 62.5)

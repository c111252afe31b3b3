"""Pieces on sheets, each case judged by shapely on the true outlines: within the sheet, apart, complete."""

import os
import signal
import subprocess
import sys
from collections import Counter
from itertools import combinations, pairwise
from threading import Timer
from time import monotonic

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.affinity import rotate, scale, translate

from foamwright.nesting import nest as nesting
from foamwright.nesting.nest import Blank, Supply, TooLarge, nest
from foamwright.nesting.rooms import rooms
from foamwright.nesting.search import Layout, polygon_depth
from foamwright.nesting.shapes import convex_decomposition, convex_parts, cover

AS_DRAWN = ((0.0, False),)
QUARTERS = tuple((angle, False) for angle in (0.0, 90.0, 180.0, 270.0))
ROLL = np.inf


@pytest.fixture(autouse=True, scope="module")
def little_search():
    """Any layout must hold, so it need not be a tight one."""
    patch = pytest.MonkeyPatch()
    with patch.context() as quick:
        quick.setattr(nesting, "_PAIRS", 100_000)
        quick.setattr(nesting, "_PAIRS_PER_PIECE", 10_000)
        yield


def foam_at(blanks, spot):
    shape = blanks[spot.blank].shape
    shape = scale(shape, -1.0, 1.0, origin=(0, 0)) if spot.flipped else shape
    return translate(rotate(shape, spot.angle, origin=(0, 0)), spot.x, spot.y)


def check(blanks, supply, sheets):
    """Everything that must hold of any layout."""
    laid = Counter(spot.blank for sheet in sheets for spot in sheet.spots)
    assert [laid[k] for k in range(len(blanks))] == [blank.count for blank in blanks]
    for sheet in sheets:
        foam = [foam_at(blanks, spot) for spot in sheet.spots]
        e = supply.edge - 1e-9
        room = box(e, e, sheet.size[0] - e, sheet.size[1] - e)
        assert all(room.contains(f) for f in foam)
        assert all(a.distance(b) >= supply.gap for a, b in combinations(foam, 2))
        assert all((spot.angle, spot.flipped) in blanks[spot.blank].poses for spot in sheet.spots)
        assert max(f.bounds[3] for f in foam) <= sheet.length + 1e-9 <= sheet.size[1] + 2e-9


@st.composite
def polygons(draw):
    """Stars with up to nine points, some of them with a hole: often hollow, never crossing themselves."""
    count = draw(st.integers(3, 9))
    radius = np.array(draw(st.lists(st.floats(8.0, 60.0), min_size=count, max_size=count)))
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    star = Polygon(radius[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]))
    hole = draw(st.floats(1.0, 20.0))
    inner = Point(0, 0).buffer(hole)
    return star.difference(inner) if star.buffer(-4.0).contains(inner) else star


@settings(max_examples=12, deadline=None)
@given(st.lists(st.tuples(polygons(), st.integers(1, 3)), min_size=1, max_size=4), st.floats(0.0, 6.0))
def test_random_pieces_never_touch(pieces, gap):
    blanks = [Blank(shape, count, QUARTERS) for shape, count in pieces]
    supply = Supply((180.0, 260.0), gap=gap)
    check(blanks, supply, nest(blanks, supply))


# Between, shapely is no judge: buffered by less than about 1e-300, a polygon comes back empty.
@settings(max_examples=30, deadline=None)
@given(polygons(), st.one_of(st.just(0.0), st.floats(1e-3, 5.0)))
def test_the_room_covers_the_piece_and_its_margin(piece, margin):
    room = cover(piece, margin, 3.0)
    assert room.contains(piece.buffer(margin).buffer(-0.01))
    parts = convex_decomposition(room)
    assert sum(Polygon(p).area for p in parts) == pytest.approx(room.area)
    for part in parts:
        assert Polygon(part).exterior.is_ccw
        assert Polygon(part).convex_hull.area == pytest.approx(Polygon(part).area)


@settings(max_examples=25, deadline=None)
@given(polygons(), polygons(), st.sampled_from(QUARTERS), st.floats(-90.0, 90.0), st.floats(-90.0, 90.0))
def test_depth_of_overlap_agrees_with_shapely(first, second, way, x, y):
    """Polygons overlap if and only if shapely says so, and moving one by the depth is enough to part them."""
    table = rooms([convex_parts(p, 1.0, 2.0) for p in (first, second)], [((0.0, False),), (way,)])
    polygons = [Polygon(table.corners[a:b]) for a, b in pairwise(table.side)]
    for p in range(table.polygon[0], table.polygon[1]):
        for q in range(table.polygon[1], table.polygon[2]):
            depth = polygon_depth(table, 0, 1, p, q, x, y)
            other = translate(polygons[q], x, y)
            assert polygons[p].buffer(-1e-6).intersects(other) <= (depth > 0.0) <= polygons[p].intersects(other)
            if depth > 0.0:
                directions = np.vstack([table.sides[table.side[k] : table.side[k + 1], :2] for k in (p, q)])
                apart = [
                    translate(other, *(sign * depth * d)).intersection(polygons[p]).area
                    for d in directions
                    for sign in (-1.0, 1.0)
                ]
                assert min(apart) < 1e-6


def test_same_layout_in_another_process_and_on_another_processor():
    """Compiled once for this processor and once for any of its kind, without its wider instructions."""
    code = (
        "from shapely import box, Point\n"
        "from foamwright.nesting import nest as nesting\n"
        "nesting._PAIRS = nesting._PAIRS_PER_PIECE = 100_000\n"
        "from foamwright.nesting.nest import *\n"
        "ways = ((0.0, False), (90.0, False), (37.5, False))\n"
        "blanks = [Blank(box(0, 0, 70, 31), 5, ways), Blank(Point(0, 0).buffer(24), 4, ways[:1])]\n"
        "print(nest(blanks, Supply((210, 300))))"
    )
    any_processor = {"NUMBA_CPU_NAME": "generic", "NUMBA_CPU_FEATURES": ""}
    runs = [
        subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, env=os.environ | own).stdout
        for own in ({}, any_processor)
    ]
    assert runs[0] == runs[1] and b"Spot" in runs[0]


@pytest.fixture
def interruptible():
    """What is started in the background may ignore interrupts, and so would its tests."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def test_an_interrupted_search_ends_at_once(interruptible):
    """All of this effort would take hours."""
    blanks = [Blank(Point(0, 0).buffer(r), 3, QUARTERS) for r in np.linspace(20.0, 60.0, 12)]
    nest(blanks[:2], Supply((600.0, 1200.0)))  # compiled first
    start = monotonic()
    Timer(1.0, lambda: os.kill(os.getpid(), signal.SIGINT)).start()
    with pytest.raises(KeyboardInterrupt):
        nest(blanks, Supply((600.0, np.inf)), effort=1e5)
    assert monotonic() - start < 120.0


def test_a_small_piece_lies_in_the_hole_of_a_large_one():
    ring = Point(0, 0).buffer(95.0).difference(Point(0, 0).buffer(60.0))
    blanks = [Blank(ring, 1, AS_DRAWN), Blank(box(0, 0, 70, 70), 1, AS_DRAWN)]
    supply = Supply((200.0, 200.0))
    (sheet,) = nest(blanks, supply)
    check(blanks, supply, (sheet,))


def test_a_small_piece_lies_in_the_hollow_of_a_large_one():
    frame = box(0, 0, 190, 190).difference(box(40, 40, 150, 200))
    blanks = [Blank(frame, 1, AS_DRAWN), Blank(box(0, 0, 90, 130), 1, AS_DRAWN)]
    supply = Supply((200.0, 200.0))
    (sheet,) = nest(blanks, supply)
    check(blanks, supply, (sheet,))


def test_a_grain_is_kept():
    """Two pieces 150 long would share one sheet only across the grain."""
    pieces = box(0, 0, 150, 40)
    along = Supply((100.0, 400.0))
    with pytest.raises(TooLarge):
        nest([Blank(pieces, 2, ((0.0, False), (180.0, False)))], along)
    check([Blank(pieces, 2, QUARTERS)], along, nest([Blank(pieces, 2, QUARTERS)], along))


def test_flipped_pieces_are_reflected():
    wedge = Polygon([(0, 0), (80, 0), (0, 50)])
    blanks = [Blank(wedge, 2, ((0.0, True),)), Blank(wedge, 2, AS_DRAWN)]
    supply = Supply((200.0, 150.0))
    check(blanks, supply, nest(blanks, supply))


def test_sheets_on_the_shelf_are_filled_before_new_ones():
    blanks = [Blank(box(0, 0, 90, 90), 5, AS_DRAWN)]
    supply = Supply((100.0, 200.0), at_hand=((100.0, 100.0), (200.0, 100.0)))
    sheets = nest(blanks, supply)
    check(blanks, supply, sheets)
    assert [(s.at_hand, len(s.spots)) for s in sheets] == [(0, 1), (1, 2), (None, 2)]


def test_a_shelf_that_holds_everything_needs_no_new_sheet():
    blanks = [Blank(box(0, 0, 40, 40), 3, AS_DRAWN)]
    sheets = nest(blanks, Supply((600.0, 1200.0), at_hand=((150.0, 60.0), (80.0, 80.0))))
    assert all(s.at_hand is not None for s in sheets)


@pytest.mark.parametrize("size, count", [(90, 2), (80, 3), (60, 7)])
def test_what_needs_several_sheets_is_laid_on_several(size, count):
    """Two pieces to a sheet at most, so that one sheet less is tried for and cannot be."""
    blanks = [
        Blank(box(0, 0, size, size), count, QUARTERS),
        Blank(Point(0, 0).buffer(size / 2.1), 3, AS_DRAWN),
    ]
    supply = Supply((100.0, 200.0))
    sheets = nest(blanks, supply)
    check(blanks, supply, sheets)
    area = sum(b.shape.area * b.count for b in blanks)
    assert len(sheets) >= np.ceil(area / 20000.0)


def test_a_roll_is_only_as_long_as_need_be():
    blanks = [Blank(box(0, 0, 90, 50), 6, AS_DRAWN)]
    supply = Supply((199.0, ROLL))
    (sheet,) = nest(blanks, supply)
    check(blanks, supply, (sheet,))
    assert sheet.size[1] == sheet.length
    assert sheet.length >= 3 * 50 + 2 * 3 + 2 * 3  # two side by side, three rows, gaps and edges: cannot be less
    assert sheet.length == pytest.approx(162.0, abs=8.0)


def test_a_sheet_cut_into_pieces_is_nearly_put_together_again():
    """The pieces of a dissected 300 x 300 mm square, no gap: the least length possible is known to be 300."""
    cuts = [box(0, 0, 100, 180), box(100, 0, 300, 120), box(0, 180, 160, 300), box(160, 120, 300, 300),
            box(100, 120, 160, 180)]  # fmt: skip
    assert shapely.union_all(cuts).area == pytest.approx(90000.0)
    supply = Supply((302.0, ROLL), gap=0.0, edge=0.0)
    (sheet,) = nest([Blank(c, 1, QUARTERS) for c in cuts], supply, effort=7)
    assert 300.0 <= sheet.length < 1.25 * 300.0


def test_nothing_to_lay():
    assert nest([], Supply((600.0, 1200.0))) == ()


def two_squares(apart):
    """A layout of two squares of 40 mm on one sheet, the second moved by `apart` along it."""
    table = rooms([[np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]])]], [AS_DRAWN])
    zeros = np.zeros(2, np.int64)
    return Layout(table, zeros, zeros.copy(), zeros.copy(), np.array([[5.0, 5.0], [5.0, 5.0 + apart]]), SHEET)


SHEET = np.array([[100.0, 300.0]])


def test_a_layout_with_overlapping_pieces_is_refused():
    nesting.refuse_overlaps(two_squares(40.5), np.random.default_rng(1))
    layout = two_squares(39.0)
    with pytest.raises(nesting.Overlap, match="overlap"):
        nesting.refuse_overlaps(layout, np.random.default_rng(1))
    assert layout.place.tolist() == two_squares(39.0).place.tolist()


def test_the_guard_holds_when_assertions_are_off():
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "import numpy as np, test_sheets_nesting as t\n"
        "from foamwright.nesting import nest\n"
        "nest.gather = lambda layout, rng, times: layout.place.fill(20.0)\n"
        "try: nest.nest([t.Blank(t.box(0, 0, 40, 40), 2, t.AS_DRAWN)], t.Supply((100, 300)), 0.01)\n"
        "except nest.Overlap: print('refused', __debug__)"
    )
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    command = [sys.executable, "-O", "-c", code, os.path.dirname(__file__)]
    run = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    assert run.stdout.split() == ["refused", "False"]

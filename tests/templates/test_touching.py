"""Edges that touch along a part of them: told by the stretch that touches, from elementary geometry."""

import math
import sys
from pathlib import Path

import numpy as np
import pytest

from foamwright.contacts.find import GLUE_REACH, find_contacts
from foamwright.contacts.joins import with_joins
from foamwright.contacts.solids import solids
from foamwright.contacts.wedges import wedges_told
from foamwright.drawing.primitives import Path as Line
from foamwright.drawing.primitives import Text
from foamwright.model.build import build_model
from foamwright.pack.notes import notes
from foamwright.pack.record import SECTIONS
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.draw import draw
from foamwright.templates.touching import Stretch, _whole, partly

sys.path.insert(0, str(Path(__file__).parents[1] / "parts"))
from flat_designs import design

FLOOR = (
    "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 100, height: 200}}, "
    "at: {origin: [0, 0, -10], normal: z}}\n"
)
POST = "  post: {{kind: plate, stock: foam, outline: {{polygon: {{points: {points}}}}}, at: {{origin: {at}, normal: y, up: z}}{more}}}\n"
CLEARANCE = 0.5
REACH = GLUE_REACH + CLEARANCE


def touching(folder, text):
    model = build_model(build_prop(design(folder, text)))
    contacts = find_contacts(solids(model), CLEARANCE)
    model = with_joins(model, contacts)
    return model, section_and_flatten(model), contacts


def post(points, at=(0, 0, 0), more=""):
    return POST.format(points=points, at=list(at), more=more)


def below(patterns, contacts):
    """What is told of the edge of the post that stands on the floor."""
    ((_, told),) = partly(patterns.prop, patterns.pattern("post"), contacts).items()
    (met,) = told
    assert met.other == "floor"
    return met


@pytest.mark.parametrize("lean", [5.0, 9.5, 14.0])
def test_an_edge_that_leans_away_touches_as_far_as_glue_reaches(tmp_path, lean):
    """60 mm of edge that leaves the floor at an angle a: x tan(a) of gap at x, so glue reaches to reach / sin(a) along the
    edge, and the mouth of the wedge is 60 tan(a)."""
    rise = math.tan(math.radians(lean))
    corners = f"[[-30, 0], [30, {60 * rise}], [30, 50], [-30, 40]]"
    model, patterns, contacts = touching(tmp_path, FLOOR + post(corners))
    met = below(patterns, contacts)
    (stretch,) = met.stretches
    assert stretch.length == pytest.approx(REACH / math.sin(math.radians(lean)), abs=0.15)
    assert met.opens == pytest.approx(60.0 * rise, abs=0.05)
    (note,) = wedges_told(model.prop, contacts)
    assert note.startswith("part post: the edge that meets floor") and f"up to {60 * rise:.1f} mm off" in note
    assert note in notes(model.prop, model, contacts, None)
    opens = [c["opens"] for c in SECTIONS["contacts"](prop=model.prop, contacts=contacts) if "opens" in c]
    assert opens == pytest.approx([60.0 * rise], abs=0.05)


@pytest.mark.parametrize("lean", [20.0, 35.0])
def test_a_corner_that_meets_a_face_is_no_wedge(tmp_path, lean):
    """A side that leaves the floor steeply meets it with its corner, as a wall does under a gable."""
    rise = math.tan(math.radians(lean))
    corners = f"[[-30, 0], [30, {60 * rise}], [30, 70], [-30, 70]]"
    model, _, contacts = touching(tmp_path, FLOOR + post(corners))
    assert contacts.found and wedges_told(model.prop, contacts) == []


@pytest.mark.parametrize("slope, told", [(24.0, True), (3.0, False)])
def test_an_edge_cut_square_at_a_sloping_wall_leaves_a_wedge_across_its_thickness(tmp_path, slope, told):
    """10 mm of floor at a wall that leans by a: t tan(a) of air at the far side, however steep, since it is narrow."""
    t, a = 10.0, math.radians(slope)
    wall = (
        "  wall: {kind: plate, stock: foam, outline: {rectangle: {width: 120, height: 160}}, "
        f"at: {{origin: [100, 0, -10], normal: [{math.cos(a)}, 0, {-math.sin(a)}], up: y}}}}\n"
    )
    model, _, contacts = touching(tmp_path, FLOOR + wall)
    notes = [note for note in wedges_told(model.prop, contacts) if "part floor" in note]
    assert [f"up to {t * math.sin(a):.1f} mm" in note for note in notes] == [True] * told


def test_an_edge_that_runs_past_the_end_of_another_part_touches_as_far_as_that(tmp_path):
    """From x = 60 to x = 140 on a floor that ends at x = 100; the mirrored copy does the same at the other end."""
    corners = "[[60, 0], [140, 0], [140, 40], [60, 40]]"
    _, patterns, contacts = touching(tmp_path, FLOOR + post(corners, more=", mirror: x"))
    pattern = patterns.pattern("post")
    met = below(patterns, contacts)
    assert [s.length for s in met.stretches] == pytest.approx([40.0], abs=0.05) and met.opens == 0.0
    assert met.copies == ()  # of both, and so no copy is named
    template = next(t for t in draw(patterns, contacts) if t.pattern is pattern)
    assert "to A for 40 mm" in [i.value for i in template.drawing.flat if isinstance(i, Text)]
    (bracket,) = [i for i in template.drawing.flat if isinstance(i, Line) and i.layer == "touch"]
    assert np.ptp(bracket.points, axis=0).max() == pytest.approx(40.0, abs=0.05)


def test_an_edge_that_touches_from_end_to_end_is_told_as_ever(tmp_path):
    corners = "[[-30, 0], [30, 0], [30, 40], [-30, 40]]"
    model, patterns, contacts = touching(tmp_path, FLOOR + post(corners))
    assert partly(patterns.prop, patterns.pattern("post"), contacts) == {} and wedges_told(model.prop, contacts) == []
    template = next(t for t in draw(patterns, contacts) if t.pattern.piece.id == "post")
    assert "to A" in [i.value for i in template.drawing.flat if isinstance(i, Text)]


def test_an_edge_over_a_gap_touches_at_both_ends(tmp_path):
    """Two floors 40 mm apart below an edge of 120 mm: 40 mm on each."""
    floors = "".join(
        f"  {name}: {{kind: plate, stock: thick, outline: {{rectangle: {{width: 100, height: 100}}}}, "
        f"at: {{origin: [{x}, 0, -10], normal: z}}}}\n"
        for name, x in (("west", -70), ("east", 70))
    )
    _, patterns, contacts = touching(tmp_path, floors + post("[[-60, 0], [60, 0], [60, 40], [-60, 40]]"))
    ((_, told),) = partly(patterns.prop, patterns.pattern("post"), contacts).items()
    assert [(met.other, [round(s.length, 1) for s in met.stretches]) for met in told] == [
        ("west", [40.0]),
        ("east", [40.0]),
    ]


def test_copies_that_touch_in_other_places_are_named(tmp_path):
    """The second copy stands 30 mm further in, and so on 70 of its 80 mm."""
    corners = "[[60, 0], [140, 0], [140, 40], [60, 40]]"
    text = FLOOR + post(corners, more=", repeat: {count: 2, step: [30, 20, 0]}")
    _, patterns, contacts = touching(tmp_path, text)
    ((_, told),) = partly(patterns.prop, patterns.pattern("post"), contacts).items()
    assert [(round(met.stretches[0].length, 1), met.copies) for met in told] == [(40.0, (1,)), (70.0, (2,))]


def test_a_wheel_on_the_ground_is_no_wedge(tmp_path):
    text = FLOOR + "  wheel: {kind: disc, stock: thick, radius: 40, at: {origin: [0, 0, 40], normal: y}}\n"
    model, _, contacts = touching(tmp_path, text)
    assert len(contacts.found) == 1 and wedges_told(model.prop, contacts) == []


def test_a_rim_that_touches_across_the_point_where_it_begins_touches_at_one_place(tmp_path):
    """Walls at both sides of a floor with round corners: 60 mm of its rim between two corners of 20 mm on each, wherever
    it begins; the arcs come as far as glue reaches, R - d off the wall over sqrt(2 R d)."""
    floor = "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 100, height: 80, corner: 20}}, at: {normal: z}}\n"
    walls = "".join(
        f"  {name}: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 90, height: 30}}}}, "
        f"at: {{origin: [{x}, 0, 5], normal: {normal}, up: z}}}}\n"
        for name, x, normal in (("west", -40, "-x"), ("east", 40, "x"))
    )
    _, patterns, contacts = touching(tmp_path, floor + walls)
    told = [met for all_met in partly(patterns.prop, patterns.pattern("floor"), contacts).values() for met in all_met]
    assert sorted((met.other, len(met.stretches)) for met in told) == [("east", 1), ("west", 1)]
    assert [met.stretches[0].length for met in told] == pytest.approx(
        [60.0 + 2 * math.sqrt(2 * 20 * REACH)] * 2, abs=1.5
    )


@pytest.mark.parametrize("start, whole", [(5.0, True), (60.0, True), (300.0, False)])
def test_a_rim_that_is_touched_all_round_is_whole_wherever_it_begins(start, whole):
    """1000 mm of rim, touched from `start` over its beginning on to 5 mm past it."""
    assert _whole((Stretch(start, 1005.0),), 1000.0) == whole


@pytest.mark.parametrize("scale", [1.0, 3.0])
@pytest.mark.parametrize("rounded", ["shelf", "post"])
def test_a_rounded_corner_is_no_wedge(tmp_path, scale, rounded):
    """A board with rounded corners butted by its straight side to the edge of a floor, or stood on it: past the corner's
    beginning it stands off by r - sqrt(r^2 - x^2), which was never to be glued."""
    outline = f"{{rectangle: {{width: {120 * scale}, height: {40 * scale}, corner: {10 * scale}}}}}"
    at = {
        "shelf": f"{{origin: [{50 + 20 * scale}, 0, -10], normal: z, up: x}}",  # beside the floor, whose edge is at x = 50
        "post": f"{{origin: [0, 0, {20 * scale}], normal: x, up: z}}",
    }[rounded]
    floor = "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 100, height: 500}}, at: {origin: [0, 0, -10], normal: z, up: y}}\n"
    text = floor + f"  board: {{kind: plate, stock: foam, outline: {outline}, at: {at}}}\n"
    model, _, contacts = touching(tmp_path, text)
    (met,) = contacts.found
    past = math.sqrt((10.0 * scale) ** 2 - (10.0 * scale - REACH) ** 2)  # of either corner, within the glue's reach
    assert met.length == pytest.approx(100.0 * scale + 2.0 * past, abs=1.0)
    assert met.wedge == 0.0 and wedges_told(model.prop, contacts) == []


def test_a_sliver_beside_what_two_parts_share_by_their_faces_is_no_contact(tmp_path):
    """A ring that lies on a wall and reaches past its upper edge: there its rim looks at that edge and is within the reach of
    the clearance, but it stands before the wall and not on it."""
    text = (
        "  wall: {kind: plate, stock: thick, outline: {rectangle: {width: 160, height: 100}}, "
        "at: {origin: [-10, 0, -50], normal: x, up: z}}\n"
        "  ring: {kind: ring, stock: card, outer_radius: 44, inner_radius: 35, at: {origin: [0, 0, 36], normal: x, up: z}, "
        "lies_on: [wall]}\n"
    )
    model = build_model(build_prop(design(tmp_path, text)))
    assert [(c.a.face, c.b.face) for c in find_contacts(solids(model), 1.0).found] == [("outside", "inside")]


@pytest.mark.parametrize("scale", [0.5, 1.0, 3.0])
def test_edges_glued_to_each_other_have_a_centre_mark_where_they_meet(tmp_path, scale):
    """A shelf of 40 mm butted to the edge of a floor of 100, 10 mm off its middle: both have a V in the middle of what meets; a
    post that stands on the floor has none."""
    text = (
        f"  floor: {{kind: plate, stock: thick, outline: {{rectangle: {{width: {100 * scale}, height: {60 * scale}}}}}, "
        "at: {normal: z, up: y}}\n"
        f"  shelf: {{kind: plate, stock: thick, outline: {{rectangle: {{width: {40 * scale}, height: {30 * scale}}}}}, "
        f"at: {{origin: [{10 * scale}, {45 * scale}, 0], normal: z, up: y}}, mirror: y}}\n"
    ) + post("[[-5, 0], [5, 0], [5, 20], [-5, 20]]", at=(0, 0, 10))
    _, patterns, contacts = touching(tmp_path, text)
    marks = {}
    for template in draw(patterns, contacts):
        paths = [i for i in template.drawing.flat if isinstance(i, Line) and i.layer == "tick"]
        marks[template.pattern.piece.id] = [np.round(path.points[[0, 2]].mean(axis=0), 3).tolist() for path in paths]
    x = -10.0 * scale  # a pattern shows the inside face
    assert np.array(sorted(marks["floor"])) == pytest.approx(np.array([[x, -30 * scale], [x, 30 * scale]]))
    assert np.array(marks["shelf"]) == pytest.approx(np.array([[0.0, -15 * scale]])) and marks["post"] == []


@pytest.mark.parametrize("stock, t", [("foam", 6.0), ("thick", 10.0)])
@pytest.mark.parametrize("slope", [-1.5, 0.4, 1.0])
def test_where_two_floors_meet_aslant_an_edge_goes_from_one_to_the_other_on_its_drawn_face(tmp_path, stock, t, slope):
    """Two floors meet along x = slope y, and a post stands across that: all of its edge is told once, and parted where its drawn
    face, at some y, crosses the line."""
    end = 60 * slope
    floors = "".join(
        f"  {name}: {{kind: plate, stock: thick, outline: {{polygon: {{points: {points}}}}}, "
        "at: {origin: [0, 0, -10], normal: z, up: y}}\n"
        for name, points in (
            ("west", [[-200, -60], [-end, -60], [end, 60], [-200, 60]]),
            ("east", [[-end, -60], [200, -60], [200, 60], [end, 60]]),
        )
    )
    text = floors + post("[[-60, 0], [50, 0], [50, 40], [-60, 40]]").replace("stock: foam", f"stock: {stock}")
    _, patterns, contacts = touching(tmp_path, text)
    pattern = patterns.pattern("post")
    ((_, told),) = partly(patterns.prop, pattern, contacts).items()
    assert sum(met.stretches[0].length for met in told) == pytest.approx(110.0, abs=0.1 * abs(slope) * t)
    drawn = float(pattern.frame.origin[1])  # its y in the prop; the part's x runs against that of the floors
    assert {met.other: met.stretches[0].length for met in told} == pytest.approx(
        {"west": 50.0 + slope * drawn, "east": 60.0 - slope * drawn}, abs=0.05 * abs(slope) * t
    )


@pytest.mark.parametrize("sides", [4, 8])
@pytest.mark.parametrize("under", ["east", "west", "north", "south", "all round"])
def test_a_tube_touches_as_far_over_the_seam_where_its_strip_begins_as_elsewhere(tmp_path, sides, under):
    """A tube with flat sides stands on a floor, with all of it or with one half: half of its strip touches then, wherever on it the
    strip begins."""
    x, y = {"east": (40, 0), "west": (-40, 0), "north": (0, 40), "south": (0, -40)}.get(under, (0, 0))
    text = (
        "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 80, height: 80}}, "
        f"at: {{origin: [{x}, {y}, -10], normal: z, up: y}}}}\n"
        f"  tube: {{kind: rod, stock: foam, made: wrapped, sides: {sides}, diameter: 50, from: [0, 0, 0], to: [0, 0, 60]}}\n"
    )
    _, patterns, contacts = touching(tmp_path, text)
    pattern = patterns.pattern("tube")
    told = [met for each in partly(patterns.prop, pattern, contacts).values() for met in each]
    if under == "all round":
        assert told == []
        return
    around = np.ptp(pattern.outline[:, 0])
    (met,) = told
    assert sum(stretch.length for stretch in met.stretches) == pytest.approx(
        around / 2, abs=6.1
    )  # its ends are mitred in 6 mm foam

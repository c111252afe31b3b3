"""Prisms, frustums of pyramids and boxes. Mitre formulas are those of joinery tables, from memory: for n sides
that lean by a from upright, sin(bevel) = sin(180/n) cos(a) and tan(plan angle) = tan(180/n) sin(a)."""

import numpy as np
import pytest
from space_designs import design, edge, patterns

from foamwright.errors import BuildError, DesignError
from foamwright.model.build import build_model
from foamwright.model.interference import interferences
from foamwright.parts import build_prop


def prism(**fields):
    given = ", ".join(f"{k}: {v}" for k, v in ({"sides": 6, "height": 100} | fields).items())
    return f"  lantern: {{kind: prism, stock: foam, {given}}}\n"


def box(**fields):
    given = ", ".join(f"{k}: {v}" for k, v in fields.items())
    return f"  crate: {{kind: box, stock: foam, size: [120, 80, 60], {given}}}\n"


def volume(found, whole):
    """mm3 of all copies of the members of a whole; no two of them may share space."""
    model = build_model(found.prop)
    assert interferences(model, 0.01) == ()
    assert all(copy.prototype.exact for copy in model.copies)
    return sum(copy.volume for copy in model.copies if copy.piece.id.startswith(whole))


@pytest.mark.parametrize("sides", [3, 4, 5, 6, 8, 12])
def test_a_prism_is_mitred_by_half_the_turn(sides):
    found = patterns(prism(sides=sides, radius=90))
    side = found.pattern("lantern_side")
    assert side.piece.quantity == sides
    assert edge(found, "lantern_side", "left").bevel == pytest.approx((180 / sides,))
    assert edge(found, "lantern_side", "foot").bevel == (0.0,)
    # the outline is that of the outer face: a side of the polygon about the circle of its corners
    assert edge(found, "lantern_side", "foot").length == pytest.approx(2 * 90 * np.sin(np.pi / sides))
    outer = sides / 2 * 90**2 * np.sin(2 * np.pi / sides)
    inner = sides * np.tan(np.pi / sides) * (90 * np.cos(np.pi / sides) - 6) ** 2
    assert volume(found, "lantern") == pytest.approx((outer - inner) * 100, rel=1e-6)


@pytest.mark.parametrize("sides, foot, head", [(4, 120, 60), (6, 120, 80), (6, 80, 120), (8, 150, 60)])
def test_a_frustum_has_compound_mitres(sides, foot, head):
    found = patterns(prism(sides=sides, width=foot, top_width=head))
    lean = np.arctan2((foot - head) / 2, 100)
    bevel = np.degrees(np.arcsin(np.sin(np.pi / sides) * np.cos(lean)))
    left = edge(found, "lantern_side", "left")
    assert left.bevel == pytest.approx((bevel,))
    steps = left.points[-1] - left.points[0]
    plan = np.arctan2(abs(steps[0]), abs(steps[1]))
    assert np.tan(plan) == pytest.approx(abs(np.tan(np.pi / sides) * np.sin(lean)))
    assert edge(found, "lantern_side", "foot").bevel == pytest.approx((np.degrees(lean),))
    assert edge(found, "lantern_side", "head").bevel == pytest.approx((-np.degrees(lean),))
    # frustum of a pyramid: h / 3 (A + B + sqrt(A B)), A = n tan(180/n) r^2 with r to the flats
    area = sides * np.tan(np.pi / sides)
    wall = 6 / np.cos(lean)  # level through the wall

    def frustum(a, b):
        return 100 / 3 * area * (a**2 + b**2 + a * b)

    expected = frustum(foot / 2, head / 2) - frustum(foot / 2 - wall, head / 2 - wall)
    assert volume(found, "lantern") == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    "sizes, key, least",
    [
        ({"width": 124, "top_width": 14}, "top_width", 14.7),  # 2 x 6 x sqrt(1 + ((62 - 7.3) / 80)^2) and 0.1 open
        ({"width": 10, "top_width": 90}, "width", 13.5),
        ({"width": 11, "floor": "inside"}, "width", 12.1),
        ({"radius": 6}, "radius", 6.6),
    ],
)
def test_sides_that_close_before_an_end_are_refused_with_the_size_that_leaves_it_open(sizes, key, least):
    """They would stand in each other on the axis, and to declare that under overlaps would help nobody."""
    with pytest.raises(BuildError, match=f"make {key} {least} mm or more"):
        patterns(prism(sides=8, height=80, **sizes))
    open_ones = {**sizes, key: least}
    assert volume(patterns(prism(sides=8, height=80, **open_ones)), "lantern") > 0


def test_floor_inside_and_roof_mitred_fill_the_prism():
    found = patterns(prism(width=120, top_width=80, floor="inside", roof="mitred"))
    lean = np.arctan2(20, 100)
    area = 6 * np.tan(np.pi / 6)
    wall = 6 / np.cos(lean)

    def frustum(low, high, height):
        return height / 3 * area * (low**2 + high**2 + low * high)

    hollow_low = 60 - wall - 6 * np.tan(lean)
    hollow_high = 40 - wall + 6 * np.tan(lean)
    expected = frustum(60, 40, 100) - frustum(hollow_low, hollow_high, 88)
    assert volume(found, "lantern") == pytest.approx(expected, rel=1e-6)
    # the turn from wall to roof is 90 degrees less the lean, and each of the two takes half of it
    half = (90 - np.degrees(lean)) / 2
    assert edge(found, "lantern_side", "head").bevel == pytest.approx((half,))
    assert edge(found, "lantern_roof", "side_2").bevel == pytest.approx((half,))
    assert edge(found, "lantern_floor", "side_2").bevel == pytest.approx((np.degrees(lean),))
    assert edge(found, "lantern_floor", "side_2").joins == ("lantern_side",)


def test_mitred_edges_are_seams_of_one_length_with_the_same_ticks():
    found = patterns(prism(width=120, height=150, roof="mitred"))
    seams = [s for s in found.seams if s.part_a == s.part_b]
    assert [(s.edge_a, s.edge_b, s.copies) for s in seams] == [("left", "right", 6)]
    assert len(found.seams) == 7 and all(s.length_a == pytest.approx(s.length_b) for s in found.seams)
    left, right = (edge(found, "lantern_side", name) for name in ("left", "right"))
    assert left.length == pytest.approx(150)
    assert len(left.ticks) == 3 and left.tick_numbers == right.tick_numbers[::-1]
    drawn = [np.linalg.norm(np.diff(e.points, axis=0), axis=1).sum() for e in (left, right)]
    assert drawn == pytest.approx([144, 144])  # the roof is mitred too, so that the inside face is lower
    assert left.ticks == pytest.approx(drawn[0] - right.ticks[::-1])


def test_openings_are_cut_from_every_side():
    found = patterns(prism(radius=90, openings="[{circle: {radius: 12, centre: [0, 20]}}]"))
    (hole,) = found.pattern("lantern_side").holes
    assert hole.mean(axis=0) == pytest.approx([0, 20], abs=1e-6)
    with pytest.raises(BuildError, match="opening 1 runs out"):
        build_prop(design(prism(radius=90, openings="[{circle: {radius: 60}}]")))


def test_an_opening_stays_clear_of_the_bevel_on_both_faces():
    """Between the sides of six the mitre takes t tan 30 off each edge of the inner face (joinery's mitre)."""
    wide = 2 * 90 * np.sin(np.pi / 6) - 12 * np.tan(np.pi / 6)  # of the inner face
    opening = "[{{rectangle: {{width: {:.4f}, height: 20}}}}]"
    assert patterns(prism(radius=90, openings=opening.format(wide - 0.1))).pattern("lantern_side").holes
    with pytest.raises(BuildError, match="opening 1 runs into a bevelled edge, whose inner line lies further in"):
        build_prop(design(prism(radius=90, openings=opening.format(wide + 0.1))))


def test_ticks_stand_within_the_lines_of_both_faces_of_a_shallow_frustum():
    """Three sides that lean by 51 degrees: the drawn face is 178 mm long where the other one is 277 mm, so that the ticks
    laid off at its ends have no place on it."""
    found = patterns(prism(sides=3, width=160, top_width=60, height=40, floor="mitred", roof="inside"))
    foot, floor = edge(found, "lantern_side", "foot"), edge(found, "lantern_floor", "side_1")
    assert sorted(foot.tick_numbers) == sorted(floor.tick_numbers) and len(foot.tick_numbers) >= 3
    for own in (foot, floor):
        length = np.linalg.norm(np.diff(own.points, axis=0), axis=1).sum()
        assert own.ticks.min() > 1.0 and own.ticks.max() < length - 1.0
        assert np.diff(own.ticks) == pytest.approx(np.diff(own.ticks)[0])  # at equal distances


@pytest.mark.parametrize("joint", ["butt", "mitred"])
def test_a_box_is_its_outside_less_its_inside(joint):
    found = patterns(box(joint=joint))
    assert [p.piece.quantity for p in found.patterns[1:]] == [2, 2, 2]
    assert volume(found, "crate") == pytest.approx(120 * 80 * 60 - 108 * 68 * 48, rel=1e-9)
    drawn, other = (
        {p.piece.id: sorted(np.ptp(ring, axis=0)) for p, ring in ((p, getattr(p, face)) for p in found.patterns)}
        for face in ("outline", "other_outline")
    )
    assert {p.drawn_face for p in found.patterns} == {"inside"}
    if joint == "butt":
        assert drawn["crate_top_bottom"] == other["crate_top_bottom"] == pytest.approx([80, 120])
        assert drawn["crate_left_right"] == other["crate_left_right"] == pytest.approx([48, 108])
    else:  # at 45 degrees the inside face is twice the thickness smaller each way: joiners' mitre, t tan 45 an edge
        assert drawn["crate_top_bottom"] == pytest.approx([80 - 12, 120 - 12])
        assert other["crate_top_bottom"] == pytest.approx([80, 120])
        assert drawn["crate_left_right"] == pytest.approx([60 - 12, 120 - 12])
        assert other["crate_left_right"] == pytest.approx([60, 120])
    bevels = {b for p in found.patterns[1:] for e in p.edges for b in e.bevel}
    assert sorted(bevels) == pytest.approx([0.0] if joint == "butt" else [45.0] * len(bevels))


def test_an_open_box_with_a_window():
    found = patterns(box(joint="mitred", without="[top]", openings="{front: [{circle: {radius: 10}}]}"))
    parts = {p.piece.id: p for p in found.patterns}
    assert set(parts) == {"block", "crate_bottom", "crate_front", "crate_back", "crate_left_right"}
    assert len(parts["crate_front"].holes) == 1 and not parts["crate_back"].holes
    assert edge(found, "crate_back", "top").bevel == (0.0,)
    outside, inside = 120 * 80 * 60, 108 * 68 * 54
    assert volume(found, "crate") == pytest.approx(outside - inside - np.pi * 10**2 * 6, rel=1e-5)


def test_repeated_and_mirrored_wholes_keep_their_members_together():
    found = patterns(
        "  post: {kind: prism, stock: foam, sides: 5, radius: 40, height: 50, mirror: y,"
        " repeat: {count: 2, step: [100, 0, 0]}, at: {origin: [0, 200, 0], normal: z}}\n"
    )
    side = found.pattern("post_side").piece
    assert (side.quantity, side.mirrored) == (20, 10)
    assert found.seams[0].copies == 20
    outer = 5 / 2 * 40**2 * np.sin(2 * np.pi / 5)
    inner = 5 * np.tan(np.pi / 5) * (40 * np.cos(np.pi / 5) - 6) ** 2
    assert volume(found, "post") == pytest.approx(4 * (outer - inner) * 50, rel=1e-6)


def test_who_names_a_whole_names_its_members():
    made = design(
        prism(radius=90, floor="inside")
        + "  cap: {kind: disc, stock: foam, radius: 90, at: {origin: [0, 0, 100], normal: z}, after: [lantern]}\n"
        + "overlaps: [[lantern, cap]]\nsteps: [{title: Build it, parts: [lantern]}]\n"
    )
    members = ("lantern_side", "lantern_floor")
    assert [p.id for p in made.parts] == ["block", *members, "cap"]
    assert [p.label for p in made.parts] == ["A", "B", "C", "D"]
    assert made.parts[-1].values["after"] == members
    assert made.steps[0]["parts"] == members
    assert made.expected_overlaps == tuple((m, "cap") for m in members)


def test_a_member_may_not_take_the_id_of_another_part():
    text = prism(radius=90) + "  lantern_side: {kind: disc, stock: foam, radius: 9, at: {normal: z}}\n"
    with pytest.raises(DesignError, match=r"lantern_side.*twice"):
        design(text)


@pytest.mark.parametrize("length, width, of_front", [(200, 100, "end"), (100, 200, "side"), (100, 100, "end")])
def test_the_longer_walls_of_a_box_are_its_sides(length, width, of_front):
    text = f"  crate: {{kind: box, stock: foam, size: [{length}, {width}, 60]}}\n"
    names = {part.id: part.name for part in design(text).parts if part.id != "block"}
    assert names["crate_front_back"].endswith(of_front)
    assert {name.split(", ")[-1] for name in names.values()} == {"top and bottom", "end", "side"}


def _told_joined(found, part):
    return {edge.id: set(edge.joins) for edge in found.pattern(part).edges}


@pytest.mark.parametrize("lean", [0, 20])
def test_an_edge_that_a_plate_does_not_meet_is_not_said_to(lean):
    """A floor inside of the sides lies against their faces; mitred, or below a butted wall, it meets their edges."""
    found = patterns(prism(width=120, top_width=120 - 2 * lean, floor="inside", roof="mitred"))
    sides = _told_joined(found, "lantern_side")
    assert sides["foot"] == set() and sides["head"] == {"lantern_roof"}
    assert all(joins == {"lantern_side"} for joins in _told_joined(found, "lantern_floor").values())


def test_of_two_plates_that_butt_only_the_edge_of_one_meets_the_other():
    found = patterns(box(joint="butt"))
    assert not any(_told_joined(found, "crate_top_bottom").values())
    ends, sides = _told_joined(found, "crate_front_back"), _told_joined(found, "crate_left_right")
    assert ends["top"] == {"crate_top_bottom"} and ends["left"] == set()
    assert sides["front"] == {"crate_front_back"} and sides["top"] == {"crate_top_bottom"}


def centres(**fields):
    """How many parts a box has, and where in space the middles of its openings are on the inside."""
    prop = build_prop(design(box(**fields)))
    found = []
    for piece in prop.pieces:
        for place in piece.placements:
            for hole in piece.body.holes:
                middle = piece.body.frame.to_space(np.append(hole.mean(axis=0), 0.0)[None])[0]
                found.append(tuple(np.round(place.matrix[:3, :3] @ middle + place.matrix[:3, 3], 3) + 0.0))
    return sum(piece.id.startswith("crate") for piece in prop.pieces), sorted(found)


@pytest.mark.parametrize("pair", [("left", "right"), ("front", "back"), ("top", "bottom")])
@pytest.mark.parametrize("joint, there, alike", [("butt", -9, True), ("butt", 9, False), ("mitred", 9, True)])
def test_opposite_plates_with_the_same_openings_are_cut_alike(pair, joint, there, alike):
    """What is 9 mm to the right from outside on one is as far to the left on its mirror image, which the other of a butted box is;
    the other of a mitred one is the same turned half about. Where the openings are in space does not follow from that."""
    holes = [f"{{{face}: [{{circle: {{radius: 5, centre: [{x}, 3]}}}}]}}" for face, x in zip(pair, (9, there))]
    parts, found = centres(joint=joint, openings=f"{holes[0][:-1]}, {holes[1][1:]}")
    assert (parts == 3) == alike
    assert found == sorted(place for one in holes for place in centres(joint=joint, openings=one)[1])


@pytest.mark.parametrize("size, what", [("[12, 80, 60]", "length 12 mm"), ("[120, 80, 10]", "height 10 mm")])
def test_a_box_with_no_room_between_its_plates_is_named_with_what_is_too_small(size, what):
    """Two plates of 6 mm fill 12 mm: nothing is left between them."""
    with pytest.raises(
        BuildError, match=rf"box crate: nothing is left of .* 6 mm foam \({what}\); make that more than 12 mm"
    ):
        patterns(box().replace("[120, 80, 60]", size))

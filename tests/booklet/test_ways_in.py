"""Ways in: found from the meshes, and checked a second time by moving the meshes themselves in small steps.

The second check shares nothing with the first: it intersects solids with manifold3d at places along the way.
"""

import sys
from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
import trimesh
from block_props import piece, scene
from order_checks import depth, solid
from sample_prop import SHELL, STRUCTURE

from foamwright.assembly.bodies import bodies
from foamwright.assembly.closing import closed_in
from foamwright.assembly.planning import plan
from foamwright.assembly.taking_apart import brushed
from foamwright.assembly.units import Unit
from foamwright.assembly.ways_in import GIVE, Ways, finer, roll
from foamwright.errors import BuildError
from foamwright.registry import RANK

WOOD = replace(STRUCTURE, material_type="plywood")


def tray(height=40.0, lid=False):
    """A floor and four walls, 100 mm square inside."""
    parts = [piece("floor", (120, 120, 10), (0, 0, -5))]
    for name, sign in (("east", 1), ("west", -1)):
        parts.append(piece(name, (10, 120, height), (sign * 55, 0, height / 2)))
    for name, sign in (("north", 1), ("south", -1)):
        parts.append(piece(name, (100, 10, height), (0, sign * 55, height / 2)))
    return parts + ([piece("lid", (120, 120, 10), (0, 0, height + 5))] if lid else [])


def plan_of(parts, needs=None, listed=()):
    found = scene(*parts)
    ids = [made.id for made, _ in parts]
    steps = {part: number for number, part in enumerate(listed)}
    units = [
        Unit(i, (id_,), "" if id_ not in steps else f"Step {id_}", "", 0, "contact", steps.get(id_))
        for i, id_ in enumerate(ids)
    ]
    return found, plan(units, {id_: (needs or {}).get(id_, set()) for id_ in ids}, Ways(found))


def hits(found, copies, way, standing):
    return depth(found, copies, way, standing)[0]


def check_by_motion(found, stages):
    standing = []
    for stage in stages:
        for move in stage.moves:
            assert hits(found, move.copies, move.way, standing) < GIVE, found.pieces[move.copies[0]].id
            standing += move.copies
    assert sorted(standing) == list(range(len(found)))


def names(found, stages):
    return [found.pieces[copy].id for stage in stages for move in stage.moves for copy in move.copies]


def test_a_plate_in_a_tray_comes_out_upwards_only():
    found = scene(*tray(), piece("plate", (99, 99, 10), (0, 0, 5)))
    ways = Ways(found)
    standing = (1 << 5) - 1
    way = ways.free((5,), standing)
    assert way is not None and way.legs[0].towards == (0.0, 0.0, 1.0) and way.bend is None
    assert hits(found, (5,), way, range(5)) < 0.1
    sideways = [w for w in ways._ways((5,)) if w.legs[0].towards == (1.0, 0.0, 0.0) and len(w.legs) == 1]
    assert all(w.blockers & standing for w in sideways)


def test_what_a_lid_closes_in_goes_in_before_it():
    parts = [*tray(lid=True), piece("ball", (60, 60, 20), (0, 0, 10))]
    found, stages = plan_of(parts)
    order = names(found, stages)
    assert order.index("ball") < order.index("lid")
    check_by_motion(found, stages)


def test_a_design_that_seals_a_part_in_is_refused():
    """The lid must go on first, so the plate below it can never go in."""
    parts = [*tray(lid=True), piece("ball", (60, 60, 20), (0, 0, 10))]
    walls = ("east", "west", "north", "south")
    shut = {**{wall: {"floor"} for wall in walls}, "lid": set(walls), "ball": {"lid"}}
    with pytest.raises(BuildError, match=r"part ball .*(lid|floor|east|west|north|south)"):
        plan_of(parts, shut)


def test_an_order_of_the_design_that_cannot_work_is_an_error_that_says_why():
    parts = [*tray(lid=True), piece("ball", (60, 60, 20), (0, 0, 10))]
    listed = ("floor", "east", "west", "north", "south", "lid", "ball")
    with pytest.raises(BuildError, match=r"step 'Step ball': part ball has no way in"):
        plan_of(parts, listed=listed)
    found, stages = plan_of(parts, listed=(*listed[:5], "ball", "lid"))
    assert names(found, stages)[-2:] == ["ball", "lid"]


def test_a_broad_plate_is_rolled_through_a_narrow_opening_and_a_stiff_one_is_refused():
    rails = [piece("left", (200, 10, 60), (0, 55, 30)), piece("right", (200, 10, 60), (0, -55, 30))]
    cover = [piece("over_left", (200, 35, 10), (0, 42.5, 65)), piece("over_right", (200, 35, 10), (0, -42.5, 65))]
    ends = [piece("front", (10, 120, 70), (105, 0, 35)), piece("back", (10, 120, 70), (-105, 0, 35))]
    floor = [piece("floor", (220, 120, 10), (0, 0, -5))]
    box = [*floor, *rails, *cover, *ends]
    found = scene(*box, piece("deck", (150, 98, 2), (0, 0, 30), stock=SHELL))
    ways = Ways(found)
    way = ways.free((7,), (1 << 7) - 1)
    assert way is None or way.bend is not None  # straight, 98 mm do not pass 50
    stiff = scene(*box, piece("deck", (150, 98, 30), (0, 0, 30), stock=STRUCTURE))
    assert Ways(stiff).free((7,), (1 << 7) - 1) is None


def test_a_small_part_in_a_corner_rides_in_on_its_plate():
    """A cleat under an overhang cannot be reached once its deck is in: it is put on the deck before."""
    parts = [
        piece("wall", (200, 10, 80), (0, 55, 40)),
        piece("roof", (200, 70, 10), (0, 25, 85)),
        piece("deck", (200, 100, 10), (0, 0, 25)),
        piece("cleat", (8, 16, 50), (0, 30, 55), lies_on=("deck",)),
    ]
    found, stages = plan_of(parts, {"cleat": {"deck"}, "deck": {"wall", "roof"}})
    riding = next(stage for stage in stages if "deck" in stage.parts)
    assert {found.pieces[i].id for i in riding.moves[0].copies} <= {"deck", "cleat"}
    check_by_motion(found, stages)


def test_rolling_keeps_lengths_along_the_middle_and_the_volume():
    """A bend about an axis keeps the mid-surface's lengths, and by Pappus's theorem the volume of a plate."""
    made, (points, triangles) = piece("deck", (200, 100, 8), (5, 6, 7))
    way = None
    found = scene((made, (points, triangles)))
    ways = Ways(found)
    way = next(w for w in ways._bent((0,), *found.mesh((0,))) if w.bend and w.bend.turn == 90.0)
    fine, faces = finer(points, triangles, 4.0)
    rolled = roll(fine, points, way.bend)
    before, after = solid(fine, faces), solid(rolled, faces)
    assert after.volume() == pytest.approx(before.volume(), rel=0.01)
    along = np.ptp(rolled @ np.array(way.bend.axis))
    assert along == pytest.approx(np.ptp(points @ np.array(way.bend.axis)))


def test_order_is_a_linear_extension_of_everything_that_must_come_first():
    parts = [*tray(lid=True), piece("ball", (60, 60, 20), (0, 0, 10))]
    needs = {"east": {"floor"}, "west": {"floor"}, "north": {"east", "west"}, "south": {"east"}, "lid": {"north"}}
    found, stages = plan_of(parts, needs)
    graph = nx.DiGraph((before, part) for part, all_ in needs.items() for before in all_)
    graph.add_edge("ball", "lid")
    place = {name: i for i, name in enumerate(names(found, stages))}
    assert nx.is_directed_acyclic_graph(graph)
    assert all(place[a] < place[b] for a, b in graph.edges)


def test_long_chains_are_planned_without_recursion():
    count = sys.getrecursionlimit() + 100
    ids = [f"p{i}" for i in range(count)]
    units = [Unit(i, (id_,), "", "", 0, "contact") for i, id_ in enumerate(ids)]
    needs = {id_: {ids[i - 1]} if i else set() for i, id_ in enumerate(ids)}
    stages = plan(units, needs, Ways(bodies((), (), ())))
    assert [stage.parts[0] for stage in stages] == ids


def well(depth, wide=60.0):
    """A square well, so wide inside and `depth` mm deep, with a button on its floor."""
    parts = [piece("floor", (wide + 20, wide + 20, 10), (0, 0, -5))]
    for name, x, y in (("east", 1, 0), ("west", -1, 0), ("north", 0, 1), ("south", 0, -1)):
        size = (10, wide + 20, depth) if x else (wide, 10, depth)
        parts.append(piece(name, size, ((wide / 2 + 5) * x, (wide / 2 + 5) * y, depth / 2)))
    return [*parts, piece("button", (20, 20, 5), (0, 0, 2.5))]


def test_a_brush_reaches_a_floor_down_a_well_as_deep_as_it_is_long():
    for deep, within in ((150.0, True), (400.0, False)):
        found = scene(*well(deep))
        ways = Ways(found)
        button = [touch for touch in ways.touches_of((5,), (1 << 5) - 1) if touch.glued]
        assert [touch.b for touch in button] == [0]
        assert (ways.sight.reached(button, (1 << 5) - 1) == 1.0) is within
        assert ways.sight.reached(button, 1) == 1.0  # on the floor alone


@pytest.mark.parametrize(
    "deep, wide, within", [(400, 100, False), (400, 160, True), (700, 200, True), (900, 200, False)]
)
def test_hand_and_arm_follow_a_brush_where_there_is_room_for_them(deep, wide, within):
    found = scene(*well(float(deep), float(wide)))
    ways = Ways(found)
    button = [touch for touch in ways.touches_of((5,), (1 << 5) - 1) if touch.glued]
    assert (ways.sight.reached(button, (1 << 5) - 1) == 1.0) is within


@pytest.mark.parametrize("wide", [96.0, 228.0, 288.0])
def test_a_hand_goes_past_the_posts_that_stand_in_the_other_corners_of_an_open_box(wide):
    at = wide / 2 - 6
    corners = [(at, at), (-at, at), (-at, -at), (at, -at)]
    posts = [piece(f"post{i}", (12, 12, 2 * wide), (x, y, wide)) for i, (x, y) in enumerate(corners)]
    found = scene(*well(wide * 0.68, wide)[:5], *posts)
    ways = Ways(found)
    standing = 0b11111111
    glued = [touch for touch in ways.touches_of((8,), standing) if touch.glued]
    assert {touch.b for touch in glued} == {0, 1, 4}  # the floor and the two walls of its corner
    assert brushed(glued, standing, ways)


def test_a_face_behind_a_lid_is_not_reached():
    found = scene(*tray(lid=True), piece("plate", (60, 60, 10), (0, 0, 5)))
    touches = [touch for touch in found.touches.values() if touch.a == 6]
    sight = Ways(found).sight
    assert [touch.b for touch in touches] == [0]
    assert sight.reached(touches, 0b111111) == 0.0 and sight.reached(touches, 0b011111) == 1.0


def test_what_is_glued_deep_down_goes_in_before_the_walls_and_an_order_that_forbids_it_is_refused():
    found, stages = plan_of(well(400.0))
    order = names(found, stages)
    assert order.index("button") < max(order.index(wall) for wall in ("east", "west", "north", "south"))
    check_by_motion(found, stages)
    walls = {"east", "west", "north", "south"}
    with pytest.raises(BuildError, match=r"part button is glued to floor where no brush of 300 mm reaches"):
        plan_of(well(400.0), {"button": walls, **{wall: {"floor"} for wall in walls}})


def test_what_would_close_a_part_in_waits_for_it():
    found, stages = plan_of([*tray(lid=True), piece("ball", (60, 60, 20), (0, 0, 10))])
    closed = closed_in(stages, Ways(found))
    where = {stage.parts[0]: i for i, stage in enumerate(stages)}
    assert where["ball"] in closed[where["lid"]]
    assert not any(where["lid"] in numbers for numbers in closed)


def test_painted_parts_that_need_not_wait_go_in_before_the_first_that_takes_no_paint():
    """A cushion lies in a tray that gets a knob on its side and a lid: the knob is painted with the tray."""
    parts = [
        *tray(lid=True),
        piece("cushion", (60, 60, 20), (0, 0, 10), glue="none"),
        piece("knob", (10, 20, 20), (65, 0, 20)),
    ]
    found, stages = plan_of(parts, {"knob": {"east"}, "lid": {"cushion"}})
    order = names(found, stages)
    assert order.index("knob") < order.index("cushion") < order.index("lid")


@pytest.mark.parametrize("scale", [0.6, 1.0, 3.0])
def test_the_same_order_at_every_scale(scale):
    parts = [*tray(lid=True), piece("ball", (60, 60, 20), (0, 0, 10)), piece("knob", (10, 20, 20), (65, 0, 20))]
    grown = [piece(made.id, np.ptp(points, axis=0) * scale, (points.max(axis=0) + points.min(axis=0)) / 2 * scale)
             for made, (points, _) in parts]  # fmt: skip
    found, stages = plan_of(grown)
    assert names(found, stages) == names(*plan_of(parts))
    check_by_motion(found, stages)


def test_one_part_alone_is_put_down():
    found, stages = plan_of([piece("plate", (60, 40, 10))])
    assert names(found, stages) == ["plate"]


def link(level, across):
    """A closed ring of four bars, 100 by 60 mm outside, as one mesh: lying (`level`) or on edge, moved along x."""
    bars = (((100, 10, 10), (0, -25)), ((100, 10, 10), (0, 25)), ((10, 10, 40), (-45, 0)), ((10, 10, 40), (45, 0)))
    made = []
    for size, (x, z) in bars:
        bar = trimesh.creation.box((size[0], size[2], size[1]) if level else size)
        made.append(bar.apply_translation((x + across, z, 0.0) if level else (x + across, 0.0, z)))
    ring = trimesh.boolean.union(made, engine="manifold")
    return np.array(ring.vertices), np.array(ring.faces)


def test_two_parts_that_interlock_are_refused_by_name():
    """Two closed rings, one through the other, each in one piece: no motion parts them."""
    pieces = [replace(piece(name, (100, 60, 10))[0], stock=WOOD) for name in ("first", "second")]
    found = bodies(pieces, [link(False, 0.0), link(True, 60.0)], (np.eye(4), np.eye(4)))
    units = [Unit(i, (made.id,), "", "", 0, "contact") for i, made in enumerate(pieces)]
    with pytest.raises(BuildError, match=r"part second is sealed in: first stand") as caught:
        plan(units, {"first": set(), "second": {"first"}}, Ways(found))
    assert "\n" not in str(caught.value)


def test_what_rests_without_glue_and_cannot_come_off_again_goes_in_on_the_way():
    """A box round a bar that it is not glued to, with the bar's ends too wide to leave it: it goes on before the last end."""
    bar = [
        piece("bar", (200, 20, 20)),
        piece("east_end", (10, 60, 60), (105, 0, 0)),
        piece("west_end", (10, 60, 60), (-105, 0, 0)),
    ]
    sleeve = [
        piece("under", (100, 40, 10), (0, 0, -15)),
        piece("over", (100, 40, 10), (0, 0, 15)),
        piece("left", (100, 10, 20), (0, 15, 0)),
        piece("right", (100, 10, 20), (0, -15, 0)),
    ]
    sleeve = [(replace(made, rests_on=("bar",)), mesh) for made, mesh in sleeve]
    found, stages = plan_of([*bar, *sleeve])
    check_by_motion(found, stages)
    order = names(found, stages)
    ends = max(order.index("east_end"), order.index("west_end"))
    assert all(order.index(made.id) < ends for made, _ in sleeve)
    assert len({move.own for stage in stages for move in stage.moves}) == 1
    found, stages = plan_of([bar[0], *sleeve])  # without the ends it slides off: the two are built apart
    assert len({move.own for stage in stages for move in stage.moves}) == 2


def test_a_box_is_completed_before_what_stands_on_it():
    """Two walls on a floor, one of which carries a roof that touches the other parts nowhere: by rank alone the roof, as of
    panels, would go on between the two."""
    parts = [
        piece("floor", (100, 100, 10)),
        piece("near", (10, 100, 40), (45, 0, 25)),
        piece("far", (10, 100, 20), (-45, 0, 15)),
        piece("roof", (60, 60, 10), (70, 0, 50)),
    ]
    found = scene(*parts)
    ranks = {"roof": RANK["panel"]}
    ids = [one.id for one, _ in parts]
    units = [Unit(i, (id_,), "", "", ranks.get(id_, RANK["plate"]), "contact") for i, id_ in enumerate(ids)]
    needs = {id_: set() for id_ in ids}
    order = [part for stage in plan(units, needs, Ways(found)) for part in stage.parts]
    assert order == ["floor", "near", "far", "roof"]
    units[2] = replace(units[2], rank=RANK["detail"])
    order = [part for stage in plan(units, needs, Ways(found)) for part in stage.parts]
    assert order[-1] == "far"


def test_foam_that_must_give_way_is_known():
    """A plate 44 mm wide between lips that are 40 mm apart: 2 mm a side, less than is refused and more than goes by itself."""
    parts = [
        piece("floor", (60, 60, 10), (0, 0, -5)),
        piece("plate", (30, 44.0, 6), (0, 0, 3)),
        piece("left", (30, 10, 6), (0, 25, 13)),
        piece("right", (30, 10, 6), (0, -25, 13)),
    ]
    found = scene(*parts)
    ways = Ways(found)
    upwards = ways.free((1,), 0b1101)
    assert upwards is not None and upwards.legs[0].towards == (0.0, 0.0, 1.0)
    assert ways.tight((1,), upwards, 0b1101) == 0b1100
    narrow = scene(parts[0], piece("plate", (30, 39.0, 6), (0, 0, 3)), *parts[2:])
    ways = Ways(narrow)
    assert ways.tight((1,), ways.free((1,), 0b1101), 0b1101) == 0


def test_what_can_be_laid_on_is_squeezed_past_nothing():
    """What comes later on its other side draws the mean of all faces that touch over the thin strip."""
    found = scene(
        piece("neck", (200, 30, 20), (0, 0, -10)),
        piece("strip", (90, 30, 2), (-50, 0, 1)),
        piece("nut", (5, 30, 6), (-2.5, 0, 3)),
        piece("head", (10, 30, 8), (5, 0, 4)),
    )
    way = Ways(found).free((2,), found.mask((0, 1)))
    assert way is not None and way.legs[0].towards == pytest.approx((0.0, 0.0, 1.0))

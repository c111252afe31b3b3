"""What edges join, declarations held against what touches, and parts that nothing holds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from foamwright.contacts import checks
from foamwright.contacts.checks import apart_told, loosened_told, refuse_untrue, unheld, untrue_laps, untrue_rests
from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of, glued, glued_groups, joined, met, stiff_groups
from foamwright.contacts.solids import solids
from foamwright.contacts.things import TO_HOLD_IT
from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from tests.parts.flat_designs import design

FLOOR = (
    "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 100}}, "
    "at: {origin: [0, 0, -10], normal: z}}\n"
)
DISC = "  disc: {{kind: disc, stock: foam, radius: 20, at: {{origin: [{x}, 0, {z}], normal: {normal}}}, {more}}}\n"


def touching(tmp_path, text):
    prop = build_prop(design(tmp_path, text))
    made = solids(build_model(prop))
    return prop, made, find_contacts(made, clearance_of(prop.design))


def disc(x=0, z=0, normal="z", more="lies_on: [floor]"):
    return DISC.format(x=x, z=z, normal=normal, more=more)


def faults(tmp_path, text):
    found = touching(tmp_path, text)
    return [*untrue_laps(*found), *untrue_rests(found[0], found[1]), *unheld(*found)]


def test_a_true_design_has_no_faults(tmp_path):
    assert faults(tmp_path, FLOOR + disc()) == []


def test_a_disc_off_what_it_lies_on(tmp_path):
    first, second = faults(tmp_path, FLOOR + disc(z=40))
    assert first == "part disc lies on floor, but stands 40.0 mm off it"
    assert second == f"nothing holds part disc, copy 1: the nearest, floor, copy 1, is 40.0 mm away{TO_HOLD_IT}"
    with pytest.raises(BuildError, match=r"40\.0 mm off it \(also not so: nothing holds part disc, copy 1\)"):
        refuse_untrue(*touching(tmp_path, FLOOR + disc(z=40)))


def test_a_copy_that_misses_what_the_others_lie_on(tmp_path):
    more = "lies_on: [floor], repeat: {count: 2, step: [90, 0, 0]}"
    assert faults(tmp_path, FLOOR + disc(more=more)) == [
        "part disc, copy 2, touches none of those that it lies on: the nearest, floor, copy 1, is 20.0 mm away",
        f"nothing holds part disc, copy 2: the nearest, floor, copy 1, is 20.0 mm away{TO_HOLD_IT}",
    ]


def test_face_to_face_on_its_edge(tmp_path):
    (fault,) = faults(tmp_path, FLOOR + disc(z=20, normal="x"))
    assert fault.startswith(
        "part disc lies on floor, but touches it with its edge only; turn it face to face, or leave"
    )


def test_joined_parts_must_touch(tmp_path):
    apart = "  post: {kind: disc, stock: foam, radius: 10, at: {origin: [0, 0, 25], normal: z}}\n"
    text = FLOOR + apart
    prop, made, contacts = touching(tmp_path, text)
    assert untrue_laps(prop, made, contacts) == []
    from foamwright.parts.records import Lap

    stated = replace(prop, laps=(Lap("post", "floor", "contact"),))
    assert untrue_laps(stated, made, contacts) == ["part post joins floor, but stands 25.0 mm off it"]


def test_resting_needs_its_padding(tmp_path):
    """A disc 2.5 mm over the floor: with a clearance of 0.5 mm it rests there on 2 mm of felt, and without falls."""
    prop, made, contacts = touching(tmp_path, FLOOR + disc(z=2.5, more=""))
    assert [f for f in unheld(prop, made, contacts) if "disc" in f]
    on_felt = replace(
        prop, pieces=tuple(replace(p, rests_on=("floor",), padding=2.0) if p.id == "disc" else p for p in prop.pieces)
    )
    assert untrue_rests(on_felt, made) == [] and unheld(on_felt, made, contacts) == []
    bare = replace(prop, pieces=tuple(replace(p, rests_on=("floor",)) if p.id == "disc" else p for p in prop.pieces))
    assert untrue_rests(bare, made) == [
        "part disc rests on floor, but stands 2.5 mm off it; move one of them, or give padding if felt lies between"
    ]


def test_where_a_part_rests_is_looked_for_once(tmp_path, monkeypatch):
    asked, found = [], checks.pairs_within
    monkeypatch.setattr(checks, "pairs_within", lambda *given: asked.append(given) or found(*given))
    refuse_untrue(*touching(tmp_path, FLOOR + disc(more="rests_on: [floor]")))
    assert len(asked) == 1


def test_what_rests_is_not_glued(tmp_path):
    prop, _, contacts = touching(tmp_path, FLOOR + disc(more=""))
    (contact,) = contacts.found
    assert glued(prop, contact)
    rests = replace(prop, pieces=tuple(replace(p, rests_on=("floor",)) if p.id == "disc" else p for p in prop.pieces))
    assert not glued(rests, contact)
    loose = replace(prop, pieces=tuple(replace(p, glue="none") if p.id == "disc" else p for p in prop.pieces))
    assert not glued(loose, contact)


@pytest.mark.parametrize(("glue", "holds"), [("instant", True), ("none", False)])
def test_a_knob_is_glued_to_a_loose_lid_by_its_own_glue(tmp_path, glue, holds):
    lid = "  lid: {kind: disc, stock: foam, radius: 40, at: {normal: z}, glue: none, rests_on: [floor]}\n"
    knob = f"  knob: {{kind: disc, stock: foam, radius: 9, at: {{origin: [0, 0, 6], normal: z}}, lies_on: [lid], glue: {glue}}}\n"
    found = touching(tmp_path, FLOOR + lid + knob)
    assert {frozenset((c.a.part, c.b.part)): glued(found[0], c) for c in found[2].found} == {
        frozenset(("floor", "lid")): False,
        frozenset(("lid", "knob")): holds,
    }
    assert untrue_rests(found[0], found[1]) == [] == unheld(*found)
    with_knob = [{("floor", 1)}, {("lid", 1), ("knob", 1)}]
    alone = [{("floor", 1)}, {("lid", 1)}, {("knob", 1)}]
    assert [set(group) for group in glued_groups(found[0], found[2])] == (with_knob if holds else alone)


@pytest.mark.parametrize(
    ("lid", "post", "told"),
    [
        ("glue: none, rests_on: [floor]", "", True),
        ("rests_on: [floor]", "", False),  # the post is glued to it
        ("glue: none, rests_on: [floor]", "lies_on: [lid]", False),  # and here as well
        ("glue: none, rests_on: [floor]", "glue: none", False),  # as it says itself
        ("glue: none", "", False),
    ],
)
def test_what_stands_on_a_part_that_is_loose_by_two_words_is_told(tmp_path, lid, post, told):
    text = (
        FLOOR
        + f"  lid: {{kind: disc, stock: foam, radius: 40, at: {{normal: z}}, {lid}}}\n"
        + f"  post: {{kind: disc, stock: foam, radius: 9, at: {{origin: [0, 0, 6], normal: z}}, {post}}}\n"
    )
    prop, _, contacts = touching(tmp_path, text)
    assert [line.split(",")[0] for line in loosened_told(prop, contacts, glued_groups(prop, contacts))] == [
        "part lid says glue: none"
    ] * told


FIN = "  fin: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 20, height: 30, centre: [0, 15]}}}}, at: {{origin: [0, 0, 6], normal: x, up: z}}, {says}}}\n"
LOOSE_LID = "  lid: {kind: disc, stock: foam, radius: 40, at: {normal: z}, glue: none, rests_on: [floor]}\n"


def test_what_is_told_of_a_part_that_stands_on_a_loose_one_can_be_done(tmp_path):
    """An edge cannot lie on it: the two are named under joins."""
    found = touching(tmp_path, FLOOR + LOOSE_LID + FIN.format(says=""))
    (line,) = loosened_told(found[0], found[2], glued_groups(found[0], found[2]))
    assert line.endswith("leave glue: none out, or name the two under joins with their glue")
    (fault,) = faults(tmp_path, FLOOR + LOOSE_LID + FIN.format(says="lies_on: [lid]"))
    assert "or name the two under joins with their glue in place of lies_on, as lid says glue: none" in fault
    stated = FLOOR + LOOSE_LID + FIN.format(says="") + "joins: [{parts: [fin, lid], glue: contact}]\n"
    found = touching(tmp_path, stated)
    groups = glued_groups(found[0], found[2])
    assert {("lid", 1), ("fin", 1)} in groups and faults(tmp_path, stated) == []
    assert loosened_told(found[0], found[2], groups) == []


def test_a_loose_part_that_stands_on_its_edge_rests(tmp_path):
    (fault,) = faults(tmp_path, FLOOR + FIN.format(says="glue: none, lies_on: [floor]").replace("0, 6]", "0, 0]"))
    assert fault.endswith("or say rests_on in place of lies_on")
    assert faults(tmp_path, FLOOR + FIN.format(says="glue: none, rests_on: [floor]").replace("0, 6]", "0, 0]")) == []


@pytest.mark.parametrize("order", ["low high", "high low"])
def test_a_group_that_hangs_together_but_on_nothing(tmp_path, order):
    """Told with the one of the group that comes nearest to the rest, whichever comes first in the design."""
    heights = {"low": 30, "high": 36}
    group = "".join(disc(z=heights[name], more="").replace("disc:", f"{name}:", 1) for name in order.split())
    (fault,) = faults(tmp_path, FLOOR + disc() + group)
    assert fault == (
        f"nothing holds {order.replace(' ', ', ')} to the rest of the prop (low, copy 1): "
        f"the nearest, disc, copy 1, is 24.0 mm away{TO_HOLD_IT}"
    )


@pytest.mark.parametrize(("height", "hinged"), [(16, True), (8, False)])
def test_cloth_is_a_hinge_between_two_things_and_belongs_to_one_that_it_is_glued_to_alone(tmp_path, height, hinged):
    """A strip up the end of the floor, 10 mm thick, as far as the lid above it or short of that."""
    lid = (
        "  lid: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 100}}, "
        "at: {origin: [0, 0, 0], normal: z}, rests_on: [floor]}\n"
        f"  strip: {{kind: plate, stock: felt, outline: {{rectangle: {{width: 60, height: {height}}}}}, "
        f"at: {{origin: [50, 0, {-10 + height / 2}], normal: x, up: z}}, lies_on: [floor]}}\n"
        "  cover: {kind: disc, stock: felt, radius: 15, at: {origin: [0, 0, 10], normal: z}, lies_on: [lid]}\n"
    )
    prop, _, contacts = touching(tmp_path, FLOOR + lid)
    floor, lid, strip, cover = ((name, 1) for name in ("floor", "lid", "strip", "cover"))
    apart = [{floor}, {strip}] if hinged else [{floor, strip}]
    assert set(stiff_groups(prop, contacts)) == {*map(frozenset, apart), frozenset({lid, cover})}
    if hinged:  # by glue alone all is one
        assert set(glued_groups(prop, contacts)) == {frozenset({floor, lid, strip, cover})}


def test_left_and_right_may_stand_apart(tmp_path):
    text = (
        "  base: {kind: plate, stock: thick, outline: {rectangle: {width: 50, height: 50}}, mirror: y, "
        "at: {origin: [0, 100, -10], normal: z}}\n"
        "  top: {kind: disc, stock: foam, radius: 20, at: {origin: [0, 100, 0], normal: z}, mirror: y, "
        "lies_on: [base]}\n"
    )
    assert faults(tmp_path, text) == []


WALL = (
    "  wall: {kind: plate, stock: foam, outline: {polygon: {points: [[-60, 0], [60, 0], [60, 50], [-60, 50]]}}, "
    "at: {origin: [0, 20, 0], normal: -y}, tabs: [{into: floor, at: [-30, 0], length: 25}, {into: floor, at: [30, 0], "
    "length: 25}]}\n"
)


def test_what_is_left_of_an_edge_beside_its_tabs_joins_the_floor(tmp_path):
    prop, _, contacts = touching(tmp_path, FLOOR + WALL)
    body = joined(prop, contacts).piece("wall").body
    lengths = []
    for run in body.runs:
        ends = body.outline[np.array([run.start, run.stop]) % len(body.outline)]
        if run.joins == ("floor",) and np.abs(ends[:, 1]).max() < 1e-6:
            lengths.append(np.ptp(ends, axis=0).max())
    assert sum(lengths) == pytest.approx(120 - 2 * 25)


def test_an_edge_that_rests_joins_nothing(tmp_path):
    prop, _, contacts = touching(tmp_path, FLOOR + WALL)
    pieces = tuple(replace(p, rests_on=("floor",)) if p.id == "wall" else p for p in prop.pieces)
    body = joined(replace(prop, pieces=pieces), contacts).piece("wall").body
    assert not any(run.joins for run in body.runs)


def test_every_copy_counts_for_an_edge(tmp_path):
    """The second copy of an upright meets a part that the first does not."""
    shelf = (
        "  shelf: {kind: plate, stock: thick, outline: {rectangle: {width: 120, height: 200}}, "
        "at: {origin: [0, -60, 50], normal: z, up: y}}\n"
    )
    uprights = (
        "  rail: {kind: plate, stock: foam, outline: {polygon: {points: [[-40, 0], [40, 0], [40, 20], [-40, 20]]}}, "
        "at: {origin: [0, -20, 0], normal: -y}, repeat: {count: 2, step: [0, 0, 60]}}\n"
    )
    prop, _, contacts = touching(tmp_path, FLOOR + shelf + uprights)
    upright = joined(prop, contacts).piece("rail").body
    assert [run.joins for run in upright.runs if run.joins] == [("floor", "shelf")]


BOX = "  box: {kind: box, stock: foam, size: [100, 80, 60], at: {origin: [0, 0, 0], normal: z, up: x}}\n"


@pytest.mark.parametrize("key", ["lies_on: [box]", "rests_on: [box]"])
def test_one_plate_of_a_box_is_enough_to_lie_on_it(tmp_path, key):
    on_top = disc(z=60, more=key)
    assert faults(tmp_path, BOX + on_top) == []
    words = "lies on" if "lies" in key else "rests on"
    assert faults(tmp_path, BOX + disc(z=75, more=key))[0].startswith(
        f"part disc {words} box, but stands 15.0 mm off it"
    )


def test_two_that_meet_in_a_corner_only_are_not_told_of_a_gap_of_nothing(tmp_path):
    ledge = "  ledge: {kind: plate, stock: thick, outline: {rectangle: {width: 40, height: 100}}, LEDGE}\n"
    ledge = ledge.replace("LEDGE", "at: {origin: [100, 0, 0], normal: z}, rests_on: [floor]")  # beside it, at its top
    assert faults(tmp_path, FLOOR + ledge)[0] == (
        "part ledge rests on floor, but meets it with no more than an edge or a corner; move them so that a face of the one lies "
        "against a face of the other, or set it in by tabs"
    )


def test_a_box_lies_on_what_its_bottom_touches(tmp_path):
    box = BOX.replace("up: x}}", "up: x}, lies_on: [floor]}")
    assert faults(tmp_path, FLOOR + box) == []
    assert faults(tmp_path, FLOOR + box.replace("0], normal", "4], normal"))[0] == (
        "part box lies on floor, but stands 4.0 mm off it"
    )


LIDDED = """\
  box: {kind: box, stock: foam, size: [120, 100, 60], without: [top], at: {origin: [0, 0, 0], normal: z, up: x}}
  lid: {kind: plate, stock: foam, outline: {rectangle: {width: 100, height: 120}}, rests_on: [box],
    at: {origin: [0, 0, 60], normal: z, up: x}}
"""
RIM = (
    "  rim: {{kind: plate, stock: foam, outline: {{rectangle: {{width: {width}, height: {length}}}}}, MORE}}\n".replace(
        "MORE", "at: {{origin: [0, 0, 54], normal: z, up: x}}, lies_on: [lid]"
    )
)


@pytest.mark.parametrize("gap", [0.5, 0.0])
def test_a_rim_below_a_lid_that_is_lifted_off_fits_into_the_box_and_is_not_glued_there(tmp_path, gap):
    prop, made, contacts = touching(tmp_path, LIDDED + RIM.format(width=88 - 2 * gap, length=108 - 2 * gap))
    found = joined(prop, contacts)
    rim = [c for c in contacts.found if "rim" in (c.a.part, c.b.part)]
    walls = [c for c in rim if "lid" not in (c.a.part, c.b.part)]
    assert walls and not any(glued(found, c) for c in walls)
    assert all(glued(found, c) for c in rim if c not in walls)
    assert unheld(found, made, contacts) == []
    # what the wall is glued to stays so
    assert all(glued(found, c) for c in contacts.found if {c.a.part, c.b.part} == {"box_front_back", "box_bottom"})


def test_a_copy_that_touches_nothing_is_refused_where_the_others_touch_only_each_other(tmp_path):
    """Three discs on top of each other, and a fourth beside them."""
    pile = "repeat: {count: 3, step: [0, 0, 6]}"
    text = disc(more=pile)
    alone = "  far: {kind: disc, stock: foam, radius: 20, at: {origin: [0, 0, 300], normal: z}, lies_on: [disc]}\n"
    prop, made, contacts = touching(tmp_path, text + alone)
    stray = next(s for s in made if s.part == "far")
    fourth = replace(stray, part="disc", number=4)
    solids_now = [*(s for s in made if s.part == "disc"), fourth]
    (fault,) = unheld(prop, solids_now, contacts)
    assert fault.startswith("nothing holds part disc, copy 4: the nearest, disc, copy 3, is 282.0 mm away")


def test_two_piles_of_as_many_parts_stand_for_themselves_and_of_fewer_do_not(tmp_path):
    base = (
        "  base: {kind: plate, stock: thick, outline: {rectangle: {width: 50, height: 50}}, repeat: {count: 2, step: [300, 0, 0]}, "
        "at: {origin: [0, 0, -10], normal: z}}\n"
    )
    grid = "repeat: {grid: {counts: [2, 2], steps: [[300, 0, 0], [0, 0, 6]]}}, lies_on: [base]"
    piles = touching(tmp_path, base + disc(more=grid.replace("lies_on: [base]", "after: [base]")))
    assert unheld(*piles) == []
    assert apart_told(piles[0], piles[2]) == ["the prop is 2 things alike that nothing joins, each of base and 2 more"]
    three = "  disc: {kind: disc, stock: foam, radius: 20, at: {origin: [0, 0, 0], normal: z}, repeat: {count: 3, step: [0, 0, 6]}}\n"
    (fault,) = unheld(*touching(tmp_path, base + three))
    assert fault.startswith("nothing holds part base, copy 2")


DOOR = """\
  wall: {kind: plate, stock: foam, at: {normal: y, up: z},
    outline: {rectangle: {width: 200, height: 260}, minus: [{rectangle: {width: 100, height: 160}}]}}
  stop: {kind: plate, stock: foam, at: {normal: -y, up: z}, lies_on: [wall],
    outline: {rectangle: {width: 120, height: 180}, minus: [{rectangle: {width: 90, height: 150}}]}}
"""


def glue_of(found):
    """Whether each pair of parts is glued, all its contacts alike."""
    prop, contacts = joined(found[0], found[2]), found[2]
    pairs = {frozenset((c.a.part, c.b.part)): set() for c in contacts.found}
    for c in contacts.found:
        pairs[frozenset((c.a.part, c.b.part))].add(glued(prop, c))
    assert all(len(kinds) == 1 for kinds in pairs.values())
    return {tuple(sorted(pair)): kinds.pop() for pair, kinds in pairs.items()}


@pytest.mark.parametrize("gap", [0.3, 0.7])
def test_a_door_on_its_stop_is_not_glued_into_the_gap_around_it_and_its_pane_is_glued_to_it(tmp_path, gap):
    """Whoever glued the gap would shut the door for good; joinery leaves it as clearance."""
    door = (
        f"  door: {{kind: plate, stock: foam, at: {{normal: y, up: z}}, rests_on: [stop], "
        f"outline: {{rectangle: {{width: {100 - 2 * gap}, height: {160 - 2 * gap}}}}}}}\n"
        "  pane: {kind: disc, stock: foam, radius: 20, at: {origin: [0, 6, 0], normal: y}}\n"
    )
    assert glue_of(touching(tmp_path, DOOR + door)) == {
        ("stop", "wall"): True,
        ("door", "wall"): False,
        ("door", "stop"): False,
        ("door", "pane"): True,
    }


@pytest.mark.parametrize(("own", "stated", "holds"), [("none", "instant", True), ("contact", "none", False)])
def test_what_a_design_says_of_a_pair_holds_for_that_pair(tmp_path, own, stated, holds):
    text = (
        FLOOR
        + disc(more=f"lies_on: [floor], glue: {own}")
        + "joins:\n  - {parts: [floor, disc], glue: "
        + stated
        + "}\n"
    )
    found = touching(tmp_path, text)
    assert glue_of(found) == {("disc", "floor"): holds}
    assert [lap.glue for lap in found[0].laps] == [stated]


@pytest.mark.parametrize(("bore", "holds"), [(3.0, True), (3.5, False)])
def test_a_bar_that_is_glued_elsewhere_hangs_free_in_a_wider_hole(tmp_path, bore, holds):
    text = (
        "  guide: {kind: plate, stock: thick, at: {normal: z}, outline: {rectangle: {width: 80, height: 60}, "
        f"minus: [{{circle: {{radius: {bore}}}}}]}}}}\n"
        "  post: {kind: plate, stock: foam, at: {origin: [0, 40, 0], normal: y, up: z}, "
        "outline: {rectangle: {width: 80, height: 80, centre: [0, 40]}}}\n"
        "  arm: {kind: plate, stock: thick, at: {origin: [0, 10, 60], normal: z, up: y}, "
        "outline: {rectangle: {width: 30, height: 60}}, after: [post]}\n"
        "  bar: {kind: rod, stock: foam, made: bought, from: [0, 0, -20], to: [0, 0, 60]}\n"
    )
    found = glue_of(touching(tmp_path, text))
    assert found["arm", "bar"] is True
    assert found["bar", "guide"] is holds


def test_a_stack_is_joined_by_the_round_that_touches(tmp_path):
    knob = "  knob: {kind: stack, stock: foam, rounds: [{radius: 5}, {radius: 9}], at: {normal: z}}\n"
    assert faults(tmp_path, FLOOR + knob + "joins:\n  - {parts: [knob, floor]}\n") == []
    high = knob.replace("at: {normal: z}", "at: {origin: [0, 0, 4], normal: z}")
    assert faults(tmp_path, FLOOR + high + "joins:\n  - {parts: [knob, floor]}\n")[0] == (
        "part knob joins floor, but stands 4.0 mm off it"
    )


def test_a_frame_is_held_by_the_axle_that_lies_in_it_though_the_wheels_are_of_more_pieces(tmp_path):
    bar = "outline: {rectangle: {width: 60, height: 40}}, minus: [{circle: {radius: 3.2}}]"
    ring = "kind: ring, stock: foam, inner_radius: 3, mirror: y"
    text = (
        "  deck: {kind: plate, stock: foam, outline: {rectangle: {width: 60, height: 66}}, at: {origin: [0, 0, 20], normal: z}}\n"
        f"  bar: {{kind: plate, stock: foam, {bar}, at: {{origin: [0, 26, 0], normal: y, up: z}}, mirror: y, after: [deck]}}\n"
        "  axle: {kind: rod, stock: foam, from: [0, -70, 0], to: [0, 70, 0], rests_on: [bar]}\n"
        f"  wheel: {{{ring}, outer_radius: 30, at: {{origin: [0, 46, 0], normal: y}}, after: [axle]}}\n"
        f"  collar: {{{ring}, outer_radius: 8, at: {{origin: [0, 40, 0], normal: y}}, lies_on: [wheel]}}\n"
    )
    assert faults(tmp_path, text) == []


TABLE = (
    "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 200}}, "
    "at: {origin: [0, 0, -10], normal: z}}\n"
    "  wall: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 80, centre: [0, 40]}}, "
    "at: {origin: [0, 80, 0], normal: y, up: z}, mirror: y}\n"
    "  top: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 200}}, "
    "minus: [{circle: {radius: 20.3, centre: [0, 0]}}], at: {origin: [0, 0, 80], normal: z, up: y}}\n"
    "  step: {kind: plate, stock: thick, outline: {rectangle: {width: 50, height: 50}}, "
    "at: {origin: [X, 0, Z], normal: z}, mirror: x}\n"
    "  post: {kind: disc, stock: foam, layers: 20, radius: 20, at: {origin: [X, 0, Z + 10], normal: z}, "
    "rests_on: [step], GLUE mirror: x}\n"
)


@pytest.mark.parametrize("glue", ["", "glue: none,"])
def test_what_rests_on_a_part_does_not_hold_it(tmp_path, glue):
    """Two steps in the air below the hole of a table, each with a post on it; and with the steps on the floor."""
    table = TABLE.replace("GLUE", glue).replace(
        "centre: [0, 0]}}]", "centre: [60, 0]}}, {circle: {radius: 20.3, centre: [-60, 0]}}]"
    )
    prop, made, contacts = touching(tmp_path, table.replace("X", "60").replace("Z", "15"))
    found = unheld(joined(prop, contacts), made, contacts)
    assert found == [
        f"nothing holds part step, copy {number}: only what rests on it touches it (post); the nearest, floor, copy 1, is 15.0 "
        f"mm away{TO_HOLD_IT}"
        for number in (1, 2)
    ]
    prop, made, contacts = touching(tmp_path, table.replace("X", "60").replace("Z", "0"))
    assert unheld(joined(prop, contacts), made, contacts) == []


def test_what_a_thing_rests_on_stands_on_the_ground(tmp_path):
    """A stand below a table that rests on it: the stand has nothing but the ground. A pile that rests on a pile likewise."""
    table = TABLE[: TABLE.index("  step")]
    stand = "  stand: {kind: disc, stock: thick, radius: 40, at: {origin: [0, 0, -20], normal: z}}\n"
    rests = table.replace(
        "at: {origin: [0, 0, -10], normal: z}}", "at: {origin: [0, 0, -10], normal: z}, rests_on: [stand]}"
    )
    prop, made, contacts = touching(tmp_path, rests + stand)
    assert unheld(joined(prop, contacts), made, contacts) == []


CRATE = (
    FLOOR
    + """\
  post: {kind: plate, stock: foam, outline: {rectangle: {width: 40, height: 90, centre: [0, 45]}}, at: {normal: x, up: z}}
  crate: {kind: plate, stock: foam, outline: {rectangle: {width: 30, height: 20, centre: [0, 10]}},
    at: {origin: [GAP, 0, 0], normal: x, up: z}, rests_on: [floor]}
"""
)


@pytest.mark.parametrize("gap", [0.3, 0.0])
def test_what_is_only_set_down_beside_a_part_has_nothing_to_do_with_it(tmp_path, gap):
    """It rests where the design says, and a side that comes near another part is no place to rest on."""
    prop, _, contacts = touching(tmp_path, CRATE.replace("GAP", str(6 + gap)))
    prop = joined(prop, contacts)
    pairs = {frozenset((c.a.part, c.b.part)) for c in contacts.found}
    assert {frozenset(("post", "crate")), frozenset(("floor", "crate"))} <= pairs
    assert prop.piece("crate").rests_on == ("floor",)
    left = {frozenset((c.a.part, c.b.part)) for c in met(prop, contacts).found}
    assert pairs - left == {frozenset(("post", "crate"))}


@pytest.mark.parametrize("gap", [0.3, 0.9])
def test_what_stands_on_a_lid_is_glued_to_nothing_across_a_gap(tmp_path, gap):
    """An arm below a lid over a shelf on the box: whoever filled the gap with glue would glue the lid to its box."""
    high = 34 - gap
    more = (
        "  shelf: {kind: plate, stock: foam, outline: {rectangle: {width: 60, height: 40, centre: [0, 20]}}, "
        "at: {origin: [60, 0, 20], normal: z, up: x}}\n"
        f"  arm: {{kind: plate, stock: foam, outline: {{rectangle: {{width: 20, height: {high}, centre: [0, {-high / 2}]}}}}, "
        "at: {origin: [75, 0, 60], normal: x, up: z}}\n"
    )
    lid = LIDDED.replace("width: 100, height: 120}", "width: 100, height: 170, centre: [0, 15]}")
    prop, _, contacts = touching(tmp_path, lid + more)
    found = joined(prop, contacts)
    by = {frozenset((c.a.part, c.b.part)): glued(found, c) for c in contacts.found}
    assert by[frozenset(("arm", "shelf"))] is False
    assert by[frozenset(("arm", "lid"))] is True
    assert [glue for pair, glue in by.items() if "shelf" in pair and "arm" not in pair] == [True]

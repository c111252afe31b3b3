"""What a design says of parts that touch, and what a first look and a build say of it."""

import pytest

from foamwright.contacts.checks import refuse_untrue
from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of
from foamwright.contacts.solids import solids
from foamwright.design import load
from foamwright.errors import BuildError
from foamwright.look.build import first_look
from foamwright.look.report import report, sentences
from foamwright.model.build import build_model
from foamwright.parts.attempt import attempt
from foamwright.parts.build import build_prop

TUB = """
format: 1
name: Tub
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {value: 1}
  clearance: {value: 0.4 mm}
sizes: {one: {}}
stock:
  foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
  board: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
forms:
  tub:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 100 * scale], [100, 60 * scale]]
    cuts:
      foot: {plane: {normal: z, at: 10}}
      head: {plane: {normal: z, at: 90}}
      half: {plane: {normal: y}}
      port: {prism: {outline: {circle: {radius: 25, centre: [0, 50]}}, along: y, above: 0}}
parts:
  wall:
    kind: panel
    stock: foam
    form: tub
    where: {foot: beyond, head: before, half: beyond, port: outside}
    flush: [foot, head]
    mirror: y
  lip:
    kind: band
    stock: foam
    along: {opening: {form: tub, cut: port}}
    laid: inside
    proud: PROUD
    depth: 2
    mirror: y
  floor: {kind: disc, stock: board, radius: 40, at: {origin: [0, 0, 10], normal: z}, SAYS}
  plinth: {kind: disc, stock: STOCK, radius: 100, at: {origin: [0, 0, 10], normal: -z}}
  lid: {kind: disc, stock: STOCK, radius: 30, at: {origin: [0, 110, 50], normal: y}, rests_on: [lip], PADDING mirror: y}
"""


def told(tmp_path, text, **changes):
    """What a first look and a build say."""
    path = tmp_path / "tub.yaml"
    path.write_text(text)
    design = load(path, None, changes)
    look = first_look(attempt(design))
    prop = build_prop(design)
    named = solids(build_model(prop))
    try:
        refuse_untrue(prop, named, find_contacts(named, clearance_of(design)))
    except BuildError as error:
        return look, str(error)
    return look, ""


def tub(proud="13.5", says="glue: contact", stock="foam", padding=""):
    """The lip's upper edge is `proud` less 13.5 mm off the lids where it is right: the wall leans."""
    text = TUB.replace("PROUD", proud).replace("SAYS", says).replace("STOCK", stock)
    return text.replace("PADDING", f"padding: {padding}," if padding else "")


@pytest.mark.parametrize("stock", ["foam", "board"])
def test_a_lid_that_does_not_reach_its_lip_is_told_by_both_with_what_sets_its_edge(tmp_path, stock):
    look, refused = told(tmp_path, tub("11.5", stock=stock))
    says = "part lid rests on lip, but stands 2.0 mm off it; lip ends where its proud says (11.5 mm)"
    assert [each.told for each in look.untrue] == [says] and says in refused
    assert not look.buildable
    assert f"  not as declared: {says}" in sentences(report(look, ""))


def test_a_lid_that_reaches_its_lip_is_no_fault(tmp_path):
    for proud, padding in (("13.5", ""), ("11.5", "2 mm")):
        look, refused = told(tmp_path, tub(proud, padding=padding))
        assert (look.untrue, look.buildable, refused) == ((), True, "")


@pytest.mark.parametrize(
    ("says", "word"), [("lies_on: [lid]", "lies on lid"), ("rests_on: [lid]", "rests on lid"), ("lies_on: [wall]", "")]
)
def test_what_lies_and_rests_elsewhere_is_told_by_both(tmp_path, says, word):
    """The disc in the middle of the floor is 60 mm off the lid, and 60 off the wall where that is widest."""
    look, refused = told(tmp_path, tub(says=says))
    (each,) = look.untrue
    assert each.part == "floor" and each.gap > 20.0
    assert f"part floor {word}" in each.told and each.told in refused


def test_of_two_parts_that_join_and_of_copies_each_is_asked(tmp_path):
    look, refused = told(tmp_path, tub() + "joins: [{parts: [floor, lip]}]\n")
    (each,) = look.untrue
    assert each.told.startswith("part floor joins lip, but stands ") and each.told in refused
    studs = tub() + (
        "  stud: {kind: disc, stock: foam, radius: 5, at: {origin: [0, 0, 20], normal: z}, lies_on: [floor],"
        " repeat: {count: 3, step: [18, 0, 4]}}\n"
    )
    look, refused = told(tmp_path, studs)
    (each,) = look.untrue
    assert each.told == "part stud, copy 2, touches none of those that it lies on: the nearest, floor, is 4.0 mm away"
    assert "stud" in refused


@pytest.mark.parametrize(
    "fin",
    [
        "plate, stock: foam, outline: {rectangle: {width: 20, height: 30}}, at: {origin: [0, 0, 35], normal: x, up: z}",
        "band, stock: foam, along: {outline: {circle: {radius: 20}}, at: {origin: [0, 0, 20], normal: z}}, from: 0, to: 10",
    ],
)
def test_what_lies_on_another_with_its_edge_only_is_told_by_both(tmp_path, fin):
    look, refused = told(tmp_path, tub() + f"  fin: {{kind: {fin}, lies_on: [floor]}}\n")
    (each,) = look.untrue
    assert each.told.startswith("part fin lies on floor, but touches it with its edge only; ") and each.told in refused


def test_what_lies_on_another_with_a_face_is_no_fault(tmp_path):
    flat = "  pad: {kind: disc, stock: foam, radius: 10, at: {origin: [0, 0, 20], normal: z}, lies_on: [floor]}\n"
    hung = (
        flat.replace("pad", "tag").replace("0, 0, 20], normal: z", "20, 0, 10], normal: -z").replace("floor", "plinth")
    )
    under = hung.replace("20, 0, 10], normal: -z", "20, 0, 4], normal: -z")
    look, refused = told(tmp_path, tub() + flat + under)
    assert (look.untrue, refused) == ((), "")


def test_parts_that_are_meant_to_share_space_do_not_lie_on_each_other(tmp_path):
    shared = tub(says="lies_on: [plinth]").replace("normal: z}, lies_on", "normal: -z}, lies_on")
    look, refused = told(tmp_path, shared + "overlaps: [[floor, plinth]]\n")
    (untrue,) = look.untrue
    assert "part floor lies on plinth, but shares space with it" in untrue.told
    assert "shares space" in refused


def test_copies_of_what_is_put_onto_a_form_are_put_onto_it_each(tmp_path):
    """At 45 mm of height its outer face is about 82 + 6 mm off the axis; the copies would go outwards from there by 9 mm each."""
    knob = tub() + (
        "  knob: {kind: disc, stock: foam, radius: 5, lies_on: [wall], repeat: {count: 2, step: [9, 12, 0]},"
        " at: {origin: [120, 0, 45], normal: x, onto: {form: tub, offset: 6, turned: true}}}\n"
    )
    look, refused = told(tmp_path, knob)
    assert (look.untrue, refused) == ((), "")

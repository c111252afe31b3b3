"""Several joints in one step: the order in which pieces are joined, which is which, and what shows that it came out.

A plinth of 5 mitred plates with a sign on its front, and a drum in two halves that a floor closes; sizes are our own.
"""

import re
from dataclasses import replace
from math import hypot
from types import SimpleNamespace

import numpy as np
import pytest
from small_designs import head

from foamwright.assembly import directions, which_copy
from foamwright.assembly.records import Joint
from foamwright.booklet.words import glue_up
from foamwright.booklet.words.checks import about
from foamwright.design import load
from foamwright.making import Request, Stages
from foamwright.parts.records import PanelBody
from foamwright.templates.wording import seam_numbers

DESIGN = (
    head("Two towers", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
forms:
  wall:
    kind: revolution
    axis: z
    smooth: false
    origin: [0, 0, 40]
    profile: [[-10, 60], [0, 60], [80, 60], [90, 60]]
    cuts:
      middle: {plane: {normal: y}}
      foot: {plane: {normal: z, at: 40}}
      top: {plane: {normal: z, at: 120}}
parts:
  plinth:
    kind: box
    stock: shell
    size: [200 mm * scale, 160 mm * scale, 40 mm * scale]
    joint: mitred
    without: [bottom]
    at: {origin: [0, 0, 0], normal: z, up: x}
  drum:
    kind: panel
    stock: shell
    form: wall
    laid: outside
    where: {middle: beyond, foot: beyond, top: before}
    flush: [foot, top]
    mirror: y
    after: [plinth]
  sign:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 60, height: 20}}
    at: {origin: [100, 0, 20], normal: x, up: z}
    after: [plinth]
steps:
  - {title: Plinth, parts: [plinth]}
"""
)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    path = tmp_path_factory.mktemp("towers") / "two-towers.yaml"
    path.write_text(DESIGN, encoding="utf-8")
    stages = Stages(Request(load(path, None)))
    return {key: stages.record(key) for key in ("prop", "bodies", "steps", "patterns")}


def step(made, title):
    return next(s for s in made["steps"] if s.title == title)


def joinings(step):
    """(piece, others, seams) of each sentence that joins a piece, with the others that each seam leads to."""
    found = [re.match(r"(?:\d+\) )?(?:Last, j|J)oin (.*?) (to [^.]*)\.", s) for s in step.instructions]
    return [
        (match[1], re.sub(r" \(seams?[^)]*\)", "", match[2]), " ".join(re.findall(r"\(seams? [^)]*\)", match[2])))
        for match in found
        if match and "(seam" in match[2]
    ]


def test_a_plinth_grows_round_and_the_last_side_closes_it(made):
    plinth = step(made, "Plinth")
    told = joinings(plinth)
    assert len(told) == 4  # the top lies there, four walls are joined to it
    in_place = {"the top (A)"}
    text = "\n".join(plinth.instructions)
    assert "the drawn face up; the prop is upside down for now" in text  # its walls hang below the top
    closed = []
    for piece, others, seams in told:
        met = re.findall(r"the top \(A\)|(?:end|side) [BC] \d", others)
        assert met and in_place.issuperset(met) and piece not in in_place
        in_place.add(piece)
        closed.append(len(re.findall(r"\d+[,:] ", seams)))
    assert in_place == {"the top (A)", "end B 1", "end B 2", "side C 1", "side C 2"}
    assert closed == [1, 2, 2, 3]  # 4 edges of the top and 4 corners; the last closes two corners at once


def test_the_seams_told_are_those_that_the_solids_share(made):
    """At the front corner on the left, where x and y are largest, meet the front end and the left side: by their places and
    not by the contacts that the sentences come from."""
    bodies = made["bodies"]
    part = {name: next(p.id for p in bodies.pieces if p.label == name) for name in "ABC"}
    middle = {
        f"{name} {n}": bodies.spheres[copy, :3]
        for name in "BC"
        for n, copy in enumerate(bodies.of(part[name]), start=1)
    }
    front = max(("B 1", "B 2"), key=lambda name: middle[name][0])
    left = max(("C 1", "C 2"), key=lambda name: middle[name][1])
    cut = made["steps"][0].instructions
    numbers = {name: next(line for line in cut if line.startswith(f"{name}: 1")) for name in "BC"}
    assert f"{front[2:]} at the front (seam" in numbers["B"] and f"{left[2:]} on the left (seam" in numbers["C"]
    # the seam that the numbers tell is the one that its sentence joins it along
    plinth = step(made, "Plinth").instructions
    told = re.search(rf"{front[2:]} at the front \(seam (\d+)\)", numbers["B"])[1]
    assert any(f"end {front} to the top (A) (seam {told}, " in line for line in plinth)
    # the sign stands on the front end alone, and its sentence names it
    sign = next(s for s in made["steps"] if "sign" in s.places)
    assert any(f"end {front}" in line for line in sign.instructions)


def test_a_square_glue_up_is_checked_by_its_diagonals(made):
    line = next(line for line in step(made, "Plinth").instructions if line.startswith("Check"))
    assert "200 x 160 x 40 mm" in line and f"{hypot(200, 160):.0f} mm each" in line


def test_a_round_is_checked_across_and_set_down_as_one(made):
    """6 mm foam is laid outside a form of radius 60: 2 x 66 mm across. The halves share two seams, 80 mm high."""
    drum = next(s for s in made["steps"] if "drum" in s.places)
    assert any("132 mm" in line and "whichever way you measure" in line for line in drum.instructions)
    ((piece, other, seams),) = joinings(drum)
    assert (piece, other) == ("the right drum (D)", "to the left drum (D)")
    assert seams.count("80 mm") == 2
    text = list(drum.instructions)
    closed = next(i for i, line in enumerate(text) if "Join the right drum" in line)
    down = next(i for i, line in enumerate(text) if "set it all down as one" in line)
    assert closed < down
    (number,) = re.findall(r"Seam (\d+) comes at the front\.", text[down])  # the arrows are inside by then
    ((part, edge), *_) = next(key for key, n in seam_numbers(made["patterns"]).items() if n == int(number))
    piece = next(piece for piece in made["prop"].pieces if piece.id == part)
    assert next(one for one in piece.body.edges if one.id == edge).outer[:, 0].mean() > 60.0


def test_foam_is_left_beyond_a_mitre_as_far_as_the_far_face_reaches(made):
    """45 degrees through 6 mm: 6 x tan 45 = 6 mm beyond the cut line."""
    assert any("leave 6 mm of foam beyond the cut line" in line for line in made["steps"][0].instructions)


def test_what_is_bent_cools_bent_and_over_a_former_of_its_size(made):
    """The drum's hollow face is the form itself, 2 x 60 mm across."""
    heat = next(s for s in made["steps"] if "cools bent" in " ".join(s.instructions))
    assert any(line.startswith("D over something round, 120 mm across or a little less") for line in heat.instructions)
    drum = next(s for s in made["steps"] if "drum" in s.places)
    assert any(f"You have bent the 2 drums (D) in step {heat.number}." in line for line in drum.instructions)
    widths = [line for step in made["steps"] for line in step.instructions if "mm across or a little less" in line]
    assert widths and set(widths) <= set(heat.instructions)  # told once


def test_the_face_that_is_drawn_on_is_told_by_what_it_lies_on(made):
    """The sign lies on the front, and is drawn on its inside."""
    sign = next(s for s in made["steps"] if "sign" in s.places)
    assert any("The drawn face of E goes against B" in line for line in sign.instructions)


def test_places_have_words_only_where_the_words_tell_them_apart(made):
    bodies = made["bodies"]
    ends = next(p for p in bodies.pieces if p.name.endswith("end"))
    assert which_copy.places(bodies, ends.id) == ("at the front", "at the back")
    heap = replace(bodies, pieces=tuple(ends for _ in bodies.pieces))  # seven alike about one middle: no words for them
    assert which_copy.places(heap, ends.id) == ()


@pytest.mark.parametrize(
    "turn, words",
    [
        (0, "at the front"),
        (90, "on the left"),
        (180, "at the back"),
        (-90, "on the right"),
        (44, "at the front on the left"),
    ],
)
def test_words_around_the_prop(turn, words):
    angle = np.radians(turn)
    assert directions.around((np.cos(angle), np.sin(angle), 0.0)) == words


def test_a_check_says_what_it_may_be_off():
    # common practice, no source: a hundredth, and 2 mm at least
    assert about(36.0) == "36 mm (± 2 mm)"
    assert about(430.0) == "430 mm (± 5 mm)"
    assert about(2.0) == "2 mm (± 1 mm)"  # 2 mm more or less would tell nothing


def hull(seams, kinds):
    """A step that joins pairs (left, right) of bent pieces: `seams` are (piece, piece, mm), `kinds` the heights of the parts by
    letter; a piece is its letter with L or R."""
    copies = [f"{letter}{hand}" for letter in kinds for hand in "LR"]
    pieces = [
        SimpleNamespace(id=copy[0], label=copy[0], is_pair=True, lies_on=(), body=object.__new__(PanelBody))
        for copy in copies
    ]
    touches, numbers, joints = {}, {}, []
    for number, (one, other, size) in enumerate(seams, start=1):
        edges = (one[0], f"e{number}"), (other[0], f"e{number}")
        numbers[frozenset(edges)] = number
        joints.append(Joint("seam", (one[0], other[0]), size, 0.0, 1, "contact", (edges[0][1], edges[1][1])))
        for hands in ({one[1], other[1]},) if one[0] == other[0] else ({"L"}, {"R"}):
            a, b = one[0] + min(hands), other[0] + max(hands)
            for here, there, own, beside in ((a, b, *edges), (b, a, *edges[::-1])):
                touch = touches.setdefault((copies.index(here), copies.index(there)), SimpleNamespace(edges=[]))
                touch.edges.append((own[1], beside[1]))
    bodies = SimpleNamespace(
        pieces=pieces, touches=touches, spheres=np.array([[0.0, 0.0, kinds[copy[0]], 1.0] for copy in copies])
    )
    told = SimpleNamespace(
        bodies=bodies,
        every={piece.id: piece for piece in pieces},
        seams=joints,
        whole_seams=[],
        seam_numbers=numbers,
        drawn={},
    )
    return [copies[joining.copy] for joining in glue_up.sequence(told, joints, range(len(copies)), ())]


def test_a_hull_grows_up_from_its_keel_and_hangs_on_no_short_seam():
    """A boat of top strakes A, middle strakes B and bottoms D: B meets its mirror image at the stem alone, for 6 mm."""
    seams = [("BL", "BR", 6.0), ("AL", "BL", 484.0), ("BL", "DL", 470.0), ("DL", "DR", 460.0), ("AL", "AR", 30.0)]
    order = hull(seams, {"B": 60.0, "A": 90.0, "D": 20.0})
    assert order[:2] == ["DL", "DR"]
    assert order.index("BR") > order.index("DR")
    assert {order[0], order[1]} == {"DL", "DR"} and {*order} == {"AL", "AR", "BL", "BR", "DL", "DR"}


def test_a_piece_waits_for_one_that_holds_it_by_more_than_a_short_seam():
    """Begun with a strake, the far one would dangle from it at the stem."""
    order = hull([("BL", "BR", 6.0), ("BL", "DL", 470.0), ("DL", "DR", 460.0)], {"B": 10.0, "D": 20.0})
    assert order == ["BL", "DL", "DR", "BR"]

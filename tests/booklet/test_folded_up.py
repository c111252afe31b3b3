"""A ring of flat walls is taped side by side, folded up, and set down when it is one. A tapering shaft of four mitred walls on a
plate, the front and the back of their own and a mirrored pair between them; sizes are our own."""

import re
from types import SimpleNamespace

import numpy as np
import pytest
from small_designs import head

from foamwright.booklet.words import folded_up, in_turn
from foamwright.booklet.words.glue_up import Joining
from foamwright.design import load
from foamwright.making import Request, Stages
from foamwright.parts.records import FlatBody

DESIGN = (
    head("Shaft", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}
forms:
  shaft:
    kind: mesh
    file: shaft.obj
    scale: scale
    cuts:
      foot: {plane: {normal: z}}
      head: {plane: {normal: z, at: 200}}
      right: {plane: {normal: [1, 1, 0]}}
      left: {plane: {normal: [1, -1, 0]}}
parts:
  base: {kind: plate, stock: shell, outline: {rectangle: {width: 200, height: 200}}, at: {origin: [0, 0, -6], normal: z}}
  front: {kind: panel, stock: shell, form: shaft, laid: inside, where: {foot: beyond, head: before, right: beyond, left: beyond}, flush: [foot, head]}
  back: {kind: panel, stock: shell, form: shaft, laid: inside, where: {foot: beyond, head: before, right: before, left: before}, flush: [foot, head]}
  side: {kind: panel, stock: shell, form: shaft, laid: inside, where: {foot: beyond, head: before, right: beyond, left: before}, flush: [foot, head], mirror: y}
"""
)
CORNERS = [(1, 1), (-1, 1), (-1, -1), (1, -1)]


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """The step that joins the walls."""
    folder = tmp_path_factory.mktemp("shaft")
    vertices = [(70 * x, 70 * y, -10) for x, y in CORNERS] + [(50 * x, 50 * y, 220) for x, y in CORNERS]
    faces = [(4, 3, 2), (4, 2, 1), (5, 6, 7), (5, 7, 8)]
    for n in range(4):
        low, next_low = n + 1, (n + 1) % 4 + 1
        faces += [(low, next_low, next_low + 4), (low, next_low + 4, low + 4)]
    text = [f"v {x} {y} {z}" for x, y, z in vertices] + [f"f {a} {b} {c}" for a, b, c in faces]
    (folder / "shaft.obj").write_text("\n".join(text) + "\n", encoding="ascii")
    (folder / "shaft.yaml").write_text(DESIGN, encoding="utf-8")
    steps = Stages(Request(load(folder / "shaft.yaml", None))).record("steps")
    return next(s for s in steps if "side" in s.places)


def test_walls_lie_side_by_side_as_they_follow_each_other_round(told):
    """Seen from outside the front, the left of the prop is on the right."""
    row = next(line for line in told.instructions if line.startswith("Lay the pieces side by side"))
    assert "the outside up and their upper edges away from you, from left to right" in row
    assert re.findall(r"the (?:left |right )?(front|side|back) \(", row) == ["front", "side", "back", "side"]
    assert row.index("left side") < row.index("the back") < row.index("right side")
    assert len(set(re.findall(r"seam (\d+)", row))) >= 2 and row.count("(seam ") == 3


def test_a_ring_is_set_down_when_it_is_closed_and_nothing_else_is_told_of_its_joints(told):
    text = "\n".join(told.instructions)
    assert text.index("last close the ring (seam") < text.index("set it all down as one")
    assert (
        "Bring the inner edges together first" not in text and "Join " not in text
    )  # its tape holds the outer ones together
    assert "Coat piece by piece" not in text
    assert told.rounds == 2  # its joints, then its feet
    assert not any("baking paper" in use or use == "slip-paper" for use in told.uses)


def ring_of(normals, middles, pairs):
    """What `folded_up.ring` makes of plates in the plane with these faces, middles and joints, in the order of their numbers."""
    pieces, matrices = [], []
    for normal, middle in zip(normals, middles, strict=True):
        turn = np.eye(4)
        x, y = normal
        turn[:3, :3] = np.column_stack([(0, 0, 1), (-y, x, 0), (x, y, 0)])
        turn[:3, 3] = (*middle, 0)
        body = object.__new__(FlatBody)
        object.__setattr__(body, "frame", SimpleNamespace(axes=np.eye(3)))
        pieces.append(SimpleNamespace(body=body))
        matrices.append(turn)
    bodies = SimpleNamespace(pieces=pieces, matrices=matrices, spheres=np.array([[*m, 0.0, 1.0] for m in middles]))
    order = [
        Joining(copy, tuple((other, (number,)) for number, (one, other) in enumerate(pairs) if one == copy))
        for copy in range(len(pieces))
    ]
    return [joining.copy for joining in folded_up.ring(SimpleNamespace(bodies=bodies), order)]


SQUARE = [(1, 0), (0, 1), (-1, 0), (0, -1)]


def test_what_is_no_ring_is_not_folded_up():
    assert ring_of(SQUARE, SQUARE, [(1, 0), (2, 1), (3, 2), (3, 0)]) == [0, 1, 2, 3]
    assert ring_of(SQUARE, SQUARE, [(1, 0), (2, 1), (3, 2)]) == []  # open
    assert ring_of(SQUARE, SQUARE, [(1, 0), (2, 1), (2, 0), (3, 2), (3, 0)]) == []  # one is joined to three
    corner = [(1, 0), (0, 1), (1, 0), (0, 1), (-1, 0), (0, -1)]  # an L has a hollow corner
    places = [(2, -1), (1.5, 0), (1, 1), (0, 2), (-2, 0), (0, -2)]
    assert ring_of(corner, places, [(1, 0), (2, 1), (3, 2), (4, 3), (5, 4), (5, 0)]) == []


def test_what_nobody_joins_is_set_on_nothing():
    assert in_turn.set_on_last(SimpleNamespace(), ()) == []

"""The line on bent foam for a flat part that lies on it, and where the outline of that part comes down along the foam's normals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from foamwright.proof.bench.foam import Copy, Mark
from foamwright.proof.bench.footings import Footing
from foamwright.proof.bench.mesh import sheet_of
from foamwright.proof.bench.pieces import Placed, as_cut, plain_sheet
from foamwright.proof.bench.resting import outline_off
from foamwright.proof.bench.rigid import Motion
from tests.proof.test_both_faces import part_of

RADIUS, HALF = 200.0, 20.0  # of the middle of foam of 6 mm; of the breadth of a plate of 60 x 40 mm
STRIP = np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 100.0], [0.0, 100.0]])
PLATE = np.array([[-HALF, 20.0], [HALF, 20.0], [HALF, 80.0], [-HALF, 80.0]])
TOP = RADIUS * np.pi / 4  # where the plate lies, along the strip


@pytest.fixture(scope="module")
def lying():
    """A strip rolled about the z axis, and the plate on its outside with the middle 0.5 mm above it."""
    strip, plate = part_of(STRIP, STRIP, 6.0, True), part_of(PLATE, PLATE, 4.0, False)
    sheet = sheet_of(strip, 5.0)
    angle = sheet.flat[:, 0] / RADIUS
    out = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(len(angle))])
    points = RADIUS * out + np.column_stack([np.zeros((len(angle), 2)), sheet.flat[:, 1]])
    lower = Placed(strip, False, sheet, points)
    if float((lower.normals * out).sum()) > 0.0:  # its drawn face is the inside
        lower = Placed(strip, True, sheet, points)
    way = np.array([np.cos(TOP / RADIUS), np.sin(TOP / RADIUS), 0.0])
    along = np.array([-way[1], way[0], 0.0])
    upper = as_cut(replace(plate, id="plate"), False, plain_sheet(plate))
    turn = np.column_stack([along, (0.0, 0.0, 1.0), way])
    foot = upper.place(np.zeros((1, 2)), np.zeros(1))[0]  # its drawn face looks down
    turn = turn if (turn @ upper.up(PLATE[:1])[0]) @ way < 0.0 else np.column_stack([-along, (0.0, 0.0, 1.0), -way])
    upper = upper.moved(Motion(turn, (RADIUS + 3.5) * way - turn @ foot))
    return lower, upper


def comes_down(x):
    """Where points of the plate at `x` from its middle come down: the foot of a ray to the axis, on the foam's middle."""
    return TOP + RADIUS * np.arctan2(x, RADIUS + 3.5)


def footing(lines):
    mark = Mark("plate", False, ((1, 1),), tuple(np.array(line) for line in lines))
    return Footing(Copy("p", 1), Copy("plate", 1), mark, ("inside",), 0.8)


@pytest.mark.parametrize("aside", [0.0, 6.0])
def test_a_line_is_as_far_off_as_it_was_moved(lying, aside):
    sides = [[[comes_down(x) + aside, 25.0], [comes_down(x) + aside, 75.0]] for x in (-HALF, HALF)]
    (found,) = outline_off(footing(sides), *lying)
    assert found == pytest.approx(aside, abs=0.35)


def test_a_line_where_the_plate_stands_off_only_ends_what_touches(lying):
    """Below the sides of the plate the foam is a millimetre further off than below its middle."""
    inner = [[comes_down(-16.0), 25.0], [comes_down(-16.0), 75.0]]
    assert outline_off(footing([inner]), *lying) == ()
    middle = [[TOP, 25.0], [TOP, 75.0]]  # but one right below its middle is of another part, or in another place
    (found,) = outline_off(footing([middle]), *lying)
    assert found > 15.0

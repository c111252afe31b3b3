"""Which way round a flat part goes into bent foam: a disc in a cone of 2 degrees, whose bevel is 2 degrees as well."""

from __future__ import annotations

import numpy as np
import pytest

from foamwright.proof.bench.fits import fitted
from foamwright.proof.bench.foam import Copy, Edge, Foam, Mark, Part, Touch
from foamwright.proof.bench.footings import Footing
from foamwright.proof.bench.pieces import Placed, Sheet, as_cut, plain_sheet
from foamwright.proof.bench.sides import left_open, way_round

HALF = np.radians(2.0)  # of the angle at the cone's tip; it widens upwards
LOW, THICK = 1500.0, 10.0  # along the cone from its tip to the disc's lower line, and the disc's thickness
TURN = 2 * np.pi * np.sin(HALF)  # of the sector that rolls to the cone


def sector(s, angle):
    return np.column_stack([s * np.sin(angle), s * np.cos(angle)])


def cone(bands=60):
    """Its inside drawn, exactly on the cone: a point of the paper at s from the tip is s sin(2) from the axis."""
    angle = np.linspace(0.0, TURN, bands + 1)
    s = np.array([LOW - 150.0, LOW - 40.0, LOW + THICK / 2, LOW + 60.0, LOW + 150.0])
    flat = np.vstack([sector(np.full(len(angle), r), angle) for r in s])
    wide = len(angle)
    cells = [(row * wide + k, row * wide + k + 1) for row in range(len(s) - 1) for k in range(bands)]
    triangles = np.array([t for i, j in cells for t in ((i, i + wide, j), (j, i + wide, j + wide))])
    a, b, c = (flat[triangles[:, k]] for k in range(3))
    turned = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0] < 0
    triangles[turned] = triangles[turned][:, ::-1]
    marks = tuple(
        sector(np.full(50, LOW + at), np.linspace(0.02, TURN - 0.02, 50)) for at in (0.0, THICK / np.cos(HALF))
    )
    ring = np.vstack([sector(np.full(wide, s[0]), angle[::-1]), sector(np.full(wide, s[-1]), angle)])
    part = Part(
        "cone", "A", "cone", "panel", 6.0, True, 0.0, True, (ring,), (ring,), (), (), (Mark("disc", True, ((1, 1),), marks),),
        (False,), {},
    )  # fmt: skip
    reach, about = np.hypot(*flat.T), np.arctan2(flat[:, 0], flat[:, 1]) / np.sin(HALF)
    out = reach * np.sin(HALF)
    points = np.column_stack([out * np.cos(about), -out * np.sin(about), reach * np.cos(HALF)])
    piece = Placed(part, False, Sheet(flat, triangles), points)
    inwards = (piece.normals * points * (1.0, 1.0, 0.0)).sum(axis=1)
    assert (inwards < 0.0).all()  # the drawn face looks to the axis
    return piece


def disc(name, drawn_wide, square=False):
    """Drawn on its inside face, which is the wider one or the narrower one."""
    narrow = LOW * np.sin(HALF)
    radii = (narrow, narrow) if square else (narrow, narrow + THICK * np.tan(HALF))
    near, far = radii[::-1] if drawn_wide else radii
    turn = np.linspace(0.0, 2 * np.pi, 241)[:-1]
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    rim = np.vstack([circle, circle[:1]]) * near
    bevel = 0.0 if square else (-2.0 if drawn_wide else 2.0)
    edge = Edge("rim", (rim,), (), (bevel,), True)
    return Part(
        name, "B", name, "bulkhead", THICK, False, 0.0, True, (circle * near,), (circle * far,), (edge,), (), (), (False,), {}
    )  # fmt: skip


def set_in(part, beyond=None):
    """How the disc's inside face looks along the axis, and whether the paper left it open; `beyond` puts a plate on that
    face or the other one, and above the disc."""
    wall = cone()
    one = Copy("disc", 1)
    moving = {one: as_cut(part, False, plain_sheet(part))}
    fixed = {Copy("cone", 1): wall}
    parts, touches, standing = {"cone": wall.part, "disc": part}, (), {}
    if beyond is not None:
        shelf = disc("shelf", True, square=True)
        parts["shelf"] = shelf
        lying = as_cut(shelf, False, plain_sheet(shelf))
        above = lying.points + (0.0, 0.0, LOW + 80.0)
        standing = {Copy("shelf", 1): Placed(shelf, False, lying.sheet, above)}
        touches = (Touch(one, beyond, Copy("shelf", 1), "rim", True, 0.0, 100.0),)
    foam = Foam(parts, (Copy("cone", 1), *moving, *standing), (), touches)
    joint = Footing(Copy("cone", 1), one, wall.part.marks[0], ("rim",), 0.0)
    fit = fitted(fixed, moving, [joint], {}, way_round(foam, fixed, standing, moving, [joint]))
    assert fit is not None and fit.middle < THICK * np.tan(HALF) + 0.05  # what a disc turned over lacks
    placed = {one: moving[one].moved(fit.motion)}
    up = placed[one].up(part.rings[0][:1])[0]
    assert abs(up[2]) > 0.99  # square to the axis
    return float(np.sign(up[2])), left_open(foam, fixed, standing, placed, [joint])


@pytest.mark.parametrize(("drawn_wide", "looks"), [(True, 1.0), (False, -1.0)])
def test_a_bevel_of_2_degrees_tells_the_sides(drawn_wide, looks):
    """The wider face of a plug lies to the wider end of its hole."""
    assert set_in(disc("disc", drawn_wide)) == (looks, False)


@pytest.mark.parametrize(("face", "looks"), [("inside", 1.0), ("outside", -1.0)])
@pytest.mark.parametrize("drawn_wide", [True, False])
def test_what_touches_a_face_tells_before_the_bevel(face, looks, drawn_wide):
    """The plate stands above the disc, so that face is on top."""
    assert set_in(disc("disc", drawn_wide), face) == (looks, False)


def test_a_square_disc_is_left_open():
    assert set_in(disc("disc", True, square=True))[1]

"""The virtual bench on bodies whose shape is known by formula, and its motions against another library's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from foamwright.proof.bench.assembly import Bodies, Group, set_up
from foamwright.proof.bench.foam import Copy, Edge, Foam, Part, Sewn
from foamwright.proof.bench.pieces import as_cut, plain_sheet
from foamwright.proof.bench.plates import assembled, seam_gap
from foamwright.proof.bench.rigid import best_motion
from foamwright.proof.bench.seams import glue
from foamwright.proof.bench.shell import NO_SPOTS, Holds, Sheets, Spots, at_rest
from foamwright.proof.bench.shells import _spacings, bent_body


def part(name, sides, copies=1, thickness=2.0, bent=True, grown=0.0, bevels=()):
    """Of sides (name, points), one after another; `grown` moves the other face's sides out."""
    ring = np.vstack([points[:-1] for _, points in sides])
    edges = tuple(
        Edge(edge, (points,), (), (bevels[k] if bevels else 0.0,), False) for k, (edge, points) in enumerate(sides)
    )
    other = ring * (1.0 + grown)
    return Part(
        name, "A", name, "panel", thickness, bent, thickness / 2 if bent else 0.0, True, (ring,), (other,), edges, (), (),
        (False,) * copies, {},
    )  # fmt: skip


def line(a, b, count=60):
    return np.linspace(a, b, count)


def foam(*parts, sewn):
    copies = tuple(Copy(p.id, n) for p in parts for n in range(1, len(p.mirrored) + 1))
    return Foam({p.id: p for p in parts}, copies, tuple(sewn), ())


def test_motions_agree_with_scipy():
    rng = np.random.default_rng(3)
    points, onto = rng.normal(size=(20, 3)), rng.normal(size=(20, 3))
    ours = best_motion(points, onto)
    theirs, _ = Rotation.align_vectors(onto - onto.mean(axis=0), points - points.mean(axis=0))
    assert ours.turn == pytest.approx(theirs.as_matrix(), abs=1e-9)
    assert np.linalg.det(best_motion(points, points * (-1.0, 1.0, 1.0)).turn) == pytest.approx(1.0)  # never a mirror


def test_a_rectangle_rolls_to_a_cylinder():
    """Its radius is its length over 2 pi."""
    length, height = 400.0, 90.0
    x, y = length / 2, height / 2
    wall = part(
        "wall",
        [
            ("foot", line((-x, -y), (x, -y))),
            ("right", line((x, -y), (x, y))),
            ("head", line((x, y), (-x, y))),
            ("left", line((-x, y), (-x, -y))),
        ],
    )
    one = Copy("wall", 1)
    body = bent_body(foam(wall, sewn=[]), [one], [Sewn("S1", one, "left", one, "right")])
    points = body.rested.points
    spread = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)
    axis = spread[2][np.argmin(np.abs(spread[1] / np.sqrt(len(points)) - height / np.sqrt(12)))]
    flat = points - points.mean(axis=0)
    away = np.linalg.norm(flat - np.outer(flat @ axis, axis), axis=1)
    assert away.mean() == pytest.approx(length / (2 * np.pi), rel=0.01)
    assert np.abs(away - length / (2 * np.pi)).max() < 2.5  # beside the seam the triangles flatten it a little
    assert body.apart[1] < 0.05  # from both starts


def test_a_sector_rolls_to_a_cone():
    """The sine of half the angle at its tip is the sector's angle over 2 pi."""
    low, high, angle = 60.0, 160.0, np.radians(220.0)
    turn = np.linspace(-angle / 2, angle / 2, 120)
    ends = np.column_stack([np.cos(turn), np.sin(turn)])
    cone = part(
        "cone",
        [
            ("outer", high * ends),
            ("one", line(high * ends[-1], low * ends[-1])),
            ("inner", low * ends[::-1]),
            ("other", line(low * ends[0], high * ends[0])),
        ],
    )
    one = Copy("cone", 1)
    body = bent_body(foam(cone, sewn=[]), [one], [Sewn("S1", one, "one", one, "other")])
    flat = np.linalg.norm(body.net.made.flat, axis=1)
    rims = [body.rested.points[np.abs(flat - r) < 0.5] for r in (low, high)]
    drop = np.linalg.norm(rims[0].mean(axis=0) - rims[1].mean(axis=0))
    assert drop == pytest.approx((high - low) * np.sqrt(1 - (angle / (2 * np.pi)) ** 2), rel=0.02)
    wide = np.linalg.norm(rims[1] - rims[1].mean(axis=0), axis=1)
    assert wide.mean() == pytest.approx(high * angle / (2 * np.pi), rel=0.02)


def test_gores_close_to_a_sphere():
    """Gores as wide as a sphere is round at each height, as for a globe: half width pi R / n cos(s / R)."""
    radius, count = 100.0, 10
    s = np.linspace(-0.46 * np.pi, 0.46 * np.pi, 80) * radius
    half = np.pi * radius / count * np.cos(s / radius)
    right, left = np.column_stack([half, s]), np.column_stack([-half, s])
    gore = part(
        "gore",
        [
            ("right", right),
            ("head", line(right[-1], left[-1], 3)),
            ("left", left[::-1]),
            ("foot", line(left[0], right[0], 3)),
        ],
        copies=count,
    )
    copies = [Copy("gore", n) for n in range(1, count + 1)]
    sewn = [Sewn("S1", a, "left", b, "right") for a, b in zip(copies, [*copies[1:], copies[0]])]
    body = bent_body(foam(gore, sewn=sewn), copies, sewn)
    away = np.linalg.norm(body.rested.points - body.rested.points.mean(axis=0), axis=1)
    assert away.mean() == pytest.approx(radius, rel=0.02) and np.abs(away - radius).max() < 0.06 * radius
    assert body.apart[0] < 0.5


def square(size, thickness, bevel):
    """A square plate whose outside face is larger all round by what the bevel makes."""
    h = size / 2
    corners = [(-h, -h), (h, -h), (h, h), (-h, h)]
    sides = [(f"s{k}", line(corners[k], corners[(k + 1) % 4], 2)) for k in range(4)]
    grown = np.tan(np.radians(bevel)) * thickness / h
    return part("plate", sides, 4, thickness, False, grown, (bevel,) * 4)


@pytest.mark.parametrize(("bevel", "closes"), [(45.0, True), (30.0, False), (40.0, False)])
def test_four_mitred_squares_close_to_a_ring(bevel, closes):
    """Joiners' mitre for a right angle is 45 degrees; a ring of four then closes, and with no other does."""
    plate = square(80.0, 6.0, bevel)
    copies = [Copy("plate", n) for n in range(1, 5)]
    sewn = [Sewn("S1", a, "s0", b, "s2") for a, b in zip(copies, [*copies[1:], copies[0]])]
    whole = foam(plate, sewn=sewn)
    lying = {c: as_cut(plate, False, plain_sheet(plate)) for c in copies}
    glues = [glue(whole, joint) for joint in sewn]
    placed = assembled(lying, glues, copies[0])
    gap = max(seam_gap(placed, g) for g in glues)
    assert (gap < 1e-6) if closes else (gap > 0.5)


def test_a_rim_comes_out_at_the_rim_however_near_a_hole_is():
    """A square cut at 45 degrees outwards, with a hole nearer to its foot than the line where that cut comes out."""
    square = np.array([[-20.0, -20.0], [20.0, -20.0], [20.0, 20.0], [-20.0, 20.0]])
    hole = square[::-1] * 0.25 + (0.0, -13.0)
    plate = replace(
        part("plate", [("all", square)], thickness=6.0, bent=False),
        rings=(square, hole),
        other_rings=(square * 1.3, hole),
    )
    points = np.array([[0.0, -20.0], [2.0, -20.0], [0.0, 20.0], [0.0, -18.0]])  # the last is on the hole
    assert plate.across(points) == pytest.approx(np.array([[0.0, -26.0], [2.0, -26.0], [0.0, 26.0], [0.0, -18.0]]))


def test_what_is_held_to_itself_stays_where_it_is():
    """Two plates held to each other beside the points that meet would turn for ever: no force from within turns a body
    (Newton's third law, its strong form)."""
    plate = np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]])
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    sheets = Sheets(
        np.vstack([plate, plate]),
        np.vstack([triangles, triangles + 4]),
        np.full(4, 6.0),
        np.ones(4),
        np.repeat([0, 1], 2),
        NO_SPOTS,
        NO_SPOTS,
        np.zeros(0),
    )
    flat = np.column_stack([plate, np.zeros(4)])
    start = np.vstack([flat, flat + (0.0, 0.0, 8.0)])
    one, other = (
        Spots(np.repeat(sheets.triangles[k : k + 1], 1, axis=0), np.array([[1.0, 0.0, 0.0]]), np.zeros(1))
        for k in (0, 2)
    )
    aslant = np.array([[0.6, 0.0, 0.8]])  # across what lies between them, so that the pair of forces turns both
    holds = Holds(one, other, aslant, np.array([-2.0]), np.ones(1))
    rested = at_rest(sheets, start, holds)
    assert np.abs(holds.left(rested.points)).max() < 0.05 * np.abs(holds.left(start)).max()
    motion = best_motion(start, rested.points)
    assert motion.turn == pytest.approx(np.eye(3), abs=1e-3)


def test_thick_foam_is_bent_by_small_triangles_too():
    """Gores of a sphere whose foam is nearly as thick as the triangles of the last round are long: where those were left out
    a cap came out 3 mm too tall."""
    radius, count = 100.0, 10
    s = np.linspace(-0.46 * np.pi, 0.46 * np.pi, 80) * radius
    half = np.pi * radius / count * np.cos(s / radius)
    right, left = np.column_stack([half, s]), np.column_stack([-half, s])
    sides = [
        ("right", right),
        ("head", line(right[-1], left[-1], 3)),
        ("left", left[::-1]),
        ("foot", line(left[0], right[0], 3)),
    ]
    thick, thicker = (part("gore", sides, count, thickness) for thickness in (9.0, 40.0))
    copies = [Copy("gore", n) for n in range(1, count + 1)]
    assert len(_spacings(foam(thick, sewn=()), copies)) == 3
    assert len(_spacings(foam(thicker, sewn=()), copies)) == 2


def test_a_piece_whose_bodies_stay_is_not_set_up_again():
    one, two, three = (square(40.0, 5.0, 0.0), square(30.0, 5.0, 0.0), square(20.0, 5.0, 0.0))
    parts = [replace(p, id=name, mirrored=(False,)) for p, name in ((one, "a"), (two, "b"), (three, "c"))]
    every = foam(*parts, sewn=())
    groups = tuple(
        Group((copy,), {copy: as_cut(every.part(copy), False, plain_sheet(every.part(copy)))}, False, (0.0, 0.0))
        for copy in every.copies
    )
    first = set_up(every, Bodies((), groups[:2], ()))
    again = set_up(every, Bodies((), groups, ()), first)
    assert set(again.placed) == set(every.copies) and len(again.pieces) == 3
    assert all(again.made[whole] is standing for whole, standing in first.made.items())

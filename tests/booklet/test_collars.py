"""Collars on a shaft that runs through two walls: each has a place of its own on it. Every figure follows from the numbers of the
design."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

CASE = (
    head("Collars", "1 mm")
    + """\
stock:
  wall: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
  dowel: {name: Dowel 8 mm, thickness: 8 mm, sheet: [8 mm, 1000 mm]}
parts:
  base: {kind: plate, stock: wall, outline: {rectangle: {width: 100 mm * scale, height: 140}}, at: {origin: [0, 0, -10], normal: z, up: x}}
  wall:
    kind: plate
    stock: wall
    outline: {rectangle: {width: 80, height: 100, centre: [0, 50]}}
    minus: [{circle: {radius: 4.5, centre: [0, 70]}}]
    at: {origin: [40, 0, 0], normal: x, up: z}
    mirror: x
  shaft: {kind: rod, stock: dowel, from: [START, 0, 70], to: [110, 0, 70], rests_on: [wall]}
  collar:
    kind: ring
    stock: wall
    outer_radius: 10 mm
    inner_radius: 4 mm
    at: {origin: [52, 0, 70], normal: x}
    mirror: x
    after: [shaft]
"""
)


def told(tmp_path, start):
    path = tmp_path / "collars.yaml"
    path.write_text(CASE.replace("START", str(start)), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    return " ".join(line for step in steps for line in step.instructions)


def test_each_collar_has_its_own_measure(tmp_path):
    """The collars end at 62 and -62, the shaft at 110 and -70."""
    text = told(tmp_path, -70)
    assert "Slip the 2 collars (D) on to the shaft (C), each as far as its place, and glue them there." in text
    assert "One of them sits where 48 mm of the shaft (C) stand out beyond it at the front." in text
    assert "One of them sits where 8 mm of the shaft (C) stand out beyond it at the back." in text


def test_collars_alike_share_one(tmp_path):
    assert "Each sits where 48 mm of the shaft (C) stand out beyond it." in told(tmp_path, -110)


@pytest.mark.parametrize("start", [-70, -110])
def test_a_shaft_that_turns_in_holes_is_pushed_through_them(tmp_path, start):
    text = told(tmp_path, start)
    assert "Push the shaft (C) through the holes of the 2 walls (B), without glue." in text
    assert (
        "lift on" not in text
        and "without rocking" not in text
        and "Lay the shaft" not in text
        and "Set the shaft (C) on the 2 walls" not in text
    )


def test_a_shaft_with_one_collar_goes_in_along_itself_when_all_is_dry(tmp_path):
    """It has its collar on the bench, and comes from the front; nothing is lifted on to anything."""
    path = tmp_path / "collars.yaml"
    path.write_text(CASE.replace("START", "-70").replace("    mirror: x\n    after", "    after"), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    text = " ".join(line for step in steps for line in step.instructions)
    assert "Push the shaft (C) through the holes of the 2 walls (B), without glue: it must turn freely." in text
    assert "lift on" not in text and "without rocking" not in text
    (move,) = [move for step in steps for move in step.sets]
    assert move.outwards == ((pytest.approx((1.0, 0.0, 0.0)), float("inf")),)

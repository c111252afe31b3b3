"""Time and glue of a prop of two rectangles, worked out by hand. Lengths in mm.

The figures themselves are common practice, no source: contact cement covers about 4 m2 per litre in one coat on one
face and takes two coats on both faces, with a quarter more for what stays in brush and tin; a piece takes 3 minutes to
trace and label, a metre of cut 5, a square metre of sealer and paint 60.
"""

import math

import pytest

import foamwright
from foamwright.booklet.pages.materials import shopping
from foamwright.language import duration

PLATES = """\
format: 1
name: Two plates
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam, thickness: 6 mm, sheet: [600 mm, 1200 mm]}}
forms: {}
parts:
  lower: {kind: plate, stock: foam, outline: {rectangle: {width: 560 * scale, height: 460}}, at: {normal: z}}
  upper:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 500, height: 400}}
    at: {origin: [0, 0, 6 mm], normal: z}
    lies_on: [lower]
"""


@pytest.fixture(scope="module")
def stages(tmp_path_factory, little_search):
    path = tmp_path_factory.mktemp("plates") / "plates.yaml"
    path.write_text(PLATES, "utf-8")
    return foamwright.Stages(foamwright.Request(foamwright.load(path)))


@pytest.fixture(scope="module")
def pack(stages):
    return stages.pack(["shopping_list"])


def rounded_up(minutes: float) -> float:
    """To five minutes, as nobody plans an evening more finely."""
    return 5.0 * math.ceil(minutes / 5.0)


def test_minutes_are_rounded_up_to_five(stages):
    steps = stages.record("steps")
    metres = 2 * (0.56 + 0.46) + 2 * (0.5 + 0.4)
    cut = 3.0 * 2 + 5.0 * metres
    finish = 40.0 * (0.56 * 0.46 + 0.5 * 0.4) + 5.0 * (1 + 3 + 2 + 1)  # filler, sealer, paint, varnish
    assert steps[0].minutes == rounded_up(cut) == 30.0 != cut
    assert steps[-2].minutes == rounded_up(finish) == 55.0 != finish
    assert all(step.minutes > 0 and step.minutes % 5 == 0 for step in steps)
    assert duration(steps[0].minutes) == "30 min"


def test_contact_cement_is_bought_for_two_coats_on_both_faces(stages, pack):
    area = 0.5 * 0.4  # m2 of the joint: the smaller plate
    millilitres = 1000.0 * area * 2 * 2 / 4.0 * 1.25
    assert millilitres == pytest.approx(250.0)  # a step of 50 ml by itself, so nothing hides in the rounding
    prop, sheets = stages.model.prop, stages.sheets
    (cement,) = [
        line for line in shopping(prop, stages.patterns, sheets, stages.record("steps")) if "cement" in line.item
    ]
    assert (cement.amount, cement.unit) == (250.0, "ml")
    assert cement.basis.startswith("0.200 m² of joints, both faces, 2 coats")
    assert b"Contact cement for foam,250,ml," in pack.files["shopping-list.csv"]

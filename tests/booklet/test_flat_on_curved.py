"""A flat disc on a drum: its rim stands off by the sagitta of the drum, R - sqrt(R^2 - r^2), until it is pressed down."""

import math
from types import SimpleNamespace

import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.booklet.words.flat_on_curved import is_sanded

DRUM = (
    head("Drum")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}
  board: {name: Board 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm], material_type: acrylic}
forms:
  drum:
    kind: revolution
    axis: z
    profile: [[0, 100 mm * scale], [120 mm, 100 mm * scale]]
    smooth: false
    cuts:
      foot: {plane: {normal: z, at: 5 mm}}
      head: {plane: {normal: z, at: 115 mm}}
      half: {plane: {normal: x}}
parts:
  wall: {kind: panel, stock: shell, form: drum, laid: inside, where: {foot: beyond, head: before, half: beyond}, flush: [foot, head], mirror: x}
  button: {kind: disc, stock: STOCK, radius: RADIUS mm, at: {origin: [100 mm, 0, 60], normal: x, up: z}}
"""
)


def told(tmp_path, stock, radius):
    path = tmp_path / "drum.yaml"
    path.write_text(DRUM.replace("STOCK", stock).replace("RADIUS", str(radius)), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    return " ".join(line for step in steps for line in step.instructions)


@pytest.mark.parametrize("radius", [20, 24])
def test_the_rim_of_flat_foam_is_pressed_on_to_the_curve(tmp_path, radius):
    off = 100 - math.sqrt(100**2 - radius**2)  # 2.0 and 2.9 mm
    text = told(tmp_path, "shell", radius)
    assert f"would stand up to {off:.0f} mm off at the rim. Press the middle down first" in text
    assert "use gel" not in text and "A gap of up to" not in text


def test_what_touches_little_of_the_curve_stays_flat_and_is_glued_there(tmp_path):
    text = told(tmp_path, "shell", 45)
    assert "glue goes only where the two touch" in text and "foam is cut flat" not in text


def test_a_small_one_lies_flat_and_a_stiff_one_does_not_bend(tmp_path):
    assert "foam is cut flat" not in told(tmp_path, "shell", 6)  # 0.2 mm
    assert "foam is cut flat" not in told(tmp_path, "board", 24)


@pytest.mark.parametrize(("across", "sanded"), [(120.0, True), (680.0, False)])
def test_foam_that_bends_to_a_curve_by_itself_is_not_sanded_to_it(across, sanded):
    """6 mm foam on something 680 mm across stretches by 6 / 680, which is 0.9 %; on 120 mm by 5 %."""
    piece = SimpleNamespace(stock=SimpleNamespace(thickness=6.0), thickness=6.0)
    assert is_sanded(piece, 1.5, across) is sanded

"""Every new part shows in the picture of its step: measured by counting the lines of sight that meet it."""

import io
import struct

import numpy as np
from block_props import piece, scene
from PIL import Image

from foamwright.booklet.records import Step, StepMove
from foamwright.booklet.render import png
from foamwright.booklet.step_pictures import LEAST_SEEN, step_pictures

UP = ((0.0, 0.0, 1.0), float("inf"))


def step(number, parts, moves):
    return Step(number, f"Step {number}", parts, "contact", 5.0, (), (), (), parts, moves)


def test_a_part_behind_a_wall_is_shown_by_another_view_or_pulled_out_or_without_the_wall():
    walls = [piece(name, size, at) for name, size, at in (
        ("floor", (120, 120, 10), (0, 0, -5)), ("east", (10, 120, 90), (55, 0, 45)),
        ("west", (10, 120, 90), (-55, 0, 45)),
        ("north", (100, 10, 90), (0, 55, 45)), ("south", (100, 10, 90), (0, -55, 45)))]  # fmt: skip
    found = scene(*walls, piece("block", (30, 30, 10), (0, 0, 5)))
    names = tuple(made.id for made, _ in walls)
    steps = (
        step(1, names, tuple(StepMove((i,), (UP,)) for i in range(5))),
        step(2, ("block",), (StepMove((5,), (UP,)),)),
    )
    drawn = step_pictures(found, steps)
    table = {number: picture.share for number, picture in drawn.steps.items()}
    assert table[2] >= LEAST_SEEN, table
    assert [bubble.label for bubble in drawn.steps[2].bubbles] == ["BLOCK"]
    assert drawn.steps[2].alt.startswith("Step 2: Step 2.") and len(drawn.steps[2].arrows) == 1
    assert drawn.steps[2].png == step_pictures(found, steps).steps[2].png  # the same bytes again


def test_a_png_is_read_back_by_another_library():
    colours = (np.indices((7, 5)).sum(axis=0)[..., None] * np.array([9, 17, 5]) % 256).astype(np.uint8)
    data = png(colours)
    read = np.array(Image.open(io.BytesIO(data)).convert("RGB"))
    assert read.shape == colours.shape and struct.unpack(">II", data[16:24]) == (5, 7)
    assert np.abs(read.astype(int) - colours).max() <= 8  # tones are rounded to a thirty-second

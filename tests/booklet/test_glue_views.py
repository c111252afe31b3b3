"""Where glue goes on a face that the picture of a step hides, a small picture shows it from another side."""

import io
from dataclasses import replace

import numpy as np
import pytest
from block_props import piece, scene
from PIL import Image

from foamwright.assembly.records import Step, StepMove
from foamwright.booklet.pictures import glue_views
from foamwright.booklet.pictures.step_pictures import step_pictures

UP, DOWN = (((0.0, 0.0, sign), float("inf")) for sign in (1.0, -1.0))
BED = piece("bed", (300, 200, 10))


def drawn(legs, way):
    """The picture of a board that legs are glued to on end at the bench; the line of each is on the board."""
    found = scene(BED, *legs)
    by_end = {pair: replace(t, broad=(1.0, 0.0) if t.a == 0 else (0.0, 1.0)) for pair, t in found.touches.items()}
    moves = (StepMove((0,), (UP,)), *(StepMove((i + 1,), (way,)) for i in range(len(legs))))
    parts = ("bed", *(leg.id for leg, _ in legs))
    step = Step(1, "", parts, "contact", 5.0, (), (), (), parts, moves)
    return step_pictures(replace(found, touches=by_end), [step])[1]


def legs(height):
    return [piece(f"leg{x}", (30, 30, 60), (x, 0, height)) for x in (-100, 100)]


@pytest.fixture
def pictures(monkeypatch):
    """The small pictures as they are drawn, before their letters."""
    seen, set_ = [], glue_views.small

    def small(drawing, *rest):
        seen.append(np.array(Image.open(io.BytesIO(drawing.png)).convert("RGB")).astype(int))
        return set_(drawing, *rest)

    monkeypatch.setattr(glue_views, "small", small)
    return seen


def test_the_underside_that_legs_are_glued_to_is_shown_from_below(pictures):
    """Two places of 30 x 30 mm on the board, of which 300 mm are a little less than the breadth of the picture."""
    said = [inset.said for inset in drawn(legs(-35), DOWN).details]
    assert [words for words in said if words.startswith("Glued places")] == [
        "Glued places that the large picture hides, seen from below."
    ]
    (picture,) = pictures
    red = (picture @ (1, -1, 0)) > 90
    assert np.ptp(np.nonzero(red)[1]) > 0.4 * picture.shape[1] and red.sum() > 100


def test_what_the_large_picture_shows_needs_no_other(pictures):
    said = [inset.said for inset in drawn(legs(35), UP).details]
    assert not pictures and not any(words.startswith("Glued places") for words in said)

"""What is painted through stencils shows on the parts. Places and areas are those of the windows as the design states them."""

import io

import numpy as np
import pytest
from PIL import Image

from foamwright.assembly.bodies import bodies_of
from foamwright.booklet.pictures.prop_pictures import finished
from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from tests.parts.flat_designs import design

SIGN = (
    "  sign: {{kind: plate, stock: foam, paint: white, outline: {{rectangle: {{width: 100, height: 80}}}}, "
    "at: {{origin: [{at}, 0, 0], normal: x, up: z}}{more}}}\n"
)
WINDOW = "windows: [{{rectangle: {{width: 20, height: 10, centre: [{x}, {y}]}}}}]"


def built(folder, x=30, y=20, sign="", mask="of: sign", at=0):
    stencil = f"  stencil: {{kind: mask, stock: foam, paint: red, {mask}, {WINDOW.format(x=x, y=y)}}}\n"
    model = build_model(build_prop(design(folder, SIGN.format(more=sign, at=at) + stencil)))
    return bodies_of(model, find_contacts(solids(model), clearance_of(model.prop.design)))


def reds(found, towards):
    """The box, as shares of the picture across and down from its upper left, of what is red."""
    picture = np.asarray(Image.open(io.BytesIO(finished(found, towards).png)).convert("RGB")).astype(int)
    red = (picture[..., 0] > 1.8 * picture[..., 1]) & (picture[..., 0] > 60)
    rows, columns = np.nonzero(red)
    drawn = np.argwhere((picture < 240).any(axis=2))
    (top, left), (bottom, right) = drawn.min(axis=0), drawn.max(axis=0)
    if not len(rows):
        return None
    across = (np.array([columns.min(), columns.max()]) - left) / (right - left)
    down = (np.array([rows.min(), rows.max()]) - top) / (bottom - top)
    return np.concatenate([across, down])


@pytest.mark.parametrize("mask", ["of: sign", "of: sign, border: 5"])
def test_a_window_is_where_the_design_says_whatever_card_is_around_it(tmp_path, mask):
    ((paint, shape),) = built(tmp_path, mask=mask).stencilled["sign"]
    assert paint == "red" and shape.area == pytest.approx(200.0)
    assert np.array(shape.centroid.coords[0]) == pytest.approx([30.0, 20.0])


def test_it_shows_on_the_outside_alone_and_where_it_is(tmp_path):
    found = built(tmp_path)
    # seen against its normal: 20 x 10 mm with its middle 30 to the right and 20 up on a sign of 100 x 80
    assert reds(found, (-1.0, 0.0, 0.0)) == pytest.approx([0.7, 0.9, 0.1875, 0.3125], abs=0.02)
    assert reds(found, (1.0, 0.0, 0.0)) is None


def test_a_mirrored_copy_has_it_mirrored(tmp_path):
    found = built(tmp_path, sign=", mirror: x", at=10)  # one looks forward at x = 10, one back at x = -10
    assert len(found) == 2
    for towards, across in (((-1.0, 0.0, 0.0), [0.7, 0.9]), ((1.0, 0.0, 0.0), [0.1, 0.3])):
        assert reds(found, towards) == pytest.approx([*across, 0.1875, 0.3125], abs=0.02)


def test_a_stencil_of_no_one_part_is_told_of_nowhere(tmp_path):
    found = built(tmp_path, mask="paints: [sign]")
    assert not found.stencilled and reds(found, (-1.0, 0.0, 0.0)) is None


def test_a_card_goes_no_further_than_its_part(tmp_path):
    found = built(tmp_path, y=30, mask="of: sign, border: 8")  # the sign ends 5 above the window
    ((_, shape),) = found.stencilled["sign"]
    assert shape.area == pytest.approx(200.0) and shape.bounds[3] == pytest.approx(35.0)

"""Where a bent part is touched, in the record, in the coordinates of its pattern."""

import math
import sys
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon

from foamwright.contacts.find import find_contacts
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from foamwright.pack.plain import plain
from foamwright.pack.record import SECTIONS
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.touched import touched_faces

sys.path.insert(0, str(Path(__file__).parents[1] / "parts"))
from flat_designs import design

RADIUS, HEIGHT, FOAM, DISC = 100.0, 60.0, 6.0, 10.0
TUB = (
    f"  wall: {{kind: band, stock: foam, width: {HEIGHT}, along: {{outline: {{circle: {{radius: {RADIUS}}}}}, "
    "at: {normal: z}}}\n"
    f"  floor: {{kind: disc, stock: thick, radius: {RADIUS}, at: {{origin: [0, 0, -10], normal: z}}}}\n"
)


@pytest.fixture(scope="module")
def tub(tmp_path_factory):
    prop = build_prop(design(tmp_path_factory.mktemp("tub"), TUB))
    model = build_model(prop)
    patterns = section_and_flatten(model)
    found = find_contacts(solids(model))
    return patterns, found, plain(SECTIONS["touched"](touched=touched_faces(patterns, found)))


def test_the_edge_of_a_disc_is_a_strip_on_the_wall_around_it(tub):
    """The neutral line of the wall is 2 pi (R + t/2) long; the disc is as high on it as it is thick."""
    patterns, contacts, (touched,) = tub
    contact = contacts.found[touched["contact"]]
    assert {contact.a.part, contact.b.part} == {"wall", "floor"}
    assert (touched["part"], touched["copy"], touched["face"]) == ("wall", 1, "inside")
    covered = sum(Polygon(line).area for line in touched["lines"])
    assert covered == pytest.approx(2.0 * math.pi * (RADIUS + FOAM / 2.0) * DISC, rel=0.03)
    points = np.vstack([np.array(line) for line in touched["lines"]])
    wall = patterns.pattern("wall").outline
    low, high = points[:, 1].min() - wall[:, 1].min(), wall[:, 1].max() - points[:, 1].max()
    assert sorted([low, high]) == pytest.approx([20.0, 30.0], abs=0.15)  # of a wall from -30 to 30, a floor at -10


def test_a_floor_is_flat_and_told_by_its_marks(tub):
    assert all(found["part"] != "floor" for found in tub[2])

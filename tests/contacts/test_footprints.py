"""Footprints are where the upper part stands, on the right face, of every copy by itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from foamwright.contacts.copies import has_numbers
from foamwright.contacts.find import find_contacts
from foamwright.contacts.footprints import alike, footprints, on_plane
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from foamwright.parts.records import EdgeRun, FlatBody, Placement
from tests.model.solid_fixtures import FOAM, frame, piece, placed, plate, prop, rectangle

T = FOAM.thickness


def test_two_shelves_with_a_block_on_one_and_below_the_other():
    shelf = piece("A", plate(rectangle(100, 60)), placements=(placed(), placed(0, 0, 200)))
    on_it = piece("B", plate(rectangle(20, 10)), placements=(placed(10, 30, T),))
    below = piece("C", plate(rectangle(20, 10)), placements=(placed(10, 30, 200 - T),))
    whole = prop(shelf, on_it, below)
    contacts = find_contacts(solids(build_model(whole)))
    (one,), (two,) = footprints(shelf, 1, contacts), footprints(shelf, 2, contacts)
    assert (one.face, one.other.part) == ("outside", "pb") and (two.face, two.other.part) == ("inside", "pc")
    for found in (one, two):
        area = on_plane(shelf, found)
        assert area.bounds == pytest.approx((10, 30, 30, 40)) and area.area == pytest.approx(200)
    assert alike([(one,), (two,)]) == ((1,), (2,)) and has_numbers(whole, shelf, contacts)


def test_copies_that_carry_the_same_share_a_template():
    shelf = piece("A", plate(rectangle(100, 60)), placements=(placed(), placed(0, 0, 200), placed(0, 0, 400)))
    block = piece(
        "B", plate(rectangle(20, 10)), placements=(placed(10, 30, T), placed(10, 30, 200 + T), placed(12, 30, 400 + T))
    )
    whole = prop(shelf, block)
    contacts = find_contacts(solids(build_model(whole)))
    marked = [footprints(shelf, number, contacts) for number in (1, 2, 3)]
    assert alike(marked) == (
        (1, 2),
        (3,),
    )  # the third stands 2 mm further along: what is marked tells it from the others
    assert has_numbers(whole, shelf, contacts) and not has_numbers(whole, block, contacts)


def test_a_mirrored_copy_is_marked_where_its_image_is():
    """On the reflected copy the block's image is at the same place of the part as modelled."""
    shelf = piece("A", plate(rectangle(100, 60), (0, 5, 0)), placements=(placed(), placed(mirrored=True)))
    block = piece("B", plate(rectangle(20, 10), (10, 30, T)), placements=(placed(), placed(mirrored=True)))
    whole = prop(shelf, block)
    contacts = find_contacts(solids(build_model(whole)))
    assert not has_numbers(whole, shelf, contacts)
    (found,) = footprints(shelf, 2, contacts)
    assert on_plane(shelf, found).bounds == pytest.approx((10, 25, 30, 35))  # of the frame, whose origin is 5 mm off


def test_walls_between_which_a_plate_stands_are_alike_though_it_meets_each_with_another_edge():
    """As the four sides of a pair of boxes: they are cut and marked alike, and it is the same which stands where."""
    turned = np.diag([1.0, -1.0, -1.0, 1.0])
    turned[:3, 3] = 0, 60, 40 + T
    wall = piece("A", plate(rectangle(100, 60)), placements=(placed(), Placement(turned, False)))
    standing = FlatBody(
        rectangle(20, 40 - T), (), frame((40, 32.5, T), [(1, 0, 0), (0, 0, 1), (0, -1, 0)]), edges_of_rectangle()
    )
    whole = prop(wall, piece("B", standing))
    contacts = find_contacts(solids(build_model(whole)))
    (one,), (two,) = (footprints(wall, number, contacts) for number in (1, 2))
    assert one.other.face != two.other.face and (one.face, two.face) == ("outside", "outside")
    assert not has_numbers(whole, wall, contacts)


def edges_of_rectangle():
    return tuple(EdgeRun(f"side {i}", i, i + 1, (0.0,), ()) for i in range(4))


class Walked(tuple):
    """Counts how often somebody goes through it."""

    times = 0

    def __iter__(self):
        self.times += 1
        return super().__iter__()


def test_all_contacts_are_looked_through_once_for_any_number_of_copies():
    """Through all of them for each copy, a row of n copies took n squared."""
    shelf = piece("A", plate(rectangle(100, 60)), placements=tuple(placed(0, 0, 200 * k) for k in range(5)))
    blocks = piece("B", plate(rectangle(20, 10)), placements=tuple(placed(10, 30, 200 * k + T) for k in range(5)))
    contacts = find_contacts(solids(build_model(prop(shelf, blocks))))
    walked = Walked(contacts.found)
    contacts = replace(contacts, found=walked)
    assert [len(footprints(shelf, number, contacts)) for number in range(1, 6)] == [1] * 5
    assert walked.times == 1


def test_nothing_on_it():
    shelf = piece("A", plate(rectangle(100, 60)))
    assert footprints(shelf, 1, find_contacts(solids(build_model(prop(shelf))))) == ()

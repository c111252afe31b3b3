"""How parts are called in sentences, whatever a design names them: English plurals, and German names as they are written."""

from dataclasses import replace

import pytest
from sample_prop import SHELL, copies, flat, rectangle

from foamwright.assembly.naming import all_of, one_of, one_plate, plain, the
from foamwright.language import Reader, reading
from foamwright.parts.names import thing_of
from foamwright.parts.records import Piece


def piece(name, count, kind="plate"):

    return Piece("p", "A", name, kind, SHELL, flat(rectangle(10.0, 10.0)), copies(count), 1, (), (), "contact", ())


@pytest.mark.parametrize(
    ("name", "several", "each"),
    [
        ("Foot", "the 4 feet (A)", "each foot (A)"),
        ("Feet", "the 4 feet (A)", "each of the feet (A)"),
        ("Leaf", "the 4 leaves (A)", "each leaf (A)"),
        ("Cuff", "the 4 cuffs (A)", "each cuff (A)"),
        ("Roof", "the 4 roofs (A)", "each roof (A)"),
        ("Knife", "the 4 knives (A)", "each knife (A)"),
        ("Box", "the 4 boxes (A)", "each box (A)"),
        ("Lens", "the 4 lenses (A)", "each lens (A)"),
        ("Boss", "the 4 bosses (A)", "each boss (A)"),
        ("Scissors", "the 4 scissors (A)", "each of the scissors (A)"),
        ("Half shell", "the 4 half shells (A)", "each half shell (A)"),
        ("Shell half, left", "the 4 left shell halves (A)", "each left shell half (A)"),
        ("Bow, upper left", "the 4 upper left bows (A)", "each upper left bow (A)"),
        ("Scute, back, middle", "the 4 middle back scutes (A)", "each middle back scute (A)"),
        ("Lid, inner ring, left", "the 4 left inner rings of the lid (A)", "each left inner ring of the lid (A)"),
        ("Slat, 3, left", "the 4 slats, 3, left (A)", "each slat, 3, left (A)"),
        ("Lid, inner ring", "the 4 inner rings of the lid (A)", "each inner ring of the lid (A)"),
        ("Plate, upper arm", "the 4 upper arm plates (A)", "each upper arm plate (A)"),
        ("Hoop over the seam", "the 4 hoops over the seam (A)", "each hoop over the seam (A)"),
        ("Row of teeth", "the 4 rows of teeth (A)", "each row of teeth (A)"),
        ("Rib 3", "the 4 ribs 3 (A)", "each rib 3 (A)"),
        ("Rib (long)", "the 4 ribs (long) (A)", "each rib (long) (A)"),
        ("Nut and bolt", "the 4 nut and bolts (A)", "each nut and bolt (A)"),
        ("T-bar", "the 4 T-bars (A)", "each T-bar (A)"),
        ("LED", "the 4 LEDs (A)", "each LED (A)"),
        ("Torpedo", "the 4 torpedoes (A)", "each torpedo (A)"),
        ("3", "the 4 3 (A)", "each 3 (A)"),
    ],
)
def test_a_name_of_any_sort_has_its_plural_and_its_article(name, several, each):
    assert the(piece(name, 4)) == all_of([piece(name, 4)]) == several
    assert one_of(piece(name, 4)) == each
    assert the(piece(name, 1)) == one_of(piece(name, 1)) == f"the {plain(name)} (A)"


@pytest.mark.parametrize(
    ("name", "others", "one", "two"),
    [
        ("Bay, side", ("Bay, floor and roof",), "side piece of the bay", "side pieces of the bay"),
        ("Bay, floor and roof", ("Bay, side",), "floor and roof piece of the bay", "floor and roof pieces of the bay"),
        ("Bay, floor", ("Bay, roof",), "floor of the bay", "floors of the bay"),
        ("Leg, front", ("Leg, back", "Bay, floor", "Leg"), "front leg", "front legs"),
        ("Leg, front", (), "front leg", "front legs"),
        ("Scute, back, middle", ("Scute, ring",), "middle back scute", "middle back scutes"),
    ],
)
def test_pieces_of_one_thing_are_not_several_of_it(name, others, one, two):
    """One bay that has two sides, beside legs of which there are two in front."""
    own, pair = (replace(piece(name, n), piece_of=thing_of(name, [name, *others])) for n in (1, 2))
    assert the(own) == f"the {one} (A)" and the(pair) == f"the 2 {two} (A)"
    assert one_of(pair) == f"each {one} (A)"


def test_plates_of_a_box_at_two_faces_are_told_as_plates_and_no_other_part_is():
    assert the(piece("Case, top and bottom", 2, "box")) == "the 2 top and bottom plates (A) of the case"
    assert one_plate(piece("Case, top and bottom", 2, "box")) == "top or bottom plate"
    assert one_plate(piece("Nut and bolt", 2)) == "nut and bolt"


@pytest.mark.parametrize(
    "name", ["Fuß", "Füße", "Blatt", "Schere", "halbe Schale", "Bug, oben", "LED", "Deckel und Boden"]
)
def test_german_names_stand_as_they_are_written(name):
    with reading(Reader(language="de")):
        assert the(piece(name, 4)) == f"4 × A ({name})"
        assert one_of(piece(name, 4)) == f"jedes A ({name})"
        assert the(piece(name, 1)) == f"A ({name})"

"""What of a part is touched is drawn as a place for what stands there, unless it is a sliver that nobody puts anything on."""

import pytest

from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import with_joins
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.marks import marks
from tests.parts.flat_designs import design

FLOOR = (
    "  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 200, height: 200}}, "
    "at: {origin: [0, 0, -10], normal: z, up: y}}\n"
)


def places(folder, text):
    """Width and length of what is drawn on the floor for each other part."""
    model = build_model(build_prop(design(folder, FLOOR + text)))
    contacts = find_contacts(solids(model), 0.0)
    patterns = section_and_flatten(with_joins(model, contacts))
    drawn = marks(patterns, patterns.pattern("floor"), contacts)
    assert contacts.found and all(mark.lines for mark in drawn)
    return [
        tuple(sorted((round(b - a, 1) for a, b in zip(mark.region.bounds[:2], mark.region.bounds[2:]))))
        for mark in drawn
    ]


def post(stock, wide, y, more=""):
    return (
        f"  post: {{kind: plate, stock: {stock}, outline: {{rectangle: {{width: {wide}, height: 40, centre: [0, 20]}}}}, "
        f"at: {{origin: [0, {y}, 0], normal: y, up: z}}{more}}}\n"
    )


@pytest.mark.parametrize("more", ["", ", rests_on: [floor]"])
@pytest.mark.parametrize(("deep", "wide", "count"), [(1.4, 60, 1), (2, 10, 1), (2, 6, 0), (4, 10, 1)])
def test_of_an_edge_that_stands_on_the_rim_a_short_sliver_is_no_place(tmp_path, deep, wide, count, more):
    """An edge of 6 mm foam of which the outer part stands beyond the floor."""
    assert places(tmp_path, post("foam", wide, 100 - deep, more)) == [(deep, wide)] * count


@pytest.mark.parametrize("more", ["", ", rests_on: [floor]"])
@pytest.mark.parametrize(("stock", "thick"), [("card", 0.5), ("acrylic", 3.0)])
def test_all_of_a_thin_sheet_is_a_place(tmp_path, stock, thick, more):
    assert places(tmp_path, post(stock, 30, 0, more)) == [(thick, 30.0)]


def test_the_end_of_a_thin_bar_and_the_face_of_a_narrow_strip_are_places(tmp_path):
    bar = "  bar: {kind: rod, stock: thick, made: laminated, diameter: 2.9, from: [40, 0, 0], to: [40, 0, 20]}\n"
    strip = "  strip: {kind: plate, stock: foam, outline: {rectangle: {width: 2, height: 2}}, at: {origin: [0, 0, 0], normal: z, up: y}}\n"
    assert sorted(places(tmp_path, bar + strip)) == [(2.0, 2.0), (2.9, 2.9)]

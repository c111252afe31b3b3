"""What the booklet says of measures and fit, and what the design file may say of them."""

import math
from collections.abc import Iterable
from dataclasses import is_dataclass
from types import SimpleNamespace

import pytest

from foamwright.booklet.pages.fit import _met, fit, measures
from foamwright.design.load import load
from foamwright.design.records import Parameter
from foamwright.errors import DesignError
from foamwright.model.figure import Contact, Entry, Fit
from foamwright.model.stability import Balance, Stability

PIECES = (
    SimpleNamespace(id="lip", label="A", name="Lip", placements=(0,), piece_of=""),
    SimpleNamespace(id="fin", label="B", name="Fin", placements=(0, 1), piece_of=""),
)
DESIGN = """\
format: 1
name: Cuff
version: 1.0.0
licence: CC0-1.0
parameters:
  scale: {{value: 1}}
  clearance: {{value: 0 mm}}
  arm: {{value: 310 mm, min: 200 mm, max: 450 mm, measure: Around the upper arm at its thickest}}
sizes: {{one: {{}}}}
stock: {{foam: {{name: EVA foam, thickness: 6 mm, sheet: [600, 600]}}}}
forms:
  sleeve:
    kind: superellipsoid
    radii: [90 * scale, 90, 90]
    cuts:
      top: {{prism: {{outline: {{circle: {{radius: 60}}}}, along: z, above: 0}}}}
      both: {{prism: {{outline: {{circle: {{radius: 60}}}}, along: z}}}}
      end: {{plane: {{normal: z, at: -60}}}}
      seam: {{curve: {{along: z, points: [[-200, 0], [200, 0]]}}}}
parts:
  base: {{kind: plate, stock: foam, outline: {{circle: {{radius: 80}}}}, at: {{normal: z}}, glue: contact}}
{more}
"""
FIGURE = (
    "figure: {{name: arm, solids: [{{cylinder: {{from: [0, 0, 0], to: [0, 0, 99], radius: arm / (2 * pi)}}}}], {}}}"
)


def design(tmp_path, more=""):
    path = tmp_path / "cuff.yaml"
    path.write_text(DESIGN.format(more=more))
    return load(path)


def words(found):
    """Every text of a chapter."""
    if isinstance(found, str):
        return found
    if is_dataclass(found):
        found = vars(found).values()
    return " ".join(words(one) for one in found) if isinstance(found, Iterable) else ""


def prop(*parameters):
    return SimpleNamespace(pieces=PIECES, design=SimpleNamespace(parameters=parameters))


def test_a_circumference_is_two_pi_times_the_radius(tmp_path):
    found = design(tmp_path, FIGURE.format("enters: {through: {form: sleeve, cut: top}}") + "\nstands: {}")
    assert found.figure["solids"][0]["cylinder"]["radius"] == pytest.approx(310 / (2 * math.pi))
    (arm,) = [p for p in found.parameters if p.measure]
    assert (arm.name, arm.measure) == ("arm", "Around the upper arm at its thickest")
    assert found.stands == {"down": "-z"}


@pytest.mark.parametrize(
    ("more", "message"),
    [
        (FIGURE.format("enters: {through: {form: sleeve, cut: tip}}"), "no cut 'tip'"),
        (FIGURE.format("enters: {through: {form: sleeve, cut: both}}"), "above or below"),
        (FIGURE.format("enters: {through: {form: sleeve, cut: seam}}"), "'seam' is a curve"),
        (FIGURE.format("enters: {}"), "direction or through"),
        ("stands: {figure_mass: 2}", "without a figure"),
        ("stands: {figure_mass: 0}", "more than 0"),
        ("figure: {name: dog, solids: [{mesh: {file: dog.stl}}]}", "dog.stl"),
    ],
)
def test_mistakes_are_named_in_one_line(tmp_path, more, message):
    with pytest.raises(DesignError, match=message) as caught:
        design(tmp_path, more)
    assert "\n" not in str(caught.value)


def test_a_scan_is_part_of_what_the_pack_depends_on(tmp_path):
    digests = []
    for content in (b"solid a", b"solid b"):
        (tmp_path / "dog.stl").write_bytes(content)
        digests.append(design(tmp_path, "figure: {name: dog, solids: [{mesh: {file: dog.stl, unit: cm}}]}").digest)
    assert digests[0] != digests[1]


def test_measures_are_listed_with_where_and_what_for():
    arm = Parameter("upper_arm", 310.0, "mm", 200.0, 450.0, "", "Around the upper arm")
    text = words(measures(prop(arm, Parameter("scale", 1.0, "", None, None, "")), None, 0.0))
    for expected in ("Upper arm", "Around the upper arm", "310 mm", "200 mm to 450 mm"):
        assert expected in text
    assert "--set" not in text  # whoever has only the pages has no program
    assert "Scale" not in text
    assert measures(prop(), None, 0.0).items == ()


def test_what_fits_in_is_told_before_anything_is_cut():
    at = (0.0, 0.0, 0.0)
    free = Entry((0.0, 0.0, -1.0), 7.0, "lip", 1, at, (), 0.0)
    text = words(measures(prop(), Fit("cat", 9.0, "lip", 1, at, (), free, (200.0, 110.0, 150.0)), 4.5))
    for expected in (
        "cat\u201d, 200 mm from front to back, 110 mm wide and 150 mm high",
        "9 mm is free around it once it is in, and 7 mm on its way in",
        "up to 4.5 kg",
    ):
        assert expected in text
    deep = Fit(
        "cat", 0.0, "lip", 1, at, (Contact("fin", 1, 12.4, at), Contact("lip", 1, 3.0, at)), free, (200.0, 110.0, 150.0)
    )
    assert "In this size it does not fit: it would reach 12 mm into the foam." in words(measures(prop(), deep, 0.0))


def test_the_fit_page_says_what_is_in_the_way_and_how_it_stands():
    at = (0.0, -12.0, 30.0)
    block = Contact("fin", 2, 4.2, at)
    entry = Entry((0.0, 0.0, -1.0), 0.0, "fin", 2, at, (block,), 85.4)
    stability = Stability(0.9, (0.0, 0.0, 50.0), 0.5, False, -4.25, (-0.8, 0.6, 0.0), ())
    found = Fit("cat", 3.21, "lip", 1, at, (), entry)
    text = words(fit(prop(), found, Balance(0.4, (5.0, 0.0, 40.0), stability), (), ()))
    for expected in (
        "3 mm, at the lip (A)",
        "straight in from above",
        "no: with 85 mm to go it meets one of the 2 fins (B)",
        "400 g",
        "falls over, back and left",
        "tilted 4° the other way",
    ):
        assert expected in text
    free = Entry((0.0, 0.0, -1.0), 2.5, "lip", 1, at, (), 0.0)
    steady = Stability(0.4, (0.0, 0.0, 50.0), 0.0, True, 21.3, (1.0, 0.0, 0.0), ())
    text = words(fit(prop(), Fit("cat", 3.0, "lip", 1, at, (), free), Balance(0.4, at, steady), (), ()))
    assert "yes, with at least 2 mm to spare all along" in text
    snug = words(fit(prop(), Fit("cat", 0.5, "lip", 1, at, (), free), Balance(0.4, at, steady), (), ()))
    assert "0.5 mm, at the lip (A)" in snug and "0 mm, at" not in snug.replace("0.5 mm", "")
    assert "yes; it tips over once it is tilted by 21° or more (forward)" in text


def test_a_long_list_of_contacts_is_cut_short_and_copies_of_one_name_are_told_once():
    contacts = tuple(Contact("fin", n, float(n), (0.0, 0.0, 0.0)) for n in range(1, 31))
    text = words(fit(prop(), Fit("cat", 0.0, "lip", 1, (0.0, 0.0, 0.0), contacts), None, (), ()))
    assert text.count("30.0 mm deep") == 1 and text.count("mm deep") == 1 and "more" not in text
    many = tuple(Contact(f"fin_{n}", 1, 1.0, (0.0, 0.0, 0.0)) for n in range(1, 31))
    assert _met(many, str).endswith("and 25 more")

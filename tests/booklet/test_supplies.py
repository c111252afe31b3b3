"""What steps speak of is in the list before the work: tools, and what is used up."""

import re
from dataclasses import replace

import pytest
from sample_prop import sample
from test_order import many_parts, order

from foamwright.assembly.units import is_bare
from foamwright.booklet.pages.lists import tools
from foamwright.booklet.pages.materials import shopping
from foamwright.booklet.words.supplies import SUPPLIES, bought_anyway, mentioned, named, ready
from foamwright.design.records import Bought


def missing(steps):
    """(step, supply, sentence) where a sentence names what the step does not list."""
    return [
        (step.number, key, line)
        for step in steps
        for line in step.instructions
        for key, supply in SUPPLIES.items()
        if re.search(supply.signs, line) and key not in step.uses
    ]


def all_steps():
    prop, patterns = sample()
    yield order(prop, patterns)
    maker = many_parts()
    yield order(
        maker.prop(), replace(patterns, prop=maker.prop(), patterns=tuple(maker.patterns), seams=tuple(maker.seams))
    )


def test_what_a_sentence_names_is_in_the_list_of_its_step():
    for steps in all_steps():
        usual = {key for key, supply in SUPPLIES.items() if supply.usual}
        found = missing(steps)
        assert [entry for entry in found if entry[1] not in usual] == []
        assert {key for _, key, _ in found} <= {key for step in steps for key in step.uses}


def test_all_that_steps_use_is_a_tool_or_in_the_shopping_list_and_never_both():
    prop, patterns = sample()
    steps = order(prop, patterns)
    used = {key for step in steps for key in step.uses}
    listed = {line for item in tools(steps, patterns).items for line in getattr(item, "lines", ())}
    kept = {named(key) for key in used if any(line.startswith(named(key)) for line in listed)}
    bought = {line.item.lower() for line in shopping(prop, patterns, (), steps)}
    for key in used:
        supply, name = SUPPLIES[key], named(key).lower()
        word = {"primer": "rubberised primer", "paint": "flexible acrylic paint"}.get(key, name)
        assert (named(key) in kept) != any(word in item for item in bought), key
        assert supply.consumed == (named(key) not in kept), key


@pytest.mark.parametrize(
    ("note", "key"),
    [
        ("Line both cradles with felt.", "felt"),
        ("Fill the box with washed gravel.", "gravel"),
        ("Warm the leaves and bend them down.", "heat"),
        ("Sand the rim round.", "sandpaper"),
        ("Sew the strap to the shell.", "strap"),
        ("Sew the strap to the shell.", "thread"),
        ("Lay baking paper between.", "slip-paper"),
    ],
)
def test_a_note_of_a_design_calls_for_what_it_names(note, key):
    assert key in mentioned([note])
    step = replace(next(all_steps())[0], uses=(key, "guard"), bought=())
    assert ready(step) == [named(key)]  # the cautions tell what guards


def test_a_note_on_something_else_calls_for_nothing():
    assert mentioned(["It feels soft, and its underside lies on the walls.", "Leave the ring loose."]) == []
    assert mentioned(["The felt bends where the lid meets the box."], ["Craft felt 2 mm"]) == []  # that is meant


@pytest.mark.parametrize("material", ["paper", "acrylic", "plywood"])
def test_what_stays_bare_buys_no_primer_paint_or_varnish(material):
    """A pane of paper, or one of wood that has no colour, beside a painted plate: the list is that of the plate alone."""
    prop, patterns = sample()
    steps = order(prop, patterns)

    def coats(of):
        every = shopping(prop, replace(patterns, patterns=tuple(of)), (), steps)
        return {line.item: line.basis for line in every if "with edges and insides" in line.basis}

    first, *others = patterns.patterns
    sheet = replace(first.piece.stock, material_type=material)
    pane = replace(first, piece=replace(first.piece, stock=sheet, paint=""))
    with_pane = coats([pane, *others])
    assert with_pane == coats([replace(first, area=0.0), *others]) != coats([first, *others])
    assert len(with_pane) > 2
    coloured = replace(first, piece=replace(first.piece, stock=sheet, paint="red"))
    assert is_bare(coloured.piece) == (material != "plywood")


def test_straps_that_the_design_buys_are_not_bought_twice():
    """Webbing that is threaded is what "straps" are made of; a buckle alone is not."""
    webbing = Bought("Webbing", 20.0, 1800.0, 0, "", (("slot_front", "slot_back"),))
    assert "strap" in bought_anyway({"webbing": webbing})
    assert "strap" in bought_anyway({"band": Bought("Leather strap", 20.0, 900.0, 0, "")})
    assert "felt" in bought_anyway({"felt_hinge": Bought("Felt for the hinge", 30.0, 90.0, 0, "")})
    assert "felt" in bought_anyway({"pad": Bought("Self-adhesive felt", None, None, 1, "")})
    assert bought_anyway({"buckle": Bought("Buckle", 20.0, None, 2, "for each strap")}) == set()


@pytest.mark.parametrize(
    ("material", "words", "caution"),
    [
        ("plywood", "out of plywood with a fretsaw", "saw"),
        ("acrylic", "Saw curves with a fretsaw", "sawing"),  # which makes no wood dust
    ],
)
def test_what_is_sawn_has_a_saw_and_sandpaper_ready(material, words, caution):
    prop, patterns = sample()
    first, *others = patterns.patterns
    sheet = replace(first.piece.stock, material_type=material)
    board = replace(first, piece=replace(first.piece, stock=sheet))
    cut = order(prop, replace(patterns, patterns=(board, *others)))[0]
    assert any(words in line for line in cut.instructions)
    assert {"saw", "sandpaper"} <= {*cut.uses} and {caution, "sanding-dust"} <= {*cut.cautions}
    assert len({"saw", "sawing"} & {*cut.cautions}) == 1
    foam = order(prop, patterns)[0]
    assert "saw" not in foam.uses and not any("fretsaw" in line for line in foam.instructions)

"""All that the steps of the shipped designs speak of is in the list of tools or in the shopping list, by a list of trade words of the
test's own, and nothing stands there that no sentence of a step calls for (common practice, no source)."""

import re

import pytest

from foamwright.booklet.pages.lists import tools
from foamwright.booklet.pages.materials import shopping
from foamwright.booklet.words.supplies import SUPPLIES

DESIGNS = ("acorn-bed", "beetle-shoulder", "harbour-lantern", "pocket-submarine")
# what a sentence names: what one of the lists then has
CALLED = {
    r"heat gun|\bwarm (it|the foam|its)\b": "heat gun",
    r"\bpress(ed)? .* over a ball": "ball",
    r"\bgauges?\b": "bend gauges",
    r"\bcompasses\b": "compasses",
    r"\bset square\b": "set square",
    r"\bstraight edge\b|\brule\b|\d mm \(": "straight edge",
    r"\b(sand|sandpaper|grit)\b": "abrasive paper",
    r"\bprimer\b": "rubberised primer",
    r"\bvarnish\b": "varnish",
    r"\bacrylic\b": "acrylic paint",
    r"\bspray colour\b": "spray colour",
    r"\bgap filler\b": "gap filler",
    r"\bsponge\b|\bsoft brush": "sponge",
    r"\b(wipe|cloth)\b": "cloths",
    r"\blow-tack tape\b": "low-tack tape",
    r"\bmasking tape\b|\bhold .* with tape\b": "tape",
    r"\bbaking paper\b": "baking paper",
    r"\bcarbon paper\b": "carbon paper",
    r"\b(rub out|rubbed out)\b": "eraser",
    r"\bunder a board\b": "flat board",
    r"\bawl\b|\b[Pp]rick\b": "awl",
    r"\bhole punch\b": "hole punch",
    r"\bfine saw\b": "saw",
    r"\btilt the blade\b|\bblock cut to\b": "protractor",
    r"\bfelt\b": "felt",
    r"\bgravel\b": "gravel",
    r"\bpins?\b": "pins",
    r"\bneedle and\b|\b[Ss]ew\b": "needle",
    r"\bpencil\b": "pencil",
    r"\bsomething round\b": "round things",
}


@pytest.fixture(scope="module", params=DESIGNS)
def made(request, stages_of):
    stages = stages_of(request.param)
    steps, patterns, prop = (stages.record(name) for name in ("steps", "patterns", "prop"))
    lines = [line for item in tools(steps, patterns).items for line in getattr(item, "lines", ())]
    bought = [line.item for line in shopping(prop, patterns, (), steps)]
    return steps, " | ".join((*lines, *bought)).lower()


def test_what_a_step_speaks_of_is_in_the_lists(made):
    steps, lists = made
    said = [(step.number, line) for step in steps for line in step.instructions]
    lacking = [
        (number, name, line)
        for number, line in said
        for word, name in CALLED.items()
        if re.search(word, line) and name not in lists
    ]
    assert lacking == []


def test_a_step_has_ready_what_it_speaks_of(made):
    """But for what lies on the bench all the time."""
    steps, _ = made
    lacking = [
        (step.number, key, line)
        for step in steps
        for line in step.instructions
        for key, supply in SUPPLIES.items()
        if not supply.usual and key not in step.uses and re.search(supply.signs, line) and not step.bought
    ]
    assert lacking == []


def test_nothing_is_listed_that_no_step_speaks_of(made):
    steps, _ = made
    every = " ".join(line for step in steps for line in step.instructions)
    used = {key for step in steps for key in step.uses}
    idle = [key for key in used if not SUPPLIES[key].usual and not re.search(SUPPLIES[key].signs, every)]
    assert idle == []

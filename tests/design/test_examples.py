"""The examples of the reference: one of each kind, and all of them can be placed."""

from pathlib import Path

import foamwright.design.examples
from foamwright.design import check_all, load
from foamwright.design.examples import NAME, examples
from foamwright.design.fields.forms import FORMS
from foamwright.parts.attempt import attempt
from foamwright.registry import kinds

PATH = Path(foamwright.design.examples.__file__).with_name(NAME)
FROM_FILES = {"mesh", "step", "solid"}  # need a file or a package that the examples do not have


def test_every_kind_has_an_example():
    assert set(examples()) == ({kind.name for kind in kinds()} | {*FORMS}) - FROM_FILES


def test_an_example_is_the_lines_of_its_part():
    told = examples()["gusset"].splitlines()
    assert told[:2] == ["brace:", "  kind: gusset"] and told[-1] == "  after: [screen]"


def test_all_examples_can_be_placed():
    check_all(PATH)
    assert not attempt(load(PATH, "large")).failures

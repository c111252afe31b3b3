"""What is said of a prop that a pet wears, beside one that it lies in and one that a person wears."""

from types import SimpleNamespace

import pytest
from small_designs import head, lines_of, stages_of_text

from foamwright.booklet.pages.lists import care
from foamwright.booklet.words.painting import last

DESIGN = (
    head("Saddle", "0.5 mm")
    + """\
used_by: USERS
figure: {name: dog, solids: [{box: {centre: [0, 0, DOWN], size: [60, 60, 60]}}]}
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
parts:
  back:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 120, height: 120}}
    at: {origin: [0, 0, 60], normal: z, up: y}
"""
)


def _care(users):
    chapter = care(SimpleNamespace(used_by=users), 0.0)
    return {item.title: item.text for item in chapter.items if hasattr(item, "title")}


def test_what_a_pet_wears_is_no_bed_and_no_costume_of_a_person():
    told = _care(("pet", "wearer"))
    assert "Worn on the body" not in told
    assert "jump on what they lie in" not in told["For pets"]
    for word in ("minutes at a time", "never round the neck", "pants", "keeps the heat in", "Air it for a week"):
        assert word in told["For pets"]


def test_a_bed_and_a_costume_keep_their_words():
    assert (
        "jump on what they lie in" in _care(("pet",))["For pets"] and "Air it for a week" in _care(("pet",))["For pets"]
    )
    assert "breathe before you walk" in _care(("wearer",))["Worn on the body"]


@pytest.mark.parametrize(("users", "word"), [(("pet", "wearer"), "Put it on the pet"), (("pet",), "Let the pet in")])
def test_it_waits_for_a_week_of_airing(users, word):
    assert next(line for line in last(users)[1] if "week of airing" in line).startswith(word)


@pytest.mark.parametrize(
    ("users", "room", "word"),
    [
        ("[pet, wearer]", 100, "Do not try it with the animal yet"),
        ("[pet]", 5, "Do not try it with the animal yet"),
        ("[pet]", 100, "Do not try it with the animal yet: the cement is fresh."),
        ("[wearer]", 100, "Try it on before you seal it"),
        ("[]", 5, "Put the dog in its place once"),
    ],
)
def test_no_animal_is_held_against_fresh_cement(tmp_path, users, room, word):
    told = lines_of(stages_of_text(tmp_path, DESIGN.replace("USERS", users).replace("DOWN", str(25 - room))))
    tried = ("Do not try it with", "Try it on before", "in its place once")
    found = [line for line in told if any(words in line for words in tried)]
    assert len(found) == 1 and found[0].startswith(word)
    cushion = any("Try it with a bag or a cushion" in line for line in told)
    assert cushion == ("pet" in users and (room == 5 or "wearer" in users))

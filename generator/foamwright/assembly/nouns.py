"""English nouns as designs name parts by them: which word of a name is the noun, whether it is a plural already, and its plural.
Usual English grammar; what it does not know gets an "s"."""

from __future__ import annotations

import re

_IRREGULAR = {
    "foot": "feet",
    "tooth": "teeth",
    "goose": "geese",
    "mouse": "mice",
    "man": "men",
    "woman": "women",
    "child": "children",
    "person": "people",
    "ox": "oxen",
    "die": "dice",
    "axis": "axes",
    "vertex": "vertices",
    "quiz": "quizzes",
}
_VES = {
    "leaf",
    "half",
    "shelf",
    "scarf",
    "wolf",
    "calf",
    "elf",
    "sheaf",
    "thief",
    "loaf",
    "hoof",
    "knife",
    "life",
    "wife",
}
_OES = {"torpedo", "hero", "potato", "tomato", "echo", "volcano", "mosquito", "buffalo"}
_ONE = {"lens", "gas", "bus", "canvas", "atlas", "alias", "bias", "pancreas"}  # an "s" at the end, and one thing
_UNCHANGED = {"chassis", "series", "species", "sheep", "fish", "deer", "aircraft", "spacecraft", "headquarters"}
_BEHIND = {"of", "for", "with", "in", "on", "at", "over", "under", "to", "from", "above", "below", "behind", "between"}


def is_plural(name: str) -> bool:
    """Does a name stand for several things as it is: "feet", "scissors", "ears of the cat"?"""
    words = name.split()
    word = words[_noun(words)].lower() if words else ""
    if word in _UNCHANGED or word in _ONE or not word.isalpha():
        return False
    return word in _IRREGULAR.values() or (word.endswith("s") and not word.endswith(("ss", "us", "is")))


def plural(name: str) -> str:
    """Of a name; what stands behind its noun (a number, "of the hull", what follows a comma) stays as it is."""
    words = name.split()
    if not words or is_plural(name):
        return name
    at = _noun(words)
    found = re.fullmatch(r"(.*?)([^\W\d_]+)(,?)", words[at])
    if found is None:
        return name
    before, noun, comma = found.groups()
    return " ".join([*words[:at], before + _plural(noun) + comma, *words[at + 1 :]])


def _noun(words: list[str]) -> int:
    """Which of some words is the noun: the last before a comma, a preposition, a bracket or a number."""
    for at, word in enumerate(words[1:], 1):
        if (
            word.lower() in _BEHIND
            or not word[0].isalpha()
            or any(c.isdigit() for c in word)
            or words[at - 1][-1] == ","
        ):
            return at - 1
    return len(words) - 1


def _plural(noun: str) -> str:
    low = noun.lower()
    if low in _UNCHANGED:
        return noun
    if low in _IRREGULAR:
        return noun[0] + _IRREGULAR[low][1:]
    if low in _VES:
        return noun.removesuffix("e").removesuffix("f") + "ves"
    if low.endswith(("s", "x", "z", "ch", "sh")) or low in _OES:
        return noun + "es"
    if low.endswith("y") and low[-2:-1] not in "aeiou":
        return noun[:-1] + "ies"
    return noun + "s"

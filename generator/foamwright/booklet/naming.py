"""What a part is called in a sentence: its name with its letter, one of them or several."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.booklet.language import listed
from foamwright.parts.records import Piece


def plain(name: str) -> str:
    """A name as it stands within a sentence: "Bow, upper" is the "upper bow"."""
    head, comma, tail = name.partition(", ")
    if comma and "," not in tail and not any(c.isdigit() for c in tail) and " and " not in tail:
        name = f"{tail} {head}"
    return " ".join(word.lower() if word[1:] == word[1:].lower() else word for word in name.split())


def several(name: str) -> str:
    """The English plural of a plain name; a number at its end stays in place."""
    words = name.split()
    at = len(words) - 1
    while at > 0 and any(c.isdigit() for c in words[at]):
        at -= 1
    noun = words[at]
    if noun.endswith(("s", "x", "ch", "sh")):
        noun += "es"
    elif noun.endswith("y") and noun[-2:-1] not in "aeiou":
        noun = f"{noun[:-1]}ies"
    elif noun.endswith("f") and not noun.endswith("of"):
        noun = f"{noun[:-1]}ves"
    else:
        noun += "s"
    return " ".join([*words[:at], noun, *words[at + 1 :]])


def the(piece: Piece) -> str:
    """ "the deck (B)", "the 6 panes (D)"."""
    copies = len(piece.placements)
    name = plain(piece.name)
    if copies == 1 or name.endswith("s"):
        return f"the {name} ({piece.label})"
    return f"the {copies} {several(name)} ({piece.label})"


def bare(piece: Piece) -> str:
    """As `the`, without article, number and letter: "deck", "panes"."""
    name = plain(piece.name)
    return name if len(piece.placements) == 1 or name.endswith("s") else several(name)


def all_of(pieces: Sequence[Piece]) -> str:
    return listed([the(piece) for piece in pieces])


def capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]

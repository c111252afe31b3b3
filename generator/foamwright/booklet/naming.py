"""What a part is called in a sentence: its name with its letter, one of them or several."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.language import listed
from foamwright.parts.records import Piece

_OF_WHOLES = ("prism", "box")


def plain(name: str) -> str:
    """A name as it stands within a sentence: "Bow, upper" is the "upper bow"."""
    head, comma, tail = name.partition(", ")
    if comma and "," not in tail and not any(c.isdigit() for c in name) and " and " not in tail:
        name = f"{tail} {head}"
    return " ".join(word.lower() if word[1:] == word[1:].lower() else word for word in name.split())


def role(piece: Piece) -> tuple[str, str]:
    """("side", "foot") of a part that is a member of a whole, (its name, "") of any other."""
    head, comma, tail = piece.name.rpartition(", ")
    if comma and (piece.kind in _OF_WHOLES or tail.startswith("round ")):
        return plain(tail), plain(head)
    return plain(piece.name), ""


def several(name: str) -> str:
    """The English plural of a plain name; a number at its end stays in place."""
    if " and " in name:
        return f"{name} plates"  # the plates of a box at two faces
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
    """ "the deck (B)", "the 6 panes (D)", "the 6 sides of the foot (A)"."""
    return f"the {_counted(piece)} ({piece.label}){_of(piece)}"


def bare(piece: Piece) -> str:
    """As `the`, without article, number and letter: "deck", "panes"."""
    name, _ = role(piece)
    return f"{name if len(piece.placements) == 1 else several(name)}{_of(piece)}"


def _counted(piece: Piece) -> str:
    name, _ = role(piece)
    copies = len(piece.placements)
    return name if copies == 1 else f"{copies} {several(name)}"


def _of(piece: Piece) -> str:
    whole = role(piece)[1]
    return f" of the {whole}" if whole else ""


def one_of(piece: Piece) -> str:
    """A single copy: "the deck (B)", "each pane (D)"."""
    name, _ = role(piece)
    return f"{'the' if len(piece.placements) == 1 else 'each'} {name} ({piece.label}){_of(piece)}"


def all_of(pieces: Sequence[Piece]) -> str:
    return listed([the(piece) for piece in pieces])


def capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]

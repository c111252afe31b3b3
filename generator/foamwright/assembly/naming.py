"""What a part is called in a sentence: its name with its letter, one of them or several."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.language import language, listed, say
from foamwright.parts.records import Piece

_OF_WHOLES = ("prism", "box")
_ROUND = "round "  # what a stack calls its discs, with a number


def plain(name: str) -> str:
    """A name as it stands within a sentence: "Bow, upper" is the "upper bow"."""
    head, comma, tail = name.partition(", ")
    if comma and "," not in tail and not any(c.isdigit() for c in name) and " and " not in tail:
        name = f"{tail} {head}"
    return " ".join(word.lower() if word[1:] == word[1:].lower() else word for word in name.split())


def role(piece: Piece) -> tuple[str, str]:
    """("side", "foot") of a part that is a member of a whole, (its name, "") of any other."""
    head, comma, tail = piece.name.rpartition(", ")
    if comma and (piece.kind in _OF_WHOLES or tail.startswith(_ROUND)):
        return plain(tail), plain(head)
    return plain(piece.name), ""


def several(name: str) -> str:
    """The English plural of a plain name, as a design gives it; a number at its end stays in place."""
    if language() != "en":
        return name  # what the design calls it, unbent
    if " and " in name:
        return f"{name} plates"  # the plates of a box at two faces
    name, comma, rest = name.partition(", ")  # "scale, row 1": what stands behind the comma only tells it apart
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
    return " ".join([*words[:at], noun, *words[at + 1 :]]) + comma + rest


def one_plate(piece: Piece) -> str:
    """One of the plates of a box at two faces: the "top or bottom" of the "top and bottom" ones."""
    name = role(piece)[0]
    return say("{name} plate", name=name.replace(" and ", " or ")) if " and " in name else name


def the(piece: Piece) -> str:
    """ "the deck (B)", "the 6 panes (D)", "the 6 sides (A) of the foot"."""
    name, whole = role(piece)
    copies = len(piece.placements) or piece.loose
    if whole and name.startswith(_ROUND) and copies == 1:
        return say("{name} ({label}) of the {whole}", name=name, label=piece.label, whole=whole)
    if copies == 1:
        if whole:
            return say("the {name} ({label}) of the {whole}", name=name, label=piece.label, whole=whole)
        return say("the {name} ({label})", name=name, label=piece.label)
    facts = {"n": copies, "names": several(name), "label": piece.label}
    if whole:
        return say("the {n} {names} ({label}) of the {whole}", whole=whole, **facts)
    return say("the {n} {names} ({label})", **facts)


def bare(piece: Piece) -> str:
    """As `the`, without article, number and letter: "deck", "panes"."""
    name, whole = role(piece)
    shown = name if (len(piece.placements) or piece.loose) == 1 else several(name)
    return say("{name} of the {whole}", name=shown, whole=whole) if whole else shown


def one_of(piece: Piece) -> str:
    """A single copy: "the deck (B)", "each pane (D)"."""
    if len(piece.placements) == 1:
        return the(piece)
    name, whole = role(piece)
    if whole:
        return say("each {name} ({label}) of the {whole}", name=name, label=piece.label, whole=whole)
    return say("each {name} ({label})", name=name, label=piece.label)


def members(pieces: Sequence[Piece]) -> str:
    """As `all_of`, where what they are members of has just been named."""
    return listed([_counted(piece) for piece in pieces])


def some_of(piece: Piece, copies: int) -> str:
    """As `the`, of so many of its copies: "2 of the 6 sides (A) of the foot"."""
    if copies >= len(piece.placements):
        return the(piece)
    return say("{n} of {parts}", n=copies, parts=the(piece))


def all_of(pieces: Sequence[Piece]) -> str:
    """Several parts in one row of words; the whole that all of them are members of is named once."""
    wholes = {role(piece)[1] for piece in pieces}
    if len(pieces) > 1 and len(wholes) == 1 and "" not in wholes:
        names = listed([_counted(piece) for piece in pieces])
        return say("{parts} of the {whole}", parts=names, whole=wholes.pop())
    return listed([the(piece) for piece in pieces])


def _counted(piece: Piece) -> str:
    """As `the`, without the whole."""
    name, copies = role(piece)[0], len(piece.placements) or piece.loose
    if copies == 1:
        if name.startswith(_ROUND):
            return say("{name} ({label})", name=name, label=piece.label)
        return say("the {name} ({label})", name=name, label=piece.label)
    return say("the {n} {names} ({label})", n=copies, names=several(name), label=piece.label)


def capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def rows(numbers: Sequence[int]) -> list[list[int]]:
    """Rising numbers, those that follow on each other together."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return found

"""What a part is called in a sentence: its name with its letter, one of them or several."""

from __future__ import annotations

import re
from collections.abc import Sequence

from foamwright.assembly.nouns import is_plural, plural
from foamwright.language import language, listed, say
from foamwright.parts.names import THINGS
from foamwright.parts.records import Piece

_OF_WHOLES = ("prism", "box")
_ROUND = "round "  # what a stack calls its discs, with a number


def plain(name: str) -> str:
    """A name as it stands within a sentence: "Bow, upper" is the "upper bow" in English, "Scute, back, middle" the "middle back
    scute" and "Lid, inner ring" the "inner ring of the lid"; other languages keep it as it is."""
    if language() != "en":
        return name
    head, *tails = re.split(", +", name)
    if all(tails) and not any(c.isdigit() or c == "(" for c in name) and " and " not in ", ".join(tails):
        name = head
        for tail in tails:
            thing = tail.split()[-1].lower() in THINGS
            name = f"{tail} of the {name}" if thing else f"{tail} {name}"
    return " ".join(word if _keeps_capital(word) else word.lower() for word in name.split())


def name_of(piece: Piece) -> str:
    """The name of a part within a sentence: `plain`, but of what is a piece of a thing that has others, "Bay, side", the "side
    piece of the bay" in English, as there may be two sides and is one bay."""
    head, _, tail = piece.name.partition(", ")
    if not piece.piece_of or language() != "en" or (tail.split()[-1].lower() in THINGS and " and " not in tail):
        return plain(piece.name)
    return f"{plain(tail)} piece of the {plain(head)}"


def _keeps_capital(word: str) -> bool:
    """Is it an abbreviation, a name with capitals within, or a letter that is a shape, as in "T-bar"?"""
    return word[1:] != word[1:].lower() or not word[1:2].isalpha()


def role(piece: Piece) -> tuple[str, str]:
    """("side", "foot") of a part that is a member of a whole, (its name, "") of any other."""
    head, comma, tail = piece.name.rpartition(", ")
    if comma and (piece.kind in _OF_WHOLES or tail.startswith(_ROUND)):
        return plain(tail), plain(head)
    return name_of(piece), ""


def several(name: str) -> str:
    """The plural of a plain name in English; in other languages what the design calls it, unbent."""
    return plural(name) if language() == "en" else name


def _all_copies(piece: Piece) -> str:
    """Of the role of a part, or of the two faces of a box that it is the plates at."""
    name, whole = role(piece)
    return f"{name} plates" if whole and " and " in name and language() == "en" else several(name)


def one_plate(piece: Piece) -> str:
    """One of the plates of a box at two faces: the "top or bottom" of the "top and bottom" ones."""
    name, whole = role(piece)
    return say("{name} plate", name=name.replace(" and ", " or ")) if whole and " and " in name else name


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
    facts = {"n": copies, "names": _all_copies(piece), "label": piece.label}
    if whole:
        return say("the {n} {names} ({label}) of the {whole}", whole=whole, **facts)
    return say("the {n} {names} ({label})", **facts)


def bare(piece: Piece) -> str:
    """As `the`, without article, number and letter: "deck", "panes"."""
    name, whole = role(piece)
    shown = name if (len(piece.placements) or piece.loose) == 1 else _all_copies(piece)
    return say("{name} of the {whole}", name=shown, whole=whole) if whole else shown


def one_of(piece: Piece) -> str:
    """A single copy: "the deck (B)", "each pane (D)"."""
    if len(piece.placements) == 1:
        return the(piece)
    name, whole = role(piece)
    if whole:
        return say("each {name} ({label}) of the {whole}", name=name, label=piece.label, whole=whole)
    if is_plural(name) and language() == "en":  # each of several pairs of ears, which one template gives
        return say("each of the {names} ({label})", names=name, label=piece.label)
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
    return say("the {n} {names} ({label})", n=copies, names=_all_copies(piece), label=piece.label)


def capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def letters(pieces: Sequence[Piece]) -> str:
    """The letters of parts in a list: "A, B, C"."""
    return ", ".join(piece.label for piece in pieces)

"""Titles of the steps: what a step does to which parts, without letters and kinds."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.assembly.naming import bare, plain, role, several
from foamwright.assembly.units import Unit
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import count, listed, say
from foamwright.parts.records import BandBody, PanelBody, Piece, RodBody

_NAMED_TOGETHER = 6


def title(told: Fitting) -> str:
    """What the step does to which parts, without letters and kinds."""
    for unit in told.units:
        if unit.title:
            return unit.title
    pieces = told.pieces
    wholes = [unit for unit in told.units if unit.whole]
    if len(told.units) == 1 and wholes:
        unit = wholes[0]
        facts = {"thing": plain(unit.whole), "things": several(plain(unit.whole))}
        if not told.standing:
            return count("Build the {thing}", "Build the {n} {things}", told.made(unit), **facts)
        return count(
            "Build the {thing} and set it in place",
            "Build the {n} {things} and set them in place",
            told.made(unit),
            **facts,
        )
    things = [thing for unit in told.units for thing in _things(told, unit)]
    if _begins(told):
        return say("Glue the {things} on the {base}", things=listed(things[1:]), base=things[0])
    names = listed(things[:_NAMED_TOGETHER])
    if len(things) > _NAMED_TOGETHER:
        names = count(
            "{names} and {n} more part",
            "{names} and {n} more parts",
            len(things) - _NAMED_TOGETHER,
            names=", ".join(things[:_NAMED_TOGETHER]),
        )
    if told.standing and len(pieces) > 1 and not _onto_what_stands(told):
        return say("At the bench: join the {things}", things=names)
    if all(piece.glue == "none" for piece in pieces) or _only_set_down(told):
        return say("Put the {things} in place, without glue", things=names)
    if all(isinstance(piece.body, PanelBody) for piece in pieces):
        own = [joint for joint in told.seams if len(joint.parts) == 1]
        if own and len(pieces) == 1 and all(pieces[0].closes_itself(*joint.edges) for joint in own):
            return (
                count(
                    "Close the {things} and set it in place",
                    "Close the {things} and set them in place",
                    len(pieces[0].placements),
                    things=names,
                )
                if told.standing
                else say("Close the {things}", things=names)
            )
        if told.seams and not any(piece.lies_on for piece in pieces):
            return say("Join the {things}", things=names)
        if any(piece.lies_on for piece in pieces) or (told.anything and not told.meetings):
            return say("Lay on the {things}", things=names)
    if not told.anything and not told.meetings:
        if told.begun:
            return say("Lay out the {things}", things=names)
        return say("Begin with the {things}", things=names)
    if all(isinstance(piece.body, BandBody) for piece in pieces):
        return say("Fit the {things}", things=names)
    if told.meetings and all(_goes_over_bars(told, piece) for piece in pieces):
        return say("Slip on the {things}", things=names)
    if told.meetings and all(told.goes_inside(piece) for piece in pieces):
        return say("Set in the {things}", things=names)
    return say("Glue on the {things}", things=names)


def _goes_over_bars(told: Fitting, piece: Piece) -> bool:
    """Has a part holes for bars that stand, as a wheel for its axle?"""
    bars = [m for m in told.meetings if m.new == piece.id and m.in_hole]
    return bool(bars) and all(isinstance(told.every[m.other].body, RodBody) for m in bars) and told.goes_inside(piece)


def _only_set_down(told: Fitting) -> bool:
    """Does all that goes in only rest on what stands?"""
    return bool(told.meetings) and not told.seams and all(m.glue == "none" for m in told.meetings)


def _onto_what_stands(told: Fitting) -> bool:
    """Is anything of the step glued to what stands already, or set on it?"""
    own = {piece.id for piece in told.pieces}
    met = {m.other for m in told.meetings} | {part for joint in told.seams for part in joint.parts}
    loose = any(not any(piece.id in m.parts for m in told.meetings) for piece in told.pieces)
    return loose or bool(met - own)


def _begins(told: Fitting) -> bool:
    """Is the first part only laid down, for the others to be glued on?"""
    first = told.pieces[0].id
    return (
        not told.standing
        and len(told.units) > 1
        and not any(m.new == first for m in told.meetings)
        and not any(first in joint.parts for joint in told.seams)
        and all(any(m.new == piece.id and m.other == first for m in told.meetings) for piece in told.pieces[1:])
    )


def _things(told: Fitting, unit: Unit) -> list[str]:
    """What a title calls the parts of a unit: a whole by its own name."""
    if unit.whole:
        return [plain(unit.whole)]
    return [bare(piece) for piece in told.pieces if piece.id in unit.parts]


def bench(riders: Sequence[Piece], leads: Sequence[tuple[Piece, int]], into: bool) -> str:
    """`leads` are the parts that carry the riders, each with how many of its copies do; `into`: by the riders' edges."""
    wholes = {role(piece)[1] for piece in riders}
    one = len(riders) > 1 and len(wholes) == 1 and "" not in wholes
    things = wholes.pop() if one else listed([bare(piece) for piece in riders])
    base = listed([_so_many(piece, copies) for piece, copies in leads])
    if into:
        return say("At the bench: put the {things} into {base}", things=things, base=base)
    return say("At the bench: put the {things} on {base}", things=things, base=base)


def _so_many(piece: Piece, copies: int) -> str:
    """ "the deck", "the panes", "one body" of several."""
    if copies < len(piece.placements) and copies == 1:
        return say("one {name}", name=role(piece)[0])
    return say("the {names}", names=bare(piece))


def loose(pieces: Sequence[Piece]) -> str:
    return say("Add the {things}", things=listed([bare(piece) for piece in pieces]))


def cut() -> str:
    return say("Print, transfer and cut")

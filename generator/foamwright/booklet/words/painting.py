"""The sentences of sealing, painting and curing."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType

from foamwright.assembly import practice
from foamwright.assembly.naming import all_of, bare, capital, letters, role, the
from foamwright.assembly.work import Passages
from foamwright.booklet.words import bending, masking
from foamwright.language import count, duration, listed, say
from foamwright.parts.records import Piece

_METAL = re.compile(
    r"\b(metal|steel|iron|brass|bronze|copper|silver|gold|tin|zinc|alumini?um|chrome|rust(?! red)|gunmetal"
    r"|metall|stahl|eisen|messing|kupfer|silber|zinn|zink|chrom|rost(?!rot))",
    re.IGNORECASE,
)
_GLUED = re.compile(
    r"\b(glued?|gluing|(an|auf|ein|fest)?kleb(en|e|t)|(an|auf|ein|fest)geklebt|kleber)\b", re.IGNORECASE
)
_NOT_HERE = re.compile(r"\b(away from|clear of|without|no|fern von|ohne|kein\w*)\b[^,.;:]*", re.IGNORECASE)
_INSTANT = re.compile(r"\b(instant|super ?glue|sekundenkleber)", re.IGNORECASE)


def glues_of(note: str) -> set[str]:
    """The glue that a note of the design calls for, by its words; contact cement where it names none. What it keeps
    away from glue, or does without, takes none."""
    used = _NOT_HERE.sub("", note)
    if not _GLUED.search(used):
        return set()
    return {"instant"} if _INSTANT.search(used) else {"contact"}


def scraped() -> list[str]:
    """How something is glued to what is painted."""
    return [
        say(
            "Glue holds on foam and not on paint: where you glue something on here, scrape the paint off down to the foam."
        )
    ]


def of_metal(pieces: Sequence[Piece]) -> list[Piece]:
    """The parts that have the colour of a metal, by the words of the design."""
    return [piece for piece in pieces if _METAL.search(piece.paint)]


def paint(
    pieces: Sequence[Piece],
    masks: Sequence[Piece],
    final: bool,
    apart: Sequence[Piece],
    kept_bare: Sequence[masking.Bare],
    finished: Sequence[Piece],
    as_before: int,
    inside_of: Sequence[Piece] = (),
    open_inside: Sequence[Piece] = (),
    lined_inside: Sequence[Piece] = (),
    done_inside: Sequence[Piece] = (),
    hidden: Mapping[bool, Sequence[Piece]] = MappingProxyType({}),
    beside: Mapping[str, Sequence[Piece]] = MappingProxyType({}),
    joined: bool = True,
    metal: Sequence[Piece] = (),
    finish: Sequence[str] = (),
    with_loose: Collection[str] = (),
    dry: Sequence[str] = (),
    taped_in: int = 0,
) -> tuple[str, Passages]:
    """How what stands is sealed and painted: the title and the passages. `masks` are painted through, `pieces` are in the order
    of their colours.

    `apart` are those of `pieces` that go in later and are painted before, `kept_bare` where something is glued later,
    `finished` what stands and gets no paint in this step, `as_before` the number of the step that told how; 0 for none,
    `inside_of` of which the inside is painted too, `open_inside` of which the inside alone is painted while they lie open on the
    bench, `lined_inside` those of them inside which other parts are to stand with their edges, `done_inside` of which it has
    been, `hidden` of which nobody sees the drawn face (True) or the other one,
    `beside` for each part those of another colour that it meets as it is painted, `joined` that some of it is glued already,
    `metal` what has the colour of a metal, `finish` how what is painted loose is sanded before,
    `with_loose` the parts that are glued already to one that is only set in, `dry` what is tried on without glue before,
    `taped_in` the number of the step that told how colours are taped beside each other; 0 for none.
    """
    text: list[str] = []
    if joined:
        text.append(
            say(
                "Leave it alone for {time} after the last joint: fresh cement gives way under sandpaper, and primer softens it.",
                time=duration(practice.WAIT_SET),
            )
        )
    text += dry
    inside = not final and len(apart) == len(pieces)
    if inside and apart:
        text.append(
            say(
                "Paint {parts} now, lying on the bench: once they are in, you cannot reach all of them with a brush.",
                parts=all_of(apart),
            )
        )
    elif not final and not inside:
        text.append(
            say(
                "Paint these now: later they are out of reach, or stand beside what stays bare: {parts}.",
                parts=_in_short([piece for piece in pieces if piece not in apart]),
            )
        )
    loose = [piece for piece in apart if piece.glue == "none" or piece.id in with_loose]
    for piece in apart:  # from the lowest up: a knob on a lid is laid in with it
        if piece not in loose and {one.id for one in loose} & {*piece.lies_on}:
            loose.append(piece)
    glued = [piece for piece in apart if piece not in loose]
    if glued and not inside:
        text.append(
            count(
                "Paint {parts} at the same time, loose on the bench, and glue it on only when all is dry.",
                "Paint {parts} at the same time, loose on the bench, and glue them on only when all is dry.",
                sum(len(piece.placements) for piece in glued),
                parts=all_of(glued),
            )
        )
    text += finish
    if loose and not inside:
        text.append(say("Paint {parts} at the same time, apart on the bench.", parts=all_of(loose)))
    if finished:
        text.append(
            say(
                "Cover with paper and low-tack tape what is finished or stays bare: {parts}.", parts=_in_short(finished)
            )
        )
    text += _open_inside(open_inside, lined_inside)
    if inside_of:
        text.append(
            say(
                "The inside of {parts} can be seen as well: rub out what is left of the lines there, and prime and paint it as "
                "far as the brush reaches, in the colour of its outside or in a dark one that you like.",
                parts=all_of(inside_of),
            )
        )
    if done_inside:
        text.append(
            say(
                "The inside of {parts} is painted already: touch up the seams there as far as the brush reaches.",
                parts=all_of(done_inside),
            )
        )
    smooth = (
        say(
            "Fill open seams with gap filler, let it dry for {time}, or as its tube says, and sand seams and edges smooth, "
            "120 grit first, then 240. Wipe off all dust. Use no heat from here on.",
            time=duration(practice.WAIT_FILLED),
        )
        if joined
        else say(
            "Sand the edges that show in the end smooth, 120 grit first, then 240, and leave those that are glued later as they "
            "are cut. Wipe off all dust. Use no heat from here on."
        )
    )
    masked = [
        smooth,
        *masking.bare_lines(kept_bare),
        *masking.hidden_line(hidden),
    ]  # sandpaper would lift the tape of a mask
    coats: list[str] = []
    if as_before:
        coats.append(say("Prime and paint as in step {n}, with as many coats.", n=as_before))
    else:
        coats.append(
            count(
                "Brush on {n} light coat of rubberised primer and let it dry for {wait}, or as its tin says.",
                "Brush on {n} light coats of rubberised primer. Let each dry for {wait}, or as its tin says.",
                practice.SEALER_COATS,
                wait=_coat_dries(),
            )
        )
    if not as_before:
        coats.append(
            count(
                "Dust on a little spray colour as a ground if you like, then brush on {n} coat of flexible acrylic and "
                "let it dry for {wait}.",
                "Dust on a little spray colour as a ground if you like, then brush on {n} coats of flexible acrylic, the "
                "first one thinned; let each dry for {wait} before the next.",
                practice.PAINT_COATS,
                wait=_coat_dries(),
            )
        )
    coats += _colour_lines(pieces, beside, taped_in) if pieces else []
    coats += _inside_colours(open_inside) if pieces else []
    if not as_before and not inside and any(re.search(r"\b(in|out)side\b", piece.paint) for piece in pieces):
        coats.append(say("If the inside gets another colour, keep it off the outside: tape the edges of the openings."))
    for mask in masks:
        coats.append(_stencil(mask))
        if mask.note:
            coats.append(mask.note)
    if masks:
        coats.append(
            say(
                "Cut a stencil more than once, and several places dry at the same time. Wipe it clean on both sides before "
                "it goes on to the next place."
            )
        )
    if not as_before:
        coats.append(say("If you like it worn: brush on thinned black paint and wipe it off the high places at once."))
    if metal:
        coats.append(
            say(
                "If you like chips in what looks like metal ({parts}): dab dark grey on the corners, and silver in the "
                "middle of each dab.",
                parts=letters(metal),
            )
        )
    coats.append(
        say("Wear it as in step {n} if you did so there, and varnish.", n=as_before)
        if as_before
        else say("When all is dry, finish with a thin coat of varnish, matt or glossy as you like.")
    )
    if kept_bare:
        coats.append(
            say("Keep the varnish off what is masked, and take the tape off while this last coat is still soft.")
        )
    elif finished or masks:
        coats.append(say("Take all tape off while the last coat is still soft."))
    coats.append(say("Check: nothing feels tacky when you touch it lightly, and no paint has run."))
    title = say("Seal and paint what stands so far")
    if inside:
        title = say("Seal and paint what will be out of reach")
    passages = [(say("What is painted now"), text), (say("Sand and mask"), masked), (say("Prime and paint"), coats)]
    return (say("Seal and paint") if final else title), passages


def _coat_dries() -> str:
    return count("{n} minute", "{n} minutes", round(practice.WAIT_COATED))


def _inside_colours(pieces: Sequence[Piece]) -> list[str]:
    """The colours of insides that are painted beside other parts, or they would be forgotten in the order of these."""
    by_colour: dict[str, list[Piece]] = {}
    for piece in pieces:
        if piece.paint:
            by_colour.setdefault(piece.paint, []).append(piece)
    return [
        say("The inside of {parts}: {colour}, or a dark colour that you like.", parts=letters(these), colour=colour)
        for colour, these in by_colour.items()
    ]


def _carried_out(lined: Sequence[Piece]) -> list[str]:
    """How the places inside curved parts come to be seen from outside."""
    if not lined:
        return []
    return [
        say(
            "First carry the places that are marked inside {parts} over to the outside, as nobody sees their lines later: "
            "lay a rule along the middle of each, and draw a tick where it comes to the cut edge, over that edge and on to the "
            "outside.",
            parts=all_of(lined),
        )
    ]


def _open_inside(pieces: Sequence[Piece], lined: Sequence[Piece]) -> list[str]:
    """How the inside of curved parts is painted before their seams close; on the `lined` ones others are to stand there with
    their edges."""
    if not pieces:
        return []
    return [
        *_carried_out(lined),
        say(
            "Paint the inside of {parts} now, and only that, in the colour of the outside or in a dark one that you like: it "
            "can be seen in the end, and once the work is closed you cannot reach all of it with a brush.",
            parts=all_of(pieces),
        ),
        say(
            "There, rub out the lines that nothing is glued to, carry the ticks over on to the cut edges, and mask the strips "
            "within the placement lines. Keep paint off the cut edges."
        ),
        *([say("Let each piece that is bent dry in its bend.")] if any(map(bending.is_curved, pieces)) else []),
    ]


def _stencil(mask: Piece) -> str:
    if mask.paint:
        return say(
            "Tape {mask} down flat, dab {colour} on through its openings with a nearly dry brush or sponge, and leave it in "
            "place until the paint is dry: {time}.",
            mask=the(mask),
            colour=mask.paint,
            time=_coat_dries(),
        )
    return say(
        "Tape {mask} down flat, dab the paint on through its openings with a nearly dry brush or sponge, and leave it in "
        "place until the paint is dry: {time}.",
        mask=the(mask),
        time=_coat_dries(),
    )


def _in_short(pieces: Sequence[Piece]) -> str:
    """Names without letters and numbers, the members of a whole by its name."""
    return listed(list(dict.fromkeys(role(piece)[1] or bare(piece) for piece in pieces)))


def _colour_lines(pieces: Sequence[Piece], beside: Mapping[str, Sequence[Piece]], taped_in: int) -> list[str]:
    """The base colours of the design, by part; where they meet on the work, in the order in which `pieces`
    have them, and what of the colours before is taped."""
    by_colour: dict[str, list[Piece]] = {}
    for piece in pieces:
        if piece.paint:
            by_colour.setdefault(piece.paint, []).append(piece)
    if not by_colour:
        return [say("Base colours are yours to choose; the pictures show the colour of the foam.")]
    if beside:
        return _in_order(by_colour, beside, all(piece.paint for piece in pieces), taped_in)
    told = [say("{colour}: {parts}", colour=colour, parts=letters(these)) for colour, these in by_colour.items()]
    if all(piece.paint for piece in pieces):
        return [say("Base colours by part: {list}.", list="; ".join(told))]
    return [
        say(
            "Base colours by part: {list}. What is not named keeps its primer or a colour you like.",
            list="; ".join(told),
        )
    ]


def taped(pieces: Sequence[Piece], beside: Mapping[str, Sequence[Piece]]) -> int:
    """How many of the colours of parts, in their order, go on beside an earlier one that is taped first."""
    done: set[str] = set()
    count_of = 0
    for paint in dict.fromkeys(piece.paint for piece in pieces if piece.paint):
        these = [piece.id for piece in pieces if piece.paint == paint]
        count_of += any(other.id in done for part in these for other in beside.get(part, ()))
        done.update(these)
    return count_of


def _in_order(
    by_colour: Mapping[str, Sequence[Piece]],
    beside: Mapping[str, Sequence[Piece]],
    complete: bool,
    taped_in: int,
) -> list[str]:
    text = [
        say("Base colours go on in this order, each left to dry and taped as in step {n}.", n=taped_in)
        if taped_in
        else say(
            "Base colours go on in this order. Where one is to be taped, let it dry for {time} first, as tape lifts fresh paint; "
            "press low-tack tape on it along the edge of the next colour, and pull the tape off while that is still soft.",
            time=duration(practice.WAIT_TAPED),
        )
    ]
    done: set[str] = set()
    for colour in by_colour:
        dry = {p.label: p for piece in by_colour[colour] for p in beside.get(piece.id, ()) if p.id in done}
        facts = {"colour": colour, "parts": letters(by_colour[colour])}
        text.append(
            say("{colour}: {parts}; tape along {dry}.", dry=letters(list(dry.values())), **facts)
            if dry
            else say("{colour}: {parts}.", **facts)
        )
        done |= {piece.id for piece in by_colour[colour]}
    if not complete:
        text.append(say("What is not named keeps its primer or a colour you like."))
    return [text[0], *map(capital, text[1:])]


def airing(apart: bool) -> str:
    """`apart`: something is set on the rest without glue, and would stick to it while paint is fresh."""
    if apart:
        return say(
            "Take off what only rests on the prop, and leave all of it side by side in an airy room for a day: by then all has "
            "cured."
        )
    return say("Leave the prop in an airy room for a day: by then all has cured.")


def cured_again() -> str:
    """What is glued when all else has cured: it cures before the prop is used."""
    return say("Leave the prop in an airy room for another day before it is used: this glue must cure as well.")


def last(used_by: Collection[str]) -> tuple[str, list[str]]:
    """A pet will lie in it, wear it, or chew on it, and waits longer."""
    text = [
        airing(apart=False),
        say("Pull gently at every part that is glued. Glue again what moves, and let it cure for another day."),
        say("Read \u201cUse and care\u201d in this booklet before it is used or given away."),
    ]
    if {"pet", "wearer"} <= {*used_by}:
        text.append(
            say(
                "Put it on the pet only after a week of airing, when you smell nothing any more; the first time for a minute, "
                "and trim or pad what presses."
            )
        )
    elif "pet" in used_by:
        text.append(say("Let the pet in only after a week of airing, when you smell nothing any more."))
    return say("Let it cure, and check"), text

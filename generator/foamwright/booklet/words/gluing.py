"""What is glued to what, part by part, as sentences."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType

import numpy as np

from foamwright.assembly import practice
from foamwright.assembly.bodies import Bodies, frame
from foamwright.assembly.meetings import UPRIGHT, Meeting
from foamwright.assembly.naming import all_of, capital, one_of, plain, several, the
from foamwright.assembly.records import Joint
from foamwright.assembly.setting_down import goes_in, stands_up
from foamwright.assembly.which_copy import some
from foamwright.booklet.words import at_lines, bar_ends, bending, flat_on_curved, relations
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import count, duration, length, listed, phrase, say
from foamwright.parts.records import BandBody, FlatBody, Piece
from foamwright.templates.facing import facing as look_of

_LOOSE = 0.4  # mm of air that runny instant glue does not fill
_WIDE = 0.8  # mm of air between two flat parts that cement does not fill
_HOLDS = 0.2  # of the area of a joint with a gap, that a part must be glued by elsewhere to need no glue there
_SQUARE = 0.02  # cosine between two faces that are square to each other
_ONE_WAY = 0.99  # cosine between two ways off one face
_SMALL = 40.0  # mm2 of a contact; less is a corner that needs no word
_AIR = 1.5  # mm of a gap beside an edge that a maker would wonder at
_LAPS = 3  # times that cement takes where a part is laid over two edges: the first coats, that joint, the second coats


def lines(told: Fitting, before: Collection[Meeting] = ()) -> list[tuple[int, str]]:
    """What is glued to what, each with the turn of the part that goes in; but for what is glued `before`."""
    first = told.turn
    met = [m for m in told.meetings if m.new != m.other and m not in before]
    met.sort(key=lambda m: first.get(m.new, len(first)))
    sentences = [
        (first.get(m[0].new, 0), line)
        for m, line in meeting_sentences(met, told.bodies, told.every, built(told), told.painted)
    ]
    sentences += _copies(told)
    return sentences + [(first.get(piece.id, 0), unmet_line(told, piece)) for piece in unmet_in(told)]


def _copies(told: Fitting) -> list[tuple[int, str]]:
    """The parts of which copies are glued to each other along no seam, as the rails of a frame, each with its turn."""
    meet: dict[str, set[int]] = {}
    for m in told.meetings:
        if m.new == m.other and m.glue != "none" and not told.whole_of(told.every[m.new]):
            meet.setdefault(m.new, set()).update(copy for pair in m.pairs for copy in pair)
    return [
        (
            told.turn.get(part, 0),
            say("Glue {parts} to each other where they touch.", parts=some(told.bodies, sorted(copies))),
        )
        for part, copies in meet.items()
    ]


def unmet_in(told: Fitting) -> list[Piece]:
    """The parts of a step of which nothing else tells what they are glued to."""
    found = unmet(told.pieces, told.meetings, (*told.seams, *told.whole_seams), told.anything)
    return [piece for piece in found if not _held_by_whole(told, piece)]


def shoulders(told: Fitting) -> list[tuple[int, str]]:
    """What lies with its face on a step of another part and meets the rise of that with its cut edge: of the two the sentence on
    the joint names the face alone."""
    sewn = {frozenset(joint.parts) for joint in (*told.seams, *told.whole_seams)}
    text: dict[tuple[int, str], None] = {}
    for m in told.meetings:
        touches = [told.bodies.touches[pair] for pair in m.pairs if pair in told.bodies.touches]
        if m.glue == "none" or frozenset(m.parts) in sewn or told.whole_of(told.every[m.new]) or m.gap >= _WIDE:
            continue
        if any(touch.edges and max(touch.broad) > 0.5 for touch in touches):
            line = say(
                "Push {part} up against {other} where their edges meet, and glue these to each other as well.",
                part=one_of(told.every[m.new]),
                other=the(told.every[m.other]),
            )
            text[told.turn.get(m.new, 0), line] = None
    return [*text]


def small_ones(told: Fitting) -> list[tuple[int, str]]:
    """What a part touches by a strip or a corner too small for a sentence of its own, each with the turn of the part: it is glued
    there as well, and has its line on the template."""
    bodies = told.bodies
    meant = {frozenset(m.parts) for m in told.meetings}
    meant |= {frozenset(joint.parts) for joint in (*told.seams, *told.whole_seams)}
    meant |= {frozenset((a, b)) for unit in told.units if unit.whole for a in unit.parts for b in unit.parts}
    standing = told.standing
    found: dict[str, dict[str, list[int]]] = {}
    for move in told.moves:
        for copy in move.copies:
            for b in range(len(bodies)):
                touch = bodies.touches.get((copy, b)) if standing >> b & 1 else None
                one, other = bodies.pieces[copy].id, bodies.pieces[b].id
                held = touch is not None and touch.glued and not touch.edges and touch.area > _SMALL
                if held and frozenset((one, other)) not in meant:
                    found.setdefault(one, {}).setdefault(other, []).append(b)
        standing |= bodies.mask(move.copies)
    return [
        (
            told.turn[one],
            say(
                "Coat the narrow places as well where it meets {others}.",
                others=listed([some(bodies, sorted({*copies})) for copies in met.values()]),
            ),
        )
        for one, met in found.items()
    ]


def one_by_one(told: Fitting) -> list[Piece]:
    """The parts of a step that are laid over the edges of several others, one joint after the other: coated all at once, the
    first joint would pull the second shut."""
    over: dict[str, set[str]] = {}
    for m in lapped(told):
        if m.glue == "contact":
            over.setdefault(m.new, set()).add(m.other)
    return [piece for piece in told.pieces if len(over.get(piece.id, ())) > 1]


def lapped(told: Fitting) -> list[Meeting]:
    """Where a part of a step is laid over the edge of another."""
    return [m for m in told.meetings if m.new != m.other and m.glue != "none" and how_met(m, told) == "lapped"]


def how_met(meeting: Meeting, told: Fitting) -> str:
    """The relation of a part that goes in to another, as a word."""
    mine = [m for m in told.meetings if m.new == meeting.new and m.broad and m.on_broad]
    return relations.relation(meeting, told.every[meeting.new], sum(m.share for m in mine), told.bodies)


def goes_over(told: Fitting, piece: Piece) -> set[str]:
    """What a bent part is laid round with its inside, so that the part must open on its way and not the other."""
    mine = [m for m in told.meetings if m.new == piece.id]
    return {m.other for m in mine if how_met(m, told) in ("over all", "lapped", "wrapped", "over")}


def rounds(told: Fitting) -> int:
    """How often cement is put on and waited for, or sets: what is joined to one thing first is set down with fresh cement."""
    if one_by_one(told):
        return _LAPS
    own = bending.closed_rounds(told)
    rings = own & {
        joint.parts[0] for joint in told.seams if len(joint.parts) == 2
    }  # each closed before the next goes on it
    first = own | {part for unit in told.units if unit.whole and told.bench for part in unit.parts}
    down = [m for m in told.meetings if m.glue == "contact" and m.new in first and m.other not in first]
    onto = 1 if any(told.standing >> copy & 1 for m in down for _, copy in m.pairs) else 0
    return 1 + max(onto, len(rings))


def resting(told: Fitting) -> list[str]:
    """Where a part goes that takes no glue and is only set on what is built apart from it."""
    loose = [m for m in told.resting if told.every[m.new].glue == "none"]
    return [line for _, line in meeting_sentences(loose, told.bodies, told.every, painted=told.painted)]


def slots_for(piece: Piece) -> list[str]:
    """The parts of which tabs enter a part."""
    return [slot.part for slot in getattr(piece.body, "slots", ())]


def _tabbed(told: Fitting, meeting: Meeting) -> bool:
    one, other = meeting.parts
    return one in slots_for(told.every[other]) or other in slots_for(told.every[one])


def in_holes(told: Fitting) -> list[str]:
    """How cement is used where bars and what is cut to fit go into holes, or holes over them; once for all of a step, and in full
    in the first such step. Tabs are told by themselves."""
    fitted = (
        m for m in told.meetings if m.in_hole or (m.around and not m.broad and not m.on_broad and not _tabbed(told, m))
    )
    wet = dict.fromkeys(m.new for m in fitted if m.glue == "contact" and m.new != m.other)
    pieces = [told.every[part] for part in wet]
    if not pieces:
        return []
    whole = say(
        "Try each dry in its hole and mark its place, then brush cement on thinly, push it home while it is wet, and let it set "
        "for {time}.",
        time=duration(practice.WAIT_WET),
    )
    return [
        count(
            "{parts} is glued with wet cement, as tacky cement grips in a hole.",
            "{parts} are glued with wet cement, as tacky cement grips in a hole.",
            sum(len(told.own(piece)) for piece in pieces),
            parts=capital(all_of(pieces)),
        ),
        told.once(whole, phrase("Try each dry, mark its place and push it home wet, as in step {n}.")),
    ]


def set_down(meeting: Meeting) -> bool:
    """Is what goes in only set down on the other from above?"""
    return meeting.from_other[2] > UPRIGHT


def meeting_sentences(
    met: Sequence[Meeting],
    bodies: Bodies,
    every: Mapping[str, Piece],
    whole: Mapping[str, str] = MappingProxyType({}),
    painted: Collection[str] = (),
) -> Sequence[tuple[Sequence[Meeting], str]]:
    """What is glued to what: parts that go onto the same others in the same way share a sentence.

    `whole` has the words for what a part is already built into, `painted` are the parts on which no line shows any more.
    """
    by_new: dict[str, list[Meeting]] = {}
    for meeting in met:
        if meeting.new != meeting.other:
            by_new.setdefault(meeting.new, []).append(meeting)
    alike: dict[tuple, list[str]] = {}
    for new, onto in by_new.items():
        share = sum(m.share for m in onto if m.broad and m.on_broad)
        met_so = [
            (m, "" if m.glue == "none" and not m.in_hole else relations.relation(m, every[new], share, bodies))
            for m in onto
        ]
        key = tuple(
            (m.other, _theirs(m), relation, m.glue, at_lines.seen(relation, (m,), bodies)) for m, relation in met_so
        )
        laps = any(relation == "lapped" for _, relation in met_so)
        alike.setdefault((whole.get(new, ""), key, new if laps else ""), []).append(new)  # a lap names both letters
    lines: dict[str, Sequence[Meeting]] = {}
    for these in _in_one_go(met, whole):
        shown = these[0].other not in painted and at_lines.is_shown(these, bodies)
        line = say(
            "Glue {whole} on {others} in one go: {parts} lie against it{where}.",
            whole=whole[these[0].new],
            others=_others([(these[0].other, _theirs(these[0]))], bodies, every),
            parts=listed([some(bodies, sorted({copy for copy, _ in m.pairs})) for m in these]),
            where=say(", each at its placement lines") if shown else "",
        )
        lines[_with_gap(line, these, (), bodies, 0.0)] = these
    told = {m.new for these in lines.values() for m in these}
    alike = {key: left for key, parts in alike.items() if (left := [part for part in parts if part not in told])}
    bent = {part for part, piece in every.items() if _is_bent(piece)}
    for (named, key, _), alike_parts in alike.items():
        grouped: dict[tuple[str, str, str, tuple[str, str]], list[int]] = {}  # places in the key
        for at, (other, _, relation, glue, seen) in enumerate(key):
            if relation in ("around", "fitted") and _slotted(every[alike_parts[0]], every[other]):
                relation = "slotted"
            one = other if relation == "lapped" else ""  # one joint after the other
            grouped.setdefault((relation, glue, one, seen), []).append(at)
        mixed = len({glue for _, glue, _, _ in grouped} - {"none"}) > 1 or len({m.glue for m in met} - {"none"}) > 1
        # coats of cement dry before anything is in place, and instant glue runs in afterwards
        in_place = sorted(
            grouped.items(), key=lambda item: (mixed and item[0][1] == "instant", item[0][0] not in relations.IN_HOLES)
        )
        combined = _through_into(grouped, [by_new[alike_parts[0]][at] for at in range(len(key))])
        for (relation, glue, _, _), these_of_key in in_place:
            if relation == "slotted" or (glue in combined and relation == "into holes"):
                continue  # told with its tabs, or with what it goes through before
            others = [key[at][:2] for at in these_of_key]
            these = [by_new[alike_parts[0]][at] for at in these_of_key]
            pairs = {pair for part in alike_parts for at in these_of_key for pair in by_new[part][at].pairs}
            parts = named or _news(alike_parts, {copy for copy, _ in pairs}, bodies, every)
            going, ends = len({copy for copy, _ in pairs}), len(pairs)
            names = every[alike_parts[0]].label, every[others[0][0]].label
            bare = {other for other, _ in others} & {*painted} or not at_lines.is_shown(these, bodies)
            if glue == "none" and relation not in relations.IN_HOLES:
                if all(stands_up(bodies, new) for m in these for new, _ in m.pairs):
                    relation = "stood"
                elif all(goes_in(bodies, *pair) for m in these for pair in m.pairs):
                    relation = "in"
                else:
                    relation = relations.unglued(these[0], met, bodies, "loose" if bare else relation)
            if relation == "into holes" and bar_ends.spans(these):
                relation = "between holes"
            elif relation == "into holes" and going == sum(bar_ends.holes(bodies, *pair) for pair in pairs):
                relation = "one hole"
            if relation == "through":
                ends = sum(bar_ends.holes(bodies, *pair) for pair in pairs)
            where = at_lines.where(relation, these, bodies)
            lifted = _lifted(these, bodies) if glue != "none" else 0.0
            if relation == "onto" and lifted >= _WIDE:
                relation = "curved"
            line = relations.sentence(
                mixed, relation, glue, parts, _others(others, bodies, every), going, ends, names, where
            )
            if relation == "through" and glue in combined:
                last = combined[glue]
                line = relations.through_into(
                    glue,
                    parts,
                    _others(others, bodies, every),
                    _others([key[at][:2] for at in last], bodies, every),
                    going,
                )
                these = [*these, *(by_new[alike_parts[0]][at] for at in last)]
            if (
                relation == "standing"
                and glue != "none"
                and not named
                and all(stands_free(m, met, bodies) for m in these)
            ):
                line = say("{sentence} A set square beside it shows whether it stands upright.", sentence=line)
            if relation in ("over ends", "over bar"):
                line = bar_ends.with_ends(line, these, bodies, _others(others, bodies, every), going)
            elif relation in relations.IN_HOLES:
                bars = [m for m in by_new[alike_parts[0]] if m.in_hole]  # an end is past all that a bar runs through
                if not bar_ends.runs_on(bars, bodies):
                    line = bar_ends.with_depth(line, these, bodies)
                elif any(m is bars[-1] for m in these):
                    line = bar_ends.with_ends(line, bars, bodies, _others(others, bodies, every), going)
            carriers = [every[other] for other in _carriers(these, by_new[alike_parts[0]])]
            if glue != "none" and carriers and (gap := _left_open(these, bent, lifted)):
                line = say(
                    "Leave the gap of up to {size} between {parts} and {others} as it is, without glue: that at {carriers} "
                    "holds enough.",
                    size=length(gap, 1),
                    parts=parts,
                    others=_others(others, bodies, every),
                    carriers=all_of(carriers),
                )
                lines.setdefault(line, these)
                continue
            on_edge = isinstance(every[alike_parts[0]].body, BandBody) and not all(m.broad for m in these)
            under_paint = {*painted} & {*alike_parts, *(other for other, _ in others)}
            if glue != "none" and not (on_edge or under_paint) and at_lines.is_met_by_v(these, bodies):
                line = say("{sentence} V comes on V.", sentence=line)
            lines.setdefault(_with_gap(line, these, bent, bodies, lifted) if glue != "none" else line, these)
    return [(meetings, line) for line, meetings in lines.items()]


def _through_into(
    grouped: Mapping[tuple[str, str, str, tuple[str, str]], Sequence[int]], onto: Sequence[Meeting]
) -> dict[str, Sequence[int]]:
    """By glue the places in `onto`, all that some bars meet, where these end in a hole each and run through others as well."""
    found = {glue: places for (relation, glue, _, _), places in grouped.items() if relation == "into holes"}
    through = {glue for relation, glue, _, _ in grouped if relation == "through"}

    def is_one_each(places: Sequence[int]) -> bool:
        ends = [rod for at in places for rod, _ in onto[at].pairs]
        return len(ends) == len({*ends})

    return {glue: places for glue, places in found.items() if glue in through and is_one_each(places)}


def _in_one_go(met: Sequence[Meeting], whole: Mapping[str, str]) -> list[list[Meeting]]:
    """What of a whole comes on one face of another part at once, some of it by a face and some by an edge, as the back
    of an open box and the edge of its top, and meets nothing else."""
    by_new = Counter(m.new for m in met)
    pushed: dict[tuple, list[Meeting]] = {}
    for m in met:
        if whole.get(m.new) and by_new[m.new] == 1 and m.on_broad and not (m.around or m.in_hole) and m.glue != "none":
            pushed.setdefault((whole[m.new], m.other, _theirs(m), m.glue), []).append(m)
    return [
        these
        for these in pushed.values()
        if {m.broad for m in these} == {True, False}
        and all(float(np.dot(m.from_other, these[0].from_other)) > _ONE_WAY for m in these)
    ]


def _lifted(these: Sequence[Meeting], bodies: Bodies) -> float:
    """How far in mm flat foam stands off the curve that it is glued on, until it is pressed down; 0 for what was sanded to it."""
    pairs = (pair for m in these if m.share > relations.FACE for pair in m.pairs)
    offs = ((bodies.pieces[a], bodies.pieces[b], flat_on_curved.lifted(bodies, (a, b))) for a, b in pairs)
    return max(
        (off for piece, other, off in offs if not flat_on_curved.is_sanded(piece, off, bending.narrowest(other))),
        default=0.0,
    )


def _carriers(these: Sequence[Meeting], onto: Sequence[Meeting]) -> list[str]:
    """Of all that a part is glued `onto`, what holds it well enough for the gaps of `these` joints to be left as they are."""
    least = _HOLDS * sum(m.area for m in these)
    held = [m for m in onto if m not in these and m.glue != "none" and m.gap < _WIDE]
    return [*dict.fromkeys(m.other for m in held)] if sum(m.area for m in held) > least else []


def _with_gap(line: str, these: Sequence[Meeting], bent: Collection[str], bodies: Bodies, lifted: float) -> str:
    """A sentence of a joint, with what else is to be known of it: that glue goes between two lines (of a ring on a face that
    is plain to see), that air stays in it or beside it. `bent` are the parts that give way, `lifted` how far the foam
    stands off a curve."""
    if bodies.lines is None and all(m.ringed and not (m.broad and m.on_broad) for m in these):
        line = say("{sentence} Put the glue between its inner and its outer line.", sentence=line)
    gap = max(m.gap for m in these)
    if lifted >= _WIDE:
        line = say(
            "{sentence} The place is curved and the foam is cut flat: by itself it would stand up to {size} off at the rim. "
            "Press the middle down first, and then bit by bit outwards to the rim.",
            sentence=line,
            size=length(lifted),
        )
    elif gap >= _LOOSE and all(m.glue == "instant" for m in these):
        line = say("{sentence} The fit is loose by up to {size}: use gel.", sentence=line, size=length(gap, 1))
    elif gap >= _WIDE and all(m.broad and m.on_broad and m.share < relations.FACE for m in these):
        line = say(
            "{sentence} It stands up to {size} off there: press it down until it holds.",
            sentence=line,
            size=length(gap, 1),
        )
    elif gap := _left_open(these, bent, lifted):
        line = say(
            "{sentence} A gap of up to {size} stays there, which cement does not fill: before the part goes in, glue a strip of "
            "scrap foam or card on one side of the joint, as thick as the gap, and try it dry once more.",
            sentence=line,
            size=length(gap, 1),
        )
    air = max(m.wedge for m in these)
    if air >= _AIR:
        ways = {_touching_face(bodies, *pair, m.broad) for m in these if m.wedge >= _AIR for pair in m.pairs}
        way = ways.pop() if len(ways) == 1 else ""
        only = (
            say("Only the rim of the face that goes {way} touches there", way=way)
            if way
            else say("Only one side of the edge touches there")
        )
        line = say(
            "{sentence} {only}; the gap of up to {size} beside it is right. Fill it only where it can be seen in the end.",
            sentence=line,
            only=only,
            size=length(air),
        )
    return line


def _left_open(these: Sequence[Meeting], bent: Collection[str], lifted: float) -> float:
    """How wide in mm the gap of a joint is that nothing presses shut and glue does not fill; 0 where there is none."""
    if lifted >= _WIDE or all(
        m.glue == "instant" or (m.broad and m.on_broad and m.share < relations.FACE) for m in these
    ):
        return 0.0
    gap = max((m.gap for m in these if not _is_pressed_shut(m, bent)), default=0.0)
    return gap if gap >= _WIDE else 0.0


def _is_bent(piece: Piece) -> bool:
    """Not a flat panel, as the wall of a tower of eight sides."""
    return isinstance(piece.body, BandBody) or bending.is_curved(piece)


def _is_pressed_shut(meeting: Meeting, bent: Collection[str]) -> bool:
    """Does pressing close the gap of a joint? A `bent` part gives way across its faces as it goes on, and one that stands already
    where it is not met all round; edges of bent foam are drawn together."""
    if not meeting.broad and not meeting.on_broad:
        return bool({*bent} & {*meeting.parts})
    goes_on = meeting.new in bent and meeting.broad
    return goes_on or (meeting.other in bent and meeting.on_broad and not meeting.around)


def _touching_face(bodies: Bodies, new: int, other: int, broad: bool) -> str:
    """Where the face of a flat part goes of which the rim alone touches, as its edge leans away from the other part; "" where
    what has the edge is not flat. The `new` part has it where it does not touch with its `broad` face."""
    edge, face = (other, new) if broad else (new, other)
    if not isinstance(bodies.pieces[edge].body, FlatBody):
        return ""
    off = bodies.pieces[edge].off_face(bodies.matrices[edge])
    places = bodies.touches[edge, face].places
    return look_of(off if float(((places - bodies.spheres[edge, :3]) @ off).mean()) > 0.0 else -off)


def stands_free(meeting: Meeting, met: Sequence[Meeting], bodies: Bodies) -> bool:
    """Does a flat part stand square on the face of another, and nothing else of the step hold it upright?"""
    copy, other = meeting.pairs[0]
    axes, theirs = (frame(bodies.pieces[i], bodies.matrices[i]) for i in (copy, other))
    if (
        axes is None
        or theirs is None
        or meeting.broad
        or not meeting.on_broad
        or meeting.around
        or not set_down(meeting)
    ):
        return False
    flat = all(isinstance(bodies.pieces[i].body, FlatBody) for i in (copy, other))
    square = abs(float(axes[2] @ theirs[2])) < _SQUARE
    return flat and square and sum(m.new == meeting.new and m.glue != "none" for m in met) == 1


def _slotted(one: Piece, other: Piece) -> bool:
    """Has one of two parts slots for tabs of the other?"""
    slots = ((one, other), (other, one))
    return any(slot.part == tabbed.id for host, tabbed in slots for slot in getattr(host.body, "slots", ()))


def _news(parts: Sequence[str], copies: Collection[int], bodies: Bodies, every: Mapping[str, Piece]) -> str:
    """What goes in, with which of its `copies` where not all of a part meet what the sentence is about."""
    own = {part: [copy for copy in sorted(copies) if bodies.pieces[copy].id == part] for part in parts}
    if all(not those or len(those) >= len(every[part].placements) for part, those in own.items()):
        return all_of([every[part] for part in parts])
    return listed([some(bodies, those) if those else one_of(every[part]) for part, those in own.items()])


def _theirs(meeting: Meeting) -> tuple[int, ...]:
    """The copies of the other part that are met."""
    return tuple(sorted({copy for _, copy in meeting.pairs}))


def _others(others: Sequence[tuple[str, tuple[int, ...]]], bodies: Bodies, every: Mapping[str, Piece]) -> str:
    """What is met, each part with which or how many of its copies where not all are."""
    if all(len(copies) >= len(every[other].placements) for other, copies in others):
        return all_of([every[other] for other, _ in others])
    return listed([some(bodies, copies) for _, copies in others])


def built(told: Fitting) -> dict[str, str]:
    """For each part of a whole that is put together on the bench, what the whole is called in a sentence."""
    return {
        part: count(
            "the {thing}",
            "the {n} {things}",
            told.made(unit),
            thing=plain(unit.whole),
            things=several(plain(unit.whole)),
        )
        for unit in told.units
        if unit.whole and told.bench
        for part in unit.parts
    }


def unmet_line(told: Fitting, piece: Piece) -> str:
    """A part that is held along a line only, or across a gap that the model leaves: by what it comes after."""
    near = [told.every[part] for part in dict.fromkeys((*piece.lies_on, *piece.after)) if part in told.every]
    return say("Glue {part} where it touches {others}.", part=one_of(piece), others=all_of(near))


def unmet(pieces: Sequence[Piece], meetings: Sequence[Meeting], seams: Sequence[Joint], anything: bool) -> list[Piece]:
    """The parts that are glued, though nothing in the model touches them: a line or a gap for glue is all there is."""
    met = {part for m in meetings for part in m.parts if m.new != m.other}
    met |= {part for joint in seams if len(joint.parts) == 2 for part in joint.parts}
    return [p for p in pieces if p.id not in met and (p.lies_on or p.after) and p.glue != "none" and anything]


def _held_by_whole(told: Fitting, piece: Piece) -> bool:
    """Is it a member of a whole that is joined before, and another member says where the whole goes?"""
    unit = next((unit for unit in told.units if piece.id in unit.parts), None)
    if unit is None or not unit.whole:
        return False
    placed = any(m.new in unit.parts and m.other not in unit.parts for m in told.meetings)
    return placed or unit.parts[0] != piece.id

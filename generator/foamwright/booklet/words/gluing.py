"""What is glued to what, part by part, as sentences."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType

import numpy as np

from foamwright.assembly import directions, practice
from foamwright.assembly.bodies import Bodies, axis_of, frame
from foamwright.assembly.meetings import UPRIGHT, Meeting
from foamwright.assembly.naming import all_of, capital, one_of, plain, several, the
from foamwright.assembly.records import Joint
from foamwright.assembly.setting_down import goes_in, stands_up
from foamwright.assembly.which_copy import some
from foamwright.booklet.words import at_lines, flat_on_curved
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import count, duration, length, listed, say
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody
from foamwright.templates.facing import facing as look_of

_ASIDE = 0.5  # of a direction, as a cosine, to the side of a band: less, and it is its end that touches
_LOOSE = 0.4  # mm of air that runny instant glue does not fill
_WIDE = 0.8  # mm of air between two flat parts that cement does not fill
_SQUARE = 0.02  # cosine between two faces that are square to each other
_SMALL = 40.0  # mm2 of a contact; less is a corner that needs no word
_AIR = 1.5  # mm of a gap beside an edge that a maker would wonder at
_AROUND, _BESIDE = 16, 0.6  # lines along a bar, all round it, and so many mm beside it, by which a hole is measured
_THROUGH = 1.0  # mm that a bar must stand out of both faces of what it is let into, to run through it
_IN_HOLES = ("into holes", "through", "over ends", "over bar")  # what decides where a part goes, and is told first
_LAPS = 3  # times that cement takes where a part is laid over two edges: the first coats, that joint, the second coats
_FACE = 0.6  # of a part's broad face that must lie on another part for the two to be face to face


def lines(told: Fitting) -> list[tuple[int, str]]:
    """What is glued to what, each with the turn of the part that goes in."""
    first = told.turn
    met = sorted((m for m in told.meetings if m.new != m.other), key=lambda m: first.get(m.new, len(first)))
    sentences = [
        (first.get(m[0].new, 0), line)
        for m, line in meeting_sentences(met, told.bodies, told.every, built(told), told.painted)
    ]
    return sentences + [(first.get(piece.id, 0), unmet_line(told, piece)) for piece in unmet_in(told)]


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
        if m.glue == "none" or frozenset(m.parts) in sewn or told.whole_of(told.every[m.new]):
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
    for m in told.meetings:
        if m.new != m.other and m.glue == "contact" and _is_lapped(m, told):
            over.setdefault(m.new, set()).add(m.other)
    return [piece for piece in told.pieces if len(over.get(piece.id, ())) > 1]


def _is_lapped(meeting: Meeting, told: Fitting) -> bool:
    mine = [m for m in told.meetings if m.new == meeting.new and m.broad and m.on_broad]
    return _relation(meeting, told.every[meeting.new], sum(m.share for m in mine), told.bodies) == "lapped"


def rounds(told: Fitting) -> int:
    """How often cement is put on and waited for, or sets: what is joined to one thing first is set down with fresh cement."""
    if one_by_one(told):
        return _LAPS
    own = closed_rounds(told)
    rings = own & {
        joint.parts[0] for joint in told.seams if len(joint.parts) == 2
    }  # each closed before the next goes on it
    first = own | {part for unit in told.units if unit.whole and told.bench for part in unit.parts}
    down = [m for m in told.meetings if m.glue == "contact" and m.new in first and m.other not in first]
    onto = 1 if any(told.standing >> copy & 1 for m in down for _, copy in m.pairs) else 0
    return 1 + max(onto, len(rings))


def closed_rounds(told: Fitting) -> set[str]:
    """The parts that a step closes to rounds by themselves: each of their copies, or each to the next all round."""
    return {
        joint.parts[0]
        for joint in told.seams
        if len(joint.parts) == 1
        and joint.edges[0] != joint.edges[1]
        and joint.copies >= len(told.every[joint.parts[0]].placements)
    }


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
    """How cement is used where bars and what is cut to fit go into holes, or holes over them; once for all of a step. Tabs are
    told by themselves."""
    fitted = (
        m for m in told.meetings if m.in_hole or (m.around and not m.broad and not m.on_broad and not _tabbed(told, m))
    )
    wet = dict.fromkeys(m.new for m in fitted if m.glue == "contact" and m.new != m.other)
    pieces = [told.every[part] for part in wet]
    if not pieces:
        return []
    return [
        count(
            "{parts} is glued with wet cement: tacky cement grips in a hole. Try it dry and mark its place, then brush cement on "
            "thinly, push it home while it is wet, and let it set for {time}.",
            "{parts} are glued with wet cement: tacky cement grips in a hole. Try each dry and mark its place, then brush cement "
            "on thinly, push it home while it is wet, and let it set for {time}.",
            sum(len(told.own(piece)) for piece in pieces),
            parts=capital(all_of(pieces)),
            time=duration(practice.WAIT_WET),
        )
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
            (m, "" if m.glue == "none" and not m.in_hole else _relation(m, every[new], share, bodies)) for m in onto
        ]
        key = tuple(
            (m.other, _theirs(m), relation, m.glue, at_lines.seen(relation, (m,), bodies)) for m, relation in met_so
        )
        laps = any(relation == "lapped" for _, relation in met_so)
        alike.setdefault((whole.get(new, ""), key, new if laps else ""), []).append(new)  # a lap names both letters
    lines: dict[str, Sequence[Meeting]] = {}
    bent = {part for part, piece in every.items() if isinstance(piece.body, PanelBody | BandBody)}
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
            grouped.items(), key=lambda item: (mixed and item[0][1] == "instant", item[0][0] not in _IN_HOLES)
        )
        for (relation, glue, _, _), these_of_key in in_place:
            if relation == "slotted":
                continue  # told with its tabs
            others = [key[at][:2] for at in these_of_key]
            these = [by_new[alike_parts[0]][at] for at in these_of_key]
            parts = named or _news(alike_parts, these, bodies, every)
            pairs = {pair for part in alike_parts for at in these_of_key for pair in by_new[part][at].pairs}
            going, ends = len({copy for copy, _ in pairs}), len(pairs)
            names = every[alike_parts[0]].label, every[others[0][0]].label
            bare = {other for other, _ in others} & {*painted} or not at_lines.is_shown(these, bodies)
            if glue == "none" and relation not in _IN_HOLES:
                if all(stands_up(bodies, new) for m in these for new, _ in m.pairs):
                    relation = "stood"
                elif all(goes_in(bodies, *pair) for m in these for pair in m.pairs):
                    relation = "in"
                elif bare:
                    relation = "loose"
            where = at_lines.where(relation, these, bodies)
            lifted = _lifted(these, bodies) if glue != "none" else 0.0
            if relation == "onto" and lifted >= _WIDE:
                relation = "curved"
            line = _relation_line(
                mixed, relation, glue, parts, _others(others, bodies, every), going, ends, names, where
            )
            if (
                relation == "standing"
                and glue != "none"
                and not named
                and all(stands_free(m, met, bodies) for m in these)
            ):
                line = say("{sentence} A set square beside it shows whether it stands upright.", sentence=line)
            if relation == "into holes" and glue != "none":
                line = _with_depth(line, these, bodies)
            if relation in ("through", "over ends", "over bar"):
                line = _with_ends(line, these, bodies, _others(others, bodies, every), going)
            lines.setdefault(_with_gap(line, these, bent, bodies, lifted) if glue != "none" else line, these)
    return [(meetings, line) for line, meetings in lines.items()]


def _lifted(these: Sequence[Meeting], bodies: Bodies) -> float:
    """How far in mm flat foam stands off the curve that it is glued on, until it is pressed down; 0 for what was sanded to it."""
    pairs = (pair for m in these if m.share > _FACE for pair in m.pairs)
    offs = ((bodies.pieces[pair[0]], flat_on_curved.lifted(bodies, pair)) for pair in pairs)
    return max((off for piece, off in offs if not flat_on_curved.is_sanded(piece, off)), default=0.0)


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
    elif gap >= _WIDE and not any(
        {*bent} & {*m.parts} for m in these
    ):  # a bent wall is pressed on to what it goes round
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


def stands_on_ends(meeting: Meeting, bodies: Bodies) -> bool:
    """Does an open band touch with its ends alone, as the handle of a pot does?"""
    new, other = meeting.pairs[0]
    body, touch = bodies.pieces[new].body, bodies.touches[new, other]
    if not isinstance(body, BandBody) or body.closed or meeting.broad:
        return False
    across = bodies.matrices[new][:3, :3] @ body.across
    return float(np.average(np.abs(touch.normals @ across), weights=touch.areas)) < _ASIDE


def _end_of(bodies: Bodies, new: int, other: int) -> tuple[int, ...]:
    """Which ends of a band touch another copy there: 0 the first, 1 the last."""
    body, matrix = bodies.pieces[new].body, bodies.matrices[new]
    assert isinstance(body, BandBody)
    ends = body.curve[[0, -1]] @ matrix[:3, :3].T + matrix[:3, 3]
    far = np.linalg.norm(bodies.touches[new, other].places[:, None] - ends, axis=2)
    return tuple(sorted({int(end) for end in far.argmin(axis=1)}))


def _slotted(one: Piece, other: Piece) -> bool:
    """Has one of two parts slots for tabs of the other?"""
    slots = ((one, other), (other, one))
    return any(slot.part == tabbed.id for host, tabbed in slots for slot in getattr(host.body, "slots", ()))


def _news(parts: Sequence[str], these: Sequence[Meeting], bodies: Bodies, every: Mapping[str, Piece]) -> str:
    """What goes in, with which of its copies where not all of them meet what the sentence is about."""
    copies = {copy for meeting in these for copy, _ in meeting.pairs}
    if len(parts) == 1 and copies and len(copies) < len(every[parts[0]].placements):
        return some(bodies, sorted(copies))
    return all_of([every[part] for part in parts])


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


def _with_ends(line: str, these: Sequence[Meeting], bodies: Bodies, others: str, going: int) -> str:
    """The sentence of bars that run through others, `going` of them, with how far their ends stand out of them."""
    if all(isinstance(bodies.pieces[other].body, RodBody) for m in these for _, other in m.pairs):
        return _with_end(line, these, bodies, others, going)
    met: dict[int, set[int]] = {}
    for m in these:
        for rod, host in m.pairs:
            met.setdefault(rod, set()).add(host)
    out = [
        [round(min(_past(bodies, rod, host)[end] for host in hosts), 1) for end in (0, 1)] for rod, hosts in met.items()
    ]
    if len({tuple(sorted(both)) for both in out}) != 1:
        return line
    short, long = sorted(out[0])
    if long - short < _THROUGH:
        return count(
            "{sentence} It stands {size} out at both ends.",
            "{sentence} Each stands {size} out at both ends.",
            going,
            sentence=line,
            size=length(long),
        )
    ways = [
        axis_of(bodies, rod)[1] * (1.0 if both[0] < both[1] else -1.0) for rod, both in zip(met, out)
    ]  # to the long end
    where = {(directions.at(-way), directions.at(way)) for way in ways}
    if len(where) == 1:
        here, there = where.pop()
        return count(
            "{sentence} It stands {short} out {here} and {long} {there}.",
            "{sentence} Each stands {short} out {here} and {long} {there}.",
            going,
            sentence=line,
            short=length(short),
            long=length(long),
            here=here,
            there=there,
        )
    return count(
        "{sentence} It stands {short} out at one end and {long} at the other.",
        "{sentence} Each stands {short} out at one end and {long} at the other.",
        going,
        sentence=line,
        short=length(short),
        long=length(long),
    )


def _with_end(line: str, these: Sequence[Meeting], bodies: Bodies, bars: str, going: int) -> str:
    """The sentence of what is slipped over the ends of bars, `going` of them, with how far the bars stand out of it."""
    out = [min(_past(bodies, rod, host), key=abs) for m in these for host, rod in m.pairs]
    if max(out) - min(out) > _THROUGH:
        return " ".join([line, *_each_end(these, bodies, bars)]) if min(out) > _THROUGH else line
    size = length(abs(float(np.mean(out))))
    if min(out) > _THROUGH:
        return count(
            "{sentence} It sits where {size} of {bars} stand out beyond it.",
            "{sentence} Each sits where {size} of {bars} stand out beyond it.",
            going,
            sentence=line,
            size=size,
            bars=bars,
        )
    if max(out) < -_THROUGH:
        into = [_inside(bodies, rod, host) for m in these for host, rod in m.pairs]
        if max(into) - min(into) > _THROUGH:
            return line
        size = length(float(np.mean(into)))
        return say("{sentence} The ends of {bars} reach {size} into the holes.", sentence=line, size=size, bars=bars)
    return count(
        "{sentence} It sits flush with the ends of {bars}.",
        "{sentence} Each sits flush with the ends of {bars}.",
        going,
        sentence=line,
        bars=bars,
    )


def _with_depth(line: str, these: Sequence[Meeting], bodies: Bodies) -> str:
    """The sentence of bars that end in holes, with how deep, where that is the same for all."""
    pairs = [pair for m in these for pair in m.pairs]
    deep = [_inside(bodies, rod, host) for rod, host in pairs]
    left = [-min(_past(bodies, rod, host)) for rod, host in pairs]  # of the hole, beyond the end
    if np.ptp(deep) > _THROUGH or np.ptp(left) > _THROUGH or min(left) < -_THROUGH:
        return line
    size = length(float(np.mean(deep)))
    if max(left) < _THROUGH:
        return say(
            "{sentence} Each end goes {size} deep, until it is flush with the far face.", sentence=line, size=size
        )
    return say("{sentence} Each end goes {size} deep.", sentence=line, size=size)


def _each_end(these: Sequence[Meeting], bodies: Bodies, bars: str) -> list[str]:
    """Of what sits on bars, not all of it as far from an end, a sentence for each place."""
    places: dict[tuple[str, str], int] = {}
    for m in these:
        for host, rod in m.pairs:
            past, (_, along, _) = _past(bodies, rod, host), axis_of(bodies, rod)
            first = past[0] < past[1]  # it is measured from the nearer end
            place = length(min(past)), directions.at(-along if first else along)
            places[place] = places.get(place, 0) + 1
    return [
        count(
            "One of them sits where {size} of {bars} stand out beyond it {where}.",
            "{n} of them sit where {size} of {bars} stand out beyond them {where}.",
            n,
            size=size,
            bars=bars,
            where=where,
        )
        for (size, where), n in places.items()
    ]


def _past(bodies: Bodies, rod: int, host: int) -> tuple[float, float]:
    """How far in mm the two ends of a bar lie beyond another copy, each along the bar."""
    reach, (low, high) = _along_bar(bodies, rod, host)
    return low, reach - high


def _inside(bodies: Bodies, rod: int, host: int) -> float:
    """How much in mm of a bar is in another copy."""
    reach, (low, high) = _along_bar(bodies, rod, host)
    return min(reach, high) - max(0.0, low)


def _along_bar(bodies: Bodies, rod: int, host: int) -> tuple[float, tuple[float, float]]:
    """Length of a bar, and from where to where the other copy reaches around it, from its start, in mm; on the mean all
    round where that leans. Of a copy that it passes twice, as both walls of a drum, the place where the two touch."""
    body, (start, along, size) = bodies.pieces[rod].body, axis_of(bodies, rod)
    assert isinstance(body, RodBody)
    touch = bodies.touches[rod, host]
    touched = (touch.places - start) @ along
    beside = np.linalg.svd(along[None, :])[2][1:]  # two directions square to it
    turn = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
    off = body.diameter / 2.0 + max(touch.gap, 0.0) + _BESIDE
    points, triangles = bodies.mesh((host,))
    flat = (points - start) @ np.vstack([beside, along]).T
    spans = []
    for place in off * np.column_stack([np.cos(turn), np.sin(turn)]):
        levels = _levels(flat, triangles, place)
        met = [pair for pair in zip(levels[::2], levels[1::2]) if pair[0] < touched.max() and pair[1] > touched.min()]
        spans += [(min(pair[0] for pair in met), max(pair[1] for pair in met))] if met else []
    if not spans:
        return size, (float(touched.min()), float(touched.max()))
    low, high = np.mean(spans, axis=0).tolist()
    return size, (low, high)


def _levels(points: np.ndarray, triangles: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Where a closed mesh is passed by the line through `place` (2,) along the third axis of its points (n, 3), in order."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    (ux, uy), (vx, vy), (px, py) = (b - a)[:, :2].T, (c - a)[:, :2].T, (place - a[:, :2]).T
    area = ux * vy - uy * vx
    s, t = (share / np.where(area, area, np.inf) for share in (px * vy - py * vx, ux * py - uy * px))
    inside = (area != 0.0) & (s >= 0.0) & (t >= 0.0) & (s + t <= 1.0)
    heights = np.sort((a[:, 2] + s * (b - a)[:, 2] + t * (c - a)[:, 2])[inside])
    return heights[np.r_[True, np.diff(heights) > 1e-6]] if len(heights) else heights


def _relation(meeting: Meeting, new: Piece, share: float, bodies: Bodies) -> str:
    """How a new part meets another; `share` of its broad face lies on all that it meets so."""
    upwards = meeting.from_other[2]
    if stands_on_ends(meeting, bodies):  # be it on both sides of what closes a gap between them
        return "end" if all(len(_end_of(bodies, *pair)) == 1 for pair in meeting.pairs) else "ends"
    if meeting.in_hole and isinstance(new.body, RodBody):
        through = all(min(_past(bodies, rod, host)) > _THROUGH for rod, host in meeting.pairs)
        return "through" if through else "into holes"
    if meeting.in_hole:
        beyond = min(min(_past(bodies, rod, host), key=abs) for host, rod in meeting.pairs)
        return "over bar" if beyond > _THROUGH else "over ends"
    if meeting.around and stands_on_ends(meeting.reversed(), bodies):
        return "between"
    if meeting.around:
        if isinstance(new.body, PanelBody) and meeting.broad and meeting.on_broad:
            return "wrapped"
        if isinstance(new.body, PanelBody) and meeting.broad:
            return "over"  # whether it goes all the way round or half of it, as one of two halves does
        return "fitted" if meeting.on_broad and not meeting.broad else "around"
    on_bar = isinstance(bodies.pieces[meeting.pairs[0][1]].body, RodBody) and not meeting.on_broad
    if on_bar and isinstance(new.body, FlatBody):
        return "beside bar by face" if meeting.broad else "beside bar"
    if isinstance(new.body, BandBody):
        return (
            "standing"
            if not meeting.broad
            else "wrapped"
            if new.body.inner_offset > -0.5 * new.stock.thickness
            else "lining"
        )
    if upwards < -UPRIGHT and meeting.on_broad:
        return "under"
    if upwards < -UPRIGHT and meeting.broad:
        return "below"
    if isinstance(new.body, RodBody):
        return "end" if meeting.broad else "along"
    if meeting.broad and meeting.on_broad:
        if isinstance(new.body, PanelBody):
            return "over all" if share > _FACE else "lapped"
        return "onto" if share > _FACE else "partly"
    if upwards > UPRIGHT and meeting.broad:
        return "on top"
    if upwards > UPRIGHT and meeting.on_broad:
        return "footed" if isinstance(new.body, PanelBody) else "standing"
    if meeting.broad or meeting.on_broad:
        over = "over" if isinstance(new.body, PanelBody) else "to"
        return over if meeting.broad else "edge"
    return "edges"


def _relation_line(
    mixed: bool,
    relation: str,
    glue: str,
    parts: str,
    others: str,
    going: int,
    ends: int,
    names: tuple[str, str],
    where: str,
) -> str:
    """How `going` copies go in that are called `parts`, and are glued to `others`; `ends` of these go into holes where there are
    any, `names` are the letters of the first of both, `where` goes on behind the sentence with what shows the place."""
    if glue == "none" and relation in _IN_HOLES:
        return {
            "through": say("Push {parts} through the holes of {others}, without glue.", parts=parts, others=others),
            "into holes": say(
                "Push the ends of {parts} into the holes of {others}, without glue.", parts=parts, others=others
            ),
        }.get(relation) or say("Slip {parts} on to {others}, without glue.", parts=parts, others=others)
    if relation == "over bar":
        return count(
            "Slip {parts} on to {others} as far as its place, and glue it there.",
            "Slip {parts} on to {others}, each as far as its place, and glue them there.",
            going,
            parts=parts,
            others=others,
        )
    if relation == "over ends" and glue == "instant":
        return count(
            "Put gel round the end of {others}, and slip {parts} over it at once.",
            "Put gel round the ends of {others}, and slip {parts} over them at once, each end in its hole.",
            ends,
            parts=parts,
            others=others,
        )
    if relation == "stood":
        return say(
            "Stand {parts} in its place on {others}, without glue: it must come out freely.", parts=parts, others=others
        )
    if relation == "in":
        return say(
            "Set {parts} in its place in {others}, without glue: it must come out freely.", parts=parts, others=others
        )
    if relation == "loose":
        return say("Lay {parts} on {others}, without glue.", parts=parts, others=others)
    if glue == "none":
        return say(
            "Set {parts} on {others} within the lines marked \u201cno glue\u201d, and keep glue off them.",
            parts=parts,
            others=others,
        )
    sentence = {
        "onto": say("Glue {parts} flat on {others}{where}.", parts=parts, others=others, where=where),
        "curved": say("Glue {parts} on {others}{where}.", parts=parts, others=others, where=where),
        "over all": say(
            "Glue {parts} with the drawn face down on {others}{where}: set the middle down first and press "
            "on towards both ends.",
            parts=parts,
            others=others,
            where=where,
        ),
        "partly": say(
            "Glue {parts} on {others}{where}: glue goes only where the two touch.",
            parts=parts,
            others=others,
            where=where,
        ),
        "lapped": say(
            "Glue {parts} on the outside of {others}, over its edge: the edge of {outer} beside its line \u201c{beneath}\u201d "
            "goes along the line \u201c{outer}\u201d on {beneath}. Hold it there dry first: the edge of {beneath} comes along "
            "that line of {outer}; if it does not, draw a new one along the edge. Coat {outer} as far as the line. Press the "
            "middle down first, then on towards both ends.",
            parts=parts,
            others=others,
            outer=names[0],
            beneath=names[1],
        ),
        "into holes": say(
            "Push the ends of {parts} into the holes of {others} and glue them in.", parts=parts, others=others
        ),
        "through": count(
            "Push {parts} through the holes of {others} to its place, and glue it in each of them.",
            "Push {parts} through the holes of {others}, each to its place, and glue it in each of them.",
            going,
            parts=parts,
            others=others,
        ),
        "over ends": say(
            "Slip {parts} over the end of {others}, and glue the end once it sits.", parts=parts, others=others
        )
        if ends == 1
        else count(
            "Slip {parts} over the ends of {others}, each end in its hole, and glue the ends once it sits.",
            "Slip {parts} over the ends of {others}, each end in its hole, and glue the ends once they sit.",
            going,
            parts=parts,
            others=others,
        ),
        "under": say("Glue {parts} to the underside of {others}{where}.", parts=parts, others=others, where=where),
        "below": say("Glue {parts} to the lower edge of {others}{where}.", parts=parts, others=others, where=where),
        "on top": say("Glue {parts} on the upper edge of {others}{where}.", parts=parts, others=others, where=where),
        "standing": say("Glue {parts} upright on {others}{where}.", parts=parts, others=others, where=where),
        "footed": say("Glue the lower edge of {parts} on {others}{where}.", parts=parts, others=others, where=where),
        "end": say("Glue the end of {parts} to {others}{where}.", parts=parts, others=others, where=where),
        "ends": say("Glue both ends of {parts} to {others}{where}.", parts=parts, others=others, where=where),
        "between": say("Glue {parts} between the ends of {others}.", parts=parts, others=others),
        "wrapped": say("Glue the inside of {parts} to {others} all along.", parts=parts, others=others),
        "lining": say("Glue the outside of {parts} to {others} all along.", parts=parts, others=others),
        "along": say("Glue {parts} along the side to {others}.", parts=parts, others=others),
        "beside bar": say("Glue the edge of {parts} to the side of {others}.", parts=parts, others=others),
        "beside bar by face": say(
            "Glue the face of {parts} to the side of {others}{where}.", parts=parts, others=others, where=where
        ),
        "edge": say("Glue the edge of {parts} to {others}{where}.", parts=parts, others=others, where=where),
        "fitted": say(
            "Glue the edge of {parts} all the way round to {others}{where}.", parts=parts, others=others, where=where
        ),
        "around": say("Glue {parts} all the way round to {others}.", parts=parts, others=others),
        "edges": say("Glue {parts} to {others} along the edges that meet.", parts=parts, others=others),
        "over": say(
            "Glue the inside of {parts} to the edge of {others}{where}.", parts=parts, others=others, where=where
        ),
        "to": say("Glue the face of {parts} to the edge of {others}{where}.", parts=parts, others=others, where=where),
    }
    line = sentence[relation]
    return say("{sentence} Use instant glue.", sentence=line) if glue == "instant" and mixed else line


def _held_by_whole(told: Fitting, piece: Piece) -> bool:
    """Is it a member of a whole that is joined before, and another member says where the whole goes?"""
    unit = next((unit for unit in told.units if piece.id in unit.parts), None)
    if unit is None or not unit.whole:
        return False
    placed = any(m.new in unit.parts and m.other not in unit.parts for m in told.meetings)
    return placed or unit.parts[0] != piece.id

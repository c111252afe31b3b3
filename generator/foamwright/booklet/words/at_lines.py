"""How a part goes to its placement line, in words: as the line looks that is drawn, on whichever of the two carries it."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.meetings import Meeting, face_area
from foamwright.language import listed, say
from foamwright.templates.placement_lines import BY_HOLE, BY_RIM, LINES, NONE, ONE, RING, ROUND

# how parts meet, each with how the line looks where nothing is known of it
_ON_OTHER = {
    "onto": ROUND,
    "over all": ROUND,
    "partly": ROUND,
    "under": ROUND,
    "inside": ROUND,
    "end": ROUND,
    "ends": LINES,
    "standing": LINES,
    "footed": LINES,
    "edge": LINES,
    "fitted": LINES,
    "stop": LINES,
}
_FLAT = ("onto", "over all", "under")  # face to face
_ON_NEW = {"below": LINES, "on top": LINES, "over": LINES, "to": LINES, "beside bar by face": LINES}
_ENDED = (ONE, BY_HOLE, BY_RIM)  # one line, and an edge of the foam on the other side
_ALL = 0.99  # of both faces, which then have one rim
SEVERAL = "several"  # lines that look unlike


def where(relation: str, met: Sequence[Meeting], bodies: Bodies) -> str:
    """What goes on behind a sentence that glues the new part of `met` to the others, from its comma on; "" where no line
    is drawn, or none can be seen as it runs along the edges."""
    side, looks = seen(relation, met, bodies)
    if looks == NONE:
        alike = relation in _FLAT and all(_covers_all(bodies, pair) for m in met for pair in m.pairs)
        labels = listed([_label(bodies, m.other) for m in met])
        return say(", flush with the rim of {label} all round", label=labels) if alike else ""
    new, others = _label(bodies, met[0].new), listed([_label(bodies, m.other) for m in met])
    if relation == "ends" and side == "other" and looks in (ROUND, LINES, SEVERAL):
        return say(", each inside its placement line")
    if relation == "partly":
        return say(", by the placement line") if side == "other" else say(", by the placement line on {new}", new=new)
    if side == "other" and looks in _ENDED and relation in _FLAT and _lies_over(met):
        return say(", as far as the placement lines")
    if side == "other":
        return {
            ROUND: say(", inside the placement line"),
            RING: say(", between the inner and the outer placement line"),
            LINES: say(", between the placement lines"),
            **{look: say(", between the placement line and {edge}", edge=_edge(look, others)) for look in _ENDED},
            SEVERAL: say(", by the placement lines"),
        }[looks]
    if relation in _ON_NEW:
        return {
            ROUND: say(", which comes inside the placement line"),
            RING: say(", which comes between the inner and the outer placement line"),
            LINES: say(", which comes between the placement lines"),
            **{
                look: say(", which comes between the placement line and {edge}", edge=_edge(look, new))
                for look in _ENDED
            },
            SEVERAL: say(", which comes to the placement lines"),
        }[looks]
    return {
        ROUND: say(", with {other} inside the placement line on {new}", other=others, new=new),
        RING: say(", with {other} between the inner and the outer placement line on {new}", other=others, new=new),
        LINES: say(", with {other} between the placement lines on {new}", other=others, new=new),
        **{
            look: say(", with {other} between the placement line and {edge}", other=others, edge=_edge(look, new))
            for look in _ENDED
        },
        SEVERAL: say(", by the placement lines on {new}", new=new),
    }[looks]


def _edge(look: str, label: str) -> str:
    """The edge that is there beside one line."""
    if look == BY_HOLE:
        return say("the edge of the hole in {label}", label=label)
    return say("the outer edge of {label}", label=label) if look == BY_RIM else say("the edge of {label}", label=label)


def _covers_all(bodies: Bodies, pair: tuple[int, int]) -> bool:
    """Do the faces with which two copies lie on each other have one outline?"""
    return all(bodies.touches[pair].area > _ALL * face_area(bodies, copy) for copy in pair)


def seen(relation: str, met: Sequence[Meeting], bodies: Bodies) -> tuple[str, str]:
    """Which part carries the line that tells where the new part of `met` goes, "other" or "new", and how it looks."""
    looks = (_ON_OTHER | _ON_NEW).get(relation, NONE)
    if looks == NONE or not met:
        return "other", NONE
    if bodies.lines is None:
        return ("new" if relation in _ON_NEW else "other"), looks
    first, second = (_on_new, _on_other) if relation in _ON_NEW else (_on_other, _on_new)
    looks = first(met, bodies)
    if looks == NONE:
        first, looks = second, second(met, bodies)
    return ("new" if first is _on_new else "other"), looks


def is_met_by_v(met: Sequence[Meeting], bodies: Bodies) -> bool:
    """Has the line of every copy that the new part of `met` comes on a V beside it, for one at the edge of that part?"""
    found = []
    for m in met:
        carried = [one for one in (bodies.lines or {}).get((m.other, m.new), ()) if one.with_v]
        ours, theirs = ({c: n for n, c in enumerate(bodies.of(part), start=1)} for part in (m.other, m.new))
        found += [any((ours[b], theirs[a]) in one.pairs for one in carried) for a, b in m.pairs]
    return bool(found) and all(found)


def _lies_over(met: Sequence[Meeting]) -> bool:
    """Does one copy that goes in lie on several, over the edges in which these meet?"""
    new = [pair[0] for meeting in met for pair in meeting.pairs]
    return len(set(new)) < len(new)


def is_shown(met: Sequence[Meeting], bodies: Bodies) -> bool:
    """Does a line show, on the one part or the other, where the new part comes?"""
    return bodies.lines is None or {_on_other(met, bodies), _on_new(met, bodies)} != {NONE}


def _on_other(met: Sequence[Meeting], bodies: Bodies) -> str:
    """How the lines look that the others carry for the new part."""
    return _looks([(m.other, m.new, tuple((b, a) for a, b in m.pairs)) for m in met], bodies)


def _on_new(met: Sequence[Meeting], bodies: Bodies) -> str:
    """How the lines look that the new part carries for the others."""
    return _looks([(m.new, m.other, m.pairs) for m in met], bodies)


def _looks(wanted: Sequence[tuple[str, str, Sequence[tuple[int, int]]]], bodies: Bodies) -> str:
    """How lines look, by the part that carries them, the one that comes there, and the copies of both."""
    found = set()
    for carrier, comer, pairs in wanted:
        shown = (bodies.lines or {}).get((carrier, comer), ())
        ours, theirs = (
            {copy: number for number, copy in enumerate(bodies.of(part), start=1)} for part in (carrier, comer)
        )
        by_pair: dict[tuple[int, int], set[str]] = {}
        for one in shown:
            for pair in one.pairs:
                by_pair.setdefault(pair, set()).add(one.looks)
        for a, b in pairs:
            each = by_pair.get((ours[a], theirs[b]), {NONE})
            found.add(next(iter(each)) if len(each) == 1 else SEVERAL)
    return found.pop() if len(found) == 1 else SEVERAL if found - {NONE} else NONE


def _label(bodies: Bodies, part: str) -> str:
    return bodies.pieces[bodies.of(part)[0]].label

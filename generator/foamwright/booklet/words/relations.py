"""How one part meets another at the bench, as a word and as a sentence."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from foamwright.assembly import on_bars
from foamwright.assembly.bodies import Bodies, outward
from foamwright.assembly.meetings import UPRIGHT, Meeting
from foamwright.booklet.words import bar_ends
from foamwright.language import count, say
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody

_ASIDE = 0.5  # of a direction, as a cosine, to the side of a band: less, and it is its end that touches
# what decides where a part goes, and is told first
IN_HOLES = ("into holes", "one hole", "between holes", "through", "in slots", "over ends", "over bar")
_HOLLOW = 0.9  # of a contact that faces one way; less, and it lies in a hollow
_CARRIES = 0.3  # of a direction off a face, upwards, from which what lies there does not slide off
FACE = 0.6  # of a part's broad face that must lie on another part for the two to be face to face


def stands_on_ends(meeting: Meeting, bodies: Bodies) -> bool:
    """Does an open band touch with its ends alone, as the handle of a pot does?"""
    new, other = meeting.pairs[0]
    body, touch = bodies.pieces[new].body, bodies.touches[new, other]
    if not isinstance(body, BandBody) or body.closed or meeting.broad:
        return False
    across = bodies.matrices[new][:3, :3] @ body.across
    return float(np.average(np.abs(touch.normals @ across), weights=touch.areas)) < _ASIDE


def end_of(bodies: Bodies, new: int, other: int) -> tuple[int, ...]:
    """Which ends of a band touch another copy there: 0 the first, 1 the last."""
    body, matrix = bodies.pieces[new].body, bodies.matrices[new]
    assert isinstance(body, BandBody)
    ends = body.curve[[0, -1]] @ matrix[:3, :3].T + matrix[:3, 3]
    far = np.linalg.norm(bodies.touches[new, other].places[:, None] - ends, axis=2)
    return tuple(sorted({int(end) for end in far.argmin(axis=1)}))


def lines(meeting: Meeting, bodies: Bodies) -> bool:
    """Does a panel lie in what it meets, with its outside against that, as a lining does?"""
    new, other = meeting.pairs[0]
    touch = bodies.touches[new, other]
    places, normals = outward(bodies.pieces[new], bodies.matrices[new])
    own = normals[cKDTree(places).query(touch.places)[1]]
    return float(touch.areas @ (own * touch.normals).sum(axis=1)) < 0.0


def _in_vault(meeting: Meeting, bodies: Bodies) -> bool:
    """Does a part go into the hollow of bent foam with its edge, as a cheek into the vault of a lid?"""
    touch = bodies.touches[meeting.pairs[0]]
    is_panel = isinstance(bodies.pieces[meeting.pairs[0][1]].body, PanelBody)
    return is_panel and not meeting.broad and float(np.linalg.norm(touch.off)) < _HOLLOW


def unglued(meeting: Meeting, met: Sequence[Meeting], bodies: Bodies, lies: str) -> str:
    """How a part meets another that no glue holds it to: on what carries it as it `lies`, beside what it is held next to by
    a bar or by glue, or against what it would fall off. `met` is all that it meets."""
    touches = [bodies.touches[pair] for pair in meeting.pairs]
    if any(float(t.normals[:, 2].max()) > _CARRIES for t in touches):
        return lies
    mine = [m for m in met if m.new == meeting.new and m is not meeting]
    return "beside" if any(m.in_hole or m.glue != "none" for m in mine) else "against"


def _lining(share: float) -> str:
    """Does a panel line what it meets with all of its outside, or only with a rim, as the stop of a door does?"""
    return "lining" if share > FACE else "stop"


def relation(meeting: Meeting, new: Piece, share: float, bodies: Bodies) -> str:
    """How a new part meets another; `share` of its broad face lies on all that it meets so."""
    upwards = meeting.from_other[2]
    if stands_on_ends(meeting, bodies):  # be it on both sides of what closes a gap between them
        return "end" if all(len(end_of(bodies, *pair)) == 1 for pair in meeting.pairs) else "ends"
    if meeting.in_hole and isinstance(new.body, RodBody) and all(on_bars.in_slot(bodies, *p) for p in meeting.pairs):
        return "in slots"
    if meeting.in_hole and isinstance(new.body, RodBody):
        through = all(min(bar_ends.past(bodies, rod, host)) > bar_ends.THROUGH for rod, host in meeting.pairs)
        return "through" if through else "into holes"
    if meeting.in_hole:
        beyond = min(min(bar_ends.past(bodies, rod, host), key=abs) for host, rod in meeting.pairs)
        return "over bar" if beyond > bar_ends.THROUGH else "over ends"
    if meeting.around and stands_on_ends(meeting.reversed(), bodies):
        return "between"
    if meeting.around:
        if isinstance(new.body, PanelBody) and meeting.broad and meeting.on_broad:
            return _lining(share) if lines(meeting, bodies) else "wrapped" if share > FACE else "lapped"
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
    if isinstance(new.body, PanelBody) and meeting.broad and meeting.on_broad and lines(meeting, bodies):
        return _lining(share)
    if upwards < -UPRIGHT and meeting.on_broad:
        return "inside" if _in_vault(meeting, bodies) else "under"
    if upwards < -UPRIGHT and meeting.broad:
        return "below"
    if isinstance(new.body, RodBody):
        return "end" if meeting.broad else "along"
    if meeting.broad and meeting.on_broad:
        if isinstance(new.body, PanelBody) and share <= FACE:
            return "partly" if meeting.ringed else "lapped"  # round a hole, as a ring round an eye, it lies over no end
        if isinstance(new.body, PanelBody):
            return "over all"
        return "onto" if share > FACE else "partly"
    if upwards > UPRIGHT and meeting.broad:
        return "on top"
    if upwards > UPRIGHT and meeting.on_broad:
        return "footed" if isinstance(new.body, PanelBody) else "standing"
    if meeting.broad or meeting.on_broad:
        over = "over" if isinstance(new.body, PanelBody) else "to"
        return over if meeting.broad else "edge"
    return "edges"


def through_into(glue: str, parts: str, others: str, last: str, going: int) -> str:
    """How `going` bars that are called `parts` go through the `others` and each with one end into a hole of the `last`: glue that
    holds at once in the first hole would keep it out of the second."""
    facts = {"parts": parts, "others": others, "last": last}
    if glue == "none":
        return count(
            "Push {parts} through {others} until its end sits in the hole of {last}, without glue.",
            "Push {parts} through {others} until the end of each sits in its hole in {last}, without glue.",
            going,
            **facts,
        )
    return count(
        "Push {parts} through {others} until its end sits in the hole of {last}, and glue it in each of them.",
        "Push {parts} through {others} until the end of each sits in its hole in {last}, and glue it in each of them.",
        going,
        **facts,
    )


def sentence(
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
    if glue == "none" and relation in IN_HOLES:
        return {
            "through": count(
                "Push {parts} through the hole of {others}, without glue.",
                "Push {parts} through the holes of {others}, without glue.",
                ends,
                parts=parts,
                others=others,
            ),
            "one hole": count(
                "Push the end of {parts} into the hole of {others}, without glue.",
                "Push one end of each of {parts} into the holes of {others}, without glue.",
                going,
                parts=parts,
                others=others,
            ),
            "in slots": say("Lay {parts} in the slots of {others}, without glue.", parts=parts, others=others),
            "into holes": say(
                "Push the ends of {parts} into the holes of {others}, without glue.", parts=parts, others=others
            ),
            "between holes": count(
                "Push {parts} through one hole into the one opposite, without glue: the holes are in {others}.",
                "Push each of {parts} through one hole into the one opposite, without glue: the holes are in {others}.",
                going,
                parts=parts,
                others=others,
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
    if relation == "beside":
        return say("No glue goes between {parts} and {others}.", parts=parts, others=others)
    if relation == "against":
        return say("Hold {parts} against {others}, without glue.", parts=parts, others=others)
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
            "on from there to all edges.",
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
            "goes along the line \u201c{outer}\u201d on {beneath}.",
            parts=parts,
            others=others,
            outer=names[0],
            beneath=names[1],
        ),
        "into holes": say(
            "Push the ends of {parts} into the holes of {others} and glue them in.", parts=parts, others=others
        ),
        "one hole": count(
            "Push the end of {parts} into the hole of {others} and glue it in.",
            "Push one end of each of {parts} into the holes of {others} and glue it in.",
            going,
            parts=parts,
            others=others,
        ),
        "between holes": count(
            "Push {parts} through one hole into the one opposite, and glue it in both: the holes are in {others}.",
            "Push each of {parts} through one hole into the one opposite, and glue it in both: the holes are in {others}.",
            going,
            parts=parts,
            others=others,
        ),
        "through": say(
            "Push {parts} through the hole of {others} to its place, and glue it in there.", parts=parts, others=others
        )
        if ends == 1
        else count(
            "Push {parts} through the holes of {others} to its place, and glue it in each of them.",
            "Push {parts} through the holes of {others}, each to its place, and glue it in each of them.",
            going,
            parts=parts,
            others=others,
        ),
        "in slots": say(
            "Lay {parts} in the slots of {others} and glue it in each of them.", parts=parts, others=others
        ),
        "over ends": count(
            "Slip {parts} over the end of {others} while the cement is wet.",
            "Slip {parts} over the ends of {others} while the cement is wet, each end in its hole.",
            ends,
            parts=parts,
            others=others,
        ),
        "inside": say(
            "Glue the edge of {parts} to the inside of {others}{where}.", parts=parts, others=others, where=where
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
        "stop": say(
            "Glue the outside of {parts} to {others}{where}: only that much lies on it, and the rest stands free.",
            parts=parts,
            others=others,
            where=where or say(", where the two touch"),
        ),
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

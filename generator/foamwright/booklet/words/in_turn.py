"""The work of a step that joins pieces one after another, in the order in which it is done: what goes in, the seams that close
with it, and what else it is glued to there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from foamwright.assembly import directions
from foamwright.assembly.bodies import mean_off
from foamwright.assembly.meetings import Meeting
from foamwright.booklet.words import folded_up, glue_up, gluing
from foamwright.booklet.words.fitting import Fitting
from foamwright.booklet.words.glue_up import Joining
from foamwright.language import say
from foamwright.parts.records import PanelBody

_ONE_SEAM = 20.0  # mm between the middles of the edges that meet in one seam
_ONE_WAY = 0.94  # of a direction, as a cosine, that counts as one with another
_ASIDE = 0.3  # of a direction off a face, along the way off it: less, and the two slide along each other


def lines(told: Fitting, order: Sequence[Joining]) -> list[tuple[int, str]]:
    """A sentence for each piece that is joined, and for each part that is set in between, with the turn of its part; a ring of
    flat pieces is folded up in one."""
    groups = _groups(told, order)
    when = {copy: at for at, group in enumerate(groups) for copy in group}
    folded = as_ring(told, order)
    joins = {folded[0].copy: folded_up.line(told, folded)} if folded else dict(glue_up.lines(told, order))
    met = _by_turn(told.meetings, when)
    whole = gluing.built(told)
    joined = {joining.copy for joining in order}
    down = set_on_last(told, order)
    own = {told.bodies.pieces[copy].id for copy in joined}
    unmet = [piece for piece in gluing.unmet_in(told) if piece.id not in own]
    sentences: list[tuple[int, str]] = []
    turn = 0
    for at, group in enumerate(groups):
        part = told.bodies.pieces[group[0]].id
        turn = max(turn, told.turn.get(part, 0))
        here = [m for m in met.get(at, ()) if m not in down]
        glued = gluing.meeting_sentences(here, told.bodies, told.every, whole)
        words = [line for _, line in glued]
        if group[0] in joins:
            words = [joins[group[0]], *words]
        words += [gluing.unmet_line(told, piece) for piece in unmet if piece.id == part]
        if words:
            sentences.append((turn, " ".join(words)))
    as_one = [m for m in told.meetings if any(m.parts == one.parts for one in down)]
    from_above = all(gluing.set_down(m) for m in down)
    for at, (_, line) in enumerate(gluing.meeting_sentences(as_one, told.bodies, told.every, whole)):
        if at:
            sentences.append((turn, line))
            continue
        said = (
            say("When its seams are closed, set it all down as one. {sentence}", sentence=line)
            if from_above
            else say("When its seams are closed, put it all on as one. {sentence}", sentence=line)
        )
        sentences.append((turn, " ".join([said, *_turned(told, order)])))
    return sentences


def _turned(told: Fitting, order: Sequence[Joining]) -> list[str]:
    """Which of the seams of a round of bent pieces comes to the front or the back: its arrows are inside by then."""
    bodies = told.bodies
    copies = [joining.copy for joining in order]
    middle = bodies.spheres[copies, :2].mean(axis=0)
    found: dict[int, list[np.ndarray]] = {}
    for copy in copies:
        piece, matrix = bodies.pieces[copy], bodies.matrices[copy]
        for edge in piece.body.edges if isinstance(piece.body, PanelBody) else ():
            number = next((n for key, n in told.seam_numbers.items() if (piece.id, edge.id) in key), 0)
            if number in {n for joining in order for n in joining.numbers}:
                found.setdefault(number, []).append((edge.outer @ matrix[:3, :3].T + matrix[:3, 3])[:, :2].mean(axis=0))
    ways = {
        number: np.mean(places, axis=0) - middle
        for number, places in found.items()
        if np.ptp(places, axis=0).max() < _ONE_SEAM
    }
    if len(ways) < 2:
        return []
    ways = {number: np.r_[way / np.linalg.norm(way), 0.0] for number, way in ways.items()}
    number = max(ways, key=lambda n: (round(abs(float(ways[n][0])), 2), float(ways[n][0]), -n))
    way = ways[number]
    if abs(float(way[0])) < _ONE_WAY:
        return []
    return [say("Seam {n} comes {where}.", n=number, where=directions.at(way))]


def rounds(told: Fitting) -> int:
    """How often cement is put on and waited for, or sets: what is set on something when all its seams are closed is coated
    there only then."""
    return max(gluing.rounds(told), 2 if set_on_last(told, glue_up.of_step(told)) else 1)


def as_ring(told: Fitting, order: Sequence[Joining]) -> tuple[Joining, ...]:
    """The pieces of a step in the order in which they lie side by side before they are folded up to a ring. Empty where they make
    none, or where one is glued to more on the way than what the ring is set on at last."""
    pieces = folded_up.ring(told, order) if order else ()
    return pieces if pieces and not _on_the_way(told, order) else ()


def coating(told: Fitting, order: Sequence[Joining]) -> list[str]:
    """How pieces are coated that are glued to more, as they go in, than the pieces that they share seams with: one while the one
    before it dries, so that no cement waits for long and the hands do not either."""
    if not _on_the_way(told, order):
        return []
    return [
        say(
            "Coat piece by piece: all that a numbered line joins, and while that turns tacky, what the next line joins. Of each "
            "piece press the seams first, then the rest."
        )
    ]


def _on_the_way(told: Fitting, order: Sequence[Joining]) -> bool:
    """Is a piece that is joined glued to anything else before all seams are closed?"""
    joined = {told.bodies.pieces[joining.copy].id for joining in order}
    down = [m.parts for m in set_on_last(told, order)]
    return any(m.glue != "none" and joined & {*m.parts} and m.parts not in down for m in told.meetings)


def _groups(told: Fitting, order: Sequence[Joining]) -> list[tuple[int, ...]]:
    """The copies that go in together, in the order of work: each piece of `order` by itself, and between them the other parts of
    the step, once there is something to glue them to."""
    joined = [joining.copy for joining in order]
    waiting: dict[str, list[int]] = {}
    for move in told.moves:
        for copy in move.copies:
            if copy not in joined:
                waiting.setdefault(told.bodies.pieces[copy].id, []).append(copy)
    standing = {copy for copy in range(len(told.bodies)) if told.standing >> copy & 1}
    groups: list[tuple[int, ...]] = []
    turn = told.turn

    def set_in(before: int) -> None:
        for part in [part for part in waiting if turn[part] < before]:
            copies = waiting[part]
            later = {*joined, *(copy for rest in waiting.values() for copy in rest)} - standing - {*copies}
            base = not standing  # it lies on the table, and the others are built on it
            held = base or any(_glued(told, copy, other) for copy in copies for other in standing)
            if held or not any(_glued(told, copy, other) for copy in copies for other in later):
                groups.append(tuple(copies))
                standing.update(copies)
                del waiting[part]
                return set_in(before)

    last = 0
    for copy in joined:
        last = max(last, turn[told.bodies.pieces[copy].id])
        set_in(last)
        groups.append((copy,))
        standing.add(copy)
    set_in(len(turn))
    return groups + [tuple(copies) for copies in waiting.values()]


def _glued(told: Fitting, one: int, other: int) -> bool:
    touch = told.bodies.touches.get((one, other))
    return touch is not None and touch.glued


def _by_turn(meetings: Sequence[Meeting], when: Mapping[int, int]) -> dict[int, list[Meeting]]:
    """What each group of copies meets of what is there before it; what was there before the step has no turn."""
    found: dict[int, list[Meeting]] = {}
    for meeting in meetings:
        if meeting.new == meeting.other:
            continue
        apart: dict[tuple[int, bool], list[tuple[int, int]]] = {}
        for a, b in meeting.pairs:
            turned = when.get(b, -1) > when.get(a, -1)  # the model sets it in first, the hands cannot
            apart.setdefault((max(when.get(a, -1), when.get(b, -1)), turned), []).append((a, b))
        for (at, turned), pairs in apart.items():
            part = replace(meeting, pairs=tuple(pairs), copies=len(pairs), others=len({b for _, b in pairs}))
            found.setdefault(at, []).append(part.reversed() if turned else part)
    return found


def set_on_last(told: Fitting, order: Sequence[Joining]) -> list[Meeting]:
    """What the joined pieces are set on from one side, as from above, where they are glued to nothing else: that is done when
    all seams are closed. Empty where each piece is glued as it goes in, and where a seam leads to what stands already."""
    joined = {joining.copy for joining in order}
    if not joined or any(other not in joined for joining in order for other, _ in joining.met):
        return []
    groups = _groups(told, order)
    met = _by_turn(told.meetings, {copy: at for at, group in enumerate(groups) for copy in group})
    riders = {piece.id for piece in told.riders}
    glued = [m for at, group in enumerate(groups) if group[0] in joined for m in met.get(at, ()) if m.glue != "none"]
    apart = [m for m in glued if m.other not in riders]
    if not apart:
        return []
    ways = [_off(told, m) for m in apart]
    way = np.mean(ways, axis=0)
    size = float(np.linalg.norm(way))
    if size < _ONE_WAY * min(map(np.linalg.norm, ways)) or any(
        float(one @ way) < _ONE_WAY * size * float(np.linalg.norm(one)) for one in ways
    ):
        return []
    slides = (told.bodies.touches[pair].normals @ way / size for m in apart for pair in m.pairs)
    return [] if any(float(np.median(along)) < _ASIDE for along in slides) else apart


def _off(told: Fitting, meeting: Meeting) -> np.ndarray:
    """The way (3,) off all that the copies of a part meet of another, on the mean."""
    return mean_off([told.bodies.touches[pair] for pair in meeting.pairs])

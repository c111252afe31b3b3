"""The order in which several pieces are joined in one step: piece by piece, with the seams that close as each goes in."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from foamwright.assembly import which_copy
from foamwright.assembly.batches import PIECES_IN_TURN
from foamwright.assembly.bodies import Bodies, frame
from foamwright.assembly.records import Joint
from foamwright.booklet.words.fitting import Fitting
from foamwright.language import length, listed, rows, say
from foamwright.parts.records import PanelBody

_SHORT = 0.25  # of a piece's longest seam: by a shorter one alone it would dangle


@dataclass(frozen=True)
class Joining:
    """One piece that goes in, the pieces that it meets there, and the numbers of the seams that close with each."""

    copy: int
    met: tuple[tuple[int, tuple[int, ...]], ...]

    @property
    def numbers(self) -> tuple[int, ...]:
        return tuple(sorted({number for _, numbers in self.met for number in numbers}))

    @property
    def closes_several(self) -> bool:
        """Does it close seams with several neighbours, so that one is pressed after the other?"""
        return len(self.met) > 1


def of_step(told: Fitting) -> tuple[Joining, ...]:
    """The order in which a step joins pieces to what stands. Empty where the design's own note tells it, unless a piece lies
    with its inside on a part that shares no seam: joined by their parts first, the pieces would not go round that any more."""
    if any(unit.note for unit in told.units) and not _goes_round(told):
        return ()
    standing = [copy for copy in range(len(told.bodies)) if told.standing >> copy & 1]
    return sequence(told, told.seams, [copy for move in told.moves for copy in move.copies], standing)


def _goes_round(told: Fitting) -> bool:
    """Is a piece that shares a seam glued with its face to a part of which none does?"""
    sewn = {part for joint in told.seams for part in joint.parts}
    glued = [m for m in told.meetings if m.glue != "none"]
    return any(
        (m.broad and m.new in sewn and m.other not in sewn) or (m.on_broad and m.other in sewn and m.new not in sewn)
        for m in glued
    )


def sequence(
    told: Fitting, seams: Sequence[Joint], copies: Sequence[int], standing: Sequence[int]
) -> tuple[Joining, ...]:
    """The `copies` that `seams` join to each other and to what is `standing`, each with what it meets of those before it:
    next comes the piece that meets most of what is joined already, so that the work grows round and the last closes it; but
    none hangs on a seam that is short beside its others while another can go in first.

    Empty where the order is told in another way: skins, a round of pieces that are all alike, and more pieces than are told
    one by one.
    """
    met = _met(told, seams, {*copies, *standing})
    new = [copy for copy in copies if copy in met]
    skins = all(told.every[part].lies_on for joint in seams for part in joint.parts)
    if not met:
        return ()
    alike = len({told.bodies.pieces[copy].id for copy in met}) == 1 and not told.bodies.pieces[next(iter(met))].is_pair
    if skins or alike or len(new) > PIECES_IN_TURN:
        return ()
    joined = [copy for copy in met if copy not in new]
    left = list(dict.fromkeys(new))
    order: list[Joining] = []
    sizes = _lengths(told)
    while left:
        if joined:
            at = max(range(len(left)), key=lambda i: (*_hold(left[i], met, joined, sizes, told.bodies), -i))
        else:
            at = _begin(left, met, told.bodies)
        copy = left.pop(at)
        here = tuple((other, tuple(sorted(numbers))) for other, numbers in met[copy].items() if other in joined)
        order.append(Joining(copy, here))
        joined.append(copy)
    return tuple(order)


def _hold(
    copy: int,
    met: Mapping[int, Mapping[int, set[int]]],
    joined: Sequence[int],
    sizes: Mapping[int, float],
    bodies: Bodies,
) -> tuple[bool, int, float, float]:
    """How well a copy is held once it goes in: by a seam that is not short beside its others, by how many seams; of bent pieces
    the lower is the better, then what has the longer seams, in mm."""
    closed = [sizes[number] for other, numbers in met[copy].items() if other in joined for number in numbers]
    longest = max(sizes[number] for numbers in met[copy].values() for number in numbers)
    low = -round(float(bodies.spheres[copy, 2])) if isinstance(bodies.pieces[copy].body, PanelBody) else 0.0
    return max(closed, default=0.0) > _SHORT * longest, len(closed), low, round(sum(closed))


def _begin(left: Sequence[int], met: Mapping[int, Mapping[int, set[int]]], bodies: Bodies) -> int:
    """Which of some copies is the first: the lowest where all are bent, as a hull is built from its keel up, else that with
    most neighbours, which all the others are set up on."""
    if all(isinstance(bodies.pieces[copy].body, PanelBody) for copy in left):
        return min(range(len(left)), key=lambda i: (round(float(bodies.spheres[left[i], 2])), i))
    return max(range(len(left)), key=lambda i: (len(met[left[i]]), -i))


def _met(told: Fitting, seams: Sequence[Joint], here: Collection[int]) -> dict[int, dict[int, set[int]]]:
    """For each copy the copies that it shares seams with, and their numbers."""
    numbers = {told.seam_numbers[joint.edges_key] for joint in seams}
    met: dict[int, dict[int, set[int]]] = {}
    for (a, b), touch in sorted(told.bodies.touches.items()):
        if a not in here or b not in here:
            continue
        one, other = told.bodies.pieces[a].id, told.bodies.pieces[b].id
        for edge, beside in touch.edges:
            number = told.seam_numbers.get(frozenset(((one, edge), (other, beside))))
            if number in numbers:
                met.setdefault(a, {}).setdefault(b, set()).add(number)
    return met


def lines(told: Fitting, order: Sequence[Joining]) -> list[tuple[int, str]]:
    """The order of joining as sentences, one for each piece: the copy that goes in, and what is said of it."""
    text = []
    begun = not order[0].met
    if begun and len(order) > 2:
        text.append((order[0].copy, _first(told, order)))
    joinings = [joining for joining in order if joining.met]
    longest = _lengths(told)
    for joining in joinings:
        last = joining is joinings[-1] and len(joinings) > 1
        to = [
            say("to {other} {along}", other=which_copy.name(told.bodies, other), along=in_brackets(told, numbers))
            for other, numbers in sorted(joining.met, key=lambda met: -max(longest[n] for n in met[1]))
        ]
        facts = {"piece": which_copy.name(told.bodies, joining.copy), "to": listed(to)}
        if last:
            text.append((joining.copy, say("Last, join {piece} {to}.", **facts)))
        else:
            text.append((joining.copy, say("Join {piece} {to}.", **facts)))
    return text


def _first(told: Fitting, order: Sequence[Joining]) -> str:
    """How the piece lies that all others are joined to, one after the other."""
    bodies, copy = told.bodies, order[0].copy
    piece = which_copy.name(bodies, copy)
    axes = frame(bodies.pieces[copy], bodies.matrices[copy])
    if axes is None:
        return say("Start with {piece}.", piece=piece)
    others = bodies.spheres[[joining.copy for joining in order[1:]], :3].mean(axis=0)
    inside = (others - bodies.spheres[copy, :3]) @ axes[2] < 0.0
    over = others[2] < bodies.spheres[copy, 2]  # what is joined to it hangs below it in the prop
    if inside != (bodies.pieces[copy].id in told.drawn_outside):
        if over:
            return say(
                "Start with {piece}: lay it down, the drawn face up; the prop is upside down for now.", piece=piece
            )
        return say("Start with {piece}: lay it down, the drawn face up.", piece=piece)
    return say("Start with {piece}: lay it down, the drawn face down.", piece=piece)


def dry(told: Fitting, order: Sequence[Joining]) -> list[str]:
    """A dry fit of the whole, where a joint that grips at once could not be put right any more."""
    if sum(len(joining.numbers) for joining in order) < 2:
        return []
    if sum(bool(joining.met) for joining in order) == 1:
        return [say("Put the pieces together dry first, with tape across the joints, until every seam closes.")]
    return [
        say(
            "Put the pieces together dry first, in the order that follows and with tape across the joints, until every seam "
            "closes."
        )
    ]


def closing(told: Fitting, order: Sequence[Joining]) -> list[str]:
    """How a piece is led in that meets several edges at once; its sentence names the longest seam first."""
    several = [joining for joining in order if joining.closes_several]
    return _in_what_order(told, several) if several else []


def _in_what_order(told: Fitting, several: Sequence[Joining]) -> list[str]:
    """Which of several seams is pressed shut first."""
    if hinges(several, told.bodies):
        return [
            say(
                "Where a piece closes several seams, press them shut in the order in which they are named; baking paper keeps "
                "the other edges apart until their turn."
            )
        ]
    return [
        say(
            "Where a piece closes several seams, set it down leaning outwards on the one that is named first, and swing it up "
            "against its neighbours."
        )
    ]


def hinges(order: Sequence[Joining], bodies: Bodies) -> bool:
    """Is there a bent piece that closes several seams, one of which it is swung shut on?"""
    several = [joining for joining in order if joining.closes_several]
    return any(isinstance(bodies.pieces[joining.copy].body, PanelBody) for joining in several)


def along(told: Fitting, numbers: Sequence[int]) -> str:
    """ "along seam 3 (118 mm on the template)", or of several how long each or the longest is."""
    sizes = _sizes(told)
    if len(numbers) > 1 and len({sizes[number] for number in numbers}) == 1:
        return say("along seams {seams} (each {size} on the template)", seams=ranges(numbers), size=sizes[numbers[0]])
    if len(numbers) > 1:
        each = [say("{n} ({size})", n=number, size=sizes[number]) for number in numbers]
        return say("along seams {seams} on the template", seams=listed(each))
    return say("along seam {n} ({size} on the template)", n=numbers[0], size=sizes[numbers[0]])


def in_brackets(told: Fitting, numbers: Sequence[int]) -> str:
    """As `along`, where the seams are those of one neighbour of several, the longest first: "(seam 3, 118 mm)"."""
    sizes = _lengths(told)
    if len(numbers) == 1:
        return say("(seam {n}, {size})", n=numbers[0], size=length(sizes[numbers[0]]))
    ordered = sorted(numbers, key=lambda number: (-round(sizes[number]), number))
    each = [say("{n}: {size}", n=number, size=length(sizes[number])) for number in ordered]
    return say("(seams {list})", list="; ".join(each))


def _sizes(told: Fitting) -> dict[int, str]:
    """How long each seam of a step is on the template, in words."""
    return {number: length(size) for number, size in _lengths(told).items()}


def _lengths(told: Fitting) -> dict[int, float]:
    """How long in mm each seam of a step is on the template."""
    return {
        told.seam_numbers[joint.edges_key]: max(told.drawn.get(side, joint.length) for side in joint.edges_key)
        for joint in (*told.seams, *told.whole_seams)
    }


def ranges(numbers: Sequence[int]) -> str:
    """ "3", "3 and 5", "3 to 7"."""
    words = []
    for run in rows(numbers):
        if len(run) > 2:
            words.append(say("{first} to {last}", first=run[0], last=run[-1]))
        else:
            words += [str(number) for number in run]
    return listed(words)

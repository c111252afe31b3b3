"""The pictures of the steps, one diagram for each major step (M. Agrawala and others, "Designing effective step-by-step
assembly instructions", SIGGRAPH 2003): what stands by then, and which kind of picture a step has."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Picture, Step
from foamwright.booklet.pictures.assembling import Assembler
from foamwright.booklet.pictures.coats import Painter
from foamwright.booklet.pictures.step_views import staged
from foamwright.booklet.pictures.together import Together
from foamwright.booklet.words.supplies import called
from foamwright.design.records import Bought
from foamwright.parts.records import FlatBody


def step_pictures(bodies: Bodies, steps: Sequence[Step], bought: Collection[Bought] = ()) -> dict[int, Picture]:
    """A picture for each step that puts a part in or paints what stands, by the step's number; straps are among what is `bought`
    for the prop."""
    together = Together(bodies)
    painter, assembler = Painter(together), Assembler(bodies)
    drawn: dict[int, Picture] = {}
    placed: list[int] = []
    coated: set[int] = set()  # copies that have their paint
    bound: list[frozenset[int]] = []  # copies that have been put together at the bench
    views: dict[int, str] = {}  # from where each thing was last seen: another one that is begun has not been turned
    for step in steps:
        if not step.moves:
            coats = [i for i in placed if bodies.pieces[i].id in step.parts] if "paint" in step.uses else []
            apart = _one_of_each(bodies, placed, step.parts) if "paint" in step.uses else []
            if coats or apart:
                coated |= _painted_in(bodies, step)
                before = views.get(together.joined[coats[0]], "") if coats else ""
                drawn[step.number] = painter.painted(placed if coats else (), coats, apart, step, before)
                views |= dict.fromkeys((together.joined[i] for i in placed), "front") if coats else {}
            elif step.sets:
                before = views.get(together.joined[step.sets[0].copies[0]], "")
                drawn[step.number] = painter.set_down(placed, step, before)
            elif step.parts and {*step.parts} < {bodies.pieces[i].id for i in placed}:
                straps = [one for one in bought if one.through and called(one) in step.bought]
                drawn[step.number] = painter.worked_on(placed, step, straps)
            continue
        new = [copy for move in step.moves for copy in move.copies]
        if step.bench:
            units = _going_in_with(steps, new)
            stood = [copy for unit in units for copy in unit if copy not in new]
            bound += map(frozenset, units)
        else:
            stood = together.beside(placed, new, step)
            step = together.from_above(stood, step)
            placed = [*placed, *new]
        stood, seen, twins = together.one_of_twins(stood, step)
        new = [copy for move in seen.moves for copy in move.copies]
        stage = staged(bodies, bound, seen, stood)
        thing = together.joined[(stood or new)[0]]
        before = "" if step.bench else views.get(thing, "")
        chosen = stage.choose(stood, new, seen, before or "front")
        drawn[step.number] = assembler.assembled(stage, stood, seen, chosen, before, twins, coated)
        if not step.bench:
            views[thing] = chosen.name
    return drawn


def _painted_in(bodies: Bodies, step: Step) -> set[int]:
    """The copies that a step paints, but for those that it paints on their inside alone before they are closed."""
    parts = [part for part in step.parts if bodies.of(part)]
    pieces = {part: bodies.pieces[bodies.of(part)[0]] for part in parts}
    inside = {part for part in parts if part in step.one_face and not isinstance(pieces[part].body, FlatBody)}
    return {copy for part in parts if part not in inside for copy in bodies.of(part)}


def _one_of_each(bodies: Bodies, placed: Sequence[int], parts: Sequence[str]) -> list[int]:
    """The first copy of each part that is worked on and of which none has been placed."""
    here = {bodies.pieces[i].id for i in placed}
    return [bodies.of(part)[0] for part in parts if part not in here and bodies.of(part)]


def _going_in_with(steps: Sequence[Step], riders: Sequence[int]) -> list[tuple[int, ...]]:
    """The copies that go in as one later, each time with some of those put on them at the bench."""
    return [m.copies for step in steps if not step.bench for m in step.moves if set(m.copies) & set(riders)]

"""One attempt to take the finished prop apart: what comes off next, copy by copy, and what to say where nothing does.

Backwards it is the order of assembly (`planning.py`). What rides in on something else is put on it at the bench, before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf

import numpy as np

from foamwright.assembly import practice
from foamwright.assembly.bodies import Bodies, Touch, frame
from foamwright.assembly.units import Unit, goes_in_late, rests
from foamwright.assembly.ways_in import Way, Ways
from foamwright.errors import BuildError
from foamwright.parts.records import FlatBody

_BROAD = 0.6  # of the length and the width of what stands on it, that a plate on the ground has
_LEVEL = 0.999  # cosine
_ON_GROUND = 0.5  # mm
BENDING = 2.0  # what a way costs, at least, on which a part is rolled
_IN_SIGHT = 0.75  # of a part that shows from some side; less lies within, and goes in before what hides it


@dataclass(frozen=True)
class Move:
    """Copies that go in together as one body, the lead first, and the way that they go. `own` are all copies, as bits,
    that they are built together with; what is built apart from them bars them no way."""

    copies: tuple[int, ...]
    way: Way
    own: int = -1


@dataclass(frozen=True)
class Stage:
    """Units that go in one after another, in the order of `moves`.

    `bench` are the moves that put smaller parts on the unit's own while it still lies on the bench.
    """

    units: tuple[Unit, ...]
    moves: tuple[Move, ...]
    bench: tuple[Move, ...] = ()

    @property
    def parts(self) -> tuple[str, ...]:
        return tuple(part for unit in self.units for part in unit.parts)


class TakingApart:
    """One attempt; `riders` are the parts that ride in on another: rider -> the part that it is fixed to. What rests on
    something else is built apart from it and set on it when both are whole, unless the pair is `caught`: then it goes in
    on the way."""

    def __init__(
        self,
        units: Sequence[Unit],
        needs: Mapping[str, set[str]],
        ways: Ways,
        riders: Mapping[str, str],
        caught: Set[tuple[str, str]] = frozenset(),
    ):
        self.ways, self.riders, self.needs, self.caught = ways, riders, needs, caught
        self.bodies = ways.bodies
        self.of: dict[str, tuple[int, ...]] = {}
        for copy, piece in enumerate(self.bodies.pieces):
            self.of[piece.id] = (*self.of.get(piece.id, ()), copy)
        self.unit_of = {part: unit for unit in units for part in unit.parts}
        self.all_units = units
        self.units = [unit for unit in units if not any(part in riders for part in unit.parts)]
        self.mask = {unit.index: self.bodies.mask(self._copies(unit)) for unit in units}
        self.touched = self._touched()
        self.component = self._components()
        self.own = self._masks()
        self.waiting = self._dependents()
        self.grounds = self._grounds()
        self.upon = self._upon()
        self.standing = (1 << len(self.bodies)) - 1
        self.left = {unit.index: unit for unit in self.units}
        self.sight = ways.sight

    # What belongs together

    def _copies(self, unit: Unit) -> tuple[int, ...]:
        return tuple(copy for part in unit.parts for copy in self.of.get(part, ()))

    def _home(self, unit: Unit) -> Unit:
        """The unit that a unit rides in with: its own, unless its parts are riders."""
        seen = set()
        while unit.parts[0] in self.riders and unit.index not in seen:
            seen.add(unit.index)
            unit = self.unit_of[self.riders[unit.parts[0]]]
        return unit

    def _touched(self) -> dict[int, set[int]]:
        """For each unit that stays, the other units that it touches."""
        owner = {copy: self._home(unit).index for unit in self.all_units for copy in self._copies(unit)}
        touched: dict[int, set[int]] = {unit.index: set() for unit in self.units}
        for one, other in self.ways.touches:
            pair = self.bodies.pieces[one], self.bodies.pieces[other]
            if rests(*pair) and (pair[0].id, pair[1].id) not in self.caught:
                continue
            if one in owner and other in owner and owner[one] != owner[other]:
                touched[owner[one]].add(owner[other])
        return touched

    def _components(self) -> dict[int, int]:
        """Units that hang together get one number, in the order of the design."""
        link = {index: set(others) for index, others in self.touched.items()}
        # what only rests on the rest is built by itself, whenever it is set down
        loose = {piece.id for piece in self.bodies.pieces if piece.glue == "none" or piece.carried_by}
        for part, needed in self.needs.items():
            for other in needed:
                if part in self.unit_of and other in self.unit_of and part not in loose:
                    one, two = self._home(self.unit_of[part]).index, self._home(self.unit_of[other]).index
                    link[one].add(two)
                    link[two].add(one)
        component: dict[int, int] = {}
        for unit in self.units:
            stack = [unit.index] if unit.index not in component else []
            number = unit.index
            while stack:
                here = stack.pop()
                if here not in component:
                    component[here] = number
                    stack += link[here]
        return component

    def _masks(self) -> dict[int, int]:
        """All copies of each component: what is not joined to a part is not in its way, since it is built apart."""
        masks: dict[int, int] = {}
        for unit in self.all_units:
            number = self.component[self._home(unit).index]
            masks[number] = masks.get(number, 0) | self.bodies.mask(self._copies(unit))
        return masks

    def _dependents(self) -> dict[int, set[int]]:
        """For each unit the units that must go in after it: by what the parts need, and as the design lists its
        steps."""
        dependents: dict[int, set[int]] = {unit.index: set() for unit in self.units}
        for unit in self.all_units:
            home = self._home(unit)
            for part in unit.parts:
                for needed in self.needs.get(part, ()):
                    if needed in self.unit_of:
                        other = self._home(self.unit_of[needed])
                        if other is not home:
                            dependents[other.index].add(home.index)
        listed = sorted((unit for unit in self.units if unit.listed is not None), key=lambda unit: unit.listed or 0)
        for earlier, later in pairwise(listed):
            dependents[earlier.index].add(later.index)
        return dependents

    def _grounds(self) -> set[int]:
        """The units that are one broad level plate on the ground, each the lowest of what it is built into."""
        found = set()
        for unit in self.units:
            copies = self._copies(unit)
            if len(copies) != 1 or not isinstance(self.bodies.pieces[copies[0]].body, FlatBody):
                continue
            axes = frame(self.bodies.pieces[copies[0]], self.bodies.matrices[copies[0]])
            own = self.own[self.component[unit.index]]
            every = self.bodies.mesh(tuple(i for i in range(len(self.bodies)) if own >> i & 1))[0]
            plate = self.bodies.mesh(copies)[0]
            broad = bool((np.ptp(plate[:, :2], axis=0) > _BROAD * np.ptp(every[:, :2], axis=0)).all())
            level = axes is not None and abs(float(axes[2][2])) > _LEVEL
            if level and broad and float(plate[:, 2].min()) < float(every[:, 2].min()) + _ON_GROUND:
                found.add(unit.index)
        return found

    def _upon(self) -> dict[int, set[int]]:
        """For each unit the others of the same thing that rest on it, straight or by way of others, as a lid that a hinge holds
        does on its box: they are set on what stands."""
        upon: dict[int, set[int]] = {unit.index: set() for unit in self.units}
        for piece in self.bodies.pieces:
            for carrier in piece.rests_on:
                if piece.id in self.unit_of and carrier in self.unit_of:
                    above, below = (self._home(self.unit_of[part]).index for part in (piece.id, carrier))
                    if above != below and self.component[above] == self.component[below]:
                        upon[below].add(above)
        for through in upon:
            for resting in upon.values():
                resting.update(upon[through] if through in resting else ())
        return upon

    def built_with(self, copy: int) -> int:
        """All copies, as bits, of the thing that a copy is built into."""
        unit = self._home(self.unit_of[self.bodies.pieces[copy].id])
        return self.own[self.component[unit.index]]

    # Taking apart

    def run(self) -> tuple[Stage, ...] | None:
        """All stages, or None where nothing more can be taken off."""
        backwards: list[Stage] = []
        while self.left:
            stage = self._next()
            if stage is None:
                return None
            backwards.append(stage)
        return tuple(reversed(backwards))

    def _next(self) -> Stage | None:
        taken = None
        loose = self._loose()
        # rather what leaves nothing in the air above the ground
        for unit in (*filter(self._leaves_the_rest_standing, loose), *loose):
            taken = self._taken(unit, self.standing)
            if taken is not None:
                break
        if taken is None:
            return None
        unit, moves = taken
        for other in self._orphans(unit):
            # rather the orphan first, where it can go; else it goes in within the step that closes around it
            goes = other.index not in self.grounds and not self._held(other)
            first = self._taken(other, self.standing) if goes else None
            if first is not None and not self._orphans(other):
                unit, moves = first
                self._remove(unit)
                return self._stage((unit,), moves)
        orphans = self._orphans(unit)
        self._remove(unit)
        units = [unit]
        for other in orphans:
            if other.noted or self._held(other):
                continue
            inside = self._taken(other, self.standing)
            if inside is not None:
                self._remove(other)
                units.insert(0, other)
                moves = (*inside[1], *moves)
        return self._stage(tuple(units), moves)

    def _loose(self) -> list[Unit]:
        """The units that nothing left needs, those of the highest rank first."""
        loose = [unit for unit in self.left.values() if not self._held(unit)]
        seen = self.sight.shown(self.standing)

        def late(unit: Unit) -> tuple[bool, int, bool, bool, bool, int, int]:
            copies = [copy for group in self._groups(unit) for copy in group]
            shown = sum(seen[copy] for copy in copies) / max(len(copies), 1)
            pieces = [self.bodies.pieces[copy] for copy in self._copies(unit)]
            loose = bool(pieces) and all(piece.glue == "none" for piece in pieces)
            bare = bool(pieces) and shown > _IN_SIGHT and go_in_bare(self.bodies, self._groups(unit))
            below = unit.index not in self.grounds  # what the rest stands on comes off last
            bears = any(index in self.left for index in self.upon[unit.index])
            return (
                loose or bare,
                self.component[unit.index],
                not bears,
                below,
                shown > _IN_SIGHT,
                unit.rank,
                unit.index,
            )

        return sorted(loose, key=late, reverse=True)

    def _leaves_the_rest_standing(self, unit: Unit) -> bool:
        """Is all that is left of a thing without a unit still joined to the plate that it stands on, if it has one?"""
        own = {i for i in self.left if self.component[i] == self.component[unit.index]}
        rest = own - {unit.index}
        reached = rest & self.grounds
        open_ = list(reached)
        while open_:
            beyond = rest.intersection(self.touched[open_.pop()]) - reached
            reached |= beyond
            open_ += beyond
        return not own & self.grounds or reached == rest

    def _held(self, unit: Unit) -> bool:
        return any(index in self.left for index in self.waiting[unit.index])

    def _remove(self, unit: Unit) -> None:
        del self.left[unit.index]
        for group in self._groups(unit):
            self.standing &= ~self.bodies.mask(group)

    def _orphans(self, unit: Unit) -> list[Unit]:
        """The units that would touch nothing more once `unit` is gone, though their component goes on; what rests on others of
        them before these."""
        count = Counter(self.component[index] for index in self.left)
        orphans = []
        for index in sorted(self.touched[unit.index], key=lambda index: (len(self.upon[index]), index)):
            hangs = index in self.left and not any(i in self.left and i != unit.index for i in self.touched[index])
            if hangs and count[self.component[index]] > 2:
                orphans.append(self.left[index])
        return orphans

    def _groups(self, unit: Unit) -> list[tuple[int, ...]]:
        """The copies of a unit that go in as one: each with the copies that ride on it, a whole with all its
        members."""
        groups = [(copy, *self._riding(part, copy)) for part in unit.parts for copy in self.of.get(part, ())]
        return self._joined(groups) if unit.whole else groups

    def _joined(self, groups: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
        """Groups that touch made one."""
        joined: list[tuple[int, ...]] = []
        for group in groups:
            meets = [other for other in joined if any((a, b) in self.ways.touches for a in group for b in other)]
            joined = [other for other in joined if other not in meets]
            joined.append(tuple(copy for other in (*meets, group) for copy in other))
        return [tuple(sorted(group)) for group in joined]

    def _riding(self, part: str, copy: int) -> list[int]:
        riders = []
        for rider, base in self.riders.items():
            if base == part:
                for one in self.of.get(rider, ()):
                    if self._carrier(one, base) == copy:
                        riders += [one, *self._riding(rider, one)]
        return riders

    def _carrier(self, copy: int, base: str) -> int:
        """The copy of `base` that a copy touches most, or lies nearest to."""
        touch = self.ways.touches

        def closeness(other: int) -> tuple[float, float]:
            met = touch.get((copy, other))
            gap = float(sum((self.bodies.spheres[copy, :3] - self.bodies.spheres[other, :3]) ** 2))
            return (met.area if met else 0.0, -gap)

        return max(self.of[base], key=closeness)

    def _taken(self, unit: Unit, standing: int) -> tuple[Unit, tuple[Move, ...]] | None:
        """How a unit comes off, copy by copy; the moves in the order in which they go in."""
        standing &= self.own[self.component[unit.index]]
        waiting = self._groups(unit)
        if unit.whole and any(self.ways.free(group, standing) is None for group in waiting):
            waiting = [(copy,) for group in waiting for copy in group]  # member by member
        backwards: list[Move] = []
        while waiting:
            chosen = self._first_free(waiting, standing)
            if chosen is None:
                return None
            backwards.append(replace(chosen, own=self.own[self.component[unit.index]]))
            standing &= ~self.bodies.mask(chosen.copies)
            waiting.remove(chosen.copies)
        return unit, tuple(reversed(backwards))

    def _first_free(self, waiting: Sequence[tuple[int, ...]], standing: int) -> Move | None:
        """The last group that comes off, one that needs no bending before one that does."""
        for most in (BENDING, inf):
            for group in reversed(waiting):
                way = self.ways.free(group, standing, most)
                if way is not None and self._glue_reached(group, standing):
                    return Move(group, way)
        return None

    def _glue_reached(self, group: tuple[int, ...], standing: int) -> bool:
        """Can the faces that a group is glued to be brushed before it goes in? Once they can, they can ever after."""
        standing &= ~self.bodies.mask(group)
        return brushed(self.ways.touches_of(group, standing), standing, self.ways)

    def _stage(self, units: tuple[Unit, ...], moves: tuple[Move, ...]) -> Stage:
        return Stage(units, moves, tuple(step for move in moves for step in self._at_the_bench(move.copies)))

    def _at_the_bench(self, copies: tuple[int, ...]) -> list[Move]:
        """How the copies that go in as one are put together before, the lead first, and all copies of a part one after another
        where they can be: both ends of an axle get what sits further in, then both what sits further out."""
        here = self.bodies.mask(copies)
        waiting = list(copies[1:])
        backwards: list[Move] = []
        while waiting:
            last = self.bodies.pieces[backwards[-1].copies[0]].id if backwards else ""
            twins = [copy for copy in reversed(waiting) if self.bodies.pieces[copy].id == last]
            needed = {part for copy in waiting for part in self.needs.get(self.bodies.pieces[copy].id, ())}
            for rider in (*twins, *(copy for copy in reversed(waiting) if copy not in twins)):
                way = self.ways.free((rider,), here) if self.bodies.pieces[rider].id not in needed else None
                if way is not None:
                    backwards.append(Move((rider,), way))
                    here &= ~self.bodies.mask((rider,))
                    waiting.remove(rider)
                    break
            else:
                names = ", ".join(dict.fromkeys(self.bodies.pieces[i].id for i in waiting))
                raise BuildError(f"{names} cannot be put together with {self.bodies.pieces[copies[0]].id} at the bench")
        return list(reversed(backwards))

    # When nothing comes off

    def next_rider(self) -> tuple[str, str] | None:
        """A part that nothing frees and that can ride in on the one part that carries it: (rider, carrier)."""
        for unit in self._loose():
            if unit.noted or len(unit.parts) != 1:
                continue
            part = unit.parts[0]
            carriers = [carrier for carrier in self._carriers(part) if not self._waits_for_all_of(part, carrier)]
            homes = {self._home(self.unit_of[carrier]).index for carrier in carriers}
            if len(homes) != 1 or any(carrier in self.riders for carrier in carriers):
                continue
            home = homes.pop()
            if home in self.left and home != unit.index and self._taken(unit, self.standing) is None:
                return part, max(carriers, key=lambda carrier: self._shared(part, carrier))
        return None

    def _waits_for_all_of(self, part: str, carrier: str) -> bool:
        """Does the design want a part after another of which it meets several copies, as a hoop after the petals that it
        holds? On one of them alone it would be there before the others."""
        return carrier in self.bodies.pieces[self.of[part][0]].after and meets_several(self.bodies, part, carrier)

    def _shared(self, part: str, other: str) -> float:
        """The area over which two parts touch, mm2."""
        met = (self.ways.touches.get((a, b)) for a in self.of[part] for b in self.of[other])
        return sum(touch.area for touch in met if touch)

    def _carriers(self, part: str) -> list[str]:
        """What a part lies on; where it lies on nothing, what it touches."""
        piece = self.bodies.pieces[self.of[part][0]]
        if piece.lies_on:
            return list(piece.lies_on)
        met = {self.bodies.pieces[b].id for (a, b) in self.ways.touches if a in self.of[part]}
        return sorted(met - {part})

    def reason(self) -> str:
        """Which part has no way in, what stands in it, and whether the design's own order is to blame."""
        for unit in self._loose():
            if self._taken(unit, self.standing) is not None:
                continue
            standing = self.standing
            stuck = None
            dry = None
            for group in self._groups(unit):
                if self.ways.free(group, standing) is None:
                    stuck = group
                    break
                if not self._glue_reached(group, standing & self.own[self.component[unit.index]]):
                    dry = group
            if stuck is None and dry is not None:
                return self._unreached(unit, dry)
            if stuck is None:
                continue
            way = self.ways.nearest(stuck, standing & ~self.bodies.mask(stuck))
            name = self.bodies.pieces[stuck[0]].id
            blockers = way.blockers & standing
            names = dict.fromkeys(self.bodies.pieces[i].id for i in range(len(self.bodies)) if blockers >> i & 1)
            first = ", ".join(list(names)[:4])
            where = f"step '{unit.title}': " if unit.title else ""
            if self._listed_to_blame(set(names)):
                return (
                    f"{where}part {name} has no way in once the parts before it stand: {first} would be in the way of "
                    "the clearest one; move it before them under steps, or take it out of their `after`"
                )
            stand = "stands" if len(names) == 1 else "stand"
            # what it is said to come after closes it in, as a box that is whole does a shelf with tabs
            remedy = "; take that out of its `after`" if set(names) <= {*self.bodies.pieces[stuck[0]].after} else ""
            sealed = f"{where}part {name} is sealed in: {first} {stand} in its clearest way in, and nothing can go in after it"
            return sealed + remedy
        left = [part for unit in self.left.values() for part in unit.parts]
        return f"parts {', '.join(left[:4])} wait for each other and cannot be put together in any order"

    def _unreached(self, unit: Unit, group: tuple[int, ...]) -> str:
        touches = [t for t in self.ways.touches_of(group, self.standing & ~self.bodies.mask(group)) if t.glued]
        on = ", ".join(dict.fromkeys(self.bodies.pieces[t.b].id for t in touches))
        where = f"step '{unit.title}': " if unit.title else ""
        remedy = (
            "move it before the parts that close it in under steps, or take it out of their `after`"
            if any(other.listed is not None for other in self.all_units) or any(self.needs.values())
            else "leave an opening nearer to it"
        )
        return (
            f"{where}part {self.bodies.pieces[group[0]].id} is glued to {on} where no brush of "
            f"{practice.BRUSH_REACH:g} mm reaches any more; {remedy}"
        )

    def _listed_to_blame(self, blockers: Iterable[str]) -> bool:
        return any(self.unit_of[part].listed is not None or self.needs.get(part) for part in blockers)


def brushed(touches: Sequence[Touch], standing: int, ways: Ways) -> bool:
    """Can enough of what is glued be brushed on what stands?"""
    glued = [touch for touch in touches if touch.glued]
    return not glued or ways.sight.reached(glued, standing) >= practice.BRUSHED


def meets_several(bodies: Bodies, part: str, other: str) -> bool:
    """Is a copy of a part glued to more than one copy of another?"""
    others = bodies.of(other)
    met = ([copy for copy in others if (t := bodies.touches.get((own, copy))) and t.glued] for own in bodies.of(part))
    return any(len(copies) > 1 for copies in met)


def go_in_bare(bodies: Bodies, groups: Sequence[tuple[int, ...]]) -> bool:
    bare = [[_late(bodies, copy) for copy in group] for group in groups]
    return all(all(group) for group in bare) or any(any(group[1:]) for group in bare)


def _late(bodies: Bodies, copy: int) -> bool:
    piece = bodies.pieces[copy]
    return goes_in_late(piece) or piece.id in bodies.painted_apart

"""What a picture shows of all that stands: what the new copies belong to, and one of things that are built alike."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np
from scipy.cluster.hierarchy import DisjointSet

from foamwright.assembly.bodies import Bodies, Touch
from foamwright.assembly.records import Step
from foamwright.assembly.sight import basis
from foamwright.assembly.units import rests
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.joint_insets import all_round
from foamwright.booklet.pictures.looks import FRONT
from foamwright.language import say
from foamwright.parts.records import RodBody

_INTO = 0.5  # of a way that would lead through what a part lies on


class Together:
    """Which copies of a prop hang together."""

    def __init__(self, bodies: Bodies):
        self.bodies = bodies
        self.joined = self._joined(range(len(bodies)))

    @property
    def touches(self) -> Mapping[tuple[int, int], Touch]:
        return self.bodies.touches

    def _joined(self, among: Collection[int]) -> list[int]:
        """For each copy the number of the cluster of copies that it hangs together with, `among` those that are there."""
        pieces, here = self.bodies.pieces, frozenset(among)
        links = [pair for pair in self.touches if here.issuperset(pair) and not self._is_set_down(*pair)]
        copies: dict[str, list[int]] = {}
        for copy, piece in enumerate(pieces):
            copies.setdefault(piece.id, []).append(copy)
        middle = self.bodies.spheres[:, :3]
        for copy, piece in enumerate(pieces) if len(here) == len(pieces) else ():
            for part in (*piece.after, *piece.lies_on) if piece.glue != "none" else ():
                if part in copies:
                    away = np.linalg.norm(middle[copies[part]] - middle[copy], axis=1)
                    links.append((copy, copies[part][int(np.round(away, 3).argmin())]))
        joined = DisjointSet(range(len(self.bodies)))
        for a, b in links:
            joined.merge(a, b)
        return [joined[i] for i in range(len(self.bodies))]

    def _is_set_down(self, a: int, b: int) -> bool:
        """Does one of two copies only rest on the other? A bar that goes through a hole stays there, though nothing glues it."""
        one, other = self.bodies.pieces[a], self.bodies.pieces[b]
        through = isinstance(one.body, RodBody) != isinstance(other.body, RodBody) and all_round(self.touches[a, b])
        return rests(one, other) and not through

    def beside(self, stood: Sequence[int], new: Sequence[int], step: Step) -> list[int]:
        """Of what stands, what the new copies belong to: a stand is not drawn below the hull that it will carry, nor a cap that
        is glued up on the table over the box that it will lie on."""
        own = {self.joined[i] for i in new}
        mine = [i for i in stood if self.joined[i] in own] or self._below(stood, new, step)
        return mine or ([] if len(own) == 1 else list(stood))

    def _below(self, stood: Sequence[int], new: Sequence[int], step: Step) -> list[int]:
        """Of what stands that on which loose copies are laid, as a lid, or in which they are set, as a pail."""
        met = [touch for (a, b), touch in self.touches.items() if a in new and b in stood]
        is_laid = not step.glue and not any(touch.glued for touch in met)
        loose = is_laid or any(self.bodies.pieces[i].glue == "none" for i in new)
        below = {self.joined[touch.b] for touch in met} if loose else set()
        return [i for i in stood if self.joined[i] in below]

    def from_above(self, stood: Sequence[int], step: Step) -> Step:
        """A loose part whose way was found without what it is laid on is drawn off that."""
        moves = []
        for move in step.moves:
            laid = [t.normals for (a, b), t in self.touches.items() if a in move.copies and b in stood]
            loose = any(self.bodies.pieces[i].glue == "none" for i in move.copies)  # with a knob on it, perhaps
            if laid and loose and move.outwards:
                off = np.concatenate(laid).mean(axis=0)
                if off @ np.array(move.outwards[-1][0]) < -_INTO:
                    x, y, z = (off / np.linalg.norm(off)).tolist()
                    move = replace(move, outwards=(((x, y, z), float("inf")),))
            moves.append(move)
        return replace(step, moves=tuple(moves))

    def one_of_twins(self, stood: Sequence[int], step: Step) -> tuple[list[int], Step, str]:
        """Of things that are built alike and do not touch, the one nearest to the eye, and a note that says so; loose ones that
        are laid on something else are no such things."""
        new = [copy for move in step.moves for copy in move.copies]
        joined = self._joined([*stood, *new]) if step.bench else self.joined
        groups = self.alike([*stood, *new] if step.bench else new, joined)
        elsewhere = not any(joined[i] in groups for i in stood)
        if not groups or (elsewhere and self._below(stood, new, step)):
            return list(stood), step, ""
        kept = self._nearest(groups)
        moves = [replace(m, copies=tuple(i for i in m.copies if joined[i] == kept)) for m in step.moves]
        seen = replace(step, moves=tuple(move for move in moves if move.copies))
        pair = any(p.mirrored for i in groups[kept] for p in self.bodies.pieces[i].placements)
        if pair and len(groups) == 2:
            note = say("Build the other side in the same way: it is the mirror image.")
        else:
            note = say("One of {n} that are built alike.", n=len(groups))
        return [i for i in stood if joined[i] == kept], seen, note

    def one_alike(self, stood: Sequence[int]) -> tuple[list[int], str]:
        """Of all that stands, if it is things that are built alike, the one nearest to the eye."""
        groups = self.alike(stood, self.joined)
        if not groups:
            return list(stood), ""
        kept = self._nearest(groups)
        return groups[kept], say("One of {n} that are built alike.", n=len(groups))

    def alike(self, copies: Sequence[int], joined: Sequence[int]) -> dict[int, list[int]]:
        """Copies by the thing that they belong to, where there are several and all of them are of the same parts."""
        groups: dict[int, list[int]] = {}
        for copy in copies:
            groups.setdefault(joined[copy], []).append(copy)
        alike = {tuple(sorted(self.bodies.pieces[i].id for i in group)) for group in groups.values()}
        return groups if len(groups) > 1 and len(alike) == 1 else {}

    def at_figure(self, points: np.ndarray) -> tuple[list[int], list[np.ndarray]]:
        """Where a prop is several things that are built alike, as a pair of guards is: the copies of the one that a figure of
        these points (n, 3) is in, and how (4, 4) the figure is taken from there into each of the others. Else all copies."""
        every = range(len(self.bodies))
        groups = self.alike(every, self.joined)
        if not groups:
            return list(every), []
        middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
        home = min(groups, key=lambda root: (round(self._away(groups[root], middle), 3), root))
        moves = []
        for root in (root for root in sorted(groups) if root != home):
            one, other = ({self.bodies.pieces[i].id: i for i in groups[g]} for g in (home, root))
            counts = {part: sum(self.bodies.pieces[i].id == part for i in groups[home]) for part in one}
            part = min(one, key=lambda p: (counts[p], p))  # of which there is one, so that it is known which is which
            moves.append(self.bodies.matrices[other[part]] @ np.linalg.inv(self.bodies.matrices[one[part]]))
        return list(groups[home]), moves

    def _away(self, copies: Sequence[int], middle: np.ndarray) -> float:
        own = render.all_points(self.bodies, copies)
        return float(np.linalg.norm((own.min(axis=0) + own.max(axis=0)) / 2.0 - middle))

    def _nearest(self, groups: Mapping[int, Sequence[int]]) -> int:
        along = basis(FRONT)[2]
        return min(
            groups,
            key=lambda root: (round(float(render.all_points(self.bodies, groups[root]).mean(axis=0) @ along), 3), root),
        )

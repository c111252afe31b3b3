"""Where a glued joint is far too small for what it holds, by its weight and its lever. Lengths in mm, masses in kg, forces in N.

A sign that hangs on two rods 3 mm thick, a finial on the end of a wire: the parts touch, so something holds them, and they break
off the first time that the prop is taken in hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, maximum_flow

from foamwright.contacts.joins import glued
from foamwright.contacts.records import Contact, Contacts
from foamwright.contacts.standing import Copy
from foamwright.geometry import Mesh
from foamwright.parts.records import Prop

_KNOCK = 1.0  # N that a hand brings to bear on what stands out, at its far end; common practice, no source
_TEARS = 1.0  # N/mm2 at which foam tears beside the glue; common practice, no source
_GRAVITY = 9.81  # m/s2
_NAMED = 3  # of the parts that come off together
_FINELY = 10  # parts of a mm2 by which areas are added up
_ENDLESS = 10**6  # such parts, at most and of what reaches into each other: no knock parts that


def weak_joints_told(
    prop: Prop,
    contacts: Contacts,
    groups: Iterable[Set[Copy]],
    masses: Mapping[Copy, tuple[float, np.ndarray]],
    points: Mapping[Copy, np.ndarray],
) -> list[str]:
    """A line for each joint that tears when what it holds is knocked, for whoever makes the design. `groups` are the copies that
    glue holds together, `masses` those of copies with the middle (3,) of each, and `points` (n, 3) their corners."""
    order = [piece.id for piece in prop.pieces]
    told: dict[tuple[str, ...], str] = {}
    for group in groups:
        for hanging, joint in _joints(prop, contacts, group, masses):
            mass = sum(masses[copy][0] for copy in hanging)
            middle = np.asarray(sum(masses[copy][0] * masses[copy][1] for copy in hanging) / mass)
            corners = np.vstack([points[copy] for copy in hanging])
            patch = _Patch.of(joint)
            if patch.stress(corners, _KNOCK) + patch.stress(middle[None], mass * _GRAVITY) > _TEARS:
                parts = sorted({part for part, _ in hanging}, key=order.index)
                ends = {end.part for contact in joint for end in (contact.a, contact.b)}
                to = ", ".join(sorted({*ends} - {*parts} or ends, key=order.index))
                reach = float(np.linalg.norm(corners - patch.middle, axis=1).max())
                more = f" and {len(parts) - _NAMED} more" if len(parts) > _NAMED else ""
                told.setdefault(
                    (*parts, to),
                    f"part {', '.join(parts[:_NAMED])}{more} hangs on {patch.area:.0f} mm2 of glue to {to} and reaches "
                    f"{reach:.0f} mm from there: a light knock tears it off; let more of it touch, or set it into a hole",
                )
    return list(told.values())


def _joints(
    prop: Prop, contacts: Contacts, group: Set[Copy], masses: Mapping[Copy, tuple[float, np.ndarray]]
) -> Iterator[tuple[frozenset[Copy], tuple[Contact, ...]]]:
    """For each copy of a group the least area of glue that parts it from the heaviest one: what comes off with it, and the
    contacts that tear."""
    sharing = {frozenset(pair) for pair in prop.design.expected_overlaps}
    nodes = sorted(group)
    number = {copy: k for k, copy in enumerate(nodes)}
    between = [
        contact
        for contact in contacts.found
        if (contact.a.part, contact.a.copy) in number
        and (contact.b.part, contact.b.copy) in number
        and glued(prop, contact)
    ]
    ends = np.array([[number[e.part, e.copy] for e in (c.a, c.b)] for c in between], dtype=int).reshape(-1, 2)
    held = np.array(
        [
            _ENDLESS if frozenset((c.a.part, c.b.part)) in sharing else min(round(c.area * _FINELY), _ENDLESS)
            for c in between
        ],
        dtype=np.int32,
    )
    both = np.vstack([ends, ends[:, ::-1]])
    graph = coo_array((np.tile(held, 2), both.T), shape=(len(nodes), len(nodes))).tocsr()
    carrier = max(range(len(nodes)), key=lambda k: masses[nodes[k]][0])
    known: set[frozenset[Copy]] = set()
    for one in range(len(nodes)):
        if one == carrier:
            continue
        left = graph - maximum_flow(graph, one, carrier).flow
        left.eliminate_zeros()
        reached = set(breadth_first_order(left, one, return_predecessors=False).tolist())
        hanging = frozenset(nodes[k] for k in reached)
        if hanging not in known:
            known.add(hanging)
            yield hanging, tuple(c for c, (a, b) in zip(between, ends.tolist()) if (a in reached) != (b in reached))


@dataclass(frozen=True, eq=False)
class _Patch:
    """What is glued of a joint: its `area` in mm2 about its `middle` (3,), its moments of inertia (3,) in mm4 about its principal
    `axes`, the columns of (3, 3), and how `far` (3,) it reaches from each."""

    area: float
    middle: np.ndarray
    axes: np.ndarray
    inertia: np.ndarray
    far: np.ndarray

    @staticmethod
    def of(joint: Sequence[Contact]) -> _Patch:
        meshes = [Mesh(contact.points, contact.triangles) for contact in joint]
        areas = np.concatenate([mesh.areas for mesh in meshes])
        corners = np.concatenate([mesh.corners for mesh in meshes])
        area = float(areas.sum())
        middle = areas @ corners.mean(axis=1) / area
        off = corners - middle
        sums = off.sum(axis=1)
        spread = (np.einsum("m,mki,mkj->ij", areas, off, off) + np.einsum("m,mi,mj->ij", areas, sums, sums)) / 12.0
        inertia, axes = np.linalg.eigh(np.trace(spread) * np.eye(3) - spread)
        return _Patch(area, middle, axes, inertia, _from_axes(off.reshape(-1, 3), axes).max(axis=0))

    def stress(self, places: np.ndarray, force: float) -> float:
        """The most in N/mm2 that a force in any direction at one of some places (n, 3) makes anywhere in the joint, if the glue
        gives alike every way: from the beam theory of any handbook."""
        levers = _from_axes(places - self.middle, self.axes)
        return force * (1.0 / self.area + float((levers * self.far / self.inertia).max()))


def _from_axes(off: np.ndarray, axes: np.ndarray) -> np.ndarray:
    """How far (n, 3) places (n, 3) are from each of three axes, the columns of (3, 3), through the origin."""
    along = off @ axes
    return np.sqrt(np.maximum((off**2).sum(axis=1, keepdims=True) - along**2, 0.0))

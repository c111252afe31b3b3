"""Does what only rests on other parts stay there, by its weight and where it touches them? Lengths in mm, masses in kg."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set

import numpy as np
import shapely
from scipy.optimize import linprog

from foamwright.contacts.curved import triangle_normals
from foamwright.contacts.joins import glued
from foamwright.contacts.records import Contacts
from foamwright.contacts.standing import Copy
from foamwright.parts.placing import direction
from foamwright.parts.records import Prop

_FRICTION = 0.5  # foam on foam; common practice, no source
_PRESSED = 10.0  # times its weight that all the forces on a part come to at most: nothing wedges it in
_PLACES = 240  # of what touches at which a part is carried, at most
_BESIDE = 2.0  # mm that the middle of mass must lie beside what carries it, to be told


def tipping_told(
    prop: Prop,
    contacts: Contacts,
    groups: Iterable[Set[Copy]],
    masses: Mapping[Copy, tuple[float, np.ndarray]],
) -> list[str]:
    """A line for each group of copies, glued together, that rests on others and tips off them. `masses` are those of copies, with
    the middle (3,) of each. What is worn lies on no ground, and what lies on felt touches nothing here."""
    if "wearer" in prop.design.used_by:
        return []
    down = direction((prop.design.stands or {}).get("down", "-z"))
    told = {}
    for group in groups:
        names = {part for part, _ in group}
        rests = sorted({lower for name in names for lower in prop.piece(name).rests_on} - names)
        padded = any(prop.piece(name).padding for name in names)
        carried = _carried(prop, contacts, group) if rests and not padded else []
        if not carried:
            continue
        weight = sum(masses[copy][0] for copy in group)
        middle = np.asarray(sum(masses[copy][0] * masses[copy][1] for copy in group) / weight)
        places, pushes = (np.vstack(arrays) for arrays in zip(*carried))
        beside = _beside(places, middle, down)
        if beside > _BESIDE and not balanced(places, pushes, middle, down):
            first = min(group, key=lambda copy: [piece.id for piece in prop.pieces].index(copy[0]))
            resting_one = next((part for part, _ in sorted(group) if prop.piece(part).rests_on), first[0])
            told[resting_one] = (
                f"part {resting_one} tips off {', '.join(rests)}: the middle of its mass, with all that is glued to it, lies "
                f"{beside:.0f} mm beside what it rests on; let it rest on more, or glue it"
            )
    return list(told.values())


def balanced(places: np.ndarray, pushes: np.ndarray, middle: np.ndarray, down: np.ndarray) -> bool:
    """Do forces at places (n, 3), along unit `pushes` (n, 3) or as far off these as friction allows, carry a weight at
    `middle` (3,) without turning it?"""
    first = np.cross(pushes, np.eye(3)[np.abs(pushes).argmin(axis=1)])
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    second = np.cross(pushes, first)
    ways = np.vstack([pushes + _FRICTION * side for side in (first, -first, second, -second)])
    arms = np.tile(places - middle, (4, 1))
    size = max(float(np.linalg.norm(arms, axis=1).max()), 1.0)
    equal = np.vstack([ways.T, np.cross(arms, ways).T / size])
    wanted = np.concatenate([-down, np.zeros(3)])
    most = np.ones((1, len(ways)))
    return bool(linprog(np.zeros(len(ways)), most, [_PRESSED], equal, wanted, method="highs").status == 0)


def _carried(prop: Prop, contacts: Contacts, group: Set[Copy]) -> list[tuple[np.ndarray, np.ndarray]]:
    """Where other copies touch a group without glue, and which way they push it there."""
    found = []
    for contact in contacts.found:
        ends = [(end.part, end.copy) in group for end in (contact.a, contact.b)]
        if sum(ends) != 1 or glued(prop, contact):
            continue
        normals = triangle_normals(contact.points, contact.triangles) * (-1.0 if ends[0] else 1.0)
        places, pushes = contact.points[contact.triangles].reshape(-1, 3), np.repeat(normals, 3, axis=0)
        kept = np.linalg.norm(pushes, axis=1) > 0.5
        step = max(1, int(kept.sum()) // _PLACES)
        found.append((places[kept][::step], pushes[kept][::step]))
    return [pair for pair in found if len(pair[0])]


def _beside(places: np.ndarray, middle: np.ndarray, down: np.ndarray) -> float:
    """How far a middle of mass lies beside all that carries it, seen from above."""
    flat = np.linalg.svd(down[None, :])[2][1:].T
    return float(shapely.MultiPoint(places @ flat).convex_hull.distance(shapely.Point(middle @ flat)))

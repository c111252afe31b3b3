"""The room that a figure has inside or beside the prop, and on its way in. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any

import manifold3d
import numpy as np

from foamwright.design.records import Design, FormSpec
from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.geometry.fixed import read_only
from foamwright.model.figure_solids import Body, Solid, body, swept
from foamwright.model.nearest import least_distance
from foamwright.model.placed import Placed

TOLERANCE = 0.3  # mm: reaching in by less is a touch
_UPWARDS = 0.5  # of a unit vector: what rises by more comes up from below
_HALVINGS = 10  # of the way in, to find where the figure first meets something: a thousandth of it


@dataclass(frozen=True, eq=False)
class Figure:
    """Who or what the prop must fit, in its place; `way_in` (3,) is the unit vector along which it goes there."""

    name: str
    bodies: tuple[Body, ...]
    way_in: np.ndarray | None

    @cached_property
    def mesh(self) -> tuple[np.ndarray, np.ndarray]:
        """All solids as one: points (n, 3), triangles (m, 3)."""
        solids = [
            manifold3d.Manifold(manifold3d.Mesh64(np.array(b.points), np.array(b.triangles, np.uint64)))
            for b in self.bodies
        ]
        mesh = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add).to_mesh64()
        points, triangles = mesh.vert_properties[:, :3], mesh.tri_verts
        return read_only((np.array(points, order="C"), np.array(triangles, np.int64, order="C")))


@dataclass(frozen=True)
class Contact:
    """A copy that reaches into the figure: how deep, and where it does so most."""

    part: str
    copy: int
    depth: float
    at: tuple[float, float, float]


@dataclass(frozen=True)
class Entry:
    """The figure's way in, straight along `direction`.

    `clearance` is the least gap on the way, 0 if it meets the prop; `part`, `copy` and `at` say where. `blocks`
    are the copies in the way, the one that it meets first in front, and `left` how far the figure then still is
    from its place (0 where nothing is in the way). `taken_out` are the parts, a loose door, a lid that only rests, that
    have to be out of the way before, and `gone` all copies (part, number) that are so, with what is glued to them.
    """

    direction: tuple[float, float, float]
    clearance: float
    part: str
    copy: int
    at: tuple[float, float, float]
    blocks: tuple[Contact, ...]
    left: float
    taken_out: tuple[str, ...] = ()
    gone: frozenset[tuple[str, int]] = frozenset()


@dataclass(frozen=True)
class Room:
    """The least gap in mm between a figure and some of the copies of a prop, in its place and on its way there, and where."""

    clearance: float
    part: str
    copy: int
    at: tuple[float, float, float]


@dataclass(frozen=True)
class Fit:
    """`clearance` is the least gap between figure and prop, 0 if they meet; the rest says where."""

    figure: str
    clearance: float
    part: str
    copy: int
    at: tuple[float, float, float]
    contacts: tuple[Contact, ...]
    entry: Entry | None = None  # None where the design does not say how the figure gets in
    size: tuple[float, float, float] | None = None  # mm of the figure along x, y and z
    beside: Room | None = None  # the least room but for what lies below the figure, where that is nearest of all

    @property
    def fits(self) -> bool:
        """Does the figure get to its place without running into anything?"""
        return not self.contacts and (self.entry is None or not self.entry.blocks)


@dataclass(frozen=True)
class _Near:
    """The nearest place of a copy; a negative gap is how deep it reaches in."""

    gap: float
    part: str
    copy: int
    at: tuple[float, float, float]


def figure_of(design: Design) -> Figure | None:
    """The figure of the design; None if it has none. Raises BuildError for a file that cannot be read."""
    if design.figure is None:
        return None
    solids = design.figure["solids"]
    try:
        bodies = tuple(body(kind, values, design.folder) for solid in solids for kind, values in solid.items())
    except BuildError as error:
        raise BuildError(f"figure {design.figure['name']}: {error}") from None
    enters = design.figure.get("enters")
    return Figure(design.figure["name"], bodies, _way_in(enters, bodies, design.forms) if enters else None)


def _way_in(enters: Mapping[str, Any], bodies: Sequence[Body], forms: Mapping[str, FormSpec]) -> np.ndarray:
    """As stated, or square through a plane opening, or along the prism that cuts an opening out of one side."""
    if "direction" in enters:
        return direction(enters["direction"])
    opening = enters["through"]
    cut = next(cut for cut in forms[opening["form"]].cuts if cut.id == opening["cut"])
    if cut.kind == "prism":
        return direction(cut.values["along"]) * (1.0 if cut.values.get("above") is None else -1.0)
    normal = direction(cut.values["normal"])
    middle = np.vstack([b.solid.box for b in bodies]).mean(axis=0)
    return normal if middle @ normal > cut.values["at"] else -normal


def clearance(
    copies: Sequence[Placed],
    figure: Figure,
    groups: Iterable[Set[tuple[str, int]]] = (),
    hinges: Mapping[tuple[str, int], Set[tuple[str, int]]] = MappingProxyType({}),
    tolerance: float = TOLERANCE,
) -> Fit:
    """How near the figure comes to the copies of a prop in its place, and on its way there if the design states one.

    `groups` are the copies (part, number) that glue holds together: what is glued to a loose part goes out with it.
    `hinges` are copies that bend, each with those that it is glued to: what they hold opens, and they with it. Reaching in by
    less than `tolerance` is no contact. Exact to 0.05 mm for the simple solids, to 1 mm for those from a file. Raises
    BuildError for a prop without parts.
    """
    if not copies:
        raise BuildError(f"the figure {figure.name} cannot be tried on: the prop has no parts")
    solids = [b.solid for b in figure.bodies]
    seat, contacts = _tried(copies, solids, np.inf, tolerance)
    entry = (
        None
        if figure.way_in is None
        else _entry(copies, figure, figure.way_in, seat, _coming_out(copies, figure, groups, hinges), tolerance)
    )
    long, wide, high = np.ptp(np.vstack([solid.box for solid in solids]), axis=0).tolist()
    beside = _beside(copies, figure, entry or seat, tolerance)
    return Fit(
        figure.name, max(seat.gap, 0.0), seat.part, seat.copy, seat.at, contacts, entry, (long, wide, high), beside
    )


def _beside(copies: Sequence[Placed], figure: Figure, nearest: Entry | _Near, tolerance: float) -> Room | None:
    """The least room beside and above a figure that rests on what is `nearest` to it."""
    low = min(float(body.solid.box[:, 2].min()) for body in figure.bodies)
    below = {(c.part, c.number) for c in copies if float(c.mesh.points[:, 2].max()) <= low + tolerance}
    if (nearest.part, nearest.copy) not in below or len(below) == len(copies):
        return None
    around = [copy for copy in copies if (copy.part, copy.number) not in below]
    near = _tried(around, [body.solid for body in figure.bodies], np.inf, tolerance)[0]
    gone = nearest.gone if isinstance(nearest, Entry) else frozenset()
    around = [copy for copy in around if (copy.part, copy.number) not in gone]
    if figure.way_in is not None and around:
        length = way_length(around, figure, figure.way_in)
        swept_in = [swept(body, -figure.way_in, 0.0, length) for body in figure.bodies]
        near = min(near, _tried(around, swept_in, near.gap, tolerance)[0], key=lambda one: one.gap)
    return Room(max(near.gap, 0.0), near.part, near.copy, near.at)


@dataclass(frozen=True)
class _ComingOut:
    """Copies that can be out of the way: for each all that is so with it, and those after which that is named."""

    with_it: Mapping[tuple[str, int], Set[tuple[str, int]]]
    named: Set[tuple[str, int]]


def _coming_out(
    copies: Sequence[Placed],
    figure: Figure,
    groups: Iterable[Set[tuple[str, int]]],
    hinges: Mapping[tuple[str, int], Set[tuple[str, int]]],
) -> _ComingOut:
    """What can be taken out or opened: a loose copy, one that rests on something, one that a hinge holds, what is glued to these,
    and the hinge. What the figure stands on stays with all that is glued to it, be it the lesser part of the prop, as the basket
    of a balloon; where the figure stands on nothing, what the most of the prop is glued to."""
    loose = {(copy.part, copy.number) for copy in copies if copy.loose}
    free = loose | {(copy.part, copy.number) for copy in copies if copy.rests}
    mass = {(copy.part, copy.number): copy.mass for copy in copies if not copy.loose}
    held = sorted(groups, key=lambda group: -sum(mass.get(copy, 0.0) for copy in group))
    free |= {end for ends in hinges.values() for end in ends}
    lifted = [group for group in held if group & free]
    bearing = _bearing(copies, figure) if lifted else None
    stays = next((group for group in held if bearing in group), held[0] if held else frozenset())
    out: dict[tuple[str, int], Set[tuple[str, int]]] = {copy: {copy} for copy in loose}
    for group in lifted:
        if group is not stays:
            out |= dict.fromkeys(group, group)
    for hinge, ends in hinges.items():
        opened = {hinge}.union(*(out[end] for end in ends if end in out))
        if len(opened) > 1:
            out |= dict.fromkeys(opened, opened)
    return _ComingOut(out, free)


def _bearing(copies: Sequence[Placed], figure: Figure) -> tuple[str, int] | None:
    """The copy that the figure stands on in its place, the nearest below it that is not loose, as a cushion is; None if there is
    none, or if the figure comes up from below, so that what it stands on is put there after it."""
    down = np.array((0.0, 0.0, -1.0))
    if figure.way_in is None or figure.way_in @ down < -_UPWARDS:
        return None
    fixed = [copy for copy in copies if not copy.loose]
    lowest = min(float(copy.mesh.points[:, 2].min()) for copy in fixed) if fixed else 0.0
    length = max(max(float(body.points[:, 2].max()) for body in figure.bodies) - lowest, 0.0)
    met = reaches_into(fixed, [swept(body, down, 0.0, length) for body in figure.bodies], TOLERANCE)
    below = [copy for copy in fixed if (copy.part, copy.number) in met]
    if not below:
        return None
    near = _tried(below, [body.solid for body in figure.bodies], np.inf, TOLERANCE)[0]
    return near.part, near.copy


def _entry(
    copies: Sequence[Placed],
    figure: Figure,
    direction: np.ndarray,
    seat: _Near,
    coming_out: _ComingOut,
    tolerance: float,
) -> Entry:
    """`seat` is the nearest place once the figure is in: on the way there it can only come nearer."""
    length = way_length(copies, figure, direction)

    def on_the_way(left: float) -> list[Solid]:
        return [swept(b, -direction, left, length) for b in figure.bodies]

    near, blocks = _tried(copies, on_the_way(0.0), seat.gap, tolerance)
    barring = {(block.part, block.copy) for block in blocks}
    taken = set().union(*(coming_out.with_it[copy] for copy in barring if copy in coming_out.with_it))
    rest = [copy for copy in copies if (copy.part, copy.number) not in taken]
    if rest and len(rest) < len(copies):
        entered = _entry(rest, figure, direction, seat, coming_out, tolerance)
        lifted = (copy.part for copy in copies if (copy.part, copy.number) in taken & coming_out.named)
        out = tuple(dict.fromkeys((*lifted, *entered.taken_out)))
        return replace(entered, taken_out=out, gone=entered.gone | taken)
    near = min(near, seat, key=lambda one: one.gap)
    first, left = blocks, 0.0
    if blocks:
        wanted = {(block.part, block.copy) for block in blocks}
        low, high = 0.0, length
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            met = _tried(copies, on_the_way(middle), 0.0, tolerance, wanted)[1]
            if met:
                first, low = met, middle
            else:
                high = middle
        left = low
    leading = {(block.part, block.copy) for block in first}
    told = sorted(blocks, key=lambda block: ((block.part, block.copy) not in leading, -block.depth))
    return Entry(_triple(direction), max(near.gap, 0.0), near.part, near.copy, near.at, tuple(told), left)


def _triple(vector: np.ndarray) -> tuple[float, float, float]:
    x, y, z = (vector + 0.0).tolist()  # + 0.0 turns -0.0 into 0.0
    return x, y, z


def reaches_into(copies: Sequence[Placed], solids: Sequence[Solid], tolerance: float) -> set[tuple[str, int]]:
    """Part and number of the copies that reach into the figure."""
    return {(one.part, one.copy) for one in _tried(copies, solids, -tolerance, tolerance)[1]} if copies else set()


def way_length(copies: Sequence[Placed], figure: Figure, direction: np.ndarray) -> float:
    """How far the figure has to be drawn out until all of it is clear of the prop."""
    out = -direction
    far = max(float((copy.mesh.points @ out).max()) for copy in copies)
    return max(far - min(float((b.points @ out).min()) for b in figure.bodies), 0.0)


def _tried(
    copies: Sequence[Placed],
    solids: Sequence[Solid],
    wanted: float,
    tolerance: float,
    only: set[tuple[str, int]] | None = None,
) -> tuple[_Near, tuple[Contact, ...]]:
    """The nearest place, where it is nearer than `wanted`, and the contacts; `only` names the copies to look at."""
    least, nearest = wanted, []
    for copy in copies:
        if only is not None and (copy.part, copy.number) not in only:
            continue
        # Only two things matter: is it the nearest so far, and does it reach in?
        enough = max(least, -tolerance)
        gap, at = min(least_distance(copy.mesh.points, copy.mesh.triangles, solid, enough) for solid in solids)
        nearest.append(_Near(gap, copy.part, copy.number, at))
        least = min(least, gap)
    contacts = tuple(Contact(n.part, n.copy, -n.gap, n.at) for n in nearest if n.gap < -tolerance)
    return min(nearest, key=lambda one: one.gap), contacts

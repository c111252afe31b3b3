"""From a design to its first look."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial

import manifold3d
import numpy as np

from foamwright.contacts.joins import clearance_of
from foamwright.contacts.near_ends import Standing, near_ends_told
from foamwright.contacts.near_misses import near_misses_told
from foamwright.design.placing import at_its_place
from foamwright.design.silent import silent_told
from foamwright.errors import BuildError
from foamwright.flatten.build import refused_alone
from foamwright.geometry import Mesh
from foamwright.look.as_built import told_as_built
from foamwright.look.loose import alike, groups, loose
from foamwright.look.meshes import Shape, shape_of
from foamwright.look.records import Copy, Look, Overlap, Reach, TriedOn
from foamwright.look.touching import unglued
from foamwright.look.untrue import untrue_seen
from foamwright.model.figure import figure_of
from foamwright.model.hints import hint
from foamwright.model.overlap import between, near, solid
from foamwright.parts.attempt import Attempt, Failure
from foamwright.parts.build import laps_of
from foamwright.parts.records import Piece, Prop
from foamwright.store import Store


def first_look(placed: Attempt, store: Store | None = None) -> Look:
    """Every copy in place and what shares space. What has no closed shape joins the failures and is not shown; a panel
    that its foam or its sheet does not take joins them too, and is shown.

    The meshes of parts, what two of them share, how near they come to each other and what a panel is refused for are taken from
    the `store` while they stay.
    """
    store = store or Store(None)
    copies: list[Copy] = []
    failures = list(placed.failures)
    for piece in placed.pieces:
        try:
            copies += copies_of(piece, store)
        except BuildError as error:
            failures.append(Failure(piece.id, str(error)))
    meant = {frozenset(pair) for pair in placed.design.expected_overlaps}
    overlaps = []
    figure = None
    try:
        figure = figure_of(placed.design)
    except BuildError as error:
        failures.append(Failure("", at_its_place(str(error), placed.design)))
    meshes = [*(copy.mesh for copy in copies), *([Mesh(*figure.mesh)] if figure else [])]

    @cache
    def body(number: int) -> manifold3d.Manifold:
        return solid(meshes[number].points, meshes[number].triangles)

    shared = list(_shared(meshes, body, store))
    sharing = [one for one in shared if one[1] < len(copies)]
    pairs = [pair[:2] for pair in sharing]
    for i, j, common in sharing:
        a, b = copies[i], copies[j]
        declared = frozenset((a.piece.id, b.piece.id)) in meant
        meaning = "" if declared else hint(placed.design, (a.piece, a.matrix), (b.piece, b.matrix), common.at)
        overlaps.append(Overlap(a, b, common.volume, common.depth, common.at, declared, meaning, common.mesh))
    overlaps.sort(key=lambda overlap: -overlap.volume)
    lacking = bool(failures)
    apart = unglued(placed.design, copies, pairs)
    pairs = [pair for pair in pairs if frozenset(pair) not in apart]
    hanging = [] if lacking else groups(placed.design, copies, pairs, apart, body)
    alone, things = loose(placed.design, copies, hanging, body), alike(copies, hanging)
    repeated = tuple(tuple(copies[number] for number in own) for own in things) if len(things) > 1 else ()
    untrue = untrue_seen(placed.design, copies, pairs, apart, body)
    shown = {copy.piece.id: copy.piece for copy in copies}
    for part, why in refused_alone(tuple(shown.values()), store):
        failures.append(Failure(part, at_its_place(why, placed.design)))
    standing = [Standing(c.piece, c.matrix, c.mesh) for c in copies]
    prop = Prop(placed.design, placed.pieces, (), laps_of(placed.pieces, placed.design))
    misses = [] if lacking else near_misses_told(prop, standing, store)
    as_built = [] if lacking else told_as_built(prop, copies)
    near_ends = near_ends_told(standing, clearance_of(placed.design))
    remarks = [*silent_told(placed.design), *near_ends, *misses, *as_built]
    found = placed.design, tuple(copies), tuple(overlaps), alone, untrue, repeated, tuple(failures), tuple(remarks)
    if figure is None:
        return Look(*found)
    met = [(copies[i], common) for i, j, common in shared if j == len(copies)]
    reaches = [Reach(copy, common.depth, common.at, common.mesh) for copy, common in met]
    return Look(*found, TriedOn(figure.name, meshes[-1], tuple(sorted(reaches, key=lambda one: -one.depth))))


def copies_of(piece: Piece, store: Store | None = None) -> tuple[Copy, ...]:
    """Every copy of a part in its place. BuildError: no closed shape can be made of it."""
    told = (piece.kind, piece.body, piece.stock.thickness, piece.layers)
    shape = (store or Store(None)).kept("shape", told, lambda: _closed(piece))
    return tuple(
        Copy(piece, number, shape.mesh.moved(place.matrix), shape.mesh, shape.smooth, place.matrix)
        for number, place in enumerate(piece.placements, 1)
    )


def _closed(piece: Piece) -> Shape:
    shape = shape_of(piece)
    if solid(shape.mesh.points, shape.mesh.triangles).status() != manifold3d.Error.NoError:
        raise BuildError(f"part {piece.id}: its shape is not closed")
    return shape


@dataclass(frozen=True, eq=False)
class _Common:
    """What two meshes share: how much (mm3), how deep (mm), where it is deepest, and the space itself."""

    volume: float
    depth: float
    at: tuple[float, float, float]
    mesh: Mesh


def _shared(
    meshes: Sequence[Mesh], body: Callable[[int], manifold3d.Manifold], store: Store
) -> Iterator[tuple[int, int, _Common]]:
    """Every pair of closed meshes that share space, by their numbers. A `body` is asked for where the pair is not in the
    store."""
    boxes = np.array([np.r_[mesh.points.min(axis=0), mesh.points.max(axis=0)] for mesh in meshes]).reshape(-1, 6)

    def common(i: int, j: int) -> _Common | None:
        found = between(i, j, body(i), body(j))
        return None if found is None else _Common(found.volume, found.depth, found.at, Mesh.joined(found.pieces))

    for i, j in near(boxes):
        found = store.kept("overlap", (meshes[i].digest, meshes[j].digest), partial(common, i, j))
        if found is not None:
            yield i, j, found

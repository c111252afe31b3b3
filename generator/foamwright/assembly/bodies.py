"""Every copy in place as a closed mesh, with what it touches and what is asked of it when it is moved: frame, bend,
thickness. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

import igl
import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import affinity

from foamwright.assembly import practice
from foamwright.assembly.naming import role
from foamwright.assembly.patches import patches
from foamwright.contacts import joins
from foamwright.contacts.copies import numbered
from foamwright.contacts.records import Contact, Contacts
from foamwright.design.records import PartSpec
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, Prop, RodBody
from foamwright.registry import kind

if TYPE_CHECKING:  # the solids are heavy, and their meshes are read where a model is handed in
    from foamwright.model.records import Model
    from foamwright.templates.placement_lines import PlacementLines


_OUTSIDE = 0.8  # cosine between a contact and the outside face that it lies on
_SPACING = 5.0  # mm between places that are spread over a face
_LEAST = 6.0  # mm2; less is a corner that grazes
_CLOSE = 0.5  # mm; nearer, and two faces lie on each other
_SMALL = 0.4  # of the size of the prop, so that a part is painted by itself at no loss
_FEW = 8  # every so many places of a surface are tried
_ABOVE_ALL = 0.7  # of what a part is held by at its edge
_AROUND = 0.6  # of a contact that it faces one way in all; less, and it goes around
_CELL = 25.0  # mm2 of a surface for each place that is asked for
_CROWDED = 0.2  # of a part's surface that stands close before something of another colour


@dataclass(frozen=True, eq=False)
class Touch:
    """Where two copies touch: places (k, 3) spread over what they share, directions (k, 3) from `b` to `a` there, and
    the area of each (k,). `glued` says whether glue holds them there. `broad` are the shares of the area at which it is
    a broad face of `a` that touches, and of `b`; the rest are cut edges. `edges` are the pairs of their cut edges, by id,
    that meet, `wedge` is how wide in mm the air is that stays beside an edge which leans away, `gap` how far in mm the two are
    apart on the mean where they touch most; 0 for none. `outlines` bound what touches, (k, 3) each, those of each patch together
    and that which bounds it first."""

    a: int
    b: int
    places: np.ndarray
    normals: np.ndarray
    areas: np.ndarray
    glued: bool
    broad: tuple[float, float]
    edges: tuple[tuple[str, str], ...] = ()
    wedge: float = 0.0
    gap: float = 0.0
    outlines: tuple[tuple[np.ndarray, ...], ...] = ()

    @property
    def area(self) -> float:
        return float(self.areas.sum())

    @property
    def off(self) -> np.ndarray:
        """The mean way (3,) from `b` to `a`: a unit vector where all that touches looks one way, shorter the more it turns."""
        return mean_off([self])


def mean_off(touches: Sequence[Touch]) -> np.ndarray:
    """The mean way (3,) of some touches from each `b` to its `a`, by their areas."""
    ways = sum((touch.areas[:, None] * touch.normals).sum(axis=0) for touch in touches)
    return np.asarray(ways / max(sum(touch.area for touch in touches), 1e-9))


@dataclass(frozen=True, eq=False)
class Bodies:
    """All copies of a prop in the order of its pieces: points (n, 3) in mm, triangles (m, 3) of all of them.

    `spans` (copies, 2) are the triangles of each, `spheres` (copies, 4) a ball around each, `pieces` their parts
    and `matrices` (copies, 4, 4) the places in the order of the copies. `touches` has each pair of copies that touch
    in both orders.
    """

    points: np.ndarray
    triangles: np.ndarray
    spans: np.ndarray
    spheres: np.ndarray
    pieces: tuple[Piece, ...]
    matrices: tuple[np.ndarray, ...]
    touches: Mapping[tuple[int, int], Touch]
    numbered: frozenset[str] = frozenset()  # parts of which the copies differ by what is marked on them
    painted_apart: frozenset[str] = frozenset()  # parts that are painted on the bench and go in when all is dry
    # what stencils give on the outside of flat parts: words of the paint, and shapes in the plane of the part's outline
    stencilled: Mapping[str, tuple[tuple[str, shapely.Geometry], ...]] = field(default_factory=dict)
    lines: PlacementLines | None = None  # what shows on each part of where others come; None: not known

    def __len__(self) -> int:
        return len(self.pieces)

    def mesh(self, copies: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
        """Points (k, 3) and triangles (m, 3) of some copies together."""
        triangles = np.vstack([self.triangles[slice(*self.spans[i])] for i in copies])
        used = np.zeros(len(self.points), bool)
        used[triangles] = True
        return self.points[used], (np.cumsum(used) - 1)[triangles]

    def of(self, part: str) -> tuple[int, ...]:
        """The copies of a part."""
        return tuple(i for i, piece in enumerate(self.pieces) if piece.id == part)

    def mask(self, copies) -> int:
        """A set of copies as the bits of one number."""
        return sum(1 << i for i in copies)


def bodies_of(model: Model, contacts: Contacts) -> Bodies:
    """The meshes of a model in place, and what touches."""
    meshes = []
    for copy in model.copies:
        points, triangles = copy.prototype.closed_mesh
        meshes.append((points @ copy.matrix[:3, :3].T + copy.matrix[:3, 3], triangles))
    matrices = tuple(copy.piece.placements[copy.number - 1].matrix for copy in model.copies)
    number = {(copy.piece.id, copy.number): i for i, copy in enumerate(model.copies)}
    touches = touches_of(joins.met(model.prop, contacts), number, lambda contact: joins.glued(model.prop, contact))
    found = bodies(tuple(copy.piece for copy in model.copies), meshes, matrices, touches)
    apart = over_stencils(found, model.prop) | close_before(found) | small_of_another_colour(found)
    return replace(
        found, painted_apart=apart, numbered=numbered(model.prop, contacts), stencilled=stencilled(model.prop)
    )


def moving_as_one(bodies: Bodies, sewn: Collection[frozenset[str]] = ()) -> tuple[int, ...]:
    """For each copy those, as bits, that move as one with it: glued to it, but not by a hinge of cloth. `sewn` are the pairs of
    parts that share a seam."""
    pieces = bodies.pieces
    glue = [
        pair for pair, t in bodies.touches.items() if t.glued or frozenset(pieces[copy].id for copy in pair) in sewn
    ]
    cloth = [copy for copy, piece in enumerate(pieces) if piece.stock.is_cloth]
    groups = joins.moving_as_one(range(len(bodies)), glue, cloth)
    masks = {copy: bodies.mask(group) for group in groups for copy in group}
    return tuple(masks[copy] for copy in range(len(bodies)))


def swinging(bodies: Bodies) -> tuple[int, ...]:
    """For each copy those, as bits, that hinges of cloth alone hold to it, the hinges too: they open, and bar nothing its way to
    it."""
    glue = [pair for pair, touch in bodies.touches.items() if touch.glued]
    held = {copy: bodies.mask(g) for g in joins.moving_as_one(range(len(bodies)), glue, ()) for copy in g}
    return tuple(held[copy] & ~own for copy, own in enumerate(moving_as_one(bodies)))


def stencilled(prop: Prop) -> dict[str, tuple[tuple[str, shapely.Geometry], ...]]:
    """What the stencils of flat parts give, by the part: where the card that lies on it is cut away. A stencil that is not of
    one part is held where the maker likes, so none is told of."""
    found: dict[str, list[tuple[str, shapely.Geometry]]] = {}
    for spec in prop.design.parts:
        part = spec.values.get("of") if kind(spec.kind).paints else None
        if part is not None:
            card, body = prop.piece(spec.id), prop.piece(str(part)).body
            foam = shapely.Polygon(card.body.outline, card.body.holes)
            as_stood = affinity.scale(foam, -1.0, 1.0, origin=(0.0, 0.0))  # a pattern shows its part turned
            shape = shapely.Polygon(body.outline).intersection(as_stood.envelope).difference(as_stood)
            found.setdefault(str(part), []).append((card.paint, shape))
    return {part: tuple(each) for part, each in sorted(found.items())}


def over_stencils(bodies: Bodies, prop: Prop) -> frozenset[str]:
    """The parts on the outside of what is painted through a stencil, and those that lie on them: the stencil needs the
    room."""
    below = {part for spec in prop.design.parts for part in painted_through(spec)}
    covered: set[str] = set()
    while below:
        more = {
            bodies.pieces[a].id
            for (a, b), touch in bodies.touches.items()
            if bodies.pieces[b].id in below and set(bodies.pieces[a].lies_on) & below and _outside(bodies, b, touch)
        }
        below = more - covered
        covered |= more
    return frozenset(covered)


def close_before(bodies: Bodies) -> frozenset[str]:
    """Flat parts and bars that stand so close before something of another colour that no brush gets between the two: where
    a good part of their surface does, they are painted before they go in."""
    if len({piece.paint for piece in bodies.pieces if piece.paint}) < 2:
        return frozenset()  # nothing is of another colour
    surfaces = [surface(bodies, copy) for copy in range(len(bodies))]
    first: dict[str, int] = {}
    for copy, piece in enumerate(bodies.pieces):
        first.setdefault(piece.id, copy)
    found = set()
    for part, copy in first.items():
        piece = bodies.pieces[copy]
        if not piece.paint or role(piece)[1] or not isinstance(piece.body, FlatBody | RodBody):
            continue  # a whole is built on the bench and painted as one
        apart = np.linalg.norm(bodies.spheres[:, :3] - bodies.spheres[copy, :3], axis=1) - bodies.spheres[:, 3]
        near = np.nonzero(apart < bodies.spheres[copy, 3] + practice.BRUSH_WIDE)[0].tolist()
        others = [
            i for i in near if bodies.pieces[i].paint not in ("", piece.paint) and first[bodies.pieces[i].id] < copy
        ]
        touched = [touch.places for (a, _), touch in bodies.touches.items() if a == copy]
        own = _less(surfaces[copy], touched)
        if others and _faced(own, [surfaces[i] for i in others]) > _CROWDED:
            found.add(part)
    return frozenset(found)


def small_of_another_colour(bodies: Bodies) -> frozenset[str]:
    """Small flat parts that lie on something of another colour or sit in a hole of it, in the open: cleaner painted on the bench,
    and glued on when all is dry, than along their rims. Nothing but their like is of their colour beside them, or waits for
    them."""
    if not len(bodies):
        return frozenset()
    small = _SMALL * float(np.linalg.norm(np.ptp(bodies.points, axis=0))) / 2.0
    met: dict[str, set[str]] = {}
    fits: dict[str, bool] = {}
    for copy, piece in enumerate(bodies.pieces):
        glued = [touch for (a, _), touch in bodies.touches.items() if a == copy and touch.glued]
        met.setdefault(piece.id, set()).update(bodies.pieces[touch.b].id for touch in glued)
        flat = isinstance(piece.body, FlatBody | RodBody) and bool(piece.paint) and not role(piece)[1]
        lies = any(min(t.broad) > 0.5 and _is_under(bodies, t, piece) for t in glued) or _in_a_hole(glued)
        fits[piece.id] = (
            fits.get(piece.id, True) and flat and lies and bool(glued) and bool(bodies.spheres[copy, 3] < small)
        )
    lower = {piece.id: {*piece.lies_on} for piece in bodies.pieces}
    like = _of_their_kind(bodies, met, frozenset(part for part, fit in fits.items() if fit))
    covered: Collection[str] = like
    while covered:
        covered = _covered(bodies, like, {part for part in like if lower[part] and lower[part] <= like})
        like = _of_their_kind(bodies, met, like - covered)
    return like


def _of_their_kind(bodies: Bodies, met: Mapping[str, Collection[str]], found: frozenset[str]) -> frozenset[str]:
    """Those of the parts `found` that meet nothing of their own colour and carry nothing but each other."""
    waiting = {piece.id: {*piece.after, *piece.lies_on} for piece in bodies.pieces}
    paints = {piece.id: piece.paint for piece in bodies.pieces}
    like: frozenset[str] = frozenset()
    while like != found:
        like = found
        found = frozenset(
            part
            for part in like
            if all(other in like or paints[other] not in ("", paints[part]) for other in met[part])
            and not any(part in needed for other, needed in waiting.items() if other not in like)
        )
    return like


def _is_under(bodies: Bodies, touch: Touch, piece: Piece) -> bool:
    """Does a part lie on what it touches, and not that on it?"""
    return bodies.pieces[touch.b].id in piece.lies_on or bool(bodies.spheres[touch.b, 3] > bodies.spheres[touch.a, 3])


def _in_a_hole(touches: Sequence[Touch]) -> bool:
    """Is a part held all around by its edge, in one other copy above all?"""
    rims = [touch for touch in touches if touch.broad[0] < 0.5]
    hole = max(rims, key=lambda touch: touch.area, default=None)
    if hole is None or hole.area < _ABOVE_ALL * sum(touch.area for touch in rims):
        return False
    return goes_around(hole)


def goes_around(touch: Touch) -> bool:
    """Do two copies touch on several sides of one of them?"""
    return bool(np.linalg.norm(touch.off) < _AROUND)


def _covered(bodies: Bodies, like: Collection[str], riding: Collection[str]) -> set[str]:
    """Those of the flat parts `like`, but for what is `riding` on them, that something else stands before, square off the face
    that is not glued."""
    others = [copy for copy, piece in enumerate(bodies.pieces) if piece.id not in like]
    found: set[str] = set()
    if not others:
        return found
    middle = bodies.spheres[others, :3].mean(axis=0)
    points, triangles = bodies.mesh(tuple(others))
    tree = igl.AABB()
    tree.init(points, triangles)
    for copy, piece in enumerate(bodies.pieces):
        axes = frame(piece, bodies.matrices[copy])
        if piece.id not in like or piece.id in riding or axes is None:
            continue
        glued = [t for (a, _), t in bodies.touches.items() if a == copy and t.glued and t.broad[0] > 0.5]
        broad = [t for t in glued if bodies.pieces[t.b].id not in like] or glued
        off = mean_off(broad) if broad else bodies.spheres[copy, :3] - middle
        out = axes[2] if float(axes[2] @ off) >= 0.0 else -axes[2]
        places, normals = surface(bodies, copy)
        starts = np.ascontiguousarray(places[normals @ out > _OUTSIDE][::_FEW] + _CLOSE * out)
        hits = (
            tree.intersect_ray_first(points, triangles, starts, np.tile(out, (len(starts), 1)))[0]
            if len(starts)
            else ()
        )
        if (np.asarray(hits) >= 0).any():
            found.add(piece.id)
    return found


def _faced(own: tuple[np.ndarray, np.ndarray], others: Sequence[tuple[np.ndarray, np.ndarray]]) -> float:
    """The share of a surface that has others before it, closer than a brush is wide, and does not lie on them."""
    places, normals = own
    there, theirs = (np.concatenate(arrays) for arrays in zip(*others))
    closed = 0
    for place, normal, close in zip(places, normals, cKDTree(there).query_ball_point(places, practice.BRUSH_WIDE)):
        off = there[close] - place
        before = off @ normal
        aside = np.sqrt(np.maximum((off**2).sum(axis=1) - before**2, 0.0))
        faced = (before > _CLOSE) & (aside < np.maximum(before, _SPACING)) & (theirs[close] @ normal < 0.0)
        closed += bool(faced.any())
    return closed / max(len(places), 1)


def _less(surface: tuple[np.ndarray, np.ndarray], touched: Sequence[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """A surface without what others lie on."""
    if not touched:
        return surface
    bare = cKDTree(np.concatenate(touched)).query(surface[0])[0] > _SPACING
    return surface[0][bare], surface[1][bare]


def surface(bodies: Bodies, copy: int) -> tuple[np.ndarray, np.ndarray]:
    """Places (k, 3) spread evenly over a copy's surface, by area, and the directions off it there."""
    corners = bodies.points[bodies.triangles[slice(*bodies.spans[copy])]]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    doubled = np.linalg.norm(normals, axis=1)
    upto = np.cumsum(doubled)
    count = int(np.clip(upto[-1] / 2.0 / _CELL, 60, 1500))
    at = (np.arange(count) + 0.5) / count * upto[-1]
    chosen = np.searchsorted(upto, at)
    # within a triangle by the additive sequence of M. Roberts (2018), which spreads points evenly in two dimensions
    u, v = (np.outer(np.arange(1, count + 1), [0.7548776662466927, 0.5698402909980532]) % 1.0).T
    over = u + v > 1.0
    u, v = np.where(over, 1.0 - u, u), np.where(over, 1.0 - v, v)
    a, b, c = corners[chosen].transpose(1, 0, 2)
    return a + u[:, None] * (b - a) + v[:, None] * (c - a), normals[chosen] / doubled[chosen, None]


def painted_through(spec: PartSpec) -> set[str]:
    """The parts that are painted through a stencil; none for any other part."""
    if not kind(spec.kind).paints:
        return set()
    return {str(spec.values.get("of") or ""), *(spec.values.get("paints") or ())} - {""}


def _outside(bodies: Bodies, copy: int, touch: Touch) -> bool:
    """Does what touches a copy lie on its outside face?"""
    axes = frame(bodies.pieces[copy], bodies.matrices[copy])
    return axes is None or float(touch.normals.mean(axis=0) @ axes[2]) > _OUTSIDE


def bodies(
    pieces: tuple[Piece, ...],
    meshes: Sequence[tuple[np.ndarray, np.ndarray]],
    matrices: tuple[np.ndarray, ...],
    touches: Mapping[tuple[int, int], Touch] = MappingProxyType({}),
) -> Bodies:
    """Copies from their meshes (points, triangles) in place, one for each of `pieces`."""
    if not meshes:
        none = np.zeros((0, 3))
        return Bodies(none, none.astype(np.int64), np.zeros((0, 2), np.int64), np.zeros((0, 4)), (), (), {})
    first_point = np.cumsum([0, *(len(points) for points, _ in meshes)])
    first_triangle = np.cumsum([0, *(len(triangles) for _, triangles in meshes)])
    points = np.vstack([points for points, _ in meshes])
    triangles = np.vstack([triangles + start for (_, triangles), start in zip(meshes, first_point)]).astype(np.int64)
    spans = np.column_stack([first_triangle[:-1], first_triangle[1:]]).astype(np.int64)
    spheres = np.array([_ball(points) for points, _ in meshes])
    for array in (points, triangles, spans, spheres):
        array.setflags(write=False)
    return Bodies(points, triangles, spans, spheres, tuple(pieces), tuple(matrices), touches)


def touches_of(
    contacts: Contacts, number: Mapping[tuple[str, int], int], is_glued: Callable[[Contact], bool]
) -> dict[tuple[int, int], Touch]:
    """What the contacts say of each pair of copies together; `number` is that of each (part, copy) among all."""
    with_glue: set[tuple[int, int]] = set()
    met: dict[tuple[int, int], list[tuple[np.ndarray, np.ndarray, np.ndarray]]] = {}
    broad: dict[tuple[int, int], np.ndarray] = {}  # areas of the broad faces of both that touch
    edges: dict[tuple[int, int], dict[tuple[str, str], None]] = {}
    wedges: dict[tuple[int, int], float] = {}
    gaps: dict[tuple[int, int], float] = {}
    largest: dict[tuple[int, int], float] = {}
    outlines: dict[tuple[int, int], list[tuple[np.ndarray, ...]]] = {}
    for contact in contacts.found:
        a, b = number[contact.a.part, contact.a.copy], number[contact.b.part, contact.b.copy]
        places, outwards, areas = spread(contact.points, contact.triangles)
        pair, sign = ((a, b), -1.0) if a < b else ((b, a), 1.0)
        if is_glued(contact):
            with_glue.add(pair)
        met.setdefault(pair, []).append((places, sign * outwards, areas))
        wedges[pair] = max(wedges.get(pair, 0.0), contact.wedge)
        outlines.setdefault(pair, []).extend(patches(contact.outlines, outwards))
        if not contact.wedge and contact.area > largest.get(pair, 0.0):  # that of a sliver beside it tells nothing
            gaps[pair], largest[pair] = max(contact.mean_gap, 0.0), contact.area
        if contact.kind == "edge-edge":
            ends = (contact.a.face, contact.b.face) if a < b else (contact.b.face, contact.a.face)
            edges.setdefault(pair, {})[ends] = None
        flat = np.array([contact.a.broad, contact.b.broad][:: 1 if a < b else -1]) * areas.sum()
        broad[pair] = broad.get(pair, np.zeros(2)) + flat
    shared: dict[tuple[int, int], Touch] = {}
    for a, b in sorted(met):
        places, normals, areas = (np.concatenate(arrays) for arrays in zip(*met[a, b]))
        if areas.sum() >= _LEAST:
            one, other = (broad[a, b] / areas.sum()).tolist()
            met_along = tuple(edges.get((a, b), ()))
            turned = tuple((end, start) for start, end in met_along)
            held, air, apart = (a, b) in with_glue, wedges[a, b], gaps.get((a, b), 0.0)
            rest = (held, (one, other), met_along, air, apart, tuple(outlines[a, b]))
            back = (held, (other, one), turned, air, apart, tuple(outlines[a, b]))
            shared[a, b] = Touch(a, b, places, normals, areas, *rest)
            shared[b, a] = Touch(b, a, places, -normals, areas, *back)
    return shared


def spread(points: np.ndarray, triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Places (k, 3) spread over triangles about evenly, their normals (k, 3) and the area (k,) that each stands for.

    Large triangles are cut into equal parts; of small ones those in one cell of space are made one place.
    """
    corners = points[triangles]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1, initial=0.0)
    parts = np.clip(np.ceil(longest / _SPACING), 1, 60).astype(int)
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(normal, axis=1) / 2.0
    keep = area > 1e-9
    samples = [(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0))]
    for n in np.unique(parts[keep]).tolist():
        chosen = keep & (parts == n)
        weights = _centres(n)
        places = np.einsum("wk,tkj->twj", weights, corners[chosen]).reshape(-1, 3)
        unit = normal[chosen] / (2.0 * area[chosen, None])
        each = np.repeat(unit, len(weights), axis=0), np.repeat(area[chosen] / len(weights), len(weights))
        samples.append(_gathered(places, *each) if n == 1 else (places, *each))
    places, normals, areas = (np.concatenate(arrays) for arrays in zip(*samples))
    return places, normals, areas


def _gathered(places, normals, areas) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """One place for all in one cell of space that face the same way, where they lie on average."""
    keys = np.floor(np.column_stack([places / _SPACING, 2.0 * normals + 0.5])).astype(np.int64)
    _, cell, count = np.unique(keys, axis=0, return_inverse=True, return_counts=True)
    cell = cell.reshape(-1)
    area = np.bincount(cell, areas, minlength=len(count))
    mean = [
        np.column_stack([np.bincount(cell, areas * array[:, k], minlength=len(count)) for k in range(3)])
        for array in (places, normals)
    ]
    size = np.linalg.norm(mean[1], axis=1, keepdims=True)
    return mean[0] / area[:, None], mean[1] / np.maximum(size, 1e-12), area


def _centres(n: int) -> np.ndarray:
    """Barycentric centres (n * n, 3) of a triangle cut into n * n alike."""
    up = [((i + 1 / 3) / n, (j + 1 / 3) / n) for i in range(n) for j in range(n - i)]
    down = [((i + 2 / 3) / n, (j + 2 / 3) / n) for i in range(n - 1) for j in range(n - 1 - i)]
    pairs = np.array(up + down)
    return np.column_stack([1.0 - pairs.sum(axis=1), pairs])


def _ball(points: np.ndarray) -> tuple[float, float, float, float]:
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    return (*middle.tolist(), float(np.linalg.norm(points - middle, axis=1).max()))


def thickness(piece: Piece) -> float:
    """Smallest extent of a part as it is built, mm."""
    return piece.body.diameter if isinstance(piece.body, RodBody) else piece.thickness


def frame(piece: Piece, matrix: np.ndarray) -> np.ndarray | None:
    """Directions (3, 3) of a flat part or a bar in place as rows: along, across, and off its face; None if curved."""
    turn = matrix[:3, :3]
    if isinstance(piece.body, FlatBody):
        return (turn @ piece.body.frame.axes).T
    if isinstance(piece.body, RodBody):
        along = turn @ (piece.body.end - piece.body.start)
        along /= np.linalg.norm(along)
        across = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
        across /= np.linalg.norm(across)
        return np.vstack([np.cross(across, along), across, along])
    return None


def axis_of(bodies: Bodies, bar: int) -> tuple[np.ndarray, np.ndarray, float]:
    """Start (3,) of a bar in its place, the unit way (3,) along it, and its length in mm."""
    body, matrix = bodies.pieces[bar].body, bodies.matrices[bar]
    assert isinstance(body, RodBody)
    start, end = (matrix[:3, :3] @ place + matrix[:3, 3] for place in (body.start, body.end))
    return start, (end - start) / body.length, body.length


def outward(piece: Piece, matrix: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places (k, 3) on a curved part and the directions (k, 3) off its outside face there."""
    body = piece.body
    if isinstance(body, PanelBody):
        places, normals = body.surface.point(body.chart.coords), body.surface.normal(body.chart.coords)
    elif isinstance(body, BandBody):
        places = np.vstack([body.curve + np.outer(level, body.across) for level in (body.low, body.high)])
        normals = np.vstack([body.normals, body.normals])
    else:
        raise TypeError(f"{piece.id} is not curved")
    turned = normals @ matrix[:3, :3].T
    return (
        places @ matrix[:3, :3].T + matrix[:3, 3],
        turned / np.maximum(np.linalg.norm(turned, axis=1, keepdims=True), 1e-12),
    )

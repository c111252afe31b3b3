"""Curved panels laid flat: meshes, seam lengths agreed on, flattened, outlined."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType

import numpy as np
import shapely

from foamwright.errors import BuildError, together
from foamwright.flatten import strain
from foamwright.flatten.alike import Twin
from foamwright.flatten.arrows import Arrow, on_mesh
from foamwright.flatten.faces import Stretch, face_line, joined, neutral_line, smooth
from foamwright.flatten.mesh import DartLegs, DartLine, PanelMesh, PanelMesher
from foamwright.flatten.records import FlatMesh, Pattern, PatternDart, PatternEdge
from foamwright.flatten.seams import CommonLine, EdgeKey, RunningLength, agree, common_lines, running_length
from foamwright.flatten.solver import CannotFlatten, Flattener
from foamwright.flatten.solver.embedding import boundary_loops
from foamwright.flatten.solver.newton import Constraint
from foamwright.flatten.ticks import edge_marks
from foamwright.forms.parametric import Frustum
from foamwright.geometry import arc_length, chord_length, crossing_of, signed_area
from foamwright.geometry.drawn import seen_from_inside
from foamwright.geometry.mesh import connected
from foamwright.parts.records import PanelBody, Piece, SeamSpec, unjoined
from foamwright.store import Store
from foamwright.working import working_on

TRIANGLES = 1200  # of a panel of mean size; the outline does not depend on it (tests/flatten/test_panels_refinement.py)
FIRST_AIM = 0.96  # of a foam's limit: what the search for darts aims at at first
_ROUNDS = 5
_STRAIGHT_END = 6.0  # of the way beyond it to a tip: so long a line's end is straight
_STRAIGHT = 0.02  # mm: an edge that keeps to a line within it is straight
BESIDE = 65.0  # degrees from square: a cut that slopes more where an edge crosses itself is the cause of it
_NEARLY = math.radians(3.0)  # from the direction of the page


def neutral_offset(piece: Piece[PanelBody]) -> float:
    return piece.body.inner_offset + piece.stock.k * piece.stock.thickness


@dataclass(frozen=True, eq=False)
class Flattened:
    piece: Piece[PanelBody]
    mesh: PanelMesh
    flat: np.ndarray  # (n, 2) seen from outside
    common: Mapping[str, CommonLine]  # of edges, by id, that are not compared on their neutral line


def flatten_panels(
    pieces: Sequence[Piece[PanelBody]],
    seams: Sequence[SeamSpec],
    darts_of: Callable[[Piece[PanelBody], PanelMesher, float], tuple[DartLine, ...]],
    triangles: int = TRIANGLES,
    store: Store | None = None,
    alike: Mapping[str, Twin] = MappingProxyType({}),
) -> dict[str, Flattened]:
    """Lay all panels flat, with matching seams and darts. `triangles` is about how many a panel of mean size gets.

    `darts_of` gives a panel's darts for a share of its foam's limit. Holding seams to one length may cost a
    panel a little strain; one whose darts are searched for and that ends over its limit gets an ever lower share, and so do
    those that are `alike`. What `store` has kept of a panel is used again while it, its darts and the size of its triangles
    stay.
    """
    meshers = {p.id: mesher_of(p) for p in pieces}
    spacing = _spacing(pieces, meshers, triangles)
    common = common_lines(pieces, seams)
    share = {p.id: FIRST_AIM for p in pieces}
    store = store or Store(None)
    free: dict[str, Flattened] = {}
    stale = list(pieces)
    for number in range(_ROUNDS):
        refused: list[BuildError] = []
        for p in stale:
            working_on(f"part {p.id}")
            try:
                lines = darts_of(p, meshers[p.id], share[p.id])
                told = (unjoined(p), spacing[p.id], lines)
                mesh, flat = store.kept("panel", told, partial(_laid, meshers[p.id], spacing[p.id], lines))
            except CannotFlatten as error:
                refused.append(_refused(p, error))
            except BuildError as error:
                refused.append(BuildError(f"panel {p.id}: {error}"))
            else:
                free[p.id] = Flattened(p, mesh, flat, {e: c for (part, e), c in common.items() if part == p.id})
        if refused:
            raise together(refused)
        held = _hold_seams(free, seams, store)
        loads: dict[str, float] = {}
        for p in pieces:
            if p.body.automatic:
                of = _first(p, alike)
                loads[of] = max(loads.get(of, 0.0), load(p, held[p.id].mesh, held[p.id].flat))
        stale = [p for p in pieces if loads.get(_first(p, alike), 0.0) > 1.0]
        if not stale:
            break
        # ever longer steps: darts that were far within the share are found again until it is below them
        for p in stale:
            share[p.id] *= (0.985 / loads[_first(p, alike)]) ** 2**number
    return held


def _first(piece: Piece, alike: Mapping[str, Twin]) -> str:
    """The id of the first panel that a panel is like, itself if there is no other."""
    return alike[piece.id].of.id if piece.id in alike else piece.id


def _laid(mesher: PanelMesher, spacing: float, darts: Sequence[DartLine]) -> tuple[PanelMesh, np.ndarray]:
    """A panel by itself: its mesh, and the mesh's points (n, 2) on the pattern."""
    mesh = mesher.mesh(spacing, tuple(darts))
    return mesh, _flattener(mesh).solve().flat


def _flattener(mesh: PanelMesh) -> Flattener:
    return Flattener(mesh.surface.points, mesh.normals, mesh.surface.triangles, mesh.chart, mesh.lengths)


def _hold_seams(free: Mapping[str, Flattened], seams: Sequence[SeamSpec], store: Store) -> dict[str, Flattened]:
    """Flatten again with the edges of every seam, and the legs of every dart, held to one length."""
    measured: dict[EdgeKey, RunningLength] = {}
    for i, f in free.items():
        for edge, chains, shares, bows in zip(f.piece.body.edges, f.mesh.chains, f.mesh.shares, f.mesh.bows):
            own = running_length(f.flat, chains, shares, bows)
            measured[(i, edge.id)] = f.common[edge.id].of(own) if edge.id in f.common else own
    agreed = agree(measured, {i: _mean_strain(f) for i, f in free.items()}, seams)
    held = {}
    for i, f in free.items():
        constraints = _constraints(f, agreed)
        told = (f.mesh, f.flat, constraints)
        try:
            held[i] = (
                replace(f, flat=store.kept("held panel", told, partial(_held, f, constraints))) if constraints else f
            )
        except CannotFlatten as error:
            raise _refused(f.piece, error) from error
    return held


def _mean_strain(free: Flattened) -> float:
    """Over the area of a panel laid flat, of the side of each triangle that is furthest off its length."""
    corners = free.flat[free.mesh.surface.triangles]
    sides = np.linalg.norm(np.roll(corners, -2, axis=1) - np.roll(corners, -1, axis=1), axis=2)
    off = np.abs(sides / free.mesh.lengths - 1.0).max(axis=1)
    return float(np.average(off, weights=free.mesh.surface.areas))


def _held(free: Flattened, constraints: Sequence[Constraint]) -> np.ndarray:
    return _flattener(free.mesh).solve(constraints, start=free.flat).flat


def _refused(piece: Piece, error: CannotFlatten) -> BuildError:
    return BuildError(f"panel {piece.id} cannot be laid flat ({error}); divide it with another cut or give it darts")


def crosses(mesh: PanelMesh, flat: np.ndarray) -> bool:
    """Does the edge of a flat shape (n, 2) cross itself, as the legs of a dart do in a panel like a saddle?"""
    loops = [shapely.Polygon(flat[loop]) for loop in boundary_loops(mesh.surface.triangles)]
    outer, *holes = sorted(loops, key=lambda ring: -ring.envelope.area)
    return not shapely.Polygon(outer.exterior, [hole.exterior for hole in holes]).is_valid


def is_saddle(mesh: PanelMesh) -> bool:
    """Does a panel curve more like a saddle than like a ball?"""
    return strain.curves_like_a_saddle(mesh.surface.points, mesh.normals, mesh.surface.triangles)


def load(piece: Piece[PanelBody], mesh: PanelMesh, flat: np.ndarray) -> float:
    """Worst strain of a flattened panel over what its foam allows: 1 is just within."""
    strained = strain.summary(mesh.lengths, flat, mesh.surface.triangles, piece.stock.thickness, edges=mesh.chains)
    pulled, pressed = strain.limits(piece.stock)
    return max(strained.tension / pulled, strained.compression / pressed)


def strip_load(piece: Piece[PanelBody], mesh: PanelMesh, faces: np.ndarray) -> float:
    """As `load`, what some of a mesh's triangles (m,) would come to if they were a panel by themselves; infinite where
    they are not one piece."""
    used, triangles = np.unique(mesh.surface.triangles[faces], return_inverse=True)
    triangles = triangles.reshape(-1, 3)
    if not len(used) or connected(triangles, len(used)).any():
        return math.inf
    points, normals = mesh.surface.points[used], mesh.normals[used]
    try:
        flat = Flattener(points, normals, triangles, lengths=mesh.lengths[faces]).solve().flat
    except CannotFlatten:
        return math.inf
    strained = strain.summary(mesh.lengths[faces], flat, triangles, piece.stock.thickness)
    pulled, pressed = strain.limits(piece.stock)
    return max(strained.tension / pulled, strained.compression / pressed)


def _spacing(pieces, meshers, triangles) -> dict[str, float]:
    """One spacing for all panels of a form, so that seams are divided alike; narrow panels get at least 4 rows."""
    by_form: dict[str, list[Piece[PanelBody]]] = {}
    for p in pieces:
        by_form.setdefault(p.body.form, []).append(p)
    spacing = {}
    for group in by_form.values():
        mean = np.mean([meshers[p.id].shape.area for p in group])
        even = math.sqrt(mean / triangles * 4 / math.sqrt(3))
        for p in group:
            shape = meshers[p.id].shape
            width = 2 * shape.area / shape.length
            spacing[p.id] = min(even, width / 2.5)
    return spacing


def _constraints(f: Flattened, agreed: Mapping[EdgeKey, RunningLength]):
    held = []
    piece, mesh, free = f.piece, f.mesh, f.flat
    for edge, chains, shares, bows in zip(piece.body.edges, mesh.chains, mesh.shares, mesh.bows):
        target = agreed.get((piece.id, edge.id))
        if target is None:
            continue
        line = f.common.get(edge.id)
        held += [
            (chain, (np.diff(target(share)) if line is None else line.neutral_steps(target, share)) / bow)
            for chain, share, bow in zip(chains, shares, bows)
        ]
    for dart in mesh.darts:
        legs = [np.linalg.norm(np.diff(free[leg], axis=0), axis=1) for leg in (dart.first, dart.second)]
        mean = (legs[0] + legs[1]) / 2
        held += [(dart.first, mean), (dart.second, mean)]
    return held


def panel_pattern(done: Flattened, seams: Sequence[SeamSpec]) -> Pattern:
    """The pattern of a flattened panel, seen from the inside face, forward to the right where it can be."""
    piece, mesh = done.piece, done.mesh
    body: PanelBody = piece.body
    flat = _seen_from_inside(done.flat, mesh, body)
    thickness, k = piece.stock.thickness, piece.stock.k
    bending = strain.bending(mesh.surface.points, mesh.normals, mesh.surface.triangles, thickness, k)
    summary = strain.summary(mesh.lengths, done.flat, mesh.surface.triangles, thickness, *bending, mesh.chains)
    at_vertices = strain.strained(mesh.lengths, done.flat, mesh.surface.triangles, thickness, mesh.chains)
    loops: dict[int, list[int]] = {}
    for i, edge in enumerate(body.edges):
        loops.setdefault(edge.loop, []).append(i)
    drawn, other, pattern_edges, darts = [], [], [], []
    for number in sorted(loops):
        loop = _loop(done, flat, loops[number], seams)
        drawn.append(loop.drawn)
        other.append(loop.other)
        pattern_edges += loop.edges
        darts += loop.darts
    area = abs(signed_area(drawn[0])) - sum(abs(signed_area(hole)) for hole in drawn[1:])
    for line, holes in zip((drawn[0], other[0]), (drawn[1:], other[1:])):
        if not (foam := shapely.Polygon(line, holes)).is_valid:
            wrong, why = _crossing(body, mesh, flat, foam)
            raise wrong(f"panel {piece.id}: {why}")
    warnings = []
    radius = strain.least_radius(mesh.surface.points, mesh.normals, mesh.surface.triangles, thickness, k)
    if radius < strain.TIGHT_RADIUS * thickness:
        pointed = strain.comes_to_a_point(body, radius, thickness)
        bend = "comes to a point: warm it there" if pointed else f"bends to a radius of {radius:.0f} mm: warm it"
        warnings.append(f"{bend} or score the back of the bend")
    return Pattern(
        piece=piece,
        outline=drawn[0],
        holes=tuple(drawn[1:]),
        edges=tuple(pattern_edges),
        darts=tuple(darts),
        area=area,
        strain=summary,
        neutral_offset=k * thickness,
        mesh=FlatMesh(flat, mesh.surface, at_vertices),
        forward=_arrow(flat, mesh, body.forward),
        up=_arrow(flat, mesh, body.up),
        strip=None,
        warnings=tuple(warnings),
        other_outline=other[0],
        other_holes=tuple(other[1:]),
    )


def mesher_of(piece: Piece) -> PanelMesher:
    """What lays the panel's rough map with triangles. Raises BuildError naming the panel."""
    try:
        return PanelMesher(piece.body, neutral_offset(piece))
    except BuildError as error:
        raise BuildError(f"panel {piece.id}: {error}") from None


class BesideForm(BuildError):
    """An edge of a panel crosses itself since its cut runs beside the form, whatever darts the panel has."""


def _crossing(
    body: PanelBody, mesh: PanelMesh, flat: np.ndarray, foam: shapely.Polygon
) -> tuple[type[BuildError], str]:
    """Why the edge of a panel laid flat crosses itself, where that is in place, and what to do."""
    at = crossing_of(foam)
    if at is not None and not is_saddle(mesh):
        x, y, z = place = mesh.surface.points[np.linalg.norm(flat - at, axis=1).argmin()]
        off = [np.linalg.norm(edge.points - place, axis=1) for edge in body.edges]
        edge, gaps = min(zip(body.edges, off), key=lambda one: one[1].min())
        around = gaps <= gaps.min() + np.linalg.norm(edge.outer - edge.inner, axis=1)  # as far as its cut face reaches
        slope = np.abs(edge.slope[around]).max()
        if slope > BESIDE:
            return (
                BesideForm,
                f"its edge {edge.id} crosses itself when it is laid flat: near ({x:.0f}, {y:.0f}, {z:.0f}) the cut {edge.cut} "
                f"runs beside the form, {slope:.0f}° from square, where it should run across it; move the cut further in there, "
                "or make it narrower",
            )
        return (
            BuildError,
            f"its edge crosses itself near ({x:.0f}, {y:.0f}, {z:.0f}) when it is laid flat; divide it with another cut, or "
            "leave more room between edges that run side by side there",
        )
    named = f"the legs of its dart at {mesh.darts[0].edge} cross" if mesh.darts else "its edge crosses itself"
    return (
        BuildError,
        f"{named} when it is laid flat: it curves like a saddle, where a dart has no foam to take away; divide the "
        "panel along that line instead",
    )


def _seen_from_inside(flat: np.ndarray, mesh: PanelMesh, body: PanelBody) -> np.ndarray:
    """The map reflected and turned so that forward points right, or else up points up; straight edges that then lie
    nearly along the page are laid along it."""
    flat = seen_from_inside(flat)
    flat = flat - flat.mean(0)
    for want, angle in ((body.forward, 0.0), (body.up, np.pi / 2)):
        arrow = _arrow(flat, mesh, want)
        if arrow is not None:
            flat = flat @ _turn(angle - math.atan2(arrow[1], arrow[0])).T
            break
    return flat @ _turn(_askew(flat, mesh)).T


def _turn(angle: float) -> np.ndarray:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, -s], [s, c]])


def _askew(flat: np.ndarray, mesh: PanelMesh) -> float:
    """By how many radians the longest of the straight edges that lie nearly along x or y has to be turned to do so."""
    longest, angle = 0.0, 0.0
    for chains in mesh.chains:
        line = flat[np.concatenate(chains)]
        chord = line[-1] - line[0]
        length = float(np.hypot(*chord))
        if length > longest and np.abs((line - line[0]) @ [-chord[1], chord[0]]).max() < _STRAIGHT * length:
            off = (math.atan2(chord[1], chord[0]) + math.pi / 4) % (math.pi / 2) - math.pi / 4
            if abs(off) < _NEARLY:
                longest, angle = length, -off
    return angle


def _arrow(flat: np.ndarray, mesh: PanelMesh, direction: np.ndarray) -> Arrow | None:
    return on_mesh(flat, mesh.surface, direction)


@dataclass(frozen=True, eq=False)
class _Loop:
    """The lines of both faces along one loop of the boundary, and what lies on the drawn one."""

    drawn: np.ndarray
    other: np.ndarray
    edges: list[PatternEdge]
    darts: list[PatternDart]


def _loop(done: Flattened, flat: np.ndarray, edge_indices: Sequence[int], seams: Sequence[SeamSpec]) -> _Loop:
    """One loop of the pattern. The reflection turned it around, so it is walked backwards."""
    mesh, body = done.mesh, done.piece.body
    slit = {int(d.second[0]): d for d in mesh.darts}
    lines: tuple[list[Stretch], list[Stretch]] = ([], [])  # of the inner and of the outer face
    lengths: dict[int, float] = {}
    order: list[tuple[int, DartLegs | None]] = []  # the edge of each line, and the dart whose leg it is
    tips = _tips(done, flat, edge_indices)
    edge_indices = [i for i in edge_indices if body.edges[i].kind != "tip"]
    for i in reversed(edge_indices):
        edge, ratio = body.edges[i], _longer(done, i)
        reached = 0.0
        pieces = list(zip(mesh.chains[i], mesh.shares[i]))[::-1]
        for k, (chain, share) in enumerate(pieces):
            neutral = neutral_line(flat, chain, share, edge, mesh.tight[i])
            running = (chord_length if mesh.tight[i] else arc_length)(neutral) * ratio
            whole, vertices = float(running[-1]), chord_length(flat[chain])
            neutral, running = _to_tips(neutral, running, tips, i, k == 0, k == len(pieces) - 1)
            before = sum(tip.beyond for tip in tips if k == 0 and tip.before == i)
            for side, (made, shift) in enumerate(zip(lines, (edge.inner_shift, edge.outer_shift))):
                if not shift.any():
                    made.append(Stretch(neutral, reached + running))
                    continue
                points, at = face_line(flat, chain, share, edge, mesh.tight[i], side == 0)
                made.append(
                    Stretch(points, reached + before + whole * (1.0 - np.interp(at, share, vertices / vertices[-1])))
                )
            order.append((i, None))
            reached += float(running[-1])
            if k < len(pieces) - 1:
                dart = slit[int(chain[0])]
                for leg in (smooth(flat[dart.second]), smooth(flat[dart.first[::-1]])):
                    for made in lines:
                        made.append(Stretch(leg, np.zeros(len(leg))))
                    order.append((i, dart))
        lengths[i] = reached
    square = all(a.points is b.points for a, b in zip(*lines))
    drawn, other = (joined(line) for line in lines)
    edges = []
    for i in reversed(edge_indices):
        own = [line for line, (edge_of, dart) in zip(drawn, order) if edge_of == i and dart is None]
        mouths = np.cumsum([len(s.points) for s in own])[:-1] - 1
        stretches, reached_at = [s.points for s in own], [s.reached for s in own]
        edges.append(edge_marks(done.piece, body.edges[i], stretches, mouths.tolist(), seams, (lengths[i], reached_at)))
    legs = [(line.points, dart) for line, (_, dart) in zip(drawn, order) if dart is not None]
    space = mesh.surface.points
    darts = [_dart(dart, a, b[::-1], space) for (a, dart), (b, _) in zip(legs[::2], legs[1::2]) if dart is not None]
    outline = _ring(drawn)
    return _Loop(outline, outline if square else _ring(other), edges, darts)


@dataclass(frozen=True, eq=False)
class _Tip:
    """Where the edges `before` and `after` it meet in the tip of a cone, and how far that is beyond their ends."""

    before: int
    after: int
    point: np.ndarray
    beyond: float


def _tips(done: Flattened, flat: np.ndarray, edge_indices: Sequence[int]) -> list[_Tip]:
    """The tips of cones on a loop, each where both edges beside it, carried straight on, come to on average."""
    mesh, body = done.mesh, done.piece.body
    tips = []
    for number, i in enumerate(edge_indices):
        if body.edges[i].kind != "tip" or len(edge_indices) < 2:
            continue
        assert isinstance(body.surface, Frustum)
        beyond = body.surface.beyond_tip
        before, after = edge_indices[number - 1], edge_indices[(number + 1) % len(edge_indices)]
        ends = [_carried_on(flat[line], beyond) for line in (mesh.chains[before][-1], mesh.chains[after][0][::-1])]
        tips.append(_Tip(before, after, np.mean(ends, axis=0), beyond))
    return tips


def _carried_on(line: np.ndarray, beyond: float) -> np.ndarray:
    """The point (2,) beyond the end of a line (N, 2) that is straight there."""
    away = np.linalg.norm(line - line[-1], axis=1)
    start = line[np.flatnonzero(away >= min(_STRAIGHT_END * beyond, away.max()))[-1]]
    return np.asarray(line[-1] + beyond * (line[-1] - start) / np.linalg.norm(line[-1] - start))


def _to_tips(
    neutral: np.ndarray, running: np.ndarray, tips: Sequence[_Tip], edge: int, first: bool, last: bool
) -> tuple[np.ndarray, np.ndarray]:
    """A piece of an edge and its running length, with the tip where it runs to one: the `first` piece in the pattern's
    direction from one that comes after the edge, the `last` to one that comes before it."""
    for tip in tips:
        if first and tip.before == edge:
            neutral = np.vstack([tip.point, neutral])
            running = np.concatenate([[0.0], running + tip.beyond])
        if last and tip.after == edge:
            neutral = np.vstack([neutral, tip.point])
            running = np.append(running, running[-1] + tip.beyond)
    return neutral, running


def _longer(done: Flattened, index: int) -> float:
    """How many times longer the line on which an edge is compared is than its neutral line."""
    edge, mesh = done.piece.body.edges[index], done.mesh
    if edge.id not in done.common:
        return 1.0
    own = running_length(done.flat, mesh.chains[index], mesh.shares[index], mesh.bows[index])
    return float(done.common[edge.id].of(own).lengths[-1] / own.lengths[-1])


def _ring(lines: Sequence[Stretch]) -> np.ndarray:
    return np.vstack([line.points[:-1] for line in lines])


def _dart(legs: DartLegs, a: np.ndarray, b: np.ndarray, space: np.ndarray) -> PatternDart:
    """`a` and `b` (N, 2) from the edge to the tip; `space` (n, 3) are the places of the mesh's vertices."""
    opening = float(np.linalg.norm(a[0] - b[0]))
    middle = (a[0] + b[0]) / 2
    lengths = float(arc_length(a)[-1]), float(arc_length(b)[-1])
    depth = float(np.linalg.norm(middle - a[-1]))
    return PatternDart(legs.edge, a, b, lengths, opening, depth, space[legs.first[[0, -1]]])

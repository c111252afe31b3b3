"""Curved panels laid flat: meshes, seam lengths agreed on, flattened, outlined."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import CubicSpline

from foamwright.errors import BuildError
from foamwright.flatten import strain
from foamwright.flatten.mesh import DartLine, PanelMesh, PanelMesher
from foamwright.flatten.records import FlatMesh, Pattern, PatternDart
from foamwright.flatten.seams import EdgeKey, RunningLength, agree, running_length
from foamwright.flatten.solver import CannotFlatten, Flattener, edge_lengths
from foamwright.flatten.ticks import edge_marks
from foamwright.geometry import arc_length, signed_area
from foamwright.geometry.drawn import seen_from_inside
from foamwright.parts.records import PanelBody, Piece, SeamSpec

TRIANGLES = 1200  # of a panel of mean size; the outline does not depend on it (tests/flatten/test_panels_refinement.py)
MARGIN = 0.96  # of a foam's limit: what the search for darts aims at at first
_ROUNDS = 5
_OUTLINE_SPACING = 1.0  # mm between points of a cut line


def neutral_offset(piece: Piece[PanelBody]) -> float:
    return piece.body.inner_offset + piece.stock.k * piece.stock.thickness


@dataclass(frozen=True, eq=False)
class Flattened:
    piece: Piece[PanelBody]
    mesh: PanelMesh
    flat: np.ndarray  # (n, 2) seen from outside


def flatten_panels(
    pieces: Sequence[Piece[PanelBody]],
    seams: Sequence[SeamSpec],
    darts_of: Callable[[Piece[PanelBody], PanelMesher, float], tuple[DartLine, ...]],
    triangles: int = TRIANGLES,
) -> dict[str, Flattened]:
    """Lay all panels flat, with matching seams and darts. `triangles` is about how many a panel of mean size gets.

    `darts_of` gives a panel's darts for a share of its foam's limit. Holding seams to one length may cost a
    panel a little strain; one whose darts are searched for and that ends over its limit gets a lower share.
    """
    meshers = {p.id: PanelMesher(p.body, neutral_offset(p)) for p in pieces}
    spacing = _spacing(pieces, meshers, triangles)
    share = {p.id: MARGIN for p in pieces}
    free: dict[str, Flattened] = {}
    solvers: dict[str, Flattener] = {}
    stale = list(pieces)
    for _ in range(_ROUNDS):
        for p in stale:
            mesh = meshers[p.id].mesh(spacing[p.id], darts_of(p, meshers[p.id], share[p.id]))
            try:
                solvers[p.id] = Flattener(mesh.surface.points, mesh.normals, mesh.surface.triangles)
                free[p.id] = Flattened(p, mesh, solvers[p.id].solve().flat)
            except CannotFlatten as error:
                raise _refused(p, error) from error
        held = _hold_seams(free, solvers, seams)
        loads = {p.id: load(p, held[p.id].mesh, held[p.id].flat) for p in pieces if p.body.automatic}
        stale = [p for p in pieces if loads.get(p.id, 0.0) > 1.0]
        if not stale:
            break
        for p in stale:
            share[p.id] *= 0.985 / loads[p.id]
    return held


def _hold_seams(
    free: Mapping[str, Flattened], solvers: Mapping[str, Flattener], seams: Sequence[SeamSpec]
) -> dict[str, Flattened]:
    """Flatten again with the edges of every seam, and the legs of every dart, held to one length."""
    measured: dict[EdgeKey, RunningLength] = {}
    for i, f in free.items():
        for edge, chains, shares in zip(f.piece.body.edges, f.mesh.chains, f.mesh.shares):
            measured[(i, edge.id)] = running_length(f.flat, chains, shares)
    agreed = agree(measured, seams)
    held = {}
    for i, f in free.items():
        constraints = _constraints(f.piece, f.mesh, f.flat, agreed)
        try:
            held[i] = replace(f, flat=solvers[i].solve(constraints, start=f.flat).flat) if constraints else f
        except CannotFlatten as error:
            raise _refused(f.piece, error) from error
    return held


def _refused(piece: Piece, error: CannotFlatten) -> BuildError:
    return BuildError(f"panel {piece.id} cannot be laid flat ({error}); divide it with another cut or give it darts")


def load(piece: Piece[PanelBody], mesh: PanelMesh, flat: np.ndarray) -> float:
    """Worst strain of a flattened panel over what its foam allows: 1 is just within."""
    lengths = edge_lengths(mesh.surface.points, mesh.normals, mesh.surface.triangles)
    found = strain.summary(lengths, flat, mesh.surface.triangles, piece.stock.thickness)
    pulled, pressed = strain.limits(piece.stock)
    return max(found.tension / pulled, found.compression / pressed)


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


def _constraints(piece, mesh: PanelMesh, free: np.ndarray, agreed: Mapping[EdgeKey, RunningLength]):
    held = []
    for edge, chains, shares in zip(piece.body.edges, mesh.chains, mesh.shares):
        target = agreed.get((piece.id, edge.id))
        if target is None:
            continue
        for chain, share in zip(chains, shares):
            held.append((chain, np.diff(target(share))))
    for dart in mesh.darts:
        legs = [np.linalg.norm(np.diff(free[leg], axis=0), axis=1) for leg in (dart.first, dart.second)]
        mean = (legs[0] + legs[1]) / 2
        held += [(dart.first, mean), (dart.second, mean)]
    return held


def panel_pattern(done: Flattened, seams: Sequence[SeamSpec]) -> Pattern:
    """The pattern of a flattened panel, seen from the inside face, forward to the right where it can be."""
    piece, mesh = done.piece, done.mesh
    body: PanelBody = piece.body
    lengths = edge_lengths(mesh.surface.points, mesh.normals, mesh.surface.triangles)
    flat, _ = _seen_from_inside(done.flat, mesh, body)
    thickness, k = piece.stock.thickness, piece.stock.k
    bending = strain.bending(mesh.surface.points, mesh.normals, mesh.surface.triangles, thickness, k)
    summary = strain.summary(lengths, done.flat, mesh.surface.triangles, thickness, *bending)
    per_face = strain.signed_worst(strain.triangle_strain(lengths, done.flat, mesh.surface.triangles))
    loops: dict[int, list[int]] = {}
    for i, edge in enumerate(body.edges):
        loops.setdefault(edge.loop, []).append(i)
    rings, pattern_edges = [], []
    for number in sorted(loops):
        ring, edges = _ring(piece, mesh, flat, loops[number], seams)
        rings.append(ring)
        pattern_edges.extend(edges)
    darts = tuple(_dart(flat, legs) for legs in mesh.darts)
    outline = rings[0]
    area = abs(signed_area(outline)) - sum(abs(signed_area(r)) for r in rings[1:])
    warnings = []
    radius = strain.least_radius(mesh.surface.points, mesh.normals, mesh.surface.triangles, thickness, k)
    if radius < strain.TIGHT_RADIUS * thickness:
        warnings.append(f"bends to a radius of {radius:.0f} mm: warm it or score the back of the bend")
    return Pattern(
        piece=piece,
        outline=outline,
        holes=tuple(rings[1:]),
        edges=tuple(pattern_edges),
        darts=darts,
        area=float(area),
        strain=summary,
        neutral_offset=k * thickness,
        mesh=FlatMesh(flat, mesh.surface, per_face),
        forward=_arrow(flat, mesh, body.forward),
        up=_arrow(flat, mesh, body.up),
        strip=None,
        warnings=tuple(warnings),
        other_outline=outline,
        other_holes=tuple(rings[1:]),
    )


def _gradient(flat, mesh) -> np.ndarray:
    """(2, 3) least-squares map from directions in space to directions on the pattern."""
    space = mesh.surface.points - mesh.surface.points.mean(0)
    return np.linalg.lstsq(space, flat - flat.mean(0), rcond=None)[0].T


def _seen_from_inside(flat, mesh, body):
    """Reflect and turn the map so that forward points right, or else up points up."""
    flat = seen_from_inside(flat)
    flat = flat - flat.mean(0)
    for want, way in ((body.forward, 0.0), (body.up, np.pi / 2)):
        arrow = _arrow(flat, mesh, want)
        if arrow is not None:
            angle = way - math.atan2(arrow[1], arrow[0])
            c, s = math.cos(angle), math.sin(angle)
            turn = np.array([[c, -s], [s, c]])
            return flat @ turn.T, turn
    return flat, np.eye(2)


def _arrow(flat, mesh, way) -> tuple[float, float] | None:
    """A direction in space as a unit direction on the pattern; None where the panel mostly faces that way."""
    normals = mesh.normals.mean(0)
    normals = normals / max(np.linalg.norm(normals), 1e-9)
    tangent = way - (way @ normals) * normals
    if np.linalg.norm(tangent) < 0.35:
        return None
    arrow = _gradient(flat, mesh) @ tangent
    size = np.linalg.norm(arrow)
    return None if size < 1e-6 else (float(arrow[0] / size), float(arrow[1] / size))


def smooth(points: np.ndarray) -> np.ndarray:
    """A smooth curve through pattern points, at `_OUTLINE_SPACING`; both ends kept."""
    if len(points) < 3:
        return points
    s = arc_length(points)
    count = max(len(points), int(np.ceil(s[-1] / _OUTLINE_SPACING)) + 1)
    return CubicSpline(s, points)(np.linspace(0, s[-1], count))


def _ring(piece, mesh, flat, edge_indices, seams):
    """Cut line of one loop, and its edges. The reflection turned the loop around, so it is walked backwards."""
    ring, edges = [], []
    dart_at = {int(d.second[0]): d for d in mesh.darts}
    for i in reversed(edge_indices):
        edge = piece.body.edges[i]
        stretches = [smooth(flat[chain[::-1]]) for chain in reversed(mesh.chains[i])]
        mouths, points, offset = [], [], 0
        for k, stretch in enumerate(stretches):
            ring.append(stretch[:-1])
            points.append(stretch)
            offset += len(stretch)
            if k < len(stretches) - 1:
                mouths.append(offset - 1)
                base = int(mesh.chains[i][len(stretches) - 1 - k][0])
                dart = dart_at[base]
                ring.append(smooth(flat[dart.second])[:-1])
                ring.append(smooth(flat[dart.first[::-1]])[:-1])
        edges.append(edge_marks(piece, edge, stretches, mouths, seams))
    return np.vstack(ring), edges


def _dart(flat, legs) -> PatternDart:
    a, b = smooth(flat[legs.second]), smooth(flat[legs.first])
    opening = float(np.linalg.norm(a[0] - b[0]))
    middle = (a[0] + b[0]) / 2
    return PatternDart(
        legs.edge,
        a,
        b,
        (float(arc_length(a)[-1]), float(arc_length(b)[-1])),
        opening,
        float(np.linalg.norm(middle - a[-1])),
    )

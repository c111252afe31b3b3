"""Whether the mirrored copies of a part are cut as drawn: turned over, or turned round, it is its own mirror image.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice

import igl
import numpy as np
import shapely
from scipy.spatial import cKDTree

from foamwright.contacts.copies import extent
from foamwright.contacts.footprints import Footprint, footprints, on_plane
from foamwright.contacts.records import FACES, Contacts
from foamwright.geometry import chord_length, points_at
from foamwright.geometry.mesh import Mesh
from foamwright.parts.records import BandBody, Body, FlatBody, PanelBody, Piece, Prop, RodBody

Normal = tuple[float, float, float]
Lain = Mapping[str, Sequence[Footprint]]

_OFF = 0.3  # by which a mirrored line may lie beside the line itself: less than a knife errs
_SQUARE = 0.5  # degrees
_STRAIGHT = 0.1  # by which an outline is straightened to find its corners
_AXES = 48  # of them at most are tried
_BACKED = 0.95  # share of a part that is all of it, as contacts are measured on bent foam
_STEP = 0.2  # mm between the points that stand for a line in space


def shown(prop: Prop, piece: Piece, contacts: Contacts) -> Lain:
    """What may be drawn on the faces of a part, by copy, face and what lies there. Larger parts that back all of it leave no
    line: its own outline is drawn on them.

    Each copy stands by itself: a stud on the left of one is no image of another's on the right.
    """
    area, own = _area(piece.body), extent(piece)
    lain: dict[str, list[Footprint]] = {}
    for number in range(1, len(piece.placements) + 1):
        prints = [f for f in footprints(piece, number, contacts) if f.face in FACES]
        larger = [f for f in prints if extent(prop.piece(f.other.part)) >= own]
        backed = {face for face in FACES if sum(f.contact.area for f in larger if f.face == face) > _BACKED * area}
        for footprint in (f for f in prints if f.face not in backed or f not in larger):
            lain.setdefault(f"{number} {footprint.face} {footprint.other.part}", []).append(footprint)
    return lain


def own_mirror(piece: Piece, lain: Lain) -> Normal | None:
    """The unit normal of a plane in which a part is mirrored on to itself, so that one template, as drawn, serves for
    both hands of it; None if there is none. `lain` is what is `shown` on it.

    A flat part whose outline, bevels, and all that lies on each face are their own mirror images is only turned round, so
    that its drawn face stays inside, and best so that what is up on one copy is up on the other; so are a strip of that
    kind, end for end or with its upper edge down, and a panel, wherever its darts are, as it closes into the same shape. One
    of another outline that is cut square and has nothing on its faces is turned over. A round bar has no hand: nothing is
    marked on it.
    """
    body = piece.body
    if isinstance(body, BandBody):
        return _best(piece, _of_band(body, piece.stock.thickness, lain))
    if isinstance(body, PanelBody):
        return _of_panel(body, piece.stock.thickness, lain)
    if isinstance(body, RodBody):
        return _of(np.cross(body.end - body.start, np.eye(3)[np.abs(body.end - body.start).argmin()]))
    if not isinstance(body, FlatBody):
        return None
    shapes = _shapes(body)
    for key, lying in lain.items():
        shapes[key] = shapely.union_all([on_plane(piece, footprint) for footprint in lying])
    across = (body.frame.axes[:, :2] @ np.array([-np.sin(angle), np.cos(angle)]) for angle in _mirror_lines(shapes))
    square = all(abs(bevel) < _SQUARE for run in body.runs for bevel in run.bevel)
    over = [body.frame.axes[:, 2]] if square and not lain and not body.engraving else []
    return _best(piece, map(_of, chain(across, over)))


def _best(piece: Piece, normals: Iterable[Normal]) -> Normal | None:
    """Of the normals the one with which what is up on one copy is up on the other, as nearly as can be."""
    found: list[Normal] = []
    for normal in normals:
        found.append(normal)
        if not _turns_up(piece, normal):
            return normal
    return min(found, key=lambda normal: _turns_up(piece, normal), default=None)


def _turns_up(piece: Piece, normal: Normal) -> float:
    """How far what is up on the copy that is cut as drawn points another way on the mirrored one, 0 to 2, in steps; that
    is another way too where the drawn face looks up."""
    there = np.eye(3) - 2.0 * np.outer(normal, normal)
    ups = [place.matrix[2, :3] @ (there if place.mirrored else np.eye(3)) for place in piece.placements]
    return round(float(1.0 - min(np.array(ups) @ ups[0], default=1.0)), 3)


def _of(normal: np.ndarray) -> Normal:
    x, y, z = (normal / np.linalg.norm(normal)).tolist()
    return x, y, z


def _of_band(body: BandBody, thickness: float, lain: Lain) -> Iterator[Normal]:
    """The normals of planes in which a strip, and what lies on each of its faces, is mirrored on to itself: along its middle
    line, or through the middle of that."""
    lines: dict[str, list[np.ndarray]] = {}
    for offset in (body.inner_offset, body.inner_offset + thickness):
        face = body.curve + offset * body.normals
        low, high = (face + side[:, None] * body.across for side in (body.low, body.high))
        lines.setdefault(f"edge {body.joins_low}", []).append(low)
        lines.setdefault(f"edge {body.joins_high}", []).append(high)
        ends = {0: f"end {body.trim_start}", -1: f"end {body.trim_end}"}
        for at, key in [*ends.items(), *((corner.at, f"corner {corner.made}") for corner in body.corners)]:
            lines.setdefault(key, []).append(np.array([low[at], high[at]]))
    drawn = _drawn(lines, lain)
    along = body.curve + ((body.low + body.high) / 2.0)[:, None] * body.across
    one, other = points_at(along, np.array([0.25, 0.75]) * chord_length(along)[-1])  # images of each other, end for end
    for normal, middle in ((_of(other - one), (one + other) / 2.0), (_of(body.across), along[0])):
        if _own_image(drawn, middle, np.array(normal)):
            yield normal


def _shapes(body: FlatBody) -> dict[str, shapely.Geometry]:
    """What must be its own mirror image, in the plane of the part."""
    shapes = {"foam": shapely.Polygon(body.outline, body.holes)}
    for run in body.runs:
        index = np.arange(run.start, run.stop + 1) % len(body.outline)
        line = shapely.LineString(body.outline[index])
        key = f"edge {[round(bevel) for bevel in run.bevel]} {run.joins}"
        shapes[key] = shapely.union_all([shapes.get(key, shapely.LineString()), line])
    if body.engraving:
        shapes["engraving"] = shapely.multilinestrings([np.vstack([ring, ring[:1]]) for ring in body.engraving])
    if body.pins:
        shapes["pins"] = shapely.multipoints(np.array(body.pins))
    return shapes


def _mirror_lines(shapes: Mapping[str, shapely.Geometry]) -> Iterator[float]:
    """The angles, in radians, of lines in which all of the shapes are mirrored on to themselves."""
    foam = shapes["foam"]
    middle = shapely.get_coordinates(foam.centroid)[0]
    corners = shapely.get_coordinates(shapely.simplify(foam.exterior, _STRAIGHT))
    others = [shapely.get_coordinates(shape.centroid) for shape in shapes.values() if not shape.is_empty]
    ways = np.vstack([*others, corners, (corners[:-1] + corners[1:]) / 2.0]) - middle
    ways = ways[np.hypot(*ways.T) > _OFF]
    angles = dict.fromkeys(np.round(np.arctan2(ways[:, 1], ways[:, 0]) % np.pi, 6).tolist())
    return (angle for angle in islice(angles, _AXES) if _mirrored(shapes, middle, angle))


def _mirrored(shapes: Mapping[str, shapely.Geometry], middle: np.ndarray, angle: float) -> bool:
    c, s = np.cos(2.0 * angle), np.sin(2.0 * angle)
    turn = np.array([[c, s], [s, -c]])
    for shape in shapes.values():
        image = shapely.transform(shape, lambda xy: (xy - middle) @ turn.T + middle)
        if shapely.hausdorff_distance(image, shape) > _OFF:
            return False
    return True


def _of_panel(body: PanelBody, thickness: float, lain: Lain) -> Normal | None:
    """The normal of a plane in which a panel, and what lies on each of its faces, is mirrored on to itself."""
    faces = [body.surface.offset(body.chart.coords, body.inner_offset + share * thickness) for share in (0.0, 1.0)]
    corners = faces[0][body.chart.faces]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    middles = corners.mean(axis=1)
    middle = np.average(middles, axis=0, weights=area)
    spread = np.cov((middles - middle).T, aweights=area)
    lines: dict[str, list[np.ndarray]] = {}
    for edge in body.edges:
        lines.setdefault(f"edge of the inside {edge.joins}", []).append(edge.inner)
        lines.setdefault(f"edge of the outside {edge.joins}", []).append(edge.outer)
    drawn = _drawn(lines, lain)
    sheet = np.ascontiguousarray(faces[0]), np.ascontiguousarray(body.chart.faces, dtype=np.int64)
    for normal in (*np.linalg.eigh(spread)[1].T, *np.eye(3)):
        if _own_image(drawn, middle, normal):
            squared, _, _ = igl.point_mesh_squared_distance(_image(faces[0], middle, normal), *sheet)
            if squared.max() <= _OFF**2:
                return _of(normal)
    return None


def _drawn(lines: Mapping[str, Sequence[np.ndarray]], lain: Lain) -> list[cKDTree]:
    """The lines in space of each kind, and those around what lies on the part, each kind as points."""
    rings = ([np.vstack([loop, loop[:1]]) for f in lying for loop in f.outlines] for lying in lain.values())
    return [cKDTree(np.vstack([_dense(line) for line in some])) for some in (*lines.values(), *rings)]


def _own_image(drawn: Sequence[cKDTree], middle: np.ndarray, normal: np.ndarray) -> bool:
    return all(tree.query(_image(tree.data, middle, normal))[0].max() <= _OFF for tree in drawn)


def _area(body: Body) -> float:
    """mm2 of one face of a part, nearly."""
    if isinstance(body, FlatBody):
        return float(shapely.Polygon(body.outline, body.holes).area)
    if isinstance(body, BandBody):
        return float(np.trapezoid(body.high - body.low, chord_length(body.curve)))
    if isinstance(body, PanelBody):
        return float(Mesh(body.surface.point(body.chart.coords), body.chart.faces).areas.sum())
    return body.length * body.diameter


def _dense(line: np.ndarray) -> np.ndarray:
    """A line (N, 3) as points no further apart than _STEP."""
    along = chord_length(line)
    at = np.union1d(along, np.linspace(0.0, along[-1], int(np.ceil(along[-1] / _STEP)) + 1))
    return np.column_stack([np.interp(at, along, column) for column in line.T])


def _image(points: np.ndarray, middle: np.ndarray, normal: np.ndarray) -> np.ndarray:
    return points - 2.0 * np.outer((points - middle) @ normal, normal)

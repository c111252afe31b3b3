"""What the flatten step returns: every part as a flat pattern at true size, in mm."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely

from foamwright.geometry import Frame, Mesh
from foamwright.parts.records import Piece, Prop


@dataclass(frozen=True)
class Strain:
    """Strain of a pattern as `strain.EXPLAINED` tells it, 0.03 is 3 %; all 0 where it develops exactly."""

    max: float
    p95: float
    mean: float
    tension: float  # worst stretch (foam is pulled) and worst compression, both as positive numbers
    compression: float
    inner_face: float  # strain of the two faces from bending alone
    outer_face: float


@dataclass(frozen=True, eq=False)
class PatternEdge:
    """A named stretch of the outline between two corners, in the outline's direction (counter-clockwise).

    `bevel` is the angle at which the edge is cut, in degrees from square: where it is positive the inside face is the
    smaller one there, where it is negative the outside face.

    Distances of ticks and of the middle are measured along `points` as a polyline, dart mouths included, so
    that they can be laid off directly; `length` is that of the edge once its darts are closed.
    """

    id: str
    points: np.ndarray  # (N, 2)
    length: float
    bevel: tuple[float, ...]  # degrees from square, at equal distances along the edge
    joins: tuple[str, ...]  # ids of the parts it is glued to; empty for a free edge
    seam: str | None  # id of the seam, where it is one
    ticks: np.ndarray  # (T,) distances from the edge's start of the numbered match ticks
    tick_numbers: tuple[int, ...]  # the same number on both edges of a seam
    middle: float | None = None  # distance of the centre notch; None for an edge that is no seam
    mouths: tuple[int, ...] = ()  # points[i] to points[i + 1] spans a dart's mouth: not part of `length`


@dataclass(frozen=True, eq=False)
class PatternDart:
    """A wedge to cut out; the outline already runs down one leg and up the other."""

    edge: str
    leg_a: np.ndarray  # (N, 2) from the edge to the tip
    leg_b: np.ndarray  # (N, 2) from the edge to the tip
    lengths: tuple[float, float]
    opening: float
    depth: float
    place: np.ndarray  # (2, 3) of its mouth and tip once it is closed, on the neutral surface of the part as modelled

    @property
    def wedge(self) -> shapely.Polygon:
        """What it takes out of the foam; without an area where it opens by nothing."""
        return shapely.Polygon(np.vstack([self.leg_a, self.leg_b[::-1]]))


@dataclass(frozen=True, eq=False)
class FlatMesh:
    """The pattern as triangles, and where they lie in space: for marks and the strain sheet."""

    flat: np.ndarray  # (n, 2)
    surface: Mesh  # the same triangles on the neutral surface
    strain: np.ndarray  # (n, 2) pulled and pressed at each vertex, both positive, as `strain.strained` has it


@dataclass(frozen=True, eq=False)
class Segment:
    """One piece of foam of a part that is glued up from several, in the coordinates of its pattern."""

    outline: np.ndarray  # (N, 2) counter-clockwise, first point not repeated; on the face that is drawn on
    holes: tuple[np.ndarray, ...]
    area: float
    other_outline: np.ndarray  # of the opposite face
    other_holes: tuple[np.ndarray, ...]


@dataclass(frozen=True, eq=False)
class Split:
    """How a part that is larger than the sheet is cut from several pieces.

    Segments of a "puzzle" or a "butt" joint share their lines; those of a "scarf" overlap between two lines, where
    both are bevelled to nothing, one from each face. Those of a "mitre" share their lines on the face that is drawn on.
    """

    joint: str
    segments: tuple[Segment, ...]
    lines: tuple[np.ndarray, ...]  # (N, 2) each
    bevels: tuple[tuple[float, float], ...] = ()  # of each line of a mitre, of the segments before and after it


@dataclass(frozen=True, eq=False)
class SegmentJoint:
    """Where a segment is glued to another: along `line`, for a scarf the line at which the other one ends."""

    joint: str
    line: np.ndarray  # (N, 2)
    to: str  # label of the other segment
    first: bool  # the first of the two, which of a scarf is bevelled on the inside face
    bevel: float = 0.0  # of a mitre, as of an edge


@dataclass(frozen=True)
class Round:
    """What is round about a part: its circle, and of a ring the inner one."""

    centre: tuple[float, float]
    radius: float
    inner_radius: float | None


@dataclass(frozen=True)
class PatternSlot:
    """A slot that a tab of another part enters: its middle, that part's id, and its corners, also where it is open to an edge."""

    at: tuple[float, float]
    part: str
    corners: tuple[tuple[float, float], ...]


@dataclass(frozen=True, eq=False)
class Fittings:
    """What a flat part carries beside its outline, in the coordinates of its pattern."""

    round: Round | None = None
    engraving: tuple[np.ndarray, ...] = ()  # (N, 2) closed lines on the outside face, first point not repeated
    pins: tuple[tuple[float, float], ...] = ()  # where the layers of a laminated part are pinned to each other
    slots: tuple[PatternSlot, ...] = ()


NO_FITTINGS = Fittings()


@dataclass(frozen=True, eq=False)
class Pattern:
    """The flat shape of one part kind, seen from the face that is drawn on, where the knife enters.

    `outline` and `holes` are the cut lines on that face, `other_outline` and `other_holes` those of the opposite face
    in the same coordinates; they are equal where the part is cut square.
    """

    piece: Piece
    outline: np.ndarray  # (N, 2) counter-clockwise cut line, darts included, first point not repeated
    holes: tuple[np.ndarray, ...]
    edges: tuple[PatternEdge, ...]
    darts: tuple[PatternDart, ...]
    area: float
    strain: Strain
    neutral_offset: float  # of the developed surface from the inside face; 0 where the part is not bent
    mesh: FlatMesh | None  # None where the part is flat or a straight development
    forward: tuple[float, float] | None  # direction on the pattern, unit
    up: tuple[float, float] | None
    strip: tuple[float, float] | None  # length and width of a plain strip
    warnings: tuple[str, ...]
    split: Split | None = None  # None: cut in one piece
    joints: tuple[SegmentJoint, ...] = ()  # of a segment that is taken as a pattern of its own
    drawn_face: str = "inside"  # or "outside"
    frame: Frame | None = None  # of a flat part: x and y are the pattern's, z points at one who looks at it
    fittings: Fittings = NO_FITTINGS
    other_outline: np.ndarray = field(kw_only=True)
    other_holes: tuple[np.ndarray, ...] = field(kw_only=True)


def cut_square(foam: Pattern | Segment) -> bool:
    """Are the lines of both faces the same?"""
    drawn, other = (foam.outline, *foam.holes), (foam.other_outline, *foam.other_holes)
    return len(drawn) == len(other) and all(np.array_equal(a, b) for a, b in zip(drawn, other))


def face_of(foam: Pattern, inside: bool) -> shapely.Geometry:
    """The inside face of the foam or the outside one, within its own cut lines."""
    if inside == (foam.drawn_face == "inside"):
        return shapely.Polygon(foam.outline, foam.holes)
    return _closed(foam.other_outline, foam.other_holes)


def _closed(outline: np.ndarray, holes: tuple[np.ndarray, ...]) -> shapely.Geometry:
    face = shapely.Polygon(outline, holes)
    return face if face.is_valid else face.buffer(0.0)  # a dart may close


def silhouette(foam: Pattern | Segment) -> shapely.Polygon:
    """All that the foam covers, seen square to it: what a sheet must hold.

    It is also what a machine is given, which cuts square; the bevels are cut by hand afterwards.
    """
    drawn = shapely.Polygon(foam.outline, foam.holes)
    if cut_square(foam):
        return drawn
    return shapely.union_all([_closed(foam.outline, foam.holes), _closed(foam.other_outline, foam.other_holes)])


@dataclass(frozen=True)
class Seam:
    """A seam with the flattened length of both edges, along the line on which they touch."""

    id: str
    part_a: str
    edge_a: str
    part_b: str
    edge_b: str
    length_a: float
    length_b: float
    glue: str
    copies: int = 0  # how often it is in the prop; 0: as the copies of its parts tell
    step: float = 0.0  # mm that one part stands over the other where they are not flush
    flush: str = "both"  # the face on which they are: "inside", "outside", "both" or "neither"
    touch_a: tuple[float, float] = (0.0, 0.0)  # mm from the inside face of either, from which and to which they touch
    touch_b: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Differences:
    """The solids held against the geometry that the parts were built from: the largest differences in mm, 0 where a
    prop has no such parts.

    `section`: between the lines of flat parts and the sections of forms and outlines that they were built from.
    `strip`: between the length of a band and that of its solid, its volume over width and thickness.
    `panel_edge`: between the edges of panels' solids and the edges that were traced on their forms; on each face.
    """

    section: float
    strip: float
    panel_edge: float


@dataclass(frozen=True, eq=False)
class Patterns:
    prop: Prop
    patterns: tuple[Pattern, ...]  # in the order of prop.pieces
    seams: tuple[Seam, ...]
    differences: Differences = Differences(0.0, 0.0, 0.0)

    def pattern(self, part_id: str) -> Pattern:
        return next(p for p in self.patterns if p.piece.id == part_id)

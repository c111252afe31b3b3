"""What the parts step returns: every part in place, as geometry, before it is flattened or solid.

Lengths in mm. Space: x forward, y to the left (port), z up. Arrays are float64 unless said otherwise
and are never changed after they are made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Generic, TypeVar

import numpy as np

from foamwright.design.records import Design, Stock
from foamwright.forms.surface import Surface
from foamwright.geometry import Frame as Frame
from foamwright.geometry import inset
from foamwright.language import Saying
from foamwright.parts.bevels import bevels
from foamwright.registry import kind

_ONE_LINE = 0.1  # mm between two edges that lie on one line in space
_PLANE = 1e-4  # mm: a panel whose form departs less from a plane is flat


@dataclass(frozen=True, eq=False)
class Placement:
    """Where one copy stands: `matrix` (4, 4) takes the part as modelled to its place in the prop."""

    matrix: np.ndarray
    mirrored: bool


@dataclass(frozen=True, eq=False)
class EdgeRun:
    """A named stretch of a flat part's outline.

    `start` and `stop` index `FlatBody.outline`; the run goes counter-clockwise from `start` to `stop`,
    past the end of the array if need be (a whole loop has stop == start + len(outline)).
    """

    id: str
    start: int
    stop: int
    bevel: tuple[float, ...]  # degrees from square, one or several at equal distances; + undercuts the inside
    joins: tuple[str, ...]  # part ids


@dataclass(frozen=True)
class Slot:
    """A slot that a tab of another part enters: its middle and its corners in the frame's plane, and that part's id."""

    at: tuple[float, float]
    part: str
    corners: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class EdgeFinish:
    """How the edges are worked after cutting: "rounded" to a radius or "chamfered" to a width, in mm."""

    finish: str
    size: float


@dataclass(frozen=True, eq=False)
class FlatBody:
    """A part that is flat in the prop: `outline` in the frame's xy plane, thickness along +z.

    The face at z = 0 is the inside face.
    """

    outline: np.ndarray  # (N, 2) counter-clockwise, first point not repeated
    holes: tuple[np.ndarray, ...]  # (M, 2) each
    frame: Frame
    runs: tuple[EdgeRun, ...]
    radius: float | None = None  # outer radius of a round part
    inner_radius: float | None = None
    centre: tuple[float, float] = (0.0, 0.0)
    slots: tuple[Slot, ...] = ()  # among the holes
    pins: tuple[tuple[float, float], ...] = ()  # where the layers of a laminated part are pinned to each other
    engraving: tuple[np.ndarray, ...] = ()  # (N, 2) closed lines on the outside face, first point not repeated

    @property
    def side_bevels(self) -> np.ndarray:
        """Bevel of every side of the outline (N,), in degrees."""
        count = len(self.outline)
        bevels = np.zeros(count)
        for run in self.runs:
            sides = np.arange(run.start, run.stop)
            share = (sides - run.start + 0.5) / max(len(sides), 1)
            bevels[sides % count] = np.interp(share, np.linspace(0.0, 1.0, len(run.bevel)), run.bevel)
        return bevels

    def faces(self, thickness: float) -> tuple[np.ndarray, np.ndarray]:
        """The outlines (N, 2) of the inside and the outside face of foam that thick: a bevel makes the one smaller on which it
        is positive, or the other where it is negative; each side moves by its own."""
        draw = thickness * np.tan(np.radians(self.side_bevels))
        return inset(self.outline, np.maximum(draw, 0.0)), inset(self.outline, np.maximum(-draw, 0.0))


@dataclass(frozen=True)
class Stretch:
    """A stretch of a band from one point of its curve to another, and how it is bent there: "flat", "round" (evenly
    from each point to the next) or "free"."""

    start: int
    stop: int
    bend: str


@dataclass(frozen=True)
class BandCorner:
    """A corner of a band: the foam is "scored" through to the skin on the outer side of the turn and folded, or
    "mitred" from two pieces."""

    at: int  # the point of its curve; 0 of a closed band that begins in a corner
    turn: float  # degrees, + where the outer face is on the outer side of the turn
    bevels: tuple[float, float]  # degrees from square of the foam that ends here and that begins here, + as `turn`
    made: str


@dataclass(frozen=True, eq=False)
class BandBody:
    """A strip bent around a curve; it bends only in the plane square to `across`, so it is developable.

    The curve is at the band's own zero offset; the foam fills from `inner_offset` to
    `inner_offset + thickness` along `normals`. `low` and `high` are the strip's edges along `across`,
    measured from the curve. `ahead` and `turned` are those of `Bent`, of a band that was made of legs.
    """

    curve: np.ndarray  # (N, 3); a closed band repeats its first point at the end
    normals: np.ndarray  # (N, 3) outward, from face to face for each mm of thickness: unit but beside a corner
    across: np.ndarray  # (3,) unit
    low: np.ndarray  # (N,)
    high: np.ndarray  # (N,)
    inner_offset: float
    closed: bool
    trim_start: float  # extra length left on purpose, trimmed to fit
    trim_end: float
    joins_low: tuple[str, ...]
    joins_high: tuple[str, ...]
    stretches: tuple[Stretch, ...] = ()  # from end to end; none: it bends freely all along
    corners: tuple[BandCorner, ...] = ()
    ahead: np.ndarray | None = None  # (N - 1, 2)
    turned: np.ndarray | None = None  # (N - 1, 2)

    @property
    def runs(self) -> tuple[Stretch, ...]:
        """Its stretches, at least one."""
        return self.stretches or (Stretch(0, len(self.curve) - 1, "free"),)


@dataclass(frozen=True, eq=False)
class RodBody:
    """A round bar from `start` to `end`: bought as it is, or laminated from strips and rounded."""

    start: np.ndarray  # (3,)
    end: np.ndarray  # (3,)
    diameter: float
    bought: bool

    @property
    def length(self) -> float:
        return float(np.linalg.norm(self.end - self.start))


@dataclass(frozen=True, eq=False)
class PanelEdge:
    """One edge of a panel between two corners, in counter-clockwise order seen from outside.

    A seam edge is cut square to the surface. A trim edge lies in the surface of what cut it, and a mitre, along a
    crease of the form, half way to the sheet across it, so that their inner and outer boundaries differ. Either is cut square
    in cloth, and a trim where it hardly leans.
    """

    id: str  # the cut's id, with a number if the cut makes several edges of this panel
    cut: str
    kind: str  # "seam", "trim", "mitre", or "tip" where a cone ends
    loop: int  # 0 the outer boundary, 1.. holes
    chart: np.ndarray  # (N, 2) in the chart, both corners included
    points: np.ndarray  # (N, 3) on the neutral surface
    slope: np.ndarray  # (N,) degrees from square at each point; positive where the inside face is the smaller one
    inner: np.ndarray  # (N, 3) on the inner face
    outer: np.ndarray  # (N, 3) on the outer face
    coords: np.ndarray  # (N, k) surface coordinates of `points`
    on_form: np.ndarray  # (N, 3) on the form itself: the same for both sides of a seam, whatever their thickness
    # (N, 2) along the edge and outwards, in mm on the neutral surface: from `points` to the feet of `inner`, of `outer`
    inner_shift: np.ndarray
    outer_shift: np.ndarray
    normals: np.ndarray  # (N, 3) unit, outward, at `points`
    joins: tuple[str, ...] = ()  # ids of the parts whose edge meets this one

    @property
    def bevel(self) -> tuple[float, ...]:
        """Degrees at equal distances along the edge; (0.0,) for square."""
        return bevels(self.slope)

    @property
    def upright(self) -> bool:
        """Is it cut square to the surface, so that where it ends follows from what slants beside it?"""
        return self.kind == "seam" or (self.kind != "tip" and not self.slope.any())


@dataclass(frozen=True, eq=False)
class DartRequest:
    """A dart at a stated place: from the point at share `at` of the edge, `depth` mm inwards."""

    edge: str
    at: float
    depth: float


@dataclass(frozen=True)
class DartRules:
    """What the design leaves to the search for darts, and what it pins."""

    edges: tuple[str, ...] = ()  # the only edges that darts may start from; empty: any
    avoid: tuple[str, ...] = ()  # edges that they may not start from
    count: int = 0  # darts in a row; 0: as many as it takes
    at: tuple[float, ...] = ()  # their places along the edge; empty: wherever they do most
    along: tuple[str, ...] = ()  # cuts of the form whose lines the darts follow, as beneath a cover


@dataclass(frozen=True, eq=False)
class Chart:
    """A rough flat map of a panel's region of its form: injective, near true length, any fine mesh is made in it.

    `flat` (n, 2) positions in the chart; `coords` (n, 2) surface coordinates at the same vertices; `faces` (m, 3).
    """

    flat: np.ndarray
    coords: np.ndarray
    faces: np.ndarray


@dataclass(frozen=True, eq=False)
class PanelBody:
    """A part cut from a curved form; it fills from `inner_offset` to `inner_offset + thickness` along the normal."""

    form: str  # id of the form
    surface: Surface
    chart: Chart
    edges: tuple[PanelEdge, ...]  # loop 0 first, each loop in counter-clockwise order of the chart
    inner_offset: float
    darts: tuple[DartRequest, ...]
    automatic: DartRules | None  # None: only the darts that are stated
    forward: np.ndarray  # (3,) unit, "forward" of the template
    up: np.ndarray  # (3,) unit
    guides: tuple[np.ndarray, ...] = ()  # (K, 2) lines in the chart, edge to edge, that darts may follow

    @cached_property
    def plane(self) -> Frame | None:
        """The frame of the plane that the panel's form is there, z outwards; None where it is curved."""
        normals = self.surface.normal(self.chart.coords)
        across = normals.mean(axis=0)
        if np.linalg.norm(across) < 0.5:
            return None
        across /= np.linalg.norm(across)
        points = self.surface.point(self.chart.coords)
        origin = points.mean(axis=0)
        if np.abs((points - origin) @ across).max() > _PLANE or (normals @ across).min() < 1.0 - _PLANE:
            return None
        x = points[np.argmax(np.linalg.norm(points - origin, axis=1))] - origin
        x -= (x @ across) * across
        x /= np.linalg.norm(x)
        return Frame(origin, np.column_stack([x, np.cross(across, x), across]))


Body = FlatBody | BandBody | PanelBody | RodBody
# A piece whose body is not looked at, or looked at first, is just a Piece; Piece[PanelBody] is a panel.
BodyT = TypeVar("BodyT", bound=Body, covariant=True)


@dataclass(frozen=True, eq=False)
class Piece(Generic[BodyT]):
    """One part kind of the prop: its shape once, and the place of every copy."""

    id: str
    label: str
    name: str
    kind: str
    stock: Stock
    body: BodyT
    placements: tuple[Placement, ...]
    layers: int  # laminated from so many sheets; quantity = placements x layers
    lies_on: tuple[str, ...]  # ids of parts it is glued face to face on
    after: tuple[str, ...]  # ids of parts that must be in place first
    glue: str  # "contact", "instant", or "none" for a loose part
    notes: tuple[str | Saying, ...]  # the design's own words, or those of its kind; then those of what is made for it
    loose: int = 0  # copies that stand nowhere in the prop: strips, spacers, masks
    edge_finish: EdgeFinish | None = None
    gap: float | None = None  # even gap between the copies of a row along a curve, for its spacer
    rests_on: tuple[str, ...] = ()  # ids of parts that it stands on or sits in without glue
    hangs_from: tuple[str, ...] = ()  # ids of parts that it hangs from without glue
    beside: tuple[str, ...] = ()  # ids of parts that it only comes near: neither glued to them nor resting there
    padding: float = 0.0  # mm of felt or the like between it and those
    paint: str = ""  # base colour in words
    left_as_it_is: bool = False  # neither heated nor painted
    piece_of: str = ""  # a thing that it and other parts make up, by their names
    own_mirror: tuple[float, float, float] | None = None  # normal of a plane in which it is its own mirror image

    @property
    def carried_by(self) -> tuple[str, ...]:
        """Ids of the parts that bear it without glue: those that it rests on and those that it hangs from."""
        return (*self.rests_on, *self.hangs_from)

    @property
    def note(self) -> str:
        """What a maker is told of it, for whoever reads."""
        return " ".join(filter(None, map(str, self.notes)))

    @property
    def quantity(self) -> int:
        return (len(self.placements) + self.loose) * self.layers

    @property
    def thickness(self) -> float:
        """In mm, as glued up from its layers."""
        return self.stock.thickness * self.layers

    @property
    def listed_only(self) -> bool:
        """A plain strip or a bought bar: measured off by its length, so it has no template."""
        return kind(self.kind).listed_only(self)

    @property
    def bought(self) -> bool:
        """A bar that is bought round: nothing of it is cut from a sheet."""
        return isinstance(self.body, RodBody) and self.body.bought

    @property
    def mirrored(self) -> int:
        return sum(p.mirrored for p in self.placements) * self.layers

    def closes_itself(self, one: str, other: str) -> bool:
        """Are these two edges of every copy (ids) glued to each other, and not each to the edge of another copy?"""
        if len(self.placements) < 2 or not isinstance(self.body, PanelBody) or one == other:
            return len(self.placements) < 2
        lines = [edge.on_form for name in (one, other) for edge in self.body.edges if edge.id == name]
        ends, middles = [line[[0, -1]] for line in lines], [line[len(line) // 2] for line in lines]
        off = min(float(np.abs(ends[0] - ends[1][::step]).max()) for step in (1, -1))
        beside = float(np.linalg.norm(lines[1] - middles[0], axis=1).min())
        return off < _ONE_LINE and beside < _ONE_LINE + float(np.linalg.norm(np.diff(lines[1], axis=0), axis=1).max())

    @property
    def is_pair(self) -> bool:
        """Is it cut twice, once as drawn and once mirrored?"""
        one_mirrored = sorted(place.mirrored for place in self.placements) == [False, True]
        return one_mirrored and not self.either_hand

    @property
    def either_hand(self) -> bool:
        """Is a piece that is cut as drawn, turned over or round, the mirrored one too?"""
        return self.own_mirror is not None

    def turn_as_cut(self, matrix: np.ndarray) -> np.ndarray:
        """How a piece that is cut as drawn is turned (3, 3) into a place `matrix` (4, 4): into a mirrored one it goes turned
        over or round if it is its own mirror image, which then is a rotation."""
        turn = matrix[:3, :3]
        if self.own_mirror is None or np.linalg.det(turn) > 0.0:
            return turn
        normal = np.array(self.own_mirror)
        return turn @ (np.eye(3) - 2.0 * np.outer(normal, normal))

    def off_face(self, matrix: np.ndarray) -> np.ndarray:
        """The way (3,) that the frame of a flat piece, cut as drawn, looks in a place `matrix` (4, 4)."""
        assert isinstance(self.body, FlatBody)
        return self.turn_as_cut(matrix) @ self.body.frame.axes[:, 2]

    @property
    def cut_mirrored(self) -> int:
        """How many are cut from the template turned over: none where a piece as drawn serves for both hands."""
        return 0 if self.either_hand else self.mirrored


@dataclass(frozen=True)
class EdgeRef:
    part: str
    edge: str


@dataclass(frozen=True)
class SeamSpec:
    """Two edges that are glued to each other all along: they come from one curve in space, or the faces along which they are cut
    lie on each other.

    `reversed_b` says that b runs the other way along the curve, and `both_ways` that some copies of it meet one way and
    some the other, as where copies turned around an axis meet a mirrored pair. A part may be glued to its own mirror
    image.
    """

    id: str
    a: EdgeRef
    b: EdgeRef
    reversed_b: bool
    glue: str
    copies: int = 0  # how often it is in the prop; 0: as the copies of its parts tell
    both_ways: bool = False
    # from which and to which share of either foam, 0 at its inside face, they touch
    touch_a: tuple[float, float] = (0.0, 1.0)
    touch_b: tuple[float, float] = (0.0, 1.0)


@dataclass(frozen=True)
class Lap:
    upper: str
    lower: str
    glue: str


@dataclass(frozen=True, eq=False)
class Prop:
    """The whole prop in place."""

    design: Design
    pieces: tuple[Piece, ...]
    seams: tuple[SeamSpec, ...]
    laps: tuple[Lap, ...]
    notes: tuple[str, ...] = ()  # what forms tell of themselves, and where parts are narrow

    def piece(self, part_id: str) -> Piece:
        return next(p for p in self.pieces if p.id == part_id)


def noteless(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """The pieces as their geometry has them, without the notes that makers read."""
    return tuple(replace(p, notes=(), stock=replace(p.stock, note="", price=None)) for p in pieces)


def unjoined(panel: Piece[PanelBody]) -> Piece[PanelBody]:
    """A panel as its own geometry has it, without notes and whatever its edges meet."""
    (bare,) = noteless([panel])
    edges = tuple(replace(edge, joins=()) for edge in panel.body.edges)
    return replace(bare, body=replace(panel.body, edges=edges), own_mirror=None)

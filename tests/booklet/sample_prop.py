"""A small submarine made by hand from records: every kind of part, with figures that can be checked on paper."""

from dataclasses import replace

import numpy as np

from foamwright.assembly.records import Picture, Pictures
from foamwright.design.records import Design, Parameter, PartSpec, Stock, Where
from foamwright.flatten.records import (
    NO_FITTINGS,
    Fittings,
    Pattern,
    PatternDart,
    PatternEdge,
    Patterns,
    Round,
    Seam,
    Strain,
)
from foamwright.geometry.drawn import drawing_frame
from foamwright.layout.records import PackInfo
from foamwright.parts.records import (
    BandBody,
    Chart,
    EdgeRef,
    EdgeRun,
    FlatBody,
    Frame,
    Lap,
    PanelBody,
    Piece,
    Placement,
    Prop,
    SeamSpec,
)

SHELL = Stock("shell", "EVA foam", 6.0, 0.5, 0.03, (600.0, 1200.0), 100.0, "#e8b23a", "")
STRUCTURE = Stock("structure", "EVA foam, firm", 10.0, 0.5, 0.03, (600.0, 1200.0), 120.0, "#7a8794", "")
SKIN = Stock("skin", "EVA foam, thin", 2.0, 0.5, 0.06, (500.0, 700.0), 100.0, "#b8452f", "")

NO_STRAIN = Strain(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
BENT = Strain(0.0213, 0.0151, 0.0062, 0.0213, 0.018, 0.05, 0.05)
NOWHERE = Where("sub.yaml", 1, 1)
FRAME = Frame(np.zeros(3), np.eye(3))
ONE = Placement(np.eye(4), False)
MIRROR_Y = Placement(np.diag([1.0, -1.0, 1.0, 1.0]), True)


def copies(count):
    shifts = [np.eye(4) for _ in range(count)]
    for i, matrix in enumerate(shifts):
        matrix[0, 3] = 40.0 * i
    return tuple(Placement(matrix, False) for matrix in shifts)


def rectangle(width, height):
    return np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])


def circle(radius, count=96):
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


def area_of(outline):
    x, y = outline.T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2.0)


def flat(outline, holes=(), radius=None, inner_radius=None):
    whole = EdgeRun("rim", 0, len(outline), (0.0,), ())
    return FlatBody(outline, tuple(holes), FRAME, (whole,), radius, inner_radius)


class Bent:
    """A surface of which the coordinates are places on it and the normals lean apart, as those of a bent part do."""

    def offset(self, coords, by):
        return np.column_stack([coords, np.full(len(coords), by)])

    def point(self, coords):
        return self.offset(coords, 0.0)

    def normal(self, coords):
        lean = np.linspace(-0.3, 0.3, len(coords))
        return np.column_stack([np.sin(lean), np.zeros(len(coords)), np.cos(lean)])


def panel():
    chart = Chart(np.zeros((3, 2)), np.zeros((3, 2)), np.array([[0, 1, 2]]))
    return PanelBody("form", Bent(), chart, (), 0.0, (), False, np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))


def band(length, width, trim_end=0.0):
    curve = np.column_stack([np.linspace(0, length, 9), np.zeros(9), np.zeros(9)])
    normals = np.tile([0.0, 1.0, 0.0], (9, 1))
    edge = np.full(9, width / 2.0)
    return BandBody(curve, normals, np.array([0, 0, 1.0]), -edge, edge, 0.0, False, 0.0, trim_end, (), ())


class Maker:
    """Collects pieces, patterns and seams in the order they are named."""

    def __init__(self):
        self.pieces, self.patterns, self.seams, self.specs, self.laps = [], [], [], [], []

    def add(
        self,
        id_,
        name,
        kind,
        stock,
        body,
        outline,
        *,
        placements=(ONE,),
        layers=1,
        lies_on=(),
        after=(),
        glue="contact",
        notes=(),
        edges=(),
        darts=(),
        holes=(),
        strain=NO_STRAIN,
        strip=None,
    ):
        label = chr(ord("A") + len(self.pieces)) if len(self.pieces) < 26 else f"A{chr(39 + len(self.pieces))}"
        piece = Piece(
            id_,
            label,
            name,
            kind,
            stock,
            body,
            tuple(placements),
            layers,
            tuple(lies_on),
            tuple(after),
            glue,
            notes,
        )
        area = area_of(outline) - sum(abs(area_of(hole)) for hole in holes)
        pattern = Pattern(
            piece,
            outline,
            tuple(holes),
            tuple(edges),
            tuple(darts),
            area,
            strain,
            stock.k * stock.thickness,
            None,
            (1.0, 0.0),
            (0.0, 1.0),
            strip,
            (),
            other_outline=outline,
            other_holes=tuple(holes),
            frame=drawing_frame(FRAME) if isinstance(body, FlatBody) else None,
            fittings=Fittings(Round((0.0, 0.0), body.radius, body.inner_radius))
            if getattr(body, "radius", None)
            else NO_FITTINGS,
        )
        self.pieces.append(piece)
        self.patterns.append(pattern)
        self.laps += [Lap(id_, lower, glue) for lower in lies_on]

    def seam(self, id_, a, edge_a, b, edge_b, length_a, length_b, glue="contact"):
        self.specs.append(SeamSpec(id_, EdgeRef(a, edge_a), EdgeRef(b, edge_b), True, glue))
        self.seams.append(Seam(id_, a, edge_a, b, edge_b, length_a, length_b, glue))

    def prop(self, steps=()):
        parts = tuple(PartSpec(p.id, p.label, p.name, p.kind, p.stock.id, {}, NOWHERE) for p in self.pieces)
        design = Design(
            "sub",
            "Pocket submarine",
            "1.2.0",
            "CC-BY-4.0",
            "A. Maker",
            "A round little submarine with an open cockpit, for a plush that sits in it and looks out over the lip.",
            "plush",
            "for a seated plush 250 mm tall",
            (Parameter("scale", 1.0, "", 0.25, 4.0, ""), Parameter("length", 520.0, "mm", None, None, "")),
            {s.id: s for s in (SHELL, STRUCTURE, SKIN)},
            {},
            parts,
            {"name": "seated plush", "solids": []},
            (),
            tuple(steps),
            "0" * 64,
            ".",
        )
        return Prop(design, tuple(self.pieces), tuple(self.specs), tuple(self.laps))


def edge(id_, start, end, joins=(), seam=None, bevel=(0.0,)):
    points = np.array([start, end], float)
    return PatternEdge(
        id_, points, float(np.linalg.norm(points[1] - points[0])), bevel, tuple(joins), seam, np.array([]), ()
    )


def panel_with_dart(width, height, depth=60.0, mouth=12.0):
    """A rectangle with one dart in its upper edge; the outline runs down one leg and up the other."""
    middle = width / 2.0
    left, tip, right = [middle - mouth / 2, height], [middle, height - depth], [middle + mouth / 2, height]
    outline = np.array([[0, 0], [width, 0], [width, height], right, tip, left, [0, height]], float)
    leg = float(np.hypot(mouth / 2.0, depth))
    dart = PatternDart(
        "upper", np.array([right, tip]), np.array([left, tip]), (leg, leg), mouth, depth, np.zeros((2, 3))
    )
    return outline, dart


def quarter(maker, id_, name, lower_neighbour, length):
    outline, dart = panel_with_dart(length, 120.0)
    edges = (
        edge("waist", [0, 0], [length, 0], (lower_neighbour,), "waist", (4.0, 6.5, 3.0)),
        edge("frame", [length, 0], [length, 120], (), None),
        edge("centre", [length, 120], [0, 120], (id_,), f"centre-{id_}"),
    )
    maker.add(
        id_,
        name,
        "panel",
        SHELL,
        panel(),
        outline,
        placements=(ONE, MIRROR_Y),
        edges=edges,
        darts=(dart,),
        strain=BENT,
    )


def submarine():
    maker = Maker()
    quarter(maker, "bow_upper", "Bow, upper", "bow_lower", 260.0)
    quarter(maker, "bow_lower", "Bow, lower", "bow_upper", 260.0)
    quarter(maker, "stern_upper", "Stern, upper", "stern_lower", 240.0)
    quarter(maker, "stern_lower", "Stern, lower", "stern_upper", 240.0)
    for end, length in (("bow", 260.0), ("stern", 240.0)):
        maker.seam(f"waist-{end}", f"{end}_upper", "waist", f"{end}_lower", "waist", length, length + 0.12)
    for half in ("upper", "lower"):
        maker.seam(f"frame-{half}", f"bow_{half}", "frame", f"stern_{half}", "frame", 120.0, 120.0)
    for id_, length in (
        ("bow_upper", 260.0),
        ("bow_lower", 260.0),
        ("stern_upper", 240.0),
        ("stern_lower", 240.0),
    ):
        maker.seam(f"centre-{id_}", id_, "centre", id_, "centre", length, length)

    deck = rectangle(400.0, 130.0)
    maker.add(
        "deck",
        "Deck",
        "bulkhead",
        STRUCTURE,
        flat(deck),
        deck,
        edges=(edge("rim", [0, 0], [400, 0], ("bow_lower", "stern_lower"), None, (8.0,)),),
    )
    frame = circle(70.0)
    maker.add(
        "frame",
        "Frame",
        "bulkhead",
        STRUCTURE,
        flat(frame, radius=70.0),
        frame,
        after=("deck",),
        edges=(edge("rim", [70, 0], [-70, 0], ("bow_lower", "deck")),),
    )
    maker.add(
        "lip",
        "Cockpit lip",
        "band",
        SHELL,
        band(520.0, 30.0, 10.0),
        rectangle(530.0, 30.0),
        lies_on=("bow_upper", "stern_upper"),
        strip=(530.0, 30.0),
    )
    maker.add(
        "hoop",
        "Hoop over the frame seam",
        "band",
        SKIN,
        band(440.0, 25.0, 8.0),
        rectangle(448.0, 25.0),
        lies_on=("bow_upper", "bow_lower", "stern_upper", "stern_lower"),
        strip=(448.0, 25.0),
    )
    brow = rectangle(180.0, 60.0)
    maker.add(
        "brow",
        "Brow",
        "panel",
        SKIN,
        panel(),
        brow,
        placements=(ONE, MIRROR_Y),
        lies_on=("bow_upper",),
        strain=replace(BENT, max=0.041),
    )
    fin = np.array([[0, 0], [90, 0], [60, 70], [10, 70]], float)
    maker.add(
        "fin",
        "Tail fin",
        "plate",
        STRUCTURE,
        flat(fin),
        fin,
        placements=copies(4),
        layers=2,
        after=("stern_upper",),
        edges=(edge("root", [0, 0], [90, 0], ("stern_upper", "stern_lower")),),
    )
    cleat = rectangle(24.0, 10.0)
    maker.add(
        "cleat",
        "Cleat",
        "plate",
        SHELL,
        flat(cleat),
        cleat,
        placements=copies(6),
        lies_on=("lip",),
        glue="instant",
        notes=("a gap of one cleat between neighbours",),
    )
    ring = circle(35.0)
    maker.add(
        "port_ring",
        "Porthole ring",
        "ring",
        SHELL,
        flat(ring, (circle(25.0),), 35.0, 25.0),
        ring,
        holes=(circle(25.0),),
        placements=(ONE, MIRROR_Y),
        lies_on=("bow_lower",),
        glue="instant",
    )
    disc = circle(25.0)
    maker.add(
        "port_glass",
        "Porthole disc",
        "disc",
        SKIN,
        flat(disc, radius=25.0),
        disc,
        placements=(ONE, MIRROR_Y),
        lies_on=("bow_lower",),
        after=("port_ring",),
        glue="instant",
    )
    return maker


def sample(steps=()):
    maker = submarine()
    prop = maker.prop(steps)
    return prop, Patterns(prop, tuple(maker.patterns), tuple(maker.seams))


INFO = PackInfo(
    name="Pocket submarine",
    version="1.2.0",
    size="plush",
    licence="CC-BY-4.0",
    size_note="for a seated plush 250 mm tall",
)


def pictures(steps):
    """Ellipses in place of views: what matters is that they keep their shape and stay in their frames."""
    hull = np.array([260.0, 90.0]) * circle(1.0)
    inner = np.array([120.0, 40.0]) * circle(1.0)
    whole = Picture((hull, inner), (), (-260.0, -90.0, 260.0, 90.0))
    tall = Picture((hull[:, ::-1], inner[:, ::-1]), (), (-90.0, -260.0, 90.0, 260.0))
    drawn = {
        step.number: Picture((hull,), (inner,), (-260.0, -90.0, 260.0, 90.0))
        for step in steps
        if step.glue and step.parts != tuple(steps[0].parts)
    }
    return Pictures((whole, tall), drawn, (520.0, 190.0, 184.0))

"""Small props built by hand, record by record, to draw templates of."""

import itertools
from pathlib import Path

import numpy as np

from foamwright.design.records import Design, Stock
from foamwright.flatten.records import (
    Fittings,
    FlatMesh,
    Pattern,
    PatternDart,
    PatternEdge,
    Patterns,
    PatternSlot,
    Round,
    Seam,
    Strain,
)
from foamwright.geometry import Mesh
from foamwright.geometry.drawn import drawing_frame, seen_from_inside
from foamwright.parts.records import (
    BandBody,
    EdgeRef,
    FlatBody,
    Frame,
    Lap,
    PanelBody,
    PanelEdge,
    Piece,
    Placement,
    Prop,
    SeamSpec,
)

STOCK = Stock("shell", "EVA foam 6 mm", 6.0, 0.5, 0.03, (600.0, 1200.0), 100.0, "#e8b23a", "")
NO_STRAIN = Strain(0, 0, 0, 0, 0, 0, 0)
HERE = Placement(np.eye(4), False)
FLAT = Frame(np.zeros(3), np.eye(3))


def moved(x=0.0, y=0.0, z=0.0):
    matrix = np.eye(4)
    matrix[:3, 3] = x, y, z
    return Placement(matrix, False)


def mirror_y():
    return Placement(np.diag([1.0, -1.0, 1.0, 1.0]), True)


def design():
    return Design(
        "sub",
        "Pocket submarine",
        "1.0.0",
        "CC-BY-4.0",
        "",
        "",
        "plush",
        "",
        (),
        {"shell": STOCK},
        {},
        (),
        None,
        (),
        (),
        "0" * 64,
        str(Path(".")),
    )


def piece(part_id, label, name, body, placements=(HERE,), layers=1, kind="plate"):
    return Piece(part_id, label, name, kind, STOCK, body, tuple(placements), layers, (), (), "contact", ())


def circle(radius, centre=(0.0, 0.0), count=96):
    a = np.arange(count) / count * 2 * np.pi
    return np.stack([centre[0] + radius * np.cos(a), centre[1] + radius * np.sin(a)], axis=1)


def polyline(*corners, step=3.0):
    """Through the corners, with points about `step` apart."""
    pieces = []
    for a, b in zip(np.asarray(corners, float)[:-1], np.asarray(corners, float)[1:]):
        n = max(int(np.hypot(*(b - a)) / step), 1)
        pieces.append(a + (b - a) * (np.arange(n) / n)[:, None])
    return np.concatenate([*pieces, np.asarray(corners[-1:], float)])


def edge(name, points, bevel=(0.0,), joins=(), seam=None, tick_every=None):
    length = float(np.hypot(*np.diff(points, axis=0).T).sum())
    ticks = np.arange(1, int(length // tick_every) + 1) * tick_every if tick_every else np.zeros(0)
    ticks = ticks[ticks < length - 2]
    middle = None if seam is None else length / 2
    return PatternEdge(name, points, length, bevel, joins, seam, ticks, tuple(range(1, len(ticks) + 1)), middle)


def fittings(body, frame):
    """What a flat part carries, as the pattern has it."""

    def at(point):
        return tuple(frame.to_frame(body.frame.to_space(np.array([point])))[0, :2].tolist())

    circle = None if body.radius is None else Round(at(body.centre), body.radius, body.inner_radius)
    slots = tuple(PatternSlot(at(slot.at), slot.part, tuple(map(at, slot.corners))) for slot in body.slots)
    return Fittings(circle, tuple(map(seen_from_inside, body.engraving)), tuple(map(at, body.pins)), slots)


def pattern(a_piece, outline, holes=(), edges=(), darts=(), **more):
    square = {"other_outline": outline, "other_holes": tuple(holes)}
    if isinstance(a_piece.body, FlatBody):
        square["frame"] = drawing_frame(a_piece.body.frame)
        square["fittings"] = fittings(a_piece.body, square["frame"])
    given = {"mesh": None, "forward": (1.0, 0.0), "up": None, "strip": None, "warnings": (), **square} | more
    return Pattern(a_piece, outline, tuple(holes), tuple(edges), tuple(darts), 0.0, NO_STRAIN, 3.0, **given)


def flat_body(outline, holes=(), frame=FLAT, **more):
    return FlatBody(outline, tuple(holes), frame, (), **more)


def patterns(many, seams=(), laps=()):
    specs = tuple(
        SeamSpec(s.id, EdgeRef(s.part_a, s.edge_a), EdgeRef(s.part_b, s.edge_b), False, s.glue) for s in seams
    )
    prop = Prop(design(), tuple(p.piece for p in many), specs, tuple(Lap(u, low, "contact") for u, low in laps))
    return Patterns(prop, tuple(many), tuple(seams))


def disc(radius=25.0, part_id="disc", label="D", name="Porthole glass", **more):
    outline = circle(radius)
    return pattern(
        piece(part_id, label, name, flat_body(outline, radius=radius), kind="disc", **more),
        outline,
        edges=[edge("rim", np.concatenate([outline, outline[:1]]))],
    )


def ring(outer=30.0, inner=22.0):
    outline, hole = circle(outer), circle(inner)
    body = flat_body(outline, [hole], radius=outer, inner_radius=inner)
    rim = edge("rim", np.concatenate([outline, outline[:1]]))
    bore = edge("bore", np.concatenate([hole, hole[:1]]), bevel=(20.0,))
    places = [HERE, moved(80), mirror_y()]
    return pattern(piece("ring", "E", "Porthole ring", body, places, kind="ring"), outline, [hole], [rim, bore])


def strip(length=700.0, width=30.0, trim=10.0):
    curve = np.column_stack([np.linspace(0, length, 50), np.zeros(50), np.zeros(50)])
    body = BandBody(
        curve,
        np.tile([0.0, 0.0, 1.0], (50, 1)),
        np.array([0.0, 1.0, 0.0]),
        np.full(50, -width / 2),
        np.full(50, width / 2),
        0.0,
        False,
        0.0,
        trim,
        ("hull",),
        (),
    )
    x0, x1, w = -length - trim, 0.0, width / 2  # seen from the inside the band runs to the left
    outline = np.array([[x0, -w], [x1, -w], [x1, w], [x0, w]])
    low = edge("low", polyline((x0, -w), (x1, -w)), joins=("hull",), tick_every=100)
    high = edge("high", polyline((x1, w), (x0, w)))
    return pattern(
        piece("lip", "F", "Cockpit lip", body, kind="band"),
        outline,
        edges=[low, high],
        strip=(x1 - x0, width),
    )


def triangle(side=14.0):
    outline = np.array([[0, 0], [side, 0], [side / 2, side * 0.8]])
    corners = [*outline, outline[0]]
    names = ("root", "leading", "trailing")
    edges = [edge(n, polyline(a, b), (15.0,), ("hull",), None, 6.0) for n, a, b in zip(names, corners, corners[1:])]
    return pattern(
        piece("gusset", "G", "Gusset", flat_body(outline), [HERE, mirror_y()]),
        outline,
        edges=edges,
        up=(0.6, 0.8),
    )


def bulkhead():
    outline = circle(60.0) * (1.0, 0.7)
    hole = circle(12.0, (30.0, 0.0), 48)
    places = [HERE, mirror_y()]
    body = flat_body(outline, [hole])
    rim = edge("rim", np.concatenate([outline, outline[:1]]), (8.0, 12.0, 18.0, 12.0, 8.0), ("hull",), None, 40)
    return pattern(piece("deck", "C", "Deck", body, places, layers=2), outline, [hole], [rim], up=(0.0, 1.0))


def cylinder_mesh(radius, sweep, length, step=3.0):
    """A cylinder about x in facets of `step` degrees, with its exact development, seen from inside."""
    a = np.linspace(0, np.radians(sweep), round(sweep / step) + 1)
    x = np.linspace(0, length, int(length / (radius * np.radians(step))) + 1)
    angle, along = (grid.ravel() for grid in np.meshgrid(a, x, indexing="ij"))
    space = np.column_stack([along, radius * np.cos(angle), radius * np.sin(angle)])
    flat = np.column_stack([along, radius * angle])
    rows = np.arange(len(a) * len(x)).reshape(len(a), len(x))
    p, q, r, s = rows[:-1, :-1].ravel(), rows[:-1, 1:].ravel(), rows[1:, 1:].ravel(), rows[1:, :-1].ravel()
    faces = np.concatenate([np.stack([p, q, r], 1), np.stack([p, r, s], 1)])
    return FlatMesh(flat, Mesh(space, faces), np.zeros((len(space), 2)))


def panel_edges(radius_in, radius_out, sweep, length):
    """The four edges of a panel on a cylinder about x, counter-clockwise seen from outside."""
    half = np.radians(sweep)
    corners = [(0, 0), (0, half), (length, half), (length, 0), (0, 0)]
    made = []
    for name, a, b in zip(("stern", "top", "bow", "keel"), corners, corners[1:]):
        chart = np.asarray(a) + np.linspace(0, 1, 60)[:, None] * (np.asarray(b, float) - a)
        inner, outer, mid = (
            np.column_stack([chart[:, 0], r * np.cos(chart[:, 1]), r * np.sin(chart[:, 1])])
            for r in (radius_in, radius_out, (radius_in + radius_out) / 2)
        )
        made.append(
            PanelEdge(
                name,
                name,
                "seam",
                0,
                chart,
                mid,
                np.zeros(len(chart)),
                inner,
                outer,
                chart,
                mid,
                *np.zeros((2, len(chart), 2)),
                np.zeros((len(chart), 3)),
            )
        )
    return tuple(made)


def cylinder_panel(part_id="shell", label="A", radius_in=97.0, sweep=80.0, length=150.0, placements=(HERE,)):
    edges_3d = panel_edges(radius_in, radius_in + 6.0, sweep, length)
    body = PanelBody("form", None, None, edges_3d, 0.0, (), False, np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))
    mesh = cylinder_mesh(radius_in + 3.0, sweep, length)
    height = (radius_in + 3.0) * np.radians(sweep)
    corners = [(0, 0), (length, 0), (length, height), (0, height), (0, 0)]
    outline = np.concatenate([polyline(a, b)[:-1] for a, b in itertools.pairwise(corners)])
    edges = [edge(n, polyline(a, b)) for n, a, b in zip(("keel", "bow", "top", "stern"), corners, corners[1:])]
    return pattern(
        piece(part_id, label, "Shell", body, placements, kind="panel"),
        outline,
        edges=edges,
        mesh=mesh,
        up=(0.0, 1.0),
    )


def darted_panel():
    """An ovoid half panel, 420 x 155, with two darts on its lower edge, as flattened by hand."""
    t = np.linspace(0, np.pi, 121)
    top = np.column_stack([210 * np.cos(t), 110 * np.sin(t) ** 0.8])

    def base(x):
        return -45 * (1 - (x / 210) ** 2)

    darts, lower, outline, mouths = [], [[-210.0, 0.0]], [[-210.0, 0.0]], []
    for x in (-80.0, 90.0):
        a, b, tip = (np.array([u, v]) for u, v in ((x - 7, base(x - 7)), (x + 7, base(x + 7)), (x, base(x) + 55)))
        xs = np.linspace(lower[-1][0], a[0], 40)[1:]
        smooth = np.column_stack([xs, base(xs)]).tolist()
        lower += [*smooth, b.tolist()]
        outline += [*smooth, tip.tolist(), b.tolist()]
        mouths.append(len(lower) - 2)
        leg = float(np.hypot(*(tip - a)))
        darts.append(
            PatternDart("waist", np.array([a, tip]), np.array([b, tip]), (leg, leg), 14.0, 55.0, np.zeros((2, 3)))
        )
    xs = np.linspace(lower[-1][0], 210, 40)[1:]
    smooth = np.column_stack([xs, base(xs)]).tolist()
    lower, outline = np.array(lower + smooth), np.array(outline + smooth)
    outline = np.concatenate([outline[:-1], top[:-1]])
    steps = np.hypot(*np.diff(lower, axis=0).T)
    distance = np.concatenate([[0.0], np.cumsum(steps)])
    steps[mouths] = 0.0
    closed = np.concatenate([[0.0], np.cumsum(steps)])
    ticks, middle = (np.interp(share * closed[-1], closed, distance) for share in (np.arange(1, 9) / 9, 0.5))
    length, bevel = float(closed[-1]), (3.0, 8.0, 14.0, 9.0, 2.0)
    waist = PatternEdge(
        "waist",
        lower,
        length,
        bevel,
        ("hull",),
        "waist_seam",
        ticks,
        tuple(range(1, 9)),
        float(middle),
        tuple(mouths),
    )
    keel = edge("keel", top, (0.0,), ("bow",), "keel_seam", 50)
    body = PanelBody("form", None, None, (), 0.0, (), False, np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))
    places = [HERE, mirror_y()]
    bow = piece("bow", "B", "Bow, upper", body, places, kind="panel")
    return pattern(bow, outline, edges=[waist, keel], darts=darts, up=(0.0, 1.0))


def submarine():
    """All of the above as one prop: seams between panel and hull, a disc and a ring glued on the deck."""
    hull = cylinder_panel("hull", "A")
    seams = (
        Seam("waist_seam", "bow", "waist", "hull", "top", 400.0, 400.0, "contact"),
        Seam("keel_seam", "bow", "keel", "bow", "keel", 500.0, 500.0, "contact"),
    )
    lid = disc(14.0, "lid", "H", "Lid", placements=[moved(-25, 8, 12), moved(90, 0, 12)])
    many = (hull, darted_panel(), bulkhead(), disc(), ring(), strip(), triangle(), lid)
    return patterns(many, seams, (("lid", "deck"),))

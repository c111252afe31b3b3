"""Small odd props, each with lengths, circles, bevels and areas that a formula gives and those that its record has.

The formulas are those of sheet-metal development (parallel lines, radial lines), of mitres, of parallel curves and of the
ellipse, as handbooks have them; written from memory, no page is cited. Each prop is told at a scale s: the form grows
with it, the foam does not.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import acos, asin, atan, atan2, cos, degrees, hypot, pi, radians, sin, sqrt, tan
from pathlib import Path

import numpy as np
import shapely
from scipy.integrate import quad
from scipy.special import ellipe

from foamwright import load
from foamwright.making import build

HEAD = """\
format: 1
name: Odd
version: 1.0.0
licence: CC0-1.0
units: mm
parameters: {scale: {value: 1}, clearance: {value: 0 mm}, s: {value: scale}}
sizes: {one: {}}
stock:
  thin: {name: Foam 2 mm, thickness: 2 mm, sheet: [3000, 6000]}
  foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [3000, 6000]}
  thick: {name: Foam 10 mm, thickness: 10 mm, sheet: [3000, 6000]}
"""
SCALES = (1.0, 0.3, 3.0)

Row = tuple[str, float, float]  # what, true, written; mm, degrees or mm2


_LINE = 2e-3  # mm, half the width that lines are given to part the foam: they end a hair's breadth before its edge


class Record:
    """What is written of a prop: its record, read as a stranger would."""

    def __init__(self, record: dict):
        self.record = record

    def part(self, name: str) -> dict:
        return next(part for part in self.record["parts"] if part["id"] == name)

    def length(self, part: str, edge: str) -> float:
        return self.edge(part, edge)["length"]

    def edge(self, part: str, edge: str) -> dict:
        return next(e for e in self.part(part)["edges"] if e["id"] == edge)

    def bevels(self, part: str, edge: str) -> tuple[float, float]:
        """The least and the greatest bevel of an edge."""
        bevel = self.edge(part, edge)["bevel"]
        values = bevel if isinstance(bevel, list) else [bevel]
        return min(values), max(values)

    def chord(self, part: str, edge: str) -> float:
        """Between the ends of an edge on the drawn line."""
        a, b = self.edge(part, edge)["ends"]
        return hypot(b[0] - a[0], b[1] - a[1])

    def extent(self, part: str, line: str = "outline") -> tuple[float, float]:
        """Width and height of the line of one face."""
        width, height = np.ptp(np.asarray(self.part(part)[line]), axis=0)
        return float(width), float(height)

    def marked(self, part: str, other: str) -> list[float]:
        """mm2 within each placement line on a part of what is another's, in the order of the record."""
        foam, areas = shapely.Polygon(self.part(part)["outline"]), []
        for mark in self.record["marks"]:
            if (mark["on"], mark["part"]) == (part, other):
                lines = shapely.union_all([shapely.LineString(line) for line in mark["lines"]])
                fields = shapely.get_parts(foam - lines.buffer(_LINE, cap_style="square"))
                areas.append(sum(sorted(field.area for field in fields)[:-1]) + _LINE * lines.length)
        return areas

    def lined(self, part: str, other: str) -> list[float]:
        """mm2 within each closed line that is drawn on a part for another."""
        marks = [mark for mark in self.record["marks"] if (mark["on"], mark["part"]) == (part, other)]
        return [shapely.Polygon(line).area for mark in marks for line in mark["lines"]]

    def overhang(self, part: str) -> float:
        """How far a part stands out at most beyond what it is glued to."""
        contacts = [c for c in self.record["contacts"] if "hangs" in c and c[c["hangs"]]["part"] == part]
        return max((contact["overhang"] for contact in contacts), default=0.0)

    def all_bevels(self, kind: str) -> list[float]:
        """Every bevel of the parts whose name begins so, the least first."""
        edges = [edge for part in self.record["parts"] if part["id"].startswith(kind) for edge in part["edges"]]
        return sorted(b for e in edges for b in (e["bevel"] if isinstance(e["bevel"], list) else [e["bevel"]]))

    def areas(self, kind: str, line: str) -> list[float]:
        """mm2 within the line of one face of the parts whose name begins so, the least first."""
        return sorted(shapely.Polygon(p[line]).area for p in self.record["parts"] if p["id"].startswith(kind))

    def segments(self, part: str, line: str) -> list[float]:
        return sorted(float(np.ptp(np.asarray(p[line])[:, 0])) for p in self.part(part)["split"]["segments"])


@dataclass(frozen=True)
class Prop:
    """`curved`: it has panels, which take seconds to be laid flat. `code` makes the solid that it is built from."""

    name: str
    text: str
    rows: Callable[[Record, float], Iterator[Row]]
    scales: tuple[float, ...]
    code: str = ""

    @property
    def curved(self) -> bool:
        return "kind: panel" in self.text


PROPS: dict[str, Prop] = {}


def prop(text: str, scales: tuple[float, ...] = SCALES, code: str = ""):
    def add(rows: Callable[[Record, float], Iterator[Row]]):
        name = rows.__name__.replace("_", " ")
        PROPS[name] = Prop(name, text, rows, scales, code)
        return rows

    return add


def record_of(prop: Prop, scale: float, folder: Path, prove: bool = False) -> Record:
    path = folder / "odd.yaml"
    path.write_text(HEAD.replace("scale: {value: 1}", f"scale: {{value: {scale}}}") + prop.text, "utf-8")
    (folder / "odd.py").write_text(prop.code, "utf-8")
    made = build(load(path), only=("template_files",), prove=prove, run_own_code=bool(prop.code))
    return Record(json.loads(made.files["pack.json"]))


# prisms and boxes


@prop("""\
forms: {}
parts:
  box: {kind: prism, stock: thick, sides: 6, width: 200 * s, height: 80 * s, floor: mitred, roof: mitred}
""")
def hexagonal_box_in_10_mm(got, s):
    flats, high = 200 * s, 80 * s
    inner = flats - 20
    yield "side, drawn", inner * tan(pi / 6), got.extent("box_side")[0]
    yield "side, other face", flats * tan(pi / 6), got.extent("box_side", "other_outline")[0]
    yield "side height, drawn", high - 20, got.extent("box_side")[1]
    yield "side height, other face", high, got.extent("box_side", "other_outline")[1]
    yield "bevel between sides", 30.0, got.bevels("box_side", "left")[0]
    yield "bevel at the floor", 45.0, got.bevels("box_side", "foot")[0]
    yield "floor across flats, drawn", inner, min(got.extent("box_floor"))
    yield "floor across flats, other face", flats, min(got.extent("box_floor", "other_outline"))


@prop("""\
forms: {}
parts:
  tower: {kind: prism, stock: foam, sides: 5, width: 120 * s, top_width: 80 * s, height: 90 * s, floor: inside,
    openings: [{rectangle: {width: 40 * s, height: 20 * s, centre: [0, -28 * s]}},
               {circle: {radius: 8 * s, centre: [0, 25 * s]}}]}
""")
def frustum_with_windows(got, s):
    lean = atan(20 / 90)
    turn = acos(cos(lean) ** 2 * cos(2 * pi / 5) + sin(lean) ** 2)
    yield "foot, other face", 120 * s * tan(pi / 5), got.extent("tower_side", "other_outline")[0]
    yield "foot, drawn", (120 * s - 12 / cos(lean)) * tan(pi / 5), got.chord("tower_side", "foot")
    yield "head, drawn", (80 * s - 12 / cos(lean)) * tan(pi / 5), got.chord("tower_side", "head")
    yield "slant height", hypot(90 * s, 20 * s), got.extent("tower_side")[1]
    yield "bevel between sides", degrees(turn / 2), got.bevels("tower_side", "left")[0]
    yield "bevel at the foot", degrees(lean), got.bevels("tower_side", "foot")[0]
    drawn = (120 * s - 12 / cos(lean) - 12 * tan(lean)) * tan(pi / 5)  # its other face stands at the foot
    yield "side of the floor, drawn", drawn, got.length("tower_floor", "side_1")
    yield "rim of the square window", 120 * s, got.length("tower_side", "hole_1")
    yield "rim of the round window", 16 * pi * s, got.length("tower_side", "hole_2")


@prop("""\
forms: {}
parts:
  box: {kind: box, stock: foam, size: [160 * s, 110 * s, 70 * s], joint: mitred, without: [top]}
""")
def mitred_box_without_a_lid(got, s):
    yield "bottom, drawn", 160 * s - 12, max(got.extent("box_bottom"))
    yield "bottom, other face", 160 * s, max(got.extent("box_bottom", "other_outline"))
    yield "wall height, drawn", 70 * s - 6, min(got.extent("box_front_back"))
    yield "wall height, other face", 70 * s, min(got.extent("box_front_back", "other_outline"))
    yield "bevel", 45.0, max(abs(b) for e in got.part("box_bottom")["edges"] for b in [e["bevel"]])


# bands


RECTANGLE = """\
forms: {}
parts:
  plate: {kind: plate, stock: foam, outline: OUTLINE, at: {normal: z}}
  band: {kind: band, stock: foam, along: {outline: OUTLINE, at: {normal: z}}, from: 0, to: 12, MORE}
"""


def band(outline: str, more: str = "") -> str:
    return RECTANGLE.replace("OUTLINE", outline).replace(", MORE", f", {more}" if more else "")


@prop(band("{rectangle: {width: 120 * s, height: 80 * s}}", "corners: mitred"))
def band_mitred_around_a_rectangle(got, s):
    for number, side in enumerate((80 * s, 80 * s, 120 * s, 120 * s)):
        yield f"piece {number + 1}, drawn", side, got.segments("band", "outline")[number]
        yield f"piece {number + 1}, other face", side + 12, got.segments("band", "other_outline")[number]


@prop(band("{rectangle: {width: 120 * s, height: 80 * s}}", "corners: scored"))
def band_scored_around_a_rectangle(got, s):
    yield "length of the skin", 400 * s + 48, got.extent("band", "other_outline")[0]
    yield "length of the inner face", 400 * s + 48 - 12, got.extent("band")[0]
    folds = sorted(fold["at"] for fold in got.part("band")["folds"])
    yield "from fold to fold", 120 * s + 12, max(np.diff(folds))
    yield "turn at a fold", 90.0, got.part("band")["folds"][0]["turn"]


@prop(band("{rectangle: {width: 120 * s, height: 80 * s, corner: 12 * s}}"))
def band_around_round_corners(got, s):
    yield "length", 304 * s + 2 * pi * (12 * s + 3), got.part("band")["strip"]["length"]
    yield "rim of the plate", 304 * s + 24 * pi * s, got.length("plate", "rim")


@prop(band("{slot: {length: 140 * s, width: 60 * s}}"))
def hoop_around_a_slot(got, s):
    yield "length", 160 * s + 2 * pi * (30 * s + 3), got.part("band")["strip"]["length"]


@prop(
    band(
        "{polygon: {points: [[0, 0], [120 * s, 0], [120 * s, 60 * s], [60 * s, 60 * s], [60 * s, 120 * s], "
        "[0, 120 * s]]}}",
        "corners: scored",
    )
)
def band_scored_around_an_ell(got, s):
    # five corners turn out and keep the outer skin, one turns in and keeps the inner one
    skin = (2 * (120 * s + 12)) + 2 * (60 * s + 12) + 2 * (60 * s + 6)
    yield "length of the skin", skin, got.extent("band", "other_outline")[0]
    yield "turn of the hollow fold", -90.0, min(fold["turn"] for fold in got.part("band")["folds"])


@prop("""\
forms: {}
parts:
  band: {kind: band, stock: foam, from: 0, to: 20, corners: mitred, along: {at: {normal: z}, outline: {path: {
    from: [0, 0], steps: [[90 * s, 0], {to: [90 * s, 60 * s], through: [120 * s, 30 * s]}, [0, 60 * s]]}}}}
""")
def band_mitred_around_a_path(got, s):
    # round the half circle goes the longest piece: two legs and the neutral line of the arc
    round_piece = 180 * s + pi * (30 * s + 3)
    for line, more in (("outline", 0.0), ("other_outline", 12.0)):
        pieces = got.segments("band", line)
        yield f"straight piece, {line}", 60 * s + more, pieces[0]
        yield f"round piece, {line}", round_piece + more, pieces[-1]


@prop("""\
forms: {}
parts:
  band: {kind: band, stock: thick, from: 0, to: 20, corners: mitred, along: {at: {normal: z}, outline: {path: {
    from: [0, 0], steps: [[100 * s, 0], {to: [100 * s, 50 * s], through: [125 * s, 25 * s]}, [40 * s, 90 * s], [0, 50 * s]]}}}}
""")
def band_mitred_where_an_arc_turns_inwards(got, s):
    """In the hollow corner both faces end where their parallels cross; bent foam keeps the length of its middle."""
    radius, off = 25 * s, acos(3 / sqrt(13))
    for line, h in (("outline", 0.0), ("other_outline", 10.0)):
        short = off - acos((radius * cos(off) + h) / (radius + h))
        yield f"round piece, {line}", 100 * s + h + (pi - short) * (radius + 5), got.segments("band", line)[-1]


@prop("""\
forms: {}
parts:
  frame: {kind: plate, stock: foam, outline: {rectangle: {width: 160 * s, height: 120 * s}},
    minus: [{rectangle: {width: 120 * s, height: 80 * s}}], at: {normal: z}}
  band: {kind: band, stock: thick, along: {outline: {rectangle: {width: 120 * s, height: 80 * s}}, at: {normal: z}},
    from: 0, to: 12, corners: mitred, laid: inside}
""")
def band_mitred_inside_a_rectangle(got, s):
    for number, side in enumerate((80 * s, 80 * s, 120 * s, 120 * s)):
        yield f"piece {number + 1}, drawn", side - 20, got.segments("band", "outline")[number]
        yield f"piece {number + 1}, other face", side, got.segments("band", "other_outline")[number]


TRIANGLE = ((0.0, 0.0), (100.0, 0.0), (30.0, 70.0))


def _turns(corners) -> list[float]:
    """Half the turn at each corner of a convex polygon, counter-clockwise, in radians."""
    found = []
    for before, at, after in zip(corners[-1:] + corners[:-1], corners, corners[1:] + corners[:1]):
        inner = atan2(before[1] - at[1], before[0] - at[0]) - atan2(after[1] - at[1], after[0] - at[0])
        found.append((pi - inner % (2 * pi)) / 2)
    return found


@prop(band("{polygon: {points: [[0, 0], [100 * s, 0], [30 * s, 70 * s]]}}", "corners: mitred"))
def band_mitred_around_a_triangle(got, s):
    """Each face is longer than the inner one by the thickness times the tangents of half the turns at its ends."""
    mitres = [6 * tan(turn) for turn in _turns(TRIANGLE)]
    pairs = list(zip(TRIANGLE, TRIANGLE[1:] + TRIANGLE[:1], mitres, mitres[1:] + mitres[:1]))
    sides = sorted(s * hypot(b[0] - a[0], b[1] - a[1]) for a, b, *_ in pairs)
    outer = sorted(s * hypot(b[0] - a[0], b[1] - a[1]) + one + other for a, b, one, other in pairs)
    for number in range(3):
        yield f"piece {number + 1}, drawn", sides[number], got.segments("band", "outline")[number]
        yield f"piece {number + 1}, other face", outer[number], got.segments("band", "other_outline")[number]


@prop(
    """\
forms: {}
parts:
  box: {kind: prism, stock: thick, sides: 3, width: 200 * s, top_width: 120 * s, height: 40 * s, floor: mitred, roof: open}
""",
    scales=(1.0, 3.0),
)
def shallow_frustum_of_three_sides(got, s):
    lean = atan(1.0)
    turn = acos(cos(lean) ** 2 * cos(2 * pi / 3) + sin(lean) ** 2)
    drawn = 100 * s - 10 / tan((pi / 2 - lean) / 2)  # from the middle to the drawn line of the floor's sides
    yield "foot, other face", 200 * s * tan(pi / 3), got.extent("box_side", "other_outline")[0]
    yield "slant height, other face", 40 * s * sqrt(2), got.extent("box_side", "other_outline")[1]
    yield "bevel between sides", degrees(turn / 2), got.bevels("box_side", "left")[0]
    yield "bevel of the floor", 67.5, got.bevels("box_floor", "side_1")[0]
    yield "side of the floor, drawn", 2 * drawn * tan(pi / 3), got.chord("box_floor", "side_1")
    yield "foot, drawn", 2 * drawn * tan(pi / 3), got.chord("box_side", "foot")
    ticks = [
        sorted(t["number"] for t in got.edge(*end)["ticks"]) for end in (("box_side", "foot"), ("box_floor", "side_1"))
    ]
    yield "ticks on both edges of the foot", len(ticks[0]), len(set(ticks[0]) & set(ticks[1]))


# round walls


TUBE = "kind: revolution, axis: z, smooth: false, profile: [[-10 * s, RADIUS * s], [200 * s, RADIUS * s]]"


@prop(
    """\
forms:
  drum: {kind: revolution, axis: x, smooth: false, profile: [[-150 * s, 40 * s], [150 * s, 40 * s]]}
  pipe: {kind: revolution, axis: z, smooth: false, profile: [[0, 25 * s], [120 * s, 25 * s]], cuts: {
    foot: {form: {form: drum, offset: 0}}, top: {plane: {normal: z, at: 100 * s}}, half: {plane: {normal: y}}}}
parts:
  wall: {kind: panel, stock: foam, form: pipe, where: {foot: outside, top: before, half: beyond}, mirror: y}
""",
    (1.0, 0.3),
)
def tube_on_a_tube(got, s):
    """Parallel-line development: each line of the wall ends on the larger tube at the height sqrt(R2 - y2)."""
    r, big = 25 * s + 3, 40 * s

    def slope(a):
        return r * cos(a) * r * sin(a) / sqrt(big**2 - (r * sin(a)) ** 2)

    yield "foot", quad(lambda a: hypot(r, slope(a)), 0, pi)[0], got.length("wall", "foot")
    yield "top", pi * r, got.length("wall", "top")


@prop(
    """\
forms:
  horn: {kind: revolution, axis: x, smooth: false, profile: [[-120 * s, 90 * s], [120 * s, 30 * s]]}
  pipe: {kind: revolution, axis: z, smooth: false, profile: [[0, 20 * s], [140 * s, 20 * s]], cuts: {
    foot: {form: {form: horn, offset: 0}}, top: {plane: {normal: z, at: 120 * s}}, half: {plane: {normal: y}}}}
parts:
  wall: {kind: panel, stock: foam, form: pipe, where: {foot: outside, top: before, half: beyond}, mirror: y}
""",
    (1.0, 0.3),
)
def tube_on_a_cone(got, s):
    """Parallel-line development: at x the cone has the radius 60 - x / 4, and its side is at the height sqrt(radius2 - y2)."""
    r = 20 * s + 3

    def height(a):
        return sqrt((60 * s - r * cos(a) / 4) ** 2 - (r * sin(a)) ** 2)

    def rise(a):
        return ((60 * s - r * cos(a) / 4) * sin(a) / 4 - r * sin(a) * cos(a)) * r / height(a)

    yield "foot", quad(lambda a: hypot(r, rise(a)), 0, pi)[0], got.length("wall", "foot")
    sides = sorted(edge["length"] for edge in got.part("wall")["edges"] if edge["id"].startswith("half"))
    yield "shorter side", 120 * s - height(pi), sides[0]
    yield "longer side", 120 * s - height(0), sides[1]


@prop(f"""\
forms:
  tube: {{{TUBE.replace("RADIUS", "40")}, cuts: {{foot: {{plane: {{normal: z, at: 0}}}},
    slant: {{plane: {{normal: [0.5, 0, {sqrt(0.75)}], at: 100 * s}}}}}}}}
parts:
  wall: {{kind: panel, stock: foam, form: tube, where: {{slant: before, foot: beyond}}, opened: 0, flush: [slant]}}
""")
def tube_cut_aslant(got, s):
    """The cut develops as a sine; its length is that of the ellipse."""
    rise, neutral = tan(pi / 6), 40 * s + 3

    def top(radius: float) -> float:
        return 100 * s / cos(pi / 6) + radius * rise

    yield "foot", 2 * pi * neutral, got.length("wall", "foot")
    yield "cut", 4 * neutral / cos(pi / 6) * ellipe(1 - cos(pi / 6) ** 2), got.length("wall", "slant")
    yield "seam", top(-neutral), got.length("wall", "opened.1")
    yield "height, drawn", top(40 * s), got.extent("wall")[1]
    yield "height, other face", top(40 * s + 6), got.extent("wall", "other_outline")[1]
    yield "least bevel", -30.0, got.bevels("wall", "slant")[0]
    yield "greatest bevel", 30.0, got.bevels("wall", "slant")[1]


@prop(f"""\
forms:
  tube: {{{TUBE.replace("RADIUS", "60")}, cuts: {{foot: {{plane: {{normal: z, at: 0}}}},
    waist: {{plane: {{normal: z, at: 80 * s}}}}, top: {{plane: {{normal: z, at: 160 * s}}}}}}}}
parts:
  lower: {{kind: panel, stock: thick, form: tube, where: {{foot: beyond, waist: before}}, opened: 0}}
  upper: {{kind: panel, stock: foam, form: tube, where: {{waist: beyond, top: before}}, opened: 0}}
""")
def tube_of_10_mm_below_6_mm(got, s):
    yield "foot of the thick wall", 2 * pi * (60 * s + 5), got.length("lower", "foot")
    yield "top of the thin wall", 2 * pi * (60 * s + 3), got.length("upper", "top")
    yield "where they touch, thick", 2 * pi * (60 * s + 3), got.length("lower", "waist")
    yield "where they touch, thin", 2 * pi * (60 * s + 3), got.length("upper", "waist")
    yield "its line on the thick wall", 2 * pi * (60 * s + 5), got.chord("lower", "waist")
    # both run the same way round, as seen from inside with the top upwards: numbers ahead of each other
    ways = [_way(got.edge(part, "waist")) for part in ("lower", "upper")]
    yield "ticks run one way round", 1.0, ways[0] * ways[1]


def _way(edge: dict) -> float:
    """+1 where the numbers of an edge's ticks grow to the right, -1 to the left."""
    xs = [tick["at"][0] for tick in sorted(edge["ticks"], key=lambda tick: tick["number"])]
    return float(np.sign(np.diff(xs)).mean())


@prop("""\
forms:
  cone: {kind: revolution, axis: z, smooth: false, profile: [[-20 * s, 100 * s], [160 * s, 40 * s]],
    cuts: {foot: {plane: {normal: z, at: 0}}, waist: {plane: {normal: z, at: 70 * s}},
           top: {plane: {normal: z, at: 140 * s}}}}
parts:
  lower: {kind: panel, stock: thick, form: cone, where: {foot: beyond, waist: before}, opened: 0}
  upper: {kind: panel, stock: foam, form: cone, where: {waist: beyond, top: before}, opened: 0}
""")
def cone_of_10_mm_below_6_mm(got, s):
    lean = atan(1 / 3)
    foot, waist, top = (s * (100 - (20 + high) / 3) for high in (0, 70, 140))
    yield "foot of the thick wall", 2 * pi * (foot + 5 * cos(lean)), got.length("lower", "foot")
    yield "where they touch, thick", 2 * pi * (waist + 3 * cos(lean)), got.length("lower", "waist")
    yield "where they touch, thin", 2 * pi * (waist + 3 * cos(lean)), got.length("upper", "waist")
    yield "top of the thin wall", 2 * pi * (top + 3 * cos(lean)), got.length("upper", "top")
    yield "seam of the thick wall", 70 * s / cos(lean), got.length("lower", "opened.1")
    yield "seam of the thin wall", 70 * s / cos(lean), got.length("upper", "opened.1")


@prop("""\
forms:
  can: {kind: revolution, axis: z, smooth: false, profile: [[0, 50 * s], [80 * s, 50 * s], [140 * s, 20 * s]],
    cuts: {edge: {plane: {normal: z, at: 80 * s}}, foot: {plane: {normal: z, at: 5 * s}},
           top: {plane: {normal: z, at: 130 * s}}}}
parts:
  wall: {kind: panel, stock: foam, form: can, where: {edge: before, foot: beyond}, opened: 0}
  roof: {kind: panel, stock: foam, form: can, where: {edge: beyond, top: before}, opened: 0}
""")
def cone_on_a_cylinder(got, s):
    lean = atan(0.5)
    mitre = tan(lean / 2)
    yield "edge of the wall", 2 * pi * (50 * s + 3), got.length("wall", "edge")
    yield "edge of the roof", 2 * pi * (50 * s + 3), got.length("roof", "edge")
    yield "bevel of the wall", degrees(lean / 2), got.bevels("wall", "edge")[0]
    yield "bevel of the roof", degrees(lean / 2), got.bevels("roof", "edge")[0]
    yield "seam of the wall", 75 * s + 3 * mitre, got.length("wall", "opened.1")
    yield "wall, drawn", 75 * s, got.extent("wall")[1]
    yield "wall, other face", 75 * s + 6 * mitre, got.extent("wall", "other_outline")[1]
    yield "seam of the roof", 50 * s * hypot(1, 0.5) + 3 * mitre, got.length("roof", "opened.1")
    yield "top of the roof", 2 * pi * (25 * s + 3 * cos(lean)), got.length("roof", "top")


@prop("""\
forms:
  can: {kind: revolution, axis: z, smooth: false, profile: [[0, 60 * s], [80 * s, 0]],
    cuts: {foot: {plane: {normal: z, at: 10 * s}}}}
parts:
  cone: {kind: panel, stock: foam, form: can, where: {foot: beyond}, opened: 0}
""")
def full_cone(got, s):
    radius = 52.5 * s + 3 * 0.8
    yield "foot", 2 * pi * radius, got.length("cone", "foot")
    yield "seam to the tip", radius / 0.6, got.length("cone", "opened.1")
    yield "from the foot to the tip", radius / 0.6, got.chord("cone", "opened.2")


@prop(f"""\
forms:
  tube: {{{TUBE.replace("RADIUS", "60")}, cuts: {{foot: {{plane: {{normal: z, at: 0}}}},
    top: {{plane: {{normal: z, at: 160 * s}}}}, half: {{plane: {{normal: y}}}}}}}}
parts:
  wall: {{kind: panel, stock: foam, form: tube, where: {{foot: beyond, top: before, half: beyond}}, mirror: y}}
  disc: {{kind: bulkhead, stock: thick, form: tube, plane: {{normal: z, at: 40 * s}}, after: [wall]}}
  lid: {{kind: disc, stock: foam, radius: 60 * s + 6, at: {{origin: [0, 0, 160 * s], normal: z}}}}
""")
def discs_in_and_on_a_tube_of_halves(got, s):
    yield "half the wall", pi * (60 * s + 3), got.length("wall", "top")
    yield "rim of the disc", 2 * pi * 60 * s, got.length("disc", "rim")
    yield "circle of the lid", 60 * s + 6, got.part("lid")["round"]["radius"]
    yield "mirrored copies", 1, got.part("wall")["mirrored"]


@prop("""\
forms:
  cone: {kind: revolution, axis: z, smooth: false, profile: [[-10 * s, 90 * s], [110 * s, 30 * s]],
    cuts: {foot: {plane: {normal: z, at: 0}}, top: {plane: {normal: z, at: 100 * s}}}}
parts:
  wall: {kind: panel, stock: foam, form: cone, where: {foot: beyond, top: before}, opened: 90}
  disc: {kind: bulkhead, stock: thick, form: cone, plane: {normal: z, at: 40 * s}, after: [wall]}
""")
def bulkhead_in_a_cone(got, s):
    lean = atan(0.5)
    yield "foot of the wall", 2 * pi * (85 * s + 3 * cos(lean)), got.length("wall", "foot")
    yield "top of the wall", 2 * pi * (35 * s + 3 * cos(lean)), got.length("wall", "top")
    yield "seam", 100 * s * hypot(1, 0.5), got.length("wall", "opened.1")
    yield "disc, drawn", 130 * s, got.extent("disc")[0]
    yield "disc, other face", 130 * s - 10, got.extent("disc", "other_outline")[0]
    yield "bevel of the disc", -degrees(lean), got.bevels("disc", "rim")[0]


@prop("""\
forms:
  cone: {kind: revolution, axis: z, smooth: false,
    profile: [[-30 * s, 100 * s], [170 * s, 100 * s - 200 * s * 0.0874886635]],
    cuts: {foot: {plane: {normal: z, at: 0}}, top: {plane: {normal: z, at: 140 * s}}}}
parts:
  wall: {kind: panel, stock: foam, form: cone, where: {foot: beyond, top: before}, opened: 0}
  disc: {kind: bulkhead, stock: thick, form: cone, plane: {normal: z, at: 60 * s}, after: [wall]}
""")
def bulkhead_in_a_cone_of_five_degrees(got, s):
    """Cut square, one of its faces would stand 0.87 mm off the wall."""
    lean = radians(5)

    def radius(high: float) -> float:
        return 100 * s - (high + 30 * s) * tan(lean)

    yield "foot of the wall", 2 * pi * (radius(0) + 3 * cos(lean)), got.length("wall", "foot")
    yield "disc, drawn", 2 * radius(60 * s), got.extent("disc")[0]
    yield "disc, other face", 2 * radius(60 * s + 10), got.extent("disc", "other_outline")[0]
    yield "bevel of the disc", -5.0, got.bevels("disc", "rim")[0]


@prop(f"""\
forms:
  tube: {{{TUBE.replace("RADIUS", "60")}}}
parts:
  disc: {{kind: bulkhead, stock: thick, form: tube, plane: {{normal: [0.5, 0, {sqrt(0.75)}], at: 70 * s}}}}
""")
def bulkhead_that_leans_in_a_tube(got, s):
    """Both faces are the ellipse in which a plane at 30 degrees meets the tube; one lies further along its long axis, by
    the thickness times the tangent of the lean."""
    middles = []
    for line, face in (("outline", "drawn"), ("other_outline", "other face")):
        width, height = sorted(got.extent("disc", line))
        yield f"short axis, {face}", 120 * s, width
        yield f"long axis, {face}", 120 * s / cos(pi / 6), height
        points = np.asarray(got.part("disc")[line])
        middles.append((points.max(axis=0) + points.min(axis=0)) / 2)
    yield "from middle to middle", 10 * tan(pi / 6), float(hypot(*(middles[1] - middles[0])))
    bevels = [b for edge in got.part("disc")["edges"] for b in edge["bevel"]]
    yield "least bevel", -30.0, min(bevels)
    yield "greatest bevel", 30.0, max(bevels)


@prop("""\
forms:
  pipe: {kind: revolution, axis: z, smooth: false, profile: [[20 * s, 25 * s], [150 * s, 25 * s]],
    cuts: {top: {plane: {normal: z, at: 140 * s}}, saddle: {form: {form: drum}}}}
  drum: {kind: revolution, axis: x, smooth: false, profile: [[-100 * s, 60 * s], [100 * s, 60 * s]],
    cuts: {left: {plane: {normal: x, at: -80 * s}}, right: {plane: {normal: x, at: 80 * s}}}}
parts:
  stub: {kind: panel, stock: foam, form: pipe, where: {saddle: outside, top: before}, opened: 0}
  wall: {kind: panel, stock: foam, form: drum, where: {left: beyond, right: before}, opened: 180, laid: inside}
""")
def saddle(got, s):
    """A pipe on a drum: at an angle f round the pipe the line is sqrt(R^2 - r^2 sin^2 f) from the drum's axis."""
    drum, neutral = 60 * s, 25 * s + 3

    def low(radius: float) -> float:
        return sqrt(drum**2 - radius**2)

    def step(f: float) -> float:
        return hypot(neutral, neutral**2 * sin(f) * cos(f) / sqrt(drum**2 - (neutral * sin(f)) ** 2))

    yield "top", 2 * pi * neutral, got.length("stub", "top")
    yield "saddle line", quad(step, 0, 2 * pi, epsabs=1e-6)[0], got.length("stub", "saddle")
    yield "seam", 80 * s, got.length("stub", "opened.1")
    yield "height, drawn", 140 * s - low(25 * s), got.extent("stub")[1]
    yield "height, other face", 140 * s - low(25 * s + 6), got.extent("stub", "other_outline")[1]
    yield "least bevel", 0.0, got.bevels("stub", "saddle")[0]
    chord = degrees(atan2(low(25 * s) - low(25 * s + 6), 6))
    yield "greatest bevel", chord, got.bevels("stub", "saddle")[1]
    yield "round the drum, laid inside", 2 * pi * (60 * s - 3), got.length("wall", "left")


@prop(f"""\
forms:
  tube: {{{TUBE.replace("RADIUS", "50")}, cuts: {{foot: {{plane: {{normal: z, at: 0}}}},
    top: {{plane: {{normal: z, at: 120 * s}}}}, half: {{plane: {{normal: y}}}},
    hole: {{prism: {{outline: {{rectangle: {{width: 40 * s, height: 30 * s}}}}, along: y, centre: [0, 0, 60 * s],
      above: 0}}}}}}}}
parts:
  wall: {{kind: panel, stock: foam, form: tube, mirror: y,
    where: {{foot: beyond, top: before, half: beyond, hole: outside}}}}
""")
def window_in_a_tube(got, s):
    """Cut straight through: each face is cut where it is, so the inner one over the greater angle."""
    neutral = 50 * s + 3
    for line, radius in (("holes", 50 * s), ("other_holes", 50 * s + 6)):
        hole = np.ptp(np.asarray(got.part("wall")[line][0]), axis=0)
        yield f"width, {line}", 2 * neutral * asin(20 * s / radius), float(hole.max())
        yield f"height, {line}", 30 * s, float(hole.min())


@prop(f"""\
forms:
  tube: {{{TUBE.replace("RADIUS", "70")}, cuts: {{foot: {{plane: {{normal: z, at: 0}}}},
    top: {{plane: {{normal: z, at: 120 * s}}}}, half: {{plane: {{normal: y}}}},
    row: {{prism: {{outline: {{rectangle: {{width: 10 * s, height: 40 * s, centre: [-25 * s, 0]}},
      repeat: {{count: 3, step: [25 * s, 0]}}}}, along: y, centre: [0, 0, 60 * s], above: 0}}}}}}}}
parts:
  wall: {{kind: panel, stock: foam, form: tube, mirror: y,
    where: {{foot: beyond, top: before, half: beyond, row: outside}}}}
""")
def row_of_holes_in_a_tube(got, s):
    """One cut; each hole over the angle that it has where it lies."""
    neutral = 70 * s + 3
    for line, radius in (("holes", 70 * s), ("other_holes", 70 * s + 6)):
        holes = sorted((np.asarray(hole) for hole in got.part("wall")[line]), key=lambda hole: hole[:, 0].mean())
        yield f"count, {line}", 3, len(holes)
        for at, hole in zip((-25, 0, 25), holes):
            long = neutral * (asin((at + 5) * s / radius) - asin((at - 5) * s / radius))
            width, height = sorted(np.ptp(hole, axis=0))
            yield f"width at {at}, {line}", long, float(width)
            yield f"height at {at}, {line}", 40 * s, float(height)
            yield f"side of a square like that at {at}, {line}", sqrt(long * 40 * s), sqrt(shapely.Polygon(hole).area)


@prop(f"""\
forms:
  tube: {{{TUBE.replace("RADIUS", "70")}, cuts: {{frame: {{prism: {{along: y, centre: [0, 0, 60 * s], above: 0,
    outline: {{rectangle: {{width: 80 * s, height: 100 * s}}, minus: [
      {{rectangle: {{width: 20 * s, height: 30 * s, centre: [0, 20 * s]}}}}, {{circle: {{radius: 9 * s, centre: [10 * s, -30 * s]}}}}]}}}}}}}}}}
parts:
  wall: {{kind: panel, stock: foam, form: tube, where: {{frame: inside}}, mirror: y}}
""")
def frame_with_two_holes_on_a_tube(got, s):
    """One cut whose outline has holes; the panel is what lies within it."""
    neutral = 70 * s + 3
    for line, holes, radius in (("outline", "holes", 70 * s), ("other_outline", "other_holes", 70 * s + 6)):
        part = got.part("wall")
        wide, narrow = (2 * neutral * asin(half * s / radius) for half in (40, 10))
        yield f"width, {line}", wide, float(min(np.ptp(np.asarray(part[line]), axis=0)))
        yield f"height, {line}", 100 * s, float(max(np.ptp(np.asarray(part[line]), axis=0)))
        square, circle = sorted((shapely.Polygon(hole) for hole in part[holes]), key=lambda hole: -hole.area)
        yield f"side of a square like the window, {holes}", sqrt(narrow * 30 * s), sqrt(square.area)

        def high(x: float, radius: float = radius) -> float:
            return 2 * sqrt(81 * s * s - (x - 10 * s) ** 2) * neutral / sqrt(radius**2 - x**2)

        yield f"side of a square like the round hole, {holes}", sqrt(quad(high, s, 19 * s)[0]), sqrt(circle.area)


# curved both ways: lengths are within the foam's strain, areas stay


def _cap(count: int) -> None:
    turn = 2 * pi / count

    @prop(f"""\
forms:
  ball: {{kind: superellipsoid, radii: [100 * s, 100 * s, 100 * s], cuts: {{foot: {{plane: {{normal: z, at: 30 * s}}}},
    a: {{plane: {{normal: y}}}}, b: {{plane: {{normal: [{-sin(turn):.12f}, {cos(turn):.12f}, 0]}}}}}}}}
parts:
  gore: {{kind: panel, stock: foam, form: ball, where: {{foot: beyond, a: beyond, b: before}}, darts: auto,
    repeat: {{around: {{count: {count}, axis: z}}}}}}
""")
    def cap(got, s):
        neutral, polar = 100 * s + 3, acos(0.3)
        part = got.part("gore")
        yield (
            "area of all gores, per cent",
            100.0,
            100 * part["area"] * count / (2 * pi * neutral**2 * (1 - cos(polar))),
        )
        yield "its two seams", got.length("gore", "a"), got.length("gore", "b")
        for what, edge, true in (("seam", "a", neutral * polar), ("foot", "foot", neutral * sin(polar) * turn)):
            strain = part["strain"]["max"] + 1e-3
            yield (
                f"{what}, strained beyond what is told",
                0.0,
                max(0.0, abs(got.length("gore", edge) / true - 1) - strain),
            )

    PROPS[f"cap of {count} gores"] = Prop(f"cap of {count} gores", PROPS.pop("cap").text, cap, SCALES)


for _count in (4, 6, 8, 12, 16):
    _cap(_count)


@prop("""\
forms:
  stem: {kind: revolution, axis: z, profile: [[-60 * s, 52 * s], [-30 * s, 43 * s], [0, 40 * s], [30 * s, 43 * s],
      [60 * s, 52 * s]],
    cuts: {foot: {plane: {normal: z, at: -40 * s}}, top: {plane: {normal: z, at: 40 * s}}, waist: {plane: {normal: z}},
           half: {plane: {normal: y}}, side: {plane: {normal: x}}}}
parts:
  gore: {kind: panel, stock: thin, form: stem, where: {foot: beyond, waist: before, half: beyond, side: beyond},
    mirror: z, repeat: {around: {count: 4, axis: z}}}
""")
def waisted_stem(got, s):
    strain = got.part("gore")["strain"]["max"] + 1e-3
    quarter = (40 * s + 1) * pi / 2
    yield "waist, strained beyond what is told", 0.0, max(0.0, abs(got.length("gore", "waist") / quarter - 1) - strain)
    yield "its two seams", got.length("gore", "half"), got.length("gore", "side")
    yield "copies", 8, got.part("gore")["quantity"]


# flat parts and rods


@prop("""\
forms: {}
parts:
  wing: {kind: plate, stock: foam, outline: {polygon: {points: [[20 * s, 0], [110 * s, 0], [20 * s, 70 * s]]}},
    at: {normal: z}, mirror: x}
  wheel: {kind: ring, stock: foam, outer_radius: 60 * s, inner_radius: 35 * s, at: {origin: [65 * s, 0, 6], normal: z}}
  bridge: {kind: plate, stock: thin, outline: {rectangle: {width: 90 * s, height: 10 * s, centre: [0, 5 * s]}},
    at: {origin: [0, 0, -2], normal: z}}
""")
def mirrored_wings_and_a_wheel(got, s):
    sides = sorted(edge["length"] for edge in got.part("wing")["edges"])
    for number, true in enumerate(sorted((90 * s, 70 * s, hypot(90, 70) * s))):
        yield f"side {number + 1}", true, sides[number]
    yield "mirrored copies", 1, got.part("wing")["mirrored"]
    yield "wheel", 60 * s, got.part("wheel")["round"]["radius"]
    yield "its hole", 35 * s, got.part("wheel")["round"]["inner_radius"]
    yield "its area", pi * (60**2 - 35**2) * s * s, got.part("wheel")["area"]


@prop("""\
forms: {}
parts:
  bar: {kind: rod, stock: thin, from: [0, 0, 0], to: [0, 0, 150 * s], diameter: 40 * s, made: wrapped, sides: 8}
""")
def wrapped_bar(got, s):
    yield "length of the skin", 8 * 40 * s * tan(radians(22.5)), got.extent("bar", "other_outline")[0]
    yield "bevel where it closes", 22.5, got.bevels("bar", "start")[0]
    yield "height", 150 * s, got.extent("bar")[1]


# what lies on what


@prop("""\
forms: {}
parts:
  a: {kind: plate, stock: foam, at: {origin: [3, 0, 0], normal: -x, up: z},
    outline: {rectangle: {width: 150 * s, height: 60 * s, centre: [0, 30 * s]},
      minus: [{rectangle: {width: 10, height: 30 * s, centre: [0, 45 * s]}}]}}
  b: {kind: plate, stock: thick, at: {origin: [0, -5, 0], normal: y, up: z},
    outline: {rectangle: {width: 150 * s, height: 60 * s, centre: [0, 30 * s]},
      minus: [{rectangle: {width: 6, height: 30 * s, centre: [0, 15 * s]}}]}}
""")
def half_lap_of_6_and_10_mm(got, s):
    for part, other in (("a", 10), ("b", 6)):
        slot = [edge["length"] for edge in got.part(part)["edges"]]
        yield f"bottom of the slot of {part}", min(other, 30 * s), min(slot)
        wide = [float(np.ptp(np.vstack(mark["lines"])[:, 0])) for mark in got.record["marks"] if mark["on"] == part]
        for number, width in enumerate(wide, 1):
            yield f"width of place {number} on {part}", other, width


@prop("""\
forms: {}
parts:
  box: {kind: prism, stock: foam, sides: 6, width: 140 * s, height: 70 * s, floor: inside}
  lid: {kind: plate, stock: thick, at: {origin: [0, 0, 70 * s], normal: z, up: x}, rests_on: [box], glue: none,
    outline: {rectangle: {width: 180 * s, height: 180 * s}}}
""")
def hexagonal_box_under_a_lid(got, s):
    outer, inner = (wide * tan(pi / 6) for wide in (140 * s, 140 * s - 12))
    yield "bevel between sides", 30.0, got.bevels("box_side", "left")[0]
    yield "side of the floor", inner, got.part("box_floor")["edges"][0]["length"]
    places = got.marked("lid", "box_side")
    yield "sides on the lid", 6, len(places)
    yield "least width of a side's place on the lid", 6.0, 2 * min(places) / (outer + inner)
    yield "greatest", 6.0, 2 * max(places) / (outer + inner)


@prop("""\
forms: {}
parts:
  base: {kind: plate, stock: thick, outline: {rectangle: {width: 200 * s, height: 100 * s}},
    at: {origin: [0, 0, -10], normal: z, up: y}}
  strip: {kind: plate, stock: foam, outline: {rectangle: {width: 40 * s, height: 80 * s}},
    at: {origin: [96 * s, 0, 0], normal: z, up: y}, lies_on: [base], mirror: x}
""")
def strips_that_stand_out(got, s):
    yield "beyond the base", 16 * s, got.overhang("strip")
    for number, area in enumerate(got.marked("base", "strip"), 1):
        yield f"width of line {number} on the base", 24 * s, area / (80 * s)
    (other,) = got.marked("strip", "base") or [0.0]
    yield "from the strip's end to the line of the base on it", 24 * s, max(other, 40 * s * 80 * s - other) / (80 * s)


@prop("""\
forms:
  cone: {kind: revolution, axis: z, smooth: false, profile: [[0, 80 * s], [120 * s, 40 * s]],
    cuts: {low: {plane: {normal: z, at: 5 * s}}, high: {plane: {normal: z, at: 110 * s}}}}
parts:
  wall: {kind: panel, stock: foam, form: cone, where: {low: beyond, high: before}, opened: 0}
  block: {kind: plate, stock: thick, outline: {rectangle: {width: 20 * s, height: 24 * s}}, lies_on: [wall],
    at: {origin: [0, 0, 50 * s], normal: x, up: z, onto: {form: cone, offset: 6, turned: true}},
    repeat: {around: {count: 12, axis: z}}}
""")
def blocks_around_a_cone_and_over_its_seam(got, s):
    """All twelve cover as much of the wall, by symmetry; the first lies over its seam."""
    places = got.marked("wall", "block")
    yield "lines on the wall", 12, len(places)
    yield "width of the first, as of the others", np.mean(places[1:]) / (24 * s), places[0] / (24 * s)


@prop(
    f"""\
forms:
  tube: {{{TUBE.replace("RADIUS", "24")}}}
parts:
  disc: {{kind: bulkhead, stock: thick, form: tube, plane: {{normal: [{sin(radians(40))}, 0, {cos(radians(40))}], at: 70 * s}}}}
""",
    scales=(1.0, 3.0),
)
def bulkhead_at_50_degrees_in_a_small_tube(got, s):
    """As the one that leans by 30 degrees, thicker beside its radius."""
    for line, face in (("outline", "drawn"), ("other_outline", "other face")):
        width, height = sorted(got.extent("disc", line))
        yield f"short axis, {face}", 48 * s, width
        yield f"long axis, {face}", 48 * s / cos(radians(40)), height
        points = np.asarray(got.part("disc")[line])
        area = shapely.Polygon(points).area
        yield f"radius of its area, {face}", 24 * s / sqrt(cos(radians(40))), sqrt(area / pi)
    bevels = [b for edge in got.part("disc")["edges"] for b in edge["bevel"]]
    yield "least bevel", -40.0, min(bevels)
    yield "greatest bevel", 40.0, max(bevels)


# plates of solids, and what fits into what


_CORNERS = np.array([(0, 0), (120, 0), (150, 70), (60, 130), (-30, 80)], float)


@prop(
    """\
forms: {}
parts:
  box: {kind: solid, stock: thick, code: odd.py, args: {size: s}, faces: 7, mirror: y, at: {origin: [0, 200 * s, 0], normal: z}}
""",
    code=f"""\
import cadquery as cq
def solid(size):
    corners = [(x * size, y * size) for x, y in {_CORNERS.tolist()}]
    return cq.Workplane().polyline(corners).close().extrude(80 * size)
""",
)
def box_of_five_unequal_sides(got, s):
    """Mitred by half the turn at each corner; a wall is shorter inside by the thickness times the tangents of both bevels."""
    legs = np.roll(_CORNERS, -1, axis=0) - _CORNERS
    ways = np.arctan2(legs[:, 1], legs[:, 0])
    half = ((np.roll(ways, -1) - ways) % (2 * pi)) / 2
    outer = s * np.hypot(*legs.T)
    inner = outer - 10 * (np.tan(half) + np.tan(np.roll(half, 1)))
    walls = [p["id"] for p in got.record["parts"] if abs(got.extent(p["id"], "other_outline")[1] - 80 * s) < 0.01]
    for line, face, true in (("outline", "drawn", inner), ("other_outline", "other face", outer)):
        for number, (width, written) in enumerate(zip(sorted(true), sorted(got.extent(w, line)[0] for w in walls))):
            yield f"wall {number + 1}, {face}", width, written
    mitres = [bevel for bevel in got.all_bevels("box") if abs(bevel - 45.0) > 0.5]
    for number, (true, written) in enumerate(zip(sorted(np.degrees(half).tolist() * 2), mitres)):
        yield f"bevel {number + 1}", true, written
    whole = shapely.Polygon(s * _CORNERS)
    for line, face, true in (
        ("outline", "drawn", whole.buffer(-10, join_style="mitre")),
        ("other_outline", "other face", whole),
    ):
        ends = [p["id"] for p in got.record["parts"] if p["id"] not in walls]
        for end in ends:
            yield (
                f"side of a square like {end}, {face}",
                sqrt(true.area),
                sqrt(shapely.Polygon(got.part(end)[line]).area),
            )


@prop(
    """\
forms: {}
parts:
  wedge: {kind: solid, stock: foam, code: odd.py, args: {size: s}, faces: 5, at: {normal: z}, mirror: x}
""",
    code="""\
import cadquery as cq
def solid(size):
    ramp = cq.Workplane("XZ").polyline([(0, 0), (120 * size, 0), (120 * size, 90 * size)])
    return ramp.close().extrude(100 * size)
""",
)
def wedge_with_a_sharp_edge(got, s):
    """Sides 90, 120 and 150: corners of 36.87, 53.13 and 90 degrees, cut at half of what they turn; edges of 100 mm."""
    sharp, blunt = degrees(atan2(90, 120)), degrees(atan2(120, 90))
    bevels = got.all_bevels("wedge")
    yield "sharpest bevel", 90 - sharp / 2, bevels[-1]
    yield "bevel above", 90 - blunt / 2, bevels[-3]
    yield "least bevel", 45.0, bevels[0]
    within = 120 * s - 6 - 6 / tan(radians(sharp / 2))
    triangle = (within**2) * 0.75 / 2
    base, back = within * (100 * s - 12), within * 0.75 * (100 * s - 12)
    slope = within * 1.25 * (100 * s - 12)
    for name, true, written in zip(
        ("one side", "other side", "back", "base", "slope"),
        sorted((triangle, triangle, back, base, slope)),
        got.areas("wedge", "outline"),
    ):
        yield f"side of a square like face {name}, drawn", sqrt(true), sqrt(written)
    for part in got.record["parts"]:
        for edge in part["edges"]:
            for tick in edge.get("ticks", ()):
                if len(edge["ticks"]) == 1 and edge["bevel"] > 50.0:
                    first, last = np.asarray(edge["ends"])
                    yield (
                        "the tick of a level edge, from its middle",
                        0.0,
                        float(np.hypot(*(tick["at"] - (first + last) / 2))),
                    )


@prop(
    """\
forms: {}
parts:
  roof: {kind: solid, stock: foam, code: odd.py, args: {size: s}, faces: 7, at: {normal: z}}
""",
    code="""\
import cadquery as cq
def solid(size):
    wide, high, long = 60 * size, 45 * size, 150 * size
    def gable(plane, start, way):
        shape = cq.Workplane(plane).workplane(offset=start).polyline([(-wide, 0), (wide, 0), (0, high)])
        return shape.close().extrude(way)
    corner = gable("YZ", -wide, 2 * wide).intersect(gable("XZ", -wide, 2 * wide))
    return corner.union(gable("YZ", 0, long)).union(gable("XZ", 0, -long)).clean()
""",
    scales=(1.0, 3.0),
)
def roof_with_a_valley(got, s):
    """Two ridges at a right angle, slopes of 3 in 4: along hip and valley the slopes turn by the angle whose cosine is the
    square of the slope's, and are cut at half of it; the valley from the other face. Areas are those of the plan by the cosine."""
    wide, long, slope = 60 * s, 150 * s, 4 / 5
    turn = degrees(acos(slope**2)) / 2
    bevels = got.all_bevels("roof")
    yield "valley", -turn, bevels[0]
    yield "edges of the valley", 2, sum(abs(b + turn) < 0.05 for b in bevels)
    yield "edges of the hip", 2, sum(abs(b - turn) < 0.05 for b in bevels)
    yield "ridges, both edges of each", 4, sum(abs(b - degrees(acos(slope))) < 0.05 for b in bevels)
    yield "eaves, on slope and floor", 8, sum(abs(b - (90 - degrees(acos(slope)) / 2)) < 0.05 for b in bevels)
    gable = wide * 45 * s
    small, large = ((wide * (2 * long + more) / 2) / slope for more in (-wide, wide))
    floor = (long + wide) ** 2 - (long - wide) ** 2
    for number, (true, written) in enumerate(
        zip(sorted((gable, gable, small, small, large, large, floor)), got.areas("roof", "other_outline"))
    ):
        yield f"side of a square like face {number + 1}, other face", sqrt(true), sqrt(written)


@prop("""\
forms: {}
parts:
  side: {kind: plate, stock: thick, at: {origin: [100 * s, 0, 0], normal: x, up: z}, mirror: x,
    outline: {polygon: {points: [[-50 * s, 0], [50 * s, 0], [40 * s, 300 * s], [-40 * s, 300 * s]]}}}
  shelf: {kind: plate, stock: foam, outline: {rectangle: {width: 60 * s, height: 200 * s}},
    at: {origin: [0, 0, 80 * s], normal: z, up: x}, repeat: {count: 3, step: [0, 0, 80 * s]},
    tabs: [{into: side, at: [0, 100 * s], length: 30 * s}, {into: side, at: [0, -100 * s], length: 30 * s}]}
""")
def shelves_between_two_sides(got, s):
    slots = [sorted(np.ptp(np.asarray(hole), axis=0)) for hole in got.part("side")["holes"]]
    yield "slots of a side", 3, len(slots)
    for number, (short, long) in enumerate(slots, 1):
        yield f"slot {number}, width", 6.3, float(short)
        yield f"slot {number}, length", 30 * s + 0.3, float(long)
    yield "shelf over its tabs", 200 * s + 20, max(got.extent("shelf"))
    yield "leg of a side", hypot(10, 300) * s, max(edge["length"] for edge in got.part("side")["edges"])


@prop("""\
forms:
  cone: {kind: revolution, axis: z, smooth: false, profile: [[-40 * s, 72.5 * s], [140 * s, 27.5 * s]],
    cuts: {foot: {plane: {normal: z, at: 0}}, top: {plane: {normal: z, at: 100 * s}}}}
parts:
  wall: {kind: panel, stock: thick, form: cone, where: {foot: beyond, top: before}, opened: 90, flush: [foot, top]}
  floor: {kind: bulkhead, stock: foam, form: cone, plane: {normal: z, at: 0}, after: [wall]}
  lid: {kind: disc, stock: foam, radius: 37.5 * s + 10.3, at: {origin: [0, 0, 100 * s], normal: z}, rests_on: [wall]}
  plug: {kind: bulkhead, stock: thick, form: cone, plane: {normal: z, at: 100 * s - 10}, clearance: 1, lies_on: [lid]}
""")
def tapered_box_under_a_lid_with_a_plug(got, s):
    """The plug is marked on the lid as its upper face is, which lies there, and not as its lower one, which is larger."""
    lean = atan(0.25)
    for line, face, high in (("outline", "drawn", 0.0), ("other_outline", "other face", 6.0)):
        yield f"floor, {face}", 125 * s - high / 2, got.extent("floor", line)[0]
    for line, face, low in (("outline", "drawn", 10.0), ("other_outline", "other face", 0.0)):
        yield f"plug, {face}", 75 * s - 2 + low / 2, got.extent("plug", line)[0]
    yield "radius of the line for the plug", 37.5 * s - 1, sqrt(got.lined("lid", "plug")[0] / pi)
    yield "foot", 2 * pi * (62.5 * s + 5 / cos(lean)), got.length("wall", "foot")
    yield "top", 2 * pi * (37.5 * s + 5 / cos(lean)), got.length("wall", "top")


@prop("""\
forms: {}
parts:
  case: {kind: box, stock: thick, size: [80 * s, 200 * s, 150 * s], joint: mitred, without: [back], at: {normal: z, up: x},
    openings: {front: [{circle: {radius: 30 * s, centre: [0, 2 * s]}}]}}
""")
def clock_case_open_behind(got, s):
    """The walls end square behind and mitred in front: both sides, of which one is the mirror image of the other."""
    yield "front, drawn", 200 * s - 20, got.extent("case_front")[0]
    yield "front, other face", 200 * s, got.extent("case_front", "other_outline")[0]
    yield "side, drawn", 80 * s - 10, got.extent("case_left_right")[0]
    yield "side, other face", 80 * s, got.extent("case_left_right", "other_outline")[0]
    yield "bevel in front", 45.0, got.bevels("case_left_right", "front")[0]
    yield "bevel behind", 0.0, got.bevels("case_left_right", "back")[1]
    yield "sides that are mirrored", 1, got.part("case_left_right")["mirrored"]


@prop("""\
forms: {}
parts:
  tray: {kind: box, stock: foam, size: [160 * s, 100 * s + 12, 60 * s], without: [top], at: {normal: z, up: x}}
  divider: {kind: plate, stock: thick, at: {origin: [20 * s, 0, 0], normal: x},
    outline: {rectangle: {width: 100 * s, height: 40 * s - 6, centre: [0, 20 * s + 3]}}}
""")
def tray_with_a_divider(got, s):
    """It stands off the middle, at one place of both sides: one template, its own mirror image for the other side."""
    marks = [mark for mark in got.record["marks"] if (mark["on"], mark["part"]) == ("tray_left_right", "divider")]
    lines = np.concatenate([line for mark in marks for line in mark["lines"]])
    low, high = lines.min(axis=0), lines.max(axis=0)
    rear = np.asarray(got.part("tray_left_right")["outline"])[:, 0].min()
    yield "line on the sides, of all copies", 0, len(marks[0]["copies"])
    yield "lines on the sides", 1, len(marks)
    yield "from the inner face of the rear to the divider", 80 * s - 6 + 20 * s, low[0] - rear
    yield "its thickness", 10.0, high[0] - low[0]
    yield "its height", 40 * s - 6, high[1] - low[1]
    yield "foot of the divider", 100 * s * 10, got.marked("tray_bottom", "divider")[0]


@prop(
    """\
forms:
  pipe: {kind: revolution, axis: z, profile: [[-10, 50 * s], [120 * s, 50 * s]], smooth: false, cuts: {
    foot: {plane: {normal: z, at: 0}}, head: {plane: {normal: z, at: 60 * s}}, low: {plane: {normal: z, at: 40 * s}}, top: {plane: {normal: z, at: 100 * s}}}}
parts:
  wall: {kind: panel, stock: foam, form: pipe, where: {foot: beyond, head: before}, opened: 0}
  collar: {kind: panel, stock: foam, form: pipe, where: {low: beyond, top: before}, over: [wall], opened: 180}
"""
)
def collar_over_the_end_of_a_tube(got, s):
    """Glue goes on the lap alone, 20 s wide: it is marked on both, as long as each is on its neutral line."""
    yield "length of the wall", 2 * pi * (50 * s + 3), got.length("wall", "foot")
    yield "length of the collar", 2 * pi * (50 * s + 9), got.length("collar", "top")
    for part, other, radius in (("wall", "collar", 50 * s + 3), ("collar", "wall", 50 * s + 9)):
        yield f"width of the lap on the {part}", 20 * s, got.marked(part, other)[0] / (2 * pi * radius)


@prop("""\
forms: {}
parts:
  floor: {kind: plate, stock: thick, outline: {rectangle: {width: 160 * s, height: 100 * s}}, at: {normal: z, up: y}}
  wall: {kind: band, stock: foam, from: 0, to: 40, corners: scored,
    along: {outline: {rectangle: {width: 160 * s, height: 100 * s}}, at: {normal: z, up: y}}}
""")
def floor_in_a_folded_strip(got, s):
    """Glue goes on each side from groove to groove: there 6 mm are cut away to both sides of a fold, on the face drawn on."""
    lines = [np.ptp(line, axis=0) for mark in got.record["marks"] for line in mark["lines"]]
    starts = sorted(float(np.max(np.asarray(line)[:, 0])) for mark in got.record["marks"] for line in mark["lines"])
    yield "places on the strip", 4, len(lines)
    for number, (length, width) in enumerate(sorted(map(tuple, lines)), start=1):
        yield f"place {number}, length", 100 * s if number < 3 else 160 * s, length
        yield f"place {number}, width", 10.0, width
    for number, start in enumerate(reversed(starts), start=1):
        before = (0, 160, 260, 420)[number - 1] * s + 12 * (number - 1)
        yield f"place {number}, from the end of the foam", before + 6, -start


@prop("""\
forms: {}
parts:
  cheek: {kind: plate, stock: thick, at: {origin: [0, 60 * s, 0], normal: -y, up: z}, mirror: y, outline: {path: {
    from: [-100 * s, 0], steps: [[100 * s, 0], [100 * s, 40 * s], {to: [40 * s, 70 * s], through: [72 * s, 50 * s]},
    [-100 * s, 70 * s]]}}}
  board: {kind: band, stock: foam, from: -60 * s, to: 60 * s, corners: scored,
    span: {points: [[100 * s, 40 * s], [-100 * s, 70 * s]]}, along: {at: {normal: -y, up: z}, outline: {path: {
    from: [-100 * s, 0], steps: [[100 * s, 0], [100 * s, 40 * s], {to: [40 * s, 70 * s], through: [72 * s, 50 * s]},
    [-100 * s, 70 * s]]}}}}
""")
def seat_bent_and_folded_over_two_cheeks(got, s):
    """A hollow arc and a straight leg meet in a ridge: both cheeks stand to both sides of the groove and not in it."""
    a, b, c = np.array([100, 40]) * s, np.array([72, 50]) * s, np.array([40, 70]) * s
    sides = [float(np.hypot(*side)) for side in (b - a, c - b, c - a)]
    twice = abs((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0])
    radius = sides[0] * sides[1] * sides[2] / (2 * twice)  # of the circle through three points
    half = asin(sides[2] / 2 / radius)
    turn = atan2(30, 60) + half  # the chord's slope and the arc's last half, from level
    arc, groove = (radius - 3) * 2 * half, 12 * tan(turn / 2)  # on the neutral line; on the face drawn on
    yield "length", arc + 140 * s + groove, max(got.extent("board"))
    lines = [np.asarray(line) for mark in got.record["marks"] for line in mark["lines"]]
    yield "places", 4, len(lines)
    lines.sort(key=lambda line: float(line[:, 0].max()))
    for line, leg in zip(lines, (140 * s, 140 * s, arc, arc)):
        start, (length, width) = float(line[:, 0].max()), np.ptp(line, axis=0)
        yield f"cheek's place of {leg:.0f} mm, width", 10.0, width
        yield f"cheek's place of {leg:.0f} mm, length", leg, length
        yield f"cheek's place of {leg:.0f} mm, from the end", 0.0 if leg == arc else arc + groove, -start


@prop("""\
forms: {}
parts:
  shell: {kind: band, stock: foam, from: -60 * s, to: 60 * s, corners: mitred, span: {shares: [0, 0.5]},
    along: {outline: {rectangle: {width: 100 * s, height: 40 * s}}, at: {normal: z}}}
""")
def hood_of_pieces_that_are_wider_than_long(got, s):
    """Half of what goes round: a whole side and halves of its neighbours, each longer outside by 6 mm at a mitre."""
    pieces = got.part("shell")["split"]["segments"]
    for number, (piece, mitres) in enumerate(zip(pieces, (1, 2, 1)), start=1):
        inner = np.ptp(np.asarray(piece["outline"]), axis=0)
        outer = np.ptp(np.asarray(piece["other_outline"]), axis=0)
        yield f"piece {number}, width", 120 * s, inner[1]
        yield f"piece {number}, longer outside", 6 * mitres, outer[0] - inner[0]


BRIM = ((-30, 60), (0, 60), (4, 95), (50, 80))


@prop("""\
forms:
  hat: {kind: revolution, axis: z, smooth: false, profile: [[-30 * s, 60 * s], [0, 60 * s], [4 * s, 95 * s], [50 * s, 80 * s]],
    cuts: {low: {plane: {normal: z}}, high: {plane: {normal: z, at: 4 * s}}, half: {plane: {normal: x}}}}
parts:
  brim: {kind: panel, stock: thin, form: hat, where: {low: beyond, high: before, half: beyond}, mirror: x}
""")
def brim_that_hardly_rises_from_the_planes_of_its_cuts(got, s):
    lean = [atan2(b[1] - a[1], b[0] - a[0]) for a, b in pairwise(BRIM)]
    ends = []
    for edge, (at, radius), before, after in zip(("low", "high"), BRIM[1:], lean, lean[1:]):
        middle, half = (before + after) / 2, (after - before) / 2
        ends.append((at * s - sin(middle) / cos(half), radius * s + cos(middle) / cos(half)))
        yield edge, pi * ends[-1][1], got.length("brim", edge)
        yield f"bevel at {edge}", -degrees(half), got.bevels("brim", edge)[0]
    yield "side", hypot(*np.subtract(*ends)), got.length("brim", "half.1")


@prop("""\
forms: {}
parts:
  tray: {kind: box, stock: foam, size: [120 * s, 80 * s, 60 * s], without: [top],
    openings: {front: [{circle: {radius: 4 * s}}]}}
""")
def opening_in_the_middle_of_a_side_without_a_lid_over_it(got, s):
    """The wall stands on the bottom, so that the middle of the side lies below its own."""
    wall = got.part("tray_front")
    outline, hole = (np.asarray(line) for line in (wall["outline"], wall["holes"][0]))
    below, above = (np.abs(hole.mean(axis=0) - end) for end in (outline.min(axis=0), outline.max(axis=0)))
    yield "to the nearer edge", 30 * s - 6, min(*below, *above)
    yield "height of the wall", 60 * s - 6, min(got.extent("tray_front"))

"""Small packs and the ways in which each is spoilt, so that the virtual build has something to catch."""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.classes.props import HEAD as SCALED
from tests.parts.flat_designs import HEAD
from tests.parts.test_seams_round_a_tip import NOSE
from tests.proof.sound import PROPS as SOUND
from tests.proof.test_folded import RECTANGLE, prop
from tests.proof.test_over_form import CAP
from tests.proof.test_virtual_build import FORM, OPEN, PARTS, TRAY, TUBE, edge, moved, part

# a tube of two halves with discs in it, and a hoop round it
HOOPED = OPEN + (
    "  hoop: {kind: band, stock: foam, along: {outline: {circle: {radius: 86}}, "
    "at: {origin: [0, 0, 62], normal: z}}, from: 0, to: 14, laid: outside}\n"
)
# a board with a hole in it, and a lopsided ear on either side with a stud outside
EARS = (
    "  board: {kind: plate, stock: thick, outline: {rectangle: {width: 160, height: 100}, "
    "minus: [{circle: {radius: 8, centre: [50, 20]}}]}, at: {origin: [0, 0, 0], normal: z, up: y}}\n"
    "  ear: {kind: plate, stock: foam, outline: {polygon: {points: [[-60, 0], [40, 0], [60, 70], [-20, 40]]}}, "
    "at: {origin: [0, 40, 10], normal: y, up: z}, mirror: y}\n"
    "  stud: {kind: disc, stock: foam, radius: 8, at: {origin: [10, 46, 35], normal: y}, lies_on: [ear], mirror: y}\n"
)
# a bowl of four quarters with darts, and its bottom
BOWL_FORM = (
    "forms:\n"
    "  pot:\n"
    "    {kind: superellipsoid, centre: [0, 0, 0], radii: [90, 90, 80],\n"
    "     cuts: {rim: {plane: {normal: z, at: 45}}, q: {plane: {normal: x}}, h: {plane: {normal: y}}, "
    "foot: {plane: {normal: z, at: -60}}}}\n"
)
BOWL = (
    "  wall: {kind: panel, stock: foam, form: pot, where: {rim: before, foot: beyond, q: beyond, h: beyond}, darts: auto, "
    "repeat: {around: {axis: z, count: 4}}}\n"
    "  bottom: {kind: bulkhead, stock: foam, form: pot, plane: {normal: z, at: -60}, after: [wall]}\n"
)
ROUND = HEAD.replace("forms:\n", FORM, 1)
PACKS = {
    "can, crate, belt": (HEAD, PARTS),
    "tube of two thicknesses": (ROUND, TUBE),
    "tube with discs and a hoop": (ROUND, HOOPED),
    "butted tray": (HEAD, TRAY),
    "board with ears": (HEAD, EARS),
    "bowl with darts": (HEAD.replace("forms:\n", BOWL_FORM, 1), BOWL),
    "tray with a scored belt": (SCALED, prop(RECTANGLE, "scored")),
    "cap without corners": (SCALED, CAP),
    "post in a notch": (SCALED, SOUND["mitred post in a notch of a shelf"]),
    "cone on a tube": (SCALED, SOUND["cone on a tube of other foam"]),
    "gores round a tip": (NOSE.format(count=4, scale=1, half=45, opened=180), ""),
    "rings of two foams": (SCALED, SOUND["rings of two foams"]),
    "drum": (SCALED, SOUND["drum with a wall round its floor"]),
}


@dataclass(frozen=True)
class Sabotage:
    """What is done to the record of a pack, and words of the fault that must come of it; none if it is not caught."""

    name: str
    pack: str
    spoil: Callable[[dict[str, Any]], None]
    told: str

    def of(self, record: dict[str, Any]) -> dict[str, Any]:
        spoilt = copy.deepcopy(record)
        self.spoil(spoilt)
        return spoilt


def _flip_bevel(record):
    edge(record, "can_side", "left")["bevel"] = -30.0


def _swap_faces(record, name, bevels):
    own = part(record, name)
    own["outline"], own["other_outline"] = own["other_outline"], own["outline"]
    for one in own["edges"]:
        if bevels:
            one["bevel"] = -one["bevel"]
            one["ends"] = [
                min(own["outline"], key=lambda p, e=end: (p[0] - e[0]) ** 2 + (p[1] - e[1]) ** 2) for end in one["ends"]
            ]


def _middle_line(record):
    own = part(record, "can_side")
    middle = [[(a + c) / 2, (b + d) / 2] for (a, b), (c, d) in zip(own["outline"], own["other_outline"])]
    shift = dict(zip(map(tuple, own["outline"]), middle))
    for one in own["edges"]:
        one["ends"] = [shift.get(tuple(end), end) for end in one["ends"]]
    own["outline"] = middle


def _wrong_face(record):
    next(m for m in record["marks"] if m["on"] == "lid" and m["part"] == "can_side")["face"] = "outside"


def _moved_mark(record):
    for mark in record["marks"]:
        if mark["on"] == "lid" and mark["part"] == "can_side" and mark["of"] == [[1, 1]]:
            mark["lines"] = [[[x + 10.0, y + 10.0] for x, y in line] for line in mark["lines"]]


def _line_moved(record, on, part_id, x, y):
    """All lines on a part for another, by so many mm."""
    for mark in record["marks"]:
        if (mark["on"], mark["part"]) == (on, part_id):
            mark["lines"] = [[[a + x, b + y] for a, b in line] for line in mark["lines"]]


def _thicknesses(record, a, b):
    one, other = part(record, a), part(record, b)
    one["thickness"], other["thickness"] = other["thickness"], one["thickness"]


def _swap(record, a, b):
    one, other = part(record, a), part(record, b)
    for key in ("outline", "other_outline"):
        one[key], other[key] = other[key], one[key]
    for mine, theirs in zip(one["edges"], other["edges"]):
        mine["ends"], theirs["ends"] = theirs["ends"], mine["ends"]
        mine["length"], theirs["length"] = theirs["length"], mine["length"]


def _one_length(record):
    """Half hoops of 10 mm on 6 mm, whose middles are 83 and 85 mm from the axis, both cut to the mean length."""
    for name, radius in (("low", 83), ("high", 85)):
        moved(record, name, lambda x, y, r=radius: (x * 84 / r, y))


def _longer(record, by):
    """The hoop, and what is told of what it touches, which lies on its paper."""
    moved(record, "hoop", lambda x, y: (by * x, y))
    for own in record["touched"]:
        if own["part"] == "hoop":
            own["lines"] = [[[by * x, y] for x, y in line] for line in own["lines"]]


def _wider(record, by):
    for name in ("a", "b"):
        moved(record, name, lambda x, y: (by * x, y))


def _smaller(record, name, by):
    """All of a round part's lines nearer to its middle by so many mm."""
    own = part(record, name)
    xs, ys = zip(*own["outline"])
    middle = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2

    def nearer(x, y):
        dx, dy = x - middle[0], y - middle[1]
        share = 1.0 - by / (dx * dx + dy * dy) ** 0.5
        return middle[0] + share * dx, middle[1] + share * dy

    moved(record, name, nearer)


def _hole_moved(record, by):
    own = part(record, "board")
    for key in ("holes", "other_holes"):
        own[key] = [[[x + by, y] for x, y in ring] for ring in own[key]]
    for one in own["edges"]:
        if one["id"].startswith("hole"):
            one["ends"] = [[x + by, y] for x, y in one["ends"]]
            one["ticks"] = [{**tick, "at": [tick["at"][0] + by, tick["at"][1]]} for tick in one["ticks"]]


def _hole_mirrored(record):
    """The hole where the mirror image of its board has it, as if it were cut in the wrong one of a pair."""
    own = part(record, "board")
    for key in ("holes", "other_holes"):
        own[key] = [[[-x, y] for x, y in ring][::-1] for ring in own[key]]
    for one in own["edges"]:
        if one["id"].startswith("hole"):
            one["ends"] = [[-x, y] for x, y in one["ends"]]
            one["ticks"] = [{**tick, "at": [-tick["at"][0], tick["at"][1]]} for tick in one["ticks"]]


def _line_turned(record, on, part_id):
    """All lines on a part for another, by a right angle about their middle."""
    for mark in record["marks"]:
        if (mark["on"], mark["part"]) == (on, part_id):
            every = np.vstack([np.asarray(line) for line in mark["lines"]])
            a, b = (every.min(axis=0) + every.max(axis=0)) / 2
            mark["lines"] = [[[a - (y - b), b + (x - a)] for x, y in line] for line in mark["lines"]]


def _groove_turned(record, count):
    """The first grooves of a strip cut from its other face."""
    for fold in part(record, "belt")["folds"][:count]:
        fold["turn"] = -fold["turn"]


def _other_hand(record):
    """Of the pair the right one is cut as the left one should be, and the left one as the right one."""
    own = part(record, "ear")
    own["mirror_images"] = [n for n in (1, 2) if n not in own["mirror_images"]]


def _wedge(ring, dart):
    """The numbers of the points of a line from one end of a dart's mouth over its tip to the other."""
    i, j = sorted(int(np.linalg.norm(ring - mouth, axis=1).argmin()) for mouth in dart["mouth"])
    return np.arange(i, j + 1) if 2 * (j - i) <= len(ring) else np.arange(j, len(ring) + i + 1) % len(ring)


def _dart_moved(record, by):
    """The first dart, as it is, along the edge that it is cut from."""
    own = part(record, "wall")
    dart = own["darts"][0]
    for key in ("outline", "other_outline"):
        ring = np.asarray(own[key])
        wedge = _wedge(ring, dart)
        step = ring[wedge[0]] - ring[wedge[0] - 1]
        shift = by * step / np.linalg.norm(step)
        after = ring[(wedge[-1] + np.arange(1, len(ring) - len(wedge) + 1)) % len(ring)]
        free = (after - ring[wedge[-1]]) @ shift / by > by
        own[key] = np.vstack([ring[wedge] + shift, after[free | (np.cumsum(free) > 0)]]).tolist()
    dart["mouth"] = (np.asarray(dart["mouth"]) + shift).tolist()
    dart["tip"] = (np.asarray(dart["tip"]) + shift).tolist()


def _dart_short(record, by):
    """The first dart with its tip nearer to its mouth, so that both legs are still of one length."""
    own = part(record, "wall")
    dart = own["darts"][0]
    tip, mouth = np.asarray(dart["tip"]), np.asarray(dart["mouth"]).mean(axis=0)
    for key in ("outline", "other_outline"):
        ring = np.asarray(own[key])
        wedge = _wedge(ring, dart)
        high = np.clip((ring[wedge] - mouth) @ (tip - mouth) / ((tip - mouth) @ (tip - mouth)), 0.0, 1.0)
        ring[wedge] -= high[:, None] * by * (tip - mouth) / np.linalg.norm(tip - mouth)
        own[key] = ring.tolist()
    dart["tip"] = (tip - by * (tip - mouth) / np.linalg.norm(tip - mouth)).tolist()


def _far_line(record, name, by):
    """The line of the face that is not drawn on, larger by that share about its middle."""
    ring = np.asarray(part(record, name)["other_outline"])
    middle = (ring.min(axis=0) + ring.max(axis=0)) / 2
    part(record, name)["other_outline"] = (middle + by * (ring - middle)).tolist()


def _drawn_as_one(record, on, name):
    """The lines of all copies for a part where those of the first are."""
    own = [mark for mark in record["marks"] if (mark["on"], mark["part"]) == (on, name)]
    own[0]["of"], own[0]["copies"] = [pair for mark in own for pair in mark["of"]], []
    record["marks"] = [mark for mark in record["marks"] if mark not in own[1:]]


def _enlarged(record, by, names=()):
    """All lines of some parts, or of all, larger by that share: what a printer does that fits pages to its paper."""
    for own in record["parts"]:
        if not names or own["id"] in names:
            moved(record, own["id"], lambda x, y: (by * x, by * y))
            for dart in own["darts"]:
                dart["opening"] *= by
                dart["mouth"], dart["tip"] = (np.asarray(dart[key]) * by for key in ("mouth", "tip"))
                dart["mouth"], dart["tip"] = dart["mouth"].tolist(), dart["tip"].tolist()
    for mark in record["marks"]:
        if not names or mark["on"] in names:
            mark["lines"] = [[[by * x, by * y] for x, y in line] for line in mark["lines"]]
    for own in record["touched"]:
        if not names or own["part"] in names:
            own["lines"] = [[[by * x, by * y] for x, y in line] for line in own["lines"]]


def _straight(record, name, edge_id):
    """An edge that is a curve on the paper cut straight from end to end, on both faces."""
    own = part(record, name)
    begin, end = (np.asarray(e) for e in edge(record, name, edge_id)["ends"])
    for key in ("outline", "other_outline"):
        ring = np.asarray(own[key])
        i, j = (int(np.linalg.norm(ring - e, axis=1).argmin()) for e in (begin, end))
        run = np.arange(i, i + (j - i) % len(ring) + 1) % len(ring)
        ring[run] = ring[i] + np.linspace(0.0, 1.0, len(run))[:, None] * (ring[j] - ring[i])
        own[key] = ring.tolist()


def _turned_over(record, name):
    """A part cut from its paper laid with its face down."""
    moved(record, name, lambda x, y: (-x, y))
    own = part(record, name)
    for key in ("outline", "other_outline"):
        own[key] = own[key][::-1]
    for key in ("holes", "other_holes"):
        own[key] = [[[-x, y] for x, y in ring][::-1] for ring in own[key]]
    for one in own["edges"]:
        one["ends"] = one["ends"][::-1]


def _tick_moved(record, name, edge_id, by):
    tick = edge(record, name, edge_id)["ticks"][0]
    tick["at"] = [tick["at"][0] + by, tick["at"][1]]


def _seam_left_out(record, a, b):
    """The last of those that two parts have, as if one copy met the other nowhere."""
    last = [seam for seam in record["seams"] if {seam["a"]["part"], seam["b"]["part"]} == {a, b}][-1]
    record["seams"].remove(last)


def _ticks_counted_back(record, name, edge_id):
    ticks = edge(record, name, edge_id)["ticks"]
    for tick, number in zip(ticks, [tick["number"] for tick in reversed(ticks)]):
        tick["number"] = number


def _tick_along(record, name, edge_id, by):
    """To another point of its line, so many further on."""
    tick, line = edge(record, name, edge_id)["ticks"][0], np.array(part(record, name)["outline"])
    tick["at"] = line[(np.linalg.norm(line - tick["at"], axis=1).argmin() + by) % len(line)].tolist()


def _ticks_moved(record, name, edge_id, by):
    """All ticks of one edge of a seam, and none of the other."""
    for tick in edge(record, name, edge_id)["ticks"]:
        tick["at"] = [tick["at"][0] + by, tick["at"][1]]


def _dart_wider(record, by):
    """Both legs of the first dart turned about its tip, and what lies between them and the rest of the edge taken away."""
    own = part(record, "wall")
    dart = own["darts"][0]
    tip, mouth = np.asarray(dart["tip"]), np.asarray(dart["mouth"])
    middle, way = mouth.mean(axis=0), (mouth[1] - mouth[0]) / np.linalg.norm(mouth[1] - mouth[0])
    for key in ("outline", "other_outline"):
        ring = np.asarray(own[key])
        wedge = _wedge(ring, dart)
        high = np.clip((ring[wedge] - middle) @ (tip - middle) / ((tip - middle) @ (tip - middle)), 0.0, 1.0)
        legs = ring[wedge] + ((1.0 - high) * np.sign((ring[wedge] - middle) @ way))[:, None] * by / 2 * way
        rest = ring[(wedge[-1] + np.arange(1, len(ring) - len(wedge) + 1)) % len(ring)]
        free = np.minimum(*(np.linalg.norm(rest - ring[end], axis=1) for end in wedge[[0, -1]])) > by
        own[key] = np.vstack([legs, rest[free]]).tolist()
    dart["mouth"] = (mouth + np.array([[-by / 2], [by / 2]]) * way).tolist()


def _stocks_swapped(record):
    """Foam of 10 mm wherever 6 is due, and of 6 wherever 10 is."""
    other = {6.0: 10.0, 10.0: 6.0}
    for own in record["parts"]:
        own["thickness"] = other.get(own["thickness"], own["thickness"])


def _wrong_copy(record, on, name):
    """Lines for the first copy of a part are said to be for the second, and the other way round."""
    for mark in record["marks"]:
        if (mark["on"], mark["part"]) == (on, name):
            mark["of"] = [[lower, 3 - upper] for lower, upper in mark["of"]]


def _hole_wider(record, by):
    own = part(record, "board")
    for key in ("holes", "other_holes"):
        for number, ring in enumerate(own[key]):
            points = np.asarray(ring)
            middle = points.mean(axis=0)
            own[key][number] = (middle + (points - middle) * (8.0 + by) / 8.0).tolist()


def _thickness(record, name, by):
    part(record, name)["thickness"] = by


def _steeper(record, name, edge_id, by):
    edge(record, name, edge_id)["bevel"] += by


SABOTAGES = (
    Sabotage("a bevel's sign", "can, crate, belt", _flip_bevel, "but its two lines make"),
    Sabotage("a bevel's sign, lines and words", "can, crate, belt", lambda r: _swap_faces(r, "can_side", True), "comes out"),
    Sabotage("the line of the other face", "can, crate, belt", lambda r: _swap_faces(r, "crate_top_bottom", False), "two lines make"),
    Sabotage("the line at mid-thickness drawn", "can, crate, belt", _middle_line, "but its two lines make"),
    Sabotage("one seam 2 mm long", "can, crate, belt", lambda r: moved(r, "crate_front_back", lambda x, y: (x + (2.0 if x > 0 else 0.0), y)), "differ by 2.00 mm"),
    Sabotage("a band 5 % long about a plate", "can, crate, belt", lambda r: moved(r, "belt", lambda x, y: (1.05 * x, y)), "go round"),
    Sabotage("a band's corners rounded", "can, crate, belt", lambda r: moved(r, "belt", lambda x, y: (621.8 / 398.248 * x, y)), "go round"),
    Sabotage("a band 5 % long about a tube", "tube with discs and a hoop", lambda r: _longer(r, 1.05), "over each other where it goes round"),
    Sabotage("a band 5 % short about a tube", "tube with discs and a hoop", lambda r: _longer(r, 0.95), "apart where it goes round"),
    Sabotage("a mark on the wrong face", "can, crate, belt", _wrong_face, "it is on the outside, but it touches inside"),
    Sabotage("a mark moved by 14 mm", "can, crate, belt", _moved_mark, "from where that stands in the model"),
    Sabotage("lines on a flat part 5 mm off", "can, crate, belt", lambda r: _line_moved(r, "lid", "can_side", 5.0, 0.0), "from where that stands in the model"),
    Sabotage("lines on bent foam 5 mm off", "tube with discs and a hoop", lambda r: _line_moved(r, "a", "floor", 0.0, 5.0), "from where that stands in the model"),
    Sabotage("unlike thicknesses swapped", "tube of two thicknesses", lambda r: _thicknesses(r, "low", "high"), "on the line where they touch"),
    Sabotage("a swapped pair of mitred walls", "can, crate, belt", lambda r: _swap(r, "crate_front_back", "crate_left_right"), "edges differ"),
    Sabotage("swapped walls of a butted box", "butted tray", lambda r: _swap(r, "crate_front_back", "crate_left_right"), "on its paper, but"),
    Sabotage("unlike thickness in one length", "tube of two thicknesses", _one_length, "on the line where they touch"),
    Sabotage("half a hoop 2 mm long beside one of another thickness", "tube of two thicknesses", lambda r: moved(r, "high", lambda x, y: (x * (1.0 + 2.0 / 267.0), y)), "on the line where they touch"),
    Sabotage("an open tube half as wide again as its discs", "tube with discs and a hoop", lambda r: _wider(r, 1.5), "in the model"),
    Sabotage("a hoop 3 mm long", "tube with discs and a hoop", lambda r: _longer(r, 1.0 + 3.0 / 555.0), "over each other where it goes round"),
    Sabotage("a bulkhead 3 mm small", "tube with discs and a hoop", lambda r: _smaller(r, "floor", 3.0), "from that of the model"),
    Sabotage("a hole moved by 5 mm", "board with ears", lambda r: _hole_moved(r, 5.0), "hole 1 of its paper is"),
    Sabotage("a hole over its edge", "board with ears", lambda r: _hole_moved(r, -30.0), "its cut lines cross or lie outside each other near (-80,"),
    Sabotage("a pair cut with its hands swapped", "board with ears", _other_hand, "from that of the model"),
    Sabotage("a bevel 5 degrees too steep", "can, crate, belt", lambda r: _steeper(r, "can_side", "left", 5.0), "but its two lines make"),
    Sabotage("a disc enlarged by 2 %", "can, crate, belt", lambda r: _enlarged(r, 1.02, ("lid",)), "from that of the model"),
    Sabotage("all paper enlarged by 2 %", "can, crate, belt", lambda r: _enlarged(r, 1.02), "over each other where it goes round"),
    Sabotage("all paper of a bowl enlarged by 2 %", "bowl with darts", lambda r: _enlarged(r, 1.02), "of the model"),
    Sabotage("bent foam enlarged by 2 %", "bowl with darts", lambda r: _enlarged(r, 1.02, ("wall",)), "is stretched"),
    Sabotage("a wall in foam of 10 mm for 6", "butted tray", lambda r: _thickness(r, "crate_front_back", 10.0), "from that of the model"),
    Sabotage("bent foam of 10 mm for 6", "tube with discs and a hoop", lambda r: _thickness(r, "a", 10.0), "on the line where they touch"),
    Sabotage("a disc of 6 mm for 10", "tube with discs and a hoop", lambda r: _thickness(r, "floor", 6.0), "from that of the model"),
    Sabotage("a board turned over", "board with ears", lambda r: _turned_over(r, "board"), "from that of the model"),
    Sabotage("an edge of bent foam straight for curved", "bowl with darts", lambda r: _straight(r, "wall", "foot"), "from where the design has it"),
    Sabotage("a tick 5 mm off", "tube with discs and a hoop", lambda r: _tick_moved(r, "a", "middle", 5.0), "its edges differ by 5"),
    Sabotage("a hole 1 mm wide all round", "board with ears", lambda r: _hole_wider(r, 1.0), "hole 1 of its paper is"),
    Sabotage("a dart moved by 8 mm", "bowl with darts", lambda r: _dart_moved(r, 8.0), "from where the design has it"),
    Sabotage("a dart moved by 20 mm", "bowl with darts", lambda r: _dart_moved(r, 20.0), "mm long on its paper, and"),
    Sabotage("a dart 30 mm short", "bowl with darts", lambda r: _dart_short(r, 30.0), "is stretched"),
    Sabotage("a dart 3 mm wide", "bowl with darts", lambda r: _dart_wider(r, 3.0), "wide at its mouth"),
    Sabotage("the ticks of one side 3 mm off", "tube with discs and a hoop", lambda r: _ticks_moved(r, "a", "middle", 3.0), "between one end and tick 1"),
    Sabotage("two stocks swapped", "board with ears", _stocks_swapped, "from that of the model"),
    Sabotage("a mirrored piece cut as drawn", "board with ears", lambda r: part(r, "ear").update(mirror_images=[]), "from that of the model"),
    Sabotage("lines for the wrong copy", "board with ears", lambda r: _wrong_copy(r, "board", "ear"), "from where that stands in the model"),
    Sabotage("lines on the wrong one of a pair", "board with ears", lambda r: _wrong_copy(r, "ear", "stud"), "the two do not touch"),
    Sabotage("a hole drilled 4 mm off", "board with ears", lambda r: _hole_moved(r, 4.0), "hole 1 of its paper is"),
    Sabotage("a hole in the wrong one of a pair", "board with ears", _hole_mirrored, "of its paper is"),
    Sabotage("a placement line turned by a right angle", "board with ears", lambda r: _line_turned(r, "board", "ear"), "from where that stands in the model"),
    Sabotage("all grooves of a belt on the wrong face", "tray with a scored belt", lambda r: _groove_turned(r, 4), "go round"),
    Sabotage("one groove of a belt on the wrong face", "tray with a scored belt", lambda r: _groove_turned(r, 1), "go round"),
    Sabotage("a panel without corners enlarged by 3 %", "cap without corners", lambda r: _enlarged(r, 1.03, ("cap",)), "in the model"),
    Sabotage("the far line of a panel without corners 3 mm in", "cap without corners", lambda r: _far_line(r, "cap", 0.95), "but its two lines make"),
    Sabotage("the wall of a drum 1.5 % short", "drum", lambda r: moved(r, "wall", lambda x, y: (0.985 * x, y)), "go round"),
    Sabotage("lines of two copies drawn as one", "post in a notch", lambda r: _drawn_as_one(r, "post_front_back", "shelf"), "from where that stands in the model"),
    Sabotage("ticks of a seam of two foams counted back", "cone on a tube", lambda r: _ticks_counted_back(r, "roof", "foot"), "do not run the same way"),
    Sabotage("the foams of two forms swapped", "cone on a tube", lambda r: _thicknesses(r, "wall", "roof"), "on the line where they touch"),
    Sabotage("a tick of a bevelled edge moved along it", "cone on a tube", lambda r: _tick_along(r, "roof", "foot", 5), "mm past that of the other"),
    Sabotage("a tick of a closed ring moved along it", "rings of two foams", lambda r: _tick_moved(r, "wall", "waist.2", 6.0), "mm past that of the other"),
    Sabotage("a seam of one copy left out", "gores round a tip", lambda r: _seam_left_out(r, "gore", "tip"), "and no seam joins them"),
    Sabotage("a cone enlarged by 1.5 %", "cone on a tube", lambda r: moved(r, "roof", lambda x, y: (1.015 * x, 1.015 * y)), "in the model"),
)  # fmt: skip

"""Small drawings of what is done to edges: a bevel with the blade, a dart closed, ticks that meet. Lengths in mm on paper."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.assembly.records import Inset
from foamwright.booklet.pictures.strokes import FOAM, WORDS, figure, pointed
from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Path, Primitive, Text, Tick
from foamwright.flatten.records import Pattern, PatternDart, PatternEdge
from foamwright.language import length, say
from foamwright.templates.bevels import half_degrees

_BLADE = "#9aa3ad"
_TICKS = 3  # of them have their numbers


def bevel(flare: float, pattern: Pattern) -> Inset:
    """The section of a bevelled edge with the knife in it, the face that is drawn on up and the part to the left.

    `flare` in degrees from square is positive where the lower face is the larger one (`templates.bevels.flare`).
    """
    thick = pattern.piece.stock.thickness
    scale = min(12.0 / thick, 2.0)
    t = scale * thick
    lean = t * np.tan(np.radians(flare))
    x = 18.0 - min(lean, 0.0) / 2.0
    foam = np.array([[1.0, 0.0], [x, 0.0], [x + lean, -t], [1.0, -t]]) + (0.0, -12.0)
    direction = np.array([lean, -t]) / np.hypot(lean, t)
    side = np.array([-direction[1], direction[0]])
    tip = np.array([x, -12.0]) + direction * np.hypot(lean, t)
    top = np.array([x, -12.0]) - direction * 11.5
    blade = np.array([tip, tip + 0.7 * side - 1.5 * direction, top + 0.7 * side, top])
    square = np.array([[x, -1.0], [x, -12.0 - t]])
    turn = np.radians(np.linspace(90.0, 90.0 + flare, 12))
    arc = np.array([x, -12.0]) + 8.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    beside, anchor = (x + 3.0, "start") if flare > 0.0 else (x - 2.5, "end")
    items: tuple[Primitive, ...] = (
        Path(foam, "view", True, pattern.piece.stock.colour),
        Path(square, "fold"),
        Path(blade, "view", True, _BLADE),
        Path(arc, "bevel"),
        Text((beside, -5.0), f"{half_degrees(abs(flare))}°", 3.2, "note", anchor, bold=True),
        figure((8.0, -12.0 - t - 3.2), length(thick)),
    )
    sentence = (
        say(
            "A bevel of {angle}° on {part}, lower face larger: lean the handle over the part.",
            angle=half_degrees(abs(flare)),
            part=pattern.piece.label,
        )
        if flare > 0.0
        else say(
            "A bevel of {angle}° on {part}, lower face smaller: lean the handle away from the part.",
            angle=half_degrees(abs(flare)),
            part=pattern.piece.label,
        )
    )
    return Inset(items, 12.0 + t + 4.2, sentence)


def dart(cut: PatternDart, pattern: Pattern) -> Inset:
    """A dart open as it is cut, and closed."""
    legs = [np.asarray(leg, float) for leg in (cut.leg_a, cut.leg_b)]
    mouth, tip = (legs[0][0] + legs[1][0]) / 2.0, (legs[0][-1] + legs[1][-1]) / 2.0
    down = (tip - mouth) / np.linalg.norm(tip - mouth)
    across = np.array([-down[1], down[0]])
    flat = [np.column_stack([(leg - mouth) @ across, -(leg - mouth) @ down]) for leg in legs]
    if flat[0][0, 0] > flat[1][0, 0]:
        flat.reverse()
    scale = min(20.0 / max(cut.depth, 1e-9), 9.0 / max(cut.opening, 1e-9))
    half, deep = 9.0, scale * cut.depth
    items: list[Primitive] = []
    for middle, legs_here in ((10.0, flat), (33.0, [np.column_stack([np.zeros(2), [0.0, -cut.depth]])])):
        box = np.array([[-half, 0.0], [half, 0.0], [half, -deep - 4.0], [-half, -deep - 4.0]]) + (middle, -3.0)
        items.append(Path(box, "shade", True, FOAM))
        if len(legs_here) == 2:
            wedge = scale * np.vstack([legs_here[0], legs_here[1][::-1]]) + (middle, -3.0)
            items.append(Path(wedge, "view", True, "#ffffff"))
            for sign in (-1.0, 1.0):
                start = np.array([middle + sign * (half - 0.5), -1.2])
                end = np.array([middle + sign * scale * cut.opening / 2.0, -1.2])
                items += pointed(start, end)
        else:
            items.append(Path(scale * legs_here[0] + (middle, -3.0), "view-new"))
    items += pointed(np.array([20.0, -3.0 - deep / 2.0]), np.array([23.0, -3.0 - deep / 2.0]))
    said = say(
        "A dart of {part}, {deep} deep and {wide} wide at its mouth.",
        part=pattern.piece.label,
        deep=length(cut.depth),
        wide=length(cut.opening),
    )
    return Inset(tuple(items), deep + 7.5, said)


def seam(own: Sequence[Pattern]) -> tuple[PatternEdge, Pattern, PatternEdge, Pattern] | None:
    """The two edges of a seam of the parts that is long enough to have ticks; both may belong to one part."""
    edges: dict[str, list[tuple[PatternEdge, Pattern]]] = {}
    for pattern in own:
        for edge in pattern.edges:
            if edge.seam is not None and len(edge.ticks) >= 2:
                edges.setdefault(edge.seam, []).append((edge, pattern))
    for pair in edges.values():
        (one, first), (other, second) = pair[0], pair[-1]
        if len(pair) > 1 or first.piece.id in one.joins:
            return one, first, other, second
        # the other side has several seams, as the alike ends of a box do, and names another of them
        beside = [
            (edge, pattern)
            for pattern in own
            for edge in pattern.edges
            if pattern.piece.id in one.joins and first.piece.id in edge.joins and edge.tick_numbers == one.tick_numbers
        ]
        if beside:
            return one, first, *beside[0]
    return None


def ticks(one: PatternEdge, first: Pattern, other: PatternEdge, second: Pattern) -> Inset:
    """The two edges of a seam stretched out, their ticks in true distances, one against the other."""
    scale = 40.0 / max(one.length, other.length)
    items: list[Primitive] = []
    lowest = [np.argmin(edge.tick_numbers) > len(edge.ticks) / 2 for edge in (one, other)]
    shared = sorted({*one.tick_numbers} & {*other.tick_numbers})
    few = (
        {shared[i] for i in np.linspace(0, len(shared) - 1, min(_TICKS, len(shared))).astype(int)} if shared else set()
    )
    for edge, sign, middle in ((one, 1.0, -8.0), (other, -1.0, -10.0)):
        back = edge is other and lowest[0] != lowest[1]  # the two run against each other along the seam
        long = scale * edge.length
        body = np.array(
            [[2.0, middle], [2.0 + long, middle], [2.0 + long, middle + sign * 6.0], [2.0, middle + sign * 6.0]]
        )
        items.append(Path(body, "shade", True, FOAM))
        items.append(Path(body[:2], "view-new"))
        for k, at in enumerate(edge.ticks):
            x = 2.0 + scale * (edge.length - float(at) if back else float(at))
            items.append(Tick((x, middle), (x, middle + sign * 2.0), "tick"))
            if edge.tick_numbers[k] in few:
                y = middle + (2.5 if sign > 0 else -2.5 - 0.72 * WORDS)
                number = str(edge.tick_numbers[k])
                half = text_width(number, WORDS) / 2.0
                inside = float(np.clip(x, 2.0 + half, 2.0 + long - half))  # that of a tick at the end as well
                items.append(figure((inside, y), number))
    if first is second and first.piece.closes_itself(one.id, other.id):
        said = say("Ticks with the same number meet where the two ends of {part} are joined.", part=first.piece.label)
    elif first is second:
        said = say(
            "Ticks with the same number meet all along the seam from one {part} to the next.", part=first.piece.label
        )
    else:
        labels = {"one": first.piece.label, "other": second.piece.label}
        said = say("Ticks with the same number meet all along the seam of {one} and {other}.", **labels)
    return Inset(tuple(items), 17.0, said)

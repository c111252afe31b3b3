"""Templates of the kinds that a prop has, made up for the tests: panel, banana, rings, strips, plates."""

from types import SimpleNamespace

import numpy as np
from shapely import Polygon

from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Drawing, Path, Text, Tick
from foamwright.layout.records import PackInfo
from foamwright.templates.records import Template

INFO = PackInfo("Lantern fish", "1.2.0", "adult", "CC BY 4.0", "For a figure of 1.60 to 1.80 m.", "A. Maker")


def template(number, name, outline, holes=(), quantity=1, mirrored=0, extra=()):
    label = chr(ord("A") + number)
    piece = SimpleNamespace(
        id=f"part-{number}",
        label=label,
        name=name,
        quantity=quantity,
        mirrored=mirrored,
        cut_mirrored=mirrored,
        body=None,
    )
    outline = np.asarray(outline, float)
    items = [Path(outline, "cut", True), *(Path(h, "cut-inner", True) for h in holes), *extra]
    x, y = outline.mean(axis=0)
    items.append(Text((x, y), f"{label}  {name}", 5.0, anchor="middle", bold=True))
    items.append(Text((x, y - 5.0), f"cut {quantity}, inside face up", 3.0, anchor="middle"))
    sides = np.roll(outline, -1, axis=0) - outline
    lengths = np.hypot(*sides.T)
    starts = np.concatenate([[0.0], np.cumsum(lengths)])
    heading = Polygon(np.vstack([text_box(i) for i in items if isinstance(i, Text)])).convex_hull.buffer(1.0)
    for tick, at in enumerate(np.arange(10.0, starts[-1], 70.0), start=1):
        k = int(np.searchsorted(starts, at, side="right")) - 1
        along = sides[k] / lengths[k]
        inward = np.array([-along[1], along[0]])
        foot = outline[k] + along * (at - starts[k])
        number = Text(tuple(foot + 6.5 * inward), f"{label}{tick}", 2.4, "tick", "middle")
        if not heading.intersects(Polygon(text_box(number))):
            items += [Tick(tuple(foot), tuple(foot + 4.0 * inward)), number]
    corners = np.vstack([outline, *(text_box(i) for i in items if isinstance(i, Text))])
    bounds = (*corners.min(axis=0), *corners.max(axis=0))
    pattern = SimpleNamespace(piece=piece, holes=tuple(map(np.asarray, holes)), darts=())
    return Template(pattern, Drawing(tuple(items)), bounds, outline)


def oval(a, b, power=2.0, centre=(0.0, 0.0), count=120):
    t = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    c, s = np.cos(t), np.sin(t)
    shape = np.column_stack([a * np.sign(c) * abs(c) ** (2 / power), b * np.sign(s) * abs(s) ** (2 / power)])
    return shape + centre


def strip(length, width):
    return np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])


def templates():
    x = np.linspace(-310.0, 310.0, 60)
    middle, half = 120.0 * (x / 310.0) ** 2, 85.0 * np.sqrt(1.0 - (x / 312.0) ** 2)
    banana = np.vstack([np.column_stack([x, middle - half]), np.column_stack([x, middle + half])[::-1]])
    turn = np.array([[0.8, 0.6], [-0.6, 0.8]])
    return [
        template(0, "side panel", oval(200, 90, 2.3), quantity=2, mirrored=1),
        template(1, "belly panel", banana),
        template(2, "rim ring", oval(90, 90), [oval(70, 70)], quantity=2),
        template(3, "end disc", oval(60, 60), quantity=2),
        template(4, "long strip", strip(700, 30), quantity=4),
        template(5, "lip strip", strip(560, 24)),
        template(6, "bulkhead", oval(110, 75, 3), [oval(12, 12, centre=(60, 0))]),
        template(7, "fin", np.array([[0, 0], [120, 0], [90, 80], [60, 95]]), quantity=4, mirrored=2),
        template(8, "small plate", oval(40, 30, 2.5)),
        template(9, "spacer", strip(60, 25), quantity=6),
        template(10, "floor", oval(310, 240, 2.6), [oval(40, 40, centre=(100, 0))]),
        template(11, "diagonal bar", (strip(240, 35) - (120, 17)) @ turn),
    ]

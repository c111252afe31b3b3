"""The few things that every page and file is made of, in mm, y up, each on a named layer.

SVG, PDF and DXF are writers over these, so the formats cannot disagree.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from foamwright.language import phrase

# What each layer is for. Writers give each its line type and width (generator/foamwright/drawing/style.py).
LAYERS = {
    "cut": phrase("cut through here"),
    "cut-inner": phrase(
        "closed within a part: cut this hole out; at the tip of a dart it is a ring of 2 mm: punch it first"
    ),
    "other-face": phrase(
        "the line of the lower face, where the blade comes out of a bevelled edge: do not cut along it"
    ),
    "mark": phrase("a part is glued on here, on this face: draw it on the foam"),
    "mark-other": phrase("a part is glued on here, on the other face: prick it through the foam"),
    "rest": phrase("a part rests here, on this face, without glue"),
    "rest-other": phrase("a part rests here, on the other face, without glue"),
    "laid": phrase("a V beside a line, for this face: the V at the edge of the part that lies there comes against it"),
    "laid-other": phrase(
        "a V beside a line, for the other face: prick it through; the V at the edge of the part that lies there comes against it"
    ),
    "engrave": phrase("engrave or draw this on the outside face"),
    "pin": phrase("alignment pin, 3 mm: pierce every layer of a laminated part here"),
    "tick": phrase(
        "short lines and a V at the cut line: match ticks, the middle of an edge, and what meets a V beside a line on another "
        "part: draw them, do not cut them"
    ),
    "seam-end": phrase("a T at the cut line: one seam ends here and the next begins: draw it, do not cut it"),
    "touch": phrase("as far as this an edge is glued, where the rest of it stands free"),
    "fold": phrase("centre lines and axes; across a strip: the lines to fold along"),
    "bend": phrase(
        "both ends of a bend line: the main bend goes round it, so what you bend the part over, if anything, lies along it"
    ),
    "bevel": phrase("bevel angles along an edge, and sections of bevelled edges"),
    "trim": phrase("extra length that is trimmed to fit"),
    "note": phrase("labels and notes"),
    "page": phrase("page furniture: frames, measured square, joins, codes"),
    "shade": phrase("light fills: strain colours, foam colours, drawings of the prop"),
    "view": phrase("visible edges in a drawing of the prop"),
    "view-new": phrase("edges of the part that a step adds"),
    "way": phrase("the way that a part goes in, in a drawing of the prop"),
    "glue": phrase("where glue goes, in a cross-section of a joint"),
    "view-hidden": phrase("hidden edges in a drawing of the prop"),
    "view-figure": phrase("outline of the figure in a drawing of the prop"),
    "cut-name": phrase("cuts of a form and their names in a drawing of the prop"),
    "ground": phrase("white behind words in a drawing of the prop"),
    "fault": phrase("what shares space, and what could not be built"),
}


@dataclass(frozen=True, eq=False)
class Path:
    """A polyline through `points` (N, 2), closed or open, filled if `fill` gives a colour "#rrggbb"."""

    points: np.ndarray
    layer: str
    closed: bool = False
    fill: str | None = None


@dataclass(frozen=True)
class Text:
    """One line of text. `at` is where its anchor stands; `height` is the font size in mm; `angle` in degrees.

    `anchor` is "start", "middle" or "end" along the baseline; the baseline itself passes through `at`.
    `role` tells apart what must be found again: "label" is the label of a part, "count" how often it is cut.
    `link` is the name of a place in the same document that a reader may jump to from here.
    """

    at: tuple[float, float]
    value: str
    height: float
    layer: str = "note"
    anchor: str = "start"
    angle: float = 0.0
    bold: bool = False
    role: str = ""
    link: str = ""


@dataclass(frozen=True)
class Label:
    """Lines of text, all at one angle, that are turned, moved and kept as one thing."""

    texts: tuple[Text, ...]

    @property
    def angle(self) -> float:
        return self.texts[0].angle

    @property
    def layer(self) -> str:
        return self.texts[0].layer


@dataclass(frozen=True)
class Tick:
    """A short stroke from `start` to `end`, as at an edge."""

    start: tuple[float, float]
    end: tuple[float, float]
    layer: str = "tick"


@dataclass(frozen=True, eq=False)
class Hatch:
    """Parallel strokes `spacing` mm apart at `angle` degrees inside the closed `boundary` (N, 2)."""

    boundary: np.ndarray
    spacing: float
    angle: float
    layer: str = "note"


@dataclass(frozen=True, eq=False)
class Shading:
    """A picture in tones: a PNG file in the level box from `at`, its lower left corner, `width` by `height`."""

    at: tuple[float, float]
    width: float
    height: float
    png: bytes
    layer: str = "shade"


Stroke = Path | Tick | Hatch | Shading
Primitive = Stroke | Text | Label


@dataclass(frozen=True)
class Drawing:
    """A set of primitives in one plane."""

    items: tuple[Primitive, ...]

    @property
    def flat(self) -> tuple[Stroke | Text, ...]:
        """The items in their order, each label as its texts: what writers draw."""
        opened: list[Stroke | Text] = []
        for item in self.items:
            opened += item.texts if isinstance(item, Label) else (item,)
        return tuple(opened)

    @property
    def labels(self) -> tuple[Label, ...]:
        """All words, in order; a text that stands alone is a label of its own."""
        words = (item for item in self.items if isinstance(item, Text | Label))
        return tuple(Label((item,)) if isinstance(item, Text) else item for item in words)

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """All that is no words, in order."""
        return tuple(item for item in self.items if not isinstance(item, Text | Label))

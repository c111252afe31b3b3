"""How each layer is drawn: line type, width and colour. One table for every writer and for the legend.

Line types and widths follow ISO 128-2: a series of widths in steps of the square root of 2, and dash elements
that are multiples of the width (dash 12 d, long dash 24 d, gap 3 d, dot 0.5 d or less). Every layer that a
maker has to tell from another differs in type or width, so that a black and white print is enough; colour
only helps.
"""

from __future__ import annotations

from dataclasses import dataclass

from foamwright.drawing.primitives import LAYERS

# Elements of a line type, drawn and blank in turn, in line widths (ISO 128-2, types 01, 02, 03, 07, 04, 05, 08 and 09;
# the pairs of dots are our own: lines of the other face are dotted).
_TYPES = {
    "continuous": (),
    "dashed": (12.0, 3.0),
    "dashed spaced": (12.0, 18.0),
    "dotted": (0.5, 3.0),
    "double-dotted spaced": (0.5, 2.0, 0.5, 6.0),
    "long-dashed dotted": (24.0, 3.0, 0.5, 3.0),
    "long-dashed double-dotted": (24.0, 3.0, 0.5, 3.0, 0.5, 3.0),
    "long-dashed short-dashed": (24.0, 3.0, 6.0, 3.0),
    "long-dashed double-short-dashed": (24.0, 3.0, 6.0, 3.0, 6.0, 3.0),
}


@dataclass(frozen=True)
class LineStyle:
    """`width` in mm, `colour` "#rrggbb", `line_type` one of those above by name."""

    line_type: str
    width: float
    colour: str

    @property
    def dashes(self) -> tuple[float, ...]:
        """Drawn and blank lengths in mm; empty for a continuous line."""
        return tuple(round(e * self.width, 4) for e in _TYPES[self.line_type])


# In the order in which SVG stacks the layers, fills lowest.
STYLES = {
    "shade": LineStyle("continuous", 0.13, "#b8b8b8"),
    "page": LineStyle("continuous", 0.18, "#555555"),
    "view-hidden": LineStyle("dashed", 0.18, "#8a8a8a"),
    "view": LineStyle("continuous", 0.25, "#333333"),
    "view-figure": LineStyle("long-dashed double-dotted", 0.25, "#7a7a7a"),
    "view-new": LineStyle("continuous", 0.50, "#000000"),
    "glue": LineStyle("continuous", 0.70, "#cd281e"),
    "way": LineStyle("dashed", 0.25, "#101014"),
    "cut-name": LineStyle("continuous", 0.35, "#0b4f9c"),
    "ground": LineStyle("continuous", 0.13, "#ffffff"),
    "fault": LineStyle("continuous", 0.50, "#d0201a"),
    "fold": LineStyle("long-dashed dotted", 0.25, "#333333"),
    "bend": LineStyle("long-dashed double-short-dashed", 0.25, "#333333"),
    "other-face": LineStyle("dashed spaced", 0.25, "#333333"),
    "mark": LineStyle("dashed", 0.35, "#0b4f9c"),
    "mark-other": LineStyle("dotted", 0.50, "#00604f"),
    "rest": LineStyle("long-dashed short-dashed", 0.25, "#7a5c00"),  # dashes on this face, as of what is glued,
    "rest-other": LineStyle("double-dotted spaced", 0.50, "#7a5c00"),  # and dots on the other one
    "laid": LineStyle("continuous", 0.35, "#0b4f9c"),
    "laid-other": LineStyle("continuous", 0.35, "#00604f"),
    "engrave": LineStyle("dotted", 0.35, "#7a1f6b"),
    "pin": LineStyle("dashed", 0.25, "#333333"),
    "trim": LineStyle("long-dashed double-dotted", 0.35, "#8a3d00"),
    "bevel": LineStyle("continuous", 0.18, "#333333"),
    "touch": LineStyle("continuous", 0.25, "#0b4f9c"),
    "tick": LineStyle("continuous", 0.35, "#000000"),
    "seam-end": LineStyle("continuous", 0.35, "#000000"),
    "cut-inner": LineStyle("continuous", 0.50, "#000000"),
    "cut": LineStyle("continuous", 0.70, "#000000"),
    "note": LineStyle("continuous", 0.18, "#000000"),
}
assert STYLES.keys() == LAYERS.keys()


def stroke_colour(layer: str, fill: str | None) -> str:
    """Colour of a path's line: a fill on "shade" is bounded by itself, so that neighbours leave no gap."""
    return fill if fill and layer == "shade" else STYLES[layer].colour

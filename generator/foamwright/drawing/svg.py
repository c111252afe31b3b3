"""Drawings as SVG 1.1, in mm: one user unit is one millimetre."""

from __future__ import annotations

import base64
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from foamwright.drawing.fonts import CSS_FAMILY, check_glyphs
from foamwright.drawing.hatch import hatch_strokes
from foamwright.drawing.primitives import LAYERS, Drawing, Hatch, Path, Shading, Stroke, Text, Tick
from foamwright.drawing.style import STYLES, stroke_colour


def svg_bytes(
    drawing: Drawing, width: float, height: float, origin: tuple[float, float] = (0.0, 0.0), title: str = ""
) -> bytes:
    """UTF-8 SVG file of `width` x `height` mm whose lower left corner shows the drawing's point `origin`.

    There is one group per layer that is used, its id the layer's name; fills are stacked lowest. Raises
    BuildError for a text that the embedded faces cannot draw.
    """
    shift = np.array([-origin[0], height + origin[1]])

    def at(points: np.ndarray) -> np.ndarray:
        return np.asarray(points, float).reshape(-1, 2) * (1.0, -1.0) + shift

    size = f'width="{_number(width)}mm" height="{_number(height)}mm"'
    view = f'viewBox="0 0 {_number(width)} {_number(height)}"'
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {view}>',
    ]
    if title:
        lines.append(f"<title>{escape(title)}</title>")
    for layer, style in STYLES.items():
        items = [item for item in drawing.flat if item.layer == layer]
        if not items:
            continue
        dash = f' stroke-dasharray="{" ".join(map(_number, style.dashes))}"' if style.dashes else ""
        lines.append(
            f'<g id="{layer}" fill="none" stroke="{style.colour}" stroke-width="{_number(style.width)}" '
            f'stroke-linecap="round" stroke-linejoin="round"{dash}>'
        )
        lines.append(f"<desc>{escape(LAYERS[layer])}</desc>")
        lines += [_element(item, at) for item in items]
        lines.append("</g>")
    lines.append("</svg>\n")
    return "\n".join(lines).encode("utf-8")


def _element(item: Stroke | Text, at) -> str:
    match item:
        case Shading():
            x, y = map(_number, at(np.array([(item.at[0], item.at[1] + item.height)]))[0])
            data = base64.b64encode(item.png).decode("ascii")
            size = f'width="{_number(item.width)}" height="{_number(item.height)}"'
            return f'<image x="{x}" y="{y}" {size} href="data:image/png;base64,{data}"/>'
        case Path():
            data = _polyline(at(item.points)) + (" Z" if item.closed else "")
            fill = f' fill="{item.fill}"' if item.fill else ""
            colour = stroke_colour(item.layer, item.fill)
            stroke = f' stroke="{colour}"' if colour != STYLES[item.layer].colour else ""
            return f'<path d="{data}"{fill}{stroke}/>'
        case Tick():
            return f'<path d="{_polyline(at(np.array([item.start, item.end])))}"/>'
        case Hatch():
            return f'<path d="{" ".join(_polyline(at(s)) for s in hatch_strokes(item))}"/>'
        case Text():
            check_glyphs(item.value, item.bold)
            x, y = map(_number, at(np.array([item.at]))[0])
            turn = f' transform="rotate({_number(-item.angle)} {x} {y})"' if round(item.angle, 3) else ""
            weight = ' font-weight="bold"' if item.bold else ""
            return (
                f'<text x="{x}" y="{y}"{turn} font-family={quoteattr(CSS_FAMILY)} '
                f'font-size="{_number(item.height)}"{weight} text-anchor="{item.anchor}" stroke="none" '
                f'fill="{STYLES[item.layer].colour}" xml:space="preserve">{escape(item.value)}</text>'
            )


def _polyline(points: np.ndarray) -> str:
    pairs = [f"{_number(x)} {_number(y)}" for x, y in points]
    return "M " + " L ".join(pairs)


def _number(value: float) -> str:
    """To the micrometre, without needless zeros or a negative zero."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text

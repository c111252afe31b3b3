"""Outlines from an SVG drawing, in mm."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import Polygon

from foamwright.errors import BuildError
from foamwright.parts.curves import flattened

_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96, "": 25.4 / 96}


def svg_shape(path: Path) -> shapely.Geometry:
    """The closed paths of an SVG drawing, at its stated size in millimetres, y turned up; holes by even-odd.

    Transforms of groups and of paths are applied, and curves are kept to 0.01 mm.
    """
    from svgpathtools import Document

    try:
        drawing = Document(str(path))
    except (OSError, SyntaxError) as error:  # a ParseError of the XML is a SyntaxError
        raise BuildError(f"{path}: not an SVG drawing: {error}") from error
    scale = _scale(drawing.root.attrib, path)
    shape: shapely.Geometry = Polygon()
    for found in drawing.paths():
        for loop in found.continuous_subpaths():
            legs = [_leg(segment, scale) for segment in loop]
            ring = np.concatenate([leg[:-1] for leg in legs] + [legs[-1][-1:]])
            if len(ring) >= 3:
                shape = shape.symmetric_difference(Polygon(ring).buffer(0))
    if shape.is_empty:
        raise BuildError(f"{path}: no closed path in the drawing")
    return shape


def _leg(segment, scale: float) -> np.ndarray:
    """Points (N, 2) of one segment in mm, y up, both ends included."""

    def at(t: np.ndarray) -> np.ndarray:
        points = np.array([segment.point(float(s)) for s in t])
        return np.column_stack([points.real, -points.imag]) * scale

    return at(np.array([0.0, 1.0])) if type(segment).__name__ == "Line" else flattened(at)


def _scale(attributes, path: Path) -> float:
    """mm per user unit; CSS says 96 px to the inch where no millimetres are given (CSS Values 3, 5.2)."""
    width, box = attributes.get("width"), attributes.get("viewBox")
    if width is None:
        return _UNITS["px"]
    number = width.rstrip("abcdefghijklmnopqrstuvwxyz% ")
    unit = width[len(number) :].strip()
    if unit not in _UNITS:
        raise BuildError(f"{path}: width {width!r} of the drawing; expected a length in mm, cm, in, pt or px")
    if box is None:  # a user unit is a px, whatever the width is told in
        return _UNITS["px"]
    return float(number) * _UNITS[unit] / float(box.replace(",", " ").split()[2])

"""Sections of a form: the closed curve in which it meets a cutting level."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.surface import Surface
from foamwright.geometry import resampled
from foamwright.parts import region as regions
from foamwright.parts.levels import PlaneLevel
from foamwright.parts.trace import slide_onto

_SPACING = 1.0  # mm


def curve_on_form(surface: Surface, level: Callable[[np.ndarray], np.ndarray], offset: float) -> np.ndarray:
    """The closed curve (N, 3) where the level meets the form's surface moved outwards by `offset`.

    The first point is repeated at the end. Raises BuildError if there is no such curve or more than one.
    """

    def on_coords(coords):
        return level(surface.offset(coords, offset))

    form = regions.whole_form(surface)
    part = regions.clip(form, on_coords, 0, -1)
    if not len(part.faces) or (len(part.faces) == len(form.faces) and not part.tags.any()):
        raise BuildError("a section misses its form; move the plane or the outline")
    loops = [loop for loop in regions.boundary_loops(part.faces) if (part.tags[loop] & 1).all()]
    if len(loops) != 1:
        raise BuildError(f"a section of a form has {len(loops)} closed curves; expected one")
    loop = loops[0]
    poles = np.flatnonzero(part.is_pole()[loop])
    if not len(poles):
        points = _smooth_run(surface, part.coords[np.append(loop, loop[0])], on_coords, offset)
    else:  # coordinates jump at a pole: the curve goes from pole to pole
        stops = np.append(poles[1:], poles[0] + len(loop))
        runs = [
            _smooth_run(surface, part.coords[loop[np.arange(a, b + 1) % len(loop)]], on_coords, offset)
            for a, b in zip(poles, stops)
        ]
        points = np.vstack([runs[0], *(run[1:] for run in runs[1:])])
    points[-1] = points[0]
    return points


def _smooth_run(surface: Surface, coords: np.ndarray, level: Callable, offset: float) -> np.ndarray:
    """Points at even distances along the level near rough coordinates (N, k), both ends included."""
    coords = coords.copy()
    pole = surface.at_pole(coords[[0, -1]])
    coords[0] = surface.near(coords[:1], coords[1:2])[0]
    for i in range(1, len(coords)):
        coords[i] = surface.near(coords[i : i + 1], coords[i - 1 : i])[0]
    for _ in range(2):
        points = surface.offset(coords, offset)
        length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
        count = int(np.clip(length / _SPACING, 64, 1600))
        coords = resampled(points, coords, count)
        free = slice(int(pole[0]), count - int(pole[1]))
        coords[free] = slide_onto(surface, coords[free], level)
    return surface.offset(coords, offset)


def plane_level(plane: Mapping[str, Any]) -> PlaneLevel:
    return PlaneLevel(direction(plane["normal"]), plane["at"])


def section(surface: Surface, plane: Mapping[str, Any], offset: float) -> np.ndarray:
    """Section (N, 3) at a plane of the design file, as `curve_on_form`."""
    return curve_on_form(surface, plane_level(plane), offset)

"""Sections of a form: the closed curve in which it meets a cutting level."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.parametric import Revolution
from foamwright.forms.surface import Surface
from foamwright.geometry import resampled
from foamwright.parts import region as regions
from foamwright.parts.levels import PlaneLevel
from foamwright.parts.trace import slide_onto, slide_to_corner

_SPACING = 1.0  # mm
_SAME = 0.05  # mm: ends of two runs nearer than this are one corner
_REACH, _LEAST_REACH = 4.0, 5.0  # of the offset, and mm: how far sheets are carried on past their creases
_AT_TIP = 0.01  # mm from the axis to which a section through the tip of a cone is followed: two runs end there
_NEAREST = 40  # samples that tell on which side of a sheet another lies


def curve_on_form(surface: Surface, level: Callable[[np.ndarray], np.ndarray], offset: float) -> np.ndarray:
    """The closed curve (N, 3) where the level meets the form's surface moved outwards by `offset`.

    The first point is repeated at the end. Raises BuildError if there is no such curve or more than one.
    """

    if surface.sheet_count > 1:
        return _over_creases(surface, level, offset)

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


def _over_creases(surface: Surface, level: Callable[[np.ndarray], np.ndarray], offset: float) -> np.ndarray:
    """As `curve_on_form`, of a form with creases: run by run over its sheets, with exact corners between them."""
    reach = _REACH * abs(offset) + _LEAST_REACH
    points, _, sheets = surface.samples()
    runs: list[np.ndarray] = []
    for number in range(surface.sheet_count):
        sheet = surface.sheet(number, reach)
        if isinstance(sheet, Revolution):
            sheet = sheet.tipped(offset, _AT_TIP)
        mine = points[sheets == number]
        mitres = []
        for crease in surface.creases():
            if number in crease.sheets and np.abs(level(crease.points)).min() < 2 * reach:
                other = crease.sheets[0] if crease.sheets[1] == number else crease.sheets[1]
                mitres.append(_mitre(sheet, mine, surface.sheet(other, reach), crease.points, offset))
        values = level(mine)
        if values.min() < 2 * reach and values.max() > -2 * reach:
            runs += _runs_on_sheet(sheet, level, mitres, offset)
    return _closed(runs)


def _mitre(sheet: Surface, own: np.ndarray, across: Surface, crease: np.ndarray, offset: float) -> Callable:
    """The mitre along a crease (K, 3) between a sheet, of which `own` (N, 3) are points, and one across it.

    It is a level over the sheet's coordinates, negative on the sheet.
    """
    near = own[np.argsort(cKDTree(crease).query(own)[0])[:_NEAREST]]
    sign = -1.0 if across.height(near).mean() > 0 else 1.0  # convex, or hollow
    return lambda coords: sign * (across.height(sheet.offset(coords, offset)) - offset)


def _runs_on_sheet(sheet: Surface, level: Callable, mitres: list[Callable], offset: float) -> list[np.ndarray]:
    """The stretches (N, 3) of the section on one sheet, from crease to crease or closed."""

    def on_coords(coords):
        return level(sheet.offset(coords, offset))

    part = regions.whole_form(sheet)
    for bit, mitre in enumerate(mitres, 1):
        part = regions.clip(part, mitre, bit, -1)
        if not len(part.faces):
            return []
    part = regions.clip(part, on_coords, 0, -1)
    runs = []
    for loop in regions.boundary_loops(part.faces) if len(part.faces) else []:
        on = (part.tags[loop] & part.tags[np.roll(loop, -1)] & 1) == 1  # sides that lie on the section
        if on.all():
            runs.append(_smooth_run(sheet, part.coords[np.append(loop, loop[0])], on_coords, offset))
            continue
        for start in np.flatnonzero(on & ~np.roll(on, 1)):
            count = int(np.argmin(np.roll(on, -start)))
            chain = loop[(start + np.arange(count + 1)) % len(loop)]
            coords = part.coords[chain]
            for end in (0, -1):
                beside = [m for bit, m in enumerate(mitres, 1) if part.tags[chain[end]] >> bit & 1]
                if beside:
                    coords[end] = slide_to_corner(sheet, coords[end], on_coords, beside[0])
            runs.append(_smooth_run(sheet, coords, on_coords, offset, ends_fixed=True))
    return runs


def _closed(runs: list[np.ndarray]) -> np.ndarray:
    """Runs end to end as one closed curve. Raises BuildError where they make none, or several."""
    if not runs:
        raise BuildError("a section misses its form; move the plane or the outline")
    line, left = runs[0], list(runs[1:])
    while left and np.linalg.norm(line[0] - line[-1]) > _SAME:
        gaps = [np.linalg.norm(run[0] - line[-1]) for run in left]
        nearest = int(np.argmin(gaps))
        if gaps[nearest] > _SAME:
            break
        line = np.vstack([line, left.pop(nearest)[1:]])
    if np.linalg.norm(line[0] - line[-1]) > _SAME:
        raise BuildError("a section of a form is no closed curve; move the plane or the outline off its end")
    if left:
        raise BuildError(
            f"a section of a form has more than one closed curve ({1 + len(left)} stretches); expected one"
        )
    line[-1] = line[0]
    return line


def _smooth_run(
    surface: Surface, coords: np.ndarray, level: Callable, offset: float, ends_fixed: bool = False
) -> np.ndarray:
    """Points at even distances along the level near rough coordinates (N, k), both ends included; where they are
    fixed they stay as given."""
    coords = coords.copy()
    pole = surface.at_pole(coords[[0, -1]])
    coords[0] = surface.near(coords[:1], coords[1:2])[0]
    for i in range(1, len(coords)):
        coords[i] = surface.near(coords[i : i + 1], coords[i - 1 : i])[0]
    for _ in range(2):
        points = surface.offset(coords, offset)
        length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
        count = int(np.clip(length / _SPACING, 9 if ends_fixed else 64, 1600))
        coords = resampled(points, coords, count)
        free = slice(int(ends_fixed or pole[0]), count - int(ends_fixed or pole[1]))
        coords[free] = slide_onto(surface, coords[free], level)
    return surface.offset(coords, offset)


def plane_level(plane: Mapping[str, Any]) -> PlaneLevel:
    return PlaneLevel(direction(plane["normal"]), plane["at"])


def section(surface: Surface, plane: Mapping[str, Any], offset: float) -> np.ndarray:
    """Section (N, 3) at a plane of the design file, as `curve_on_form`."""
    return curve_on_form(surface, plane_level(plane), offset)

"""Sections of a form: the closed curve in which it meets a cutting level."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from scipy.spatial import cKDTree

from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.parametric import Revolution
from foamwright.forms.surface import Surface
from foamwright.geometry import resampled
from foamwright.parts import region as regions
from foamwright.parts.fill import simple
from foamwright.parts.levels import PlaneLevel
from foamwright.parts.past_ends import past_ends
from foamwright.parts.records import Frame
from foamwright.parts.sheets import WIDTH, Across, beyond_all, in_hollows
from foamwright.parts.trace import onwards, slide_onto, slide_to_corner

_SPACING = 1.0  # mm between the points of a section,
_AROUND, _BETWEEN = 180, 9  # and at least so many all the way round, and between two ends: fewer turn as at corners
_SAME = 0.05  # mm: ends of two runs nearer than this are one corner
_REACH, _LEAST_REACH = 4.0, 5.0  # of the offset, and mm: how far sheets are carried on past their creases, at least
_APART = 3.0  # of the distance between samples of a sheet: how far it may reach beyond them
_BESIDE = 1e-3  # mm beside a plane that meets a form in an area
_FLAT = 1e-4  # mm, by which the points of a flat face may lie off their plane
_AT_TIP = 0.01  # mm from the axis to which a section through the tip of a cone is followed: two runs end there
# Bits of the vertices at which a form ends that has no pole there.
_RIMS = (np.int64(1) << np.int64(regions.START_BIT)) | (np.int64(1) << np.int64(regions.END_BIT))
_ONE_PLACE = 1e-6  # mm


@dataclass(frozen=True, eq=False)
class _Run:
    """A stretch (N, 3) of a section, whether it starts and ends where the form itself ends, open, and whether it is the
    lower rim of a sheet of which nothing lies below the level."""

    points: np.ndarray
    from_rim: bool = False
    to_rim: bool = False
    lowest: bool = False


def curve_on_form(surface: Surface, level: Callable[[np.ndarray], np.ndarray], offset: float) -> np.ndarray:
    """The closed curve (N, 3) where the level meets the form's surface moved outwards by `offset`.

    The first point is repeated at the end. Raises BuildError if there is no such curve, more than one, or one that
    runs out at an open end of the form.
    """
    return _closed([run.points for run in _runs(surface, level, offset)])


def section(surface: Surface, plane: Mapping[str, Any], offset: float) -> np.ndarray:
    """The closed section (N, 3) at a plane of the design file of the form moved outwards by `offset`.

    Where the form ends open, the section goes straight across, as if a flat end closed the form. The first point is
    repeated at the end. Raises BuildError if there is no such section or more than one.
    """
    level = _clear_of_flat_faces(surface, plane_level(plane), offset)
    return _closed(_across_rims(_runs(past_ends(surface, level, abs(offset)), level, offset)))


def sections_in(
    frame: Frame, surface_of: Callable[[str], Surface], depths: Sequence[float] = (0.0,)
) -> Callable[[Mapping[str, Any]], shapely.Geometry]:
    """What makes a section of the design file into what it covers in a frame's x and y: at its own plane, or at as many as
    there are `depths` beyond it, along the frame's z, all of them together."""

    def section_of(given: Mapping[str, Any]) -> shapely.Geometry:
        rise = float(direction(given["plane"]["normal"]) @ frame.axes[:, 2])
        surface = surface_of(given["form"])
        planes = [{**given["plane"], "at": given["plane"]["at"] + depth * rise} for depth in depths]
        rings = [frame.to_frame(section(surface, plane, given["offset"]))[:-1, :2] for plane in planes]
        return shapely.union_all([simple(ring, "a section") for ring in rings])

    return section_of


def _clear_of_flat_faces(surface: Surface, level: PlaneLevel, offset: float) -> PlaneLevel:
    """The plane, or one a hair's breadth towards the rest of the form where a flat face of the moved form lies in it:
    there they meet in an area, and beside it in the line around that."""
    if surface.sheet_count == 1:
        return level
    points, _, sheets = surface.samples()
    values = level(points)
    for number in range(surface.sheet_count):
        own = values[sheets == number]
        if len(own) and np.ptp(own) < _FLAT and abs(abs(own[0]) - abs(offset)) < _FLAT:
            return PlaneLevel(level.normal, level.at + math.copysign(_BESIDE, float(values.mean() - own[0])))
    return level


def plane_level(plane: Mapping[str, Any]) -> PlaneLevel:
    return PlaneLevel(direction(plane["normal"]), plane["at"])


def _runs(surface: Surface, level: Callable[[np.ndarray], np.ndarray], offset: float) -> list[_Run]:
    """The section's stretches, sheet by sheet of a form with creases, with exact corners between them."""
    if surface.sheet_count == 1:
        return _runs_on_sheet(surface, level, [], offset)
    points, areas, sheets = surface.samples()
    size = float(np.linalg.norm(np.ptp(points, axis=0)))
    reach = _REACH * abs(offset) + max(_LEAST_REACH, WIDTH * size)
    creases = surface.creases()
    runs: list[_Run] = []
    for number in range(surface.sheet_count):
        own = sheets == number
        mine, bounds = points[own], [crease for crease in creases if number in crease.sheets]
        apart = _APART * math.sqrt(float(areas[own].mean())) if len(mine) else 0.0
        if not _near(level, [mine, *(crease.points for crease in bounds)], 2 * reach + apart):
            continue
        sheet = surface.sheet((number,), reach)
        if isinstance(sheet, Revolution):
            sheet = sheet.tipped(offset, _AT_TIP)
        across = []
        for crease in bounds:
            if _near(level, [crease.points], 2 * reach):
                other = crease.sheets[0] if crease.sheets[1] == number else crease.sheets[1]
                across.append(Across(surface.sheet((other,), reach), crease, crease.sheets[0] == number))
        mitres = [_mitre(sheet, group, offset) for group in in_hollows(across)]
        runs += _runs_on_sheet(sheet, level, mitres, offset)
    return _once(runs)


def _once(runs: list[_Run]) -> list[_Run]:
    """The stretches, those along a crease that lies in the level only as the sheet below has them."""
    below = [run.points for run in runs if not run.lowest]
    return [run for run in runs if not (run.lowest and any(_follows(run.points, other) for other in below))]


def _follows(line: np.ndarray, other: np.ndarray) -> bool:
    """Does a line (N, 3) lie along another (M, 3) all the way?"""
    step = np.linalg.norm(np.diff(other, axis=0), axis=1).max()
    return bool(cKDTree(other).query(line)[0].max() < _SAME + step / 2.0)


def _near(level: Callable, places: list[np.ndarray], within: float) -> bool:
    """Does a level come within so many mm of what lies between some of the places (N, 3)?"""
    values = level(np.vstack(places))
    return bool(values.min() < within and values.max() > -within)


def _across_rims(runs: list[_Run]) -> list[np.ndarray]:
    """The stretches, and the straight lines across the form's open ends between those that run out there."""
    lines = [run.points for run in runs]
    starts = [run.points[0] for run in runs if run.from_rim]
    for end in [run.points[-1] for run in runs if run.to_rim]:
        if starts:
            start = starts.pop(int(np.argmin([np.linalg.norm(start - end) for start in starts])))
            if np.linalg.norm(start - end) > _SAME:  # else the tip of a cone
                lines.append(np.array([end, start]))
    return lines


def _mitre(sheet: Surface, across: Sequence[Across], offset: float) -> Callable:
    """The mitres to sheets across a crease as a level over the sheet's coordinates, negative on the sheet."""
    return lambda coords: beyond_all(across, sheet.offset(coords, offset), offset)


def _runs_on_sheet(surface: Surface, level: Callable, mitres: list[Callable], offset: float) -> list[_Run]:
    """The stretches of the section on one sheet: closed, or from crease, pole or open end to the next."""

    def on_coords(coords):
        return level(surface.offset(coords, offset))

    part = regions.whole_form(surface)
    for bit, mitre in enumerate(mitres, 1):
        part = regions.clip(part, mitre, bit, -1)
        if not len(part.faces):
            return []
    below = regions.clip(part, on_coords, 0, -1)
    # Where nothing lies below, the level may still be the form's own lower rim.
    lowest = not len(below.faces)
    part = regions.clip(part, on_coords, 0, 1) if lowest else below
    poles, rims = part.is_pole(), (part.tags & _RIMS) != 0
    runs = []
    for loop in regions.boundary_loops(part.faces):
        on = (part.tags[loop] & part.tags[np.roll(loop, -1)] & 1) == 1  # sides that lie on the section
        if not on.all():
            on &= ~(rims[loop] & rims[np.roll(loop, -1)])
        if on.all() and not poles[loop].any():
            points = _smooth_run(surface, part.coords[np.append(loop, loop[0])], on_coords, offset)
            runs.append(_Run(points, lowest=lowest))
            continue
        # Coordinates jump at a pole: the curve goes from pole to pole.
        for start in np.flatnonzero(on & (~np.roll(on, 1) | poles[loop])):
            after = np.roll(on & ~poles[loop], -start)[1:]
            count = 1 + (int(np.argmin(after)) if not after.all() else len(after))
            chain = loop[(start + np.arange(count + 1)) % len(loop)]
            coords = part.coords[chain]
            if np.ptp(surface.point(coords), axis=0).max() < _ONE_PLACE:
                continue  # from a pole to that pole: the level goes through it
            for end in (0, -1):
                beside = [m for bit, m in enumerate(mitres, 1) if part.tags[chain[end]] >> bit & 1]
                if beside:
                    coords[end] = slide_to_corner(surface, coords[end], on_coords, beside[0])
            points = _smooth_run(surface, coords, on_coords, offset, ends_fixed=True)
            runs.append(_Run(points, bool(rims[chain[0]]), bool(rims[chain[-1]]), lowest))
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
        raise BuildError(
            "a curve around a form runs out at its open end; move the plane or the outline off that end, or let the form "
            "go further"
        )
    if left:
        raise BuildError(
            f"a section of a form has more than one closed curve ({1 + len(left)} stretches); expected one: move the plane, or "
            "bound the prism by `above` or `below` so that it meets the form once"
        )
    line[-1] = line[0]
    return line


def _apart(surface: Surface, coords: np.ndarray) -> np.ndarray:
    """Coordinates (N, k) along a line without those that stand where the one before stands, as beside a corner that was
    found on one of them; its ends stay."""
    step = np.linalg.norm(np.diff(surface.point(coords), axis=0), axis=1)
    kept = np.append(True, step > _ONE_PLACE)
    if not kept[-1]:
        kept[np.flatnonzero(kept)[-1]] = len(coords) < 3
        kept[-1] = True
    return coords[kept]


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
    coords = _apart(surface, coords)
    coords = coords[onwards(surface.offset(coords, offset))]
    for _ in range(2):
        points = surface.offset(coords, offset)
        length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
        count = int(np.clip(length / _SPACING, _BETWEEN if ends_fixed and not pole.any() else _AROUND, 1600))
        coords = resampled(points, coords, count)
        free = slice(int(ends_fixed), count - int(ends_fixed))
        coords[free] = slide_onto(surface, coords[free], level)
    return surface.offset(coords, offset)

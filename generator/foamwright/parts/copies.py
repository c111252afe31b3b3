"""Where the copies of a part stand: alone, repeated by steps or turns, or in a row along a curve."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.surface import Surface
from foamwright.parts import outlines, repeats
from foamwright.parts.legs import with_corners
from foamwright.parts.levels import Level
from foamwright.parts.placing import default_up, frame_at, move
from foamwright.parts.records import FlatBody, Frame
from foamwright.parts.rows import Course, course, foot, row
from foamwright.parts.sections import curve_on_form, plane_level, sections_in

SurfaceOf = Callable[[str], Surface]
LevelOf = Callable[[str, str], Level]


def copies(
    body, repeat: Mapping[str, Any] | None, thickness: float, course_of: Callable[[Mapping[str, Any]], Course]
) -> tuple[Any, tuple[np.ndarray, ...], float | None]:
    """The body where its first copy stands, the (4, 4) matrix of each copy from there, and a row's even gap.

    A body that follows a curve is made in the row's own axes and comes back in those of space.
    """
    if not repeat:
        return body, (np.eye(4),), None
    if "along" not in repeat:
        return body, tuple(repeats.matrices(repeat)), None
    if not isinstance(body, FlatBody):
        raise BuildError("only flat parts follow a curve; expected count and step, around or grid")
    rim = body.frame.to_space(
        np.vstack([np.column_stack([body.outline, np.full(len(body.outline), z)]) for z in (0.0, thickness)])
    )
    placed = row(repeat["along"], course_of(repeat["along"]), foot(rim[:, :2]))
    first = placed.matrices[0]
    frame = Frame(move(body.frame.origin[None], first)[0], first[:3, :3] @ body.frame.axes)
    back = np.linalg.inv(first)
    return replace(body, frame=frame), tuple(matrix @ back for matrix in placed.matrices), placed.gap


def course_of(along: Mapping[str, Any], folder: str, surface_of: SurfaceOf, level_of: LevelOf, axis_of) -> Course:
    """The curve that an `along` of the design names. `axis_of(form, cut)` is the axis that an opening is cut along."""
    if "hoop" in along:
        plane = along["hoop"]["plane"]
        normal = direction(plane["normal"])
        frame = _level(normal * plane["at"], normal)
        curve = curve_on_form(surface_of(along["hoop"]["form"]), plane_level(plane), 0.0)
    elif "opening" in along:
        form, cut = along["opening"]["form"], along["opening"]["cut"]
        curve = curve_on_form(surface_of(form), level_of(form, cut), 0.0)
        frame = _level(curve[:-1].mean(axis=0), direction(axis_of(form, cut)))
    else:
        frame = frame_at(along["at"], surface_of)
        shape = outlines.polygon(along["outline"], folder, sections_in(frame, surface_of))
        curve = frame.to_space(np.array(Polygon(shape.exterior).exterior.coords))
    if "outline" not in along:  # a curve on a form is sampled evenly, past its corners
        ring = with_corners(frame.to_frame(curve[:-1]))
        curve = frame.to_space(np.vstack([ring, ring[:1]]))
    return course(curve, frame, along["offset"], along["span"])


def _level(origin: np.ndarray, normal: np.ndarray) -> Frame:
    """A frame with z along `normal`; its y axis goes up, or forward where the normal is along z."""
    up = default_up(normal)
    up = up - (up @ normal) * normal
    up = up / np.linalg.norm(up)
    return Frame(origin, np.column_stack([np.cross(up, normal), up, normal]))

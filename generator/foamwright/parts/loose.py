"""Parts that stand nowhere in the prop: plain strips, spacers that set a gap, and masks to paint through.

A pattern shows a flat part from z = 0 of its frame, x turned. What is drawn here is turned beforehand, so that
letters on a mask read the right way on its template.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box

from foamwright.errors import BuildError
from foamwright.parts import outlines
from foamwright.parts.flat import flat_body
from foamwright.parts.lettering import bridged
from foamwright.parts.records import FlatBody, Frame, Piece

_BORDER = 15.0  # mm of card around the windows
_SAME = 0.5  # mm by which the outline of a part may differ from its mirror image and a mask fit both


def strip_body(length: float, width: float) -> FlatBody:
    """A plain rectangle (mm)."""
    return _body(box(0.0, 0.0, length, width))


def spacer_body(length: float, of: Piece) -> FlatBody:
    """A rectangle as wide as the even gap of the part `of`. Raises BuildError if that has none."""
    if of.gap is None or of.gap <= 0.0:
        raise BuildError(f"a spacer of {of.id}, which has no gaps; expected a part repeated along a curve")
    return _body(box(0.0, 0.0, length, of.gap))


def mask_body(
    values: Mapping[str, Any], of: Piece | None, area_of: Callable[[Mapping[str, Any]], shapely.Geometry]
) -> FlatBody:
    """Card with windows, their islands held by bridges. Raises BuildError if `of` cannot give it an outline, and if there are
    letters on it that would read backwards on the mirrored copies of `of`."""
    if of is not None and turned_over(of) and any("text" in key for window in values["windows"] for key in window):
        raise BuildError(
            f"a mask with letters of {of.id}, whose mirrored copies have another outline: turned over for them it reads "
            "backwards; leave out `of`, which gives a rectangle for both, or mask two parts that are not mirrored"
        )
    windows = shapely.union_all([area_of(window) for window in values["windows"]])
    sheet = _sheet(of, windows, values.get("border")).difference(bridged(windows, values["bridge"]))
    return _body(outlines.whole(sheet, "the mask"))


def turned_over(of: Piece) -> bool:
    """Does a mask of a part go on its mirrored copies turned over only, since their outline is another?"""
    if not isinstance(of.body, FlatBody) or len({place.mirrored for place in of.placements}) < 2:
        return False
    own = Polygon(of.body.outline)
    return not shapely.buffer(own ^ affinity.scale(own, -1.0, 1.0, origin=own.centroid), -_SAME / 2.0).is_empty


def _sheet(of: Piece | None, windows: shapely.Geometry, border: float | None) -> shapely.Geometry:
    """The card around the windows: the part's own outline, a rectangle with a border, or what both have in common."""
    around = windows.envelope.buffer(_BORDER if border is None else border, join_style="mitre")
    if of is None:
        return around
    if not isinstance(of.body, FlatBody):
        raise BuildError(f"a mask of {of.id}, which is bent; expected a flat part, or no `of` and a border")
    own = Polygon(of.body.outline)
    return own if border is None else own.intersection(around)


def _body(shape: Polygon) -> FlatBody:
    turned = affinity.scale(shape, -1.0, 1.0, origin=(0, 0))
    return flat_body(outlines.whole(turned, "the part"), Frame(np.zeros(3), np.eye(3)))

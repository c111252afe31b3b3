"""Parts that stand nowhere in the prop: plain strips, spacers that set a gap, and masks to paint through.

A pattern shows a flat part from z = 0 of its frame, x turned. What is drawn here is turned beforehand, so that
letters on a mask read the right way on its template.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
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

KINDS = ("strip", "spacer", "mask")


def loose_body(
    kind: str,
    values: Mapping[str, Any],
    of: Piece | None,
    area_of: Callable[[Mapping[str, Any]], shapely.Geometry],
) -> FlatBody:
    """The body of a loose part. `of` is the part that a spacer or a mask belongs to.

    Raises BuildError for a spacer of parts without a gap, and for a mask that its part cannot give an outline.
    """
    if kind == "strip":
        return _body(box(0.0, 0.0, values["length"], values["width"]))
    if kind == "spacer":
        if of.gap is None or of.gap <= 0.0:
            raise BuildError(f"a spacer of {of.id}, which has no gaps; expected a part repeated along a curve")
        return _body(box(0.0, 0.0, values["length"], of.gap))
    windows = shapely.union_all([area_of(window) for window in values["windows"]])
    sheet = _sheet(of, windows, values["border"]).difference(bridged(windows, values["bridge"]))
    return _body(outlines.whole(sheet, "the mask"))


def _sheet(of: Piece | None, windows: shapely.Geometry, border: float) -> Polygon:
    """The card around the windows: the part's own outline, or a rectangle with a border."""
    if of is None:
        return windows.envelope.buffer(border, join_style="mitre")
    if not isinstance(of.body, FlatBody):
        raise BuildError(f"a mask of {of.id}, which is bent; expected a flat part, or no `of` and a border")
    return Polygon(of.body.outline)


def _body(shape: Polygon) -> FlatBody:
    turned = affinity.scale(shape, -1.0, 1.0, origin=(0, 0))
    return flat_body(outlines.whole(turned, "the part"), Frame(np.zeros(3), np.eye(3)))


def purpose(kind: str, of: Piece | None) -> str:
    """What a loose part is for, in a few words."""
    if kind == "spacer":
        return f"sets the gaps of {of.gap:.1f} mm between the copies of {of.label}"
    if kind == "mask":
        return f"lay on the outside of {of.label} and paint through it" if of else "paint through it"
    return ""


def with_spacers(pieces: Sequence[Piece], of: Mapping[str, str]) -> tuple[Piece, ...]:
    """Parts that have a spacer say so in their note. `of` gives for each spacer's id that of its part."""
    spacers = {part: piece for piece in pieces for part in [of.get(piece.id)] if part}
    return tuple(_noted(piece, spacers[piece.id]) if piece.id in spacers else piece for piece in pieces)


def _noted(piece: Piece, spacer: Piece) -> Piece:
    text = f"Set the gaps of {piece.gap:.1f} mm with spacer {spacer.label}."
    return replace(piece, note=f"{piece.note} {text}".strip())

"""All parts of a model as flat patterns: flat parts by section, bands and rods straight, panels flattened."""

from __future__ import annotations

from dataclasses import replace

from foamwright.flatten.bands import band_pattern
from foamwright.flatten.build import flatten, joined
from foamwright.flatten.panels import TRIANGLES
from foamwright.flatten.records import Pattern, Patterns
from foamwright.model.records import Model, Prototype
from foamwright.parts.records import BandBody, FlatBody, Prop, RodBody
from foamwright.registry import kind
from foamwright.section.checks import differences
from foamwright.section.plates import plate_pattern
from foamwright.section.rods import rod_pattern
from foamwright.store import Store


def section_and_flatten(model: Model, triangles: int = TRIANGLES, store: Store | None = None) -> Patterns:
    """Lay every part of the model flat, in the order of its pieces; panels in about so many triangles.

    What `store` has kept of panels is used again while they and their seams stay.

    Raises BuildError naming a part whose solid has not the faces it should have, a seam or dart whose two sides do
    not match, a panel beyond its foam's strain limit, or a solid that is not what its part was to be.
    """
    prop = model.prop
    flattened = flatten(prop, triangles, store)
    patterns = [_pattern(model.prototype(piece.id), flattened, prop) for piece in prop.pieces]
    apart = differences(model, patterns)
    return replace(joined(prop, patterns), differences=apart)


def _pattern(made: Prototype, flattened: dict[str, Pattern], prop: Prop) -> Pattern:
    piece = made.piece
    own = kind(piece.kind).pattern(made, prop.seams)
    if own is not None:
        return own
    if isinstance(piece.body, FlatBody):
        return plate_pattern(made, prop.seams)
    if isinstance(piece.body, BandBody):
        return band_pattern(piece)
    if isinstance(piece.body, RodBody):
        return rod_pattern(piece)
    return flattened[piece.id]

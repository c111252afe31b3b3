"""All parts of a model as flat patterns: flat parts by section, bands and rods straight, panels flattened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from foamwright.flatten.bands import band_pattern
from foamwright.flatten.build import flatten, joined
from foamwright.flatten.panels import TRIANGLES
from foamwright.flatten.records import Pattern, Patterns
from foamwright.flatten.seams import groups
from foamwright.model.records import Model, Prototype
from foamwright.parts.records import BandBody, FlatBody, Prop, RodBody, SeamSpec
from foamwright.registry import kind
from foamwright.section.checks import differences
from foamwright.section.plates import plate_pattern
from foamwright.section.rods import rod_pattern
from foamwright.store import Store


def section_and_flatten(model: Model, triangles: int = TRIANGLES, store: Store | None = None) -> Patterns:
    """Lay every part of the model flat, in the order of its pieces; panels in about so many triangles.

    What `store` has kept of panels is used again while they and their seams stay. Raises BuildError as `flatten` and
    `sections` do.
    """
    return sections(model, flatten(model.prop, triangles, store))


def sections(model: Model, panels: Mapping[str, Pattern]) -> Patterns:
    """Every part of the model flat, in the order of its pieces; `panels` are those that are, by id.

    Raises BuildError naming a part whose solid has not the faces it should have, a seam or dart whose two sides do
    not match, a panel beyond its foam's strain limit, or a solid that is not what its part was to be.
    """
    prop = model.prop
    patterns = _paired([_pattern(model.prototype(piece.id), panels, prop) for piece in prop.pieces], prop.seams)
    apart = differences(model, patterns)
    return replace(joined(prop, patterns), differences=apart)


def _pattern(made: Prototype, panels: Mapping[str, Pattern], prop: Prop) -> Pattern:
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
    return replace(panels[piece.id], piece=piece)


def _paired(patterns: Sequence[Pattern], seams: Sequence[SeamSpec]) -> list[Pattern]:
    """The patterns with only those ticks that stand on all edges of their seam."""
    edges = {(p.piece.id, e.id): e for p in patterns for e in p.edges if e.seam is not None}
    for group in groups(seams):
        own = {key: edges[key] for key in group if key in edges}
        common = set.intersection(*(set(e.tick_numbers) for e in own.values())) if own else set()
        for key, edge in own.items():
            if common < set(edge.tick_numbers):
                kept = [number in common for number in edge.tick_numbers]
                numbers = tuple(number for number in edge.tick_numbers if number in common)
                edges[key] = replace(edge, ticks=edge.ticks[np.array(kept, bool)], tick_numbers=numbers)
    return [replace(p, edges=tuple(edges.get((p.piece.id, e.id), e) for e in p.edges)) for p in patterns]

"""Curved panels as flat patterns, and what holds for the patterns of all parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from foamwright.errors import BuildError, together
from foamwright.flatten.alike import twins
from foamwright.flatten.darts import chooser, refuse_without_room
from foamwright.flatten.foam import check_foam
from foamwright.flatten.panels import BESIDE, TRIANGLES, BesideForm, flatten_panels, load, mesher_of, panel_pattern
from foamwright.flatten.records import Pattern, Patterns, Seam
from foamwright.flatten.remedies import remedy
from foamwright.flatten.split import refuse_too_large, with_split
from foamwright.flatten.strain import limits, percents
from foamwright.parts.records import PanelBody, Piece, Prop, SeamSpec, noteless
from foamwright.store import Store

# Rule 3 of the geometry: both edges of a seam, and both legs of a dart.
SEAM_TOLERANCE = 0.25  # mm, or
SEAM_SHARE = 0.001  # of the length, whichever is larger
_SURELY = 1.05  # of what a foam takes: more than seams and the size of triangles change of a panel's strain
_FLUSH = 0.05  # mm: faces nearer to each other make no step


def flatten(prop: Prop, triangles: int = TRIANGLES, store: Store | None = None) -> dict[str, Pattern]:
    """The curved panels of the prop laid flat, by id. Raises BuildError."""
    panels = [p for p in prop.pieces if isinstance(p.body, PanelBody)]
    curved = {p.id for p in panels}
    between = [s for s in prop.seams if {s.a.part, s.b.part} <= curved]

    store = store or Store(None)

    def laid_flat() -> dict[str, Pattern]:
        alike = twins(panels)
        flattened = flatten_panels(panels, between, chooser(panels, store, alike), triangles, store, alike)
        return {part: panel_pattern(done, prop.seams) for part, done in flattened.items()}

    if not panels:
        return {}
    laid = store.kept("flattening", (noteless(panels), prop.seams, triangles), laid_flat)
    return {part: replace(pattern, piece=prop.piece(part)) for part, pattern in laid.items()}


def refused_alone(pieces: Sequence[Piece], store: Store | None = None) -> tuple[tuple[str, str], ...]:
    """The ids of the panels that a pack would be refused for, and why, as far as each tells by itself: those of which the
    design states the darts, or that have none; of others those that have no room for darts, and those with an edge that none
    mends. A search for darts takes seconds, and seams that hold
    others to their length change their strain a little: of what is nearly at its limit, and of darts that have room and do
    not help enough, a build alone tells. It is taken from the `store` while a panel stays."""
    store = store or Store(None)
    panels = [piece for piece in pieces if isinstance(piece.body, PanelBody)]
    found = [(p.id, store.kept("refused alone", noteless([p]), partial(_refused, p, store))) for p in panels]
    return tuple((part, why) for part, why in found if why is not None)


def _refused(panel: Piece[PanelBody], store: Store) -> str | None:
    """Why a pack would be refused for a panel, as far as that tells by itself."""
    try:
        if panel.body.automatic is not None:
            refuse_without_room(panel, mesher_of(panel), _SURELY)
            _refuse_beside_form(panel, store)
            return None
        done = flatten_panels([panel], [], chooser([panel], store), store=store)[panel.id]
        pattern = panel_pattern(done, ())
        if load(panel, done.mesh, done.flat) > _SURELY:
            raise BuildError(f"panel {panel.id}: {_strained(pattern)}")
        refuse_too_large([pattern], {})
    except BuildError as error:
        return str(error)
    return None


def _refuse_beside_form(piece: Piece[PanelBody], store: Store) -> None:
    """BuildError for a panel whose darts are searched for, if a cut runs so far beside the form that its edge is torn."""
    if not any(np.abs(edge.slope).max() > BESIDE for edge in piece.body.edges):
        return
    alone = replace(piece, body=replace(piece.body, automatic=None))
    done = flatten_panels([alone], [], lambda *_: (), store=store)[piece.id]
    try:
        panel_pattern(done, ())
    except BesideForm:
        raise
    except BuildError:  # darts may mend that
        return


def joined(prop: Prop, patterns: Sequence[Pattern]) -> Patterns:
    """The patterns of all parts with their seams, and with the segments of those that no sheet holds.

    Raises BuildError naming a seam or dart whose two sides do not match, a panel beyond its foam's strain limit, or a
    part whose lines do not enclose its foam.
    """
    lengths = {(p.piece.id, e.id): e.length for p in patterns for e in p.edges}
    seams = tuple(
        Seam(
            s.id,
            s.a.part,
            s.a.edge,
            s.b.part,
            s.b.edge,
            lengths[(s.a.part, s.a.edge)],
            lengths[(s.b.part, s.b.edge)],
            s.glue,
            s.copies,
            *_step(prop, s),
            *(_depths(prop.piece(part), touch) for part, touch in ((s.a.part, s.touch_a), (s.b.part, s.touch_b))),
        )
        for s in prop.seams
    )
    _check(patterns, seams)
    stated = {spec.id: spec.values.get("split") for spec in prop.design.parts}
    whole = tuple(with_split(p, stated.get(p.piece.id)) for p in patterns)
    for pattern in whole:
        check_foam(pattern)
    return Patterns(prop, whole, seams)


def _step(prop: Prop, seam: SeamSpec) -> tuple[float, str]:
    """The step that remains at a seam, in mm along the edges' faces, and the face at which they are flush."""
    a, b = (_across(prop.piece(end.part), end.edge) for end in (seam.a, seam.b))
    inside, outside = (
        max(abs(end - at_a) * a, abs(end - at_b) * b) for end, at_a, at_b in zip((0.0, 1.0), seam.touch_a, seam.touch_b)
    )
    flush = {(True, True): "both", (True, False): "inside", (False, True): "outside", (False, False): "neither"}
    return max(inside, outside), flush[(inside < _FLUSH, outside < _FLUSH)]


def _across(piece: Piece, name: str) -> float:
    """How wide the face of an edge is, in mm."""
    if not isinstance(piece.body, PanelBody):
        return piece.thickness
    edge = next(edge for edge in piece.body.edges if edge.id == name)
    return float(np.linalg.norm(edge.outer - edge.inner, axis=1).mean())


def _depths(piece: Piece, touch: tuple[float, float]) -> tuple[float, float]:
    """Shares of the foam's thickness, in mm from its inside face."""
    return touch[0] * piece.thickness, touch[1] * piece.thickness


def matches(a: float, b: float) -> bool:
    """Do two lengths that are glued together match by rule 3?"""
    return abs(a - b) <= max(SEAM_TOLERANCE, SEAM_SHARE * max(a, b))


def _check(patterns, seams) -> None:
    for seam in seams:
        if not matches(seam.length_a, seam.length_b):
            raise BuildError(
                f"seam {seam.id}: {seam.part_a} {seam.edge_a} is {seam.length_a:.2f} mm and {seam.part_b} "
                f"{seam.edge_b} {seam.length_b:.2f} mm; expected them to match"
            )
    strained = []
    for pattern in patterns:
        for dart in pattern.darts:
            if not matches(*dart.lengths):
                raise BuildError(
                    f"panel {pattern.piece.id}: the legs of a dart at {dart.edge} are {dart.lengths[0]:.2f} and "
                    f"{dart.lengths[1]:.2f} mm; expected them to match"
                )
        told = _strained(pattern)
        if told:
            strained.append(BuildError(f"panel {pattern.piece.id}: {told}"))
    if strained:
        raise together(strained)


def _strained(pattern: Pattern) -> str:
    """How a panel is strained beyond what its foam takes, and what to do; "" for one that is not."""
    stock, strain = pattern.piece.stock, pattern.strain
    sides = zip((strain.tension, strain.compression), limits(stock), ("pulled", "pressed together"))
    for side, (strained, limit, how) in enumerate(sides):
        if strained > limit:
            much, most = percents(strained, limit)
            what = f"over the limit of {most} of {stock.name}; {remedy(pattern.piece.body)}"
            if pattern.mesh is None:
                return f"the foam is {how} by {much}, {what}"
            x, y, z = np.round(pattern.mesh.surface.points[np.argmax(pattern.mesh.strain[:, side])]) + 0.0
            return f"the foam is {how} by {much} at ({x:.0f}, {y:.0f}, {z:.0f}), {what}"
    return ""

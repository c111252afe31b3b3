"""From a design to the prop: every part in place, with its offset from what lies beneath it, and every seam."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from foamwright.design.fields.part import AS_IT_IS
from foamwright.design.records import Design, PartSpec
from foamwright.errors import BuildError
from foamwright.parts import band, seams
from foamwright.parts.copies import copies
from foamwright.parts.details import detailed, edge_finish
from foamwright.parts.kept import shaped, told_by
from foamwright.parts.names import thing_of
from foamwright.parts.others import SHAPE
from foamwright.parts.placing import each_onto, placements
from foamwright.parts.records import Body, FlatBody, Lap, PanelBody, Piece, Prop
from foamwright.parts.surroundings import Surroundings
from foamwright.parts.tabs import with_tabs
from foamwright.parts.webs import webs_told
from foamwright.parts.whole import find_mitres, spread
from foamwright.registry import kind
from foamwright.store import Made, Store
from foamwright.working import working_on

if TYPE_CHECKING:
    from foamwright.beside import Beside


def build_prop(
    design: Design, run_own_code: bool = False, store: Store | None = None, beside: Beside | None = None
) -> Prop:
    """Build all parts of the design. Raises BuildError naming the part that cannot be built.

    Python code that comes with the design is run only with `run_own_code`. The shapes of parts that stay are taken from
    the `store`; a process `beside` this one works out some of the others.
    """
    among = Surroundings(design, run_own_code, store, beside)
    for part in among.order:
        among.add(place(part, among))
    pieces = _remarked(tuple(among.piece(part.id) for part in design.parts), design)
    pieces = seams.divide_edges(pieces)
    pieces, all_seams = seams.find_seams(pieces)
    all_seams += find_mitres(pieces, len(all_seams) + 1)
    pieces = band.join_lips(pieces, design)
    pieces = with_tabs(pieces, among.parts)
    return Prop(design, pieces, all_seams, laps_of(pieces, design), (*_notes(among), *webs_told(pieces)))


def laps_of(pieces: Sequence[Piece], design: Design) -> tuple[Lap, ...]:
    """What lies on what, with the glue of the upper part, and what the design joins beside; what it says of a pair itself holds
    for that pair."""
    stated = {frozenset(join["parts"]): join["glue"] for join in design.joins}
    lying = [(piece, lower) for piece in pieces for lower in piece.lies_on]
    laps = [Lap(piece.id, lower, stated.get(frozenset((piece.id, lower)), piece.glue)) for piece, lower in lying]
    known = {frozenset((lap.upper, lap.lower)) for lap in laps}
    joins = [(*join["parts"], join["glue"]) for join in design.joins]
    laps += [Lap(upper, lower, glue) for upper, lower, glue in joins if frozenset((upper, lower)) not in known]
    return tuple(laps)


def place(part: PartSpec, among: Surroundings) -> Piece:
    """One part with the place of every copy. Raises BuildError naming it, and where it stands in the design."""
    return spread(_piece(part, among), part, among.surface)


def _notes(among: Surroundings) -> tuple[str, ...]:
    """What forms tell of themselves: what was done to imported ones, and where smooth ones leave their sections."""
    return tuple(
        f"form {form}: {note}" for form, surface in among.surfaces.items() for note in getattr(surface, "notes", ())
    )


def _remarked(pieces: tuple[Piece, ...], design: Design) -> tuple[Piece, ...]:
    """The pieces with a remark on those that a spacer, or another part of that sort, is made for."""
    made = {piece.id: piece for piece in pieces}
    for spec in design.parts:
        own = made[spec.id]
        if "of" in spec.values:
            of = made[spec.values["of"]]
            made[of.id] = replace(of, notes=(*of.notes, kind(spec.kind).remark_on(of, own)))
    return tuple(made[piece.id] for piece in pieces)


def _piece(part: PartSpec, among: Surroundings) -> Piece:
    working_on(f"part {part.id}")
    own, values, stock = kind(part.kind), part.values, among.stock(part)
    layers = among.layers(part)
    try:
        finish = edge_finish(values, stock.thickness * layers)
        body, matrices, gap = _placed(part, among, stock.thickness * layers)
    except BuildError as error:
        text = str(error)
        if text.startswith(str(part.where)):
            raise
        raise BuildError(f"{part.where}: part {part.id}: {text}") from error
    return Piece(
        id=part.id,
        label=part.label,
        name=part.name,
        kind=part.kind,
        stock=stock,
        body=body,
        placements=placements(matrices, values.get("mirror")) if own.stands else (),
        layers=layers,
        lies_on=tuple(values.get("lies_on") or _uppermost(values.get("over") or (), among)),
        after=tuple(values.get("after") or ()),
        glue=values.get("glue", "contact"),
        notes=(values.get("note") or own.purpose(part, among.made_for(part)),),
        paint="" if values.get("paint") == AS_IT_IS else values.get("paint", ""),
        left_as_it_is=values.get("paint") == AS_IT_IS,
        loose=0 if own.stands else values["count"],
        edge_finish=finish,
        gap=gap,
        rests_on=tuple(values.get("rests_on") or ()),
        hangs_from=tuple(values.get("hangs_from") or ()),
        padding=values.get("padding") or 0.0,
        piece_of=thing_of(part.name, [other.name for other in among.parts.values()]),
    )


def _uppermost(over: Sequence[str], among: Surroundings) -> list[str]:
    """The parts of a pile that are not beneath others of it: what lies over them all touches these."""

    def beneath(part: str) -> set[str]:
        below = among.parts[part].values.get("over") or ()
        return {*below, *(further for other in below for further in beneath(other))}

    covered = {lower for part in over for lower in beneath(part)}
    return [part for part in over if part not in covered]


_Placed = tuple[Body, tuple[np.ndarray, ...], float | None]


def _placed(part: PartSpec, among: Surroundings, thickness: float) -> _Placed:
    """The body where its first copy stands, the (4, 4) matrix of each copy from there, and a row's even gap."""
    told = told_by(part, among)
    if told is None:
        return _worked_out(part, among, thickness)

    among.others.bring(part, among.store)

    def make() -> tuple[_Placed, bool]:
        """Without the surface that all panels of a form share, and whether it was left out."""
        if among.others.may_be_asked:
            _ask_for_others(part, among)
        body, matrices, gap = _worked_out(part, among, thickness)
        shares = isinstance(body, PanelBody) and body.surface is among.surface(body.form)
        return (replace(body, surface=None) if shares else body, matrices, gap), shares  # type: ignore[arg-type]

    (body, matrices, gap), shares = among.store.kept(SHAPE, (told, thickness), make)
    if shares and isinstance(body, PanelBody):
        body = replace(body, surface=among.surface(body.form))
    return body, matrices, gap


def _ask_for_others(part: PartSpec, among: Surroundings) -> None:
    """Have the process beside this one begin at the other end of what is left: what follows other parts last, as these are
    worked out there too then."""

    def is_worth_it(other: PartSpec) -> bool:
        told = told_by(other, among)
        thick = among.stock(other).thickness * among.layers(other)
        return other is not part and told is not None and not among.store.has(SHAPE, (told, thick))

    left = [other for other in reversed(among.left()) if is_worth_it(other)]
    left.sort(key=lambda other: len(_followed(other, among)) > 1)
    among.others.ask(_for_another, among.design, among.store, [other.id for other in left])


def _followed(part: PartSpec, among: Surroundings) -> list[PartSpec]:
    """The parts that a part takes its shape from, straight or by way of others, and itself, in their order."""
    shaping = {spec.id for spec in shaped(part, among)}
    return [spec for spec in among.order if spec.id in shaping]


_for_another_process: dict[str, Surroundings] = {}  # of the design that it is at, by digest


def _for_another(design: Design, store: Store, part: str) -> Made | None:
    """The shape of one part, for the process that asked for it."""
    if design.digest not in _for_another_process:
        _for_another_process.clear()
        _for_another_process[design.digest] = Surroundings(design)
    among = _for_another_process[design.digest]
    among.store = store.ahead()
    left = {spec.id for spec in among.left()}
    for spec in _followed(among.parts[part], among):
        if spec.id in left:
            among.store.taken(SHAPE)
            among.add(place(spec, among))
    return among.store.taken(SHAPE)


def _worked_out(part: PartSpec, among: Surroundings, thickness: float) -> _Placed:
    body = kind(part.kind).body(part, among)
    if isinstance(body, FlatBody):
        body = detailed(body, part.values, among.areas_in(body.frame))
    body, matrices, gap = copies(body, part.values.get("repeat"), thickness, among.course)
    at = part.values.get("at") or {}
    if at.get("onto") and len(matrices) > 1:
        matrices = each_onto(at, matrices, among.surface)
    return body, matrices, gap

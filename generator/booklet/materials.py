"""What must be bought: sheets, glue, sealer and paint, from the measured patterns and joints."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from generator.booklet import practice
from generator.booklet.joints import joints
from generator.booklet.records import Purchase
from generator.design.records import Stock
from generator.flatten.records import Patterns
from generator.errors import BuildError
from generator.parts.records import Prop, RodBody


def stocks_used(prop: Prop) -> tuple[Stock, ...]:
    """The sheet materials of the prop, in the order of the design."""
    used = {piece.stock.id: piece.stock for piece in prop.pieces}
    ordered = [used[id_] for id_ in prop.design.stock if id_ in used]
    return (*ordered, *(stock for id_, stock in used.items() if id_ not in prop.design.stock))


def stock_title(stock: Stock) -> str:
    """The name of a sheet material with its thickness, once."""
    thickness = f"{stock.thickness:g} mm"
    return stock.name if thickness in stock.name else f"{stock.name}, {thickness}"


def stock_area(patterns: Patterns, stock: Stock) -> float:
    """Area in mm2 of all parts cut from `stock`, all copies and layers."""
    return sum(p.area * p.piece.quantity for p in patterns.patterns if p.piece.stock.id == stock.id)


def shopping(prop: Prop, patterns: Patterns) -> tuple[Purchase, ...]:
    """The shopping list: sheets per stock, then glues, sealer and paint. Working figures as in `practice`."""
    found = []
    for stock in stocks_used(prop):
        rods = _bought_lengths(prop, stock)
        if rods:
            found.append(_lengths(stock, rods))
            continue
        area = stock_area(patterns, stock)
        usable = stock.sheet[0] * stock.sheet[1] * (1.0 - practice.SHEET_WASTE)
        width, length = stock.sheet
        item = f"{stock_title(stock)}, sheet {width:g} x {length:g} mm"
        basis = f"{area / 1e6:.3f} m² of parts, {practice.SHEET_WASTE:.0%} of a sheet lost between them"
        found.append(Purchase(item, float(ceil(area / usable - 1e-9)), "sheet", basis))
    return (*found, *_glues(prop, patterns), *_finish(patterns))


def _bought_lengths(prop: Prop, stock: Stock) -> list[float]:
    """Lengths in mm of all rods that are cut from `stock` bought round, longest first."""
    rods = [p for p in prop.pieces if p.stock.id == stock.id and isinstance(p.body, RodBody) and p.body.bought]
    return sorted((p.body.length for p in rods for _ in p.placements), reverse=True)


def _lengths(stock: Stock, rods: Sequence[float]) -> Purchase:
    """How many lengths of round stock: the longest rods are cut first, each from the first rest that is long enough."""
    sold = max(stock.sheet)
    if rods[0] > sold:
        raise BuildError(f"a rod of {rods[0]:.0f} mm from {stock.name}, which is sold in lengths of {sold:g} mm")
    rests: list[float] = []
    for rod in rods:
        place = next((i for i, rest in enumerate(rests) if rest >= rod), None)
        if place is None:
            rests.append(sold - rod)
        else:
            rests[place] -= rod
    basis = "cut to " + ", ".join(f"{rods.count(r)} of {r:.1f} mm" for r in dict.fromkeys(rods))
    return Purchase(f"{stock_title(stock)}, {sold:g} mm long", float(len(rests)), "length", basis)


def _glues(prop: Prop, patterns: Patterns) -> list[Purchase]:
    every = joints(prop, patterns)
    area = {
        glue: sum(joint.area * joint.copies for joint in every if joint.glue == glue) / 1e6
        for glue in ("contact", "instant")
    }
    spare = 1.0 + practice.GLUE_SPARE
    found = []
    if area["contact"]:
        litres = area["contact"] * 2 * practice.CEMENT_COATS / practice.CEMENT_M2_PER_LITRE * spare
        basis = (
            f"{area['contact']:.3f} m² of joints, both faces, {practice.CEMENT_COATS} coats at "
            f"{practice.CEMENT_M2_PER_LITRE:g} m² per litre, {practice.GLUE_SPARE:.0%} spare"
        )
        found.append(Purchase("Contact cement for foam", _up(1000.0 * litres, 50.0), "ml", basis))
    if area["instant"]:
        grams = area["instant"] * practice.INSTANT_GRAMS_PER_M2 * spare
        basis = (
            f"{1e4 * area['instant']:.0f} cm² of joints at {practice.INSTANT_GRAMS_PER_M2:g} g per m², "
            f"{practice.GLUE_SPARE:.0%} spare"
        )
        found.append(Purchase("Instant glue, medium or gel", _up(grams, 5.0), "g", basis))
    return found


def _finish(patterns: Patterns) -> list[Purchase]:
    area = sum(p.area * len(p.piece.placements) for p in patterns.patterns) / 1e6
    found = []
    for item, coats, spread in (
        ("Flexible sealer for foam", practice.SEALER_COATS, practice.SEALER_M2_PER_LITRE),
        ("Flexible paint", practice.PAINT_COATS, practice.PAINT_M2_PER_LITRE),
    ):
        basis = f"{area:.3f} m², one face of each part, {coats} coats at {spread:g} m² per litre"
        found.append(Purchase(item, _up(1000.0 * area * coats / spread, 50.0), "ml", basis))
    return found


def _up(amount: float, step: float) -> float:
    return step * max(1, ceil(amount / step - 1e-9))

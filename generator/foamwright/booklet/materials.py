"""What must be bought: foam as it was laid on its sheets, bars, glue, sealer, paint and blades, with the cost."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from foamwright.booklet import practice
from foamwright.booklet.joints import joints, perimeter
from foamwright.booklet.records import Purchase
from foamwright.design.records import Stock
from foamwright.flatten.records import Patterns
from foamwright.layout.records import FoamSheet
from foamwright.parts.records import Prop
from foamwright.templates.wording import stock_title


def stocks_used(prop: Prop) -> tuple[Stock, ...]:
    """The sheet materials of the prop, in the order of the design."""
    used = {piece.stock.id: piece.stock for piece in prop.pieces}
    ordered = [used[id_] for id_ in prop.design.stock if id_ in used]
    return (*ordered, *(stock for id_, stock in used.items() if id_ not in prop.design.stock))


def weight(patterns: Patterns) -> float:
    """Estimated weight of all pieces in kg: area x thickness x density, without glue and paint."""
    return sum(
        p.area * p.piece.quantity * p.piece.stock.thickness * p.piece.stock.density / 1e9
        for p in patterns.patterns
        if not p.piece.listed_only
    )


def shopping(prop: Prop, patterns: Patterns, sheets: Sequence[FoamSheet]) -> tuple[Purchase, ...]:
    """The shopping list: foam by the `sheets` that the pieces were laid on, what is bought by its length, then
    glues, sealer, paint and blades by working figures as in `practice`."""
    foam = [line for stock in stocks_used(prop) for line in _foam(stock, patterns, sheets)]
    return (*foam, *_by_length(patterns), *_glues(prop, patterns), *_finish(patterns), *_blades(patterns))


def total_cost(purchases: Sequence[Purchase]) -> str:
    """The sum of all costs that are known, by currency, as "84.50 EUR"; empty if no price is known."""
    sums: dict[str, float] = {}
    for line in purchases:
        if line.cost is not None:
            sums[line.currency] = sums.get(line.currency, 0.0) + line.cost
    return " + ".join(f"{cost:.2f} {currency}".strip() for currency, cost in sums.items())


def _foam(stock: Stock, patterns: Patterns, sheets: Sequence[FoamSheet]) -> list[Purchase]:
    """New sheets, or metres of a roll; what lies on the shelf costs nothing and is said in the basis."""
    own = [sheet for sheet in sheets if sheet.material == stock.id]
    if not own:
        return []
    new = [sheet for sheet in own if not sheet.on_hand]
    area = sum(sheet.used * sheet.size[0] * sheet.size[1] for sheet in own)
    laid = sum(sheet.size[0] * sheet.size[1] for sheet in own)
    grams = area * stock.thickness * stock.density / 1e6
    basis = f"{area / 1e6:.3f} m² of pieces, {1.0 - area / laid:.0%} of the sheets left over; {grams:.0f} g"
    if len(new) < len(own):
        basis += f"; {len(own) - len(new)} from the shelf"
    if stock.roll is None:
        item = f"{stock_title(stock)}, sheet {stock.sheet[0]:g} x {stock.sheet[1]:g} mm"
        amount, unit = float(len(new)), "sheet"
    else:
        item = f"{stock_title(stock)}, roll {stock.roll:g} mm wide"
        amount, unit = _up(sum(sheet.size[1] for sheet in new), 10.0) / 1000.0 if new else 0.0, "m"
    cost = None if stock.price is None else stock.price * amount
    return [Purchase(item, amount, unit, basis, cost, stock.currency)]


def _by_length(patterns: Patterns) -> list[Purchase]:
    """Bought bars, and strips that are listed only: how long in all, and in how many lengths of the stock."""
    runs: dict[tuple[str, float], list[float]] = {}
    stocks = {}
    for pattern in patterns.patterns:
        piece = pattern.piece
        if piece.listed_only and pattern.strip is not None:
            length, width = pattern.strip
            stocks[piece.stock.id] = piece.stock
            runs.setdefault((piece.stock.id, round(width, 2)), []).extend([length] * piece.quantity)
    found = []
    for (id_, width), lengths in runs.items():
        stock = stocks[id_]
        whole = max(stock.sheet)
        count = _lengths_needed(lengths, whole)
        bar = abs(width - stock.thickness) < 0.01
        item = f"{stock_title(stock)}, {whole:g} mm long" if bar else f"{stock_title(stock)}, strip {width:g} mm wide"
        basis = f"{len(lengths)} pieces, {sum(lengths) / 1000.0:.2f} m in all, the longest {max(lengths):.0f} mm"
        cost = stock.price * count if bar and stock.price is not None else None
        found.append(Purchase(item, float(count), "length", basis, cost, stock.currency))
    return found


def _lengths_needed(lengths: Sequence[float], whole: float) -> int:
    """Lengths of `whole` mm that pieces are cut from, the longest first; a longer piece is joined from several."""
    rest: list[float] = []
    count = 0
    for length in sorted(lengths, reverse=True):
        count += int(length // whole)
        end = length % whole
        if end < 1e-6:
            continue
        k = next((k for k, room in enumerate(rest) if room >= end - 1e-9), None)
        if k is None:
            rest.append(whole - end)
        else:
            rest[k] -= end
    return count + len(rest)


def _blades(patterns: Patterns) -> list[Purchase]:
    """Knife blades by the metres that are cut."""
    metres = sum(perimeter(p) * p.piece.quantity for p in patterns.patterns if not p.piece.listed_only) / 1000.0
    basis = f"{metres:.1f} m of cuts at {practice.METRES_PER_BLADE:g} m to a blade"
    return [Purchase("Knife blades", _up(metres / practice.METRES_PER_BLADE, 1.0), "blade", basis)]


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

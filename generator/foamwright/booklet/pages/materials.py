"""What must be bought: foam as it was laid on its sheets, bars, glue, sealer, paint and blades, with the cost."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from math import ceil

from foamwright.assembly import practice
from foamwright.assembly.joints import perimeter
from foamwright.assembly.naming import capital
from foamwright.assembly.records import Purchase, Step
from foamwright.assembly.units import is_bare
from foamwright.booklet.pictures.colours import word_of
from foamwright.booklet.words.supplies import SUPPLIES, called, named
from foamwright.design.records import Bought, Design, Stock
from foamwright.flatten.records import Pattern, Patterns
from foamwright.language import count, decimal, length, lengths, listed, phrase, rows, say
from foamwright.layout.records import FoamSheet
from foamwright.parts.records import Prop
from foamwright.templates.wording import stock_title

_GEL = re.compile(r"\bgel\b", re.IGNORECASE)  # in sentences of any language of the catalogue
_PACKED = {  # units of what is not measured out
    "pack": phrase("1 pack"),
    "roll": phrase("1 roll"),
    "can": phrase("1 can"),
    "sheet of felt": phrase("1 sheet"),
    "bag": phrase("1 bag"),
    "set": phrase("1 set"),
    "sheet": phrase("1 sheet"),
}
_LEAST_AREA = 0.001  # m2; less would be told as nothing
_OFFCUT = 0.75  # of a sheet's length that pieces take at most, so that it need not be a whole one
_MEASURED = ("primer", "paint")  # have lines of their own


def stocks_used(prop: Prop) -> tuple[Stock, ...]:
    """The sheet materials of the prop, in the order of the design."""
    used = {piece.stock.id: piece.stock for piece in prop.pieces}
    ordered = [used[id_] for id_ in prop.design.stock if id_ in used]
    return (*ordered, *(stock for id_, stock in used.items() if id_ not in prop.design.stock))


def shopping(
    prop: Prop, patterns: Patterns, sheets: Sequence[FoamSheet], steps: Sequence[Step] = ()
) -> tuple[Purchase, ...]:
    """The shopping list: foam by the `sheets` that the pieces were laid on, what is bought by its length, then glues, sealer,
    paint and blades by working figures as in `practice`, and whatever else the `steps` use up."""
    design = prop.design
    foam = [
        replace(line, sellers=sellers(design, stock.id))
        for stock in stocks_used(prop)
        for line in _foam(stock, patterns, sheets)
    ]
    worked = (*_glues(steps), *_finish(patterns), *_blades(patterns))
    bought = (_bought(one, steps) for one in design.supplies.values())
    return (*foam, *_by_length(patterns, design), *worked, *_used_up(patterns, steps), *bought)


def sellers(design: Design, stock: str) -> tuple[str, ...]:
    """Who sells a stock, as the maker of the design says; links that the maker is paid for are marked."""
    paid = say("paid link: the maker earns by it")
    told = design.channel.get("suppliers", {}).get(stock, ())
    return tuple(f"{one['name']}, {one['address']}" + (f" ({paid})" if one["paid"] else "") for one in told)


def quantity(line: Purchase) -> str:
    """How much of it, with its unit in words: "2 sheets", "150 ml"."""
    amount = round(line.amount)
    if line.unit == "sheet":
        return count("{n} sheet", "{n} sheets", amount)
    if line.unit == "length":
        return count("{n} length", "{n} lengths", amount)
    if line.unit == "blade":
        return count("{n} blade", "{n} blades", amount)
    if line.unit == "pair":
        return count("{n} sheet of each", "{n} sheets of each", amount)
    if line.unit == "piece":
        return count("{n} piece", "{n} pieces", amount)
    if line.unit in _PACKED:
        return say(_PACKED[line.unit])
    return f"{decimal(line.amount, 0 if line.amount == amount else 1)} {line.unit}"


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
    taken = _up(own[0].length + stock.edge, 10.0)
    if len(own) == 1 and stock.roll is None and taken < _OFFCUT * own[0].size[1]:
        basis = say("an offcut of {size} is enough", size=lengths((own[0].size[0], taken)))
    else:
        area = sum(sheet.used * sheet.size[0] * sheet.size[1] for sheet in own)
        basis = say("{area} m² of pieces", area=decimal(area / 1e6, 2))
    if stock.colour:
        basis += say("; {colour} in the pictures", colour=word_of(stock.colour))
    if len(new) < len(own):
        basis += say("; {n} from the shelf", n=len(own) - len(new))
    if stock.roll is None:
        item = say("{stock}, sheet {size}", stock=stock_title(stock), size=lengths(stock.sheet))
        amount, unit = float(len(new)), "sheet"
    else:
        item = say("{stock}, roll {size} wide", stock=stock_title(stock), size=length(stock.roll))
        amount, unit = _up(sum(sheet.size[1] for sheet in new), 10.0) / 1000.0 if new else 0.0, "m"
    cost = None if stock.price is None else stock.price * amount
    return [Purchase(item, amount, unit, basis, cost, stock.currency)]


def _by_length(patterns: Patterns, design: Design) -> list[Purchase]:
    """Bought bars, and strips that are listed only: how long in all, and in how many lengths of the stock."""
    runs: dict[tuple[str, float], list[float]] = {}
    stocks = {}
    for pattern in patterns.patterns:
        piece = pattern.piece
        if piece.listed_only and pattern.strip is not None:
            long, width = pattern.strip
            stocks[piece.stock.id] = piece.stock
            runs.setdefault((piece.stock.id, round(width, 2)), []).extend([long] * piece.quantity)
    rows = []
    for (id_, width), pieces in runs.items():
        stock = stocks[id_]
        whole = max(stock.sheet)
        needed = _lengths_needed(pieces, whole)
        bar = abs(width - stock.thickness) < 0.01
        name = stock_title(stock)
        if bar:
            item = say("{stock}, {size} long", stock=name, size=length(whole))
        else:
            item = say("{stock}, strip {size} wide", stock=name, size=length(width))
        basis = count(
            "{n} piece of {longest}",
            "{n} pieces, {sum} m in all, the longest {longest}",
            len(pieces),
            sum=decimal(sum(pieces) / 1000.0, 2),
            longest=length(max(pieces)),
        )
        cost = stock.price * needed if bar and stock.price is not None else None
        rows.append(Purchase(item, float(needed), "length", basis, cost, stock.currency, sellers(design, id_)))
    return rows


def _lengths_needed(pieces: Sequence[float], whole: float) -> int:
    """Lengths of `whole` mm that pieces are cut from, the longest first; a longer piece is joined from several."""
    rest: list[float] = []
    complete = 0
    for piece in sorted(pieces, reverse=True):
        complete += int(piece // whole)
        end = piece % whole
        if end < 1e-6:
            continue
        k = next((k for k, room in enumerate(rest) if room >= end - 1e-9), None)
        if k is None:
            rest.append(whole - end)
        else:
            rest[k] -= end
    return complete + len(rest)


def _blades(patterns: Patterns) -> list[Purchase]:
    """Knife blades by the metres that are cut."""
    metres = sum(perimeter(p) * p.piece.quantity for p in patterns.patterns if not p.piece.listed_only) / 1000.0
    basis = say(
        "{metres} m of cuts at {each} m to a blade", metres=decimal(metres, 1), each=f"{practice.METRES_PER_BLADE:g}"
    )
    return [Purchase(say("Knife blades"), _up(metres / practice.METRES_PER_BLADE, 1.0), "blade", basis)]


def _glues(steps: Sequence[Step]) -> list[Purchase]:
    area = {glue: sum(step.glued.get(glue, 0.0) for step in steps) / 1e6 for glue in ("contact", "instant")}
    spare = 1.0 + practice.GLUE_SPARE
    glues = []
    if area["contact"]:
        litres = area["contact"] * 2 * practice.CEMENT_COATS / practice.CEMENT_M2_PER_LITRE * spare
        basis = say(
            "{area} m² of joints, both faces, {coats} coats at {spread} m² per litre, {spare} spare",
            area=decimal(area["contact"], 3),
            coats=practice.CEMENT_COATS,
            spread=f"{practice.CEMENT_M2_PER_LITRE:g}",
            spare=f"{100.0 * practice.GLUE_SPARE:.0f} %",
        )
        glues.append(Purchase(say("Contact cement for foam"), _up(1000.0 * litres, 50.0), "ml", basis))
    if area["instant"] or any("instant-glue" in step.cautions for step in steps):  # a bar in its hole takes a drop
        grams = area["instant"] * practice.INSTANT_GRAMS_PER_M2 * spare
        basis = say(
            "{area} cm² of joints at {spread} g per m², {spare} spare",
            area=f"{1e4 * area['instant']:.0f}",
            spread=f"{practice.INSTANT_GRAMS_PER_M2:g}",
            spare=f"{100.0 * practice.GLUE_SPARE:.0f} %",
        )
        asked = any(_GEL.search(line) for step in steps for line in step.instructions)
        item = say("Instant glue, gel") if asked else say("Instant glue, medium or gel")
        glues.append(Purchase(item, _up(grams, 5.0), "g", basis))
    return glues


def _finish(patterns: Patterns) -> list[Purchase]:
    """Sealer for all parts, and paint by the colours of the design, each for the area of its parts."""
    painted = _painted(patterns)
    if not painted:
        return []
    area = _face_area(painted)
    colours: dict[str, float] = {}
    for pattern in painted:
        piece = pattern.piece
        colours[piece.paint] = colours.get(piece.paint, 0.0) + _face_area([pattern])
    yours = colours.pop("", 0.0)
    sealer = say("Rubberised primer, or flexible sealer for foam")
    bought = [_coats(sealer, area, practice.SEALER_COATS, practice.SEALER_M2_PER_LITRE, 50.0)]
    for colour, share in colours.items():
        item = say("Flexible acrylic paint, {colour}", colour=colour)
        bought.append(_coats(item, share, practice.PAINT_COATS, practice.PAINT_M2_PER_LITRE, 25.0))
    if yours or not colours:
        item = say("Flexible acrylic paint, in the colours you want")
        bought.append(_coats(item, yours, practice.PAINT_COATS, practice.PAINT_M2_PER_LITRE, 25.0))
    return bought


def _painted(patterns: Patterns) -> list[Pattern]:
    """The parts that are sealed, painted and varnished."""
    return [pattern for pattern in patterns.patterns if not is_bare(pattern.piece)]


def _face_area(painted: Sequence[Pattern]) -> float:
    """One face of every copy, and what is painted beside it, in m2."""
    return practice.FACES_PAINTED * sum(pattern.area * len(pattern.piece.placements) for pattern in painted) / 1e6


def _coats(item: str, area: float, coats: int, spread: float, step: float) -> Purchase:
    """`area` in m2; `spread` in m2 for a litre and a coat; bought in steps of so many ml."""
    basis = count(
        "{area} m² with edges and insides, {n} coat at {spread} m² per litre",
        "{area} m² with edges and insides, {n} coats at {spread} m² per litre",
        coats,
        area=decimal(max(area, _LEAST_AREA), 3),
        spread=f"{spread:g}",
    )
    return Purchase(item, _up(1000.0 * area * coats / spread, step), "ml", basis)


def _bought(one: Bought, steps: Sequence[Step]) -> Purchase:
    """What the design wants bought."""
    item = called(one)
    numbers = [step.number for step in steps if item in step.bought]
    basis = [_for_steps(numbers)] if numbers else []
    told = "; ".join([*basis, *([one.note] if one.note else [])])
    if one.length is None:
        return Purchase(item, float(one.count), "piece", told)
    return Purchase(item, _up(one.length / 1000.0, 0.1), "m", told)


def _for_steps(numbers: Sequence[int]) -> str:
    return count("for step {steps}", "for steps {steps}", len(numbers), steps=listed(_runs(numbers)))


def _used_up(patterns: Patterns, steps: Sequence[Step]) -> list[Purchase]:
    """What else the steps use up, in the order of the list of supplies."""
    used = {key for step in steps for key in step.uses}
    return [
        _spent(key, patterns, steps)
        for key, supply in SUPPLIES.items()
        if key in used and supply.consumed and key not in _MEASURED
    ]


def _runs(numbers: Sequence[int]) -> list[str]:
    """Rising numbers, three and more in a row as the first and the last of them."""
    return [
        told
        for run in rows(numbers)
        for told in ([f"{run[0]}–{run[-1]}"] if len(run) > 2 else [str(number) for number in run])
    ]


def _spent(key: str, patterns: Patterns, steps: Sequence[Step]) -> Purchase:
    item = capital(named(key))
    numbers = [step.number for step in steps if key in step.uses]
    basis = _for_steps(numbers)
    if key == "varnish":
        area = _face_area(_painted(patterns))
        return _coats(item, area, practice.VARNISH_COATS, practice.PAINT_M2_PER_LITRE, 25.0)
    if key == "filler":
        metres = sum(max(s.length_a, s.length_b) for s in patterns.seams) / 1000.0
        return Purchase(item, _up(practice.FILLER_ML_PER_METRE * metres, 25.0), SUPPLIES[key].unit, basis)
    if key == "felt":
        thick = max(p.piece.padding for p in patterns.patterns)
        item = say("{item}, {size} thick", item=item, size=length(thick)) if thick else item
        return Purchase(item, 1.0, SUPPLIES[key].unit, basis)
    if key == "pins":
        pins = sum(len(getattr(p.piece.body, "pins", ())) for p in patterns.patterns)
        return Purchase(item, float(max(pins, 1)), SUPPLIES[key].unit, basis)
    if key == "sandpaper":
        metres = sum(perimeter(p) * p.piece.quantity for p in patterns.patterns if p.piece.edge_finish) / 1000.0
        return Purchase(item, float(1 + int(metres / practice.METRES_PER_SHEET)), SUPPLIES[key].unit, basis)
    return Purchase(item, 1.0, SUPPLIES[key].unit, basis)


def _up(amount: float, step: float) -> float:
    return step * max(1, ceil(amount / step - 1e-9))

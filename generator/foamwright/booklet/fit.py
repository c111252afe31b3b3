"""The sections on the figure: what is measured first, and how the prop fits, stands and shares its space."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from foamwright.booklet.figures import picture_block
from foamwright.booklet.records import Picture
from foamwright.booklet.tables import Column, header_row, rows_of
from foamwright.booklet.typeset import Block, Section, beside, paragraph, stack
from foamwright.design.records import Parameter
from foamwright.language import listed
from foamwright.parts.records import Prop

if TYPE_CHECKING:  # the solids step is heavy, and only its plain records are read here
    from foamwright.model.figure import Contact, Entry, Fit
    from foamwright.model.interference import Interference
    from foamwright.model.stability import Balance, Stability

_PICTURE_HEIGHT = 80.0
_GAP = 6.0
_TOLD = 5  # of the parts that the figure runs into
_ALONG = (("forward", "back"), ("left", "right"), ("up", "down"))
_SLIGHT = 0.35  # a share of a direction below it is not named

Named = Callable[[str, int], str]  # part id and copy to what the maker calls it


def measures(prop: Prop, width: float) -> Section:
    """Every parameter that is measured on the figure, and what this pack was made for."""
    taken = [parameter for parameter in prop.design.parameters if parameter.measure]
    columns = (
        Column("Measure", 0.22 * width),
        Column("Where", 0.46 * width),
        Column("This pack", 0.16 * width, "end"),
        Column("Can be", 0.16 * width, "end"),
    )
    rows = rows_of(columns, [(_words(p.name), p.measure, _value(p.value, p.unit), _limits(p)) for p in taken])
    if not rows:
        return Section("Measure first", ())
    one = taken[0]
    advice = paragraph(
        "Measure before you print: this pack was made for the figures below. Where yours differ, build the pack "
        f"anew with them, as in --set {one.name}={_value(one.value, one.unit).replace(' ', '')}; the foam keeps "
        "its thickness. Keep the tape level and close, and measure twice.",
        width,
    )
    head = stack([advice, Block(2.0, ()), header_row(columns), rows[0]])
    return Section("Measure first", (head, *rows[1:]))


def fit(
    prop: Prop,
    found: Fit | None,
    balance: Balance | None,
    interferences: Sequence[Interference],
    pictures: Sequence[Picture],
    width: float,
) -> Section:
    """How close the prop comes to its figure, how it stands, and where parts share space."""
    copies = {piece.id: (f"{piece.label} {piece.name}", len(piece.placements)) for piece in prop.pieces}

    def named(part: str, copy: int) -> str:
        name, count = copies[part]
        return f"{name} (copy {copy})" if count > 1 else name

    columns = (Column("", 0.26 * width), Column("", 0.74 * width))
    facts = [*_figure_facts(found, named), *_balance_facts(balance)]
    blocks = [*_pictures(pictures, width), *rows_of(columns, facts)]
    if found is not None:
        note = "Places are from the origin of the model. Measure your own figure before you cut: the model of it is "
        note += "rigid and simple, so that a soft figure may give where this one is stopped."
        blocks.append(stack([Block(1.5, ()), paragraph(note, width)]))
    else:
        blocks.append(paragraph("No figure to fit was measured against.", width))
    return Section("Fit", (*blocks, *_shared(interferences, named, width)))


def _figure_facts(found: Fit | None, named: Named) -> list[tuple[str, str]]:
    if found is None:
        return []
    facts = [
        ("Figure", found.figure),
        (
            "Least clearance",
            f"{found.clearance:.1f} mm, at {named(found.part, found.copy)}, {_place(found.at)}",
        ),
    ]
    if found.contacts:
        facts.append(("It runs into", _met(found.contacts, named)))
    return facts + (_entry_facts(found.entry, named) if found.entry else [])


def _entry_facts(entry: Entry, named: Named) -> list[tuple[str, str]]:
    facts = [("Way in", f"straight, moving {_way(entry.direction)}")]
    if entry.blocks:
        first = entry.blocks[0]
        told = f"no: with {entry.left:.0f} mm to go it meets {named(first.part, first.copy)}"
        facts.append(("Gets in", told))
        facts.append(("In the way", _met(entry.blocks, named)))
    else:
        place = f"at {named(entry.part, entry.copy)}, {_place(entry.at)}"
        facts.append(("Gets in", f"yes, with at least {entry.clearance:.1f} mm all the way: {place}"))
    return facts


def _met(contacts: Sequence[Contact], named: Named) -> str:
    """What the figure runs into and how deep, as far as there is room to tell."""
    told = [f"{named(c.part, c.copy)} ({c.depth:.1f} mm deep)" for c in contacts[:_TOLD]]
    return listed(told + [f"{len(contacts) - _TOLD} more"] * (len(contacts) > _TOLD))


def _balance_facts(balance: Balance | None) -> list[tuple[str, str]]:
    if balance is None:
        return []
    facts = [
        ("Mass of the parts", f"{_mass(balance.mass)}, before glue and paint"),
        ("Centre of mass", _place(balance.centre)),
    ]
    stability = balance.stability
    if stability is not None:
        facts.append(("Stands", _standing(stability)))
    return facts


def _standing(stability: Stability) -> str:
    """One sentence on whether it stands, and how safely."""
    load = f", with the figure ({_mass(stability.figure_mass)}) in it" if stability.figure_mass else ""
    way = _way(stability.towards)
    if stability.stands:
        return f"yes{load}: it tips once it is tilted by {stability.tipping_angle:.1f}°, {way} first"
    lean = f"it would have to be tilted {-stability.tipping_angle:.1f}° the other way to stand"
    return f"no{load}: it falls over, {way}; {lean}"


def _pictures(pictures: Sequence[Picture], width: float) -> list[Block]:
    """The figure in the prop, two views beside each other."""
    if not pictures:
        return []
    room = (width - _GAP * (len(pictures) - 1)) / len(pictures)
    drawn = [picture_block(picture, room, _PICTURE_HEIGHT) for picture in pictures]
    height = max(block.height for block in drawn)
    row = Block(height, ())
    for number, block in enumerate(drawn):
        sunk = stack([Block((height - block.height) / 2.0, ()), block])
        row = beside(row, sunk, number * (room + _GAP))
    told = "The figure is drawn in dotted and dashed lines, short dashes where the prop hides it."
    return [stack([row, Block(2.0, ()), paragraph(told, width), Block(2.0, ())])]


def _shared(interferences: Sequence[Interference], named: Named, width: float) -> tuple[Block, ...]:
    if not interferences:
        return (stack([Block(1.5, ()), paragraph("No two parts share space in the model.", width)]),)
    columns = (
        Column("Part", 0.36 * width),
        Column("and part", 0.36 * width),
        Column("Depth, mm", 0.14 * width, "end"),
        Column("cm³", 0.14 * width, "end"),
    )
    rows = rows_of(
        columns,
        [
            (
                named(f.part_a, f.copy_a),
                named(f.part_b, f.copy_b),
                f"{f.depth:.1f}",
                f"{f.volume / 1000.0:.2f}",
            )
            for f in interferences
        ],
    )
    advice = paragraph("These parts share space in the model; trim one of each pair until both fit:", width)
    head = stack([Block(1.5, ()), advice, Block(2.0, ()), header_row(columns), rows[0]])
    return (head, *rows[1:])


def _place(at: Sequence[float]) -> str:
    """A place by how far it is from the origin along each axis."""
    steps = [f"{abs(x):.0f} mm {words[x < 0.0]}" for x, words in zip(at, _ALONG) if abs(x) >= 0.5]
    return ", ".join(steps) or "at the origin"


def _way(vector: Sequence[float]) -> str:
    """A direction in words: "forward", "back and left"."""
    return " and ".join(words[x < 0.0] for x, words in zip(vector, _ALONG) if abs(x) > _SLIGHT)


def _mass(kilograms: float) -> str:
    return f"{1000.0 * kilograms:.0f} g" if kilograms < 1.0 else f"{kilograms:.2f} kg"


def _words(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _value(value: float, unit: str) -> str:
    return f"{value:g} {unit}".strip()


def _limits(parameter: Parameter) -> str:
    low, high = (
        None if limit is None else _value(limit, parameter.unit) for limit in (parameter.minimum, parameter.maximum)
    )
    if low and high:
        return f"{parameter.minimum:g} to {high}"
    return f"from {low}" if low else f"to {high}" if high else ""

"""The sections on the figure: what is measured first, and how the prop fits, stands and shares its space."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from foamwright.assembly.directions import side, towards
from foamwright.assembly.naming import the
from foamwright.assembly.records import Picture
from foamwright.booklet.pages.chapters import Chapter, Column, Item, Table, Views, Words
from foamwright.design.records import Parameter
from foamwright.language import decimal, length, listed, mass, say, units
from foamwright.parts.records import Prop

if TYPE_CHECKING:  # the solids step is heavy, and only its plain records are read here
    from foamwright.model.figure import Contact, Fit
    from foamwright.model.interference import Interference
    from foamwright.model.stability import Balance, Stability

_NARROW = 1.95  # mm of room, below which tenths are told
_TOLD = 5  # of the parts that the figure runs into

Named = Callable[[str], str]  # part id to what the maker calls it


def measures(prop: Prop, tried_on: Fit | None, load: float) -> Chapter:
    """Every parameter that is measured on the figure, what this pack was made for, and what of the figure gets in: the room that
    it was `tried_on` with, and the `load` in kg that the prop carries, 0 for none."""
    items: list[Item] = []
    taken = [parameter for parameter in prop.design.parameters if parameter.measure]
    if taken:
        limits = any(_limits(parameter) for parameter in taken)
        columns = (
            Column(say("Measure"), 0.20),
            Column(say("Where"), 0.38 if limits else 0.50),
            Column(say("This pack"), 0.15, True),
            *((Column(say("Can be"), 0.15, True),) if limits else ()),
            Column(say("Yours"), 0.12 if limits else 0.15),
        )
        rows = tuple(
            (_words(p.name), p.measure, _value(p.value, p.unit), *((_limits(p),) if limits else ()), "") for p in taken
        )
        advice = Words(
            say(
                "Measure before you print, and write your figures into the last column. Keep the tape level and close, and "
                "measure twice. If a figure differs from that of this pack, do not enlarge the paper, as the foam does not grow "
                "thicker with it: have the pack made again with your measures, by the program that made it."
            )
        )
        items += [advice, Table(columns, rows)]
    room = [] if tried_on is None else _made_for(tried_on)
    if room:
        room.append(
            say(
                "That is a plain, stiff dummy: hold the parts together with tape and try the real one before you glue them."
            )
        )
    if load and tried_on is not None:
        room.append(say("It carries up to {mass}: weigh what will sit there.", mass=mass(load)))
    if room:
        items.append(Words(" ".join(room)))
    return Chapter(say("Measure first"), tuple(items))


def _made_for(tried_on: Fit) -> list[str]:
    """The size of the figure that this pack was made for, and the room that it has in its place and on its way there."""
    if tried_on.size is None:
        return []
    long, wide, high = map(length, tried_on.size)
    text = [
        say(
            "Made for \u201c{figure}\u201d, {long} from front to back, {wide} wide and {high} high.",
            figure=tried_on.figure,
            long=long,
            wide=wide,
            high=high,
        )
    ]
    room = (tried_on.beside or tried_on).clearance
    if tried_on.contacts:
        text.append(
            say(
                "In this size it does not fit: it would reach {size} into the foam.",
                size=length(max(contact.depth for contact in tried_on.contacts)),
            )
        )
    elif tried_on.entry is not None and not tried_on.entry.blocks:
        way_in = (tried_on.beside or tried_on.entry).clearance
        text.append(
            say(
                "At the tightest place {room} is free around it once it is in, and {way} on its way in: compare length, width "
                "and height.",
                room=_room(room),
                way=_room(way_in),
            )
            if _room(way_in) != _room(room)
            else say(
                "At the tightest place {size} is free around it, once it is in and on its way in: compare length, width and "
                "height.",
                size=_room(room),
            )
        )
    else:
        text.append(say("At the tightest place {size} is free around it.", size=_room(room)))
    return text


def fit(
    prop: Prop,
    tried_on: Fit | None,
    balance: Balance | None,
    interferences: Sequence[Interference],
    pictures: Sequence[Picture],
) -> Chapter:
    """How close the prop comes to its figure, how it stands, and where parts share space."""
    names = {
        piece.id: the(piece) if len(piece.placements) == 1 else say("one of {parts}", parts=the(piece))
        for piece in prop.pieces
    }
    named = names.__getitem__
    facts = (*_figure_facts(tried_on, named), *_balance_facts(balance))
    items: list[Item] = []
    if pictures:
        items.append(
            Views(
                tuple(pictures),
                say("The figure is drawn in dotted and dashed lines, short dashes where the prop hides it."),
            )
        )
    if facts:
        items.append(Table((Column("", 0.26), Column("", 0.74)), facts))
    return Chapter(say("Fit and balance"), (*items, *_shared(interferences, named)))


def _figure_facts(tried_on: Fit | None, named: Named) -> list[tuple[str, str]]:
    if tried_on is None:
        return []
    facts = [(say("Figure"), _sized(tried_on))]
    if tried_on.beside is not None:
        facts.append((say("It rests on"), named(tried_on.part)))
    room = tried_on.beside or tried_on
    tightest = say("{size}, at {part}", size=_room(room.clearance), part=named(room.part))
    facts.append((say("Tightest place"), tightest))
    if tried_on.contacts:
        facts.append((say("It runs into"), _met(tried_on.contacts, named)))
    return facts + (_entry_facts(tried_on, named) if tried_on.entry else [])


def _room(size: float) -> str:
    """A room in mm, with its tenths where it is narrow: what is hardly any is no room of 0 mm."""
    return length(size, 1 if 0.05 <= size < _NARROW else 0)


def _sized(tried_on: Fit) -> str:
    """The figure with the size that the prop was made for."""
    if tried_on.size is None:
        return tried_on.figure
    long, wide, high = map(length, tried_on.size)
    return say(
        "{figure}: {long} from front to back, {wide} wide, {high} high",
        figure=tried_on.figure,
        long=long,
        wide=wide,
        high=high,
    )


def _entry_facts(tried_on: Fit, named: Named) -> list[tuple[str, str]]:
    entry = tried_on.entry
    assert entry is not None
    facts = [(say("Way in"), say("straight in {side}", side=side([-along for along in entry.direction])))]
    if entry.blocks:
        first = entry.blocks[0]
        told = say("no: with {left} to go it meets {part}", left=length(entry.left), part=named(first.part))
        facts.append((say("Gets in"), told))
        facts.append((say("In the way"), _met(entry.blocks, named)))
    else:
        room = tried_on.beside or entry
        told = say("yes, with at least {size} to spare all along", size=_room(room.clearance))
        if entry.taken_out:
            parts = listed([named(part) for part in entry.taken_out])
            told = say(
                "yes, once this is out of the way: {parts}; then with at least {size} to spare all along",
                parts=parts,
                size=_room(room.clearance),
            )
        facts.append((say("Gets in"), told))
    return facts


def _met(contacts: Sequence[Contact], named: Named) -> str:
    """What the figure runs into and how deep, as far as there is room to tell."""
    deepest: dict[str, float] = {}  # of copies that have one name
    for contact in contacts:
        name = named(contact.part)
        deepest[name] = max(deepest.get(name, 0.0), contact.depth)
    told = [say("{part} ({depth} deep)", part=name, depth=length(depth, 1)) for name, depth in deepest.items()]
    return listed(told[:_TOLD] + [say("{n} more", n=len(told) - _TOLD)] * (len(told) > _TOLD))


def _balance_facts(balance: Balance | None) -> list[tuple[str, str]]:
    if balance is None:
        return []
    facts = [
        (say("Mass of the parts"), say("{mass}, before glue, paint and whatever is filled in", mass=mass(balance.mass)))
    ]
    stability = balance.stability
    if stability is not None:
        facts.append((say("Stands"), _standing(stability)))
    return facts


def _standing(stability: Stability) -> str:
    """One sentence on whether it stands, and how safely."""
    way = towards(stability.towards)
    tilt = decimal(abs(stability.tipping_angle), 0)
    if stability.figure_mass:
        figure = mass(stability.figure_mass)
        if stability.stands:
            return say(
                "yes, with the figure ({mass}) in it: it tips over once it is tilted by {tilt}° or more ({way})",
                mass=figure,
                tilt=tilt,
                way=way,
            )
        return say(
            "no, with the figure ({mass}) in it: it falls over, {way}; it would have to be tilted {tilt}° the other way "
            "to stand",
            mass=figure,
            tilt=tilt,
            way=way,
        )
    if stability.stands:
        return say("yes; it tips over once it is tilted by {tilt}° or more ({way})", tilt=tilt, way=way)
    return say(
        "not by itself: it tips over ({way}), unless it leans {tilt}° the other way. Make a stand, or put weight in on that side",
        tilt=tilt,
        way=way,
    )


def _shared(interferences: Sequence[Interference], named: Named) -> tuple[Item, ...]:
    if not interferences:
        return ()
    columns = (
        Column(say("Part"), 0.36),
        Column(say("and part"), 0.36),
        Column(say("Depth, mm"), 0.14, True),
        Column("cm\u00b3", 0.14, True),
    )
    rows = tuple(
        (
            named(f.part_a),
            named(f.part_b),
            decimal(f.depth, 1),
            decimal(f.volume / 1000.0, 2),
        )
        for f in interferences
    )
    advice = Words(say("These parts share space by design; trim one of each pair until both fit:"))
    return (advice, Table(columns, rows))


def _words(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _value(value: float, unit: str) -> str:
    return length(value) if unit == "mm" and units() != "mm" else f"{value:g} {unit}".strip()


def _limits(parameter: Parameter) -> str:
    low, high = (
        None if limit is None else _value(limit, parameter.unit) for limit in (parameter.minimum, parameter.maximum)
    )
    if low and high:
        return say("{low} to {high}", low=low, high=high)
    return say("from {low}", low=low) if low else say("up to {high}", high=high) if high else ""

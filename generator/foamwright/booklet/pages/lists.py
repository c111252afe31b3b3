"""The chapters around the steps: safety, tools, shopping list, parts, how it is done, use and care, appendix."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from foamwright.assembly import practice
from foamwright.assembly.joints import drawn_length
from foamwright.assembly.records import Step
from foamwright.booklet.pages.cautions import CAUTIONS, JOINING_PAGES, LAST_WORD, PRINTING
from foamwright.booklet.pages.chapters import Bullets, Chapter, Column, Item, Lead, Table, Warn, Words
from foamwright.booklet.pages.materials import quantity, sellers, shopping, total_cost
from foamwright.booklet.words import bending, warming
from foamwright.booklet.words.cutting import is_curved, mitre_angles, over_pages, small_hole, split_text, straight_bevel
from foamwright.booklet.words.supplies import SUPPLIES, named
from foamwright.design.records import Design
from foamwright.flatten.records import Pattern, Patterns, Seam
from foamwright.language import count, decimal, duration, length, lengths, listed, mass, say
from foamwright.layout.records import FoamSheet
from foamwright.parts.records import Prop
from foamwright.templates.bevels import bevelled, is_bevelled
from foamwright.templates.draw import RELIEF
from foamwright.templates.wording import seam_numbers, stock_title

if TYPE_CHECKING:  # the solids step is heavy, and only its plain records are read here
    from foamwright.model.stability import Balance

_CHANGES = 5  # versions that are told
_BLOCKS = 6  # angles that are listed
_BY_HAND = 260.0  # mm across; what is rounder is bent over anything
_ABREAST = 2  # rows of a narrow table that stand beside each other on paper


def called(steps: Sequence[Step]) -> list[str]:
    """The cautions that some step calls for, in their order; waste is there whatever is done."""
    keys = {key for step in steps for key in step.cautions} | {"disposal"}
    return [key for key in CAUTIONS if key in keys]


def safety(steps: Sequence[Step]) -> Chapter:
    """Every caution that some step calls for, in full."""
    warnings = [Warn(say(CAUTIONS[key].title), say(CAUTIONS[key].full)) for key in called(steps)]
    return Chapter(say("Safety"), (*warnings, Words(say(LAST_WORD))))


def tools(steps: Sequence[Step], patterns: Patterns) -> Chapter:
    """Everything but the materials, with the sizes of what comes in sizes."""
    used = {key for step in steps for key in step.uses}
    sizes = {"former": _formers(patterns), "gauge": _angles(patterns), "punch": _punched(patterns)}
    kept = tuple(
        say("{tool}: {sizes}", tool=named(key), sizes=sizes[key]) if sizes.get(key) else named(key)
        for key, supply in SUPPLIES.items()
        if key in used and not supply.consumed
    )
    return Chapter(
        say("Tools"), (Bullets(kept, say("Materials, glue and paint are in the shopping list.")),) if kept else ()
    )


def _formers(patterns: Patterns) -> str:
    """How far across the round things are that foam is bent over."""
    across = {
        bending.round_about(p.piece)[0]
        for p in patterns.patterns
        if warming.is_warmed(p) and bending.is_about_something(p.piece)
    }
    across |= {
        round(bending.former(p.piece))
        for p in patterns.patterns
        if bending.is_rolled(p.piece) and not warming.is_warmed(p) and bending.former(p.piece) <= _BY_HAND
    }
    return listed([length(size) for size in sorted(across)]) if across else ""


def _punched(patterns: Patterns) -> str:
    """How far across the holes are that are punched: small round ones, and those at the tips of darts."""
    across = {
        round(float(np.ptp(hole, axis=0).max()), 1) for p in patterns.patterns for hole in p.holes if small_hole(hole)
    }
    across |= {RELIEF for p in patterns.patterns if p.darts}
    return listed([length(size, 1) for size in sorted(across)]) if across else ""


def _angles(patterns: Patterns) -> str:
    """The angles of the straight bevels that keep one all along, to half a degree; others are cut freely."""
    kept = {
        round(2.0 * abs(values[0])) / 2.0
        for p in patterns.patterns
        for edge in p.edges
        if is_bevelled(p, edge) and max(values := edge.bevel) - min(values) < 1.0 and not is_curved(edge)
    }
    kept |= {round(2.0 * angle) / 2.0 for p in patterns.patterns for angle in mitre_angles(p)}
    told = [f"{decimal(angle, 0 if angle == round(angle) else 1)}\u00b0" for angle in sorted(kept)]
    return listed(told) if 0 < len(told) <= _BLOCKS else ""


def materials(
    prop: Prop, patterns: Patterns, sheets: Sequence[FoamSheet], balance: Balance | None, steps: Sequence[Step]
) -> Chapter:
    """The shopping list, with the costs that are known and the mass of the prop, which is that of `balance`."""
    bought = shopping(prop, patterns, sheets, steps)
    total = total_cost(bought)
    shares = (0.32, 0.13, 0.43, 0.12) if total else (0.33, 0.13, 0.54)
    titles = (say("Item"), say("Amount"), say("Based on"), say("Cost"))
    columns = tuple(Column(title, share, i in (1, 3)) for i, (title, share) in enumerate(zip(titles, shares)))
    rows = tuple(
        (
            line.item,
            quantity(line),
            line.basis,
            "" if line.cost is None else f"{decimal(line.cost, 2)} {line.currency}".strip(),
        )[: len(columns)]
        for line in bought
    )
    notes = [] if balance is None else _weighs(prop, balance)
    if total:
        notes.append(say("Priced items cost {total}.", total=total))
    notes.append(
        say(
            "Amounts of glue, primer, paint and blades are rules of thumb; what a product covers is printed on its tin."
        )
    )
    remarks = tuple(
        f"{stock_title(stock)}: {stock.note}"
        for stock in dict.fromkeys(p.piece.stock for p in patterns.patterns)
        if stock.note
    )
    items: list[Item] = [Table(columns, rows), Words(" ".join(notes))]
    if remarks:
        items.append(Bullets(remarks))
    sold = tuple(
        f"{stock_title(stock)}: {seller}"
        for stock in dict.fromkeys(p.piece.stock for p in patterns.patterns)
        for seller in sellers(prop.design, stock.id)
    )
    if sold:
        items.append(Bullets(sold, say("Where to buy, as the maker of the design says")))
    return Chapter(say("Shopping list"), items)


def _weighs(prop: Prop, balance: Balance) -> list[str]:
    """What the prop weighs, the same wherever it is told, and what that leaves out."""
    told = [
        say(
            "The parts in their places weigh {mass}, before glue, paint and whatever is filled in.",
            mass=mass(balance.mass),
        )
    ]
    apart = [piece.name for piece in prop.pieces if piece.loose]
    if apart:
        told.append(
            count(
                "Not counted in that, as it is no part of the finished prop or has no place of its own there: {parts}.",
                "Not counted in that, as they are no part of the finished prop or have no place of their own there: {parts}.",
                len(apart),
                parts=listed(apart),
            )
        )
    return told


def parts(patterns: Patterns) -> Chapter:
    """Every part with its shape, material and count."""
    columns = (
        Column(say("Part"), 0.12),
        Column(say("Name"), 0.24),
        Column(say("Shape"), 0.19),
        Column(say("Material"), 0.22),
        Column(say("Cut"), 0.23),
    )
    rows = tuple(
        (p.piece.label, p.piece.name, p, stock_title(p.piece.stock) + _measured(p), cut_count(p))
        for p in patterns.patterns
    )
    return Chapter(say("Parts"), (Table(columns, rows, tuple(p.piece.id for p in patterns.patterns), _ABREAST),))


def _measured(pattern: Pattern) -> str:
    """The size of what has no template."""
    if not pattern.piece.listed_only or pattern.strip is None:
        return ""
    size = length(pattern.strip[0]) if pattern.piece.bought else lengths(pattern.strip)
    return f"; {size}"


def cut_count(pattern: Pattern) -> str:
    """How many pieces are cut, how many of them mirrored, and of how many layers a part is made."""
    piece = pattern.piece
    text = f"{piece.quantity}"
    if piece.cut_mirrored:
        plain = piece.quantity - piece.cut_mirrored
        text = (
            say("{plain} as drawn, {mirrored} mirrored", plain=plain, mirrored=piece.cut_mirrored)
            if plain
            else say("{n}, all mirrored", n=piece.quantity)
        )
    parts = piece.quantity // piece.layers
    rest = (
        [count("for {n} part of {layers} layers", "for {n} parts of {layers} layers", parts, layers=piece.layers)]
        if piece.layers > 1
        else []
    )
    rest += [split_text(pattern)] if pattern.split else []
    return f"{text} ({'; '.join(rest)})" if rest else text


def _colours_shown(steps: Sequence[Step]) -> str:
    """What the colours of the pictures are; bare places are hatched where something is glued after a coat of paint."""
    painted = [step.number for step in steps if "primer" in step.uses]
    if painted and any(step.glue for step in steps if step.number > painted[0]):
        return say(
            "Colours are those of the foam, light foam a little darker while it is added, and from the step on that paints it "
            "those of its paint; the cover and the four views show the paint. Where a step paints, red hatching is what stays "
            "bare. A picture in a frame is a close view."
        )
    return say(
        "Colours are those of the foam, light foam a little darker while it is added, and from the step on that paints it "
        "those of its paint; the cover and the four views show the paint. A picture in a frame is a close view."
    )


def _which_piece(patterns: Patterns) -> str:
    """How the letter in a bubble tells one piece from another."""
    if any(pattern.piece.is_pair for pattern in patterns.patterns):
        return say(
            ", with a number where it matters which piece it is, or with L for the left and R for the right one of a pair"
        )
    return say(", with a number where it matters which piece it is")


def methods(steps: Sequence[Step], patterns: Patterns) -> Chapter:
    """How the work is done, each skill once; a step says only what is special about it."""
    used = {step.glue for step in steps}
    items: list[Item] = [
        Words(
            say(PRINTING) + (" " + say(JOINING_PAGES) if any(map(over_pages, patterns.patterns)) else ""),
            say("Printing"),
        ),
        Words(
            say(
                "Step 1 tells how. Use a white pencil or chalk on dark foam, and draw lightly: the face that you draw on is "
                "called the drawn face. It is mostly inside the prop; where it will show, rub the lines out before you paint."
            ),
            say("Transferring"),
        ),
        Words(
            say(
                "Lay the foam flat on the cutting mat. Hold the blade upright, pull it along beside you and never towards your "
                "other hand, and cut through in several light passes. Turn the foam and not the knife in curves. Change "
                "the blade as soon as it drags: a dull one tears the foam and leaves it ragged."
            ),
            say("Cutting foam"),
        ),
    ]
    if any(map(bevelled, patterns.patterns)):
        text = say(
            "A bevel is cut with the blade tilted by the angle printed at the edge, counted from upright. The "
            "blade enters on the line of the face that you see. \u201cLower face larger\u201d: going down, the cut runs "
            "away from the part, so lean the handle over the part. \u201cLower face smaller\u201d: going down, it "
            "runs under the part, so lean the handle away from it. Let out blade enough to reach through along the slope."
        )
        if any(map(straight_bevel, patterns.patterns)):
            text += " " + say(
                "Rest the knife against a block cut to the angle, and cut two strips of scrap first: held together as the parts "
                "will be, they must make the corner that you want."
            )
        holes = [hole for p in patterns.patterns for hole in p.holes]
        beyond = [hole for p in patterns.patterns for hole in p.other_holes]
        if any(len(one) != len(two) or not np.allclose(one, two) for one, two in zip(holes, beyond)):
            text += " " + say(
                "A hole with a bevel is cut upright along whichever of its two lines lies further inside the hole, and then "
                "pared or sanded to the angle. Where that is the dashed line, cut the paper out along it first, and prick the "
                "full line through. \u201cLarger\u201d and \u201csmaller\u201d mean the part and not the hole."
            )
        items.append(Words(text, say("Cutting bevels")))
    if any(bending.is_rolled(p.piece) for p in patterns.patterns):
        items.append(
            Words(
                say(
                    "Curved parts look a little too long while they are flat: in a bend the inside of the foam is pressed "
                    "together and the outside stretched. Do not trim them; once bent, edges that belong together are alike. If "
                    "the thing you bend over is too short, bend a stretch at a time."
                ),
                say("Bending"),
            )
        )
    if "contact" in used:
        text = say(
            "Brush a thin coat on both faces and let it dry for {first}; brush on a second one and wait {wait}, until it is "
            "tacky: it looks dull, and a gloved knuckle that touches it lightly comes away clean. Do not let the two touch "
            "before: they grip at the first touch. They do so for about {open}, or as long as the tin says; what no longer grips "
            "gets one more thin coat. Press hard all along. A joint that sits wrong is peeled apart at once and "
            "coated again. Where a joint gapes a little, press it together bit by bit from its closed end, and hold it with "
            "tape; where foam is missing, let it set, and fill the gap with gap filler or a sliver of foam.",
            first=count("{n} minute", "{n} minutes", round(practice.WAIT_FIRST_COAT)),
            wait=count("{n} minute", "{n} minutes", round(practice.WAIT_TACKY)),
            open=duration(practice.STAYS_TACKY),
        )
        items.append(
            Words(
                text,
                say("Contact cement"),
            )
        )
        if patterns.seams:
            items.append(Words(_seams(patterns), say("Seams")))
    if "instant" in used:
        items.append(
            Words(
                say(
                    "Put small drops on one face only, press the parts together, and hold them for {seconds} seconds. Runny glue "
                    "fills no gaps: where two faces do not quite meet, as around a part in its hole, take gel, and put it along "
                    "one of them all round before the part goes in. Too much of it turns white and stays brittle.",
                    seconds=30,
                ),
                say("Instant glue"),
            )
        )
    items.append(
        Words(
            say(
                "What stands already is pale, what is new is in its own colour with a bold outline, and its letter stands "
                "in a bubble{which}; a letter in a thin ring names the part that it is glued to. Glue goes where it is hatched "
                "in red. An arrow shows the way in. A line under a picture tells you when the view changes, and the small arrow "
                "\u201cfront\u201d points to the front of the prop, as the arrows \u201cforward\u201d on the templates do: "
                "mark it on your work with a strip of tape. Up, down, front, left and right are those of the finished prop. "
                "{colours} Pictures of steps are not to scale.",
                which=_which_piece(patterns),
                colours=_colours_shown(steps),
            ),
            say("Reading the pictures"),
        )
    )
    return Chapter(say("How it is done"), items)


def _seams(patterns: Patterns) -> str:
    """How seams are worked, of those that there are."""
    text = say("Go from one end to the other.")
    if any(max(seam.length_a, seam.length_b) > practice.LONG_SEAM for seam in patterns.seams):
        text = say(
            "Begin a seam longer than {size} in the middle, at the centre mark, and work outwards to both ends. Shorter "
            "ones go from end to end.",
            size=length(practice.LONG_SEAM),
        )
    if any(edge.tick_numbers for pattern in patterns.patterns for edge in pattern.edges):
        text += " " + say("Equal tick numbers meet.")
    return (
        text
        + " "
        + say(
            "If one edge comes out longer, you have stretched it: peel the last stretch open, and share the extra "
            "out evenly. Where a seam wants to spring open, hold it with tape until it has set."
        )
    )


def care(design: Design, load: float, loose: Sequence[str] = ()) -> Chapter:
    """What is known once the prop is done: curing, limits, what is `loose`, care, and who may use it. `load` (kg) is what it
    carries."""
    items: list[Item] = [
        Words(
            say(
                "What is glued or painted needs {days} to cure. Until then bend nothing, lay nothing on it, and keep it in "
                "moving air.",
                days=count("{n} hour", "{n} hours", round(practice.WAIT_CURED / 60.0)),
            ),
            say("Curing"),
        ),
        Words(
            say(
                "It carries up to {mass} in its place, and no more. Do not sit or stand on it.",
                mass=mass(load),
            )
            if load
            else say("It carries its own weight and no more. Do not sit, stand or lean on it."),
            say("Weight"),
        ),
        *([Words(" ".join(loose), say("Loose parts"))] if loose else []),
        Words(
            say(
                "Dust it with a soft brush or a damp cloth, without solvents. Foam goes soft above about 60 \u00b0C: keep it "
                "out of parked cars, off heaters and out of the sun. Store it so that nothing presses on it. Press loose "
                "seams shut with fresh contact cement, and touch up cracks with primer and paint. It burns: keep it away "
                "from flames and hot lamps, and light it with battery lights only."
            )
            + (
                ""
                if "wearer" in design.used_by
                else " "
                + say(
                    "Nothing to eat or drink belongs in it: glue and paint are not made for food, and it is not watertight."
                )
            ),
            say("Care"),
        ),
    ]
    users = set(design.used_by)
    if "child" in users:
        items.append(
            Warn(
                say("For children"),
                say(
                    "Not for children under three: small parts come off when they are bitten. Pull at every part before "
                    "you hand it over, air it until no smell is left, and let no strap or cord go round a neck. It is a "
                    "prop, no tested toy; whoever sells it must meet the toy rules of the country."
                ),
            )
        )
    if "pet" in users:
        items.append(_for_pets(worn="wearer" in users))
    elif "wearer" in users:
        items.append(
            Warn(
                say("Worn on the body"),
                say(
                    "Straps must open at once by a pull: use buckles or hook-and-loop, no knots, and none round the neck. "
                    "Thread them through their slots, or sew them on through the foam over a backing: glue alone does not hold "
                    "a strap. Try on how far you see, reach and "
                    "breathe before you walk with it. Take it off in traffic, near machines and near fire, and at any "
                    "sign of pressure, numbness or heat."
                ),
            )
        )
    if users & {"child", "pet"} == set():
        items.append(
            Words(
                say(
                    "It is a display piece with small parts: not a toy for children, and nothing for a pet to chew. Tell "
                    "this to whoever gets it from you."
                ),
                say("Children and pets"),
            )
        )
    return Chapter(say("Use and care"), items)


def _for_pets(worn: bool) -> Warn:
    """What must be known of a prop that a pet lies in, or has on (`worn`). Common practice, no source."""
    use = (
        say(
            "A pet may wear it only for some minutes at a time and under your eyes, on the ground, away from stairs, other "
            "animals and traffic. It must walk, sit, lie, see, hear, pant and relieve itself freely; straps go round chest and "
            "belly, never round the neck, close with a buckle that you open at once, and leave two fingers of room. Take it off "
            "when it pants, shakes, freezes, scratches or bites at it, and never put it on against its will. Foam keeps the "
            "heat in: not in the sun and not in warm rooms. Foam that is chewed and swallowed can block the gut: take it away "
            "at the first tooth mark."
        )
        if worn
        else say(
            "A pet may use it only while somebody is at home and looks in: foam that is chewed and swallowed can "
            "block the gut. Take it away at the "
            "first tooth mark, and for good from a pet that chews. Pets grow, and jump on "
            "what they lie in: let it go when it is too small, and see that nothing tips or falls."
        )
    )
    every = say(
        "Air it for a week before the first use, until you smell nothing. Look for loose parts each time you clean it. "
        "Take primer, paint and varnish that their makers call safe for animals once dry. "
        "Whoever gets it from you must be told so."
    )
    return Warn(say("For pets"), f"{use} {every}")


def changes(design: Design) -> Chapter:
    """What the last versions changed, as the design tells it."""
    lines = tuple(f"{change['version']}: {change['text']}" for change in design.history[:_CHANGES])
    return Chapter(say("What changed"), (Bullets(lines),) if lines else ())


def maker(prop: Prop) -> Chapter:
    """Where the maker of the design can be seen, thanked and told."""
    told = prop.design.channel
    items: list[Item] = []
    if told.get("video"):
        items.append(Lead(say("Film of the build:"), told["video"]))
        label = {piece.id: piece.label for piece in prop.pieces}
        times = [(label[part], at) for part, at in told.get("times", {}).items() if part in label]
        if times:
            named_at = listed([say("{part} at {time}", part=part, time=at) for part, at in times])
            items.append(Words(say("In the film go in: {parts}.", parts=named_at)))
    if told.get("feedback"):
        items.append(Lead(say("Tell how it went:"), told["feedback"]))
    if told.get("credit"):
        items.append(Words(told["credit"], say("When you show your build")))
    return Chapter(say("From the maker"), items)


def seams(prop: Prop, patterns: Patterns) -> Chapter:
    """Every seam with the length of both edges, as a rule finds it on the templates."""
    label = {piece.id: piece.label for piece in prop.pieces}
    numbers = seam_numbers(patterns)
    drawn = {(p.piece.id, edge.id): drawn_length(edge) for p in patterns.patterns for edge in p.edges}
    columns = (
        Column(say("Seam"), 0.16),
        Column(say("joins"), 0.13),
        Column(say("to"), 0.27),
        Column(say("first edge"), 0.22, True),
        Column(say("second edge"), 0.22, True),
    )
    rows = tuple(
        (
            str(numbers[frozenset(((seam.part_a, seam.edge_a), (seam.part_b, seam.edge_b)))]),
            label[seam.part_a],
            label[seam.part_b] + _which(prop, seam),
            length(drawn.get((seam.part_a, seam.edge_a), seam.length_a)),
            length(drawn.get((seam.part_b, seam.edge_b), seam.length_b)),
        )
        for seam in patterns.seams
    )
    told = say(
        "Measured on the cut line of the drawn face, without the mouths of darts. Where an edge is bevelled or foam of two "
        "thicknesses meets, the two may differ on paper; they are equally long where they touch, and meet tick to tick."
    )
    return Chapter(
        say("Appendix: length of both edges of each seam"),
        (Words(told), Table(columns, rows, abreast=_ABREAST)) if rows else (),
    )


def _which(prop: Prop, seam: Seam) -> str:
    """Which copy of its own part an edge meets: its mirror image with the same edge, else the next, or itself."""
    if seam.part_a != seam.part_b:
        return ""
    if seam.edge_a == seam.edge_b:
        return say(", mirrored")
    return say(", its other end") if len(prop.piece(seam.part_a).placements) == 1 else say(", the next")

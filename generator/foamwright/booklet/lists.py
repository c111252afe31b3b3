"""The sections of the booklet around its steps: safety, tools, materials, parts, fit, seams and strain."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.booklet import practice
from foamwright.booklet.cautions import CAUTIONS
from foamwright.booklet.figures import silhouette, warning_sign
from foamwright.booklet.materials import shopping, total_cost, weight
from foamwright.booklet.records import Step
from foamwright.booklet.sentences import split_text
from foamwright.booklet.supplies import SUPPLIES
from foamwright.booklet.tables import Column, header_row, rows_of
from foamwright.booklet.typeset import BODY, Block, Section, beside, bullet, moved, paragraph, stack
from foamwright.flatten.build import SEAM_SHARE, SEAM_TOLERANCE
from foamwright.flatten.records import Pattern, Patterns, Seam
from foamwright.language import say
from foamwright.layout.records import FoamSheet
from foamwright.parts.records import Prop
from foamwright.templates.wording import stock_title

_SIGN = 6.0
_LEAST_STRAIN = 0.0005  # less would be listed as 0.0 %


def safety(steps: Sequence[Step], width: float) -> Section:
    """Every caution that some step calls for, in full."""
    called = {key for step in steps for key in step.cautions}
    blocks = []
    for key, caution in CAUTIONS.items():
        if key in called:
            room = width - 1.6 * _SIGN
            text = stack([paragraph(caution.title, room, BODY, bold=True), paragraph(caution.full, room)])
            sign = Block(_SIGN, moved(warning_sign(_SIGN), 0.0, -0.6))
            blocks.append(beside(sign, text, 1.6 * _SIGN))
    return Section("Safety", tuple(blocks), gap=2.2)


def tools(steps: Sequence[Step], width: float) -> Section:
    """Everything but the materials."""
    used = {key for step in steps for key in step.uses}
    kept = [supply for key, supply in SUPPLIES.items() if key in used and not supply.consumed]
    lines = [say("To keep: {things}.", things="; ".join(say(supply.name) for supply in kept))]
    spent = [supply for key, supply in SUPPLIES.items() if key in used and supply.consumed]
    lines += [say("To use up: {things}.", things="; ".join(say(supply.name) for supply in spent))] if spent else []
    return Section("Tools", tuple(bullet(line, width) for line in lines), gap=0.6)


def glue(steps: Sequence[Step], width: float) -> Section:
    """How to work with the glues that the steps use."""
    used = {step.glue for step in steps}
    lines = []
    if "contact" in used:
        lines.append(
            "Contact cement holds darts, long seams and broad faces. Brush it thinly on both faces, let it dry, "
            "brush a second coat, and wait until it no longer feels wet. It grips at once: bring the inner edges "
            "together first, then roll the joint shut and press hard."
        )
    if "instant" in used:
        lines.append("Instant glue holds small parts. Use small drops, press, and hold until it grips.")
    lines.append(
        f"Seams longer than {practice.LONG_SEAM:.0f} mm are begun in the middle, at the centre notch, and worked "
        "outwards from tick to tick. Try every joint dry before glue goes on it."
    )
    return Section("Glue", tuple(paragraph(line, width) for line in lines), gap=1.6)


def materials(prop: Prop, patterns: Patterns, sheets: Sequence[FoamSheet], width: float) -> Section:
    """The shopping list, with the costs that are known and the weight of the foam."""
    bought = shopping(prop, patterns, sheets)
    total = total_cost(bought)
    shares = (0.36, 0.15, 0.37, 0.12) if total else (0.40, 0.16, 0.44)
    titles = ("Item", "Amount", "Based on", "Cost")
    columns = tuple(
        Column(title, share * width, "end" if title in ("Amount", "Cost") else "start")
        for title, share in zip(titles, shares)
    )
    rows = [
        (
            line.item,
            f"{line.amount:g} {_plural(line.unit, line.amount)}",
            line.basis,
            "" if line.cost is None else f"{line.cost:.2f} {line.currency}".strip(),
        )[: len(columns)]
        for line in bought
    ]
    grams = 1000.0 * weight(patterns)
    cost = f"Priced items cost {total}. " if total else ""
    note = (
        f"The pieces weigh about {grams:.0f} g without glue and paint. {cost}"
        "Amounts of glue, sealer, paint and blades are working figures by common practice; what a product covers "
        "is printed on its tin."
    )
    return Section("Shopping list", (*rows_of(columns, rows), _below_table(note, width)), header_row(columns), gap=0.0)


def parts(patterns: Patterns, width: float) -> Section:
    """Every part with its shape, foam and count."""
    columns = (
        Column("Part", 0.08 * width),
        Column("Name", 0.33 * width),
        Column("Shape", 0.17 * width),
        Column("Foam", 0.26 * width),
        Column("Cut", 0.16 * width),
    )
    rows = [
        (
            p.piece.label,
            p.piece.name,
            silhouette(p, 0.17 * width - 4.0, 10.0),
            stock_title(p.piece.stock),
            cut_count(p),
        )
        for p in patterns.patterns
    ]
    ids = tuple((p.piece.id,) for p in patterns.patterns)
    return Section("Parts", rows_of(columns, rows), header_row(columns), parts=ids)


def cut_count(pattern: Pattern) -> str:
    """How many pieces are cut, how many of them mirrored, and of how many layers a part is made."""
    piece = pattern.piece
    text = f"{piece.quantity}"
    if piece.mirrored:
        text += f", {piece.mirrored} mirrored"
    rest = [f"{piece.layers} layers each"] if piece.layers > 1 else []
    rest += [split_text(pattern)] if pattern.split else []
    return f"{text} ({'; '.join(rest)})" if rest else text


def seams(prop: Prop, patterns: Patterns, width: float) -> Section:
    """Every seam with the flattened length of both edges."""
    label = {piece.id: piece.label for piece in prop.pieces}
    columns = (
        Column("Edge", 0.27 * width),
        Column("meets edge", 0.27 * width),
        Column("mm", 0.115 * width, "end"),
        Column("mm", 0.115 * width, "end"),
        Column("Differ", 0.115 * width, "end"),
        Column("Allowed", 0.115 * width, "end"),
    )
    rows = [
        (
            f"{label[seam.part_a]} {seam.edge_a}",
            f"{label[seam.part_b]} {seam.edge_b}" + _which(seam),
            f"{seam.length_a:.2f}",
            f"{seam.length_b:.2f}",
            f"{abs(seam.length_a - seam.length_b):.2f}",
            f"{allowed(seam):.2f}",
        )
        for seam in patterns.seams
    ]
    return Section("Seams: flattened length of both edges", rows_of(columns, rows), header_row(columns))


def _which(seam: Seam) -> str:
    """Which copy of its own part an edge meets: its mirror image with the same edge, else the next."""
    if seam.part_a != seam.part_b:
        return ""
    return ", mirrored" if seam.edge_a == seam.edge_b else ", of the next"


def allowed(seam: Seam) -> float:
    """Largest difference in mm that the two edges of a seam may have."""
    return max(SEAM_TOLERANCE, SEAM_SHARE * max(seam.length_a, seam.length_b))


def strain(patterns: Patterns, width: float) -> Section:
    """How far the foam of each curved part is stretched or pressed together."""
    strained = [p for p in patterns.patterns if p.strain.max >= _LEAST_STRAIN]
    title = "Strain of the foam"
    if not strained:
        text = "Every part is flat or bends in one direction only: none is stretched."
        return Section(title, (paragraph(text, width), *_warnings(patterns, width)))
    columns = (
        Column("Part", 0.46 * width),
        Column("Largest", 0.18 * width, "end"),
        Column("Mean", 0.18 * width, "end"),
        Column("Limit of the foam", 0.18 * width, "end"),
    )
    rows = [
        (
            f"{p.piece.label} {p.piece.name}",
            f"{p.strain.max:.1%}",
            f"{p.strain.mean:.1%}",
            f"{p.piece.stock.strain_limit:.1%}",
        )
        for p in strained
    ]
    blocks = list(rows_of(columns, rows))
    if len(strained) < len(patterns.patterns):
        blocks.append(_below_table("All other parts are flat or bend in one direction only.", width))
    return Section(title, (*blocks, *_warnings(patterns, width)), header_row(columns))


def _warnings(patterns: Patterns, width: float) -> list[Block]:
    """A line for each part that is bent tighter than its foam likes."""
    return [
        paragraph(f"{p.piece.label} {p.piece.name}: {warning}.", width)
        for p in patterns.patterns
        for warning in p.warnings
    ]


def _plural(unit: str, amount: float) -> str:
    return f"{unit}s" if unit in ("sheet", "length", "blade") and amount != 1 else unit


def _below_table(value: str, width: float) -> Block:
    return stack([Block(1.4, ()), paragraph(value, width)])

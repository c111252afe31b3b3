"""The text of a STEP file (ISO 10303-21, AP214) as it is given away: in the colours of the foam, the same for the same model.
Words alone, without the kernel, so that any process can make it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from foamwright.errors import BuildError
from foamwright.model.colours import rgb
from foamwright.model.step_ids import with_stable_ids

EPOCH = "1970-01-01T00:00:00"  # STEP asks for a time stamp; a real one would make every build differ


@dataclass(frozen=True)
class StepText:
    """What the kernel has written, the colour of each solid in its order, and the name of the assembly."""

    text: str
    colours: tuple[str, ...]
    name: str


def step_file(written: StepText) -> bytes:
    """Same model, same bytes. BuildError: a solid is missing in what was written."""
    return with_stable_ids(_normalised(_coloured(written.text, written.colours), written.name)).encode()


def _coloured(text: str, colours: Sequence[str]) -> str:
    """Add a surface colour to every solid, in the order of the file (ISO 10303-46 presentation).

    The kernel can do this too, but in an order that changes from run to run.
    """
    solids = re.findall(r"= ADVANCED_BREP_SHAPE_REPRESENTATION\('[^']*',\(#\d+,\s*(#\d+)\),\s*(#\d+)\);", text)
    if len(solids) != len(colours):
        raise BuildError(f"the STEP file holds {len(solids)} solids; expected {len(colours)}")
    free = 1 + max(int(n) for n in re.findall(r"^#(\d+) = ", text, flags=re.MULTILINE))
    lines: list[str] = []

    def add(entity: str) -> str:
        lines.append(f"#{free + len(lines)} = {entity};\n")
        return f"#{free + len(lines) - 1}"

    styles: dict[str, str] = {}
    for (solid, context), colour in zip(solids, colours):
        if colour not in styles:
            red, green, blue = rgb(colour)
            fill = add(f"COLOUR_RGB('',{red:.6f},{green:.6f},{blue:.6f})")
            for around in (
                "FILL_AREA_STYLE_COLOUR('',{})",
                "FILL_AREA_STYLE('',({}))",
                "SURFACE_STYLE_FILL_AREA({})",
                "SURFACE_SIDE_STYLE('',({}))",
                "SURFACE_STYLE_USAGE(.BOTH.,{})",
                "PRESENTATION_STYLE_ASSIGNMENT(({}))",
            ):
                fill = add(around.format(fill))
            styles[colour] = fill
        item = add(f"STYLED_ITEM('color',({styles[colour]}),{solid})")
        add(f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({item}),{context})")
    head, end = text.rsplit("ENDSEC;", 1)
    return head + "".join(lines) + "ENDSEC;" + end


def _normalised(text: str, name: str) -> str:
    """Replace what depends on the clock, the folder or on how many files were written before."""
    quoted = name.replace("'", "''").encode("ascii", "replace").decode()
    header = f"FILE_NAME('{quoted}','{EPOCH}',(''),(''),'','','');"
    text = re.sub(r"FILE_NAME\(.*?\);", lambda _: header, text, count=1, flags=re.DOTALL)
    counters: dict[str, str] = {}

    def renumbered(match: re.Match) -> str:
        return counters.setdefault(match[0], f"'{quoted} {len(counters) + 1}'")

    text = re.sub(r"'Open CASCADE STEP translator[^']*'", renumbered, text)
    links = iter(range(1, text.count("NEXT_ASSEMBLY_USAGE_OCCURRENCE(") + 1))
    text = re.sub(
        r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('\d+',(.*?);",
        lambda m: f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{next(links)}'," + re.sub(r"\s*\n\s*", "", m[1]) + ";",
        text,
        flags=re.DOTALL,
    )
    return re.sub(r"[^\x00-\x7f]+", _escaped, text)


def _escaped(match: re.Match) -> str:
    """Characters beyond ASCII as ISO 10303-21 writes them: UTF-16 in hexadecimal, framed by X2 and X0."""
    return "\\X2\\" + match[0].encode("utf-16-be").hex().upper() + "\\X0\\"

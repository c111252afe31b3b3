"""`sheets.pdf`, `sheets/*.svg` and `*.dxf`: how the pieces lie on the sheets of foam, as a plan and at true size."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.drawing.document import Document
from foamwright.drawing.dxf import dxf_bytes
from foamwright.drawing.pdf import pdf_bytes
from foamwright.drawing.svg import svg_bytes
from foamwright.layout.records import FoamSheet, PackInfo
from foamwright.layout.shape import Letterer, as_drawn
from foamwright.layout.sheet_drawing import draw_sheet, sheet_bounds
from foamwright.layout.sheets import numbered
from foamwright.outputs.records import Files, Output
from foamwright.templates.records import Template


def files(sheet_pages: Document, sheet_files: Files) -> Files:
    return {"sheets.pdf": pdf_bytes(sheet_pages), **sheet_files}


def sheet_files(
    sheets: Sequence[FoamSheet],
    templates: Sequence[Template],
    info: PackInfo,
    letter: Letterer = as_drawn,
) -> dict[str, bytes]:
    """`sheets/<material>-<number>` with the suffix of each format, by path in the pack; `letter` as on pages."""
    by_part: dict[str, list[Template]] = {}
    for template in templates:
        by_part.setdefault(template.pattern.piece.id, []).append(template)
    made: dict[str, bytes] = {}
    for sheet, number, total in numbered(sheets):
        drawing = draw_sheet(sheet, number, total, by_part, info, letter)
        x0, y0, x1, y1 = sheet_bounds(sheet)
        stem = f"sheets/{sheet.material.replace('_', '-')}-{number}"
        title = f"Sheet {number} of {total}, {sheet.material}, {info.name} {info.version}, size {info.size}"
        made[f"{stem}.svg"] = svg_bytes(drawing, x1 - x0, y1 - y0, (x0, y0), title)
        made[f"{stem}.dxf"] = dxf_bytes(drawing)
    return made


OUTPUT = Output(
    "sheets",
    "how the pieces lie on the sheets, as a plan and at true size",
    files,
    pages={"sheets.pdf": "sheet_pages"},
)

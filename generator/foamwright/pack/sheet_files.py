"""The files of the sheets of foam: each at true size for a projector, a plotter or a machine, as SVG and DXF."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.drawing.dxf import dxf_bytes
from foamwright.drawing.svg import svg_bytes
from foamwright.layout.records import FoamSheet, PackInfo
from foamwright.layout.shape import Letterer, as_drawn
from foamwright.layout.sheet_drawing import draw_sheet, sheet_bounds
from foamwright.layout.sheets import numbered
from foamwright.templates.records import Template


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
    files = {}
    for sheet, number, total in numbered(sheets):
        drawing = draw_sheet(sheet, number, total, by_part, info, letter)
        x0, y0, x1, y1 = sheet_bounds(sheet)
        stem = f"sheets/{sheet.material.replace('_', '-')}-{number}"
        title = f"Sheet {number} of {total}, {sheet.material}, {info.name} {info.version}, size {info.size}"
        files[f"{stem}.svg"] = svg_bytes(drawing, x1 - x0, y1 - y0, (x0, y0), title)
        files[f"{stem}.dxf"] = dxf_bytes(drawing)
    return files

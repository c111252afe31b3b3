"""`templates/*.svg` and `*.dxf`: each template at true size for a cutter, a projector or an editor."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.design.records import Design
from foamwright.drawing.dxf import dxf_bytes
from foamwright.drawing.svg import svg_bytes
from foamwright.outputs.records import Files, Output, stem
from foamwright.templates.records import Template


def files(design: Design, templates: Sequence[Template]) -> Files:
    made: dict[str, bytes] = {}
    for template in templates:
        x0, y0, x1, y1 = template.bounds
        piece = template.pattern.piece
        path = f"templates/{stem(piece.label, piece.id)}"
        title = f"{piece.label} {piece.name}, {design.name} {design.version}, size {design.size}"
        made[f"{path}.svg"] = svg_bytes(template.drawing, x1 - x0, y1 - y0, (x0, y0), title)
        made[f"{path}.dxf"] = dxf_bytes(template.drawing)
    return made


def written(template_files: Files) -> Files:
    return template_files


OUTPUT = Output("template_files", "each template as SVG and DXF", written)

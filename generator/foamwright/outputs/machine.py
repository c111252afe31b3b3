"""`machine/*.svg` and `*.dxf`: cutting files for the parts of rigid stock, one for each hand of each part."""

from __future__ import annotations

from foamwright.drawing.dxf import dxf_bytes
from foamwright.drawing.svg import svg_bytes
from foamwright.flatten.records import Patterns
from foamwright.outputs.records import Files, Output, stem
from foamwright.templates.machine import extent, machine_drawing


def files(patterns: Patterns) -> Files:
    """SVG and DXF by path in the pack, of every part whose stock states a kerf; layers tell cuts from engraving."""
    made: dict[str, bytes] = {}
    design = patterns.prop.design
    for pattern in patterns.patterns:
        piece = pattern.piece
        if piece.stock.kerf is None or piece.listed_only:
            continue
        hands = [(False, "", piece.quantity - piece.mirrored), (True, "-mirrored", piece.mirrored)]
        for mirrored, suffix, count in hands:
            if not count:
                continue
            drawing = machine_drawing(pattern, mirrored)
            x0, y0, x1, y1 = extent(drawing)
            title = (
                f"{piece.label} {piece.name}, cut {count}, {piece.stock.name}, kerf {piece.stock.kerf:g} mm, "
                f"{design.name} {design.version}, size {design.size}"
            )
            path = f"machine/{stem(piece.label, piece.id)}{suffix}"
            made[f"{path}.svg"] = svg_bytes(drawing, x1 - x0, y1 - y0, (x0, y0), title)
            made[f"{path}.dxf"] = dxf_bytes(drawing)
    return made


OUTPUT = Output("machine", "cutting files of the parts of rigid stock", files)

"""Cutting files for the parts of rigid stock: one for each part, and for each hand of it."""

from __future__ import annotations

from foamwright.drawing.dxf import dxf_bytes
from foamwright.drawing.svg import svg_bytes
from foamwright.flatten.records import Patterns
from foamwright.templates.machine import extent, machine_drawing


def machine_files(patterns: Patterns) -> dict[str, bytes]:
    """SVG and DXF by path in the pack, of every part whose stock states a kerf; layers tell cuts from engraving."""
    files: dict[str, bytes] = {}
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
            stem = f"machine/{piece.label}-{piece.id.replace('_', '-')}{suffix}"
            files[f"{stem}.svg"] = svg_bytes(drawing, x1 - x0, y1 - y0, (x0, y0), title)
            files[f"{stem}.dxf"] = dxf_bytes(drawing)
    return files

"""Small pictures of single parts for the README's table of what the designs show.

Run as `python -m foamwright.booklet.pictures.part_pictures`: draws every part that the table names, all its copies as they
stand in the prop, into `designs/pictures/parts`.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import shapely

from foamwright.assembly.records import Picture
from foamwright.booklet.pictures.looks import FRONT, UP
from foamwright.booklet.pictures.portrait import portrait_svg
from foamwright.design import load
from foamwright.design.usage import examples, picture_of
from foamwright.model.build import build_model
from foamwright.model.records import Model
from foamwright.model.views import view
from foamwright.parts import build_prop

_TOLERANCE = 0.15  # mm: points closer to the line through their neighbours than this are left out


def part_picture(model: Model, part: str) -> bytes:
    """All copies of a part, or of the members of a whole, as SVG; the outline of one that stands nowhere."""
    ids = {piece.id for piece in model.prop.pieces}
    wanted = {part} if part in ids else {i for i in ids if i.startswith(f"{part}_")}
    shown = [i for i, copy in enumerate(model.copies) if copy.piece.id in wanted]
    if shown:
        seen = view(model, shown, FRONT, UP)
        lines = tuple(_thinned(line) for lines in seen.lines for line in lines)
        return portrait_svg(Picture(lines, (), seen.bounds), part)
    body = model.prop.piece(part).body
    rings = [np.vstack([ring, ring[:1]]) for ring in (body.outline, *body.holes)]
    bounds = (*body.outline.min(0).tolist(), *body.outline.max(0).tolist())
    return portrait_svg(Picture(tuple(rings), (), bounds), part)


def _thinned(line: np.ndarray) -> np.ndarray:
    return shapely.get_coordinates(shapely.simplify(shapely.linestrings(line), _TOLERANCE))


def main(folder: Path = Path("designs")) -> None:
    for design_id, parts in examples(folder).items():
        model = build_model(build_prop(load(folder / f"{design_id}.yaml")))
        for part in parts:
            target = folder / picture_of(design_id, part)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(part_picture(model, part))


if __name__ == "__main__":
    main()

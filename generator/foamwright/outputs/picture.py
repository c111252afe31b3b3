"""`picture.svg` and `picture.png`: the finished prop."""

from __future__ import annotations

from foamwright.assembly.records import Picture
from foamwright.booklet.pictures.portrait import portrait_svg
from foamwright.design.records import Design
from foamwright.drawing.png import png_bytes
from foamwright.outputs.records import Files, Output

PIXELS = 1200  # width: sharp on a web page at twice the usual density of a column of 600


def files(design: Design, portrait: Picture) -> Files:
    svg = portrait_svg(portrait, f"{design.name}, size {design.size}")
    return {"picture.svg": svg, "picture.png": png_bytes(svg, PIXELS)}


OUTPUT = Output("picture", "the finished prop as a picture", files)

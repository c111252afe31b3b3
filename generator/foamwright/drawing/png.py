"""A drawing as a PNG picture, for pages that cannot show SVG."""

from __future__ import annotations


def png_bytes(svg: bytes, width: int) -> bytes:
    """The SVG drawn `width` pixels wide on white."""
    import cairosvg

    return cairosvg.svg2png(bytestring=svg, output_width=width, background_color="white")

"""A drawing as a PNG picture, for pages that cannot show SVG."""

from __future__ import annotations

import base64
from urllib.parse import unquote_to_bytes


def prepare() -> None:
    """Load what `png_bytes` draws with."""
    import cairosvg.surface  # noqa: F401


def png_bytes(svg: bytes, width: int) -> bytes:
    """The SVG drawn `width` pixels wide on white. It may hold pictures of its own (RFC 2397), and names no others."""
    from cairosvg.surface import PNGSurface

    png: bytes = PNGSurface.convert(bytestring=svg, output_width=width, background_color="white", url_fetcher=_held)
    return png


def _held(url: str, _type: str) -> bytes:
    """What a data URL holds. cairosvg would open it as if it lay in the network, and load the certificates of the machine
    for that; a process that was forked while another thread did so would wait for them without end."""
    head, _, content = url.partition(",")
    if not (head.startswith("data:") and head.endswith(";base64")):
        raise ValueError(f"a picture outside of the drawing: {url[:80]}")
    return base64.b64decode(unquote_to_bytes(content))

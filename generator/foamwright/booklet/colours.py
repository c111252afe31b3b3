"""What the base colours of a design look like, by their English words: common names, about as paint makers use them."""

from __future__ import annotations

import colorsys

import numpy as np

from foamwright.booklet import render
from foamwright.booklet.bodies import Bodies

_WORDS = {
    "black": (35, 35, 38),
    "white": (245, 245, 242),
    "grey": (128, 130, 133),
    "gray": (128, 130, 133),
    "silver": (176, 180, 184),
    "steel": (120, 128, 136),
    "cream": (243, 232, 200),
    "ivory": (240, 234, 214),
    "beige": (214, 198, 164),
    "sand": (207, 184, 138),
    "ochre": (201, 146, 47),
    "yellow": (240, 196, 48),
    "gold": (204, 164, 60),
    "brass": (186, 152, 72),
    "orange": (230, 126, 34),
    "copper": (184, 115, 66),
    "bronze": (134, 99, 58),
    "rust": (160, 72, 44),
    "red": (190, 48, 42),
    "pink": (226, 142, 160),
    "purple": (112, 66, 128),
    "blue": (50, 98, 168),
    "turquoise": (48, 160, 160),
    "green": (66, 128, 72),
    "olive": (112, 112, 58),
    "brown": (122, 82, 50),
    "wood": (158, 114, 70),
    "tan": (196, 160, 116),
}
_LIGHTNESS = {"dark": 0.62, "deep": 0.72, "light": 1.3, "pale": 1.4, "bright": 1.12}


def colour(words: str) -> tuple[float, float, float] | None:
    """0..255 of each of red, green and blue: the last colour that is named, a little towards the one before it, as in
    "black-green"; None where no word names one."""
    spoken = words.lower().replace("-", " ").replace(",", " ").split()
    named = [np.array(_WORDS[word], float) for word in spoken if word in _WORDS]
    if not named:
        return None
    mixed = named[-1] if len(named) == 1 else 0.55 * named[-1] + 0.45 * named[-2]
    hue, light, rich = colorsys.rgb_to_hls(*(mixed / 255.0))
    for word in spoken:
        light *= _LIGHTNESS.get(word, 1.0)
    red, green, blue = colorsys.hls_to_rgb(hue, min(light, 0.97), rich)
    return 255.0 * red, 255.0 * green, 255.0 * blue


def painted(bodies: Bodies) -> np.ndarray:
    """Colours (copies, 3) of all copies as they are painted; where the design names none, of their foam."""
    own = render.foam_colours(bodies)
    for copy, piece in enumerate(bodies.pieces):
        found = colour(piece.paint) if piece.paint else None
        if found is not None:
            own[copy] = found
    return own

"""What the base colours of a design look like, by their words in any language of the catalogue: common names,
about as paint makers use them."""

from __future__ import annotations

import colorsys
import re
from functools import cache

import numpy as np

from foamwright.booklet import render
from foamwright.booklet.bodies import Bodies
from foamwright.language import every_tongue, phrase, say

_WORDS = {
    phrase("black"): (35, 35, 38),
    phrase("white"): (245, 245, 242),
    phrase("grey"): (128, 130, 133),
    phrase("gray"): (128, 130, 133),
    phrase("silver"): (176, 180, 184),
    phrase("steel"): (120, 128, 136),
    phrase("cream"): (243, 232, 200),
    phrase("ivory"): (240, 234, 214),
    phrase("beige"): (214, 198, 164),
    phrase("sand"): (207, 184, 138),
    phrase("ochre"): (201, 146, 47),
    phrase("yellow"): (240, 196, 48),
    phrase("gold"): (204, 164, 60),
    phrase("brass"): (186, 152, 72),
    phrase("orange"): (230, 126, 34),
    phrase("copper"): (184, 115, 66),
    phrase("bronze"): (134, 99, 58),
    phrase("rust"): (160, 72, 44),
    phrase("red"): (190, 48, 42),
    phrase("pink"): (226, 142, 160),
    phrase("purple"): (112, 66, 128),
    phrase("blue"): (50, 98, 168),
    phrase("turquoise"): (48, 160, 160),
    phrase("green"): (66, 128, 72),
    phrase("olive"): (112, 112, 58),
    phrase("brown"): (122, 82, 50),
    phrase("wood"): (158, 114, 70),
    phrase("tan"): (196, 160, 116),
}
_LIGHTNESS = {
    phrase("dark"): 0.62,
    phrase("deep"): 0.72,
    phrase("light"): 1.3,
    phrase("pale"): 1.4,
    phrase("bright"): 1.12,
}
_PLAIN = (
    "black",
    "white",
    "grey",
    "beige",
    "yellow",
    "orange",
    "red",
    "pink",
    "purple",
    "blue",
    "turquoise",
    "green",
    "brown",
)
_ENDINGS = "(?:e|er|es|en|farben|farbig)?"  # of adjectives and compounds, in German


def colour(words: str) -> tuple[float, float, float] | None:
    """0..255 of each of red, green and blue: the last colour that is named, a little towards the one before it, as in
    "black-green" or "rostrot"; None where no word names one. A colour may also be given as #rrggbb."""
    exact = re.search(r"#([0-9a-fA-F]{6})\b", words)
    if exact:
        red, green, blue = bytes.fromhex(exact[1])
        return float(red), float(green), float(blue)
    spoken = [part for word in re.split(r"[\s,;/-]+", words.lower()) for part in _parts(word)]
    named = [np.array(_WORDS[word], float) for word in spoken if word in _WORDS]
    if not named:
        return None
    mixed = named[-1] if len(named) == 1 else 0.55 * named[-1] + 0.45 * named[-2]
    hue, lightness, rich = colorsys.rgb_to_hls(*(mixed / 255.0))
    for word in spoken:
        lightness *= _LIGHTNESS.get(word, 1.0)
    rgb = colorsys.hls_to_rgb(hue, min(lightness, 0.97), rich)
    return 255.0 * rgb[0], 255.0 * rgb[1], 255.0 * rgb[2]


@cache
def _known() -> dict[str, str]:
    """The English word for each word of a colour or a lightness, in every language of the catalogue."""
    return {said.lower(): word for word in (*_WORDS, *_LIGHTNESS) for said in every_tongue(word)}


def _parts(word: str) -> list[str]:
    """The English words that a word is made of; [] where it is not made of known ones alone."""
    known = _known()
    one = "|".join(sorted(map(re.escape, known), key=len, reverse=True))
    if not re.fullmatch(f"(?:{one})+{_ENDINGS}", word):
        return []
    return [known[part] for part in re.findall(one, word)]


def word_of(hexadecimal: str) -> str:
    """The word for a colour given as #rrggbb that comes nearest to it, with "dark" or "light" where that is nearer."""
    wanted = np.array(list(bytes.fromhex(hexadecimal.lstrip("#"))), float)
    shades = {(shade, word): colour(f"{shade} {word}") for shade in ("", "dark", "light") for word in _PLAIN}
    near = min(shades, key=lambda key: (round(float(np.linalg.norm(wanted - np.array(shades[key]))), 3), key))
    shade, word = near
    return say("{shade} {colour}", shade=say(shade), colour=say(word)) if shade else say(word)


def painted(bodies: Bodies) -> np.ndarray:
    """Colours (copies, 3) of all copies as they are painted; where the design names none, of their foam."""
    own = render.foam_colours(bodies)
    for copy, piece in enumerate(bodies.pieces):
        found = colour(piece.paint) if piece.paint else None
        if found is not None:
            own[copy] = found
    return own

"""What the base colours of a design look like, by their words in any language of the catalogue: common names,
about as paint makers use them."""

from __future__ import annotations

import colorsys
import re
from functools import cache

import numpy as np

from foamwright.assembly.bodies import Bodies
from foamwright.booklet.pictures import render
from foamwright.language import every_tongue, phrase, say
from foamwright.model.colours import linear, rgb

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
# Words for a colour that is only seen: by names of CSS Color Module Level 4, section 6.1, whose values these are.
_SEEN = {
    phrase("black"): ("000000",),  # black
    phrase("dark grey"): ("696969", "708090"),  # dimgray, slategray
    phrase("grey"): ("808080", "a9a9a9", "778899"),  # gray, darkgray, lightslategray
    phrase("light grey"): ("c0c0c0", "d3d3d3", "dcdcdc"),  # silver, lightgray, gainsboro
    phrase("white"): ("ffffff", "f5f5f5", "fffafa"),  # white, whitesmoke, snow
    phrase("cream"): ("faf0e6", "fdf5e6", "faebd7", "f5f5dc", "fffff0"),  # linen, oldlace, antiquewhite, beige, ivory
    phrase("beige"): ("f5deb3", "ffe4c4", "ffdead"),  # wheat, bisque, navajowhite
    phrase("light brown"): ("d2b48c", "deb887", "bc8f8f"),  # tan, burlywood, rosybrown
    phrase("brown"): ("8b4513", "a0522d", "cd853f"),  # saddlebrown, sienna, peru
    phrase("dark yellow"): ("b8860b", "bdb76b"),  # darkgoldenrod, darkkhaki
    phrase("yellow"): ("ffff00", "ffd700", "daa520"),  # yellow, gold, goldenrod
    phrase("light yellow"): ("ffffe0", "f0e68c", "eee8aa"),  # lightyellow, khaki, palegoldenrod
    phrase("orange"): ("ffa500", "ff8c00", "d2691e"),  # orange, darkorange, chocolate
    phrase("dark red"): ("8b0000", "800000"),  # darkred, maroon
    phrase("red"): ("ff0000", "b22222", "dc143c", "cd5c5c", "a52a2a", "ff6347"),  # red ... tomato
    phrase("light red"): ("f08080", "fa8072", "e9967a"),  # lightcoral, salmon, darksalmon
    phrase("pink"): ("ff69b4", "ffc0cb", "ffb6c1", "db7093"),  # hotpink, pink, lightpink, palevioletred
    phrase("purple"): ("800080", "8b008b", "663399", "9370db"),  # purple, darkmagenta, rebeccapurple, mediumpurple
    phrase("light purple"): ("dda0dd", "d8bfd8", "ee82ee"),  # plum, thistle, violet
    phrase("dark blue"): ("000080", "191970", "00008b"),  # navy, midnightblue, darkblue
    phrase("blue"): ("0000ff", "4169e1", "4682b4", "1e90ff"),  # blue, royalblue, steelblue, dodgerblue
    phrase("light blue"): ("add8e6", "87ceeb", "b0c4de"),  # lightblue, skyblue, lightsteelblue
    phrase("turquoise"): ("40e0d0", "008080", "20b2aa", "5f9ea0"),  # turquoise, teal, lightseagreen, cadetblue
    phrase("dark green"): ("006400", "556b2f"),  # darkgreen, darkolivegreen
    phrase("green"): ("008000", "2e8b57", "6b8e23", "32cd32"),  # green, seagreen, olivedrab, limegreen
    phrase("light green"): ("90ee90", "98fb98", "8fbc8f"),  # lightgreen, palegreen, darkseagreen
}
_GREYS = ("black", "dark grey", "grey", "light grey", "white")
_COLOURED = 15.0  # chroma in CIELAB from which on an eye sees a hue: not called grey (common practice, no source)
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
    """The word for a colour given as #rrggbb: that of the named one which comes nearest to it in CIELAB; where a hue shows,
    of those with one."""
    wanted = _lab(hexadecimal)
    coloured = float(np.hypot(*wanted[1:])) > _COLOURED
    near = {
        word: min(float(np.linalg.norm(wanted - _lab(named))) for named in all_of)
        for word, all_of in _SEEN.items()
        if not (coloured and word in _GREYS)
    }
    return say(min(near, key=lambda word: (round(near[word], 3), word)))


def _lab(hexadecimal: str) -> np.ndarray:
    """L*, a* and b* (3,) of #rrggbb: sRGB after IEC 61966-2-1 under D65, CIELAB after ISO/CIE 11664-4 (from memory)."""
    red, green, blue = (linear(part) for part in rgb("#" + hexadecimal.lstrip("#")))
    x = (0.4124564 * red + 0.3575761 * green + 0.1804375 * blue) / 0.95047
    y = 0.2126729 * red + 0.7151522 * green + 0.0721750 * blue
    z = (0.0193339 * red + 0.1191920 * green + 0.9503041 * blue) / 1.08883
    fx, fy, fz = (
        t ** (1.0 / 3.0) if t > (6.0 / 29.0) ** 3 else t * (29.0 / 6.0) ** 2 / 3.0 + 4.0 / 29.0 for t in (x, y, z)
    )
    return np.array([116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)])


def painted(bodies: Bodies) -> np.ndarray:
    """Colours (copies, 3) of all copies as they are painted; where the design names none, of their foam."""
    own = render.foam_colours(bodies)
    for copy, piece in enumerate(bodies.pieces):
        found = colour(piece.paint) if piece.paint else None
        if found is not None:
            own[copy] = found
    return own

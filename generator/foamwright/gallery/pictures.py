"""Small pictures of a prop: one for its card, one that is shown where somebody posts a link to its page."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from foamwright.errors import DesignError

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageFont import FreeTypeFont

CARD = (480, 480)
PREVIEW = (1200, 630)  # what the services that show previews ask for (The Open Graph protocol leaves it open)
_GROUND, _INK, _QUIET = (255, 255, 255), (28, 29, 33), (83, 85, 94)
_MARGIN, _QUALITY = 48, 82
_BESIDE = (PREVIEW[0] // 2 - 2 * _MARGIN, PREVIEW[1] - 2 * _MARGIN)  # room for the picture beside the words
_LONGEST = 14  # letters of a word that is not parted: as many of the widest fill a row
_MOST_PIXELS = 50_000_000


def card_and_preview(picture: Path, lines: tuple[str, ...]) -> tuple[bytes, bytes]:
    """Two JPEG files; `lines` are written on the preview, the first as its title. DesignError: it is no picture."""
    from PIL import Image, ImageDraw

    try:
        # as PNG alone: of other sorts some are drawn by programs that are called for it
        with warnings.catch_warnings(action="error"), Image.open(picture, formats=("PNG",)) as image:
            if image.width * image.height > _MOST_PIXELS:
                raise DesignError(f"{picture}: has more than {_MOST_PIXELS} pixels, which no pack needs")
            largest = max(_share(image, *CARD), _share(image, *_BESIDE))
            share = max(1, int(1.0 / largest))  # by whole numbers first, which is much quicker
            # converting as many points as a picture for print has takes longer than all the rest
            is_plain = image.mode == "RGBA" or (image.mode == "RGB" and "transparency" not in image.info)
            small = (image if is_plain else image.convert("RGBA")).reduce(share)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise DesignError(f"{picture}: cannot be read as a picture") from error
    flat = small
    if small.mode == "RGBA":
        flat = Image.new("RGB", small.size, _GROUND)
        flat.paste(small, mask=small.getchannel("A"))

    preview = Image.new("RGB", PREVIEW, _GROUND)
    half = PREVIEW[0] // 2
    beside = _within(flat, *_BESIDE)
    preview.paste(beside, (half + (half - beside.width) // 2, (PREVIEW[1] - beside.height) // 2))
    pen, top = ImageDraw.Draw(preview), float(_MARGIN)
    for number, line in enumerate(lines):
        bold = number == 0
        font = _font(bold)
        for row in _rows(line, font.getlength, half - _MARGIN, 4 if bold else 3):
            pen.text((_MARGIN, top), row, font=font, fill=_INK if bold else _QUIET)
            top += 1.3 * font.size
        top += 20.0
    return _jpeg(_within(flat, *CARD)), _jpeg(preview)


@cache
def _font(bold: bool) -> FreeTypeFont:
    from PIL import ImageFont

    from foamwright.drawing.fonts import face_file

    return ImageFont.truetype(str(face_file(bold)), 56 if bold else 30)


def _within(picture: Image, width: int, height: int) -> Image:
    from PIL.Image import Resampling

    share = _share(picture, width, height)
    size = (max(1, round(picture.width * share)), max(1, round(picture.height * share)))
    return picture.resize(size, Resampling.BILINEAR)


def _share(picture: Image, width: int, height: int) -> float:
    """How much smaller it must be to fit there."""
    return min(width / picture.width, height / picture.height)


def _rows(text: str, length: Callable[[str], float], width: float, most: int) -> list[str]:
    """The text in rows that fit, cut short where there are more than `most`."""
    rows = [""]
    for word in text[:400].split():
        for piece in (word[k : k + _LONGEST] for k in range(0, len(word), _LONGEST)):
            longer = f"{rows[-1]} {piece}".strip()
            if length(longer) <= width or not rows[-1]:
                rows[-1] = longer
            else:
                rows.append(piece)
    if len(rows) > most:
        rows = [*rows[: most - 1], rows[most - 1][:-1].rstrip() + "…"]
    return rows


def _jpeg(picture: Image) -> bytes:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=_QUALITY, optimize=False)
    return out.getvalue()

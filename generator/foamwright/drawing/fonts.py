"""The two embedded faces, Bitstream Vera Sans regular and bold, shipped with reportlab under a free licence.

One family serves every writer and the metrics, so that what is measured is what is drawn.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import reportlab
from reportlab.pdfbase.ttfonts import TTFont

from foamwright.errors import BuildError

REGULAR = "FoamwrightSans"
BOLD = "FoamwrightSans-Bold"
CSS_FAMILY = "Bitstream Vera Sans, DejaVu Sans, Verdana, sans-serif"  # DejaVu has Vera's widths
_FILES = {REGULAR: "Vera.ttf", BOLD: "VeraBd.ttf"}


def face_name(bold: bool) -> str:
    """Name of the face under which the PDF writer registers it."""
    return BOLD if bold else REGULAR


@cache
def face(bold: bool) -> TTFont:
    """The face, read once."""
    name = face_name(bold)
    return TTFont(name, str(Path(reportlab.__file__).parent / "fonts" / _FILES[name]))


def missing_glyphs(value: str, bold: bool = False) -> str:
    """The characters of `value` that the face cannot draw, each once, in order."""
    known = face(bold).face.charToGlyph
    return "".join(dict.fromkeys(c for c in value if ord(c) not in known))


def check_glyphs(value: str, bold: bool = False) -> None:
    """Raise BuildError naming any character of `value` that would print as an empty box."""
    lost = missing_glyphs(value, bold)
    if lost:
        names = ", ".join(f"{c!r} (U+{ord(c):04X})" for c in lost)
        raise BuildError(f"cannot print {names} in {value!r}; expected Latin letters, digits and signs")

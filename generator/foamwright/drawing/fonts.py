"""The two embedded faces for Latin, Greek and Cyrillic: DejaVu Sans regular and bold with bars at the capital I, which as
a part letter alone would be read as a line (`.ci/faces` makes them); their licence is in `faces/`.

One family serves every writer and the metrics, so that what is measured is what is drawn.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from foamwright.errors import BuildError
from foamwright.loading import without_settings

with without_settings():
    from reportlab.pdfbase.ttfonts import TTFont

REGULAR = "FoamwrightSans"
BOLD = "FoamwrightSans-Bold"
CSS_FAMILY = "Foamwright Sans, DejaVu Sans, Bitstream Vera Sans, Verdana, sans-serif"  # Vera: the same widths
_FILES = {REGULAR: "FoamwrightSans.ttf", BOLD: "FoamwrightSans-Bold.ttf"}


def face_name(bold: bool) -> str:
    """Name of the face under which the PDF writer registers it."""
    return BOLD if bold else REGULAR


@cache
def face(bold: bool) -> TTFont:
    """The face, read once."""
    name = face_name(bold)
    return TTFont(name, str(face_file(bold)))


def face_file(bold: bool) -> Path:
    """Where the face lies, a TrueType file."""
    return Path(__file__).parent / "faces" / _FILES[face_name(bold)]


def missing_glyphs(value: str, bold: bool = False) -> str:
    """The characters of `value` that the face cannot draw, each once, in order."""
    known = face(bold).face.charToGlyph
    return "".join(dict.fromkeys(c for c in value if ord(c) not in known))


def check_glyphs(value: str, bold: bool = False) -> None:
    """Raise BuildError naming any character of `value` that would print as an empty box."""
    lost = missing_glyphs(value, bold)
    if lost:
        names = ", ".join(f"{c!r} (U+{ord(c):04X})" for c in lost)
        raise BuildError(
            f"cannot print {names} in {value!r}; expected Latin, Greek or Cyrillic letters, digits and signs"
        )

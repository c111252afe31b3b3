"""Which letters a design may have in its texts, and how whatever else there is is shown on a terminal."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

# Control characters but tab and line feed, line and paragraph separators, marks that turn the direction of what
# follows, surrogates and what is no character at all. XML 1.0 (section 2.2) has no way to write most of them, and a
# terminal obeys some.
_UNFIT = (
    "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff"
    + "".join(f"{chr(plane * 0x10000 + 0xFFFE)}{chr(plane * 0x10000 + 0xFFFF)}" for plane in range(1, 17))
)
_FIRST_UNFIT = re.compile(f"[{_UNFIT}]")
_RAW = re.compile(f"[{_UNFIT}\t\n\r]")
MOST_MARKS = 8  # combining marks on one letter


def unfit(text: str) -> str:
    """The first thing in a text that no format can carry, in words; "" if there is none."""
    match = _FIRST_UNFIT.search(text)
    if match:
        return f"the character {_code(match[0])}"
    if text.isascii():
        return ""
    over = next((letter for letter, marks in _marked(text) if marks > MOST_MARKS), "")
    return f"more than {MOST_MARKS} marks on one letter ({_code(over)})" if over else ""


def carried(text: str) -> str:
    """The text with a replacement character for each that no format can carry."""
    return _FIRST_UNFIT.sub("\ufffd", text)


def shown(text: str) -> str:
    """One line that a terminal shows and does not obey, and that no CI service takes for an order."""
    line = _RAW.sub(lambda match: f"\\u{ord(match[0]):04x}", text).replace("##[", "#\\[")
    if not line.isascii():
        line = "".join(letter for letter, marks in _marked(line) if marks <= MOST_MARKS)
    return f"\\{line}" if line.lstrip().startswith("::") else line


def _marked(text: str) -> Iterator[tuple[str, int]]:
    """Each letter, and which combining mark of its letter it is, counted from 1; 0 for one that is no mark."""
    marks = 0
    for letter in text:
        marks = marks + 1 if unicodedata.combining(letter) else 0
        yield letter, marks


def _code(letter: str) -> str:
    return f"U+{ord(letter):04X}"

"""Lengths and angles as the trade writes them, inside any expression, put into mm and degrees.

The inch is 25.4 mm exactly and the foot 12 inches (international yard and pound agreement, 1959).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

MM_PER = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
}
ANGLE_UNITS = ("deg",)
MARKS = {"_mm": "mm", "_deg": "deg"}  # what stands for a unit in an expression without them: each is 1
UNITS = (*MM_PER, *ANGLE_UNITS)
_PRINTED = {"mm": " mm", "deg": "°", "": ""}  # after the number, by the unit of a parameter

# what a unit is called elsewhere
_CALLED = {
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters", "mmm", "mms", "milimeter", "milimeters"),
    "cm": ("centimetre", "centimetres", "centimeter", "centimeters", "cms"),
    "m": ("metre", "metres", "meter", "meters"),
    "in": ("inch", "inches", "ins", "zoll"),
    "ft": ("foot", "feet"),
    "deg": ("degree", "degrees", "grad", "degs"),
}
_SIGNS = {'"': "in", "'": "ft"}
_DECIMAL = r"(?:\d+(?:\.\d*)?|\.\d+)"
_NUMBER = rf"(?:\d+\s+\d+\s*/\s*\d+|{_DECIMAL}(?:\s*/\s*{_DECIMAL})?)"
_FEET = r"""(?:ft(?![\w])|')"""
_INCHES = r"""(?:in(?![\w])|")"""
_QUANTITY = re.compile(
    rf"""(?<![\w.])(?:(?P<feet>{_NUMBER})\s*{_FEET}\s*(?P<inches>{_NUMBER})\s*{_INCHES}"""
    rf"""|(?P<number>{_NUMBER})\s*(?P<unit>(?:mm|cm|m|in|ft|deg)(?![\w])|["']))"""
)


@dataclass(frozen=True)
class Plain:
    """An expression without units: its lengths are mm times `_mm` and its angles degrees times `_deg`, names for 1.
    `units` are those it had."""

    text: str
    units: frozenset[str]


def without_units(text: str) -> Plain:
    """Put each number that a unit follows into mm or degrees.

    A unit belongs to the whole number before it: a decimal (`2.5 cm`), a fraction (`3/16"`), a mixed number
    (`1 1/8 in`), or feet and inches (`5' 3 1/2"`). Raises ZeroDivisionError for a fraction over 0.
    """
    units: set[str] = set()

    def convert(match: re.Match) -> str:
        if match["feet"]:
            units.add("in")
            exact = _number(match["feet"]) * MM_PER["ft"] + _number(match["inches"]) * MM_PER["in"]
            return f"({float(exact)!r}*_mm)"
        unit = _SIGNS.get(match["unit"], match["unit"])
        units.add(unit)
        mark = "_deg" if unit in ANGLE_UNITS else "_mm"
        return f"({float(_number(match['number']) * MM_PER.get(unit, 1))!r}*{mark})"

    return Plain(_QUANTITY.sub(convert, text), frozenset(units))


def unit_meant(word: str) -> tuple[str, tuple[str, ...]]:
    """The unit that a word stands for, and those that it may be a slip of the hand for. Not m: it is far from the others."""
    lower = word.lower()
    called = next((unit for unit, others in _CALLED.items() if lower in others), lower)
    return called, (called,) if called in _CALLED else tuple(unit for unit in UNITS if unit != "m")


def printed(value: float, unit: str) -> str:
    """The value of a parameter with its unit ("mm", "deg" or ""), for a maker to read."""
    return f"{value:.6g}{_PRINTED[unit]}"


def _number(text: str) -> Fraction:
    """`2.5`, `3/16` or `1 1/8` as an exact number."""
    top, _, bottom = text.partition("/")
    *whole, top = top.split()
    return Fraction(whole[0] if whole else 0) + Fraction(top) / Fraction(bottom.strip() or 1)

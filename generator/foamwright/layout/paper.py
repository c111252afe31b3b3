"""The papers that a pack can be laid out for.

ISO sizes are computed by the rule of ISO 216: A0 has an area of 1 m2 and sides in the ratio 1 : sqrt 2, and
each next size is the one before cut in half, all rounded to the millimetre. ANSI sizes are those of
ASME Y14.1 in inches; legal is common practice in North America. A roll has the width that its name states.
"""

from __future__ import annotations

import re
from difflib import get_close_matches
from math import floor

from foamwright.errors import DesignError
from foamwright.layout.records import Paper

_INCH = 25.4
_Y14 = "ASME Y14.1"
_LONGEST = 5000.0  # mm; a PDF page ends at 14400 points, 5080 mm (ISO 32000-1, annex C)
_ROLLS = (200.0, 2000.0)


def _iso_a() -> dict[str, Paper]:
    """A0 to A5; halving drops the half millimetre, as the standard does."""
    width, height = round(1000.0 / 2.0**0.25), round(1000.0 * 2.0**0.25)
    papers = {}
    for n in range(6):
        papers[f"a{n}"] = Paper(f"a{n}", float(width), float(height), "ISO 216")
        width, height = floor(height / 2), width
    return papers


def _inches(name: str, width: float, height: float, source: str) -> Paper:
    return Paper(name, round(width * _INCH, 2), round(height * _INCH, 2), source)


PAPERS: dict[str, Paper] = _iso_a() | {
    p.name: p
    for p in (
        _inches("letter", 8.5, 11.0, f"{_Y14}, size A"),
        _inches("legal", 8.5, 14.0, "common practice"),
        _inches("tabloid", 11.0, 17.0, f"{_Y14}, size B"),
        _inches("ansi-c", 17.0, 22.0, f"{_Y14}, size C"),
        _inches("ansi-d", 22.0, 34.0, f"{_Y14}, size D"),
        _inches("ansi-e", 34.0, 44.0, f"{_Y14}, size E"),
    )
}


def paper(name: str) -> Paper:
    """The paper of that name, in any case; `roll-610` is a roll 610 mm wide.

    Raises DesignError with the nearest name for an unknown one.
    """
    key = name.strip().lower()
    roll = re.fullmatch(r"roll-(\d+(?:\.\d+)?)", key)
    if roll:
        return _roll(key, float(roll[1]))
    if key not in PAPERS:
        near = get_close_matches(key, PAPERS, n=1, cutoff=0.5)
        hint = f"; did you mean {near[0]}?" if near else ""
        names = ", ".join(PAPERS)
        raise DesignError(f"paper: no paper is called {name!r}; expected roll-WIDTH in mm or one of {names}{hint}")
    return PAPERS[key]


def leaf(paper: Paper) -> Paper:
    """What pages to read are printed on, when templates are on `paper`: the same, but A4 beside a roll."""
    return PAPERS["a4"] if paper.roll else paper


def _roll(name: str, width: float) -> Paper:
    low, high = _ROLLS
    if not low <= width <= high:
        raise DesignError(f"paper: a roll is {low:g} to {high:g} mm wide, not {width:g}")
    return Paper(name, width, _LONGEST, "stated width", roll=True)

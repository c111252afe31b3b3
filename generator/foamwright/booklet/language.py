"""Words and figures in the language and the units of the reader. Everything the booklet says goes through here.

The sentences stand in the code in English and are the keys of the catalogue (GNU gettext: `messages.pot`, one `.po` and
its compiled `.mo` for each further language). The terms to use are listed in `terms.md` beside the catalogue.
"""

from __future__ import annotations

import gettext
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from fractions import Fraction
from importlib import resources

LANGUAGES = ("en",)
UNITS = ("mm", "inch", "both")
_INCH = 25.4  # mm, by definition
_FINEST = 16  # parts of an inch that a rule shows

_ENGLISH = gettext.NullTranslations()  # the keys of the catalogue are the English sentences
_catalogue: ContextVar[gettext.NullTranslations] = ContextVar("catalogue", default=_ENGLISH)
_units: ContextVar[str] = ContextVar("units", default="mm")


@contextmanager
def reading(language: str = "en", units: str = "mm") -> Iterator[None]:
    """Say everything within in `language`, with lengths in `units`: "mm", "inch" (to 1/16) or "both".

    ValueError: there is no such language or unit.
    """
    if language not in LANGUAGES or units not in UNITS:
        raise ValueError(f"language one of {', '.join(LANGUAGES)}, units one of {', '.join(UNITS)}")
    catalogue = _ENGLISH
    if language != "en":
        with (resources.files(__package__) / "catalogue" / f"{language}.mo").open("rb") as stream:
            catalogue = gettext.GNUTranslations(stream)
    said, measured = _catalogue.set(catalogue), _units.set(units)
    try:
        yield
    finally:
        _catalogue.reset(said)
        _units.reset(measured)


def say(sentence: str, **named: object) -> str:
    """`sentence` in the reader's language, with `{names}` filled in."""
    return _catalogue.get().gettext(sentence).format(**named)


def count(one: str, many: str, number: int, **named: object) -> str:
    """The form of a sentence that goes with `number`, which it may hold as {n}."""
    return _catalogue.get().ngettext(one, many, number).format(n=number, **named)


def length(mm: float, digits: int = 0) -> str:
    """A length: "118 mm", "4 5/8 in", or "118 mm (4 5/8 in)"."""
    metric = f"{mm:.{digits}f} mm"
    units = _units.get()
    return metric if units == "mm" else inches(mm) if units == "inch" else f"{metric} ({inches(mm)})"


def inches(mm: float) -> str:
    """A length in inches to the nearest sixteenth, as a rule shows it: "4 5/8 in"."""
    parts = Fraction(round(abs(mm) / _INCH * _FINEST), _FINEST)
    whole, rest = divmod(parts, 1)
    words = [str(int(whole))] if whole or not rest else []
    words += [f"{rest.numerator}/{rest.denominator}"] if rest else []
    sign = "-" if mm < 0 and parts else ""
    return f"{sign}{' '.join(words)} in"


def listed(words: Sequence[str]) -> str:
    """ "A", "A and B", "A, B and C"."""
    return words[0] if len(words) == 1 else say("{first} and {last}", first=", ".join(words[:-1]), last=words[-1])


def duration(minutes: float) -> str:
    """ "45 min", "2 h", "2 h 15 min"."""
    hours, rest = divmod(round(minutes), 60)
    parts = (say("{n} h", n=hours) if hours else "", say("{n} min", n=rest) if rest or not hours else "")
    return " ".join(part for part in parts if part)

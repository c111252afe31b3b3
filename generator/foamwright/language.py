"""Words and figures in the language and the units of the reader. Everything that is printed for a maker goes through here.

The sentences stand in the code in English and are the keys of the catalogue (GNU gettext): `locale/foamwright.pot`, and
for each further language `locale/LANGUAGE/LC_MESSAGES/foamwright.po` with its compiled `.mo`, written by
`sh .ci/catalogue`. Which word to use for what is listed in `locale/terms.md`.
"""

from __future__ import annotations

import gettext
import inspect
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, wraps
from importlib import resources
from typing import Any

LANGUAGES = ("en", "de")
UNITS = ("mm", "inch", "both")
_COMMA = ("de",)  # languages that write 3,5 for 3.5
_INCH = 25.4  # mm, by definition
_FINEST = 16  # parts of an inch that a rule shows
_LEAST = 0.01  # inches: less is told to a thousandth
# minutes: an estimate of up to so many is told to so many, a longer one to the hour
_ROUGH = ((60.0, 5.0), (240.0, 15.0))


@dataclass(frozen=True)
class Reader:
    """For whom a pack is printed: the language, and the units of lengths ("mm", "inch" to 1/16, or "both").

    ValueError: there is no such language or unit.
    """

    language: str = "en"
    units: str = "mm"

    def __post_init__(self) -> None:
        if self.language not in LANGUAGES or self.units not in UNITS:
            raise ValueError(f"language one of {', '.join(LANGUAGES)}, units one of {', '.join(UNITS)}")


_ENGLISH = Reader()
_reader: ContextVar[Reader] = ContextVar("reader", default=_ENGLISH)


@contextmanager
def reading(reader: Reader) -> Iterator[None]:
    """Say everything within for `reader`."""
    before = _reader.set(reader)
    try:
        yield
    finally:
        _reader.reset(before)


def spoken(function: Callable[..., Any]) -> Callable[..., Any]:
    """The function with a parameter `reader` more, for whom it says what it says."""

    @wraps(function)
    def said(*arguments: Any, reader: Reader, **named: Any) -> Any:
        with reading(reader):
            return function(*arguments, **named)

    own = inspect.signature(function)
    more = inspect.Parameter("reader", inspect.Parameter.KEYWORD_ONLY, annotation="Reader")
    said.__signature__ = own.replace(parameters=[*own.parameters.values(), more])  # type: ignore[attr-defined]
    return said


def units() -> str:
    """The units of lengths, one of UNITS."""
    return _reader.get().units


def language() -> str:
    """The language that is read, as a tag of BCP 47."""
    return _reader.get().language


@cache
def _catalogue(code: str) -> gettext.NullTranslations:
    if code == "en":
        return gettext.NullTranslations()  # the keys are the English sentences
    file = resources.files("foamwright") / "locale" / code / "LC_MESSAGES" / "foamwright.mo"
    with file.open("rb") as stream:
        return gettext.GNUTranslations(stream)


def phrase(sentence: str) -> str:
    """`sentence` as it stands: it is an entry of the catalogue that is kept in a table and said later."""
    return sentence


def say(sentence: str, /, **named: object) -> str:
    """`sentence` in the reader's language, with `{names}` filled in."""
    return _catalogue(language()).gettext(sentence).format(**named)


@dataclass(frozen=True)
class Length:
    """A length in mm within what is said later, told in the units of whoever reads then."""

    mm: float
    digits: int = 0

    def __str__(self) -> str:
        return length(self.mm, self.digits)


@dataclass(frozen=True)
class Saying:
    """A sentence that the program says of a part, kept until someone reads it: an entry of the catalogue, marked by `phrase`,
    and what is filled in by name."""

    sentence: str
    named: tuple[tuple[str, object], ...] = ()

    def __str__(self) -> str:
        return say(self.sentence, **dict(self.named))


def every_tongue(sentence: str) -> tuple[str, ...]:
    """An entry of the catalogue in every language, English first: for words that a design writes in its own."""
    return tuple(dict.fromkeys(_catalogue(code).gettext(sentence) for code in LANGUAGES))


def count(one: str, many: str, number: int, /, **named: object) -> str:
    """The form of a sentence that goes with `number`, which it may hold as {n}."""
    return _catalogue(language()).ngettext(one, many, number).format(n=number, **named)


def decimal(value: float, digits: int = 0) -> str:
    """A number with so many decimals, with the decimal sign of the language."""
    text = f"{value:.{digits}f}"
    return text.replace(".", ",") if language() in _COMMA else text


def figure(value: float) -> str:
    """A number with as many decimals as it has, to six figures: "12", "3.5", "0.125"."""
    text = f"{value:.6g}"
    return text.replace(".", ",") if language() in _COMMA else text


def length(mm: float, digits: int = 0) -> str:
    """A length: "118 mm", "4 5/8 in", or "118 mm (4 5/8 in)"."""
    return lengths((mm,), digits)


def lengths(several: Sequence[float], digits: int = 0) -> str:
    """Lengths of one thing: "70 x 44 x 22 mm", "2 3/4 x 1 3/4 x 7/8 in", or the one with the other in brackets."""
    metric = f"{' x '.join(decimal(mm, digits) for mm in several)} mm"
    shown = [mm if round(mm, digits) else 0.0 for mm in several]  # what is no length in mm is none in inches
    imperial = f"{' x '.join(inches(mm).removesuffix(' in') for mm in shown)} in"
    units = _reader.get().units
    return metric if units == "mm" else imperial if units == "inch" else f"{metric} ({imperial})"


def mass(kilograms: float) -> str:
    """In grams below 1 kg: "412 g", "1.25 kg", "4.5 kg"."""
    if round(1000.0 * kilograms) < 1000:
        return f"{1000.0 * kilograms:.0f} g"
    digits = next(n for n in (0, 1, 2) if round(kilograms, n) == round(kilograms, 2))
    return f"{decimal(kilograms, digits)} kg"


def inches(mm: float) -> str:
    """A length in inches to the nearest sixteenth, as a rule shows it: "4 5/8 in"; what is less than the first mark of that
    rule as a decimal: "0.02 in"."""
    parts = Fraction(round(abs(mm) / _INCH * _FINEST), _FINEST)
    if mm and not parts:
        return f"{decimal(mm / _INCH, 2 if abs(mm) / _INCH >= _LEAST else 3)} in"
    whole, rest = divmod(parts, 1)
    words = [str(int(whole))] if whole or not rest else []
    words += [f"{rest.numerator}/{rest.denominator}"] if rest else []
    sign = "-" if mm < 0 and parts else ""
    return f"{sign}{' '.join(words)} in"


def listed(words: Sequence[str]) -> str:
    """ "A", "A and B", "A, B and C"."""
    return words[0] if len(words) == 1 else say("{first} and {last}", first=", ".join(words[:-1]), last=words[-1])


def rows(numbers: Sequence[int]) -> list[list[int]]:
    """Rising numbers, those that follow on each other together."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return found


def number_ranges(numbers: Iterable[int]) -> str:
    """Whole numbers as text: 3, 5-7."""
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in rows(sorted(set(numbers))))


def duration(minutes: float) -> str:
    """ "45 min", "2 h", "2 h 15 min"."""
    hours, rest = divmod(round(minutes), 60)
    parts = (say("{n} h", n=hours) if hours else "", say("{n} min", n=rest) if rest or not hours else "")
    return " ".join(part for part in parts if part)


def roughly(minutes: float) -> str:
    """A time that is an estimate, as a maker plans by it: "35 min", "1 h 45 min", "8 h"."""
    return duration(rounded(minutes))


def rounded(minutes: float) -> float:
    """Minutes as `roughly` tells them."""
    fine = next((step for most, step in _ROUGH if minutes <= most), 60.0)
    return fine * max(1, round(minutes / fine))

"""Arithmetic over named numbers, read by a parser that knows nothing but arithmetic."""

from __future__ import annotations

import ast
import keyword
import math
import operator
import re
import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import simpleeval

from foamwright.design.dimensions import ANGLE, ANY, AREA, LENGTH, NUMBER, OF_UNIT, MixedError
from foamwright.design.dimensions import dimension as dimension_of
from foamwright.design.lengths import ANGLE_UNITS, MARKS, MM_PER, UNITS, unit_meant, without_units

LONGEST = 500  # characters; bounds the depth of what the parser is given
PLACES = 15  # decimal places that a number can be rounded to, or digits before its point


def _rounded(x: float, places: float = 0.0) -> float:
    if places != int(places) or abs(places) > PLACES:
        raise ValueError(places)
    return round(float(x), int(places))


FUNCTIONS = {
    "min": min,
    "max": max,
    "abs": abs,
    "sqrt": math.sqrt,
    "sin": lambda a: math.sin(math.radians(a)),
    "cos": lambda a: math.cos(math.radians(a)),
    "tan": lambda a: math.tan(math.radians(a)),
    "asin": lambda x: math.degrees(math.asin(x)),
    "acos": lambda x: math.degrees(math.acos(x)),
    "atan": lambda x: math.degrees(math.atan(x)),
    "atan2": lambda y, x: math.degrees(math.atan2(y, x)),
    "floor": lambda x: float(math.floor(x)),
    "ceil": lambda x: float(math.ceil(x)),
    "round": _rounded,
}
CONSTANTS = {"pi": math.pi}
_RANGE = re.compile(r"""\s*(\d+\.?\d*)\s*([a-z]*|["'])\s*[-–—−]\s*(\d+\.?\d*)\s*([a-z]*|["'])\s*""")
_DASHED = re.compile(rf"""(?<![\w.])(\d+)[-–](\d+/\d+)\s*({"|".join(MM_PER)}\b|["'])""")
_SIGNS = {
    **{"^": "**", "×": "*", "·": "*", "÷": "/", "−": "-", "–": "-", "″": '"', "”": '"', "“": '"', "′": "'", "’": "'"},
    **{"²": "** 2", "³": "** 3", "½": "1/2", "¼": "1/4", "¾": "3/4", "°": " deg"},
}
_OPERATORS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    # floats only: powers of whole numbers may take for ever
    ast.Pow: lambda a, b: float(a) ** float(b),
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
    ast.Eq: operator.eq,
    ast.NotEq: operator.ne,
    ast.Lt: operator.lt,
    ast.LtE: operator.le,
    ast.Gt: operator.gt,
    ast.GtE: operator.ge,
    ast.Not: operator.not_,
}
_NODES = (
    ast.Expression, ast.BinOp, ast.UnaryOp, ast.BoolOp, ast.Compare, ast.IfExp, ast.Call, ast.Name,
    ast.Constant, ast.Load, ast.And, ast.Or, *_OPERATORS,
)  # fmt: skip


class ExpressionError(ValueError):
    """What is wrong with an expression, in the clauses of `messages.mistake`."""

    def __init__(self, wrong: str, expected: str = "", word: str = "", choices: tuple[str, ...] = ()):
        super().__init__(wrong)
        self.clauses = (wrong, expected, word, choices)


@dataclass(frozen=True)
class Expression:
    """An expression read once: `names` are the parameters it refers to, `units` those that it writes."""

    text: str
    tree: ast.expr
    names: frozenset[str]
    units: frozenset[str]

    @property
    def unit(self) -> str:
        """ "mm" if it writes a length, "deg" if it writes an angle, else ""."""
        if self.units & MM_PER.keys():
            return "mm"
        return "deg" if self.units & set(ANGLE_UNITS) else ""


def is_reserved(name: str) -> bool:
    """True for a word that means something in an expression, so that no parameter may have it."""
    return name in FUNCTIONS or name in CONSTANTS or name in UNITS or keyword.iskeyword(name)


@lru_cache(maxsize=4096)
def parse(text: str) -> Expression:
    """Read `text`; raises ExpressionError if it is not arithmetic."""
    expected = "a number, a length such as 6 mm or 1 1/8 in, or an expression over parameters"
    if len(text) > LONGEST:
        raise ExpressionError(
            f"expression of {len(text)} characters", f"at most {LONGEST}; name its parts as parameters"
        )
    meant = _range(text)
    if meant:
        raise meant
    try:
        if re.search(r"#|(?<!\w)(_|\d+_|0[xob])", text, re.IGNORECASE):
            raise SyntaxError  # remarks, names of our own, and numbers as programs write them
        plain = without_units(text)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the parser has opinions on style
            tree = ast.parse(plain.text.strip(), mode="eval").body
    except ZeroDivisionError:
        raise ExpressionError(f"{text!r} divides by 0", expected) from None
    except OverflowError:
        raise ExpressionError(f"{text!r} has too large a number", expected) from None
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        raise _unread(text, expected) from None
    names = set()
    called = {id(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
    for node in ast.walk(tree):
        if not isinstance(node, _NODES) or getattr(node, "keywords", None):
            raise _slip(text) or ExpressionError(f"{text!r} is more than arithmetic", expected)
        if isinstance(node, ast.Constant) and type(node.value) not in (int, float):
            raise ExpressionError(f"{text!r} is more than arithmetic", expected)
        if isinstance(node, ast.Constant):
            try:
                node.value = float(node.value)  # type: ignore[arg-type]  # arithmetic of whole numbers knows no end
            except OverflowError:
                raise ExpressionError(f"{text!r} has too large a number", expected) from None
        if isinstance(node, ast.Call):
            name = getattr(node.func, "id", None)
            if name not in FUNCTIONS:
                if not name:
                    raise ExpressionError(f"two values side by side in {text!r}", "* where it is multiplied")
                raise ExpressionError(f"unknown function {name!r}", "", name, tuple(FUNCTIONS))
        if isinstance(node, ast.Name) and id(node) not in called:
            if node.id in FUNCTIONS:
                raise ExpressionError(f"the function {node.id!r} lacks its brackets", f"{node.id}(...)")
            if node.id in UNITS:
                raise ExpressionError(f"the unit {node.id!r} does not follow a number", f"a factor such as 1 {node.id}")
            if node.id not in CONSTANTS and node.id not in MARKS:
                names.add(node.id)
    return Expression(text, tree, frozenset(names), plain.units)


def _unread(text: str, expected: str) -> ExpressionError:
    """Why a text cannot be read: a slip that is often made, a unit that is none, or whatever it is."""
    slip = _slip(text)
    if slip:
        return slip
    power = re.search(rf"(?<![\w.])[\d.]+[eE][+-]?\d+(?=\s*(?:{'|'.join(UNITS)})\b)", text)
    if power:
        return ExpressionError(f"{power[0]} before a unit", "a number without e, as in 2.5 mm")
    unit = re.search(r"(?<![\w.])[\d.]+\s*([^\W\d_]+)", text)
    if unit and unit[1] not in UNITS and unit[1] not in ("if", "else", "and", "or", "not"):
        expected = f"one of {', '.join(UNITS)}, or * before a name"
        return ExpressionError(f"{unit[1]!r} in {text!r} is no unit", expected, *unit_meant(unit[1]))
    opened, closed = text.count("("), text.count(")")
    if opened != closed:
        return ExpressionError(f"{opened} ( and {closed} ) in {text!r}", "one ) for each (")
    return ExpressionError(f"cannot read {text!r}", expected)


def _range(text: str) -> ExpressionError | None:
    """What is written for a person to read and would be taken as a difference: from so much to so much, and one and a half with
    a dash. No maker means a difference of two numbers that is less than nothing, unless
    both are written out as lengths."""
    dashed = _DASHED.search(text)
    if dashed:
        mixed = f"{dashed[1]} {dashed[2]} {dashed[3]}"
        return ExpressionError(
            f"{dashed[0]!r} has a dash before a fraction", f"{mixed}, or spaces around - for a difference"
        )
    both = _RANGE.fullmatch(text)
    close = both and (not both[2] or (both[2] == both[4] and not re.search(r"\s[-–—−]\s", text)))
    if both and close and float(both[1]) < float(both[3]):
        return ExpressionError(f"{text!r} goes from one value to another", "one value")
    return None


def _slip(text: str) -> ExpressionError | None:
    """A sign that is written elsewhere for what is meant here."""
    if re.search(r"\d,\d", text) and "(" not in text:
        return ExpressionError(f"{text!r} has a comma in a number", "a point, as in 2.5")
    if re.search(r"[\d.]\s*%", text):
        return ExpressionError(f"{text!r} is in per cent", "a share, as in 0.6 * height")
    if re.search(r"[\w)]\s+x\s+[\w(]", text):
        return ExpressionError(f"{text!r} has an x between two values", "* where they are multiplied")
    if re.search(r"\$\w|\$?\{\w+\}", text):
        return ExpressionError(f"{text!r} has signs around a name", "the name alone")
    if "#" in text:
        return ExpressionError(f"{text!r} goes on in a remark", "a space before # outside of quotes")
    if text.lstrip().startswith("="):
        return ExpressionError(f"{text!r} begins with =", "nothing before the first value")
    if re.match(r"\s*(~|≈|±|ca\.?\s|about\s)", text):
        return ExpressionError(f"{text!r} is about so much", "one value")
    sign = next((sign for sign in text if sign in _SIGNS), None)
    return ExpressionError(f"{text!r} has the sign {sign}", f"{_SIGNS[sign]} for it") if sign else None


_NOUNS = {LENGTH: "a length", AREA: "a product or power of lengths", ANGLE: "an angle", NUMBER: "a plain number"}


def measures(expression: Expression, known: Mapping[str, str]) -> str:
    """What an expression measures, one of `dimensions`; `known` tells it of each of its names.

    Raises ExpressionError where it adds or compares a length and an angle.
    """
    named = {
        **{mark: OF_UNIT[unit] for mark, unit in MARKS.items()},
        **{n: known.get(n, ANY) for n in expression.names},
    }
    try:
        return dimension_of(expression.tree, named)
    except MixedError as error:
        one, other = (_NOUNS[measured] for measured in error.args)
        wanted = "a length times a number" if error.args == (LENGTH, NUMBER) else "one or the other"
        raise ExpressionError(f"{expression.text!r} takes {one} and {other} together", wanted) from None
    except RecursionError:
        return ANY


def evaluate(expression: Expression, values: Mapping[str, float]) -> float:
    """The value of an expression, `values` giving a number for each of its names.

    Raises ExpressionError where a name has no value or the arithmetic has no finite real answer.
    """
    text = expression.text
    for name in sorted(expression.names - values.keys()):
        raise ExpressionError(f"unknown parameter {name!r}", "" if values else "a number", name, tuple(values))
    names = {**CONSTANTS, **dict.fromkeys(MARKS, 1.0), **{name: values[name] for name in expression.names}}
    reader = simpleeval.SimpleEval(operators=_OPERATORS, functions=FUNCTIONS, names=names)
    try:
        result = reader.eval(text, previously_parsed=expression.tree)
        if not isinstance(result, bool | complex):
            result = float(result)  # whole numbers may be too large for it
    except ZeroDivisionError:
        raise ExpressionError(f"{text!r} divides by 0") from None
    except (ValueError, OverflowError, TypeError, RecursionError, simpleeval.InvalidExpression):
        raise ExpressionError(f"{text!r} has no answer", "arguments inside the range of its functions") from None
    if isinstance(result, bool):
        raise ExpressionError(f"{text!r} is true or false", "a number, as in: a if x > y else b")
    if isinstance(result, complex) or not math.isfinite(result):
        raise ExpressionError(f"{text!r} has no finite real answer")
    return result

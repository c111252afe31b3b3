"""Lengths as the trade writes them, against the definition of the inch and exact arithmetic.

1 in = 25.4 mm exactly: international yard and pound agreement (1959), also ISO 31-1:1992 annex; 1 ft = 12 in.
"""

import math
import re
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from foamwright.design.expressions import FUNCTIONS, ExpressionError, evaluate, is_reserved, parse

whole = st.integers(0, 999)
bottom = st.sampled_from([2, 4, 8, 16, 32, 64])


def value(text, **names):
    return evaluate(parse(text), names)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("6 mm", 6),
        ("2.5 cm", 25),
        (".5cm", 5),
        ("1.2 m", 1200),
        ("1 in", 25.4),
        ('1"', 25.4),
        ("1 1/8 in", 28.575),
        ('3/16"', 4.7625),
        ("3/16 in", 4.7625),
        ("3 / 16 in", 4.7625),
        ("1 ft", 304.8),
        ("1'", 304.8),
        ("5' 2\"", 1574.8),
        ("5 ft 2 1/2 in", 1587.5),
        ("-1/8 in", -3.175),
        ("1 in - 1/8 in", 22.225),
        ("10 mm / 2 in", 10 / 50.8),
        ("2 * 3/4 in", 38.1),
        ("30 deg", 30),
        ("3", 3),
    ],
)
def test_written(text, mm):
    assert value(text) == pytest.approx(mm, rel=1e-15)


@pytest.mark.parametrize(
    "text", ["100-120 mm", "100mm-120mm", "100 - 120 mm", "3-4 in", "2.5–3 cm", "60 - 90", "30-45 deg"]
)
def test_from_so_much_to_so_much_is_no_difference(text):
    """As drawings and shops write a range, with a hyphen or an en dash: common practice, no source."""
    with pytest.raises(ExpressionError, match="goes from one value to another"):
        parse(text)


@pytest.mark.parametrize("text", ["1-1/2 in", '20-3/16"', "h + 2-1/2 in"])
def test_a_mixed_number_with_a_dash_is_no_difference(text):
    """One and a half inches as often written in the trade (common practice, no source); as a difference -11.2 mm."""
    with pytest.raises(ExpressionError, match="dash before a fraction"):
        parse(text)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("120-100 mm", 20), ("10 mm-1/2", 9.5), ("2 - 1/2 in", -10.7), ("1 in-12 mm", 13.4), ("6 mm - 10 mm", -4)],
)
def test_other_differences_are_taken(text, mm):
    assert value(text) == pytest.approx(mm)


@given(whole, st.integers(1, 63), bottom)
def test_mixed_fractions_are_exact(units, top, below):
    exact = (units + Fraction(top, below)) * Fraction(254, 10)
    for text in (f"{units} {top}/{below} in", f'{units} {top}/{below}"'):
        assert value(text) == float(exact)


@given(whole, st.integers(0, 11), st.integers(1, 63), bottom)
def test_feet_and_inches_are_exact(feet, inches, top, below):
    exact = ((feet * 12 + inches) + Fraction(top, below)) * Fraction(254, 10)
    assert value(f"{feet}' {inches} {top}/{below}\"") == float(exact)


@given(st.decimals(0, 10000, places=4, allow_nan=False))
def test_metric_units_agree(number):
    mm = float(Fraction(number))
    assert value(f"{number} mm") == mm
    assert value(f"{number} cm") == pytest.approx(10 * mm, rel=1e-15)
    assert value(f"{number} m") == pytest.approx(1000 * mm, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("520 mm * scale", "mm"), ("1/8 in", "mm"), ("90 deg", "deg"), ("a + 1", ""), ("5'", "mm")],
)
def test_unit_that_an_expression_writes(text, unit):
    assert parse(text).unit == unit


# expressions against Python's own arithmetic

number = st.floats(-1e3, 1e3, allow_nan=False).map(lambda x: round(x, 3))


leaf = number.map(repr) | st.sampled_from(["a", "b"])
expressions = st.deferred(
    lambda: (
        leaf
        | st.builds("({} {} {})".format, expressions, st.sampled_from("+-*/"), expressions)
        | st.builds("{}({}, {})".format, st.sampled_from(["min", "max"]), expressions, expressions)
        | st.builds("({} if {} < {} else {})".format, expressions, expressions, expressions, expressions)
        | st.builds("(-{})".format, expressions)
        | st.builds("abs({})".format, expressions)
    )
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(expressions, number, number)
def test_arithmetic_agrees_with_python(text, a, b):
    names = {"a": a, "b": b}
    try:
        expected = eval(text, {"__builtins__": {}, "min": min, "max": max, "abs": abs}, names)
    except ZeroDivisionError:
        with pytest.raises(ExpressionError, match="divides by 0"):
            evaluate(parse(text), names)
        return
    assert evaluate(parse(text), names) == expected
    assert parse(text).names == {word for word in re.findall(r"\w+", text) if word in names}


@given(st.floats(-89, 89))
def test_angles_are_degrees(angle):
    assert value("asin(sin(x))", x=angle) == pytest.approx(angle, abs=1e-9)
    assert value("atan(tan(x))", x=angle) == pytest.approx(angle, abs=1e-9)
    assert value("atan2(sin(x), cos(x))", x=angle) == pytest.approx(angle, abs=1e-9)
    assert value("acos(cos(x))", x=angle) == pytest.approx(abs(angle), abs=1e-6)


def test_other_functions():
    assert value("2 ** 3") == 8
    assert value("sqrt(2) * pi") == math.sqrt(2) * math.pi
    assert value("floor(2.7) + ceil(2.2) + round(2.6)") == 8
    assert value("1 if 2 > 1 and not 3 == 4 else 0") == 1


@pytest.mark.parametrize("name", [*FUNCTIONS, "pi", "mm", "in", "ft", "deg", "if", "else", "lambda", "None"])
def test_reserved(name):
    assert is_reserved(name)


@pytest.mark.parametrize(
    "text",
    ["", " ", "()", "1; 2", "x = 1", "a.b", "a[0]", "'a'", "f'{a}'", "[1]", "lambda: 1", "(1, 2)", "1 if 2", "True",
     "min(*a)", "round(1, ndigits=2)", "__import__('os')", "(lambda: 1)()", "a := 1", "1 // 2", "1 % 2", "~1", "1 << 9",
     "1/0 in", "9" * 600, "(" * 300, "1e999", "1 1/8", "mm", "0x10 is 3"],
)  # fmt: skip
def test_not_arithmetic(text):
    with pytest.raises(ExpressionError):
        evaluate(parse(text), {"a": 1.0})


def test_large_powers_answer_at_once():
    with pytest.raises(ExpressionError, match="no answer"):
        value("9 ** 9 ** 9 ** 9")

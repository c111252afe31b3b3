"""What an expression measures: a length, an area, an angle, a plain number, or something that cannot be told.

A bare number may stand for any of them (mm in a length field, degrees in an angle field), and so may a parameter that
states no unit; a length divided by a bare number may be a length or a number. So only what is certainly wrong is
refused: a length plus an angle or plus `scale`, or a length where a count is wanted, or a product or power of lengths
where a length is.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping

# AREA also stands for any other power of a length
LENGTH, AREA, ANGLE, NUMBER, ANY = "length", "area", "angle", "number", "any"
OF_UNIT = {"mm": LENGTH, "deg": ANGLE, "none": NUMBER, "": ANY}
FITS = {  # what a field takes
    "length": frozenset({LENGTH, NUMBER, ANY}),
    "angle": frozenset({ANGLE, NUMBER, ANY}),
    "number": frozenset({NUMBER, ANY}),
    "count": frozenset({NUMBER, ANY}),
    "any": frozenset({LENGTH, AREA, ANGLE, NUMBER, ANY}),
}
_INTO_NUMBERS = ("sin", "cos", "tan")
_INTO_ANGLES = ("asin", "acos", "atan", "atan2")


class MixedError(ValueError):
    """A length, an area, an angle or a plain number are added, compared or chosen between; `args` has two of them."""


def dimension(tree: ast.expr, known: Mapping[str, str]) -> str:
    """What the expression measures; `known` tells it of each name. Raises MixedError."""
    if isinstance(tree, ast.Name):
        return known.get(tree.id, ANY)
    if isinstance(tree, ast.UnaryOp):
        return NUMBER if isinstance(tree.op, ast.Not) else dimension(tree.operand, known)
    if isinstance(tree, ast.BinOp):
        return _of_two(tree, dimension(tree.left, known), dimension(tree.right, known))
    if isinstance(tree, ast.BoolOp):
        return _alike([dimension(value, known) for value in tree.values])
    if isinstance(tree, ast.Compare):
        _alike([dimension(value, known) for value in (tree.left, *tree.comparators)])
        return NUMBER
    if isinstance(tree, ast.IfExp):
        dimension(tree.test, known)
        return _alike([dimension(tree.body, known), dimension(tree.orelse, known)])
    if isinstance(tree, ast.Call) and isinstance(tree.func, ast.Name):
        given = [dimension(value, known) for value in tree.args]
        if tree.func.id in _INTO_NUMBERS:
            return NUMBER
        if tree.func.id in _INTO_ANGLES:
            return ANGLE
        if tree.func.id in ("min", "max", "abs"):
            return _alike(given)
    return ANY


def _of_two(tree: ast.BinOp, left: str, right: str) -> str:
    if isinstance(tree.op, ast.Add | ast.Sub):
        return _alike([left, right])
    if isinstance(tree.op, ast.Pow) and (left == LENGTH or right in (LENGTH, ANGLE)):
        once = isinstance(tree.right, ast.Constant) and tree.right.value == 1
        return left if once else AREA
    if isinstance(tree.op, ast.Mult):
        if left == right == LENGTH:
            return AREA
        if AREA in (left, right):
            return AREA if NUMBER in (left, right) else ANY
        measured = [one for one in (left, right) if one in (LENGTH, ANGLE)]
        return measured[0] if len(measured) == 1 else NUMBER if left == right == NUMBER else ANY
    return NUMBER if left == right == NUMBER else ANY


def _alike(given: list[str]) -> str:
    """What values have in common that are added, compared or chosen between."""
    measured = {one for one in given if one in (LENGTH, ANGLE)}
    certain = [one for one in (LENGTH, AREA, ANGLE, NUMBER) if one in given]
    if measured and len(certain) > 1:
        raise MixedError(*certain[:2])
    if measured:
        return measured.pop()
    if given and set(given) == {AREA}:
        return AREA
    return NUMBER if given and set(given) == {NUMBER} else ANY

"""The rows of an odd prop, held against their formulas."""

from __future__ import annotations

from pathlib import Path

from tests.classes.props import PROPS, SCALES, record_of

LENGTH, ANGLE = 0.05, 0.2  # mm and degrees

ALL = [(name, scale) for name, prop in PROPS.items() for scale in SCALES if scale in prop.scales]


def off(what: str, true: float, written: float) -> bool:
    """Is a row further off than it may be?"""
    return abs(true - written) > (ANGLE if "bevel" in what or "turn" in what else LENGTH)


def wrong_rows(name: str, scale: float, folder: Path) -> list[str]:
    """The rows that are further off than they may be, as text."""
    prop = PROPS[name]
    rows = list(prop.rows(record_of(prop, scale, folder), scale))
    assert rows
    return [f"{what}: {true:.4f}, written {written:.4f}" for what, true, written in rows if off(what, true, written)]

"""What the layout step takes and returns beside its pages: papers, and pieces on sheets of foam. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Paper:
    """A named paper; width <= height (portrait). Of a `roll`, the height is the most that is cut off in one."""

    name: str
    width: float
    height: float
    source: str
    roll: bool = False


@dataclass(frozen=True)
class PackInfo:
    """What every page says about the pack it belongs to."""

    name: str
    version: str
    size: str
    licence: str = ""
    size_note: str = ""
    author: str = ""


@dataclass(frozen=True)
class PlacedPiece:
    """One piece on a sheet of foam: a copy of a part, or one segment of it where the part is split.

    The outline of its pattern or segment is first reflected (x to -x) if `flipped`, then turned counter-clockwise by
    `angle` degrees about the pattern's origin, then moved by (x, y). `copy` counts from 0: the layers of the first
    placement of the part, then those of the next.
    """

    part: str
    copy: int
    x: float
    y: float
    angle: float
    flipped: bool
    segment: int = 0  # index among the segments of a split part


@dataclass(frozen=True)
class FoamSheet:
    """A sheet of one material with the pieces that are cut from it; its lower left corner is the origin.

    `used` is the share of its area that pieces cover, `length` how far from its lower end it is cut into.
    """

    material: str
    size: tuple[float, float]  # width and length; of a roll, the length that is cut off
    placed: tuple[PlacedPiece, ...]
    used: float
    length: float
    on_hand: bool = False  # it lies on the shelf already

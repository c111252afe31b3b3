"""Colours "#rrggbb" as numbers."""

from __future__ import annotations


def rgb(colour: str) -> tuple[float, float, float]:
    """sRGB components 0 to 1."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return red, green, blue


def linear(component: float) -> float:
    """sRGB component to linear light, IEC 61966-2-1 (from memory)."""
    return component / 12.92 if component <= 0.04045 else ((component + 0.055) / 1.055) ** 2.4

"""Where a face looks, in words: x leads forward, y to the left, z up."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from foamwright.language import say


def facing(direction: Sequence[float] | np.ndarray) -> str:
    """Where a face looks, a unit vector (3,), by its largest share: "towards the front", "down"."""
    return largest(direction, looks())


def looks() -> tuple[tuple[str, str], ...]:
    """The two words for each axis, forwards and back."""
    return (
        (say("towards the front"), say("towards the back")),
        (say("to the left"), say("to the right")),
        (say("up"), say("down")),
    )


def largest(direction: Sequence[float] | np.ndarray, words: Sequence[tuple[str, str]]) -> str:
    """Of the two words for each axis, forwards and back, the one for the largest share of a direction (3,)."""
    axis = int(np.argmax(np.abs(direction)))
    return words[axis][int(direction[axis] < 0.0)]

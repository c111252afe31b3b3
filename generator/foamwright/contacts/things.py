"""How it is told that a prop is several things, and what to do about what nothing holds. It stands alone: a look that is kept is
told without loading anything."""

from __future__ import annotations

from collections.abc import Sequence

EDGE_ONLY = (
    "with no more than an edge or a corner; move them so that a face of the one lies against a face of the other, or set it in "
    "by tabs"
)
SHARES_ONLY = (
    "and that glues nothing: no line and no step tells of it; let a face or an edge of the one end on a face of the other, or "
    "set it in by tabs"
)
TO_HOLD_IT = "; bring the two together, or say with hangs_from what it hangs from by a cord or straps"


def things_told(count: int, parts: Sequence[str]) -> str:
    """That a prop is `count` things of the same parts, whose ids are given copy by copy."""
    more = f" and {len(parts) - 1} more" if len(parts) > 1 else ""
    return f"the prop is {count} things alike that nothing joins, each of {parts[0]}{more}"

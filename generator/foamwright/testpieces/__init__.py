"""Test pieces: a small design for one foam, to cut, glue and measure, so that its stock entry holds for it."""

from foamwright.testpieces.pieces import bend_share, design_text, gap_of_ring, kerf_of

__all__ = ["bend_share", "design_text", "gap_of_ring", "kerf_of"]

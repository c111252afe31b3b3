"""Parts: the design's parts as geometry in place."""

from foamwright.parts.build import build_prop

__all__ = ["build_prop"]

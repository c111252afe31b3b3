"""The design step: a YAML file, checked and worked out into a Design."""

from foamwright.design.load import check_all, load, sizes
from foamwright.design.starter import starter

__all__ = ["check_all", "load", "sizes", "starter"]

"""Forms: the smooth surfaces that parts follow, before any thickness."""

from foamwright.forms.make import make_surface, make_surfaces
from foamwright.forms.surface import Surface

__all__ = ["Surface", "make_surface", "make_surfaces"]

"""Forms: the smooth surfaces that parts follow, before any thickness."""

from generator.forms.make import make_surface, make_surfaces
from generator.forms.surface import Surface

__all__ = ["Surface", "make_surface", "make_surfaces"]

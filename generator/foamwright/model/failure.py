"""The signs inside this package that an exact shape cannot be made and a simpler one is to be tried."""

from OCP import Standard
from OCP.StdFail import StdFail_NotDone


class ShapeFailure(Exception):
    pass


_kernel = tuple(e for e in vars(Standard).values() if isinstance(e, type) and issubclass(e, Exception))

# The kernel's own errors have no base of their own; splines answer a ValueError to points that double back.
SHAPE_ERRORS = (ShapeFailure, StdFail_NotDone, RuntimeError, ValueError, *_kernel)

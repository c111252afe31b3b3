"""Functions compiled by numba and kept for the next run, wherever there is a place to keep them.

Compiled code lies beside its source or, where that cannot be written, in the folder that the platform keeps for caches.
What is kept there helps and is never needed: where there is no such folder, where the disk is full, or where a file is
torn, the function is compiled again.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from typing import Any, TypeVar

from foamwright.loading import without_settings

with without_settings():
    from numba import njit, types
    from numba.core import cgutils, config
    from numba.core.caching import FunctionCache
    from numba.extending import intrinsic

config._config_fname = os.devnull  # it looks for its settings again whenever it compiles

_Function = TypeVar("_Function", bound=Callable[..., Any])


class _Kept(FunctionCache):
    """What numba keeps of one function, without its errors."""

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        try:
            return super().load_overload(sig, target_context)
        except Exception:  # whatever a torn file makes of itself
            with contextlib.suppress(OSError):
                self.flush()
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        with contextlib.suppress(OSError):
            super().save_overload(sig, data)


def compiled(**options: Any) -> Callable[[_Function], Any]:
    """Decorator: the function compiled with these options of numba's `njit`."""

    def decorated(function: _Function) -> Any:
        made = njit(**options)(function)
        with contextlib.suppress(RuntimeError):  # there is no place that can be written
            made._cache = _Kept(function)  # as its own `enable_caching` does
        return made

    return decorated


@intrinsic
def lent(typing_context: Any, array: Any) -> Any:
    """`array` for compiled code that takes no share in its ownership: shares are counted in every call, and threads that
    count those of one array wait for each other. Whoever lends it must hold it until that code has returned."""

    def generated(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        made = context.make_array(signature.args[0])(context, builder, arguments[0])
        made.meminfo = cgutils.get_null_value(made.meminfo.type)
        made.parent = cgutils.get_null_value(made.parent.type)
        return made._getvalue()

    return array(array), generated


@intrinsic
def first_bit(typing_context: Any, word: Any) -> Any:
    """The number of the lowest bit that is set in a 64-bit word that is not 0."""

    def generated(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        return builder.cttz(arguments[0], cgutils.false_bit)

    return types.int64(types.uint64), generated

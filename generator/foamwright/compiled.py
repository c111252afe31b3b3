"""Functions compiled by numba and kept for the next run, wherever there is a place to keep them.

Compiled code lies beside its source or, where that cannot be written, in the folder that the platform keeps for caches.
What is kept there helps and is never needed: where there is no such folder, where the disk is full, or where a file is
torn, the function is compiled again.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from typing import Any, TypeVar

from numba import njit
from numba.core.caching import FunctionCache

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

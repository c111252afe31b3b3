"""Libraries loaded so that nothing but their own code decides what they do."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

# reportlab runs the first of each that it finds, here or in the home folder
_CODE = ("reportlab_mods", "reportlab_settings")


@contextlib.contextmanager
def without_settings(**environment: str) -> Iterator[None]:
    """Libraries that are loaded in it find no settings of theirs where the command is called: there may be a
    `.numba_config.yaml`, an `ezdxf.ini` or a `reportlab_mods.py`, which is code, of a stranger's, and the bytes of a pack would
    follow from them. `environment` has variables as they stand meanwhile."""
    for name in _CODE:
        sys.modules.setdefault(name, ModuleType(name))
    before = {name: os.environ.get(name) for name in environment}
    os.environ |= environment
    try:
        with contextlib.chdir(Path(__file__).parent):
            yield
    finally:
        for name, value in before.items():
            os.environ.pop(name)
            if value is not None:
                os.environ[name] = value

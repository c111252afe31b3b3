"""Libraries loaded so that nothing but their own code decides what they do."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path


@contextlib.contextmanager
def without_settings() -> Iterator[None]:
    """Libraries that are loaded in it look for settings of theirs where there are none.

    Where the command is called there may be a `.numba_config.yaml` or an `ezdxf.ini` of a stranger's, in the home folder a
    `.reportlab_mods`, which is code: the bytes of a pack would follow from them.
    """
    bare = str(Path(__file__).parent)
    home = os.environ.get("HOME")
    with contextlib.chdir(bare):
        os.environ["HOME"] = bare
        try:
            yield
        finally:
            if home is None:
                del os.environ["HOME"]
            else:
                os.environ["HOME"] = home

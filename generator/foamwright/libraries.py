"""Versions of the libraries that shape the bytes of a pack, read here once and passed on as data; and how they are loaded
so that nothing else does."""

from __future__ import annotations

import contextlib
import os
import zlib
from collections.abc import Iterator, Mapping
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

SHAPING = (
    "cadquery",
    "cadquery-ocp",
    "cairosvg",
    "ezdxf",
    "fonttools",
    "libigl",
    "manifold3d",
    "numba",
    "numpy",
    "reportlab",
    "scipy",
    "segno",
    "shapely",
    "svgpathtools",
    "trimesh",
)


def installed() -> Mapping[str, str]:
    """Version of each library by its name, as it is installed; `zlib` is the one that compresses the files."""
    versions = {"zlib": zlib.ZLIB_RUNTIME_VERSION}
    for name in SHAPING:
        try:
            versions[name] = version(name)
        except PackageNotFoundError:
            versions[name] = "not installed"
    return dict(sorted(versions.items()))


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

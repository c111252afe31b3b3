"""Versions of the libraries that shape the bytes of a pack; read here once, and passed on as data."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, version

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

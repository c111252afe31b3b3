"""What a tag of a repository of designs stands for, and whether the designs agree with it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from foamwright.changes.find import order_of
from foamwright.errors import BuildError, nearest

if TYPE_CHECKING:
    from foamwright.design.records import Design

_TAG = re.compile(r"(?:(?P<design>.+)-)?v(?P<version>\d+\.\d+\.\d+(?:[-+][0-9A-Za-z.+-]+)?)")


def tagged(tag: str, designs: Mapping[str, Design]) -> list[str]:
    """The files, of `designs` by their files, that the tag stands for.

    `vX.Y.Z` stands for all: one of them at least has that version, and none a higher one. `DESIGN-vX.Y.Z` stands for
    that design alone, at that version. BuildError, one line: no such tag, or they do not agree with it.
    """
    parsed = _TAG.fullmatch(tag)
    if parsed is None:
        raise BuildError(f"tag {tag!r}: expected v and a version, as v1.2.0, or a design before it, as lamp-v1.2.0")
    name, version = parsed["design"], parsed["version"]
    files = [file for file, design in designs.items() if name in (None, design.id)]
    if not files:
        near = nearest(name, (design.id for design in designs.values()))
        raise BuildError(f"tag {tag!r}: there is no design {name!r}{f'; did you mean {near}?' if near else ''}")
    for file in files:
        _agrees(tag, version, file, designs[file], alone=name is not None)
    if version not in {designs[file].version for file in files}:
        raise BuildError(f"tag {tag!r}: no design has version {version}; raise it in those that changed")
    return files


def _agrees(tag: str, version: str, file: str, design: Design, alone: bool) -> None:
    if alone and design.version != version:
        raise BuildError(f"{file}: has version {design.version} and the tag is {tag!r}; expected the same in both")
    if order_of(design.version) > order_of(version):
        raise BuildError(f"{file}: has version {design.version}, which is higher than the tag {tag!r}")
    if design.history and design.history[0]["version"] != design.version:
        told = design.history[0]["version"]
        raise BuildError(f"{file}: has version {design.version} and its history begins with {told}; tell what changed")

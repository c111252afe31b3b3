"""An example of each kind of part and form, as `examples.yaml` has them."""

from __future__ import annotations

from importlib.resources import files

from foamwright.design.source import parse

NAME = "examples.yaml"


def examples() -> dict[str, str]:
    """The lines of each part and form, those of a kind together, by the kind, their indent taken away."""
    content = files("foamwright.design").joinpath(NAME).read_bytes()
    source = parse(NAME, NAME, content)
    lines = content.decode().splitlines()
    found: dict[str, list[str]] = {}
    for section in ("forms", "parts"):
        for one, fields in source.data[section].items():
            found.setdefault(fields["kind"], []).append(_block(lines, source.where_key((section, one)).line - 1))
    return {kind: "\n".join(blocks) for kind, blocks in found.items()}


def _block(lines: list[str], first: int) -> str:
    """The line `first` (from 0) and those that are further in below it."""
    indent = len(lines[first]) - len(lines[first].lstrip())
    last = first + 1
    while last < len(lines) and lines[last].startswith(" " * (indent + 1)):
        last += 1
    return "\n".join(line[indent:] for line in lines[first:last])

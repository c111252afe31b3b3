"""A size for a design file, written as its maker would."""

from __future__ import annotations

import re
from collections.abc import Mapping

import yaml

from foamwright.errors import DesignError

_NAME = re.compile(r"[a-z][a-z0-9_-]{0,39}")


def entry(name: str, note: str, values: Mapping[str, float], units: Mapping[str, str]) -> str:
    """One line of YAML. Raises DesignError for a name that a size cannot have."""
    if not _NAME.fullmatch(name):
        raise DesignError(f"--name {name}: expected a small letter first, then small letters, digits, - and _")
    told = ", ".join(f"{key}: {_quantity(value, units[key])}" for key, value in values.items())
    return f'{name}: {{note: "{_quoted(note)}", set: {{{told}}}}}'


def with_size(text: str, name: str, line: str, file: str) -> str:
    """The text of a design file with one more size, all else as it was.

    Raises DesignError where the name is taken, or the sizes do not stand in lines of their own.
    """
    sizes = next(
        (value for key, value in yaml.compose(text, Loader=yaml.SafeLoader).value if key.value == "sizes"), None
    )
    if sizes is None or sizes.flow_style:
        raise DesignError(f"{file}: its sizes do not stand in lines of their own; add this one by hand: {line}")
    if name in [key.value for key, _ in sizes.value]:
        raise DesignError(f"{file}: it has a size {name} already; expected another --name")
    column = sizes.value[0][0].start_mark.column
    end = text.find("\n", _end(text, sizes))
    line_end = "\r\n" if "\r\n" in text else "\n"
    before, after = (text + line_end, "") if end < 0 else (text[: end + 1], text[end + 1 :])
    return f"{before}{' ' * column}{line}{line_end}{after}"


def _end(text: str, node: yaml.Node) -> int:
    """Where the last thing that a node says ends.

    The parser ends a mapping or a text in lines of its own where the next thing begins, so that is left to what is last in it.
    """
    while isinstance(node, yaml.CollectionNode) and not node.flow_style:
        last = node.value[-1]
        node = last[1] if isinstance(last, tuple) else last
    return len(text[: node.end_mark.index].rstrip())


def _quantity(value: float, unit: str) -> str:
    """With its unit where that is a length; an angle's unit is the field's."""
    number = f"{value:.6g}"
    return f"{number} mm" if unit == "mm" else number


def _quoted(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"')

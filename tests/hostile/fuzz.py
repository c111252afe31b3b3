"""Fuzzing with coverage of what reads a design: `python -m tests.hostile.fuzz expressions|yaml|svg [atheris options]`.

By hand; install atheris first. Ends with the input that let anything but the program's own errors out.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import atheris  # type: ignore[import-not-found,unused-ignore]

with atheris.instrument_imports(include=["foamwright"]):
    from foamwright.design import expressions, source
    from foamwright.design.letters import shown, unfit

from foamwright.errors import DesignError, FoamwrightError

NAMES = {"scale": 1.0, "length": 40.0, "a": 2.0}


def of_expressions(data: bytes) -> None:
    text = data.decode("utf-8", "ignore")
    try:
        one = expressions.parse(text)
        expressions.measures(one, {"length": "length"})
        expressions.evaluate(one, NAMES)
    except expressions.ExpressionError:
        return


def of_yaml(data: bytes) -> None:
    try:
        source.parse("a.yaml", "a.yaml", data)
    except DesignError as error:
        line = shown(str(error))
        if "\n" in line or unfit(line):
            raise ValueError(line) from error


def of_svg(data: bytes) -> None:
    from foamwright.parts.svg_file import svg_shape

    PATH.write_bytes(data)
    try:
        svg_shape(PATH)
    except FoamwrightError:
        return


PATH = Path(tempfile.gettempdir()) / "foamwright-fuzz.svg"
WHAT = {"expressions": of_expressions, "yaml": of_yaml, "svg": of_svg}

if __name__ == "__main__":
    which = sys.argv.pop(1)
    if which == "svg":
        with atheris.instrument_imports(include=["foamwright"]):
            import foamwright.parts.svg_file  # noqa: F401
    atheris.Setup(sys.argv, WHAT[which])
    atheris.Fuzz()

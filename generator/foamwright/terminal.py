"""What is said on a terminal, and what is read of a call there."""

from __future__ import annotations

import argparse
import json
import math
import sys
import time
from collections.abc import Callable, Sequence

from foamwright.design.letters import shown

Command = Callable[[str, str, str], argparse.ArgumentParser]  # makes a command from name, summary and example

FAULT = 70  # exit code of a fault of the program itself, EX_SOFTWARE of sysexits.h
LONG = 60.0  # seconds: what takes longer says so before it begins
_COLUMNS = 160  # of a line of progress


def complain(words: str) -> None:
    """One line on what went wrong. A design's words are shown and never obeyed by the terminal."""
    print(f"foamwright: {shown(words)}", file=sys.stderr)


def tell(line: str) -> None:
    print(shown(line))


def tell_json(content: object) -> None:
    print(json.dumps(content, indent=2).replace("##[", "#\\u0023["))


def fault(words: str) -> str:
    told = f"this is a fault of the program and not of the design: {words}"
    return f"{told}; please report it with the design (--trace shows where)"


class ProgressLine:
    """What is being built, and how long it will take yet, on one line of a terminal; silent where nobody watches, but
    for a word at the start of what takes long."""

    def __init__(self, names: Sequence[str], quiet: bool) -> None:
        self.names = names
        self.quiet = quiet
        self.shown = not quiet and sys.stderr.isatty()
        self.began = time.monotonic()
        self.running: dict[int, str] = {}
        self.ended = 0

    def __enter__(self) -> ProgressLine:
        return self

    def warn(self, expected: float) -> None:
        """Say so if that many seconds are a long time."""
        if expected > LONG and not self.quiet:
            what = f"{len(self.names)} packs" if len(self.names) > 1 else self.names[0]
            minutes = math.ceil(expected / 60.0)
            print(f"{what}: about {minutes} min if all of it is new", file=sys.stderr, flush=True)

    def __call__(self, stage: str) -> None:
        """The only one has come to a stage."""
        self.at(0, stage)

    def at(self, number: int, stage: str) -> None:
        """One of them has come to a stage; "" when it has ended."""
        if stage:
            self.running[number] = stage
        else:
            self.running.pop(number, None)
            self.ended += 1
        if self.shown:
            spent = time.monotonic() - self.began
            count = f"{self.ended} of {len(self.names)}, " if len(self.names) > 1 else ""
            rest = len(self.names) - self.ended
            left = f", {math.ceil(spent / self.ended * rest)} s left" if self.ended and rest else ""
            told = "; ".join(f"{self.names[k]}: {title}" for k, title in sorted(self.running.items()))
            line = f"{count}{spent:.0f} s{left}: {told}"[:_COLUMNS]
            print(f"\r\x1b[K{line}", end="", file=sys.stderr, flush=True)

    def clear(self) -> None:
        """Make room for a line of output."""
        if self.shown:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)

    def __exit__(self, *_: object) -> None:
        self.clear()

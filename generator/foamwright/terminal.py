"""What is said on a terminal, and what is read of a call there."""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import math
import os
import re
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from typing import NoReturn

from foamwright.design.letters import shown
from foamwright.errors import BuildError, nearest

Command = Callable[[str, str, str], argparse.ArgumentParser]  # makes a command from name, summary and example

FAULT = 70  # exit code of a fault of the program itself, EX_SOFTWARE of sysexits.h
LONG = 60.0  # seconds: what takes longer says so before it begins
_CHOICE = re.compile(r"argument (.+?): invalid choice: '(.*)' \(choose from (.+)\)", re.DOTALL)
_NO_NUMBER = re.compile(r"argument (.+?): invalid int value: '(.*)'")
_COLUMNS = 160  # of a line of progress


def open_terminal() -> None:
    """A letter that a stream cannot carry is escaped, and a stream that is closed swallows what is said.

    A descriptor that is closed is opened on nothing: else the next file to be opened, one of a pack, would get its number
    and all that a library prints.
    """
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w"))  # noqa: SIM115 (it stays open)
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def silence() -> None:
    """Nothing more is written to standard output; what is still in its buffer must not fail once more at the end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


@contextlib.contextmanager
def _written() -> Iterator[None]:
    """BuildError: standard output cannot be written. BrokenPipeError: nobody reads it."""
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        silence()
        raise BuildError(f"standard output cannot be written: {error.strerror or error}") from error


def complain(words: str) -> None:
    """One line on what went wrong. A design's words are shown and never obeyed by the terminal."""
    _beside(f"foamwright: {shown(words)}\n")


def _beside(text: str) -> None:
    """To standard error; where that cannot be written there is no place to say so."""
    with contextlib.suppress(OSError):
        print(text, end="", file=sys.stderr, flush=True)


def tell(line: str) -> None:
    tell_text(f"{shown(line)}\n")


def tell_text(text: str) -> None:
    """Text of several lines, in which nothing is left that a terminal would obey."""
    with _written():
        sys.stdout.write(text)


def tell_json(content: object) -> None:
    tell_text(json.dumps(content, indent=2).replace("##[", "#\\u0023[") + "\n")


def tell_all() -> None:
    """Write what is still in the buffer."""
    with _written():
        sys.stdout.flush()


def fault(words: str) -> str:
    told = f"this is a fault of the program and not of the design: {words}"
    return f"{told}; please report it with the design (--trace shows where)"


class Arguments(argparse.ArgumentParser):
    """A reader of arguments that tells a mistake in one line, with the nearest right word, and ends with code 2."""

    def parse_known_args(self, args=None, namespace=None):  # as it is there
        found, unknown = super().parse_known_args(args, namespace)
        if unknown:  # told by the command that was asked, which knows its own options
            options = [name for action in self._actions for name in action.option_strings]
            if not unknown[0].startswith("-"):
                again = "; each value has its own --set" if "=" in unknown[0] and "--set" in options else ""
                self.error(f"{unknown[0]}: more than is expected{again}")
            near = nearest(unknown[0].partition("=")[0], options)
            self.error(f"{unknown[0]}: there is no such option" + (f"; did you mean {near}?" if near else ""))
        return found, unknown

    def error(self, message: str) -> NoReturn:
        choice = _CHOICE.fullmatch(message)
        if choice:
            option, given, listed = choice.groups()
            words = re.findall(r"'([^']*)'", listed)
            near = nearest(given, words)
            message = f"{option} {given}: expected one of {', '.join(words)}" + (
                f"; did you mean {near}?" if near else ""
            )
        message = _NO_NUMBER.sub(r"\1 \2: expected a whole number", message)
        message = message.replace("the following arguments are required:", "expected")
        complain(f"{message.removeprefix('argument ')}; see {self.prog} --help")
        sys.exit(2)


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
            minutes = round(expected / 60.0)
            _beside(f"{what}: about {minutes} min if all of it is new\n")

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
            _beside(f"\r\x1b[K{line}")

    def clear(self) -> None:
        """Make room for a line of output."""
        if self.shown:
            _beside("\r\x1b[K")

    def __exit__(self, *_: object) -> None:
        self.clear()

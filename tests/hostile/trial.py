"""One hostile or mistaken input, and what came of giving it to the command."""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

Place = bytes | Callable[[Path], None]  # what a file holds, or what makes it where bytes will not do

CHECK_SECONDS, CHECK_BYTES = 2.0, 300_000_000
BUILD_SECONDS, BUILD_BYTES = 12.0, 2_000_000_000
_CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")
_COMMAND = re.compile(r"^(::|##\[)", re.MULTILINE)  # what a CI service reads as an order if a line begins with it
_LOCATED = re.compile(r":\d+:\d+: ")


@dataclass(frozen=True)
class Trial:
    """`files` by path; `build` and `check` are what follows the command's name.

    `only`: the outputs built, "" for none. `expects`: "refused", "built" or "either".
    """

    name: str
    files: Mapping[str, Place]
    design: str = "tag.yaml"
    options: tuple[str, ...] = ()
    only: str = "cut_list"
    expects: str = "either"
    call: tuple[str, ...] | None = None  # a command of its own instead of check and build


@dataclass(frozen=True)
class Run:
    """What one process did. `code` is its exit code, or less than 0 for the signal that ended it."""

    code: int
    seconds: float  # of processor time
    peak: int  # bytes
    hung: bool
    out: str
    err: str


@dataclass
class Outcome:
    trial: Trial
    runs: dict[str, Run] = field(default_factory=dict)
    bad: list[str] = field(default_factory=list)

    @property
    def last(self) -> Run:
        return next(reversed(self.runs.values()))

    @property
    def located(self) -> bool:
        """Does the message name line and column?"""
        return bool(_LOCATED.search(self.last.err))

    @property
    def expecting(self) -> bool:
        """Does the message say what was expected, or which word comes near?"""
        return any(words in self.last.err for words in ("expected", "did you mean"))


def write(trial: Trial, folder: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for name, content in trial.files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if callable(content):
            content(path)
        else:
            path.write_bytes(content)


def commands(trial: Trial) -> list[tuple[str, list[str]]]:
    """The worker and the arguments of each command of a trial, in order."""
    if trial.call is not None:
        return [("build" if trial.call[:1] == ("build",) else "check", list(trial.call))]
    found = [("check", ["check", trial.design])]
    if trial.only:
        found.append(("build", ["build", trial.design, "--only", trial.only, *trial.options]))
    return found


def judge(outcome: Outcome) -> None:
    """Notes in `outcome.bad` whatever should not have happened."""
    for which, run in outcome.runs.items():
        seconds, peak = (CHECK_SECONDS, CHECK_BYTES) if which == "check" else (BUILD_SECONDS, BUILD_BYTES)
        if run.hung or run.seconds > seconds:
            outcome.bad.append(f"{which}: hang ({run.seconds:.1f} s)")
        elif "Traceback (most recent call last)" in run.err:
            outcome.bad.append(f"{which}: traceback")
        elif run.code < 0:
            outcome.bad.append(f"{which}: ended by signal {-run.code}")
        elif run.code == 70:
            outcome.bad.append(f"{which}: fault")
        elif run.code not in (0, 1, 2):
            outcome.bad.append(f"{which}: exit code {run.code}")
        elif run.code and len(run.err.strip().splitlines()) != 1:
            outcome.bad.append(f"{which}: {len(run.err.strip().splitlines())} lines of error")
        if run.peak > peak:
            outcome.bad.append(f"{which}: memory ({run.peak / 1e6:.0f} MB)")
        text = run.out + run.err
        if _CONTROL.search(text) or _COMMAND.search(text):
            outcome.bad.append(f"{which}: control characters or orders reach the terminal")
    if len(outcome.runs) < len(commands(outcome.trial)) and not (outcome.runs and outcome.last.code):
        return  # not all of it was tried
    code = outcome.last.code
    if outcome.trial.expects == "refused" and code == 0:
        outcome.bad.append("was not refused")
    if outcome.trial.expects == "built" and code in (1, 2):
        outcome.bad.append("was refused")


# designs to begin from


def tag(outline: Any = None, **part: Any) -> dict[str, Any]:
    """The least design: one flat part."""
    return {
        "format": 1,
        "name": "Tag",
        "version": "1.0.0",
        "licence": "CC0-1.0",
        "parameters": {"scale": {"value": 1}, "clearance": {"value": "1 mm"}, "length": {"value": "40 mm * scale"}},
        "sizes": {"small": {}},
        "stock": {"foam": {"name": "EVA foam", "thickness": "6 mm", "sheet": ["600 mm", "400 mm"]}},
        "forms": {},
        "parts": {
            "tag": {
                "kind": "plate",
                "stock": "foam",
                "outline": outline or {"circle": {"radius": "length"}},
                "at": {"normal": "z"},
                "padding": "0 mm * scale",  # so that scale reaches some part
                **part,
            }
        },
    }


def bowl(form: Mapping[str, Any] | None = None, **part: Any) -> dict[str, Any]:
    """One curved panel on a form."""
    design = tag()
    design["forms"] = {
        "shell": {
            "kind": "revolution",
            "axis": "z",
            "profile": [["-100 mm * scale", 60], [0, 60], [100, 60]],
            "cuts": {"low": {"plane": {"normal": "z", "at": "-20 mm"}}, "high": {"plane": {"normal": "z", "at": "20 mm"}},
                     "half": {"plane": {"normal": "y"}}},
            **(form or {}),
        }
    }  # fmt: skip
    design["parts"] = {
        "side": {
            "kind": "panel",
            "stock": "foam",
            "form": "shell",
            "where": {"low": "beyond", "high": "before", "half": "beyond"},
            "padding": "0 mm * scale",
            **part,
        }
    }
    return design


def changed(design: Mapping[str, Any], route: str, value: Any) -> dict[str, Any]:
    """The design with the value at a route such as `parts.tag.at` replaced."""
    copy: dict[str, Any] = json.loads(json.dumps(design))
    *steps, last = [int(step) if step.isdigit() else step for step in route.split(".")]
    holder: Any = copy
    for step in steps:
        holder = holder[step] if isinstance(holder, list) else holder.setdefault(step, {})
    holder[last] = value
    return copy


def text(design: Any) -> bytes:
    """A design as the bytes of its file: JSON is YAML."""
    return json.dumps(design, indent=1).encode()


# files that are none


def fifo(path: Path) -> None:
    os.mkfifo(path)


def link(target: str) -> Callable[[Path], None]:
    return lambda path: path.symlink_to(target)


def sparse(size: int) -> Callable[[Path], None]:
    def make(path: Path) -> None:
        with path.open("wb") as file:
            file.truncate(size)

    return make


def folder(path: Path) -> None:
    path.mkdir()

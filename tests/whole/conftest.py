"""Packs built once for all tests of whole packs, through the command as a maker uses it."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from foamwright.cli import main

ROOT = Path(__file__).parents[2]
FLAGSHIP = ROOT / "designs" / "pocket-submarine.yaml"


@dataclass(frozen=True)
class Pack:
    folder: Path

    @property
    def record(self) -> dict:
        return json.loads((self.folder / "pack.json").read_text("utf-8"))

    @property
    def files(self) -> dict[str, bytes]:
        """Every file by its path in the pack."""
        return {
            path.relative_to(self.folder).as_posix(): path.read_bytes()
            for path in sorted(self.folder.rglob("*"))
            if path.is_file()
        }


@pytest.fixture(scope="session")
def large_build(tmp_path_factory):
    """The larger size, being built beside everything else: (process, its folder)."""
    out = tmp_path_factory.mktemp("cat")
    command = [sys.executable, "-m", "foamwright", "build", str(FLAGSHIP), "--size", "cat", "--out", str(out)]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    yield process, out
    process.kill()
    process.communicate()


@pytest.fixture(scope="session")
def plush(tmp_path_factory, large_build, stages_of) -> Pack:
    folder = tmp_path_factory.mktemp("plush") / "pack"
    stages_of(FLAGSHIP.stem).pack().write(folder)
    return Pack(folder)


@pytest.fixture(scope="session")
def cat(large_build) -> Pack:
    process, out = large_build
    _, errors = process.communicate()
    assert process.returncode == 0, errors
    assert [line for line in errors.splitlines() if "about" not in line] == []  # how long it may take is said first
    return Pack(out / FLAGSHIP.stem / "cat")


@pytest.fixture(scope="session")
def starter(tmp_path_factory) -> Pack:
    """What a maker gets from `new` and then `build`, on letter paper."""
    folder = tmp_path_factory.mktemp("starter")
    assert main(["new", str(folder / "lamp.yaml")]) == 0
    assert main(["build", str(folder / "lamp.yaml"), "--paper", "letter", "--out", str(folder)]) == 0
    return Pack(folder / "lamp" / "table")

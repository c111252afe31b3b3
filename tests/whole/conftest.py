"""Packs built once for all tests of whole packs, through the command as a maker uses it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import pytest

from generator.cli import main

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
def plush(tmp_path_factory) -> Pack:
    return _flagship(tmp_path_factory, "plush")


@pytest.fixture(scope="session")
def cat(tmp_path_factory) -> Pack:
    return _flagship(tmp_path_factory, "cat")


@pytest.fixture(scope="session")
def starter(tmp_path_factory) -> Pack:
    """What a maker gets from `new` and then `build`, on letter paper."""
    folder = tmp_path_factory.mktemp("starter")
    assert main(["new", str(folder / "lamp.yaml")]) == 0
    assert main(["build", str(folder / "lamp.yaml"), "--paper", "letter", "--out", str(folder)]) == 0
    return Pack(folder / "lamp" / "table")


def _flagship(tmp_path_factory, size: str) -> Pack:
    out = tmp_path_factory.mktemp(size)
    assert main(["build", str(FLAGSHIP), "--size", size, "--out", str(out)]) == 0
    return Pack(out / "pocket-submarine" / size)

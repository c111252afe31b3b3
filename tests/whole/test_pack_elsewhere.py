"""A pack that a worker of a scheduler has made is the pack that is made here."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("distributed")

from foamwright.cli import main
from tests.store.test_what_runs import DESIGN
from tests.test_elsewhere import cluster  # noqa: F401


def files(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_the_same_bytes(cluster, tmp_path, capsys):  # noqa: F811
    (tmp_path / "can.yaml").write_text(DESIGN, "utf-8")
    common = ["build", str(tmp_path / "can.yaml"), "--only", "templates,sheets,cut_list", "--no-cache", "--no-proof"]
    assert main([*common, "--out", str(tmp_path / "far"), "--scheduler", cluster]) == 0
    assert main([*common, "--out", str(tmp_path / "here")]) == 0
    assert files(tmp_path / "far") == files(tmp_path / "here")
    assert len(files(tmp_path / "far")) > 3

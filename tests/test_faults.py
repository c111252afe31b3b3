"""What the machine may refuse: each call ends in one true line and an exit code that is not that of a fault of the program.

Exit codes and closed descriptors as POSIX shells count and number them; `/dev/full` refuses every write (Linux, full(4)).
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from foamwright.design import starter
from foamwright.errors import BuildError
from foamwright.pack.write import write_pack

ROOT = Path(__file__).parents[1]


@pytest.fixture
def design(tmp_path):
    path = tmp_path / "Büro 2" / "Lämpchen 提灯.yaml"
    path.parent.mkdir()
    path.write_text(starter("Lämpchen 提灯"), "utf-8")
    return path


def shell(line, cwd, **environment):
    """Runs a line of sh in which $F is the command."""
    command = f"'{sys.executable}' -m foamwright"
    return subprocess.run(
        ["sh", "-c", line.replace("$F", command)],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT / "generator"), **environment},
        capture_output=True,
        timeout=120,
    )


@pytest.mark.parametrize(
    "line, code, said",
    [
        ("$F check *.yaml > /dev/full", 1, "standard output cannot be written: No space left on device"),
        ("$F matrix *.yaml > /dev/full", 1, "standard output cannot be written: No space left on device"),
        ("$F check none.yaml 2> /dev/full", 2, ""),
        ("$F check *.yaml >&-", 0, ""),
        ("$F check none.yaml 2>&-", 2, ""),
        ("$F check *.yaml <&-", 0, ""),
        ("$F check none.yaml <&- >&- 2>&-", 2, ""),
        ("$F new /dev/full/lamp.yaml", 1, "/dev/full: cannot be written: "),
        ("mkdir gone; cd gone; rmdir ../gone; $F check ../none.yaml", 2, "cannot be read"),
    ],
)
def test_streams_that_are_full_or_closed(design, line, code, said):
    done = shell(line, design.parent)
    told = done.stderr.decode()
    assert done.returncode == code, told
    assert told.startswith("foamwright: ") == bool(said) and said in told and len(told.splitlines()) == bool(said)
    assert code == 0 or not done.stdout


def test_a_stream_without_the_letters_escapes_them(design):
    done = shell(
        "$F check *.yaml; $F check L*n*.yaml.none", design.parent, PYTHONIOENCODING="ascii", TZ="Antarctica/Troll"
    )
    assert done.returncode == 2
    assert b"L\\xe4mpchen \\u63d0\\u706f 0.1.0 is well formed" in done.stdout
    assert done.stderr.startswith(b"foamwright: L*n*.yaml.none: cannot be read")


def test_without_home_and_with_another_locale(design):
    line = "env -i PATH=/usr/bin:/bin LC_ALL=C PYTHONPATH=$PYTHONPATH $F check *.yaml"
    done = shell(line, design.parent)
    assert done.returncode == 0 and "提灯" in done.stdout.decode(), done.stderr


def test_a_new_design_that_finds_no_room_leaves_nothing(tmp_path):
    done = shell("ulimit -f 0; $F new lamp.yaml", tmp_path)
    assert done.returncode == 1
    assert done.stderr == b"foamwright: lamp.yaml: cannot be written: File too large\n"
    assert list(tmp_path.iterdir()) == []


def test_a_pack_for_a_folder_that_is_gone(tmp_path, monkeypatch):
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    with pytest.raises(BuildError, match="cannot write the pack to build/lamp: No such file or directory"):
        write_pack("build/lamp", {"pack.json": b"{}"})

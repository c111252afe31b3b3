"""What the machine may refuse: each call ends in one true line and an exit code that is not that of a fault of the program.

Exit codes and closed descriptors as POSIX shells count and number them; `/dev/full` refuses every write (Linux, full(4)).
"""

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from foamwright.cli import main
from foamwright.design import starter
from foamwright.errors import BuildError
from foamwright.pack.write import write_files, write_pack

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
        timeout=300,
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
        (
            "cp *.yaml a.yaml; mkdir gone; cd gone; rmdir ../gone; $F check ../a.yaml",
            1,
            "the folder in which it was called",
        ),
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


@pytest.mark.parametrize(
    "call", ["new {}/a.yaml", "watch {}.yaml", "compare {} a.yaml", "fit a.yaml --figure {}.stl", "check {}.yaml"]
)
def test_a_name_that_no_file_can_have_is_a_mistake_of_the_call(call, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("a.yaml").write_text(starter("A"))
    assert main(call.format("x" * 300).split()) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1 and ("too long" in told or "names the pack" in told) and "expected" in told


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


def runs(process):
    """One that has ended and that nobody has waited for runs no more."""
    try:
        os.kill(process, 0)
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except (ProcessLookupError, FileNotFoundError):
        return False


ENDLESS = """
import os, pathlib, sys, time
from foamwright.cli import main
from foamwright.commands import build
def endless(*_):
    pathlib.Path("pid").write_text(str(os.getpid()))
    time.sleep(600)
build._pack = endless
sys.exit(main(["build", sys.argv[1]]))
"""


@pytest.mark.parametrize(
    "sent, code, said",
    [
        (signal.SIGINT, 130, "foamwright: stopped; what was not told as finished is as it was before\n"),
        (signal.SIGTERM, -signal.SIGTERM, ""),
        (signal.SIGKILL, -signal.SIGKILL, ""),
    ],
)
def test_whatever_stops_a_build_stops_what_works_for_it(design, tmp_path, sent, code, said):
    run = subprocess.Popen(
        [sys.executable, "-c", ENDLESS, design],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(ROOT / "generator")},
        stderr=subprocess.PIPE,
        text=True,
        # a shell has background jobs pass interrupts over, and so may whoever runs these tests
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    told = tmp_path / "pid"
    while not (told.exists() and told.read_text()):
        assert run.poll() is None
        time.sleep(0.05)
    run.send_signal(sent)
    assert run.communicate(timeout=120)[1] == said
    assert run.returncode == code
    until = time.monotonic() + 120
    while runs(int(told.read_text())):
        assert time.monotonic() < until
        time.sleep(0.05)
    assert not (tmp_path / "build").exists()


def test_files_that_belong_together_are_all_old_where_one_finds_no_room(tmp_path, monkeypatch):
    write_files({"look.glb": b"1", "look.png": b"1"}, tmp_path)
    real, calls = tempfile.NamedTemporaryFile, []

    def full(*given, **named):
        calls.append(named["prefix"])
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        return real(*given, **named)

    monkeypatch.setattr(tempfile, "NamedTemporaryFile", full)
    with pytest.raises(BuildError, match=r"look\.png: cannot be written: No space left"):
        write_files({"look.glb": b"2", "look.png": b"2"}, tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"look.glb": b"1", "look.png": b"1"}


def test_a_pack_that_finds_no_room_leaves_no_folder(tmp_path, monkeypatch):
    def full(self, content):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    (tmp_path / "mine").mkdir()
    with pytest.raises(BuildError, match="No space left"):
        write_pack(tmp_path / "mine" / "build" / "lamp" / "one", {"pack.json": b"{}"})
    assert [p.name for p in tmp_path.rglob("*")] == ["mine"]

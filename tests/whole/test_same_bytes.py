"""Same input, same bytes: a second build elsewhere, at another time, gives every file again."""

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DAYS = 40
# C11 and POSIX.1-2017 functions that tell the time of day, loaded before the C library's own
SHIM = """
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stddef.h>
#include <sys/time.h>
#include <time.h>

static const long AHEAD = %d * 86400L;

int clock_gettime(clockid_t clock, struct timespec *at)
{
    int (*real)(clockid_t, struct timespec *) = dlsym(RTLD_NEXT, "clock_gettime");
    int result = real(clock, at);
    if (clock == CLOCK_REALTIME || clock == CLOCK_REALTIME_COARSE)
        at->tv_sec += AHEAD;
    return result;
}

int gettimeofday(struct timeval *restrict at, void *restrict zone)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    at->tv_sec = now.tv_sec;
    at->tv_usec = now.tv_nsec / 1000;
    return 0;
}

time_t time(time_t *at)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    if (at != NULL)
        *at = now.tv_sec;
    return now.tv_sec;
}
"""
BUILD = """
import datetime, pathlib, sys, time
clock, *arguments = sys.argv[1:]
times = (time.time(), time.time_ns() / 1e9, datetime.datetime.now().timestamp())
pathlib.Path(clock).write_text(" ".join(map(str, times)))
from foamwright.cli import main
sys.exit(main(arguments))
"""


@pytest.fixture(scope="module")
def later(tmp_path_factory):
    """The environment of a process whose clock is `DAYS` ahead and whose hashes fall otherwise."""
    compiler = shutil.which("cc")
    if compiler is None or not sys.platform.startswith("linux"):
        pytest.skip("needs a C compiler and LD_PRELOAD to set the clock forward")
    folder = tmp_path_factory.mktemp("clock")
    source, library = folder / "later.c", folder / "later.so"
    source.write_text(SHIM % DAYS)
    subprocess.run([compiler, "-shared", "-fPIC", "-o", library, source, "-ldl"], check=True)
    return os.environ | {
        "LD_PRELOAD": str(library),
        "PYTHONHASHSEED": "20",
        "PYTHONPATH": str(ROOT / "generator"),
        "TZ": "Pacific/Auckland",
        "LANG": "C",
    }


def build_again(design: Path, folder: Path, environment, *options) -> dict[str, bytes]:
    """Every file of the pack as another process builds it in `folder`; its clock is looked at."""
    clock = folder / "clock"
    before = time.time()
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            BUILD,
            str(clock),
            "build",
            str(design),
            *options,
            "--out",
            str(folder / "out"),
        ],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    for seen in clock.read_text().split():
        assert 0 <= float(seen) - DAYS * 86400 - before < 3600
    (pack,) = (folder / "out").glob("*/*")
    return {p.relative_to(pack).as_posix(): p.read_bytes() for p in pack.rglob("*") if p.is_file()}


def differing(one: dict[str, bytes], other: dict[str, bytes]) -> list[str]:
    return sorted(path for path in one.keys() | other.keys() if one.get(path) != other.get(path))


def test_starter(starter, later, tmp_path):
    elsewhere = tmp_path / "another place" / "lamp.yaml"
    elsewhere.parent.mkdir()
    shutil.copy(starter.folder.parents[1] / "lamp.yaml", elsewhere)
    again = build_again(elsewhere, tmp_path, later, "--paper", "letter")
    assert differing(starter.files, again) == []


def test_flagship(plush, later, tmp_path):
    shutil.copytree(ROOT / "designs", tmp_path / "moved" / "designs")
    design = tmp_path / "moved" / "designs" / "pocket-submarine.yaml"
    again = build_again(design, tmp_path, later, "--size", "plush")
    assert len(again) > 70
    assert differing(plush.files, again) == []


TINY = """\
format: 1
name: Sign
version: 1.0.0
licence: CC0-1.0
parameters:
  scale: {value: 1}
  clearance: {value: 0.5 mm}
sizes: {one: {}}
stock:
  board: {name: Foam 6 mm, thickness: 6 mm, sheet: [300 mm, 400 mm]}
forms: {}
parts:
  face:
    kind: plate
    name: Face
    stock: board
    outline: {rectangle: {width: 80 mm * scale, height: 50 mm * scale, corner: 6 mm}}
    at: {origin: [0, 0, 0], normal: z, up: x}
  star:
    kind: plate
    name: Star
    stock: board
    outline: {circle: {radius: 12 mm * scale}}
    at: {origin: [0, 0, 6 mm], normal: z, up: x}
    lies_on: [face]
"""
ANYWHERE = """
import os, sys
cores, mask, user = (int(word) for word in sys.argv[1:4])
os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:cores])
os.umask(mask)
if user:
    os.setgid(user)
    os.setuid(user)
import time
before = os.environ.get("BEFORE")
assert before is None or time.time() > float(before) + DAYS * 86400
from foamwright.cli import main
sys.exit(main(sys.argv[4:]))
""".replace("DAYS", str(DAYS - 1))


def built_anywhere(folder, cores, mask, user, environment, *options) -> dict[str, bytes]:
    """The pack of the tiny design in a folder, by another process of so many cores, with that umask and user."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "sign.yaml").write_text(TINY, "utf-8")
    if user:
        for path in (folder, folder / "sign.yaml"):
            os.chown(path, user, user)
    command = [sys.executable, "-c", ANYWHERE, str(cores), str(mask), str(user)]
    command += ["build", "sign.yaml", "--out", str(folder / "out"), "--paper", "A5", *options]
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    pack = folder / "out/sign/one"
    return {p.relative_to(pack).as_posix(): p.read_bytes() for p in pack.rglob("*") if p.is_file()}


def test_anywhere_by_anybody(later, tmp_path):
    """Path, user, locale, zone, date, cores, hash seed, umask, with the store cold, warm and left out."""
    here = os.environ | {"PYTHONPATH": str(ROOT / "generator"), "PYTHONHASHSEED": "1", "TZ": "UTC", "LC_ALL": "C.UTF-8"}
    first = built_anywhere(tmp_path / "a", 1, 0o022, 0, here, "--no-cache")
    assert {"pack.json", "templates.pdf", "booklet.html", "model/prop.step", "sign-one.zip"} <= first.keys()
    store = {"XDG_CACHE_HOME": str(tmp_path / "store"), "HOME": str(tmp_path / "home"), "USER": "somebody"}
    there = later | store | {"LC_ALL": "tr_TR.UTF-8", "TZ": "Asia/Kathmandu", "BEFORE": str(time.time())}
    for place in ("b c", "\u00fc/d"):  # the second finds the store warm
        again = built_anywhere(tmp_path / place, os.cpu_count(), 0o077, 0, there)
        assert differing(first, again) == [], place
    assert any((tmp_path / "store").rglob("*"))


def test_another_user(tmp_path_factory):
    """Who builds does not show; tried where tests run as one who may become another, and that one may read the code."""
    nobody, folder = 65534, tmp_path_factory.getbasetemp() / "nobody"
    if os.geteuid() != 0:
        pytest.skip("only root may become another user")
    probe = f"import os; os.setgid({nobody}); os.setuid({nobody}); import numpy, foamwright.cli; os.listdir({str(folder.parent)!r})"
    seen = os.environ | {"PYTHONPATH": str(ROOT / "generator")}
    if subprocess.run([sys.executable, "-c", probe], env=seen, capture_output=True).returncode:
        pytest.skip("another user may not read the program or the folder")
    mine = built_anywhere(folder / "root", 2, 0o022, 0, seen, "--no-cache", "--only", "cut_list,model,templates")
    other = built_anywhere(folder / "other", 2, 0o022, nobody, seen, "--no-cache", "--only", "cut_list,model,templates")
    assert differing(mine, other) == []

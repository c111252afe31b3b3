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

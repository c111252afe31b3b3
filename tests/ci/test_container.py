"""The container file against the files and the set-up that it must agree with; it is not built here."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
FILE = (ROOT / "Containerfile").read_text("utf-8")
COPIED = [name for line in re.findall(r"^COPY (.+) \S+$", FILE, re.MULTILINE) for name in line.split()]


def test_what_is_copied_is_there_and_not_left_out():
    let_in = {line[1:] for line in (ROOT / ".dockerignore").read_text("utf-8").splitlines() if line.startswith("!")}
    assert set(COPIED) == let_in and "generator" in let_in
    assert all((ROOT / name).exists() for name in COPIED)


def test_the_system_libraries_are_those_of_the_set_up():
    wanted = set(re.findall(r'missing="\$missing (lib\w+)"', (ROOT / ".ci/setup").read_text("utf-8")))
    assert wanted and wanted <= set(FILE.split())


def test_versions_are_those_of_the_lock_and_nobody_is_root():
    installs = re.findall(r"pip install (.+)", FILE)
    assert "--require-hashes --no-deps" in installs[0] and "requirements.txt" in installs[0]
    assert all("--no-deps" in install for install in installs)
    assert FILE.index("\nUSER 1000") < FILE.index("\nENTRYPOINT")

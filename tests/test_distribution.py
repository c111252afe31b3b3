"""Wheel and source distribution hold what they should; the lock file states everything that pyproject.toml asks for."""

import email
import re
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import foamwright

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
BUILD = """
import sys
from setuptools import build_meta
out = sys.argv[1]  # the build sets it anew
build_meta.build_wheel(out)
build_meta.build_sdist(out)
"""


@pytest.fixture(scope="module")
def built(tmp_path_factory) -> Path:
    """The folder with both; made in a copy, as the build leaves folders where it runs."""
    copy, out = tmp_path_factory.mktemp("source") / "foamwright", tmp_path_factory.mktemp("dist")
    left_out = shutil.ignore_patterns(".git", ".venv", "build", "*.egg-info", "__pycache__", ".*_cache", ".hypothesis")
    shutil.copytree(ROOT, copy, ignore=left_out)
    subprocess.run([sys.executable, "-c", BUILD, str(out)], cwd=copy, check=True, capture_output=True)
    return out


def files_below(*folders: str) -> set[str]:
    return {
        path.relative_to(ROOT).as_posix()
        for folder in folders
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and not path.name.endswith((".pyc", ".nbi", ".nbc"))
    }


def test_the_wheel_holds_the_package_with_its_data_and_nothing_else(built):
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        metadata = email.message_from_bytes(archive.read(f"foamwright-{foamwright.__version__}.dist-info/METADATA"))
    package = {name.removeprefix("generator/") for name in files_below("generator/foamwright")}
    assert {name for name in names if ".dist-info/" not in name} == package
    assert {"foamwright/py.typed", "foamwright/pack/schema.json"} <= package
    assert any(name.endswith("LICENSE") for name in names)
    assert metadata["License-Expression"] == "MIT"  # PEP 639


def test_the_source_distribution_holds_what_the_tests_need(built):
    (sdist,) = built.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    assert files_below("generator/foamwright", "designs", "tests", ".ci", ".github") <= names
    assert {"README.md", "DEVELOPERS.md", "LICENSE", "requirements.txt", "pyproject.toml"} <= names


def test_one_version_everywhere():
    assert PROJECT["version"] == foamwright.__version__


def test_the_lock_file_has_a_hash_for_everything_that_is_asked_for():
    text = (ROOT / "requirements.txt").read_text("utf-8")
    blocks = re.split(r"\n(?=\S)", "\n".join(line for line in text.splitlines() if not line.startswith("#")))
    locked = {}
    for block in filter(None, blocks):
        name, version = re.match(r"([A-Za-z0-9._-]+)==([^ ;\\]+)", block).groups()
        assert re.findall(r"--hash=sha256:[0-9a-f]{64}(?![0-9a-f])", block), name
        locked[canonicalize_name(name)] = version
    extras = PROJECT["optional-dependencies"]
    for line in (*PROJECT["dependencies"], *extras["test"], *extras["dev"]):
        wanted = Requirement(line)
        assert locked[canonicalize_name(wanted.name)] in wanted.specifier, f"{line}: run sh .ci/lock"


def test_the_lock_file_names_no_host():
    text = (ROOT / "requirements.txt").read_text("utf-8")
    assert not re.search(r"https?:|file:|--(extra-)?index-url|--find-links|--trusted-host", text)

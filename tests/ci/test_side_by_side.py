"""Tests that run side by side: those that share what is built share a process, or it would be built in each."""

import re
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import pytest

from tests.conftest import OF_FLAGSHIP, SHIPPED, SLOW, together

ROOT = Path(__file__).parents[2]
FILES = sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / "tests").rglob("test_*.py"))


def test_what_is_built_for_a_design_is_built_in_one_process():
    assert {"acorn-bed", "beetle-shoulder", "harbour-lantern", "pocket-submarine"} <= set(SHIPPED)
    for test, group in (
        ("tests/whole/test_command.py::test_a", "pocket-submarine"),
        ("tests/whole/test_every_design.py::test_a[pocket-submarine]", "pocket-submarine"),
        ("tests/whole/test_every_design.py::test_a[acorn-bed]", "acorn-bed"),
        ("tests/layout/test_real_pages.py::test_a[acorn-bed-a4]", "acorn-bed"),
        ("tests/flatten/test_panels_seams.py::test_a", "pocket-submarine"),
        ("tests/flatten/test_solver.py::test_a[x]", "tests/flatten/test_solver.py"),
    ):
        assert together(test) == group


def test_every_file_that_takes_the_flagship_is_listed():
    takes = {file for file in FILES if re.search(r"^def \w+\(.*\bflagship\b", (ROOT / file).read_text("utf-8"), re.M)}
    assert takes and all(file.startswith(OF_FLAGSHIP) for file in takes)


def test_every_entry_of_the_lists_is_there():
    for entry in (*(f"tests/{slow}" for slow in SLOW), *OF_FLAGSHIP):
        assert any(file.startswith(entry) for file in FILES), entry


def test_no_two_files_have_one_name():
    """Without packages of their own they are modules of one level, and pytest refuses the second of a name."""
    names = [Path(file).name for file in FILES]
    assert sorted(names) == sorted(set(names))


def test_no_file_or_folder_has_the_name_of_a_standard_module():
    """Folders of tests are on the path of what tests start: a module of that name would be taken for the standard one."""
    below = [path for path in (ROOT / "tests").rglob("*") if path.suffix == ".py" or path.is_dir()]
    assert not [path for path in below if path.stem in sys.stdlib_module_names]


def test_each_file_runs_in_one_process():
    pytest.importorskip("xdist")
    files = ["tests/ci/test_licences.py", "tests/geometry/test_fixed.py", "tests/design/test_on_hand.py"]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-n", "2", "-v", "-p", "no:cacheprovider", *files],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout
    workers = defaultdict(set)
    for worker, file in re.findall(r"^\[(gw\d)\].* PASSED (\S+?)::", done.stdout, re.MULTILINE):
        workers[file].add(worker)
    assert set(workers) == set(files) and all(len(own) == 1 for own in workers.values())
    assert len(set.union(*workers.values())) == 2

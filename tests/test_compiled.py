"""Compiled code that is kept: used the next time, and never needed."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCE = """
from foamwright.compiled import compiled

@compiled()
def doubled(x):
    return 2 * x

assert doubled(21) == 42
print(sum(doubled.stats.cache_hits.values()))
"""


@pytest.fixture
def run(tmp_path):
    script = tmp_path / "source" / "script.py"
    script.parent.mkdir()
    script.write_text(SOURCE)

    def run(cache="none", before=""):
        """How often compiled code was found."""
        done = subprocess.run(
            ["sh", "-c", f"{before} '{sys.executable}' '{script}'"],
            env=os.environ | {"PYTHONPATH": str(ROOT / "generator"), "XDG_CACHE_HOME": str(tmp_path / cache)},
            capture_output=True,
            text=True,
        )
        assert done.returncode == 0, done.stderr
        return int(done.stdout)

    run.kept = script.parent / "__pycache__"
    return run


def test_it_is_found_the_next_time(run):
    assert [run(), run()] == [0, 1]


@pytest.mark.parametrize("ending", ["*.nbc", "*.nbi"])
@pytest.mark.parametrize("content", [b"", b"\x80\x05torn"])
def test_a_torn_file_is_made_anew(run, ending, content):
    run()
    for path in run.kept.glob(ending):
        path.write_bytes(content)
    assert [run(), run()] == [0, 1]


def test_without_a_place_to_keep_it(run):
    run.kept.write_text("a file, so that no folder can be made")
    (run.kept.parents[1] / "none").write_text("this is none either")
    assert [run(), run()] == [0, 0]


def test_a_disk_that_is_full(run):
    assert run(before="ulimit -f 0;") == 0
    assert [run(), run()] == [0, 1]


def test_settings_of_libraries_where_the_command_is_called_are_not_read(tmp_path):
    """A design's folder may hold files that numba, ezdxf and reportlab take for their own settings, the last of them code."""
    (tmp_path / ".numba_config.yaml").write_text("[no settings]")
    (tmp_path / "ezdxf.ini").write_text("no settings")
    (tmp_path / ".reportlab_mods").write_text("raise SystemExit('run')")
    code = """
import os, sys
from foamwright.compiled import compiled
from foamwright.drawing.dxf import dxf_bytes
from foamwright.drawing.pdf import pdf_bytes
print(compiled(cache=False)(lambda x: x + 1)(1), os.getcwd() == sys.argv[1])
"""
    told = subprocess.run(
        [sys.executable, "-P", "-c", code, str(tmp_path)], cwd=tmp_path, capture_output=True, text=True, check=False,
        env={**os.environ, "HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path / "cache")},
    )  # fmt: skip
    assert (told.stdout, told.stderr) == ("2 True\n", "")
    assert not (tmp_path / "cache" / "ezdxf").exists()  # nor does ezdxf write down which fonts there are

"""What README says is so: its example runs, its links and commands exist, it stays short, its pictures are there."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from foamwright.cli import main
from foamwright.outputs import ARCHIVE, NAMES

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
PAGES = ("README.md", "DEVELOPERS.md", ".github/CONTRIBUTING.md", ".github/SECURITY.md", "designs/REFERENCE.md")


def test_the_example_runs_and_needs_no_other_import(tmp_path):
    (example,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    assert re.findall(r"^(?:from|import) .*", example, re.MULTILINE) == ["import foamwright"]
    (tmp_path / "designs").symlink_to(ROOT / "designs", target_is_directory=True)
    done = subprocess.run(
        [sys.executable, "-c", example],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(ROOT / "generator")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    written = {p.relative_to(tmp_path / "build/my-lantern").as_posix() for p in (tmp_path / "build").rglob("*.*")}
    assert {"cut-list.csv", "model/prop.step", "model/prop.glb", "pack.json"} == written
    first, second = done.stdout.splitlines()
    assert re.match("[0-9a-f]{64} ", first) and float(second.split()[1]) > 0


def test_it_is_short_with_a_prop_and_a_page_near_its_top():
    lines = README.splitlines()
    assert len(lines) <= 250
    top = "\n".join(lines[:25])
    assert "designs/pictures/pocket-submarine.svg" in top and "designs/pictures/template-page.png" in top


@pytest.mark.parametrize("page", PAGES)
def test_every_link_and_picture_leads_somewhere(page):
    text = (ROOT / page).read_text("utf-8")
    targets = re.findall(r"\]\(([^)#]+)\)", text) + re.findall(r'<img src="([^"]+)"', text)
    for target in targets:
        assert "://" not in target and (ROOT / page).parent.joinpath(target).exists(), target


def test_it_names_every_output_and_every_option(capsys):
    for name in (*NAMES, ARCHIVE):
        assert f"`{name}`" in README, name
    for command in ("build", "check", "new"):
        with pytest.raises(SystemExit):
            main([command, "--help"])
        for option in re.findall(r"^ +(--[a-z-]+)", capsys.readouterr().out, re.MULTILINE):
            assert option in README, f"{command} {option}"

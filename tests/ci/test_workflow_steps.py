"""The commands of the workflows for designs, run here: with files of the service's layout, and a program that notes
how it was called where building would take long."""

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).parents[2]
COMPARE = ROOT / ".ci/compare-designs"
NOTING = """#!/bin/sh
if [ "$1" = matrix ]; then
    sed -n 's/^size: \\(.*\\)/{"size": "\\1", "paper": "A4"}/p' "$2"
    exit
fi
for word in "$@"; do printf '[%s]' "$word"; done >> "$CALLS"
echo >> "$CALLS"
case "$*" in *"$FAILS"*) exit 1 ;; esac
"""


def command(workflow, job, words):
    flow = yaml.safe_load((ROOT / ".github/workflows" / workflow).read_text("utf-8"))
    (found,) = [step["run"] for step in flow["jobs"][job]["steps"] if words in step.get("run", "")]
    return found


def run(script, folder, **environment):
    return subprocess.run(
        ["bash", "-e", "-c", script], cwd=folder, env=os.environ | environment, capture_output=True, text=True
    )


@pytest.fixture
def noting(tmp_path):
    program = tmp_path / "program/.venv/bin/foamwright"
    program.parent.mkdir(parents=True)
    program.write_text(NOTING)
    program.chmod(0o755)
    return program


def git(folder, *words):
    who = ["-c", "user.name=a", "-c", "user.email=a@example.org"]
    return subprocess.run(["git", *who, *words], cwd=folder, check=True, capture_output=True, text=True).stdout.strip()


@pytest.fixture
def designs(tmp_path):
    """A repository with two designs and a fragment; the base commit is the first."""
    folder = tmp_path / "mine"
    (folder / "designs/stock").mkdir(parents=True)
    for name in ("lamp", "boat"):
        (folder / f"designs/{name}.yaml").write_text(f"name: {name}\nsize: one\nsize: two\n")
    (folder / "designs/stock/foam.yaml").write_text("format: 1\n")
    git(folder, "init", "-q")
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", "first")
    return folder


def compared(designs, noting, tmp_path, fails="nothing of the kind"):
    base = git(designs, "rev-parse", "HEAD")
    git(designs, "add", "-A")
    git(designs, "commit", "-qm", "second", "--allow-empty")
    calls = tmp_path / "calls"
    calls.write_text("")
    told = os.environ | {"CALLS": str(calls), "FAILS": fails}
    words = ["sh", str(COMPARE), base, "designs", str(tmp_path / "out"), str(noting)]
    done = subprocess.run(words, cwd=designs, env=told, capture_output=True, text=True)
    calls = calls.read_text().splitlines()
    return done.returncode, [re.sub(r"\[[^]]*/(tmp\.\w+|out)/", r"[\1/", c).replace("tmp.", "")[:-1] for c in calls]


def told_of(calls, what):
    return [call for call in calls if call.startswith(f"[{what}]")]


def test_only_the_design_that_changed_is_built_and_compared_at_each_of_its_sizes(designs, noting, tmp_path):
    (designs / "designs/lamp.yaml").write_text("name: other\nsize: one\nsize: two\nsize: three\n")
    code, calls = compared(designs, noting, tmp_path)
    assert code == 0
    assert told_of(calls, "build") == ["[build][designs/lamp.yaml][--size][all][--out][out/packs"]
    told = told_of(calls, "compare")
    assert len(told) == 4 and all("/designs/lamp.yaml][out/packs/lamp/" in call for call in told)
    assert [call.count("--version-rule") for call in told] == [0, 1, 0, 1]
    assert (tmp_path / "out/lamp-three.md").read_text() == "### lamp, size three, is new\n"


def test_what_designs_share_may_change_each(designs, noting, tmp_path):
    (designs / "designs/stock/foam.yaml").write_text("format: 1 # other\n")
    _, calls = compared(designs, noting, tmp_path)
    assert [call.split("]")[1] for call in told_of(calls, "build")] == ["[designs/boat.yaml", "[designs/lamp.yaml"]


def test_nothing_changed_and_a_design_that_went(designs, noting, tmp_path):
    assert compared(designs, noting, tmp_path) == (0, [])
    (designs / "designs/boat.yaml").unlink()
    assert compared(designs, noting, tmp_path) == (0, [])


def test_a_new_design_is_built_and_its_name_is_no_markup(designs, noting, tmp_path):
    (designs / "designs/n](x)`$(touch hacked)`.yaml").write_text("name: n\nsize: one\n")
    code, calls = compared(designs, noting, tmp_path)
    assert code == 0 and calls[0].startswith("[build][designs/n](x)`$(touch hacked)`.yaml]")
    (told,) = (tmp_path / "out").glob("*.md")
    assert told.read_text() == "### nxtouch hacked, size one, is new\n"
    assert not (designs / "hacked").exists()


def test_a_version_that_was_not_raised_fails_the_whole(designs, noting, tmp_path):
    for name in ("boat", "lamp"):
        (designs / f"designs/{name}.yaml").write_text("name: other\nsize: one\n")
    code, calls = compared(designs, noting, tmp_path, fails="boat/one --size one --as markdown")
    assert code == 1 and len(told_of(calls, "compare")) == 4  # the other is compared all the same


def test_a_design_that_cannot_be_built_is_not_compared(designs, noting, tmp_path):
    (designs / "designs/boat.yaml").write_text("name: other\nsize: one\n")
    code, calls = compared(designs, noting, tmp_path, fails="build designs/boat.yaml")
    assert code == 1 and not told_of(calls, "compare")


GIT = """#!/bin/sh
case "$2" in
    */checkout) printf 'a%.0s' $(seq 40); printf '\\trefs/tags/v4.2.2\\n'
        printf 'b%.0s' $(seq 40); printf '\\trefs/tags/v4.2.2^{}\\n' ;;
    */setup-python) printf 'c%.0s' $(seq 40); printf '\\trefs/tags/v5.6.0\\n' ;;
esac
"""


def test_pins_are_held_against_the_releases_that_they_name(tmp_path):
    """`git ls-remote` as gitprotocol-capabilities has it: an annotated tag has a line more, with the commit (`^{}`)."""
    flows = tmp_path / ".github/workflows"
    flows.mkdir(parents=True)
    (tmp_path / ".ci").mkdir()
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin/git").write_text(GIT)
    (tmp_path / "bin/git").chmod(0o755)
    shutil.copy(ROOT / ".ci/pins", tmp_path / ".ci/pins")
    pinned = "  - uses: actions/checkout@{} # v4.2.2\n  - uses: actions/setup-python@{} # v5.6.0\n"
    (flows / "one.yml").write_text(pinned.format("a" * 40, "c" * 40))
    told = os.environ | {"PATH": f"{tmp_path}/bin:{os.environ['PATH']}"}

    def pins(*words):
        call = ["sh", str(tmp_path / ".ci/pins"), *words]
        return subprocess.run(call, env=told, capture_output=True, text=True)

    done = pins()
    assert done.returncode == 1 and "actions/checkout: pinned to aaaa" in done.stderr and "setup" not in done.stderr
    assert pins("--renew").returncode == 0
    assert (flows / "one.yml").read_text() == pinned.format("b" * 40, "c" * 40)
    assert pins().returncode == 0
    (flows / "one.yml").write_text(f"  - uses: actions/setup-node@{'d' * 40} # v4.4.0\n")
    assert pins().returncode == 1  # nobody knows that release


def test_every_pin_names_its_release():
    for path in (ROOT / ".github/workflows").glob("*.yml"):
        for line in path.read_text("utf-8").splitlines():
            if "@" in line and "uses:" in line:
                assert re.search(r"@[0-9a-f]{40} # v\d+\.\d+\.\d+$", line), line


def test_archives_are_named_by_their_paper_and_summed(tmp_path):
    for paper, number in (("A4", 0), ("letter", 1)):
        folder = tmp_path / f"packs/release-{paper}-{number}/lamp/table"
        folder.mkdir(parents=True)
        (folder / "lamp-table.zip").write_bytes(paper.encode())
    done = run(command("design-release.yml", "publish", "SHA256SUMS"), tmp_path)
    assert done.returncode == 0, done.stderr
    sums = dict(line.split()[::-1] for line in (tmp_path / "archives/SHA256SUMS").read_text().splitlines())
    assert sums == {f"lamp-table-{p}.zip": hashlib.sha256(p.encode()).hexdigest() for p in ("A4", "letter")}


def test_measures_are_words_and_never_commands(tmp_path, noting):
    (tmp_path / "mine").mkdir()
    told = {
        "CALLS": str(tmp_path / "calls"),
        "FAILS": "nothing of the kind",
        "GITHUB_STEP_SUMMARY": str(tmp_path / "summary"),
    }
    script = command("design-to-measure.yml", "fit", "MEASURES")
    done = run(
        script,
        tmp_path / "mine",
        DESIGN="designs/lamp.yaml",
        MEASURES="candle=52mm arm=$(touch x);* --out=/",
        PAPER="A4",
        **told,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "calls").read_text().strip() == (
        "[fit][designs/lamp.yaml][--paper][A4][--out][../build][--measure=candle=52mm][--measure=arm=$(touch]"
        "[--measure=x);*][--measure=--out=/]"
    )
    assert run(script, tmp_path / "mine", DESIGN="--out=/", MEASURES="", PAPER="A4", **told).returncode == 2
    told["FAILS"] = "lamp.yaml"  # as a fit that finds no values: the job must fail too
    assert run(script, tmp_path / "mine", DESIGN="lamp.yaml", MEASURES="", PAPER="A4", **told).returncode == 1


def test_the_plan_is_a_matrix_of_the_program_itself(tmp_path):
    program = tmp_path / "program/.venv/bin/foamwright"
    program.parent.mkdir(parents=True)
    program.write_text(f'#!/bin/sh\nPYTHONPATH={ROOT}/generator exec {sys.executable} -m foamwright "$@"\n')
    program.chmod(0o755)
    (tmp_path / "mine/designs").mkdir(parents=True)
    subprocess.run([str(program), "new", str(tmp_path / "mine/designs/lamp.yaml")], check=True)
    script, output = command("design-release.yml", "plan", "matrix"), tmp_path / "output"
    told = {"DESIGNS": "designs", "GITHUB_OUTPUT": str(output), "GALLERY": ""}
    assert run(script, tmp_path / "mine", TAG="", **told).returncode == 0
    plan = json.loads(output.read_text().removeprefix("packs="))["include"]
    assert [entry["paper"] for entry in plan] == ["A4", "letter"] * (len(plan) // 2) and plan
    assert run(script, tmp_path / "mine", TAG="v9.9.9", **told).returncode == 1  # no design has that version
    subprocess.run([str(program), "new", str(tmp_path / "mine/designs/other.yaml")], check=True)
    output.unlink()
    assert run(script, tmp_path / "mine", **told | {"TAG": "lamp-v0.1.0", "GALLERY": "Props"}).returncode == 0
    plan = json.loads(output.read_text().removeprefix("packs="))["include"]
    told = {(Path(entry["design"]).stem, entry["for"], entry["paper"]) for entry in plan}
    assert told == {("lamp", "release", "A4"), ("lamp", "release", "letter"), ("other", "gallery", "A4")}

"""The workflows: pinned, with least rights, with nothing of a stranger in a command line; linted where linters are.

The rules are those of GitHub's "Security hardening for GitHub Actions": full-length commit SHAs, a read-only token by
default, untrusted input through the environment.
"""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / ".github/workflows"
WORKFLOWS = {path.name: yaml.safe_load(path.read_text("utf-8")) for path in sorted(FOLDER.glob("*.yml"))}
JOBS = [(name, job, entry) for name, flow in WORKFLOWS.items() for job, entry in flow["jobs"].items()]
STEPS = [(name, job, step) for name, job, entry in JOBS for step in entry.get("steps", ())]
WRITERS = {"publish", "pages", "packs"}  # jobs that publish, or call the workflow that does
ZIZMOR = shutil.which("zizmor") or shutil.which("zizmor", path=str(Path(sys.executable).parent))


def triggers(flow):
    return flow[True]  # YAML 1.1 reads the key `on` as a truth value


def test_there_are_workflows():
    assert {"design-pull-request.yml", "design-release.yml", "design-to-measure.yml", "test.yml"} <= set(WORKFLOWS)
    assert len(STEPS) > 20


@pytest.mark.parametrize(("name", "job", "step"), [s for s in STEPS if "uses" in s[2]])
def test_actions_are_pinned_by_digest(name, job, step):
    assert re.fullmatch(r"[\w.-]+/[\w./-]+@[0-9a-f]{40}", step["uses"])


@pytest.mark.parametrize(
    ("name", "job", "step"), [s for s in STEPS if s[2].get("uses", "").startswith("actions/checkout@")]
)
def test_no_token_stays_in_a_checkout(name, job, step):
    assert step["with"]["persist-credentials"] is False


@pytest.mark.parametrize("name", WORKFLOWS)
def test_the_token_reads_unless_a_job_says_otherwise(name):
    flow = WORKFLOWS[name]
    assert flow["permissions"] == {"contents": "read"}
    writing = {job for job, entry in flow["jobs"].items() if "write" in (entry.get("permissions") or {}).values()}
    assert writing <= WRITERS
    assert "pull_request_target" not in triggers(flow) and "workflow_run" not in triggers(flow)
    assert "secrets" not in (FOLDER / name).read_text("utf-8")


@pytest.mark.parametrize(("name", "job", "step"), [s for s in STEPS if "run" in s[2]])
def test_a_command_holds_nothing_that_others_write(name, job, step):
    expressions = re.findall(r"\$\{\{.*?\}\}", step["run"])
    assert expressions == []
    assert "--run-own-code" not in step["run"]
    done = subprocess.run(["sh", "-n"], input=step["run"], text=True, capture_output=True)
    assert done.returncode == 0, done.stderr


def test_jobs_that_may_write_run_nothing_of_a_design():
    for name, job, entry in JOBS:
        if "write" in (entry.get("permissions") or {}).values():
            told = [step.get("run", "") + step.get("uses", "") for step in entry.get("steps", ())]
            assert not any("foamwright" in words or "checkout" in words or ".ci/" in words for words in told), (
                name,
                job,
            )


def test_a_fork_gets_no_more_than_reading():
    flow = WORKFLOWS["design-pull-request.yml"]
    assert list(triggers(flow)) == ["workflow_call"]
    assert [entry.get("permissions") for entry in flow["jobs"].values()] == [None]


@pytest.mark.skipif(ZIZMOR is None, reason="zizmor is not installed")
def test_the_linter_for_misuse_finds_nothing():
    done = subprocess.run([ZIZMOR, "--offline", "--no-progress", str(FOLDER)], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout

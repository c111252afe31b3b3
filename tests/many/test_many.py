"""Many packs side by side: what fails stops no other, the bytes are those of one after the other, shares are whole."""

from __future__ import annotations

import json
import os
import signal
import time
from functools import partial

import pytest

from foamwright.cli import main
from foamwright.contained import Limits
from foamwright.errors import BuildError, DesignError, FaultError
from foamwright.many import shared, side_by_side, workers

DESIGN = """
format: 1
name: Block {number}
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {{value: 1, min: 0.5, max: 2}}
  clearance: {{value: 1 mm}}
sizes: {{one: {{note: as it is}}, two: {{note: larger, set: {{scale: 2}}}}}}
stock:
  foam: {{name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}}
forms: {{}}
parts:
  lower:
    kind: plate
    stock: foam
    outline: {{rectangle: {{width: 100 * scale, height: 60}}}}
    at: {{origin: [0, 0, 0], normal: z, up: y}}
  upper:
    kind: plate
    stock: foam
    outline: {{rectangle: {{width: 40, height: 30}}}}
    at: {{origin: [0, 0, {height}], normal: z, up: y}}
    lies_on: [lower]
"""


def written(tmp_path, number, height=10):
    path = tmp_path / f"block-{number}.yaml"
    path.write_text(DESIGN.format(number=number, height=height), "utf-8")
    return path


def files(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_side_by_side_gives_the_bytes_of_one_after_the_other_and_a_failure_stops_no_other(tmp_path, capsys):
    good, bad = written(tmp_path, 1), written(tmp_path, 2, height=5)  # the second overlaps itself
    bad.write_text(bad.read_text("utf-8").replace(", two: {note: larger, set: {scale: 2}}", ""), "utf-8")
    call = ["build", str(bad), str(good), "--size", "all", "--only", "cut_list,model"]
    assert main([*call, "--jobs", "1", "--out", str(tmp_path / "one")]) == 1
    told = capsys.readouterr()
    assert told.err.count("occupy the same space") == 1 and told.out.count("files of") == 2
    assert main([*call, "--jobs", "2", "--out", str(tmp_path / "two"), "--json"]) == 1
    summaries = json.loads(capsys.readouterr().out)
    assert [(s["design"], s["size"]) for s in summaries] == [("Block 1", "one"), ("Block 1", "two")]
    assert files(tmp_path / "one") == files(tmp_path / "two")
    assert len(files(tmp_path / "two")) >= 6


def answer(number, progress):
    progress("working")
    return number


def faulty(progress):
    return 1 / 0


def refused(progress):
    raise BuildError("it cannot be")


def endless(folder, progress):
    (folder / "pid").write_text(str(os.getpid()))
    progress("waiting")
    time.sleep(600)


def killed(progress):
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.usefixtures("forked")
def test_what_came_of_each_is_told_and_no_fault_stops_another():
    stages = []
    works = [partial(answer, 0), faulty, refused, killed, partial(answer, 4)]
    found = dict(side_by_side(works, 2, Limits(), lambda *told: stages.append(told)))
    assert found[0] == 0 and found[4] == 4
    assert isinstance(found[1], FaultError) and "ZeroDivisionError" in str(found[1])
    assert isinstance(found[2], BuildError) and str(found[2]) == "it cannot be"
    assert isinstance(found[3], BuildError) and "killed" in str(found[3])
    assert (0, "working") in stages and sorted(n for n, title in stages if not title) == [0, 1, 2, 3, 4]


@pytest.mark.usefixtures("forked")
def test_whoever_stops_asking_ends_all_that_still_run(tmp_path):
    asked = side_by_side(
        [partial(answer, 0), partial(endless, tmp_path), partial(answer, 2)], 2, Limits(), lambda *_: 0
    )
    next(asked)
    while not (tmp_path / "pid").exists():
        time.sleep(0.05)
    asked.close()
    pid = int((tmp_path / "pid").read_text())
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)


@pytest.mark.parametrize("count", [1, 2, 3, 7, 20])
def test_shares_are_whole_and_none_twice(count):
    items = list(range(13))
    parts = [shared(items, f"{i}/{count}") for i in range(1, count + 1)]
    assert sorted(x for part in parts for x in part) == items
    assert max(map(len, parts)) - min(map(len, parts)) <= 1


@pytest.mark.parametrize("share", ["0/2", "3/2", "1", "a/b", "1/2/3", "-1/2"])
def test_what_is_no_share_is_refused(share):
    with pytest.raises(DesignError, match="--share"):
        shared([1, 2], share)


def test_no_more_processes_than_packs_and_at_least_one():
    assert workers(1) == 1 and workers(3, 2) == 2 and workers(1, 8) == 1 and workers(100) >= 1
    with pytest.raises(DesignError, match="--jobs"):
        workers(3, -1)


def test_the_matrix_names_every_pack(tmp_path, capsys):
    paths = [str(written(tmp_path, n)) for n in (1, 2)]
    assert main(["matrix", *paths]) == 0
    entries = json.loads(capsys.readouterr().out)["include"]
    assert entries == [{"design": path, "size": size, "for": "release"} for path in paths for size in ("one", "two")]

"""The command as a maker meets it: exit codes, one-line errors, help, and what it leaves on the disk."""

import json
import math
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from foamwright.design import starter

ROOT = Path(__file__).parents[2]
FLAGSHIP = ROOT / "designs" / "pocket-submarine.yaml"
HEAVY = ("cadquery", "OCP", "numpy", "scipy", "shapely", "igl", "reportlab", "ezdxf", "manifold3d")

PLATES = """\
format: 1
name: Two plates
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam, thickness: 6 mm, sheet: [600 mm, 1200 mm]}}
forms: {}
parts:
  lower: {kind: plate, stock: foam, outline: {rectangle: {width: 80 * scale, height: 50}}, at: {normal: z}}
  upper:
    kind: plate
    stock: foam
    outline: {circle: {radius: 20}}
    at: {origin: [0, 0, 6 mm], normal: z}
    lies_on: [lower]
"""
BALL = """\
format: 1
name: Half a ball
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam, thickness: 6 mm, sheet: [600 mm, 1200 mm]}}
forms:
  ball:
    kind: superellipsoid
    radii: [100 * scale, 100 * scale, 100 * scale]
    cuts: {rim: {plane: {normal: z, at: 20}}}
parts:
  cap: {kind: panel, stock: foam, form: ball, where: {rim: beyond}}
"""


def foamwright(*arguments, cwd=ROOT):
    environment = os.environ | {"PYTHONPATH": str(ROOT / "generator"), "COLUMNS": "100"}
    return subprocess.run(
        [sys.executable, "-m", "foamwright", *map(str, arguments)],
        cwd=cwd,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def refused(done, code):
    """The one line that a refused call prints."""
    assert done.returncode == code, done.stderr
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    (line,) = done.stderr.splitlines()
    assert line.startswith("foamwright: ")
    return line.removeprefix("foamwright: ")


def written(folder, text):
    path = folder / "thing.yaml"
    path.write_text(text, "utf-8")
    return path


# 2: the design or the call is wrong


def test_missing_file(tmp_path):
    for command in ("check", "build"):
        line = refused(foamwright(command, tmp_path / "nothing.yaml", cwd=tmp_path), 2)
        assert "nothing.yaml" in line
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_not_yaml(tmp_path):
    path = written(tmp_path, PLATES.replace("{scale:", "{{scale:"))
    assert "thing.yaml:5:13: not YAML" in refused(foamwright("check", path), 2)


def test_unknown_key_names_the_nearest(tmp_path):
    path = written(tmp_path, PLATES.replace("lies_on", "lays_on"))
    line = refused(foamwright("check", path), 2)
    assert "thing.yaml:16:5" in line and "'lays_on'" in line and "did you mean lies_on?" in line


def test_values_that_cannot_be_set(tmp_path):
    path = written(tmp_path, PLATES)
    for change, words in (
        ("scale", "expected NAME=VALUE"),
        ("scale=", "expected NAME=VALUE"),
        ("scal=2", "did you mean scale?"),
        ("scale=wide", "wide"),
        ("foam_thickness=-1", "at least 0.05 mm"),
    ):
        assert words in refused(foamwright("build", path, "--set", change, "--out", tmp_path / "out"), 2), change
    assert not (tmp_path / "out").exists()


def test_unknown_size_and_paper(tmp_path):
    line = refused(foamwright("build", FLAGSHIP, "--size", "cart", "--out", tmp_path / "out"), 2)
    assert "cart" in line and "did you mean cat?" in line
    line = refused(foamwright("build", FLAGSHIP, "--paper", "leter", "--out", tmp_path / "out"), 2)
    assert "leter" in line and "did you mean letter?" in line
    assert not (tmp_path / "out").exists()


def test_two_designs_that_would_write_over_each_other(tmp_path):
    (tmp_path / "other").mkdir()
    paths = [written(tmp_path, PLATES), written(tmp_path / "other", PLATES)]
    assert "thing" in refused(foamwright("build", *paths, "--out", tmp_path / "out"), 2)
    assert not (tmp_path / "out").exists()


def test_new_writes_over_nothing(tmp_path):
    path = written(tmp_path, "mine")
    assert "exists already" in refused(foamwright("new", path), 2)
    assert path.read_text("utf-8") == "mine"
    assert ".yaml" in refused(foamwright("new", tmp_path / "thing.txt"), 2)
    assert "thing.yaml" in refused(foamwright("new", tmp_path / "no" / "thing.yaml"), 2)


# 1: it cannot be built


def test_parts_in_the_same_space_and_the_pack_before_them(tmp_path):
    out = tmp_path / "out"
    path = written(tmp_path, PLATES)
    only = ("--only", "templates,cut_list,archive")  # a whole pack: the fixture `starter` of this folder
    done = foamwright("build", path, *only, "--out", out)
    assert (done.returncode, done.stderr) == (0, ""), done.stderr
    pack = out / "thing" / "one"
    before = {p: p.read_bytes() for p in pack.rglob("*") if p.is_file()}
    assert before and len(done.stdout.splitlines()) == 1

    written(tmp_path, PLATES.replace("6 mm], normal", "4 mm], normal"))
    line = refused(foamwright("build", path, *only, "--out", out), 1)
    assert "lower and upper" in line and "overlaps" in line
    volume = float(re.search(r"(\d+) mm3", line)[1])
    assert volume == pytest.approx(math.pi * 20.0**2 * 2.0, rel=0.005)  # a cylinder's, but for its facets
    # the pack from before stands as it was, and nothing beside it
    assert {p: p.read_bytes() for p in out.rglob("*") if p.is_file()} == before

    written(
        tmp_path,
        PLATES.replace("6 mm], normal", "4 mm], normal").replace("lies_on", "rests_on")
        + "overlaps: [[lower, upper]]\n",
    )
    done = foamwright("build", path, *only, "--out", out, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    (summary,) = json.loads(done.stdout)
    assert Path(summary["folder"]) == pack
    assert summary["part_kinds"] == summary["pieces"] == 2
    assert summary["files"] == len([p for p in pack.rglob("*") if p.is_file()])
    assert (pack / summary["archive"]).is_file()


def test_a_panel_beyond_what_its_foam_forgives(tmp_path):
    out = tmp_path / "out"
    path = written(tmp_path, BALL)
    line = refused(foamwright("build", path, "--out", out), 1)
    number = BALL[: BALL.index("  cap:")].count("\n") + 1
    assert (
        line.startswith(f"{path}:{number}:3: panel cap: ")
        and "pulled by" in line
        and "limit of 3.0 %" in line
        and "darts" in line
    )
    assert not list(out.rglob("*"))


def test_a_folder_that_holds_something_else_is_left_alone(tmp_path):
    mine = tmp_path / "out" / "thing" / "one" / "holiday.jpg"
    mine.parent.mkdir(parents=True)
    mine.write_bytes(b"beach")
    assert "other files" in refused(foamwright("build", written(tmp_path, PLATES), "--out", tmp_path / "out"), 1)
    assert [p for p in (tmp_path / "out").rglob("*") if p.is_file()] == [mine]


# 0: done


def test_new_then_check(tmp_path):
    # then build: the fixture `starter` of this folder
    done = foamwright("new", "table-lamp.yaml", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert (tmp_path / "table-lamp.yaml").read_text("utf-8") == starter("Table lamp")
    done = foamwright("check", "table-lamp.yaml", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert len(done.stdout.splitlines()) == 1 and "table, floor" in done.stdout


def test_new_then_build(starter):
    assert starter.record["design"]["name"] == "Lamp"
    assert {"templates.pdf", "booklet.pdf", "pack.json", "model/prop.step"} <= starter.files.keys()


def test_check_as_json():
    done = foamwright("check", FLAGSHIP, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    (checked,) = json.loads(done.stdout)
    assert checked["design"] == "Pocket submarine"
    assert checked["sizes"] == ["plush", "cat"]
    assert checked["part_kinds"] >= 30


def test_check_loads_nothing_heavy():
    code = (
        "import sys\nfrom foamwright.cli import main\n"
        f"assert main(['check', {str(FLAGSHIP)!r}]) == 0\n"
        f"print([m for m in {HEAVY!r} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("command", ["build", "check", "new"])
def test_help_of_each_command_shows_how_it_is_used(command):
    done = foamwright(command, "--help")
    assert done.returncode == 0
    head, _, examples = done.stdout.partition("example")
    assert head.startswith(f"usage: foamwright {command}")
    assert f"  foamwright {command} " in examples


def test_help_names_the_commands_and_a_call_without_one_is_wrong():
    done = foamwright("--help")
    assert done.returncode == 0
    for command in ("build", "check", "new"):
        assert f"    {command} " in done.stdout
    assert foamwright().returncode == 2
    assert foamwright("bild").returncode == 2
    from foamwright import __version__

    assert foamwright("--version").stdout == f"foamwright {__version__}\n"


# the program itself fails


FAULTY = """
import sys
import foamwright.cli, foamwright.design
def fail(path): raise RecursionError("too\\ndeep")
foamwright.design.check_all = fail
sys.exit(foamwright.cli.main(sys.argv[1:]))
"""


def faulty(*arguments):
    return subprocess.run(
        [sys.executable, "-c", FAULTY, *arguments],
        env=os.environ | {"PYTHONPATH": str(ROOT / "generator")},
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_fault_of_the_program_has_an_exit_code_of_its_own_and_asks_to_be_reported():
    # EX_SOFTWARE of sysexits.h (4.3BSD): an internal software error
    line = refused(faulty("check", "lamp.yaml"), 70)
    assert "RecursionError: too deep" in line and "report" in line and "--trace" in line
    shown = faulty("check", "lamp.yaml", "--trace")
    assert shown.returncode == 1 and "Traceback" in shown.stderr and "too\ndeep" in shown.stderr


@pytest.mark.parametrize("seconds", ["inf", "nan", "-1", "1e999", "ten", "3601", ""])
def test_seconds_that_are_none(tmp_path, seconds):
    call = ("build", written(tmp_path, PLATES), f"--nest-seconds={seconds}", "--out", tmp_path / "out")
    assert "expected a number of seconds from 0 to 3600" in refused(foamwright(*call), 2)
    assert not (tmp_path / "out").exists()


def test_nobody_reads_what_is_printed(tmp_path):
    """As in `foamwright ... | head -0`: the reader is gone before the first word."""
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-m", "foamwright", "check", str(written(tmp_path, PLATES)), "--json"],
        env=os.environ | {"PYTHONPATH": str(ROOT / "generator")},
        stdout=writer,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    os.close(writer)
    assert (done.returncode, done.stderr) == (141, "")

"""Packs of some outputs: what runs, what is written, what the record tells, and what is refused."""

import io
import json
import zipfile

import pytest

import foamwright
from foamwright.cli import main
from foamwright.outputs import NAMES, check_names, output
from foamwright.pipeline import RULES, STAGES

pytestmark = pytest.mark.usefixtures("little_search")

LIGHT_STAGES = {"info", "leaf", "lettering"}
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


@pytest.fixture
def design(tmp_path):
    path = tmp_path / "plates.yaml"
    path.write_text(PLATES, "utf-8")
    return path


@pytest.fixture
def ran(monkeypatch):
    """Names of the stages that ran, in order."""
    names = []

    def noted(stage):
        def make(*args, **kwargs):
            names.append(stage.name)
            return stage.make(*args, **kwargs)

        make.__signature__ = __import__("inspect").signature(stage.make)
        return type(stage)(stage.name, stage.title, make)

    for name, stage in list(STAGES.items()):
        monkeypatch.setitem(STAGES, name, noted(stage))
    return names


@pytest.mark.parametrize(
    ("only", "not_run"),
    [
        (
            "templates",
            {"pictures", "sheets", "sheet_pages", "steps", "booklet_pages", "strain_pages", "fit", "balance"},
        ),
        ("cut_list", {"templates", "template_pages", "sheets", "pictures", "steps", "booklet_pages", "lettering"}),
        ("model", {"patterns", "templates", "template_pages", "sheets", "pictures", "steps", "booklet_pages"}),
        ("picture", {"templates", "template_pages", "sheets", "booklet_pages"}),
    ],
)
def test_only_what_is_needed_runs_and_each_stage_once(design, ran, only, not_run):
    pack = foamwright.build(foamwright.load(design), only=[only])
    assert not_run.isdisjoint(ran)
    assert len(ran) == len(set(ran))
    assert set(RULES) <= set(ran)
    assert pack.record["only"] == [only]
    assert {entry["path"] for entry in pack.record["files"]} == pack.files.keys() - {"pack.json"}


def test_files_asked_for_singly_are_those_of_the_whole_pack(design):
    whole = foamwright.build(foamwright.load(design))
    assert "only" not in whole.record
    seen = {"pack.json", "plates-one.zip"}
    for name in NAMES:
        single = foamwright.build(foamwright.load(design), only=[name])
        files = {path: content for path, content in single.files.items() if path != "pack.json"}
        assert files.items() <= whole.files.items(), name
        assert not files.keys() & seen, name
        seen |= files.keys()
        assert json.loads(single.files["pack.json"]) == single.record
    assert seen == whole.files.keys()


def test_the_record_does_not_depend_on_what_was_asked_before(design):
    stages = foamwright.Stages(foamwright.Request(foamwright.load(design)))
    assert len(stages.patterns.patterns) == len(stages.model.copies) == 2
    later = stages.pack(["model"])
    assert "parts" not in later.record and "materials" in later.record
    assert later.files == foamwright.build(foamwright.load(design), only=["model"]).files
    assert stages.pack().files == foamwright.build(foamwright.load(design)).files


def test_a_partial_archive_holds_what_is_written(design):
    pack = foamwright.build(foamwright.load(design), only=["archive", "cut-list"])
    with zipfile.ZipFile(io.BytesIO(pack.files["plates-one.zip"])) as archive:
        assert archive.namelist() == ["plates-one/cut-list.csv", "plates-one/pack.json"]
        assert archive.read("plates-one/pack.json") == pack.files["pack.json"]


def test_names_are_given_in_any_order_and_spelling_of_the_dash():
    assert check_names(["shopping-list", " templates", "templates"]) == ("templates", "shopping_list")
    assert [output(name).name for name in NAMES] == list(NAMES)
    for wrong, words in (
        (["templtes"], "did you mean templates?"),
        ([], "no output is named"),
        ([""], "expected some"),
    ):
        with pytest.raises(foamwright.DesignError, match=words.replace("?", r"\?")):
            check_names(wrong)


def test_the_command_takes_the_place_of_the_pack_before(design, tmp_path, capsys):
    assert main(["build", str(design), "--out", str(tmp_path / "out")]) == 0
    capsys.readouterr()
    folder = tmp_path / "out" / "plates" / "one"
    assert main(["build", str(design), "--only", "cut_list,picture", "--out", str(tmp_path / "out"), "--json"]) == 0
    (summary,) = json.loads(capsys.readouterr().out)
    files = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    assert files == ["cut-list.csv", "pack.json", "picture.png", "picture.svg"]
    assert summary["only"] == ["picture", "cut_list"] and summary["files"] == len(files)
    assert main(["build", str(design), "--only", "cut_list,pictures", "--out", str(tmp_path / "out")]) == 2
    assert "did you mean picture?" in capsys.readouterr().err
    assert main(["build", str(design), "--only", "archive", "--out", str(tmp_path / "out")]) == 2
    assert "templates,archive" in capsys.readouterr().err


@pytest.mark.parametrize("name", NAMES)
def test_the_command_tells_of_any_single_output(design, tmp_path, capsys, name):
    assert main(["build", str(design), "--only", name, "--out", str(tmp_path / "out")]) == 0
    assert f"files of {name}" in capsys.readouterr().out


def test_rules_hold_whatever_is_asked_for(design):
    design.write_text(PLATES.replace("6 mm], normal", "4 mm], normal"), "utf-8")
    for name in NAMES:
        with pytest.raises(foamwright.BuildError, match="lower and upper occupy the same space"):
            foamwright.build(foamwright.load(design), only=[name])


def test_a_pack_does_not_change(design, tmp_path):
    pack = foamwright.build(foamwright.load(design), only=["cut_list"])
    with pytest.raises(AttributeError):
        pack.files = {}
    with pytest.raises(TypeError):
        pack.files["x"] = b""
    assert "Two plates 1.0.0, size one" in repr(pack)
    pack.write(tmp_path / "mine")
    assert (tmp_path / "mine" / "cut-list.csv").read_bytes() == pack.files["cut-list.csv"]


def test_the_digest_covers_the_libraries_and_the_record_lists_them(design):
    loaded = foamwright.load(design)
    one = foamwright.Request(loaded, libraries={"numpy": "2.0"})
    other = foamwright.Request(loaded, libraries={"numpy": "2.1"})
    digests = {foamwright.Stages(request).design.digest for request in (one, other, foamwright.Request(loaded))}
    assert len(digests) == 3
    pack = foamwright.Stages(one).pack(["cut_list"])
    assert pack.record["libraries"] == {"numpy": "2.0"}
    listed = foamwright.Request(loaded).libraries
    assert "not installed" not in listed.values() and {"cadquery-ocp", "numpy", "reportlab", "zlib"} <= listed.keys()

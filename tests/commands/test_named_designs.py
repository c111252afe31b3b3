"""A file that is wrong stops no other: the rest is checked, looked at and built, and the worst exit code is given."""

import json

import pytest

from foamwright.cli import main
from foamwright.commands import build
from foamwright.design import starter


@pytest.fixture
def three(tmp_path):
    """A sound design, one with a key that there is not, and one that is no file."""
    sound, wrong, missing = (tmp_path / f"{name}.yaml" for name in ("sound", "wrong", "missing"))
    sound.write_text(starter("Sound"), "utf-8")
    wrong.write_text(starter("Wrong").replace("licence:", "license:", 1), "utf-8")
    return [str(path) for path in (wrong, sound, missing)]


def pretended(request, folder, *_):
    return {"folder": str(folder), "left": [], "notes": [], "design": request.design.name}


def test_check_tells_of_each(three, capsys):
    assert main(["check", *three]) == 2
    told = capsys.readouterr()
    assert "Sound" in told.out and "well formed" in told.out and len(told.out.splitlines()) == 1
    first, second = told.err.splitlines()
    assert "wrong.yaml" in first and "license" in first and "missing.yaml" in second
    assert main(["check", *three, "--json"]) == 2
    assert [entry["design"] for entry in json.loads(capsys.readouterr().out)] == ["Sound"]
    assert main(["check", three[1]]) == 0


@pytest.mark.usefixtures("forked")
def test_the_sound_ones_are_built(three, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(build, "_pack", pretended)
    call = ["build", *three, "--size", "all", "--out", str(tmp_path / "packs"), "--json"]
    assert main(call) == 2
    told = capsys.readouterr()
    assert [entry["design"] for entry in json.loads(told.out)] == ["Sound", "Sound"]  # at both of its sizes
    assert len(told.err.splitlines()) == 2
    assert main(["build", three[1], "--out", str(tmp_path / "packs"), "--json"]) == 0
    assert main(["build", three[0], "--out", str(tmp_path / "packs"), "--json"]) == 2
    assert capsys.readouterr().out.endswith("[]\n")


def test_a_call_that_is_wrong_builds_nothing(three, capsys, monkeypatch):
    monkeypatch.setattr(build, "_pack", None)
    for wrong in (["--set", "scale"], ["--paper", "A44"], ["--only", "tmplates"], ["--nest-seconds", "inf"]):
        assert main(["build", three[1], *wrong]) == 2
        assert wrong[1] in capsys.readouterr().err
    assert main(["build", three[1], three[1]]) == 2
    assert "two designs are named sound" in capsys.readouterr().err

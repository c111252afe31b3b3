"""The command that makes the pieces by which a stock is measured."""

import json

import pytest

from foamwright.cli import main
from foamwright.design import load
from foamwright.design.starter import starter


@pytest.fixture
def lamp(tmp_path):
    path = tmp_path / "lamp.yaml"
    path.write_text(starter("Lamp"), "utf-8")
    return path


def test_a_stock_that_is_not_there_is_named(lamp, tmp_path, capsys):
    assert main(["testpieces", str(lamp), "--stock", "marble", "--out", str(tmp_path / "out")]) == 2
    assert "--stock marble: expected one of" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_pack_of_test_pieces_and_how_they_are_measured(lamp, tmp_path, capsys):
    assert main(["testpieces", str(lamp), "--out", str(tmp_path / "out")]) == 0
    told = capsys.readouterr().out
    for field in ("k", "clearance", "kerf", "bevel", "strain_limit"):
        assert field in told
    design = load(lamp)
    foams = {part.stock for part in design.parts if design.stock[part.stock].material_type == "foam"}
    records = list((tmp_path / "out").rglob("pack.json"))
    assert len(records) == len(foams) > 1
    for record in records:
        assert {"templates", "booklet"} <= set(json.loads(record.read_text("utf-8"))["only"])
        assert (record.parent / "templates.pdf").exists() and list(record.parent.parent.glob("*.yaml"))

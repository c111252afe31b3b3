"""The command that makes the pieces by which a stock is measured."""

import json
from types import SimpleNamespace

import pytest

from foamwright.cli import main
from foamwright.design import load
from foamwright.design.starter import starter
from tests.conftest import DESIGNS, SHIPPED


@pytest.fixture
def lamp(tmp_path):
    path = tmp_path / "lamp.yaml"
    path.write_text(starter("Lamp"), "utf-8")
    return path


@pytest.fixture
def measured(monkeypatch):
    """The designs of test pieces that packs are asked of, none of which is built."""
    asked = []

    def build(pieces, *_, **__):
        asked.append(pieces)
        return SimpleNamespace(write=lambda folder: None)

    monkeypatch.setattr("foamwright.making.build", build)
    return asked


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


@pytest.mark.parametrize("name", SHIPPED)
def test_sheets_of_foam_are_measured_and_no_bars(name, measured, tmp_path):
    assert main(["testpieces", str(DESIGNS / f"{name}.yaml"), "--out", str(tmp_path)]) == 0
    assert measured
    for pieces in measured:
        (stock,) = pieces.stock.values()
        frame = next(part for part in pieces.parts if part.id == "frame").values
        assert stock.material_type == "foam" and frame["to"] <= min(stock.sheet)


def test_a_stock_that_is_bought_as_bars_is_no_sheet(measured, tmp_path, capsys):
    lantern = str(DESIGNS / "harbour-lantern.yaml")
    assert main(["testpieces", lantern, "--stock", "dowel", "--out", str(tmp_path)]) == 1
    assert "stock dowel is bought as bars; test pieces are of sheet foam" in capsys.readouterr().err
    assert not measured and not list(tmp_path.iterdir())

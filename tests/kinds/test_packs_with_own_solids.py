"""Whole packs, by the command, of designs with a solid that somebody modelled: from a STEP file, and from own code.

Areas and volumes are those of school geometry; the model is read back by CadQuery's own reader of STEP files.
"""

import json
import math

import cadquery as cq
import pytest

from foamwright.cli import main

pytestmark = pytest.mark.usefixtures("little_search")

HEAD = """\
format: 1
name: Own solids
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 1}, width: {value: 80 * scale}}
sizes: {one: {}}
stock: {foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [300, 300]}}
forms: {}
parts:
  base: {kind: disc, stock: foam, radius: 60 * scale, at: {normal: z}}
"""
STEP = "  part: {kind: solid, stock: foam, step: part.step, layers: 2, at: {origin: [0, 0, 6], normal: z}, lies_on: [base]}\n"
CODE = "  part: {kind: solid, stock: foam, code: part.py, args: {width: width}, layers: 2, at: {origin: [0, 0, 6], normal: z}, lies_on: [base]}\n"
PYTHON = """\
import cadquery as cq

def solid(width):
    return cq.Workplane().rect(width, 50).extrude(12).faces(">Z").workplane().hole(20)
"""


def written(folder, part):
    path = folder / "own.yaml"
    path.write_text(HEAD + part, "utf-8")
    return path


def in_step_file(folder, solid):
    cq.exporters.export(cq.Workplane(solid), str(folder / "part.step"))


def ring(outer, inner, height):
    return cq.Solid.makeCylinder(outer, height).cut(cq.Solid.makeCylinder(inner, height))


def holds(folder, area):
    """The pack is whole, and its record, its model and its templates agree on the part."""
    record = json.loads((folder / "pack.json").read_text("utf-8"))
    assert "only" not in record and (folder / "own-one.zip").exists()
    part = next(p for p in record["parts"] if p["id"] == "part")
    assert (part["quantity"], len(part["holes"])) == (2, 1)
    assert part["area"] == pytest.approx(area, rel=2e-3)  # arcs are drawn as chords
    assert {p["part"] for sheet in record["sheets"] for p in sheet["placed"]} == {"base", "part"}
    assert any("part" in step["parts"] for step in record["steps"] if "base" in step["parts"])
    stem = f"templates/{part['label']}-part"
    assert {f"{stem}.svg", f"{stem}.dxf"} <= {file["path"] for file in record["files"]}
    solids = cq.importers.importStep(str(folder / "model" / "prop.step")).solids().vals()
    volumes = sorted(solid.Volume() for solid in solids)
    assert volumes == pytest.approx(sorted([math.pi * 60**2 * 6, area * 12]), rel=1e-6)


def test_a_solid_from_a_step_file(tmp_path, capsys):
    in_step_file(tmp_path, ring(40, 25, 12))
    path = written(tmp_path, STEP)
    assert main(["build", str(path), "--out", str(tmp_path / "out")]) == 0, capsys.readouterr().err
    holds(tmp_path / "out" / "own" / "one", math.pi * (40**2 - 25**2))


def test_a_solid_of_own_code(tmp_path, capsys):
    (tmp_path / "part.py").write_text(PYTHON, "utf-8")
    path = written(tmp_path, CODE)
    call = ["build", str(path), "--out", str(tmp_path / "out")]
    assert main(call) == 1
    error = capsys.readouterr().err
    assert "part.py, which is never run unasked" in error and "--run-own-code" in error
    assert len(error.splitlines()) == 1 and not (tmp_path / "out" / "own" / "one").exists()
    assert main([*call, "--run-own-code"]) == 0, capsys.readouterr().err
    holds(tmp_path / "out" / "own" / "one", 80 * 50 - math.pi * 10**2)


@pytest.mark.parametrize(
    ("part", "words"),
    [(STEP, "no stack of sheets"), (STEP.replace("layers: 2", "faces: 2"), "curved, so that no plates make it")],
)
def test_a_solid_that_is_neither_is_refused_with_the_remedy(tmp_path, capsys, part, words):
    in_step_file(tmp_path, cq.Solid.makeSphere(30, angleDegrees1=0))
    assert main(["build", str(written(tmp_path, part)), "--out", str(tmp_path / "out")]) == 1
    *_, error = capsys.readouterr().err.splitlines()  # before it, that nothing uses a parameter of it
    assert words in error and "make it a form of kind step" in error

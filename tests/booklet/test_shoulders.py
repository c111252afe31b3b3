"""A plate that lies on the step of a block and is butted against its rise."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

DESIGN = (
    head("Shoulder", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
parts:
  post:
    kind: plate
    stock: shell
    layers: 5
    outline: {polygon: {points: [[0, 0], [60, 0], [60, 20], [30, 20], [30, 26], [0, 26]]}}
    at: {origin: [0, 15, 0], normal: -y, up: z}
  deck:
    kind: plate
    stock: shell
    outline: {rectangle: {width: 100, height: 30}}
    at: {origin: [START, 0, 20], normal: z, up: y}
    after: [post]
"""
)


@pytest.mark.parametrize("gap", [0.0, 3.0])
def test_its_edge_is_glued_as_well_as_its_face(tmp_path, gap):
    path = tmp_path / "shoulder.yaml"
    path.write_text(DESIGN.replace("START", str(80.0 + gap)), encoding="utf-8")
    told = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    (line,) = [line for line in told if "Glue the deck (B)" in line]
    assert ("Push the deck (B) up against the post (A) where their edges meet" in line) == (gap == 0.0)

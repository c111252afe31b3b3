"""The starter's design at scales between its limits, at some of which a part could once not be modelled exactly."""

import pytest

from foamwright.design import load, starter
from foamwright.making import build


@pytest.mark.parametrize("scale", [0.5, 0.55, 0.7, 0.9, 1.4, 3])
def test_it_builds(tmp_path, scale):
    path = tmp_path / "lamp.yaml"
    path.write_text(starter("Lamp"), "utf-8")
    record = build(load(path, None, {"scale": scale}), only=("cut_list",)).record
    assert len(record["parts"]) == 4

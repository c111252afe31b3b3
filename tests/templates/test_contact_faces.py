"""The rims of the broad faces of parts that are bent."""

import numpy as np
import pytest

from foamwright import load
from foamwright.parts import build_prop
from foamwright.templates.contact_faces import contact_faces

TUBE = """\
format: 1
name: Tube
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0 mm}, hole: {value: HOLE}}
sizes: {one: {}}
stock: {foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [3000, 6000]}}
forms:
  tube:
    kind: revolution
    axis: x
    profile: [[0, 40 * scale], [200, 40 * scale]]
    smooth: false
    cuts:
      slit: {prism: {along: z, outline: {rectangle: {width: 500, height: 24}}, below: 0}}
      eye: {prism: {along: z, outline: {circle: {radius: hole}}, centre: [100, 0, 0], above: 0}}
parts:
  wall: {kind: panel, stock: foam, form: tube, where: {slit: outside, eye: outside}}
"""


@pytest.mark.parametrize("hole", [0.5, 1, 2.5, 10])
def test_a_hole_has_its_rim_however_small_it_is(tmp_path, hole):
    path = tmp_path / "tube.yaml"
    path.write_text(TUBE.replace("HOLE", f"{hole} mm"), encoding="utf-8")
    (wall,) = build_prop(load(path)).pieces
    for rims in contact_faces(wall):
        *_, eye = sorted(rims, key=lambda rim: -len(rim))
        around = np.linalg.norm(np.diff(eye[:, 0], axis=0), axis=1).sum()
        assert around == pytest.approx(2 * np.pi * hole, rel=0.05)

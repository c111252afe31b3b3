"""Gores round a tip of another form: each has one seam with it, wherever the tip is opened and whatever its size."""

import numpy as np
import pytest

from foamwright import Request, Stages, load
from foamwright.parts.edge_faces import EdgeFace, touch
from foamwright.parts.records import EdgeRef

NOSE = """\
format: 1
name: Nose
version: 1.0.0
licence: CC0-1.0
parameters: {{scale: {{value: {scale}}}, clearance: {{value: 0 mm}}, s: {{value: scale}}}}
sizes: {{one: {{}}}}
stock: {{foam: {{name: Foam, thickness: 6, sheet: [2000, 2000]}}}}
forms:
  nose:
    kind: revolution
    axis: z
    profile: [[-20 * s, 88 * s], [0, 84 * s], [76 * s, 62 * s], [142 * s, 32 * s], [180 * s, 14 * s]]
    cuts: {{foot: {{plane: {{normal: z}}}}, tip: {{plane: {{normal: z, at: 142 * s}}}},
      right: {{plane: {{normal: [sin({half}), cos({half}), 0]}}}}, left: {{plane: {{normal: [-sin({half}), cos({half}), 0]}}}}}}
  tip:
    {{kind: revolution, axis: z, smooth: false, profile: [[142 * s, 32 * s], [210 * s, 0]],
     cuts: {{low: {{plane: {{normal: z, at: 142 * s}}}}}}}}
parts:
  gore: {{kind: panel, stock: foam, form: nose, where: {{foot: beyond, tip: before, right: beyond, left: before}},
    flush: [foot, tip], repeat: {{around: {{count: {count}, axis: z}}}}}}
  tip: {{kind: panel, stock: foam, form: tip, where: {{low: beyond}}, flush: [low], opened: {opened}}}
"""


@pytest.mark.parametrize("opened", ["0", "180"])
@pytest.mark.parametrize(("count", "scale"), [(3, 0.4), (4, 1), (5, 0.3), (5, 0.4), (5, 3), (6, 0.6), (7, 0.5), (8, 1)])
def test_each_gore_has_one_seam_with_the_tip(tmp_path, count, scale, opened):
    (tmp_path / "nose.yaml").write_text(NOSE.format(count=count, scale=scale, half=180 / count, opened=opened))
    prop = Stages(Request(load(tmp_path / "nose.yaml", "one"))).record("prop")
    meeting = [seam for seam in prop.seams if {seam.a.part, seam.b.part} == {"gore", "tip"}]
    halved = opened == "0" or count % 2 == 0  # where it is opened in the middle of a gore, each is marked as that one
    assert sum(seam.copies for seam in meeting) == count * (1 + halved)


def test_a_place_where_a_face_runs_back_into_itself_is_at_its_beginning_or_at_its_end():
    """Of a line across there some points are nearest to the last stretch and others to the first."""
    angle = np.linspace(0.0, 2 * np.pi, 103)
    rings = [np.column_stack([r * np.cos(angle), r * np.sin(angle), np.zeros(103)]) for r in (10.0, 16.0)]
    face = EdgeFace(None, EdgeRef("tip", "low"), *rings, closed=True)
    line = np.array([[[10.0, -0.02, 0.0], [16.0, 0.02, 0.0]]])
    at = touch(line, face).at[0]
    assert min(at, 102.0 - at) < 0.1

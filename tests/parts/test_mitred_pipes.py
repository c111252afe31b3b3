"""Panels of two forms that meet face to face where a plane cuts both are sewn as those of one form are."""

from pathlib import Path

import numpy as np
import pytest
from scipy.special import ellipe

from foamwright.design import load
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten

ELBOW = """\
format: 1
name: Elbow
version: 1.0.0
licence: CC0-1.0
parameters: {{scale: {{value: {scale}}}, clearance: {{value: 1 mm}}}}
sizes: {{one: {{}}}}
stock: {{foam: {{name: Foam, thickness: {thickness}, sheet: [2000, 2000], k: 0.5}}}}
forms:
  rise:
    kind: revolution
    axis: z
    smooth: false
    profile: &profile [[-150 * scale, 50 * scale], [150 * scale, 50 * scale]]
    cuts: &cuts {{mitre: {{plane: {{normal: [1, 0, {lean}]}}}}, half: {{plane: {{normal: y}}}}}}
  run: {{kind: revolution, axis: x, smooth: false, profile: *profile, cuts: *cuts}}
parts:
  up: {{kind: panel, stock: foam, form: rise, where: {{mitre: before, half: beyond}}, flush: [mitre], mirror: y}}
  along: {{kind: panel, stock: foam, form: run, where: {{mitre: before, half: beyond}}, flush: [mitre], mirror: y}}
"""


def laid_flat(folder: Path, scale: float, thickness: float, lean: float = 1.0):
    path = folder / "elbow.yaml"
    path.write_text(ELBOW.format(scale=scale, thickness=thickness, lean=lean), "utf-8")
    return section_and_flatten(build_model(build_prop(load(path))))


@pytest.mark.parametrize(("scale", "thickness"), [(0.5, 2), (1, 6), (3, 10)])
def test_the_mitre_of_two_pipes_is_a_seam_as_long_as_half_an_ellipse(tmp_path, scale, thickness):
    """Cut at 45 degrees, a pipe of radius r is an ellipse of half axes r and r sqrt(2); its perimeter is 4 a E(m), m = 1 - b^2 / a^2
    (M. Abramowitz and I. Stegun, "Handbook of Mathematical Functions", 17.3, from memory; E by scipy)."""
    found = laid_flat(tmp_path, scale, thickness)
    (mitre,) = [seam for seam in found.seams if {seam.part_a, seam.part_b} == {"up", "along"}]
    body = found.pattern("up").piece.body
    radius = 50 * scale + body.inner_offset + 0.5 * thickness
    half = 2.0 * radius * np.sqrt(2.0) * ellipe(0.5)
    assert mitre.length_a == pytest.approx(mitre.length_b, abs=0.01)
    assert mitre.length_a == pytest.approx(half, rel=1e-3)
    ticks = [next(e for e in found.pattern(part).edges if e.id == "mitre").ticks for part in ("up", "along")]
    assert len(ticks[0]) == len(ticks[1]) > 0


def test_pipes_that_meet_and_are_not_cut_to_one_face_are_no_seam(tmp_path):
    assert not any({s.part_a, s.part_b} == {"up", "along"} for s in laid_flat(tmp_path, 1, 6, lean=0.6).seams)

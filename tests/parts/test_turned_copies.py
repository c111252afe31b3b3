"""Panels repeated around an axis are sewn to their own copies, and every seam is counted."""

import pytest

from foamwright.design.load import load
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten

DESIGN = """
format: 1
name: Drum
version: 1.0.0
licence: CC0-1.0
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
sizes: {one: {}}
stock:
  foam: {name: Foam, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
forms:
  drum:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 120 * scale], [90 * scale, 80 * scale]]
    cuts:
      first: {plane: {normal: y, at: 0}}
      second: {plane: {normal: [-sin(60), cos(60), 0], at: 0}}
      third: {plane: {normal: [-sin(120), cos(120), 0], at: 0}}
parts:
"""


def sector(part, where, copies):
    return f"  {part}: {{kind: panel, stock: foam, form: drum, where: {{{where}}}, {copies}}}\n"


def prop(tmp_path, *parts):
    path = tmp_path / "drum.yaml"
    path.write_text(DESIGN + "".join(parts), "utf-8")
    return build_prop(load(path))


def test_all_the_way_round_every_copy_meets_the_next(tmp_path):
    whole = prop(
        tmp_path,
        sector("side", "first: beyond, second: before", "repeat: {around: {count: 6, axis: z}}"),
    )
    (seam,) = whole.seams
    assert {(seam.a.part, seam.a.edge), (seam.b.part, seam.b.edge)} == {("side", "first"), ("side", "second")}
    assert seam.copies == 6 and seam.reversed_b
    (flat,) = section_and_flatten(build_model(whole)).seams
    # the slant height of the cone through the middle of the foam
    assert (flat.length_a, flat.length_b) == pytest.approx(2 * ((40**2 + 90**2) ** 0.5,), abs=0.05)


def test_the_last_copy_of_a_row_meets_another_part(tmp_path):
    """Five sixths of the way round in four copies; the door, mirrored, closes both ends."""
    whole = prop(
        tmp_path,
        sector("door", "first: beyond, second: before", "mirror: y"),
        sector("side", "second: beyond, third: before", "repeat: {around: {count: 4, axis: z, angle: 180}}"),
    )
    found = {frozenset([(s.a.part, s.a.edge), (s.b.part, s.b.edge)]): s.copies for s in whole.seams}
    assert found == {
        frozenset([("door", "first")]): 1,
        frozenset([("door", "second"), ("side", "second")]): 1,
        frozenset([("door", "second"), ("side", "third")]): 1,
        frozenset([("side", "second"), ("side", "third")]): 3,
    }
    lengths = [
        length for seam in section_and_flatten(build_model(whole)).seams for length in (seam.length_a, seam.length_b)
    ]
    assert max(lengths) - min(lengths) < 0.25

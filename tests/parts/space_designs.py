"""Designs of single parts for the tests of parts in space, written to a file and loaded as any design is."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from foamwright.design.load import load
from foamwright.flatten.records import Patterns
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten

HEAD = """\
format: 1
name: Try
version: 1.0.0
licence: CC0-1.0
units: mm
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
  size: {value: 100 mm * scale}
sizes: {one: {}}
stock:
  foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [600, 1200]}
  skin: {name: Foam 2 mm, thickness: 2 mm, sheet: [600, 1200], strain_limit: 0.06}
  dowel: {name: Dowel 10 mm, thickness: 10 mm, sheet: [10, 1000]}
forms:
  cone:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 100], [120, 40]]
    cuts: {low: {plane: {normal: z, at: 10}}, high: {plane: {normal: z, at: 100}}}
  peak:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 90], [120, 0]]
    cuts: {low: {plane: {normal: z, at: 10}}, middle: {plane: {normal: y}}}
  tube:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 50], [120, 50]]
    cuts:
      low: {plane: {normal: z, at: 10}}
      high: {plane: {normal: z, at: 100}}
      above: {plane: {normal: z, at: 200}}
      saddle: {form: {form: ball}}
      hole: {prism: {outline: {circle: {radius: 15}}, along: y, centre: [0, 0, 60], above: 0}}
      through: {prism: {outline: {circle: {radius: 15}}, along: y, centre: [0, 0, 60]}}
  pipe:
    kind: revolution
    axis: z
    origin: [30, 0, 0]
    smooth: false
    profile: [[0, 25], [120, 25]]
    cuts: {high: {plane: {normal: z, at: 110}}, saddle: {form: {form: ball}}}
  ball:
    kind: superellipsoid
    centre: [0, 0, 0]
    radii: [80, 80, 80]
    axis: z
    cuts:
      belt: {plane: {normal: z, at: 20}}
      cap: {plane: {normal: z, at: 60}}
      middle: {plane: {normal: y}}
      front: {plane: {normal: x, at: 40}}
parts:
  block: {kind: disc, stock: foam, radius: 5 * scale, at: {origin: [0, 0, -900], normal: z}}
"""


def design(text: str):
    with TemporaryDirectory() as folder:
        path = Path(folder) / "try.yaml"
        path.write_text(HEAD + text, "utf-8")
        return load(path)


@cache
def patterns(text: str) -> Patterns:
    """All parts of the design with `text` as its parts, laid flat."""
    return section_and_flatten(build_model(build_prop(design(text))))


def edge(found: Patterns, part: str, name: str):
    return next(e for e in found.pattern(part).edges if e.id == name)

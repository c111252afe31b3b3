"""A scan of a real thing cut into panels: the Stanford bunny, as the npm package `bunny` carries it.

Run as `python -m tests.benchmarks.scan`; needs npm and the network once. Prints for every box of space between
the cuts whether its panel builds, how much the foam is strained without darts, and how well the seams match in space.
"""

from __future__ import annotations

import dataclasses
import json
import re
import subprocess
import tarfile
import tempfile
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import trimesh

from foamwright.design.load import load
from foamwright.errors import BuildError
from foamwright.flatten.panels import flatten_panels, panel_pattern
from foamwright.geometry import arc_length
from foamwright.parts import build_prop

CUTS = {"x": (-110, 60), "y": (0,), "z": (40, 160, 280)}  # mm, the bunny standing 580 mm high
DESIGN = """
format: 1
name: Scan
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0.5 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam, thickness: 6 mm, sheet: [1000 mm, 1000 mm], strain_limit: 1}}
forms:
  scan:
    kind: mesh
    file: scan.ply
    scale: 60 * scale
    turn: [90, 0, 0]
    smoothing: 60 mm
    cuts:
"""


def fetch(folder: Path) -> None:
    """The mesh of the package as scan.ply in `folder`."""
    name = subprocess.run(
        ["npm", "pack", "--silent", "bunny@1.0.1"], cwd=folder, check=True, capture_output=True, text=True
    ).stdout.split()[-1]
    with tarfile.open(folder / name) as archive:
        text = archive.extractfile("package/index.js").read().decode()
    positions, cells = (
        np.array(json.loads(re.search(rf"exports\.{key}\s*=\s*(\[\[.*?\]\])", text, re.DOTALL).group(1)))
        for key in ("positions", "cells")
    )
    trimesh.Trimesh(positions, cells, process=False).export(folder / "scan.ply")


def boxes():
    """(id, where) of every box between neighbouring cuts; open to the outside at both ends of x and y."""
    spans = {}
    for axis, at in CUTS.items():
        names = [f"{axis}{k}" for k in range(len(at))]
        between = [{a: "beyond", b: "before"} for a, b in pairwise(names)]
        spans[axis] = [{names[0]: "before"}, *between, {names[-1]: "beyond"}]
    for i, x in enumerate(spans["x"]):
        for j, y in enumerate(spans["y"]):
            for k, z in enumerate(spans["z"]):
                yield f"p{i}{j}{k}", x | y | z


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fetch(folder)
        lines = [
            f"      {a}{k}: {{plane: {{normal: {a}, at: {v}}}}}" for a, at in CUTS.items() for k, v in enumerate(at)
        ]
        lines.append("parts:")
        for i, where in boxes():
            sides = ", ".join(f"{cut}: {side}" for cut, side in where.items())
            lines.append(f"  {i}: {{kind: panel, stock: foam, form: scan, laid: inside, where: {{{sides}}}}}")
        path = folder / "scan.yaml"
        path.write_text(DESIGN + "\n".join(lines))
        design = load(path)
        began, good = time.perf_counter(), []
        for part in design.parts:
            try:
                build_prop(dataclasses.replace(design, parts=(part,)))
                good.append(part)
            except BuildError as error:
                print(f"{part.id}: {str(error).split(': ', 1)[1]}")
        print(f"one by one: {time.perf_counter() - began:.1f} s")
        began = time.perf_counter()
        prop = build_prop(dataclasses.replace(design, parts=tuple(good)))
        print(f"{len(prop.pieces)} panels, {len(prop.seams)} seams in place: {time.perf_counter() - began:.1f} s")
        began = time.perf_counter()
        for piece in prop.pieces:
            (made,) = flatten_panels([piece], (), lambda *a: (), 1200).values()
            pattern = panel_pattern(made, ())
            strain = pattern.strain
            print(
                f"{piece.id}: {pattern.area:8.0f} mm2, strain {strain.mean:.3f} mean, {strain.p95:.3f} p95, "
                f"{strain.max:.3f} max"
            )
        print(f"flat: {time.perf_counter() - began:.1f} s")
        lengths = {(p.id, e.id): arc_length(e.points)[-1] for p in prop.pieces for e in p.body.edges}
        gaps = [abs(lengths[s.a.part, s.a.edge] - lengths[s.b.part, s.b.edge]) for s in prop.seams]
        print(f"in space the two edges of a seam differ by {max(gaps):.3f} mm at most")


if __name__ == "__main__":
    main()

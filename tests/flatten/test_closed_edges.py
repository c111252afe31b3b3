"""Edges that run all round a panel, or an opening in it, and have no neighbour: they begin where they end."""

import json

import numpy as np
import pytest

from foamwright.design import load
from foamwright.flatten.faces import Stretch, joined
from foamwright.geometry import chord_length
from foamwright.making import Request, Stages
from foamwright.proof.bench.foam import read_foam
from tests.classes.props import HEAD

LID = """
forms:
  dome: {kind: revolution, axis: z, profile: [[-2 * s, 41 * s], [0, 40 * s], [2 * s, 33 * s], [3.5 * s, 20 * s], [4 * s, 0]],
    cuts: {rim: {plane: {normal: z, at: 0}}}}
parts:
  lip: {kind: ring, stock: foam, outer_radius: 50 * s, inner_radius: 30 * s, at: {origin: [0, 0, 0], normal: -z}}
  lid: {kind: panel, stock: soft, form: dome, where: {rim: beyond}, flush: [rim], rests_on: [lip]}
"""
SOFT = "  soft: {name: Soft foam, thickness: 6 mm, strain_limit: 0.09, sheet: [3000, 6000]}\n"


@pytest.mark.parametrize("scale", [0.6, 0.9, 3])
def test_a_round_lid_is_round_where_its_edge_begins_too(tmp_path, scale):
    """What turns about an axis is a circle when it is laid flat; its edge has that circle's length, wherever it begins."""
    path = tmp_path / "lid.yaml"
    path.write_text(HEAD.replace("scale: {value: 1}", f"scale: {{value: {scale}}}") + SOFT + LID, "utf-8")
    files = Stages(Request(load(path), prove=False)).pack(("template_files",)).files
    record = json.loads(files["pack.json"])
    (edge,) = next(part for part in record["parts"] if part["id"] == "lid")["edges"]
    assert edge["ends"][0] == edge["ends"][1]
    lid = read_foam(files, record).parts["lid"]
    for (ring,) in (lid.rings, lid.other_rings):
        away = np.linalg.norm(ring - ring.mean(axis=0), axis=1)
        assert np.ptp(away) < 0.05 * max(1.0, scale)
        assert np.abs(np.diff(away[np.arange(-3, 3)])).max() < 0.01  # where the line begins and ends
    assert lid.edges[0].length == pytest.approx(2 * np.pi * np.linalg.norm(ring_of(lid), axis=1).mean(), rel=2e-4)


def ring_of(part):
    return part.rings[0] - part.rings[0].mean(axis=0)


def test_a_loop_with_one_corner_has_it_on_the_line_of_the_other_face_as_well():
    """Two straight lines at a right angle and a half circle between their ends, moved inwards by 2 mm: the lines meet
    2 sqrt(2) mm behind the corner."""
    round_ = np.linspace(-np.pi / 4, np.pi * 5 / 4, 200)[1:-1]
    legs = np.linspace([0.0, -np.sqrt(2) * 20], [np.sqrt(0.5) * 20, -np.sqrt(0.5) * 20], 40)
    arc = 20 * np.column_stack([np.cos(round_), np.sin(round_)])
    line = np.vstack([legs, arc, (legs * (-1, 1))[::-1]])
    tangent = np.gradient(line, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1)[:, None]
    inwards = line + 2 * np.column_stack([-tangent[:, 1], tangent[:, 0]])
    assert np.linalg.norm(inwards[0] - inwards[-1]) > 2.5
    (made,) = joined([Stretch(inwards, chord_length(inwards))])
    corner = [0.0, -np.sqrt(2) * 20 + 2 * np.sqrt(2)]
    assert made.points[0] == pytest.approx(corner, abs=0.02) and made.points[-1] == pytest.approx(corner, abs=0.02)
    assert made.reached[0] == pytest.approx(2.0, abs=0.02) and len(made.points) == len(made.reached)
    assert np.all(np.diff(made.reached) > 0)

"""The solids held against what the parts were built from: what agrees passes, what does not is named."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.section.build import section_and_flatten
from foamwright.section.checks import differences
from tests.section.test_sections_of_solids import built


def test_the_lines_of_the_solids_are_those_that_the_parts_began_with():
    assert built()[1].differences.section < 1e-6


def test_a_solid_that_is_not_its_part_is_refused():
    model, found = built()
    shelf = found.pattern("shelf")
    body = replace(shelf.piece.body, outline=shelf.piece.body.outline * (1.01, 1.0))
    wrong = replace(shelf, piece=replace(shelf.piece, body=body))
    with pytest.raises(BuildError, match=r"part shelf: its solid and its outline differ by 0\.8"):
        differences(model, [wrong])


def test_bands_and_panels_agree_with_their_solids(tmp_path):
    """A hoop's length is 2 pi r at the middle of its thickness; the panel's edges are those of a spheroid."""
    from foamwright.design.load import load
    from foamwright.parts import build_prop

    path = tmp_path / "try.yaml"
    path.write_text(
        "format: 1\nname: Try\nversion: 1.0.0\nlicence: CC0-1.0\n"
        "parameters: {scale: {value: 1}, clearance: {value: 1}}\nsizes: {one: {}}\n"
        "stock: {foam: {name: Foam, thickness: 6 mm, sheet: [600, 1200]}}\n"
        "forms:\n  ball:\n    kind: superellipsoid\n    radii: [100 * scale, 100, 80]\n    axis: z\n"
        "    cuts: {low: {plane: {normal: z, at: 10}}, high: {plane: {normal: z, at: 40}}, side: {plane: {normal: y}}}\n"
        "parts:\n"
        "  wall: {kind: panel, stock: foam, form: ball, where: {low: beyond, high: before, side: beyond}, mirror: y}\n"
        "  hoop: {kind: band, stock: foam, along: {hoop: {form: ball, plane: {normal: z}}}, laid: inside, width: 20}\n",
        "utf-8",
    )
    model = build_model(build_prop(load(path)))
    found = section_and_flatten(model).differences
    assert 0.0 < found.strip < 0.01 and found.panel_edge < 0.05
    hoop = model.prototype("hoop")
    assert hoop.volume / 6 / 20 == pytest.approx(2 * np.pi * 97, abs=0.02)
    longer = replace(model, prototypes=tuple(replace(p, volume=1.01 * p.volume) for p in model.prototypes))
    with pytest.raises(BuildError, match="part hoop: its solid and its outline differ by 6"):
        section_and_flatten(longer)

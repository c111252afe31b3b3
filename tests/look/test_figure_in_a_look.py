"""The figure of a design in its first look: drawn in its place, and told where it runs into parts there."""

import io
import json

import numpy as np
import pytest
import trimesh
from PIL import Image
from test_look import BLOCKS, seen

from foamwright.look.files import files, scene_bytes
from foamwright.look.report import report, sentences

FIGURE = "figure: {name: tall doll, solids: [{cylinder: {from: [300, 0, %s], to: [300, 0, 200], radius: 10}}]}\n"


def test_a_figure_that_runs_into_a_part_is_told_with_the_depth_and_bars_no_pack(tmp_path):
    """A cylinder 20 mm thick through the upper plate, which is 10 mm thick, and 4 mm into the lower one."""
    look = seen(tmp_path, BLOCKS, more=FIGURE % 6, gap="0 mm")
    depths = {one.copy.piece.id: one.depth for one in look.figure.reaches}
    assert depths == pytest.approx({"upper": 10.0, "lower": 4.0}, abs=0.1)
    volumes = {one.copy.piece.id: abs(one.mesh.volume) for one in look.figure.reaches}
    assert volumes == pytest.approx({"upper": np.pi * 100 * 10, "lower": np.pi * 100 * 4}, rel=0.01)
    _, line = sentences(json.loads(json.dumps(report(look, ""))))
    assert line.startswith("  the figure tall doll runs into upper (1), about 10.0 mm deep, near (")
    assert line.endswith("), and into lower (1)")
    assert look.buildable and not look.overlaps


@pytest.mark.parametrize("lowest", [20, 30])
def test_a_figure_that_stands_on_a_part_or_off_it_is_not_told(tmp_path, lowest):
    look = seen(tmp_path, BLOCKS, more=FIGURE % lowest, gap="0 mm")
    assert look.figure.reaches == () and len(sentences(report(look, ""))) == 1
    assert report(look, "")["figure"] == {"name": "tall doll", "reaches": []}


def test_the_figure_is_drawn_with_its_name_and_red_where_it_runs_into_a_part(tmp_path):
    bare, clear, met = (seen(tmp_path, BLOCKS, more=figure, gap="0 mm") for figure in ("", FIGURE % 20, FIGURE % 12))
    drawn = [files(look) for look in (bare, clear, met)]
    assert [b">tall doll<" in each["look.svg"] for each in drawn] == [False, True, True]
    red = [_red(each["look.png"]) for each in drawn]
    assert red[0] == red[1] == 0 and red[2] > 200
    nodes = trimesh.load(io.BytesIO(scene_bytes(met)), file_type="glb").graph.nodes_geometry
    assert {"figure tall doll", "B Upper (1) in the figure"} <= {*nodes}


def test_a_figure_whose_file_cannot_be_read_is_told_and_the_parts_are_shown(tmp_path):
    figure = "figure: {name: doll, solids: [{mesh: {file: doll.stl, unit: mm}}]}\n"
    (tmp_path / "doll.stl").write_text("nothing of the sort")
    look = seen(tmp_path, BLOCKS, more=figure, gap="0 mm")
    assert len(look.copies) == 2 and look.figure is None and not look.buildable
    assert any("figure doll" in failure.reason for failure in look.failures)


def _red(png):
    colours = np.array(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)
    return int(((colours[..., 0] > 180) & (colours[..., 1:].max(axis=2) < 70)).sum())

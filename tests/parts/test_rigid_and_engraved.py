"""Kerf, engraving, alignment pins and worked edges. Lengths in mm."""

import io
import math

import ezdxf
import numpy as np
import pytest
import shapely
from flat_designs import design
from shapely.geometry import Polygon

from foamwright.drawing.primitives import Path, Text
from foamwright.errors import BuildError
from foamwright.model.build import build_model
from foamwright.outputs.machine import files as machine_files
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten
from foamwright.templates.draw import draw
from foamwright.templates.machine import machine_drawing

SIGN = (
    "  sign: {kind: plate, stock: acrylic, outline: {rectangle: {width: 90, height: 40}}, at: {normal: -y}, mirror: x, "
    "minus: [{circle: {radius: 2, centre: [-38, -13]}}], engrave: [{text: {value: F, height: 12, centre: [20, 0]}}], "
    "edge: {finish: rounded, size: 1.5}}\n"
)


def test_cuts_are_moved_by_half_the_kerf(tmp_path):
    pattern = section_and_flatten(build_model(build_prop(design(tmp_path, SIGN)))).pattern("sign")
    by_layer = {path.layer: path.points for path in machine_drawing(pattern, False).items}
    assert np.ptp(by_layer["cut"], axis=0) == pytest.approx((90.2, 40.2))
    hole = Polygon(by_layer["cut-inner"])
    assert math.sqrt(hole.area / math.pi) == pytest.approx(2.0 - 0.1, abs=0.01)
    assert np.ptp(pattern.outline, axis=0) == pytest.approx((90, 40))  # the template stays true


def test_engraving_reads_from_outside_and_is_reflected_for_a_mirrored_copy(tmp_path):
    pattern = section_and_flatten(build_model(build_prop(design(tmp_path, SIGN)))).pattern("sign")

    def middle(mirrored):
        paths = [p for p in machine_drawing(pattern, mirrored).items if p.layer == "engrave"]
        return shapely.union_all([Polygon(p.points) for p in paths]).envelope.centroid.x

    assert middle(False) == pytest.approx(20.0, abs=0.01) and middle(True) == pytest.approx(-20.0, abs=0.01)


def test_machine_files_of_both_hands(tmp_path):
    files = machine_files(section_and_flatten(build_model(build_prop(design(tmp_path, SIGN)))))
    assert sorted(files) == [f"machine/A-sign{hand}.{kind}" for hand in ("-mirrored", "") for kind in ("dxf", "svg")]
    drawing = ezdxf.read(io.StringIO(files["machine/A-sign.dxf"].decode()))
    layers = {entity.dxf.layer for entity in drawing.modelspace()}
    assert layers == {"cut", "cut-inner", "engrave"}
    assert b"cut 1, Acrylic 3 mm, kerf 0.2 mm" in files["machine/A-sign.svg"]


def test_foam_has_no_machine_file(tmp_path):
    parts = "  a: {kind: disc, stock: foam, radius: 20, at: {normal: z}}\n"
    assert machine_files(section_and_flatten(build_model(build_prop(design(tmp_path, parts))))) == {}


def said(tmp_path, parts):
    (template,) = draw(section_and_flatten(build_model(build_prop(design(tmp_path, parts)))))
    items = template.drawing.flat
    return [i.value for i in items if isinstance(i, Text)], [i for i in items if isinstance(i, Path)]


def test_a_template_shows_the_engraving_and_tells_the_edge(tmp_path):
    texts, paths = said(tmp_path, SIGN)
    assert "dotted lines: engrave on the other face, the outside" in texts
    assert "then round the edges by sanding, radius 1.5 mm; what is glued stays square" in texts
    assert texts.index("cut all edges square") < texts.index(next(t for t in texts if t.startswith("then round")))
    engraved = shapely.union_all([Polygon(p.points) for p in paths if p.layer == "engrave"])
    assert engraved.envelope.centroid.x == pytest.approx(-20.0, abs=0.01)  # seen from the inside


PILLAR = (
    "  pillar: {{kind: disc, stock: thick, layers: {n}, radius: 40, at: {{normal: z}}, pins: [[{x}, 0], [-25, 10]]}}\n"
)


def test_pins_are_marked_on_every_layer(tmp_path):
    texts, paths = said(tmp_path, PILLAR.format(n=3, x=25))
    circles = [p.points for p in paths if p.layer == "pin" and p.closed]
    assert [tuple(np.round(c.mean(axis=0), 6)) for c in circles] == [(-25.0, 0.0), (25.0, 10.0)]
    assert np.ptp(circles[0], axis=0) == pytest.approx((3.0, 3.0))
    assert "line the layers up on 3 mm pins at the crosses" in texts


MISTAKES = {
    "one layer": (PILLAR.format(n=1, x=25), "pins in a part of one layer"),
    "beside the part": (PILLAR.format(n=2, x=39), "a pin at \\[39, 0\\], which is not on the part"),
    "engraving": (SIGN.replace("centre: [20, 0]", "centre: [44, 0]"), "runs off the part"),
}


@pytest.mark.parametrize("case", MISTAKES)
def test_mistakes_name_the_part(tmp_path, case):
    parts, words = MISTAKES[case]
    with pytest.raises(BuildError, match=f"part (pillar|sign): .*{words}"):
        build_prop(design(tmp_path, parts))


def test_a_hole_that_the_cut_closes_is_refused(tmp_path):
    parts = "  a: {kind: disc, stock: acrylic, radius: 20, at: {normal: z}}\n"
    prop = design(tmp_path, SIGN.replace("radius: 2,", "radius: 0.09,"))
    with pytest.raises(BuildError, match=r"a hole that a cut of 0.2 mm closes"):
        machine_files(section_and_flatten(build_model(build_prop(prop))))
    assert len(machine_files(section_and_flatten(build_model(build_prop(design(tmp_path, parts)))))) == 2


@pytest.mark.parametrize("finish", ["rounded", "chamfered"])
@pytest.mark.parametrize(("layers", "size", "fits"), [(1, 6, True), (1, 6.5, False), (2, 12, True), (2, 13, False)])
def test_no_more_is_taken_off_an_edge_than_its_foam_is_thick(tmp_path, finish, layers, size, fits):
    edge = f"edge: {{finish: {finish}, size: {size}}}"
    text = f"  a: {{kind: disc, stock: foam, radius: 40, layers: {layers}, at: {{normal: z}}, {edge}}}\n"
    if fits:
        assert build_prop(design(tmp_path, text)).piece("a").edge_finish.size == size
        return
    with pytest.raises(
        BuildError, match=rf"part a: an edge {finish} by {size} mm, of foam {6 * layers} mm thick; expected"
    ):
        build_prop(design(tmp_path, text))

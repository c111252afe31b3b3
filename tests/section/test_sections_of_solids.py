"""Cut lines against formulas, against CadQuery's own sections of the solids, and against the written model.

Mitres: an edge bevelled by b lies t tan b further in on the smaller face (joiners' tables). Volumes: the prismatoid
formula (A + 4 M + B) h / 6 of handbooks of mensuration. Regular polygons: side = 2 apothem tan(180 / n).
"""

from __future__ import annotations

import io
import math
import subprocess
import sys
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import cadquery as cq
import numpy as np
import pytest
import shapely
import trimesh

from foamwright.design.load import load
from foamwright.model.build import build_model
from foamwright.model.glb import TO_GLTF
from foamwright.model.gltf import gltf_bytes
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
  clearance: {value: 0 mm}
sizes: {one: {}}
stock:
  foam: {name: Foam 10 mm, thickness: 10 mm, sheet: [600, 1200]}
  thin: {name: Foam 6 mm, thickness: 6 mm, sheet: [600, 1200]}
forms:
  cone: {kind: revolution, axis: z, smooth: false, profile: [[0, 100], [120, 40]]}
  egg: {kind: superellipsoid, centre: [0, 0, 0], radii: [80, 60, 70], axis: z}
parts:
"""
PARTS = """\
  hexagon: {kind: prism, stock: foam, sides: 6, width: 200, height: 80, floor: mitred, roof: open, at: {normal: z}}
  chest: {kind: box, stock: thin, size: [120, 80, 60], joint: mitred, at: {origin: [500, 0, 0], normal: z}}
  shelf: {kind: bulkhead, stock: foam, form: cone, plane: {normal: z, at: 40}, inside: []}
  lid: {kind: bulkhead, stock: foam, form: cone, plane: {normal: -z, at: -90}, inside: []}
  deck: {kind: bulkhead, stock: foam, form: egg, plane: {normal: z, at: 25}, inside: []}
  ring:
    kind: ring
    stock: foam
    outer_radius: 50 * scale
    inner_radius: 30
    at: {origin: [0, 500, 0], normal: [1, 2, 2]}
  leaning:
    kind: plate
    stock: thin
    outline: {polygon: {points: [[0, 0], [80, 60], [50, 100], [-30, 40]]}}
    at: {origin: [0, -500, 0], normal: [2, 1, 2]}
  pierced:
    kind: plate
    stock: foam
    outline: {superellipse: {width: 150, height: 90, exponent: 3}, minus: [{circle: {radius: 12, centre: [20, 5]}}]}
    at: {origin: [0, 900, 0], normal: [3, -1, 2], up: [0, 0, 1]}
"""


@cache
def built():
    with TemporaryDirectory() as folder:
        path = Path(folder) / "try.yaml"
        path.write_text(HEAD + PARTS, "utf-8")
        model = build_model(build_prop(load(path)))
    return model, section_and_flatten(model)


def flat_parts():
    return [p.piece.id for p in built()[1].patterns]


def spans(ring):
    return sorted(np.ptp(ring, axis=0).tolist())


def radius(ring):
    return np.linalg.norm(ring - (ring.max(axis=0) + ring.min(axis=0)) / 2, axis=1)


def test_faces_of_a_hexagon_are_as_wide_as_the_formula_says():
    """200 across its flats: a side is 2 * 100 tan 30 outside and 2 * 90 tan 30 inside walls of 10 mm."""
    side = built()[1].pattern("hexagon_side")
    assert spans(side.other_outline) == pytest.approx([80, 200 * math.tan(math.pi / 6)], abs=1e-4)
    assert spans(side.outline) == pytest.approx([70, 180 * math.tan(math.pi / 6)], abs=1e-4)
    floor = built()[1].pattern("hexagon_floor")
    assert min(spans(floor.outline)) == pytest.approx(180, abs=1e-4)
    assert min(spans(floor.other_outline)) == pytest.approx(200, abs=1e-4)


def test_faces_of_a_mitred_box_are_two_thicknesses_smaller_inside():
    for part, size in (("top_bottom", (80, 120)), ("front_back", (60, 80)), ("left_right", (60, 120))):
        pattern = built()[1].pattern(f"chest_{part}")
        assert spans(pattern.other_outline) == pytest.approx(size, abs=1e-4)
        assert spans(pattern.outline) == pytest.approx([s - 12 for s in size], abs=1e-4)
        assert sorted(b for e in pattern.edges for b in e.bevel) == pytest.approx([45.0] * 4)


@pytest.mark.parametrize(("part", "inside", "outside"), [("shelf", 80, 75), ("lid", 55, 60)])
def test_a_bulkhead_in_a_cone_fits_on_both_of_its_faces(part, inside, outside):
    """The cone narrows by 1 mm in 2: the face at the plane and the face 10 mm on have the cone's own radii there.

    Its bevel has the slope of the wall, and the sign that says which face is the smaller one.
    """
    pattern = built()[1].pattern(part)
    assert radius(pattern.outline) == pytest.approx(np.full(len(pattern.outline), inside), abs=0.02)
    assert radius(pattern.other_outline) == pytest.approx(np.full(len(pattern.other_outline), outside), abs=0.02)
    bevels = [b for e in pattern.edges for b in e.bevel]
    assert bevels == pytest.approx([math.degrees(math.atan2(outside - inside, 10))] * len(bevels), abs=0.2)


def test_a_deck_in_an_egg_follows_the_egg_on_both_faces():
    pattern = built()[1].pattern("deck")
    for ring, z in ((pattern.outline, 25), (pattern.other_outline, 35)):
        k = math.sqrt(1 - (z / 70) ** 2)
        assert spans(ring) == pytest.approx([2 * 60 * k, 2 * 80 * k], abs=0.2)


@pytest.mark.parametrize("part", flat_parts())
def test_the_volume_of_a_solid_is_that_between_its_two_lines(part):
    model, found = built()
    pattern, made = found.pattern(part), model.prototype(part)
    drawn, other = (
        shapely.Polygon(ring, holes)
        for ring, holes in ((pattern.outline, pattern.holes), (pattern.other_outline, pattern.other_holes))
    )
    pairs = list(zip((pattern.outline, *pattern.holes), (pattern.other_outline, *pattern.other_holes)))
    middle = [(a + b) / 2 for a, b in pairs]
    half = shapely.Polygon(middle[0], middle[1:])
    thickness = pattern.piece.stock.thickness
    assert made.volume == pytest.approx((drawn.area + 4 * half.area + other.area) * thickness / 6, rel=1e-3)
    assert made.exact


@pytest.mark.parametrize("part", flat_parts())
def test_the_lines_are_the_sections_that_cadquery_takes(part):
    """Sections of the solid close under each face, carried to the pattern by hand: nowhere more than 0.2 mm off."""
    model, found = built()
    pattern, made = found.pattern(part), model.prototype(part)
    body, thickness = pattern.piece.body, pattern.piece.stock.thickness
    x, _, z = (cq.Vector(*body.frame.axes[:, k].tolist()) for k in range(3))
    rings = (pattern.outline, *pattern.holes), (pattern.other_outline, *pattern.other_holes)
    for depth, lines in ((1e-3, rings[0]), (thickness - 1e-3, rings[1])):
        origin = cq.Vector(*body.frame.origin.tolist()) + z * depth
        cut = cq.Workplane(cq.Plane(origin, x, z)).add(made.shape).section(0.0)
        edges = [e for face in cut.vals() for e in cq.Shape.cast(face.wrapped).Edges()]
        points = np.array([p.toTuple() for e in edges for p in e.positions(np.linspace(0, 1, 200))])
        flat = (points - pattern.frame.origin) @ pattern.frame.axes[:, :2]
        line = shapely.union_all([shapely.LinearRing(ring) for ring in lines])
        assert shapely.distance(shapely.points(flat), line).max() < 0.02
        drawn = shapely.segmentize(line, 2.0)
        near = shapely.MultiPoint(flat)
        assert shapely.distance(shapely.points(shapely.get_coordinates(drawn)), near).max() < 4.0  # none is missing


@pytest.mark.parametrize("part", flat_parts())
def test_the_lines_are_the_sections_of_the_written_model(part):
    """trimesh cuts the mesh that the pack carries, close under both faces."""
    model, found = built()
    pattern = found.pattern(part)
    scene = trimesh.load(io.BytesIO(gltf_bytes(model)), file_type="glb")
    node = next(name for name in scene.graph.nodes_geometry if name == model_copy_name(model, part))
    matrix, geometry = scene.graph[node]
    mesh = scene.geometry[geometry].copy().apply_transform(np.linalg.inv(TO_GLTF) @ matrix)
    body, thickness = pattern.piece.body, pattern.piece.stock.thickness
    rings = (pattern.outline, *pattern.holes), (pattern.other_outline, *pattern.other_holes)
    place = pattern.piece.placements[0].matrix
    for depth, lines in ((0.01, rings[0]), (thickness - 0.01, rings[1])):
        origin = place[:3, :3] @ (body.frame.origin + depth * body.frame.axes[:, 2]) + place[:3, 3]
        cut = mesh.section(plane_normal=place[:3, :3] @ body.frame.axes[:, 2], plane_origin=origin)
        points = (np.vstack(cut.discrete) - place[:3, 3]) @ place[:3, :3]
        flat = (points - pattern.frame.origin) @ pattern.frame.axes[:, :2]
        line = shapely.union_all([shapely.LinearRing(ring) for ring in lines])
        assert shapely.distance(shapely.points(flat), line).max() < 0.2


def model_copy_name(model, part):
    return next(copy.name for copy in model.copies if copy.piece.id == part and copy.number == 1)


def test_a_rectangle_lies_straight_and_all_that_it_carries_turns_with_it():
    pattern = built()[1].pattern("leaning")
    sides = np.abs(np.diff(np.vstack([pattern.outline, pattern.outline[:1]]), axis=0))
    assert np.minimum(*sides.T) == pytest.approx(np.zeros(4), abs=1e-6)
    assert spans(pattern.outline) == pytest.approx([50, 100])
    forward, up = (np.array(a) for a in (pattern.forward, pattern.up))
    for arrow, way in ((forward, 0), (up, 2)):
        shown = np.eye(3)[way] @ pattern.frame.axes[:, :2]
        assert arrow == pytest.approx(shown / np.linalg.norm(shown))


def test_patterns_are_seen_from_inside():
    """One who looks along the normal, from inside, sees the plate's own x to the left."""
    pattern = built()[1].pattern("pierced")
    frame = pattern.piece.body.frame
    assert pattern.frame.axes[:, 2] == pytest.approx(-frame.axes[:, 2])
    assert np.linalg.det(pattern.frame.axes) == pytest.approx(1.0)
    (hole,) = pattern.holes
    assert hole.mean(axis=0) == pytest.approx([-20, 5], abs=1e-6)


def test_round_parts_keep_their_centre_and_their_holes():
    pattern = built()[1].pattern("ring")
    circle = pattern.fittings.round
    assert (circle.radius, circle.inner_radius, circle.centre) == (50, 30, pytest.approx((0, 0)))
    assert np.linalg.norm(pattern.outline, axis=1) == pytest.approx(np.full(len(pattern.outline), 50.0))
    assert np.linalg.norm(pattern.holes[0], axis=1) == pytest.approx(np.full(len(pattern.holes[0]), 30.0))
    assert pattern.area == pytest.approx(math.pi * (50**2 - 30**2))


def test_every_face_of_a_solid_has_one_name():
    model, _ = built()
    for made in model.prototypes:
        named = [face for faces in made.faces.values() for face in faces]
        assert len(named) == len(made.shape.Faces())
        assert sum(face.Area() for face in named) == pytest.approx(made.shape.Area(), rel=1e-6)


def test_there_are_no_templates_without_the_model():
    program = (
        "import sys\n"
        "sys.modules['OCP'] = sys.modules['cadquery'] = None\n"
        "from foamwright import build, load\n"
        "build(load('designs/harbour-lantern.yaml'), only=['templates'])\n"
    )
    folder = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=folder, env={"PYTHONPATH": str(folder / "generator")}, capture_output=True
    )
    assert done.returncode != 0 and b"ModuleNotFoundError: " in done.stderr

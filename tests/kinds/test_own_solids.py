"""Parts that somebody modelled: cut lines and plates against formulas, and what is refused.

A regular tetrahedron's faces meet at arccos(1/3) (Coxeter, Regular Polytopes, table I), so that plates on it turn by
180 degrees less that, and their inner faces are smaller by t tan of half the turn at each edge.
"""

from __future__ import annotations

import json
import math

import cadquery as cq
import numpy as np
import pytest
import shapely

from foamwright import build, load
from foamwright.errors import BuildError, DesignError
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten

HEAD = """\
format: 1
name: Own solids
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 1}, width: {value: 80 * scale}}
sizes: {one: {}, large: {set: {scale: 1.5}}}
stock: {foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [600, 1000]}}
forms: {}
parts:
  base: {kind: disc, stock: foam, radius: 30 * scale, at: {origin: [0, 0, -200], normal: z}}
"""
CODE = """\
import cadquery as cq

def solid(width, holes):
    made = cq.Workplane().rect(width, 50).extrude(18).edges("|Z").fillet(10)
    return made.faces(">Z").workplane().pushPoints([(20 * k, 5) for k in range(int(holes))]).hole(8)

def fails():
    raise ValueError("no such thing")
"""
BY_CODE = (
    "  block: {kind: solid, stock: foam, code: block.py, args: {width: width, holes: 2}, layers: 3, "
    "at: {origin: [0, 0, -194], normal: z}, lies_on: [base], after: [base]}\n"
)


def written(folder, parts, size=None, code=CODE):
    (folder / "block.py").write_text(code, "utf-8")
    path = folder / "own.yaml"
    path.write_text(HEAD + parts, "utf-8")
    return load(path, size)


def step(folder, solid, name="part.step"):
    cq.exporters.export(cq.Workplane(solid), str(folder / name))


def laid_flat(design):
    model = build_model(build_prop(design, run_own_code=True))
    return model, section_and_flatten(model)


@pytest.mark.parametrize(("size", "width"), [("one", 80), ("large", 120)])
def test_a_prism_of_own_code_is_cut_from_layers(tmp_path, size, width):
    model, found = laid_flat(written(tmp_path, BY_CODE, size))
    pattern, made = found.pattern("block"), model.prototype("block")
    area = width * 50 - (4 - math.pi) * 10**2 - 2 * math.pi * 4**2
    assert pattern.piece.quantity == 3 and made.exact
    assert made.volume == pytest.approx(area * 18, rel=1e-6)
    assert pattern.area == pytest.approx(area, rel=1e-3)  # arcs are drawn as chords
    assert np.ptp(pattern.outline, axis=0) == pytest.approx([width, 50])
    assert len(pattern.edges) == 8 + 2 and not any(any(e.bevel) for e in pattern.edges)
    centres = sorted(hole.mean(axis=0).round(6).tolist() for hole in pattern.holes)
    assert centres == [[-20, 5], [0, 5]]  # seen from inside, with x turned
    assert set(made.faces) == {
        "inside",
        "outside",
        "hole_1",
        "hole_2",
        *(f"side_{k}" for k in range(1, 9)),
    }


def test_a_pack_with_own_code_is_built_only_when_asked_for(tmp_path):
    design = written(tmp_path, BY_CODE)
    with pytest.raises(BuildError, match=r"own\.yaml:.*block\.py.*never run unasked.*--run-own-code"):
        build(design, only=["cut-list"])
    files = build(design, only=["templates", "model", "cut-list"], run_own_code=True).files
    record = json.loads(files["pack.json"])
    block = next(p for p in record["parts"] if p["id"] == "block")
    assert block["quantity"] == 3 and len(block["holes"]) == 2
    assert "templates.pdf" in files and "model/prop.step" in files


def test_checking_a_design_runs_none_of_its_code(tmp_path):
    trap = f"open({str(tmp_path / 'was_run')!r}, 'w')\n"
    design = written(tmp_path, BY_CODE, code=trap)
    with pytest.raises(BuildError):
        build_prop(design)
    assert not (tmp_path / "was_run").exists()
    with pytest.raises(BuildError, match="no function 'solid'"):
        build_prop(design, run_own_code=True)
    assert (tmp_path / "was_run").exists()


def test_the_code_is_an_input_of_the_pack(tmp_path):
    first = written(tmp_path, BY_CODE).digest
    assert written(tmp_path, BY_CODE, code=CODE + "\n").digest != first


def test_a_step_file_with_a_ring_of_two_sheets(tmp_path):
    ring = cq.Solid.makeCylinder(40, 12).cut(cq.Solid.makeCylinder(25, 12))
    step(tmp_path, ring)
    part = "  ring: {kind: solid, stock: foam, step: part.step, layers: 2, at: {origin: [5, 6, 7], normal: x}}\n"
    model, found = laid_flat(written(tmp_path, part))
    pattern = found.pattern("ring")
    for line, radius in ((pattern.outline, 40), (pattern.holes[0], 25)):
        assert np.linalg.norm(line - line.mean(axis=0), axis=1) == pytest.approx(np.full(len(line), radius))
    box = model.copies[1].shape.BoundingBox()
    assert (box.xmin, box.xmax, box.ymin, box.zmin) == pytest.approx((5, 17, -34, -33), abs=0.1)
    assert cq.Shape.cast(model.prototype("ring").faces["outside"][0].wrapped).Center().x == pytest.approx(17)


def test_a_rim_of_a_few_spline_pieces_is_as_long_as_the_kernel_says(tmp_path):
    """Length and area as the kernel integrates them; chords from knot to knot would be 6 % short."""
    around = np.linspace(0, 2 * math.pi, 6)[:-1]
    leaf = cq.Workplane().spline([(50 * math.cos(a), 30 * math.sin(a)) for a in around], periodic=True).close()
    solid = leaf.extrude(6)
    step(tmp_path, solid.val())
    _, found = laid_flat(written(tmp_path, "  leaf: {kind: solid, stock: foam, step: part.step}\n"))
    foot = cq.Workplane(solid.val()).faces("<Z").val()
    outline = shapely.Polygon(found.pattern("leaf").outline)
    assert outline.length == pytest.approx(sum(edge.Length() for edge in foot.Edges()), abs=0.05)
    assert outline.area == pytest.approx(foot.Area(), rel=1e-3)


def test_plates_of_a_loft_whose_flat_faces_are_written_as_splines(tmp_path):
    """A hexagon of 60 mm sides below one of 30, 80 high. Joinery, from memory: sin(bevel) = sin(30) cos(lean)."""
    loft = cq.Workplane().polygon(6, 120).workplane(offset=80).polygon(6, 60).loft(combine=True).val()
    assert {face.geomType() for face in loft.Faces()} == {"BSPLINE", "PLANE"}
    step(tmp_path, loft)
    _, found = laid_flat(written(tmp_path, "  gem: {kind: solid, stock: foam, step: part.step, faces: 8}\n"))
    sides = [p for p in found.patterns if p.piece.id.startswith("gem") and len(p.other_outline) == 4]
    drop = (60 - 30) * math.cos(math.radians(30))  # from the middle of a lower side to that of an upper one, in plan
    slant = math.hypot(80, drop)
    bevel = math.degrees(math.asin(math.sin(math.radians(30)) * 80 / slant))
    assert len(sides) == 6
    for side in sides:
        assert shapely.Polygon(side.other_outline).area == pytest.approx((60 + 30) / 2 * slant, rel=1e-4)
        lean = math.degrees(math.atan2(drop, 80))
        expected = [bevel, bevel, (90 - lean) / 2, (90 + lean) / 2]
        assert sorted(edge.bevel[0] for edge in side.edges) == pytest.approx(expected, abs=1e-2)


def test_a_copy_reflected_or_turned_is_the_solid_again(tmp_path):
    wedge = cq.Workplane().polyline([(0, 0), (60, 0), (0, 30)]).close().extrude(6).val()
    step(tmp_path, wedge)
    part = (
        "  fin: {kind: solid, stock: foam, step: part.step, mirror: y, at: {origin: [0, 20, 0], normal: [0, 1, 1]}, "
        "repeat: {count: 2, step: [100, 0, 0]}}\n"
    )
    model, found = laid_flat(written(tmp_path, part))
    assert [c.volume for c in model.copies[1:]] == pytest.approx([60 * 30 / 2 * 6] * 4)
    assert found.pattern("fin").piece.mirrored == 2
    middles = [c.shape.Center().toTuple() for c in model.copies[1:]]
    assert sorted(round(m[1], 3) for m in middles)[:2] == [-max(round(m[1], 3) for m in middles)] * 2


def test_plates_of_a_tetrahedron(tmp_path):
    """Edge 200, walls of 6 mm: at each edge the inner face is t tan(half the turn) further in, which is an inradius
    of so much less."""
    corners = 200 / math.sqrt(8) * np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]])
    wires = [
        cq.Wire.makePolygon([cq.Vector(*corners[i]) for i in f], close=True)
        for f in ((0, 1, 2), (0, 3, 1), (0, 2, 3), (1, 3, 2))
    ]
    solid = cq.Solid.makeSolid(cq.Shell.makeShell([cq.Face.makeFromWires(w) for w in wires]))
    step(tmp_path, solid)
    model, found = laid_flat(written(tmp_path, "  tent: {kind: solid, stock: foam, step: part.step, faces: 4}\n"))
    plates = [p for p in found.patterns if p.piece.id.startswith("tent")]
    half = 90 - math.degrees(math.acos(1 / 3)) / 2
    inset = 6 * math.tan(math.radians(half))
    inradius = 200 / (2 * math.sqrt(3))
    for plate in plates:
        assert shapely.Polygon(plate.other_outline).area == pytest.approx(math.sqrt(3) / 4 * 200**2, rel=1e-6)
        small = (inradius - inset) / inradius
        assert shapely.Polygon(plate.outline).area == pytest.approx(math.sqrt(3) / 4 * (200 * small) ** 2, rel=1e-6)
        assert [b for e in plate.edges for b in e.bevel] == pytest.approx([half] * 3)
    assert len(plates) == 4 and len(found.seams) == 6
    hollow = 200**3 / (6 * math.sqrt(2)) * (1 - (1 - 6 / (200 * math.sqrt(6) / 12)) ** 3)
    assert sum(model.prototype(p.piece.id).volume for p in plates) == pytest.approx(hollow, rel=1e-6)


def test_plates_of_a_solid_with_an_inner_corner(tmp_path):
    """An L: the walls beside the inner corner are larger inside, and all together are what lies between two L's."""
    shape = cq.Workplane().polyline([(0, 0), (120, 0), (120, 50), (50, 50), (50, 120), (0, 120)]).close().extrude(60)
    step(tmp_path, shape.val())
    model, found = laid_flat(written(tmp_path, "  ell: {kind: solid, stock: foam, step: part.step, faces: 8}\n"))
    plates = [p for p in found.patterns if p.piece.id.startswith("ell")]
    bevels = sorted(b for p in plates for e in p.edges for b in e.bevel)
    assert bevels == pytest.approx([-45] * 2 + [45] * 34)
    outer = (120 * 50 + 50 * 70) * 60
    inner = (108 * 38 + 38 * 70) * 48
    assert sum(model.prototype(p.piece.id).volume for p in plates) == pytest.approx(outer - inner, rel=1e-6)
    assert all(made.exact for made in model.prototypes)


def ball(folder):
    step(folder, cq.Solid.makeSphere(40, angleDegrees1=-90))


def slab(height):
    return lambda folder: step(folder, cq.Workplane().box(50, 40, height).val())


def pair(folder):
    both = cq.Workplane().box(10, 10, 6).union(cq.Workplane().box(10, 10, 6).translate((40, 0, 0)))
    step(folder, both.val())


FROM_STEP = "  part: {kind: solid, stock: foam, step: part.step}\n"
REFUSED = {
    "a ball": (ball, FROM_STEP, "no stack of sheets.*form of kind step"),
    "a ball in plates": (ball, FROM_STEP.replace("}", ", faces: 1}"), "curved"),
    "too thick": (slab(12), FROM_STEP, "12 mm thick, 2 sheets of 6 mm; state layers: 2"),
    "between sheets": (slab(8), FROM_STEP, "8.00 mm thick.*make it 6 or 12 mm"),
    "other faces": (slab(40), FROM_STEP.replace("}", ", faces: 5}"), "6 flat faces; state faces: 6"),
    "thin": (slab(10), FROM_STEP.replace("}", ", faces: 6}"), "too thick for face"),
    "two solids": (pair, FROM_STEP, "2 solids; expected one"),
    "no STEP": (lambda folder: (folder / "part.step").write_text("nothing"), FROM_STEP, "cannot be read"),
    "failing code": (
        lambda folder: None,
        BY_CODE.replace("args: {width: width, holes: 2}", "function: fails"),
        "block.py: fails: ValueError: no such thing",
    ),
    "misspelt function": (lambda folder: None, BY_CODE.replace("args", "function: sold, args"), "did you mean solid"),
    "missing argument": (lambda folder: None, BY_CODE.replace(", holes: 2", ""), "holes"),
    "no package": (
        lambda folder: None,
        FROM_STEP.replace("step: part.step", "package: nobody"),
        "no installed package",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_refused_says_why(tmp_path, name):
    make, part, words = REFUSED[name]
    make(tmp_path)
    with pytest.raises((BuildError, DesignError), match=rf"own\.yaml:\d+:.*{words}"):
        laid_flat(written(tmp_path, part))


def knobs(folder):
    """A folder as on sys.path with a package installed in it that gives a solid."""
    package = folder / "installed"
    info = package / "knobs-1.0.dist-info"
    info.mkdir(parents=True)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: knobs\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text("[foamwright.solids]\nknob = knobs_of_ours:knob\n")
    (package / "knobs_of_ours.py").write_text(
        "import cadquery as cq\n\ndef knob(radius):\n    return cq.Solid.makeCylinder(radius, 6)\n"
    )
    return package


KNOB = "  knob: {kind: solid, stock: foam, package: knob, args: {radius: 20 * scale}}\n"


def test_a_solid_of_an_installed_package(tmp_path, monkeypatch):
    monkeypatch.syspath_prepend(str(knobs(tmp_path)))
    model = build_model(build_prop(written(tmp_path, KNOB, "large")))
    assert model.prototype("knob").volume == pytest.approx(math.pi * 30**2 * 6)


def test_the_version_of_that_package_is_an_input_of_the_pack(tmp_path, monkeypatch):
    without, other = written(tmp_path, KNOB).digest, written(tmp_path, BY_CODE).digest
    package = knobs(tmp_path)
    monkeypatch.syspath_prepend(str(package))
    first = written(tmp_path, KNOB).digest
    metadata = package / "knobs-1.0.dist-info" / "METADATA"
    metadata.write_text(metadata.read_text().replace("Version: 1.0", "Version: 1.1"))
    second = written(tmp_path, KNOB).digest
    assert len({without, first, second}) == 3
    assert written(tmp_path, BY_CODE).digest == other  # it is none of one that uses nothing of it

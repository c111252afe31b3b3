"""The first look: meshes beside formulas and solids, overlaps of known volume, what fails, and what is not loaded."""

from __future__ import annotations

import io
import itertools
import json
import math
import os
import re
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

import foamwright
from foamwright import making
from foamwright.beside import Beside
from foamwright.cli import main
from foamwright.design import load
from foamwright.errors import BuildError
from foamwright.look.build import first_look
from foamwright.look.files import files, scene_bytes
from foamwright.look.loose import groups, loose
from foamwright.look.meshes import shape_of
from foamwright.look.report import report, sentences
from foamwright.look.scan import scan, view_from
from foamwright.making import Request
from foamwright.model.overlap import solid
from foamwright.pack.write import FIRST_LOOK
from foamwright.parts import build_prop
from foamwright.parts.attempt import attempt
from foamwright.store import Store

DESIGN = """
format: 1
name: Blocks
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {value: 1, min: 0.5, max: 2}
  clearance: {value: 1 mm}
  gap: {value: 4 mm}
sizes: {one: {note: as it is}}
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
forms:
  can:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 100 * scale], [120, 100 * scale]]
    cuts:
      front: {plane: {normal: y, at: 0}}
      low: {plane: {normal: z, at: 10}}
      high: {plane: {normal: z, at: 110}}
      away: {plane: {normal: z, at: 400}}
parts:
"""
BLOCKS = """
  lower:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 100, height: 60}}
    at: {origin: [300, 0, 0], normal: z, up: y}
  upper:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 40, height: 30}}
    at: {origin: [300, 0, 10 - gap], normal: z, up: y}
"""
WALL = """
  wall:
    kind: panel
    stock: foam
    form: can
    where: {front: beyond, low: beyond, high: before}
  hoop:
    kind: band
    stock: foam
    along: {hoop: {form: can, plane: {normal: z, at: 60}}}
    width: 20
    over: [wall]
"""
LOST = """
  lost:
    kind: panel
    stock: foam
    form: can
    where: {front: beyond, away: beyond}
  over_it:
    kind: band
    stock: foam
    along: {hoop: {form: can, plane: {normal: z, at: 60}}}
    width: 20
    over: [lost]
"""


def written(tmp_path, *parts, more=""):
    path = tmp_path / "blocks.yaml"
    path.write_text(DESIGN + "".join(parts) + more, "utf-8")
    return path


def seen(tmp_path, *parts, more="", **changes):
    return first_look(attempt(load(written(tmp_path, *parts, more=more), None, changes)))


def test_two_plates_share_a_block_of_known_volume(tmp_path):
    look = seen(tmp_path, BLOCKS)
    (pair,) = look.overlaps
    assert {pair.a.piece.id, pair.b.piece.id} == {"lower", "upper"}
    assert pair.volume == pytest.approx(40 * 30 * 4)
    assert pair.at == pytest.approx((300, 0, 8), abs=4.0) and pair.depth == pytest.approx(4)
    assert abs(pair.mesh.volume) == pytest.approx(40 * 30 * 4)
    assert not look.buildable


def test_copies_that_share_alike_are_told_once_with_their_numbers_in_the_picture(tmp_path):
    """Five bars across a board in a row, 4 mm deep in it each, and then one that is deeper."""
    bars = BLOCKS.replace("width: 100", "width: 500").replace("origin: [300, 0, 0]", "origin: [0, 0, 0]")
    bars = (
        bars.replace("origin: [300, 0, 10 - gap]", "origin: [-200, 0, 10 - gap]")
        + "    repeat: {count: 5, step: [80, 0, 0]}\n"
    )
    deeper = (
        bars[bars.index("  upper:") : bars.index("    repeat")]
        .replace("upper:", "last:")
        .replace("-200, 0, 10 - gap", "200, 0, 5")
    )
    look = seen(tmp_path, bars, deeper)
    lines = sentences(report(look, ""))[1:]
    assert len(look.overlaps) == 6 and len(lines) == 2
    assert sum("and so do 4 more pairs of their copies" in line for line in lines) == 1
    numbers = [n for line in lines for n in re.findall(r"\d+-\d+|\d+", line.split("  ")[1])]
    assert sorted(numbers) in (["1-5", "6"], ["1", "2-6"])


@pytest.mark.parametrize("lost", [False, True])
def test_files_are_the_same_whichever_process_draws_the_picture(tmp_path, monkeypatch, lost):
    monkeypatch.delitem(sys.modules, "OCP", raising=False)  # whatever tests before have loaded
    look, asked = seen(tmp_path, BLOCKS), []
    other = Beside()
    start = other.start
    monkeypatch.setattr(other, "start", lambda work, *given: asked.append(work.__name__) or start(work, *given))
    other.begin()
    if lost:
        os.kill(other.pid, signal.SIGKILL)
    try:
        assert files(look, other) == files(look)
    finally:
        other.close()
    assert asked == ["prepare", "_one_view", "png_bytes"]


def test_plates_that_touch_share_nothing(tmp_path):
    assert seen(tmp_path, BLOCKS, gap="0 mm").overlaps == ()


def test_a_part_that_comes_near_to_nothing_is_told_with_the_nearest_and_the_gap(tmp_path):
    """Reach is 0.8 mm of glue and the design's clearance of 1 mm, and half a millimetre for the meshes."""
    look = seen(tmp_path, BLOCKS, gap="-30 mm")
    (alone,) = look.loose
    assert (alone.near.piece.id, alone.other.piece.id) == ("upper", "lower")
    assert alone.gap == pytest.approx(30.0)
    assert not look.buildable
    assert (
        "nothing holds upper (1): the nearest, lower (1), is 30.0 mm away; bring the two together, or say"
        in sentences(report(look, ""))[1]
    )
    assert seen(tmp_path, BLOCKS, gap="-2.2 mm").loose == ()
    assert len(seen(tmp_path, BLOCKS, gap="-2.4 mm").loose) == 1


def test_a_left_and_a_right_one_stand_for_themselves_and_a_lone_group_is_told_once(tmp_path):
    assert seen(tmp_path, BLOCKS.replace("up: y}", "up: y}\n    mirror: x"), gap="0 mm").loose == ()
    more = BLOCKS.replace("[300, 0, ", "[300, 200, ").replace("lower:", "low_b:").replace("upper:", "up_b:")
    third = BLOCKS[: BLOCKS.index("  upper:")].replace("lower:", "third:").replace("[300, 0, 0]", "[300, 0, -10]")
    (alone,) = seen(tmp_path, BLOCKS + more + third, gap="0 mm").loose
    assert {copy.piece.id for copy in alone.copies} == {"low_b", "up_b"}
    assert alone.gap == pytest.approx(140.0)  # 200 from middle to middle of plates 60 mm wide


def test_several_things_of_the_same_parts_are_told_and_bar_no_pack(tmp_path):
    """Three plates 200 mm apart may be meant, as a left and a right shoulder are, or a length that was forgotten."""
    plate = BLOCKS[: BLOCKS.index("  upper:")]
    look = seen(tmp_path, plate + "    repeat: {count: 3, step: [0, 200, 0]}\n", gap="0 mm")
    assert look.buildable and [[copy.number for copy in thing] for thing in look.things] == [[1], [2], [3]]
    assert sentences(report(look, ""))[1] == "  the prop is 3 things alike that nothing joins, each of lower"
    assert seen(tmp_path, plate, gap="0 mm").things == ()


def test_a_stray_copy_is_told_where_the_others_hold_each_other(tmp_path):
    """Three copies of one plate, two of them end to end: the third is no thing of its own, as it has not as many."""
    look = seen(tmp_path, BLOCKS[: BLOCKS.index("  upper:")])
    one = look.copies[0]
    low, high = one.mesh.points.min(axis=0), one.mesh.points.max(axis=0)
    copies = [
        replace(one, number=number, mesh=replace(one.mesh, points=one.mesh.points + (0.0, off, 0.0)))
        for number, off in enumerate((0.0, high[1] - low[1], 500.0), 1)
    ]

    def found(some):
        def body(number):
            return solid(some[number].mesh.points, some[number].mesh.triangles)

        return loose(look.design, some, groups(look.design, some, (), set(), body), body)

    (alone,) = found(copies)
    assert [copy.number for copy in alone.copies] == [3] and alone.other.number == 2
    assert alone.gap == pytest.approx(500.0 - 2.0 * (high[1] - low[1]))
    assert found(copies[1:]) == ()


def test_padding_lies_between_what_rests_and_what_failed_might_have_held_the_rest(tmp_path):
    rests = BLOCKS + "    rests_on: [lower]\n    padding: 5 mm\n"
    assert seen(tmp_path, rests, gap="-7 mm").loose == ()
    assert len(seen(tmp_path, rests, gap="-8 mm").loose) == 1
    assert seen(tmp_path, BLOCKS, LOST, gap="-30 mm").loose == ()


def test_what_two_parts_share_is_worked_out_once_and_again_when_one_of_them_moves(tmp_path):
    apart = BLOCKS.replace("origin: [300, 0, 0]", "origin: [900, 0, 0]").replace("[300, 0, 10", "[900, 0, 10")
    text = BLOCKS + apart.replace("lower:", "low_b:").replace("upper:", "up_b:").replace("gap", "5")
    placed = [attempt(load(written(tmp_path, text), None, {"gap": gap})) for gap in ("4 mm", "4 mm", "3 mm")]
    told = []
    for once in placed:
        store = Store(tmp_path / "store")
        told.append([pair.volume for pair in first_look(once, store).overlaps])
        told.append((store.made["overlap"], store.found["overlap"]))
    assert told[1::2] == [(2, 0), (0, 2), (1, 1)]
    assert np.allclose(told[0::2], [[6000, 4800], [6000, 4800], [6000, 3600]])  # mm3: 40 by 30 by what is let in


def test_an_overlap_that_is_declared_is_none_to_tell_of_but_holds_nothing(tmp_path):
    look = seen(tmp_path, BLOCKS, more="overlaps: [[upper, lower]]\n")
    assert [pair.declared for pair in look.overlaps] == [True]
    assert not look.buildable  # as no glue holds the one to the other


def test_a_shell_and_a_hoop_have_the_volume_of_their_formulas(tmp_path):
    """A hollow cylinder between two radii: pi (R2^2 - R1^2) h; half of it for the shell, h 100, R 90 to 110 of foam
    that is laid inside by its own rule (the bodies say where)."""
    look = seen(tmp_path, WALL)
    assert look.overlaps == () and look.failures == ()
    for copy in look.copies:
        body = copy.piece.body
        inner = 100.0 + body.inner_offset
        share, height = (0.5, 100.0) if copy.piece.id == "wall" else (1.0, 20.0)
        ring = math.pi * ((inner + 10.0) ** 2 - inner**2) * height * share
        assert copy.mesh.volume == pytest.approx(ring, rel=3e-3)


def test_beside_a_narrow_opening_triangles_are_not_divided_for_what_is_coarse_elsewhere(tmp_path):
    """At the slit the chart is fine, and away from it the surface stands off its sides: these alone are halved. Volume by
    formula: 2 mm of the foam's 90 to 110 mm from the axis is an angle of 2 asin(2 / r) of the half ring."""
    slit = "cuts:\n      slit: {prism: {along: y, outline: {rectangle: {width: 4, height: 60, centre: [0, 60]}}}}"
    with_slit = written(tmp_path, WALL[: WALL.index("  hoop:")].replace("high: before", "high: before, slit: outside"))
    with_slit.write_text(with_slit.read_text("utf-8").replace("cuts:", slit), "utf-8")
    (copy,) = first_look(attempt(load(with_slit, None, {"scale": "2"}))).copies
    body, mesh = copy.piece.body, copy.mesh
    inner = 200.0 + body.inner_offset
    ring = math.pi / 2.0 * ((inner + 10.0) ** 2 - inner**2) * 100.0
    assert mesh.volume == pytest.approx(ring - 4.0 * 60.0 * 10.0, rel=3e-3)
    assert len(mesh.triangles) < 2.0 * 3.0 * len(body.chart.faces)  # 2 * 4 and more, when every triangle was made four


CONE = """format: 1
name: Cone
version: 1.0.0
licence: CC0-1.0
units: mm
parameters: {scale: {value: 1}, clearance: {value: 0.5 mm}}
sizes: {one: {note: as it is}}
stock: {shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600, 1200]}}
forms:
  tip: {kind: revolution, axis: z, profile: [[0, 32 * scale], [68 * scale, 0]], smooth: false, cuts: {low: {plane: {normal: z}}}}
parts:
  tip: {kind: panel, stock: shell, form: tip, where: {low: beyond}, flush: [low], opened: 180}
"""


@pytest.mark.parametrize("scale", [0.6, 1.0, 2.0])
def test_a_closed_cone_is_smooth_as_far_as_its_tip(tmp_path, scale):
    """Foam lies on both sides of a seam of a part with itself: none of it is past that, or past the tip. The face that shows is
    a cone again, 6 mm off the form by its formula."""
    (tmp_path / "cone.yaml").write_text(CONE, "utf-8")
    (copy,) = first_look(attempt(load(tmp_path / "cone.yaml", None, {"scale": scale}))).copies
    points, half = copy.mesh.points, math.atan(32.0 / 68.0)
    own = copy.mesh.triangles[copy.smooth == 1]
    middles = points[own].mean(axis=1)
    off = (np.hypot(*middles[:, :2].T) - 32.0 * scale) * math.cos(half) + middles[:, 2] * math.sin(half)
    outer = copy.piece.body.inner_offset + 6.0
    assert np.percentile(np.abs(off - outer), 99.0) < 0.15


TOWER = """format: 1
name: Tower
version: 1.0.0
licence: CC0-1.0
units: mm
parameters: {scale: {value: 1}, clearance: {value: 0.5 mm}}
sizes: {one: {note: as it is}}
stock: {wall: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600, 1200]}}
forms:
  tower:
    kind: mesh
    file: tower.obj
    scale: scale
    cuts:
      foot: {plane: {normal: z}}
      head: {plane: {normal: z, at: 240 * scale}}
      edge_1: {plane: {normal: ["-sin(22.5)", "cos(22.5)", 0]}}
      edge_2: {plane: {normal: ["-sin(67.5)", "cos(67.5)", 0]}}
      edge_4: {plane: {normal: ["-sin(157.5)", "cos(157.5)", 0]}}
parts:
  front: {kind: panel, stock: wall, form: tower, laid: LAID, where: {foot: beyond, head: before, edge_1: before, edge_4: before}, flush: [foot, head]}
  side: {kind: panel, stock: wall, form: tower, laid: LAID, where: {foot: beyond, head: before, edge_1: beyond, edge_2: before}, flush: [foot, head], mirror: y}
"""


@pytest.mark.parametrize("laid", ["inside", "outside"])
@pytest.mark.parametrize("scale", [0.5, 1.0, 1.3, 2.57])
def test_walls_that_are_mitred_along_a_crease_share_nothing(tmp_path, laid, scale):
    """Flat walls of an eight-sided tower, each of which ends in the plane through the axis half way to the next."""
    radii = {z: (150 - 50 * z / 240) / 2 for z in (-20, 260)}
    rings = [
        (r * math.cos(a) / math.cos(math.pi / 8), r * math.sin(a) / math.cos(math.pi / 8), z)
        for z, r in radii.items()
        for a in (math.pi / 8 + k * math.pi / 4 for k in range(8))
    ]
    faces = [t for k in range(8) for t in ((k, (k + 1) % 8, (k + 1) % 8 + 8), (k, (k + 1) % 8 + 8, k + 8))]
    faces += [t for k in range(1, 7) for t in ((0, k + 1, k), (8, 8 + k, 9 + k))]
    trimesh.Trimesh(rings, faces, process=False).export(tmp_path / "tower.obj")
    (tmp_path / "tower.yaml").write_text(TOWER.replace("LAID", laid), "utf-8")
    look = first_look(attempt(load(tmp_path / "tower.yaml", None, {"scale": scale})))
    assert look.failures == () and look.overlaps == ()
    bodies = [solid(copy.mesh.points, copy.mesh.triangles) for copy in look.copies]
    assert all(float((a ^ b).volume()) < 2.0 for a, b in itertools.combinations(bodies, 2))


def test_what_fails_is_told_and_the_rest_is_shown(tmp_path):
    look = seen(tmp_path, BLOCKS, LOST, WALL)
    assert {failure.part for failure in look.failures} == {"lost", "over_it"}
    assert "blocks.yaml" in look.failures[0].reason and "lost" in look.failures[1].reason
    assert {copy.piece.id for copy in look.copies} == {"lower", "upper", "wall", "hoop"}
    assert not look.buildable


def test_the_scene_holds_every_copy_every_overlap_and_the_names_of_edges(tmp_path):
    look = seen(tmp_path, BLOCKS, WALL)
    scene = trimesh.load(io.BytesIO(scene_bytes(look)), file_type="glb", process=False)
    names = set(scene.graph.nodes)
    assert {copy.name for copy in look.copies} <= names
    assert any(name.startswith("overlap of ") for name in names)
    assert any("edge front" in name and "of can" in name for name in names)
    assert {"x forward", "y left", "z up"} <= names
    assert scene.bounds[1][1] * 1000 >= look.box[1][2]  # y is up, metres
    assert scene_bytes(look) == scene_bytes(seen(tmp_path, BLOCKS, WALL))


def test_the_scan_meets_what_a_ray_meets():
    """Two boxes, one before the other: where a line of sight enters each is known from its three slabs
    (Kay and Kajiya, "Ray tracing complex scenes", 1986; from memory)."""
    middles, half = np.array([[0.0, 0.0, 0.0], [-120.0, 10.0, 5.0]]), np.array([[20.0, 25.0, 30.0], [40.0, 40.0, 40.0]])
    boxes = [trimesh.creation.box(2 * h, trimesh.transformations.translation_matrix(m)) for h, m in zip(half, middles)]
    whole = trimesh.util.concatenate(boxes)
    view = view_from((1.0, 0.3, 0.4), whole.vertices, 90, 70, 4)
    found = scan(np.asarray(whole.vertices), np.asarray(whole.faces), view)
    rows, columns = (n.ravel() for n in np.indices(found.face.shape))
    origins = (view.low + view.step * np.column_stack([columns, rows])) @ view.frame[:2]
    way = -view.frame[2]
    ends = np.stack([(middles[:, None] + sign * half[:, None] - origins) / way for sign in (-1, 1)])
    enters, leaves = ends.min(axis=0).max(axis=2), ends.max(axis=0).min(axis=2)
    depth = np.where(enters <= leaves, enters, np.inf)  # (boxes, rays)
    first = np.where(np.isfinite(depth).any(axis=0), depth.argmin(axis=0), -1)
    mine = np.where(found.face.ravel() >= 0, found.face.ravel() // 12, -1)
    assert (mine == 0).sum() > 100 and (mine == 1).sum() > 100
    assert np.count_nonzero(mine != first) <= 3  # lines of sight along an edge
    same = (mine == first) & (mine >= 0)
    assert found.depth.ravel()[same] == pytest.approx(depth.min(axis=0)[same], abs=1e-3)


def test_the_command_draws_and_says_what_it_found(tmp_path, capsys):
    path = written(tmp_path, BLOCKS.replace("300", "160"), WALL)  # beside the wall
    assert main(["look", str(path), "--out", str(tmp_path / "out"), "--json"]) == 1
    (told,) = json.loads(capsys.readouterr().out)
    assert told["overlaps"][0]["volume"] == pytest.approx(4800) and not told["buildable"]
    folder = tmp_path / "out" / "blocks" / "one"
    assert sorted(p.name for p in folder.iterdir()) == ["look.glb", "look.png", "look.svg"] == sorted(FIRST_LOOK)
    picture = (folder / "look.svg").read_text("utf-8")
    assert all(word in picture for word in ("front", "low", "high", "lower (1) and upper (1)"))
    assert main(["look", str(path), "--out", str(tmp_path / "out"), "--set", "gap=0 mm"]) == 0
    assert "pieces in place" in capsys.readouterr().out


def test_looking_loads_neither_the_solid_modeller_nor_the_compiler(tmp_path):
    code = (
        "import sys; from foamwright.cli import main; code = main(sys.argv[1:]);"
        "print([m for m in ('cadquery', 'OCP', 'numba') if m in sys.modules], code)"
    )
    path = written(tmp_path, BLOCKS, WALL)
    command = [sys.executable, "-c", code, "look", str(path), "--out", str(tmp_path / "out")]
    environment = {**os.environ, "PYTHONPATH": str(Path(foamwright.__file__).parents[1])}
    done = subprocess.run(command, capture_output=True, text=True, env=environment)
    assert done.stdout.splitlines()[-1] == "[] 1", done.stderr


def test_a_look_at_what_has_not_changed_is_taken_from_the_store(tmp_path):
    request, store = Request(load(written(tmp_path, BLOCKS))), Store(tmp_path / "store")
    first = making.first_look(request, store=store)
    assert (store.made["look"], store.made["placed"]) == (1, 2)
    assert making.first_look(request, store=store) == first
    assert (store.made["look"], store.found["look"], store.found["placed"]) == (1, 1, 0)
    assert making.first_look(request) == first


BOWL = """
format: 1
name: Bowl
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {value: 1, min: 0.5, max: 2}
  clearance: {value: 1 mm}
sizes: {one: {}}
stock:
  foam: {name: EVA foam 5 mm, thickness: 5 mm, sheet: SHEET}
forms:
  egg:
    kind: superellipsoid
    axis: z
    radii: [100 * scale, 100 * scale, 50 * scale]
    cuts:
      middle: {plane: {normal: y}}
      waist: {plane: {normal: z, at: 10 * scale}}
parts:
  left:
    kind: panel
    stock: foam
    form: egg
    where: {middle: beyond, waist: beyond}
    darts: DARTS
"""


@pytest.mark.parametrize(
    ("sheet", "darts", "words"),
    [
        ("[500, 600]", "[]", "over the limit of 3.0 % of EVA foam 5 mm; give it darts"),
        ("[500, 110]", "[{edge: waist, at: 0.5, depth: 40}]", "over the limit"),
        ("[500, 600]", "auto", ""),
    ],
)
def test_a_panel_that_its_foam_does_not_take_is_shown_and_refused_in_the_words_of_a_build(
    tmp_path, sheet, darts, words
):
    """Half a bowl has double curvature; darts that are searched for may yet help it."""
    path = tmp_path / "bowl.yaml"
    path.write_text(BOWL.replace("SHEET", sheet).replace("DARTS", darts), "utf-8")
    looked = first_look(attempt(load(path)))
    assert len(looked.copies) == 1 and looked.buildable == (not words)
    if words:
        (failure,) = looked.failures
        assert failure.part == "left" and words in failure.reason and failure.reason.startswith(f"{path}:21:3: ")
        with pytest.raises(BuildError) as refused:
            making.build(load(path), only=["cut_list"])
        assert str(refused.value) == failure.reason


def test_a_panel_that_no_sheet_holds_is_refused(tmp_path):
    path = tmp_path / "blocks.yaml"
    text = (DESIGN + WALL[: WALL.index("  hoop:")]).replace("sheet: [600 mm, 1200 mm]", "sheet: [200 mm, 110 mm]")
    path.write_text(text, "utf-8")
    (failure,) = first_look(attempt(load(path))).failures
    assert failure.part == "wall" and "fits no sheet: foam comes in sheets of 200 x 110 mm" in failure.reason


def test_what_a_kept_look_tells_is_told_without_loading_arrays_or_solids():
    code = "import sys, foamwright.look.report; print([m for m in ('numpy', 'scipy', 'shapely') if m in sys.modules])"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout == "[]\n"


NARROW = """
  low: {kind: panel, stock: foam, form: ring, where: {foot: beyond, ridge: before}, flush: [foot], opened: 180}
"""
RING = """
  ring: {kind: revolution, axis: z, smooth: false, profile: [[0, 60], [9, 69], [18, 60]],
    cuts: {foot: {plane: {normal: z}}, ridge: {plane: {normal: z, at: 9}}}}
parts:
"""


def test_the_ends_of_a_narrow_strip_with_steep_bevels_stay_between_its_edges(tmp_path):
    """One side of a ring with a ridge, both edges in level planes: 12.7 mm wide, less than two of its foam of 10 mm.
    Its volume is that of a parallelogram about an axis: the area times the way of its middle (Pappus)."""
    path = written(tmp_path, NARROW)
    path.write_text(path.read_text("utf-8").replace("parts:\n", RING.lstrip("\n"), 1), "utf-8")
    shape = shape_of(build_prop(load(path)).piece("low")).mesh
    assert np.ptp(shape.points[:, 2]) == pytest.approx(9.0, abs=0.05)
    across = 10.0 * math.sqrt(2)
    assert shape.volume == pytest.approx(2 * math.pi * (64.5 + across / 2) * 9.0 * across, rel=2e-3)

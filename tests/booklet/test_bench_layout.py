"""What is painted on the bench is drawn lying there, what is engraved stands in the picture, and a place for glue that is seen
through a hole is not taken for another one."""

import io
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import trimesh
from block_props import piece, scene
from PIL import Image
from sample_prop import panel

from foamwright.assembly.bodies import bodies, outward
from foamwright.assembly.records import Step, StepMove
from foamwright.assembly.sight import basis
from foamwright.booklet.pictures import render
from foamwright.booklet.pictures.bench_layout import laid_out
from foamwright.booklet.pictures.engraving import own_seam, seen_lines
from foamwright.booklet.pictures.hatching import Glued, hatching, without_scraps
from foamwright.booklet.pictures.looks import FRONT
from foamwright.booklet.pictures.step_pictures import step_pictures
from foamwright.drawing.primitives import Text
from foamwright.parts.records import BandBody, Placement

VIEW = basis(FRONT)


def plates():
    """A base with three small plates of unlike sizes on it."""
    return scene(
        piece("base", (200, 120, 10), (0, 0, 0)),
        piece("one", (60, 40, 10), (-50, 0, 10)),
        piece("two", (20, 70, 10), (20, 0, 10)),
        piece("three", (30, 30, 10), (70, 20, 10)),
    )


@pytest.mark.parametrize("stood", [(), (0,)], ids=["alone", "beside what stands"])
def test_what_lies_on_the_bench_hides_nothing(stood):
    there = plates()
    laid = laid_out(there, (1, 2, 3), stood, VIEW, (92.0, 74.0), {})
    shown = [*stood, 1, 2, 3]
    points = laid.points()
    seen = render.window(points, there, shown, VIEW, (400, 320))
    owner = render.look(points, there, shown, seen).owner
    for copy in shown:
        alone = render.alone(points, there, copy, seen)
        assert int((owner == copy).sum()) >= 0.97 * alone
    assert np.array_equal(points[: len(points) // 4], there.points[: len(points) // 4])  # what stands stays


def test_it_is_turned_and_never_mirrored_and_takes_glue_on_top():
    there = plates()
    laid = laid_out(there, (0, 1, 2, 3), (), VIEW, (92.0, 74.0), {})
    for copy, (turn, _) in laid.ways.items():
        assert np.linalg.det(turn) == pytest.approx(1.0)
        assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
        touch = next(t for (a, _), t in there.touches.items() if a == copy)
        _, along = laid.spots(copy, touch.places, -touch.normals)
        assert (along[:, 2] > 0.99).all()  # the glued face of each is up


@pytest.mark.parametrize("wide", [30.0, 58.0])
def test_of_two_faces_that_take_glue_the_one_with_less_is_up_and_the_other_is_told(wide):
    """A boss glued down by its whole foot with a cap on it: hatched all over, its foot would be taken for its top, and the rim
    around the cap be left bare."""
    there = scene(
        piece("base", (200, 120, 10), (0, 0, 0)),
        piece("boss", (60, 60, 20), (0, 0, 15)),
        piece("cap", (wide, wide, 6), (0, 0, 28)),
    )
    laid = laid_out(there, (1, 2), (), VIEW, (92.0, 74.0), {})
    touch = there.touches[1, 2]
    assert (laid.spots(1, touch.places, -touch.normals)[1][:, 2] > 0.99).all()
    below = there.touches[2, 1]  # of the cap the only face that takes glue is up
    assert (laid.spots(2, below.places, -below.normals)[1][:, 2] > 0.99).all()
    picture = step_pictures(there, (Step(1, "", ("boss", "cap"), "", 5.0, (), (), (), uses=("paint",)),))[1]
    assert picture.note.endswith("The face below takes glue as well: BOSS.")


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_the_one_face_that_is_painted_is_up(side):
    """A bulkhead with glue on both faces, of which one is out of sight and stays bare: the other one is drawn."""
    there = scene(
        piece("below", (40, 30, 10), (0, 0, -10)), piece("wall", (80, 60, 10)), piece("above", (30, 20, 10), (0, 0, 10))
    )
    wall = there.pieces[1]
    laid = laid_out(there, (1,), (), VIEW, (92.0, 74.0), {"wall": side})
    turn, _ = laid.ways[1]
    assert turn @ (side * wall.off_face(np.eye(4))) == pytest.approx((0.0, 0.0, 1.0))
    bare = Step(1, "", ("wall",), "", 5.0, (), (), (), uses=("paint",), one_face={"wall": side})
    assert step_pictures(there, (bare,))[1].note.endswith("The face below stays bare: WALL.")


def test_the_inside_of_a_curved_part_that_is_painted_alone_is_turned_to_the_eye():
    turn = np.linspace(-1.0, 1.0, 17)
    normals = np.column_stack([np.cos(turn), np.sin(turn), 0.0 * turn])
    edge = np.full(17, 20.0)
    body = BandBody(50.0 * normals, normals, np.array([0, 0, 1.0]), -edge, edge, 0.0, False, 0.0, 0.0, (), ())
    made, _ = piece("shell", (1, 1, 1))
    across = np.repeat([-20.0, 20.0], 17)[:, None] * [0, 0, 1]
    points = np.vstack([r * np.vstack([normals, normals]) + across for r in (50.0, 56.0)])
    mesh = trimesh.convex.convex_hull(points)  # what it is filled with does not matter to how it is turned
    shell = replace(made, body=body)
    there = bodies((shell,), [(np.array(mesh.vertices), np.array(mesh.faces))], (np.eye(4),), {})
    name = shell.id
    laid = laid_out(there, (0,), (), VIEW, (92.0, 74.0), {name: -1.0})
    rotation, _ = laid.ways[0]
    off = rotation @ outward(there.pieces[0], np.eye(4))[1].mean(axis=0)
    assert off @ VIEW[2] > 0.99 * np.linalg.norm(off)  # the outside looks away from the eye
    step = Step(1, "", (name,), "", 5.0, (), (), (), uses=("paint",), one_face={name: -1.0})
    assert "With the inside up" in step_pictures(there, (step,))[1].note


def test_hatching_ends_where_the_contact_does():
    """A round place of 20 mm across on a face: area pi r^2 (formula of the circle), though the places of a contact lie 5 mm apart."""
    grid = np.mgrid[-40:41, -40:41].reshape(2, -1)[::-1].T * 0.5
    shape = (81, 81)
    view = render.Scene(np.zeros(shape), np.zeros(shape, np.int32), np.zeros(shape, np.int32), 1)
    seen = render.Window(np.eye(3), grid.min(axis=0), 0.5, shape)
    normal = np.zeros((*shape, 3), np.float32)
    normal[..., 2] = 1.0
    turn = np.linspace(0.0, 2.0 * np.pi, 128, endpoint=False)
    loop = 10.0 * np.column_stack([np.cos(turn), np.sin(turn), 0.0 * turn])
    x, y = np.mgrid[-7.5:10:5, -7.5:10:5]
    places = np.column_stack([x.ravel(), y.ravel(), 0.0 * x.ravel()])
    places = places[np.linalg.norm(places, axis=1) < 10.0]
    spots = hatching(view, normal, seen, [Glued(0, places, np.tile([0.0, 0.0, 1.0], (len(places), 1)), ((loop,),))])
    assert 0.25 * spots.sum() == pytest.approx(np.pi * 100.0, rel=0.02)


def test_parts_painted_on_the_bench_have_a_picture():
    there = plates()
    paint = Step(1, "", ("one", "two"), "", 5.0, (), (), (), uses=("paint",))
    picture = step_pictures(there, (paint,))[1]
    assert {bubble.label for bubble in picture.bubbles} == {"ONE", "TWO"}
    base = Step(1, "", ("base",), "", 5.0, (), (), (), ("base",), (StepMove((0,), ()),))
    both = step_pictures(there, (base, replace(paint, number=2, parts=("base", "one", "two"))))[2]
    assert {bubble.label for bubble in both.bubbles} == {"BASE"}
    (bench,) = both.details  # a picture of its own, in which they are not as small as they would be beside what stands
    assert "one of each" in bench.said
    assert {item.value for item in bench.items if isinstance(item, Text)} == {"ONE", "TWO"}


def test_what_is_painted_below_is_seen_from_below():
    """A part that no eye from the front sees is shown with its letter in a small picture from where it is seen."""
    there = scene(piece("roof", (200, 200, 10), (0, 0, 80)), piece("under", (80, 80, 10), (0, 0, 70)))
    base = Step(
        1, "", ("roof", "under"), "", 5.0, (), (), (), ("roof", "under"), tuple(StepMove((i,), ()) for i in (0, 1))
    )
    paint = Step(2, "", ("roof", "under"), "", 5.0, (), (), (), uses=("paint",))
    picture = step_pictures(there, (base, paint))[2]
    assert {bubble.label for bubble in picture.bubbles} == {"ROOF"}
    (below,) = picture.details
    assert "from below" in below.said
    assert {item.value for item in below.items if isinstance(item, Text)} == {"UNDER"}


def test_what_is_painted_below_is_seen_without_the_stand_under_it():
    """A keel under a hull that only rests on a wide plate, which would hide all of it."""
    plate, keel = piece("plate", (400, 400, 10), (0, 0, -35)), piece("keel", (80, 20, 10), (0, 0, 5))
    hull, mesh = piece("hull", (200, 200, 40), (0, 0, 30))
    foot, foot_mesh = piece("foot", (150, 20, 40), (0, 80, -10))
    found = scene(plate, keel, (replace(hull, rests_on=("foot",)), mesh), (foot, foot_mesh))
    names = tuple(made.id for made in found.pieces)
    built = Step(1, "", names, "", 5.0, (), (), (), names, tuple(StepMove((i,), ()) for i in range(4)))
    paint = Step(2, "", names, "", 5.0, (), (), (), uses=("paint",))
    (below,) = step_pictures(found, (built, paint))[2].details
    assert "from below" in below.said
    (named,) = (item for item in below.items if isinstance(item, Text))
    assert named.value == "KEEL"


def test_of_two_alike_that_are_painted_one_is_drawn():
    far = Placement(np.eye(4) - 800.0 * np.outer(np.eye(4)[1], np.eye(4)[3]), False)
    cubes = [piece("cube", (60, 60, 60), (0, y, 0)) for y in (400, -400)]
    there = scene(*((replace(made, placements=(*made.placements, far)), mesh) for made, mesh in cubes))
    moves = tuple(StepMove((i,), ()) for i in (0, 1))
    base = Step(1, "", ("cube",), "", 5.0, (), (), (), ("cube",), moves)
    picture = step_pictures(there, (base, Step(2, "", ("cube",), "", 5.0, (), (), (), uses=("paint",))))[2]
    assert "built alike" in picture.note and picture.bounds[2] - picture.bounds[0] < 200.0


def test_what_is_engraved_is_drawn_on_the_outside_face_and_nowhere_else():
    made, mesh = piece("plate", (80, 40, 10))
    body = replace(
        made.body,
        frame=replace(made.body.frame, origin=np.array([0.0, 0.0, -5.0])),
        engraving=(np.array([[-20.0, -10.0], [20.0, -10.0], [20.0, 10.0], [-20.0, 10.0]]),),
    )
    there = scene((replace(made, body=body), mesh))
    frame = basis((0.0, 0.0, -1.0), (0.0, 1.0, 0.0))
    seen = render.window(there.points, there, [0], frame, (400, 300))
    mask = seen_lines(there, there.points, render.look(there.points, there, [0], seen), seen)
    rows, columns = np.nonzero(mask)
    assert np.ptp(columns) * seen.step == pytest.approx(40.0, abs=1.0)
    assert np.ptp(rows) * seen.step == pytest.approx(20.0, abs=1.5)
    below = render.window(there.points, there, [0], basis((0.0, 0.0, 1.0), (0.0, 1.0, 0.0)), (400, 300))
    assert seen_lines(there, there.points, render.look(there.points, there, [0], below), below) is None
    moved = there.points + (7.0, -3.0, 2.0)  # it goes with its part
    window = render.window(moved, there, [0], frame, (400, 300))
    again = seen_lines(there, moved, render.look(moved, there, [0], window), window)
    assert np.abs(mask.astype(int) - again).sum() < 0.05 * mask.sum()


def test_a_scrap_of_a_contact_goes_and_a_small_contact_stays():
    spots = np.zeros((40, 60), bool)
    spots[5:25, 5:45] = True  # most of one contact,
    spots[34:36, 50:52] = True  # a scrap of it,
    spots[34:36, 10:12] = True  # and the whole of another
    view = render.Scene(np.zeros(spots.shape), np.zeros(spots.shape, np.int32), np.zeros(spots.shape, np.int32), 2)
    seen = render.Window(np.eye(3), np.zeros(2), 1.0, spots.shape)
    y, x = np.nonzero(spots)
    scrap, other = (x >= 50), (y >= 34) & (x < 20)
    contacts = [
        np.column_stack([x, y, 0 * x])[~other].astype(float),
        np.column_stack([x, y, 0 * x])[other].astype(float),
    ]
    kept = without_scraps(spots, view, seen, [Glued(0, c, np.zeros_like(c)) for c in contacts])
    assert not kept[y[scrap], x[scrap]].any() and kept[y[other], x[other]].all() and kept[5:25, 5:45].all()


@pytest.mark.parametrize("share, hatched", [(0.1, False), (0.3, True)])
def test_a_contact_of_which_next_to_nothing_shows_is_not_hatched(share, hatched):
    """Through a porthole a spot of the seat's place on the deck is seen, and somebody glues something into the porthole."""
    spots = np.zeros((40, 100), bool)
    spots[10:30, : int(100 * share)] = True
    view = render.Scene(
        np.zeros(spots.shape), np.where(spots, 0, 1).astype(np.int32), np.zeros(spots.shape, np.int32), 2
    )
    seen = render.Window(np.eye(3), np.zeros(2), 1.0, spots.shape)
    y, x = (grid.ravel() for grid in np.mgrid[10:30, :100])
    places = np.column_stack([x, y, 0 * x]).astype(float)
    kept = without_scraps(spots, view, seen, [Glued(0, places, np.zeros_like(places))])
    assert kept.any() == hatched


def test_the_picture_of_the_bench_is_a_picture():
    there = plates()
    picture = step_pictures(there, (Step(1, "", ("one",), "", 5.0, (), (), (), uses=("paint",)),))[1]
    assert Image.open(io.BytesIO(picture.png)).size[0] > 100


def test_what_is_painted_on_the_bench_is_dealt_evenly_over_pictures_and_small_parts_are_said_to_be_drawn_larger():
    """Six of one size and one of a tenth of it: the sixth alone would be as large as a picture."""
    plates_of = [piece(f"p{n}", (60 + n, 40, 10), (100 * n, 0, 0)) for n in range(6)]
    there = scene(piece("base", (900, 400, 10), (250, 0, -200)), *plates_of, piece("dot", (5, 5, 2), (0, 200, 0)))
    base = Step(1, "", ("base",), "", 5.0, (), (), (), ("base",), (StepMove((0,), ()),))
    paint = Step(2, "", tuple(made.id for made in there.pieces), "", 5.0, (), (), (), uses=("paint",))
    bench = step_pictures(there, (base, paint))[2].details
    lettered = [{item.value for item in inset.items if isinstance(item, Text)} for inset in bench]
    assert [len(letters) for letters in lettered] == [3, 3, 1]
    assert ["Drawn larger." in inset.said for inset in bench] == [False, False, True]


def test_the_seam_of_a_part_with_itself_is_drawn():
    """Where a hoop around a roof begins is told by it. A gore that meets another of its own kind has none with itself."""
    made, mesh = piece("cone", (60, 40, 10))
    line = np.array([[-30.0, 0.0, 5.0], [30.0, 0.0, 5.0]])
    for joins, copies, drawn in ((("cone",), 1, True), (("cone",), 4, False), (("other",), 1, False)):
        body = replace(panel(), edges=(SimpleNamespace(joins=joins, outer=line, inner=line - (0.0, 0.0, 10.0)),))
        cone = replace(made, body=body, placements=made.placements * copies)
        assert bool(own_seam(cone)) == drawn
        there = replace(scene((made, mesh)), pieces=(cone,))
        seen = render.window(there.points, there, [0], np.eye(3) * (1.0, -1.0, -1.0), (400, 300))  # from above
        mask = seen_lines(there, there.points, render.look(there.points, there, [0], seen), seen)
        assert (mask is not None) == drawn
        assert mask is None or np.ptp(np.nonzero(mask)[1]) * seen.step == pytest.approx(60.0, abs=1.0)

"""The figure's way in and figures from files, against lengths that are known on paper."""

import math
from dataclasses import replace

import cadquery as cq
import numpy as np
import pytest
import trimesh
from test_stability import block, solid, standing

from foamwright.booklet.pictures.fit_pictures import SIDE, fit_pictures
from foamwright.design.records import CutSpec, FormSpec, Where
from foamwright.errors import BuildError
from foamwright.model.figure import Figure, _way_in, clearance
from foamwright.model.figure_solids import body, swept
from foamwright.model.placed import placed_copies

FILE = {"unit": "mm", "scale": 1.0, "turn": (0, 0, 0), "at": (0, 0, 0)}


def figure(way=None, **solids):
    bodies = tuple(body(kind, values, ".") for kind, values in solids.items())
    return Figure("someone", bodies, None if way is None else np.array(way, float))


def tube(inner=60.0, outer=70.0, low=0.0, high=40.0):
    ring = cq.Solid.makeCylinder(outer, high - low, cq.Vector(0, 0, low))
    return ring.cut(cq.Solid.makeCylinder(inner, high - low, cq.Vector(0, 0, low))).Solids()[0]


def ball(radius, z=0.0, y=0.0):
    return {"centre": (0, y, z), "radii": (radius, radius, radius)}


def test_a_ball_falls_through_a_tube_with_the_same_gap_all_the_way():
    fit = clearance(placed_copies(standing(solid(tube()))), figure((0, 0, -1), ellipsoid=ball(48.0, z=-200.0)))
    # at rest: from the ball's middle to the tube's lower inner rim, less the radius
    assert fit.clearance == pytest.approx(math.hypot(60, 200) - 48, abs=0.2)
    assert fit.entry.clearance == pytest.approx(60 - 48, abs=0.15)
    assert (fit.entry.part, fit.entry.blocks, fit.entry.left) == ("pA", (), 0.0)


def test_the_first_part_in_the_way_is_named_and_how_far_it_still_is():
    """A ball of 62 through a tube of 60 and, further in, through one of 55: it stops where its cap, sqrt(62^2 -
    60^2) = 15.6 behind its middle, meets the upper rim at z = 300."""
    upper, lower = solid(tube(60, 70, 260, 300)), solid(tube(55, 70), label="B")
    entry = clearance(placed_copies(standing(lower, upper)), figure((0, 0, -1), ellipsoid=ball(62.0, z=-200.0))).entry
    assert [block.part for block in entry.blocks] == ["pA", "pB"]
    assert entry.clearance == 0.0
    assert [block.depth for block in entry.blocks] == pytest.approx([2, 7], abs=0.15)
    tolerated = math.sqrt(62**2 - 60.3**2)  # a touch is no contact
    assert entry.left == pytest.approx(200 + 300 + tolerated, abs=2.5)


def loose(copy):
    return replace(copy, piece=replace(copy.piece, glue="none"))


def test_a_loose_lid_is_taken_out_first_and_what_is_glued_still_bars_the_way():
    """A lid of 10 on the tube of 60: 12 are to spare for a ball of 48 once it is off, and nothing for one of 62."""
    lid = block((140, 140, 10), (-70, -70, 40), label="L")
    way = (0, 0, -1)
    glued = clearance(placed_copies(standing(solid(tube()), lid)), figure(way, ellipsoid=ball(48.0, z=-200.0))).entry
    assert [block.part for block in glued.blocks] == ["pL"] and glued.taken_out == ()
    off = clearance(
        placed_copies(standing(solid(tube()), loose(lid))), figure(way, ellipsoid=ball(48.0, z=-200.0))
    ).entry
    assert (off.blocks, off.taken_out) == ((), ("pL",))
    assert off.clearance == pytest.approx(60 - 48, abs=0.15)
    thick = clearance(
        placed_copies(standing(solid(tube()), loose(lid))), figure(way, ellipsoid=ball(62.0, z=-200.0))
    ).entry
    assert [block.part for block in thick.blocks] == ["pA"] and thick.taken_out == ("pL",)


def test_what_is_glued_to_a_loose_lid_goes_out_with_it():
    """A knob on the lid and a plug below it bar the way as well; glued to the tube instead, the plug stays in the way."""
    lid = loose(block((140, 140, 10), (-70, -70, 40), label="L"))
    knob, plug = block((20, 20, 20), (-10, -10, 50), label="K"), block((40, 40, 10), (-20, -20, 30), label="P")
    copies = placed_copies(standing(solid(tube()), lid, knob, plug))
    seen = figure((0, 0, -1), ellipsoid=ball(48.0, z=-200.0))
    tube_, lid_, knob_, plug_ = ((copy.part, copy.number) for copy in copies)
    off = clearance(copies, seen, [{tube_}, {lid_, knob_, plug_}]).entry
    assert (off.blocks, off.taken_out) == ((), ("pL",))
    assert off.clearance == pytest.approx(60 - 48, abs=0.15)
    kept = clearance(copies, seen, [{tube_, plug_}, {lid_, knob_}]).entry
    assert ([block.part for block in kept.blocks], kept.taken_out) == (["pP"], ("pL",))


def test_what_rests_is_lifted_off_with_all_that_is_glued_to_it_unless_most_of_the_prop_is():
    """A tray within the tube, on a ledge, and the other way round: a tube that rests on the tray as on a stand."""
    tray, knob = block((100, 100, 10), (-50, -50, 10), label="L"), block((20, 20, 20), (-10, -10, 20), label="K")
    resting = replace(tray, piece=replace(tray.piece, rests_on=("pA",)))
    copies = placed_copies(standing(solid(tube()), resting, knob))
    seen = figure((0, 0, -1), ellipsoid=ball(48.0, z=-200.0))
    tube_, tray_, knob_ = ((copy.part, copy.number) for copy in copies)
    off = clearance(copies, seen, [{tube_}, {tray_, knob_}]).entry
    assert (off.blocks, off.taken_out) == ((), ("pL",))
    kept = clearance(copies, seen, [{tube_, tray_, knob_}]).entry
    assert kept.taken_out == () and {block.part for block in kept.blocks} == {"pL", "pK"}


def test_what_a_hinge_holds_opens_and_the_hinge_with_it():
    """A lid that closes the tube of 60, glued to nothing but a strip that bends and is glued to the tube: open, it leaves a ball
    of 48 its 12 mm, though the strip bars the way too. So with a second strip, and where the lid is loose besides."""
    lid, knob = block((124, 124, 2), (-62, -62, 40), label="L"), block((20, 20, 20), (-10, -10, 42), label="K")
    strips = [block((40, 80, 2), (x, -40, 42), label=f"S{n}") for n, x in enumerate((20, -60))]
    seen = figure((0, 0, -1), ellipsoid=ball(48.0, z=-200.0))
    for each in (lid, loose(lid)):
        for count in (1, 2):
            copies = placed_copies(standing(solid(tube()), each, knob, *strips[:count]))
            tube_, lid_, knob_, *strips_ = ((copy.part, copy.number) for copy in copies)
            groups = [{tube_}, {lid_, knob_}, *({strip} for strip in strips_)]
            opened = clearance(copies, seen, groups, {strip: {tube_, lid_} for strip in strips_}).entry
            assert (opened.blocks, opened.taken_out) == ((), ("pL",))
            assert opened.gone == {lid_, knob_, *strips_}
            assert opened.clearance == pytest.approx(60 - 48, abs=0.15)
            stiff = clearance(copies, seen, [{tube_, lid_, knob_, *strips_}]).entry
            assert stiff.blocks
        beside = clearance(copies, seen, groups, {strip: {tube_} for strip in strips_}).entry
        assert "pS0" in {block.part for block in beside.blocks}  # it holds nothing that opens


@pytest.mark.parametrize("up", [False, True])
def test_what_the_figure_stands_on_stays_though_more_of_the_prop_is_glued_to_what_rests(up):
    """A floor with a great hood that rests on it: the hood is lifted off a ball on the floor, whichever is the heavier. A ball
    that comes up from below waits for the floor instead, and a floor that is glued to nothing that comes off is in its way."""
    hood = solid(tube(60, 100, 0, 300))
    lid = block((120, 120, 10), (-60, -60, 290), label="K")
    floor = block((60, 60, 6), (-30, -30, -6), label="F")
    ring = replace(hood, piece=replace(hood.piece, rests_on=("pF",)))
    copies = placed_copies(standing(floor, ring, lid))
    floor_, ring_, lid_ = ((copy.part, copy.number) for copy in copies)
    assert copies[0].mass < copies[1].mass
    seen = figure((0, 0, 1 if up else -1), ellipsoid=ball(30.0, z=31.0))
    entry = clearance(copies, seen, [{floor_}, {ring_, lid_}]).entry
    assert ([block.part for block in entry.blocks], entry.taken_out) == ((["pF"], ()) if up else ([], ("pA",)))
    assert entry.gone == (frozenset() if up else {ring_, lid_})


def test_a_bowl_on_a_stand_stays_with_the_figure_in_it():
    """The stand is the heavier; a rim that is glued to the bowl is too narrow for the ball and is in its way all the same. A cushion
    under the ball is not what it stands on."""
    stand = block((200, 200, 60), (-100, -100, -60), label="S")
    bowl = block((100, 100, 6), (-50, -50, 0), label="B")
    bowl = replace(bowl, piece=replace(bowl.piece, rests_on=("pS",)))
    rim, cushion = solid(tube(25, 50, 60, 66)), loose(block((40, 40, 3), (-20, -20, 6), label="C"))
    copies = placed_copies(standing(stand, bowl, rim, cushion))
    stand_, bowl_, rim_, cushion_ = ((copy.part, copy.number) for copy in copies)
    assert copies[0].mass > copies[1].mass + copies[2].mass
    entry = clearance(
        copies, figure((0, 0, -1), ellipsoid=ball(28.0, z=37.5)), [{stand_}, {bowl_, rim_}, {cushion_}]
    ).entry
    assert ([block.part for block in entry.blocks], entry.taken_out) == (["pA"], ())


def test_what_most_of_the_prop_is_glued_to_is_not_taken_out():
    """A lid that says it is loose and is glued to the tube all the same."""
    lid = loose(block((140, 140, 10), (-70, -70, 40), label="L"))
    copies = placed_copies(standing(solid(tube()), lid))
    group = {(copy.part, copy.number) for copy in copies}
    entry = clearance(copies, figure((0, 0, -1), ellipsoid=ball(48.0, z=-200.0)), [group]).entry
    assert entry.taken_out == ("pL",)
    assert entry.gone == {("pL", 1)}


def test_along_a_slant_a_box_clears_a_wall_by_what_geometry_says():
    """A cube with sides of 20 moved along (1, 1, 0) / sqrt 2 sweeps a corridor 10 sqrt 2 to each side."""
    wall = block((10, 10, 10), (100, -90, -5))
    way = np.array([-1.0, -1.0, 0.0]) / math.sqrt(2)
    entry = clearance(
        placed_copies(standing(wall)), figure(way, box={"centre": (0, -100, 0), "size": (20, 20, 20)})
    ).entry
    beside = (100 - (-80 + 100)) / math.sqrt(2) - 10 * math.sqrt(2)  # of the corner (100, -80) from the line
    assert entry.clearance == pytest.approx(beside, abs=0.1)


@pytest.mark.parametrize("kind", ["ellipsoid", "cylinder", "box"])
def test_swept_distances_are_the_least_of_many_places(kind):
    values = {
        "ellipsoid": {"centre": (3, 4, 5), "radii": (30, 20, 10)},
        "cylinder": {"from": (0, 0, 0), "to": (10, 30, 20), "radius": 12.0},
        "box": {"centre": (3, 4, 5), "size": (30, 20, 10)},
    }[kind]
    still = body(kind, values, ".")
    way = np.array([2.0, -1.0, 2.0]) / 3.0
    points = np.random.default_rng(7).uniform(-60, 160, (200, 3))
    gap, gradient = swept(still, way, 0.0, 120.0).distance(points)
    many = np.array([still.solid.distance(points - t * way)[0] for t in np.linspace(0.0, 120.0, 2401)])
    assert gap == pytest.approx(many.min(axis=0), abs=0.06)
    # convex: no point lies below the tangent plane of another
    planes = gap[:, None] + np.einsum("ik,ijk->ij", gradient, points[None] - points[:, None])
    assert (gap[None] >= planes - 0.01).all()


@pytest.fixture(scope="module")
def ball_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("figure") / "ball.stl"
    trimesh.creation.icosphere(3, 1.0).export(path)
    return path


def test_a_ball_from_a_mesh_file_fits_as_the_solid_does(ball_file):
    values = {**FILE, "file": str(ball_file), "unit": "cm", "scale": 4.8, "at": (0, 0, -200)}
    made = figure((0, 0, -1), mesh=values)
    assert made.mesh[0].min(axis=0) == pytest.approx((-48, -48, -248), abs=0.1)
    fit = clearance(placed_copies(standing(solid(tube()))), made)
    assert fit.clearance == pytest.approx(math.hypot(60, 200) - 48, abs=0.5)
    assert fit.entry.clearance == pytest.approx(60 - 48, abs=0.5)
    thick = clearance(placed_copies(standing(solid(tube()))), figure((0, 0, -1), mesh={**values, "scale": 6.2})).entry
    assert thick.blocks[0].depth == pytest.approx(2.0, abs=0.5)
    assert thick.left == pytest.approx(200 + 40 + math.sqrt(62**2 - 60.3**2), abs=3.0)


def test_a_step_file_is_read_at_its_own_size(tmp_path):
    path = tmp_path / "cube.step"
    cq.exporters.export(cq.Workplane().box(40, 40, 40), str(path))
    values = {"file": str(path), "scale": 1.0, "turn": (0, 0, 45), "at": (0, 0, 50)}
    fit = clearance(placed_copies(standing(solid(tube()))), figure(step=values))
    assert fit.clearance == pytest.approx(60 - 20 * math.sqrt(2), abs=0.5)


def test_a_file_that_is_no_mesh_is_refused(tmp_path):
    path = tmp_path / "no.stl"
    path.write_text("nothing")
    with pytest.raises(BuildError, match=r"no.stl"):
        figure(mesh={**FILE, "file": str(path)})


HERE = Where("x.yaml", 1, 1)


@pytest.mark.parametrize(
    ("kind", "values", "expected"),
    [
        ("prism", {"along": "z", "above": 10.0}, (0, 0, -1)),
        ("prism", {"along": "x", "below": 10.0}, (1, 0, 0)),
        ("plane", {"normal": "z", "at": -80.0}, (0, 0, 1)),  # open below the figure: it moves up
        ("plane", {"normal": "z", "at": 80.0}, (0, 0, -1)),
    ],
)
def test_the_way_in_goes_through_the_opening(kind, values, expected):
    form = FormSpec("hull", "loft", {}, (CutSpec("door", kind, values, HERE),), HERE)
    bodies = figure(ellipsoid=ball(20.0)).bodies
    way = _way_in({"through": {"form": "hull", "cut": "door"}}, bodies, {"hull": form})
    assert way == pytest.approx(expected)
    assert _way_in({"direction": (0, 3, 4)}, bodies, {}) == pytest.approx((0, 0.6, 0.8))


def test_the_picture_shows_what_the_prop_hides():
    """A ball half sunk behind a wall, seen from the side: its outline is a circle, its lower half hidden."""
    wall = block((400, 10, 200), (-200, 100, -200))
    model = standing(wall)
    shown = figure((0, 0, -1), ellipsoid=ball(80.0))
    front, side = fit_pictures(model, range(1), shown.mesh, shown.way_in)
    assert SIDE == (0.0, -1.0, 0.0)
    seen, hidden = (np.vstack([line for line in lines if len(line) > 3]) for lines in (side.figure, side.hidden))
    for line in (seen, hidden):
        assert np.hypot(*line.T) == pytest.approx(80.0, abs=0.2)
    assert seen[:, 1].min() > -5.0 and hidden[:, 1].max() < 5.0
    arrow = [line for line in side.figure if len(line) <= 3]
    assert arrow[0][-1] == pytest.approx((0.0, 95.0), abs=0.5)  # ends 15 mm above the ball
    assert side.bounds[3] == pytest.approx(155.0, abs=0.5)
    assert front.figure and front.old

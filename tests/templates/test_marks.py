"""Outlines of parts glued on top are carried to the right place of the pattern below."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
import template_props as props

from foamwright import Request, Stages, load
from foamwright.contacts.records import Contact, Contacts, End
from foamwright.geometry import Mesh
from foamwright.parts.records import BandBody, Frame, PanelBody, Placement
from foamwright.templates import wording
from foamwright.templates.landing import land
from foamwright.templates.marks import marks, steadied


def foam(pattern):
    return shapely.Polygon(pattern.outline, pattern.holes)


def plate(frame=props.FLAT, placements=(props.HERE,)):
    outline = np.array([[-50, -30], [50, -30], [50, 30], [-50, 30]], float)
    return props.pattern(props.piece("plate", "A", "Plate", props.flat_body(outline, frame=frame), placements), outline)


def turned(angle, axis, shift):
    """A placement: turned about `axis` (0, 1, 2) by `angle` degrees, then moved."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    j, k = (axis + 1) % 3, (axis + 2) % 3
    matrix = np.eye(4)
    matrix[[j, k, j, k], [j, k, k, j]] = c, c, -s, s
    matrix[:3, 3] = shift
    return Placement(matrix, False)


TOLD = wording.Told(plate().piece)
INSIDE = np.array([-1.0, 1.0])  # a flat pattern shows the plate from its inside face: x is turned


def marks_of(lower, upper):
    both = props.patterns((lower, upper), laps=((upper.piece.id, lower.piece.id),))
    return marks(both, lower)


def test_disc_on_a_tilted_plate_is_a_circle_at_its_foot():
    place = turned(40, 0, (10, 20, 30))
    axes = place.matrix[:3, :3]
    lower = plate(Frame(place.matrix[:3, 3], axes))
    at = place.matrix[:3, 3] + axes @ (12.0, -5.0, 6.0)  # on the outer face, z = 6
    upper = props.disc(9.0, placements=[Placement(np.block([[axes, at[:, None]], [np.eye(4)[3:]]]), False)])
    (mark,) = marks_of(lower, upper)
    assert not mark.on_inside
    (line,) = mark.lines
    assert np.allclose(np.hypot(*(line - INSIDE * (12.0, -5.0)).T), 9.0, atol=0.02)
    assert np.isclose(mark.region.area, np.pi * 81, rtol=2e-3)


FISH = np.array([[-30, 0], [0, -14], [20, -3], [34, -16], [27, 0], [34, 16], [20, 3], [0, 14]], float)
RIBBON = np.array([[-30, -14], [30, 12.8], [30, 14], [-30, -12.8]], float)  # 1.1 mm wide


@pytest.mark.parametrize("shape", [FISH, RIBBON])
def test_a_plate_with_pointed_tips_or_a_narrow_waist_covers_what_it_covers_and_no_more(shape):
    """Points a little way in from a tip or a waist are beside the plate. By the shoelace formula the fish's area is 914."""
    there = Frame(np.array([0.0, 0.0, 6.0]), np.eye(3))  # on the outer face
    upper = props.piece("fish", "B", "Fish", props.flat_body(shape, frame=there))
    (mark,) = marks_of(plate(), props.pattern(upper, shape))
    assert mark.region.area == pytest.approx(shoelace(shape), abs=0.01)


@pytest.mark.parametrize("shape", [FISH, RIBBON])
def test_so_it_does_on_bent_foam(shape):
    """Along the radius, t beside the line where it touches lies at 100 atan(t / 103) on foam of the neutral radius 100."""
    lower = props.cylinder_panel(radius_in=97.0, sweep=80.0, length=150.0)
    middle = np.radians(40.0)
    across, out = np.array([0.0, np.sin(middle), -np.cos(middle)]), np.array([0.0, np.cos(middle), np.sin(middle)])
    there = Frame(np.array([75.0, 0.0, 0.0]) + 103.0 * out, np.column_stack([[1.0, 0.0, 0.0], across, out]))
    upper = props.piece("fish", "B", "Fish", props.flat_body(shape, frame=there))
    (mark,) = marks_of(lower, props.pattern(upper, shape))
    fine = shapely.get_coordinates(shapely.segmentize(shapely.Polygon(shape), 0.5).exterior)[:-1]
    assert mark.region.area == pytest.approx(
        shoelace(np.column_stack([fine[:, 0], 100 * np.arctan(fine[:, 1] / 103)])), rel=2e-3
    )


def shoelace(outline):
    x, y = outline.T
    return abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0


def test_a_disc_under_the_plate_is_on_its_inside_face():
    (mark,) = marks_of(plate(), props.disc(9.0, placements=[props.moved(0, 0, -6.0)]))
    assert mark.on_inside


def test_copies_away_from_the_plate_give_no_mark():
    away = [props.moved(200, 0, 6), props.moved(0, 0, 60)]
    assert marks_of(plate(), props.disc(9.0, placements=away)) == ()


def test_a_disc_over_the_edge_is_clipped_to_the_foam():
    (mark,) = marks_of(plate(), props.disc(9.0, placements=[props.moved(50, 0, 6)]))
    (line,) = mark.lines
    assert line[:, 0].min() > -50.0 and np.isclose(shapely.LineString(line).length, np.pi * 9, rtol=2e-3)


def test_marks_belong_to_the_first_copy_of_the_lower():
    """The lower stands elsewhere; its own copy of the upper stands there too."""
    lower = plate(placements=[turned(90, 2, (300, 0, 0)), props.HERE])
    # (20, 10) on the plate, turned by 90 degrees and moved, is (290, 20) in space
    upper = props.disc(5.0, placements=[props.moved(290, 20, 6)])
    (mark,) = marks_of(lower, upper)
    assert np.allclose(shapely.get_coordinates(mark.region.centroid), INSIDE * (20, 10), atol=0.02)


def test_a_ring_marks_both_its_edges():
    ring = props.ring(20.0, 12.0)
    lifted = props.pattern(
        props.piece("ring", "E", "Ring", ring.piece.body, [props.moved(0, 0, 6.0)]), ring.outline, ring.holes
    )
    (mark,) = marks_of(plate(), lifted)
    lengths = sorted(shapely.LineString(line).length for line in mark.lines)
    assert np.allclose(lengths, [2 * np.pi * 12, 2 * np.pi * 20], rtol=2e-3)
    assert np.isclose(mark.region.area, np.pi * (400 - 144), rtol=5e-3)


def test_a_patch_on_a_cylinder_develops_to_radius_times_angle():
    """Handbook: a cylinder develops with arc length = radius x angle, here at the neutral radius."""
    lower = props.cylinder_panel(radius_in=97.0, sweep=80.0, length=150.0)
    a0, a1 = np.radians([20.0, 50.0])
    edges = props.panel_edges(103.0, 109.0, 30.0, 40.0)
    body = PanelBody("form", None, None, edges, 0.0, (), False, np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))
    patch = props.pattern(props.piece("patch", "P", "Patch", body, [turned(20, 0, (60, 0, 0))]), props.circle(5))
    (mark,) = marks_of(lower, patch)
    assert not mark.on_inside
    x0, y0, x1, y1 = shapely.bounds(shapely.union_all(shapely.linestrings(mark.lines[0])))
    assert np.allclose([x0, x1], [60, 100], atol=0.02)
    assert np.allclose([y0, y1], [100 * a0, 100 * a1], atol=0.02)
    assert np.isclose(mark.region.area, 40 * 100 * (a1 - a0), rtol=1e-3)


@pytest.mark.parametrize("height", [-3.0, 0.0, 3.0, 6.0])
def test_points_over_a_cylinder_land_along_its_radius(height):
    lower = props.cylinder_panel(radius_in=97.0, sweep=80.0, length=150.0)
    angle, x = np.radians(np.linspace(5, 75, 101)), np.linspace(10, 140, 101)
    r = 100.0 + height
    landed = land(lower, np.column_stack([x, r * np.cos(angle), r * np.sin(angle)]))
    assert landed.near.all()
    assert np.allclose(landed.flat, np.column_stack([x, 100.0 * angle]), atol=0.01)
    # facets of 3 degrees lie up to 100 (1 - cos 1.5) = 0.034 mm under the cylinder
    assert np.allclose(landed.height, height + 3.0, atol=0.04)


def test_inside_and_outside_do_not_depend_on_the_facing_of_the_mesh():
    lower = props.cylinder_panel()
    mesh = lower.mesh
    flipped = type(mesh)(mesh.flat * (-1, 1), Mesh(mesh.surface.points, mesh.surface.triangles[:, ::-1]), mesh.strain)
    other = props.pattern(lower.piece, lower.outline, mesh=flipped)
    outer = np.array([[75.0, 103 * np.cos(0.7), 103 * np.sin(0.7)]])
    assert np.allclose(land(lower, outer).height, 6.0, atol=0.04)
    assert np.allclose(land(other, outer).height, 6.0, atol=0.04)


def test_a_disc_on_a_hoop_lands_at_its_arc_length():
    """A hoop of radius 100 about x, neutral radius 103; a small plate at 30 degrees, 4 mm along x."""
    turn = np.radians(np.linspace(0, 180, 361))
    outward = np.column_stack([0 * turn, np.cos(turn), np.sin(turn)])
    body = BandBody(
        100 * outward, outward, np.array([1.0, 0, 0]), np.full(361, -15.0), np.full(361, 15.0),
        0.0, False, 8.0, 0.0, (), (),
    )  # fmt: skip
    length = 103 * np.pi
    outline = np.array([[-length, -15], [8, -15], [8, 15], [-length, 15]])
    lower = props.pattern(props.piece("hoop", "L", "Hoop", body), outline, strip=(length + 8, 30.0))
    a = np.radians(30.0)
    out, along = np.array([0, np.cos(a), np.sin(a)]), np.array([0, -np.sin(a), np.cos(a)])
    at = 106 * out + (4.0, 0, 0)
    axes = np.column_stack([along, [1.0, 0, 0], out * np.linalg.det(np.column_stack([along, [1.0, 0, 0], out]))])
    landed = land(lower, at[None] + [[0, 0, 0]])
    assert np.allclose(landed.flat, [[-103 * a, 4.0]], atol=0.02) and np.allclose(landed.height, 6.0, atol=0.02)
    pad = props.flat_body(props.circle(4), frame=Frame(at, axes))
    upper = props.pattern(props.piece("pad", "P", "Pad", pad), props.circle(4))
    (mark,) = marks_of(lower, upper)
    assert np.allclose(shapely.get_coordinates(mark.region.centroid), (-103 * a, 4.0), atol=0.05)


def hoop(radius=100.0, half=15.0):
    """A closed band about x, with its straight development."""
    turn = np.radians(np.linspace(0, 360, 721))
    outward = np.column_stack([0 * turn, np.cos(turn), np.sin(turn)])
    side = np.full(len(turn), half)
    body = BandBody(radius * outward, outward, np.array([1.0, 0, 0]), -side, side, 0.0, True, 0.0, 0.0, (), ())
    length = (radius + 3.0) * turn[-1]
    outline = np.array([[-length, -half], [0, -half], [0, half], [-length, half]])
    return props.pattern(props.piece("hoop", "L", "Hoop", body), outline)


def test_a_mark_across_the_ends_of_a_closed_band_is_in_two_parts():
    axes = np.column_stack([[0, 0, 1.0], [1.0, 0, 0], [0, 1.0, 0]])
    pad = props.flat_body(props.circle(4), frame=Frame(np.array([0.0, 106.0, 0.0]), axes))
    upper = props.pattern(props.piece("pad", "P", "Pad", pad), props.circle(4))
    (mark,) = marks_of(hoop(), upper)
    whole = 103 * 2 * np.pi
    assert len(mark.lines) == 2
    assert all(np.ptp(line[:, 0]) < 5 for line in mark.lines)
    # from the outer radius to the neutral one, lengths around the hoop shrink in proportion
    assert np.isclose(mark.region.area, np.pi * 16 * 103 / 106, rtol=3e-3)
    assert sorted(round(part.centroid.x / whole) for part in shapely.get_parts(mark.region)) == [-1, 0]


def test_a_hoop_around_a_cylinder_is_marked_between_its_two_edges():
    """Its rims are circles, so they develop to two straight lines across the panel."""
    lower = props.cylinder_panel(radius_in=97.0, sweep=80.0, length=150.0)
    around = hoop(radius=103.0, half=10.0)
    upper = props.pattern(props.piece("hoop", "L", "Hoop", around.piece.body, [props.moved(70, 0, 0)]), around.outline)
    (mark,) = marks_of(lower, upper)
    assert sorted(round(float(line[:, 0].mean()), 2) for line in mark.lines) == [60.0, 80.0]
    assert all(np.ptp(line[:, 0]) < 0.02 for line in mark.lines)
    assert np.isclose(mark.region.area, 20 * 100 * np.radians(80), rtol=1e-3)
    assert mark.region.centroid.x == pytest.approx(70, abs=0.01)


def test_a_part_that_only_touches_the_edge_gives_no_mark():
    beside = props.flat_body(np.array([[50, -30], [90, -30], [90, 30], [50, 30]], float))
    upper = props.pattern(props.piece("next", "N", "Next", beside, [props.moved(-0.2, 0, 6)]), props.circle(4))
    assert marks_of(plate(), upper) == ()


def test_a_part_that_rises_off_the_foam_covers_what_lies_below_it_only():
    """A disc leaning at 30 degrees with its foot on the outer face: an ellipse of pi r r cos 30 lies below it."""
    leaning = turned(30, 0, (0.0, 0.0, 6.0 + 20.0 * np.sin(np.radians(30))))
    (mark,) = marks_of(plate(), props.disc(20.0, placements=[leaning]))
    assert mark.region.area == pytest.approx(np.pi * 20.0**2 * np.cos(np.radians(30)), rel=0.02)
    drawn = shapely.union_all([shapely.LineString(line) for line in mark.lines])
    assert 0.3 * mark.region.length < drawn.length < 0.8 * mark.region.length  # only where it is near


NONE = np.zeros((0, 3), int)  # triangles of what touches: marks are drawn from the outlines


def standing(copy, face, corners, part="post", placement=props.HERE):
    """A contact of an edge with a copy of the plate, its outline given on the plate as modelled."""
    outline = np.column_stack([corners, np.full(len(corners), 0.0 if face == "inside" else 6.0)])
    outline = outline @ placement.matrix[:3, :3].T + placement.matrix[:3, 3]
    ends = End("plate", copy, face), End(part, 1, "foot")
    return Contact(*ends, 60.0, 30.0, 0.0, 0.0, (outline,), outline, NONE)


BAND = np.array([[0.0, 5.0], [30.0, 5.0], [30.0, 11.0], [0.0, 11.0]])  # an edge of 6 mm foam, 30 mm long


def edge_on(places, *contacts):
    lower = plate(placements=places)
    post = props.disc(9.0, "post", "B", "Post")
    return marks(props.patterns((lower, post)), lower, Contacts(1.0, contacts))


@pytest.mark.parametrize("face", ["inside", "outside"])
def test_an_edge_that_stands_on_a_part_is_a_band_as_wide_as_its_foam(face):
    (mark,) = edge_on((props.HERE,), standing(1, face, BAND))
    assert mark.upper.id == "post" and mark.on_inside == (face == "inside") and mark.copies == ()
    assert mark.region.equals(shapely.Polygon(BAND * INSIDE)) or mark.region.symmetric_difference(
        shapely.Polygon(BAND * INSIDE)
    ).area == pytest.approx(0.0, abs=0.5)


def test_every_copy_has_its_own_marks():
    """The second copy is turned and moved; what stands on it is told where it is on the part as modelled."""
    places = (props.HERE, turned(40.0, 2, (200.0, 30.0, 5.0)))
    own = standing(2, "inside", BAND + 8.0, placement=places[1])
    everywhere = [standing(1, "inside", BAND), standing(2, "inside", BAND, placement=places[1])]
    found = edge_on(places, *everywhere, own)
    assert [mark.copies for mark in found] == [(), (2,)]
    assert shapely.Polygon((BAND + 8.0) * INSIDE).symmetric_difference(found[1].region).area < 0.5
    assert wording.mark_texts(found[1], TOLD) == ("B: Post, copy 2 only", "B, copy 2 only")
    below = replace(found[1], on_inside=False, copies=(1, 3, 4))
    assert wording.mark_texts(below, TOLD)[1] == "B, other face, copies 1, 3 and 4 only"
    unnumbered = wording.Told(replace(plate().piece, placements=(props.HERE,) * 12), numbered=False)
    assert wording.mark_texts(below, unnumbered)[1] == "B, other face, on 3 of 12"
    pair = wording.Told(replace(plate().piece, placements=(props.HERE, props.mirror_y())), numbered=False)
    assert wording.mark_texts(found[1], pair)[1] == "B, mirrored only"


@pytest.mark.parametrize("face, layer", [("inside", "rest"), ("outside", "rest-other")])
@pytest.mark.parametrize("how", [{"rests_on": ("plate",)}, {"glue": "none"}])
def test_what_rests_without_glue_has_lines_and_words_of_its_own(face, layer, how):
    lower, post = plate(), props.disc(9.0, "post", "B", "Post")
    dry = replace(post, piece=replace(post.piece, **how))
    (mark,) = marks(props.patterns((lower, dry)), lower, Contacts(1.0, (standing(1, face, BAND),)))
    assert mark.layer == layer and not mark.glued
    assert wording.mark_texts(mark, TOLD)[0].startswith("B: Post, rests here, no glue")
    assert all("no glue" in text for text in wording.mark_texts(mark, TOLD))


def test_what_meets_a_cut_edge_or_lies_under_a_larger_part_is_no_mark():
    rim = Contact(
        End("plate", 1, "edge"),
        End("post", 1, "inside"),
        60.0,
        30.0,
        0.0,
        0.0,
        (np.zeros((4, 3)),),
        np.zeros((4, 3)),
        NONE,
    )
    assert edge_on((props.HERE,), rim) == ()


def touching(lower, face, *outlines, area):
    """The marks on a part that an edge of the post touches along closed `outlines`, given on the part as modelled."""
    ends = End(lower.piece.id, 1, face), End("post", 1, "foot")
    contact = Contact(*ends, area, 30.0, 0.0, 0.0, outlines, outlines[0], NONE)
    both = props.patterns((lower, props.disc(9.0, "post", "B", "Post")))
    return marks(both, lower, Contacts(1.0, (contact,)))


def test_what_stands_all_around_inside_a_hoop_is_a_strip_along_it():
    """Two circles on its inside face, 5 mm apart: developed, the strip is as long as the neutral circle."""
    turn = np.radians(np.arange(0, 360, 2))
    circles = [np.column_stack([0 * turn + x, 100 * np.cos(turn), 100 * np.sin(turn)]) for x in (-2.0, 3.0)]
    (mark,) = touching(hoop(), "inside", *circles, area=5.0 * 2 * np.pi * 100)
    assert mark.region.area == pytest.approx(5.0 * 2 * np.pi * 103, rel=2e-3)
    assert np.ptp(shapely.get_coordinates(mark.region)[:, 1]) == pytest.approx(5.0, abs=0.01)


def test_what_touches_a_closed_band_across_its_ends_is_marked_at_both():
    """A square foot of 8 mm, half of it before the start of the hoop and half of it beyond its end."""
    side = np.array([-4.0, 4.0])
    x, along = np.array([[-4.0, 4.0, 4.0, -4.0], [side[0], side[0], side[1], side[1]]])
    turn = np.arctan2(along, 106.0)
    outline = np.column_stack([x, 106.0 * np.cos(turn), 106.0 * np.sin(turn)])
    (mark,) = touching(hoop(), "outside", outline, area=64.0)
    assert mark.region.area == pytest.approx(64.0 * 103 / 106, rel=0.01)
    assert sorted(round(part.centroid.x / (103 * 2 * np.pi)) for part in shapely.get_parts(mark.region)) == [-1, 0]


def test_what_runs_on_past_a_panel_is_marked_on_what_there_is():
    """A foot 6 mm wide around a cylinder, far past both straight edges of a panel of 80 degrees."""
    lower = props.cylinder_panel(radius_in=97.0, sweep=80.0, length=150.0)
    low, high = (lower.mesh.surface.points[:, k] for k in (1, 2))
    centre = np.arctan2(high.mean(), low.mean())
    turn = centre + np.radians(np.linspace(-75, 75, 151))
    x = np.concatenate([np.full(151, 60.0), np.full(151, 66.0)])
    turn = np.concatenate([turn, turn[::-1]])
    outline = np.column_stack([x, 103 * np.cos(turn), 103 * np.sin(turn)])
    (mark,) = touching(lower, "outside", outline, area=6.0 * 103 * np.radians(80))
    assert mark.region.area == pytest.approx(6.0 * 100 * np.radians(80), rel=0.01)


def test_a_border_that_wanders_by_a_triangle_is_drawn_straight_and_corners_stay():
    """The two ways of a strip 200 x 20, one of them with teeth of 1.4 mm; a comb's teeth of 6 mm are meant."""
    at = np.arange(0.0, 201.0, 2.5)
    teeth = np.column_stack([at, 20.0 + 0.7 * (-1.0) ** np.arange(len(at))])
    straight = steadied(shapely.Polygon([(0.0, 0.0), (200.0, 0.0), *teeth[::-1]]))
    sides = np.diff(shapely.get_coordinates(straight.exterior), axis=0)
    turns = np.abs(np.diff(np.unwrap(np.arctan2(sides[:, 1], sides[:, 0]))))
    assert turns[turns < 1.0].max() < 0.03  # but for the four corners
    assert straight.area == pytest.approx(200 * 20, abs=200 * 0.75)  # within what the teeth reach
    comb = shapely.Polygon([(0, 0), (200, 0), *((x, 20 + 6 * (k % 2)) for k, x in enumerate(range(200, -1, -5)))])
    for meant in (comb, shapely.Point(0, 0).buffer(3), shapely.box(0, 0, 3, 40), shapely.Polygon()):
        assert steadied(meant).equals(meant)


def test_a_bent_border_that_wanders_stays_bent():
    """A strip 20 wide along an arc of radius 150, its outer way with teeth of 1.2 mm: the arc, and no polygon of few sides."""
    turn = np.linspace(0.0, 1.2, 73)
    ray = np.column_stack([np.cos(turn), np.sin(turn)])
    toothed = ray * (170.0 + 0.6 * (-1.0) ** np.arange(len(turn)))[:, None]
    even = steadied(shapely.Polygon([*(150.0 * ray), *toothed[::-1]]))
    points = shapely.get_coordinates(even.exterior)
    outer = points[np.hypot(*points.T) > 160.0]
    bearing = np.arctan2(outer[:, 1], outer[:, 0])
    away = np.hypot(*outer[(bearing > 0.06) & (bearing < 1.14)].T)  # at its two corners it is held
    assert len(away) > 100 and np.abs(away - 170.0).max() < 0.25


def test_a_lid_that_lies_on_walls_is_set_by_their_line_on_its_own_face(tmp_path):
    """The walls of a box of 80 x 60 mm in 6 mm foam are as large from above as 80 x 60 less 68 x 48 mm."""
    path = tmp_path / "lid.yaml"
    path.write_text(
        "format: 1\nname: Lid\nversion: 0.1.0\nlicence: CC-BY-4.0\nsummary: A lid on four walls.\n"
        "parameters:\n  scale: {value: 1, note: Larger or smaller}\n  clearance: {value: 0.5 mm, note: Gap}\n"
        "sizes: {shelf: {note: for a shelf}}\n"
        "stock:\n  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1000 mm]}\n"
        "parts:\n  tub: {kind: box, stock: shell, size: [80 * scale, 60, 40], without: [top], at: {normal: z, up: x}}\n"
        "  lid: {kind: plate, stock: shell, outline: {rectangle: {width: 100, height: 80}}, "
        "at: {origin: [0, 0, 40], normal: z}, lies_on: [tub]}\n",
        encoding="utf-8",
    )
    stages = Stages(Request(load(path)))
    patterns, contacts = stages.record("patterns"), stages.record("contacts")
    lid = patterns.pattern("lid")
    drawn = marks(patterns, lid, contacts)
    assert sum(mark.region.area for mark in drawn) == pytest.approx(80 * 60 - 68 * 48, rel=1e-3)
    assert all(mark.on_inside == drawn[0].on_inside for mark in drawn)


def laid_round_a_cone(tmp_path, laid, span, scale):
    """The pattern of a cone that is one panel, and the marks of twelve parts `laid` on it, the first of them over its seam."""
    path = tmp_path / "blocks.yaml"
    path.write_text(
        "format: 1\nname: Blocks\nversion: 0.1.0\nlicence: CC-BY-4.0\nparameters:\n"
        f"  scale: {{value: {scale}, note: Larger or smaller}}\n  clearance: {{value: 0.5 mm, note: Gap}}\n"
        "sizes: {shelf: {note: for a shelf}}\n"
        "stock:\n  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [3000 mm, 3000 mm]}\n"
        f"forms:\n  cone: {{kind: revolution, axis: z, profile: [[0, 80 * scale], [120 * scale, {80 - 80 * span} * scale]], "
        "smooth: false, cuts: {low: {plane: {normal: z, at: 5 * scale}}, high: {plane: {normal: z, at: 110 * scale}}, "
        "ray: {prism: {outline: {polygon: {points: [[-8, 20], [8, 20], [0, 80]]}}, along: x, above: 0}}}}\n"
        "parts:\n  wall: {kind: panel, stock: shell, form: cone, where: {low: beyond, high: before}, opened: 0}\n"
        f"  laid: {{{laid}, stock: shell, repeat: {{around: {{count: 12, axis: z}}}}}}\n",
        encoding="utf-8",
    )
    stages = Stages(Request(load(path)))
    patterns, contacts = stages.record("patterns"), stages.record("contacts")
    wall = patterns.pattern("wall")
    return wall, marks(patterns, wall, contacts)


def test_a_pointed_panel_over_a_seam_covers_as_much_as_the_others(tmp_path):
    """Points a little way in from its tip are on the far side of it, beyond the seam. By symmetry of rotation."""
    _, (first, *others) = laid_round_a_cone(
        tmp_path, "kind: panel, form: cone, where: {ray: inside}, over: [wall]", 0.5, 1.0
    )
    assert len(others) == 11
    assert first.region.area == pytest.approx(np.mean([mark.region.area for mark in others]), rel=0.05)


@pytest.mark.parametrize("span, scale", [(0.5, 1.0), (0.5, 3.0), (0.25, 1.0)])
def test_a_part_laid_over_the_seam_of_a_cone_is_marked_on_both_sides_of_it(tmp_path, span, scale):
    """Laid flat the two edges of the seam are far apart, and all blocks cover as much. Where the blocks' lines end they reach
    the seam. By symmetry of rotation."""
    block = (
        "kind: plate, outline: {rectangle: {width: 20 * scale, height: 24 * scale}}, lies_on: [wall], "
        "at: {origin: [0, 0, 50 * scale], normal: x, up: z, onto: {form: cone, offset: 6, turned: true}}"
    )
    wall, (first, *others) = laid_round_a_cone(tmp_path, block, span, scale)
    assert len(others) == 11
    assert first.region.area == pytest.approx(np.mean([mark.region.area for mark in others]), rel=0.02)
    around = shapely.MultiLineString(list(first.lines))
    ends = [edge for edge in wall.edges if edge.seam is not None]
    assert shapely.length(around) == pytest.approx(shapely.length(shapely.LineString(others[0].lines[0])), rel=0.03)
    for edge in ends:
        crossings = shapely.buffer(around, 0.1) & shapely.LineString(edge.points)
        assert len(shapely.get_parts(crossings)) == 2


CURVED = """\
format: 1
name: Curved
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [3000, 6000]}}
forms:
  pipe: {kind: revolution, axis: z, profile: [[-10, 200 * scale], [130, 200 * scale]], smooth: false, cuts: {
    foot: {plane: {normal: z, at: 0}}, head: {plane: {normal: z, at: 120}}, front: {plane: {normal: y, at: 0}}}}
parts:
  half: {kind: panel, stock: foam, form: pipe, where: {foot: beyond, head: before, front: beyond}, mirror: y}
  sign:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 60, height: 40}}
    at: {origin: [206 * scale, 0, 60], normal: x, up: z}
    lies_on: [half]
"""


def test_a_flat_sign_over_a_seam_shows_no_line_of_what_is_all_below_it(tmp_path):
    """60 mm on a pipe of 206: it touches in its middle only, and both halves of the pipe lie all below it."""
    path = tmp_path / "curved.yaml"
    path.write_text(CURVED, "utf-8")
    templates = {t.pattern.piece.id: t for t in Stages(Request(load(path))).record("templates")}
    assert not templates["sign"].marks
    assert [mark.upper.id for mark in templates["half"].marks] == ["sign"]


FRAME = """\
format: 1
name: Window
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 0 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [3000, 6000]}}
parts:
  board: {kind: plate, stock: foam, outline: {rectangle: {width: 200 * scale, height: 200}, minus: [{rectangle: {width: 60, height: 60}}]}, at: {normal: z, up: y}}
  frame:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 80, height: 80}}
    minus: [{rectangle: {width: 25, height: 56, centre: [-15, 0]}}, {rectangle: {width: 25, height: 56, centre: [15, 0]}}]
    at: {origin: [0, 0, 6], normal: z, up: y}
    lies_on: [board]
  wing: {kind: plate, stock: foam, outline: {rectangle: {width: 40, height: 20}}, at: {origin: [95, 80, 6], normal: z, up: y}, lies_on: [board]}
"""


def test_a_bar_across_a_window_does_not_stand_out_beyond_the_wall(tmp_path):
    """The bar is 30 mm from the rim of the window in its middle, less 2.5 mm of its own; the wing stands out by 15 mm."""
    path = tmp_path / "window.yaml"
    path.write_text(FRAME, "utf-8")
    board = next(t for t in Stages(Request(load(path))).record("templates") if t.pattern.piece.id == "board")
    out = {mark.upper.id: mark.overhang for mark in board.marks}
    assert out == {"frame": 0.0, "wing": pytest.approx(15.0, abs=0.1)}


LAPPED = (
    "format: 1\nname: Lapped\nversion: 0.1.0\nlicence: CC-BY-4.0\nsummary: A bar along the rim of a wall.\n"
    "parameters:\n  scale: {value: 1, note: Larger or smaller}\n  clearance: {value: 0.5 mm, note: Gap}\n"
    "sizes: {shelf: {note: for a shelf}}\n"
    "stock:\n  shell: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1000 mm]}\n"
    "parts:\n"
    "  wall: {kind: plate, stock: shell, outline: {rectangle: {width: 160, height: 40}}, "
    "at: {origin: [0, 40, 0], normal: y}, mirror: y}\n"
    "  bar: {kind: plate, stock: shell, outline: {rectangle: {width: LONG, height: 40}}, "
    "at: {origin: [0, 50, RISE], normal: y}, mirror: y}\n"
)


@pytest.mark.parametrize("lap", [2.0, 3.0, 5.0])
@pytest.mark.parametrize("long", [120.0, 160.0, 200.0])
def test_what_laps_a_part_by_a_narrow_strip_has_a_line_be_it_smaller_as_large_or_larger(tmp_path, lap, long):
    """A bar face to face along the rim of a wall: a strip as long as the shorter of both and as wide as they lap."""
    path = tmp_path / "lapped.yaml"
    path.write_text(LAPPED.replace("LONG", str(long)).replace("RISE", str(40.0 - lap)), encoding="utf-8")
    stages = Stages(Request(load(path)))
    patterns, contacts = stages.record("patterns"), stages.record("contacts")
    drawn = {part: marks(patterns, patterns.pattern(part), contacts) for part in ("wall", "bar")}
    carriers = {"wall"} if long < 160.0 else {"bar"} if long > 160.0 else {"wall", "bar"}
    assert {part for part, own in drawn.items() if own} == carriers
    for part in carriers:
        (mark,) = drawn[part]
        assert mark.copies == () and mark.glued  # alike on both hands
        assert mark.region.area == pytest.approx(min(long, 160.0) * lap, rel=2e-3)


def test_two_of_one_outline_that_lie_rim_on_rim_have_no_line(tmp_path):
    path = tmp_path / "lapped.yaml"
    path.write_text(LAPPED.replace("LONG", "160").replace("RISE", "0"), encoding="utf-8")
    stages = Stages(Request(load(path)))
    patterns, contacts = stages.record("patterns"), stages.record("contacts")
    assert not any(marks(patterns, patterns.pattern(part), contacts) for part in ("wall", "bar"))

"""Contacts of plates, bands, bars and panels, whose areas and lengths elementary geometry gives."""

from __future__ import annotations

from dataclasses import replace
from math import acos, pi, sqrt

import numpy as np
import pytest

from foamwright.contacts.find import CORNER, GLUE_REACH, LINE, find_contacts, holds
from foamwright.contacts.records import Solid
from foamwright.contacts.solids import solids
from foamwright.design import load
from foamwright.model.build import build_model
from foamwright.parts import build_prop
from foamwright.parts.records import Piece, Placement, RodBody
from tests.model.solid_fixtures import (
    FOAM,
    Spheroid,
    Tube,
    frame,
    hoop,
    panel,
    piece,
    placed,
    plate,
    prop,
    rectangle,
    ring_points,
)
from tests.parts.flat_designs import HEAD, design

T = FOAM.thickness
W, D, H = 120.0, 80.0, 60.0  # outside of the box


def found(*pieces, clearance=0.0):
    return find_contacts(solids(build_model(prop(*pieces))), clearance)


def flat(label, size, origin, x, y, placements=None, bevels=(0.0,) * 4):
    """A plate of the given size from `origin`, its outline along x and y; its thickness goes along x times y."""
    body = replace(plate(rectangle(*size), bevels=bevels), frame=frame(origin, (x, y, np.cross(x, y))))
    return piece(label, body, placements=placements)


def box(gap=0.0):
    """Six plates: floor and lid whole, front and back between these, the ends between all four.

    The lid is `gap` above the walls.
    """
    x, y, z = np.eye(3)
    tall = H - 2 * T
    return (
        flat("A", (W, D), (0, 0, 0), x, y),
        flat("B", (W, D), (0, 0, H - T + gap), x, y),
        flat("C", (W, tall), (0, T, T), x, z),
        flat("D", (W, tall), (0, D, T), x, z),
        flat("E", (D - 2 * T, tall), (0, T, T), y, z),
        flat("F", (D - 2 * T, tall), (W - T, T, T), y, z),
    )


def by_pair(contacts):
    return {frozenset((c.a.part, c.b.part)): c for c in contacts.found}


def area_in_space(outline):
    """Area within a plane loop in space, by its vector area."""
    return float(np.linalg.norm(np.cross(outline, np.roll(outline, -1, axis=0)).sum(axis=0)) / 2.0)


def test_a_box_of_six_plates():
    contacts = found(*box())
    assert len(contacts.found) == 12
    met = by_pair(contacts)
    lengths = {"ab": W, "e": D - 2 * T, "tall": H - 2 * T}
    expected = {
        ("pa", "pc"): lengths["ab"],
        ("pa", "pd"): lengths["ab"],
        ("pb", "pc"): lengths["ab"],
        ("pb", "pd"): lengths["ab"],
        ("pa", "pe"): lengths["e"],
        ("pa", "pf"): lengths["e"],
        ("pb", "pe"): lengths["e"],
        ("pb", "pf"): lengths["e"],
        ("pc", "pe"): lengths["tall"],
        ("pc", "pf"): lengths["tall"],
        ("pd", "pe"): lengths["tall"],
        ("pd", "pf"): lengths["tall"],
    }
    for pair, length in expected.items():
        contact = met[frozenset(pair)]
        assert contact.kind == "edge-face"
        assert contact.length == pytest.approx(length, abs=1e-6)
        assert contact.area == pytest.approx(length * T, abs=1e-4)
        assert contact.gap == pytest.approx(0.0, abs=1e-9)
        (outline,) = contact.outlines
        assert area_in_space(outline) == pytest.approx(length * T, abs=1e-4)


def test_faces_and_edges_are_named():
    met = by_pair(found(*box()))
    on_floor = met[frozenset(("pa", "pc"))]
    assert on_floor.a.part == "pa" and on_floor.a.face == "outside"
    assert on_floor.b.face == "side 0"  # of the rectangle, from its first corner to its second
    assert met[frozenset(("pb", "pc"))].a.face == "inside"
    assert met[frozenset(("pc", "pe"))].b.face == "side 3"


def test_outlines_lie_where_the_two_meet():
    contact = by_pair(found(*box()))[frozenset(("pa", "pc"))]
    (outline,) = contact.outlines
    assert outline.min(axis=0) == pytest.approx([0, 0, T], abs=1e-6)
    assert outline.max(axis=0) == pytest.approx([W, T, T], abs=1e-6)


def test_half_a_millimetre_of_glue():
    met = by_pair(found(*box(gap=0.5)))
    assert met[frozenset(("pb", "pc"))].gap == pytest.approx(0.5, abs=1e-9)
    assert met[frozenset(("pb", "pc"))].area == pytest.approx(W * T, abs=1e-4)


def test_what_is_out_of_reach_does_not_touch():
    """Glue bridges 0.8 mm, or the clearance that a design leaves where that is more; what comes nowhere as near is not glued,
    though it be within both together."""
    assert GLUE_REACH == 0.8
    lid = {c for c in found(*box(gap=GLUE_REACH + 1.0)).found if "pb" in (c.a.part, c.b.part)}
    assert not lid
    assert {c for c in found(*box(gap=1.5), clearance=1.5).found if "pb" in (c.a.part, c.b.part)}
    assert not {c for c in found(*box(gap=1.5), clearance=1.3).found if "pb" in (c.a.part, c.b.part)}
    assert not {c for c in found(*box(gap=GLUE_REACH + 0.01)).found if "pb" in (c.a.part, c.b.part)}
    assert {c for c in found(*box(gap=GLUE_REACH - 0.01)).found if "pb" in (c.a.part, c.b.part)}


def test_reach_of_curved_faces():
    """A hoop 1.0 mm beyond the reach around a tube's panel, and one within it."""
    tube = panel(Tube(60.0, 100.0), (0.0, 0.1), (1.0, 0.4))
    far = piece("B", hoop(65.0 + GLUE_REACH + 1.0, 40, 60))
    near = piece("B", hoop(65.0 + GLUE_REACH - 0.3, 40, 60))
    assert not found(piece("A", tube), far).found
    (contact,) = found(piece("A", tube), near).found
    assert contact.mean_gap == pytest.approx(GLUE_REACH - 0.3, abs=0.1)  # both are polygons, 0.1 mm from round


def test_no_parts():
    assert find_contacts(()).found == ()


def test_one_part_touches_nothing():
    assert found(box()[0]).found == ()


def test_every_copy_by_itself():
    """Two blocks of one part on a plate, a third beside it, and the two on it also against each other."""
    ground = piece("A", plate(rectangle(100, 100)))
    block = piece("B", plate(rectangle(20, 10)), placements=(placed(0, 0, T), placed(20, 0, T), placed(200, 0, T)))
    contacts = found(ground, block)
    met = {(c.a.part, c.a.copy, c.b.part, c.b.copy): c for c in contacts.found}
    assert set(met) == {("pa", 1, "pb", 1), ("pa", 1, "pb", 2), ("pb", 1, "pb", 2)}
    assert met["pb", 1, "pb", 2].kind == "edge-edge"
    assert met["pb", 1, "pb", 2].area == pytest.approx(10 * T, abs=1e-6)
    assert met["pa", 1, "pb", 2].outlines[0][:, 0].min() == pytest.approx(20.0)


def test_mirrored_copies_touch_where_their_images_are():
    """A triangle and its mirror image back to back, and on a plate: the image's contact is the contact's image."""
    corners = np.array([(0, 0), (40, 0), (0, 30)], float)
    ground = piece("A", plate(rectangle(200, 200), (-100, -100, 0)))
    wedge = piece(
        "B", plate(corners, bevels=(0.0, 0.0, 0.0)), placements=(placed(0, 0, T), placed(0, 0, T, mirrored=True))
    )
    met = {(c.a.copy, c.b.copy, c.a.part): c for c in found(ground, wedge).found}
    assert len(met) == 3
    one, image, between = met[1, 1, "pa"], met[1, 2, "pa"], met[1, 2, "pb"]
    assert one.area == image.area == pytest.approx(600.0, abs=1e-6)
    assert image.outlines[0][:, 1].min() == pytest.approx(-30.0) and one.outlines[0][:, 1].max() == pytest.approx(30.0)
    assert (between.a.face, between.b.face) == ("side 0", "side 0")
    assert between.area == pytest.approx(40 * T, abs=1e-6)


def test_a_mirrored_curved_part_touches_as_the_plain_one_does():
    tube = panel(Tube(60.0, 100.0), (0.0, 0.05), (1.0, 0.45))  # clockwise from above: y < 0
    lap = panel(Tube(60.0, 100.0), (0.2, 0.1), (0.6, 0.3), inner_offset=T)
    both = (placed(), placed(mirrored=True))
    contacts = found(piece("A", tube, placements=both), piece("B", lap, placements=both))
    met = {(c.a.copy, c.b.copy): c for c in contacts.found}
    assert set(met) == {(1, 1), (2, 2)}
    area = 2 * pi * (60.0 + T) * 0.2 * 40.0  # of the cylinder between two angles and two heights
    for contact in met.values():
        assert contact.kind == "face-face" and (contact.a.face, contact.b.face) == ("outside", "inside")
        assert contact.area == pytest.approx(area, rel=0.01)
    assert met[2, 2].outlines[0][:, 1].min() > 0.0 > met[1, 1].outlines[0][:, 1].max()


def test_a_disc_in_a_tube_touches_with_its_rim():
    tube = panel(Tube(60.0, 100.0), (0.0, 0.0), (1.0, 0.5))
    disc = piece("B", plate(ring_points(60.0), (0, 0, 50), radius=60.0))
    (contact,) = found(piece("A", tube), disc).found
    assert contact.kind == "edge-face" and contact.a.face == "inside"
    assert contact.length == pytest.approx(60.0 * pi, rel=0.01)
    assert contact.area == pytest.approx(60.0 * pi * T, rel=0.01)


def test_a_disc_in_a_tube_touches_both_mirrored_halves_alike():
    """The rim of one disc against a panel and its mirror image: half the circumference each."""
    tube = piece("A", panel(Tube(60.0, 100.0), (0.0, 0.0), (1.0, 0.5)), placements=(placed(), placed(mirrored=True)))
    disc = piece("B", plate(ring_points(60.0), (0, 0, 50), radius=60.0))
    met = [c for c in found(tube, disc).found if "pb" in (c.a.part, c.b.part)]
    assert len(met) == 2
    for contact in met:
        assert contact.area == pytest.approx(60.0 * pi * T, rel=0.01)


def test_a_round_bar_lies_on_a_plate_as_far_as_glue_reaches():
    """The strip in which the gap of a circle over its tangent is within reach: half its width is sqrt(2 r g - g^2)."""
    bar = RodBody(np.array([10.0, 50.0, T + 6.0]), np.array([90.0, 50.0, T + 6.0]), 12.0, True)
    ground = piece("A", plate(rectangle(100, 100)))
    rod = Piece("pb", "B", "bar", "rod", FOAM, bar, (placed(),), 1, (), (), "contact", ())
    (contact,) = found(ground, rod).found
    lean = acos((6.0 - GLUE_REACH) / 6.0)
    width = 2 * 6.0 * lean  # measured on the bar, which is the smaller face
    assert 2 * sqrt(2 * 6 * GLUE_REACH - GLUE_REACH**2) < width
    assert contact.area == pytest.approx(80.0 * width, rel=0.06)
    assert contact.length == pytest.approx(80.0, rel=0.01)
    assert contact.gap == pytest.approx(0.0, abs=0.05)


def test_seam_of_two_panels_is_an_edge_on_an_edge():
    """Two gores of a spheroid along a meridian: its length by the ellipse's arc, to the tessellation."""
    form = Spheroid(150.0, 150.0)
    one, other = panel(form, (0.2, 0.1), (0.7, 0.2)), panel(form, (0.2, 0.2), (0.7, 0.3))
    (contact,) = found(piece("A", one), piece("B", other)).found
    assert contact.kind == "edge-edge"
    assert contact.length == pytest.approx(152.5 * pi * 0.5, rel=0.01)  # an arc at mid-thickness
    assert contact.area == pytest.approx(pi * 0.5 * (155.0**2 - 150.0**2) / 2, rel=0.01)


def test_a_hole_in_the_part_below_is_a_hole_in_the_contact():
    ground = piece("A", plate(rectangle(100, 100), holes=(ring_points(15, centre=(50, 50))[::-1],)))
    lid = piece("B", plate(rectangle(60, 60), (20, 20, T)))
    (contact,) = found(ground, lid).found
    polygon = 180 * 15**2 * np.sin(2 * pi / 180) / 2  # of the circle's 180 corners
    assert contact.area == pytest.approx(3600 - polygon, rel=1e-3)
    assert len(contact.outlines) == 2


@pytest.mark.parametrize("sides", [3, 4, 6])
def test_mitred_walls_touch_along_their_mitres(tmp_path, sides):
    """The face of a mitre at half the turn b = 180 / n is t / cos(b) wide (joinery's mitre), and nothing else of two
    neighbours touches, not the inside face that comes close to the other's arris."""
    text = (
        f"  can: {{kind: prism, stock: foam, sides: {sides}, width: 90, height: 40, floor: open, roof: open, "
        "at: {origin: [0, 0, 0], normal: z}}\n"
    )
    prop = build_prop(design(tmp_path, text))
    contacts = find_contacts(solids(build_model(prop)))
    assert len(contacts.found) == sides
    for contact in contacts.found:
        assert contact.kind == "edge-edge"
        assert contact.area == pytest.approx(40 * 6 / np.cos(pi / sides), rel=1e-4)
        assert contact.length == pytest.approx(40.0, rel=1e-4)


def test_copies_at_any_angle_touch_alike():
    """Six blocks around a disc: all contacts have one area, and each lies where its copy is."""
    disc = piece("A", plate(ring_points(50.0), radius=50.0))
    turns = []
    for k in range(6):
        c, s = np.cos(pi * k / 3), np.sin(pi * k / 3)
        matrix = np.eye(4)
        matrix[:2, :2] = [[c, -s], [s, c]]
        turns.append(Placement(matrix, False))
    block = piece("B", plate(rectangle(12, 8), (30, -4, T)), placements=tuple(turns))
    contacts = found(disc, block)
    assert len(contacts.found) == 6
    for k, contact in enumerate(contacts.found):
        assert contact.area == pytest.approx(96.0, abs=1e-4)
        middle = contact.outlines[0].mean(axis=0)
        assert middle[:2] == pytest.approx([36 * np.cos(pi * k / 3), 36 * np.sin(pi * k / 3)], abs=1e-4)


def test_the_same_solids_give_the_same_contacts():
    first, second = found(*box()), found(*box())
    assert [(c.a, c.b, c.area, c.outlines[0].tobytes()) for c in first.found] == [
        (c.a, c.b, c.area, c.outlines[0].tobytes()) for c in second.found
    ]


def test_solids_keep_the_places_of_copies():
    made = solids(
        build_model(prop(piece("A", plate(rectangle(10, 10)), placements=(placed(1, 2, 3), placed(mirrored=True)))))
    )
    assert [(s.part, s.number) for s in made] == [("pa", 1), ("pa", 2)]
    assert isinstance(made[0], Solid) and made[0].matrix[:3, 3] == pytest.approx([1, 2, 3])
    assert made[0].faces is made[1].faces


def test_what_touches_is_as_large_as_its_triangles_and_they_turn_to_the_other_part():
    """Vector areas: the triangles of a contact sum to its area along the direction from `a` to `b`, for copies placed
    as mirror images as well."""
    x, y, z = np.eye(3)
    mirror = np.diag([-1.0, 1.0, 1.0, 1.0])
    places = (placed(), Placement(mirror, True))
    base = flat("A", (W, D), (10, 0, -T), x, y, placements=places)
    on = flat("B", (40.0, 30.0), (20, 5, 0), x, y, placements=places)
    contacts = found(base, on)
    assert len(contacts.found) == 2
    for contact in contacts.found:
        p, q, r = (contact.points[contact.triangles[:, k]] for k in range(3))
        total = np.cross(q - p, r - p).sum(axis=0) / 2.0
        up = 1.0 if contact.a.part == "pa" else -1.0
        assert total == pytest.approx(up * contact.area * z, abs=1e-6)


def test_the_triangles_of_a_curved_contact_turn_to_the_other_part():
    """A lap on a tube's panel: the scalar product of triangles with the radius sums to the area."""
    places = (placed(), placed(mirrored=True))
    tube = piece("A", panel(Tube(60.0, 100.0), (0.0, 0.05), (1.0, 0.45)), placements=places)
    lap = piece("B", panel(Tube(60.0, 100.0), (0.2, 0.1), (0.6, 0.3), inner_offset=T), placements=places)
    for pieces in ((tube, lap), (lap, tube)):
        met = [c for c in found(*pieces).found if c.kind == "face-face"]
        assert len(met) == 2
        for contact in met:
            p, q, r = (contact.points[contact.triangles[:, k]] for k in range(3))
            middle = ((p + q + r) / 3.0) * np.array([1.0, 1.0, 0.0])
            radial = middle / np.linalg.norm(middle, axis=1, keepdims=True)
            total = (np.cross(q - p, r - p) / 2.0 * radial).sum()
            assert total == pytest.approx((1.0 if contact.a.part == tube.id else -1.0) * contact.area, rel=0.01)


@pytest.mark.parametrize("width, touches", [(0.9 * LINE * T, False), (1.1 * LINE * T, True)])
def test_a_line_is_no_contact(width, touches):
    """Two plates that overlap by a strip along one side, a little narrower and a little wider than glue holds."""
    x, y = np.eye(3)[:2]
    made = found(flat("A", (W, D), (0, 0, 0), x, y), flat("B", (W, D), (0, D - width, T), x, y))
    assert [contact.area for contact in made.found] == ([pytest.approx(W * width)] if touches else [])


@pytest.mark.parametrize("side, touches", [(0.9 * CORNER * T, False), (1.1 * CORNER * T, True)])
def test_a_corner_is_no_contact(side, touches):
    x, y = np.eye(3)[:2]
    made = found(flat("A", (W, D), (0, 0, 0), x, y), flat("B", (W, D), (W - side, D - side, T), x, y))
    assert [contact.area for contact in made.found] == ([pytest.approx(side**2)] if touches else [])


def test_how_much_holds_follows_the_thinner_sheet():
    assert holds(4.0, 4.0, 6.0) and not holds(4.0, 4.0, 10.0)
    assert not holds(0.9, 1.0, 0.5)  # what is smaller than a mm2 is in the dark


@pytest.mark.parametrize("angle", [20.0, 30.0, 38.0])
def test_sheets_mitred_in_a_sharp_corner_touch_along_their_mitre_only(angle):
    """Their inside faces come as near to each other as glue reaches beside the corner, and nobody glues them there; the mitre
    is t / sin(angle / 2) wide, as half the corner's angle is left of each sheet."""
    half, out = np.radians(angle) / 2.0, T / np.tan(np.radians(angle) / 2.0)
    ahead = np.array([0.0, np.cos(2.0 * half), -np.sin(2.0 * half)])
    bevels = (90.0 - angle / 2.0, 0.0, 0.0, 0.0)
    one = flat(
        "A", (100.0, 60.0 + out), (0.0, -out, 0.0), np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]), bevels=bevels
    )
    other = flat(
        "B",
        (100.0, 60.0 + out),
        np.array([100.0, 0.0, 0.0]) - out * ahead,
        np.array([-1.0, 0.0, 0.0]),
        ahead,
        bevels=bevels,
    )
    (contact,) = found(one, other).found
    assert contact.kind == "edge-edge"
    assert contact.area == pytest.approx(100.0 * T / np.sin(half), rel=1e-6)


@pytest.mark.parametrize("scale", [0.5, 1, 2])
@pytest.mark.parametrize("slope", [20, 38, 60])
def test_a_lid_lies_on_the_edge_of_a_cone_and_not_on_its_slope(tmp_path, slope, scale):
    """The level edge of a wall that rises at `slope` degrees is a ring as wide as the foam over the sine of that."""
    rise = 50 * np.tan(np.radians(slope)) * scale  # from a radius of 80 to one of 30, in all
    roof = (
        f"  roof: {{kind: revolution, axis: z, smooth: false, profile: [[0, 80 * scale], [{rise}, 30 * scale]],\n"
        f"    cuts: {{foot: {{plane: {{normal: z, at: {0.1 * rise}}}}}, crown: {{plane: {{normal: z, at: {0.6 * rise}}}}}}}}}\n"
    )
    parts = (
        "  wall: {kind: panel, stock: foam, form: roof, where: {foot: beyond, crown: before}, opened: 0, flush: [crown]}\n"
        f"  lid: {{kind: disc, stock: foam, radius: 75 * scale + 20, at: {{origin: [0, 0, {0.6 * rise}], normal: z}}}}\n"
    )
    path = tmp_path / "cone.yaml"
    path.write_text(
        HEAD.replace("forms:\n", "forms:\n" + roof).replace("scale: {value: 1,", f"scale: {{value: {scale},") + parts
    )
    contacts = find_contacts(solids(build_model(build_prop(load(path)))), 0.5)
    assert {(c.a.face, c.b.face) for c in contacts.found} == {("crown", "inside")}
    wide, inner = 6.0 / np.sin(np.radians(slope)), 50 * scale
    area = sum(contact.area for contact in contacts.found)
    assert area == pytest.approx(pi * ((inner + wide) ** 2 - inner**2), rel=0.02)

"""Bevels on paper: which face is larger, by how much, and the little picture of it.

Checked by hand: a cut that leans by b degrees comes out t tan(b) away from where it went in, through foam t thick.
"""

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.affinity
import template_props as props

from foamwright.drawing.primitives import Drawing, Hatch, Label, Path
from foamwright.drawing.shapes import bounds
from foamwright.flatten.records import SegmentJoint
from foamwright.geometry.bevel import least_bevel
from foamwright.templates import edges, wording
from foamwright.templates.bevels import (
    as_told,
    bevel_classes,
    bevel_note,
    bevel_value,
    bevel_words,
    brief_section,
    by_sanding,
    cross_section,
    other_face_lines,
)
from foamwright.templates.draw import draw
from foamwright.templates.place import Field, Ground
from foamwright.templates.touching import Partly, Stretch

FOAM = 6.0


def plate(*bevels, drawn_face="inside", other=None, **more):
    """A square of 100 mm, a bevel for each of its first edges."""
    corners = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0], [0.0, 0.0]])
    own = [
        props.edge(f"side_{k}", corners[k : k + 2], tuple(np.atleast_1d(bevel)), ("other",))
        for k, bevel in enumerate(bevels)
    ]
    body = props.flat_body(corners[:-1])
    piece = props.piece("plate", "A", "Plate", body, [props.HERE])
    lines = {} if other is None else {"other_outline": other}
    return props.pattern(piece, corners[:-1], edges=own, drawn_face=drawn_face, **lines, **more)


def foam_in(block):
    (hatch,) = (item for item in block.items if isinstance(item, Hatch))
    return hatch.boundary


@pytest.mark.parametrize("angle", [10.0, 30.0, 45.0])
@pytest.mark.parametrize("foam", [2.0, 6.0, 10.0])
@pytest.mark.parametrize("lower_larger", [True, False])
def test_the_picture_shows_the_part_as_it_will_be(angle, foam, lower_larger):
    (bevels,) = bevel_classes(plate(angle if lower_larger else -angle))
    assert bevels.lower_larger == lower_larger
    boundary = foam_in(cross_section(bevels, foam))
    high, low = boundary[:, 1].max(), boundary[:, 1].min()
    upper, lower = (np.ptp(boundary[np.isclose(boundary[:, 1], y)][:, 0]) for y in (high, low))
    assert high - low == pytest.approx(foam)
    assert lower - upper == pytest.approx((1.0 if lower_larger else -1.0) * foam * np.tan(np.radians(angle)))


@pytest.mark.parametrize("bevel", [45.0, -45.0, 20.0])
def test_the_blade_goes_in_at_the_line_and_its_handle_leans_the_other_way(bevel):
    (bevels,) = bevel_classes(plate(bevel))
    block = cross_section(bevels, FOAM)
    boundary = foam_in(block)
    line = boundary[np.isclose(boundary[:, 1], boundary[:, 1].max())][:, 0].max()
    paths = [item for item in block.items if isinstance(item, Path)]
    (blade,) = (path for path in paths if path.fill == "#000000")
    (handle,) = (path for path in paths if path.fill == "#ffffff")
    assert shapely.Polygon(blade.points).buffer(0.05).contains(shapely.Point(line, boundary[:, 1].max()))
    assert np.sign(handle.points[:, 0].mean() - line) == -np.sign(bevel)
    assert blade.points[:, 1].min() == pytest.approx(boundary[:, 1].min())


@pytest.mark.parametrize("bevel", [5.0, 45.0, -60.0])
@pytest.mark.parametrize("foam", [2.0, 10.0, 40.0])
def test_a_cross_section_keeps_to_its_block(bevel, foam):
    (bevels,) = bevel_classes(plate(bevel))
    block = cross_section(bevels, foam)
    x0, y0, x1, y1 = bounds(block.items)
    assert x0 >= -0.01 and y1 <= 0.01 and x1 <= block.width + 0.01 and y0 >= -block.height - 0.01


def test_thick_foam_is_drawn_at_half_and_says_so():
    (bevels,) = bevel_classes(plate(30.0))
    block = cross_section(bevels, 40.0)
    assert np.ptp(foam_in(block)[:, 1]) == pytest.approx(20.0)
    assert any("1:2" in text.value for text in Drawing(block.items).flat if hasattr(text, "value"))


def test_words_name_the_larger_face():
    """A positive bevel undercuts the inside face: seen from there, the lower face is the larger one."""
    assert bevel_words((0.0,), FOAM) is None and bevel_words((), FOAM) is None
    assert bevel_words((22.5,), FOAM) == "bevel 22.5°, lower face larger"
    assert bevel_words((-12.5,), FOAM) == "bevel 12.5°, lower face smaller"
    assert bevel_words((3.0, 8.0, 5.0), FOAM) == "bevel 3 to 8°, lower face larger"
    assert bevel_words((-40.6, -43.8), FOAM) == "bevel 40.5 to 44°, lower face smaller"
    assert bevel_words((-9.0, 14.0), FOAM) == "bevel 14° larger to 9° smaller"


@pytest.mark.parametrize("foam", [0.5, 2.0, 6.0, 10.0, 20.0])
def test_an_edge_is_cut_square_where_its_two_lines_lie_within_a_knifes_cut(foam):
    """A cut at an angle b comes out foam * tan(b) away; 0.5 mm is what no knife follows."""
    for apart, square in ((0.48, True), (-0.48, True), (0.52, False), (-0.52, False)):
        angle = float(np.degrees(np.arctan(apart / foam)))
        assert (bevel_words((angle,), foam) is None) == square
        assert (bevel_value(angle, False, foam) == "square") == square
        assert least_bevel(foam) > abs(angle) if square else least_bevel(foam) < abs(angle)


def test_a_part_that_is_drawn_on_its_outside_has_the_other_face_larger():
    inside, outside = (plate(30.0, drawn_face=face) for face in ("inside", "outside"))
    assert bevel_classes(inside)[0].lower_larger and not bevel_classes(outside)[0].lower_larger
    text = wording.edge_text(props.patterns((outside, props.disc(5, "other", "B"))), outside, outside.edges[0])
    assert text == "to B, bevel 30°, lower face smaller"


def test_values_along_an_edge_say_the_face_only_where_both_occur():
    assert bevel_value(11.6, False, FOAM) == "11.5°"
    assert bevel_value(-11.6, True, FOAM) == "11.5° smaller" and bevel_value(11.6, True, FOAM) == "11.5° larger"
    assert bevel_value(1.0, True, FOAM) == "square"


def words_of(block):
    return " ".join(text.value for text in Drawing(block.items).flat if hasattr(text, "value"))


@pytest.mark.parametrize("bevels", [(5.73, 9.46), (46.5,), ((0.5, 26.0),), (-7.5, -9.4), ((-14.0, 19.0),)])
def test_an_edge_and_the_section_that_shows_its_cut_say_the_same_angles(bevels):
    pattern = plate(*bevels)
    sections = [words_of(cross_section(found, FOAM)) for found in bevel_classes(pattern)]
    for edge in pattern.edges:
        said = bevel_words(wording.flares(pattern, edge), FOAM).removeprefix("bevel ")
        both = re.fullmatch(r"(\S+)° larger to (\S+)° smaller", said)
        if both is None:
            angles, face = said.split(", ")
            stated = [(face, angles.removesuffix("°").split(" to "))]
        else:
            stated = [("lower face larger", [both[1]]), ("lower face smaller", [both[2]])]
        for face, ends in stated:
            assert any(face in section and all(end in section for end in ends) for section in sections), said


def test_a_section_for_several_edges_lists_the_angles_that_are_marked_there():
    (bevels,) = bevel_classes(plate(5.6, 9.4, 5.5))
    words = words_of(cross_section(bevels, FOAM))
    assert "bevel 5.5 to 9.5° lower face larger" in words and "for edges marked 5.5° or 9.5°" in words


def test_a_section_beside_its_part_names_it():
    (bevels,) = bevel_classes(plate(45.0))
    assert "A: bevel 45°" in words_of(cross_section(bevels, FOAM, label="A"))
    assert "A:" not in words_of(cross_section(bevels, FOAM))


def test_bevels_that_are_alike_share_a_class():
    classes = bevel_classes(plate(45.0, 43.0, -44.0, 20.0))
    assert [(c.lower_larger, c.edges) for c in classes] == [
        (True, ("side 3",)),
        (True, ("side 1", "side 0")),
        (False, ("side 2",)),
    ]
    assert bevel_classes(plate(1.0, -1.0)) == ()


def test_a_mitre_of_a_segment_is_a_class():
    line = np.array([[0.0, 0.0], [0.0, 100.0]])
    segment = plate(joints=(SegmentJoint("mitre", line, "A2", True, 22.5),))
    assert [c.edges for c in bevel_classes(segment)] == [("mitre to A2",)]
    assert wording.joint(segment, segment.joints[0]) == ("mitre to A2:", "bevel 22.5°, lower face larger")


def test_the_note_says_cut_square_where_nothing_is_bevelled():
    assert bevel_note(plate(0.0, 1.0)) == "cut all edges square"
    assert "cut square" in bevel_note(plate(20.0))


@pytest.mark.parametrize("angle", [30.0, 45.0])
def test_the_lower_face_is_dashed_where_the_cut_comes_out(angle):
    reach = FOAM * np.tan(np.radians(angle))
    other = np.array([[0.0, -reach], [100.0, -reach], [100.0, 100.0], [0.0, 100.0]])
    (line,) = other_face_lines(plate(angle, other=other))
    assert line.layer == "other-face" and not line.closed
    long = line.points[np.isclose(line.points[:, 1], -reach)]
    assert np.ptp(long[:, 0]) == pytest.approx(100.0)
    assert line.points[:, 1].max() < -0.49
    assert other_face_lines(plate(angle)) == []
    near = np.array([[0.0, -0.4], [100.0, -0.4], [100.0, 100.0], [0.0, 100.0]])
    assert other_face_lines(plate(angle, other=near)) == []


def test_a_ring_around_the_whole_part_is_closed():
    other = np.array([[-4.0, -4.0], [104.0, -4.0], [104.0, 104.0], [-4.0, 104.0]])
    (line,) = other_face_lines(plate(30.0, 30.0, 30.0, 30.0, other=other))
    assert line.closed and shapely.Polygon(line.points).area == pytest.approx(108.0**2)


def test_a_template_has_a_section_for_each_class_and_nothing_overlaps():
    own = plate(30.0, -20.0, 30.0)
    (template, _) = draw(props.patterns((own, props.disc(5, "other", "B"))))
    words = [text.value for label in template.drawing.labels for text in label.texts]
    assert words.count("waste") == 2
    titles = [word.removeprefix("A: ") for word in words]  # with the label where it stands beside the part
    assert "bevel 30°" in titles and "bevel 20°" in titles
    boxes = [shapely.box(*bounds((label,))).buffer(-0.02) for label in template.drawing.labels]
    assert len(shapely.STRtree(boxes).query(boxes, predicate="intersects")[0]) == len(boxes)


@pytest.mark.parametrize("bevels", [(12.0, 0.0, -12.0, 0.0), (-12.0, 0.0, 12.0, 0.0), (0.0, 12.0, 0.0, -12.0)])
def test_a_section_does_not_stand_beside_an_edge_that_leans_the_other_way(bevels):
    """It would be taken for that of the edge that it stands beside."""
    own = plate(*bevels)
    (template, _) = draw(props.patterns((own, props.disc(5, "other", "B"))))
    pictures = [item for item in template.drawing.items if isinstance(item, Hatch) and item.layer == "bevel"]
    assert len(pictures) == 2
    for picture in pictures:
        top = picture.boundary[np.isclose(picture.boundary[:, 1], picture.boundary[:, 1].max()), 0].max()
        foot = picture.boundary[np.isclose(picture.boundary[:, 1], picture.boundary[:, 1].min()), 0].max()
        middle = shapely.Point(picture.boundary.mean(axis=0))
        (nearest,) = sorted(
            (e for e in own.edges if e.bevel[0]), key=lambda e: shapely.LineString(e.points).distance(middle)
        )[:1]
        assert (foot > top) == (nearest.bevel[0] > 0.0)  # the lower face is the larger one


def test_an_edge_that_goes_both_ways_says_so_along_it():
    own = plate(tuple(np.linspace(-30.0, 30.0, 9)))
    (template, _) = draw(props.patterns((own, props.disc(5, "other", "B"))))
    values = [text.value for label in template.drawing.labels for text in label.texts if text.layer == "bevel"]
    assert [v for v in sorted(values) if v != "square"] == ["30° larger", "30° smaller"], (
        values
    )  # those at its very ends
    assert edges.BEVEL_EVERY < 100.0


def printed(bevel, length=200.0):
    """Where along an edge `length` long with a dart in its middle which degrees are printed, in order."""
    half, wide, deep = length / 2.0, 12.0, 60.0
    line = np.array([[0.0, 0.0], [half - wide / 2, 0.0], [half + wide / 2, 0.0], [length, 0.0]])
    outline = [*line[:2], (half, deep), *line[2:], (length, 150.0), (0.0, 150.0)]
    foam = shapely.Polygon(outline)
    edge = replace(props.edge("e", line, bevel), mouths=(1,), length=length - wide)
    field = Field(Ground(foam, [foam.exterior]), 0.0)
    labels = edges.bevel_values(bevel, FOAM, edges.walk(edge, foam), field)
    found = [(text.at[0], float(text.value.strip("°"))) for label in labels for text in label.texts]
    return sorted(found)


def test_each_stretch_between_darts_has_its_bevel():
    """An edge without a number is cut square, so both sides of a dart must have theirs."""
    places = [x for x, value in printed((30.0,)) if value == 30.0]
    assert len(places) == 2 and places[0] < 94.0 and places[1] > 106.0
    assert printed((0.0,)) == []


@pytest.mark.parametrize("bevel", [(20.0, 26.0, 32.0), (20.0, 35.0, 20.0), (30.0, 12.0, 40.0, 25.0)])
def test_the_ends_and_the_steepest_and_the_least_bevel_of_an_edge_are_printed(bevel):
    found = printed(bevel)
    values = [value for _, value in found]
    slope = np.abs(np.diff(bevel)).max() * (len(bevel) - 1) / 188.0  # degrees to a mm
    assert max(values) > max(bevel) - 20.0 * slope and min(values) < min(bevel) + 20.0 * slope
    assert found[0][0] < 20.0 and found[-1][0] > 180.0


def test_what_varies_by_less_than_a_hand_can_follow_is_one_angle_in_words_and_in_the_booklet_s_section():
    assert as_told((-6.9, -5.4, -6.0)) == pytest.approx((-6.15,))
    assert as_told((5.0, 8.0)) == (5.0, 8.0) and as_told((-0.9, 0.9)) == (-0.9, 0.9) and as_told(()) == ()


def inside(template, word):
    """How many of the labels with a word stand on the foam."""
    foam = shapely.Polygon(template.pattern.outline)
    told = [label for label in template.drawing.labels if any(text.value.startswith(word) for text in label.texts)]
    return sum(foam.contains(shapely.box(*bounds((label,)))) for label in told), len(told)


@pytest.mark.parametrize("side", [70.0, 80.0, 100.0])
def test_a_section_stands_on_the_foam_where_it_can(side):
    """What lies outside is cut away with the paper: the section is told more briefly, and the letter is smaller, before it goes."""
    own = plate(30.0)
    own = replace(own, outline=own.outline * side / 100.0, other_outline=own.other_outline * side / 100.0)
    own = replace(own, edges=(replace(own.edges[0], points=own.edges[0].points * side / 100.0),))
    (template, _) = draw(props.patterns((own, props.disc(5, "other", "B"))))
    assert inside(template, "waste") == (1, 1)
    assert inside(template, "A") == (1, 1)


def test_a_brief_section_says_which_face_is_larger():
    (bevels,) = bevel_classes(plate(-40.0))
    block = brief_section(bevels, FOAM)
    assert "bevel 40°" in words_of(block) and "lower face smaller" in words_of(block)
    assert block.width < cross_section(bevels, FOAM).width / 2.0


@pytest.mark.parametrize(
    "foam, bevel, sanded", [(6.0, 9.0, True), (6.0, 12.0, False), (2.0, 40.0, True), (10.0, 5.0, True)]
)
def test_a_bevel_that_changes_its_side_by_little_is_cut_square_and_sanded(foam, bevel, sanded):
    """Six millimetres at 9 degrees are 0.95 mm: t tan(b)."""
    assert by_sanding((-bevel, bevel), foam) is sanded
    assert not by_sanding((bevel, 2.0 * bevel), foam)  # one face is the larger all along
    assert ("then sand down to the other line" in bevel_words((-bevel, bevel), foam)) is sanded


def test_a_hole_whose_bevel_changes_its_side_has_it_at_four_places():
    turn = np.linspace(0.0, 2.0 * np.pi, 73)
    rim = np.column_stack([50.0 + 18.0 * np.cos(turn), 50.0 + 18.0 * np.sin(turn)])
    own = plate()
    hole = props.edge("port", rim, tuple(30.0 * np.cos(turn)), ())
    own = replace(own, holes=(rim[:-1],), other_holes=(rim[:-1],), edges=(hole,))
    (template, _) = draw(props.patterns((own, props.disc(5, "other", "B"))))
    told = [text for label in template.drawing.labels for text in label.texts if text.layer == "bevel"]
    values = [text.value for text in told]
    assert "30° larger" in values and "30° smaller" in values and len(values) >= 4
    assert all(11.0 < np.hypot(*np.subtract(text.at, 50.0)) < 32.0 for text in told)  # at the edge
    assert any(text.value.startswith("hole: ") for label in template.drawing.labels for text in label.texts)


@pytest.mark.parametrize("size", [(30.0, 80.0), (9.0, 9.0)], ids=["door", "bearing"])
def test_the_bevel_of_a_hole_stands_in_it_or_points_to_its_edge(size):
    """A wall 42 mm wide: beside it the words about its door are read as being about the edge of the wall, which is another."""
    door = shapely.affinity.translate(shapely.box(0, 0, *size), (42.0 - size[0]) / 2.0, 3.0)
    foam = shapely.box(0, 0, 42, 200) - door
    dashed = door.buffer(-1.0, join_style="mitre").exterior  # where the blade comes out
    x0, y0, x1, _ = door.bounds
    sill = props.edge("door", np.array([[x1, y0], [x0, y0]]), (6.0,), ())
    field = Field(Ground(foam, [dashed]), 0.0)
    field.draw(shapely.box(-40, -40, 82, 240) - shapely.box(0, 0, 42, 200))  # words all round the wall
    drawn = edges.edge_label("hole: bevel 6°, lower face smaller", edges.walk(sill, foam), field)
    (label,) = (item for item in drawn if isinstance(item, Label))
    words = shapely.box(*bounds((label,)))
    leaders = [item.points for item in drawn if isinstance(item, Path) and len(item.points) == 2]
    assert shapely.box(0, 0, 42, 200).covers(words) and (door.covers(words) or leaders)
    assert all(shapely.LineString(sill.points).distance(shapely.Point(line[-1])) < 0.1 for line in leaders)
    assert "".join(text.value for text in label.texts).replace(" ", "") == "hole:bevel6°,lowerfacesmaller"


@pytest.mark.parametrize("is_loop", [False, True])
def test_a_blade_turned_evenly_from_number_to_number_is_never_far_off(is_loop):
    """Square for a third of the way, then up to 33.5 degrees and back, as round an oval plate in a leaning hull."""
    turn = np.linspace(0.0, 2.0 * np.pi, 73)
    values = 33.5 * np.clip(np.cos(turn) + 0.5, 0.0, None) / 1.5
    chosen = np.sort(edges._turns(tuple(values), is_loop))
    assert values.argmax() in chosen and values[chosen].min() == 0.0
    on = np.append(chosen, chosen[0] + 72) if is_loop else chosen
    told = np.interp(np.arange(on[0], on[-1] + 1), on, values[on % 72] if is_loop else values[on])
    assert np.abs(told - values[np.arange(on[0], on[-1] + 1) % 72]).max() <= 3.0
    assert len(chosen) < 14


def test_both_sides_of_a_symmetrical_part_have_one_section():
    assert len(bevel_classes(plate((41.5, 57.0), (41.6, 57.1)))) == 1


def test_a_square_edge_beside_a_bevelled_one_says_so():
    """A floor whose front edge is square has short bevelled ones at its corners, whose angle reads as its own."""
    own = plate(34.5, 0.0, 34.5)
    (template, _) = draw(props.patterns((own, props.disc(5, "other", "B"))))
    told = [text for label in template.drawing.labels for text in label.texts if text.value == "square"]
    assert [round(float(text.at[0])) > 80 for text in told] == [True]  # at the edge from (100, 0) to (100, 100)
    (template, _) = draw(props.patterns((plate(0.0, 0.0), props.disc(5, "other", "B"))))
    assert not [text for label in template.drawing.labels for text in label.texts if text.value == "square"]


def test_an_edge_ends_where_it_ends():
    """What touches an open edge up to its very end has no bracket from there to its beginning."""
    line = np.array([[0.0, 0.0], [50.0, 0.0], [80.0, 40.0]])
    foam = shapely.Polygon([*line, (0.0, 80.0)])
    path = edges.walk(props.edge("e", line, (0.0,)), foam)
    assert path.around(np.array([path.length + 0.04])) == pytest.approx([path.length])
    stretches = (Stretch(0.0, 8.0), Stretch(path.length - 8.0, path.length + 0.04))
    drawn = edges.brackets((Partly("other", stretches, 0.0),), path, 4.0)
    assert all(np.hypot(*np.diff(bracket.points, axis=0).T).max() < 9.0 for bracket in drawn)

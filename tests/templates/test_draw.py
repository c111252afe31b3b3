"""Every template says all it must, where it belongs, and no label overlaps anything."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
import template_props as props
from hypothesis import given, settings
from hypothesis import strategies as st

from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Hatch, Path, Text, Tick
from foamwright.drawing.shapes import room
from foamwright.templates.draw import Lettering, draw, outlines_only


@pytest.fixture(scope="module")
def templates():
    return {t.pattern.piece.id: t for t in draw(props.submarine())}


@pytest.fixture(scope="module")
def lettering():
    return Lettering(props.submarine())


def texts(template):
    return [item for item in template.drawing.flat if isinstance(item, Text)]


def said(template):
    return [item.value for item in texts(template)]


def assert_nothing_overlaps(template):
    items = template.drawing.flat
    boxes = [shapely.Polygon(text_box(t)).buffer(-0.02) for t in texts(template)]
    lines = [room(item) for item in items if not isinstance(item, Text)]
    lines_tree, boxes_tree = shapely.STRtree(lines), shapely.STRtree(boxes)
    drawn = [item for item in items if not isinstance(item, Text)]
    for text, box in zip(texts(template), boxes):
        hits = [drawn[i].layer for i in lines_tree.query(box, predicate="intersects")]
        assert not hits, (text.value, hits)
        others = [texts(template)[i].value for i in boxes_tree.query(box, predicate="intersects")]
        assert others == [text.value], others


def assert_no_leader_runs_along_the_outline(template):
    rim = shapely.LinearRing(template.pattern.outline).buffer(0.05)
    for item in template.drawing.flat:
        if isinstance(item, Path) and item.layer == "note" and len(item.points) == 2:
            assert rim.intersection(shapely.LineString(item.points)).length < 2.0


def assert_bounds_hold_all(template):
    boxes = shapely.bounds([room(item) for item in template.drawing.flat])
    assert np.allclose(template.bounds, [*boxes[:, :2].min(0), *boxes[:, 2:].max(0)], atol=1e-9)


@pytest.mark.parametrize("part", ["hull", "bow", "deck", "disc", "ring", "lip", "gusset", "lid"])
def test_no_label_touches_a_line_or_another_label(templates, part):
    assert_nothing_overlaps(templates[part])
    assert_no_leader_runs_along_the_outline(templates[part])
    assert_bounds_hold_all(templates[part])


@pytest.mark.parametrize(
    ("part", "facts"),
    {
        "bow": [
            "B",
            "Bow, upper",
            "EVA foam 6 mm",
            "cut 2: 1 as drawn, 1 mirrored",
            "(turn the template over)",
            "this side is the inside face: draw on it",
            "Pocket submarine 1.0.0, size plush",
            "seam 1 to A, bevel 2 to 14°, lower face larger",
            "seam 2 to mirrored B",
            "dart: close first, 14 mm wide",
            "bevels: degrees from square; the blade enters at the line; no bevel printed: cut square",
            "going down, the cut runs outwards,",
            "up",
            "forward",
        ],
        "deck": [
            "C",
            "cut 4: 2 as drawn, 2 mirrored",
            "they make 2 parts of 2 layers",
            "to A, bevel 8 to 18°, lower face larger",
            "H, other face",
        ],
        "disc": ["D", "Porthole glass", "cut 1", "radius 25.0 mm"],
        "ring": [
            "E",
            "radius 30.0 mm",
            "inner radius 22.0 mm",
            "hole: bevel 20°, lower face larger",
            "cut 3: 2 as drawn, 1 mirrored",
        ],
        "lip": ["F", "length 710.0 mm, width 30.0 mm", "trim 10 mm to fit", "to A"],
        "gusset": [
            "G",
            "to A, bevel 15°, lower face larger",
        ],
        "lid": ["H", "Lid", "cut 2", "radius 14.0 mm"],
    }.items(),
)
def test_every_fact_is_printed(templates, part, facts):
    labels = templates[part].drawing.labels
    assert {*facts} <= {*said(templates[part]), *(" ".join(t.value for t in label.texts) for label in labels)}


def test_type_is_large_enough_to_read_and_the_label_is_bold(templates):
    for template in templates.values():
        assert min(t.height for t in texts(template)) >= 2.2
        label = next(t for t in texts(template) if t.value == template.pattern.piece.label and t.bold)
        assert 3.0 <= label.height <= 12.0
        assert label.height == max(t.height for t in texts(template))
    assert max(t.height for t in texts(templates["hull"])) == 12.0


def test_text_is_upright(templates):
    for template in templates.values():
        assert all(-75.0 < t.angle <= 105.0 for t in texts(template))


@pytest.mark.parametrize("turn", [90.0, -90.0, 180.0, 37.0, -141.5])
@pytest.mark.parametrize("part", ["hull", "bow", "deck", "disc", "ring", "lip", "gusset", "lid"])
def test_words_are_set_for_the_turn_in_which_a_part_lies(templates, lettering, part, turn):
    anew = lettering(templates[part], turn)
    assert_nothing_overlaps(anew)
    assert_bounds_hold_all(anew)
    assert all(-75.0 < (t.angle + turn + 180.0) % 360.0 - 180.0 <= 105.0 for t in texts(anew))
    label = next(t for t in texts(anew) if t.value == templates[part].pattern.piece.label and t.bold)
    if part != "lip":  # a strip is named along its length
        assert (label.angle + turn) % 360.0 == pytest.approx(0.0, abs=1e-5)


@pytest.mark.parametrize("turn", [90.0, 37.0])
def test_a_turn_changes_no_line_and_leaves_out_no_fact(templates, lettering, turn):
    """Words are those of the part as drawn, but for a label that may be short where it has less room."""
    drawn = ("cut", "cut-inner", "mark", "mark-other", "tick", "fold", "pin", "engrave", "trim")
    for template in templates.values():
        anew = lettering(template, turn)
        lines = [
            [shapely.to_wkb(room(i)) for i in t.drawing.flat if i.layer in drawn and not isinstance(i, Text)]
            for t in (template, anew)
        ]
        assert lines[0] == lines[1]
        missing = {v.split(":")[0] for v in said(template)} - {v.split(":")[0] for v in said(anew)}
        whole = " ".join(said(anew))  # a note may be a column of short lines
        assert not {v for v in missing if "other face" not in v and "°" not in v and v not in whole}


@pytest.mark.parametrize("turn", [0.0, 90.0])
@pytest.mark.parametrize("part", ["hull", "bow", "deck"])
def test_no_word_stands_on_a_join(templates, lettering, part, turn):
    """A line through the main label as drawn, along which the part is parted on paper."""
    label = next(t for t in texts(templates[part]) if t.value == templates[part].pattern.piece.label and t.bold)
    x, y = text_box(label).mean(axis=0)
    joins = (
        shapely.LineString([(x, y - 999.0), (x, y + 999.0)]),
        shapely.LineString([(x - 999.0, y), (x + 999.0, y)]),
    )
    anew = lettering(templates[part], turn, joins)
    assert_nothing_overlaps(anew)
    words = shapely.multipolygons([shapely.Polygon(text_box(t)) for t in texts(anew)])
    assert not words.intersects(shapely.union_all(joins))
    assert templates[part].pattern.piece.label in said(anew)


def test_a_template_without_words_or_turn_is_left_as_it_is(templates, lettering):
    pattern = templates["disc"].pattern
    (bare,) = outlines_only(pattern)
    assert lettering(bare, 90.0) is bare
    assert lettering(templates["disc"], 0.0) is templates["disc"]


def test_cut_lines_are_the_pattern(templates):
    deck = templates["deck"]
    cut = [i for i in deck.drawing.flat if isinstance(i, Path) and i.layer in ("cut", "cut-inner")]
    assert [p.layer for p in cut] == ["cut", "cut-inner"] and all(p.closed for p in cut)
    assert cut[0].points is deck.pattern.outline and deck.footprint is deck.pattern.outline


def test_ticks_stand_at_their_distances_and_point_into_the_foam(templates):
    for template in templates.values():
        pattern = template.pattern
        foam = shapely.Polygon(pattern.outline, pattern.holes)
        ticks = [i for i in template.drawing.flat if isinstance(i, Tick)]
        assert len(ticks) == sum(len(e.ticks) for e in pattern.edges)
        for tick in ticks:
            assert foam.boundary.distance(shapely.Point(tick.start)) < 1e-6
            assert foam.contains(shapely.Point(tick.end))
    lip = [i for i in templates["lip"].drawing.flat if isinstance(i, Tick)]
    assert np.allclose([t.start for t in lip], [(-710 + 100 * k, -15.0) for k in range(1, 8)])


def test_ticks_are_laid_off_along_the_edge_mouths_included(templates):
    waist = templates["bow"].pattern.edges[0]
    ticks = [i for i in templates["bow"].drawing.flat if isinstance(i, Tick)][:8]
    line = shapely.LineString(waist.points)
    assert np.allclose([line.project(shapely.Point(t.start)) for t in ticks], waist.ticks, atol=1e-6)


def test_each_tick_has_its_number_beside_it(templates):
    for part in ("bow", "deck", "lip"):
        template = templates[part]
        ticks = [i for i in template.drawing.flat if isinstance(i, Tick)]
        numbers = [str(n) for e in template.pattern.edges for n in e.tick_numbers]
        words = [t for t in texts(template) if t.layer == "tick"]
        assert [t.value for t in words] == numbers
        for tick, word in zip(ticks, words):
            stroke = shapely.LineString([tick.start, tick.end])
            assert stroke.distance(shapely.Polygon(text_box(word))) < 2.0


def test_a_seam_has_its_notch_in_the_middle(templates):
    notches = [i for i in templates["bow"].drawing.flat if isinstance(i, Path) and i.layer == "tick"]
    assert len(notches) == 2
    keel = templates["bow"].pattern.edges[1]
    middle = shapely.LineString(keel.points).interpolate(0.5, normalized=True)
    assert shapely.Point((notches[1].points[0] + notches[1].points[2]) / 2).distance(middle) < 0.05


def turned(degrees):
    matrix, angle = np.eye(4), np.radians(degrees)
    matrix[:2, :2] = [[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]
    return props.Placement(matrix, False)


@pytest.mark.parametrize(
    ("others", "shown"),
    [
        ((), {"up", "forward"}),
        ((props.moved(50.0), props.mirror_y()), {"up", "forward"}),
        ((turned(180.0),), {"up"}),
        ((turned(120.0), turned(240.0)), {"up"}),
        ((props.Placement(np.diag([-1.0, 1.0, 1.0, 1.0]), True),), {"up"}),
        ((props.Placement(np.diag([1.0, -1.0, -1.0, 1.0]), False),), {"forward"}),
    ],
)
def test_an_arrow_holds_for_every_copy(others, shown):
    """The left wall of a box turned half round is its right wall: what was forward on it is backward."""
    body = props.flat_body(np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 60.0], [0.0, 60.0]]))
    piece = props.piece("wall", "A", "Wall", body, [props.HERE, *others])
    (template,) = draw(props.patterns((props.pattern(piece, body.outline, up=(0.0, 1.0), forward=(1.0, 0.0)),)))
    words = {text.value for label in template.drawing.labels for text in label.texts}
    assert words & {"up", "forward"} == shown


@pytest.mark.parametrize("normal, shown", [((1.0, 0.0, 0.0), {"up"}), ((0.0, 1.0, 0.0), {"up", "forward"})])
def test_an_arrow_holds_for_a_mirrored_copy_that_is_cut_as_drawn(normal, shown):
    """The right wall of a box, mirrored: where the wall is the same from front to back it is turned round, and what was
    forward is backward; where it is the same from face to face it is turned over, and forward stays forward."""
    body = props.flat_body(np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 60.0], [0.0, 60.0]]))
    wall = props.piece("wall", "A", "Wall", body, [props.HERE, props.mirror_y()])
    wall = replace(wall, own_mirror=normal)
    (template,) = draw(props.patterns((props.pattern(wall, body.outline, up=(0.0, 1.0), forward=(1.0, 0.0)),)))
    words = {text.value for label in template.drawing.labels for text in label.texts}
    assert words & {"up", "forward"} == shown


@pytest.mark.parametrize(
    "corners, hole_at, shown", [(96, 0.0, set()), (96, 5.0, {"up", "forward"}), (6, 0.0, {"up", "forward"})]
)
def test_a_plate_that_is_a_disc_has_no_arrows(corners, hole_at, shown):
    """A wheel may be turned as one likes; one with its hole off the middle, or a nut of six sides, may not."""
    turn = np.linspace(0.0, 2.0 * np.pi, corners, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    body = props.flat_body(60.0 * ring)
    piece = props.piece("wheel", "A", "Wheel", body, [props.HERE])
    made = props.pattern(piece, body.outline, up=(0.0, 1.0), forward=(1.0, 0.0))
    made = replace(made, holes=(5.0 * ring[::-1] + (hole_at, 0.0),))
    (template,) = draw(props.patterns((made,)))
    assert set(said(template)) & {"up", "forward"} == shown


def test_arrows_point_where_the_pattern_says(templates):
    for name, template in templates.items():
        if name in ("disc", "ring", "lid"):  # they may be turned as one likes
            assert not {"up", "forward"} & set(said(template))
            continue
        heads = [i for i in template.drawing.flat if isinstance(i, Path) and i.fill and len(i.points) == 3]
        pointing = []
        for head in heads:
            tip, a, b = head.points
            pointing.append((tip - (a + b) / 2) / np.hypot(*(tip - (a + b) / 2)))
        for wanted in (template.pattern.up, template.pattern.forward):
            if wanted is not None:
                assert any(np.allclose(p, wanted, atol=1e-6) for p in pointing), name


def test_centre_cross_is_at_the_centre(templates):
    crosses = [i for i in templates["ring"].drawing.flat if i.layer == "fold"]
    assert len(crosses) == 2
    assert np.allclose([c.points.mean(axis=0) for c in crosses], 0.0)


def test_every_dart_tip_has_a_relief_hole(templates):
    """A 2 mm punch, so that the tip does not tear: common practice, no source."""
    bow = templates["bow"]
    holes = [i for i in bow.drawing.flat if isinstance(i, Path) and i.layer == "cut-inner"]
    assert len(holes) == len(bow.pattern.darts) == 2
    for hole, dart in zip(holes, bow.pattern.darts):
        assert np.allclose(np.hypot(*(hole.points - dart.leg_a[-1]).T), 1.0, atol=1e-6)
        assert np.allclose(hole.points.mean(axis=0), dart.leg_a[-1], atol=1e-6)


def test_labels_of_a_strip_do_not_make_it_longer(templates):
    """What a long part says beside its outline stands along its sides, but for a few mm."""
    lip = templates["lip"]
    x0, _, x1, _ = lip.bounds
    assert x1 - x0 <= np.ptp(lip.pattern.outline[:, 0]) + 10.0


def test_trim_line_is_the_allowance_from_the_end(templates):
    items = templates["lip"].drawing.flat
    line = next(i for i in items if isinstance(i, Path) and i.layer == "trim")
    zone = next(i for i in items if isinstance(i, Hatch))
    assert np.allclose(line.points[:, 0], -700.0) and np.isclose(np.ptp(line.points[:, 1]), 30.0)
    assert np.isclose(shapely.Polygon(zone.boundary).area, 10.0 * 30.0)


def test_varying_bevel_is_printed_at_intervals(templates):
    """Each printed value is the bevel at the place where it stands, to a degree."""
    deck = templates["deck"]
    edge = deck.pattern.edges[0]
    rim = shapely.LineString(edge.points)
    values = [t for t in texts(deck) if t.layer == "bevel"]
    assert len(values) >= 4
    for text in values:
        share = rim.project(shapely.Point(text_box(text).mean(axis=0)), normalized=True)
        there = np.interp(share, np.linspace(0, 1, len(edge.bevel)), edge.bevel)
        assert abs(float(text.value.rstrip("°")) - there) < 1.5


def test_a_mark_is_drawn_where_the_disc_lies(templates):
    """A 14 mm disc at (-25, 8) on a plate in the xy plane, seen from below; the other copy is off it."""
    marks = [i for i in templates["deck"].drawing.flat if isinstance(i, Path) and i.layer == "mark-other"]
    assert len(marks) == 1
    from_centre = np.hypot(*(marks[0].points - (25.0, 8.0)).T)
    assert np.allclose(from_centre, 14.0, atol=0.02)


def test_same_input_same_drawing(templates):
    again = {t.pattern.piece.id: t for t in draw(props.submarine())}
    for part, template in templates.items():
        assert len(template.drawing.flat) == len(again[part].drawing.flat)
        for a, b in zip(template.drawing.flat, again[part].drawing.flat):
            if isinstance(a, Path):
                assert a.layer == b.layer and np.array_equal(a.points, b.points)
            elif isinstance(a, (Text, Tick)):
                assert a == b


def test_label_of_a_part_too_small_for_it_stands_outside_with_a_leader(templates):
    gusset = templates["gusset"]
    foam = shapely.Polygon(gusset.pattern.outline)
    label = next(t for t in texts(gusset) if t.value == "G")
    assert not foam.intersects(shapely.Polygon(text_box(label)))
    leaders = [i for i in gusset.drawing.flat if isinstance(i, Path) and len(i.points) == 2 and i.layer == "note"]
    assert any(foam.boundary.distance(shapely.Point(leader.points[1])) < 1e-6 for leader in leaders)


@st.composite
def blobs(draw_value):
    """A smooth closed outline of any size and a few lobes, with 1 to 3 joined and bevelled edges."""
    size = draw_value(st.floats(4, 200))
    count = 90
    turn = np.arange(count) / count * 2 * np.pi
    radius = np.full(count, 1.0)
    for lobe in (2, 3, 5):
        radius += draw_value(st.floats(0, 0.22)) * np.cos(lobe * turn + draw_value(st.floats(0, 6)))
    outline = size * radius[:, None] * np.stack([np.cos(turn), np.sin(turn)], 1) * (1, draw_value(st.floats(0.15, 1)))
    cuts = sorted(draw_value(st.lists(st.integers(0, count - 1), min_size=1, max_size=3, unique=True)))
    looped = np.concatenate([outline, outline, outline[:1]])
    ends = [*cuts[1:], cuts[0] + count]
    edges = [
        props.edge(f"edge_{k}", looped[a : b + 1], (draw_value(st.floats(-30, 30)),), ("other",), f"s{k}", size / 2)
        for k, (a, b) in enumerate(zip(cuts, ends))
    ]
    body = props.flat_body(outline)
    piece = props.piece("blob", "AA", "A part of any shape", body, [props.HERE, props.mirror_y()], layers=2)
    return props.pattern(piece, outline, edges=edges, up=(0.0, 1.0), forward=(-1.0, 0.0))


@settings(max_examples=30, deadline=None, derandomize=True)
@given(blobs())
def test_nothing_overlaps_on_parts_of_any_shape(blob):
    other = props.disc(10, "other", "AB", "Other")
    template = draw(props.patterns((blob, other)))[0]
    assert_nothing_overlaps(template)
    assert_no_leader_runs_along_the_outline(template)
    assert_bounds_hold_all(template)
    words = said(template)
    assert sum(w.startswith("to AB") for w in words) == len(blob.edges)
    assert {"AA", "A part of any shape", "up", "forward"} <= set(words)


def test_round_holes_of_a_plate_have_their_width_and_a_ring_its_radius():
    """Six holes of 10 mm are told once, one of 62 mm by itself, and a square one not at all."""
    turn = np.linspace(0.0, 2.0 * np.pi, 49)[:-1]
    circles = [
        radius * np.column_stack([np.cos(turn), np.sin(turn)]) + at
        for radius, at in [(31.0, (100.0, 100.0)), *((5.0, (20.0 + 30.0 * k, 20.0)) for k in range(6))]
    ]
    square = np.array([[20.0, 60.0], [40.0, 60.0], [40.0, 80.0], [20.0, 80.0]])
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 200.0], [0.0, 200.0]])
    own = props.pattern(props.piece("deck", "A", "Deck", props.flat_body(corners), [props.HERE]), corners)
    own = replace(own, holes=(*circles, square), other_holes=(*circles, square))
    (template,) = draw(props.patterns((own,)))
    assert [text for text in said(template) if "mm across" in text] == [
        "hole 62.0 mm across",
        "6 x hole 10.0 mm across",
    ]

"""Bands that go part of the way or taper, lips and what they line, and covers over seams."""

import numpy as np
import pytest
from space_designs import design, edge, patterns

from foamwright.errors import BuildError, DesignError
from foamwright.model.build import build_model
from foamwright.model.interference import interferences
from foamwright.parts import build_prop


def band(fields, stock="foam"):
    return (
        f"  hoop: {{kind: band, stock: {stock}, along: {{hoop: {{form: tube, plane: {{normal: z, at: 50}}}}}},"
        f" width: 20, {fields}}}\n"
    )


def test_a_hoop_includes_what_lies_beneath():
    wall = "  wall: {kind: panel, stock: foam, form: tube, where: {low: beyond, high: before}, opened: 0}\n"
    found = patterns(wall + band("over: [wall]", "skin"))
    assert found.pattern("hoop").strip == pytest.approx((2 * np.pi * 57, 20), rel=1e-6)


@pytest.mark.parametrize("pile", ["[skin]", "[wall, skin]", "[skin, wall]"])
def test_what_lies_over_a_pile_touches_the_uppermost_of_it(pile):
    wall, skin = (
        f"  {name}: {{kind: panel, stock: {stock}, form: tube, where: {{low: beyond, high: before}}, opened: 0{over}}}\n"
        for name, stock, over in (("wall", "foam", ""), ("skin", "skin", ", over: [wall]"))
    )
    found = patterns(wall + skin + band(f"over: {pile}", "skin"))
    assert found.pattern("hoop").strip == pytest.approx((2 * np.pi * 59, 20), rel=1e-6)
    assert found.prop.piece("hoop").lies_on == ("skin",)


def test_an_open_band_is_an_arc():
    found = patterns(band("span: {angles: [-30, 200]}"))
    length = np.radians(230) * 53
    assert found.pattern("hoop").strip == pytest.approx((length, 20), rel=1e-5)
    assert not edge(found, "hoop", "start").joins
    body = found.prop.piece("hoop").body
    # angle 90 is forward where the normal is up, so angle 0 is to the right (starboard, -y)
    start, end = (np.degrees(np.arctan2(p[0], -p[1])) % 360 for p in (body.curve[0], body.curve[-1]))
    assert (start, end) == pytest.approx((330, 200), abs=0.01)
    (copy,) = [c for c in build_model(found.prop).copies if c.piece.id == "hoop"]
    assert copy.prototype.exact and copy.volume == pytest.approx(np.radians(230) / 2 * (56**2 - 50**2) * 20, rel=1e-4)


def test_shares_count_from_angle_nought():
    quarter = patterns(band("span: {shares: [0.25, 0.5]}")).prop.piece("hoop").body
    same = patterns(band("span: {angles: [90, 180]}")).prop.piece("hoop").body
    assert quarter.curve[[0, -1]] == pytest.approx(same.curve[[0, -1]], abs=1e-3)


def test_a_band_tapers_evenly():
    found = patterns(band("end_width: 8, span: {angles: [0, 180]}"))
    pattern = found.pattern("hoop")
    assert [edge(found, "hoop", name).length for name in ("start", "end")] == pytest.approx([20, 8])
    length = np.pi * 53
    assert pattern.area == pytest.approx(14 * length, rel=1e-5)
    low = edge(found, "hoop", "low").points
    slope = np.diff(low[:, 1]) / np.diff(low[:, 0])
    assert np.abs(slope) == pytest.approx(np.full(len(slope), 6 / length), rel=1e-4)
    assert all(copy.prototype.exact for copy in build_model(found.prop).copies)


@pytest.mark.parametrize("angles", ["[0, 360]", "[40, 40]", "[90, 20]"])
def test_a_span_is_more_than_nothing_and_less_than_a_turn(angles):
    with pytest.raises(BuildError, match="span"):
        build_prop(design(band(f"span: {{angles: {angles}}}")))


def test_a_panel_knows_the_lip_that_lines_its_opening():
    found = patterns(
        "  wall: {kind: panel, stock: foam, form: tube, where: {low: beyond, high: before, hole: outside}, opened: -90}\n"
        "  lip: {kind: band, stock: skin, along: {opening: {form: tube, cut: hole}}, laid: inside, proud: 3, depth: 4}\n"
    )
    assert edge(found, "wall", "hole").joins == ("lip",)
    assert edge(found, "wall", "low").joins == ()


def test_a_lip_along_a_cut_that_meets_its_form_twice_is_told_of_the_cut():
    lip = "  lip: {kind: band, stock: skin, along: {opening: {form: tube, cut: through}}, laid: inside, proud: 3, depth: 4}\n"
    with pytest.raises(BuildError, match=r"along the cut through of tube: .* bound the prism by `above` or `below`"):
        build_prop(design(lip))


COVER = "  cover: {kind: cover, stock: skin, form: ball, seam: belt, width: 18, opened: 45}\n"


def test_a_cover_keeps_its_distance_in_the_surface():
    found = patterns(COVER)
    edges = {e.id: e for e in found.prop.piece("cover").body.edges}
    middle = np.arcsin(20 / 80)
    for name, side in (("belt_far", 1), ("belt_near", -1)):
        on_form = found.prop.piece("cover").body.surface.point(edges[name].coords)
        latitude = np.arcsin(on_form[:, 2] / 80)
        # as wide on the strip as it is stated: on its own neutral surface, half of its 2 mm off the ball
        assert 81 * (latitude - middle) == pytest.approx(np.full(len(latitude), side * 9.0), abs=2e-3)
    assert {"opened.1", "opened.2"} < set(edges)
    assert found.pattern("cover").strain.max < 0.01


def test_a_cover_ends_at_cuts_and_clears_what_it_lies_on():
    found = patterns(
        "  half: {kind: panel, stock: foam, form: ball, where: {middle: beyond, belt: beyond, cap: before}, mirror: y}\n"
        "  strap: {kind: cover, stock: skin, form: ball, seam: middle, width: 18, where: {belt: beyond, cap: before,"
        " front: beyond}, over: [half]}\n"
    )
    assert {e.id for e in found.pattern("strap").edges} == {"middle_far", "middle_near", "belt", "cap"}
    assert interferences(build_model(found.prop), 0.05) == ()


def test_a_cover_needs_a_seam_that_meets_its_form():
    with pytest.raises(BuildError, match="misses the form"):
        build_prop(design("  strap: {kind: cover, stock: skin, form: tube, seam: above, width: 18}\n"))


@pytest.mark.parametrize(
    "text, wrong",
    [
        ("  strap: {kind: cover, stock: skin, form: ball, seam: bell, width: 18}\n", "no cut 'bell'.*belt"),
        (
            "  strap: {kind: cover, stock: skin, form: ball, seam: belt, width: 18, where: {front: inside}}\n",
            "'inside'",
        ),
        (band("end_width: 8"), "end_width.*span"),
    ],
)
def test_mistakes_are_found_before_anything_is_built(text, wrong):
    with pytest.raises(DesignError, match=wrong):
        design(text)

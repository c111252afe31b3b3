"""How segments go together: the slope of a scarf is as long and as steep as on its template, dovetails are those that are cut."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from sample_prop import sample
from test_insets import paths, within, words

from foamwright.booklet.pictures.segmenting import joined
from foamwright.flatten.records import Segment, Split


def strip(length, width):
    return np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])


def split_in_two(joint, outlines, lines):
    pattern = next(p for p in sample()[1].patterns if p.piece.id == "fin")
    segments = tuple(Segment(o, (), 1.0, o, ()) for o in outlines)
    return replace(pattern, outline=strip(600.0, 30.0), split=Split(joint, segments, lines))


@pytest.mark.parametrize("thick", [2.0, 6.0, 20.0])
def test_a_scarf_is_as_steep_as_it_is_cut(thick):
    """Three times as long as the foam is thick; sloped on the drawn face of the first and on the other face of the second."""
    long = 3.0 * thick
    lines = tuple(np.array([[x, 0.0], [x, 30.0]]) for x in (300.0 - long / 2.0, 300.0 + long / 2.0))
    outlines = (strip(300.0 + long / 2.0, 30.0), strip(300.0 + long / 2.0, 30.0) + (300.0 - long / 2.0, 0.0))
    made = split_in_two("scarf", outlines, lines)
    made = replace(made, piece=replace(made.piece, stock=replace(made.piece.stock, thickness=thick)))
    inset = joined(made)
    for slope in paths(inset, "glue"):
        across, down = slope.points[1] - slope.points[0]
        assert -across / down == pytest.approx(3.0)  # both fall from left to right: they lie on each other
    lower, upper = (shapely.Polygon(foam.points) for foam in paths(inset, "view"))
    assert lower.bounds[2] < upper.bounds[2] and lower.centroid.y < upper.centroid.y
    assert f"{3 * thick:g} mm" in words(inset) and made.piece.label in inset.said
    within(inset)


def test_a_puzzle_joint_is_that_of_the_pattern():
    """Its line is copied to both ends, and the foam to both sides has its shape."""
    line = np.array([[300, -1], [300, 10], [306, 8], [306, 22], [300, 20], [300, 31]], float)
    whole = shapely.Polygon(strip(600.0, 30.0))
    left, right = sorted(shapely.get_parts(shapely.polygonize(shapely.get_parts(
        shapely.union_all([whole.exterior, shapely.LineString(line)])))), key=lambda p: p.centroid.x)  # fmt: skip
    outlines = [np.array(p.exterior.coords)[:-1] for p in (left, right)]
    inset = joined(split_in_two("puzzle", outlines, (np.array((shapely.LineString(line) & whole).coords),)))
    one, other = paths(inset, "glue")
    assert np.ptp(one.points, axis=0) == pytest.approx(np.ptp(other.points, axis=0))
    across, high = np.ptp(one.points, axis=0)
    assert across / high == pytest.approx(6.0 / 30.0)
    first, second = (shapely.Polygon(foam.points) for foam in paths(inset, "view"))
    assert first.distance(second) > 0.5 and first.centroid.x < second.centroid.x
    for foam, red in ((first, one), (second, other)):
        assert shapely.LineString(red.points).distance(foam) == pytest.approx(0.0, abs=1e-6)
        assert foam.exterior.buffer(0.01).contains(shapely.LineString(red.points))
    assert {text[-1] for text in words(inset)} == {"1", "2"}
    within(inset)


def test_straight_joints_need_no_picture():
    outlines = (strip(300.0, 30.0), strip(300.0, 30.0) + (300.0, 0.0))
    assert joined(split_in_two("butt", outlines, (np.array([[300.0, 0.0], [300.0, 30.0]]),))) is None
    assert joined(next(p for p in sample()[1].patterns if p.split is None)) is None

"""The section of a fold: the V is as wide as it is told, and shut it turns the foam by as much, without overlap or gap."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from sample_prop import band, sample
from test_insets import paths, within, words

from foamwright.booklet.pictures.folding import folds
from foamwright.parts.records import BandCorner


def strip(*turns, made="scored"):
    """A strip with corners that turn by so many degrees; the last of them is where it closes."""
    pattern = next(p for p in sample()[1].patterns if p.piece.id == "bow_upper")
    corners = [BandCorner(k, turn, (turn / 2.0, turn / 2.0), made) for k, turn in enumerate(turns, start=1)]
    body = replace(band(400.0, 30.0), corners=(*corners, BandCorner(0, 90.0, (45.0, 45.0), made)))
    return replace(pattern, piece=replace(pattern.piece, body=body))


def sides(inset):
    """The foam cut and both halves of it folded, as polygons."""
    cut, *halves = (shapely.Polygon(path.points) for path in paths(inset, "view"))
    return cut, halves


@pytest.mark.parametrize("turn", [22.5, 60.0, 90.0, 120.0, -90.0])
def test_a_v_opens_and_turns_by_its_angle(turn):
    (inset,) = folds([strip(turn)])
    within(inset)
    cut, (one, other) = sides(inset)
    whole = shapely.box(*cut.bounds)
    v = whole.difference(cut)
    up = v.centroid.y > whole.centroid.y
    assert up == (turn > 0) and ("from this side" in inset.said) == up
    mouth, deep = np.ptp(np.reshape(v.bounds, (2, 2)), axis=0)
    thick = np.ptp(np.reshape(whole.bounds, (2, 2)), axis=0)[1]
    assert mouth == pytest.approx(2.0 * thick * np.tan(np.radians(abs(turn) / 2.0)), rel=1e-6)
    assert 0.85 * thick < deep < thick  # the skin stays whole
    assert one.intersection(other).area < 1e-6 and one.distance(other) < 1e-6
    assert one.area + other.area == pytest.approx(whole.area - mouth * thick / 2.0, rel=1e-6)
    away = [np.subtract(half.minimum_rotated_rectangle.centroid.coords[0], (0, 0)) for half in (one, other)]
    assert away[0][1] == pytest.approx(away[1][1])  # alike on both sides
    glued = paths(inset, "glue")
    assert len(glued) == 3 and words(inset) == [f"{abs(turn):g}°"]
    joint = shapely.LineString(glued[0].points)
    assert joint.length == pytest.approx(thick / np.cos(np.radians(abs(turn) / 2.0)), rel=1e-6)
    assert one.intersection(joint).length == pytest.approx(joint.length, rel=1e-3)


def test_the_sharpest_of_both_sides_are_shown_and_mitred_ones_are_not():
    assert [words(inset) for inset in folds([strip(30.0, 90.0, -45.0), strip(60.0, -60.0)])] == [["90°"], ["60°"]]
    assert not list(folds([strip(90.0, made="mitred")])) and not list(folds([strip()]))

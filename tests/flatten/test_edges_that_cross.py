"""Why the edge of a panel crosses itself when it is laid flat. Places and slopes are our own."""

import re
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from panel_designs import panel, prop, stock

from foamwright.errors import BuildError
from foamwright.flatten import build, panels
from foamwright.store import Store

BOW = np.array([[0.0, 0.0], [40.0, 30.0], [40.0, 0.0], [0.0, 30.0]])  # its lines cross at (20, 15)
FLAT = np.vstack([BOW, [20.0, 15.0]])
WIDE = np.array([0.0, 0.0, 6.0])  # the face of a cut edge
PLACES = np.column_stack([FLAT, np.full(5, 7.0)])


@pytest.mark.parametrize(
    ("slopes", "told"),
    [
        ([0, 0, 0, 0, 77], r"its edge rim crosses .* near \(20, 15, 7\) the cut rim runs beside the form, 77°"),
        ([0, 0, 0, 0, -77], "the cut rim runs beside the form, 77°"),
        ([77, 0, 0, 0, 30], r"crosses itself near \(20, 15, 7\) .* leave more room"),  # it slopes elsewhere
    ],
)
def test_a_cut_beside_the_form_is_told_as_the_cause(monkeypatch, slopes, told):
    monkeypatch.setattr(panels, "is_saddle", lambda mesh: False)
    far, rim = PLACES + [0, 0, 90], PLACES
    far = SimpleNamespace(id="keel", cut="keel", points=far, inner=far, outer=far + WIDE, slope=np.full(5, 80.0))
    rim = SimpleNamespace(id="rim", cut="rim", points=rim, inner=rim, outer=rim + WIDE, slope=np.array(slopes, float))
    body, mesh = SimpleNamespace(edges=(far, rim)), SimpleNamespace(surface=SimpleNamespace(points=PLACES))
    _, why = panels._crossing(body, mesh, FLAT, shapely.Polygon(BOW))
    assert re.search(told, why), why


@pytest.mark.parametrize(
    ("height", "error", "told"),
    [
        (119, panels.BesideForm, ["torn"]),  # its rim runs beside the side of the egg
        (119, BuildError, []),  # darts may mend that
        (60, panels.BesideForm, []),  # no cut runs beside the form: it is not laid flat for that
    ],
)
def test_a_look_tells_of_a_torn_rim_where_darts_are_searched_for(tmp_path, monkeypatch, height, error, told):
    def torn(*_):
        raise error("torn")

    monkeypatch.setattr(build, "panel_pattern", torn)
    outline = {"superellipse": {"width": "200 * scale", "height": height, "exponent": 2.5}}
    cuts = {"rim": {"prism": {"outline": outline, "along": "z", "above": 0}}}
    egg = {"kind": "superellipsoid", "radii": ["160 * scale", 60, 60], "cuts": cuts}
    shell = panel("egg", {"rim": "inside"}, darts="auto")
    pieces = prop(tmp_path, {"egg": egg}, {"shell": shell}, stock(strain=0.06)).pieces
    assert [why for _, why in build.refused_alone(pieces)] == told
    once, again = Store(tmp_path / "store"), Store(tmp_path / "store")
    assert [why for _, why in build.refused_alone(pieces, once)] == told
    assert [why for _, why in build.refused_alone(pieces, again)] == told
    assert (again.made["refused alone"], again.found["refused alone"]) == (0, len(pieces))

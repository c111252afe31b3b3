"""Why the edge of a panel crosses itself when it is laid flat. Places and slopes are our own."""

import re
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from foamwright.flatten import panels

BOW = np.array([[0.0, 0.0], [40.0, 30.0], [40.0, 0.0], [0.0, 30.0]])  # its lines cross at (20, 15)
FLAT = np.vstack([BOW, [20.0, 15.0]])
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
    far = SimpleNamespace(id="keel", cut="keel", points=PLACES + [0, 0, 90], slope=np.full(5, 80.0))
    rim = SimpleNamespace(id="rim", cut="rim", points=PLACES, slope=np.array(slopes, float))
    body, mesh = SimpleNamespace(edges=(far, rim)), SimpleNamespace(surface=SimpleNamespace(points=PLACES))
    why = panels._crossing(body, mesh, FLAT, shapely.Polygon(BOW))
    assert re.search(told, why), why

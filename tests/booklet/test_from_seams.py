"""How far from a seam a strip begins, on a form that is narrower above and below: numbers alone, of our own."""

from types import SimpleNamespace
from unittest.mock import Mock

import numpy as np

from foamwright.booklet.words.seaming import _from_seam
from foamwright.parts.records import BandBody, PanelBody


def test_the_seam_is_measured_where_the_strip_crosses_it():
    """On a ball of 103 mm a seam stands 20 degrees beside the start of a strip 12 mm wide at its equator: the chord is
    2 * 103 sin 10 = 35.8 mm there. Seen from above, the seam comes nearer where the ball is narrower."""
    turn = np.radians(np.arange(361.0))
    circle = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(361)])
    band = Mock(spec=BandBody, curve=97.0 * circle, normals=circle, inner_offset=6.0, across=np.array([0.0, 0.0, 1.0]))
    band.low, band.high = np.full(361, -6.0), np.full(361, 6.0)
    up, beside = np.radians(np.linspace(-80.0, 80.0, 321)), np.radians(20.0)
    meridian = np.column_stack([np.cos(up) * np.cos(beside), np.cos(up) * np.sin(beside), np.sin(up)])
    gore = SimpleNamespace(
        id="gore", body=Mock(spec=PanelBody, edges=(SimpleNamespace(id="left", outer=103.0 * meridian),))
    )
    strip = SimpleNamespace(id="strip", body=band, stock=SimpleNamespace(thickness=2.0))
    touch = SimpleNamespace(places=103.0 * circle, glued=True)
    bodies = SimpleNamespace(
        of=lambda part: (0,), matrices=(np.eye(4), np.eye(4)), pieces=(strip, gore), touches={(0, 1): touch}
    )
    meeting = SimpleNamespace(new="strip", broad=True, pairs=((0, 1),))
    told = SimpleNamespace(bodies=bodies, meetings=(meeting,), seam_numbers={frozenset({("gore", "left")}): 1})
    assert _from_seam(told, strip) == "36 mm to the right of seam 1"

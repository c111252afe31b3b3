"""Which way the drawn faces of flat parts go. Worked out by hand: a plate reflected in y keeps its faces; one that is
cut as drawn and goes there is turned over, so that its drawn face looks the other way."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from foamwright.booklet.joining import _facing
from tests.templates import template_props as props


@pytest.mark.parametrize(
    ("mirror", "words"),
    [(None, "down"), ((1.0, 0.0, 0.0), "down"), ((0.0, 0.0, 1.0), "down on the left, up on the right")],
)
def test_of_a_pair_of_one_template_one_is_turned_over(mirror, words):
    fin = props.piece("fin", "A", "Fin", props.flat_body(props.circle(5)), [props.HERE, props.mirror_y()])
    bodies = SimpleNamespace(
        pieces=(replace(fin, own_mirror=mirror),) * 2,
        matrices=tuple(place.matrix for place in fin.placements),
        spheres=np.array([[0.0, 40.0, 0.0, 5.0], [0.0, -40.0, 0.0, 5.0]]),
    )
    assert _facing(bodies, (0, 1), -1.0) == words

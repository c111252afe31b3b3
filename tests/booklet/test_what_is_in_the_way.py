"""What a booklet says of a figure that a part keeps out, and what is one thing to set down."""

from types import SimpleNamespace

import pytest

from foamwright.assembly.setting_down import held_together
from foamwright.booklet.pages import cover
from foamwright.booklet.words.order import _Bench


def part(name, label, copies=1, **more):
    every = {
        "id": name,
        "name": name.capitalize(),
        "label": label,
        "placements": (None,) * copies,
        "loose": 0,
        "rests_on": (),
        "piece_of": "",
    }
    return SimpleNamespace(**every | more)


def test_a_door_in_the_way_is_named_and_the_way_in_is_not_called_narrow():
    """A hinged door stands before a way in of 40 mm, for a lamp of 26 mm."""
    fit = SimpleNamespace(figure="lamp", contacts=(), entry=SimpleNamespace(blocks=(SimpleNamespace(part="door"),)))
    prop = SimpleNamespace(piece={"door": part("door", "C")}.__getitem__)
    assert cover._too_large(prop, fit) == "lamp, which does not get in at this size; in its way: the door (C)"


@pytest.mark.parametrize(("blocks", "built_with"), [((), 0b11), (("door",), 0b11), ((), 0b10)])
def test_a_figure_is_tried_where_it_gets_in_and_at_what_is_built_onto_what_stands(blocks, built_with):
    room = SimpleNamespace(part="door", clearance=1.0)
    fit = SimpleNamespace(figure="lamp", contacts=(), beside=room, entry=SimpleNamespace(blocks=blocks))
    door = part("door", "C", glue="contact")
    bench = SimpleNamespace(
        fit=fit,
        prop=SimpleNamespace(design=SimpleNamespace(used_by=())),
        pieces={"door": door},
        shuts_in=None,
        standing=1,
        tried=False,
    )
    stage = SimpleNamespace(parts=("door",), units=(), moves=(SimpleNamespace(own=built_with),))
    said = _Bench._trial(bench, stage)
    assert bool(said) == bench.tried == (not blocks and built_with == 0b11)


def test_what_glue_holds_together_is_one_thing_to_set_down():
    """Two strings of one part lie on a saddle one by one; a lid of two cheeks and a cover is set on as one."""
    glued, loose = SimpleNamespace(glued=True), SimpleNamespace(glued=False)
    bodies = SimpleNamespace(
        touches={(0, 2): glued, (2, 0): glued, (1, 2): glued, (2, 1): glued, (3, 4): loose},
        mask=lambda copies: sum(1 << c for c in copies),
    )
    assert held_together(bodies, [0, 1, 2]) == [0b111]
    assert sorted(held_together(bodies, [3, 4])) == [0b1000, 0b10000]

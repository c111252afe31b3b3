"""Contacts of which another process finds half: the same as without it, whatever becomes of it."""

from __future__ import annotations

import pickle
from concurrent.futures import Future

import pytest

from foamwright.contacts import find
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from tests.model.solid_fixtures import FOAM, Tube, panel, piece, placed, plate, prop, ring_points


class Done:
    """Another process that has done what it was asked before anybody waits for it."""

    def start(self, function, *given):
        future = Future()
        future.set_running_or_notify_cancel()
        future.set_result(function(*pickle.loads(pickle.dumps(given))))
        return future


class Lost:
    """One that is no more."""

    def start(self, function, *given):
        future = Future()
        future.set_running_or_notify_cancel()
        future.set_result(None)
        return future


class Busy:
    """One that never comes to it."""

    def start(self, function, *given):
        return Future()


@pytest.mark.parametrize(("other", "here"), [(Done, 0.75), (Lost, 1.0), (Busy, 1.0)])
def test_what_another_process_finds_is_what_would_be_found_here(monkeypatch, other, here):
    tube = piece("A", panel(Tube(60.0, 100.0), (0.0, 0.05), (1.0, 0.45)), placements=(placed(), placed(mirrored=True)))
    lap = panel(Tube(60.0, 100.0), (0.2, 0.1), (0.6, 0.3), inner_offset=FOAM.thickness)
    laps = piece("B", lap, placements=(placed(), placed(mirrored=True)))
    disc = piece("C", plate(ring_points(60.0), (0, 0, 50), radius=60.0))
    made = solids(build_model(prop(tube, laps, disc)))
    looked_at = []
    found = find._Look.found
    monkeypatch.setattr(find._Look, "found", lambda look, asked: looked_at.append(asked.key) or found(look, asked))
    alone = find.find_contacts(made)
    own = len(looked_at)
    both = find.find_contacts(made, 0.0, other())
    ours = {id(face) for solid in made for face in solid.faces}
    again = [key for key in looked_at[own:] if key[0] in ours]
    assert 0.25 * own < len(again) <= here * own and own > 8
    assert len(alone.found) > 3
    told = [pickle.dumps((c.a, c.b, c.area, c.length, c.gap)) for c in alone.found]
    assert [pickle.dumps((c.a, c.b, c.area, c.length, c.gap)) for c in both.found] == told
    assert all(
        (a.points == b.points).all() and (a.triangles == b.triangles).all() for a, b in zip(alone.found, both.found)
    )

"""What a process works out ahead of its time is found once by whoever asks it for the same."""

from __future__ import annotations

import pickle
import sys
from concurrent.futures import Future

import pytest

from foamwright.beside import beside
from foamwright.design import load
from foamwright.errors import BuildError
from foamwright.flatten.build import flatten
from foamwright.making import Request, Stages
from foamwright.parts.build import build_prop
from foamwright.store import Store

TUBE = """
format: 1
name: Half a tube
version: 1.0.0
licence: CC-BY-4.0
parameters: {scale: {value: 1, min: 0.5, max: 2}, clearance: {value: 1 mm}}
sizes: {one: {note: as it is}}
stock: {foam: {name: EVA foam 5 mm, thickness: 5 mm, sheet: [600 mm, 1200 mm]}}
forms:
  tube:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 60 * scale], [80, 60 * scale]]
    cuts: {front: {plane: {normal: y, at: 0}}, low: {plane: {normal: z, at: 5}}, high: {plane: {normal: z, at: 75}}}
parts:
  wall: {kind: panel, stock: foam, form: tube, where: {front: beyond, low: beyond, high: before}, mirror: y, darts: auto}
  floor:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 140, height: 140}}
    at: {origin: [0, 0, 0], normal: z, up: y}
"""


@pytest.mark.parametrize("folder", [None, "store"])
def test_what_was_made_ahead_is_found_once_and_counted_where_it_is_taken(folder, tmp_path):
    store, calls = Store(folder and tmp_path / folder), []
    ahead = store.ahead()
    assert ahead.kept("sum", (1, 2), lambda: calls.append("ahead") or 3) == 3
    assert store.kept("sum", (1, 2), lambda: calls.append("then") or 3) == 3
    assert (calls, store.made["sum"]) == (["ahead"], 1)
    assert store.kept("sum", (1, 2), lambda: calls.append("again") or 3) == 3
    assert calls == ["ahead"] + ([] if folder else ["again"])  # the disk keeps it, the process gives it away


def test_other_inputs_are_made_anew():
    store = Store(None)
    store.ahead().kept("sum", (1, 2), lambda: 3)
    assert store.kept("sum", (2, 2), lambda: 4) == 4


def test_an_error_ahead_leaves_nothing():
    store = Store(None)
    with pytest.raises(ZeroDivisionError):
        store.ahead().kept("share", (1, 0), lambda: 1 / 0)
    assert store.kept("share", (1, 0), lambda: 5) == 5


def test_a_panel_laid_flat_before_it_is_known_what_it_meets_is_not_laid_again(tmp_path):
    path = tmp_path / "tube.yaml"
    path.write_text(TUBE, encoding="utf-8")
    stages, store = Stages(Request(load(path))), Store(None)
    before, after = stages.record("parts"), stages.record("prop")
    joins = [[bool(edge.joins) for edge in prop.piece("wall").body.edges] for prop in (before, after)]
    assert joins[0] != joins[1]  # the wall turns out to stand on the floor
    ahead = store.ahead()
    flatten(before, store=ahead)
    laid, alone = flatten(after, store=store)["wall"], flatten(after)["wall"]
    assert ahead.made["panel"] == 1 and store.made["panel"] == 1  # counted where it was taken; the mesh is the same one
    assert laid.outline.tobytes() == alone.outline.tobytes() and laid.piece == alone.piece


@pytest.mark.parametrize("folder", [None, "store"])
def test_parts_that_another_process_works_out_are_the_same_and_counted_once(folder, tmp_path, monkeypatch):
    monkeypatch.delitem(sys.modules, "OCP", raising=False)  # what other tests have loaded is not needed there
    path = tmp_path / "tube.yaml"
    path.write_text(TUBE, encoding="utf-8")
    design = load(path)
    alone = build_prop(design)
    store = Store(folder and tmp_path / folder)
    with beside(2) as other:
        both = build_prop(design, store=store, beside=other)
        assert other.pid is not None
    assert store.made["placed"] == len(design.parts)
    for one, two in zip(alone.pieces, both.pieces):
        assert pickle.dumps(one.placements) == pickle.dumps(two.placements)
    floor, wall = (both.piece(part).body for part in ("floor", "wall"))
    assert floor.outline.tobytes() == alone.piece("floor").body.outline.tobytes()
    assert wall.chart.flat.tobytes() == alone.piece("wall").body.chart.flat.tobytes()


class Waits:
    """A process that is at something else for as long as anybody waits, or has failed at what it was asked."""

    def __init__(self, error=None):
        self.error, self.asked = error, []

    def start(self, work, design, store, part):
        self.asked.append(part)
        coming = Future()
        if self.error is not None:
            coming.set_exception(self.error)
        return coming


@pytest.mark.parametrize("error", [None, BuildError("floor: it has no room")])
def test_what_does_not_come_is_worked_out_here(error, tmp_path):
    path = tmp_path / "tube.yaml"
    path.write_text(TUBE, encoding="utf-8")
    waits, store = Waits(error), Store(None)
    prop = build_prop(load(path), store=store, beside=waits)
    assert waits.asked == ["floor"] and store.made["placed"] == len(prop.pieces) == 2


def test_nothing_is_asked_for_that_is_kept(tmp_path):
    path = tmp_path / "tube.yaml"
    path.write_text(TUBE, encoding="utf-8")
    store = Store(tmp_path / "store")
    build_prop(load(path), store=store)
    waits = Waits()
    build_prop(load(path), store=store, beside=waits)
    build_prop(load(path, None, {"clearance": "2 mm"}), store=store, beside=waits)
    assert not waits.asked

"""The store: what is the same is found, and nothing else; what is torn, foreign or gone is worked out again."""

from __future__ import annotations

import multiprocessing
import os
import subprocess
import sys
import threading
from dataclasses import dataclass

import numpy as np
import pytest

from foamwright import store as stores
from foamwright.assembly.bodies import Bodies
from foamwright.geometry import Mesh
from foamwright.store import Store


@dataclass(frozen=True, eq=False)
class Record:
    name: str
    points: np.ndarray


def record(value=1.0):
    return Record("a", np.full((3, 2), value))


def twice(folder, inputs, again, **options):
    for given in (inputs, again):
        store = Store(folder, **options)
        store.kept("square", given, lambda: [1, 2])
    return store


def test_equal_inputs_are_found_whatever_objects_they_are_made_of(tmp_path):
    text = "".join(["o", "ne"])
    shared = twice(tmp_path, (record(), text, [text, text]), (record(), "one", ["one", "o" + "ne"]))
    assert shared.found["square"] == 1 and shared.made["square"] == 0


def test_what_a_record_remembers_of_itself_makes_no_other_key(tmp_path):
    asked = Mesh(np.eye(3), np.array([[0, 1, 2]]))
    assert asked.area_vectors.shape == (1, 3)  # worked out of the rest when it is first asked for
    found = twice(tmp_path, Mesh(np.eye(3), np.array([[0, 1, 2]])), asked)
    assert found.found["square"] == 1
    assert twice(tmp_path, asked, Mesh(2.0 * np.eye(3), asked.triangles)).made["square"] == 1


def test_sets_are_keys_in_whatever_order_they_come(tmp_path):
    def bodies(painted):
        none = np.zeros((0, 3))
        return Bodies(none, none, none, none, (), (), {}, painted_apart=painted)

    one, other = frozenset([0, 8]), frozenset([8, 0])
    assert list(one) != list(other)  # as those of texts are from run to run
    assert twice(tmp_path, bodies(one), bodies(other)).found["square"] == 1
    assert twice(tmp_path, bodies(one), bodies(frozenset([0, 9]))).made["square"] == 1


def test_large_arrays_are_keys_as_small_ones_are(tmp_path):
    large = np.arange(300_000.0)
    assert twice(tmp_path / "same", large, large.copy()).found["square"] == 1
    other = large.copy()
    other[-1] = 0.0
    assert twice(tmp_path / "other", large, other).made["square"] == 1


@pytest.mark.parametrize("other", [(record(2.0), 1), (record(), 2), (record(), 1.0), (record(), "1")])
def test_other_inputs_are_not(tmp_path, other):
    assert twice(tmp_path, (record(), 1), other).made["square"] == 1


def test_another_name_another_library_and_another_program_are_not(tmp_path, monkeypatch):
    Store(tmp_path, {"numpy": "1"}).kept("square", 1, lambda: 1)
    for name, libraries in (("root", {"numpy": "1"}), ("square", {"numpy": "2"})):
        store = Store(tmp_path, libraries)
        store.kept(name, 1, lambda: 2)
        assert store.made[name] == 1
    monkeypatch.setattr(stores, "program", lambda: "another")
    store = Store(tmp_path, {"numpy": "1"})
    assert store.kept("square", 1, lambda: 3) == 3


def test_no_folder_keeps_nothing_and_makes_everything():
    store = Store(None)
    assert [store.kept("square", 1, lambda: 1) for _ in range(2)] == [1, 1]
    assert store.made["square"] == 2


@pytest.mark.parametrize("damage", ["cut", "flipped", "empty", "foreign"])
def test_an_entry_that_is_torn_is_made_again_and_mended(tmp_path, damage):
    Store(tmp_path).kept("square", 1, lambda: [1] * 1000)
    (path,) = tmp_path.glob("??/*")
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes({"cut": content[:-5], "flipped": content, "empty": b"", "foreign": b"not ours"}[damage])
    store = Store(tmp_path)
    assert store.kept("square", 1, lambda: "again") == "again" and store.made["square"] == 1
    assert Store(tmp_path).kept("square", 1, lambda: "never") == "again"


@pytest.mark.skipif(os.name != "posix", reason="owners and modes are those of POSIX")
def test_an_entry_that_others_may_have_written_is_not_opened(tmp_path, monkeypatch):
    """What a pickle says is run as it is opened (Python's documentation of pickle)."""
    store = Store(tmp_path)
    store.kept("record", 1, lambda: "made")
    (entry,) = tmp_path.glob("??/*")
    assert Store(tmp_path).kept("record", 1, lambda: "anew") == "made"
    monkeypatch.setattr("pickle.loads", lambda content: pytest.fail("it was opened"))
    for mode in (0o660, 0o606, 0o644):
        entry.chmod(mode)
        assert Store(tmp_path).kept("record", 1, lambda: "anew") == "anew"
        entry = next(iter(tmp_path.glob("??/*")))
    entry.chmod(0o600)
    monkeypatch.setattr("os.geteuid", lambda: entry.stat().st_uid + 1)
    assert Store(tmp_path).kept("record", 1, lambda: "anew") == "anew"


def test_a_folder_for_caches_that_is_relative_is_none(tmp_path):
    asks = "import foamwright, platformdirs; print(platformdirs.user_cache_path('x', appauthor=False).is_absolute())"
    told = subprocess.run([sys.executable, "-c", asks], cwd=tmp_path, env={**os.environ, "XDG_CACHE_HOME": "cache"}, capture_output=True,
                          text=True, check=True)  # fmt: skip
    assert told.stdout.strip() == "True"


def test_what_cannot_be_kept_is_made_each_time(tmp_path):
    store = Store(tmp_path)
    assert store.kept("square", 1, lambda: threading.Lock()) is not None
    assert store.kept("square", lambda: 0, lambda: 5) == 5
    assert not list(tmp_path.glob("??/*"))


def test_errors_pass_and_are_not_kept(tmp_path):
    store = Store(tmp_path)
    with pytest.raises(ZeroDivisionError):
        store.kept("square", 1, lambda: 1 / 0)
    assert store.kept("square", 1, lambda: 4) == 4


def test_a_disk_that_refuses_costs_only_the_entry(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    store = Store(tmp_path)
    assert store.kept("square", 1, lambda: 4) == 4
    assert [p.name for p in tmp_path.rglob("*") if p.is_file()] == []
    assert Store(tmp_path / "file" / "in the way").kept("square", 1, lambda: 4) == 4


def test_what_was_not_used_for_longest_goes_first(tmp_path):
    store = Store(tmp_path, most_bytes=50_000)
    for k in range(4):
        store.kept("block", k, lambda k=k: bytes([k]) * 11_000)
    for age, path in enumerate(sorted(tmp_path.glob("??/*"), key=lambda p: p.stat().st_mtime_ns)):
        os.utime(path, (1_000_000 + age, 1_000_000 + age))
    found = Store(tmp_path, most_bytes=50_000)
    found.kept("block", 0, lambda: None)  # used again
    found.kept("block", 9, lambda: bytes(11_000))
    found.tidy()
    left = Store(tmp_path)
    kept = [k for k in (0, 1, 2, 3, 9) if left.kept("block", k, lambda: None) is not None]
    assert 0 in kept and 9 in kept and 1 not in kept


def _fill(folder):
    store = Store(folder)
    for k in range(40):
        assert store.kept("block", k, lambda k=k: bytes([k]) * 5000) == bytes([k]) * 5000


def test_runs_side_by_side_disturb_each_other_in_nothing(tmp_path):
    context = multiprocessing.get_context("spawn")
    runs = [context.Process(target=_fill, args=(tmp_path,)) for _ in range(3)]
    for run in runs:
        run.start()
    for run in runs:
        run.join()
    assert [run.exitcode for run in runs] == [0, 0, 0]
    store = Store(tmp_path)
    for k in range(40):
        assert store.kept("block", k, lambda: None) == bytes([k]) * 5000

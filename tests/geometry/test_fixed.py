"""Arrays of a record cannot be written into once it is sealed, wherever in it they are."""

from dataclasses import dataclass

import numpy as np
import pytest

from foamwright.geometry.fixed import arrays_in, read_only


@dataclass(frozen=True)
class Record:
    points: np.ndarray
    more: object


def test_every_array_however_deep_is_found_once_and_set():
    shared = np.zeros(3)
    deep = [np.zeros((2, 3)) for _ in range(5)]
    inner = Record(deep[0], {"a": (deep[1], [deep[2]]), "b": Record(shared, None)})
    record = (inner, {"x": deep[3]}, frozenset(), Record(shared, [deep[4]]))
    assert {id(array) for array in arrays_in(record)} == {id(array) for array in (*deep, shared)}
    assert len(list(arrays_in(record))) == 6
    assert read_only(record) is record
    for array in (*deep, shared):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0


def test_a_record_that_holds_itself_and_what_is_no_record():
    around: list[object] = [np.zeros(1)]
    around.append(around)
    read_only(around)
    assert not around[0].flags.writeable  # type: ignore[attr-defined]
    for nothing in (None, 3, "text", Record, object(), {}):
        assert read_only(nothing) is nothing


def test_a_long_chain_of_records():
    chain = None
    for _ in range(5000):
        chain = Record(np.zeros(1), chain)
    assert len(list(arrays_in(read_only(chain)))) == 5000

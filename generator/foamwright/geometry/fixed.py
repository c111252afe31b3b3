"""Arrays that no longer change: what a step has made is only read by the steps after it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import is_dataclass
from typing import TypeVar

import numpy as np

T = TypeVar("T")


def read_only(record: T) -> T:
    """The record itself, with every array in it set read-only: writing into one raises ValueError from now on.

    Arrays are looked for in dataclasses, tuples, lists, sets and the values of mappings, however deep. What the fields
    of other objects hold is theirs.
    """
    for array in arrays_in(record):
        array.setflags(write=False)
    return record


def arrays_in(record: object) -> Iterator[np.ndarray]:
    """Every array of a record, each once."""
    seen, open_ = set(), [record]
    while open_:
        at = open_.pop()
        if id(at) in seen:
            continue
        seen.add(id(at))
        if isinstance(at, np.ndarray):
            yield at
        elif isinstance(at, Mapping):
            open_ += at.values()
        elif isinstance(at, (tuple, list, set, frozenset)):
            open_ += at
        elif is_dataclass(at) and not isinstance(at, type):
            open_ += vars(at).values()

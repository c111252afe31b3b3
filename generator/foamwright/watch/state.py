"""What the page shows: the last look that could be drawn stays while newer errors stand above it."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any


@dataclass(frozen=True)
class Shown:
    """`at` counts every change. `error` is what is wrong with the design as it was saved last, "" if nothing.

    `look` is the report of the last look that could be drawn, `drawn` the save that it shows, and `files` its pictures
    by name. `pack` says how far the pack is and `folder` where the last whole one lies.
    """

    at: int = 0
    save: int = 0
    name: str = ""
    busy: str = ""
    error: str = ""
    look: Mapping[str, Any] = field(default_factory=dict)
    drawn: int = 0
    files: Mapping[str, bytes] = field(default_factory=dict)
    pack: str = ""
    folder: str = ""

    def told(self) -> dict[str, Any]:
        """Everything but the bytes, for the page."""
        return {
            "at": self.at,
            "name": self.name,
            "busy": self.busy,
            "error": self.error,
            "look": dict(self.look),
            "old": bool(self.files and self.error),
            "drawn": self.drawn,
            "pictures": sorted(self.files),
            "pack": self.pack,
            "folder": self.folder,
        }


class Board:
    """Holds what is shown; whoever reads it may wait for the next change."""

    def __init__(self, name: str) -> None:
        self._changed = threading.Condition()
        self._shown = Shown(name=name)

    @property
    def shown(self) -> Shown:
        return self._shown

    def change(self, **fields: Any) -> None:
        """Show other values for some fields, and wake whoever waits."""
        with self._changed:
            self._shown = replace(self._shown, at=self._shown.at + 1, **fields)
            self._changed.notify_all()

    def after(self, at: int, seconds: float) -> Shown:
        """What is shown once it has changed since `at`, or when so many seconds have gone by."""
        with self._changed:
            self._changed.wait_for(lambda: self._shown.at != at, seconds)
            return self._shown

"""What a build is working on just now, for whoever has to say where it ended."""

from __future__ import annotations

from collections.abc import Callable


def _nobody(what: str) -> None:
    """Nobody listens."""


_listener: Callable[[str], None] = _nobody


def working_on(what: str) -> None:
    """Say that the part or form named is begun. It changes nothing of what is made."""
    _listener(what)


def listen(listener: Callable[[str], None]) -> None:
    """Have `listener` told from now on; one process builds one pack, and has one listener."""
    global _listener
    _listener = listener

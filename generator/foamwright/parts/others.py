"""Shapes of parts that another process works out while this one is at those before them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import Future
from typing import TYPE_CHECKING

from foamwright.design.records import Design, PartSpec
from foamwright.errors import FoamwrightError
from foamwright.store import Made, Store

if TYPE_CHECKING:
    from foamwright.beside import Beside

SHAPE = "placed"  # under this name a store keeps the shape and the places of a part


class Others:
    """What comes from there. It is asked for once, with all that is left to do; what has not had its turn when it is wanted
    is worked out here."""

    def __init__(self, beside: Beside | None) -> None:
        self._beside = beside  # that may still be asked
        self._coming: dict[str, Future[Made | None]] = {}

    @property
    def may_be_asked(self) -> bool:
        return self._beside is not None

    def ask(
        self, work: Callable[[Design, Store, str], Made | None], design: Design, store: Store, parts: Iterable[str]
    ):
        """Have `work` done there for each of the parts in turn: it gives what it has put into the store under `SHAPE`."""
        if self._beside is not None:
            self._coming = {part: self._beside.start(work, design, store, part) for part in parts}
            self._beside = None

    def bring(self, part: PartSpec, store: Store) -> None:
        """Put into the store what has come of a part."""
        coming = self._coming.pop(part.id, None)
        if coming is None or coming.cancel():
            return
        try:
            made = coming.result()
        except FoamwrightError:  # it is met again where it can be told
            return
        if made is not None:
            store.hand(SHAPE, made)

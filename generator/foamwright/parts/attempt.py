"""As much of a prop as can be placed, and what cannot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from foamwright.design.records import Design
from foamwright.errors import BuildError
from foamwright.parts import seams
from foamwright.parts.build import place
from foamwright.parts.records import Piece
from foamwright.parts.surroundings import Surroundings
from foamwright.parts.tabs import with_tabs
from foamwright.registry import kind
from foamwright.store import Store

if TYPE_CHECKING:
    from foamwright.beside import Beside


@dataclass(frozen=True)
class Failure:
    """What could not be built: the id of the part, "" for something that parts have in common, and why, in a line."""

    part: str
    reason: str


@dataclass(frozen=True, eq=False)
class Attempt:
    """The pieces that could be placed in the order of the design, and all that failed."""

    design: Design
    pieces: tuple[Piece, ...]
    failures: tuple[Failure, ...]


def attempt(
    design: Design, run_own_code: bool = False, store: Store | None = None, beside: Beside | None = None
) -> Attempt:
    """Place every part that can be placed, as `build_prop` does. Where nothing fails the pieces stand as in the prop.

    Raises BuildError only if a form cannot be made.
    """
    among = Surroundings(design, run_own_code, store, beside)
    made: dict[str, Piece] = {}
    failures: dict[str, Failure] = {}
    for part in among.order:
        named = [part.values.get(key) or () for key in kind(part.kind).shaped_by]
        lost = [n for names in named for n in ([names] if isinstance(names, str) else names) if n in failures]
        if lost:
            reason = f"{part.where}: part {part.id}: its shape follows {lost[0]}, which could not be built"
            failures[part.id] = Failure(part.id, reason)
            continue
        try:
            made[part.id] = place(part, among)
            among.add(made[part.id])
        except BuildError as error:
            failures[part.id] = Failure(part.id, str(error))
    pieces = tuple(made[part.id] for part in design.parts if part.id in made)
    common: list[Failure] = []

    def as_far_as_it_goes(step: Callable[[Sequence[Piece]], tuple[Piece, ...]]) -> tuple[Piece, ...]:
        try:
            return step(pieces)
        except BuildError as error:
            common.append(Failure("", str(error)))
            return pieces

    pieces = as_far_as_it_goes(seams.divide_edges)
    if not failures:  # a tab may enter a part that is not there
        pieces = as_far_as_it_goes(lambda all_: with_tabs(all_, among.parts))
    return Attempt(design, pieces, (*failures.values(), *common))

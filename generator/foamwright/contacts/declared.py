"""What a design says of two parts that touch, and how that is told where it is not so. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from foamwright.contacts.things import EDGE_ONLY, SHARES_ONLY
from foamwright.design.records import Design
from foamwright.parts.records import Lap, Piece

_NO_GAP = 0.05  # mm, below which a gap is none to one decimal


@dataclass(frozen=True)
class Declared:
    """Of two parts by their names in the design what is said of them, "lies on" and the like, and the pairs of members, (upper,
    lower), of which one must touch as said: of parts that have none the two themselves. `padding` lies between them."""

    upper: str
    said: str
    lower: str
    pairs: tuple[tuple[str, str], ...]
    padding: float

    @property
    def rests(self) -> bool:
        return self.said == "rests on"

    @property
    def lies(self) -> bool:
        return self.said == "lies on"


def declared(design: Design, pieces: Sequence[Piece], laps: Iterable[Lap]) -> Iterator[Declared]:
    """All that is said of parts that are placed: what lies on, is over or joins another, and what rests on one."""
    made = {piece.id: piece for piece in pieces}
    over = {spec.id for spec in design.parts if spec.values.get("over")}
    for (upper, lower), pairs in _by_whole(design, [(lap.upper, lap.lower) for lap in laps]).items():
        here = tuple(pair for pair in pairs if all(name in made and made[name].placements for name in pair))
        if here:
            first, second = here[0]
            said = "joins" if second not in made[first].lies_on else "is over" if first in over else "lies on"
            yield Declared(upper, said, lower, here, 0.0)
    resting = [(piece.id, lower) for piece in pieces for lower in piece.rests_on if lower in made]
    for (upper, lower), pairs in _by_whole(design, resting).items():
        yield Declared(upper, "rests on", lower, tuple(pairs), max(made[name].padding for name, _ in pairs))


def untrue(design: Design, said: Declared, gap: float | None) -> str:
    """In words, that two parts do not touch as is said, with the gap between them (None where one of them is nowhere) and what
    sets it."""
    padding = f" with {said.padding:g} mm of padding" if said.padding else ""
    if gap is None:
        apart = "that part is nowhere in the prop"
    elif gap < _NO_GAP and any(frozenset(pair) in meant(design) for pair in said.pairs):
        apart = f"shares space with it, {SHARES_ONLY}"
    elif gap < _NO_GAP:
        apart = f"meets it {EDGE_ONLY}"
    else:
        apart = f"stands {gap:.1f} mm off it{_remedy(design, said)}"
    return f"part {said.upper} {said.said} {said.lower}{padding}, but {apart}"


def edge_only(upper: Piece, lower: Piece) -> str:
    """In words, that a part touches what it is said to lie on, but with no face of its own."""
    if upper.glue == "none":
        remedy = "say rests_on in place of lies_on"
    elif lower.glue == "none":
        remedy = f"name the two under joins with their glue in place of lies_on, as {lower.id} says glue: none"
    else:
        remedy = f"leave {lower.id} out of its lies_on: an edge that touches is glued too"
    return f"part {upper.id} lies on {lower.id}, but touches it with its edge only; turn it face to face, or {remedy}"


def meant(design: Design) -> frozenset[frozenset[str]]:
    """The pairs of parts that are meant to share space. That holds neither, unless one rests on the other, as a cushion that
    sinks into its seat: all else is trimmed until both fit, and no step tells of glue there."""
    return frozenset(map(frozenset, design.expected_overlaps))


def _remedy(design: Design, said: Declared) -> str:
    values: Mapping[str, Mapping] = {spec.id: spec.values for spec in design.parts}
    members = dict.fromkeys(name for pair in said.pairs for name in pair[::-1])
    proud = [(name, values[name]["proud"]) for name in members if values[name].get("proud") is not None]
    if proud:
        return "; " + " and ".join(f"{name} ends where its proud says ({size:g} mm)" for name, size in proud)
    return "; move one of them, or give padding if felt lies between" if said.rests and not said.padding else ""


def wholes(design: Design) -> dict[str, str]:
    """The name in the design of what each part is a member of, or is."""
    return {spec.id: str(spec.values.get("whole", spec.id)) for spec in design.parts}


def _by_whole(design: Design, pairs: Iterable[tuple[str, str]]) -> dict[tuple[str, str], list[tuple[str, str]]]:
    """Pairs of parts by the names that the design has for the two: those of wholes, where they have members."""
    whole = wholes(design)
    by_name: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for upper, lower in pairs:
        by_name.setdefault((whole[upper], whole[lower]), []).append((upper, lower))
    return by_name

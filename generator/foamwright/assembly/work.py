"""What is done in one go at the bench, before it has its number among the steps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from foamwright.assembly import practice
from foamwright.assembly.records import Joint, StepMove
from foamwright.assembly.taking_apart import Move
from foamwright.flatten.records import Patterns
from foamwright.parts.records import Piece

_FEW = 8  # sentences that are read at a glance
Passages = list[tuple[str, list[str]]]  # the sentences of a long step in groups, each with its small heading
SMALL_PART = 50.0  # mm; the longer side of a part that can be swallowed or lost
_WAITS = {"contact": practice.WAIT_CEMENT, "instant": practice.WAIT_INSTANT, "": 0.0}


@dataclass(frozen=True)
class Work:
    """A step but for its number; the fields that have the names of those of `Step` are the same. `before` are the parts
    of which the last step must be done before it, beside its own, and `after` the numbers of more such steps."""

    title: str
    parts: tuple[str, ...]
    text: Sequence[str]
    glue: str = ""
    minutes: float = 0.0
    before: Sequence[str] = ()
    cautions: Sequence[str] = ()
    places: tuple[str, ...] = ()
    moves: tuple[StepMove, ...] = ()
    bench: tuple[str, ...] = ()
    drying: float = 0.0  # minutes, of what is no glue
    uses: Sequence[str] = ()  # keys of supplies.py, and ids of what the design wants bought
    after: Sequence[int] = ()
    rounds: int = 1  # how often glue is put on and waited for, as what is joined first is set down later
    rest: float = 0.0  # minutes that glue sets before the step is begun
    glued: Mapping[str, float] = field(default_factory=dict)
    sets: tuple[StepMove, ...] = ()
    one_face: Mapping[str, float] = field(default_factory=dict)
    loose: tuple[str, ...] = ()
    heads: Mapping[int, str] = field(default_factory=dict)

    @property
    def wait(self) -> float:
        """Minutes in which the hands are free."""
        return self.drying or self.rounds * _WAITS[self.glue]


def headed(passages: Passages) -> tuple[list[str], dict[int, str]]:
    """The sentences of passages one after another, and the heading of each passage by the number of its first sentence. One
    without sentences is left out; few sentences need no headings."""
    text: list[str] = []
    heads = {}
    for head, sentences in passages:
        if sentences:
            heads[len(text)] = head
            text += sentences
    return text, heads if len(text) > _FEW and len(heads) > 1 else {}


def gluing_minutes(pieces: Iterable[Piece], joined: int, length: float, area: float) -> float:
    """Hands-on time of gluing: `joined` pairs of pieces, `length` in mm of seams, `area` in mm2 of faces, over all copies."""
    return (
        practice.MINUTES_PER_PIECE_GLUED * sum(len(piece.placements) for piece in pieces)
        + practice.MINUTES_PER_JOINT_GLUED * joined
        + practice.MINUTES_PER_METRE_GLUED * length / 1000.0
        + practice.MINUTES_PER_M2_GLUED * area / 1e6
    )


def extent(joints: Iterable[Joint]) -> tuple[float, float]:
    """Length in mm and area in mm2 of joints over all copies."""
    joints = tuple(joints)
    return sum(j.length * j.copies for j in joints), sum(j.area * j.copies for j in joints)


def by_glue(areas: Iterable[tuple[str, float]]) -> dict[str, float]:
    """The areas of one glue added up, in mm2; what takes none is left out."""
    glued: dict[str, float] = {}
    for glue, area in areas:
        if glue != "none":
            glued[glue] = glued.get(glue, 0.0) + area
    return glued


def main_glue(kinds: Iterable[str]) -> str:
    """The glue of a step; where both kinds are used the one that needs the longer wait names it."""
    kinds = set(kinds)
    return "contact" if "contact" in kinds else "instant" if "instant" in kinds else ""


def cautions_of(kinds: Iterable[str]) -> tuple[str, ...]:
    kinds = set(kinds)
    names = {"contact": "contact-cement", "instant": "instant-glue"}
    return tuple(key for glue, key in names.items() if glue in kinds)


def cautions_of_size(pieces: Iterable[Piece], patterns: Patterns) -> tuple[str, ...]:
    spans = (patterns.pattern(piece.id).outline for piece in pieces)
    small = any(max(outline.max(axis=0) - outline.min(axis=0)) < SMALL_PART for outline in spans)
    return ("small-parts",) if small else ()


def recorded(moves: Sequence[Move]) -> tuple[StepMove, ...]:
    return tuple(
        StepMove(
            move.copies,
            tuple((leg.towards, leg.travel) for leg in move.way.legs),
            move.way.bend is not None,
            bool(move.way.laid),
        )
        for move in moves
    )

"""Packs in the order in which they are shown: designs by name, versions from new to old, sizes from small to large."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from foamwright.changes.find import order_of
from foamwright.errors import DesignError
from foamwright.gallery.published import Published
from foamwright.language import phrase

# By the longest side of the finished prop, mm, and by hands-on time, minutes: our own steps, for a quick choice.
LARGE = ((300.0, phrase("up to 30 cm")), (600.0, phrase("30 to 60 cm")), (float("inf"), phrase("over 60 cm")))
LONG = (
    (240.0, phrase("an evening (up to 4 h)")),
    (960.0, phrase("a weekend (up to 16 h)")),
    (float("inf"), phrase("longer")),
)


@dataclass(frozen=True)
class Title:
    """A design with its packs: `newest` in all sizes, `older` by version."""

    newest: tuple[Published, ...]
    older: tuple[Published, ...]

    @property
    def first(self) -> Published:
        return self.newest[0]

    @property
    def id(self) -> str:
        return self.first.id

    @cached_property
    def filed_under(self) -> dict[str, tuple[str, ...]]:
        """For each filter what it is found by: any of its sizes will do."""
        return {
            "size": _once(_step(max(pack.overall), LARGE) for pack in self.newest if pack.overall),
            "foam": _once(f"{thickness:g} mm" for pack in self.newest for thickness in pack.foams),
            "time": _once(_step(pack.work["hands_on"], LONG) for pack in self.newest),
            "difficulty": _once(pack.work["difficulty"] for pack in self.newest),
        }


def on_the_shelf(packs: Iterable[Published]) -> tuple[Title, ...]:
    """DesignError: two packs are of one design, version and size, and not the same."""
    by_place: dict[str, Published] = {}
    for pack in packs:
        twin = by_place.setdefault(pack.place, pack)
        if twin.digest != pack.digest:
            raise DesignError(f"{pack.folder} and {twin.folder} are both {pack.place} and not the same; leave one out")
    by_design: dict[str, list[Published]] = {}
    for pack in by_place.values():
        by_design.setdefault(pack.id, []).append(pack)
    titles = []
    for mine in by_design.values():
        versions = sorted({pack.version for pack in mine}, key=lambda v: (order_of(v), v), reverse=True)
        ordered = [pack for version in versions for pack in mine if pack.version == version]
        newest = [pack for pack in ordered if pack.version == versions[0]]
        newest.sort(key=lambda pack: (max(pack.overall, default=0.0), pack.size))
        titles.append(Title(tuple(newest), tuple(ordered[len(newest) :])))
    return tuple(sorted(titles, key=lambda title: (title.first.name.casefold(), title.id)))


def choices(titles: Iterable[Title]) -> dict[str, tuple[str, ...]]:
    """What each filter offers: only what would find something."""
    values: dict[str, set[str]] = {}
    for title in titles:
        for name, tokens in title.filed_under.items():
            values.setdefault(name, set()).update(tokens)
    order = {word: i for i, word in enumerate([*(w for _, w in LARGE), *(w for _, w in LONG), "easy", "medium"])}
    return {
        name: tuple(sorted(tokens, key=lambda t: (order.get(t, 99), _number(t), t))) for name, tokens in values.items()
    }


def _step(value: float, steps: tuple[tuple[float, str], ...]) -> str:
    return next(word for limit, word in steps if value <= limit)


def _once(words: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words))


def _number(word: str) -> float:
    return float(word.split()[0]) if word.endswith(" mm") else 0.0

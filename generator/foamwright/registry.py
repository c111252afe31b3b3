"""The kinds of part that a design can name: one object for each, found by its word.

Every module of the package `foamwright.kinds` gives one as `KIND`. An installed package adds its own through the
entry-point group `foamwright.kinds`, a program through `register`. Modules are loaded by name, so that the steps
that ask for a kind import nothing that comes after them.
"""

from __future__ import annotations

import dataclasses
import importlib
import pkgutil
import re
import threading
from collections.abc import Callable, Mapping, Sequence
from importlib import metadata
from typing import TYPE_CHECKING, Any, ClassVar

from foamwright.errors import BuildError, DesignError, nearest

if TYPE_CHECKING:  # what a kind is told and what it returns belongs to the steps that ask it
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

    from foamwright.design.records import FormSpec, PartSpec, Stock
    from foamwright.design.source import Source
    from foamwright.flatten.records import Pattern
    from foamwright.forms.surface import Surface
    from foamwright.language import Saying
    from foamwright.model.records import Prototype
    from foamwright.parts.records import Body, Piece, Placement, SeamSpec
    from foamwright.parts.surroundings import Surroundings

GROUP = "foamwright.kinds"  # of entry points, and the package of the kinds that come with the program
SOLIDS = "foamwright.solids"  # of entry points: functions that return a solid for parts of the kind `solid`
# Places in the order of assembly: of two parts that nothing else orders, the one with the lower number goes first.
RANK: Mapping[str, int] = {
    "panel": 0,
    "bulkhead": 1,
    "band": 2,
    "skin": 3,
    "plate": 4,
    "detail": 5,
    "disc": 6,
    "ring": 6,
}


class Kind:
    """One kind of part: its fields, its shape, its place in the order and its words.

    A kind states `name` and `fields` and makes a `body`; everything else has an answer that suits most. What a
    kind is not asked about by a step it need not know: checking a design asks for no body.
    """

    name: ClassVar[str]  # what `kind:` says in a design
    fields: ClassVar[type]  # the dataclass of its keys, made of design.fields
    in_trade: ClassVar[str] = ""  # what the trade calls it, where the reference lists what designs show; "": not listed

    follows_form: ClassVar[bool] = False  # it lies on a form's surface: it has `form`, `where`, `laid` and `over`
    is_shell: ClassVar[bool] = False  # what is laid on it is a skin
    stands: ClassVar[bool] = True  # False: it stands nowhere in the prop and is only counted
    in_rows: ClassVar[bool] = False  # its `at` may be told at the curve of a row
    in_one_piece: ClassVar[bool] = False  # never divided, even where no sheet holds it
    sets_gaps: ClassVar[bool] = False  # a gauge held between the copies of the part that it is made `of`
    paints: ClassVar[bool] = False  # the prop is painted through it
    rim_only: ClassVar[bool] = False  # it touches what is around it with its rim, never with a face
    encloses: ClassVar[bool] = False  # its members cover each other's edges all round, as those of a box do
    shaped_by: ClassVar[tuple[str, ...]] = ()  # keys that name parts whose shape or thickness its own follows

    # Its place in the order of assembly where nothing else decides, one of RANK.
    rank: ClassVar[str] = "plate"
    rank_on_shell: ClassVar[str] = ""  # where it lies on a shell; "": no other
    rank_of_small: ClassVar[str] = ""  # where it is set with instant glue, as small parts are; "": no other

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        """Raise DesignError for what its fields cannot say by themselves; no geometry is made."""

    def members(self, part: PartSpec, thickness: float) -> tuple[PartSpec, ...]:
        """The parts that it is built from, each with a template of its own. `thickness` (mm) is its stock's."""
        return (part,)

    def layers(self, part: PartSpec, stock: Stock) -> int:
        """How many sheets are glued face to face for one copy."""
        return int(part.values.get("layers") or 1)

    def from_sheet(self, part: PartSpec) -> bool:
        """Is it cut from sheets of its stock? False: its stock is bought in its shape, as bars are."""
        return True

    def packages(self, part: PartSpec) -> tuple[str, ...]:
        """Installed packages that its shape comes from, each with its version; another version is another input."""
        package = given_by(self.name)
        return (package,) if package else ()

    def body(self, part: PartSpec, among: Surroundings) -> Body:
        """Its geometry in place, for one copy. Raises BuildError where it cannot be made."""
        raise NotImplementedError(f"the kind {self.name} makes no body")

    def places(self, part: PartSpec, surface_of: Callable[[str], Surface]) -> tuple[Placement, ...] | None:
        """Where each piece stands in one whole that has several alike; None: the part is the whole."""
        return None

    def purpose(self, part: PartSpec, of: Piece[Any] | None) -> str | Saying:
        """What to say of it where the design gives no note. `of` is the part that it is made for."""
        return ""

    def remark_on(self, of: Piece[Any], own: Piece[Any]) -> str | Saying:
        """A sentence for the part `of` that `own`, of this kind, is made for."""
        return ""

    def listed_only(self, piece: Piece[Any]) -> bool:
        """Is it measured off by its length and width, so that it needs no template?"""
        return False

    def solid(self, piece: Piece[Any]) -> tuple[TopoDS_Shape, Mapping[str, Sequence[TopoDS_Face]]] | None:
        """Its solid before it is placed, with all its faces by name; None: the solid that its body stands for.

        Faces are named `inside`, `outside` and by the ids of the edges. Raises BuildError where none can be made.
        """
        return None

    def pattern(self, made: Prototype, seams: Sequence[SeamSpec]) -> Pattern | None:
        """Its flat pattern, from its solid; None: as parts with its body are laid flat."""
        return None


_known: dict[str, Kind] = {}
_packages: dict[str, str] = {}  # name of a kind -> package and version that gave it
_loaded = _loading = False
_lock = threading.RLock()


def kind(name: str) -> Kind:
    """The kind called `name`. Raises DesignError, naming the nearest, for one that nobody gave."""
    _load()
    if name not in _known:
        near = nearest(name, _known)
        meant = f"; did you mean {near}?" if near else ""
        raise DesignError(f"unknown kind of part {name!r}; expected one of {', '.join(_known)}{meant}")
    return _known[name]


def kinds() -> tuple[Kind, ...]:
    """All kinds: those of the program by the alphabet, then those of packages, then those registered."""
    _load()
    return tuple(_known.values())


def given_by(name: str) -> str:
    """Package and version that gave a kind; "" for one of the program's own."""
    return _packages.get(name, "")


def provider(point: metadata.EntryPoint) -> str:
    """The package that an entry point is of, and its version."""
    return f"{point.dist.name} {point.dist.version}" if point.dist is not None else ""


def register(new: Kind) -> None:
    """Add a kind. Raises ValueError if it is not one, or if its name is taken by another."""
    _load()
    _add(new)


def _add(new: Kind) -> None:
    if not isinstance(new, Kind):
        raise ValueError(f"{new!r} is no kind of part; expected an instance of foamwright.registry.Kind")
    name = getattr(new, "name", None)
    if not isinstance(name, str) or not re.fullmatch("[a-z][a-z0-9_]*", name):
        raise ValueError(f"a kind of part is called {name!r}; expected small letters, digits and _, a letter first")
    if not dataclasses.is_dataclass(getattr(new, "fields", None)):
        raise ValueError(f"the fields of the kind {name!r} are no dataclass")
    for place in ("rank", "rank_on_shell", "rank_of_small"):
        word = getattr(new, place)
        if word not in RANK and (word or place == "rank"):
            near = nearest(str(word), RANK)
            meant = f"; did you mean {near}?" if near else ""
            raise ValueError(f"the {place} of the kind {name!r} is {word!r}; expected one of {', '.join(RANK)}{meant}")
    if _known.get(name, new) is not new:
        raise ValueError(f"there is a kind of part called {name!r} already")
    _known[name] = new


def _load() -> None:
    """Add the program's own kinds and those of packages, once; whoever asks meanwhile in another thread waits."""
    global _loaded, _loading
    if _loaded:
        return
    with _lock:
        if _loaded or _loading:  # a module of a kind asks for kinds while it is loaded, in this same thread
            return
        _loading = True
        try:
            _add_all()
            _loaded = True
        finally:
            _loading = False


def _add_all() -> None:
    package = importlib.import_module(GROUP)
    for module in sorted(info.name for info in pkgutil.iter_modules(package.__path__)):
        _add(importlib.import_module(f"{GROUP}.{module}").KIND)
    for point in sorted(metadata.entry_points(group=GROUP), key=lambda point: (point.name, point.value)):
        try:
            new = point.load()
            _add(new)
        except Exception as error:  # whatever a package of somebody else's raises
            _known.clear()
            text = " ".join(str(error).split()) or type(error).__name__
            raise BuildError(f"the kind of part {point.name!r} ({point.value}) cannot be loaded: {text}") from error
        _packages[new.name] = provider(point)

"""From what is asked for to a pack: which stages of the pipeline run, in which process, and what their files are."""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Callable, Collection, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from importlib import import_module
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from foamwright.beside import Beside, beside
from foamwright.design.placing import at_its_place
from foamwright.errors import BuildError
from foamwright.language import Reader
from foamwright.libraries import installed
from foamwright.pipeline import BESIDE, GIVEN, LATEST, PROOF, PROVEN, RULES, STAGES, TOLD, OnHand
from foamwright.stages import Progress, Run, closure, needs, silent
from foamwright.store import Store

if TYPE_CHECKING:
    from foamwright.design.records import Design
    from foamwright.drawing.document import Document
    from foamwright.flatten.records import Patterns
    from foamwright.layout.records import FoamSheet
    from foamwright.look.records import Look
    from foamwright.model.records import Model
    from foamwright.outputs.records import Files, Output
    from foamwright.pack.pack import Pack
    from foamwright.parts.records import Prop


# what both processes of a pack load, and what they load with it
_BY_BOTH = (
    "foamwright.booklet.words.order",
    "foamwright.booklet.pictures.step_pictures",
    "foamwright.flatten.build",
    "foamwright.layout.sheets",
    "foamwright.proof.bench.build",
)


@dataclass(frozen=True)
class Request:
    """A design, and what else decides the bytes of its pack.

    `paper` is a name; `on_hand` gives the sizes of the sheets on the shelf by stock; `nest_effort` multiplies how
    long a better layout on the sheets is looked for; `libraries` are the versions of what shapes the bytes.
    Without `run_own_code` no Python code that comes with the design is run. Without `prove` the pack is not built from
    its own files to see whether it comes out.
    """

    design: Design
    paper: str = "A4"
    on_hand: OnHand = field(default_factory=dict)
    nest_effort: float = 1.0
    libraries: Mapping[str, str] = field(default_factory=installed)
    run_own_code: bool = False
    reader: Reader | None = None  # None: as the design says
    prove: bool = True

    @property
    def read_by(self) -> Reader:
        """For whom the pack is printed."""
        return self.reader or Reader(self.design.language, self.design.printed_units)


class Stages:
    """One design on its way to a pack: every record on request, each made at most once."""

    def __init__(
        self,
        request: Request,
        progress: Progress = silent,
        store: Store | None = None,
        beside: Beside | None = None,
    ) -> None:
        """`store` keeps what was worked out for the next run; none keeps nothing. `beside` is a process that makes some
        records while this one makes others. DesignError: there is no such paper."""
        from foamwright.geometry.fixed import read_only
        from foamwright.layout.paper import paper

        self._progress = progress
        self._beside = beside
        self._store = Store(None) if store is None else store
        self._run = Run(
            STAGES,
            {
                "design": replace(request.design, digest=_digest(request)),
                "paper": paper(request.paper),
                "on_hand": request.on_hand,
                "nest_effort": request.nest_effort,
                "libraries": request.libraries,
                "run_own_code": request.run_own_code,
                "reader": request.read_by,
                "store": self._store,
                "prove": request.prove,
                "beside": beside,
            },
            progress,
            read_only,
            self._store,
            beside,
        )

    def record(self, stage: str) -> Any:
        """The record that the stage of this name makes (`STAGES`), or a value that was given (`GIVEN`).

        KeyError: there is no such stage. BuildError, DesignError: it cannot be made.
        """
        return self._run.get(stage)

    @property
    def design(self) -> Design:
        """The design; its digest covers everything else that decides the bytes of the pack."""
        design: Design = self.record("design")
        return design

    @property
    def look(self) -> Look:
        """The first look: it needs no solids, and shows also what cannot be built."""
        look: Look = self._run.get("look")
        return look

    @property
    def model(self) -> Model:
        """Every copy of every part as a solid in its place."""
        model: Model = self.record("model")
        return model

    @property
    def patterns(self) -> Patterns:
        """Every part laid flat."""
        patterns: Patterns = self.record("patterns")
        return patterns

    @property
    def sheets(self) -> Sequence[FoamSheet]:
        """Every piece on the sheets of foam that it is cut from."""
        sheets: Sequence[FoamSheet] = self.record("sheets")
        return sheets

    def pack(self, only: Sequence[str] | None = None) -> Pack:
        """The files of the outputs named in `only`, or of all; their record lists what is there and no more.

        The whole pack comes with an archive of all its files, and so does a partial one if `archive` is among
        `only`. BuildError: a rule is broken, or something cannot be built; DesignError: an unknown name.
        """
        from foamwright.outputs import ARCHIVE, NAMES, check_names
        from foamwright.pack.pack import Pack

        wanted = (*NAMES, ARCHIVE) if only is None else check_names(only)
        if self._run.get("run_own_code"):  # what that code reads beside its own file is not known
            return Pack(*self._made(wanted))
        return Pack(*self._store.kept("pack", (self.design.id, self.design.digest, wanted), lambda: self._made(wanted)))

    def _made(self, wanted: Sequence[str]) -> tuple[dict[str, bytes], dict[str, Any]]:
        """The files of the outputs that are wanted, in the order of the pack, and their record."""
        from foamwright.outputs import ARCHIVE, NAMES, output
        from foamwright.pack.files import RECORD, zip_bytes
        from foamwright.pack.plain import record_bytes
        from foamwright.pack.record import pack_record
        from foamwright.proof.compare import refuse_differences

        everything = (*NAMES, ARCHIVE)
        outputs = [output(name) for name in wanted if name != ARCHIVE]
        asked = stages_of(wanted)
        if self._beside is not None and "sheets" in asked:
            self._beside.start(_compile)
        if self._beside is not None and "panels" in asked:
            self._beside.start(_laid_ahead, self._run.get("parts"), self._store)
        for rule in RULES:
            self._run.get(rule)
        written = self._in_both(outputs, asked)
        files: dict[str, bytes] = {}
        documents: dict[str, Document] = {}
        for made in outputs:
            files |= written[made.name]
            documents |= {path: self._run.get(name) for path, name in made.pages.items() if path in files}
        # what was made before this call for another purpose is left out: the same request gives the same record
        known = {name: record for name, record in self._run.known.items() if name in {*GIVEN, *asked}}
        known |= {"documents": documents, "files": dict(files)}
        folder = f"{self.design.id}-{self.design.size}"
        if ARCHIVE in wanted:
            known["archive"] = f"{folder}.zip"
        if wanted != everything:
            known["only"] = wanted
        record = pack_record(known)
        files[RECORD] = record_bytes(record)
        with ThreadPoolExecutor(1) as pool:  # compressing needs no turn of the interpreter
            archive = pool.submit(zip_bytes, dict(files), folder) if ARCHIVE in wanted else None
            self._progress("comparing the files with each other")
            refuse_differences({path: content for path, content in files.items() if path != RECORD}, record)
            if archive is not None:
                self._progress("packing the archive")
                files[known["archive"]] = archive.result()
        return files, record

    def _in_both(self, outputs: Sequence[Output], asked: Collection[str]) -> dict[str, Files]:
        """The files of each output, by its name, with all that is asked for made on the way, some of it beside.

        That is begun there in its order as soon as all that it needs is here, or begun there, so what it needs is made first.
        Then what the other process is not at is made here, since more waits for it than for what is left, which comes last.
        """
        waiting = [[name for name in names if name in asked] for names in BESIDE]
        theirs = [name for names in waiting for name in names]
        ours = [name for name in STAGES if name in asked and name not in theirs]
        awaited = [closure(STAGES, [STAGES[name].make for name in names]) for names in waiting]
        needed = list(dict.fromkeys(name for names in awaited for name in ours if name in names))
        rest = [name for name in ours if name not in needed]
        run = self._run
        written: dict[str, Files] = {}

        def write(made: Output) -> None:
            written[made.name] = run.call(made.files)

        def ready(names: Sequence[str]) -> str | None:
            return next((name for name in names if name not in run.known and run.has_for([name])), None)

        def what_next() -> Callable[[], Any] | None:
            left = [name for name in theirs if name not in run.known]
            name = ready(needed) or run.spare([name for name in left if name != LATEST]) or ready(rest)
            if name is not None:
                return partial(run.get, name)
            for made in outputs:
                if made.name not in written and all(map(run.is_ready, needs(made.files))):
                    return partial(write, made)
            return partial(run.get, run.spare(left) or left[0]) if left else None

        while True:
            while waiting and run.can_begin(waiting[0]):
                run.begin(waiting.pop(0))
            make = what_next()
            if make is None:
                return written
            make()


def stages_of(wanted: Sequence[str]) -> frozenset[str]:
    """What is made for the outputs of these names, by the names of stages and of values that are given."""
    from foamwright.outputs import ARCHIVE, output

    asked = closure(STAGES, [output(name).files for name in wanted if name != ARCHIVE])
    rules = (*RULES, PROOF) if PROVEN in asked else RULES
    asked |= {*rules, *closure(STAGES, [STAGES[rule].make for rule in rules])}
    return asked | {name for name in TOLD if asked >= {*needs(STAGES[name].make)}}


def build(
    design: Design,
    paper: str = "A4",
    only: Sequence[str] | None = None,
    on_hand: OnHand = MappingProxyType({}),
    nest_effort: float = 1.0,
    progress: Progress = silent,
    run_own_code: bool = False,
    reader: Reader | None = None,
    store: Store | None = None,
    prove: bool = True,
) -> Pack:
    """The pack of a design at its size, or the outputs of it named in `only`.

    `progress` is told the title of each stage as it begins. Python code that comes with the design is run only with
    `run_own_code`: code that you have read. `reader` says in what language and units it is printed, if not as the
    design does. `store` keeps what was worked out for the next call; the bytes are the same with and without. Without
    `prove` the templates are not tried on the virtual bench. BuildError: it cannot be built; DesignError: there is no
    such paper or output.
    """
    request = Request(design, paper, on_hand, nest_effort, run_own_code=run_own_code, reader=reader, prove=prove)
    return made(request, only, progress, store)


def made(
    request: Request,
    only: Sequence[str] | None = None,
    progress: Progress = silent,
    store: Store | None = None,
    processes: int = 2,
) -> Pack:
    """The pack that is asked for, as `build` has it, made by up to two `processes` where there are processors for them."""
    try:
        with beside(processes, _load) as other:
            return Stages(request, progress, store, other).pack(only)
    except BuildError as error:
        raise BuildError(at_its_place(str(error), request.design)) from error


def first_look(
    request: Request, progress: Progress = silent, store: Store | None = None, processes: int = 2
) -> tuple[dict[str, Any], dict[str, bytes]]:
    """What a first look at a design tells (`look.report`, of no folder), and its files; both are kept in the `store`.

    BuildError: a form cannot be made; what else cannot is shown.
    """
    store = Store(None) if store is None else store

    def drawn() -> tuple[dict[str, Any], dict[str, bytes]]:
        from foamwright.look.files import files
        from foamwright.look.report import report

        with beside(processes) as other:
            look = Stages(request, progress, store, other).look
            progress("drawing what was found")
            return report(look, ""), dict(files(look, other))

    if request.run_own_code:  # what that code reads beside its own file is not known
        return drawn()
    return store.kept("look", (request.design.id, _digest(request)), drawn)


def _load() -> None:
    for module in _BY_BOTH:
        import_module(module)


def _compile() -> None:
    from foamwright.nesting.nest import prepare

    prepare()


def _laid_ahead(prop: Prop, store: Store) -> None:
    """Lay panels flat before it is known what their edges meet, which changes few of them: the others are found then."""
    from foamwright.flatten.build import flatten

    with contextlib.suppress(BuildError):
        flatten(prop, store=store.ahead())


def _digest(request: Request) -> str:
    """Hash of every input of a pack: the design's own, and what the request adds to it."""
    added = [
        request.paper.strip().lower(),
        sorted((stock, list(map(list, sizes))) for stock, sizes in request.on_hand.items()),
        request.nest_effort,
        request.prove,
        sorted(request.libraries.items()),
        [request.read_by.language, request.read_by.units],
    ]
    return hashlib.sha256(f"{request.design.digest} {json.dumps(added)}".encode()).hexdigest()

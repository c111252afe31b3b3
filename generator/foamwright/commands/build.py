"""`foamwright build DESIGN...`: the packs of designs."""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from foamwright.commands.designs import name_designs, named_designs, place_packs
from foamwright.commands.summary import sentences, summary_of
from foamwright.errors import DesignError, FaultError, FoamwrightError
from foamwright.language import LANGUAGES, UNITS, Reader
from foamwright.outputs import ARCHIVE, NAMES, check_names
from foamwright.terminal import FAULT, Command, ProgressLine, complain, fault, tell, tell_json

if TYPE_CHECKING:
    from foamwright.contained import Limits
    from foamwright.making import Request
    from foamwright.many import Watch
    from foamwright.stages import Progress

MOST_SECONDS = 3600.0
MOST_LIMIT = 10_000.0
MOST_MINUTES, MOST_MEMORY = 60.0, 6.0  # of one pack, unless the maker says otherwise; GB
SECONDS_PER_EFFORT = 20.0  # of a search for layouts, on an ordinary laptop with a pack of some 70 pieces
EXAMPLE = """\
examples:
  foamwright build designs/pocket-submarine.yaml
  foamwright build designs/*.yaml --size cat --paper letter
  foamwright build designs/pocket-submarine.yaml --set scale=1.25 --set shell_thickness=8mm
  foamwright build designs/pocket-submarine.yaml --only templates,booklet
  foamwright build designs/pocket-submarine.yaml --have shelf.yaml --nest-seconds 30
  foamwright build designs/*.yaml --size all --scheduler tcp://127.0.0.1:8786
"""


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("build", "make the pack of one or more designs", EXAMPLE)
    name_designs(parser)
    place_packs(parser)
    parser.add_argument(
        "--have", metavar="FILE", help="a stock file of what is on the shelf; those sheets are used up first"
    )
    parser.add_argument("--language", choices=LANGUAGES, help="language of what is printed (default: the design's)")
    parser.add_argument("--units", choices=UNITS, help="lengths in the booklet (default: the design's)")
    parser.add_argument(
        "--nest-seconds",
        default="0",
        metavar="N",
        help="look about N seconds longer for a better layout on the sheets; the same N gives the same layout",
    )
    parser.add_argument(
        "--only",
        metavar="NAME,...",
        help=f"make these outputs and nothing else: {', '.join((*NAMES, ARCHIVE))}",
    )
    parser.add_argument(
        "--time",
        default=f"{MOST_MINUTES:g}",
        metavar="MINUTES",
        help=f"end a pack that takes longer; 0 for no limit (default: {MOST_MINUTES:g})",
    )
    parser.add_argument(
        "--memory",
        default=f"{MOST_MEMORY:g}",
        metavar="GB",
        help=f"end a pack that takes more; 0 for no limit (default: {MOST_MEMORY:g})",
    )
    parser.add_argument(
        "--no-cache", action="store_true", help="work everything out anew, and keep nothing for the next time"
    )
    parser.add_argument(
        "--jobs",
        type=int,
        default=0,
        metavar="N",
        help="packs to make side by side (default: as many as the machine can)",
    )
    parser.add_argument(
        "--share",
        metavar="I/N",
        help="of all packs that are named make only the I-th of N equal shares, to spread them over N machines",
    )
    parser.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="have the packs made by the workers of the dask.distributed scheduler there, as in tcp://127.0.0.1:8786; "
        "limits of time and memory are then its own",
    )
    parser.add_argument(
        "--no-proof",
        action="store_true",
        help="do not build the prop from its own templates to see whether it comes out",
    )
    parser.add_argument("--json", action="store_true", help="print a summary that a script can read")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """The worst exit code of all files and packs; one that fails stops no other."""
    from foamwright.design.on_hand import read_stock_on_hand

    effort = effort_of(options.nest_seconds)
    only = None if options.only is None else check_names(options.only.split(","))
    designs, code = named_designs(options)

    from foamwright.layout.paper import paper

    paper(options.paper)  # a call that is wrong is refused before anything is said of how long it takes

    from foamwright.contained import EndedError, Limits
    from foamwright.design.placing import at_its_place
    from foamwright.expected import seconds_for
    from foamwright.making import Request, stages_of
    from foamwright.many import shared, side_by_side, workers
    from foamwright.pipeline import PROOF, STAGES

    limits = Limits(
        60 * limit_of(options.time, "--time"),
        round(1e9 * limit_of(options.memory, "--memory")),
        ("; --time sets the limit", "; --memory sets the limit"),
    )
    designs = shared(designs, options.share)
    asked: list[tuple[Request, Path]] = []
    for design in designs:
        folder = Path(options.out) / design.id / design.size
        reader = Reader(options.language or design.language, options.units or design.printed_units)
        on_hand = read_stock_on_hand(options.have, design.stock) if options.have else {}
        request = Request(
            design,
            options.paper,
            on_hand,
            effort,
            run_own_code=options.run_own_code,
            reader=reader,
            prove=not options.no_proof,
        )
        asked.append((request, folder))
    jobs = workers(len(asked), options.jobs)
    names = [f"{design.id} {design.size}" for design in designs]
    alone = len(designs) == 1 == len(options.designs)
    built: dict[int, dict[str, Any]] = {}
    with ProgressLine(names, quiet=options.json) as progress:
        if options.scheduler is None:
            processes = workers(2) // jobs
            stages = {*(STAGES if only is None else stages_of(only))} - {PROOF if options.no_proof else ""}
            progress.warn(seconds_for(designs, stages, jobs, processes))
            parts = (only, not options.no_cache, processes)
            works = [partial(_pack, request, folder, *parts) for request, folder in asked]
            ended = side_by_side(works, jobs, limits, progress.at, options.trace)
        else:
            ended = _elsewhere(asked, options.scheduler, only, not options.no_cache, progress.at)
        for number, made in ended:
            progress.clear()
            if isinstance(made, FaultError):
                complain(fault(f"{names[number]}: {made}"))
                code = FAULT
            elif isinstance(made, FoamwrightError):
                # an error of the work has its place; what ends it from outside knows only the part
                words = at_its_place(str(made), designs[number]) if isinstance(made, EndedError) else str(made)
                complain(words if alone else f"{names[number]}: {words}")
                code = max(code, made.exit_code)
            else:
                built[number] = made
                if not options.json:
                    for line in sentences(made):
                        tell(line)
    if options.json:
        tell_json([built[number] for number in sorted(built)])
    return code


def _pack(
    request: Request, folder: Path, only: Sequence[str] | None, keep: bool, processes: int, progress: Progress
) -> dict[str, Any]:
    """Builds and writes one pack by so many processes, and returns what is told of it. What was worked out is kept if
    `keep` says so."""
    from foamwright.making import made
    from foamwright.pack.write import refuse_occupied
    from foamwright.store import Store, of_this_machine

    refuse_occupied(folder)
    store = of_this_machine(request.libraries) if keep else Store(None)
    pack = made(request, only, progress, store, processes)
    progress("writing the files")
    return summary_of(folder, pack, pack.write(folder))


def _elsewhere(
    asked: Sequence[tuple[Request, Path]], address: str, only: Sequence[str] | None, keep: bool, watch: Watch
) -> Iterator[tuple[int, Any]]:
    """As packs come from the workers of a scheduler they are written here."""
    from foamwright.elsewhere import files_and_record, spread
    from foamwright.pack.pack import Pack
    from foamwright.store import program

    works = [partial(files_and_record, request, only, keep, program()) for request, _ in asked]
    for number, made in spread(works, address, watch):
        if isinstance(made, Exception):
            yield number, made
            continue
        pack, folder = Pack(*made), asked[number][1]
        try:
            yield number, summary_of(folder, pack, pack.write(folder))
        except FoamwrightError as error:
            yield number, error


def usual_limits() -> Limits:
    """Of one pack or look, unless the maker says otherwise."""
    from foamwright.contained import Limits

    return Limits(60 * MOST_MINUTES, round(1e9 * MOST_MEMORY))


def limit_of(text: str, option: str) -> float:
    return _number(text, option, "a number", MOST_LIMIT)


def effort_of(text: str) -> float:
    """Seconds as a share of the usual effort, so that the result depends on neither the clock nor the machine."""
    return 1.0 + _number(text, "--nest-seconds", "a number of seconds", MOST_SECONDS) / SECONDS_PER_EFFORT


def _number(text: str, option: str, what: str, most: float) -> float:
    """From 0 to `most`. Raises DesignError for anything else."""
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not 0.0 <= number <= most:
        raise DesignError(f"{option} {text}: expected {what} from 0 to {most:g}")
    return number

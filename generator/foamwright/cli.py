"""The command `foamwright`: reads arguments, calls the pipeline, prints. Nothing is decided here."""

from __future__ import annotations

import argparse
import json
import math
import os
import sys
import time
from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from foamwright import __version__
from foamwright.design.letters import shown
from foamwright.errors import BuildError, DesignError, FaultError, FoamwrightError
from foamwright.language import LANGUAGES, UNITS, Reader
from foamwright.outputs import ARCHIVE, NAMES, check_names

if TYPE_CHECKING:
    from foamwright.design.records import Design
    from foamwright.pack.pack import Pack
    from foamwright.pipeline import Request
    from foamwright.stages import Progress

FAULT, STOPPED, NOBODY_READS = 70, 130, 141  # exit codes beside those of the errors
FURTHER = ("compare", "matrix", "testpieces")  # modules of `foamwright.commands`, one for each command
NAMED_FILES = 5  # of those that a rebuild left as they were
MOST_SECONDS = 3600.0
LONG = 60.0  # seconds: what takes longer says so before it begins
_COLUMNS = 160  # of a line of progress
MOST_LIMIT = 10_000.0
MOST_MINUTES, MOST_MEMORY = 60.0, 6.0  # of one pack, unless the maker says otherwise; GB
SECONDS_PER_EFFORT = 20.0  # of a search for layouts, on an ordinary laptop with a pack of some 70 pieces

_BUILD_EXAMPLE = """\
examples:
  foamwright build designs/pocket-submarine.yaml
  foamwright build designs/*.yaml --size cat --paper letter
  foamwright build designs/pocket-submarine.yaml --set scale=1.25 --set shell_thickness=8mm
  foamwright build designs/pocket-submarine.yaml --only templates,booklet
  foamwright build designs/pocket-submarine.yaml --have shelf.yaml --nest-seconds 30
"""
_LOOK_EXAMPLE = """\
examples:
  foamwright look lamp.yaml
  foamwright look lamp.yaml --size tall --set scale=1.25 --out /tmp/lamp
"""
_CHECK_EXAMPLE = """\
example:
  foamwright check designs/*.yaml
"""
_NEW_EXAMPLE = """\
example:
  foamwright new lamp.yaml
  foamwright build lamp.yaml
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; returns its exit code.

    0 done, 1 cannot be built, 2 the design or the call is wrong; 70 a fault of the program itself (EX_SOFTWARE of
    sysexits.h), 130 stopped by hand, 141 nobody reads on (128 and the number of the signal, as shells count).
    """
    options = _parser().parse_args(arguments)
    try:
        code: int = options.run(options)
        sys.stdout.flush()
        return code
    except FoamwrightError as error:
        _complain(str(error))
        return error.exit_code
    except FaultError as error:
        _complain(_fault(str(error)))
        return FAULT
    except KeyboardInterrupt:
        print("foamwright: stopped; nothing was written", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:
        # what is still in the buffer has nowhere to go, and must not fail once more when Python ends
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return NOBODY_READS
    except Exception as error:
        if options.trace:
            raise
        _complain(_fault(f"{type(error).__name__}: {' '.join(str(error).split())}"))
        return FAULT


def _complain(words: str) -> None:
    """One line on what went wrong. A design's words are shown and never obeyed by the terminal."""
    print(f"foamwright: {shown(words)}", file=sys.stderr)


def _say(line: str) -> None:
    print(shown(line))


def _say_json(content: object) -> None:
    print(json.dumps(content, indent=2).replace("##[", "#\\u0023["))


def _fault(words: str) -> str:
    told = f"this is a fault of the program and not of the design: {words}"
    return f"{told}; please report it with the design (--trace shows where)"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="foamwright",
        description="Turn a prop described in a YAML file into a complete, printable foam template pack.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=_BUILD_EXAMPLE,
    )
    parser.add_argument("--version", action="version", version=f"foamwright {__version__}")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    build = _command(commands, "build", "make the pack of one or more designs", _BUILD_EXAMPLE)
    _name_designs(build)
    build.add_argument("--paper", default="A4", help="paper of the templates and the booklet (default: A4)")
    build.add_argument(
        "--out", default="build", metavar="FOLDER", help="where packs go: FOLDER/design/size (default: build)"
    )
    build.add_argument(
        "--have", metavar="FILE", help="a stock file of what is on the shelf; those sheets are used up first"
    )
    build.add_argument("--language", choices=LANGUAGES, help="language of what is printed (default: the design's)")
    build.add_argument("--units", choices=UNITS, help="lengths in the booklet (default: the design's)")
    build.add_argument(
        "--nest-seconds",
        default="0",
        metavar="N",
        help="look about N seconds longer for a better layout on the sheets; the same N gives the same layout",
    )
    build.add_argument(
        "--only",
        metavar="NAME,...",
        help=f"make these outputs and nothing else: {', '.join((*NAMES, ARCHIVE))}",
    )
    build.add_argument(
        "--time",
        default=f"{MOST_MINUTES:g}",
        metavar="MINUTES",
        help=f"end a pack that takes longer; 0 for no limit (default: {MOST_MINUTES:g})",
    )
    build.add_argument(
        "--memory",
        default=f"{MOST_MEMORY:g}",
        metavar="GB",
        help=f"end a pack that takes more; 0 for no limit (default: {MOST_MEMORY:g})",
    )
    build.add_argument(
        "--no-cache", action="store_true", help="work everything out anew, and keep nothing for the next time"
    )
    build.add_argument(
        "--jobs",
        type=int,
        default=0,
        metavar="N",
        help="packs to make side by side (default: as many as the machine can)",
    )
    build.add_argument(
        "--share",
        metavar="I/N",
        help="of all packs that are named make only the I-th of N equal shares, to spread them over N machines",
    )
    build.add_argument(
        "--no-proof",
        action="store_true",
        help="do not build the prop from its own templates to see whether it comes out",
    )
    build.add_argument("--json", action="store_true", help="print a summary that a script can read")
    build.set_defaults(run=_build)

    look = _command(commands, "look", "draw the prop as a picture and in 3D, in seconds", _LOOK_EXAMPLE)
    _name_designs(look)
    look.add_argument(
        "--out", default="look", metavar="FOLDER", help="where pictures go: FOLDER/design/size (default: look)"
    )
    look.add_argument("--json", action="store_true", help="print what was found for a script to read")
    look.set_defaults(run=_look)

    check = _command(commands, "check", "find mistakes without building anything", _CHECK_EXAMPLE)
    check.add_argument("designs", nargs="+", metavar="DESIGN", help="a design file")
    check.add_argument("--json", action="store_true", help="print a summary that a script can read")
    check.set_defaults(run=_check)

    new = _command(commands, "new", "write a commented design to begin from", _NEW_EXAMPLE)
    new.add_argument("file", metavar="FILE", help="the file to write; it must not exist")
    new.set_defaults(run=_new)

    for name in FURTHER:
        import_module(f"foamwright.commands.{name}").add(partial(_command, commands))
    return parser


def _name_designs(command: argparse.ArgumentParser) -> None:
    """The arguments that say which designs, at which sizes and with which values."""
    command.add_argument("designs", nargs="+", metavar="DESIGN", help="a design file")
    command.add_argument("--size", help="one of the design's sizes, or `all` (default: its first)")
    command.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        dest="changes",
        help="another value for a parameter, as a number, a length or an expression; may be given again",
    )
    command.add_argument(
        "--run-own-code",
        action="store_true",
        help="run Python code that comes with the design, where a part is made by it: only code that you have read",
    )


def _command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str, summary: str, example: str
) -> argparse.ArgumentParser:
    command = commands.add_parser(
        name,
        help=summary,
        description=summary.capitalize() + ".",
        epilog=example,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.add_argument("--trace", action="store_true", help="if the program itself fails, show where")
    return command


def _build(options: argparse.Namespace) -> int:
    from foamwright.design.on_hand import read_stock_on_hand

    effort = _effort(options.nest_seconds)
    only = None if options.only is None else check_names(options.only.split(","))
    designs = _designs(options)

    from foamwright.layout.paper import paper

    paper(options.paper)  # a call that is wrong is refused before anything is said of how long it takes

    from foamwright.contained import Limits
    from foamwright.design.placing import at_its_place
    from foamwright.many import expected_seconds, shared, side_by_side, workers
    from foamwright.pipeline import Request

    limits = Limits(60 * _limit(options.time, "--time"), round(1e9 * _limit(options.memory, "--memory")))
    designs = shared(designs, options.share)
    works = []
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
        works.append(partial(_pack, request, folder, only, not options.no_cache))
    jobs = workers(len(works), options.jobs)
    names = [f"{design.id} {design.size}" for design in designs]
    built: dict[int, dict[str, Any]] = {}
    code = 0
    with _Progress(names, quiet=options.json) as progress:
        progress.warn(sum(map(expected_seconds, designs)) / jobs)
        for number, made in side_by_side(works, jobs, limits, progress.at, options.trace):
            progress.clear()
            if isinstance(made, FaultError):
                _complain(_fault(f"{names[number]}: {made}"))
                code = FAULT
            elif isinstance(made, FoamwrightError):
                words = at_its_place(str(made), designs[number])
                _complain(words if len(designs) == 1 else f"{names[number]}: {words}")
                code = max(code, made.exit_code)
            else:
                built[number] = made
                if not options.json:
                    for line in _sentences(made):
                        _say(line)
    if options.json:
        _say_json([built[number] for number in sorted(built)])
    return code


def _pack(request: Request, folder: Path, only: Sequence[str] | None, keep: bool, progress: Progress) -> dict[str, Any]:
    """Builds and writes one pack, and returns what is told of it. What was worked out is kept if `keep` says so."""
    from foamwright.pipeline import made
    from foamwright.store import Store, of_this_machine

    pack = made(request, only, progress, of_this_machine(request.libraries) if keep else Store(None))
    progress("writing the files")
    return _summary(folder, pack, pack.write(folder))


def _limit(text: str, option: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not 0.0 <= number <= MOST_LIMIT:
        raise DesignError(f"{option} {text}: expected a number from 0 to {MOST_LIMIT:g}")
    return number


def _designs(options: argparse.Namespace) -> list[Design]:
    """Every design that is named, at every size that is asked for."""
    from foamwright.design import load, sizes

    changes = dict(_change(text) for text in options.changes)
    designs: list[Design] = []
    for path in options.designs:
        wanted = sizes(path) if options.size == "all" else (options.size,)
        designs += [load(path, size, changes) for size in wanted]
    _refuse_twins(designs)
    return designs


def _look(options: argparse.Namespace) -> int:
    """Exit code 1 if something of what is shown cannot be built."""
    from foamwright.contained import Limits, contained
    from foamwright.look.report import sentences

    limits = Limits(60 * MOST_MINUTES, round(1e9 * MOST_MEMORY))
    told = []
    for design in _designs(options):
        folder = Path(options.out) / design.id / design.size
        with _Progress([f"{design.id} {design.size}"], quiet=options.json) as progress:
            work = partial(_picture, design, folder, options.run_own_code)
            told.append(contained(work, limits, progress, options.trace))
        if not options.json:
            for line in sentences(told[-1]):
                _say(line)
    if options.json:
        _say_json(told)
    return 0 if all(found["buildable"] for found in told) else BuildError.exit_code


def _picture(design: Design, folder: Path, run_own_code: bool, progress: Progress) -> dict[str, Any]:
    """Draws the first look at one design, and returns what is told of it."""
    from foamwright.look.files import files
    from foamwright.look.report import report
    from foamwright.pack.write import write_files
    from foamwright.pipeline import Request, Stages

    look = Stages(Request(design, run_own_code=run_own_code), progress).look
    progress("drawing what was found")
    write_files(files(look), folder)
    return report(look, str(folder))


def _effort(text: str) -> float:
    """Seconds as a share of the usual effort, so that the result depends on neither the clock nor the machine."""
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not 0.0 <= seconds <= MOST_SECONDS:
        raise DesignError(f"--nest-seconds {text}: expected a number of seconds from 0 to {MOST_SECONDS:g}")
    return 1.0 + seconds / SECONDS_PER_EFFORT


def _change(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise DesignError(f"--set {text}: expected NAME=VALUE, as in --set scale=1.25")
    return name.strip(), value.strip()


def _refuse_twins(designs: Iterable[Design]) -> None:
    """Two design files of one name would write over each other's pack."""
    seen: set[tuple[str, str]] = set()
    for design in designs:
        key = (design.id, design.size)
        if key in seen:
            raise DesignError(f"two designs are named {design.id} and both build size {design.size}; rename one file")
        seen.add(key)


def _summary(folder: Path, pack: Pack, left: Sequence[str]) -> dict[str, Any]:
    """What a script may want to know of a pack; of a partial one, what its record tells."""
    record = pack.record
    summary = {
        "folder": str(folder),
        "design": record["design"]["name"],
        "version": record["design"]["version"],
        "size": record["design"]["size"],
        "files": len(pack.files),
        "archive": record.get("archive"),
        "left": list(left),  # what else lies in the folder
        "notes": list(record.get("notes", ())),
    }
    if "only" in record:
        summary["only"] = list(record["only"])
    if "parts" in record:
        summary["part_kinds"] = len(record["parts"])
        summary["pieces"] = sum(part["quantity"] for part in record["parts"])
        summary["worst_strain"] = max((part["strain"]["max"] for part in record["parts"]), default=0.0)
        summary["worst_seam_mismatch"] = max(
            (abs(seam["length_a"] - seam["length_b"]) for seam in record["seams"]), default=0.0
        )
        summary["notes"] += [f"{p['label']} {p['name']}: {w}" for p in record["parts"] for w in p.get("warnings", ())]
    if record.get("proof", {}).get("made"):
        summary["built_copies"], summary["built_proven"] = record["proof"]["copies"], record["proof"]["proven"]
        if record["proof"]["proven"]:
            summary["built_mean"], summary["built_worst"] = record["proof"]["mean"], record["proof"]["worst"]
    if any(page["file"] == "templates.pdf" for page in record["pages"]):
        summary["template_pages"] = sum(page["file"] == "templates.pdf" for page in record["pages"])
    if "fit" in record:
        stability = record["fit"]["stability"]
        summary["figure_fits"] = _figure_fits(record["fit"])
        summary["stands"] = stability and stability["stands"]
    return summary


def _figure_fits(fit: Mapping[str, Any]) -> bool | None:
    """Neither in its place nor on its way there does the figure run into the prop; None without a figure."""
    if fit["figure"] is None:
        return None
    return not fit["contacts"] and not (fit["entry"] and fit["entry"]["blocks"])


def _sentences(summary: Mapping[str, Any]) -> list[str]:
    """The summary in one line, and a line for each note."""
    told = [f"{summary['files']} files of {', '.join(summary['only'])}"] if "only" in summary else []
    if "part_kinds" in summary:
        pages = f" on {summary['template_pages']} pages" if "template_pages" in summary else ""
        told += [
            f"{summary['pieces']} pieces of {summary['part_kinds']} kinds{pages}",
            f"worst strain {summary['worst_strain']:.1%}, worst seam mismatch {summary['worst_seam_mismatch']:.3f} mm",
        ]
    if "built_copies" in summary:
        off = (
            f", {summary['built_mean']:.1f} mm off, {summary['built_worst']:.1f} at worst"
            if "built_mean" in summary
            else ""
        )
        told.append(
            f"{summary['built_proven']} of {summary['built_copies']} pieces proven by building them from the templates{off}"
        )
    if summary.get("figure_fits") is False:
        told.append("the figure runs into it (see Fit in the booklet)")
    if summary.get("stands") is False:
        told.append("it falls over (see Fit in the booklet)")
    notes = list(summary["notes"])
    if summary["left"]:
        more = f" and {len(summary['left']) - NAMED_FILES} more" if len(summary["left"]) > NAMED_FILES else ""
        notes.append(f"not of the pack, left as it was: {', '.join(summary['left'][:NAMED_FILES])}{more}")
    return [f"{summary['folder']}: {'; '.join(told)}", *(f"  {note}" for note in notes)]


def _check(options: argparse.Namespace) -> int:
    from foamwright.design import check_all

    checked = []
    for path in options.designs:
        designs = check_all(path)
        checked.append(
            {
                "file": str(path),
                "design": designs[0].name,
                "version": designs[0].version,
                "sizes": [d.size for d in designs],
                "part_kinds": len(designs[0].parts),
            }
        )
        if not options.json:
            names = ", ".join(d.size for d in designs)
            _say(f"{path}: {designs[0].name} {designs[0].version} is well formed at every size ({names})")
    if options.json:
        _say_json(checked)
    return 0


def _new(options: argparse.Namespace) -> int:
    from foamwright.design import starter
    from foamwright.design.load import check_file_name

    path = Path(options.file)
    check_file_name(path)
    if os.path.lexists(path):
        raise DesignError(f"{path}: it exists already; expected a new file name")
    if path.suffix not in (".yaml", ".yml"):
        raise DesignError(f"{path}: expected a name that ends in .yaml")
    name = path.stem.replace("-", " ").replace("_", " ").capitalize()
    try:
        path.write_text(starter(name), encoding="utf-8")
    except OSError as error:
        raise DesignError(f"{path}: cannot be written: {error.strerror}") from error
    _say(f"{path} is ready: build it with `foamwright build {path}`")
    return 0


class _Progress:
    """What is being built, and how long it will take yet, on one line of a terminal; silent where nobody watches, but
    for a word at the start of what takes long."""

    def __init__(self, names: Sequence[str], quiet: bool) -> None:
        self.names = names
        self.quiet = quiet
        self.shown = not quiet and sys.stderr.isatty()
        self.began = time.monotonic()
        self.running: dict[int, str] = {}
        self.ended = 0

    def __enter__(self) -> _Progress:
        return self

    def warn(self, expected: float) -> None:
        """Say so if that many seconds are a long time."""
        if expected > LONG and not self.quiet:
            what = f"{len(self.names)} packs" if len(self.names) > 1 else self.names[0]
            minutes = math.ceil(expected / 60.0)
            print(f"{what}: about {minutes} min if all of it is new", file=sys.stderr, flush=True)

    def __call__(self, stage: str) -> None:
        """The only one has come to a stage."""
        self.at(0, stage)

    def at(self, number: int, stage: str) -> None:
        """One of them has come to a stage; "" when it has ended."""
        if stage:
            self.running[number] = stage
        else:
            self.running.pop(number, None)
            self.ended += 1
        if self.shown:
            spent = time.monotonic() - self.began
            count = f"{self.ended} of {len(self.names)}, " if len(self.names) > 1 else ""
            rest = len(self.names) - self.ended
            left = f", {math.ceil(spent / self.ended * rest)} s left" if self.ended and rest else ""
            told = "; ".join(f"{self.names[k]}: {title}" for k, title in sorted(self.running.items()))
            line = f"{count}{spent:.0f} s{left}: {told}"[:_COLUMNS]
            print(f"\r\x1b[K{line}", end="", file=sys.stderr, flush=True)

    def clear(self) -> None:
        """Make room for a line of output."""
        if self.shown:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)

    def __exit__(self, *_: object) -> None:
        self.clear()


if __name__ == "__main__":
    sys.exit(main())

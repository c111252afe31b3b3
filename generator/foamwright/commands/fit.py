"""`foamwright fit DESIGN`: a design made to the measures of a figure, and its pack."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from foamwright.commands.designs import allow_own_code, changed, place_packs
from foamwright.errors import BuildError, DesignError
from foamwright.terminal import Command, ProgressLine, tell, tell_json

if TYPE_CHECKING:
    from foamwright.design.records import Design
    from foamwright.fitting.records import Fitted, Packed, Wanted
    from foamwright.making import Request
    from foamwright.stages import Progress
    from foamwright.store import Store

EXAMPLE = """\
examples:
  foamwright fit designs/beetle-shoulder.yaml
  foamwright fit designs/beetle-shoulder.yaml --measure arm=36cm --measure apart=21cm --vary room
  foamwright fit lamp.yaml --figure candle.stl --clearance 5mm --name candle

Without a measure, a figure or a clearance it lists what there is to measure. Else it looks for the values that leave
the room at the least foam, with the figure's way in and the prop's standing kept, and makes the pack with them.
Each trial places the whole prop: one value that gives way takes some five of them, two take some twenty.
"""


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("fit", "make a design to the measures of a figure", EXAMPLE)
    parser.add_argument("design", metavar="DESIGN", help="a design file with a figure")
    parser.add_argument("--size", help="the size to begin with (default: its first)")
    parser.add_argument(
        "--measure",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        dest="measures",
        help="a measure of the figure, one of those that the design lists; may be given again",
    )
    parser.add_argument(
        "--figure",
        metavar="FILE",
        help="a closed mesh in mm or a STEP file, x forward and z up; it takes the place of the design's own figure,"
        " with the middle of its foot where that one stands",
    )
    parser.add_argument("--clearance", metavar="LENGTH", help="least gap to the figure (default: as the size has it)")
    parser.add_argument(
        "--vary", default="scale", metavar="NAME,...", help="the parameters that may give way (default: scale)"
    )
    parser.add_argument(
        "--seat",
        default="",
        metavar="PART,...",
        help="parts that the figure rests on, whose gap does not count (default: those that it touches in the size as it is)",
    )
    parser.add_argument("--name", metavar="NAME", help="write the values into the design file, as a size of this name")
    place_packs(parser)
    parser.add_argument("--no-pack", action="store_true", help="only say what was found")
    allow_own_code(parser)
    parser.add_argument("--json", action="store_true", help="print what was found for a script to read")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """DesignError: the call is wrong; BuildError: no values leave the room, or they cannot be built."""
    from foamwright.commands.build import usual_limits
    from foamwright.contained import contained
    from foamwright.design import load
    from foamwright.fitting.words import report, sentences

    wanted = _wanted(options)
    base = load(wanted.path, wanted.size)
    if not (wanted.measures or wanted.scan or wanted.clearance is not None):
        return _list_measures(base, options.json)
    with ProgressLine([f"{base.id} {base.size}"], quiet=options.json) as progress:
        fitted, packed = contained(partial(_work, wanted, base, options), usual_limits(), progress, options.trace)
    if options.json:
        tell_json(report(fitted, base, packed))
    else:
        for line in sentences(fitted, base, packed):
            tell(line)
    return 0


def _wanted(options: argparse.Namespace) -> Wanted:
    from foamwright.fitting.records import Wanted

    scan = None if options.figure is None else Path(options.figure)
    if scan is not None and not scan.is_file():
        raise DesignError(
            f"--figure {scan}: {'it is a folder' if scan.is_dir() else 'there is no such file'}; expected a mesh or STEP file"
        )
    return Wanted(
        Path(options.design),
        options.size,
        changed(options.measures, "--measure"),
        _names(options.vary),
        None if options.clearance is None else _length(options.clearance, "--clearance"),
        scan,
        _names(options.seat),
        options.run_own_code,
    )


def _length(text: str, option: str) -> float:
    """In mm, more than 0. Raises DesignError if it is no length."""
    from foamwright.design.parameters import formula, measured_by, refuse_unlike, work_out

    one = formula(text, option)
    refuse_unlike(one, measured_by(one, {}), "length", option)
    length = work_out(one, {})
    if length <= 0.0:
        raise DesignError(f"{option} {text}: expected a length of more than 0")
    return length


def _names(text: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in text.split(",") if name.strip())


def _list_measures(base: Design, as_json: bool) -> int:
    from foamwright.fitting.find import measures_of
    from foamwright.fitting.words import measures

    listed = measures_of(base)
    if as_json:
        tell_json([{"name": p.name, "value": p.value, "unit": p.unit, "measure": p.measure} for p in listed])
        return 0
    tell(f"{base.id}, size {base.size}: " + ("what there is to measure" if listed else "it lists nothing to measure"))
    for line in measures(listed):
        tell(line)
    return 0


def _work(
    wanted: Wanted, base: Design, options: argparse.Namespace, progress: Progress
) -> tuple[Fitted, Packed | None]:
    """What was found, and what became of it where a pack is asked for."""
    from foamwright.fitting.find import fitted
    from foamwright.fitting.size import entry, with_size
    from foamwright.fitting.words import changes
    from foamwright.libraries import installed
    from foamwright.store import of_this_machine

    units = {parameter.name: parameter.unit for parameter in base.parameters}
    text = wanted.path.read_bytes().decode("utf-8")  # its ends of lines as they are
    if options.name:  # what cannot be written is said before the work
        with_size(text, options.name, entry(options.name, "", {}, units), str(wanted.path))
    solved = fitted(wanted, progress, of_this_machine(installed()))
    try:
        return solved, _made(solved, wanted, base, text, units, options, progress)
    except BuildError as error:  # what was found after many trials is not lost with the pack
        raise BuildError(f"{changes(solved, base)}: it has the room, but no pack can be made of it: {error}") from error


def _made(
    solved: Fitted,
    wanted: Wanted,
    base: Design,
    text: str,
    units: Mapping[str, str],
    options: argparse.Namespace,
    progress: Progress,
) -> Packed | None:
    """The pack with what was found; under a name, as a size in the design file, of which `text` is what it was."""
    from foamwright.design import load
    from foamwright.fitting.size import entry, with_size
    from foamwright.fitting.words import note_of

    if not options.name:
        return _packed(solved.wanted, base, load(wanted.path, wanted.size, dict(solved.values)), options, progress)
    note = note_of(solved, base)
    line = entry(options.name, note, solved.values, units)
    _replace(wanted.path, with_size(text, options.name, line, str(wanted.path)))
    try:
        return _packed(solved.wanted, base, load(wanted.path, options.name), options, progress)
    except BaseException:  # a size that cannot be built does not stay in the file
        _replace(wanted.path, text)
        raise


def _replace(path: Path, text: str) -> None:
    from foamwright.pack.write import write_files

    write_files({path.name: text.encode()}, path.parent)


def _packed(
    wanted: Wanted, base: Design, design: Design, options: argparse.Namespace, progress: Progress
) -> Packed | None:
    """The pack of `design`, written; None where none is asked for."""
    if options.no_pack:
        return None
    from foamwright.fitting.records import Packed
    from foamwright.making import Request, Stages, made
    from foamwright.store import of_this_machine

    before, after = (Request(d, options.paper, run_own_code=wanted.run_own_code) for d in (base, design))
    store = of_this_machine(after.libraries)
    pack = made(after, None, progress, store)
    now = Counter(sheet["material"] for sheet in pack.record["sheets"])
    was = Counter(sheet.material for sheet in Stages(before, progress, store).sheets)
    folder = Path(options.out) / design.id / design.size
    progress("writing the files")
    pack.write(folder)
    gap = _gap(pack.record["fit"]) if not (wanted.seat or wanted.scan) else _tried_on(wanted, after, progress, store)
    return Packed(str(folder), {stock: (was[stock], now[stock]) for stock in base.stock}, gap)


def _gap(fit: Mapping[str, Any]) -> float:
    """The least gap that a pack tells of; negative by how deep the figure runs into the prop."""
    least: float = fit["clearance_min"]
    return -max((contact["depth"] for contact in fit["contacts"]), default=-least)


def _tried_on(wanted: Wanted, request: Request, progress: Progress, store: Store) -> float | None:
    """The same of the solids, for the scan where there is one and without what the figure rests on."""
    from foamwright.fitting.records import gap_of
    from foamwright.fitting.trial import with_scan
    from foamwright.making import Stages
    from foamwright.model.figure import clearance, figure_of
    from foamwright.model.placed import placed_copies

    progress("trying the figure on the solids")
    design = request.design if wanted.scan is None else with_scan(request.design, wanted.scan)
    tried = placed_copies(Stages(request, progress, store).model)
    copies = [copy for copy in tried if copy.part not in wanted.seat]
    figure = figure_of(design)
    return gap_of(clearance(copies, figure)) if copies and figure else None

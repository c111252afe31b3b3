"""On every save the first look, then the pack; a newer save ends what an older one began."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from watchfiles import Change, DefaultFilter, watch

from foamwright.contained import Limits, contained
from foamwright.design.load import load
from foamwright.design.read import read_source
from foamwright.errors import DesignError, FaultError, FoamwrightError
from foamwright.making import Request, first_look, made
from foamwright.stages import Progress
from foamwright.store import of_this_machine
from foamwright.watch.state import Board

_SUFFIXES = (".yaml", ".yml", ".svg", ".stl", ".obj", ".ply", ".step", ".stp", ".py")
_CALM = 60  # ms without a further change, after which a save is over


@dataclass(frozen=True)
class Watched:
    """A design file at one size, with other values for some parameters; `out` is where its packs go, None for none."""

    path: Path
    size: str | None
    changes: dict[str, str]
    out: Path | None
    paper: str = "A4"
    run_own_code: bool = False


class _Inputs(DefaultFilter):
    """What a design may be made of, by its suffix; not what is hidden or lies where packs go."""

    def __init__(self, out: Path | None) -> None:
        super().__init__()
        self._out = None if out is None else out.resolve()

    def __call__(self, change: Change, path: str) -> bool:
        here = Path(path)
        if here.name.startswith(".") or here.suffix.lower() not in _SUFFIXES or not super().__call__(change, path):
            return False
        return self._out is None or not here.resolve().is_relative_to(self._out)


def run(watched: Watched, board: Board, ended: threading.Event, tell: Callable[[str], None], limits: Limits) -> None:
    """Look at once and then on every save, until `ended` is set. `tell` is told of each look in a line."""
    warm()
    worker = _Worker()
    for save, _ in enumerate(_saves(watched, ended), 1):
        worker.begin(partial(_answer, watched, board, save, tell, limits))
    worker.stop()


def warm() -> None:
    """Load what a look needs before the first save: each look is then forked off with all of it there."""
    import cairosvg.surface  # noqa: F401

    import foamwright.forms.make
    import foamwright.look.build
    import foamwright.look.files
    import foamwright.look.report
    import foamwright.parts.attempt  # noqa: F401
    from foamwright.store import program

    program()  # the hash of it is part of what everything is kept under


def folders(path: Path) -> tuple[Path, ...]:
    """Where the files lie that a design is made of: beside it, and wherever it includes files from."""
    parents = {path.resolve().parent}
    with contextlib.suppress(DesignError):  # a design that cannot be read is watched all the same
        parents |= {(path.parent / name).resolve().parent for name in read_source(path).inputs}
    outer = [folder for folder in parents if not any(other in folder.parents for other in parents)]
    return tuple(sorted(folder for folder in outer if folder.is_dir()))


def _saves(watched: Watched, ended: threading.Event) -> Iterator[None]:
    yield None
    looked_for = _Inputs(watched.out)
    while not ended.is_set():
        now = folders(watched.path)
        # what is included may have changed with the save, so the folders are asked for anew after each
        for _ in watch(
            *now, watch_filter=looked_for, debounce=_CALM, step=_CALM // 2, stop_event=ended, rust_timeout=500
        ):
            yield None
            if folders(watched.path) != now:
                break


class _Worker:
    """One piece of work at a time: the next begins when the one before has been ended."""

    def __init__(self) -> None:
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None

    def begin(self, work: Callable[[threading.Event], None]) -> None:
        self.stop()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=work, args=(self._stop,), daemon=True)
        self._thread.start()

    def stop(self) -> None:
        self._stop.set()
        if self._thread is not None:
            self._thread.join()


def _answer(
    watched: Watched, board: Board, save: int, tell: Callable[[str], None], limits: Limits, stop: threading.Event
) -> None:
    """Show the look at what was saved, or what is wrong with it, and then make its pack; no more once `stop` is set."""

    def progress(title: str) -> None:
        board.change(busy=title)

    try:
        board.change(save=save, busy="reading the design")
        design = load(watched.path, watched.size, watched.changes)
        board.change(name=f"{design.name}, size {design.size}")
        request = Request(design, watched.paper, run_own_code=watched.run_own_code)
        report, files = contained(partial(_look, request), limits, progress, stop=stop)
        board.change(error="", look=report, drawn=save, files=files)
        tell(f"save {save}: {report['pieces']} pieces{'' if report['buildable'] else ', something stands in the way'}")
        if watched.out is None:
            return
        if not report["buildable"]:
            board.change(pack="no pack: something stands in the way")
            return
        folder = watched.out / design.id / design.size
        board.change(pack="making the pack")
        contained(partial(_pack, request, folder), limits, progress, stop=stop)
        board.change(pack="the pack is up to date", folder=str(folder))
        tell(f"save {save}: {folder}")
    except (FoamwrightError, FaultError) as error:
        if not stop.is_set():  # what a newer save has ended is nobody's mistake
            board.change(error=str(error), pack="")
            tell(f"save {save}: {error}")
    finally:
        board.change(busy="")


def _look(request: Request, progress: Progress) -> tuple[dict[str, Any], dict[str, bytes]]:
    return first_look(request, progress, of_this_machine(request.libraries))


def _pack(request: Request, folder: Path, progress: Progress) -> None:
    pack = made(request, None, progress, of_this_machine(request.libraries))
    progress("writing the files")
    pack.write(folder)

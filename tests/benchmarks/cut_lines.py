"""How far the cut lines of the shipped designs moved from one revision to the next, part by part.

`python -m tests.benchmarks.cut_lines KEPT REVISION REVISION ... [-- DESIGN:SIZE ...]`: each revision is unpacked from
git, its own program lays its own designs flat, and KEPT is the folder where the lines are kept, so that a revision is
worked out once. PROGRAM+DESIGNS takes the designs of another revision than the program. Lines of one part are laid over
each other by the best motion; the distance is Hausdorff's, of the outline and of holes paired so that they lie together
best. Works from the first revision that had all four designs.
"""

from __future__ import annotations

import io
import itertools
import json
import math
import os
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import shapely
from scipy.optimize import linear_sum_assignment

from foamwright.changes.outlines import _fit as fit_lines

ROOT = Path(__file__).parents[2]
SIZES = {
    "harbour-lantern": ("table", "porch"),
    "pocket-submarine": ("plush", "cat"),
    "acorn-bed": ("cat", "kitten"),
    "beetle-shoulder": ("adult", "youth"),
}
SAME = 1e-6  # mm
_STEPS = 30

# Runs in the folder of a revision, whose package has either of two names and may not know stages yet.
LAID_FLAT = """
import json, sys
design, size = sys.argv[1:]
try:
    sys.path.insert(0, "generator")
    import foamwright
except ImportError:
    sys.path[0] = "."
    from generator.design import load
    from generator.flatten.build import flatten
    from generator.parts import build_prop
else:
    from foamwright.design import load
    from foamwright.flatten.build import flatten
    from foamwright.parts import build_prop
try:
    laid = foamwright.Stages(foamwright.Request(load(design, size))).patterns
except (AttributeError, NameError):
    laid = flatten(build_prop(load(design, size)))
lines = {p.piece.id: [p.outline.tolist(), *(hole.tolist() for hole in p.holes)] for p in laid.patterns}
print(json.dumps(lines), file=sys.stdout)
"""


def lines_of(revision: str, wanted: list[tuple[str, str]], kept: Path) -> dict[tuple[str, str], dict | str]:
    """The cut lines by part of each design and size at a revision, or why there are none."""
    folder = kept / revision
    folder.mkdir(parents=True, exist_ok=True)
    missing = [one for one in wanted if not (folder / f"{'-'.join(one)}.json").exists()]
    program, _, designs = revision.partition("+")
    with TemporaryDirectory() as unpacked:
        if missing:
            _unpack(program, unpacked, "generator", "designs")
            _unpack(designs or program, unpacked, "designs")
        for design, size in missing:
            done = subprocess.run(
                [sys.executable, "-c", LAID_FLAT, f"designs/{design}.yaml", size],
                cwd=unpacked,
                env={**os.environ, "XDG_CACHE_HOME": os.path.join(os.devnull, "none"), "PYTHONPATH": ""},
                capture_output=True,
                text=True,
            )
            told = (done.stderr.strip().splitlines() or [""])[-1]
            text = done.stdout.splitlines()[-1] if done.returncode == 0 else json.dumps(told)
            (folder / f"{design}-{size}.json").write_text(text)
    return {one: json.loads((folder / f"{'-'.join(one)}.json").read_text()) for one in wanted}


def _unpack(revision: str, folder: str, *paths: str) -> None:
    content = subprocess.run(
        ["git", "archive", "--format=zip", revision, *paths], cwd=ROOT, capture_output=True, check=True
    ).stdout
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        archive.extractall(folder)


def moved(before: list, after: list) -> float:
    """Distance in mm of two sets of lines once one is laid over the other; nan if they have different numbers of holes."""
    old, new = ([np.asarray(line, float) @ (1, 1j) for line in lines] for lines in (before, after))
    if len(old) != len(new):
        return math.nan
    best = math.inf
    for turn, shift in _starts(old[0], new[0]):
        turn, shift = _nearer(old, new, turn, shift)
        best = min(best, _apart([line * turn + shift for line in old], new))
        if best <= SAME:
            break
    return best


def _starts(old: np.ndarray, new: np.ndarray) -> Iterator[tuple[complex, complex]]:
    yield 1.0 + 0.0j, 0.0j
    yield fit_lines(*(np.column_stack([line.real, line.imag]) for line in (old, new)))


def _nearer(old: list[np.ndarray], new: list[np.ndarray], turn: complex, shift: complex) -> tuple[complex, complex]:
    """A motion made better by Gauss's and Newton's steps: what counts is how far points lie beside the nearest line."""
    points = np.concatenate([_close(line) for line in old])
    target = shapely.union_all([_ring(line) for line in new])
    for _ in range(_STEPS):
        here = points * turn + shift
        ends = shapely.get_coordinates(shapely.shortest_line(shapely.points(here.real, here.imag), target))
        gap = (ends[1::2] - ends[::2]) @ (1, 1j)
        beside = np.abs(gap)
        if beside.max() < SAME / 10:
            break
        normal = np.where(beside > 1e-12, gap / np.maximum(beside, 1e-12), 0.0)
        rows = np.column_stack([normal.real, normal.imag, (np.conj(normal) * 1j * (here - here.mean())).real])
        step = np.linalg.lstsq(rows, beside, rcond=None)[0]
        about = np.exp(1j * step[2])
        shift = about * (shift - here.mean()) + here.mean() + complex(step[0], step[1])
        turn *= about
        if np.abs(step).max() < SAME / 100:
            break
    return turn, shift


def _apart(old: list[np.ndarray], new: list[np.ndarray]) -> float:
    table = np.array([[shapely.hausdorff_distance(_ring(a), _ring(b)) for b in new[1:]] for a in old[1:]])
    holes = table[linear_sum_assignment(table)].max() if table.size else 0.0
    return max(_lines_apart(old[0], new[0]), float(holes))


def _lines_apart(a: np.ndarray, b: np.ndarray) -> float:
    return max(float(shapely.distance(_points(_close(x)), _ring(y)).max()) for x, y in ((a, b), (b, a)))


def _points(at: np.ndarray) -> np.ndarray:
    return shapely.points(at.real, at.imag)


def _ring(line: np.ndarray) -> shapely.LinearRing:
    return shapely.LinearRing(np.column_stack([line.real, line.imag]))


def _close(line: np.ndarray) -> np.ndarray:
    """Corners of a closed line and points at most 2 mm apart along it."""
    return shapely.get_coordinates(shapely.segmentize(_ring(line), 2.0)) @ (1, 1j)


def main(arguments: list[str]) -> None:
    named = arguments[arguments.index("--") + 1 :] if "--" in arguments else []
    kept, *revisions = arguments[: arguments.index("--")] if "--" in arguments else arguments
    wanted = [(one.split(":")[0], one.split(":")[1]) for one in named] or [
        (design, size) for design, sizes in SIZES.items() for size in sizes
    ]
    made = [lines_of(revision, wanted, Path(kept)) for revision in revisions]
    print("| design, size | part |", " | ".join(f"{a} to {b}" for a, b in itertools.pairwise(revisions)), "|")
    print("| --- | --- |", " | ".join("---" for _ in revisions[1:]), "|")
    for one in wanted:
        steps = [lines[one] for lines in made]
        failed = [revision for revision, lines in zip(revisions, steps) if isinstance(lines, str)]
        if failed:
            print(f"{', '.join(one)}: not laid flat at {', '.join(failed)}: {steps[revisions.index(failed[0])]}")
            continue
        parts = list(dict.fromkeys(part for lines in steps for part in lines))
        table = {part: [_told(a.get(part), b.get(part)) for a, b in itertools.pairwise(steps)] for part in parts}
        for part, row in table.items():
            if any(row):
                print(f"| {', '.join(one)} | {part} |", " | ".join(row), "|")
        print(f"{', '.join(one)}: {sum(not any(row) for row in table.values())} of {len(parts)} parts never moved")


def _told(before: list | None, after: list | None) -> str:
    if before is None or after is None:
        return "" if before is after else "new" if before is None else "gone"
    apart = moved(before, after)
    return "" if apart <= SAME else "other holes" if math.isnan(apart) else f"{apart:.2g}"


if __name__ == "__main__":
    main(sys.argv[1:])

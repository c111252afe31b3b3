"""How the time of each stage grows with the number of copies, of kinds of parts, and with the scale of a design.

`python -m tests.benchmarks.growth [copies|kinds|DESIGN:PARAMETER] [SMALL ...]`: whole packs of a floor with that many
plates on it, all alike or each of its own, or of a design with a parameter at those values; each in a process of its
own. Prints processor seconds of every stage that takes some, and from the last two columns the exponent of its growth.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.stages import watched

HEAD = """
format: 1
name: Floor
version: 1.0.0
licence: CC-BY-4.0
parameters: {scale: {value: 1, min: 0.5, max: 2}, clearance: {value: 1 mm}}
sizes: {one: {note: as it is}}
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [4000 mm, 4000 mm]}
  thin: {name: EVA foam 5 mm, thickness: 5 mm, sheet: [600 mm, 1200 mm]}
forms: {}
parts:
"""
_WIDE, _APART = 30, 45  # mm: a plate, and from one to the next
_LEAST = 0.5  # seconds at the larger number: of less no exponent is told


def floor(rows: int, columns: int) -> str:
    wide, deep = _APART * columns + 20, _APART * rows + 20
    return f"""
  floor:
    kind: plate
    stock: foam
    outline: {{rectangle: {{width: {wide} * scale, height: {deep}}}}}
    at: {{origin: [{wide / 2}, {deep / 2}, 0], normal: z, up: y}}
"""


def plate(name: str, x: float, y: float, width: float, repeat: str = "") -> str:
    return f"""
  {name}:
    kind: plate
    stock: thin
    outline: {{rectangle: {{width: {width:g}, height: {_WIDE}}}}}
    at: {{origin: [{x:g}, {y:g}, 10], normal: z, up: y}}
    lies_on: [floor]
{repeat}"""


def design(series: str, number: int) -> str:
    """A floor with `number` plates on it, in a grid."""
    columns = math.ceil(math.sqrt(number))
    rows = math.ceil(number / columns)
    start = 10 + _APART / 2
    if series == "copies":
        number = rows * columns
        grid = f"    repeat: {{grid: {{counts: [{columns}, {rows}], steps: [[{_APART}, 0, 0], [0, {_APART}, 0]]}}}}\n"
        return HEAD + floor(rows, columns) + plate("tile", start, start, _WIDE, grid)
    places = [(start + _APART * (k % columns), start + _APART * (k // columns)) for k in range(number)]
    kinds = [plate(f"tile_{k}", x, y, 15 + 20 * k / number) for k, (x, y) in enumerate(places)]
    return HEAD + floor(rows, columns) + "".join(kinds)


def measured(path: str, parameter: str, value: float) -> tuple[dict[str, float], float]:
    """Seconds by stage and MB of one pack, in a process of its own."""
    call = [sys.executable, "-m", "tests.benchmarks.growth", "--one", path, parameter, str(value)]
    ran = subprocess.run(call, check=True, stdout=subprocess.PIPE, text=True)
    seconds, memory = json.loads(ran.stdout.splitlines()[-1])
    return seconds, memory


def one(path: str, parameter: str, value: float) -> None:
    """Print what one pack takes, as JSON."""
    import cadquery  # noqa: F401  # what it takes to load grows with nothing

    from foamwright.design import load

    _, took, whole, memory = watched(load(path, None, {parameter: value} if parameter else {}))
    rest = whole - sum(took.values())
    print(json.dumps([{**took, "the rest": rest, "all": whole}, memory]))


def main(series: str, values: list[float]) -> None:
    rows: dict[str, list[float]] = {}
    with tempfile.TemporaryDirectory() as folder:
        for k, value in enumerate(values):
            path, parameter = Path(folder) / f"floor-{value:g}.yaml", ""
            if ":" in series:
                name, parameter = series.split(":")
                path = Path(name)
            else:
                path.write_text(design(series, int(value)), "utf-8")
            seconds, memory = measured(str(path), parameter, value)
            for stage, took in {**seconds, "memory, MB": memory}.items():
                rows.setdefault(stage, [0.0] * len(values))[k] = took
            print(f"{series} {value:g}: {seconds['all']:.1f} s", file=sys.stderr, flush=True)
    print(f"| {series} | {' | '.join(f'{v:g}' for v in values)} | exponent |")
    print("| --- |" + " --- |" * (len(values) + 1))
    ratio = math.log(values[-1] / values[-2]) if len(values) > 1 else math.nan
    for stage, took in sorted(rows.items(), key=lambda row: -row[1][-1]):
        if took[-1] >= _LEAST:
            exponent = math.log(took[-1] / max(took[-2], 1e-3)) / ratio if len(values) > 1 else math.nan
            print(f"| {stage} | {' | '.join(f'{t:.1f}' for t in took)} | {exponent:.2f} |")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(sys.argv[2], sys.argv[3], float(sys.argv[4]))
    else:
        main(
            sys.argv[1] if len(sys.argv) > 1 else "copies", [float(v) for v in sys.argv[2:]] or [20, 50, 100, 200, 400]
        )

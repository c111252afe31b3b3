"""Packs spoilt on purpose, and what the virtual build says of each: `python -m tests.benchmarks.sabotage`."""

from __future__ import annotations

import tempfile
from pathlib import Path

from foamwright.proof.bench.build import virtual_build
from tests.proof.sabotage import PACKS, SABOTAGES
from tests.proof.test_virtual_build import built


def main() -> None:
    packs = {name: built(Path(tempfile.mkdtemp()), *text) for name, text in PACKS.items()}
    print("| pack | what was done | caught by |\n| --- | --- | --- |")
    for name, pack in packs.items():
        faults = virtual_build(pack.files, pack.record, pack.solids).faults
        print(f"| {name} | nothing | {'; '.join(map(str, faults)) or 'no fault'} |")
    for one in SABOTAGES:
        pack = packs[one.pack]
        faults = [str(f) for f in virtual_build({}, one.of(pack.record), pack.solids).faults]
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        print(f"| {one.pack} | {one.name} | {faults[0] + more if faults else '**not caught**'} |")


if __name__ == "__main__":
    main()

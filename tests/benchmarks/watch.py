"""From a save to the new picture, beside loading the modelling library in the same run.

`python -m tests.benchmarks.watch [DESIGN] [SAVES] [PARAMETER]`: the design is watched in a folder of its own, with a store
of its own that is empty at first, and each save adds a millimetre to what the parameter is given as; wall-clock and
processor seconds, and the ratios.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]


def main(design: str, saves: int, parameter: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = f"{folder}/cache"
        from foamwright.contained import Limits
        from foamwright.watch.run import Watched, run
        from foamwright.watch.state import Board

        shutil.copytree(Path(design).parent, f"{folder}/designs")
        path = Path(folder) / "designs" / Path(design).name
        board, ended = Board(path.name), threading.Event()
        watching = threading.Thread(
            target=run, args=(Watched(path, None, {}, None), board, ended, print, Limits()), daemon=True
        )
        watching.start()
        _wait(board, 1)
        for save in range(2, saves + 2):
            begun, worked = time.monotonic(), _worked()
            text = path.read_text("utf-8")
            path.write_text(re.sub(rf"(?m)^(  {parameter}: {{value: )", r"\g<1>1 mm + ", text, count=1), "utf-8")
            _wait(board, save)
            wall, cpu = time.monotonic() - begun, _worked() - worked
            begun, worked = time.monotonic(), _worked()
            subprocess.run([sys.executable, "-c", "import cadquery"], check=True)
            loading = time.monotonic() - begun, _worked() - worked
            print(
                f"save to picture {wall:.1f} s ({cpu:.1f} s of processor), import cadquery {loading[0]:.1f} s "
                f"({loading[1]:.1f}): {wall / loading[0]:.2f} times by the clock, {cpu / loading[1]:.2f} by the processor"
            )
        ended.set()
        watching.join()


def _worked() -> float:
    return sum(os.times()[:4])


def _wait(board, save: int) -> None:
    while board.shown.drawn < save:
        if board.shown.error:
            raise SystemExit(board.shown.error)
        time.sleep(0.02)


if __name__ == "__main__":
    main(
        sys.argv[1] if len(sys.argv) > 1 else "designs/pocket-submarine.yaml",
        int(sys.argv[2]) if len(sys.argv) > 2 else 2,
        sys.argv[3] if len(sys.argv) > 3 else "rim",
    )

"""`python -m tests.benchmarks.gallery [PACKS] [PACK ...]`: seconds to make a site of many packs, and to renew it.

Packs are made by the tests' own maker, or copies of whole PACKs (folders) in turn, each under a name of its own.
"""

import json
import os
import shutil
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from foamwright.gallery.site import build_site
from foamwright.store import Store

sys.path.insert(0, str(Path(__file__).parents[1] / "gallery"))


def main(number=1000, packs=()):
    from made_packs import make

    with TemporaryDirectory() as work:
        work = Path(work)
        for k in range(number):
            folder = work / "packs" / f"prop-{k:04}"
            if not packs:
                make(folder, f"prop-{k:04}", f"Prop {k}", width=200.0 + k)
            else:
                first = work / "packs" / f"prop-{k % len(packs):04}"  # a copy on this disk, for links
                shutil.copytree(packs[k], folder) if k < len(packs) else shutil.copytree(
                    first, folder, copy_function=os.link
                )
                record = json.loads((folder / "pack.json").read_text("utf-8"))
                record["about"]["id"] = folder.name
                (folder / "pack.json").unlink()
                (folder / "pack.json").write_text(json.dumps(record), "utf-8")
        for what in ("all of it", "nothing new", "one changed"):
            if what == "one changed":
                record = json.loads((folder / "pack.json").read_text("utf-8"))
                record["design"]["name"] += ", changed"
                (folder / "pack.json").unlink()
                (folder / "pack.json").write_text(json.dumps(record), "utf-8")
            wall, worked = time.monotonic(), time.process_time() + sum(os.times()[2:4])
            built = build_site([str(work / "packs")], work / "site", "Props", "", Store(work / "store"), os.cpu_count())
            worked = time.process_time() + sum(os.times()[2:4]) - worked
            print(f"{number} packs, {what}: {time.monotonic() - wall:.1f} s, {worked:.1f} s of processor time", built)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000, sys.argv[2:])

"""A pack made by two processes is the pack that one makes."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]

_BOTH = """
from tests.store.test_what_runs import DESIGN
from foamwright.design import load
from foamwright.making import Request, made
from pathlib import Path
import sys
path = Path(sys.argv[1]) / "can.yaml"
path.write_text(DESIGN)
told = []
only = ("booklet", "sheets", "cut_list")
two, one = (made(Request(load(path), nest_effort=0.01), only, told.append, processes=n).files for n in (2, 1))
assert dict(two) == dict(one)
print(told.count("laying the pieces on sheets"), len(two))
"""


def test_the_same_bytes_by_two_processes_as_by_one(tmp_path):
    environment = {**os.environ, "PYTHONPATH": f"{ROOT / 'generator'}:{ROOT}"}
    ran = subprocess.run(
        [sys.executable, "-c", _BOTH, str(tmp_path)], env=environment, stdout=-1, check=True, text=True
    )
    assert ran.stdout.split()[0] == "2"

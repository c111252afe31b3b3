"""All kinds are there for whoever asks, in whatever thread."""

import os
import subprocess
import sys
from pathlib import Path

import foamwright

ASK = """
from concurrent.futures import ThreadPoolExecutor
from foamwright.registry import kinds
with ThreadPoolExecutor(8) as pool:
    print({len(asked.result()) for asked in [pool.submit(kinds) for _ in range(8)]})
"""


def test_no_thread_sees_some_of_the_kinds():
    environment = os.environ | {"PYTHONPATH": str(Path(foamwright.__file__).parents[1])}
    told = subprocess.run(
        [sys.executable, "-c", ASK], capture_output=True, text=True, check=True, env=environment
    ).stdout
    assert told.count(",") == 0, told

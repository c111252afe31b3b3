"""Matrices are reckoned in one thread: what several make differs in the last digits by how many processors there are."""

import os
import subprocess
import sys

import pytest

PROGRAM = (
    "import os, foamwright, numpy as np\n"
    "a = np.sin(np.arange(160000.0)).reshape(400, 400)\n"
    "a @ a.T\n"
    "print(len(os.listdir('/proc/self/task')))\n"
)


@pytest.mark.skipif(sys.platform != "linux", reason="threads are listed otherwise elsewhere")
def test_numpy_has_no_threads_of_its_own_once_foamwright_is_loaded():
    own = {name: value for name, value in os.environ.items() if not name.startswith("OPENBLAS_NUM")}
    found = subprocess.run([sys.executable, "-c", PROGRAM], env=own, capture_output=True, text=True, check=True)
    assert found.stdout.split() == ["1"]

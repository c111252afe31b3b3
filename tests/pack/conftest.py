"""The hand-made prop is shared with the tests of the booklet."""

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1] / "booklet"))

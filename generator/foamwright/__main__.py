"""`python -m foamwright` is the command itself."""

import sys

from foamwright.cli import main

sys.exit(main())

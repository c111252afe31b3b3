"""`python -m generator` is the command itself."""

import sys

from generator.cli import main

sys.exit(main())

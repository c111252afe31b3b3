"""The commands: one module for each, with `add` for its arguments and `run` for what it does; and what several of them
share: how a call names designs (`designs.py`), what is told of a pack (`summary.py`).

A module imports what it needs when it runs, so that asking for help stays quick.
"""

# In the order in which help lists them.
NAMES = ("build", "look", "watch", "check", "new", "fit", "compare", "gallery", "matrix", "testpieces")

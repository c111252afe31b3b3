"""The commands that stand beside `build` and `check`: one module for each, with `add` for its arguments.

A module imports what it needs when it runs, so that asking for help stays quick.
"""

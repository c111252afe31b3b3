"""The kinds of part that come with the program: one module for each, found by `foamwright.registry`."""

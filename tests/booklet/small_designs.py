"""The head that a design must have, for tests that are about its parts."""


def head(name, clearance="0 mm"):
    """All that stands before `stock` in a small design of one size."""
    return f"""\
format: 1
name: {name}
version: 0.1.0
licence: CC0-1.0
summary: For a test.
parameters: {{scale: {{value: 1}}, clearance: {{value: {clearance}}}}}
sizes: {{one: {{}}}}
"""

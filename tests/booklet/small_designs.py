"""Small designs, for tests that are about their parts: the head that each must have, and its stages."""

from foamwright import Request, Stages, load


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


def stages_of_text(folder, text, **parameters):
    """The stages of a design that is written into a folder."""
    path = folder / "small.yaml"
    path.write_text(text, encoding="utf-8")
    return Stages(Request(load(path, None, parameters)))


def lines_of(stages):
    """All sentences of its steps, in order."""
    return [line for step in stages.record("steps") for line in step.instructions]

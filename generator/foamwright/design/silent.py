"""Steps of a design that tell whoever builds it nothing."""

from __future__ import annotations

from foamwright.design.records import Design


def silent_told(design: Design) -> list[str]:
    """A line for each step that comes when all has cured, so that no joint is made in it, hangs nothing up, and has no note."""
    hung = {spec.id for spec in design.parts if spec.values.get("hangs_from")}
    return [
        f"step {step['title']!r} comes when all has cured and has no note, so that nobody is told what to do; give it one"
        for step in design.steps
        if step.get("when") == "cured" and not step["note"].strip() and not hung & {*step["parts"]}
    ]

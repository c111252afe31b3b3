"""The classes of input, by name."""

from __future__ import annotations

from collections.abc import Callable

from tests.hostile import beginners, documents, drawings, magnitudes, mistakes, packs, slips, solids, words
from tests.hostile.trial import Trial

CLASSES: dict[str, Callable[[], list[Trial]]] = {
    "svg": drawings.trials,
    "counts": magnitudes.counts,
    "extents": magnitudes.extents,
    "forms": magnitudes.forms,
    "expressions": magnitudes.expressions,
    "mistakes": mistakes.trials,
    "slips": slips.trials,
    "beginners": beginners.trials,
    "misuse": beginners.misuse,
    "yaml": documents.yaml,
    "includes": documents.includes,
    "have": documents.have,
    "calls": documents.calls,
    "texts": words.trials,
    "meshes": solids.meshes,
    "step": solids.steps,
    "packs": packs.trials,
}

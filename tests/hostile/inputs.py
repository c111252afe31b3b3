"""The classes of input, by name."""

from __future__ import annotations

from collections.abc import Callable

from tests.hostile import documents, drawings, numbers, solids, words
from tests.hostile.trial import Trial

CLASSES: dict[str, Callable[[], list[Trial]]] = {
    "svg": drawings.trials,
    "counts": numbers.counts,
    "extents": numbers.extents,
    "forms": numbers.forms,
    "expressions": numbers.expressions,
    "yaml": documents.yaml,
    "includes": documents.includes,
    "have": documents.have,
    "calls": documents.calls,
    "texts": words.trials,
    "meshes": solids.meshes,
    "step": solids.steps,
}

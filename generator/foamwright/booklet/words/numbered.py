"""Sentences of a step that are done one after another, with their numbers."""

from __future__ import annotations

import re
from collections.abc import Sequence

from foamwright.language import say

_NUMBER = re.compile(r"(\d+\)) (.*)", re.DOTALL)


def numbered(sentences: Sequence[str]) -> list[str]:
    """The sentences with 1), 2) and so on before them; a single one stands as it is."""
    if len(sentences) < 2:
        return list(sentences)
    return [say("{n}) {sentence}", n=n, sentence=sentence) for n, sentence in enumerate(sentences, start=1)]


def parted(sentence: str) -> tuple[str, str]:
    """The number of a sentence, as "1)", and what stands after it; "" for one without."""
    found = _NUMBER.fullmatch(sentence)
    return (found[1], found[2]) if found else ("", sentence)

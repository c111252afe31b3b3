"""Sentences of a step that are done one after another, with their numbers."""

from __future__ import annotations

import re
from collections.abc import Sequence

from foamwright.language import say

_NUMBER = re.compile(r"(\d+\)) (.*)", re.DOTALL)
_PIECE = re.compile(r"\b([A-Z]+) (\d+)\b")  # as a piece is called: its part's letter, and which of its copies it is
_SAME = 3  # sentences in a row that say the same of one copy after another; more, and the last of them are told in one


def numbered(sentences: Sequence[str]) -> list[str]:
    """The sentences with 1), 2) and so on before them; a single one stands as it is. Of many that say the same of the next copy
    each, the first two stand for all."""
    if len(sentences) < 2:
        return list(sentences)
    told: list[str] = []
    at = 0
    while at < len(sentences):
        end = at + 1
        while end < len(sentences) and _is_next(sentences[end - 1], sentences[end]):
            end += 1
        whole = end if end - at <= _SAME else at + 2
        told += [say("{n}) {sentence}", n=n + 1, sentence=sentences[n]) for n in range(at, whole)]
        if whole < end:
            told.append(
                say(
                    "{n}) to {last}) Go on in the same way, one after the other, up to {piece}.",
                    n=whole + 1,
                    last=end,
                    piece=" ".join(_moved(sentences[end - 2], sentences[end - 1])[0]),
                )
            )
        at = end
    return told


def _is_next(one: str, two: str) -> bool:
    """Do two sentences differ by nothing but the numbers of copies, each by one?"""
    return _PIECE.sub("", one) == _PIECE.sub("", two) and bool(_moved(one, two))


def _moved(one: str, two: str) -> list[tuple[str, str]]:
    """The pieces of the second sentence that are the next copies of those in the first, if no other differs."""
    pairs = list(zip(_PIECE.findall(one), _PIECE.findall(two)))
    changed = [(a, b) for a, b in pairs if a != b]
    return [b for _, b in changed] if all(a[0] == b[0] and int(b[1]) == int(a[1]) + 1 for a, b in changed) else []


def parted(sentence: str) -> tuple[str, str]:
    """The number of a sentence, as "1)", and what stands after it; "" for one without."""
    found = _NUMBER.fullmatch(sentence)
    return (found[1], found[2]) if found else ("", sentence)

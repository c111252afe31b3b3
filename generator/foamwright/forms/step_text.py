"""STEP files as ISO 10303-21 writes them, looked through before the modeller reads them: it crashes, or never comes to
an end, on text that is none."""

from __future__ import annotations

import math
import re

from foamwright.errors import BuildError

LARGEST = 1e9  # of a number in a file; a coordinate beyond it is no prop, in whatever unit
# clause 6 and 7 of the standard, edition 2: what a section of data consists of
_TOKEN = re.compile(
    rb"(?P<blank>\s+|/\*.*?\*/)|(?P<name>#[0-9]{1,12})|(?P<number>[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:E[+-]?[0-9]+)?)"
    rb"|(?P<text>'(?:[^']|'')*'|\"[0-9A-F]*\")|(?P<choice>\.[A-Z_][A-Z0-9_]*\.)|(?P<entity>!?[A-Z_][A-Z0-9_]*)"
    rb"|(?P<open>\()|(?P<close>\))|(?P<mark>[=,$*])|(?P<end>;)",
    re.DOTALL | re.IGNORECASE,
)
# where data begin; texts and remarks between sections may say so too
_DATA = re.compile(rb"'(?:[^']|'')*'|/\*.*?\*/|\b(DATA)\s*(?:\([^;]*\))?\s*;", re.DOTALL | re.IGNORECASE)
_ENDSEC = re.compile(rb"ENDSEC\Z", re.IGNORECASE)


def check_step_text(file: str, content: bytes) -> None:
    """BuildError with line and column where the sections of data are not of the standard's grammar, name what is not
    there, or hold a number beyond LARGEST."""
    at = _data(content, 0)
    if not content.lstrip().startswith(b"ISO-10303-21;") or at is None:
        raise BuildError(f"{file} cannot be read as STEP: it does not begin as one; expected ISO-10303-21")
    defined, named = set[bytes](), dict[bytes, int]()
    while at is not None:
        at = _data(content, _section(file, content, at, defined, named))
    for name in named.keys() - defined:
        raise _error(file, content, named[name], f"{name.decode()} is named and stands nowhere")


def _data(content: bytes, at: int) -> int | None:
    """Where the first data after a place begin."""
    return next((found.end() for found in _DATA.finditer(content, at) if found[1]), None)


def _section(file: str, content: bytes, at: int, defined: set[bytes], named: dict[bytes, int]) -> int:
    """Reads one section of data up to its end and returns where that is."""
    depth, first, last, before = 0, at, "end", b""
    while at < len(content):
        token = _TOKEN.match(content, at)
        if token is None:
            raise _error(
                file, content, at, f"{content[at : at + 1]!r} is nothing that may stand there".replace("b'", "'")
            )
        sort, text, start = str(token.lastgroup), token[0], at
        at = token.end()
        if sort == "blank":
            continue
        if last == "entity" and sort not in ("open", "end"):
            raise _error(file, content, start - len(before), f"{before[:40].decode()} is no value")
        if sort == "open":
            depth += 1
        elif sort == "close":
            depth -= 1
        elif sort == "name" and last == "end":
            if text in defined:
                raise _error(file, content, start, f"{text.decode()} stands there twice")
            defined.add(text)
            first = start
        elif sort == "name":
            named.setdefault(text, start)
        elif sort == "number" and not math.fabs(float(text)) <= LARGEST:
            raise _error(file, content, start, f"{text[:20].decode()} is too large a number")
        elif sort == "end":
            if last == "entity" and _ENDSEC.match(before):
                return at
            if depth != 0 or last != "close":
                raise _error(file, content, first, "what begins there is not closed")
        if depth < 0:
            raise _error(file, content, start, "more is closed than was opened")
        last, before = sort, text
    raise BuildError(f"{file} cannot be read as STEP: it ends before its data do")


def _error(file: str, content: bytes, at: int, what: str) -> BuildError:
    line = content.count(b"\n", 0, at) + 1
    column = at - content.rfind(b"\n", 0, at)
    return BuildError(f"{file} cannot be read as STEP: line {line}, column {column}: {what}")

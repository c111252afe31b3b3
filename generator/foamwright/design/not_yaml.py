"""What a maker has most likely done where a YAML parser stops, in their words and at its place."""

from __future__ import annotations

import re

import yaml

from foamwright.design.messages import mistake
from foamwright.design.records import Where
from foamwright.errors import DesignError

_Told = tuple[int, int, str, str]  # line and column from 0, what is wrong, what was expected
_COLONS = re.compile(r":(?=[ \t]|$)")
_REMARK = re.compile(r"\s#")
_MERGE = re.compile(r"<{7} |={7}$|>{7} ")
_MARKED = re.compile(r"(?<![^\s\[{,])[*&!]")  # what makes an anchor or a tag of a word
_OPENED = re.compile(r"(\s*(?:- )?\w+: )([\"'])(?!.*\2)")  # a key whose text in quotes goes on in the next line
_BLANK = " \t\r\n\u00a0\u2007\u202f\u3000\u200b\u200c\u200d\u2060\ufeff"  # what is seen as a space or not at all
_CLOSES = {"[": "]", "{": "}"}


def not_yaml(file: str, text: str, error: yaml.MarkedYAMLError) -> DesignError:
    """The mistake behind what the parser says of `text`."""
    mark = error.problem_mark or error.context_mark
    problem = error.problem or error.context or "it cannot be read"
    if mark is None:
        return mistake(file, f"not YAML: {problem}")
    lines = text.splitlines()
    began = error.context_mark or mark
    at = (mark.line, mark.column)
    line, column, wrong, expected = _told(problem, lines, at, (began.line, began.column)) or (*at, problem, "")
    return mistake(Where(file, line + 1, column + 1), f"not YAML: {wrong}", expected)


def _told(problem: str, lines: list[str], at: tuple[int, int], began: tuple[int, int]) -> _Told | None:
    text = _line(lines, at[0])
    before = _above(lines, at[0])
    odd = next((found for number in (at[0], before) for found in [_odd_space(lines, number)] if found), None)
    if odd:
        return odd
    merge = next((i for i in range(at[0], -1, -1) if _MERGE.match(_line(lines, i))), -1)
    if merge >= 0:
        return (
            merge,
            0,
            f"the mark {lines[merge][:7]} of a merge that was left open",
            "one of the two versions, without marks",
        )
    quote = _long_quote(lines, at)
    if quote:
        return quote
    if "alphabetic or numeric character" in problem or "did not find expected whitespace" in problem:
        signs = [found.start() for found in _MARKED.finditer(text, 0, at[1] + 1)]
        if signs:
            return at[0], signs[-1], f"a text that begins with {text[signs[-1]]}", "quotes around it"
    if "undefined alias" in problem:
        name = re.match(r"\*[^\s,\]}]*", text[at[1] :])
        return (*at, f"{name[0] if name else '*'} stands for nothing", "& and the same word before it, or no *")
    if "expected node content" in problem and text[at[1] : at[1] + 1] == ",":
        return (*at, "a comma with nothing before it", "a value, or one comma")
    if "expected <document start>" in problem and before >= 0:
        return (*at, f"not in line with line {before + 1}", "the same spaces before each key, none at the top")
    if text.startswith("```"):
        return (*at, "a fence as it stands around text in a chat or in Markdown", "the lines between the fences alone")
    if "cannot start any token" in problem:
        return (*at, f"a text that begins with {text[at[1] : at[1] + 1]}", "quotes around it")
    if "mapping values are not allowed" in problem:
        return _second_colon(lines, at, before)
    if "expected ','" in problem:
        opens = _line(lines, began[0])
        bracket = opens[began[1] : began[1] + 1]
        closes = _CLOSES.get(bracket, "]")
        if began[0] == at[0] and text[at[1] : at[1] + 1] == ":":
            return (*at, "a second colon in a text", "quotes around a text with a colon")
        if began[0] == at[0] and text[: at[1]].endswith("'") and text[at[1] : at[1] + 1].isalpha():
            return (at[0], at[1] - 1, "a text in quotes ends here", "'' for an apostrophe within it, or \" around it")
        if began[0] == at[0]:
            return (
                *at,
                f"no comma between values after the {bracket}, or no {closes} at its end",
                f", or {closes} here",
            )
        remark = _REMARK.search(opens, began[1])
        if remark and closes in opens[remark.start() :] and closes not in opens[began[1] : remark.start()]:
            return (began[0], remark.start() + 1, "the rest of the line is a remark", "quotes around a text with a #")
        return (*began, f"the {bracket} here is not closed", f"{closes} at its end, and a comma between values")
    if "end of stream" in problem and _line(lines, began[0])[began[1] : began[1] + 1] in ("'", '"'):
        return (*began, "the quotes that open here do not close", "the same sign at the end of the text")
    if "expected ':'" in problem:
        return _no_colon(lines, began[0])
    if "'-' indicator" in problem:
        return (*at, f"a key beside the list that begins in line {began[0] + 1}", "- before it, or other spaces")
    if "another document" in problem:
        return (*at, "a second design in one file", "an end before ---")
    if "did not find expected key" in problem or "expected <block end>" in problem:
        # a remark ends a text, so that the parser goes on to the next line
        if before >= 0 and ":" not in lines[before].split(" #")[0] and _is_key_alone(lines[before]):
            return _no_colon(lines, before)
        return _no_key(text, at, began)
    return None


def _long_quote(lines: list[str], at: tuple[int, int]) -> _Told | None:
    """Where a quote that was left open swallowed the lines down to the next quote, which then ended it."""
    for number in range(min(at[0], len(lines) - 1), -1, -1):
        opened = _OPENED.match(lines[number].split(" #")[0])
        if opened and opened[2] in "".join(lines[number + 1 : at[0] + 1]):
            return (
                number,
                opened.end(1),
                "the quotes that open here do not close in their line",
                "the same sign at its end",
            )
    return None


def _is_key_alone(text: str) -> bool:
    """Whether a line begins as a key would: a word that is no item of a list and closes no bracket."""
    return re.match(r"\s*[A-Za-z_]\w*\b(?!.*[\]}])", text) is not None


def _second_colon(lines: list[str], at: tuple[int, int], above: int) -> _Told:
    own = _line(lines, at[0])
    if _COLONS.search(own[: at[1]]):
        return (*at, "a second colon in one line", "quotes around a text with a colon, or a key in a line of its own")
    if above >= 0 and not _COLONS.search(lines[above]):
        return _no_colon(lines, above)
    return at[0], _indent(own), "deeper in than the line above, which has a value already", "both of them alike"


def _no_colon(lines: list[str], number: int) -> _Told:
    text = _line(lines, number)
    wide = text.find("\uff1a")
    if wide >= 0:
        return number, wide, "the sign \uff1a", ": and a space"
    if ":" in text:
        after = text[text.index(":") + 1 :][:1]
        if after.isspace():
            return number, text.index(":") + 1, f"the character U+{ord(after):04X} after a colon", "a space"
        return number, text.index(":"), "no space after a colon", "key: value"
    return number, _indent(text), "a line without a colon", "key: value"


def _no_key(text: str, at: tuple[int, int], began: tuple[int, int]) -> _Told:
    if text[: at[1]].rstrip()[-1:] in ('"', "'"):
        return (*at, "something follows a text in quotes", "the quotes around all of it, or none left open before")
    if text[at[1] : at[1] + 2] in ("- ", "-"):
        return (*at, f"an item of a list beside the keys that begin in line {began[0] + 1}", "key: value")
    return (*at, f"not in line with the keys that begin in line {began[0] + 1}", "the same spaces before each of them")


def _odd_space(lines: list[str], number: int) -> _Told | None:
    """A sign before the first word of a line that looks like a space, or like nothing, and is no space."""
    text = _line(lines, number)
    for column, sign in enumerate(text[: len(text) - len(text.lstrip(_BLANK))]):
        if sign != " ":
            name = "a tab" if sign == "\t" else f"the character U+{ord(sign):04X}"
            if not text.strip(_BLANK):
                return number, column, f"{name} in a line that is empty otherwise", "nothing there"
            return number, column, f"{name} before the first word", "spaces"
    return None


def _above(lines: list[str], number: int) -> int:
    """The line above that says something; -1 for none."""
    return next((i for i in range(min(number, len(lines)) - 1, -1, -1) if lines[i].split("#")[0].strip()), -1)


def _line(lines: list[str], number: int) -> str:
    return lines[number] if 0 <= number < len(lines) else ""


def _indent(text: str) -> int:
    return len(text) - len(text.lstrip())

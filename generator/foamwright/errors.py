"""The two ways in which a design can fail, and the exit code of each.

Both are shown to the user as one line and never as a traceback.
"""

from __future__ import annotations

import errno
from collections.abc import Iterable, Sequence


class FoamwrightError(Exception):
    """Base of every error that is the user's to mend. `exit_code` is what the command returns."""

    exit_code = 1


class DesignError(FoamwrightError):
    """The design file is wrong: it says something that the schema or the arithmetic cannot accept.

    `str(error)` is one line: `file:line:column: what is wrong; expected what; did you mean X?`
    """

    exit_code = 2


class BuildError(FoamwrightError):
    """The design file is well formed, but the prop it describes cannot be built."""

    exit_code = 1


class FaultError(Exception):
    """The program itself failed, in a process of its own. `str` is what is known of it, in one line."""

    @classmethod
    def of(cls, error: Exception) -> FaultError:
        """An error that nobody foresaw: its type and words."""
        return cls(f"{type(error).__name__}: {' '.join(str(error).split())}")


# what the types of JSON Schema are called in a message
TYPES = {
    "object": "a mapping",
    "array": "a list",
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
}
_SHOWN = 100  # letters of a name
_OTHERS = 5  # named beside the first of several faults
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EMFILE, errno.ENFILE)
_NO_NAME = (errno.ENAMETOOLONG, errno.ELOOP)


def refused_by_machine(error: Exception) -> FoamwrightError | None:
    """What the machine refuses to whatever asks for it (memory, room on a disk, one more open file); None for another
    error, which is the program's own fault. Libraries ask too, for files of their own in the folder for temporary ones."""
    if isinstance(error, MemoryError):
        return BuildError("there is not enough memory for it")
    if isinstance(error, FileNotFoundError) and error.filename is None:  # as `os.getcwd` says it
        return BuildError("the folder in which it was called is not there any more")
    if isinstance(error, OSError) and error.errno in _NO_NAME:
        return DesignError(f"{str(error.filename)[:_SHOWN]}: {error.strerror}; expected the name of a file")
    if isinstance(error, OSError) and error.errno in _NO_ROOM:
        place = f"{error.filename}: " if error.filename else ""
        return BuildError(f"{place}cannot be written: {error.strerror}")
    return None


def together(errors: Sequence[BuildError]) -> BuildError:
    """The first of several faults of one sort, and whose the others are: what each tells before its colon."""
    if len(errors) == 1:
        return errors[0]
    others = ", ".join(dict.fromkeys(str(error).partition(":")[0] for error in errors[1 : 1 + _OTHERS]))
    more = ", ..." if len(errors) > 1 + _OTHERS else ""
    return BuildError(f"{errors[0]} (and {len(errors) - 1} more: {others}{more})")


def nearest(word: str, choices: Iterable[str], least: float = 0.55) -> str | None:
    """The choice spelled most like `word`, or None if none is near; upper and lower case count as one.

    `least` is the share of letters in common, 0 to 1, as Ratcliff and Obershelp count them (difflib)."""
    import difflib

    by_lower = {choice.lower(): choice for choice in choices}
    close = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=least)
    return by_lower[close[0]] if close else None

"""Every output that can be asked for by its name, in the order in which a maker meets them."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from importlib import import_module

from foamwright.errors import DesignError
from foamwright.outputs.records import Output

# name and module are the same word
NAMES = (
    "templates",
    "gauges",
    "booklet",
    "sheets",
    "strain",
    "proof",
    "picture",
    "template_files",
    "machine",
    "model",
    "cut_list",
    "shopping_list",
)
ARCHIVE = "archive"  # asked for like an output, but made of what the others have given


def output(name: str) -> Output:
    """The output of that name; its module is loaded now."""
    one: Output = import_module(f"foamwright.outputs.{name}").OUTPUT
    return one


def check_names(wanted: Iterable[str]) -> tuple[str, ...]:
    """`wanted` in the order of the pack, each once. DesignError: a word that names no output, or none at all."""
    names = (*NAMES, ARCHIVE)
    words = {word.strip().replace("-", "_") for word in wanted}
    for word in sorted(words):
        if word not in names:
            near = get_close_matches(word, names, n=1, cutoff=0.5)
            hint = f"; did you mean {near[0]}?" if near else ""
            raise DesignError(f"only: no output is called {word!r}; expected some of {', '.join(names)}{hint}")
    if not words:
        raise DesignError(f"only: no output is named; expected some of {', '.join(names)}")
    if words == {ARCHIVE}:
        raise DesignError("only: an archive of what? Name that as well, as in templates,archive")
    return tuple(name for name in names if name in words)

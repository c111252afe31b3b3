"""Breaks one place of the code after the other and sees whether a test tells: by hand, Linux only.

`python -m tests.hostile.mutants [--most N] [--record FILE] MODULE ... -- TEST ...`: each MODULE as `geometry.polyline`; the tests
are run as `pytest -x -m "not slow" TEST ...`. A mutant is the module with one sign of arithmetic, comparison or logic turned
round, one `min` for `max`, one number made larger by a tenth and 1, or one statement left out; N of them are chosen evenly by a
fixed seed. What no test tells of is printed with its line; much of that is a rule that has no test, some is code that may as
well be otherwise (a tolerance, an order that does not matter). Each is tried in a process of its own with an empty store.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib
import importlib.abc
import importlib.util
import json
import os
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from tests.hostile.forking import begin

ROOT = Path(__file__).parents[2]
LOADED = ("numpy", "scipy.interpolate", "scipy.optimize", "scipy.spatial", "scipy.sparse.csgraph", "shapely", "igl", "trimesh",
          "cadquery", "yaml", "jsonschema", "simpleeval", "networkx", "svgpathtools", "hypothesis", "numba")  # fmt: skip
SECONDS, SPACE = 150, 8 * 10**9  # of processor, and of addresses, for one mutant
_TURNED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Div, ast.Mod: ast.Mult, ast.Pow: ast.Mult,
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn,
    ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.And: ast.Or, ast.Or: ast.And, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
    ast.USub: ast.UAdd,
}  # fmt: skip
_NAMES = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "any": "all",
    "all": "any",
    "sin": "cos",
    "cos": "sin",
}


def main() -> int:
    given, tests = (sys.argv[1 : sys.argv.index("--")], sys.argv[sys.argv.index("--") + 1 :])
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="+")
    parser.add_argument("--most", type=int, default=100)
    parser.add_argument("--record", type=Path)
    options = parser.parse_args(given)
    for name in LOADED:
        importlib.import_module(name)
    found = [(name, *one) for name in options.modules for one in mutants(source_of(name).read_text())]
    chosen = sorted(random.Random(14).sample(range(len(found)), min(options.most, len(found))))
    whole = options.modules[0]
    if outcome(whole, source_of(whole).read_text(), tests) != "survived":
        print("the tests fail as it is")
        return 1
    counts: dict[str, Counter[str]] = {name: Counter() for name in options.modules}
    for number in chosen:
        name, line, what, text = found[number]
        came = outcome(name, text, tests)
        counts[name][came] += 1
        if came == "survived":
            print(f"{name}:{line}: {what}", flush=True)
        if options.record:
            with options.record.open("a") as lines:
                lines.write(json.dumps({"module": name, "line": line, "what": what, "came": came}) + "\n")
    print("\n| module | mutants | tried | told of | out of time | survived |\n| --- | --- | --- | --- | --- | --- |")
    for name, count in counts.items():
        of = sum(one[0] == name for one in found)
        told = f"{count['told']} | {count['out of time']} | {count['survived']}"
        print(f"| {name} | {of} | {sum(count.values())} | {told} |")
    return 0


def source_of(name: str) -> Path:
    return ROOT / "generator/foamwright" / f"{name.replace('.', '/')}.py"


def mutants(text: str) -> Iterator[tuple[int, str, str]]:
    """Line, what is changed in it, and the whole text of each mutant."""
    tree = ast.parse(text)
    for number, node in enumerate(ast.walk(tree)):
        for changed in _changes(node):
            other = copy.deepcopy(tree)
            place = next(one for i, one in enumerate(ast.walk(other)) if i == number)
            for key, value in changed.items():
                setattr(place, key, value)
            line = getattr(node, "lineno", 0)
            was, now = ast.unparse(node), ast.unparse(place)
            if was != now:
                yield (
                    line,
                    f"{was.splitlines()[0]}  ->  {now.splitlines()[0] if now else 'pass'}"[:200],
                    ast.unparse(other),
                )


def _changes(node: ast.AST) -> Iterator[dict[str, Any]]:
    """Other values for fields of a node, one mutant each."""
    if isinstance(node, ast.BinOp | ast.UnaryOp | ast.BoolOp) and type(node.op) in _TURNED:
        if not (isinstance(node, ast.BinOp) and isinstance(node.op, ast.BitOr) and _is_type(node)):
            yield {"op": _TURNED[type(node.op)]()}
    elif isinstance(node, ast.Compare) and type(node.ops[0]) in _TURNED:
        yield {"ops": [_TURNED[type(node.ops[0])](), *node.ops[1:]]}
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield {"value": type(node.value)(node.value * 1.1 + 1)}
    elif isinstance(node, ast.Name) and node.id in _NAMES:
        yield {"id": _NAMES[node.id]}
    elif isinstance(node, ast.Attribute) and node.attr in _NAMES:
        yield {"attr": _NAMES[node.attr]}
    elif isinstance(node, ast.If | ast.IfExp):
        yield {"test": ast.Constant(False)}


def _is_type(node: ast.BinOp) -> bool:
    """Is it `a | None` in an annotation?"""
    return any(isinstance(one, ast.Constant) and one.value is None for one in ast.walk(node)) or all(
        isinstance(one, ast.Name | ast.Attribute | ast.Subscript) for one in (node.left, node.right)
    )


class _Mutated(importlib.abc.MetaPathFinder, importlib.abc.SourceLoader):
    """Gives one module another text."""

    def __init__(self, name: str, text: str) -> None:
        self.name, self.text = f"foamwright.{name}", text
        self.path = str(source_of(name))

    def find_spec(self, name: str, path: Sequence[str] | None, target: Any = None) -> Any:
        return importlib.util.spec_from_loader(name, self) if name == self.name else None

    def get_filename(self, fullname: str) -> str:
        return self.path

    def get_data(self, path: str | bytes) -> bytes:
        return self.text.encode() if path == self.path else Path(os.fsdecode(path)).read_bytes()


def outcome(name: str, text: str, tests: Sequence[str]) -> str:
    with tempfile.TemporaryDirectory() as place:
        scratch = Path(place)
        pid = begin(
            partial(_tested, name, text, tests, scratch), ROOT, scratch / "out", scratch / "err", SECONDS, SPACE
        )
        _, status = os.waitpid(pid, 0)
    code = os.waitstatus_to_exitcode(status)
    return "survived" if code == 0 else "out of time" if code < 0 else "told"


def _tested(name: str, text: str, tests: Sequence[str], scratch: Path) -> int:
    os.environ["XDG_CACHE_HOME"] = str(scratch)
    sys.meta_path.insert(0, _Mutated(name, text))
    arguments = ["-x", "-q", "-m", "not slow", "-p", "no:cacheprovider", f"--basetemp={scratch / 'base'}"]
    return int(pytest.main([*arguments, *tests]))


if __name__ == "__main__":
    sys.exit(main())

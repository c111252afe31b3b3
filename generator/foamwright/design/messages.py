"""The wording of every message about a design file: one line, with its place and the nearest right word."""

from __future__ import annotations

from collections.abc import Iterable

from foamwright.design.records import Where
from foamwright.errors import DesignError, nearest

MANY = 8  # choices: more than one reads at a glance
# what others call it: the words that a design file may have for it, of which one is among the choices or none
_SAME: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("sphere", "ball", "ellipsoid", "egg"), ("superellipsoid",)),
    **dict.fromkeys(
        ("cylinder", "cone", "frustum", "tube", "lathe", "torus", "revolve"), ("revolution", "stack", "rod")
    ),
    **dict.fromkeys(("stl", "obj", "ply"), ("mesh",)),
    **dict.fromkeys(("sheet", "board", "flat", "slab"), ("plate",)),
    **dict.fromkeys(("circle", "round", "lid"), ("disc", "circle")),
    **dict.fromkeys(("hoop", "rim", "lip", "ribbon"), ("band",)),
    **dict.fromkeys(("bar", "stick", "dowel", "pole", "pipe"), ("rod",)),
    **dict.fromkeys(("cube", "cuboid", "case"), ("box",)),
    **dict.fromkeys(("floor", "wall", "divider"), ("bulkhead", "panel")),
    **dict.fromkeys(("washer", "annulus"), ("ring",)),
    **dict.fromkeys(("stencil",), ("mask",)),
    **dict.fromkeys(("skin", "surface", "shell"), ("panel", "form")),
    **dict.fromkeys(("material", "foam", "materials", "thickness"), ("stock", "layers")),
    **dict.fromkeys(("quantity", "copies", "number", "amount"), ("count", "repeat")),
    **dict.fromkeys(("count",), ("repeat",)),
    **dict.fromkeys(("holes", "hole", "cutouts", "cutout", "openings", "windows"), ("minus", "openings", "windows")),
    **dict.fromkeys(("position", "location", "place", "placement", "pos", "origin"), ("at", "origin", "centre")),
    **dict.fromkeys(("rotation", "rotate", "orientation"), ("turn", "up", "angle")),
    **dict.fromkeys(("shape", "profile"), ("outline", "profile")),
    **dict.fromkeys(("diameter",), ("radius", "width", "size", "thickness")),
    **dict.fromkeys(("size", "length", "dimensions"), ("radius", "width", "size", "sheet")),
    **dict.fromkeys(("step", "spacing", "distance", "pitch"), ("step", "pitch", "gap", "angle")),
    **dict.fromkeys(("center",), ("centre",)),
    **dict.fromkeys(("description", "comment", "remark"), ("summary", "note")),
    **dict.fromkeys(("title", "label"), ("name", "title")),
    **dict.fromkeys(("color", "colour"), ("colour", "paint")),
    **dict.fromkeys(("between", "cut", "bounds"), ("where",)),
    **dict.fromkeys(("mirrored", "symmetric", "symmetry"), ("mirror",)),
    **dict.fromkeys(("units",), ("unit",)),
    **dict.fromkeys(("default",), ("value",)),
    **dict.fromkeys(("above", "below", "left", "right", "positive", "negative", "keep"), ("beyond", "before")),
}


def mistake(
    place: Where | str, wrong: str, expected: str = "", word: str = "", choices: Iterable[str] = ()
) -> DesignError:
    """The error `place: wrong; expected ...; did you mean X?`.

    X is the one of `choices` that `word` comes nearest to, if any is near. Without `expected`, the choices
    themselves are what was expected, unless they are many and X says it better.
    """
    choices = list(choices)
    near = _said_otherwise(word, choices) or nearest(word, choices)
    if not expected and choices and not (near and len(choices) > MANY):
        expected = one_of(choices)
    strange = next((letter for letter in word if not letter.isascii()), "")
    if near and strange and strange.isprintable() and near.isascii():  # they may look the same
        wrong += f" (with the letter U+{ord(strange):04X})"
    clauses = [f"{place}: {wrong}"]
    if expected:
        clauses.append(f"expected {expected}")
    if near:
        clauses.append(f"did you mean {near}?")
    return DesignError(" ".join("; ".join(clauses).split()))


def _said_otherwise(word: str, choices: Iterable[str]) -> str | None:
    return next((same for same in _SAME.get(word.lower(), ()) if same in choices), None)


def one_of(choices: Iterable[str]) -> str:
    choices = list(choices)
    return choices[0] if len(choices) == 1 else "one of " + ", ".join(choices)

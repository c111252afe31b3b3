"""Which design shows what: a table of the trade's vocabulary with the part that uses each item, for the README."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import yaml

from foamwright.registry import kinds

Raw = Mapping[str, Any]
Uses = Callable[[Raw, Raw], bool]  # (part as written, whole design) -> does it use the item?


def _kind(*names: str) -> Uses:
    return lambda part, _: part["kind"] in names


def _has(key: str) -> Uses:
    return lambda part, _: bool(part.get(key))


def _repeat(key: str) -> Uses:
    return lambda part, _: key in (part.get("repeat") or {})


def _shape(*keys: str) -> Uses:
    """An outline anywhere in the part with one of these shapes."""
    return lambda part, _: any(key in mapping for mapping in _mappings(part) for key in keys)


def _mappings(node: Any) -> Iterable[Raw]:
    if isinstance(node, Mapping):
        yield node
        for value in node.values():
            yield from _mappings(value)
    elif isinstance(node, list):
        for value in node:
            yield from _mappings(value)


def _form(part: Raw, design: Raw) -> Raw:
    return design.get("forms", {}).get(part.get("form"), {})


def _cut_kinds(part: Raw, design: Raw) -> set[str]:
    cuts = _form(part, design).get("cuts", {})
    return {key for cut in part.get("where") or {} for key in cuts.get(cut, {})}


def _panel_of(kind: str, smooth: bool = True) -> Uses:
    def uses(part: Raw, design: Raw) -> bool:
        form = _form(part, design)
        return part["kind"] == "panel" and form.get("kind") == kind and form.get("smooth", True) == smooth

    return uses


def _all(*tests: Uses) -> Uses:
    return lambda part, design: all(test(part, design) for test in tests)


def _rigid(part: Raw, design: Raw) -> bool:
    stock = design.get("stock", {}).get(part.get("stock"), {})
    return stock.get("material_type", "foam") != "foam" and part["kind"] != "mask"


_ITEMS: tuple[tuple[str, Uses], ...] = (
    ("curved panel of a loft", _panel_of("loft")),
    ("curved panel of a superellipsoid", _panel_of("superellipsoid")),
    ("curved panel of a smooth revolution, dome", _panel_of("revolution")),
    ("panel with an opening or a port", _all(_kind("panel"), lambda p, d: "prism" in _cut_kinds(p, d))),
    ("cone, frustum or cylinder", _panel_of("revolution", smooth=False)),
    (
        "cylinder meeting a curved hull (saddle cut)",
        _all(_kind("panel"), lambda p, d: "form" in _cut_kinds(p, d)),
    ),
    ("panel all the way around with one seam", _has("opened")),
    ("automatic darts", lambda p, _: p.get("darts") == "auto" or isinstance(p.get("darts"), Mapping)),
    ("part laid over others (skin)", _all(_kind("panel"), _has("over"))),
    ("plate from points", _all(_kind("plate"), _shape("polygon"))),
    ("outline of legs, arcs and curves", _shape("path")),
    ("outline of a spline or superellipse", _shape("spline", "superellipse")),
    ("slot", _shape("slot")),
    ("text", _shape("text", "stencil_text")),
    ("imported SVG outline", _shape("svg")),
    ("rim lip that stands proud", _all(_kind("band"), _has("proud"))),
    ("hoop or band around an outline", _all(_kind("band"), lambda p, _: "opening" not in p["along"])),
    ("tapered band", _has("end_width")),
    ("trim allowance at a named end", _has("trim")),
    ("rod bought round", _all(_kind("rod"), lambda p, _: p.get("made", "bought") == "bought")),
    (
        "rod laminated or wrapped from sheet",
        _all(_kind("rod"), lambda p, _: p.get("made", "bought") != "bought"),
    ),
    ("repeat along a line", _repeat("step")),
    ("repeat at places of their own", _repeat("moves")),
    ("repeat around a circle", _repeat("around")),
    ("repeat in a grid", _repeat("grid")),
    ("repeat along a curve, gaps equal or tapering", _repeat("along")),
    ("laminated part", lambda p, _: isinstance(p.get("layers"), int) and p["layers"] > 1),
    ("pins that align layers", _has("pins")),
    ("mirrored pair", _has("mirror")),
    ("slots and tabs", _has("tabs")),
    ("rigid part with kerf or engraving", _rigid),
    ("cradle cut from a hull's section", _shape("section")),
    ("edge finish by sanding", _has("edge")),
    ("split with a named joint", _has("split")),
    ("curved part placed onto a form", _shape("onto")),
)


def items() -> tuple[tuple[str, Uses], ...]:
    """The vocabulary: what is made of parts, then the kinds of part that are a word of the trade by themselves."""
    return (*_ITEMS, *((one.in_trade, _kind(one.name)) for one in kinds() if one.in_trade))


def usage_markdown(folder: str | Path) -> str:
    """Table: item, at most two designs with the part that uses it, and a picture of the first of them.

    A dash stands where no design uses an item, and where a part stands nowhere and has no picture.
    """
    rows = ["| item | used by | picture |", "| --- | --- | --- |"]
    for name, uses in _uses(Path(folder)).items():
        used = ", ".join(f"{design}: `{part}`" for design, part in uses)
        pictures = [picture_of(*one) for one in uses if (Path(folder) / picture_of(*one)).exists()]
        shown = f'<img src="{pictures[0]}" width="110" alt="{name}">' if pictures else "-"
        rows.append(f"| {name} | {used or '-'} | {shown} |")
    return "\n".join(rows) + "\n"


def examples(folder: str | Path) -> dict[str, tuple[str, ...]]:
    """The parts that the table names, by design."""
    named: dict[str, dict[str, None]] = {}
    for uses in _uses(Path(folder)).values():
        for design, part in uses:
            named.setdefault(design, {})[part] = None
    return {design: tuple(parts) for design, parts in named.items()}


def picture_of(design: str, part: str) -> str:
    """Where the picture of a part lies, below the folder of the designs."""
    return f"pictures/parts/{design}-{part.replace('_', '-')}.svg"


def _uses(folder: Path) -> dict[str, list[tuple[str, str]]]:
    """For each item at most two (design, part) that use it."""
    designs = {path.stem: _written(path) for path in sorted(folder.glob("*.yaml"))}
    table: dict[str, list[tuple[str, str]]] = {}
    for name, uses in items():
        firsts = [
            (design_id, next((key for key, value in design["parts"].items() if uses(value, design)), None))
            for design_id, design in designs.items()
        ]
        table[name] = [(design, part) for design, part in firsts if part][:2]
    return table


def _written(path: Path) -> Raw:
    """The file as written, the stock of its fragments added."""
    data = yaml.safe_load(path.read_text("utf-8"))
    stock: dict[str, Any] = {}
    for fragment in data.get("include", ()):
        stock |= yaml.safe_load((path.parent / fragment).read_text("utf-8")).get("stock", {})
    data["stock"] = stock | data.get("stock", {})
    return data

"""From a design file to a Design: the whole step put together."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

from foamwright import __version__
from foamwright.design.budget import check_budget
from foamwright.design.checks import check_figure, check_form, check_pairs, check_part, check_standing
from foamwright.design.lengths import printed
from foamwright.design.letters import unfit
from foamwright.design.members import expanded, named
from foamwright.design.messages import mistake
from foamwright.design.parameters import (
    THICKNESS,
    Formula,
    behind,
    dimensions_of,
    formulas,
    idle,
    parameters,
    replaced,
    values_of,
)
from foamwright.design.read import read_source
from foamwright.design.records import Bought, CutSpec, Design, FormSpec, PartSpec, Stock
from foamwright.design.references import check_order
from foamwright.design.resolve import Resolver
from foamwright.design.schema import applicable, schema
from foamwright.design.source import Source
from foamwright.registry import kind

ALL = "all"  # where a size is asked for: every one
LETTERS = "ABCDEFGHJKMNPQSTUWXYZ"  # without L, R (sides), V (marks a place) and I, O (look like digits)
_MOST_LETTERS = 40  # of what was changed, in the name of a size

_ARTICLE = re.compile(r"^(an?|the|eine?|der|die|das)\s+(?=\S)", re.IGNORECASE)
_FILE_NAME = re.compile(r"\w([\w .+()-]*[\w+)-])?")


def load(path: str | Path, size: str | None = None, overrides: Mapping[str, str | float] = {}) -> Design:
    """The design in a file at one size (the first if None), with other values for some parameters.

    `overrides` maps parameter names to numbers, lengths as the trade writes them, or expressions.
    Raises DesignError, one line, for the first mistake found.
    """
    return _design(read_source(path), Path(path), size, overrides)


def sizes(path: str | Path) -> tuple[str, ...]:
    """Names of the sizes of the design in a file; the first is the default."""
    return tuple(read_source(path).data["sizes"])


def _channel(told: Mapping[str, Any], stands_for: Mapping[str, tuple[str, ...]]) -> Mapping[str, Any]:
    """Where the maker can be found, with the times of the film for the parts that a pack lists."""
    if "times" not in told:
        return told
    times = {part: at for name, at in told["times"].items() for part in named((name,), stands_for)}
    return {**told, "times": times}


def check_all(path: str | Path) -> tuple[Design, ...]:
    """The design in a file at each of its sizes; raises DesignError if any of them is wrong."""
    source = read_source(path)
    return tuple(_design(source, Path(path), size, {}) for size in source.data["sizes"])


def check_file_name(path: Path) -> None:
    """The name of a design's file names folders and archives. Raises DesignError for one that should not."""
    if not _FILE_NAME.fullmatch(path.stem) or unfit(path.stem) or len(path.stem.encode("utf-8", "replace")) > 100:
        wrong = f"{path.stem[:60]!r} names the pack's folder"
        expected = "letters, digits, blanks within, - _ + . (a letter or digit first), 100 bytes at most"
        raise mistake(path.as_posix(), wrong, expected)


def _design(source: Source, path: Path, size: str | None, overrides: Mapping[str, str | float]) -> Design:
    check_file_name(path)
    data = source.data
    if ALL in data["sizes"]:
        wrong = f"a size called {ALL}, which stands for every size where one is asked for"
        raise mistake(source.where_key(("sizes", ALL)), wrong, "another name")
    size = next(iter(data["sizes"])) if size is None else size
    if size not in data["sizes"]:
        raise mistake(source.file, f"unknown size {size!r}", "", size, data["sizes"])
    written = formulas(source)
    as_named = values_of(_changed(written, source, size, {}))
    in_force = _changed(written, source, size, overrides)
    values = values_of(in_force)
    changes = _changes(overrides, values, as_named)
    records = parameters(source, in_force, values)

    resolver = Resolver(source, path.parent, values, dimensions_of(source, in_force))
    properties = schema()["properties"]
    forms = {
        name: _form(name, resolver.section(properties["forms"]["additionalProperties"], ("forms", name)), source)
        for name in data.get("forms", ())
    }
    for form in forms.values():
        check_form(form, source)
    parts = []
    for index, name in enumerate(data["parts"]):
        values_ = resolver.section(properties["parts"]["additionalProperties"], ("parts", name))
        parts.append(_part(name, label(index), values_, source))
        check_part(parts[-1], forms, source)
    check_order(tuple(parts), source)
    members, stands_for = expanded(parts, {name: values[name + THICKNESS] for name in data["stock"]})
    check_budget(members, source)
    without_scale = _check_scale(
        source, written, resolver.names, {*overrides, *source.data["sizes"][size].get("set", {})}
    )

    rest = {
        key: resolver.section(properties[key], (key,))
        for key in ("joins", "overlaps", "supplies", "steps", "figure", "stands")
        if key in data
    }
    figure = _figure(rest.get("figure"), size, source, resolver)
    joins, overlaps = rest.get("joins", ()), rest.get("overlaps", ())
    check_pairs([(("joins", i), join["parts"]) for i, join in enumerate(joins)], source)
    check_pairs([(("overlaps", i), pair) for i, pair in enumerate(overlaps)], source)
    for i, step in enumerate(rest.get("steps", ())):
        check_standing({part: ("steps", i, "parts", k) for k, part in enumerate(step["parts"])}, source)
    supplies = {name: _bought(name, values, forms, source) for name, values in rest.get("supplies", {}).items()}
    channel = data.get("channel", {})
    for key, what, known in (("times", "part", data["parts"]), ("suppliers", "stock", data["stock"])):
        for name in channel.get(key, ()):
            if name not in known:
                raise mistake(source.where_key(("channel", key, name)), f"unknown {what} {name!r}", "", name, known)
    check_figure(figure, _figure_route(source, size), rest.get("stands"), forms, source)
    stock_schema = properties["stock"]["additionalProperties"]
    stock = {name: _stock(name, resolver.section(stock_schema, ("stock", name)), values) for name in data["stock"]}
    return Design(
        id=path.stem,
        name=data["name"],
        version=data["version"],
        licence=data["licence"],
        author=data.get("author", ""),
        summary=data.get("summary", ""),
        size=_size_name(size, changes),
        size_note=_size_note(size, changes, {record.name: record.unit for record in records})
        if changes
        else data["sizes"][size].get("note", ""),
        parameters=records,
        stock=stock,
        forms=forms,
        parts=tuple(replace(part, label=label(index)) for index, part in enumerate(members)),
        figure=figure,
        expected_overlaps=tuple(pair for a, b in overlaps for pair in product(stands_for[a], stands_for[b])),
        steps=tuple({**step, "parts": named(step["parts"], stands_for)} for step in rest.get("steps", ())),
        digest=_digest(source.inputs | resolver.inputs, size, changes, parts),
        folder=path.parent.as_posix(),
        joins=tuple(
            {**join, "parts": pair} for join in joins for pair in product(*(stands_for[part] for part in join["parts"]))
        ),
        stands=rest.get("stands"),
        base_size=size,
        changes=changes,
        address=data.get("address", ""),
        history=tuple(data.get("history", ())),
        channel=_channel(channel, stands_for),
        supplies=supplies,
        used_by=tuple(data.get("used_by", ())),
        lit_by=data.get("lit_by", ""),
        language=data.get("language", "en"),
        printed_units=data.get("printed_units", "mm"),
        notes=(
            *resolver.notes,
            *without_scale,
            *(
                f"{source.where_key(('parameters', name))}: {name} is used by nothing"
                for name in idle(source, written, resolver.names)
            ),
        ),
    )


def _figure(
    of_all: Mapping[str, Any] | None, size: str, source: Source, resolver: Resolver
) -> Mapping[str, Any] | None:
    """The figure at one size, named without an article, as it stands in sentences. DesignError: a size changes it, and the design
    has none."""
    if "figure" not in source.data["sizes"][size]:
        return None if of_all is None else {**of_all, "name": _ARTICLE.sub("", of_all["name"])}
    route = ("sizes", size, "figure")
    if of_all is None:
        raise mistake(source.where_key(route), "a size that changes the figure of a design without one", "figure")
    entry = schema()["properties"]["sizes"]["additionalProperties"]
    fields = next(rule["properties"] for rule in applicable(entry, {}) if "properties" in rule)
    own = {**of_all, **resolver.section(fields["figure"], route)}
    return {**own, "name": _ARTICLE.sub("", own["name"])}


def _figure_route(source: Source, size: str) -> tuple[str, ...]:
    """Where it stands which way the figure goes in at a size."""
    own = source.data["sizes"][size].get("figure", {})
    return ("sizes", size, "figure") if "enters" in own else ("figure",)


def _bought(name: str, values: Mapping[str, Any], forms: Mapping[str, FormSpec], source: Source) -> Bought:
    if "length" in values and "count" in values:
        raise mistake(source.where_key(("supplies", name, "count")), "a count beside a length", "one of them")
    through = tuple(map(tuple, values.get("through", ())))
    if through and "size" not in values:
        raise mistake(source.where_key(("supplies", name, "through")), "a strap without a size", "its width as size")
    cuts = [cut.id for form in forms.values() for cut in form.cuts]
    for i, k, cut in ((i, k, cut) for i, names in enumerate(through) for k, cut in enumerate(names)):
        if cut not in cuts:
            raise mistake(source.where(("supplies", name, "through", i, k)), f"unknown cut {cut!r}", "", cut, cuts)
    return Bought(
        values["name"],
        values.get("size"),
        values.get("length"),
        values.get("count", 1),
        values.get("note", ""),
        through,
    )


def _changes(
    overrides: Mapping[str, str | float], values: Mapping[str, float], as_named: Mapping[str, float]
) -> dict[str, float]:
    """The values of the caller that differ from those of the named size; in the file's order of parameters."""
    return {name: values[name] for name in as_named if name in overrides and values[name] != as_named[name]}


def _size_name(size: str, changes: Mapping[str, float]) -> str:
    """A name of its own for a size with other values, fit for a folder: what was changed, and a short hash of it."""
    if not changes:
        return size
    told = "-".join(f"{name}-{value:.6g}" for name, value in changes.items())[:_MOST_LETTERS].rstrip("-.")
    whole = "".join(f"{name}={value!r};" for name, value in sorted(changes.items()))
    return f"{size}-{told}-{hashlib.sha256(whole.encode()).hexdigest()[:6]}"


def _size_note(size: str, changes: Mapping[str, float], units: Mapping[str, str]) -> str:
    """What the size is, where the file's own note no longer holds."""
    told = ", ".join(f"{name} = {printed(value, units[name])}" for name, value in changes.items())
    return f"made to order from size {size}: {told}"


def _changed(
    written: Mapping[str, Formula], source: Source, size: str, overrides: Mapping[str, str | float]
) -> Mapping[str, Formula]:
    """The formulas of the file, then the changes of the size, then those of the caller."""
    for other, entry in source.data["sizes"].items():
        for name in entry.get("set", {}):
            if name not in written:
                place = source.where_key(("sizes", other, "set", name))
                raise mistake(place, f"unknown parameter {name!r}", "", name, written)
    changes = source.data["sizes"][size].get("set", {})
    sized = replaced(written, changes, {name: source.where(("sizes", size, "set", name)) for name in changes})
    return replaced(sized, overrides, {name: f"{source.file}: {name}={raw}" for name, raw in overrides.items()})


def _check_scale(source: Source, written: Mapping[str, Formula], names: set[str], stated: set[str]) -> tuple[str, ...]:
    """`scale` should reach some form or part, and must not reach the foam; what the maker should know of it.

    Judged by the formulas of the file itself: a size or a caller may well fix what scale would set. DesignError where one of
    them has `stated` a scale that would change nothing: the pack would be of a size that its name does not tell.
    """
    for stock in source.data["stock"]:
        if "scale" in behind([stock + THICKNESS], written):
            wrong = f"the thickness of {stock!r} depends on scale"
            place = source.where(("stock", stock, "thickness"))
            raise mistake(place, wrong, "the thickness of the sheet as it is bought")
    if "scale" in behind(names, written):
        return ()
    place, wrong = source.where_key(("parameters", "scale")), "scale has no effect: no form or part depends on it"
    if "scale" in stated:
        raise mistake(place, f"{wrong}, and a size or a caller sets it", "lengths that are multiplied by scale")
    return (f"{place}: {wrong}",)


def _form(name: str, values: dict[str, Any], source: Source) -> FormSpec:
    kind, cuts = values.pop("kind"), values.pop("cuts")
    specs = []
    for cut, content in cuts.items():
        (cut_kind, cut_values), *_ = content.items()
        specs.append(CutSpec(cut, cut_kind, cut_values, source.where_key(("forms", name, "cuts", cut))))
    return FormSpec(name, kind, values, tuple(specs), source.where_key(("forms", name)))


def _part(name: str, letters: str, values: dict[str, Any], source: Source) -> PartSpec:
    kind, stock = values.pop("kind"), values.pop("stock")
    title = values.pop("name", name.replace("_", " ").capitalize())
    return PartSpec(name, letters, title, kind, stock, values, source.where_key(("parts", name)))


def _stock(name: str, values: dict[str, Any], parameters: Mapping[str, float]) -> Stock:
    """A stock at its thickness of today: where its name tells that of the file, it tells the other."""
    written, thickness = values["thickness"], parameters[name + THICKNESS]
    title = re.sub(rf"(?<![\d.,]){re.escape(f'{written:g}')}(?= ?mm\b)", f"{thickness:g}", values["name"])
    return Stock(id=name, **{**values, "name": title, "thickness": thickness})


def label(index: int) -> str:
    """The label of the part at a place in the file, from 0: a letter of `LETTERS`, then two of them: AA, AB, ..."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, len(LETTERS))
        letters = LETTERS[rest] + letters
    return letters


def _digest(inputs: Mapping[str, bytes], size: str, overrides: Mapping[str, float], parts: Iterable[PartSpec]) -> str:
    """SHA-256 over everything the design depends on; file names count from the design's folder.

    Packages that gave a kind of part, or the solid of one, count with their versions.
    """
    packages = {(part.kind, package) for part in parts for package in kind(part.kind).packages(part)}
    digest = hashlib.sha256()
    records = [
        b"program " + __version__.encode(),
        b"size " + size.encode(),
        *(f"set {name}={value!r}".encode() for name, value in sorted(overrides.items())),
        *(f"kind {name} {package}".encode() for name, package in sorted(packages)),
        *(
            b"file " + name.encode() + b" " + hashlib.sha256(content).digest()
            for name, content in sorted(inputs.items())
        ),
    ]
    for record in records:
        digest.update(len(record).to_bytes(8, "big") + record)
    return digest.hexdigest()

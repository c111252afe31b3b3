"""The parameters of a design worked out, in whatever order they refer to each other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from graphlib import TopologicalSorter

from foamwright.design.dimensions import ANGLE, ANY, AREA, FITS, LENGTH, NUMBER, OF_UNIT
from foamwright.design.expressions import Expression, ExpressionError, evaluate, is_reserved, measures, parse
from foamwright.design.messages import mistake
from foamwright.design.records import Parameter, Where
from foamwright.design.references import circle_in
from foamwright.design.schema import bounds_broken, schema
from foamwright.design.source import Source

THICKNESS = "_thickness"  # after the id of a stock: the parameter that holds its thickness

ALWAYS = ("scale", "clearance")  # every design has them, whether it needs them or not


@dataclass(frozen=True)
class Formula:
    """A number as the file writes it, and where."""

    expression: Expression
    place: Where | str


def formula(raw: float | str, place: Where | str) -> Formula:
    """Read a quantity; raises DesignError if it is not arithmetic."""
    try:
        return Formula(parse(raw if isinstance(raw, str) else repr(raw)), place)
    except ExpressionError as error:
        raise mistake(place, *error.clauses) from None


def work_out(formula: Formula, values: Mapping[str, float]) -> float:
    """The value of a formula; raises DesignError where there is none."""
    try:
        return evaluate(formula.expression, values)
    except ExpressionError as error:
        raise mistake(formula.place, *error.clauses) from None


def formulas(source: Source) -> dict[str, Formula]:
    """The formula of every parameter as the file has it, stock thicknesses among them.

    Raises DesignError for a name that is reserved or taken, and for what is not arithmetic.
    """
    by_name = {}
    for name, entry in source.data["parameters"].items():
        if is_reserved(name):
            wrong = f"{name!r} means something in expressions"
            raise mistake(source.where_key(("parameters", name)), wrong, "another name")
        by_name[name] = formula(entry["value"], source.where(("parameters", name, "value")))
    for stock, entry in source.data["stock"].items():
        name = stock + THICKNESS
        if name in by_name:
            wrong = f"the parameter {name!r} is there already: the thickness of the stock {stock!r}"
            raise mistake(source.where_key(("parameters", name)), wrong, "another name")
        route = ("stock", stock, "thickness")
        by_name[name] = formula(source.with_unit(entry["thickness"], route), source.where(route))
    for name, one in by_name.items():
        for unknown in sorted(one.expression.names - by_name.keys()):
            others = [other for other in by_name if other != name]
            raise mistake(one.place, f"unknown parameter {unknown!r}", "", unknown, others)
    return by_name


def replaced(
    base: Mapping[str, Formula], changes: Mapping[str, float | str], places: Mapping[str, Where | str]
) -> dict[str, Formula]:
    """`base` with other formulas for some parameters; `places` says where each change stands."""
    result = dict(base)
    for name, raw in changes.items():
        if name not in base:
            raise mistake(places[name], f"unknown parameter {name!r}", "", name, base)
        result[name] = formula(raw, places[name])
    return result


def values_of(by_name: Mapping[str, Formula]) -> dict[str, float]:
    """The value of every parameter; raises DesignError, printing the circle, if one depends on itself."""
    needs = {name: sorted(one.expression.names & by_name.keys()) for name, one in by_name.items()}
    circle = circle_in(needs)
    if circle:
        text = " -> ".join((*circle, circle[0]))
        raise mistake(
            by_name[circle[0]].place, f"parameters depend on each other: {text}", "one that needs none of them"
        )
    values: dict[str, float] = {}
    for name in TopologicalSorter(needs).static_order():
        values[name] = work_out(by_name[name], values)
    return values


def dimensions_of(source: Source, by_name: Mapping[str, Formula]) -> dict[str, str]:
    """What each parameter measures: as its unit says, or else its formula. Raises DesignError where they differ.

    `scale` is a plain number: it multiplies lengths, which stay lengths.
    """
    needs = {name: sorted(one.expression.names & by_name.keys()) for name, one in by_name.items()}
    known: dict[str, str] = {}
    for name in TopologicalSorter(needs).static_order():
        one = by_name[name]
        stated = OF_UNIT.get(source.data["parameters"].get(name, {}).get("unit", ""), ANY)
        if name.endswith(THICKNESS) and name.removesuffix(THICKNESS) in source.data["stock"]:
            stated = LENGTH
        if name == "scale":
            stated = NUMBER
        measured = measured_by(one, known)
        field = {LENGTH: "length", ANGLE: "angle", NUMBER: "number"}.get(stated, "any")
        refuse_unlike(one, measured, field, name)
        # a bare number in a parameter without unit may be whatever it is used for
        known[name] = stated if stated != ANY else measured if measured in (LENGTH, AREA, ANGLE) else ANY
    return known


def measured_by(one: Formula, known: Mapping[str, str]) -> str:
    """What a formula measures. Raises DesignError where it mixes lengths and angles."""
    try:
        return measures(one.expression, known)
    except ExpressionError as error:
        raise mistake(one.place, *error.clauses) from None


def refuse_unlike(one: Formula, measured: str, field: str, what: str) -> None:
    """Raises DesignError where a field of that sort cannot take what is measured."""
    if measured not in FITS[field]:
        noun = {"length": "a length", "angle": "an angle", "number": "a plain number", "count": "a whole number"}[field]
        given = {LENGTH: "a length", AREA: "a product or power of lengths", ANGLE: "an angle"}[measured]
        raise mistake(one.place, f"{one.expression.text!r} in {what} is {given}", noun)


def behind(names: Iterable[str], by_name: Mapping[str, Formula]) -> set[str]:
    """The parameters that `names` depend on, directly or through others, themselves included."""
    seen: set[str] = set()
    todo = list(names)
    while todo:
        name = todo.pop()
        if name in by_name and name not in seen:
            seen.add(name)
            todo += by_name[name].expression.names
    return seen


def idle(source: Source, by_name: Mapping[str, Formula], names: Iterable[str]) -> list[str]:
    """The parameters of the file that change nothing: neither `names`, nor a thickness, a limit or a size depends on them."""
    entries, sizes = source.data["parameters"], source.data["sizes"].values()
    texts = [entry[key] for entry in entries.values() for key in ("min", "max") if key in entry]
    texts += [raw for size in sizes for raw in size.get("set", {}).values()]
    also: set[str] = set().union(*(formula(raw, "").expression.names for raw in texts))
    used = behind({*names, *also, *(stock + THICKNESS for stock in source.data["stock"])}, by_name)
    return [name for name in entries if name not in used and name not in ALWAYS]


def parameters(source: Source, by_name: Mapping[str, Formula], values: Mapping[str, float]) -> tuple[Parameter, ...]:
    """Every parameter as a record, in the order of the file; raises DesignError for one out of its limits."""
    records = []
    for name, entry in source.data["parameters"].items():
        route = ("parameters", name)
        limits = {}
        texts = [by_name[name].expression]
        for key in ("min", "max"):
            if key in entry:
                limit = formula(entry[key], source.where((*route, key)))
                texts.append(limit.expression)
                limits[key] = work_out(limit, values)
        written = next((e.unit for e in texts if e.unit), "")
        unit = {"none": ""}.get(entry.get("unit", written), entry.get("unit", written))
        low, high = limits.get("min"), limits.get("max")
        _inside(name, values[name], low, high, unit, by_name[name].place)
        told = entry.get("note", ""), entry.get("measure", "")
        records.append(Parameter(name, values[name], unit, low, high, *told))
    for stock, entry in source.data["stock"].items():
        name = stock + THICKNESS
        broken = bounds_broken(schema()["$defs"]["stock_entry"]["properties"]["thickness"], values[name])
        if broken:
            raise mistake(by_name[name].place, f"a thickness of {values[name]:g} mm", f"{broken} mm")
        records.append(Parameter(name, values[name], "mm", None, None, f"Thickness of {entry['name']}"))
    return tuple(records)


def _inside(name: str, value: float, low: float | None, high: float | None, unit: str, place: Where | str) -> None:
    unit = f" {unit}" if unit else ""
    if low is not None and high is not None and low > high:
        raise mistake(
            place, f"{name} has a minimum of {low:g}{unit} above its maximum of {high:g}{unit}", "the smaller as min"
        )
    if low is not None and value < low:
        raise mistake(place, f"{name} is {value:g}{unit}, below its minimum", f"at least {low:g}{unit}")
    if high is not None and value > high:
        raise mistake(place, f"{name} is {value:g}{unit}, above its maximum", f"at most {high:g}{unit}")

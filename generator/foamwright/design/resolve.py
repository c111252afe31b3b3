"""Data and schema walked together: every quantity worked out, every default filled in, every id looked up."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from foamwright.design.dimensions import LENGTH
from foamwright.design.files import MOST_TOGETHER
from foamwright.design.members import whole_of
from foamwright.design.messages import mistake
from foamwright.design.parameters import formula, measured_by, refuse_unlike, work_out
from foamwright.design.read import read_input, repository
from foamwright.design.schema import applicable, bounds_broken
from foamwright.design.source import Route, Source

_WORDS = {"forms": "form", "parts": "part", "stock": "stock", "supplies": "supply"}


@dataclass
class Resolver:
    """Works out the sections of one design at one set of parameter values."""

    source: Source
    folder: Path
    values: Mapping[str, float]
    dimensions: Mapping[str, str] = field(default_factory=dict)  # what each parameter measures
    names: set[str] = field(default_factory=set)  # parameters met so far
    inputs: dict[str, bytes] = field(default_factory=dict)  # files named by the sections worked out so far
    notes: dict[str, None] = field(default_factory=dict)  # what the maker should know of what was met so far

    def section(self, schema: Mapping[str, Any], route: Route) -> Any:
        """The data at `route`: floats for quantities (mm, degrees), ints for counts, tuples for lists.

        Raises DesignError for arithmetic without an answer, a number out of bounds or an unknown id.
        """
        data: Any = self.source.data
        for step in route:
            data = data[step]
        return self._walk(schema, data, route)

    def _walk(self, schema: Mapping[str, Any], data: Any, route: Route) -> Any:
        rules = list(applicable(schema, data))
        quantity = _first(rules, "quantity")
        if quantity:
            return self._quantity(quantity, rules, data, route)
        if isinstance(data, list):
            items = _first(rules, "items") or {}
            values = tuple(self._walk(items, item, (*route, i)) for i, item in enumerate(data))
            if _first(rules, "nonzero") and not any(values):
                raise mistake(self.source.where(route), "a direction without length", "numbers not all 0")
            return values
        if isinstance(data, Mapping):
            return self._mapping(rules, data, route)
        section = _first(rules, "reference")
        if section:
            known = self.source.data.get(section, {})
            if data not in known:
                whole = whole_of(data, known) if section == "parts" else None
                if whole is not None:
                    wrong = f"{data!r} is a piece of the part {whole!r}, and pieces cannot be named alone"
                    raise mistake(self.source.where(route), wrong, f"{whole}, which stands for all its pieces")
                wrong = f"unknown {_WORDS[section]} {data!r}"
                expected = "" if known else f"one under `{section}`, where there is none yet"
                raise mistake(self.source.where(route), wrong, expected, data, known)
        if _first(rules, "input_file"):
            where = self.source.where(route)
            root = repository(self.folder)
            if data not in self.inputs:
                self.inputs[data] = read_input(self.folder, data, root, where, "file")[1]
                if sum(map(len, self.inputs.values())) > MOST_TOGETHER:
                    wrong = f"files of more than {MOST_TOGETHER / 1e6:g} MB together"
                    raise mistake(where, wrong, "fewer, or coarser ones")
        return data

    def _mapping(self, rules: list[Mapping[str, Any]], data: Mapping[str, Any], route: Route) -> dict[str, Any]:
        properties: dict[str, Any] = {}
        for rule in rules:
            for key, inner in rule.get("properties", {}).items():
                properties.setdefault(key, inner)
        other = _first(rules, "additionalProperties") or {}
        result = {}
        for key, value in data.items():
            inner = properties.get(key, other)
            result[self._name_now(key, inner, data, route)] = self._walk(inner, value, (*route, key))
        for key, inner in properties.items():
            if key not in result:
                given = next((rule for rule in applicable(inner, None) if "default" in rule), None)
                if given is not None:
                    result[key] = self._walk(inner, given["default"], (*route, key))
        if _first(rules, "placement"):
            result.setdefault("up", default_up(result["normal"]))
        return result

    def _name_now(self, key: str, rule: Mapping[str, Any], data: Mapping[str, Any], route: Route) -> str:
        """The name of a key, where the file may use the one that it had before."""
        now = rule.get("renamed")
        if now is None:
            return key
        place = self.source.where_key((*route, key))
        if now in data:
            raise mistake(place, f"{key!r} beside {now!r}, which is its name now", f"{now} alone")
        self.notes[f"{place}: {key!r} is called {now!r} now"] = None
        return str(now)

    def _quantity(self, quantity: str, rules: list[Mapping[str, Any]], raw: float | str, route: Route) -> float | int:
        place = self.source.where(route)
        one = formula(self.source.with_unit(raw, route) if quantity == "length" else raw, place)
        self.names |= one.expression.names
        refuse_unlike(one, measured_by(one, self.dimensions), quantity, ".".join(map(str, route)))
        value = work_out(one, self.values)
        lengths = {name for name in one.expression.names if self.dimensions.get(name) == LENGTH}
        if quantity == "length" and value and not lengths | one.expression.units and self.source.in_inches(route):
            wrong = (
                f"{raw!r} in {'.'.join(map(str, route))} has no unit: it would be {value:g} mm in a design in inches"
            )
            raise mistake(place, wrong, "a unit in it, as in 2 in * scale")
        for rule in rules:
            broken = bounds_broken(rule, value)
            if broken:
                shown = f"{raw!r} is {value:g}" if isinstance(raw, str) else f"{value:g}"
                raise mistake(place, f"{shown} in {'.'.join(map(str, route))}", broken)
        if quantity == "count":
            if value != int(value):
                raise mistake(place, f"{value:g} in {'.'.join(map(str, route))}", "a whole number")
            return int(value)
        return value


def default_up(normal: str | Iterable[float]) -> str:
    """The way up of a flat part that does not say: z, or x where it lies nearly level."""
    if isinstance(normal, str):
        return "x" if normal.endswith("z") else "z"
    return "x" if abs(tuple(normal)[2]) > 0.99 * math.hypot(*normal) else "z"


def _first(rules: Iterable[Mapping[str, Any]], keyword: str) -> Any:
    return next((rule[keyword] for rule in rules if keyword in rule), None)

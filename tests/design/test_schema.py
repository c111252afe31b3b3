"""The schema that is written from the declared fields: a schema by its standard, and current where it is kept."""

import json
from pathlib import Path

import jsonschema
import yaml

from foamwright.design import starter
from foamwright.design.editor import schema_text
from foamwright.design.read import read_source
from foamwright.design.schema import schema

DESIGNS = Path(__file__).parents[2] / "designs"


def test_it_is_a_schema_by_the_standard():
    jsonschema.Draft202012Validator.check_schema(schema())


def test_the_file_for_editors_is_current():
    text = (DESIGNS / "schema.json").read_text("utf-8")
    assert text == schema_text(), "run: python -m foamwright.design.editor designs/schema.json"


def test_every_design_names_the_file_for_editors():
    for path in (*DESIGNS.glob("*.yaml"), *DESIGNS.glob("stock/*.yaml")):
        header = path.read_text("utf-8").splitlines()[0]
        assert header.startswith("# yaml-language-server: $schema=")
        name, _, inside = header.partition("$schema=")[2].partition("#")
        assert (path.parent / name).resolve() == DESIGNS / "schema.json"
        node = json.loads((DESIGNS / "schema.json").read_text("utf-8"))
        for key in inside.strip("/").split("/"):
            node = node[key] if key else node
        data = read_source(path).data if not inside else yaml.safe_load(path.read_text("utf-8"))
        jsonschema.Draft202012Validator({**node, "$defs": schema()["$defs"]}).validate(data)


def test_every_reference_leads_somewhere():
    whole = schema()

    def references(node):
        if isinstance(node, dict):
            if "$ref" in node:
                yield node["$ref"]
            for value in node.values():
                yield from references(value)
        elif isinstance(node, list):
            for value in node:
                yield from references(value)

    for reference in set(references(whole)):
        node = whole
        for key in reference.removeprefix("#/").split("/"):
            node = node[key]


def test_every_key_is_described():
    for name, definition in schema()["$defs"].items():
        for key, node in definition.get("properties", {}).items():
            while "description" not in node:
                assert "$ref" in node, f"{name}.{key}"
                target = schema()
                for step in node["$ref"].removeprefix("#/").split("/"):
                    target = target[step]
                node = target


def test_a_standard_validator_and_the_program_refuse_the_same_changes():
    """Every value of the starting design left out or replaced by one of another type: the standard validator that
    editors use and the program's own reader agree which of these the schema refuses."""
    from foamwright.design.records import Where
    from foamwright.design.source import Source
    from foamwright.design.validate import validate
    from foamwright.errors import DesignError

    design = yaml.safe_load(starter("Lamp"))
    standard = jsonschema.Draft202012Validator(json.loads((DESIGNS / "schema.json").read_text("utf-8")))

    def refused(data):
        source = Source("lamp.yaml", data, {(): Where("lamp.yaml", 1, 1)})
        try:
            validate(source, None)
        except DesignError:
            return True
        return False

    def routes(data, route=()):
        yield route
        for step, value in (
            data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
        ):
            yield from routes(value, (*route, step))

    counts = {True: 0, False: 0}
    for route in list(routes(design))[1::5]:
        for change in ("drop", None, [], {}, True, "x", -1):
            data = json.loads(json.dumps(design))
            holder = data
            for step in route[:-1]:
                holder = holder[step]
            if change == "drop":
                del holder[route[-1]]
            else:
                holder[route[-1]] = change
            wrong = not standard.is_valid(data)
            assert refused(data) == wrong, (route, change)
            counts[wrong] += 1
    assert counts[True] > 150 and counts[False] > 30

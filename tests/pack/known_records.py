"""What the stages of a pack have made, for records of a hand-made prop; the schema as readers have it, and strict."""

import json
from pathlib import Path

import foamwright.pack
from foamwright.contacts.records import Contacts

SCHEMA = json.loads((Path(foamwright.pack.__file__).parent / "schema.json").read_text("utf-8"))


def _closed(schema):
    """The schema with every object that lists its fields closed to others."""
    if isinstance(schema, list):
        return [_closed(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    made = {key: _closed(value) for key, value in schema.items()}
    return made | {"additionalProperties": False} if isinstance(made.get("properties"), dict) else made


STRICT = _closed(SCHEMA)


def known(prop, patterns, **more):
    """Everything that a record of a whole pack is made from: nothing is found, on no sheet and no page."""
    nothing = {
        "figure": None,
        "fit": None,
        "interferences": (),
        "balance": None,
        "notes": (),
        "sheets": (),
        "documents": {},
        "files": {},
    }
    given = {"design": prop.design, "libraries": {"numpy": "2.0"}, "contacts": Contacts(1.0, ())}
    return {**given, "prop": prop, "patterns": patterns, **nothing, **more}

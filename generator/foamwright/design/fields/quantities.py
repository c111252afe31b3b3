"""Numbers, directions, points and ids, as a design file writes them."""

from __future__ import annotations

from foamwright.design.fields.declare import Named, Node, exactly, listed, one_of

Vector = tuple[float, float, float]
Direction = str | Vector
Point = tuple[float, float, float]
FlatPoint = tuple[float, float]


FARTHEST = 50_000  # mm: as far as any length goes


def _quantity(name: str, quantity: str, text: str, **bounds: float) -> Named:
    return Named(name, {"description": text, "type": ["number", "string"], "quantity": quantity, **bounds})


LENGTH = _quantity(
    "length",
    "length",
    "A length: a number (in the design's `units`), a length as the trade writes it (6 mm, 2.5 cm, 1 1/8 in, 3/16\", "
    "5' 2\") or an expression over parameters.",
    minimum=-FARTHEST,
    maximum=FARTHEST,
)
ANGLE = _quantity(
    "angle", "angle", "An angle in degrees: a number or an expression over parameters.", minimum=-3600, maximum=3600
)
NUMBER = _quantity("number", "number", "A plain number, or an expression over parameters.", minimum=-1e6, maximum=1e6)
COUNT = _quantity(
    "count", "count", "A whole number from 1, or an expression over parameters that gives one.", minimum=1, maximum=1000
)
QUANTITY = _quantity(
    "any_quantity",
    "any",
    "A number, a length as the trade writes it, or an expression over parameters.",
    minimum=-1e6,
    maximum=1e6,
)


def _told(name: str, text: str, node: Node) -> Named:
    return Named(name, {"description": text, **node})


AXIS = _told("axis", "x is forward, y to the left (port), z up.", one_of("x", "y", "z"))
VECTOR = _told("vector", "Three numbers or lengths [x, y, z], not all 0.", {**exactly(3, QUANTITY), "nonzero": True})
DIRECTION = _told(
    "direction",
    "A direction: x, y, z, -x, -y, -z or [x, y, z] of any length but 0.",
    {
        "type": ["string", "array"],
        "if": {"type": "string"},
        "then": {"enum": ["x", "y", "z", "-x", "-y", "-z"]},
        "else": {"$ref": VECTOR},
    },
)
POINT = _told("point", "A point in space, [x, y, z].", exactly(3, LENGTH))
FLAT_POINT = _told("flat_point", "A point in a plane, [x, y].", exactly(2, LENGTH))


def _id(name: str, section: str) -> Named:
    return _told(name, f"An id under `{section}`.", {"type": "string", "reference": section})


FORM_ID = _id("form_id", "forms")
PART_ID = _id("part_id", "parts")
STOCK_ID = _id("stock_id", "stock")
SUPPLY_ID = _id("supply_id", "supplies")
PARTS: Node = listed(PART_ID, unique=True)

FILE: Node = {
    "type": "string",
    "minLength": 1,
    "maxLength": 250,
    "input_file": True,
}  # relative to the design, inside the same repository

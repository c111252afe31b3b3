"""What the names of parts tell of each other."""

from __future__ import annotations

from collections.abc import Iterable

# Behind a comma a thing of its own, and no word that tells which: "Lid, inner ring" is the "inner ring of the lid", "Plate, upper
# arm" the "upper arm plate".
THINGS = {"disc", "floor", "knob", "lid", "lip", "plate", "rim", "ring", "roof"}


def thing_of(name: str, names: Iterable[str]) -> str:
    """What a part is a piece of, by its name, "Bay, side", and by the `names` of all: that of which a part is the floor or the
    lid, as in "Bay, floor and roof". "" for any other one: "Leg, front" is one of several legs."""
    head, comma, tail = name.partition(", ")
    if not comma or "," in tail:
        return ""
    tails = (other.partition(", ")[2] for other in names if other.partition(", ")[0] == head)
    return head if any(each.split()[-1].lower() in THINGS for each in tails if each and "," not in each) else ""

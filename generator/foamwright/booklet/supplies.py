"""What a step may need beside foam and glue. Every step names what it uses, so that the list before the work is
complete."""

from __future__ import annotations

from dataclasses import dataclass

from foamwright.language import say


@dataclass(frozen=True)
class Supply:
    """`consumed`: it is used up, and stands with the materials rather than the tools."""

    name: str
    consumed: bool = False


SUPPLIES = {
    "templates": Supply("the printed templates, adhesive tape and scissors", True),
    "knife": Supply("knife with fresh blades"),
    "mat": Supply("cutting mat and steel rule"),
    "pencil": Supply("pencil, or chalk on dark foam"),
    "awl": Supply("awl or thick needle to prick marks through"),
    "compasses": Supply("compasses"),
    "brush": Supply("glue brushes or spreaders", True),
    "weights": Supply("weights and masking tape to hold joints", True),
    "slip-paper": Supply("baking paper", True),
    "heat": Supply("heat gun with a stand"),
    "sandpaper": Supply("sanding block with 120 and 240 grit paper", True),
    "pins": Supply("3 mm pins, nails or dowels to line layers up"),
    "filler": Supply("flexible gap filler", True),
    "primer": Supply("rubberised primer or flexible sealer", True),
    "paint": Supply("flexible acrylic paints and a matt varnish", True),
    "paint-brushes": Supply("soft brushes and a sponge"),
    "card-mask": Supply("low-tack tape to hold the masks", True),
    "cloth": Supply("lint-free cloths", True),
    "felt": Supply("self-adhesive felt", True),
    "saw": Supply("fine saw"),
    "guard": Supply("gloves, safety glasses, dust mask and respirator for organic vapour"),
}


def named(key: str) -> str:
    """What the reader gets or fetches. KeyError for an unknown key."""
    return say(SUPPLIES[key].name)

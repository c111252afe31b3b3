"""What a step may need beside its material and glue. Every step names what it uses, so that the list before the work is
complete."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from foamwright.language import entry, say


@dataclass(frozen=True)
class Supply:
    """What is on the bench: a tool, or what is used up (`consumed`).

    `usual`: it lies there all the time, so that a step need not name it. `signs` is a pattern of the English words that
    call for it, as they stand in sentences and in the notes of a design.
    """

    name: str
    signs: str
    consumed: bool = False
    usual: bool = False


SUPPLIES = {
    "templates": Supply(entry("the printed template pages"), r"\btemplates?\b", True, True),
    "paper-scissors": Supply(
        entry("scissors and clear adhesive tape for the paper"), r"\bTape the pages\b", False, True
    ),
    "knife": Supply(entry("craft knife with fresh blades"), r"\b[Cc]ut\b|\btrim|\bblade", False, True),
    "mat": Supply(entry("cutting mat, steel rule and tape measure"), r"\bCheck\b.* \d+ mm|straight edge", False, True),
    "pencil": Supply(
        entry("pencil, and chalk or a white pencil for dark foam"), r"\btrace|\bmark where\b", False, True
    ),
    "awl": Supply(entry("awl or thick needle"), r"\bawl\b|\b[Pp]rick|\b[Pp]ierce"),
    "compasses": Supply(entry("pair of compasses"), r"\bcompasses\b"),
    "saw": Supply(entry("fine saw"), r"\b[Ss]aw\b|fretsaw"),
    "brush": Supply(entry("old brushes or spreaders for glue"), r"\b[Gg]lue\b|\b[Cc]oat (both|the whole)", True, True),
    "weights": Supply(
        entry("weights, clamps and masking tape"), r"\b[Ww]eigh(t|ts)\b|\bmasking tape|\bclamp", True, True
    ),
    "slip-paper": Supply(entry("baking paper"), r"\bbaking paper\b", True),
    "heat": Supply(entry("heat gun with a stand"), r"\bheat gun\b|\b[Ww]arm\b|\b[Hh]eat-seal"),
    "sandpaper": Supply(entry("sanding block with 120 and 240 grit paper"), r"\b[Ss]and(ing|paper)?\b", True),
    "pins": Supply(entry("pins, nails or dowels of 3 mm"), r"\bpins\b", True),
    "filler": Supply(entry("flexible gap filler"), r"\bgap filler\b", True),
    "primer": Supply(entry("rubberised primer"), r"\bprimer\b", True),
    "paint": Supply(
        entry("flexible acrylic paints, spray colour as you like, matt varnish"),
        r"\bacrylic\b|\bvarnish\b|\bspray colour\b",
        True,
    ),
    "paint-brushes": Supply(entry("soft brushes and a sponge"), r"\bsponge\b|\b[Bb]rush on\b|\bsoft brush"),
    "card-mask": Supply(entry("low-tack tape for the stencils"), r"\bstencil", True),
    "cloth": Supply(entry("lint-free cloths"), r"\bcloth\b|\b[Ww]ipe\b", True),
    "felt": Supply(entry("self-adhesive felt"), r"\bfelt\b", True),
    "gravel": Supply(entry("washed gravel or sand as ballast"), r"\bgravel\b|\bballast sand\b", True),
    "thread": Supply(entry("sewing needle and strong thread"), r"\bsew\b|\bthread\b(?! the)"),
    "strap": Supply(entry("webbing for the straps, with buckles"), r"\bstraps?\b", True),
    "guard": Supply(
        entry("gloves, safety glasses, dust mask, and a respirator for organic vapour"),
        r"\brespirator\b|\bgloves\b",
        False,
        True,
    ),
}


def named(key: str) -> str:
    """What the reader gets or fetches. KeyError for an unknown key."""
    return say(SUPPLIES[key].name)


def special(uses: Iterable[str]) -> list[str]:
    """Of what a step uses, what does not lie on the bench anyway."""
    return [key for key in uses if not SUPPLIES[key].usual]


def mentioned(texts: Iterable[str]) -> list[str]:
    """What notes of a design call for, by their English words."""
    whole = " ".join(texts)
    return [key for key, supply in SUPPLIES.items() if not supply.usual and re.search(supply.signs, whole)]

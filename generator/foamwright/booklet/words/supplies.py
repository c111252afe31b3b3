"""What a step may need beside its material and glue. Every step names what it uses, so that the list before the work is
complete."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from foamwright.assembly.naming import one_of
from foamwright.assembly.records import Step
from foamwright.design.records import Bought
from foamwright.language import count, length, phrase, say
from foamwright.parts.records import PanelBody, Piece

_THREADED = re.compile(r"\b(thread|fädel|eingefädelt)", re.IGNORECASE)


@dataclass(frozen=True)
class Supply:
    """What is on the bench: a tool, or what is used up (`consumed`) and stands in the shopping list, in `unit`s.

    `usual`: it lies there all the time, so that a step need not name it. `signs` is a pattern of the English words that
    call for it, as they stand in sentences and in the notes of a design.
    """

    name: str
    signs: str
    consumed: bool = False
    usual: bool = False
    unit: str = ""


SUPPLIES = {
    "templates": Supply(phrase("the printed template pages"), r"\btemplates?\b", False, True),
    "paper-scissors": Supply(
        phrase("scissors and clear adhesive tape for the paper"), r"\bTape the pages\b", False, True
    ),
    "knife": Supply(phrase("craft knife"), r"\b[Cc]ut\b|\btrim|\bblade", False, True),
    "mat": Supply(phrase("cutting mat and steel rule"), r"\b[Cc]ut\b", False, True),
    "measure": Supply(phrase("tape measure and straight edge"), r"\bCheck\b.* \d+ mm|straight edge", False, True),
    "set-square": Supply(phrase("set square"), r"\bset square\b"),
    "eraser": Supply(phrase("eraser"), r"\brub (out|the lines)\b"),
    "board": Supply(phrase("flat board"), r"\bunder a board\b"),
    "pencil": Supply(
        phrase("pencil, and chalk or a white pencil for dark foam"), r"\btrace|\bmark where\b", False, True
    ),
    "awl": Supply(phrase("awl or thick needle"), r"\bawl\b|\b[Pp]rick|\b[Pp]ierce"),
    "compasses": Supply(phrase("pair of compasses"), r"\bcompasses\b"),
    "circles": Supply(phrase("string, a pin and large paper, to draw circles on"), r"\bcircle drawn on paper\b"),
    "gauge": Supply(phrase("protractor, and a block cut to each angle to rest the knife on"), r"\btilt the blade\b"),
    "punch": Supply(phrase("hole punch or sharpened tube of the size of small holes"), r"\bhole punch\b"),
    "sanding-block": Supply(phrase("sanding block or stick"), r"\bsand to the angle\b"),
    "fine-brush": Supply(phrase("fine brush for letters and lines"), r"\bfine brush\b"),
    "engraver": Supply(phrase("blunt tool to engrave with, such as an empty ballpoint pen"), r"\bblunt tool\b"),
    "carbon-paper": Supply(phrase("carbon paper"), r"\bcarbon paper\b", True, False, "sheet"),
    "bend-gauges": Supply(phrase("bend gauges, with thin card and a glue stick to make them"), r"\bgauges? (“|of)"),
    "former": Supply(
        phrase("round things to bend foam over, as wide as the steps say"),
        r"\bsomething round\b|\b[Bb]end [^.,]* over\b",
    ),
    "saw": Supply(phrase("fine saw or fretsaw"), r"\b[Ss]aw\b|fretsaw"),
    "brush": Supply(
        phrase("old brushes or spreaders for glue"), r"\b[Bb]rush glue\b|\b[Cc]oat (both|the whole)", True, True, "pack"
    ),
    "weights": Supply(phrase("weights and clamps"), r"\b[Ww]eigh(t|ts)\b|\bclamp", False, True),
    "tape": Supply(phrase("masking tape"), r"\bmasking tape|\bwith tape\b", True, True, "roll"),
    "slip-paper": Supply(phrase("baking paper"), r"\bbaking paper\b", True, False, "roll"),
    "ball": Supply(phrase("ball or round bowl, to press foam hollow over"), r"\bover a ball\b"),
    "heat": Supply(phrase("heat gun with a stand, and work gloves"), r"\bheat gun\b|\b[Ww]arm\b|\b[Hh]eat-seal"),
    "sandpaper": Supply(phrase("abrasive paper, 120 and 240 grit"), r"\b[Ss]and(ing|paper)?\b", True, False, "pair"),
    "pins": Supply(phrase("pins, nails or dowels of 3 mm"), r"\bpins?\b", True, False, "piece"),
    "filler": Supply(phrase("flexible gap filler"), r"\bgap filler\b", True, False, "ml"),
    "primer": Supply(phrase("rubberised primer"), r"\bprimer\b", True, False, "ml"),
    "paint": Supply(phrase("flexible acrylic paints"), r"\bacrylic\b", True, False, "ml"),
    "varnish": Supply(phrase("varnish, matt or glossy"), r"\bvarnish\b", True, False, "ml"),
    "spray": Supply(phrase("spray colour as a ground, if you like"), r"\bspray colour\b", True, False, "can"),
    "wear": Supply(
        phrase("a little black acrylic paint, if you like it worn"), r"\bthinned black\b", True, False, "set"
    ),
    "chips": Supply(
        phrase("a little dark grey and silver acrylic paint, if you like chips in the metal"),
        r"\bsilver\b",
        True,
        False,
        "set",
    ),
    "paint-brushes": Supply(phrase("soft brushes and a sponge"), r"\bsponge\b|\b[Bb]rush on\b|\bsoft brush"),
    "card-mask": Supply(phrase("low-tack tape"), r"\bstencil|\blow-tack tape\b", True, False, "roll"),
    "cloth": Supply(phrase("lint-free cloths"), r"\bcloth\b|\b[Ww]ipe\b", True, False, "pack"),
    "felt": Supply(phrase("self-adhesive felt"), r"\bfelt\b", True, False, "sheet of felt"),
    "gravel": Supply(phrase("washed gravel or sand as ballast"), r"\bgravel\b|\bballast sand\b", True, False, "bag"),
    "thread": Supply(phrase("sewing needle and strong thread"), r"\b[Ss]ew\b|\bthread\b(?! the)"),
    "strap": Supply(phrase("webbing for the straps, with buckles"), r"\bstraps?\b", True, False, "set"),
    "guard": Supply(
        phrase("gloves, safety glasses, dust mask, and a respirator for organic vapour"),
        r"\brespirator\b|\bgloves\b",
        False,
        True,
    ),
}


def named(key: str) -> str:
    """What the reader gets or fetches. KeyError for an unknown key."""
    return say(SUPPLIES[key].name)


def called(bought: Bought) -> str:
    """What the design wants bought, by its name and its size across."""
    if bought.size is None:
        return bought.name
    return say("{thing}, {size}", thing=bought.name, size=length(bought.size))


def threaded(bought: Iterable[Bought], pieces: Iterable[Piece], note: str) -> list[str]:
    """How straps go through the openings of panels, in the step that uses them, where its note has no word on it."""
    straps = [one for one in bought if one.through]
    if not straps or _THREADED.search(note):
        return []
    text = []
    for piece in pieces:
        cuts = {edge.cut for edge in piece.body.edges} if isinstance(piece.body, PanelBody) else set()
        for one in straps:
            pairs = sum(cuts >= {*names} for names in one.through)
            if not pairs:
                continue
            text.append(
                count(
                    "Thread {strap} through the two openings of {part} that the picture shows: from outside in through the one, "
                    "along the inside, and out through the other.",
                    "Thread {strap} through {n} pairs of openings of {part}, as the picture shows: from outside in through the "
                    "one, along the inside, and out through the other.",
                    pairs,
                    strap=called(one),
                    part=one_of(piece),
                )
            )
    return text


_GLUES = {"contact-cement": phrase("contact cement"), "instant-glue": phrase("instant glue")}  # by caution
_GUARDS = (  # what guards the worker, and the cautions that ask for it
    (phrase("gloves"), ("contact-cement", "paint")),
    (phrase("respirator"), ("contact-cement", "paint")),
    (phrase("safety glasses"), ("instant-glue", "sanding-dust", "saw", "sawing")),
    (phrase("dust mask"), ("sanding-dust", "saw", "sawing")),
)


def ready(step: Step) -> list[str]:
    """What a step has ready: its glue, what is used in the order of the list of supplies, what the design wants for it, and
    what guards the worker."""
    glues = [say(name) for caution, name in _GLUES.items() if caution in step.cautions]
    used = set(step.uses) - {"guard"}
    guards = [say(name) for name, cautions in _GUARDS if {*cautions} & {*step.cautions}]
    return [*glues, *(named(key) for key in SUPPLIES if key in used), *step.bought, *guards]


def mentioned(texts: Iterable[str], stocks: Iterable[str] = ()) -> list[str]:
    """What notes of a design call for, by their English words; not what is called like one of the `stocks` of the parts that they
    are about, as that is meant."""
    whole, own = " ".join(texts), " ".join(stocks).lower()
    return [
        key
        for key, supply in SUPPLIES.items()
        if not supply.usual and re.search(supply.signs, whole) and not re.search(supply.signs, own)
    ]


def bought_anyway(own: Mapping[str, Bought]) -> set[str]:
    """Keys of what need not be got beside what the design wants bought (by its id), as that is it: webbing that is threaded is
    what its straps are made of."""
    told = {key: f"{key.replace('_', ' ')} {bought.name}".lower() for key, bought in own.items()}
    threaded = {"strap"} if any(bought.through for bought in own.values()) else set()
    return threaded | {
        key for key, supply in SUPPLIES.items() if any(re.search(supply.signs, text) for text in told.values())
    }

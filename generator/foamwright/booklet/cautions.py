"""Short cautions, keyed, for the steps that need them. Each leaves the last word to the maker of the product."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """`brief` stands in the box of a step, `full` on the safety page."""

    title: str
    brief: str
    full: str


LAST_WORD = "The product's safety data sheet and local rules come first."

CAUTIONS = {
    "knife": Caution(
        "Blades",
        "fresh blade, cutting mat, cut away from your hand, several light passes.",
        "Use a fresh blade and a cutting mat, cut away from your hand in several light passes, and cap the blade "
        "when you put it down. Keep used blades in a closed tin. The tool's own instructions and local rules "
        "come first.",
    ),
    "contact-cement": Caution(
        "Contact cement",
        "good cross-ventilation, no flame or spark near, gloves and respirator.",
        "The vapour is harmful and burns easily. Work outdoors or with good cross-ventilation, with no flame, spark or "
        "heater near, wear gloves and a respirator for organic vapour, and close the tin. " + LAST_WORD,
    ),
    "instant-glue": Caution(
        "Instant glue",
        "glasses on, small drops, fresh air; it bonds skin and eyelids.",
        "It bonds skin and eyelids in seconds and its vapour stings the eyes. Wear glasses, use small drops, keep "
        "air moving, and never pull stuck skin apart: soak it in warm soapy water. If it reaches an eye, see a "
        "doctor. " + LAST_WORD,
    ),
    "heat-gun": Caution(
        "Heat gun",
        "keep it moving, away from glue and paint; nozzle and foam burn skin.",
        "The nozzle and the foam burn skin, and overheated foam smokes. Keep the gun moving, keep air moving, let "
        "it cool on its stand, and away from wet glue and paint. " + LAST_WORD,
    ),
    "sanding-dust": Caution(
        "Sanding dust",
        "dust mask and glasses, collect the dust, no flame near.",
        "Foam dust must not be breathed and can catch fire. Wear a dust mask and glasses, collect the dust, and "
        "keep it from flames. " + LAST_WORD,
    ),
    "paint": Caution(
        "Sealer and paint",
        "good cross-ventilation, no flame near, gloves and respirator.",
        "Solvent vapour and spray mist are harmful and can burn. Work outdoors or with good cross-ventilation, with no "
        "flame near, wear gloves and a respirator, and let every coat dry. " + LAST_WORD,
    ),
    "small-parts": Caution(
        "Small parts",
        "keep pieces and offcuts from children and pets.",
        "Small parts and offcuts can choke. Keep them from children and pets. Before a child or a pet gets near the "
        "finished prop, pull at every part and air the prop until no smell is left; never leave a pet alone with "
        "it. " + LAST_WORD,
    ),
}

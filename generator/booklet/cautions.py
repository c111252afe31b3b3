"""Short cautions, keyed, for the steps that need them. Each leaves the last word to the maker of the product."""

from __future__ import annotations

_LAST_WORD = " The product's safety data sheet and local rules come first."

CAUTIONS = {
    "knife": (
        "Blades",
        "Use a fresh blade and a cutting mat, cut away from your hand in several light passes, and cap the "
        "blade when you put it down. Keep snapped blades in a closed tin. The tool's own instructions and local "
        "rules come first.",
    ),
    "contact-cement": (
        "Contact cement",
        "The vapour is harmful and burns easily. Work outdoors or with a through draught, with no flame, "
        "spark or heater near, wear gloves and a respirator for organic vapour, and close the tin." + _LAST_WORD,
    ),
    "instant-glue": (
        "Instant glue",
        "It bonds skin and eyelids in seconds and its vapour stings. Wear glasses, use small drops, keep air "
        "moving, and never pull stuck skin apart: soak it in warm soapy water." + _LAST_WORD,
    ),
    "heat-gun": (
        "Heat gun",
        "The nozzle and the foam burn skin, and overheated foam smokes. Keep the gun moving, keep air moving, "
        "and let it cool on its stand away from glue and paint." + _LAST_WORD,
    ),
    "sanding-dust": (
        "Sanding dust",
        "Foam dust must not be breathed and catches fire. Wear a dust mask and glasses, collect the dust, and "
        "keep it from flames." + _LAST_WORD,
    ),
    "paint": (
        "Sealer and paint",
        "Solvent vapour and spray mist are harmful and can burn. Work outdoors or with a through draught, with "
        "no flame near, wear gloves and a respirator, and let every coat dry." + _LAST_WORD,
    ),
    "small-parts": (
        "Small parts",
        "Small parts and offcuts can choke. Keep them from children and pets. Before a child or a pet gets near "
        "the finished prop, pull at every part and air the prop until no smell is left. Never leave a pet alone "
        "with it." + _LAST_WORD,
    ),
}

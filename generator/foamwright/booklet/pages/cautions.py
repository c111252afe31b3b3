"""Cautions, keyed, for the steps and the props that need them. Each leaves the last word to the maker of the product.

What they say is common practice and no legal advice; nothing in them is measured.
"""

from __future__ import annotations

from dataclasses import dataclass

from foamwright.language import phrase


@dataclass(frozen=True)
class Caution:
    """`brief` stands in the box of a step, `full` on the safety page; both are entries of the catalogue."""

    title: str
    brief: str
    full: str


LAST_WORD = phrase("The product's safety data sheet and your local rules come first.")
# what keeps the templates true, the same wherever a print is told of
PRINTING = phrase(
    "Print at 100 %, never \u201cfit to page\u201d. Measure the square on every page: if its sides are not as long "
    "as the page says, correct the scale and print again."
)
JOINING_PAGES = phrase(
    "Cut along the page edge where it says so, lay the pages so that their crosses lie on each other, and tape them."
)

CAUTIONS = {
    "knife": Caution(
        phrase("Blades"),
        phrase("fresh blade, cutting mat, cut away from your hand, several light passes."),
        phrase(
            "Use a fresh blade and a cutting mat, cut away from your hand in several light passes, and cap the blade "
            "when you put it down. Collect used blades in a closed tin."
        ),
    ),
    "saw": Caution(
        phrase("Saw and wood dust"),
        phrase("clamp the work, hands behind the blade, glasses and dust mask."),
        phrase(
            "Clamp the work and keep your hand behind the blade. Wear glasses and a dust mask: wood dust harms the "
            "lungs and can catch fire. Wipe it up damp."
        ),
    ),
    "sawing": Caution(
        phrase("Sawing"),
        phrase("clamp the work, hands behind the blade, glasses and dust mask."),
        phrase(
            "Clamp the work and keep your hand behind the blade. Wear glasses and a dust mask, and wipe the dust up damp."
        ),
    ),
    "contact-cement": Caution(
        phrase("Contact cement"),
        phrase("good cross-ventilation, no flame, spark or pilot light near, gloves and respirator."),
        phrase(
            "The vapour is harmful, heavier than air and burns easily. Work outdoors or with good cross-ventilation. "
            "Put out flames, heaters and the pilot lights of boilers and stoves, also in the next room; do not smoke. "
            "Wear gloves and a respirator for organic vapour, and close the tin. Rags and brushes with cement dry "
            "outdoors before they are thrown away."
        ),
    ),
    "instant-glue": Caution(
        phrase("Instant glue"),
        phrase("glasses on, small drops, fresh air; it bonds skin and eyelids."),
        phrase(
            "It bonds skin and eyelids in seconds and its vapour stings the eyes. Wear glasses, use small drops, keep "
            "air moving, and keep it off cotton, which it heats. Never pull stuck skin apart: soak it in warm soapy "
            "water. If it reaches an eye, see a doctor."
        ),
    ),
    "heat-gun": Caution(
        phrase("Heat gun"),
        phrase(
            "keep it moving, away from wet glue and paint; nozzle and foam burn skin: hold warm foam in work gloves."
        ),
        phrase(
            "The nozzle and the foam burn skin, and overheated foam smokes: stop and air the room. Keep the gun "
            "moving, away from wet glue and paint, and let it cool on its stand."
        ),
    ),
    "sanding-dust": Caution(
        phrase("Sanding dust"),
        phrase("dust mask and glasses, collect the dust, no flame near."),
        phrase(
            "Foam dust must not be breathed and can catch fire. Wear a dust mask and glasses, and collect the dust."
        ),
    ),
    "paint": Caution(
        phrase("Primer and paint"),
        phrase("good cross-ventilation, no flame near, gloves and respirator."),
        phrase(
            "Solvent vapour and spray mist are harmful and can burn. Work outdoors or with good cross-ventilation, with "
            "no flame near, wear gloves and a respirator, and let every coat dry."
        ),
    ),
    "small-parts": Caution(
        phrase("Small parts"),
        phrase("keep pieces and offcuts away from children and pets."),
        phrase("Small parts and offcuts can choke. Keep them away from children and pets while you work."),
    ),
    "light": Caution(
        phrase("Lights and button cells"),
        phrase("battery lights only, never a flame; keep button cells from children and pets."),
        phrase(
            "Battery lights only, never a flame or a hot lamp: foam burns. A button cell that is swallowed, or put into "
            "an ear or the nose, burns the body from inside within hours: take a light whose battery lid is screwed shut, "
            "keep it and spare cells out of reach of children and pets, and if one may have been swallowed go to an "
            "emergency department at once, before anything is seen. Spent cells stay dangerous: tape them over and take "
            "them to the collecting point. Switch the light off and take it out when nobody is there. What its maker's "
            "sheet says comes first."
        ),
    ),
    "disposal": Caution(
        phrase("Waste"),
        phrase("full or wet tins are hazardous waste; dried rags and foam go with the household waste."),
        phrase(
            "Tins with leftover cement, primer or paint are hazardous waste: take them to the collecting point and pour "
            "nothing down the drain. Foam offcuts and dried rags go with the household waste, blades in a closed tin."
        ),
    ),
}

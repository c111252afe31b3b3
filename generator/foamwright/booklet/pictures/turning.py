"""What is said below a picture that is seen from elsewhere than the one before it."""

from __future__ import annotations

from foamwright.booklet.pictures.step_views import Choice
from foamwright.language import say


def view_note(chosen: Choice, before: str, stands: bool) -> str:
    """What has changed since the picture before, which was seen from the view `before`; "" if there was none."""
    notes = []
    is_below, was_below = chosen.name.startswith("below"), before.startswith("below")
    if chosen.name != (before or "front"):
        if is_below and not was_below:
            over = before and stands
            notes.append(say("Turn it over: seen from below.") if over else say("Seen from below."))
        elif chosen.name == "front" and not was_below:
            notes.append(say("Seen from the front again."))
        elif not is_below:
            words = {
                "front": say("Turn it back: seen from the front."),
                "back": say("Turn it round: seen from behind."),
                "above": say("Seen from above."),
                "side": say("Turned: seen from the left."),
                "other": say("Turned: seen from behind on the left."),
            }
            notes.append(words[chosen.name])
    if chosen.ghosts:
        notes.append(say("Parts in front are drawn as outlines only."))
    return " ".join(notes)

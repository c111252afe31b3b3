"""The sentences of the assembly steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from foamwright.booklet import practice
from foamwright.booklet.records import Joint
from foamwright.flatten.records import Pattern, Patterns
from foamwright.flatten.segments import segment_label
from foamwright.parts.details import PIN
from foamwright.parts.records import BandBody, EdgeFinish, Piece
from foamwright.registry import kind

_VERB = {
    "panel": "Join",
    "bulkhead": "Glue in",
    "close": "Close the middle seams of",
    "band": "Fit",
    "skin": "Lay on",
    "plate": "Glue on",
    "detail": "Glue on",
    "disc": "Glue on",
}


def listed(words: Sequence[str]) -> str:
    """ "A", "A and B", "A, B and C"."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def title_of(place: str, pieces: Sequence[Piece]) -> str:
    """The heading of a step: what is done to which parts. `place` is theirs in the order."""
    kinds = [kind(name) for name in dict.fromkeys(piece.kind for piece in pieces)]
    if len(pieces) == 1:
        return f"{_VERB[place]} {kinds[0].noun(1)} {pieces[0].label}: {pieces[0].name}"
    nouns = listed([one.noun(2) for one in kinds])
    return f"{_VERB[place]} {nouns} {listed([piece.label for piece in pieces])}"


def cut_text(patterns: Patterns) -> list[str]:
    pieces = [pattern.piece for pattern in patterns.patterns]
    total = sum(p.piece.quantity * (len(p.split.segments) if p.split else 1) for p in patterns.patterns)
    singly = ", segments counted singly" if total != sum(piece.quantity for piece in pieces) else ""
    text = [
        (
            "Print every template at 100 %, measure the square on each page, and join the pages of the larger "
            "parts at their crosses."
        ),
        (
            "Lay each template on its foam, trace outline, ticks, centre notches and marks, and write label and "
            f"up arrow on every piece. There are {total} pieces of {len(pieces)} kinds{singly}."
        ),
    ]
    if any(piece.lies_on for piece in pieces):
        text.append("Where a mark says other face, prick its outline through the foam and draw it on that face.")
    if any(piece.mirrored for piece in pieces):
        text.append("For mirrored copies turn the template over.")
    if any(any(edge.bevel) for pattern in patterns.patterns for edge in pattern.edges):
        text.append("Tilt the blade by the bevel printed along the edge; all other edges are cut square.")
    else:
        text.append("Cut every edge square to the foam.")
    return text


def split_text(pattern: Pattern) -> str:
    """How a part is glued up from segments; nothing for one in a single piece."""
    split = pattern.split
    if split is None:
        return ""
    count = len(split.segments)
    labels = f"{segment_label(pattern, 0)} to {segment_label(pattern, count - 1)}"
    return f"{count} segments {labels}, {split.joint} joint"


_JOINTS = {
    "puzzle": "Puzzle joints: coat both edges thinly and press the dovetails into each other on a flat table.",
    "scarf": "Scarf joints: bevel both ends to nothing between the lines, one from each face; glue the slopes.",
    "mitre": "Mitres: glue the bevelled ends to each other, so that the strip turns its corners.",
    "butt": "Butt joints: glue the straight edges on a flat table, so that both faces lie level.",
}


def segments_text(patterns: Sequence[Pattern]) -> list[str]:
    made = [f"{p.piece.label} from {len(p.split.segments)} segments" for p in patterns]
    kinds = {p.split.joint for p in patterns}
    layered = [p.piece for p in patterns if p.piece.layers > 1]
    turned = (
        [f"Turn or shift every other layer of {_labels(layered)}, so that no joint lies over another."]
        if layered
        else []
    )
    return [f"Glue up {listed(made)}.", *(text for kind, text in _JOINTS.items() if kind in kinds), *turned]


def dart_text(patterns: Sequence[Pattern]) -> list[str]:
    counts = [f"{p.piece.label} has {_count(len(p.darts), 'dart')}" for p in patterns]
    mouths = sorted({round(dart.opening) for p in patterns for dart in p.darts})
    width = f"{mouths[0]}" if len(mouths) == 1 else f"{mouths[0]} to {mouths[-1]}"
    return [
        f"{listed(counts)}, {width} mm wide at the mouth. Close them in every copy.",
        (
            "Glue both legs of each wedge, start at the tip and work towards the edge of the panel. The inside of "
            "the joint touches first."
        ),
    ]


def laminate_text(patterns: Sequence[Pattern]) -> list[str]:
    stacks = [f"{p.piece.label} from {p.piece.layers} layers" for p in patterns]
    pinned = [p.piece for p in patterns if getattr(p.piece.body, "pins", ())]
    pins = [f"Pierce {_labels(pinned)} at the crosses and line the layers up on {PIN:g} mm pins."] if pinned else []
    return [
        f"Laminate {listed(stacks)}.",
        (
            "Glue the whole of both faces, lay the sheets together along one edge, and roll them down from there "
            "without trapping air."
        ),
        *pins,
        "Check that mirrored copies are stacked as mirror images.",
    ]


def fit_text(
    pieces: Sequence[Piece],
    mine: Sequence[Joint],
    every: Mapping[str, Piece],
    warm: Sequence[Piece],
    note: str,
) -> list[str]:
    """How the pieces of a step go in: note, shaping, joints, glue, in that order."""
    text = [note] if note else []
    text += _copies_line(pieces)
    text += edge_text(pieces)
    if warm:
        text.append(f"Warm {_labels(warm)} with a heat gun and bend to shape before any glue goes on.")
    own = {piece.id for piece in pieces}
    text += _tab_lines(own, every)
    text += _seam_lines(mine, every)
    text += [f"Glue the edge of {upper} to {met}." for upper, met in _grouped("edge", mine, every)]
    ends = [every[j.parts[0]].label for j in mine if j.kind == "edge" and len(j.parts) == 1]
    if ends:
        text.append(f"Glue the ends of {listed(ends)} to each other.")
    text += [
        f"Glue {upper} face down on {lower} inside the marked outline." for upper, lower in _grouped("lap", mine, every)
    ]
    rims = [every[joint.parts[0]] for joint in mine if joint.kind == "rim"]
    if rims:
        text.append(f"Glue the rim of {_labels(rims)} to the shell around.")
    text += [f"Glue {upper} where {_pronoun(upper)} {met}." for upper, met in _grouped("spot", mine, every)]
    alone = [every[joint.parts[0]] for joint in mine if joint.kind == "spot" and len(joint.parts) == 1]
    if alone:
        text.append(f"Fit {_labels(alone)} as in the picture, and glue what touches.")
    text += [f"{every[part].label}: {every[part].note}" for part in every if part in own and every[part].note]
    return text + _how(mine, every)


def _tab_lines(own: set[str], every: Mapping[str, Piece]) -> list[str]:
    """Which of the parts that go in have tabs for slots in others, or slots for the tabs of others."""
    lines = []
    for host in every.values():
        tabbed = dict.fromkeys(slot.part for slot in getattr(host.body, "slots", ()))
        if tabbed and (host.id in own or own & set(tabbed)):
            labels = listed([every[part].label for part in tabbed if part in every])
            lines.append(f"Push the tabs of {labels} into the slots of {host.label} before the glue grips.")
    return lines


def edge_text(pieces: Sequence[Piece]) -> list[str]:
    """How the edges of the pieces are worked before they go in; parts alike share a line."""
    alike: dict[EdgeFinish, list[Piece]] = {}
    for piece in pieces:
        if piece.edge_finish:
            alike.setdefault(piece.edge_finish, []).append(piece)
    words = {
        "rounded": "Round all edges of {} by sanding to a radius of {:g} mm before glue goes on.",
        "chamfered": "Chamfer all edges of {}, {:g} mm wide, before glue goes on.",
    }
    return [words[how.finish].format(_labels(these), how.size) for how, these in alike.items()]


def close_text(pieces: Sequence[Piece], mine: Sequence[Joint], inner: Sequence[Piece]) -> list[str]:
    every = {piece.id: piece for piece in pieces}
    return [
        f"With {_labels(inner)} in one half, bring the other half up and glue it to their rims as it closes.",
        *_seam_lines(mine, every),
        *_how(mine, every),
    ]


def trim_text(pieces: Sequence[Piece]) -> list[str]:
    ends = [
        f"{p.label} ({max(p.body.trim_start, p.body.trim_end):g} mm)" for p in pieces if isinstance(p.body, BandBody)
    ]
    return [
        f"Cut the extra length off the ends of {listed(ends)}, flush with what they meet.",
        "Wait until the glue holds, lay the blade flat on the neighbouring part, and cut in one long stroke.",
    ]


def finish_text(masks: Sequence[Piece]) -> list[str]:
    """How the finished prop is sealed and painted. `masks` are what it is painted through, if anything."""
    through = [f"For the markings, lay mask {_labels(masks)} on and paint through the windows."] if masks else []
    return [
        "Fill gaps, sand seams and bevels smooth, and wipe off all dust.",
        f"Seal with {practice.SEALER_COATS} thin coats that stay flexible, each dry before the next.",
        (
            f"Paint with {practice.PAINT_COATS} thin coats that stay flexible, and let the prop air until no "
            "smell is left."
        ),
        *through,
    ]


def _pronoun(labels: str) -> str:
    return "they meet" if " and " in labels else "it meets"


def _labels(pieces: Sequence[Piece]) -> str:
    return listed([piece.label for piece in pieces])


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _seam_lines(mine: Sequence[Joint], every: Mapping[str, Piece]) -> list[str]:
    """One line for each part with the seams that it is named first in, and how seams are worked."""
    seams = [joint for joint in mine if joint.kind == "seam"]
    if not seams:
        return []
    meets: dict[str, list[str]] = {}
    for joint in seams:
        other = every[joint.parts[1]].label if len(joint.parts) == 2 else _itself(joint)
        edge = " to ".join(dict.fromkeys(joint.edges))
        meets.setdefault(joint.parts[0], []).append(f"to {other} ({edge}, {joint.length:.0f} mm)")
    lines = [f"Glue {every[part].label} {listed(met)}." for part, met in meets.items()]
    if any(joint.length > practice.LONG_SEAM for joint in seams):
        lines.append(
            f"Begin a seam longer than {practice.LONG_SEAM:.0f} mm at its centre notch and work outwards from "
            "tick to tick; equal numbers meet."
        )
    else:
        lines.append("Work from tick to tick; equal numbers meet.")
    return lines


def _itself(joint: Joint) -> str:
    """What a part is sewn to in a seam with one of its own kind."""
    if joint.edges[0] == joint.edges[1]:
        return "its mirror image"
    cuts = {edge.split(".")[0] for edge in joint.edges}
    return "itself" if len(cuts) == 1 else "the next one"


def _grouped(kind: str, mine: Sequence[Joint], every: Mapping[str, Piece]) -> list[tuple[str, str]]:
    """(labels of the parts, labels of what they are glued to): parts that go on the same parts share a line."""
    met: dict[str, set[str]] = {}
    for joint in mine:
        if joint.kind == kind and len(joint.parts) > 1:
            met.setdefault(joint.parts[0], set()).update(joint.parts[1:])
    lines: dict[str, list[str]] = {}
    for part in every:
        if part in met:
            onto = listed([every[p].label for p in every if p in met[part]])
            lines.setdefault(onto, []).append(every[part].label)
    return [(listed(labels), onto) for onto, labels in lines.items()]


def _copies_line(pieces: Sequence[Piece]) -> list[str]:
    counts = {len(piece.placements) for piece in pieces}
    if counts == {1}:
        return []
    if len(counts) == 1 and len(pieces) > 1:
        return [f"There are {counts.pop()} of each."]
    several = [f"{len(p.placements)} of {p.label}" for p in pieces if len(p.placements) > 1]
    return [f"There are {listed(several)}."]


def _how(mine: Sequence[Joint], every: Mapping[str, Piece]) -> list[str]:
    """What to mind with the glue of the step; the full method stands on the page about glue."""
    both = len({joint.glue for joint in mine}) > 1
    text = []
    if any(joint.glue == "contact" and joint.length for joint in mine):
        text.append("The inside of the joint touches first; then roll it shut and press.")
    elif any(joint.glue == "contact" and joint.kind == "lap" for joint in mine):
        text.append("Lay one end down first and roll the rest on without trapping air.")
    if both:
        small = {joint.parts[0] for joint in mine if joint.glue == "instant"}
        labels = listed([every[part].label for part in every if part in small])
        text.append(f"Instant glue for {labels}, contact cement for the rest.")
    return text

"""The sentences of the steps: what to do, where to start, how to check. Whole sentences about named things."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from foamwright.booklet import practice
from foamwright.booklet.bodies import Bodies, frame, thickness
from foamwright.booklet.meetings import Meeting
from foamwright.booklet.naming import all_of, bare, capital, one_of, plain, role, the
from foamwright.booklet.planning import Move
from foamwright.booklet.records import Joint
from foamwright.booklet.units import Unit
from foamwright.flatten.records import Pattern, Patterns
from foamwright.flatten.segments import segment_label
from foamwright.language import count, length, listed, say
from foamwright.parts.details import PIN
from foamwright.parts.records import BandBody, EdgeFinish, FlatBody, PanelBody, Piece

_SLANTED = 0.35  # a share of a direction below it is not named
_UPRIGHT = 0.94
_NAMED_TOGETHER = 4


@dataclass(frozen=True)
class Fitting:
    """What is known of a step that puts parts in."""

    pieces: Sequence[Piece]
    every: Mapping[str, Piece]
    unit: Unit
    moves: Sequence[Move]
    bodies: Bodies
    meetings: Sequence[Meeting]
    seams: Sequence[Joint]
    warm: Sequence[Piece]
    trimmed: Sequence[Piece]
    riders: Sequence[Piece]
    bench: Sequence[Move]
    standing: int  # copies, as bits
    anything: bool  # does anything stand?
    dragged: bool


# Titles


def title(told: Fitting) -> str:
    """What the step does to which parts, without letters and kinds."""
    if told.unit.title:
        return told.unit.title
    pieces = told.pieces
    if told.unit.whole:
        name = plain(told.unit.whole)
        return (
            say("Build the {thing}", thing=name) if not told.standing else say("Build and fit the {thing}", thing=name)
        )
    names = listed([bare(piece) for piece in pieces[:_NAMED_TOGETHER]])
    if len(pieces) > _NAMED_TOGETHER:
        names = count(
            "{names} and {n} more part",
            "{names} and {n} more parts",
            len(pieces) - _NAMED_TOGETHER,
            names=", ".join(bare(piece) for piece in pieces[:_NAMED_TOGETHER]),
        )
    if all(piece.glue == "none" for piece in pieces):
        return say("Lay in the {things}", things=names)
    if all(isinstance(piece.body, PanelBody) for piece in pieces):
        if told.seams and not any(piece.lies_on for piece in pieces):
            return say("Join the {things}", things=names)
        return say("Lay on the {things}", things=names)
    if not told.anything and not told.meetings:
        return say("Begin with the {things}", things=names)
    if all(isinstance(piece.body, BandBody) for piece in pieces):
        return say("Fit the {things}", things=names)
    if told.meetings and all(_inward(told, piece) for piece in pieces):
        return say("Set in the {things}", things=names)
    return say("Glue on the {things}", things=names)


def bench_title(riders: Sequence[Piece], leads: Sequence[Piece]) -> str:
    things, base = listed([bare(p) for p in riders]), listed([bare(p) for p in leads])
    return say("At the bench: put the {things} on the {base}", things=things, base=base)


def _inward(told: Fitting, piece: Piece) -> bool:
    """Does a part go in with its edges held by what is around it?"""
    mine = [m for m in told.meetings if m.new == piece.id and m.new != m.other]
    return bool(mine) and sum(m.area for m in mine if m.around) > 0.5 * sum(m.area for m in mine)


# Cutting and preparing


def cut_title() -> str:
    return say("Print, mark and cut")


def cut(patterns: Patterns) -> list[str]:
    pieces = [pattern.piece for pattern in patterns.patterns]
    total = sum(p.piece.quantity * (len(p.split.segments) if p.split else 1) for p in patterns.patterns)
    text = [
        say(
            "Print every template at 100 %. Measure the square on each page before you cut anything: its sides must "
            "be as "
            "long as the page says."
        ),
        say("Tape the pages of larger parts together so that their crosses meet."),
        say(
            "Lay each template on its foam, printed side up, and trace the cut line, the match marks and the placement "
            "lines. Write the part letter and the up arrow on every piece before you lift the template."
        ),
        count(
            "Cut {n} piece from {kinds} templates.",
            "Cut {n} pieces from {kinds} templates. Tick them off in the list of parts.",
            total,
            kinds=len(pieces),
        ),
    ]
    if any(piece.lies_on for piece in pieces):
        text.append(
            say("Where a placement line belongs on the other face, prick it through the foam and draw it there.")
        )
    if any(piece.mirrored for piece in pieces):
        text.append(say("Turn the template over for pieces that are marked as mirrored."))
    if any(any(edge.bevel) for pattern in patterns.patterns for edge in pattern.edges):
        text.append(
            say(
                "Where an edge has an angle printed beside it, tilt the blade by that angle, as the small drawing "
                "of the "
                "blade shows. Cut every other edge square to the face."
            )
        )
    else:
        text.append(say("Hold the blade upright: every edge is cut square to the face."))
    return text


def split_text(pattern: Pattern) -> str:
    """How a part is glued up from segments; nothing for one in a single piece."""
    split = pattern.split
    if split is None:
        return ""
    labels = (segment_label(pattern, 0), segment_label(pattern, len(split.segments) - 1))
    kinds = {"puzzle": say("puzzle joint"), "scarf": say("scarf joint"), "butt": say("butt joint")}
    return count(
        "{n} segment",
        "{n} segments {first} to {last}, {joint}",
        len(split.segments),
        first=labels[0],
        last=labels[1],
        joint=kinds[split.joint],
    )


def prepare(work: str, found: Sequence[Pattern]) -> tuple[str, list[str]]:
    """Title and sentences of the work inside single parts."""
    if work == "split":
        return say("Join the segments of the large parts"), _segments(found)
    if work == "dart":
        return say("Close the darts"), _darts(found)
    return say("Laminate the layered parts"), _layers(found)


def _segments(found: Sequence[Pattern]) -> list[str]:
    text = [
        say(
            "Glue {part} together from {n} segments.",
            part=the(p.piece),
            n=len(p.split.segments),
        )
        for p in found
        if p.split
    ]
    kinds = {p.split.joint for p in found if p.split}
    if "puzzle" in kinds:
        text.append(
            say("Puzzle joints: coat both edges thinly and press the dovetails into each other on a flat table.")
        )
    if "scarf" in kinds:
        text.append(
            say(
                "Scarf joints: between the two lines, slope both ends from the full thickness to nothing, one from "
                "each "
                "face. Glue the two slopes to each other."
            )
        )
    if "butt" in kinds:
        text.append(say("Butt joints: glue the straight edges on a flat table, so that both faces lie level."))
    layered = [p.piece for p in found if p.piece.layers > 1]
    if layered:
        text.append(
            say("Turn every second layer of {parts} round, so that no joint lies over another.", parts=all_of(layered))
        )
    return text


def _darts(found: Sequence[Pattern]) -> list[str]:
    text = [
        count(
            "In {part}, close the dart: it is {width} wide at its mouth.",
            "In {part}, close the {n} darts: they are up to {width} wide at the mouth.",
            len(p.darts),
            part=the(p.piece),
            width=length(max(dart.opening for dart in p.darts)),
        )
        for p in found
    ]
    text.append(
        say(
            "Coat both sides of each dart. When the cement is tacky, start at the tip: bring the inner edges together "
            "first, then roll the joint shut towards the edge of the part."
        )
    )
    text.append(say("Check: the edge of the part runs on across the closed dart without a step."))
    return text


def _layers(found: Sequence[Pattern]) -> list[str]:
    text = [say("Laminate {part} from {n} layers.", part=the(p.piece), n=p.piece.layers) for p in found]
    text.append(
        say(
            "Coat the whole of both faces. Lay the layers together along one edge first and roll them down from there, "
            "so that no air is caught."
        )
    )
    pinned = [p.piece for p in found if getattr(p.piece.body, "pins", ())]
    if pinned:
        text.append(
            say(
                "Pierce {parts} at the crosses and line the layers up on {size} pins.",
                parts=all_of(pinned),
                size=length(PIN),
            )
        )
    if any(p.piece.mirrored for p in found):
        text.append(say("Check: of a mirrored pair, one stack is the mirror image of the other."))
    return text


# Fitting


def bench(
    riders: Sequence[Piece], leads: Sequence[Piece], met: Sequence[Meeting], every: Mapping[str, Piece]
) -> list[str]:
    text = [
        say(
            "Do this on the bench: once {base} is in its place, {parts} can no longer be reached.",
            base=all_of(leads),
            parts=all_of(riders),
        )
    ]
    text += _meeting_lines(met, every)
    text += _notes(riders)
    return text


def fitting(told: Fitting) -> list[str]:
    """How the parts of a step go in: the design's own note, shaping, the way in, joints, check, in that order."""
    text = [told.unit.note] if told.unit.note else []
    text += _edge_lines(told.pieces)
    if told.warm:
        text.append(
            say(
                "Warm {parts} with the heat gun and bend to shape over your knee or a bottle before any glue goes on.",
                parts=all_of(told.warm),
            )
        )
    text += _trim_lines(told.trimmed)
    text += _whole_lines(told)
    text += _way_lines(told)
    text += _tab_lines(told)
    text += _seam_lines(told)
    text += _meeting_lines([m for m in told.meetings if m.new != m.other], told.every)
    text += _unmet_lines(told)
    text += _own_ends(told)
    text += _notes(told.pieces)
    text += _check_lines(told)
    return text


def _notes(pieces: Sequence[Piece]) -> list[str]:
    """The design's own notes on the parts, each once: that on a whole stands with all its members."""
    said: dict[tuple[str, str], Piece] = {}
    for piece in pieces:
        if piece.note:
            said.setdefault((role(piece)[1] or piece.id, piece.note), piece)
    lines = []
    for (_, note), piece in said.items():
        whole = role(piece)[1]
        lines.append(say("{part}: {note}", part=capital(f"the {whole}" if whole else the(piece)), note=note))
    return lines


def _edge_lines(pieces: Sequence[Piece]) -> list[str]:
    alike: dict[EdgeFinish, list[Piece]] = {}
    for piece in pieces:
        if piece.edge_finish:
            alike.setdefault(piece.edge_finish, []).append(piece)
    text = []
    for how, these in alike.items():
        if how.finish == "rounded":
            line = say(
                "Sand the edges of {parts} round, to a radius of {size}, before you glue.",
                parts=all_of(these),
                size=length(how.size),
            )
        else:
            line = say(
                "Cut the corners off the edges of {parts}, {size} wide, before you glue.",
                parts=all_of(these),
                size=length(how.size),
            )
        text.append(line)
    return text


def _trim_lines(pieces: Sequence[Piece]) -> list[str]:
    return [
        say(
            "{part} is {extra} too long on purpose. Wrap it round dry, mark where the ends meet, and trim it to the "
            "mark "
            "before you glue it.",
            part=capital(the(piece)),
            extra=length(max(piece.body.trim_start, piece.body.trim_end)),
        )
        for piece in pieces
        if isinstance(piece.body, BandBody)
    ]


def _whole_lines(told: Fitting) -> list[str]:
    """How a whole is put together on the bench before it goes in as one."""
    if not told.unit.whole or not told.bench:
        return []
    name = plain(told.unit.whole)
    text = [
        say("Glue {parts} to each other on the bench to make the {thing}.", parts=all_of(told.pieces), thing=name),
        say("Work from tick to tick; equal tick numbers meet. Bring the inner edges together first."),
    ]
    if len(told.moves) > 1:
        text.append(count("Make {n} of them.", "Make {n} of them.", len(told.moves)))
    return text


def side(direction: Sequence[float]) -> str:
    """Where something comes from that moves against `direction`: "from above", "from the front and the left"."""
    words = (
        (say("from the front"), say("from behind")),
        (say("from the left"), say("from the right")),
        (say("from above"), say("from below")),
    )
    near = [pair[x < 0.0] for x, pair in zip(direction, words) if abs(x) > _SLANTED]
    return listed(near)


def onwards(direction: Sequence[float]) -> str:
    """Where something moves to that moves against `direction`: "down", "to the left"."""
    words = (
        (say("back"), say("forward")),
        (say("to the right"), say("to the left")),
        (say("down"), say("up")),
    )
    near = [pair[x < 0.0] for x, pair in zip(direction, words) if abs(x) > _SLANTED]
    return listed(near)


def _way_lines(told: Fitting) -> list[str]:
    """The way in, where it is not just laying a part on from the side that it shows."""
    text: list[str] = []
    said: set[str] = set()
    one_side = len({move.way.legs[0].towards for move in told.moves}) == 1
    for move in told.moves:
        piece, way = told.bodies.pieces[move.copies[0]], move.way
        first, last = way.legs[0].towards, way.legs[-1].towards
        if piece.id in said:
            continue
        line = ""
        if way.bend:
            line = say(
                "Roll {part} like a gutter, slide it in {side}, and let it spring flat in its place.",
                part=one_of(piece),
                side=side(first),
            )
        elif len(way.legs) > 1 and not way.laid:
            line = say(
                "Bring {part} in {side}, {gap} off its place, then press it {way} into its place.",
                part=one_of(piece),
                side=side(last),
                gap=length(way.legs[0].travel),
                way=onwards(first) if one_side else say("home"),
            )
        elif told.unit.whole and told.standing and len(told.moves) == 1:
            line = say("Set it in its place {side}.", side=side(first))
        elif told.standing and _inward(told, piece) and (one_side or len(piece.placements) == 1):
            line = say("Slide {part} in {side}.", part=one_of(piece), side=side(first))
        if line:
            said.add(piece.id)
            text.append(line)
    if told.dragged:
        text.append(
            say(
                "Contact cement would grip on the way in. Coat both faces, let them dry, lay baking paper between, "
                "slide "
                "the part into its place, check it, and draw the paper out."
            )
        )
    return text


def _tab_lines(told: Fitting) -> list[str]:
    own = {piece.id for piece in told.pieces}
    here = own | {piece.id for copy, piece in enumerate(told.bodies.pieces) if told.standing >> copy & 1}
    lines = []
    for host in told.every.values():
        tabbed = [part for part in dict.fromkeys(slot.part for slot in getattr(host.body, "slots", ())) if part in here]
        if host.id in own or (host.id in here and own & set(tabbed)):
            if not tabbed:
                continue
            parts = all_of([told.every[part] for part in tabbed])
            lines.append(
                say(
                    "Push the tabs of {parts} into the slots of {host} before the glue grips.",
                    parts=parts,
                    host=the(host),
                )
            )
    return lines


def _seam_lines(told: Fitting) -> list[str]:
    """One sentence for each pair of parts, and how seams are worked."""
    seams = [joint for joint in told.seams if not told.unit.whole]
    if not seams:
        return []
    pairs: dict[tuple[str, ...], list[Joint]] = {}
    for joint in seams:
        pairs.setdefault(joint.parts, []).append(joint)
    lines = []
    for parts, found in pairs.items():
        one = told.every[parts[0]]
        longest = max(joint.length for joint in found)
        if len(parts) == 2:
            line = say(
                "Join {one} to {other} along the seam of {size}.",
                one=the(one),
                other=the(told.every[parts[1]]),
                size=length(longest),
            )
        elif found[0].edges[0] == found[0].edges[1]:
            line = say(
                "Join each of {one} to its mirror image along the seam of {size}.", one=the(one), size=length(longest)
            )
        elif len(one.placements) > 1:
            line = say(
                "Join {one} to each other, each to the next, along the seam of {size}.",
                one=the(one),
                size=length(longest),
            )
        else:
            line = say("Join the two ends of {one} along the seam of {size}.", one=the(one), size=length(longest))
        lines.append(line)
    if any(joint.length > practice.LONG_SEAM for joint in seams):
        lines.append(
            say(
                "Start a seam longer than {size} in the middle, at the centre notch, and work outwards; equal tick "
                "numbers "
                "meet. Bring the inner edges together first, then roll the joint shut.",
                size=length(practice.LONG_SEAM),
            )
        )
    else:
        lines.append(
            say(
                "Work from tick to tick; equal tick numbers meet. Bring the inner edges together first, then roll "
                "the joint shut."
            )
        )
    return lines


def _meeting_lines(met: Sequence[Meeting], every: Mapping[str, Piece]) -> list[str]:
    """What is glued to what: parts that go onto the same others in the same way share a sentence."""
    by_new: dict[str, list[Meeting]] = {}
    for meeting in met:
        if meeting.new != meeting.other:
            by_new.setdefault(meeting.new, []).append(meeting)
    alike: dict[tuple, list[str]] = {}
    for new, found in by_new.items():
        key = tuple((m.other, _relation(m), m.glue) for m in found)
        alike.setdefault(key, []).append(new)
    lines = []
    for key, alike_parts in alike.items():
        parts = all_of([every[part] for part in alike_parts])
        grouped: dict[tuple[str, str], list[str]] = {}
        for other, relation, glue in key:
            grouped.setdefault((relation, glue), []).append(other)
        for (relation, glue), others in grouped.items():
            lines.append(_relation_line(relation, glue, parts, all_of([every[other] for other in others])))
    return lines


def _unmet_lines(told: Fitting) -> list[str]:
    """Parts that are held along a line only, or across a gap that the model leaves: by what they come after."""
    lines = []
    for piece in unmet(told.pieces, told.meetings, told.seams, told.anything):
        near = [told.every[part] for part in dict.fromkeys((*piece.lies_on, *piece.after)) if part in told.every]
        lines.append(
            say("Glue {part} along the line where it meets {others}.", part=one_of(piece), others=all_of(near))
        )
    return lines


def unmet(pieces: Sequence[Piece], found: Sequence[Meeting], seams: Sequence[Joint], anything: bool) -> list[Piece]:
    """The parts that are glued, though nothing in the model touches them: a line or a gap for glue is all there is."""
    met = {part for m in found for part in m.parts if m.new != m.other}
    met |= {part for joint in seams if len(joint.parts) == 2 for part in joint.parts}
    return [p for p in pieces if p.id not in met and (p.lies_on or p.after) and p.glue != "none" and anything]


def _relation(meeting: Meeting) -> str:
    upwards = meeting.from_other[2]
    if meeting.around:
        return "around"
    if upwards < -_UPRIGHT and meeting.on_broad:
        return "under"
    if meeting.broad and meeting.on_broad:
        return "onto"
    if meeting.broad or meeting.on_broad:
        return "to" if meeting.broad else "edge"
    return "edges"


def _relation_line(relation: str, glue: str, parts: str, others: str) -> str:
    if glue == "none":
        return say("Leave {parts} free to come off {others}: no glue here.", parts=parts, others=others)
    sentence = {
        "onto": say("Glue {parts} onto {others}, inside the placement line.", parts=parts, others=others),
        "under": say("Glue {parts} to the underside of {others}.", parts=parts, others=others),
        "edge": say("Glue the edge of {parts} to {others}.", parts=parts, others=others),
        "around": say("Glue the edge of {parts} to {others} all the way round.", parts=parts, others=others),
        "edges": say("Glue the edges where {parts} and {others} meet.", parts=parts, others=others),
        "to": say("Glue {parts} to {others}.", parts=parts, others=others),
    }
    line = sentence[relation]
    return f"{line} {say('Use instant glue.')}" if glue == "instant" else line


def _own_ends(told: Fitting) -> list[str]:
    """Bands whose two ends meet."""
    ends = [p for p in told.pieces if isinstance(p.body, BandBody) and p.body.closed]
    return [say("Glue the two ends of {part} to each other last.", part=the(piece)) for piece in ends]


# Checks


def _check_lines(told: Fitting) -> list[str]:
    """A dry-fit check with a measure from the model, where one can be taken with a rule."""
    text = []
    for piece in told.pieces:
        line = _rim_check(told, piece) or _level_check(told, piece)
        if line:
            text.append(line)
    return text[:1]


def _level_check(told: Fitting, piece: Piece) -> str:
    """A level part: how high its upper face lies above the lowest point of what stands."""
    copies = [c for move in told.moves for c in move.copies if told.bodies.pieces[c].id == piece.id]
    if not copies or not isinstance(piece.body, FlatBody) or not told.standing:
        return ""
    axes = frame(piece, told.bodies.matrices[copies[0]])
    if axes is None or abs(axes[2][2]) < 0.999:
        return ""
    tops = {round(float(told.bodies.mesh((copy,))[0][:, 2].max()), 1) for copy in copies}
    standing = tuple(i for i in range(len(told.bodies)) if told.standing >> i & 1)
    floor = float(told.bodies.mesh(standing)[0][:, 2].min())
    if len(tops) != 1 or tops.copy().pop() - floor < 2.0 * thickness(piece) or piece.glue == "none":
        return ""
    return say(
        "Dry-fit first. Check: with the work on the table, the upper face of {part} is {size} above it all round.",
        part=one_of(piece),
        size=length(tops.pop() - floor),
    )


def _rim_check(told: Fitting, piece: Piece) -> str:
    """A level part below an opening: how far its upper face lies below the opening's lowest edge."""
    copies = [c for move in told.moves for c in move.copies if told.bodies.pieces[c].id == piece.id]
    if len(copies) != 1 or not isinstance(piece.body, FlatBody):
        return ""
    axes = frame(piece, told.bodies.matrices[copies[0]])
    if axes is None or abs(axes[2][2]) < 0.999:
        return ""
    points = told.bodies.mesh((copies[0],))[0]
    top = float(points[:, 2].max())
    middle = points[:, :2].mean(axis=0)
    for copy, other in enumerate(told.bodies.pieces):
        if not told.standing >> copy & 1 or not isinstance(other.body, PanelBody):
            continue
        for edge in other.body.edges:
            if edge.kind != "trim":
                continue
            matrix = told.bodies.matrices[copy]
            line = edge.outer @ matrix[:3, :3].T + matrix[:3, 3]
            low = float(line[:, 2].min())
            around = bool(
                (line[:, :2].min(axis=0) < middle + 1.0).all() and (line[:, :2].max(axis=0) > middle - 1.0).all()
            )
            if low - top > 2.0 * thickness(piece) and around:
                return say(
                    "Dry-fit first. Check: the upper face of {part} is {size} below the rim of the opening, "
                    "measured at its "
                    "lowest place.",
                    part=the(piece),
                    size=length(low - top),
                )
    return ""


# Painting, and after


def paint(pieces: Sequence[Piece], masks: Sequence[Piece], final: bool) -> tuple[str, list[str]]:
    """How what stands is sealed and painted; `masks` are painted through."""
    text = []
    if not final:
        text.append(
            say(
                "Paint now what the next parts will hide or must stay clear of: {parts}.",
                parts=listed(list(dict.fromkeys(role(piece)[1] or bare(piece) for piece in pieces))),
            )
        )
    text += [
        say("Fill open seams with gap filler, let it dry, and sand seams and bevels smooth. Wipe off all dust."),
        say("Pass the heat gun over the whole surface once, lightly, until it turns matt: the pores close."),
        count(
            "Brush on {n} thin coat of primer.",
            "Brush on {n} thin coats of primer. Let each cure before the next.",
            practice.SEALER_COATS,
        ),
    ]
    colours: dict[str, list[Piece]] = {}
    for piece in pieces:
        colours.setdefault(piece.stock.name, []).append(piece)
    text.append(
        count(
            "Paint with {n} coat of flexible acrylic.",
            "Paint with {n} coats of flexible acrylic, the first one thinned, each dry before the next. The "
            "pictures show "
            "the colour of the foam; choose your own.",
            practice.PAINT_COATS,
        )
    )
    for mask in masks:
        text.append(
            say(
                "Tape {mask} down, dab the paint through its windows, and leave it until the paint is dry.",
                mask=f"the {plain(mask.name)} ({mask.label})",
            )
        )
        if mask.note:
            text.append(mask.note)
    if final:
        text.append(
            say(
                "If you like it worn: brush on a thin dark wash and wipe it off the high places; then dab dark "
                "metal on the "
                "corners, and bright metal in the middle of each dab."
            )
        )
        text.append(say("Finish with a thin coat of matt varnish."))
    return (say("Seal and paint") if final else say("Seal and paint what stands so far")), text


def last() -> tuple[str, list[str]]:
    return say("Let it cure, and check"), [
        say("Leave the prop in moving air for a day, until no smell is left."),
        say("Pull gently at every part. Glue again what moves."),
        say("Dust it with a soft brush or a damp cloth. Keep it out of the sun, away from heat, and off solvents."),
    ]

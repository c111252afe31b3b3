"""The sentences of the steps: what to do, where to start, how to check. Whole sentences about named things."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from foamwright.booklet import checks, practice
from foamwright.booklet.fitting import Fitting
from foamwright.booklet.meetings import Meeting
from foamwright.booklet.naming import all_of, bare, capital, one_of, plain, role, several, the
from foamwright.booklet.records import Joint
from foamwright.booklet.units import Unit
from foamwright.flatten.records import Pattern, Patterns
from foamwright.flatten.segments import segment_label
from foamwright.language import count, length, lengths, listed, say
from foamwright.parts.details import PIN
from foamwright.parts.records import BandBody, EdgeFinish, FlatBody, PanelBody, Piece, RodBody

_SLANTED = 0.35  # a share of a direction below it is not named
_UPRIGHT = 0.94
_NAMED_TOGETHER = 4


# Titles


def title(told: Fitting) -> str:
    """What the step does to which parts, without letters and kinds."""
    for unit in told.units:
        if unit.title:
            return unit.title
    pieces = told.pieces
    wholes = [unit for unit in told.units if unit.whole]
    if len(told.units) == 1 and wholes:
        name = plain(wholes[0].whole)
        if not told.standing:
            return say("Build the {thing}", thing=name)
        return say("Build the {thing} and set it in place", thing=name)
    things = [thing for unit in told.units for thing in _things(told, unit)]
    names = listed(things[:_NAMED_TOGETHER])
    if len(things) > _NAMED_TOGETHER:
        names = count(
            "{names} and {n} more part",
            "{names} and {n} more parts",
            len(things) - _NAMED_TOGETHER,
            names=", ".join(things[:_NAMED_TOGETHER]),
        )
    if all(piece.glue == "none" for piece in pieces):
        return say("Lay in the {things}", things=names)
    if all(isinstance(piece.body, PanelBody) for piece in pieces):
        own = [joint for joint in told.seams if len(joint.parts) == 1]
        if own and len(pieces) == 1 and len(pieces[0].placements) == 1 and told.standing:
            return say("Close the {things} and set it in place", things=names)
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


def _things(told: Fitting, unit: Unit) -> list[str]:
    """What a title calls the parts of a unit: a whole by its own name."""
    if unit.whole:
        return [plain(unit.whole)]
    return [bare(piece) for piece in told.pieces if piece.id in unit.parts]


def bench_title(riders: Sequence[Piece], leads: Sequence[Piece]) -> str:
    things, base = listed([bare(p) for p in riders]), listed([bare(p) for p in leads])
    return say("At the bench: put the {things} on the {base}", things=things, base=base)


def _inward(told: Fitting, piece: Piece) -> bool:
    """Does a part go in with its edges held by what is around it?"""
    mine = [m for m in told.meetings if m.new == piece.id and m.new != m.other]
    return bool(mine) and sum(m.area for m in mine if m.around) > 0.5 * sum(m.area for m in mine)


# Cutting and preparing


def cut_title() -> str:
    return say("Print, transfer and cut")


def cut(patterns: Patterns, seams: bool) -> list[str]:
    """How the parts are cut. `seams`: are there any, so that ticks and seam numbers are marked?"""
    pieces = [pattern.piece for pattern in patterns.patterns]
    drawn = [piece for piece in pieces if not piece.listed_only]
    total = sum(
        p.piece.quantity * (len(p.split.segments) if p.split else 1)
        for p in patterns.patterns
        if not p.piece.listed_only  # those are measured off, as is said below
    )
    text = [
        say(
            "Print every template page at 100 % and measure the square on each: its sides must be as long as the page "
            "says. Tape the pages of larger parts together so that their crosses meet."
        ),
        say(
            "Cut the paper templates out roughly. Lay each on its material, printed side up, and trace the cut line, "
            "the match marks and the placement lines. Write the part letter on the piece and draw the up arrow before "
            "you lift the paper."
        ),
    ]
    if seams:
        text.append(
            say(
                "Copy the seam number and the tick numbers to every edge that has them: equal numbers are glued to each other."
            )
        )
    text.append(
        count(
            "Cut {n} piece from {kinds} templates.",
            "Cut {n} pieces from {kinds} templates, and tick them off in the list of parts.",
            total,
            kinds=len(drawn),
        )
    )
    text += [_measured_off(p) for p in patterns.patterns if p.piece.listed_only and p.strip is not None]
    if any(piece.lies_on for piece in pieces):
        text.append(
            say(
                "A placement line that is marked \u201con the other face\u201d is pricked through the foam with an awl "
                "and joined up there."
            )
        )
    if any(piece.mirrored for piece in pieces):
        text.append(say("For pieces marked \u201cmirrored\u201d, turn the template over."))
    if any(any(edge.bevel) for pattern in patterns.patterns for edge in pattern.edges):
        text.append(
            say(
                "Where an edge has an angle printed beside it, tilt the blade by that angle, as the small drawing "
                "of the blade shows. Cut every other edge square to the face."
            )
        )
    else:
        text.append(say("Hold the blade upright: every edge is cut square to the face."))
    text.append(
        say(
            "Check: lay the pieces out by letter. Two edges with one seam number are of one length; pieces of one letter "
            "cover each other."
        )
        if seams
        else say("Check: lay the pieces out by letter. Pieces of one letter cover each other.")
    )
    return text


def _measured_off(pattern: Pattern) -> str:
    """A strip or a bar without a template."""
    piece = pattern.piece
    long, wide = pattern.strip or (0.0, 0.0)
    if piece.bought:
        return count(
            "Saw {n} piece of {size} from {stock} for {label} ({name}). It has no template.",
            "Saw {n} pieces of {size} each from {stock} for {label} ({name}). They have no template.",
            piece.quantity,
            size=length(long),
            stock=piece.stock.name,
            label=piece.label,
            name=plain(piece.name),
        )
    return count(
        "Cut {n} strip of {size} from {stock} for {label} ({name}). It has no template.",
        "Cut {n} strips of {size} each from {stock} for {label} ({name}). They have no template.",
        piece.quantity,
        size=lengths((long, wide)),
        stock=piece.stock.name,
        label=piece.label,
        name=plain(piece.name),
    )


def split_text(pattern: Pattern) -> str:
    """How a part is glued up from segments; nothing for one in a single piece."""
    split = pattern.split
    if split is None:
        return ""
    labels = (segment_label(pattern, 0), segment_label(pattern, len(split.segments) - 1))
    kinds = {
        "puzzle": say("puzzle joint"),
        "scarf": say("scarf joint"),
        "butt": say("butt joint"),
        "mitre": say("mitred joint"),
    }
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
            part=one_of(p.piece),
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
    text.append(
        say(
            "Check: run a finger along the edge of the part: it goes on across the closed dart without a step. If it "
            "does not, peel the dart open while the cement is fresh and close it again."
        )
    )
    return text


def _laminate(pieces: Sequence[Piece], layers: int) -> str:
    if sum(len(piece.placements) for piece in pieces) == 1:
        return say("Laminate {part} from {n} layers.", part=all_of(pieces), n=layers)
    return say("Laminate {parts} from {n} layers each.", parts=all_of(pieces), n=layers)


def _layers(found: Sequence[Pattern]) -> list[str]:
    alike: dict[int, list[Piece]] = {}
    for pattern in found:
        alike.setdefault(pattern.piece.layers, []).append(pattern.piece)
    text = [_laminate(pieces, layers) for layers, pieces in alike.items()]
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
            "Do this on the bench first. Inside the prop, the place of {parts} on {base} can no longer be reached.",
            base=all_of(leads),
            parts=all_of(riders),
        )
    ]
    text += [line for _, line in _meeting_sentences(met, every)]
    text += _notes(riders)
    return text


def fitting(told: Fitting) -> list[str]:
    """How the parts of a step go in: the design's own note, shaping, the bench, a dry fit, glue, in that order."""
    text = [unit.note for unit in told.units if unit.note]
    text += _edge_lines(told.pieces)
    if told.warm:
        text.append(
            say(
                "Warm {parts} evenly with the heat gun, from both sides, and bend over your knee or a bottle. Hold "
                "the bend until the foam is cool. Do this before any glue goes on.",
                parts=all_of(told.warm),
            )
        )
    text += _trim_lines(told.trimmed)
    for unit in told.units:
        text += _whole_lines(told, unit)
        text += _notes([piece for piece in told.pieces if unit.whole and piece.id in unit.parts], True)
    text += _way_lines(told)
    text += _tab_lines(told)
    before = checks.lines(told)
    text += before
    text += _seam_lines(told)
    text += _glue_lines(told)
    text += _own_ends(told)
    text += [] if before else checks.grown(told)
    text += _notes([piece for piece in told.pieces if not _whole_of(told, piece)], len(told.units) == 1)
    return text


def loose_title(pieces: Sequence[Piece]) -> str:
    return say("Add the {things}", things=listed([bare(piece) for piece in pieces]))


def loose(pieces: Sequence[Piece]) -> list[str]:
    """Parts that the model does not hold: their place is told by their note."""
    text = [say("Glue on {parts}. No line on the templates shows the place; find it like this:", parts=all_of(pieces))]
    return text + _notes(pieces, True)


def _notes(pieces: Sequence[Piece], alone: bool = False) -> list[str]:
    """The design's own notes on the parts, each once: that on a whole stands with all its members.

    `alone`: the step is about nothing else, so that a single note needs no name before it.
    """
    said: dict[tuple[str, str], Piece] = {}
    for piece in pieces:
        if piece.note:
            said.setdefault((role(piece)[1] or piece.id, piece.note), piece)
    if alone and len({role(piece)[1] or piece.id for piece in pieces}) == 1:
        return [note for _, note in said]  # it can mean no other part
    lines = []
    for (_, note), piece in said.items():
        whole = role(piece)[1]
        name = say("the {whole}", whole=whole) if whole else the(piece)
        lines.append(say("{part}: {note}", part=capital(name), note=note))
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


def _whole_lines(told: Fitting, unit: Unit) -> list[str]:
    """How a whole is put together on the bench before it goes in as one."""
    if not unit.whole or not told.bench:
        return []
    name = plain(unit.whole)
    pieces = [piece for piece in told.pieces if piece.id in unit.parts]
    moves = [move for move in told.moves if told.bodies.pieces[move.copies[0]].id in unit.parts]
    made = len(moves)
    stacked = all(piece.kind == pieces[0].kind and isinstance(piece.body, FlatBody) for piece in pieces) and not any(
        told.every[part].id in unit.parts for joint in told.whole_seams for part in joint.parts
    )
    if stacked:
        text = [
            say(
                "On the bench, glue {parts} face to face, each in the middle of the one below, to make the {thing}.",
                parts=all_of(pieces),
                thing=name,
            )
        ]
    else:
        text = [
            count(
                "On the bench, glue {parts} edge to edge to make the {thing}.",
                "On the bench, glue {parts} edge to edge to make {n} {things}.",
                made,
                parts=all_of(pieces),
                thing=name,
                things=several(name),
            )
        ]
        numbers = sorted(
            {told.seam_numbers[joint.edges_key] for joint in told.whole_seams if joint.parts[0] in unit.parts}
        )
        if numbers:
            text.append(
                count(
                    "The edges meet along seam {seams}, tick to tick. Bring the inner edges together first, then roll "
                    "the joint shut.",
                    "The edges meet along seams {seams}, tick to tick. Bring the inner edges together first, then roll "
                    "the joints shut.",
                    len(numbers),
                    seams=_ranges(numbers),
                )
            )
    if moves:
        text += checks.whole(told, unit, moves[0].copies)
    return text


def _ranges(numbers: Sequence[int]) -> str:
    """ "3", "3 and 5", "3 to 7"."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words = []
    for run in runs:
        if len(run) > 2:
            words.append(say("{first} to {last}", first=run[0], last=run[-1]))
        else:
            words += [str(number) for number in run]
    return listed(words)


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
                "Bend {part} like a gutter, pass it in {side}, and let it spring flat in its place.",
                part=one_of(piece),
                side=side(last),
            )
        elif len(way.legs) > 1 and not way.laid:
            line = say(
                "Bring {part} in {side}, {gap} clear of its place, then press it {way}.",
                part=one_of(piece),
                side=side(last),
                gap=length(way.legs[0].travel),
                way=onwards(first) if one_side else say("home"),
            )
        elif _whole_of(told, piece) and told.standing and len(told.moves) == 1:
            line = say("Set the {thing} in its place {side}.", thing=_whole_of(told, piece), side=side(first))
        elif told.standing and _inward(told, piece) and (one_side or len(piece.placements) == 1):
            line = say("Slide {part} in {side}.", part=one_of(piece), side=side(first))
        if line:
            said.add(piece.id)
            text.append(line)
    if told.dragged:
        text.append(
            say(
                "Contact cement would grip on the way in. Coat both faces and let them turn tacky, lay baking paper "
                "between them, slide the part into its place, check it, and pull the paper out."
            )
        )
    return text


def _whole_of(told: Fitting, piece: Piece) -> str:
    return next((plain(unit.whole) for unit in told.units if unit.whole and piece.id in unit.parts), "")


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
    pairs: dict[tuple[str, ...], list[Joint]] = {}
    for joint in told.seams:
        mirrored = len(joint.parts) == 1 and joint.edges[0] == joint.edges[1]
        pairs.setdefault((*joint.parts, str(mirrored)), []).append(joint)
    if not pairs:
        return []
    lines = []
    for found in pairs.values():
        parts = found[0].parts
        one = told.every[parts[0]]
        along = _along(told, found)
        if len(parts) == 2:
            other = told.every[parts[1]]
            line = say("Join {one} to {other} {along}.", one=the(one), other=the(other), along=along)
        elif found[0].edges[0] == found[0].edges[1]:
            line = say("Join each of {one} to its mirror image {along}.", one=the(one), along=along)
        elif len(one.placements) > 1:
            line = say("Join {one} to each other, each to the next, {along}.", one=the(one), along=along)
        else:
            line = say("Join the two ends of {one} {along}.", one=the(one), along=along)
        lines.append(line)
    if any(joint.length > practice.LONG_SEAM for joint in told.seams):
        lines.append(
            say(
                "Start a seam longer than {size} in the middle, at the centre notch, and work outwards to both ends; "
                "equal tick numbers meet. Bring the inner edges together first, then roll the joint shut.",
                size=length(practice.LONG_SEAM),
            )
        )
    else:
        lines.append(
            say(
                "Start at one end and work from tick to tick; equal numbers meet. Bring the inner edges together first, "
                "then roll the joint shut."
            )
        )
    return lines


def _held_by_whole(told: Fitting, piece: Piece) -> bool:
    """Is it a member of a whole that is joined before, and another member says where the whole goes?"""
    unit = told.unit_of(piece)
    if not unit.whole:
        return False
    placed = any(m.new in unit.parts and m.other not in unit.parts for m in told.meetings)
    return placed or unit.parts[0] != piece.id


def _along(told: Fitting, found: Sequence[Joint]) -> str:
    """ "along seam 3 (118 mm)", "along seams 3, 4 and 6 (the longest 118 mm)"."""
    numbers = sorted({told.seam_numbers[joint.edges_key] for joint in found})
    return count(
        "along seam {seams} ({size})",
        "along seams {seams} (the longest {size})",
        len(numbers),
        seams=_ranges(numbers),
        size=length(max(joint.length for joint in found)),
    )


def _glue_lines(told: Fitting) -> list[str]:
    """What is glued to what, in the order in which the parts go in."""
    first: dict[str, int] = {}
    for move in told.moves:
        for copy in move.copies:
            first.setdefault(told.bodies.pieces[copy].id, len(first))
    met = [m for m in told.meetings if m.new != m.other]
    met.sort(key=lambda m: first.get(m.new, len(first)))
    unmet_ = unmet(told.pieces, told.meetings, (*told.seams, *told.whole_seams), told.anything)
    unmet_ = [piece for piece in unmet_ if not _held_by_whole(told, piece)]
    lines = [(first.get(m[0].new, 0), line) for m, line in _meeting_sentences(met, told.every)]
    lines += [(first.get(piece.id, 0), _unmet_line(told, piece)) for piece in unmet_]
    return [line for _, line in sorted(lines, key=lambda item: item[0])]


def _meeting_sentences(met: Sequence[Meeting], every: Mapping[str, Piece]) -> Sequence[tuple[Sequence[Meeting], str]]:
    """What is glued to what: parts that go onto the same others in the same way share a sentence."""
    by_new: dict[str, list[Meeting]] = {}
    for meeting in met:
        if meeting.new != meeting.other:
            by_new.setdefault(meeting.new, []).append(meeting)
    alike: dict[tuple, list[str]] = {}
    for new, found in by_new.items():
        key = tuple((m.other, "" if m.glue == "none" else _relation(m, every[new]), m.glue) for m in found)
        alike.setdefault(key, []).append(new)
    lines = []
    for key, alike_parts in alike.items():
        parts = all_of([every[part] for part in alike_parts])
        grouped: dict[tuple[str, str], list[str]] = {}
        for other, relation, glue in key:
            grouped.setdefault((relation, glue), []).append(other)
        mixed = len({glue for _, glue in grouped} - {"none"}) > 1 or len({m.glue for m in met} - {"none"}) > 1
        for (relation, glue), others in grouped.items():
            line = _relation_line(mixed, relation, glue, parts, all_of([every[other] for other in others]))
            lines.append((by_new[alike_parts[0]], line))
    return lines


def _unmet_line(told: Fitting, piece: Piece) -> str:
    """A part that is held along a line only, or across a gap that the model leaves: by what it comes after."""
    near = [told.every[part] for part in dict.fromkeys((*piece.lies_on, *piece.after)) if part in told.every]
    return say("Glue {part} where it touches {others}.", part=one_of(piece), others=all_of(near))


def unmet(pieces: Sequence[Piece], found: Sequence[Meeting], seams: Sequence[Joint], anything: bool) -> list[Piece]:
    """The parts that are glued, though nothing in the model touches them: a line or a gap for glue is all there is."""
    met = {part for m in found for part in m.parts if m.new != m.other}
    met |= {part for joint in seams if len(joint.parts) == 2 for part in joint.parts}
    return [p for p in pieces if p.id not in met and (p.lies_on or p.after) and p.glue != "none" and anything]


def _relation(meeting: Meeting, new: Piece) -> str:
    upwards = meeting.from_other[2]
    if meeting.around:
        return "around"
    if isinstance(new.body, BandBody):
        return "wrapped"
    if upwards < -_UPRIGHT and meeting.on_broad:
        return "under"
    if upwards < -_UPRIGHT and meeting.broad:
        return "below"
    if isinstance(new.body, RodBody):
        return "end" if meeting.broad else "along"
    if meeting.broad and meeting.on_broad:
        return "onto"
    if upwards > _UPRIGHT and meeting.broad:
        return "on top"
    if upwards > _UPRIGHT and meeting.on_broad:
        return "standing"
    if meeting.broad or meeting.on_broad:
        over = "over" if isinstance(new.body, PanelBody) else "to"
        return over if meeting.broad else "edge"
    return "edges"


def _relation_line(mixed: bool, relation: str, glue: str, parts: str, others: str) -> str:
    if glue == "none":
        return say("Leave {parts} loose on {others}: no glue here.", parts=parts, others=others)
    sentence = {
        "onto": say("Glue {parts} face to face on {others}, inside the placement line.", parts=parts, others=others),
        "under": say(
            "Glue {parts} to the underside of {others}, inside the placement line.", parts=parts, others=others
        ),
        "below": say("Glue {parts} to the lower edge of {others}.", parts=parts, others=others),
        "on top": say("Glue {parts} on the upper edge of {others}.", parts=parts, others=others),
        "standing": say("Glue {parts} upright on {others}, inside the placement line.", parts=parts, others=others),
        "end": say("Glue the end of {parts} to {others}, inside the placement line.", parts=parts, others=others),
        "wrapped": say("Glue {parts} to {others} all along the line where they touch.", parts=parts, others=others),
        "along": say("Glue {parts} along the side to {others}.", parts=parts, others=others),
        "edge": say("Glue {parts} by the edge to {others}.", parts=parts, others=others),
        "around": say("Glue {parts} all the way round to {others}.", parts=parts, others=others),
        "edges": say("Glue {parts} to {others} along the edges that meet.", parts=parts, others=others),
        "over": say("Glue the inside of {parts} to the edge of {others}.", parts=parts, others=others),
        "to": say("Glue the face of {parts} to the edge of {others}.", parts=parts, others=others),
    }
    line = sentence[relation]
    return say("{sentence} Use instant glue.", sentence=line) if glue == "instant" and mixed else line


def _own_ends(told: Fitting) -> list[str]:
    """Bands whose two ends meet."""
    ends = [p for p in told.pieces if isinstance(p.body, BandBody) and p.body.closed]
    return [say("Glue the two ends of {part} to each other last.", part=the(piece)) for piece in ends]


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
        say(
            "Fill open seams with gap filler, let it dry, and sand seams and edges smooth, 120 grit first, then 240. "
            "Wipe off all dust."
        ),
        say(
            "Heat-seal the foam: pass the heat gun over the whole surface once, a hand's breadth away and never still, "
            "until it turns slightly shiny and the pores close. Too much heat opens the glued seams."
        ),
        count(
            "Brush on {n} light coat of rubberised primer and let it cure.",
            "Brush on {n} light coats of rubberised primer. Let each cure before the next.",
            practice.SEALER_COATS,
        ),
    ]
    text += _colour_lines(pieces)
    text.append(
        count(
            "Dust on a little spray colour as a ground if you like, then brush on {n} coat of flexible acrylic.",
            "Dust on a little spray colour as a ground if you like, then brush on {n} coats of flexible acrylic, the "
            "first one thinned, each dry before the next. Keep dark colours of the inside off the light outside.",
            practice.PAINT_COATS,
        )
    )
    for mask in masks:
        text.append(
            say(
                "Tape {mask} down flat, dab the paint on through its windows with a nearly dry brush or sponge, and "
                "leave it in place until the paint is dry.",
                mask=the(mask),
            )
        )
        if mask.note:
            text.append(mask.note)
    if final:
        text.append(
            say(
                "If you like it worn: brush on a thinned dark wash and wipe it off the high places; then dab dark "
                "metal on the corners, and bright metal in the middle of each dab."
            )
        )
        text.append(say("Finish with a thin coat of matt varnish."))
    text.append(say("Check: no tacky place is left, and paint does not crack when you bend the foam a little."))
    return (say("Seal and paint") if final else say("Seal and paint what stands so far")), text


def _colour_lines(pieces: Sequence[Piece]) -> list[str]:
    """The base colours of the design, by part."""
    by_colour: dict[str, list[Piece]] = {}
    for piece in pieces:
        if piece.paint:
            by_colour.setdefault(piece.paint, []).append(piece)
    if not by_colour:
        return [say("Base colours are yours to choose; the pictures show the colour of the foam.")]
    told = [say("{colour}: {parts}", colour=colour, parts=_letters(these)) for colour, these in by_colour.items()]
    return [
        say(
            "Base colours by part: {list}. What is not named keeps its primer or a colour of yours.",
            list="; ".join(told),
        )
    ]


def _letters(pieces: Sequence[Piece]) -> str:
    return ", ".join(piece.label for piece in pieces)


def last() -> tuple[str, list[str]]:
    return say("Let it cure, and check"), [
        say("Leave the prop in moving air for a day, until no smell is left."),
        say("Pull gently at every part. Glue again what moves, and let it cure for another day."),
        say("Read \u201cUse and care\u201d on the next pages before it is used or given away."),
    ]

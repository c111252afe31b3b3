"""The sentences of what comes before the gluing: printing, cutting, and the work inside single parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil

import numpy as np
import shapely

from foamwright.assembly import practice, which_copy
from foamwright.assembly.bodies import Bodies
from foamwright.assembly.joints import drawn_length
from foamwright.assembly.naming import all_of, name_of, one_of
from foamwright.assembly.work import Passages
from foamwright.booklet.words import free_bands
from foamwright.booklet.words.seaming import is_scored
from foamwright.flatten.records import Pattern, PatternEdge, Patterns
from foamwright.flatten.segments import pieces_of_foam, segment_label
from foamwright.geometry.bevel import least_bevel
from foamwright.language import count, length, lengths, listed, say
from foamwright.parts.records import BandBody, Piece
from foamwright.templates.bevels import bevelled, is_bevelled
from foamwright.templates.wording import SHINES_THROUGH, seam_numbers

_ROOM = 1.0  # mm beyond the cut line; less is cut away by any blade
_TURNS = 2.0  # degrees by which a bevel changes along an edge
_CURVED = 1.0  # mm that an edge departs from a straight line, to be sanded
_STEEP = 45.0  # degrees from square
_UNLIKE = 1.0  # mm: by less a rule may be misread
_SMALL_HOLE = 20.0  # mm across
_PAGE = (165.0, 245.0)  # mm that the smallest usual paper has room for


def cut(patterns: Patterns, seams: bool, bodies: Bodies) -> Passages:
    """How the parts are cut, in passages with a heading each: what is to be known of the blade stands before it is taken up.
    `seams`: are there any, so that ticks and seam numbers are marked?"""
    laid = any(one.with_v for lines in (bodies.lines or {}).values() for one in lines)
    with_v = laid or bool(free_bands.on_edge(patterns.patterns, bodies))
    room = max((_beyond(own) for p in patterns.patterns if bevelled(p) for own in cut_by_itself(p)), default=0.0)
    marks = [
        *([_seam_marks(patterns)] if seams else []),
        *_other_marks(patterns, with_v, room, bodies),
        *_engraved(patterns),
    ]
    return [
        (say("Print"), _paper(patterns)),
        (say("Draw"), [*_laid_out(patterns, room), *_drawn(patterns, bodies)]),
        (say("Mark"), marks),
        (say("Number what is cut more than once"), _numbers(patterns, bodies)),
        (say("Cut"), [*_blade(patterns), *_small_holes(patterns), *_cut_out(patterns, with_v)]),
        (say("Check"), _counted(patterns, seams)),
    ]


def _paper(patterns: Patterns) -> list[str]:
    """How the templates are printed and cut out."""
    text = [
        say(
            "Print every template page at 100 % and measure the square on each: its sides must be as long as the page "
            "says."
        )
    ]
    if any(map(over_pages, patterns.patterns)):
        text.append(
            say(
                "Where a part goes over several pages, lay these so that their crosses lie on each other, and tape them together."
            )
        )
    text.append(
        say(
            "Cut each paper template out on its cut line. What stands beside a small one, as its letter, an arrow or a seam "
            "number, write within its cut line first."
        )
    )
    if any(map(bevelled, patterns.patterns)):
        text.append(
            say(
                "Keep the paper that you cut off with its part: angles and small drawings of the blade stand there too."
            )
        )
    return text


def _laid_out(patterns: Patterns, room: float) -> list[str]:
    """How the templates lie on their sheets before anything is drawn; lines of far faces lie up to `room` mm outside their cut
    lines."""
    if all(pattern.piece.listed_only for pattern in patterns.patterns):
        return []
    text = [
        say(
            "Lay the templates of a sheet out on it before you draw round the first, printed side up; the cutting plans, "
            "sheets.pdf, show one way that they all go on."
        )
    ]
    if room > _ROOM:
        text.append(
            say(
                "Where an edge has a dashed line outside its cut line, leave {size} of foam beyond the cut line, and twice as "
                "much between two such edges: the far face needs it. The cutting plans have that in them.",
                size=length(ceil(room)),
            )
        )
    return text


def _drawn(patterns: Patterns, bodies: Bodies) -> list[str]:
    """How the outlines and the placement lines come from the paper on the foam."""
    text = [say("Hold each template with tape, draw round it, and mark every match mark at the edge.")]
    if any(touch.broad[1] > 0.5 for touch in bodies.touches.values()):
        text.append(
            say(
                "Prick the corners of the placement lines through the paper with an awl, and round ones every {spacing}, six "
                "times at least.",
                spacing=length(practice.PRICKED),
            )
        )
        text.append(
            say(
                "Lift the paper and join the pricks up. Write the part letter and the arrows on the piece, and beside each "
                "placement line what its template says there."
            )
        )
    else:
        text.append(say("Lift the paper, and write the part letter and the arrows on the piece."))
    drawn = [pattern.piece for pattern in patterns.patterns if not pattern.piece.listed_only]
    shown = [piece for piece in drawn if piece.stock.material_type in SHINES_THROUGH]
    if shown:
        text.append(
            say(
                "Draw round {parts}, and make no other mark there: light shows every line.",
                parts=all_of(shown),
            )
        )
    return text


def _other_marks(patterns: Patterns, with_v: bool, room: float, bodies: Bodies) -> list[str]:
    """The marks that stand on some templates only. `with_v`: have some a V?"""
    pieces = [pattern.piece for pattern in patterns.patterns]
    text = []
    if any(piece.lies_on for piece in pieces):
        text.append(
            say(
                "Where a placement line is marked \u201con the other face\u201d, prick it right through the foam, a curved one "
                "every {spacing} and not at its corners only, and join the pricks up on the far face.",
                spacing=length(practice.PRICKED),
            )
        )
        if room > _ROOM:
            text.append(
                say("Where such a line runs out over the cut line, draw it on from there to the edge of the far face.")
            )
    if with_v:
        text.append(
            say(
                "A V beside a placement line shows which way round a part lies there: the V at the edge of that part comes "
                "against it."
            )
        )
    if any(not touch.glued and touch.broad[1] > 0.5 for touch in bodies.touches.values()):
        text.append(
            say(
                "A line marked \u201cno glue\u201d shows where a part only rests: mark its place lightly, and keep glue off it."
            )
        )
    if any(piece.cut_mirrored for piece in pieces):
        text.append(
            say(
                "For a piece marked \u201cmirrored\u201d, lay the template printed side down, draw round it, and prick all "
                "marks through the holes that you have pricked before: the face that you draw on is the inside face of this "
                "piece too."
            )
        )
        text += _hands(pieces, bodies)
    return text


def _engraved(patterns: Patterns) -> list[str]:
    """How lines are engraved while the piece is flat."""
    engraved = [pattern.piece for pattern in patterns.patterns if pattern.fittings.engraving]
    wooden = [piece for piece in engraved if piece.stock.material_type == "plywood"]
    soft = [piece for piece in engraved if piece not in wooden]
    text = []
    if soft:
        text.append(
            say(
                "Engrave {parts} now, along the dotted lines, while the piece is flat: turn the template over, prick the "
                "lines through on to the outside face, and draw a blunt tool along them, half a millimetre deep.",
                parts=all_of(soft),
            )
        )
    text += [
        say(
            "Of the {n} layers of {part} engrave one only: it comes to lie outside.",
            part=one_of(piece),
            n=piece.layers,
        )
        for piece in soft
        if piece.layers > 1
    ]
    if wooden:
        text.append(
            say(
                "The dotted lines on {parts} go on the outside face: hold the template against a window, the print towards "
                "the glass, and draw them on its back. Lay it on with the print down, carbon paper below it, and go over "
                "them with a pencil. Cut them in with the tip of the knife, two slanting cuts for each, or draw them with "
                "a fine brush when all else is painted.",
                parts=all_of(wooden),
            )
        )
    return text


def _blade(patterns: Patterns) -> list[str]:
    """How the blade is held along each edge."""
    if not any(map(bevelled, patterns.patterns)):
        return [say("Hold the blade upright: every edge is cut square to the face.")]
    text = [
        say(
            "Where an edge has an angle printed beside it, tilt the blade by that angle, as the small drawing "
            "of the blade shows. Cut every other edge square to the face."
        )
    ]
    angles = [np.abs(edge.bevel) for pattern in patterns.patterns for edge in pattern.edges if edge.bevel]
    if any(float(np.ptp(values)) > _TURNS for values in angles):
        text.append(say("Where the angle changes along an edge, turn the blade evenly from one number to the next."))
    if max(map(straight_bevel, patterns.patterns), default=0.0) > _STEEP:
        text.append(
            say(
                "An edge of more than {angle}\u00b0 wants a long fresh blade and many light passes: keep your other hand "
                "behind the blade.",
                angle=f"{_STEEP:g}",
            )
        )
    if any(map(curved_bevels, patterns.patterns)):
        text.append(
            say(
                "Bevelled edges of {parts} curve, where no block leads the blade: tilt it by eye, stay a millimetre outside "
                "the line, and sand to the angle.",
                parts=listed([p.piece.label for p in patterns.patterns if curved_bevels(p)]),
            )
        )
    if leaning := [p.piece.label for p in patterns.patterns if curved_bevel(p) > _STEEP]:
        text.append(
            say(
                "A curved edge of more than {angle}\u00b0, as on {parts}, is too aslant for a blade led by eye: cut it "
                "upright along whichever of its two lines leaves more foam, and sand it to the angle.",
                angle=f"{_STEEP:g}",
                parts=listed(leaning),
            )
        )
    return text


def _cut_out(patterns: Patterns, with_v: bool) -> list[str]:
    """The cutting itself, and what is marked and cut on the pieces once they are out."""
    total = pieces_cut(patterns) - sum(
        p.piece.quantity
        for p in patterns.patterns
        if p.piece.listed_only  # those are measured off, as is said below
    )
    text = [
        count(
            "Now cut the piece.",
            "Now cut the {n} pieces, from {kinds} templates.",
            total,
            kinds=sum(len(p.split.segments) if p.split else 1 for p in patterns.patterns if not p.piece.listed_only),
        )
    ]
    drawn = [p for p in patterns.patterns if not p.piece.listed_only]
    sheets = [p.piece for p in drawn if p.piece.stock.material_type == "acrylic"]
    if sheets:
        text.append(
            say(
                "Leave the film on the clear sheet of {parts}. Saw curves with a fretsaw, slowly, so that the sheet stays cool, "
                "and stay a millimetre outside the line; for a straight edge, score it ten times along a steel rule and snap it "
                "over the edge of the table. Sand to the line, and pull the film off when the piece goes in.",
                parts=listed([piece.label for piece in sheets]),
            )
        )
    boards = [p.piece for p in drawn if p.piece.stock.material_type == "plywood" and not p.piece.bought]
    if boards:
        text.append(
            say(
                "Saw {parts} out of plywood with a fretsaw, just outside the line, and sand the edges to it.",
                parts=listed([piece.label for piece in boards]),
            )
        )
    opened = [p.piece for p in drawn if any(own.holes for own in pieces_of_foam(p))]
    if opened:
        text.append(
            say(
                "Cut out the holes or slots within {parts} as well, and do not cut past their ends.",
                parts=listed([piece.label for piece in opened]),
            )
        )
    if with_v:
        text.append(say("Draw each V on across the cut edge, where you still see it when the drawn face lies down."))
    text += [_measured_off(p) for p in patterns.patterns if p.piece.listed_only and p.strip is not None]
    folded = [
        p.piece
        for p in patterns.patterns
        if not p.piece.listed_only and isinstance(p.piece.body, BandBody) and is_scored(p.piece.body)
    ]
    if folded:
        text.append(
            say(
                "Cut the V of each fold line in {parts} now, while the piece is flat and as its template says, on an offcut "
                "first: the skin must stay whole, and the V must close at the fold.",
                parts=all_of(folded),
            )
        )
    return text


def _counted(patterns: Patterns, seams: bool) -> list[str]:
    """How what was cut is held against the list and against itself."""
    pieces = [pattern.piece for pattern in patterns.patterns]
    text = [say("Lay the pieces out by letter, and count them against the list of parts.")]
    if any(piece.cut_mirrored for piece in pieces):
        text.append(say("Stack the pieces of one letter: they must match, mirrored ones once they are turned over."))
    elif any(piece.quantity > 1 for piece in pieces if not piece.listed_only):
        text.append(say("Stack the pieces of one letter: they must match."))
    if seams and _are_unlike(patterns):
        text.append(say("Two edges with the same seam number are as long as the appendix tells."))
    elif seams:
        text.append(
            say("Two edges with the same seam number are equally long, without the open mouths of darts.")
            if any(pattern.darts for pattern in patterns.patterns)
            else say("Two edges with the same seam number are equally long.")
        )
    return text


def _are_unlike(patterns: Patterns) -> bool:
    """Are there seams whose edges are not of one length on paper, as of foam of two thicknesses?"""
    drawn = {(p.piece.id, edge.id): drawn_length(edge) for p in patterns.patterns for edge in p.edges}
    pairs = (((s.part_a, s.edge_a), (s.part_b, s.edge_b)) for s in patterns.seams)
    return any(abs(drawn[a] - drawn[b]) > _UNLIKE for a, b in pairs if a in drawn and b in drawn)


def straight_bevel(pattern: Pattern) -> float:
    """The largest angle in degrees of the bevels of a part along which a block leads the blade; 0 for none."""
    straight = [
        float(np.abs(edge.bevel).max()) for edge in pattern.edges if is_bevelled(pattern, edge) and not is_curved(edge)
    ]
    return max([*straight, *mitre_angles(pattern)], default=0.0)


def curved_bevels(pattern: Pattern) -> bool:
    """Has a part a bevelled edge along which no straight block can be laid?"""
    return curved_bevel(pattern) > 0.0


def curved_bevel(pattern: Pattern) -> float:
    """The largest angle in degrees of the bevels of a part along which no block leads the blade; 0 for none."""
    curved = [edge for edge in pattern.edges if is_bevelled(pattern, edge) and is_curved(edge)]
    return max((float(np.abs(edge.bevel).max()) for edge in curved), default=0.0)


def is_curved(edge: PatternEdge) -> bool:
    """Does an edge depart from a straight line?"""
    chord = shapely.LineString([edge.points[0], edge.points[-1]])
    return float(shapely.distance(chord, shapely.points(edge.points)).max()) > _CURVED


def over_pages(pattern: Pattern) -> bool:
    """May a part be too large for a page of the smallest usual paper?"""
    if pattern.piece.listed_only:
        return False
    sizes = np.sort(np.ptp(np.vstack([pattern.outline, pattern.other_outline]), axis=0))
    return bool((sizes > _PAGE).any())


def _seam_marks(patterns: Patterns) -> str:
    if any(edge.tick_numbers for pattern in patterns.patterns for edge in pattern.edges):
        return say(
            "Copy the seam number and the tick numbers to every edge that has them: equal numbers are glued to each other."
        )
    return say("Copy the seam number to every edge that has one: equal numbers are glued to each other.")


def _small_holes(patterns: Patterns) -> list[str]:
    """How holes are cut that are too small to lead a blade around."""
    text = []
    if any(map(small_hole, (hole for pattern in patterns.patterns for hole in pattern.holes))):
        text.append(
            say(
                "Cut small round holes with a hole punch or a sharpened tube of their size, or with the tip of the blade in "
                "short upright strokes; rather too small than too wide."
            )
        )
    darts = [pattern.piece for pattern in patterns.patterns if pattern.darts]
    if darts:
        text.append(
            say(
                "Make the small hole at the tip of each dart in {parts} with a hole punch or a thick needle first, and then "
                "cut along both sides of the dart up to it.",
                parts=listed([piece.label for piece in darts]),
            )
        )
    return text


def _numbers(patterns: Patterns, bodies: Bodies) -> list[str]:
    """Which number goes where, of parts whose pieces differ once they are in place."""
    numbers = seam_numbers(patterns)
    pieces = [p.piece for p in patterns.patterns if which_copy.is_numbered(bodies, p.piece)]
    told = {piece.label: _numbered(piece, bodies, numbers) for piece in pieces}
    text = [say("{part}: {list}.", part=label, list="; ".join(each)) for label, each in told.items() if each]
    if shown := [label for label, each in told.items() if not each]:  # words do not tell the places apart
        text.append(say("{parts}: the pictures show by number where each goes.", parts=listed(shown)))
    if not all(piece.is_pair for piece in pieces):
        text.append(
            say(
                "Where a template names copies, as in \u201ccopies 1 and 4 only\u201d, that mark or seam is for the pieces "
                "of these numbers alone."
            )
        )
    if text:
        text.append(
            say(
                "Left and right are those of the finished prop itself: its left is on your right while you look at its front."
            )
        )
    return text


def _numbered(piece: Piece, bodies: Bodies, numbers: Mapping[frozenset[tuple[str, str]], int]) -> list[str]:
    """The places of the pieces of a part, each with its number and the seams that it alone has."""
    each = []
    own = which_copy.seams_of_its_own(bodies, piece.id, numbers)
    for n, at in enumerate(which_copy.places(bodies, piece.id), start=1):
        seams = own[n - 1]
        mirrored = piece.is_pair and piece.placements[n - 1].mirrored
        named = say("{n} (the mirrored one)", n=n) if mirrored else str(n)
        if seams:
            each.append(
                count(
                    "{number} {place} (seam {seams})",
                    "{number} {place} (seams {seams})",
                    len(seams),
                    number=named,
                    place=at,
                    seams=listed([str(seam) for seam in seams]),
                )
            )
        else:
            each.append(say("{n} {place}", n=named, place=at))
    return each


def _hands(pieces: Sequence[Piece], bodies: Bodies) -> list[str]:
    """On which side of the prop a piece goes that is cut as drawn, where its mirror image goes on the other."""
    left, right = which_copy.sides(bodies, pieces)
    alone = len(left) + len(right) == sum(
        piece.is_pair for piece in pieces
    )  # else the letters say which pairs are meant
    if alone and left and not right:
        return [
            say(
                "Of a mirrored pair, mark the piece cut as drawn L: it goes on the left of the prop. Mark the mirrored one R. "
                "Left is on your left when you look the way that the prop does."
            )
        ]
    if alone and right and not left:
        return [
            say(
                "Of a mirrored pair, mark the piece cut as drawn R: it goes on the right of the prop. Mark the mirrored one L. "
                "Left is on your left when you look the way that the prop does."
            )
        ]
    if not left and not right:
        return []
    cut = [say("the piece of {parts} cut as drawn", parts=listed([piece.label for piece in left]))] if left else []
    cut += [say("the mirrored piece of {parts}", parts=listed([piece.label for piece in right]))] if right else []
    return [
        say(
            "Of {parts} one piece goes on the left of the prop and one on the right: mark {list} L, and the other R. Left is on "
            "your left when you look the way that the prop does.",
            parts=listed(sorted(piece.label for piece in (*left, *right))),
            list=listed(cut),
        )
    ]


def pieces_cut(patterns: Patterns) -> int:
    """How many pieces are cut in all: every copy, every layer and every segment of what is joined from several."""
    return sum(p.piece.quantity * (len(p.split.segments) if p.split else 1) for p in patterns.patterns)


def special_tools(patterns: Patterns) -> list[str]:
    """What only some props are cut with, by the keys of the supplies."""
    every = patterns.patterns
    called_for = {
        "gauge": any(map(straight_bevel, every)),
        "punch": any(pattern.darts or any(map(small_hole, pattern.holes)) for pattern in every),
        "sanding-block": any(map(curved_bevels, every)),
        "fine-brush": any(p.fittings.engraving and p.piece.stock.material_type == "plywood" for p in every),
        "engraver": any(p.fittings.engraving and p.piece.stock.material_type != "plywood" for p in every),
        "carbon-paper": any(p.fittings.engraving and p.piece.stock.material_type == "plywood" for p in every),
    }
    return [key for key, called in called_for.items() if called]


def cut_by_itself(pattern: Pattern) -> tuple[Pattern, ...]:
    """What of a part is cut out by itself: the segments of a mitred band, with the mitres between them; all of any other one."""
    mitred = pattern.split is not None and pattern.split.joint == "mitre"
    return pieces_of_foam(pattern) if mitred else (pattern,)


def mitres(pattern: Pattern) -> list[float]:
    """The bevels in degrees of the mitres between the segments of a part."""
    return [joint.bevel for own in cut_by_itself(pattern) for joint in own.joints]


def mitre_angles(pattern: Pattern) -> list[float]:
    """Those of them, either way, for which the blade is tilted."""
    return [angle for angle in map(abs, mitres(pattern)) if angle >= least_bevel(pattern.piece.thickness)]


def _beyond(pattern: Pattern) -> float:
    """How far the line of the far face lies outside the cut line, mm at most; 0 where it does not."""
    drawn = shapely.Polygon(pattern.outline)
    line = pattern.other_outline  # corners lie further out than what is left along their edges
    middles = shapely.points((line + np.roll(line, -1, axis=0)) / 2.0)
    outside = middles[~shapely.contains(drawn, middles)]
    return float(shapely.distance(drawn.exterior, outside).max(initial=0.0))


def small_hole(hole: np.ndarray) -> bool:
    """Is a hole round, and too small to lead a blade around?"""
    spans = np.ptp(hole, axis=0)
    return bool(spans.max() < _SMALL_HOLE and len(hole) > 8 and np.ptp(spans) < 0.02 * _SMALL_HOLE)


def _measured_off(pattern: Pattern) -> str:
    """A strip or a bar without a template."""
    piece = pattern.piece
    long, wide = pattern.strip or (0.0, 0.0)
    facts = {"size": length(long), "stock": piece.stock.name, "label": piece.label, "name": name_of(piece)}
    if piece.bought and piece.stock.material_type == "foam":  # as bars are entered that are of neither wood nor sheet
        return count(
            "Cut {n} piece of {size} from {stock} for {label} ({name}), with a fine saw if it is hard. It has no template.",
            "Cut {n} pieces of {size} each from {stock} for {label} ({name}), with a fine saw if it is hard. They have no "
            "template.",
            piece.quantity,
            **facts,
        )
    if piece.bought:
        return count(
            "Saw {n} piece of {size} from {stock} for {label} ({name}). It has no template.",
            "Saw {n} pieces of {size} each from {stock} for {label} ({name}). They have no template.",
            piece.quantity,
            **facts,
        )
    return count(
        "Cut {n} strip of {size} from {stock} for {label} ({name}). It has no template.",
        "Cut {n} strips of {size} each from {stock} for {label} ({name}). They have no template.",
        piece.quantity,
        **{**facts, "size": lengths((long, wide))},
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

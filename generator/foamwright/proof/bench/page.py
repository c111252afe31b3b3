"""The page of the virtual build: the prop as it came out, darker the further it is from the model, and its figures.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

import numpy as np

from foamwright.assembly import raster
from foamwright.booklet.pictures.render import halved, png
from foamwright.booklet.words.cutting import pieces_cut
from foamwright.drawing.document import Document, Page
from foamwright.drawing.primitives import Drawing, Path, Primitive, Shading, Text
from foamwright.drawing.typesetting import fitted, set_line, wrap
from foamwright.flatten.records import Patterns
from foamwright.language import count, length, say
from foamwright.layout.furniture import PRINT_MARGIN
from foamwright.layout.records import PackInfo, Paper
from foamwright.proof.bench.records import (
    APART,
    BENT,
    BESIDE,
    FAR,
    FOLDED,
    OPEN,
    PLACE,
    SHAPES,
    SHARED,
    UNMARKED,
    BodyFigures,
    Measured,
    OpenSeam,
    Proof,
)

# By shares of the bound, in steps of a quarter. Each is darker by about the same amount of grey.
SHADES = ("#fff6dc", "#fbdca0", "#f2b866", "#dd8f45")
_FITTING = "#cfd8de"  # of parts that are drawn where the design has them
_VIEWS = ((35.0, 25.0), (215.0, 25.0))  # degrees round about and above, of where the prop is seen from
_TALL = 0.33  # of the page, for the views beside each other
_BETWEEN = 6.0
_TYPE, _LINE, _APART = 2.8, 4.0, 1.0
_SWATCH = (9.0, 4.0)
_SAMPLES = 1600  # lines of sight along the longer side of a view
_LIGHT = 0.3  # share by which a face that looks away from the light is darker
_BORDER = 0.6  # share of the light that is left where one piece ends
_SMALL = 1e-6


def proof_sheet(proof: Proof, patterns: Patterns, paper: Paper, info: PackInfo) -> Document:
    """One page on upright `paper`."""
    left, right = PRINT_MARGIN, paper.width - PRINT_MARGIN
    top = paper.height - PRINT_MARGIN
    title = say("Built from its own templates")
    about = say("{name}, size {size}, version {version}", name=info.name, size=info.size, version=info.version)
    items: list[Primitive] = [
        set_line(fitted(title, right - left, 7.0, bold=True), left, top - 7.0),
        set_line(fitted(about, right - left, 3.2), left, top - 14.0),
        Path(np.array([[left, top - 18.0], [right, top - 18.0]]), "page"),
    ]
    lines, y = _written(_words(proof, patterns), left, right, top - 23.0)
    items += [*lines, *_legend(proof, left, y - _SWATCH[1])]
    y -= _SWATCH[1] + 4.0
    wide, tall = (right - left - _BETWEEN) / len(_VIEWS), _TALL * paper.height
    for k, (turn, rise) in enumerate(_VIEWS):
        items += _picture(proof, (left + k * (wide + _BETWEEN), y - tall, wide, tall), turn, rise)
    lines, y = _written(_facts(proof, patterns), left, right, y - tall - 6.0)
    shown = tuple(dict.fromkeys(one.part for one in _drawn(proof)))
    page = Page(1, paper.width, paper.height, title, shown, None, None, Drawing((*items, *lines)))
    return Document(f"{info.name} proof", f"{title}: {about}", paper.name, (page,), info.author)


def _written(sentences: Sequence[str], left: float, right: float, y: float) -> tuple[list[Text], float]:
    """Sentences below each other from a height, and the height below them."""
    lines = []
    for sentence in sentences:
        for row in wrap(sentence, right - left, _TYPE):
            lines.append(Text((left, y), row, _TYPE))
            y -= _LINE
        y -= _APART
    return lines, y


def _drawn(proof: Proof) -> tuple[Measured, ...]:
    """What is in the picture: whatever else was built lies elsewhere, and not as it will be."""
    return (*proof.standing, *proof.fitting)


def _words(proof: Proof, patterns: Patterns) -> list[str]:
    told = [
        say(
            "Nobody needs this page to build the prop. It tells how well the templates fit: before this pack was written, a "
            "computer cut, bent and glued foam by the lines, ticks, bevels and marks of these templates alone, and laid the "
            "result on the design. If that shows a wrong line, no pack is written."
        )
    ]
    if proof.reasons:
        labels = _labels(patterns, [part for part, _ in proof.reasons])
        told.append(
            say(
                "Of some parts it could not tell whether they fit, which does not say that they are wrong: {labels}. Hold these "
                "in place dry before you glue them. Why stands at the end of this page; they are not in the pictures.",
                labels=labels,
            )
        )
    told.append(
        say(
            "The darker a part is, the further it came out from where the design has it. The computer bends foam as many small "
            "flat triangles, so a little is always left."
        )
    )
    return told


def _facts(proof: Proof, patterns: Patterns) -> list[str]:
    facts = [*_counted(proof, patterns), *_proven(proof, patterns)]
    if proof.seams:
        facts.append(say("Seams glued: {n}, at most {gap} apart.", n=proof.seams, gap=length(proof.seam_gap, 2)))
    if proof.marks:
        told = say(
            "Placement lines that parts were set on: {n}, the parts at most {off} beside them.",
            n=proof.marks,
            off=length(proof.mark_gap, 2),
        )
        facts.append(told)
    facts += _bodies(proof, patterns)
    if proof.open_seams:
        names = {p.piece.id: p.piece.label for p in patterns.patterns}
        listed = ", ".join(_open_seam(seam, names) for seam in proof.open_seams)
        facts.append(say("Seams of which a part is not proven, so that they tell nothing: {seams}.", seams=listed))
    for reason, words in _reasons().items():
        if labels := _labels(patterns, [part for part, why in proof.reasons if why == reason]):
            facts.append(say("Not proven: {labels}: {why}.", labels=labels, why=words))
    return facts


def _labels(patterns: Patterns, parts: Collection[str]) -> str:
    """Letters of parts, each once, in the order of the cut list."""
    return ", ".join(p.piece.label for p in patterns.patterns if p.piece.id in parts)


def _counted(proof: Proof, patterns: Patterns) -> Iterator[str]:
    """What the parts in place have to do with the pieces that the booklet counts, where these are more."""
    pieces = pieces_cut(patterns)
    loose = [p.piece.id for p in patterns.patterns if p.piece.loose]
    if pieces != proof.copies:
        yield say(
            "{pieces} are cut for {parts} in place: what is glued up from layers or segments is one part.",
            pieces=count("{n} piece", "{n} pieces", pieces),
            parts=count("{n} part", "{n} parts", proof.copies),
        )
    if loose:
        yield say("Of {labels} not all stand in the prop; those are not built.", labels=_labels(patterns, loose))


def _proven(proof: Proof, patterns: Patterns) -> Iterator[str]:
    """How many parts came out by their lines alone, and how many of the others fit."""
    parts = count("{n} part", "{n} parts", proof.copies)
    if not proof.proven:
        yield say("None of {parts} came out by its lines alone.", parts=parts)
    else:
        mean, worst = proof.bounds
        yield say(
            "{proven} of {parts} came out by their lines alone: they are {mean} off the design on average, and {worst} where "
            "it is most (part {label}). Up to {most_mean} on average and {most} anywhere are right for a prop of this size.",
            proven=proof.proven,
            parts=parts,
            mean=length(proof.mean, 2),
            worst=length(proof.worst, 2),
            label=_labels(patterns, [proof.worst_part]),
            most_mean=length(mean, 1),
            most=length(worst, 1),
        )
    if proof.formed:
        formed = {part for body in proof.bodies if body.formed for part in body.parts}
        yield say(
            "{n} of these are bent foam that springs open by itself. Bent over the shape of the design, it ends where it "
            "should: {labels}.",
            n=proof.formed,
            labels=_labels(patterns, formed & {one.part for one in proof.standing}),
        )
    if proof.fitted:
        yield say(
            "Parts that fit as well, grey in the pictures: {n} ({labels}). In their place they agree with every line that is "
            "drawn for them, but the computer could not set them there by these lines alone: the pictures of their steps show "
            "how they sit.",
            n=proof.fitted,
            labels=_labels(patterns, {one.part for one in proof.fitting}),
        )


def _bodies(proof: Proof, patterns: Patterns) -> Iterator[str]:
    """Of what was glued up by itself, several that are alike in one line."""
    alike: dict[tuple[str, ...], list[BodyFigures]] = {}
    for body in proof.bodies:
        if body.judged:
            alike.setdefault(body.parts, []).append(body)
    for parts, bodies in alike.items():
        copies = sum(body.copies for body in bodies)
        yield say(
            "Glued edge to edge by themselves, {labels} ({parts}) are {mean} off on average, {worst} where it is most.",
            labels=_labels(patterns, parts),
            parts=count("{n} part", "{n} parts", copies),
            mean=length(sum(body.copies * body.mean for body in bodies) / copies, 2),
            worst=length(max(body.worst for body in bodies), 2),
        )


def _open_seam(seam: OpenSeam, names: Mapping[str, str]) -> str:
    """Its number as it is printed, the label of the piece that is not proven, and how far apart it came out."""
    number, labels = seam.seam.lstrip("S"), ", ".join(names.get(part, part) for part in seam.unproven)
    if seam.gap is None:
        return say("{number} ({labels})", number=number, labels=labels)
    return say("{number} ({labels}, {gap} apart)", number=number, labels=labels, gap=length(seam.gap, 1))


def _reasons() -> dict[str, str]:
    return {
        OPEN: say("bent foam with free edges springs open, and no stiff part holds it: tape it to its shape first"),
        SHAPES: say("the lengths allow more than one shape: look at the picture of its step while you bend it"),
        BESIDE: say("what it stands on is not proven: once that holds, lay this on its lines dry before you glue it"),
        PLACE: say("its lines fit in more than one place: look at the picture of its step before you glue it"),
        BENT: say("bent over other pieces it came out further off than it may: tape it on dry, ends and lines first"),
        FOLDED: say(
            "the computer does not bend strips between their sharp corners: bend it dry round what it goes round"
        ),
        UNMARKED: say("no line and no seam leads to it: set it as the picture of its step shows"),
        APART: say("a seam of it did not close: hold its edges together dry before you glue them"),
        FAR: say(
            "the foam that its lines and seams are on came out a little off, and it stands further off than it may: set it by "
            "its own lines and seams, not by measure"
        ),
        SHARED: say(
            "it shares space with another piece, and no template shows what to cut away: trim it dry until both fit"
        ),
    }


def _legend(proof: Proof, x: float, y: float) -> list[Primitive]:
    worst = proof.bounds[1]
    swatches = [(shade, say("to {far}", far=length(worst * (k + 1) / 4, 1))) for k, shade in enumerate(SHADES)]
    if proof.fitting:
        swatches.append((_FITTING, say("fits in its place")))
    items: list[Primitive] = []
    for shade, name in swatches:
        box = np.array([x, y]) + np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * _SWATCH
        items += [Path(box, "shade", closed=True, fill=shade), Path(box, "note", closed=True)]
        items.append(Text((x + _SWATCH[0] + 2.0, y + 1.0), name, _TYPE))
        x += 34.0
    return items


def _picture(proof: Proof, box: tuple[float, float, float, float], turn: float, rise: float) -> list[Primitive]:
    """The built foam seen from afar, nearest faces in front, fitted into a box (x, y, width, height)."""
    if not _drawn(proof):
        return []
    corners, colours, whose = _triangles(proof, _axes(turn, rise))
    points = corners.reshape(-1, 3) * (1.0, 1.0, -1.0)  # the last axis is the distance from the eye now
    low, span = points[:, :2].min(axis=0), np.maximum(np.ptp(points[:, :2], axis=0), _SMALL)
    step = float(span.max() / (_SAMPLES - 6))
    rows, columns = (int(np.ceil(span[k] / step)) + 6 for k in (1, 0))
    depth = np.full((rows, columns), np.inf)
    owner, face = np.full((rows, columns), -1, np.int32), np.full((rows, columns), -1, np.int32)
    numbers = np.arange(len(corners))
    raster.picture(
        points, numbers[:, None] * 3 + np.arange(3), numbers, whose, low - 2.5 * step, step, depth, owner, face
    )
    seen = np.where((face >= 0)[..., None], colours[face], 255)
    seen[_borders(owner)] *= _BORDER
    picture = halved(seen.astype(np.uint8)[::-1])  # y goes down in a picture
    x, y, width, height = box
    scale = min(width / picture.shape[1], height / picture.shape[0])
    wide, tall = scale * picture.shape[1], scale * picture.shape[0]
    return [Shading((x + (width - wide) / 2.0, y + (height - tall) / 2.0), wide, tall, png(picture))]


def _axes(turn: float, rise: float) -> np.ndarray:
    """Rows: to the right, up, and towards one who looks from `turn` degrees round about and `rise` above."""
    t, r = np.radians([turn, rise])
    towards = np.array([np.cos(r) * np.cos(t), np.cos(r) * np.sin(t), np.sin(r)])
    right = np.array([-np.sin(t), np.cos(t), 0.0])
    return np.array([right, np.cross(towards, right), towards])


def _borders(owner: np.ndarray) -> np.ndarray:
    """Samples (rows, columns) beside one at which another piece is seen, or none."""
    found = np.zeros(owner.shape, bool)
    across, up = owner[:, 1:] != owner[:, :-1], owner[1:] != owner[:-1]
    found[:, 1:] |= across
    found[:, :-1] |= across
    found[1:] |= up
    found[:-1] |= up
    return found


def _triangles(proof: Proof, look: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Corners (m, 3, 3) of all faces in the axes of the view, the colour of each (m, 3), 0 to 255, and the number of its piece
    (m,)."""
    corners, shades, whose = [], [], []
    for number, one in enumerate(_drawn(proof)):
        half = len(one.points) // 2
        for start in (0, half):
            if not len(one.triangles) or start + int(one.triangles.max()) >= len(one.points):
                continue
            index = one.triangles + start
            far = one.away[index].max(axis=1)
            step = np.minimum((len(SHADES) * far / proof.bounds[1]).astype(int), len(SHADES) - 1)
            corners.append(one.points[index] @ look.T)
            shades.append(step if number < proof.proven else np.full(len(index), len(SHADES)))
            whose.append(np.full(len(index), number))
    shapes = np.concatenate(corners)
    normal = np.cross(shapes[:, 1] - shapes[:, 0], shapes[:, 2] - shapes[:, 0])
    facing = np.abs(normal[:, 2]) / np.maximum(np.linalg.norm(normal, axis=1), _SMALL)
    tones = np.array([[int(shade[k : k + 2], 16) for k in (1, 3, 5)] for shade in (*SHADES, _FITTING)])
    colours = np.round(tones[np.concatenate(shades)] * (1.0 - _LIGHT * (1.0 - np.round(facing, 2)))[:, None])
    return shapes, colours, np.concatenate(whose)

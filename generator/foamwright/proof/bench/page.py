"""The page of the virtual build: the prop as it came out, darker the further it is from the model, and its figures.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from foamwright.assembly import raster
from foamwright.booklet.pictures.render import halved, png
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
    UNMARKED,
    Measured,
    OpenSeam,
    Proof,
)

# By shares of the bound, in steps of a quarter; the last is beyond it. Each is darker by about the same amount of grey.
SHADES = ("#fff6dc", "#fbdca0", "#f2b866", "#dd8f45", "#7a2f1c")
_VIEWS = ((35.0, 25.0), (215.0, 25.0))  # degrees round about and above, of where the prop is seen from
_TALL = 0.30  # of the page, for each view
_TYPE, _LINE = 2.6, 3.8
_SWATCH = (9.0, 4.0)
_SAMPLES = 1600  # lines of sight along the longer side of a view
_LIGHT = 0.3  # share by which a face that looks away from the light is darker
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
    y = top - 23.0
    for line in wrap(_words(), right - left, _TYPE):
        items.append(Text((left, y), line, _TYPE))
        y -= _LINE
    items += _legend(proof, left, y - _SWATCH[1])
    y -= _SWATCH[1] + 4.0
    tall = _TALL * paper.height
    for turn, rise in _VIEWS:
        items += _picture(proof, (left, y - tall, right - left, tall), turn, rise)
        y -= tall + 3.0
    for line in _facts(proof, patterns):
        for row in wrap(line, right - left, _TYPE):
            items.append(Text((left, y), row, _TYPE))
            y -= _LINE
    shown = tuple(dict.fromkeys(one.part for one in proof.shown))
    page = Page(1, paper.width, paper.height, title, shown, None, None, Drawing(tuple(items)))
    return Document(f"{info.name} proof", f"{title}: {about}", paper.name, (page,), info.author)


def _words() -> str:
    return say(
        "There is nothing to cut or to do on this page: it tells how well the templates fit. Before this pack was written, a "
        "computer built the prop from it: it cut, bent and glued foam by the lines, ticks, bevels and marks of these templates "
        "alone, and laid the result on the design. The darker the foam, the further it came out from where the design has it. "
        "Pieces that it could not build are not shown."
    )


def _facts(proof: Proof, patterns: Patterns) -> list[str]:
    names = {p.piece.id: p.piece.label for p in patterns.patterns}
    mean, worst = proof.bounds
    facts = [
        say(
            "{proven} of {copies} pieces are proven: built from their lines alone they are {mean} off the design on average and "
            "{worst} at worst (part {label}). A prop {size} long may be {most_mean} off on average and {most} at worst.",
            proven=proof.proven,
            copies=proof.copies,
            mean=length(proof.mean, 2),
            worst=length(proof.worst, 2),
            label=names.get(proof.worst_part, "-"),
            size=length(proof.size),
            most_mean=length(mean, 1),
            most=length(worst, 1),
        ),
        *_formed(proof, names),
        *_fitted(proof),
        say(
            "Seams glued: {seams}, at worst {gap} apart. Lines that pieces were set on: {marks}, the pieces at worst {off} "
            "beside them.",
            seams=proof.seams,
            gap=length(proof.seam_gap, 2),
            marks=proof.marks,
            off=length(proof.mark_gap, 2),
        ),
    ]
    if proof.open_seams:
        listed = ", ".join(_open_seam(seam, names) for seam in proof.open_seams)
        facts.append(say("Seams of which a piece is not proven, so that they tell nothing: {seams}.", seams=listed))
    for body in proof.bodies:
        if body.judged:
            told = say(
                "Glued edge to edge by themselves, {labels} ({pieces}) are {mean} off on average, {worst} at worst.",
                labels=", ".join(names[part] for part in body.parts),
                pieces=count("{n} piece", "{n} pieces", body.copies),
                mean=length(body.mean, 2),
                worst=length(body.worst, 2),
            )
            facts.append(told)
    for reason, words in _reasons().items():
        parts = [names[part] for part, why in proof.reasons if why == reason and part in names]
        if parts:
            facts.append(say("Not proven: {labels}: {why}.", labels=", ".join(parts), why=words))
    return facts


def _open_seam(seam: OpenSeam, names: Mapping[str, str]) -> str:
    """Its number as it is printed, the label of the piece that is not proven, and how far apart it came out."""
    number, labels = seam.seam.lstrip("S"), ", ".join(names.get(part, part) for part in seam.unproven)
    if seam.gap is None:
        return say("{number} ({labels})", number=number, labels=labels)
    return say("{number} ({labels}, {gap} apart)", number=number, labels=labels, gap=length(seam.gap, 1))


def _formed(proof: Proof, names: Mapping[str, str]) -> list[str]:
    parts = [names[part] for body in proof.bodies if body.formed for part in body.parts if part not in proof.loose]
    if not parts:
        return []
    return [
        say(
            "{n} of them are bent foam whose free edges leave its shape to the hand that bends it. Bent over the shape of the "
            "design, their edges came out where they should be: {labels}.",
            n=proof.formed,
            labels=", ".join(dict.fromkeys(parts)),
        )
    ]


def _fitted(proof: Proof) -> list[str]:
    """How many of the other pieces agree with their lines all the same, and how many are left."""
    told = []
    if proof.fitted:
        told.append(
            say(
                "Pieces that fit: {n}. Their lines alone do not tell where they go, but where the design has them they agree "
                "with every line that is drawn for them.",
                n=proof.fitted,
            )
        )
    if rest := proof.copies - proof.proven - proof.fitted:
        told.append(
            say(
                "Pieces that are not proven: {n}. The computer could not tell whether they fit, which does not say that they are "
                "wrong: hold them in place dry before you glue them. Which these are, and why, stands below.",
                n=rest,
            )
        )
    return told


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
    }


def _legend(proof: Proof, x: float, y: float) -> list[Primitive]:
    worst = proof.bounds[1]
    items: list[Primitive] = []
    for k, shade in enumerate(SHADES):
        name = say("to {far}", far=length(worst * (k + 1) / 4, 1)) if k < 4 else say("beyond")
        box = np.array([x, y]) + np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * _SWATCH
        items += [Path(box, "shade", closed=True, fill=shade), Path(box, "note", closed=True)]
        items.append(Text((x + _SWATCH[0] + 2.0, y + 1.0), name, _TYPE))
        x += 34.0
    return items


def _picture(proof: Proof, box: tuple[float, float, float, float], turn: float, rise: float) -> list[Primitive]:
    """The built foam seen from afar, nearest faces in front, fitted into a box (x, y, width, height)."""
    if not proof.shown:
        return []
    corners, colours = _triangles(proof.shown, proof.bounds[1], _axes(turn, rise))
    points = corners.reshape(-1, 3) * (1.0, 1.0, -1.0)  # the last axis is the distance from the eye now
    low, span = points[:, :2].min(axis=0), np.maximum(np.ptp(points[:, :2], axis=0), _SMALL)
    step = float(span.max() / (_SAMPLES - 6))
    rows, columns = (int(np.ceil(span[k] / step)) + 6 for k in (1, 0))
    depth = np.full((rows, columns), np.inf)
    owner, face = np.full((rows, columns), -1, np.int32), np.full((rows, columns), -1, np.int32)
    numbers = np.arange(len(corners))
    raster.picture(
        points, numbers[:, None] * 3 + np.arange(3), numbers, numbers, low - 2.5 * step, step, depth, owner, face
    )
    seen = np.where((face >= 0)[..., None], colours[face], 255).astype(np.uint8)[::-1]  # y goes down in a picture
    picture = halved(seen)
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


def _triangles(measured: Sequence[Measured], bound: float, look: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Corners (m, 3, 3) of all faces in the axes of the view, and the colour of each (m, 3), 0 to 255."""
    corners, away = [], []
    for one in measured:
        half = len(one.points) // 2
        for start in (0, half):
            if not len(one.triangles) or start + int(one.triangles.max()) >= len(one.points):
                continue
            index = one.triangles + start
            corners.append(one.points[index] @ look.T)
            away.append(one.away[index].max(axis=1))
    shapes, far = np.concatenate(corners), np.concatenate(away)
    normal = np.cross(shapes[:, 1] - shapes[:, 0], shapes[:, 2] - shapes[:, 0])
    facing = np.abs(normal[:, 2]) / np.maximum(np.linalg.norm(normal, axis=1), _SMALL)
    step = np.minimum((4 * far / bound).astype(int), 4)
    tones = np.array([[int(shade[k : k + 2], 16) for k in (1, 3, 5)] for shade in SHADES])
    return shapes, np.round(tones[step] * (1.0 - _LIGHT * (1.0 - np.round(facing, 2)))[:, None])

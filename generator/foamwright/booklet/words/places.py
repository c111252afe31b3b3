"""Where a part sits on what it is glued to, in figures: how deep in a hole, how far over an edge, from where to where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from foamwright.assembly import directions
from foamwright.assembly.bodies import frame
from foamwright.assembly.meetings import Meeting
from foamwright.assembly.naming import all_of, capital, one_of, the
from foamwright.booklet.words.checks import about, band_levels
from foamwright.booklet.words.fitting import Fitting
from foamwright.geometry.polyline import divided
from foamwright.language import length, listed, say
from foamwright.parts.records import BandBody, FlatBody, PanelBody, PanelEdge, Piece

_FLUSH = 0.5  # mm; less cannot be felt
_EVEN = 1.5  # mm between distances that are told as one
_NEAR = 3.0  # mm between a band and the edge that it runs along, off its face
_ALONG = 0.8  # of a band that has an edge beside it
_STEP = 2.0  # mm from one place to the next along an edge
_FAR = 90.0  # mm from a band to an edge that it is measured from
_UPRIGHT = 0.7  # cosine
_PARALLEL = 0.999  # cosine
_LEVEL = 0.15  # of the height of a part, within which its uppermost and lowest edges run
_OFF = 0.1  # of the size of a round panel that its seam lies off the middle
_WEDGE = 1.5  # mm by which one end of a strip is wider than the other, to be told
_COVERED = 0.5  # of a face that others lie on, so that no rule is laid on it
_NARROW = 2.0  # mm that a part overlaps an opening at least, to be told


def lines(told: Fitting) -> list[str]:
    """The places of the parts of a step that its model gives a figure for; each line stands by itself."""
    text = []
    for piece in told.pieces:
        own = told.own(piece)
        if not own or told.whole_of(piece):
            continue
        text += [_in_a_hole(told, piece, own), _over_an_edge(told, piece, own), _over_an_opening(told, piece, own)]
        text.append(_reach(told, piece, own))
        text += _flush(told, piece, own)
    return [line for line in text if line]


def turned(told: Fitting) -> list[str]:
    """Where the seams of panels that are rounds by themselves come, before they are tried in their places."""
    found = [_turned(told, piece, told.own(piece)) for piece in told.pieces if not told.whole_of(piece)]
    return [line for line in found if line]


def _turned(told: Fitting, piece: Piece, own: Sequence[int]) -> str:
    """A panel that is closed to a round by itself and set on something: where its seam comes."""
    closed = [j for j in told.seams if j.parts == (piece.id,) and j.edges[0] != j.edges[1]]
    if not closed or len(own) != 1 or not told.standing or not isinstance(piece.body, PanelBody):
        return ""
    matrix = told.bodies.matrices[own[0]]
    points = told.bodies.mesh((own[0],))[0]
    seam = np.vstack([edge.outer for edge in piece.body.edges if edge.id in closed[0].edges])
    off = (seam @ matrix[:3, :3].T + matrix[:3, 3]).mean(axis=0) - (points.max(axis=0) + points.min(axis=0)) / 2.0
    if float(np.linalg.norm(off[:2])) < _OFF * float(np.linalg.norm(np.ptp(points[:, :2], axis=0))):
        return ""
    return say("Turn {part} so that its seam comes {where}.", part=the(piece), where=directions.around(off))


# In a hole


def _in_a_hole(told: Fitting, piece: Piece, own: Sequence[int]) -> str:
    """A flat part of which the rim is held by a hole: how far it stands out of it at both faces, in words that hold for every
    copy."""
    if not isinstance(piece.body, FlatBody):
        return ""
    for m in told.meetings:
        if m.new != piece.id or not (m.around or m.in_hole) or m.glue == "none" or m.broad or m.on_broad:
            continue
        lying = [_lying(told, m, copy) for copy in own if any(a == copy for a, _ in m.pairs)]
        rims = [one for one in lying if one is not None]
        if not rims or len(rims) < len(lying):
            continue
        for named in (rims, [one.from_the_middle(told) for one in rims]):
            sentences = {_in_its_hole(told, piece, m.other, one) for one in named}
            if len(sentences) == 1:
                line = sentences.pop()
                return " ".join([line, *_held(told, piece, rims)]) if line else ""
        return ""
    return ""


def _held(told: Fitting, piece: Piece, rims: Sequence[_InHole]) -> list[str]:
    """How a part is held in a hole, where it lies on nothing that stops it there, and is flush with neither rim, which a board
    held against that would see to (common practice, no source)."""
    flush = any(float(np.abs(far).max()) < _FLUSH for one in rims for far in (one.out, one.within))
    if flush or any(m.new == piece.id and (m.broad or m.on_broad) for m in told.meetings):
        return []
    return [taped_in_hole()]


def taped_in_hole() -> str:
    """How what nothing stops in its hole is held."""
    return say(
        "Nothing stops it there: set it in dry until this is right, and hold it so with strips of low-tack tape across it "
        "and the rim of the hole until the glue has set."
    )


@dataclass(frozen=True)
class _InHole:
    """A flat copy held by a hole: the way (3,) out of it, how far the copy stands out of its rim at the face on that side, in mm
    all round, and at the other face, and what the two sides are called if not by that way."""

    copy: int
    way: np.ndarray
    out: np.ndarray
    within: np.ndarray
    sides: tuple[str, str] | None = None

    def from_the_middle(self, told: Fitting) -> _InHole:
        """Told by where the middle of the prop is, as copies on both sides of it can be told alike."""
        off = told.bodies.spheres[self.copy, :3] - told.bodies.spheres[:, :3].mean(axis=0)
        sides = say("on the outside"), say("on the inside")
        if float(self.way @ off) < 0.0:
            return _InHole(self.copy, -self.way, self.within, self.out, sides)
        return _InHole(self.copy, self.way, self.out, self.within, sides)


def _lying(told: Fitting, m: Meeting, copy: int) -> _InHole | None:
    """How a copy lies in the hole of another part; None where that has no faces to tell it by."""
    axes = frame(told.bodies.pieces[copy], told.bodies.matrices[copy])
    faces = _faces_of_hole(told, m, copy, axes[2]) if axes is not None else None
    if axes is None or faces is None:
        return None
    levels = told.bodies.mesh((copy,))[0] @ axes[2]
    outside, inside, outwards = faces
    high, low = (levels.max(), levels.min()) if outwards > 0.0 else (-levels.min(), -levels.max())
    return _InHole(copy, outwards * axes[2], high - outside, inside - low)


def _in_its_hole(told: Fitting, piece: Piece, other: str, one: _InHole) -> str:
    words = one.sides or _sides(told, other, one.way)
    # a face that something else lies on is out of reach of a rule
    outer, inner = (not _is_covered(told, one.copy, way * one.way) for way in (1.0, -1.0))
    out, within = _stands(one.out), _stands(one.within)
    if outer and inner:
        return say(
            "Check: {outer} {part} {out}, and {inner} it {within}.",
            outer=words[0],
            inner=words[1],
            part=one_of(piece),
            out=out,
            within=within,
        )
    if outer or inner:
        return say(
            "Check: {side} {part} {out}.",
            side=words[0] if outer else words[1],
            part=one_of(piece),
            out=out if outer else within,
        )
    return ""


def _is_covered(told: Fitting, copy: int, off: np.ndarray) -> bool:
    """Does what stands or goes in with a flat copy lie on most of its face that looks along `off`, or on most of the rim of
    that?"""
    body, matrix = told.bodies.pieces[copy].body, told.bodies.matrices[copy]
    assert isinstance(body, FlatBody)
    there = told.standing | told.bodies.mask(c for move in told.moves for c in move.copies)
    back = np.linalg.inv(matrix[:3, :3])
    on = shapely.union_all(
        [
            shapely.Polygon(loops[0], loops[1:]).buffer(0.0)
            for (a, b), touch in told.bodies.touches.items()
            if a == copy
            and there >> b & 1
            and touch.broad[0] > 0.5
            and float(touch.normals.mean(axis=0) @ off) < -_PARALLEL
            for patch in touch.outlines
            for loops in [[body.frame.to_frame((loop - matrix[:3, 3]) @ back.T)[:, :2] for loop in patch]]
        ]
    )
    face = shapely.Polygon(body.outline, body.holes)
    rim = shapely.Polygon(body.outline).buffer(-_FLUSH).exterior
    return on.area > _COVERED * face.area or rim.intersection(on).length > _COVERED * rim.length


def _faces_of_hole(
    told: Fitting, m: Meeting, copy: int, off: np.ndarray
) -> tuple[np.ndarray, np.ndarray, float] | None:
    """Where both faces of the other part lie around the hole, along the way out of it, and whether that is `off` (1) or
    against it (-1)."""
    other = next(b for a, b in m.pairs if a == copy)
    piece, matrix = told.bodies.pieces[other], told.bodies.matrices[other]
    met = {theirs for _, theirs in told.bodies.touches[copy, other].edges}
    if isinstance(piece.body, PanelBody):
        edges = [edge for edge in piece.body.edges if edge.id in met and edge.kind == "trim"]
        if not edges:
            return None
        normals = np.vstack([edge.normals for edge in edges]) @ matrix[:3, :3].T
        way = float(np.sign(normals.mean(axis=0) @ off)) or 1.0
        outer, inner = (
            np.vstack(rims) @ matrix[:3, :3].T + matrix[:3, 3]
            for rims in ([edge.outer for edge in edges], [edge.inner for edge in edges])
        )
        return way * (outer @ off), way * (inner @ off), way
    theirs = frame(piece, matrix)
    if not met or theirs is None or abs(float(theirs[2] @ off)) < _PARALLEL:
        return None
    way = 1.0 if off @ np.array([0.3, 0.2, 1.0]) > 0.0 else -1.0
    there = way * (told.bodies.mesh((other,))[0] @ off)
    return there.max(keepdims=True), there.min(keepdims=True), way


def _sides(told: Fitting, other: str, outwards: np.ndarray) -> tuple[str, str]:
    """What the two faces are called that a hole goes through."""
    if isinstance(told.every[other].body, PanelBody):
        return say("on the outside"), say("on the inside")
    if abs(outwards[2]) > _UPRIGHT:
        return say("above"), say("below")
    return directions.at(outwards), directions.at(-outwards)


def _stands(out: np.ndarray) -> str:
    """How far a face stands out of (or lies below) a rim, all round."""
    least, most = float(out.min()), float(out.max())
    if max(abs(least), abs(most)) < _FLUSH:
        return say("is flush with the rim of the hole")
    if least > -_FLUSH:
        return say("stands {size} out of the hole", size=_between(max(least, 0.0), most))
    if most < _FLUSH:
        return say("lies {size} deep in the hole", size=_between(max(-most, 0.0), -least))
    return say("stands up to {out} out of the hole and lies up to {deep} deep", out=length(most), deep=length(-least))


def _between(least: float, most: float) -> str:
    if most - least < _EVEN:
        return length((least + most) / 2.0)
    return say("{least} to {most}", least=length(least), most=length(most))


# Along an edge


@dataclass(frozen=True)
class _Beside:
    """An edge that runs along a band: the parts that it belongs to, the edges of these, and how far its lines on the outside
    and on the inside face lie from the middle line of the band at each place (n,), across it, with the band's own edges
    there."""

    parts: tuple[str, ...]
    edges: tuple[PanelEdge, ...]
    outer: np.ndarray
    inner: np.ndarray
    low: np.ndarray
    high: np.ndarray


def _over_an_edge(told: Fitting, piece: Piece, own: Sequence[int]) -> str:
    """A band: how far it covers what it is glued to, and stands out beyond its edge; or how far it runs from it."""
    body = piece.body
    if not isinstance(body, BandBody):
        return ""
    on_edges = {m.other for m in told.meetings if m.new == piece.id and m.broad and not m.on_broad}
    lining = body.inner_offset < 0.0
    on_band = _on_a_band(told, piece, own[0])
    if on_band:
        return on_band
    beside = min(_edges_along(told, piece, own[0]), key=lambda one: float(np.abs(one.inner).mean()), default=None)
    if beside is None:
        return ""
    names = all_of([told.every[part] for part in beside.parts])
    facts = {"part": one_of(piece), "others": names, "which": _which_edge(told, piece, beside)}
    if on_edges & set(beside.parts):
        return _on_cut_edge(told, piece, own[0], beside, facts)
    off = beside.inner if lining else beside.outer
    above, below = beside.high - off, off - beside.low
    if (below > -_FLUSH).all() and (above > -_FLUSH).all():
        over, beyond = (below, above) if _covers(told, body, own[0], beside) < 0.0 else (above, below)
        if np.ptp(over) > _EVEN or np.ptp(beyond) > _EVEN:
            return ""
        if beyond.mean() < _FLUSH:
            return say("Check: the edge of {part} is flush with {which} of {others}, all along.", **facts)
        sizes = {"over": about(float(over.mean())), "beyond": length(float(beyond.mean()))}
        rises = float((told.bodies.matrices[own[0]][:3, :3] @ body.across)[2]) * (1.0 if over is below else -1.0)
        if rises < -_UPRIGHT:
            return say(
                "Check: {part} covers {over} of {others} along {which}, and hangs {beyond} below it, all along.",
                **sizes,
                **facts,
            )
        return say(
            "Check: {part} covers {over} of {others} along {which}, and stands {beyond} out beyond it, all along.",
            **sizes,
            **facts,
        )
    near = np.where(np.abs(above) < np.abs(below), np.abs(above), np.abs(below))
    if np.ptp(near) > _EVEN or near.mean() > _FAR:
        return ""
    across = told.bodies.matrices[own[0]][:3, :3] @ body.across
    mine = say("the nearer edge")
    if abs(across[2]) > _UPRIGHT:
        mine = say("the upper edge") if (above.mean() < 0.0) == (across[2] > 0.0) else say("the lower edge")
    return say(
        "Check: {mine} of {part} runs {size} from {which} of {others}, all along.",
        mine=mine,
        size=about(float(near.mean())),
        **facts,
    )


def _on_a_band(told: Fitting, piece: Piece, copy: int) -> str:
    """A level strip that lies on another: how far its upper edge runs from the upper edge of that, or else its lower edge from
    the lower one; of a tapered one, at both of its ends. "" where it lies on none."""
    body = piece.body
    assert isinstance(body, BandBody)
    if abs(told.bodies.matrices[copy][2, :3] @ body.across) < _UPRIGHT:
        return ""
    for m in told.meetings:
        host = told.every[m.other]
        theirs_at = next((b for a, b in m.pairs if a == copy), None)
        if m.new != piece.id or m.glue == "none" or not isinstance(host.body, BandBody) or theirs_at is None:
            continue
        mine, theirs = (
            band_levels(piece, told.bodies.matrices[copy]),
            band_levels(host, told.bodies.matrices[theirs_at]),
        )
        facts = {"part": one_of(piece), "other": one_of(host)}
        for edge, line, there in zip((say("the upper edge"), say("the lower edge")), mine, theirs):
            if max(np.ptp(there), np.ptp(line)) < _EVEN:
                off = _off(float(line.mean() - there.mean()))
                return say("Check: {edge} of {part} {off} that of {other}, all along.", edge=edge, off=off, **facts)
        widths = body.high - body.low
        if abs(widths[0] - widths[-1]) > _WEDGE and np.ptp(theirs[0]) < _EVEN:
            wide, narrow = (0, -1) if widths[0] > widths[-1] else (-1, 0)
            return say(
                "Check: at its wide end the upper edge of {part} {wide} that of {other}, at its narrow end it {narrow} it.",
                wide=_off(float(mine[0][wide] - theirs[0].mean())),
                narrow=_off(float(mine[0][narrow] - theirs[0].mean())),
                **facts,
            )
    return ""


def _off(up: float) -> str:
    """How an edge runs beside another that it lies `up` mm above."""
    if abs(up) < _FLUSH:
        return say("is level with")
    return say("stands {size} above", size=length(up)) if up > 0.0 else say("runs {size} below", size=length(-up))


def _on_cut_edge(told: Fitting, piece: Piece, copy: int, beside: _Beside, facts: dict[str, str]) -> str:
    """A strip that lies against a cut edge with its face: how far it stands out of that at both sides."""
    assert isinstance(piece.body, BandBody)
    across = told.bodies.matrices[copy][:3, :3] @ piece.body.across
    top, bottom = np.maximum(beside.outer, beside.inner), np.minimum(beside.outer, beside.inner)
    over, under = beside.high - top, bottom - beside.low
    if across[2] < -_UPRIGHT:
        over, under = under, over
    if abs(across[2]) < _UPRIGHT:
        if np.abs(across).max() < _UPRIGHT:
            return ""
        past = say("beyond it"), say("short of it")
        here, there = directions.at(across), directions.at(-across)
        if len(piece.placements) > 1:  # what is in front on one copy may be behind on the next
            here, there = say("on the outside"), say("on the inside")
            if float((beside.outer - beside.inner).mean()) < 0.0:
                here, there = there, here
        return say(
            "Check: {part} lies against the cut edge of {others}. Its edge {one} {this}, its edge {other} {that}, all along.",
            one=here,
            this=_past(over, *past),
            other=there,
            that=_past(under, *past),
            **facts,
        )
    above = say("above it"), say("below the upper corner of it")
    below = say("below it"), say("above the lower corner of it")
    return say(
        "Check: {part} lies against the cut edge of {others}. Its upper edge {upper}, its lower edge {lower}, all along.",
        upper=_past(over, *above),
        lower=_past(under, *below, hangs=True),
        **facts,
    )


def _past(out: np.ndarray, beyond: str, short: str, hangs: bool = False) -> str:
    """How far an edge stands, or hangs, beyond what it lies on, or falls short of it."""
    least, most = float(out.min()), float(out.max())
    if max(abs(least), abs(most)) < _FLUSH:
        return say("is flush with it")
    if least > -_FLUSH:
        size = _between(max(least, 0.0), most)
        if hangs:
            return say("hangs {size} {beyond}", size=size, beyond=beyond)
        return say("stands {size} {beyond}", size=size, beyond=beyond)
    if most < _FLUSH:
        return say("runs {size} {beyond}", size=_between(max(-most, 0.0), -least), beyond=short)
    return say(
        "lies between {short} {beyond} and {over} {above}",
        short=length(-least),
        beyond=short,
        over=length(most),
        above=beyond,
    )


def _covers(told: Fitting, body: BandBody, copy: int, beside: _Beside) -> float:
    """On which side of the edge what it belongs to lies, along the band's width: -1 towards its low edge, 1 the high one."""
    matrix = told.bodies.matrices[copy]
    curve = body.curve @ matrix[:3, :3].T + matrix[:3, 3]
    met = np.vstack(
        [
            touch.places
            for (a, b), touch in told.bodies.touches.items()
            if a == copy and told.bodies.pieces[b].id in beside.parts
        ]
    )
    nearest = cKDTree(curve).query(met)[1]
    where = float(((met - curve[nearest]) @ (matrix[:3, :3] @ body.across)).mean())
    return float(np.sign(where - beside.outer.mean()))


def _edges_along(told: Fitting, piece: Piece, copy: int) -> Iterator[_Beside]:
    """The edges of what a band is glued to, but for seams, that run beside it all along."""
    body, matrix = piece.body, told.bodies.matrices[copy]
    assert isinstance(body, BandBody)
    turn, shift = matrix[:3, :3], matrix[:3, 3]
    curve, across = body.curve @ turn.T + shift, turn @ body.across
    flat = np.linalg.svd(across[None, :])[2][1:]  # two directions square to `across`
    sewn = {side for key in told.seam_numbers for side in key}
    found: dict[str, list[tuple[str, PanelEdge, np.ndarray, np.ndarray]]] = {}
    for m in told.meetings:
        if m.new != piece.id or m.glue == "none" or not m.broad:
            continue
        for other in dict.fromkeys(b for a, b in m.pairs if a == copy):
            host, place = told.bodies.pieces[other], told.bodies.matrices[other]
            for edge in host.body.edges if isinstance(host.body, PanelBody) else ():
                if (host.id, edge.id) not in sewn:
                    outer, inner = (
                        divided(line @ place[:3, :3].T + place[:3, 3], _STEP) for line in (edge.outer, edge.inner)
                    )
                    found.setdefault(edge.cut, []).append((host.id, edge, outer, inner))
    for edges in found.values():
        offs, nears = [], []
        for rim in (np.vstack([one[2] for one in edges]), np.vstack([one[3] for one in edges])):
            apart, nearest = cKDTree(rim @ flat.T).query(curve @ flat.T)
            nears.append(apart < _NEAR + piece.stock.thickness)
            offs.append((rim[nearest] - curve) @ across)
        near = nears[0] | nears[1]
        if near.mean() >= _ALONG:
            parts = tuple(dict.fromkeys(one[0] for one in edges))
            yield _Beside(
                parts, tuple(one[1] for one in edges), offs[0][near], offs[1][near], body.low[near], body.high[near]
            )


def _which_edge(told: Fitting, piece: Piece, beside: _Beside) -> str:
    """What an edge is called: "the upper edge", "the edge that meets D"."""
    if any(edge.loop for edge in beside.edges):
        return say("the edge of the opening")
    copies = [copy for part in beside.parts for copy in told.bodies.of(part)]
    heights = told.bodies.mesh(tuple(copies))[0][:, 2]
    rim = [
        edge.outer @ told.bodies.matrices[copy][2, :3] + told.bodies.matrices[copy][2, 3]
        for copy in copies
        for edge in beside.edges
        if edge in told.bodies.pieces[copy].body.edges
    ]
    level = np.concatenate(rim)
    if np.ptp(level) < _LEVEL * np.ptp(heights):
        if level.mean() > heights.max() - _LEVEL * np.ptp(heights):
            return say("the upper edge")
        if level.mean() < heights.min() + _LEVEL * np.ptp(heights):
            return say("the lower edge")
    met = dict.fromkeys(p for edge in beside.edges for p in edge.joins if p in told.every and p != piece.id)
    labels = [told.every[part].label for part in met]
    return say("the edge that meets {labels}", labels=listed(labels)) if labels else say("the edge")


# Edge to edge


def _on_one_face(told: Fitting, one: int, two: int, way: np.ndarray) -> bool:
    """Do two copies lie on one part, which is where `way` (3,) leads from them? They can only be flush there."""
    touches = told.bodies.touches
    below = {
        b for (a, b), touch in touches.items() if a == one and float(touch.normals.mean(axis=0) @ way) < -_PARALLEL
    }
    return any((two, b) in touches and float(touches[two, b].normals.mean(axis=0) @ way) < -_PARALLEL for b in below)


def _flush(told: Fitting, piece: Piece, own: Sequence[int]) -> list[str]:
    """A flat part that is glued by its edge to the edge of another with its faces parallel to those: which of them are flush."""
    axes = frame(piece, told.bodies.matrices[own[0]])
    text: dict[str, None] = {}
    for m in told.meetings:
        theirs = next((b for a, b in m.pairs if a == own[0]), None)
        if m.new != piece.id or m.broad or m.on_broad or m.around or m.glue == "none" or theirs is None or axes is None:
            continue
        across = frame(told.bodies.pieces[theirs], told.bodies.matrices[theirs])
        flat = isinstance(piece.body, FlatBody) and isinstance(told.bodies.pieces[theirs].body, FlatBody)
        if across is None or not flat or abs(float(across[2] @ axes[2])) < _PARALLEL or _several_ways(told, m, own):
            continue
        mine, other = (told.bodies.mesh((copy,))[0] @ axes[2] for copy in (own[0], theirs))
        above, below = abs(mine.max() - other.max()) < _FLUSH, abs(mine.min() - other.min()) < _FLUSH
        facts = {"part": one_of(piece), "other": one_of(told.bodies.pieces[theirs])}
        if above and below:
            text[say("Check: {part} is flush with {other} on both faces.", **facts)] = None
        elif above or below:
            way = axes[2] if above else -axes[2]
            if not _on_one_face(told, own[0], theirs, way):
                where = directions.at(way)
                text[say("Check: {part} is flush with {other} {where}.", where=where, **facts)] = None
    return list(text)


def _several_ways(told: Fitting, m: Meeting, own: Sequence[int]) -> bool:
    """Do the copies of a part lie several ways, so that no word for a side holds for all?"""
    ways = [told.bodies.matrices[copy][:3, :3] for copy in own]
    return len(m.pairs) != len(own) or any(not np.allclose(way, ways[0], atol=1e-6) for way in ways)


# Over an opening


def _over_an_opening(told: Fitting, piece: Piece, own: Sequence[int]) -> str:
    """A flat part that covers a hole of what it lies on: how far it overlaps it upwards and sideways. What has a hole of
    its own there, as a ring, is set by its placement line."""
    axes = frame(piece, told.bodies.matrices[own[0]])
    mine = [m for m in told.meetings if m.new == piece.id and m.broad and m.on_broad and m.glue != "none"]
    if axes is None or not mine or not isinstance(piece.body, FlatBody) or piece.body.holes:
        return ""
    other = next((b for a, b in mine[0].pairs if a == own[0]), None)
    host = told.bodies.pieces[other].body if other is not None else None
    if not isinstance(host, FlatBody) or not host.holes or other is None:
        return ""
    matrix = told.bodies.matrices[other]
    place = (matrix[:3, :3] @ host.frame.axes).T
    origin = matrix[:3, :3] @ host.frame.origin + matrix[:3, 3]
    points = (told.bodies.mesh((own[0],))[0] - origin) @ place[:2].T
    low, high = points.min(axis=0), points.max(axis=0)
    covered = [hole for hole in host.holes if (hole > low).all() and (hole < high).all()]
    if len(covered) != 1:
        return ""
    margins = np.vstack([covered[0].min(axis=0) - low, high - covered[0].max(axis=0)])
    if (np.ptp(margins, axis=0) > _FLUSH).any() or margins.min() < _NARROW:
        return ""
    up = int(np.argmax(np.abs(place[:2, 2])))
    sizes = margins.mean(axis=0)
    facts = {"part": one_of(piece), "other": one_of(told.bodies.pieces[other])}
    if abs(sizes[0] - sizes[1]) < _FLUSH:
        return say(
            "Check: {part} overlaps the opening of {other} by {size} on every side.",
            size=about(float(sizes[0])),
            **facts,
        )
    if abs(place[up, 2]) < _UPRIGHT:
        return ""
    return say(
        "Check: {part} overlaps the opening of {other} by {upright} above and below and by {level} at both sides.",
        upright=about(float(sizes[up])),
        level=length(float(sizes[1 - up])),
        **facts,
    )


# From where to where


def _reach(told: Fitting, piece: Piece, own: Sequence[int]) -> str:
    """A strip that is open: where its ends lie on what it goes round, and which is the wide one."""
    body = piece.body
    if not isinstance(body, BandBody) or body.closed or body.corners or len(own) != 1:
        return ""
    hosts = [b for m in told.meetings if m.new == piece.id and m.broad for _, b in m.pairs]
    if not hosts:
        return ""
    matrix = told.bodies.matrices[own[0]]
    curve = body.curve @ matrix[:3, :3].T + matrix[:3, 3]
    points = told.bodies.mesh(tuple(dict.fromkeys(hosts)))[0]
    middle = (points.max(axis=0) + points.min(axis=0)) / 2.0
    if abs(float(matrix[2, :3] @ body.across)) < _UPRIGHT:
        return ""
    start, end = (directions.around(curve[i] - middle) for i in (0, -1))
    half = directions.along_side(curve[len(curve) // 2] - middle)
    if start == end == directions.around(curve[len(curve) // 2] - middle):
        return ""
    widths = body.high - body.low
    facts = {"part": capital(one_of(piece)), "start": start, "half": half, "end": end}
    if abs(widths[0] - widths[-1]) > _WEDGE:
        wide = start if widths[0] > widths[-1] else end
        return say(
            "{part} has its wide end {wide}. Run it round {half}: its narrow end stops {narrow}, and does not meet the other.",
            wide=wide,
            narrow=end if wide == start else start,
            **facts,
        )
    return say(
        "{part} begins {start}. Run it round {half}: its other end stops {end}, and the two ends do not meet.", **facts
    )

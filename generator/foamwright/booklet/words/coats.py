"""What is painted when: before which stages a coat of paint comes, what of it is painted apart, and what is kept bare."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np
from scipy.cluster.hierarchy import DisjointSet
from scipy.spatial import cKDTree

from foamwright.assembly import practice, which_copy
from foamwright.assembly.bodies import Bodies, Touch, moving_as_one, outward, painted_through, surface
from foamwright.assembly.meetings import CORNER, EARNEST, LEAST, face_area
from foamwright.assembly.naming import the
from foamwright.assembly.planning import goes_in_bare
from foamwright.assembly.taking_apart import Stage
from foamwright.assembly.units import goes_in_late, is_bare
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.words import bending, masking
from foamwright.parts.placing import direction
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, Prop, RodBody

_HALF_HIDDEN = 0.6  # of a part that shows; less, and it is worth a round of paint of its own
_IN_SIGHT = 0.75  # of a part that shows from some side; less, and paint does not get everywhere
_SEALED = 0.03  # of a part that shows; less, and no paint gets there
_SPLASHED = 0.05  # of the surface of a part that a brush reaches, so that it is covered while others are painted
_OPEN = 0.1  # of the inside of a part that a brush reaches, so that it is painted as well
_SKIN = 0.5  # of the inside of what lies on others that is open; less, and its rim alone is
_INWARDS = 0.5  # cosine
_AT_EDGE = 0.5  # of a contact at a broad face; less, and it is an edge that meets there
_SQUARE = 0.99  # cosine between a direction off a part and off its broad face
_HALF = 0.5  # of the largest joint of a small part; less, and so little of it, is a corner
_GLUED = 0.3  # of a face that hardly shows; more, and it is left with open pores for the glue
_MOSTLY = 0.5  # of a face that a brush reaches
_LEVEL = 0.4  # mm of the thickness of an edge that is glued alike all along
_PART_OF_EDGE = 0.6  # of the thickness of an edge that is glued; more, and all of it is masked
_RIM = 0.15  # of a face that shows; less is a rim beside what lies on it
_FACE = 0.9  # cosine between a direction off a part and off its face, bent or flat
_GROUND = 1.0  # mm above the lowest place of the prop, that stands on the table
_SEEN = 0.2  # of a part that shows, so that it is covered while others are painted


class Coats:
    """Answers for the stages of one prop; `sewn` are the pairs of parts that share a seam."""

    def __init__(self, stages: Sequence[Stage], prop: Prop, ways: Ways, sewn: Collection[frozenset[str]]):
        self.stages, self.prop, self.ways, self.sewn = stages, prop, ways, sewn
        self.pieces: Mapping[str, Piece] = {piece.id: piece for piece in prop.pieces}
        self._held: tuple[int, ...] = ()
        stands = prop.design.stands
        self._up = -direction(stands["down"]) if stands else np.array([0.0, 0.0, 1.0])
        # the height of the ground: what a design does not stand on anything shows from below as well
        self._ground = float((ways.bodies.points @ self._up).min(initial=np.inf)) if stands else -np.inf

    def is_bare(self, number: int) -> bool:
        """Is nothing of a stage painted, or does it carry what is not? Then paint comes before it."""
        stage = self.stages[number]
        return goes_in_bare(stage, self.ways.bodies) or all(goes_in_late(self.pieces[part]) for part in stage.parts)

    @property
    def last(self) -> int:
        """The number of the last stage that is painted; -1 where none is."""
        return max((i for i in range(len(self.stages)) if not self.is_bare(i)), default=-1)

    def before(self, number: int, painted: Collection[str]) -> tuple[Stage, ...]:
        """The stages from one on, or so much of them as is meant, of which the parts are painted on the bench before it;
        `painted` are the parts that are."""
        if self.is_bare(number):
            found = self._ahead(number)
            painted = {*painted, *(part for stage in self.stages[:number] for part in stage.parts)}
        else:
            found = self._soon_out_of_reach(number, painted)
        return (*found, *self._on_painted(number, painted, found)) if found else ()

    def _on_painted(self, number: int, painted: Collection[str], found: Sequence[Stage]) -> list[Stage]:
        """What of the stages from one on lies flat on painted parts alone: there it would be painted beside finished faces.
        `painted` are the parts that are painted by then, beside those of `found`."""
        bodies = self.ways.bodies
        before = {*painted, *(part for stage in found for part in stage.parts)}
        standing = bodies.mask(copy for stage in self.stages[:number] for move in stage.moves for copy in move.copies)
        more: list[Stage] = []
        for at, stage in enumerate(self.stages[number:], number):
            for unit in stage.units:
                for part in unit.parts:
                    moves = tuple(move for move in stage.moves if bodies.pieces[move.copies[0]].id == part)
                    alone = bool(moves) and all(len(move.copies) == 1 for move in moves) and not unit.whole
                    lies = self._flat(part) and bool(
                        self.pieces[part].lies_on
                    )  # no wall that stands on a painted floor
                    if part not in before and alone and lies and not self.is_bare(at):
                        met = {
                            bodies.pieces[t.b].id
                            for m in moves
                            for t in self.ways.touches_of(m.copies, standing)
                            if t.glued
                        }
                        if met and met <= before:
                            more.append(Stage((replace(unit, parts=(part,)),), moves))
                            before.add(part)
                    standing |= bodies.mask(copy for move in moves for copy in move.copies)
        return more

    def of_one_colour(self, stage: Stage) -> bool:
        """Do all parts that go in together take the same paint, so that they are put together before?"""
        pieces = [self.ways.bodies.pieces[copy] for move in stage.moves for copy in move.copies]
        return len({piece.paint for piece in pieces}) == 1 and not any(map(is_bare, pieces))

    def _ahead(self, number: int) -> tuple[Stage, ...]:
        """The stages from one that goes in without paint on, of which the parts are painted on the bench before it: the
        like of it, and what is flat and either goes in before the next of them, which saves a round of paint, or is
        hidden when the next round comes."""
        found: list[int] = []
        waiting: list[int] = []
        last = number
        for last, stage in enumerate(self.stages[number:], number):
            if self.is_bare(last):
                found += [*waiting, last]
                waiting = []
            elif self._lies_flat(stage):
                waiting.append(last)
            else:
                break
        ahead = [self.stages[i] for i in found]
        return (*ahead, *(stage for stage in self._out_of_reach(number, last, _IN_SIGHT) if stage not in ahead))

    def _soon_out_of_reach(self, number: int, painted: Collection[str]) -> tuple[Stage, ...]:
        """The stages from one on that would be hidden when their coat of paint comes, where that one is among them and has
        none yet."""
        stage = self.stages[number]
        unpainted = [p for p in stage.parts if p not in painted and self.pieces[p].paint and not self.sealed(p)]
        found = self._out_of_reach(number, number, _HALF_HIDDEN) if unpainted else ()
        return found if stage in found else ()

    def _out_of_reach(self, number: int, beyond: int, least: float) -> tuple[Stage, ...]:
        """The stages from one on, up to the next coat of paint after `beyond`, that go in flat and of which less
        than `least` shows when it comes."""
        then = next((i for i in range(beyond, len(self.stages)) if self.is_bare(i)), len(self.stages))
        standing = self.ways.bodies.mask(
            copy for stage in self.stages[:then] for move in stage.moves for copy in move.copies
        )
        return tuple(
            self.stages[i]
            for i in range(number, then)
            if not self.is_bare(i) and self._lies_flat(self.stages[i]) and self._hidden(self.stages[i], standing, least)
        )

    def _lies_flat(self, stage: Stage) -> bool:
        """Are its parts flat plates or bars, each by itself?"""
        return not any(unit.whole for unit in stage.units) and all(self._flat(part) for part in stage.parts)

    def _hidden(self, stage: Stage, standing: int, least: float) -> bool:
        """Does less than `least` of it show where the copies in `standing`, as bits, stand, and of some of it with all off that
        comes off as well, and not for what is glued on it?"""
        copies = [copy for move in stage.moves for copy in move.copies]
        if not copies or float(self.ways.sight.shown(standing)[copies].mean()) >= least:
            return False
        few = [copy for copy in copies if self.ways.sight.shown(standing & self.held_with(copy))[copy] < least]
        pieces = dict.fromkeys(self.ways.bodies.pieces[copy] for copy in few)
        return any(not self._open_but_for_glue(piece, least) for piece in pieces)

    def _open_but_for_glue(self, piece: Piece, least: float) -> bool:
        """Does a brush reach `least` of what is not glued of a face of a flat part, once all stands that is glued to it?"""
        if not isinstance(piece.body, FlatBody):
            return False
        bare = {sign: 1.0 - self._glued_on(piece, sign) for sign in (1.0, -1.0)}
        return any(
            share < 1.0 - _RIM and share > _RIM and self._face_reached(piece, sign) > least * share
            for sign, share in bare.items()
        )

    def _flat(self, part: str) -> bool:
        piece = self.pieces[part]
        return isinstance(piece.body, FlatBody | RodBody) and not any(part in pair for pair in self.sewn)

    def masked(self, mask: Piece) -> set[str]:
        """The parts that are painted through a mask."""
        return {part for spec in self.prop.design.parts if spec.id == mask.id for part in painted_through(spec)}

    def shows(self, part: str, standing: int) -> bool:
        """Can paint get on to a part where the copies in `standing`, as bits, stand?"""
        seen = self.ways.sight.shown(standing)
        copies = self.ways.bodies.of(part)
        if any(seen[copy] > _SEEN for copy in copies):
            return True
        return any(
            self.ways.sight.brushed(copy, *surface(self.ways.bodies, copy), standing) > _SPLASHED for copy in copies
        )

    def inside_reached(self, part: str, standing: int) -> float:
        """The share of the inside face of a curved part that a brush reaches where the copies in `standing`, as bits, stand; 0
        for what is not curved, is a skin over others, or a round that is shut."""
        piece = self.pieces[part]
        if not isinstance(piece.body, PanelBody):
            return 0.0
        reached = 0.0
        for copy in self.ways.bodies.of(part):
            if self._is_shut(piece.body, copy):
                continue
            places, normals = surface(self.ways.bodies, copy)
            out, off = outward(piece, self.ways.bodies.matrices[copy])
            inside = (off[cKDTree(out).query(places)[1]] * normals).sum(axis=1) < -_INWARDS
            if inside.any():
                held = self.held_with(copy) & standing
                brushed = self.ways.sight.brushed(copy, places[inside], normals[inside], held)
                # sight is too coarse to tell of what lies on a place itself
                glued = self._covered_inside(copy, held) / face_area(self.ways.bodies, copy)
                reached = max(reached, min(brushed, 1.0 - glued))
        return 0.0 if piece.lies_on and reached < _SKIN else reached

    def _covered_inside(self, copy: int, held: int) -> float:
        """How much in mm2 of the inside face of a panel lies on what is glued to it there, of the copies in `held`, as bits."""
        out, off = outward(self.ways.bodies.pieces[copy], self.ways.bodies.matrices[copy])
        tree, covered = cKDTree(out), 0.0
        for touch in self.ways.by_copy.get(copy, ()):
            if touch.glued and held >> touch.b & 1:
                facing = (off[tree.query(touch.places)[1]] * touch.normals).sum(axis=1)
                covered += float(touch.areas[facing > _INWARDS].sum())
        return covered

    def _is_shut(self, body: PanelBody, copy: int) -> bool:
        """Does a panel close to a round of which each end stands on a face without holes, or is narrower than a brush?"""
        pieces, touches = self.ways.bodies.pieces, self.ways.bodies.touches
        if not bending.closes_alone(pieces[copy]):
            return False
        stood_on = [
            pieces[b] for (a, b), met in touches.items() if a == copy and met.broad[0] < _AT_EDGE < met.broad[1]
        ]
        shut = {pieces[copy].id, *(piece.id for piece in stood_on if not _has_holes(piece))}
        return all(
            shut & {*edge.joins} or np.ptp(edge.inner, axis=0).max() < practice.BRUSH_WIDE for edge in body.edges
        )

    def shows_inside(self, part: str, standing: int) -> bool:
        """Does a brush reach a good part of the inside face of a curved part, so that it shows through an opening?"""
        return self.inside_reached(part, standing) > _OPEN

    def insides(self) -> dict[str, float]:
        """The curved parts of which the inside shows when all that is painted stands, in the order in which they go in, each with
        the share of it that a brush reaches then."""
        standing = self.ways.bodies.mask(
            copy for stage in self.stages[: self.last + 1] for move in stage.moves for copy in move.copies
        )
        reached: dict[str, float] = {}
        for number, stage in enumerate(self.stages[: self.last + 1]):
            for part in dict.fromkeys(self.ways.bodies.pieces[copy].id for move in stage.moves for copy in move.copies):
                if not self.is_bare(number) and not is_bare(self.pieces[part]):
                    reached[part] = self.inside_reached(part, standing)
        return {part: share for part, share in reached.items() if share > _OPEN}

    def insides_first(self, shown: Mapping[str, float]) -> tuple[str, ...]:
        """Those of the curved parts of which the inside is `shown` at last that no brush reaches everywhere then: it is painted
        while they lie open on the bench."""
        rounds = DisjointSet(shown)
        for pair in self.sewn:
            if len(pair) == 2 and pair <= {*shown}:
                rounds.merge(*pair)
        return tuple(  # what is sewn to each other is painted at the same time
            part for part in shown if np.mean([shown[other] for other in rounds.subset(part)]) < _HALF_HIDDEN
        )

    def next_round(self, number: int, painted: Collection[str]) -> tuple[Stage, ...]:
        """The stages of which the parts are painted on the bench before one that comes after `number`, if that is the next time
        that anything is painted, and nothing that stands is."""
        for later in range(number + 1, len(self.stages)):
            if self.is_bare(later):
                return ()
            found = self.before(later, painted)
            if found:
                return found
        return ()

    def hidden_faces(self, parts: Sequence[str], drawn_outside: Collection[str]) -> dict[bool, list[Piece]]:
        """The flat ones of some parts of which the drawn face (True) or the other one (False) is out of reach of any brush when
        all stands, though it lies on nothing; `drawn_outside` are the parts that are drawn on the outside face. What shows
        with little more than its edges is painted all over, unless glue takes both of its faces."""
        flat = [p for p in map(self.pieces.__getitem__, parts) if isinstance(p.body, FlatBody) and not p.lies_on]
        hidden: dict[bool, list[Piece]] = {True: [], False: []}
        for piece in flat:
            signs = {drawn: _sign(piece, drawn, drawn_outside) for drawn in (True, False)}
            faces = [drawn for drawn in signs if self._face_reached(piece, signs[drawn]) < _RIM]
            all_over = len(faces) == 2 and any(self._glued_on(piece, sign) < _GLUED for sign in signs.values())
            for drawn in faces if piece.glue != "none" and not all_over else ():
                hidden[drawn].append(piece)
        return hidden

    def showing_faces(self, hidden: Mapping[bool, Sequence[Piece]], drawn_outside: Collection[str]) -> dict[str, float]:
        """The parts that show one face alone, by `hidden_faces`: 1 where that is the outside one, else -1."""
        both = {piece.id for piece in hidden[True]} & {piece.id for piece in hidden[False]}
        return {
            piece.id: _sign(piece, not drawn, drawn_outside)
            for drawn in hidden
            for piece in hidden[drawn]
            if piece.id not in both
        }

    def stands_on(self, parts: Sequence[str], drawn_outside: Collection[str]) -> dict[bool, list[Piece]]:
        """The flat ones of some parts of which the drawn face (True) or the other one (False) lies on the ground: paint would
        stick there; `drawn_outside` are the parts that are drawn on the outside face."""
        bodies = self.ways.bodies
        found: dict[bool, list[Piece]] = {True: [], False: []}
        for part in parts:
            piece = self.pieces[part]
            copies = bodies.of(part)
            if not isinstance(piece.body, FlatBody) or not copies:
                continue
            off = [piece.off_face(bodies.matrices[copy]) for copy in copies]
            low = [float((bodies.mesh((copy,))[0] @ self._up).min()) for copy in copies]
            if max(low) < self._ground + _GROUND and min(abs(float(way @ self._up)) for way in off) > _SQUARE:
                drawn = [_sign(piece, True, drawn_outside) * float(way @ self._up) < 0.0 for way in off]
                if len({*drawn}) == 1:
                    found[drawn[0]].append(piece)
        return found

    def unseen_faces(self, drawn_outside: Collection[str]) -> dict[bool, set[str]]:
        """The flat parts and bands of which nothing shows of a face when all stands, by whether that is the drawn face (True):
        other parts lie there, a good part of what hardly shows is glued, or it stands on the ground;
        `drawn_outside` are the parts that are drawn on the outside face."""
        bodies = self.ways.bodies
        found: dict[bool, set[str]] = {True: set(), False: set()}
        for part, piece in self.pieces.items():
            if not isinstance(piece.body, FlatBody | BandBody) or piece.glue == "none" or not bodies.of(part):
                continue  # what only lies there can be lifted off, and then all of it shows
            signs = {drawn: _sign(piece, drawn, drawn_outside) for drawn in (True, False)}
            shows = {drawn: self._face_reached(piece, sign, self._ground) for drawn, sign in signs.items()}
            for drawn in (True, False):
                glued = shows[drawn] < _MOSTLY <= shows[not drawn] and self._glued_on(piece, signs[drawn]) > _GLUED
                if shows[drawn] < _RIM or glued:
                    found[drawn].add(part)
        return found

    def _face_reached(self, piece: Piece, sign: float, ground: float = -np.inf) -> float:
        """The share that a brush reaches of the outside (1) or inside (-1) face of a flat part or a band when all that is glued
        to it stands, of the copy of which it is most; what stands on the `ground`, a height, is out of sight."""
        bodies = self.ways.bodies
        reached = 0.0
        for copy in bodies.of(piece.id):
            places, normals = surface(bodies, copy)
            face = (_off(bodies, copy, places) * sign * normals).sum(axis=1) > _FACE
            if face.any() and float((places[face] @ self._up).max()) > ground + _GROUND:
                held = self.held_with(copy)
                reached = max(reached, self.ways.sight.brushed(copy, places[face], normals[face], held))
        return reached

    def _glued_on(self, piece: Piece, sign: float) -> float:
        """The least share of the outside (1) or inside (-1) face of the copies of a flat part that is glued."""
        if not isinstance(piece.body, FlatBody):
            return 0.0
        bodies = self.ways.bodies
        shares = []
        for copy in bodies.of(piece.id):
            off = sign * piece.off_face(bodies.matrices[copy])
            points, triangles = bodies.mesh((copy,))
            a, b, c = (points[triangles[:, i]] for i in range(3))
            across = np.cross(b - a, c - a) @ off / 2.0
            sizes = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0
            face = float(across[across > _SQUARE * sizes].sum())
            met = sum(
                float(touch.areas[-touch.normals @ off > _FACE].sum())
                for touch in self.ways.by_copy.get(copy, ())
                if touch.glued
            )
            shares.append(met / face if face else 0.0)
        return min(shares, default=0.0)

    def held_with(self, copy: int) -> int:
        """The copies, as bits, that move as one with one: what only rests on them comes off, what a hinge of cloth holds opens,
        and neither hides anything then."""
        if not self._held:
            self._held = moving_as_one(self.ways.bodies, self.sewn)
        return self._held[copy]

    def of_other_colours(self, fresh: Collection[str], standing: int) -> dict[str, list[Piece]]:
        """For each part that is painted as it stands, those beside it that get another colour then; `standing` are copies, as
        bits."""
        bodies = self.ways.bodies
        beside: dict[str, list[Piece]] = {}
        for (a, b), touch in sorted(bodies.touches.items()):
            one, other = bodies.pieces[a], bodies.pieces[b]
            both = touch.glued and standing >> a & standing >> b & 1 and {one.id, other.id} <= {*fresh}
            if both and one.paint and other.paint and one.paint != other.paint:
                met = beside.setdefault(one.id, [])
                if other not in met:
                    met.append(other)
        return beside

    def sealed(self, part: str) -> bool:
        """Does nothing to speak of show of a part when all is done, through no opening either?"""
        copies, sight = self.ways.bodies.of(part), self.ways.sight
        return bool(copies) and all(
            share(self.held_with(copy))[copy] < _SEALED for share in (sight.shown, sight.glimpsed) for copy in copies
        )

    def kept_bare(
        self,
        fresh: Sequence[str],
        joined: Sequence[int],
        hidden: Mapping[bool, Sequence[Piece]],
        drawn_outside: Collection[str],
    ) -> list[masking.Bare]:
        """Where the parts that are painted now take glue later; `joined` are the copies, as bits, of each thing that is put
        together already, `hidden` by `hidden_faces` what is not painted at all, `drawn_outside` as there."""
        bodies = self.ways.bodies
        found: dict[tuple[str, str], dict[str, None]] = {}
        on: dict[tuple[str, str], set[int]] = {}
        at: dict[tuple[str, str], dict[int, list[Touch]]] = {}
        largest = [0.0] * len(bodies)
        for (a, _), touch in bodies.touches.items():
            largest[a] = max(largest[a], touch.area if touch.glued else 0.0)
        for (a, b), touch in sorted(bodies.touches.items()):
            one, other = bodies.pieces[b], bodies.pieces[a]
            done = any(thing >> a & 1 and thing >> b & 1 for thing in joined)
            most = min(largest[a], largest[b])
            corner = touch.area < max(min(CORNER * most, EARNEST), min(LEAST, _HALF * most))
            unseen = any(one in hidden[drawn] and self._on_face(b, touch, drawn, drawn_outside) for drawn in hidden)
            if touch.glued and not done and not corner and not unseen and one.id in fresh:
                place = masking.place(one, other, touch, bodies.matrices[b])
                where = one.id, "rim" if place == "edges" and self._is_uneven(b, touch) else place
                found.setdefault(where, {})[other.id] = None
                on.setdefault(where, set()).add(b)
                at.setdefault(where, {}).setdefault(b, []).append(touch)
        order = {part: i for i, part in enumerate(fresh)}
        ordered = sorted(found.items(), key=lambda item: order[item[0][0]])
        return [
            masking.Bare(
                self.pieces[part],
                where,
                [self.pieces[o] for o in to],
                self._of_part(part, on[part, where]),
                self._strip(at[part, where]) if where == "edges" else 0.0,
            )
            for (part, where), to in ordered
        ]

    def _strip(self, touches: Mapping[int, Sequence[Touch]]) -> float:
        """How wide in mm a strip along the edges of copies is that is glued, by what they touch; 0 where it is all of an edge."""
        widths = [self._edge_glued(copy, these) for copy, these in touches.items()]
        return max(widths) if min(widths) > 0.0 else 0.0

    def _is_uneven(self, copy: int, touch: Touch) -> bool:
        """Is an edge that goes all round in a hole glued more deeply here than there, as that of a ring in a curved wall?"""
        piece = self.ways.bodies.pieces[copy]
        if not isinstance(piece.body, FlatBody):
            return False
        off = piece.off_face(self.ways.bodies.matrices[copy])
        return any(len(loops) > 1 and max(np.ptp(loop @ off) for loop in loops) > _LEVEL for loops in touch.outlines)

    def _edge_glued(self, copy: int, touches: Sequence[Touch]) -> float:
        """How much in mm of the thickness of a flat copy's edge is glued, where that is well below all of it; else 0."""
        piece = self.ways.bodies.pieces[copy]
        lines = [line for touch in touches for patch in touch.outlines for line in patch]
        if not isinstance(piece.body, FlatBody) or not lines:
            return 0.0
        off = piece.off_face(self.ways.bodies.matrices[copy])
        wide = float(np.ptp(np.vstack(lines) @ off))
        return wide if wide < _PART_OF_EDGE * piece.thickness else 0.0

    def _on_face(self, copy: int, touch: Touch, drawn: bool, drawn_outside: Collection[str]) -> bool:
        """Does what touches a flat copy, the second of the contact, lie on its drawn face, or on the other one?"""
        piece = self.ways.bodies.pieces[copy]
        if not isinstance(piece.body, FlatBody):
            return False
        off = _sign(piece, drawn, drawn_outside) * piece.off_face(self.ways.bodies.matrices[copy])
        return float(touch.normals.mean(axis=0) @ off) > _SQUARE

    def _of_part(self, part: str, copies: Collection[int]) -> str:
        """A part in a sentence, or those of its copies that are meant."""
        all_of_it = len(copies) == len(self.pieces[part].placements)
        return the(self.pieces[part]) if all_of_it else which_copy.some(self.ways.bodies, sorted(copies))


def _sign(piece: Piece, drawn: bool, drawn_outside: Collection[str]) -> float:
    """1 where the drawn face of a part (or, if not `drawn`, its other one) is its outside face, else -1."""
    return 1.0 if drawn == (piece.id in drawn_outside) else -1.0


def _off(bodies: Bodies, copy: int, places: np.ndarray) -> np.ndarray:
    """The direction off the outside face of a flat part or a band that is nearest to each of `places` (k, 3); of a flat part the
    way that its frame looks."""
    piece, matrix = bodies.pieces[copy], bodies.matrices[copy]
    if isinstance(piece.body, FlatBody):
        return np.tile(piece.off_face(matrix), (len(places), 1))
    out, off = outward(piece, matrix)
    return off[cKDTree(out).query(places)[1]]


def _has_holes(piece: Piece) -> bool:
    body = piece.body
    if isinstance(body, PanelBody):
        return any(edge.loop for edge in body.edges)
    return not isinstance(body, FlatBody) or bool(body.holes)

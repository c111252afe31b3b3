"""Every contact between the copies of a prop. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from foamwright.contacts.curved import FACING, LEVEL, Field, Target, curved_contact, least_lean, may_face, target
from foamwright.contacts.flat import flat_contact, moved, parallel
from foamwright.contacts.footing import footing, rims
from foamwright.contacts.overhang import Owned, with_overhangs
from foamwright.contacts.patch import Patch
from foamwright.contacts.records import Contact, Contacts, End, Face, Solid
from foamwright.contacts.wedges import opening

if TYPE_CHECKING:
    from foamwright.beside import Beside

GLUE_REACH = 0.8  # mm that glue bridges, beside the clearance that a design leaves; common practice, no source
OVERLAP = 0.35  # mm that solids may overlap, as much as the check for shared space lets pass, and still touch
CORNER = 1 / 4  # of the thickness of the thinner sheet: faces that share less than its square meet in a corner only,
LINE = 1 / 8  # and those that share a strip narrower than this only along a line: no glue holds there
_LEAST_TRUE = 0.1  # mm that the gap of curved faces may be off, whose triangles stand for them
_WHOLE = 0.98  # share of an edge from which all of it touches
_ALONG = 0.5  # of a bent edge that must touch: else it only goes past, as a wheel on the ground
_SLIVER, _FURTHER = 0.02, 0.3  # share of the largest contact of two copies, and mm further off than that: no contact
_LEAST, _NARROW = 1.0, 0.15  # mm2 and mm: what is smaller is in the dark, however thin the sheet


def find_contacts(solids: Sequence[Solid], clearance: float = 0.0, other: Beside | None = None) -> Contacts:
    """All contacts between copies, of every copy by itself, in the order of `solids`. The `other` process, if there is one, looks
    at half of them if it comes to that in time.

    Faces touch that face each other no further apart than GLUE_REACH and the design's `clearance` together, over more
    than a corner (`CORNER`) or a line (`LINE`), and that come somewhere as near as either of both: what keeps further off all
    along was not meant to be glued. Two
    copies of one part are compared as any two are; no copy is compared with itself.
    """
    reach = GLUE_REACH + clearance
    met = with_overhangs(_met(solids, np.zeros(len(solids), bool), _Look(reach), other=other))
    near = nearest_needed(clearance)
    return Contacts(reach, _without_slivers([contact for contact in met if contact.gap < near]))


def nearest_needed(clearance: float) -> float:
    """Two faces touch where they come somewhere nearer to each other than this."""
    return max(GLUE_REACH, clearance) + _LEAST_TRUE


def pairs_within(some: Sequence[Solid], others: Sequence[Solid], reach: float) -> tuple[Contact, ...]:
    """The contacts between one set of copies and another, none of them in both, with a reach of their own; a part that rests
    on its rim touches there, however much it leans."""
    second = np.arange(len(some) + len(others)) >= len(some)
    return tuple(contact for contact, _ in _met([*some, *others], second, _Look(reach, lean=np.inf), across=True))


def holds(area: float, length: float, thickness: float) -> bool:
    """Do two faces share enough for glue to hold them, the thinner of both sheets as thick as `thickness`?"""
    return area >= max(_LEAST, (CORNER * thickness) ** 2) and area >= max(_NARROW, LINE * thickness) * length


def _met(
    solids: Sequence[Solid], second: np.ndarray, look: _Look, across: bool = False, other: Beside | None = None
) -> list[Owned]:
    """Contacts between different copies, each with its two faces; with `across` only of one of the first with one of the
    `second` (n,)."""
    owners = [(s, face) for s in solids for face in s.faces]
    boxes = np.array([_box(face, s.matrix) for s, face in owners]).reshape(-1, 2, 3)
    number = np.array([i for i, s in enumerate(solids) for _ in s.faces], dtype=int)
    pairs: list[tuple[int, int]] = []
    for i in range(len(owners)):
        meet = (boxes[i, 0] <= boxes[i + 1 :, 1] + look.reach).all(axis=1)
        meet &= (boxes[i + 1 :, 0] <= boxes[i, 1] + look.reach).all(axis=1)
        meet &= number[i + 1 :] != number[i]
        if across:
            meet &= second[number[i + 1 :]] != second[number[i]]
        pairs += [(i, j) for j in (np.flatnonzero(meet) + i + 1).tolist()]
    asked = [look.asked(owners[i][1], owners[i][0], owners[j][1], owners[j][0]) for i, j in pairs]
    if other is not None:
        _look_in_both(solids, pairs, asked, look, other)
    met: list[Owned] = []
    for (i, j), of in zip(pairs, asked):
        (one, face), (far, beside) = owners[i], owners[j]
        patch = look.told(of) if isinstance(of, _Asked) else of
        if patch is not None and holds(patch.area, patch.length, min(one.thickness, far.thickness)):
            ends = End(one.part, one.number, face.id), End(far.part, far.number, beside.id)
            contact = Contact(*ends, *(getattr(patch, f.name) for f in fields(patch)))
            met.append((contact, (owners[i], owners[j])))
    return met


def _look_in_both(
    solids: Sequence[Solid],
    pairs: Sequence[tuple[int, int]],
    asked: Sequence[_Asked | Patch | None],
    look: _Look,
    other: Beside,
) -> None:
    """Find what is asked of the pairs here and in the `other` process: faces that are met are dealt out in turn, as what is made
    ready of one serves all that may touch it. What that has not begun when all else is done is left to do."""
    first: dict[_Key, tuple[tuple[int, int], _Asked]] = {}
    for pair, of in zip(pairs, asked):
        if isinstance(of, _Asked):
            first.setdefault(of.key, (pair, of))
    turn = {face: number for number, face in enumerate(dict.fromkeys(key[1] for key in first))}
    theirs = [key for key in first if turn[key[1]] % 2]
    coming = other.start(_looked_at, solids, look.reach, look.lean, [first[key][0] for key in theirs])
    for key, (_, of) in first.items():
        if not turn[key[1]] % 2:
            look.known[key] = look.found(of)
    found = None if coming.cancel() else coming.result()
    if found is not None:
        look.known |= dict(zip(theirs, found))


def _looked_at(
    solids: Sequence[Solid], reach: float, lean: float, pairs: Sequence[tuple[int, int]]
) -> list[Patch | None]:
    """What is found of each of these pairs of faces, none of which is flat on the other."""
    owners = [(s, face) for s in solids for face in s.faces]
    look = _Look(reach, lean)
    found = []
    for i, j in pairs:
        asked = look.asked(owners[i][1], owners[i][0], owners[j][1], owners[j][0])
        assert isinstance(asked, _Asked)
        found.append(look.found(asked))
    return found


def _without_slivers(contacts: Sequence[Contact]) -> tuple[Contact, ...]:
    """Without slivers beside what two copies share by other faces, as of a ring's rim past the edge of a wall that it lies
    on: the clearance of a design lets faces touch there that stand off each other, and nobody glues them."""
    largest: dict[tuple[str, int, str, int], Contact] = {}
    for contact in contacts:
        pair = contact.a.part, contact.a.copy, contact.b.part, contact.b.copy
        largest[pair] = max(largest.get(pair, contact), contact, key=lambda c: c.area)
    kept = []
    for contact in contacts:
        main = largest[contact.a.part, contact.a.copy, contact.b.part, contact.b.copy]
        if contact.area > _SLIVER * main.area or contact.mean_gap < main.mean_gap + _FURTHER:
            kept.append(contact)
    return tuple(kept)


_Key = tuple[int, int, bytes]  # two faces, and how one copy stands to the other


@dataclass(frozen=True, eq=False)
class _Asked:
    """A pair of faces of which it is not known at once whether they touch: the smaller one first, `back` from its place to that
    of the other (4, 4); `swapped` if it was named second."""

    key: _Key
    a: Face
    one: Solid
    b: Face
    other: Solid
    back: np.ndarray
    swapped: bool


class _Look:
    """Looks at pairs of faces. What has been made ready or found of a face is kept: copies that stand to each other
    as two others do touch as they do. Broad faces that lean from each other by more than `lean` (a cosine, -1 face to face)
    wherever they are near do not touch."""

    def __init__(self, reach: float, lean: float = LEVEL):
        self.reach, self.lean = reach, lean
        self.targets: dict[int, Target] = {}
        self.known: dict[_Key, Patch | None] = {}

    def told(self, asked: _Asked) -> Patch | None:
        """What touches of two faces, where the second of them is."""
        if asked.key not in self.known:
            self.known[asked.key] = self.found(asked)
        patch = self.known[asked.key]
        if patch is None:
            return None
        place = asked.other.matrix
        outlines, footing = (
            tuple(loop @ place[:3, :3].T + place[:3, 3] for loop in loops) for loops in (patch.outlines, patch.footing)
        )
        points = patch.points @ place[:3, :3].T + place[:3, 3]
        turned = asked.swapped != (np.linalg.det(place[:3, :3]) < 0.0)
        triangles = patch.triangles[:, ::-1] if turned else patch.triangles
        return replace(patch, outlines=outlines, footing=footing, points=points, triangles=triangles)

    def asked(self, a: Face, one: Solid, b: Face, other: Solid) -> _Asked | Patch | None:
        """What is to be found out of two faces; of such as lie flat on each other that is known at once, and of many that
        they do not touch."""
        if a.plane is not None and b.plane is not None:
            here, there = moved(a.plane, one.matrix), moved(b.plane, other.matrix)
            if parallel(here, there):
                return flat_contact(a, one.matrix, b, other.matrix, self.reach, OVERLAP)
            # flat sheets that lean from each other only end together in the corner between them, however sharp it is
            if float(here.normal @ there.normal) > (LEVEL if a.broad and b.broad else FACING):
                return None
        # the smaller face is divided: it may be narrower than the triangles of the other
        swapped = b.size < a.size
        if swapped:
            a, one, b, other = b, other, a, one
        back = np.linalg.inv(other.matrix) @ one.matrix
        if not may_face(a, b, back[:3, :3]):
            return None
        return _Asked((id(a), id(b), (np.round(back, 6) + 0.0).tobytes()), a, one, b, other, back, swapped)

    def found(self, asked: _Asked) -> Patch | None:
        """What touches of the smaller face on the other, in the place of that as modelled; if one is an edge, how far it stands
        off and, on a broad face, where it stands. Two edges are asked from the smaller one, broad faces not at all."""
        a, one, b, other, back = asked.a, asked.one, asked.b, asked.other, asked.back
        found = curved_contact(a, self._ready(b), back, self.reach, OVERLAP)
        if found is not None and a.broad and b.broad:
            # sheets that lean from each other wherever they are near only end together in the corner between them
            return found if least_lean(found, self._ready(b)) < self.lean else None
        if found is None:
            return None
        swapped = a.broad
        edge, part, face = (b, other, a) if swapped else (a, one, b)
        there = np.linalg.inv(back) if swapped else back  # from the edge's place to the face's
        thinner = min(one.thickness, other.thickness)
        on, own_rims = self._ready(face), rims(edge, part.faces)
        touching = Field(on, self.reach, OVERLAP)
        found = replace(found, opens=opening(edge, own_rims, face, there, touching, thinner))
        if not face.broad or found.area > _WHOLE * edge.size:
            return found
        along = edge.plane is not None or found.length * thinner > _ALONG * edge.size
        stands = footing(edge, own_rims, on, there, self.reach, OVERLAP, whole=along and found.opens > 0.0)
        if stands is None:
            return found
        loops = tuple(loop @ back[:3, :3].T + back[:3, 3] for loop in stands.outlines) if swapped else stands.outlines
        return replace(found, footing=loops, footing_area=stands.area)

    def _ready(self, face: Face) -> Target:
        if id(face) not in self.targets:
            self.targets[id(face)] = target(face)
        return self.targets[id(face)]


def _box(face: Face, matrix: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    points = face.points @ matrix[:3, :3].T + matrix[:3, 3]
    return points.min(axis=0), points.max(axis=0)

"""Every contact between the copies of a prop. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np

from foamwright.contacts.curved import FACING, Target, curved_contact, may_face, target
from foamwright.contacts.flat import flat_contact, moved, parallel
from foamwright.contacts.patch import Patch
from foamwright.contacts.records import Contact, Contacts, End, Face, Solid
from foamwright.contacts.wedges import opening

GLUE_REACH = 0.8  # mm that glue bridges, beside the clearance that a design leaves; common practice, no source
OVERLAP = 0.35  # mm that solids may overlap, as much as the check for shared space lets pass, and still touch
CORNER = 1 / 4  # of the thickness of the thinner sheet: faces that share less than its square meet in a corner only,
LINE = 1 / 8  # and those that share a strip narrower than this only along a line: no glue holds there
_LEAST, _NARROW = 1.0, 0.15  # mm2 and mm: what is smaller is in the dark, however thin the sheet


def find_contacts(solids: Sequence[Solid], clearance: float = 0.0) -> Contacts:
    """All contacts between copies, of every copy by itself, in the order of `solids`.

    Faces touch that face each other no further apart than GLUE_REACH and the design's `clearance` together, over more
    than a corner (`CORNER`) or a line (`LINE`). Two
    copies of one part are compared as any two are; no copy is compared with itself.
    """
    reach = GLUE_REACH + clearance
    return Contacts(reach, _met(solids, np.zeros(len(solids), bool), reach))


def pairs_within(some: Sequence[Solid], others: Sequence[Solid], reach: float) -> tuple[Contact, ...]:
    """The contacts between one set of copies and another, none of them in both, with a reach of their own."""
    second = np.arange(len(some) + len(others)) >= len(some)
    return _met([*some, *others], second, reach, across=True)


def holds(area: float, length: float, thickness: float) -> bool:
    """Do two faces share enough for glue to hold them, the thinner of both sheets as thick as `thickness`?"""
    return area >= max(_LEAST, (CORNER * thickness) ** 2) and area >= max(_NARROW, LINE * thickness) * length


def _met(solids: Sequence[Solid], second: np.ndarray, reach: float, across: bool = False) -> tuple[Contact, ...]:
    """Contacts between different copies; with `across` only of one of the first with one of the `second` (n,)."""
    look = _Look(reach)
    owners = [(s, face) for s in solids for face in s.faces]
    boxes = np.array([_box(face, s.matrix) for s, face in owners]).reshape(-1, 2, 3)
    number = np.array([i for i, s in enumerate(solids) for _ in s.faces], dtype=int)
    contacts = []
    for i, (one, face) in enumerate(owners):
        meet = (boxes[i, 0] <= boxes[i + 1 :, 1] + reach).all(axis=1)
        meet &= (boxes[i + 1 :, 0] <= boxes[i, 1] + reach).all(axis=1)
        meet &= number[i + 1 :] != number[i]
        if across:
            meet &= second[number[i + 1 :]] != second[number[i]]
        for j in (np.flatnonzero(meet) + i + 1).tolist():
            other, beside = owners[j]
            thinner = min(one.thickness, other.thickness)
            patch = look(face, one.matrix, beside, other.matrix, thinner)
            if patch is not None and holds(patch.area, patch.length, thinner):
                ends = End(one.part, one.number, face.id), End(other.part, other.number, beside.id)
                contacts.append(Contact(*ends, *(getattr(patch, f.name) for f in fields(patch))))
    return tuple(contacts)


class _Look:
    """Looks at pairs of faces. What has been made ready or found of a face is kept: copies that stand to each other
    as two others do touch as they do."""

    def __init__(self, reach: float):
        self.reach = reach
        self.targets: dict[int, Target] = {}
        self.known: dict[tuple[int, int, bytes], Patch | None] = {}

    def __call__(self, a: Face, a_matrix: np.ndarray, b: Face, b_matrix: np.ndarray, thickness: float) -> Patch | None:
        if a.plane is not None and b.plane is not None:
            here, there = moved(a.plane, a_matrix), moved(b.plane, b_matrix)
            if parallel(here, there):
                return flat_contact(a, a_matrix, b, b_matrix, self.reach, OVERLAP)
            if float(here.normal @ there.normal) > FACING:
                return None
        # the smaller face is divided: it may be narrower than the triangles of the other
        swapped = b.size < a.size
        if swapped:
            a, a_matrix, b, b_matrix = b, b_matrix, a, a_matrix
        back = np.linalg.inv(b_matrix) @ a_matrix
        if not may_face(a, b, back[:3, :3]):
            return None
        key = id(a), id(b), (np.round(back, 6) + 0.0).tobytes()
        if key not in self.known:
            found = curved_contact(a, self._ready(b), back, self.reach, OVERLAP)
            self.known[key] = found and replace(found, opens=self._opening(a, b, back, found.length, thickness))
        patch = self.known[key]
        if patch is None:
            return None
        outlines = tuple(loop @ b_matrix[:3, :3].T + b_matrix[:3, 3] for loop in patch.outlines)
        points = patch.points @ b_matrix[:3, :3].T + b_matrix[:3, 3]
        turned = swapped != (np.linalg.det(b_matrix[:3, :3]) < 0.0)
        triangles = patch.triangles[:, ::-1] if turned else patch.triangles
        return replace(patch, outlines=outlines, points=points, triangles=triangles)

    def _ready(self, face: Face) -> Target:
        if id(face) not in self.targets:
            self.targets[id(face)] = target(face)
        return self.targets[id(face)]

    def _opening(self, a: Face, b: Face, back: np.ndarray, touched: float, thickness: float) -> float:
        """Of the edge that stands on the other face; two edges are asked from the smaller one, broad faces not at all."""
        if not a.broad:
            return opening(a, self._ready(b), back, touched, thickness)
        return 0.0 if b.broad else opening(b, self._ready(a), np.linalg.inv(back), touched, thickness)


def _box(face: Face, matrix: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    points = face.points @ matrix[:3, :3].T + matrix[:3, 3]
    return points.min(axis=0), points.max(axis=0)

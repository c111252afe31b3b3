"""What the contacts step takes and returns. Lengths in mm, areas in mm2; arrays are never changed once made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

NO_GAP = 0.05  # mm, below which two parts lie against each other
WEDGE = 1.5  # mm that an edge may stand off at one end more than at the other before anybody sees a gap; no source
FACES = ("inside", "outside")  # a sheet's two broad faces; every other face is one that a knife made


@dataclass(frozen=True, eq=False)
class Plane:
    """A plane by a point on it and its frame: columns of `axes` (3, 3) are x, y and the outward normal."""

    origin: np.ndarray
    axes: np.ndarray

    @property
    def normal(self) -> np.ndarray:
        return self.axes[:, 2]


@dataclass(frozen=True, eq=False)
class Face:
    """A face of a part as modelled: "inside", "outside", or the id of the edge along which it was cut. What turns a
    corner is several faces of one id.

    `triangles` (m, 3) run counter-clockwise seen from outside the solid; `normals` (n, 3) are unit, outward, at the
    points (n, 3). A flat face has its `plane`, and its `area` in the plane's own coordinates.
    """

    id: str
    points: np.ndarray
    triangles: np.ndarray
    normals: np.ndarray
    plane: Plane | None
    area: Polygon | MultiPolygon | None
    size: float  # mm2
    mean_normal: np.ndarray  # (3,) unit
    spread: float  # radians that the normals of its triangles turn from the mean, at most

    @property
    def broad(self) -> bool:
        return self.id in FACES


@dataclass(frozen=True, eq=False)
class Solid:
    """One copy of a part: its faces as modelled, and the motion (4, 4) that takes them to their place, which may
    reflect. `number` counts the copies of a part from 1. Copies of one part share their faces. `thickness` is that of
    its sheet, in mm."""

    part: str
    number: int
    faces: tuple[Face, ...]
    matrix: np.ndarray
    thickness: float


@dataclass(frozen=True)
class End:
    """One side of a contact: the copy of a part, and which of its faces."""

    part: str
    copy: int
    face: str

    @property
    def broad(self) -> bool:
        return self.face in FACES


@dataclass(frozen=True, eq=False)
class Contact:
    """Two faces of two copies that lie against each other.

    `gap` is the least distance between them and `mean_gap` its mean over the contact; where they overlap a little
    both are below 0. `length` is that of a strip with the contact's area and perimeter: for an edge on a face the
    length of the edge that touches. `outlines` are its closed boundaries in space, (N, 3) each with the first point
    not repeated, on the face of `a`; that which bounds it comes first where there are holes. `points` (n, 3) and
    `triangles` (m, 3) are what touches, counter-clockwise as seen from outside `a`, so from `b`. `opens` is how far the
    two stand apart at most where an edge leans away from what it touches: the mouth of a wedge of air; 0 for parallel faces.
    `footing` are closed outlines, on the broad face, of all of an edge that stands there, with what leans off it, and
    `footing_area` is what they enclose; none where that is what touches. Of two flat faces that lie on each other `hangs` is
    the one that reaches beyond what it lies on, and `overhang` by how much at most; None where that is all of it, or where
    most of it lies on nothing.
    """

    a: End
    b: End
    area: float
    length: float
    gap: float
    mean_gap: float
    outlines: tuple[np.ndarray, ...]
    points: np.ndarray
    triangles: np.ndarray
    opens: float = 0.0
    footing: tuple[np.ndarray, ...] = ()
    footing_area: float = 0.0
    overhang: float = 0.0
    hangs: End | None = None

    def overhang_of(self, end: End) -> float:
        """How far one of its ends reaches beyond the other, in mm; 0 if the other does, or neither."""
        return self.overhang if end == self.hangs else 0.0

    @property
    def wedge(self) -> float:
        """Mouth of the wedge of air beside an edge, as `opens`; 0 where glue fills what there is."""
        return self.opens if self.opens - max(self.gap, 0.0) > WEDGE else 0.0

    @property
    def kind(self) -> str:
        """ "face-face", "edge-face" or "edge-edge": broad faces of a sheet and edges that a knife made."""
        return {2: "face-face", 1: "edge-face", 0: "edge-edge"}[self.a.broad + self.b.broad]

    def end(self, part: str, copy: int | None = None) -> End | None:
        """The side that belongs to a part, or to one copy of it; None if neither does."""
        for end in (self.a, self.b):
            if end.part == part and copy in (None, end.copy):
                return end
        return None

    def other(self, end: End) -> End:
        return self.b if end is self.a else self.a


@dataclass(frozen=True, eq=False)
class Contacts:
    """All contacts of a prop, in the order of its copies, and the `reach` within which faces count as touching."""

    reach: float
    found: tuple[Contact, ...]

    def of(self, part: str, copy: int | None = None) -> Iterator[Contact]:
        return (contact for contact in self.found if contact.end(part, copy))

    def at(self, part: str, copy: int) -> Sequence[tuple[End, Contact]]:
        """All that touches one copy (from 1) of a part, each with the end that is that copy's, in order."""
        return self._at.get((part, copy), ())

    @cached_property
    def _at(self) -> dict[tuple[str, int], list[tuple[End, Contact]]]:
        at: dict[tuple[str, int], list[tuple[End, Contact]]] = {}
        for contact in self.found:
            for end in (contact.a, contact.b):
                at.setdefault((end.part, end.copy), []).append((end, contact))
        return at

    def between(self, one: str, other: str) -> Iterator[Contact]:
        """Those between copies of two parts, or between copies of one."""
        return (c for c in self.found if {c.a.part, c.b.part} == {one, other})

"""What lies on a part, drawn on the part: the contacts of one copy in the coordinates of the part as modelled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LinearRing, MultiPolygon, Polygon

from foamwright.contacts.records import Contact, Contacts, End
from foamwright.contacts.rings import polygons
from foamwright.parts.records import FlatBody, Piece

_SAME = 1.0  # mm: two footprints whose middles are nearer are at one place: two pencil lines so near are one
_ALIKE = 0.1  # share of the area by which they may differ then


@dataclass(frozen=True, eq=False)
class Footprint:
    """Where `other` touches one copy of a part: on which `face` of it, and the closed `outlines` (N, 3), at the place
    of the part as modelled; that which bounds it comes first. `footing` as of the contact, in that place too."""

    face: str
    other: End
    contact: Contact
    outlines: tuple[np.ndarray, ...]
    footing: tuple[np.ndarray, ...] = ()

    @property
    def standing(self) -> Footprint:
        """The same with the outlines of all that stands there, not only of what touches."""
        if not self.footing:
            return self
        contact = replace(self.contact, area=self.contact.footing_area)
        return replace(self, contact=contact, outlines=self.footing, footing=())

    @property
    def own(self) -> End:
        return self.contact.other(self.other)

    @property
    def middle(self) -> np.ndarray:
        return np.asarray(self.outlines[0].mean(axis=0))


def footprints(piece: Piece, copy: int, contacts: Contacts) -> tuple[Footprint, ...]:
    """All that touches one copy (from 1) of a part, in the order of the contacts. Copies of the part itself that touch
    it are among it."""
    back = np.linalg.inv(piece.placements[copy - 1].matrix)
    prints = []
    for end, contact in contacts.at(piece.id, copy):
        outlines, footing = (
            tuple(loop @ back[:3, :3].T + back[:3, 3] for loop in loops)
            for loops in (contact.outlines, contact.footing)
        )
        prints.append(Footprint(end.face, contact.other(end), contact, outlines, footing))
    return tuple(prints)


def on_plane(piece: Piece, footprint: Footprint) -> MultiPolygon:
    """The footprint in the plane of a flat part's frame: what lies on its broad faces as an area, what touches a cut
    edge as a sliver along it. Raises TypeError for a part that is not flat."""
    if not isinstance(piece.body, FlatBody):
        raise TypeError(f"{piece.id} is not flat")
    rings = [piece.body.frame.to_frame(loop)[:, :2] for loop in footprint.outlines]
    covered = shapely.Polygon()
    for ring in rings:  # a hole lies within what bounds it
        covered = covered ^ shapely.make_valid(Polygon(LinearRing(ring)))
    return polygons(covered)


def alike(marked: Sequence[Sequence[Footprint]]) -> tuple[tuple[int, ...], ...]:
    """The copies of a part, from 1, of which each is `marked` with some footprints, in groups on which the same parts lie at
    the same places: what is drawn for one of a group holds for all of it."""
    groups: list[list[int]] = []
    for number, prints in enumerate(marked, start=1):
        group = next((g for g in groups if _match(marked[g[0] - 1], prints)), None)
        if group is None:
            groups.append([number])
        else:
            group.append(number)
    return tuple(map(tuple, groups))


def _match(some: Sequence[Footprint], others: Sequence[Footprint]) -> bool:
    left = list(others)
    for one in some:
        twin = next((other for other in left if _same(one, other)), None)
        if twin is None:
            return False
        left.remove(twin)
    return not left


def _same(one: Footprint, other: Footprint) -> bool:
    """Is the same drawn for both? By which of its edges the other part stands there shows on that part alone."""
    return (
        one.face == other.face
        and (one.other.part, one.other.broad) == (other.other.part, other.other.broad)
        and abs(one.contact.area - other.contact.area) <= _ALIKE * max(one.contact.area, other.contact.area)
        and float(np.linalg.norm(_box_middle(one) - _box_middle(other))) < _SAME
    )


def _box_middle(footprint: Footprint) -> np.ndarray:
    points = footprint.outlines[0]
    return np.asarray((points.min(axis=0) + points.max(axis=0)) / 2.0)

"""Where glue goes, hatched in a picture: the places of contacts that are seen, up to the lines that bound them, without scraps.
Lengths in mm in space."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy import ndimage

from foamwright.assembly.patches import faces_one_way
from foamwright.booklet.pictures import render

_SCRAP = 0.08  # of the largest spot of a contact; less is not hatched
_SHOWS = 0.2  # of a contact; of less nothing is hatched: what is seen of it through a porthole would be taken for another one
_AROUND = 3.4  # mm around the places where two parts touch,
_WITHIN = 5.0  # and where the outline tells how far they do, so far as the places of a contact lie apart


@dataclass(frozen=True, eq=False)
class Glued:
    """What takes glue on a `copy`: places (k, 3), the ways (k, 3) that its face looks there, and the outlines (n, 3) around them,
    those of each patch together and that which bounds it first; `other` is the copy that it is glued to."""

    copy: int
    places: np.ndarray
    faces: np.ndarray
    outlines: tuple[tuple[np.ndarray, ...], ...] = ()
    other: int = -1


def hatching(
    scene: render.Scene, normal: np.ndarray, seen: render.Window, contacts: Sequence[Glued]
) -> np.ndarray | None:
    """Where (rows, columns) what is seen takes glue, without what hardly shows of a contact; None where nothing does."""
    return without_scraps(all_spots(scene, normal, seen, contacts), scene, seen, contacts) if contacts else None


def all_spots(scene: render.Scene, normal: np.ndarray, seen: render.Window, contacts: Sequence[Glued]) -> np.ndarray:
    """Where (rows, columns) what is seen takes glue, every scrap of it."""
    spots = np.zeros(scene.owner.shape, bool)
    loose = [one for one in contacts if not _is_bounded(one)]
    if loose:
        spots |= _spots(scene, normal, seen, loose, _AROUND)
    for one in contacts:
        if _is_bounded(one):
            box = _box(one, seen)
            spots[box] |= _within(_spots(scene, normal, seen, [one], _WITHIN)[box], box, seen, one)
    return spots


def _is_bounded(one: Glued) -> bool:
    return bool(one.outlines) and len(one.faces) > 0 and faces_one_way(one.faces)


def _spots(
    scene: render.Scene, normal: np.ndarray, seen: render.Window, contacts: Sequence[Glued], radius: float
) -> np.ndarray:
    places, faces = (np.vstack(each) for each in zip(*((one.places, one.faces) for one in contacts)))
    copies = np.concatenate([np.full(len(one.places), one.copy, np.int64) for one in contacts])
    return render.touched(scene, normal, seen, places, faces, copies, radius)


def _box(one: Glued, seen: render.Window) -> tuple[slice, slice]:
    """The rows and columns that the outlines of a contact reach over."""
    ends = seen.pixel(np.vstack([outer for outer, *_ in one.outlines]))
    first, last = (np.clip(end, 0, seen.shape[::-1]).astype(int) for end in (ends.min(axis=0), ends.max(axis=0) + 2.0))
    return slice(first[1], last[1]), slice(first[0], last[0])


def _within(spots: np.ndarray, box: tuple[slice, slice], seen: render.Window, one: Glued) -> np.ndarray:
    """Spots (rows, columns), those of a box of the window, that lie within the outlines of a contact."""
    rows, columns = np.nonzero(spots)
    kept = np.zeros(len(rows), bool)
    x, y = columns + float(box[1].start), rows + float(box[0].start)
    for outer, *inner in one.outlines:
        patch = shapely.Polygon(seen.pixel(outer), [seen.pixel(loop) for loop in inner]).buffer(0.0)
        shapely.prepare(patch)
        kept |= shapely.intersects_xy(patch, x, y)
    inside = np.zeros_like(spots)
    inside[rows[kept], columns[kept]] = True
    return inside


def without_scraps(
    spots: np.ndarray, scene: render.Scene, seen: render.Window, contacts: Sequence[Glued]
) -> np.ndarray:
    """Spots (rows, columns) without those of contacts that hardly show, and those that are small beside the largest of the same
    contact."""
    numbers, count = ndimage.label(spots)
    kept = np.zeros(count + 1, bool)
    for one in contacts:
        columns, rows = np.rint(seen.pixel(one.places)).astype(int).T
        inside = (rows >= 0) & (rows < spots.shape[0]) & (columns >= 0) & (columns < spots.shape[1])
        rows, columns = rows[inside], columns[inside]
        met = numbers[rows, columns][scene.owner[rows, columns] == one.copy]
        sizes = np.bincount(met, minlength=count + 1)
        sizes[0] = 0
        if sizes.sum() >= _SHOWS * inside.sum():
            kept |= (sizes > 0) & (sizes >= _SCRAP * sizes.max())
    return np.asarray(kept[numbers])

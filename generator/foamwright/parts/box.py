"""Boxes: six plates or fewer, mitred or butted, opposite ones alike."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping

import numpy as np
import shapely

from foamwright.design.records import PartSpec, Stock
from foamwright.errors import BuildError
from foamwright.forms.surface import Surface
from foamwright.parts import outlines
from foamwright.parts.openings import opened
from foamwright.parts.placing import frame_at
from foamwright.parts.records import FlatBody, Placement
from foamwright.parts.walls import Cut, facing, mitre, wall_body

# The way each plate faces in the box's frame: x to the right of the way it looks, y forward, z up.
_OUTWARD = {
    "top": (0.0, 0.0, 1.0),
    "bottom": (0.0, 0.0, -1.0),
    "front": (0.0, 1.0, 0.0),
    "back": (0.0, -1.0, 0.0),
    "left": (-1.0, 0.0, 0.0),
    "right": (1.0, 0.0, 0.0),
}
_SAME = 0.05  # mm by which the openings of two plates that are cut alike may differ
_PAIRS = (("top", "bottom"), ("front", "back"), ("left", "right"))
_RANK = {face: i // 2 for i, face in enumerate(_OUTWARD)}  # of two that butt, the lower covers the other's edge


def box_body(spec: PartSpec, stock: Stock, folder: str, surface_of: Callable[[str], Surface]) -> FlatBody:
    """The first plate of a member of a box, in place. Raises BuildError if the foam is too thick for the size."""
    values = spec.values
    frame = frame_at(values["at"], surface_of)
    length, width, height = values["size"]
    half = np.array([width, length, height]) / 2
    centre = np.array([0.0, 0.0, height / 2])
    face = values["faces"][0]
    ids = _ids(spec)
    own = np.array(_OUTWARD[face])

    def space(point):
        return frame.to_space(point[None])[0]

    cuts = []
    for other, outward in _OUTWARD.items():
        facing_other = np.array(outward)
        if abs(own @ facing_other) > 0.5:
            continue
        normal = frame.axes @ facing_other
        edge = centre + (own + facing_other) * half
        joins = (ids[other],) if other in ids else ()
        if not joins or (values["joint"] == "butt" and _RANK[face] < _RANK[other]):
            cuts.append(Cut(other, space(edge), normal))  # what butts here lies against the face, and not at this edge
        elif values["joint"] == "mitred":
            cuts.append(mitre(other, frame.axes @ own, normal, space(edge), joins))
        else:
            cuts.append(Cut(other, space(edge - stock.thickness * facing_other), normal, joins))
    up = frame.axes[:, 1] if face in ("top", "bottom") else frame.axes[:, 2]
    plate = facing(space(centre + own * half), frame.axes @ own, up, stock.thickness)
    try:
        body = wall_body(plate, stock.thickness, cuts)
    except BuildError:
        raise _too_narrow(spec, stock.thickness) from None
    return opened(body, stock.thickness, values["openings"].get(face, ()), folder, surface_of)


def _too_narrow(spec: PartSpec, thickness: float) -> BuildError:
    """What to do about a box between whose plates nothing is left of this one; it names the box as the design does."""
    faces = spec.values["faces"]
    box = spec.id.removesuffix("_" + "_".join(faces))
    sizes = zip(("length", "width", "height"), spec.values["size"], (1, 0, 2))  # the axis of each
    across = [
        f"{name} {size:g} mm" for name, size, axis in sizes if size <= 2 * thickness and not _OUTWARD[faces[0]][axis]
    ]
    return BuildError(
        f"{spec.where}: box {box}: nothing is left of its {' and '.join(faces)} between the plates beside it, of "
        f"{thickness:g} mm foam ({', '.join(across)}); make that more than {2 * thickness:g} mm or the foam thinner, or use a "
        "plate with `layers` for a block that is solid"
    )


def box_places(spec: PartSpec, surface_of: Callable[[str], Surface]) -> tuple[Placement, ...]:
    """Of every copy of a member within one box: as `box_body` has it, and in the place of the opposite face.

    There it is the mirror image, so that what stands between the two is marked alike on both. Mitred plates have numbered
    seams, which a turned template would tell apart for nothing: they are turned half about an axis of the box where that takes
    the box on to itself.
    """
    values = spec.values
    places = [Placement(np.eye(4), False)]
    if len(values["faces"]) == 2:
        frame = frame_at(values["at"], surface_of)
        middle = frame.to_space(np.array([[0.0, 0.0, values["size"][2] / 2]]))[0]
        face = values["faces"][0]
        turned = _turned(values["joint"], face, _ids(spec))
        own = np.where(np.arange(3) == _axis(face), 1.0, -1.0) if turned else 1.0 - 2.0 * np.abs(_OUTWARD[face])
        change = frame.axes @ np.diag(own) @ frame.axes.T
        matrix = np.eye(4)
        matrix[:3, :3], matrix[:3, 3] = change, middle - change @ middle
        places.append(Placement(matrix, not turned))
    return tuple(places)


def opposite_alike(spec: PartSpec, face: str, other: str, present: Collection[str]) -> bool:
    """Have two opposite plates of a box the same openings, where one goes into the place of the other? `present` are all faces
    of the box. What a form or a file draws is not looked at, nor what cannot be cut."""
    openings = [spec.values["openings"].get(name) or () for name in (face, other)]
    try:
        here, there = (shapely.union_all([outlines.area(o, "", _drawn_elsewhere) for o in some]) for some in openings)
    except BuildError:
        return False
    if not _turned(spec.values["joint"], face, present):
        there = shapely.transform(there, lambda xy: xy * (-1.0, 1.0))
    return bool(shapely.hausdorff_distance(here, there) < _SAME)


def _drawn_elsewhere(section: Mapping) -> shapely.Geometry:
    raise BuildError("no section is known before the forms are")


def _turned(joint: str, face: str, present: Collection[str]) -> bool:
    """Is a plate turned about an axis of the box into the place of the opposite one, and not mirrored?"""
    moved, axis = np.abs(_OUTWARD[face]), _axis(face)
    beside = next(pair for pair in _PAIRS if not moved @ _OUTWARD[pair[0]] and not _OUTWARD[pair[0]][axis])
    return joint == "mitred" and len({name in present for name in beside}) == 1


def _axis(face: str) -> int:
    """Front and back change places about z, and so do the sides; top and bottom about y."""
    return 1 if face in ("top", "bottom") else 2


def _ids(spec: PartSpec) -> dict[str, str]:
    """The part id of every plate of the box, by its face."""
    return {face: part for part, faces in spec.values["plates"].items() for face in faces}

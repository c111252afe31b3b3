"""Prisms and frustums of pyramids: side plates with mitred edges, alike but for their openings, and plates at the ends."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from scipy.optimize import brentq

from foamwright.design.records import PartSpec, Stock
from foamwright.errors import BuildError
from foamwright.forms.surface import Surface
from foamwright.parts.openings import opened
from foamwright.parts.placing import frame_at
from foamwright.parts.records import FlatBody, Frame, Placement
from foamwright.parts.walls import Cut, facing, mitre, wall_body


def prism_body(spec: PartSpec, stock: Stock, folder: str, surface_of: Callable[[str], Surface]) -> FlatBody:
    """One member of a prism: the first of its sides, its floor or its roof, in place.

    Raises BuildError if the foam is too thick for the size.
    """
    values = spec.values
    frame, solid = frame_at(values["at"], surface_of), _Solid(spec)
    thickness = stock.thickness
    solid.refuse_closed(thickness)
    if "numbers" in values:
        turned = Frame(
            frame.origin, _turn(frame, 2 * np.pi * (values["numbers"][0] - 1) / values["sides"]) @ frame.axes
        )
        body = wall_body(solid.side_frame(turned, thickness), thickness, solid.side_cuts(turned, values["numbers"]))
        return opened(body, stock.thickness, values["openings"], folder, surface_of)
    return wall_body(*solid.end(frame, thickness, values["member"]))


def prism_places(spec: PartSpec, surface_of: Callable[[str], Surface]) -> tuple[Placement, ...]:
    """Of every copy of a member within one prism, from where `prism_body` has it."""
    if "numbers" not in spec.values:
        return (Placement(np.eye(4), False),)
    frame = frame_at(spec.values["at"], surface_of)
    places = []
    for number in spec.values["numbers"]:
        turn = _turn(frame, 2 * np.pi * (number - spec.values["numbers"][0]) / spec.values["sides"])
        matrix = np.eye(4)
        matrix[:3, :3], matrix[:3, 3] = turn, frame.origin - turn @ frame.origin
        places.append(Placement(matrix, False))
    return tuple(places)


def _turn(frame: Frame, angle: float) -> np.ndarray:
    """The turn (3, 3) about the axis of a prism by an angle in radians."""
    c, s = np.cos(angle), np.sin(angle)
    return frame.axes @ np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]) @ frame.axes.T


_OPEN = 0.05  # mm from the axis to the inside of the sides at least, where these are mitred against each other
_EVEN = 1e-6  # mm; less is rounding


class _Solid:
    """The outer faces of the prism in its own frame: z along the axis, the first side facing y."""

    def __init__(self, spec: PartSpec):
        v = spec.values
        self.whole, self.sides, self.height = v["whole"], int(v["sides"]), v["height"]
        self.members: Mapping[int, str] = v["side_ids"]  # the part that each side is a copy of, by its number from 1
        self.ends = {end: v[end] for end in ("floor", "roof")}
        half = np.pi / self.sides
        # the key of its size, and what share of that a side's outside is from the axis
        self.key, self.flat = ("width", 0.5) if "width" in v else ("radius", float(np.cos(half)))
        self.tapers = f"top_{self.key}" in v
        if "width" in v:  # across flats, or twice from the axis to a flat where the sides are odd
            self.foot = v["width"] / 2
            self.head = v.get("top_width", v["width"]) / 2
        else:
            self.foot = v["radius"] * np.cos(half)
            self.head = v.get("top_radius", v["radius"]) * np.cos(half)
        self.lean = np.arctan2(self.foot - self.head, self.height)  # of the sides, inwards going up

    def refuse_closed(self, thickness: float) -> None:
        """BuildError: the sides are so thick that they meet on the axis below the head, or above the foot."""
        for own, other, end, key in ((self.foot, self.head, "foot", ""), (self.head, self.foot, "head", "top_")):
            if self._room(own, other, thickness) < -_EVEN:
                enough = 2.0 * max(own, other, thickness)
                while self._room(enough, other, thickness) < 0.0:
                    enough *= 2.0
                least = brentq(self._room, own, enough, args=(other, thickness)) / self.flat
                raise BuildError(
                    f"its sides of {thickness:g} mm meet on the axis before its {end}, so that nothing is open there; make "
                    f"{key}{self.key} {np.ceil(10.0 * least) / 10.0:g} mm or more, or take thinner foam"
                )

    def _room(self, own: float, other: float, thickness: float) -> float:
        """From the axis to the inside of the sides at one end, beyond the least, in mm; to their outside it is `own`, and
        `other` at the other end."""
        lean = (own - other) / self.height if self.tapers else 0.0
        return own - thickness * float(np.hypot(1.0, lean)) - _OPEN

    def normal(self, k: int) -> np.ndarray:
        angle = np.pi / 2 + 2 * np.pi * k / self.sides
        c = np.cos(self.lean)
        return np.array([c * np.cos(angle), c * np.sin(angle), np.sin(self.lean)])

    def side_frame(self, frame: Frame, thickness: float) -> Frame:
        middle = np.array([0.0, (self.foot + self.head) / 2, self.height / 2])
        return facing(frame.to_space(middle[None])[0], frame.axes @ self.normal(0), frame.axes[:, 2], thickness)

    def beside(self, numbers: Sequence[int], step: int) -> tuple[str, ...]:
        """The parts that the neighbours of some sides are, a step further round."""
        return tuple(dict.fromkeys(self.members[(number + step - 1) % self.sides + 1] for number in numbers))

    def side_cuts(self, frame: Frame, numbers: Sequence[int]) -> list[Cut]:
        """Of the side that faces y of a frame, and of its copies at other numbers."""
        half = np.pi / self.sides
        corner = frame.to_space(self.foot * np.array([[-np.tan(half), 1.0, 0.0], [np.tan(half), 1.0, 0.0]]))
        normals = [frame.axes @ self.normal(k) for k in (0, 1, -1)]
        cuts = [
            mitre("left", normals[0], normals[1], corner[0], self.beside(numbers, 1)),
            mitre("right", normals[0], normals[2], corner[1], self.beside(numbers, -1)),
        ]
        for end, name, height, sign in (("floor", "foot", 0.0, -1.0), ("roof", "head", self.height, 1.0)):
            joins = (f"{self.whole}_{end}",) if self.ends[end] == "mitred" else ()  # inside, it lies against the face
            middle = frame.to_space(np.array([[0.0, self.foot if sign < 0 else self.head, height]]))[0]
            axis = sign * frame.axes[:, 2]
            if self.ends[end] == "mitred":
                cuts.append(mitre(name, normals[0], axis, middle, joins))
            else:
                cuts.append(Cut(name, middle, axis, joins))
        return cuts

    def end(self, frame: Frame, thickness: float, end: str) -> tuple[Frame, float, list[Cut]]:
        """Frame, thickness and cuts of the floor or the roof."""
        sign, height, reach = (-1.0, 0.0, self.foot) if end == "floor" else (1.0, self.height, self.head)
        axis = sign * frame.axes[:, 2]
        cuts = []
        for k in range(self.sides):
            normal = self.normal(k)
            flat = normal[:2] / np.linalg.norm(normal[:2])
            edge = np.array([*(reach * flat), height])
            side = self.members[k + 1]
            if self.ends[end] == "mitred":
                at = frame.to_space(edge[None])[0]
                cuts.append(mitre(f"side_{k + 1}", axis, frame.axes @ normal, at, (side,)))
            else:
                at = frame.to_space((edge - thickness * normal)[None])[0]
                cuts.append(Cut(f"side_{k + 1}", at, frame.axes @ normal, (side,)))
        outer = frame.to_space(np.array([[0.0, 0.0, height]]))[0]
        return facing(outer, axis, frame.axes[:, 1], thickness), thickness, cuts

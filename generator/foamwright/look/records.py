"""What a first look finds. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from foamwright.design.records import Design
from foamwright.geometry import Mesh
from foamwright.parts.attempt import Failure
from foamwright.parts.records import Piece


@dataclass(frozen=True, eq=False)
class Copy:
    """One copy: its `mesh` in its place, and `modelled`, the same triangles before `matrix` (4, 4) took them there.

    `smooth` (m,) numbers the smooth faces of its mesh, -1 for a flat triangle.
    """

    piece: Piece
    number: int  # from 1
    mesh: Mesh
    modelled: Mesh
    smooth: np.ndarray
    matrix: np.ndarray

    @property
    def name(self) -> str:
        return f"{self.piece.label} {self.piece.name} ({self.number})"


@dataclass(frozen=True, eq=False)
class Overlap:
    """Two copies that share space: how much (mm3), how deep (mm), where it is deepest, and the shared space itself.

    `declared` says that the design means it, and `hint` what may be meant where it does not.
    """

    a: Copy
    b: Copy
    volume: float
    depth: float
    at: tuple[float, float, float]
    declared: bool
    hint: str
    mesh: Mesh


@dataclass(frozen=True, eq=False)
class Loose:
    """Copies that hang together and that nothing can hold: of the others `other` is `gap` mm from `near`, the nearest, or
    `shares` space with it, as the design declares."""

    copies: tuple[Copy, ...]
    near: Copy
    other: Copy
    gap: float
    shares: bool = False


@dataclass(frozen=True)
class Untrue:
    """Two parts, by their names in the design, that do not touch as it says: the `gap` between them in mm, and all that in
    words."""

    part: str
    other: str
    gap: float
    told: str


@dataclass(frozen=True, eq=False)
class Reach:
    """A copy that shares space with the figure: how deep (mm), where it is deepest, and the shared space itself."""

    copy: Copy
    depth: float
    at: tuple[float, float, float]
    mesh: Mesh


@dataclass(frozen=True, eq=False)
class TriedOn:
    """Who or what the prop must fit, in its place, and what it runs into there, the deepest first."""

    name: str
    mesh: Mesh
    reaches: tuple[Reach, ...]


@dataclass(frozen=True, eq=False)
class Look:
    """The copies in the order of the design, what shares space (the largest first), what nothing can hold (not looked for
    where something failed, which might have held it), what does not touch as declared, the `things` of the same parts that
    stand by themselves where there are several, and what failed: what cannot be placed, and panels that
    their foam or its sheet does not take. `remarks` are of what bars no pack, and a maker would want to know; nor does what the
    `figure` runs into, if there is one."""

    design: Design
    copies: tuple[Copy, ...]
    overlaps: tuple[Overlap, ...]
    loose: tuple[Loose, ...]
    untrue: tuple[Untrue, ...]
    things: tuple[tuple[Copy, ...], ...]
    failures: tuple[Failure, ...]
    remarks: tuple[str, ...] = ()
    figure: TriedOn | None = None

    @property
    def buildable(self) -> bool:
        """Nothing that a first look can find stands in the way of a pack."""
        return not (self.failures or self.loose or self.untrue) and all(overlap.declared for overlap in self.overlaps)

    @property
    def box(self) -> np.ndarray:
        """(2, 3) lowest and highest corner of all copies; zeros without any."""
        if not self.copies:
            return np.zeros((2, 3))
        corners = np.array([(c.mesh.points.min(axis=0), c.mesh.points.max(axis=0)) for c in self.copies])
        return np.stack([corners[:, 0].min(axis=0), corners[:, 1].max(axis=0)])


def corner_normals(mesh: Mesh, smooth: np.ndarray) -> np.ndarray:
    """(m, 3, 3) unit, at the corners of each triangle: the mean over the smooth face it belongs to, or its own."""
    normals = np.repeat(mesh.face_normals[:, None], 3, axis=1)
    for number in np.unique(smooth[smooth >= 0]).tolist():
        own = mesh.triangles[smooth == number]
        total = np.zeros_like(mesh.points)
        for k in range(3):
            np.add.at(total, own[:, k], mesh.area_vectors[smooth == number])
        total /= np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-12)
        normals[smooth == number] = total[own]
    return normals

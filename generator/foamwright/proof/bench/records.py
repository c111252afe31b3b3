"""What the virtual build returns. Lengths in mm; arrays are never changed once made."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from foamwright.errors import BuildError

# Why the paper alone does not prove a part
OPEN = "open"  # bent foam with free edges that nothing holds: it springs open
SHAPES = "shapes"  # its lengths allow more than one shape
BESIDE = "beside"  # it stands on what is not proven itself
PLACE = "place"  # its lines fit in more than one place
BENT = "bent"  # bent over others, it did not come out within the bounds
FOLDED = "folded"  # a strip with sharp corners, which the bench does not fold
UNMARKED = "unmarked"  # nothing on the paper leads to it, neither a line nor a seam
APART = "apart"  # within the bounds, but a seam of it stayed open
FAR = "far"  # it stands on its lines or hangs on its seams, and these came out beyond the bounds
SHARED = "shared"  # it shares space with another, and what is to be cut away there is on no template
REASONS = (OPEN, SHAPES, BESIDE, PLACE, BENT, FOLDED, UNMARKED, APART, FAR, SHARED)

MEAN, WORST, PROP = 1.0, 3.0, 250.0  # mm by which a prop of that size may be off, on average and anywhere
NOT_FAR = 2.0  # times the worst that is allowed: what came out further off stands elsewhere
CRUMPLED = 0.2  # strain of a triangle, from which the bench has folded it over


@dataclass(frozen=True)
class Fault:
    """One thing that does not come out: where, what, and by how much (mm)."""

    where: str
    what: str
    by: float

    def __str__(self) -> str:
        return f"{self.where}: {self.what}"


@dataclass(frozen=True, eq=False)
class Measured:
    """A copy laid on the model: its points (n, 3) on both faces, inside first, how far each is from the model's face
    (n,), and the triangles (m, 3) over the points of one face, none of a flat part. `edges` (K,) is how far points along the
    edges of bent foam are from those of the model: foam that is folded over lies near a face all the same. It `stands` for the
    copy of that number in the model, one that is alike."""

    part: str
    number: int
    stands: int
    points: np.ndarray
    away: np.ndarray
    triangles: np.ndarray
    edges: np.ndarray

    def within(self, mean: float, worst: float) -> bool:
        """Is it no further off than that?"""
        far = max(float(self.away.max()), float(self.edges.max(initial=0.0)))
        return bool(self.away.mean() <= mean and far <= worst)


@dataclass(frozen=True)
class OpenSeam:
    """A seam that is not judged: its id, the parts it joins, and those of them that are not proven; `gap` in mm is how far
    apart its edges came out, None where one of them was not built."""

    seam: str
    parts: tuple[str, ...]
    unproven: tuple[str, ...]
    gap: float | None


@dataclass(frozen=True)
class BodyFigures:
    """Parts that were sewn together, by id, and how far they came out from the model: `mean` and `worst` in mm.

    `apart` is the mean distance between the ends of two starts. `judged`: the paper alone tells its shape. `formed`: it
    does not, and bent over the model the foam came out within the bounds, its edges too.
    """

    parts: tuple[str, ...]
    copies: int
    bent: bool
    judged: bool
    mean: float
    worst: float
    apart: float
    formed: bool


@dataclass(frozen=True, eq=False)
class Proof:
    """What came of the virtual build. Lengths in mm.

    `seams` between proven copies were judged, `open_seams` are all others, the widest of each first.
    `mean` and `worst` are over the copies that are `standing`, proven as they came out: their place and shape follow from the
    paper, but for the shape of those `formed`, which were bent over the model. Those `fitting` were not set by the paper alone,
    but agree with all lines drawn for them or on them where the model has them, and lie there. `loose` are
    parts whose shape or place could be another as well, `left` those that were not built; `reasons` has all of them by id,
    and why (`reasons.py`).
    `measured` is everything that was built, as it came out.
    """

    size: float
    mean: float
    worst: float
    worst_part: str
    bodies: tuple[BodyFigures, ...]
    seams: int
    seam_gap: float
    seam_worst: str
    open_seams: tuple[OpenSeam, ...]
    marks: int
    mark_gap: float
    copies: int
    formed: int
    loose: tuple[str, ...]
    left: tuple[str, ...]
    reasons: tuple[tuple[str, str], ...]
    faults: tuple[Fault, ...]
    measured: tuple[Measured, ...]
    standing: tuple[Measured, ...]
    fitting: tuple[Measured, ...]

    @property
    def proven(self) -> int:
        return len(self.standing)

    @property
    def fitted(self) -> int:
        return len(self.fitting)

    @property
    def bounds(self) -> tuple[float, float]:
        return bounds(self.size)

    def refuse(self) -> None:
        """BuildError naming all that does not come out."""
        if self.faults:
            every = "; ".join(map(str, self.faults))
            raise BuildError(f"built from its own templates the prop does not come out: {every}")


def bounds(size: float) -> tuple[float, float]:
    """Mean and worst deviation that a prop of that size may have: in proportion to it, but no less than for a small
    one, whose foam is as thick."""
    share = max(1.0, size / PROP)
    return MEAN * share, WORST * share

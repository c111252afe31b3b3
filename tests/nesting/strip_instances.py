"""Strip-packing instances whose best known results are published, as points of whole numbers and how often each is cut.

The coordinates come from the data sets of the EURO working group on cutting and packing (ESICUP,
https://www.euro-online.org/websites/esicup/data-sets), read in the copy at
https://github.com/Oscar-Oliveira/OR-Datasets; no file of either is part of this project, only the numbers. First
published: FU by Fujita, Akagi and Hirokawa (1993, from memory), SHAPES0 and SHIRTS by Oliveira, Gomes and Ferreira,
OR Spektrum 22 (2000) 263-284. Best known shares are those of table 3 in Gardeyn, Vanden Berghe and Wauters,
"An open-source heuristic to reboot 2D nesting research" (2025, doi:10.48550/arXiv.2509.13329), each after 20 minutes
on three cores of a fast machine.
"""

from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon
from shapely.affinity import scale

from foamwright.nesting.nest import Blank, Supply

_SCALE = 100.0  # mm to a unit: what a room is larger than its piece then hardly counts
_WIDER = 1.0003  # exact fits, which these have and foam has not, need a little play


@dataclass(frozen=True)
class Instance:
    width: float
    turns: tuple[float, ...]
    best: float  # published share of the strip that pieces cover
    pieces: tuple[tuple[int, tuple[tuple[float, float], ...]], ...]

    def blanks(self) -> list[Blank]:
        ways = tuple((angle, False) for angle in self.turns)
        return [Blank(scale(Polygon(p), _SCALE, _SCALE, origin=(0, 0)), count, ways) for count, p in self.pieces]

    def supply(self) -> Supply:
        return Supply((_SCALE * self.width * _WIDER, float("inf")), gap=0.0, edge=0.0)

    def share(self, length: float) -> float:
        """What pieces cover of a strip of `length` mm and the width of the instance."""
        return sum(count * Polygon(p).area for count, p in self.pieces) / (self.width * length / _SCALE)


FU = Instance(38, (0.0, 90.0, 180.0, 270.0), 0.9241, (
    (2, ((0, 0), (10, 0), (10, 10), (0, 10))),
    (1, ((0, 0), (14, 0), (14, 9), (0, 9))),
    (1, ((0, 0), (14, 0), (7, 7))),
    (1, ((0, 9), (0, 0), (14, 9))),
    (1, ((0, 0), (14, 0), (14, 14), (0, 14))),
    (1, ((0, 0), (10, 4), (10, 9), (0, 9))),
    (1, ((0, 0), (5, 0), (5, 9), (0, 9))),
    (1, ((0, 0), (14, 0), (14, 14))),
    (1, ((0, 0), (10, 0), (10, 10), (0, 14))),
    (1, ((0, 8), (4, 0), (8, 8))),
    (1, ((0, 0), (14, 0), (7, 12))),
))  # fmt: skip

SHAPES0 = Instance(40, (0.0,), 0.6998, (
    (15, ((0, 0), (2, 0), (2, 3), (12, 3), (12, 0), (14, 0), (14, 5), (0, 5))),
    (7, ((0, 0), (6, -6), (12, 0), (6, 6))),
    (9, ((0, 0), (6, 0), (6, -2), (7, -2), (11, 2), (11, 4), (8, 4), (8, 1), (2, 1), (2, 4), (0, 4))),
    (12, ((0, 0), (2, 0), (2, -2), (4, -2), (4, 0), (6, 0), (6, 2), (4, 2), (4, 4), (2, 4), (2, 2), (0, 2))),
))  # fmt: skip

SHIRTS = Instance(40, (0.0, 180.0), 0.9092, (
    (8, ((0, 0), (7, 1), (7, 5), (0, 7), (-1, 5), (-1, 4), (-2, 3), (-1, 2))),
    (8, ((0, 0), (11, 0), (12, 2), (11, 3), (11, 5), (10, 6), (6, 5), (3, 6), (0, 5), (-1, 3))),
    (8, ((0, 0), (3, 0), (3, -1), (5, 0), (8, 0), (11, -1), (12, 4), (11, 8), (7, 7), (0, 7))),
    (15, ((0, 0), (4, 0), (4, 2), (3, 3), (0, 3))),
    (15, ((0, 0), (8, 0), (7, 1), (1, 1))),
    (15, ((0, 0), (4, 0), (4, 1), (0, 1))),
    (15, ((0, 0), (3, 0), (3, 1), (0, 1))),
    (15, ((0, 0), (8, 0), (8, 2), (6, 2), (4, 1), (3, 1), (2, 2), (-1, 2))),
))  # fmt: skip

INSTANCES = {"FU": FU, "SHAPES0": SHAPES0, "SHIRTS": SHIRTS}

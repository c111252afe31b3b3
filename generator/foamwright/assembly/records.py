"""What the ordering of the assembly returns, and what the booklet is made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from foamwright.drawing.primitives import Primitive


@dataclass(frozen=True)
class StepMove:
    """Copies (their numbers among all copies of the prop) that go in as one body.

    `outwards` are straight legs of the way out, each a direction (unit) and how far in mm (infinite for the last);
    the way in is their reverse. `rolled` says that foam is bent on the way, `laid` that it is laid on bit by bit.
    """

    copies: tuple[int, ...]
    outwards: tuple[tuple[tuple[float, float, float], float], ...]
    rolled: bool = False
    laid: bool = False


@dataclass(frozen=True)
class Step:
    """One step at the bench: parts that go in together, once all in `waits_for` are done."""

    number: int
    title: str
    parts: tuple[str, ...]  # part ids
    glue: str  # "contact", "instant" or "" (nothing is glued)
    minutes: float
    waits_for: tuple[int, ...]  # step numbers
    instructions: tuple[str, ...]
    cautions: tuple[str, ...]  # keys of generator/foamwright/booklet/pages/cautions.py
    places: tuple[str, ...] = ()  # ids of the parts that it puts into the prop; the others it only works on
    moves: tuple[StepMove, ...] = ()  # how its copies go in, one after another
    bench: tuple[str, ...] = ()  # ids of the parts that it puts together apart from what stands
    wait: float = 0.0  # minutes in which the glue goes tacky or the paint dries, and the hands are free
    uses: tuple[str, ...] = ()  # keys of generator/foamwright/booklet/words/supplies.py
    bought: tuple[str, ...] = ()  # what the design wants bought for it, as it is called
    rounds: int = 1  # how often glue is put on and waited for within it
    rest: float = 0.0  # minutes that what was done before is left alone until it is begun
    sets: tuple[StepMove, ...] = ()  # what stands by then and is set down on something else, without glue
    one_face: Mapping[str, float] = field(
        default_factory=dict
    )  # parts of which it paints the outside (1) or inside (-1) alone
    glued: Mapping[str, float] = field(default_factory=dict)  # mm2 of one face, by the glue that it takes
    loose: tuple[str, ...] = ()  # for whoever uses what is done then: sentences on what no glue holds
    heads: Mapping[int, str] = field(
        default_factory=dict
    )  # small headings of a long one, by the instruction below each


@dataclass(frozen=True)
class Bubble:
    """The letter of a part on a picture: its leader ends `at` the part, its middle is at `spot`; mm of the view. Of what
    is new in the picture, or of what stands already and takes it."""

    label: str
    at: tuple[float, float]
    spot: tuple[float, float]
    radius: float
    new: bool = True


@dataclass(frozen=True, eq=False)
class Inset:
    """A small drawing beside a step: items hang from its upper left corner, y negative, `height` mm of paper."""

    items: tuple[Primitive, ...]
    height: float
    said: str  # the words below it


@dataclass(frozen=True, eq=False)
class Picture:
    """A drawing of the prop from one direction: polylines (N, 2) in mm of the view plane.

    `old` is what stands already, `new` what the step adds. `bounds` is (x0, y0, x1, y1) of all lines together.
    """

    old: tuple[np.ndarray, ...]
    new: tuple[np.ndarray, ...]
    bounds: tuple[float, float, float, float]
    figure: tuple[np.ndarray, ...] = ()  # outline of the figure where it is seen, and the arrow of its way in
    hidden: tuple[np.ndarray, ...] = ()  # its outline behind the prop
    png: bytes = b""  # the prop in tones, a PNG file in `box`
    box: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    bubbles: tuple[Bubble, ...] = ()
    arrows: tuple[np.ndarray, ...] = ()  # ways in, the head at the last point
    note: str = ""  # that the view has changed, that parts are left out
    alt: str = ""  # what the picture shows, in words
    share: float = 1.0  # of the new parts that shows
    details: tuple[Inset, ...] = ()  # close views of what is too small in it
    front: tuple[float, ...] = ()  # x, y where the arrow "front" begins and how far it goes; () where it is not drawn


@dataclass(frozen=True, eq=False)
class Pictures:
    """Everything that is drawn in a booklet; a step without a picture is set as text alone."""

    finished: tuple[Picture, ...]  # the whole prop, from one or two directions
    steps: Mapping[int, Picture]  # by the step's number
    overall: (
        tuple[float, float, float] | None
    )  # length (x), width (y), height (z) in mm of the prop, or of one of `alike`
    fit: tuple[Picture, ...] = ()  # the figure in the prop
    apart: Picture | None = None  # all parts off their places, with their letters
    insets: Mapping[int, tuple[Inset, ...]] = field(default_factory=dict)  # by the step's number
    square_on: Mapping[str, Picture] = field(default_factory=dict)  # from the "front", "left" and "above"
    below: Picture | None = None  # the whole prop from below, where it is `finished` from other sides
    alike: int = (
        1  # things that the prop is, built alike and not joined, as a pair: `overall` and `square_on` are of one
    )


@dataclass(frozen=True)
class Joint:
    """One place where glue goes within a part or along a seam. `length` in mm and `area` in mm2 of one face, of each of
    `copies` alike."""

    kind: str  # "seam", "split", "dart" or "laminate"
    parts: tuple[str, ...]  # every part it touches; one id where a part meets itself or its own mirror image
    length: float  # 0 where a whole face is glued
    area: float
    copies: int
    glue: str  # "contact" or "instant"
    edges: tuple[str, ...] = ()  # of a seam: the edge of each side

    @property
    def edges_key(self) -> frozenset[tuple[str, str]]:
        """Part and edge of both sides of a seam."""
        return frozenset(zip((*self.parts, *self.parts), self.edges))


@dataclass(frozen=True)
class Purchase:
    """One line of the shopping list. `basis` says how the amount was found."""

    item: str
    amount: float
    unit: str
    basis: str
    cost: float | None = None  # in `currency`; None where no price is known
    currency: str = ""
    sellers: tuple[str, ...] = ()  # who sells it, as the design says

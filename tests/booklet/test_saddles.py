"""To which face panels bend, and how far: on a surface of revolution of radius r(z) the principal curvatures are
1 / (r sqrt(1 + r'^2)) round it and -r'' / (1 + r'^2)^(3/2) along it (M. do Carmo, "Differential Geometry of Curves and Surfaces",
section 3-3, example 4, from memory). Lengths in mm."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from small_designs import head, lines_of, stages_of_text

sys.path.insert(0, str(Path(__file__).parents[1] / "model"))
from solid_fixtures import FOAM, panel, piece

from foamwright.booklet.pictures import shaping
from foamwright.booklet.words import bending
from foamwright.booklet.words.gauging import gauges
from foamwright.flatten.bend_lines import bend_lines, bends, in_space

THICK = FOAM.thickness
# r, r' and r'' at heights z from 0 to 1, all lengths in parts of a size; the horn as an exponential one
FORMS = {
    "horn": (
        lambda z: 0.17 * np.exp(1.55 * z),
        lambda z: 0.2635 * np.exp(1.55 * z),
        lambda z: 0.4084 * np.exp(1.55 * z),
    ),
    "vase": (lambda z: 0.4 + 0.8 * (z - 0.5) ** 2, lambda z: 1.6 * (z - 0.5), lambda z: 1.6 + 0.0 * z),
    "barrel": (lambda z: 0.6 - 0.4 * (z - 0.5) ** 2, lambda z: -0.8 * (z - 0.5), lambda z: -0.8 + 0.0 * z),
    "cylinder": (lambda z: 0.4 + 0.0 * z, lambda z: 0.0 * z, lambda z: 0.0 * z),
    "cone": (lambda z: 0.6 - 0.4 * z, lambda z: -0.4 + 0.0 * z, lambda z: 0.0 * z),
}


class Turned:
    """Round about z; u from the bottom up, v clockwise seen from above. Its normals point outwards, or, `hollowed`, to the axis:
    then the drawn face is the one that is away from that."""

    poles = (False, False)

    def __init__(self, form, size, upside_down=False, hollowed=False):
        self.size, self.upside_down, self.sign = size, upside_down, -1.0 if hollowed else 1.0
        self.r, self.slope, self.second = FORMS[form]

    def point(self, coords):
        u, turn = np.asarray(coords, float).T * [[1.0], [-2.0 * np.pi * self.sign]]
        r = self.size * self.r(1.0 - u if self.upside_down else u)
        return np.column_stack([r * np.cos(turn), r * np.sin(turn), self.size * u])

    def normal(self, coords):
        u, turn = np.asarray(coords, float).T * [[1.0], [-2.0 * np.pi * self.sign]]
        slope = -self.slope(1.0 - u) if self.upside_down else self.slope(u)
        out = np.column_stack([np.cos(turn), np.sin(turn), -slope]) / np.sqrt(1.0 + slope**2)[:, None]
        return self.sign * out

    def offset(self, coords, distance):
        return self.point(coords) + np.reshape(distance, (-1, 1)) * self.normal(coords)


def piece_of(form, size, share, upside_down=False, hollowed=False, laid_inside=False):
    """A petal of a form, `share` of its way round, from one end to the other."""
    surface = Turned(form, size, upside_down, hollowed)
    body = panel(surface, (0.0, -share / 2.0), (1.0, share / 2.0), -THICK if laid_inside else 0.0, THICK, cells=40)
    edges = [replace(e, points=(e.inner + e.outer) / 2.0, normals=(e.outer - e.inner) / THICK) for e in body.edges]
    return piece("A", replace(body, edges=tuple(edges)))


def along_and_round(form, size, z):
    """The two curvatures, both above 0 where the surface bends away from the axis' far side, as a barrel does."""
    r, slope, second = (f(z) for f in FORMS[form])
    return -second / size / (1.0 + slope**2) ** 1.5, 1.0 / (size * r * np.sqrt(1.0 + slope**2))


def drawn(curvature, at):
    """That of a face `at` mm along the normals: 1 / (R + at)."""
    return curvature / (1.0 + at * curvature)


SIZES = [100.0, 250.0, 625.0]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("upside_down", [False, True])
@pytest.mark.parametrize("laid_inside", [False, True])
@pytest.mark.parametrize("hollowed", [False, True])
def test_a_petal_of_a_horn_is_bent_along_it_to_one_face_and_round_it_to_the_other(
    size, upside_down, laid_inside, hollowed
):
    part = piece_of("horn", size, 1.0 / 12.0, upside_down, hollowed, laid_inside)
    main, second = bending.main(part), bending.second(part)
    assert bending.is_saddled(part) and second is not None
    assert (main.inwards, second.inwards) == (hollowed, not hollowed)
    sign, inner = (-1.0 if hollowed else 1.0), (-THICK if laid_inside else 0.0)
    z = np.linspace(0.0, 1.0, 2001)
    along, _ = along_and_round("horn", size, z)
    r, slope, _ = (f(z) for f in FORMS["horn"])
    area = r * np.sqrt(1.0 + slope**2)
    mean = (area * sign * along).sum() / area.sum()
    across = 2.0 / abs(drawn(mean, inner)) - (0.0 if main.inwards else 2.0 * THICK)
    assert main.narrow == main.wide == pytest.approx(across, rel=0.05)
    round_it = sign * along_and_round("horn", size, np.array([0.0, 1.0]))[1]
    ends = 2.0 / np.abs(drawn(round_it, inner)) - (0.0 if second.inwards else 2.0 * THICK)
    assert [second.narrow, second.wide] == pytest.approx(ends.tolist(), rel=0.02) and second.narrows


@pytest.mark.parametrize("size", SIZES)
def test_a_wide_part_of_a_vase_is_bent_round_it_and_flared_to_the_other_face(size):
    part = piece_of("vase", size, 1.0 / 3.0)
    main, second = bending.main(part), bending.second(part)
    assert main.inwards and second is not None and not second.inwards
    tightest, widest = 2.0 / along_and_round("vase", size, np.array([0.5, 1.0]))[1]
    assert min(tightest, widest) < main.narrow < max(tightest, widest)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("form", "domed"), [("barrel", True), ("cylinder", False), ("cone", False)])
@pytest.mark.parametrize("hollowed", [False, True])
def test_what_is_no_saddle_has_one_hollow_face(form, domed, size, hollowed):
    part = piece_of(form, size, 1.0 / 5.0, hollowed=hollowed)
    main = bending.main(part)
    assert main.inwards is not hollowed and bending.is_domed(part) == domed
    assert not bending.is_saddled(part) and bending.second(part) is None
    z = np.linspace(0.0, 1.0, 101)
    off = 2.0 * THICK if hollowed else 0.0
    across = 2.0 / along_and_round(form, size, z)[1] - off
    assert across.min() * 0.95 <= main.narrow <= main.wide <= across.max() * 1.05
    face = "outside" if hollowed else "inside"
    assert bending.face_inside([part]) == f"the drawn face {face}"


def test_of_some_parts_the_drawn_face_is_told_apart():
    parts = [
        replace(piece_of("cylinder", 200.0, 0.2, hollowed=one), label=label)
        for label, one in (("A", False), ("B", True))
    ]
    assert bending.face_inside(parts) == "the drawn face inside, but that of B outside"


@pytest.mark.parametrize("cells", [4, 9, 30])
@pytest.mark.parametrize("turn", [0.0, 30.0])
def test_the_main_bend_of_a_saddle_that_bends_alike_both_ways_is_always_the_same(cells, turn):
    """z = x^2 - y^2 about: bent away from its normals along y, be its triangles fine or rough."""
    x, y = np.meshgrid(*[np.linspace(-50.0, 50.0, cells + 1)] * 2)
    points = np.column_stack([x.ravel(), y.ravel(), (x**2 - y**2).ravel() / 400.0])
    at = np.arange((cells + 1) ** 2).reshape(cells + 1, -1)
    a, b, c, d = (corner.ravel() for corner in (at[:-1, :-1], at[:-1, 1:], at[1:, 1:], at[1:, :-1]))
    turned = np.radians(turn)
    to = np.array([[np.cos(turned), np.sin(turned), 0.0], [-np.sin(turned), np.cos(turned), 0.0], [0.0, 0.0, 1.0]])
    found = bends((points @ to)[np.vstack([np.column_stack([a, b, c]), np.column_stack([a, c, d])])])
    assert found is not None and found.opposite and not found.is_even(0.1) and found.evenly > 0.95
    assert abs(found.across @ (to.T @ [0.0, 1.0, 0.0])) == pytest.approx(1.0, abs=1e-3)


HORN = (
    head("Horn")
    + """\
stock: {foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [2000, 2000], strain_limit: 0.2}}
forms:
  horn:
    kind: revolution
    axis: z
    profile: [[0, 25 * scale], [40 * scale, 30 * scale], [80 * scale, 40 * scale], [120 * scale, 65 * scale],
      [150 * scale, 100 * scale], [160 * scale, 120 * scale]]
    cuts:
      low: {plane: {normal: z, at: 2 * scale}}
      high: {plane: {normal: z, at: 158 * scale}}
      a: {plane: {normal: [-cos(HALF), sin(HALF), 0]}}
      b: {plane: {normal: [cos(HALF), sin(HALF), 0]}}
parts:
  petal: {kind: panel, stock: foam, form: horn, where: {low: beyond, high: before, a: beyond, b: beyond}, REPEAT}
"""
)


@pytest.mark.parametrize(("count", "scale"), [(4, 1.0), (8, 0.5), (8, 2.5)])
def test_petals_of_a_horn_are_told_the_bend_of_their_bold_line_and_the_opposite_one(tmp_path, count, scale):
    text = HORN.replace("HALF", str(180.0 / count)).replace(
        "REPEAT", f"repeat: {{around: {{count: {count}, axis: z}}}}"
    )
    stages = stages_of_text(tmp_path, text, scale=scale)
    (petal,) = stages.patterns.patterns
    bold = in_space(petal, bend_lines(petal)[0])
    assert abs((bold[-1] - bold[0])[0]) == pytest.approx(
        np.linalg.norm(bold[-1] - bold[0]), rel=1e-3
    )  # across the petal
    main = bending.main(petal.piece)
    assert not main.inwards
    own = gauges([petal])["petal"]
    assert own.around is not None
    chord = np.array([np.interp(0.0, *curve.T) - curve[[0, -1], 1].mean() for curve in [own.around.curve]])
    assert chord[0] < 0.0  # the drawn face bulges towards the card, whose curve is a hollow
    told = " ".join(lines_of(stages))
    assert "the drawn face outside" in told and "the drawn face inside" not in told
    assert "A is a saddle" in told and "both ends of that line towards the drawn face" in told
    drawn = shaping.bent(petal)
    assert drawn is not None and "Along the bend line it is bent the opposite way" in drawn.said
    assert "lying on its drawn face" not in drawn.said

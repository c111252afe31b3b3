"""What is told of two parts that share space, beside where."""

import pytest

from foamwright.design import load
from foamwright.errors import BuildError
from foamwright.look.build import first_look
from foamwright.look.report import report, sentences
from foamwright.model.build import build_model
from foamwright.model.interference import interferences, refuse_undeclared
from foamwright.parts.attempt import attempt
from foamwright.parts.build import build_prop

TUB = """
format: 1
name: Tub
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
sizes: {one: {}}
stock:
  foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
forms:
  tub:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, LOW * scale], [100, HIGH * scale]]
    cuts:
      foot: {plane: {normal: z, at: 10}}
      head: {plane: {normal: z, at: 90}}
      half: {plane: {normal: y}}
parts:
  wall:
    kind: panel
    stock: foam
    form: tub
    where: {foot: beyond, head: before, half: beyond}
    flush: [FLUSH]
    mirror: y
  floor: {kind: disc, stock: foam, radius: 110, at: {origin: [0, 0, 10], normal: -z}}
  lid: {kind: disc, stock: foam, radius: 110, at: {origin: [0, 0, 90], normal: z}}
"""
BELT = """  belt:
    kind: band
    stock: foam
    along: {hoop: {form: tub, plane: {normal: z, at: 50}}}
    over: [wall]
    width: 30
"""


def told(tmp_path, text):
    """What a first look and what a build say."""
    path = tmp_path / "tub.yaml"
    path.write_text(text)
    design = load(path)
    model = build_model(build_prop(design))
    seen = sentences(report(first_look(attempt(design)), ""))[1:]
    try:
        refuse_undeclared(interferences(model), model)
    except BuildError as error:
        return seen, str(error)
    return seen, ""


LEANING_OUT = TUB.replace("LOW", "60").replace("HIGH", "100")
LEANING_IN = TUB.replace("LOW", "100").replace("HIGH", "60")


@pytest.mark.parametrize(
    ("tub", "flush", "cut", "other"), [(LEANING_OUT, "head", "foot", "floor"), (LEANING_IN, "foot", "head", "lid")]
)
def test_an_edge_that_is_square_to_its_foam_where_a_flat_part_closes_it_is_told_with_the_cut(
    tmp_path, tub, flush, cut, other
):
    """Of either hand: the second copy of the wall lies in the mirrored planes."""
    seen, refused = told(tmp_path, tub.replace("FLUSH", flush))
    says = f"the edge of wall at its cut {cut} is square to its foam: with flush: [{cut}] it lies in the plane that {other}"
    assert len(seen) == 1 and "so does 1 more pair" in seen[0] and says in seen[0]
    assert says in refused


def test_flush_edges_are_the_remedy_and_a_belt_is_told_what_leans(tmp_path):
    assert told(tmp_path, LEANING_OUT.replace("FLUSH", "foot, head")) == ([], "")
    seen, refused = told(tmp_path, LEANING_OUT.replace("FLUSH", "foot, head") + BELT)
    assert all("use a cover, or a panel" in line for line in (*seen, refused))


PORT = """
format: 1
name: Tub
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
sizes: {one: {}}
stock:
  foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
forms:
  tub:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 100 * scale], [100, 60 * scale]]
    cuts:
      foot: {plane: {normal: z, at: 10}}
      head: {plane: {normal: z, at: 90}}
      half: {plane: {normal: y}}
      port: {prism: {outline: {circle: {radius: 25, centre: [0, 50]}}, along: y, above: 0}}
parts:
  wall:
    kind: panel
    stock: foam
    form: tub
    where: {foot: beyond, head: before, half: beyond, port: outside}
    flush: [foot, head]
    square: [SQUARE]
    mirror: y
  lip:
"""
LIP = """    kind: band
    stock: foam
    along: {opening: {form: tub, cut: port}}
    laid: inside
    proud: 6
    depth: 2
    mirror: y
"""
PIPE = """    kind: ring
    stock: foam
    outer_radius: 25
    inner_radius: 19
    layers: 6
    at: {origin: [0, 70, 50], normal: y}
    mirror: y
"""


@pytest.mark.parametrize("lining", [LIP, PIPE])
def test_an_edge_that_is_square_as_the_design_says_is_the_cause_that_is_told(tmp_path, lining):
    """A band that lines an opening stands in the cut itself, however the form leans there. Of either hand."""
    seen, refused = told(tmp_path, (PORT + lining).replace("SQUARE", "port"))
    says = "the edge of wall at its cut port is square to its foam, as square says: with port taken out of that"
    assert len(seen) == 1 and "so does 1 more pair" in seen[0] and all(says in line for line in (*seen, refused))
    assert told(tmp_path, (PORT + lining).replace("SQUARE", "")) == ([], "")


@pytest.mark.parametrize(
    "other",
    [
        PIPE.replace("outer_radius: 25", "outer_radius: 32"),  # the wall's foam around the port, wherever its edge lies
        PIPE.replace("outer_radius: 25", "outer_radius: 12")
        .replace("inner_radius: 19", "inner_radius: 4")
        .replace("[0, 70, 50]", "[34, 60, 50]"),  # beside the port, in the middle of the foam
    ],
)
def test_an_edge_that_is_square_is_no_cause_where_foam_within_the_cut_is_in_the_way(tmp_path, other):
    seen, refused = told(tmp_path, (PORT + other).replace("SQUARE", "port"))
    assert seen and "occupy the same space" in refused
    assert not any("as square says" in line for line in (*seen, refused))
    assert told(tmp_path, (PORT + other).replace("SQUARE", ""))[1]


COLLAR = """
  pipe:
    kind: revolution
    axis: y
    origin: [0, 0, 50]
    profile: [[40, 25], [110, 25]]
    smooth: false
    cuts:
      far: {plane: {normal: y, at: 100}}
      half: {plane: {normal: z, at: 50}}
      wall: {form: {form: tub, offset: REACH}}
parts:
"""


@pytest.mark.parametrize(("reach", "blames"), [(0, True), (-12, False)])
def test_an_edge_that_is_square_beside_another_form_is_the_cause_where_the_foam_lies_beyond_its_surface(
    tmp_path, reach, blames
):
    """A pipe that ends on the wall, square to its own foam, reaches into the wall; one that is to end behind it does so anyway."""
    pipe = """  lip:
    kind: panel
    stock: foam
    form: pipe
    where: {wall: outside, far: before, half: before}
    square: [wall]
"""
    text = PORT.replace("\nparts:\n", COLLAR.replace("REACH", str(6 + reach))).replace("  lip:\n", pipe)
    text = text.replace("square: [SQUARE]", "square: [port]")
    seen, _ = told(tmp_path, text)
    assert any("square to its foam, as square says: with wall taken out" in line for line in seen) == blames


def test_an_edge_that_would_slant_too_much_in_its_cut_is_not_told_to_lie_in_it(tmp_path):
    port = PORT.replace("centre: [0, 50]", "centre: [62, 50]").replace("radius: 25", "radius: 12")
    pipe = PIPE.replace("[0, 70, 50]", "[62, 40, 50]").replace("outer_radius: 25", "outer_radius: 12")
    seen, _ = told(tmp_path, (port + pipe.replace("inner_radius: 19", "inner_radius: 6")).replace("SQUARE", "port"))
    assert seen and not any("as square says" in line for line in seen)


def test_a_wrapped_bar_that_reaches_into_a_panel_is_no_band_that_stands_upright(tmp_path):
    """It is scored and folded as a band is, but follows no form: a cover would be no remedy."""
    bar = """  bar:
    kind: rod
    stock: foam
    from: [0, 0, 50]
    to: [0, 78, 50]
    diameter: 30
    made: wrapped
"""
    text = PORT.replace(", port: outside", "").replace("    square: [SQUARE]\n", "").replace("  lip:\n", bar)
    seen, refused = told(tmp_path, text)
    assert seen and "wall" in refused and "bar" in refused
    assert not any("use a cover" in line for line in (*seen, refused))

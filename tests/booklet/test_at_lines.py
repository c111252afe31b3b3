"""What is said of a placement line is what the templates show: closed, one line beside an edge, two lines, on the other part,
or none. All follows from where the parts lie."""

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.templates.placement_lines import BY_HOLE, BY_RIM, LINES, NONE, ONE, RING, ROUND, looks, placement_lines

TEXT = (
    head("Lines")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
parts:
  base: {kind: plate, stock: thick, outline: {rectangle: {width: 200 mm * scale, height: 100 mm}}, at: {normal: z, up: y}}
"""
)
FLAT = "  top: {{kind: plate, stock: thick, outline: {{rectangle: {{width: {}, height: {}}}}}, at: {{origin: [{}, {}, 10], normal: z, up: y}}, lies_on: [base]}}\n"
UPRIGHT = "  wall: {{kind: plate, stock: thick, outline: {{rectangle: {{width: {}, height: 60}}}}, at: {{origin: [0, {}, 40], normal: y, up: z}}, joins: [base]}}\n"
RAIL = "  rail: {kind: ring, stock: thick, outer_radius: 40, inner_radius: 30, at: {origin: [0, 0, 10], normal: z}, lies_on: [base]}\n"
FISH = (
    "  fish: {kind: plate, stock: thick, outline: {polygon: {points: [[-30, 0], [0, 14], [20, 3], [34, 16], [27, 0], [34, -16], [20, -3], [0, -14]]}}, "
    "minus: [{circle: {radius: 2.5, centre: [-14, 0]}}], at: {origin: [0, 0, 10], normal: z, up: y}, lies_on: [base]}\n"
)


def glued(tmp_path, text):
    path = tmp_path / "lines.yaml"
    path.write_text(TEXT + text, encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    (line,) = {line for step in steps for line in step.instructions if line.startswith("Glue ") and "(A)" in line}
    return line


@pytest.mark.parametrize(
    ("part", "said"),
    [
        (FLAT.format(60, 40, 0, 0), "Glue the top (B) flat on the base (A), inside the placement line."),
        (
            FLAT.format(60, 40, 0, 30),
            "Glue the top (B) flat on the base (A), between the placement line and the edge of A.",
        ),
        (FLAT.format(60, 100, 0, 0), "Glue the top (B) flat on the base (A), between the placement lines."),
        (FLAT.format(200, 100, 0, 0), "Glue the top (B) flat on the base (A), flush with the rim of A all round."),
        (FLAT.format(230, 120, 0, 0), "Glue the top (B) flat on the base (A), with A inside the placement line on B."),
        (
            FLAT.format(260, 160, 0, 0),
            "Glue the top (B) on the base (A), by the placement line on B: glue goes only where the two touch.",
        ),
        (FISH, "Glue the fish (B) flat on the base (A), inside the placement line."),
        (RAIL, "Glue the rail (B) flat on the base (A), between the inner and the outer placement line."),
    ],
)
def test_a_plate_goes_to_the_line_that_is_there(tmp_path, part, said):
    assert glued(tmp_path, part) == said


@pytest.mark.parametrize(
    ("y", "said"), [(0, "between the placement lines."), (45, "between the placement line and the edge of A.")]
)
def test_an_edge_on_a_face_comes_between_two_lines_or_a_line_and_the_edge(tmp_path, y, said):
    assert said in glued(tmp_path, UPRIGHT.format(160, y).replace(", joins: [base]", ", lies_on: [base]"))


@pytest.mark.parametrize(("size", "met"), [((220, 80, 0, 40), True), ((60, 40, 0, 0), False)])
def test_a_v_is_told_where_the_template_has_one(tmp_path, size, met):
    """What reaches beyond the base at three edges could slide along its one line; a closed line tells the place by itself."""
    assert glued(tmp_path, FLAT.format(*size)).endswith("V comes on V.") == met
    steps = Stages(Request(load(tmp_path / "lines.yaml"))).record("steps")
    assert any("A V beside a placement line" in line for line in steps[0].instructions) == met


def test_a_handle_that_stands_on_its_ends_is_glued_there_and_not_laid_on(tmp_path):
    """An arch of 60 mm radius over the base: nothing of it but its two ends touches."""
    arch = (
        "  handle: {kind: band, stock: thick, along: {outline: {circle: {radius: 60}}, at: {origin: [0, 0, 10], normal: y, "
        "up: z}}, span: {angles: [0, 180]}, width: 30, after: [base]}\n"
    )
    said = glued(tmp_path, arch)
    assert said == "Glue both ends of the handle (B) to the base (A), each inside its placement line."
    steps = Stages(Request(load(tmp_path / "lines.yaml"))).record("steps")
    assert not any("Lay the middle of" in line for step in steps for line in step.instructions)


FOAM = shapely.box(0, 0, 100, 100)


@pytest.mark.parametrize(
    ("region", "found"),
    [
        (shapely.box(20, 20, 60, 60), ROUND),
        (shapely.Point(50, 50).buffer(30) - shapely.Point(50, 50).buffer(20), RING),
        (shapely.box(20, 20, 60, 100), ONE),
        (shapely.box(0, 20, 100, 60), LINES),
        (FOAM, NONE),
        (shapely.box(45, 0, 55, 100), LINES),  # an edge that stands across
        (shapely.box(0, 10, 10, 90), ONE),  # one along the rim
        (shapely.box(10, 45, 90, 55), LINES),
        (
            shapely.Polygon([[20, 0], [26, 0], [26, 12], [20, 17]]),
            LINES,
        ),  # a short one that ends at the rim, as at a mitre
        (shapely.box(20, 0, 40, 6), ONE),  # along the rim
        (shapely.Polygon(), NONE),
    ],
)
def test_how_a_line_looks(region, found):
    assert looks(region, FOAM) == found


@pytest.mark.parametrize(
    ("region", "found"),
    [
        (shapely.box(20, 20, 60, 60), ROUND),  # the dart ends within it
        (shapely.box(20, 20, 60, 40), ROUND),  # the dart cuts it in two
        (shapely.box(20, 0, 60, 60), ONE),  # it comes to the rim, where the dart opens
        (shapely.box(60, 20, 90, 60), ROUND),  # the dart is beside it
        (shapely.box(10, 10, 70, 70) - shapely.box(20, 20, 60, 60), RING),  # the dart ends in the hollow
        (shapely.box(36, 20, 44, 45), ROUND),  # narrower than the dart at one end
    ],
)
def test_a_line_that_a_dart_cuts_is_closed_once_the_dart_is(region, found):
    legs = np.array([[34, 0], [40, 50.0]]), np.array([[46, 0], [40, 50.0]])
    foam = FOAM - shapely.Polygon([*legs[0], legs[1][0]])
    part = SimpleNamespace(
        drawn_face="inside",
        outline=foam.exterior.coords,
        holes=(),
        darts=[SimpleNamespace(wedge=shapely.Polygon([*legs[0], *legs[1][::-1]]))],
        piece=SimpleNamespace(id="base"),
    )
    mark = SimpleNamespace(upper=SimpleNamespace(id="pad"), region=region & foam, on_inside=True, of=((1, 1),))
    (shown,) = placement_lines([(part, (mark,))])["base", "pad"]
    assert shown.looks == found


@pytest.mark.parametrize(("radius", "found"), [(3, ROUND), (5, ROUND), (30, BY_HOLE)])
def test_a_small_hole_in_a_line_is_not_the_side_of_its_field(radius, found):
    """A field of 40 by 40 with a post's hole at the middle of one side, and with an opening as wide as that side."""
    hole = shapely.Point(40, 60).buffer(radius)
    assert looks(shapely.box(20, 20, 60, 60) - hole, FOAM - hole) == found


RIM = shapely.Point(0, 0).buffer(60)
WASHER = RIM - shapely.Point(0, 0).buffer(40)


@pytest.mark.parametrize(
    ("region", "foam", "found"),
    [
        (shapely.Point(0, 0).buffer(48) - shapely.Point(0, 0).buffer(40), WASHER, BY_HOLE),
        (RIM - shapely.Point(0, 0).buffer(52), WASHER, BY_RIM),
        (shapely.box(-8, 38, 8, 50) & WASHER, WASHER, BY_HOLE),
        (shapely.box(-8, 50, 8, 62) & WASHER, WASHER, BY_RIM),
        (shapely.box(-8, 50, 8, 62) & RIM, RIM - shapely.Point(0, 0).buffer(3), ONE),
        (shapely.union_all([shapely.box(-8, 38, 8, 50), shapely.box(-8, -62, 8, -50)]) & WASHER, WASHER, ONE),
    ],
)
def test_of_two_edges_of_a_ring_it_is_told_which(region, foam, found):
    assert looks(region, foam) == found


@pytest.mark.parametrize(("middle", "edge"), [(-46, "the outer edge of A"), (-34, "the edge of the hole in A")])
def test_a_sentence_tells_the_edge_of_a_frame(tmp_path, middle, edge):
    """A strip of 8 mm on a rail that goes from 50 to 30 mm off the middle."""
    hollow = TEXT.replace("height: 100 mm}}", "height: 100 mm}}, minus: [{rectangle: {width: 120, height: 60}}]")
    path = tmp_path / "frame.yaml"
    path.write_text(hollow + FLAT.format(60, 8, 0, middle), encoding="utf-8")
    told = [line for step in Stages(Request(load(path))).record("steps") for line in step.instructions]
    assert any(line.endswith(f"between the placement line and {edge}.") for line in told)

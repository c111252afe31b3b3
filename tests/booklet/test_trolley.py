"""Axles in holes, edges that must be flush, layers lined up by a bar, and a doll that is closed in: seen on a trolley with a lid."""

import re
from types import SimpleNamespace

import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.assembly import batches

DESIGN = (
    head("Trolley", "1 mm")
    + """\
stock:
  board: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1000 mm]}
  dowel: {name: Beech dowel 10 mm, thickness: 10 mm, sheet: [10 mm, 1000 mm]}
parts:
  body: {kind: box, stock: board, size: [160, 120 * scale, 90], without: [top], at: {origin: [0, 0, 60], normal: z, up: x}}
  lid:
    kind: plate
    stock: board
    outline: {rectangle: {width: 120, height: 160}}
    at: {origin: [0, 0, 150], normal: z, up: x}
    after: [body]
  step:
    kind: plate
    stock: board
    outline: {rectangle: {width: 80, height: 40}}
    at: {origin: [-100, 0, 60], normal: z, up: x}
  bearing:
    kind: plate
    stock: board
    outline: {rectangle: {width: 40, height: 60}, minus: [{circle: {radius: 5.2, centre: [0, -18]}}]}
    at: {origin: [0, 60, 68], normal: y, up: z}
    lies_on: [body]
    mirror: y
  axle: {kind: rod, stock: dowel, from: [0, -100, 50], to: [0, 100, 50]}
  wheel:
    kind: plate
    stock: board
    outline: {circle: {radius: 45}, minus: [{circle: {radius: 5.2}}]}
    layers: 2
    at: {origin: [0, 72, 50], normal: y, up: z}
    mirror: y
figure:
  name: doll
  solids:
    - box: {centre: [0, 0, 108], size: [60, 60, 70]}
"""
)


@pytest.fixture(scope="module")
def steps(tmp_path_factory):
    path = tmp_path_factory.mktemp("trolley") / "trolley.yaml"
    path.write_text(DESIGN, encoding="utf-8")
    return Stages(Request(load(path))).record("steps")


def text(steps):
    return " ".join(line for step in steps for line in step.instructions)


def test_an_axle_goes_through_its_bearings_and_stands_out(steps):
    """From y = -100 to 100, bearings from 60 to 70 on both sides."""
    assert re.search(
        r"Push the axle \(\w\) through the holes of the 2 bearings .* It stands 30 mm out at both ends", text(steps)
    )


def test_wheels_sit_where_the_axle_stands_out_of_them(steps):
    """Wheels from 72 to 92, the axle to 100. There are two of them."""
    assert re.search(r"each as far as its place, and glue them there\. Each sits where 8 mm of the axle", text(steps))


def test_tacky_cement_is_not_pushed_into_a_hole(steps):
    """Contact cement grips at the first touch (common practice, no source), so that in a hole it is used wet. A step with the axle
    and the wheels says so once."""
    found = [step for step in steps if re.search("through the holes of|on to the axle", " ".join(step.instructions))]
    assert found and all(" ".join(step.instructions).count("push it home while it is wet") == 1 for step in found)


def test_layers_with_a_hole_are_lined_up_by_the_bar(steps):
    assert re.search(r"So that the holes of the 2 wheels \(\w\) lie on each other, push a straight bar", text(steps))


def test_edges_that_must_be_flush_are_told(steps):
    """The step is 10 mm thick from z = 60, as the bottom of the body that it goes on is."""
    assert re.search(r"Check: the step \(\w\) is flush with the bottom \(\w\) of the body on both faces", text(steps))


def test_a_line_beside_a_joint_is_no_joint_of_its_own(steps):
    """The upper corner of the step runs along the foot of the back, and is held by the bottom just below."""
    assert "meet only along a line" not in text(steps)


def test_a_figure_is_put_in_before_it_is_closed_in(steps):
    """60 x 60 x 70 mm in a box that the lid closes: it has no way out after that, and is no more to be tried."""
    found = [step for step in steps if any("doll" in line for line in step.instructions)]
    assert len(found) == 1 and "lid" in found[0].parts
    (line,) = [line for line in found[0].instructions if "doll" in line]
    assert line.startswith("This step closes the doll in.")


def test_parts_are_dealt_out_evenly():
    """Seven parts of one kind of work are four and three, and not six and one by itself; six are one step."""

    def sizes(parts):
        run = [SimpleNamespace(parts=(f"part_{i}",), moves=()) for i in range(parts)]
        return [len(batch) for batch in batches._dealt(run, set())]

    assert sizes(6) == [6] and sizes(7) == [3, 4] and sizes(13) == [4, 4, 5]


def test_no_paper_is_laid_into_a_hole(steps):
    """Paper between faces that slide does not go round a bar in its hole."""
    step = next(step for step in steps if any("through the holes of" in line for line in step.instructions))
    assert "slip-paper" not in step.uses

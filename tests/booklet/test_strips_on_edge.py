"""A bent strip that stands on its edge along a plate: bent by the plate's own curve, and set on with a V in its middle. Lengths in
mm; the lengths of a slot's outline and of its halves by the formula of the circle."""

import pickle

import numpy as np
import pytest
from small_designs import head

from foamwright import Request, Stages, load
from foamwright.booklet.words.free_bands import on_edge
from foamwright.templates.laid import laid
from foamwright.templates.marks import marks

DRUM = (
    head("Drum", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [2000 mm, 2000 mm]}
parts:
  back:
    kind: plate
    stock: shell
    outline: &body {slot: {length: 300 * scale, width: 120 * scale}}
    at: {origin: [0, 0, 0], normal: -z, up: y}
  side:
    kind: band
    stock: shell
    along: {outline: *body, at: {origin: [0, 0, 0], normal: z, up: y}}
    SPAN
    laid: inside
    from: 0 mm
    to: 30 mm
"""
)
BENT = DRUM.replace("SPAN", "span: {angles: [-70, 250]}")


def stages_of(folder, scale=1.0, text=BENT):
    path = folder / "drum.yaml"
    path.write_text(text, encoding="utf-8")
    return Stages(Request(load(path, None, {"scale": scale})))


def lines_of(stages):
    return [line for step in stages.record("steps") for line in step.instructions]


def vs_of(stages):
    contacts, patterns = stages.record("contacts"), stages.patterns

    def marks_on(pattern):
        return marks(patterns, pattern, contacts)

    return laid(patterns, patterns.pattern("side"), contacts, marks_on)


@pytest.mark.parametrize("scale", [0.5, 1.0, 3.0])
def test_the_v_of_both_stands_in_the_middle_of_the_strip(tmp_path, scale):
    """The middle of the strip is at 90 degrees, on the long straight leg of the slot; the line there is the strip's inside."""
    stages = stages_of(tmp_path, scale)
    patterns, found = stages.patterns, vs_of(stages)
    (own,), ((part, _, there),) = found.own, found.others
    assert part == "back"
    strip, back = patterns.pattern("side"), patterns.pattern("back")
    assert own.at[0] == pytest.approx((strip.outline[:, 0].min() + strip.outline[:, 0].max()) / 2, abs=0.1)
    place = back.frame.to_space(np.array([[*there.at, 0.0]]))[0]
    assert place[:2] == pytest.approx((0.0, 60 * scale - 6.0), abs=0.2)
    assert abs(back.frame.to_space(np.array([[*(there.at + there.tip), 0.0]]))[0][1] - place[1]) == pytest.approx(1.0)


def test_it_is_bent_by_the_plate_it_stands_on_and_not_as_one_that_stands_free(tmp_path):
    lines = lines_of(stages_of(tmp_path))
    assert sum("stands on its edge along a curve of the back (A)" in line for line in lines) == 1
    assert sum("with the V in its middle on the V of the line" in line for line in lines) == 1
    assert sum("A V beside a placement line" in line for line in lines) == 1
    assert not any("stands free" in line or "Lay the middle" in line for line in lines)


def test_what_another_process_has_read_back_is_found_as_well(tmp_path):
    stages = stages_of(tmp_path)
    bodies, patterns = stages.record("bodies"), stages.patterns.patterns
    for read in (bodies, pickle.loads(pickle.dumps(bodies))):
        ((strip, plates),) = on_edge(patterns, read)
        assert (strip.id, [plate.id for plate in plates]) == ("side", ["back"])


def test_two_halves_that_meet_on_the_mirror_plane_are_told_of_as_well(tmp_path):
    halves = DRUM.replace("SPAN", "span: {angles: [90, 270]}\n    mirror: x")
    assert any("stand on" in line or "stands on" in line for line in lines_of(stages_of(tmp_path, text=halves)))


def test_a_straight_strip_has_no_v(tmp_path):
    straight = DRUM.replace("SPAN", "span: {points: [[60 * scale, 60 * scale], [-60 * scale, 60 * scale]]}")
    lines = lines_of(stages_of(tmp_path, text=straight))
    assert not any("A V beside" in line or "with the V" in line or "stands on its edge" in line for line in lines)


def test_a_note_that_tells_where_to_begin_is_not_contradicted(tmp_path):
    noted = BENT + "steps:\n  - {title: Set on the wall, parts: [side], note: Begin at the foot.}\n"
    lines = lines_of(stages_of(tmp_path, text=noted))
    (told,) = [line for line in lines if "comes on the V of the line" in line]
    assert "begin there, unless the note above tells you where" in told
    assert not any("with the V in its middle on the V of the line" in line for line in lines)


@pytest.mark.parametrize(("foam", "hand"), [(6, "mirror: x"), (2, "mirror: x"), (2, "")])
def test_each_copy_has_a_v_on_the_plate_and_so_has_thin_foam_at_its_rim(tmp_path, foam, hand):
    """A strip of 2 mm at the rim of a plate leaves a line 2 mm from that, and the V beside it has all of the plate."""
    text = DRUM.replace("SPAN", f"span: {{angles: [100, 260]}}\n    {hand}").replace(
        "thickness: 6 mm", f"thickness: {foam} mm"
    )
    stages = stages_of(tmp_path, text=text)
    found, back = vs_of(stages), stages.patterns.pattern("back")
    assert len(found.own) == 1 and len(found.others) == (2 if hand else 1)
    places = np.array([back.frame.to_space(np.array([[*meet.at, 0.0]]))[0] for _, _, meet in found.others])
    # the middle of half the slot's outline is the end of its length
    assert np.abs(places[:, :2]) == pytest.approx(np.array([(150.0 - foam, 0.0)] * len(places)), abs=0.5)

"""A V at a part that is laid on another, and one on the other: where both come to lie, and which parts have them.

That a laid part is set by notches that meet is common practice of pattern cutting, no source; the places are those of the design.
"""

import numpy as np
import pytest
import shapely

from foamwright import Request, Stages, load
from foamwright.drawing.primitives import Path
from foamwright.drawing.style import STYLES
from foamwright.templates.edges import notch
from foamwright.templates.records import LAID

DESIGN = """\
format: 1
name: Laid
version: 1.0.0
licence: CC0-1.0
parameters: {scale: {value: SCALE}, clearance: {value: 0 mm}, s: {value: scale}}
sizes: {one: {}}
stock:
  foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [3000, 6000]}
  thin: {name: Foam 2 mm, thickness: 2 mm, sheet: [3000, 6000]}
parts:
  base: {kind: plate, stock: foam, outline: {rectangle: {width: 200 * s, height: 120 * s}}, at: {origin: [0, 0, -6], normal: z, up: y}}
"""
BOW = "{path: {from: [-60 * s, 0], steps: [{to: [60 * s, 0], through: [0, -2.5 * s]}, [60 * s, 12 * s], {to: [-60 * s, 12 * s], through: [0, 10.5 * s]}]}}"
ON = "at: {origin: [0, 0, 0], normal: z, up: y}"


def notches(folder, parts, scale=1):
    """By part the Vs on its template: (where it opens, its tip), in space, the height left out; with their layers."""
    path = folder / "laid.yaml"
    path.write_text(DESIGN.replace("SCALE", str(scale)) + parts, "utf-8")
    stages = Stages(Request(load(path)))
    found = {}
    for template in stages.record("templates"):
        pattern = template.pattern
        for item in template.drawing.items:
            if isinstance(item, Path) and not item.closed and len(item.points) == 3 and "touch" not in item.layer:
                flat = np.column_stack([item.points, np.zeros(3)])
                place = pattern.frame.to_space(flat)[:, :2]
                found.setdefault(pattern.piece.id, []).append(((place[0] + place[2]) / 2, place[1], item.layer))
    return found


@pytest.mark.parametrize("scale", [0.4, 1, 6])
def test_a_strip_that_reaches_beyond_both_ends_is_set_by_a_v_on_both(tmp_path, scale):
    strip = "{rectangle: {width: 240 * s, height: 50 * s, centre: [10 * s, 45 * s]}}"
    found = notches(
        tmp_path, f"  strip: {{kind: plate, stock: thin, outline: {strip}, {ON}, lies_on: [base]}}\n", scale
    )
    ((here, own_tip, own_layer),), ((there, other_tip, layer),) = found["strip"], found["base"]
    assert np.allclose(here, there, atol=0.5) and np.allclose(here, (0, 20 * scale), atol=1.1)
    assert own_tip[1] > here[1] and other_tip[1] < there[1]  # each points into its own foam, off the other
    assert (own_layer, layer) == ("tick", "laid-other")


def test_a_bow_that_could_be_laid_upside_down_tells_which_edge_goes_where(tmp_path):
    found = notches(tmp_path, f"  bow: {{kind: plate, stock: thin, outline: {BOW}, {ON}, lies_on: [base]}}\n")
    ((here, *_),), ((there, tip, _),) = found["bow"], found["base"]
    assert np.allclose(here, there, atol=0.5) and abs(here[0]) < 1.5
    bow = shapely.LineString([here, tip])
    assert np.isclose(abs(tip[1] - there[1]), 3.0, atol=0.2) and bow.length > 2.5


def test_two_copies_of_a_bow_have_a_v_each_on_the_plate(tmp_path):
    repeat = "repeat: {count: 2, step: [0, 40 * s, 0]}"
    found = notches(tmp_path, f"  bow: {{kind: plate, stock: thin, outline: {BOW}, {ON}, lies_on: [base], {repeat}}}\n")
    assert len(found["bow"]) == 1 and len(found["base"]) == 2
    low, high = sorted(there[1] for there, *_ in found["base"])
    assert np.isclose(high - low, 40, atol=0.5)


def test_a_mirrored_bow_has_it_at_the_same_edge(tmp_path):
    at = "at: {origin: [0, 20 * s, 0], normal: z, up: y}"
    found = notches(
        tmp_path, f"  bow: {{kind: plate, stock: thin, outline: {BOW}, {at}, lies_on: [base], mirror: y}}\n"
    )
    places = sorted(there[1] for there, *_ in found["base"])
    assert len(places) == 2 and np.isclose(places[0], -places[1], atol=0.5)


@pytest.mark.parametrize(
    "part",
    [
        "kind: plate, outline: {rectangle: {width: 80 * s, height: 30 * s}}",
        "kind: disc, radius: 25 * s",
        "kind: plate, outline: {polygon: {points: [[0, 0], [60 * s, 0], [0, 30 * s]]}}",  # no eye takes it for itself turned
    ],
)
def test_what_lies_there_in_one_way_only_has_none(tmp_path, part):
    assert notches(tmp_path, f"  laid: {{{part}, stock: thin, {ON}, lies_on: [base]}}\n") == {}


def test_a_rectangle_with_something_off_its_middle_has_one(tmp_path):
    found = notches(
        tmp_path,
        f"  laid: {{kind: plate, outline: {{rectangle: {{width: 80 * s, height: 30 * s}}}}, stock: thin, {ON}, lies_on: [base]}}\n"
        "  knob: {kind: disc, radius: 8 * s, stock: thin, at: {origin: [20 * s, 0, 2], normal: z}, lies_on: [laid]}\n",
    )
    assert len(found["laid"]) == 1 and len(found["base"]) == 1


def test_a_v_is_drawn_by_whole_lines_whatever_line_it_stands_beside():
    """Of a V 3 mm deep dots of 0.25 mm every 1.75 mm leave specks (ISO 128-2: dots 0.5 widths, gaps 3); a full one looks like a
    blot on them."""
    at, along, tip = np.zeros(2), np.array([1.0, 0.0]), np.array([0.0, 1.0])
    for layer in ("tick", *LAID.values()):
        made = notch(at, along, tip, 1.5, layer)
        assert made.fill is None and not made.closed and not STYLES[layer].dashes

"""What is cut, what stands in the model and what the steps put in place: each copy once in each."""

import csv
import io
import sys
from collections import Counter
from pathlib import Path

import pytest

from foamwright.assembly.bodies import bodies_of
from foamwright.assembly.ways_in import Ways
from foamwright.booklet.words.order import order
from foamwright.contacts.find import find_contacts
from foamwright.contacts.solids import solids
from foamwright.model.build import build_model
from foamwright.outputs.cut_list import cut_list
from foamwright.parts import build_prop
from foamwright.section.build import section_and_flatten

sys.path.insert(0, str(Path(__file__).parents[1] / "parts"))
from flat_designs import design

FLOOR = "  floor: {kind: disc, stock: thick, radius: 180, at: {origin: [0, 0, -10], normal: z}}\n"
ROW = (
    "  block: {kind: plate, stock: thick, outline: {rectangle: {width: 35, height: 20}}, at: {normal: z}, "
    "lies_on: [floor], repeat: {along: {outline: {circle: {radius: 150}}, at: {normal: z}, count: 20}}}\n"
    "  gauge: {kind: spacer, stock: foam, of: block, length: 80}\n"
)
HANDED = (  # no mirror image of a right-angled triangle with unequal legs is a turned one
    "  fin: {kind: plate, stock: foam, outline: {polygon: {points: [[0, 0], [40, 0], [0, 25]]}}, "
    "at: {origin: [-20, 40, 0], normal: z}, lies_on: [floor], mirror: y}\n"
)
LAYERED = "  boss: {kind: disc, stock: foam, radius: 30, layers: 3, lies_on: [floor], at: {normal: z}}\n"
BOX = "  box: {kind: box, stock: foam, size: [60, 50, 40], at: {origin: [0, 0, 0], normal: z}}\n"
STRIPS = (
    "  edging: {kind: strip, stock: foam, length: 200, width: 25, count: 3}\n"
    "  rib: {kind: strip, stock: foam, length: 100, width: 20, count: 2, after: [floor]}\n"
)
ROD = "  post: {kind: rod, stock: thick, sides: 4, diameter: 10, made: bought, from: [60, 0, 0], to: [60, 0, 80]}\n"

PROPS = {
    "copies and a gauge": FLOOR + ROW,
    "mirrored copies": FLOOR + HANDED,
    "layers": FLOOR + LAYERED,
    "members of a box": FLOOR + BOX,
    "strips, one kind glued in and one not": FLOOR + STRIPS,
    "a bar that is listed only": FLOOR + ROD,
}


def made(tmp_path, text):
    prop = build_prop(design(tmp_path, text))
    model = build_model(prop)
    patterns = section_and_flatten(model)
    return model, patterns, order(prop, patterns, Ways(bodies_of(model, find_contacts(solids(model)))))


def disagreements(model, patterns, steps):
    """One line for each part that is cut, stands or goes in as often as it should not."""
    rows = {row["label"]: row for row in csv.DictReader(io.StringIO(cut_list(patterns).decode()))}
    standing = Counter(copy.piece.id for copy in model.copies)
    flipped = Counter(copy.piece.id for copy in model.copies if copy.prototype.mirrored)
    # a part with what rides on it is moved as one, after the riders went onto it at the bench
    fitted = Counter(copy for step in steps if step.places for move in step.moves for copy in move.copies)
    placed = Counter(part for step in steps for part in step.places)
    found = []
    for pattern in patterns.patterns:
        piece, row = pattern.piece, rows[pattern.piece.label]
        cut = int(row["quantity"])
        if cut != (standing[piece.id] + piece.loose) * piece.layers:
            found.append(f"{piece.id}: {cut} are cut and {standing[piece.id]} stand in {piece.layers} layers")
        mirrored = flipped[piece.id] * piece.layers if piece.cut_mirrored else 0  # its own mirror image is cut as drawn
        if int(row["mirrored"]) != mirrored:
            found.append(f"{piece.id}: {row['mirrored']} are cut mirrored and {flipped[piece.id]} stand so")
        if placed[piece.id] != (standing[piece.id] > 0):
            found.append(f"{piece.id}: {placed[piece.id]} steps put it in place")
        if not any(piece.id in step.parts for step in steps[:1]):
            found.append(f"{piece.id}: it is never cut")
        glued = sum(piece.id in step.parts for step in steps[1:] if step.glue)
        if not standing[piece.id] and glued != bool(piece.after):
            found.append(f"{piece.id}: {glued} steps glue it on")
    found += [
        f"{copy.piece.id} ({copy.number}): {fitted[number]} moves put it in place"
        for number, copy in enumerate(model.copies)
        if fitted[number] != 1
    ]
    return found


@pytest.mark.parametrize("text", PROPS.values(), ids=PROPS)
def test_each_copy_is_cut_stands_and_goes_in_once(tmp_path, text):
    model, patterns, steps = made(tmp_path, text)
    assert len(patterns.patterns) > 1
    assert disagreements(model, patterns, steps) == []


def test_a_copy_too_many_or_too_few_is_found(tmp_path):
    model, patterns, steps = made(tmp_path, FLOOR + HANDED)
    fitting = next(step for step in steps if "fin" in step.places)
    without = [step for step in steps if step is not fitting]
    assert any(line.startswith("fin (2): 0 moves") for line in disagreements(model, patterns, without))
    assert any(line.startswith("fin: 0 steps put") for line in disagreements(model, patterns, without))
    twice = [*steps, fitting]
    assert any(line.startswith("fin (1): 2 moves") for line in disagreements(model, patterns, twice))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["harbour-lantern"])
def test_each_copy_of_a_real_prop(stages_of, name):
    get = stages_of(name)._run.get
    assert disagreements(get("model"), get("patterns"), get("steps")) == []

"""What is said of painting insides, through stencils, and of what a pack holds: small props of our own."""

from types import SimpleNamespace

import pytest
from small_designs import head, stages_of_text

from foamwright.booklet.pages.cover import effort
from foamwright.booklet.pages.step_block import _Words
from foamwright.booklet.words import cutting, painting
from foamwright.booklet.words.order import _Bench

DRUM = (
    head("Drum")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  skin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [1000 mm, 600 mm]}
  card: {name: Card 0.5 mm, thickness: 0.5 mm, sheet: [210 mm, 297 mm], material_type: card}
forms:
  cone:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 170 * scale], [100 * scale, 70 * scale]]
    cuts: {eave: {plane: {normal: z, at: 10}}, crown: {plane: {normal: z, at: 80 * scale}}}
parts:
  base: {kind: disc, stock: thick, radius: 60, at: {normal: z}, paint: red}
  hoop: {kind: band, stock: skin, along: {outline: {circle: {radius: 60}}, at: {normal: z}}, from: 0, to: 10, laid: outside, paint: blue}
  cone: {kind: panel, stock: skin, form: cone, where: {eave: beyond, crown: before}, opened: 180, paint: ochre}
  star: {kind: mask, stock: card, paint: white, of: base, windows: [{circle: {radius: 10}}]}
"""
)


@pytest.fixture
def pieces(tmp_path):
    return {piece.id: piece for piece in stages_of_text(tmp_path, DRUM).record("prop").pieces}


def painted(pieces, **inside):
    _, passages = painting.paint([pieces["base"]], [pieces["star"]], False, (), (), (), 0, **inside)
    return [line for _, lines in passages for line in lines]


def test_the_inside_that_is_painted_alone_is_in_the_list_of_colours(pieces):
    """Whoever goes by that list forgets it otherwise; without a colour of its own there is nothing to tell."""
    letter = pieces["cone"].label
    lines = painted(pieces, open_inside=[pieces["cone"]])
    where = lines.index(f"The inside of {letter}: ochre, or a dark colour that you like.")
    assert where > next(i for i, line in enumerate(lines) if line.startswith("Base colours"))
    assert not any(line.startswith("The inside of") for line in painted(pieces))


def test_places_inside_are_carried_out_before_what_is_said_of_painting_over_them(pieces):
    cone = pieces["cone"]
    lines = painted(pieces, open_inside=[cone], lined_inside=[cone])
    first = next(i for i, line in enumerate(lines) if "draw a tick where it comes to the cut edge" in line)
    assert first < next(i for i, line in enumerate(lines) if line.startswith("Paint the inside of"))
    assert not any("draw a tick" in line for line in painted(pieces, open_inside=[cone]))


@pytest.mark.parametrize(
    "broad, glued, order, lined",
    [
        ((1.0, 0.0), True, ("rib", "roof"), True),
        ((1.0, 1.0), True, ("rib", "roof"), False),  # what lies flat on it covers its own lines
        ((0.0, 1.0), True, ("rib", "roof"), False),  # the lines are on the rib
        ((1.0, 0.0), False, ("rib", "roof"), False),
        ((1.0, 0.0), True, ("roof", "rib"), False),  # the rib goes in later, between lines that show
    ],
)
def test_what_is_set_on_edges_that_stand_has_lines_that_nobody_sees(broad, glued, order, lined):
    stages = [SimpleNamespace(parts=(part,)) for part in order]
    touches = {
        (0, 1): SimpleNamespace(glued=glued, broad=broad),
        (1, 0): SimpleNamespace(glued=glued, broad=broad[::-1]),
    }
    bodies = SimpleNamespace(pieces=[SimpleNamespace(id="roof"), SimpleNamespace(id="rib")], touches=touches)
    bench = SimpleNamespace(stages=stages, ways=SimpleNamespace(bodies=bodies))
    assert _Bench._is_lined(bench, "roof") is lined


def test_how_long_a_stencil_stays_is_told_as_the_schedule_has_it(pieces):
    """The step's drying time counts half an hour for each place (assembly/practice.py, WAIT_COATED)."""
    lines = painted(pieces)
    assert any("until the paint is dry: 30 minutes." in line for line in lines)
    assert any(line.startswith("Cut a stencil more than once") for line in lines)


def test_a_step_of_many_parts_names_the_stencil_that_it_needs(pieces):
    many = {f"p{n}": pieces["base"] for n in range(9)} | {"star": pieces["star"]}
    step = SimpleNamespace(parts=tuple(many), instructions=(), heads={}, uses=("paint",), bought=(), cautions=())
    bold = [text for text, is_bold in _Words(step, many, 100.0)._small if is_bold]
    assert bold == [f"{pieces['star'].label} {pieces['star'].name}"]
    step.uses = ("knife",)  # it is cut with all the others
    assert not any(is_bold for _, is_bold in _Words(step, many, 100.0)._small)


def test_a_hoop_counts_among_the_curved_pieces(tmp_path):
    stages = stages_of_text(tmp_path, DRUM.replace("  cone: {kind: panel", "  # {kind: panel"))
    _, reasons = effort(stages.record("prop"), stages.patterns)
    assert "1 curved piece" in reasons


@pytest.mark.parametrize("angle, told", [(44.0, False), (46.0, True)])
def test_a_steep_curved_edge_is_cut_upright(angle, told):
    ring = SimpleNamespace(
        bevel=(angle,),
        points=[(0.0, 0.0), (10.0, 10.0), (20.0, 0.0)],
        seam=None,
    )
    pattern = SimpleNamespace(edges=(ring,), drawn_face="inside", piece=SimpleNamespace(label="K", thickness=6.0))
    assert (cutting.curved_bevel(pattern) > cutting._STEEP) is told

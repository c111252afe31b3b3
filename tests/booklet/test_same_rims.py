"""Of two discs of one size that lie on each other neither shows a line of the other: their rims are the line."""

from small_designs import head

from foamwright import Request, Stages, load

DISCS = (
    head("Discs")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
  thin: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
parts:
  low: {kind: disc, stock: thick, radius: 50 mm * scale, at: {normal: z}}
  high: {kind: disc, stock: thin, radius: RADIUS mm, at: {origin: [0, 0, 10], normal: z}, lies_on: [low]}
"""
)


def told(tmp_path, radius):
    path = tmp_path / "discs.yaml"
    path.write_text(DISCS.replace("RADIUS", str(radius)), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    return " ".join(line for step in steps for line in step.instructions)


def test_discs_of_one_size_are_flush_all_round(tmp_path):
    assert "flat on the low (A), flush with the rim of A all round." in told(tmp_path, 50)


def test_of_others_a_line_tells(tmp_path):
    for radius in (47, 53):
        assert "flush with the rim" not in told(tmp_path, radius) and "inside the placement line" in told(
            tmp_path, radius
        )

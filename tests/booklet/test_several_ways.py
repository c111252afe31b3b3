"""Copies of one part that meet another each in a way of its own: a shelf below a post and one on top of it, a foot on a face and
one against an edge. What is said of one of them is false of the other."""

from small_designs import head

from foamwright import Request, Stages, load

HEAD = (
    head("Several ways")
    + """\
stock:
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [1000 mm, 600 mm]}
  thin: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}
parts:
"""
)
POST = """
  post:
    kind: plate
    stock: thick
    outline: {rectangle: {width: 200 mm * scale, height: 90 mm}}
    at: {origin: [0, -5, 45], normal: y, up: z}
"""
SHELVES = """
  shelf:
    kind: plate
    stock: thin
    outline: {rectangle: {width: 200 mm, height: 80 mm}}
    at: {origin: [0, 0, -6], normal: z, up: y}
    repeat: {count: 2, step: [0, 0, 96]}
"""
FINS = """
  fin:
    kind: plate
    stock: thin
    outline: {rectangle: {width: 40 mm, height: 60 mm}}
    at: {origin: [0, 25, 45], normal: x, up: z}
    repeat: {count: 2, step: [STEP, 0]}
"""


def told(tmp_path, text):
    path = tmp_path / "ways.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    return " ".join(line for step in steps for line in step.instructions if "Glue" in line)


def test_one_shelf_is_below_and_the_other_on_top(tmp_path):
    text = told(tmp_path, POST + SHELVES)
    assert "Glue shelf B 1 to the lower edge of the post (A)" in text
    assert "Glue shelf B 2 on the upper edge of the post (A)" in text
    assert "2 shelves (B) to" not in text


def test_copies_that_meet_alike_share_a_sentence(tmp_path):
    assert "Glue the edge of the 2 fins (B) to the post (A)" in told(tmp_path, POST + FINS.replace("STEP", "50, 0"))


def test_one_fin_stands_on_the_face_and_the_other_lies_against_the_edge(tmp_path):
    text = told(tmp_path, POST + FINS.replace("STEP", "100, -25"))
    assert "Glue the edge of fin B 1 to the post (A)" in text
    assert "Glue the face of fin B 2 to the edge of the post (A)" in text

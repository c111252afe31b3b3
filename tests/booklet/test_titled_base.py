"""A step that the design lists for a part which is only laid down to begin with: there is nothing to do in it."""

import pytest
from small_designs import head

from foamwright import Request, Stages, load

DESIGN = (
    head("Post", "0.5 mm")
    + """\
stock:
  shell: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
parts:
  board: {kind: plate, stock: shell, outline: {rectangle: {width: 200, height: 200}}, at: {normal: z}}
  block: {kind: plate, stock: shell, layers: 4, outline: {rectangle: {width: 80, height: 40}}, at: {origin: [0, 0, 6], normal: z}}
  button: {kind: disc, stock: shell, radius: 8, at: {origin: [0, 0, 30], normal: z}}
steps:
  - {title: Make the board, parts: [board]NOTE}
  - {title: Put up the post, parts: [block], note: "Press hard."}
"""
)


@pytest.mark.parametrize("note, own", [("", False), (', note: "Check that it is flat."', True)])
def test_it_goes_with_what_is_put_on_first_unless_the_design_has_a_word_on_it(tmp_path, note, own):
    path = tmp_path / "post.yaml"
    path.write_text(DESIGN.replace("NOTE", note), encoding="utf-8")
    steps = Stages(Request(load(path))).record("steps")
    titles = [step.title for step in steps]
    assert ("Make the board" in titles) is own
    (post,) = [step for step in steps if step.title == "Put up the post"]
    assert "Press hard." in post.instructions and ("board" in post.places) is not own

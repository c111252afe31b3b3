"""A lid that is glued up of several parts, rests on what is below and is stated to come after something: it is built by itself,
what is glued beneath it as well. Sizes are our own."""

from small_designs import head

from foamwright import Request, Stages, load

CASK = (
    head("Cask", "1 mm")
    + """\
stock: {thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [900 mm, 1200 mm]}}
forms:
  cask:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 90 * scale], [80 * scale, 90 * scale]]
    cuts: {foot: {plane: {normal: z}}, head: {plane: {normal: z, at: 80 * scale}}, half: {plane: {normal: y}}}
parts:
  base: {kind: disc, stock: thick, radius: 95 * scale, at: {origin: [0, 0, -10], normal: z}}
  wall: {kind: panel, stock: thick, form: cask, where: {foot: beyond, head: before, half: beyond}, mirror: y}
  shelf: {kind: plate, stock: thick, outline: {rectangle: {width: 40 * scale, height: 30 * scale}}, at: {normal: z}, after: [base]}
  cover:
    kind: prism
    sides: 6
    stock: thick
    width: 150 * scale
    top_width: 90 * scale
    height: 60 * scale
    floor: inside
    roof: open
    at: {origin: [0, 0, 80 * scale], normal: z}
    rests_on: [wall]
    after: [shelf]
  plug: {kind: disc, stock: thick, radius: 89.6 * scale, at: {origin: [0, 0, 80 * scale], normal: -z}, lies_on: [cover]}
"""
)


def test_what_is_glued_beneath_a_lid_is_glued_on_before_the_lid_is_set_down(tmp_path):
    (tmp_path / "cask.yaml").write_text(CASK, encoding="utf-8")
    steps = Stages(Request(load(tmp_path / "cask.yaml"))).record("steps")
    on = {part: step.number for step in steps for part in step.places}
    assert on["cover_side"] <= on["plug"]
    shut = [
        step.number
        for step in steps
        if any("cover_side" in str(s) or "built apart" in str(s) for s in step.instructions)
    ]
    assert shut and max(shut) > on["plug"]

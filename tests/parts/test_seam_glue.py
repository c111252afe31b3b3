"""The glue of a seam is that of its parts, and long chains of parts that shape each other are built."""

import pytest

from foamwright.design import load
from foamwright.parts import build_prop

BALL = """\
format: 1
name: Ball
version: 0.1.0
licence: CC0-1.0
parameters: {scale: {value: 1}, clearance: {value: 1}, radius: {value: 60 * scale}}
sizes: {only: {}}
stock: {foam: {name: Foam, thickness: 4, sheet: [1000, 1000], strain_limit: 0.5}}
forms:
  ball:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, radius], [80, radius]]
    cuts: {low: {plane: {normal: z, at: 10}}, high: {plane: {normal: z, at: 60}}, side: {plane: {normal: y}}}
parts:
  left: {kind: panel, stock: foam, form: ball, where: {low: beyond, high: before, side: beyond}, glue: LEFT}
  right: {kind: panel, stock: foam, form: ball, where: {low: beyond, high: before, side: before}, glue: RIGHT}
"""


def seams(tmp_path, left, right):
    path = tmp_path / "ball.yaml"
    path.write_text(BALL.replace("LEFT", left).replace("RIGHT", right), "utf-8")
    return build_prop(load(path)).seams


EXPECTED = {  # the rule as the reference states it: none if either says so, else contact where they differ
    ("contact", "contact"): "contact",
    ("instant", "instant"): "instant",
    ("contact", "instant"): "contact",
    ("none", "none"): "none",
    ("none", "contact"): "none",
    ("none", "instant"): "none",
}


@pytest.mark.parametrize("left, right", [*EXPECTED, ("instant", "contact")])
def test_glue_of_a_seam_is_that_of_its_parts(tmp_path, left, right):
    found = seams(tmp_path, left, right)
    assert len(found) == 2
    assert {seam.glue for seam in found} == {EXPECTED.get((left, right)) or EXPECTED[right, left]}


def test_mitred_seams_of_a_prism_have_its_glue(tmp_path):
    text = BALL[: BALL.index("parts:")].replace("radius: {value: 60 * scale}", "radius: {value: 60 * scale}")
    text += "parts:\n  post: {kind: prism, stock: foam, sides: 5, radius: radius, height: 90, glue: instant}\n"
    path = tmp_path / "post.yaml"
    path.write_text(text, "utf-8")
    found = build_prop(load(path)).seams
    assert found and {seam.glue for seam in found} == {"instant"}


def test_a_long_chain_of_fillers_written_backwards_is_built(tmp_path):
    many = 200
    text = BALL[: BALL.index("parts:")] + "parts:\n"
    for i in range(many):
        within = "within: {rectangle: {width: radius, height: 9}}"
        last = i == many - 1
        text += (
            f"  p{i}: {{kind: filler, stock: foam, plane: {{normal: z, at: {20 * i}}}, {within}, "
            f"parts: [{'end' if last else f'p{i + 1}'}]}}\n"
        )
    text += "  end: {kind: disc, stock: foam, radius: 5, at: {origin: [500, 0, 0], normal: z}}\n"
    path = tmp_path / "chain.yaml"
    path.write_text(text, "utf-8")
    prop = build_prop(load(path))
    assert [piece.id for piece in prop.pieces] == [*(f"p{i}" for i in range(many)), "end"]

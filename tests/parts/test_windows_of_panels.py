"""Windows with sharp corners in a conical panel: lengths of their edges and bevels against formulas of the cone."""

import numpy as np
import pytest
from space_designs import HEAD

from foamwright.design.load import load
from foamwright.errors import BuildError
from foamwright.parts import build_prop

# narrow tips, hollow corners, short legs beside long ones; corners in the plane (x, z), z from 100
DART = np.array([[-36.0, -6.0], [44.0, 0.0], [-36.0, 6.0]])  # 8.6 degrees at its tip
KITE = np.array([[7.0, 48.93], [-1.01, 46.17], [-31.0, 4.27], [10.94, -5.93]])
HOLLOW = np.array([[33.21, 33.38], [8.99, 43.47], [-10.65, 19.53], [-6.13, 9.8], [-40.06, 7.33], [-7.46, -18.13]])
SLOPE = 0.3  # of the cone, radius over height
NEUTRAL = 3.0
PANEL = """\
  wall: {kind: panel, stock: foam, form: bowl, where: {half: beyond, low: beyond, high: before, win: outside},
         flush: [low, high], mirror: y}
"""
FORM = """\
  bowl:
    kind: revolution
    axis: z
    profile: [[0, 120], [200, 60]]
    smooth: false
    cuts:
      half: {{plane: {{normal: y}}}}
      low: {{plane: {{normal: z, at: 10}}}}
      high: {{plane: {{normal: z, at: 190}}}}
      win: {{prism: {{outline: {outline}, along: y, centre: [0, 0, 100], above: 0}}}}
"""


def window(tmp_path, outline):
    path = tmp_path / "window.yaml"
    path.write_text(HEAD.replace("parts:\n", FORM.format(outline=outline) + "parts:\n") + PANEL, "utf-8")
    return [edge for edge in build_prop(load(path)).piece("wall").body.edges if edge.cut == "win"]


def on_neutral(x, z):
    """The neutral surface over a place of the view along y."""
    radius = 120 - SLOPE * z + NEUTRAL * np.sqrt(1 + SLOPE**2)
    return np.column_stack([x, np.sqrt(radius**2 - x**2), z])


def length_over(p, q):
    share = np.linspace(0.0, 1.0, 4001)[:, None]
    x, z = (p + share * (q - p)).T
    return np.linalg.norm(np.diff(on_neutral(x, z + 100), axis=0), axis=1).sum()


@pytest.mark.parametrize("corners", [DART, KITE, HOLLOW], ids=["dart", "kite", "hollow"])
def test_every_leg_of_a_window_is_an_edge_of_its_length(tmp_path, corners):
    edges = window(tmp_path, f"{{polygon: {{points: {corners.tolist()}}}}}")
    found = sorted(np.linalg.norm(np.diff(edge.points, axis=0), axis=1).sum() for edge in edges)
    expected = sorted(length_over(p, q) for p, q in zip(corners, np.roll(corners, -1, axis=0)))
    assert found == pytest.approx(expected, abs=0.02)


def test_the_bevel_around_a_round_hole_is_that_between_its_wall_and_the_surface(tmp_path):
    """The wall runs along y; the bevel is the angle between it and the normal, square to the edge (vectors)."""
    (edge,) = window(tmp_path, "{circle: {radius: 22}}")
    x, y, z = edge.points.T
    tilt = np.arctan(SLOPE)
    around = np.arctan2(x, y)
    normal = np.column_stack(
        [np.sin(around) * np.cos(tilt), np.cos(around) * np.cos(tilt), np.full(len(x), np.sin(tilt))]
    )
    way = np.gradient(edge.points, axis=0)
    way[[0, -1]] = edge.points[1] - edge.points[-2]
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    wall = np.array([0.0, 1.0, 0.0]) - way[:, 1:2] * way
    aside = np.cross(way, normal)
    expected = np.degrees(np.arctan2((wall * aside).sum(1), (wall * normal).sum(1)))
    assert np.abs(expected).max() > 18.0
    found = edge.slope  # degrees
    assert min(np.abs(found - expected).max(), np.abs(found + expected).max()) < 0.2
    # above the hole the surface falls back from the wall, below it the wall falls back from the surface
    assert found[z.argmax()] * found[z.argmin()] < 0


LINED = "  lip: {kind: band, stock: foam, along: {opening: {form: bowl, cut: win}}, proud: 4 mm, depth: 4 mm, laid: inside}\n"


@pytest.mark.parametrize(
    ("outline", "told"),
    [
        ("{circle: {radius: 8}, repeat: {count: 3, step: [25, 0]}}", "has 3 lines around; a band lines one"),
        ("{circle: {radius: 20}, minus: [{circle: {radius: 8}}]}", "panel wall: it falls into 2 pieces"),
        (
            "{rectangle: {width: 16, height: 16}, repeat: {count: 2, step: [16, 16]}}",
            r"pieces touch each other at \[8.00, 8.00\]",
        ),
    ],
)
def test_a_band_lines_a_single_line_and_pieces_stand_apart(tmp_path, outline, told):
    path = tmp_path / "window.yaml"
    path.write_text(HEAD.replace("parts:\n", FORM.format(outline=outline) + "parts:\n") + PANEL + LINED, "utf-8")
    with pytest.raises(BuildError, match=told):
        build_prop(load(path))


CLOTH = "  felt: {name: Felt, thickness: 1, sheet: [600, 600], material_type: cloth}\n"


def patch(tmp_path, stock, half, profile="[0, 60], [200, 60]", cuts="where: {win: inside}"):
    """The edges of a patch that is cut along y out of a form around z, `half` to either side."""
    form = FORM.format(outline=f"{{rectangle: {{width: {2 * half}, height: 30}}}}")
    form = form.replace("[0, 120], [200, 60]", profile)
    head = HEAD.replace("parts:\n", form + "parts:\n").replace("forms:\n", CLOTH + "forms:\n")
    path = tmp_path / "patch.yaml"
    path.write_text(head + f"  patch: {{kind: panel, stock: {stock}, form: bowl, {cuts}}}\n", "utf-8")
    return build_prop(load(path)).piece("patch").body.edges


@pytest.mark.parametrize("stock, foam, half", [("skin", 2.0, 20.0), ("skin", 2.0, 12.0), ("foam", 6.0, 20.0)])
def test_what_leans_by_less_than_a_knife_follows_is_cut_square_in_its_middle(tmp_path, stock, foam, half):
    """A side at x in a tube of radius r leans by asin(x / r), and comes out t tan of that away: 0.41 mm of 2 mm at x = 12."""
    edges = patch(tmp_path, stock, half)
    neutral = 60.0 + foam / 2.0
    apart = foam * np.tan(np.arcsin(half / neutral))
    sides = [edge for edge in edges if np.ptp(edge.points[:, 2]) > 20.0]
    assert len(sides) == 2
    for edge in sides:
        assert np.abs(edge.points[:, 0]) == pytest.approx(half, abs=0.01)  # in its middle as wide as the design says
        if apart < 0.5:
            assert edge.bevel == (0.0,) and not edge.slope.any()
            assert np.abs(edge.outer[:, 0]) == pytest.approx(half * (60.0 + foam) / neutral, abs=0.01)
        else:
            assert np.abs(edge.outer[:, 0]) == pytest.approx(half, abs=0.01)
            assert np.abs(edge.bevel) == pytest.approx(np.degrees(np.arcsin(half / neutral)), abs=0.3)


@pytest.mark.parametrize(
    "more",
    [
        {"half": 42.0},
        {"half": 42.0, "profile": "[0, 120], [200, 60]", "cuts": "where: {win: inside, half: beyond}"},
        {
            "half": 42.0,
            "profile": "[0, 120], [200, 60]",
            "cuts": "where: {low: beyond, high: before, half: beyond}, flush: [low, high]",
        },
    ],
)
def test_cloth_is_cut_square_however_much_its_edge_leans(tmp_path, more):
    """Scissors cut square to the sheet: from face to face an edge goes along the normal there, of a tube and of a cone."""
    edges = patch(tmp_path, "felt", **more)
    assert len(edges) == 4
    for edge in edges:
        assert edge.bevel == (0.0,)
        assert edge.outer - edge.inner == pytest.approx(edge.normals, abs=1e-6)  # 1 mm thick

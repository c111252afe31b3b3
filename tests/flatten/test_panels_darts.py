"""Automatic darts on a panel like the flagship's: where the strain asks for them, and what a maker pins."""

import dataclasses
import math
import re
from functools import cache

import numpy as np
import pytest
from panel_designs import laid_flat, panel, plane, prop, stock
from shapely.geometry import LineString, Polygon

from foamwright.errors import BuildError
from foamwright.flatten.build import refused_alone
from foamwright.flatten.darts import Dart, _Search, chooser
from foamwright.flatten.mesh import PanelMesher
from foamwright.flatten.panels import flatten_panels, load
from foamwright.model.build import build_model
from foamwright.section.build import section_and_flatten

THICKNESS = 6.0


@pytest.fixture(scope="module")
def shell(tmp_path_factory):
    return bow(tmp_path_factory.mktemp("bow"), 1.0)


def bow(folder, scale):
    """The prop with one panel: the quarter of a bow, rounded both ways and the same above and below."""
    forms = {
        "bow": {
            "kind": "superellipsoid",
            "radii": [220 * scale, 120 * scale, 120 * scale],
            "axis": "x",
            "cuts": {
                name: plane(axis, at * scale)
                for name, axis, at in (("side", "y", 20), ("fore", "x", 60), ("nose", "x", 200))
            },
        }
    }
    parts = {"bow": panel("bow", {"side": "beyond", "fore": "beyond", "nose": "before"}, darts="auto")}
    return prop(folder, forms, parts, stock(THICKNESS))


def laid(shell, limit=None, **rules):
    """Its pattern with another limit or {"tension": ..., "compression": ...}, and other rules for darts."""
    limits = limit if isinstance(limit, dict) else {"tension": limit or 0.03, "compression": limit or 0.03}
    return _laid(shell, tuple(sorted(limits.items())), tuple(sorted(rules.items())))


@cache
def _laid(shell, limits, rules):
    piece = shell.pieces[0]
    limits = dict(limits)
    foam = dataclasses.replace(
        piece.stock,
        strain_limit=min(limits.values()),
        tension_limit=limits["tension"],
        compression_limit=limits["compression"],
    )
    body = dataclasses.replace(piece.body, automatic=dataclasses.replace(piece.body.automatic, **dict(rules)))
    piece = dataclasses.replace(piece, stock=foam, body=body)
    return section_and_flatten(build_model(dataclasses.replace(shell, pieces=(piece,)))).patterns[0]


def cut_length(pattern):
    return sum(sum(d.lengths) / 2 for d in pattern.darts)


def test_the_more_the_foam_forgives_the_less_is_cut(shell):
    strict, usual, soft = (laid(shell, limit) for limit in (0.02, 0.04, 0.08))
    assert len(strict.darts) >= len(usual.darts) >= len(soft.darts)
    assert len(strict.darts) > len(soft.darts)
    assert cut_length(strict) > cut_length(usual) > cut_length(soft)
    for pattern, limit in ((strict, 0.02), (usual, 0.04), (soft, 0.08)):
        assert pattern.strain.max <= limit


def test_a_panel_that_ends_over_its_limit_gets_darts_however_far_within_it_was_before(shell):
    """As where the strain that a search finds is much less than that of the panel in its place: it gives no darts until
    it is asked for 0.7 of the limit."""
    one = laid(shell, 0.5).strain
    foam = dataclasses.replace(
        shell.pieces[0].stock, strain_limit=one.max / 1.01, tension_limit=None, compression_limit=None
    )
    piece = dataclasses.replace(shell.pieces[0], stock=foam)
    search = chooser([piece])

    def darts_of(piece, mesher, share):
        return search(piece, mesher, share) if share < 0.7 else ()

    laid_flat = flatten_panels([piece], (), darts_of)["bow"]
    assert load(piece, laid_flat.mesh, laid_flat.flat) <= 1.0


def test_no_darts_where_none_are_needed(shell):
    bare = laid(shell, 0.5)
    assert bare.darts == ()
    # and the strain without them is what the others are spared
    assert bare.strain.max > 0.08


@pytest.mark.parametrize("edge", ["fore", "nose"])
def test_darts_start_only_where_the_maker_lets_them(shell, edge):
    only = laid(shell, 0.03, edges=(edge,))
    assert only.darts and {d.edge for d in only.darts} == {edge}
    without = laid(shell, 0.03, avoid=(edge,))
    assert without.darts and edge not in {d.edge for d in without.darts}


@pytest.mark.parametrize(
    "loads, tried",
    [
        ([1.5], 1),  # shallower darts leave more strain
        ([1.05, 1.5], 2),  # on a coarse mesh
        ([math.inf, 1.1, 1.1], 3),  # no room, or nearly enough
    ],
)
def test_a_row_of_darts_that_leaves_far_too_much_strain_is_not_tried_shallower(shell, loads, tried):
    piece = shell.pieces[0]
    search = _Search(piece, PanelMesher(piece.body, piece.body.inner_offset), frozenset(), 1.0, {})
    left, shares = list(loads), []

    def load_of(darts, triangles):
        shares.append(darts[0].reach)
        return left.pop(0)

    search.load_of = load_of
    assert search._least_share((Dart("fore", 0.5),), 0.8) is None
    assert shares == pytest.approx([0.8, 0.64, 0.48][:tried])


def test_more_darts_of_no_more_length_are_not_tried_where_fewer_leave_far_too_much(shell):
    piece = shell.pieces[0]
    search = _Search(piece, PanelMesher(piece.body, piece.body.inner_offset), frozenset(), 1.0, {})
    tried = []

    def load_of(darts, triangles):
        tried.append([dart.edge for dart in darts])
        return 0.5 if len(darts) == 1 and darts[0].reach > 0.7 else 2.0

    search.load_of = load_of
    one, two, three = ([Dart("fore", (i + 1) / (n + 1)) for i in range(n)] for n in (1, 2, 3))
    other = [dataclasses.replace(dart, edge="nose") for dart in three]
    search._cheapest([tuple(plan) for plan in (one, two, three, other)])
    assert ["fore"] * 2 in tried and ["fore"] * 3 not in tried
    assert ["nose"] * 3 in tried  # nothing is known of that edge


def test_count_and_places_are_kept(shell):
    assert len(laid(shell, 0.03, edges=("fore",), count=3).darts) == 3
    # one more than it takes is no mistake
    placed = laid(shell, 0.03, edges=("fore",), at=(0.3, 0.62))
    assert len(placed.darts) == 2
    edge = next(e for e in placed.edges if e.id == "fore")
    steps = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    steps[list(edge.mouths)] = 0.0
    reached = np.concatenate([[0.0], np.cumsum(steps)])
    # patterns are seen from the inside face, so shares count from the other end
    assert sorted(1 - reached[list(edge.mouths)] / edge.length) == pytest.approx([0.3, 0.62], abs=0.01)


def test_darts_of_a_symmetric_panel_are_symmetric(shell):
    pattern = laid(shell, 0.02)
    by_edge = {}
    for dart in pattern.darts:
        by_edge.setdefault(dart.edge, []).append(dart)
    assert max(len(darts) for darts in by_edge.values()) > 1
    for edge_id, darts in by_edge.items():
        edge = next(e for e in pattern.edges if e.id == edge_id)
        ends = edge.points[[0, -1]]
        tips = sorted((np.linalg.norm(d.leg_a[-1] - ends, axis=1) for d in darts), key=lambda d: d[0])
        for left, right in zip(tips, reversed(tips)):
            assert left == pytest.approx(right[::-1], abs=1.5)
        depths = [d.depth for d in sorted(darts, key=lambda d: np.linalg.norm(d.leg_a[0] - ends[0]))]
        assert depths == pytest.approx(depths[::-1], rel=0.02)


def test_a_dart_that_a_knife_takes_away_is_left_out(tmp_path):
    thin = 2.0
    form = {"kind": "superellipsoid", "radii": [220, 120, 120], "axis": "x"}
    form["cuts"] = {"side": plane("y", 20), "fore": plane("x", 60), "nose": plane("x", 200)}
    bow = panel("bow", {"side": "beyond", "fore": "beyond", "nose": "before"}, darts="auto")
    piece = prop(tmp_path, {"bow": form}, {"bow": bow}, stock(thin)).pieces[0]
    search = _Search(piece, PanelMesher(piece.body, piece.body.inner_offset + thin / 2), frozenset(), 1.0, {})
    found = search._confirmed(search._cheapest(search._rows()))
    assert search._worth_cutting(found) == found
    slit = Dart("fore", 0.1, 8.0 / LineString(search._course(Dart("fore", 0.1))).length)
    assert search.load_of((*found, slit), 1400) <= 1.0  # it fits, and does nothing
    assert search._worth_cutting((*found, slit)) == found
    assert search._worth_cutting((slit,)) == (slit,)  # of one that is alone the foam without it was tried first


def test_pulling_and_pressing_are_limited_apart(shell):
    pulled = laid(shell, {"tension": 0.02, "compression": 0.2}, edges=("fore", "nose"))
    assert pulled.strain.tension <= 0.02 < pulled.strain.compression
    pressed = laid(shell, {"tension": 0.2, "compression": 0.03}, edges=("fore", "nose"))
    assert pressed.strain.compression <= 0.03
    assert cut_length(pulled) < cut_length(pressed)


def test_darts_that_do_not_fit_in_a_panel_that_needs_none_are_to_be_left_out(shell):
    with pytest.raises(BuildError, match=r"do not fit in it, and it needs none: .* takes 20\.0 %; leave darts out$"):
        laid(shell, 0.2, count=40)


def test_what_cannot_be_met_is_refused_with_a_way_out(shell):
    with pytest.raises(BuildError) as caught:
        laid(shell, 0.001, edges=("nose",))
    message = str(caught.value)
    assert message.startswith("panel bow: strain ") and "\n" not in message
    assert "over the limit of 0.1 %" in message
    assert "split it in more than 8 strips" in message


def test_strips_hardly_wider_than_their_foam_is_thick_are_no_way_out(tmp_path):
    with pytest.raises(BuildError) as caught:
        laid(bow(tmp_path, 0.15), 0.001, edges=("nose",))
    message = str(caught.value)
    assert "split it" not in message
    assert message.endswith("(strain_limit, of warmed foam as well), or make the form rounder there")


WAIST = {
    "kind": "revolution",
    "axis": "z",
    "profile": [[0, 60], [50, 34], [100, 30], [150, 34], [200, 60]],
    "cuts": {"half": plane("y", 0), "low": plane("z", 10), "high": plane("z", 190)},
}


@pytest.mark.parametrize(
    "darts, words",
    [
        ("auto", "it curves like a saddle, where darts cannot help"),
        ([], "it curves like a saddle, where darts cannot help"),
        ([{"edge": "low", "at": 0.5, "depth": 40}], "the legs of its dart at low cross when it is laid flat"),
        ([{"edge": "half.1", "at": 0.5, "depth": 30}], "the legs of its dart at half.1 cross when it is laid flat"),
    ],
)
def test_a_saddle_is_told_that_darts_cannot_help(tmp_path, darts, words):
    where = {"half": "beyond", "low": "beyond", "high": "before"}
    with pytest.raises(BuildError, match=f"panel wall: .*{words}") as caught:
        laid_flat(tmp_path, {"stem": WAIST}, {"wall": panel("stem", where, laid="inside", darts=darts)})
    assert "\n" not in str(caught.value)


def test_the_split_that_is_proposed_builds(tmp_path):
    where = {"half": "beyond", "low": "beyond", "high": "before"}
    with pytest.raises(BuildError) as caught:
        laid_flat(tmp_path, {"stem": WAIST}, {"wall": panel("stem", where, laid="inside", darts="auto")})
    found = re.search(r"split it in \d+, for instance by the planes? normal: (.), at: (.*)$", str(caught.value))
    normal, places = found[1], [float(at) for at in found[2].split(", ")]
    cuts = {f"s{k}": plane(normal, at) for k, at in enumerate(places)}
    parts = {}
    for k in range(len(places) + 1):
        sides = {f"s{k - 1}": "beyond"} if k else {}
        sides |= {f"s{k}": "before"} if k < len(places) else {}
        parts[f"p{k}"] = panel("stem", {**where, **sides}, laid="inside")
    strips = laid_flat(tmp_path, {"stem": {**WAIST, "cuts": {**WAIST["cuts"], **cuts}}}, parts)
    assert all(p.strain.max <= 0.03 for p in strips.patterns)


def test_darts_keep_clear_of_a_hole_and_of_each_other(tmp_path):
    forms = {
        "bow": {
            "kind": "superellipsoid",
            "radii": [220, 120, 120],
            "axis": "x",
            "cuts": {
                "side": plane("y", 20),
                "fore": plane("x", 60),
                "nose": plane("x", 200),
                "port": {"prism": {"outline": {"circle": {"radius": 16}}, "along": "y", "centre": [110, 0, 0]}},
            },
        }
    }
    where = {"side": "beyond", "fore": "beyond", "nose": "before", "port": "outside"}
    found = prop(tmp_path, forms, {"bow": panel("bow", where, darts="auto")}, stock(THICKNESS, strain=0.02))
    pattern = section_and_flatten(build_model(found)).patterns[0]
    assert len(pattern.holes) == 1 and pattern.darts
    hole = Polygon(pattern.holes[0])
    lines = [LineString(np.vstack([d.leg_a[::-1], d.leg_b[1:]])) for d in pattern.darts]
    for i, line in enumerate(lines):
        assert line.distance(hole) > 2 * THICKNESS
        tip = pattern.darts[i].leg_a[-1]
        assert all(other.distance(LineString([tip, tip + 1e-6])) > 2 * THICKNESS for other in lines[:i])
    assert Polygon(pattern.outline, pattern.holes).is_valid
    assert math.isfinite(pattern.area)


def test_a_panel_too_small_for_darts_is_told_to_take_thinner_foam(tmp_path):
    """An eighth of a ball of 20 mm: no edge has room for a dart in 6 mm foam, though the design allows all."""
    ball = {
        "kind": "superellipsoid",
        "radii": [20, 20, 20],
        "cuts": {"x": plane("x"), "y": plane("y"), "z": plane("z")},
    }
    where = {"x": "beyond", "y": "beyond", "z": "beyond"}
    with pytest.raises(
        BuildError, match=r"panel cap: .* too small for darts, which need an edge of 46 mm in this foam"
    ):
        laid_flat(tmp_path, {"ball": ball}, {"cap": panel("ball", where, darts="auto")})


@pytest.mark.parametrize("radius, told", [(20, ["cap"]), (200, [])])
def test_a_first_look_tells_of_panels_in_which_no_dart_has_room(tmp_path, radius, told):
    """Of an eighth of a ball of 20 mm no edge has room for a dart; of one of 200 mm only a search can tell whether darts help."""
    ball = {
        "kind": "superellipsoid",
        "radii": [radius, radius, radius],
        "cuts": {"x": plane("x"), "y": plane("y"), "z": plane("z")},
    }
    where = {"x": "beyond", "y": "beyond", "z": "beyond"}
    found = prop(tmp_path, {"ball": ball}, {"cap": panel("ball", where, darts="auto")})
    assert [part for part, _ in refused_alone(found.pieces)] == told


def test_darts_beside_an_opening_leave_foam_between(tmp_path):
    """A quarter of a ball with a window: darts from the crown that passed it by a millimetre or two ended in it, on one face."""
    globe = {
        "kind": "superellipsoid",
        "radii": [122.4, 122.4, 122.4],
        "cuts": {
            "neck": plane("z", -78.395),
            "crown": plane("z", 107.712),
            "left": plane([-math.sqrt(0.5), math.sqrt(0.5), 0]),
            "right": plane([-math.sqrt(0.5), -math.sqrt(0.5), 0]),
            "window": {"prism": {"outline": {"circle": {"radius": 52}}, "along": "x", "centre": [0, 0, 4], "above": 0}},
        },
    }
    where = {"neck": "beyond", "crown": "before", "left": "before", "right": "before", "window": "outside"}
    parts = {"front": panel("globe", where, darts="auto", flush=["neck"])}
    (pattern,) = laid_flat(tmp_path, {"globe": globe}, parts, stock(THICKNESS, strain=0.06)).patterns
    (hole,) = (Polygon(hole) for hole in pattern.holes)
    assert pattern.darts
    for dart in pattern.darts:
        for leg in (dart.leg_a, dart.leg_b):
            assert LineString(leg).distance(hole) > THICKNESS

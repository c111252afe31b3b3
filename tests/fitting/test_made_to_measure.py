"""Props made to measures, against what can be worked out on paper."""

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh
import yaml

from foamwright.cli import main
from foamwright.errors import BuildError, DesignError
from foamwright.fitting.find import fitted
from foamwright.fitting.least import least
from foamwright.fitting.records import Wanted
from foamwright.fitting.size import entry, with_size
from foamwright.fitting.trial import TRUE_TO
from foamwright.stages import silent

STALL = """\
format: 1
name: Stall
version: 1.0.0
licence: CC0-1.0
parameters:
  scale: {value: 1, min: 0.5, max: 2}
  clearance: {value: 1 mm}
  across: {value: 120 mm, min: 60 mm, max: 300 mm, measure: Across the box.}
  high: {value: 100 mm, measure: Height of the box.}
  wide: {value: 70 mm, min: 40 mm, max: 150 mm, note: From the middle to each wall.}
  mouth: {value: 64 mm * scale, unit: mm, note: The same of the lintels.}
sizes: # of boxes
  box: {note: for a box}

  tall: # in lines of its own
    note: for a taller one
    set: {high: 130 mm}

# what it is made of
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
forms: {}
parts:
  right: {kind: plate, stock: foam, outline: {rectangle: {width: 120 mm * scale, height: 150 mm}}, at: {origin: [0, -wide * scale, 75 mm], normal: -y, up: z}}
  left: {kind: plate, stock: foam, outline: {rectangle: {width: 120 mm * scale, height: 150 mm}}, at: {origin: [0, wide * scale, 75 mm], normal: y, up: z}}
  beam_right: {kind: plate, stock: foam, outline: {rectangle: {width: 120 mm * scale, height: 20 mm}}, at: {origin: [0, -mouth, 160 mm], normal: -y, up: z}}
  beam_left: {kind: plate, stock: foam, outline: {rectangle: {width: 120 mm * scale, height: 20 mm}}, at: {origin: [0, mouth, 160 mm], normal: y, up: z}}
figure:
  name: box
  solids:
    - {box: {centre: [0, 0, 10 mm + high / 2], size: [40 mm, across, high]}}
  enters: {direction: -z}
stands: {}
"""


@pytest.fixture
def stall(tmp_path):
    path = tmp_path / "stall.yaml"
    path.write_text(STALL)
    return path


def test_the_least_of_a_sum_whose_product_is_bounded():
    """x + y with xy at least 1 is least at x = y = 1 (inequality of the means)."""
    best, tried = least(
        lambda v: (v.sum(), np.array([v[0] * v[1] - 1.0])), np.array([2.0, 1.5]), np.full(2, 0.1), np.full(2, 9.0)
    )
    assert best.allowed
    assert best.values == pytest.approx([1.0, 1.0], abs=0.02)
    assert best.cost == pytest.approx(2.0, abs=1e-3)
    assert tried < 120


def test_where_nothing_is_allowed_the_nearest_is_given():
    best, _ = least(lambda v: (v[0], v - 5.0), np.array([1.0]), np.array([0.5]), np.array([2.0]))
    assert not best.allowed
    assert best.values == pytest.approx([2.0])


ONE_VALUE = {  # cost and margin of a value, its start, what is best between 0.6 and 3, and how many points that may take
    "must grow": (lambda v: v**2, lambda v: 6.0 * v - 6.14, 1.0, 6.14 / 6.0, 4),
    "may shrink": (lambda v: v**2, lambda v: 6.0 * v - 4.5, 1.0, 0.75, 6),
    "curved": (lambda v: v**2, lambda v: 6.0 * v**3 - 7.0, 1.0, (7.0 / 6.0) ** (1 / 3), 5),
    "never barred": (lambda v: v**2, lambda v: 1.0, 1.0, 0.6, 5),
    "at its limit already": (lambda v: v**2, lambda v: 1.0, 0.6, 0.6, 2),
    "level and then not": (lambda v: v**2, lambda v: max(6.0 * v - 10.0, -0.8), 1.0, 10.0 / 6.0, 9),
    "cheaper as it grows": (lambda v: 1.0 / v, lambda v: min(6.0 * v - 7.0, 15.0 - 6.0 * v), 1.0, 2.5, 15),
    "only far off": (lambda v: v**2, lambda v: 1.0 if v < 1.0 else -10.0, 2.9, 0.6, 20),
    "a step": (lambda v: v**2, lambda v: 1.0 if v > 1.5 else -10.0, 1.0, 1.5, 16),
}


@pytest.mark.parametrize("name", ONE_VALUE)
def test_one_value_takes_few_trials(name):
    """Each trial places the whole prop, so that they are what a fit costs."""
    cost, margin, start, expected, most = ONE_VALUE[name]
    best, tried = least(
        lambda v: (cost(v[0]), np.array([margin(v[0]), 1.0])), np.array([start]), np.array([0.6]), np.array([3.0])
    )
    assert best.allowed
    assert best.values[0] == pytest.approx(expected, abs=3e-3)
    assert tried <= most


def test_the_gap_in_place_rules_where_the_figure_need_not_come_in(stall):
    """Half the box and the gap are 70 times scale."""
    stall.write_text(STALL.replace("  enters: {direction: -z}\n", ""))
    found = fitted(Wanted(stall, measures={"across": "15 cm"}, clearance=6.0), silent)
    assert found.values["across"] == 150.0
    assert found.values["scale"] == pytest.approx((75 + 6 + TRUE_TO) / 70, abs=2e-3)
    assert 6.0 <= found.after.gap < 6.5
    assert found.ruling[0].measure == "across"
    assert found.ruling[0].lost == pytest.approx(0.75, abs=0.1)  # a hundredth of half of it
    assert not found.limits


def test_the_way_in_is_kept(stall):
    """The lintels are nearer, 64 times scale: half of a box of 146 must pass them, though in its place it had room."""
    found = fitted(Wanted(stall, measures={"across": "146 mm"}, clearance=1.0), silent)
    assert found.after.passage >= 0.0
    assert found.values["scale"] == pytest.approx(73 / 64, abs=6e-3)  # a touch of 0.3 mm is no contact
    assert found.after.gap > 5.0


def test_two_parameters_give_way_at_the_least_foam(stall):
    """A smaller scale with walls further apart takes less foam than a larger scale: the walls get shorter."""
    stall.write_text(STALL.replace("  enters: {direction: -z}\n", ""))
    found = fitted(Wanted(stall, measures={"across": "14 cm"}, vary=("scale", "wide"), clearance=5.0), silent)
    assert found.after.gap == pytest.approx(5.0 + TRUE_TO, abs=0.3)
    assert found.values["wide"] == pytest.approx(150.0, abs=1.0)
    assert found.values["scale"] == pytest.approx((70 + 5 + TRUE_TO) / found.values["wide"], abs=3e-3)


def test_a_parameter_at_its_limit_is_named(stall):
    """The walls 150 from the middle, as far as the design lets them go, beside a box of 240 are 30 away."""
    stall.write_text(STALL.replace("  enters: {direction: -z}\n", ""))
    found = fitted(Wanted(stall, measures={"across": "24 cm"}, vary=("wide",), clearance=30 - 1.5 * TRUE_TO), silent)
    assert found.values["wide"] == pytest.approx(150.0, abs=0.2)
    assert found.limits == {"wide": "most"}


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("none.stl", "there is no such file"),
        ("empty.stl", "it is empty"),
        ("stall.yaml", "ends in '.yaml'"),
        (".", "folder"),
    ],
)
def test_a_scan_that_is_none_is_a_mistake_in_the_call(stall, capsys, name, told):
    stall.with_name("empty.stl").touch()
    scan = str(stall.parent / name)
    assert main(["fit", str(stall), "--figure", scan, "--no-pack"]) == 2
    line = capsys.readouterr().err
    assert f"--figure {scan}: " in line and told in line


def test_a_scan_takes_the_place_of_the_solids(stall, tmp_path):
    """A block of 60 x 110 mm that was scanned far from where it belongs."""
    stall.write_text(STALL.replace("  enters: {direction: -z}\n", ""))
    scan = tmp_path / "block.stl"
    block = trimesh.creation.box((60.0, 110.0, 80.0))
    block.apply_translation((300.0, -20.0, 7.0))
    block.export(scan)
    found = fitted(Wanted(stall, scan=scan, clearance=4.0), silent)
    assert found.values["scale"] == pytest.approx((55 + 4 + TRUE_TO) / 70, abs=0.015)  # scans are tried to 1 mm


def test_what_cannot_be_had_is_said_with_the_nearest(stall):
    with pytest.raises(
        BuildError, match=r"no scale within the limits .* nearest is scale 2, with [78]\d\.\d mm .* part beam_right"
    ):
        fitted(Wanted(stall, measures={"across": "12 cm"}, clearance=99.0), silent)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"measures": {"acros": "1"}}, "no measure of stall; expected one of across, high; did you mean across"),
        ({"vary": ("scal",)}, "--vary scal: unknown parameter.*did you mean scale"),
        ({"measures": {"across": "99 mm"}, "vary": ("across",)}, "measured already"),
        ({"seat": ("rigth",)}, "--seat rigth: unknown part.*did you mean right"),
        ({"vary": ()}, "expected one or more parameters"),
        ({"measures": {"across": "9 m"}}, "above its maximum"),
    ],
)
def test_a_wrong_call_is_one_line(stall, change, words):
    with pytest.raises(DesignError, match=words):
        fitted(Wanted(stall, clearance=5.0, **change), silent)


def test_a_size_is_added_and_nothing_else_changes():
    line = entry("mine", 'for "me"', {"scale": 1.25, "across": 150.0}, {"scale": "", "across": "mm"})
    told = with_size(STALL, "mine", line, "stall.yaml")
    assert told.replace(f"  {line}\n", "") == STALL
    sizes = yaml.safe_load(told)["sizes"]
    assert sizes["mine"] == {"note": 'for "me"', "set": {"scale": 1.25, "across": "150 mm"}}
    assert list(sizes) == ["box", "tall", "mine"]
    flow = STALL.replace("\n  tall:", "\n  other: {}\n  tall:")
    assert list(yaml.safe_load(with_size(flow, "mine", line, "stall.yaml"))["sizes"])[-1] == "mine"
    with pytest.raises(DesignError, match="a size tall already"):
        with_size(STALL, "tall", line, "stall.yaml")
    with pytest.raises(DesignError, match="by hand"):
        with_size("sizes: {box: {}}\n", "mine", line, "stall.yaml")
    with pytest.raises(DesignError, match="--name My Size"):
        entry("My Size", "", {}, {})


@pytest.mark.parametrize(
    "sizes",
    [
        "  a:\n    set:\n      scale: 2\n",
        "  a:\n    set:\n      scale: 2\n\n# what it is made of\n",
        "  a:\n    note: |\n      for one\n      or two\n",
        "  a:\n",
        "  a: {note: x,\n      set: {}} # for one\n\n  # more to come\n",
    ],
)
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_a_size_is_added_however_the_others_are_written(sizes, line_end):
    text = f"name: a\nsizes:\n{sizes}stock: {{}}\n".replace("\n", line_end)
    told = with_size(text, "mine", "mine: {set: {scale: 1.5}}", "a.yaml")
    assert told.replace(f"  mine: {{set: {{scale: 1.5}}}}{line_end}", "") == text
    was, now = yaml.safe_load(text), yaml.safe_load(told)
    assert now == was | {"sizes": was["sizes"] | {"mine": {"set": {"scale": 1.5}}}}


def test_the_command_lists_and_writes(stall, capsys):
    assert main(["fit", str(stall)]) == 0
    assert "across: 120 mm. Across the box." in capsys.readouterr().out
    assert main(["fit", str(stall), "--measure", "across=140mm", "--no-pack", "--name", "mine", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["clearance"]["asked"] == pytest.approx(10.0, abs=0.2)  # as the size has it
    size = yaml.safe_load(stall.read_text())["sizes"]["mine"]
    assert size["set"]["across"] == "140 mm"
    assert size["set"]["scale"] == told["values"]["scale"]


def test_what_was_found_is_told_where_no_pack_can_be_made_of_it(stall, capsys):
    stall.write_text(STALL.replace("[600 mm, 1200 mm]", "[100 mm, 140 mm]"), "utf-8")
    was = stall.read_bytes()
    assert main(["fit", str(stall), "--measure", "across=140mm", "--name", "mine"]) == 1
    (line,) = [line for line in capsys.readouterr().err.splitlines() if "no pack can be made" in line]
    assert "scale 1." in line and "(before 1)" in line
    assert stall.read_bytes() == was  # a size that cannot be built does not stay in the file


TRAY = """\
format: 1
name: Tray
version: 1.0.0
licence: CC0-1.0
language: de
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
  pins: {value: 90 mm, measure: Length of the box of pins.}
  long: {value: 120 mm, min: 60 mm, max: 300 mm}
sizes:
  desk: {note: for a desk}
stock:
  foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [300 mm, 400 mm]}
forms: {}
parts:
  floor: {kind: plate, stock: foam, outline: {rectangle: {width: 92 mm, height: long + 12 mm}}, at: {origin: [0, 0, 0], normal: z, up: x}}
  end: {kind: plate, stock: foam, outline: {rectangle: {width: 92 mm, height: 30 mm * scale}}, at: {origin: [long / 2, 0, 6 mm + 15 mm * scale], normal: x, up: z}, mirror: x}
figure:
  name: box of pins
  solids:
    - {box: {centre: [0, 0, 21 mm], size: [pins, 60 mm, 30 mm]}}
  enters: {direction: -z}
"""


def test_the_pack_leaves_the_room_that_was_asked_for(tmp_path, monkeypatch, capsys):
    """The box stands on the floor, which is its seat as it touches it; both ends are (long - pins) / 2 away, and so are the
    solids of the pack."""
    monkeypatch.chdir(tmp_path)
    Path("tray.yaml").write_text(TRAY)
    call = ["fit", "tray.yaml", "--measure", "pins=134mm", "--clearance", "3mm", "--vary", "long"]
    assert main([*call, "--no-pack", "--seat", "end"]) == 1
    assert "at part floor instead of 3.1 mm; if the figure rests on it: --seat floor" in capsys.readouterr().err
    assert main([*call, "--name", "mine", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["seat"] == ["floor"]
    assert told["values"]["long"] == pytest.approx(134 + 2 * (3 + TRUE_TO), abs=0.2)
    assert told["clearance"]["in_the_pack"] == pytest.approx((told["values"]["long"] - 134) / 2, abs=0.02)
    assert json.loads((Path(told["folder"]) / "pack.json").read_text())["design"]["parameters"]["pins"] == 134.0
    assert "gefertigt nach Maß: pins 134 mm" in Path("tray.yaml").read_text()

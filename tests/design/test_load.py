"""Designs as they load: values, defaults, sizes, fragments, files named in them, the digest."""

import hashlib
import json
import string
import subprocess
import sys
from itertools import product
from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator

from foamwright import cli, registry
from foamwright.design import check_all, load, sizes, starter
from foamwright.design.load import label
from foamwright.design.schema import applicable, schema
from foamwright.design.silent import silent_told
from foamwright.errors import DesignError

ROOT = Path(__file__).parents[2]
HEAD = """\
format: 1
name: Box
version: 1.0.0
licence: CC0-1.0
units: mm
parameters:
  scale: {value: 1}
  clearance: {value: 1 mm}
  turn: {value: 30 deg}
  ratio: {value: sin(turn)}
sizes: {one: {}}
stock:
  foam: {name: Foam, thickness: 6 mm, sheet: [600, 1200]}
forms: {}
parts:
"""
DISC = "  a: {kind: disc, stock: foam, radius: 50 mm * scale, at: {normal: z}}\n"


def write(folder, text, name="box.yaml"):
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return path


def part(folder, text, head=HEAD):
    return load(write(folder, head + DISC + text)).parts[1]


def test_schema_is_valid_and_explains_every_field():
    Draft202012Validator.check_schema(schema())
    tables = [schema(), *schema()["$defs"].values()]
    fields = [(key, field) for table in tables for key, field in table.get("properties", {}).items()]
    assert len(fields) > 100
    for key, field in fields:
        assert any(rule.get("description") for rule in applicable(field, None)), key


def test_every_reference_of_the_schema_leads_somewhere():
    text = json.dumps(schema())
    for reference in {part.split('"')[0] for part in text.split('"$ref": "')[1:]}:
        node = schema()
        for step in reference.removeprefix("#/").split("/"):
            node = node[step]


@pytest.mark.parametrize(
    "name", ["Table lamp", 'A "quoted": name # with {all}', "1.5", "no", "yes", "null", "Große Lampe", ""]
)
def test_starter_is_a_design(name, tmp_path):
    path = write(tmp_path, starter(name), "lamp.yaml")
    if not name:
        with pytest.raises(DesignError, match="name"):
            load(path)
        return
    assert [d.size for d in check_all(path)] == ["table", "floor"]
    assert load(path).name == name
    assert load(path).id == "lamp"


def test_starter_grows_but_its_foam_does_not(tmp_path):
    table, floor = check_all(write(tmp_path, starter("Lamp")))
    assert floor.parts[3].values["width"] == 2 * table.parts[3].values["width"] == 40
    assert floor.parts[2].values["radius"] - 6 == pytest.approx(2 * (table.parts[2].values["radius"] - 6))
    assert {s.thickness for s in table.stock.values()} == {s.thickness for s in floor.stock.values()} == {6, 10}


def test_parameters(tmp_path):
    by_name = {p.name: p for p in load(write(tmp_path, HEAD + DISC)).parameters}
    assert [(p.name, p.unit) for p in by_name.values()] == [
        ("scale", ""), ("clearance", "mm"), ("turn", "deg"), ("ratio", ""), ("foam_thickness", "mm")]  # fmt: skip
    assert by_name["ratio"].value == pytest.approx(0.5)
    assert by_name["foam_thickness"].value == 6


@pytest.mark.parametrize(
    ("old", "new", "idle"),
    [
        ("", "", {"turn", "ratio"}),
        ("radius: 50 mm * scale", "radius: 50 mm * scale * ratio", set()),
        ("clearance: {value: 1 mm}", "clearance: {value: 1 mm, max: 9 mm * ratio}", set()),
        ("sizes: {one: {}}", "sizes: {one: {}, two: {set: {clearance: sin(turn) * 2 mm}}}", {"ratio"}),
        ("thickness: 6 mm", "thickness: 6 mm * ratio", set()),
    ],
)
def test_a_parameter_that_changes_nothing_is_told_where_it_stands(tmp_path, old, new, idle):
    path = write(tmp_path, (HEAD + DISC).replace(old, new))
    lines = path.read_text("utf-8").splitlines()
    at = {name: next(i for i, line in enumerate(lines, 1) if line.startswith(f"  {name}:")) for name in idle}
    assert set(load(path).notes) == {f"{path}:{at[name]}:3: {name} is used by nothing" for name in idle}


def test_overrides_win_over_the_size_and_the_size_over_the_file(tmp_path):
    head = HEAD.replace("{one: {}}", "{one: {}, two: {set: {scale: 2, clearance: 1/8 in}}}")
    path = write(tmp_path, head + DISC)
    assert load(path).parts[0].values["radius"] == 50
    two = load(path, "two", {"scale": "1.5 * 2"})
    assert two.parts[0].values["radius"] == 150
    assert {p.name: p.value for p in two.parameters}["clearance"] == 3.175
    assert load(path, None, {"foam_thickness": "8 mm"}).stock["foam"].thickness == 8
    assert sizes(path) == ("one", "two")


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("EVA foam 6 mm", "EVA foam 8.5 mm"),
        ("EVA 6mm, sheet 16 mm", "EVA 8.5mm, sheet 16 mm"),
        ("Foam 0.6 mm", "Foam 0.6 mm"),
        ("Foam 6 in", "Foam 6 in"),
    ],
)
def test_the_name_of_a_stock_tells_the_thickness_it_has(tmp_path, name, told):
    path = write(tmp_path, HEAD.replace("name: Foam,", f"name: '{name}',") + DISC)
    assert load(path).stock["foam"].name == name
    assert load(path, None, {"foam_thickness": "8.5 mm"}).stock["foam"].name == told


def test_units_in_apply_to_bare_numbers_of_length_fields_only(tmp_path):
    head = HEAD.replace("units: mm", "units: in").replace("sheet: [600, 1200]", "sheet: [24, '4.8e1']")
    head = head.replace("thickness: 6 mm", "thickness: 0.25")
    text = "  b: {kind: plate, stock: foam, outline: {slot: {length: 2 in * 2 + 1 mm, width: 2, angle: 90}}, at: {normal: [0, 2, 0]}}\n"
    design = load(write(tmp_path, head + DISC + text))
    slot = design.parts[1].values["outline"]["slot"]
    assert slot == {"length": 102.6, "width": 50.8, "angle": 90, "centre": (0, 0)}
    assert design.stock["foam"].sheet == (609.6, 1219.2)
    assert design.stock["foam"].thickness == 6.35
    assert design.parts[1].values["at"]["normal"] == (0, 2, 0)


@pytest.mark.parametrize(("written", "inches"), [("1/8", 0.125), ("'1/8'", 0.125), ("1 1/8", 1.125), ("0.5", 0.5)])
def test_fractions_are_bare_numbers_too(written, inches, tmp_path):
    head = HEAD.replace("units: mm", "units: in").replace("[600, 1200]", "[24, 48]")
    text = f"  b: {{kind: ring, stock: foam, outer_radius: 9, inner_radius: {written}, at: {{normal: x}}}}\n"
    assert load(write(tmp_path, head + DISC + text)).parts[1].values["inner_radius"] == pytest.approx(25.4 * inches)


@pytest.mark.parametrize(
    ("length", "refused"),
    [
        ("4 + 1", True),
        ("2 * scale", True),
        ("2 in * scale", False),
        ("wide / 2", False),
        ("bare / 2", True),
        ("foam_thickness", False),
    ],
)
def test_sums_without_a_unit_are_refused_in_a_design_in_inches(length, refused, tmp_path):
    head = HEAD.replace("units: mm", "units: in").replace(
        "parameters:", "parameters:\n  wide: {value: 50 mm}\n  bare: {value: 50}"
    )
    text = f"  b: {{kind: ring, stock: foam, outer_radius: 9, inner_radius: '{length}', at: {{normal: x}}}}\n"
    if not refused:
        load(write(tmp_path, head.replace("[600, 1200]", "[24, 48]") + DISC + text))
        return
    with pytest.raises(
        DesignError, match=r"has no unit: it would be .* mm in a design in inches; expected a unit in it"
    ):
        load(write(tmp_path, head.replace("[600, 1200]", "[24, 48]") + DISC + text))


def test_defaults_are_filled_in(tmp_path):
    values = part(
        tmp_path, "  b_side: {kind: ring, stock: foam, outer_radius: 9, inner_radius: 3, at: {normal: x}}\n"
    ).values
    assert values == {
        "outer_radius": 9, "inner_radius": 3, "layers": 1, "note": "", "paint": "", "lies_on": (), "rests_on": (), "padding": 0.0,
        "after": (), "glue": "contact", "hangs_from": (),
        "engrave": (), "pins": (),
        "at": {"normal": "x", "origin": (0, 0, 0), "up": "z"}}  # fmt: skip


@pytest.mark.parametrize(
    ("normal", "up"), [("z", "x"), ("-z", "x"), ("x", "z"), ("[0, 0.1, 3]", "x"), ("[1, 0, 3]", "z")]
)
def test_up_left_out(normal, up, tmp_path):
    text = f"  b: {{kind: disc, stock: foam, radius: 1, at: {{normal: {normal}}}}}\n"
    assert part(tmp_path, text).values["at"]["up"] == up


def test_clearance_of_a_bulkhead_is_that_of_the_design(tmp_path):
    head = HEAD.replace("forms: {}", "forms: {ball: {kind: superellipsoid, radii: [9, 9, 9]}}")
    text = "  b: {kind: bulkhead, stock: foam, form: ball, plane: {normal: z}, layers: 1 + 1}\n"
    found = part(tmp_path, text, head)
    assert found.values["clearance"] == 1
    assert found.values["layers"] == 2 and isinstance(found.values["layers"], int)
    assert found.name == "B"


def test_darts_and_cuts(tmp_path):
    head = HEAD.replace(
        "forms: {}",
        "forms: {ball: {kind: superellipsoid, radii: [9, 9, 9], cuts: {half: {plane: {normal: z}},"
        " door: {prism: {outline: {circle: {radius: 3}}, along: x, above: 0}}}}}",
    )
    panel = "kind: panel, stock: foam, form: ball, where: {half: beyond, door: outside}"
    assert part(tmp_path, f"  b: {{{panel}}}\n", head).values["darts"] == ()
    assert part(tmp_path, f"  b: {{{panel}, darts: auto}}\n", head).values["darts"] == "auto"
    dart = part(tmp_path, f"  b: {{{panel}, darts: [{{edge: half.2, depth: 3}}]}}\n", head).values["darts"][0]
    assert dart == {"edge": "half.2", "at": 0.5, "depth": 3}
    design = load(tmp_path / "box.yaml")
    half, door = design.forms["ball"].cuts
    assert (half.kind, half.values) == ("plane", {"normal": "z", "at": 0})
    assert door.values == {"outline": {"circle": {"radius": 3, "centre": (0, 0)}, "plus": (), "minus": ()},
                           "along": "x", "above": 0, "centre": (0, 0, 0)}  # fmt: skip
    assert (half.where.line, half.where.column) == (14, 63)


def test_joins_overlaps_steps_and_figure(tmp_path):
    text = HEAD + DISC + DISC.replace("a:", "b:") + (
        "joins: [{parts: [a, b], glue: instant}]\noverlaps: [[a, b]]\nsteps: [{parts: [a], title: T}]\n"
        "figure: {name: cat, solids: [{box: {centre: [0, 0, scale], size: [1, 1, 1]}}]}\n"
    )  # fmt: skip
    design = load(write(tmp_path, text))
    assert design.joins == ({"parts": ("a", "b"), "glue": "instant"},)
    assert design.expected_overlaps == (("a", "b"),)
    assert design.steps == ({"parts": ("a",), "title": "T", "note": "", "uses": (), "when": "glued"},)
    assert design.figure["solids"][0]["box"]["centre"] == (0, 0, 1)


FIGURE = (
    "figure: {name: seated doll, solids: [{box: {centre: [0, 0, scale], size: [1, 1, 1]}}], enters: {direction: -z}}\n"
)


def test_a_size_names_another_figure_and_keeps_what_it_does_not_name(tmp_path):
    two = HEAD.replace("one: {}", "one: {}, cat: {set: {scale: 3}, figure: {name: standing cat}}, "
                       "dog: {figure: {solids: [{box: {centre: [0, 0, 2 * scale], size: [2, 2, 2]}}]}}")  # fmt: skip
    path = write(tmp_path, two + DISC + FIGURE)
    one, cat, dog = (load(path, size).figure for size in ("one", "cat", "dog"))
    assert (one["name"], cat["name"], dog["name"]) == ("seated doll", "standing cat", "seated doll")
    assert cat["solids"][0]["box"] == {"centre": (0, 0, 3), "size": (1, 1, 1)}
    assert dog["solids"][0]["box"] == {"centre": (0, 0, 2), "size": (2, 2, 2)}
    assert one["enters"] == cat["enters"] == dog["enters"] == {"direction": "-z"}


def test_a_size_cannot_change_a_figure_that_is_not_there(tmp_path):
    path = write(tmp_path, HEAD.replace("one: {}", "one: {figure: {name: cat}}") + DISC)
    with pytest.raises(DesignError, match=r"box.yaml:11:\d+: a size that changes the figure of a design without one"):
        load(path)


def test_plain_scalars_of_yaml_1_2(tmp_path):
    text = HEAD.replace("name: Box", "name: no").replace("units: mm", "author: 2024-01-01\nsummary: 1:30")
    design = load(write(tmp_path, text + DISC))
    assert (design.name, design.author, design.summary) == ("no", "2024-01-01", "1:30")


def test_labels_go_on_after_z():
    # counted by the standard library; L and R are left and right on the same pages, a V marks a place, I and O look like digits
    letters = sorted(set(string.ascii_uppercase) - set("LRIOV"))
    in_turn = ["".join(word) for n in (1, 2, 3) for word in product(letters, repeat=n)]
    assert [label(i) for i in range(21 + 21**2 + 21**3)] == in_turn
    assert in_turn[:9] == list("ABCDEFGHJ") and in_turn[21:23] == ["AA", "AB"]


# fragments

FRAGMENT = "format: 1\nparameters: {wall: {value: 4 mm, note: of the fragment}, ratio: {value: 9}}\nstock: {skin: {name: Skin, thickness: 2, sheet: [600, 600]}}\n"


def test_fragment_gives_what_the_design_has_not(tmp_path):
    write(tmp_path, FRAGMENT, "stock/foam.yaml")
    head = HEAD.replace("units: mm", "units: in\ninclude: [stock/foam.yaml]").replace("[600, 1200]", "[20, 40]")
    text = "  b: {kind: disc, stock: skin, radius: wall + skin_thickness, at: {normal: z}}\n"
    design = load(write(tmp_path, head + DISC + text))
    assert design.parts[1].values["radius"] == 6  # bare numbers of a fragment are mm, whatever the design's are
    assert {p.name: p.value for p in design.parameters}["ratio"] == pytest.approx(0.5)


def test_later_fragment_wins_and_nested_ones_follow(tmp_path):
    write(tmp_path, "format: 1\nparameters: {wall: {value: 1}, deep: {value: 1}}\n", "one.yaml")
    write(tmp_path, "format: 1\ninclude: [../deep.yaml]\nparameters: {wall: {value: 2}}\n", "in/two.yaml")
    write(tmp_path, "format: 1\nparameters: {wall: {value: 3}, deep: {value: 3}}\n", "deep.yaml")
    design = load(write(tmp_path, HEAD.replace("units: mm", "include: [one.yaml, in/two.yaml]") + DISC))
    values = {p.name: p.value for p in design.parameters}
    assert (values["wall"], values["deep"]) == (2, 3)


def refused(path, match):
    with pytest.raises(DesignError, match=match) as caught:
        load(path)
    return str(caught.value)


def test_mistake_in_a_fragment_points_into_it(tmp_path):
    write(tmp_path, FRAGMENT.replace("thickness: 2", "thikness: 2"), "stock/foam.yaml")
    path = write(tmp_path, HEAD.replace("units: mm", "include: [stock/foam.yaml]") + DISC)
    line = refused(path, "thikness")
    assert line.startswith(f"{tmp_path.as_posix()}/stock/foam.yaml:3:28: unknown key 'thikness'")
    write(tmp_path, FRAGMENT.replace("thickness: 2", "thickness: 2 *"), "stock/foam.yaml")
    assert refused(path, "cannot read").startswith(f"{tmp_path.as_posix()}/stock/foam.yaml:3:39: ")
    write(tmp_path, "format: 1\nparts: {}\n", "stock/foam.yaml")
    assert refused(path, "unknown key 'parts'").startswith(f"{tmp_path.as_posix()}/stock/foam.yaml:2:1: ")


def test_fragments_that_include_each_other(tmp_path):
    write(tmp_path, "format: 1\ninclude: [b.yaml]\n", "a.yaml")
    write(tmp_path, "format: 1\ninclude: [a.yaml]\n", "b.yaml")
    path = write(tmp_path, HEAD.replace("units: mm", "include: [a.yaml]") + DISC)
    assert "b.yaml:2:11: fragments include each other: a.yaml -> b.yaml -> a.yaml" in refused(path, None)


def test_fragment_outside_the_repository(tmp_path):
    inner = tmp_path / "project"
    write(tmp_path, FRAGMENT, "foam.yaml")
    head = HEAD.replace("units: mm", "include: [../foam.yaml]") + DISC
    path = write(inner, head, "designs/box.yaml")
    assert "box.yaml:5:11: fragment '../foam.yaml' lies outside the repository" in refused(path, None)
    (inner / ".git").mkdir()
    write(inner, FRAGMENT, "foam.yaml")
    assert load(path).name == "Box"  # inside the repository it may climb
    path = write(inner, head.replace("../foam", "../../foam"), "designs/box.yaml")
    refused(path, "outside the repository")
    path = write(inner, head.replace("../foam.yaml", (inner / "foam.yaml").as_posix()), "designs/box.yaml")
    refused(path, "outside the repository")
    (inner / "designs" / "link.yaml").symlink_to(tmp_path / "foam.yaml")
    path = write(inner, head.replace("../foam", "link"), "designs/box.yaml")
    refused(path, "outside the repository")


def test_fragment_that_is_not_there(tmp_path):
    write(tmp_path, FRAGMENT, "stock/foam.yaml")
    path = write(tmp_path, HEAD.replace("units: mm", "include: [stock/foan.yaml]") + DISC)
    assert "box.yaml:5:11: fragment 'stock/foan.yaml' cannot be read" in refused(path, "did you mean foam.yaml?")


def test_drawing_that_is_not_there(tmp_path):
    text = "  b: {kind: plate, stock: foam, outline: {svg: {file: fin.svg}}, at: {normal: z}}\n"
    path = write(tmp_path, HEAD + DISC + text)
    assert "box.yaml:17:55: file 'fin.svg' cannot be read" in refused(path, None)
    write(tmp_path, "<svg/>", "fin.svg")
    assert load(path).parts[1].values["outline"]["svg"] == {"file": "fin.svg", "scale": 1.0}


# the digest


def test_digest_changes_with_every_input_and_with_nothing_else(tmp_path):
    head = HEAD.replace("units: mm", "include: [foam.yaml]").replace("{one: {}}", "{one: {}, two: {}}")
    text = head + DISC + "  b: {kind: plate, stock: foam, outline: {svg: {file: fin.svg}}, at: {normal: z}}\n"
    seen = set()

    def digest(folder, *arguments, design=text, fragment=FRAGMENT, drawing="<svg/>"):
        write(folder, fragment, "foam.yaml")
        write(folder, drawing, "fin.svg")
        return load(write(folder, design), *arguments).digest

    first = digest(tmp_path / "a")
    assert len(first) == hashlib.sha256().digest_size * 2
    assert digest(tmp_path / "b") == first
    assert digest(tmp_path / "a", "one", {}) == first
    assert digest(tmp_path / "a", None, {"ratio": "25.4 mm"}) == digest(tmp_path / "a", None, {"ratio": 25.4})
    seen = {
        first,
        digest(tmp_path / "a", "two"),
        digest(tmp_path / "a", None, {"ratio": 2}),
        digest(tmp_path / "a", None, {"ratio": 3}),
        digest(tmp_path / "a", design=text + "# a remark\n"),
        digest(tmp_path / "a", fragment=FRAGMENT + "\n"),
        digest(tmp_path / "a", drawing="<svg />"),
    }
    assert len(seen) == 7


def test_digest_covers_the_package_that_gives_a_kind(tmp_path, monkeypatch):
    path = write(tmp_path, HEAD + DISC)
    plain = load(path).digest
    digests = {plain}
    for package in ("acme-kinds 1.0", "acme-kinds 1.1"):
        monkeypatch.setitem(registry._packages, "disc", package)
        digests.add(load(path).digest)
    assert len(digests) == 3
    monkeypatch.delitem(registry._packages, "disc")
    monkeypatch.setitem(registry._packages, "plate", "acme-kinds 1.0")  # not used by this design
    assert load(path).digest == plain


# what the project ships


def test_shared_stock_is_a_fragment():
    path = ROOT / "designs" / "stock" / "foam.yaml"
    fragment = yaml.safe_load(path.read_text("utf-8"))
    Draft202012Validator({"$ref": "#/$defs/fragment", "$defs": schema()["$defs"]}).validate(fragment)
    assert set(fragment["stock"]) == {"shell", "structure", "skin"}


def test_checking_a_design_imports_nothing_heavy(tmp_path):
    path = write(tmp_path, starter("Lamp"))
    code = (
        "import sys; from foamwright.design import check_all, load; load(sys.argv[1]); check_all(sys.argv[1]);"
        "print(sorted(m for m in sys.modules if m in"
        " ('numpy', 'scipy', 'shapely', 'cadquery', 'OCP', 'igl', 'reportlab', 'ezdxf', 'svgpathtools', 'cairosvg')))"
    )
    run = subprocess.run(
        [sys.executable, "-c", code, str(path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        env={"PYTHONPATH": str(ROOT / "generator")},
        check=True,
    )
    assert run.stdout.strip() == "[]"


def test_a_key_goes_by_the_name_that_it_had_before_and_a_note_names_the_new_one(tmp_path, capsys):
    old = HEAD.replace("sheet: [600, 1200]", "sheet: [600, 1200], sort: acrylic")
    old = old.replace("sizes: {one: {}}", "sizes: {one: {set: {clearance: ratio * 2 mm}}}")
    path = write(tmp_path, old + DISC)
    design = load(path)
    assert design.stock["foam"].material_type == "acrylic"
    line = next(i for i, text in enumerate(old.splitlines(), 1) if "sort" in text)
    column = old.splitlines()[line - 1].index("sort") + 1
    assert design.notes == (f"{path}:{line}:{column}: 'sort' is called 'material_type' now",)
    now = load(write(tmp_path, old.replace("sort:", "material_type:") + DISC, "now.yaml"))
    assert now.stock == design.stock and now.notes == ()
    assert cli.main(["check", str(path)]) == 0
    assert capsys.readouterr().err == f"foamwright: {design.notes[0]}\n"
    for wrong, words in (
        ("sort: foam, material_type: foam", "'sort' beside 'material_type', which is its name now"),
        ("sort: tin", "'tin' in stock.foam.sort; expected one of foam, cloth, card, paper, acrylic, plywood"),
        ("sot: foam", "unknown key 'sot' in stock.foam"),
    ):
        with pytest.raises(DesignError, match=words) as error:
            load(write(tmp_path, old.replace("sort: acrylic", wrong) + DISC))
        assert "mean sort" not in str(error.value)


def test_every_former_name_leads_to_a_key_that_there_is():
    tables = [schema(), *schema()["$defs"].values()]
    found = [
        (table, rule["renamed"])
        for table in tables
        for rule in table.get("properties", {}).values()
        if "renamed" in rule
    ]
    assert found
    assert all(now in table["properties"] and "renamed" not in table["properties"][now] for table, now in found)


def test_a_step_at_the_end_without_a_note_is_told(tmp_path):
    """No joint is made in it, so nothing but its note says what is done."""
    steps = "steps:\n  - {title: String it, parts: [a], when: cured}\n  - {title: Hang it up, parts: [a], when: cured, note: By its loop.}\n"
    (told,) = silent_told(load(write(tmp_path, HEAD + DISC + steps)))
    assert "'String it'" in told and "note" in told

"""Every kind of mistake in a design file: its message, and the line and column it points at.

Each case replaces a piece of the starting design; `@` in the new text marks where the message must point.
"""

import pytest

from foamwright.design import check_all, load, starter
from foamwright.errors import DesignError

TEXT = starter("Table lamp").replace("@", "at")
SHELL = "  shell: {name: EVA foam 6 mm, thickness: 6 mm,"


def message(tmp_path, text, *arguments):
    path = tmp_path / "lamp.yaml"
    at = text.find("@")
    path.write_text(text.replace("@", ""), "utf-8")
    with pytest.raises(DesignError) as caught:
        load(path, *arguments)
    line = str(caught.value)
    assert "\n" not in line
    assert line.startswith(path.as_posix() + ":")
    if at >= 0:
        place = f"{path.as_posix()}:{text.count(chr(10), 0, at) + 1}:{at - text.rfind(chr(10), 0, at)}"
        assert line.startswith(place + ": "), line
    return line.removeprefix(path.as_posix())


CASES = {
    # the schema
    "unknown key": ("    laid: outside", "    @lade: outside", "unknown key 'lade'", "did you mean laid?"),
    "misspelt kind": ("    kind: disc", "    @kin: disc", "unknown key 'kin' in parts.cap", "did you mean kind?"),
    "misspelt required key": (
        SHELL, "  shell: {name: EVA foam 6 mm, @thicknes: 6 mm,", "unknown key 'thicknes'", "did you mean thickness?"),
    "comma in a text": (SHELL, "  shell: {name: EVA foam 6 mm, @0.2 mm more or less, thickness: 6 mm,",
                        "unknown key '0.2 mm more or less'", "quotes around a text"),
    "comma in an expression": (SHELL, "  shell: {name: EVA foam 6 mm, thickness: max(4 mm, @6 mm),",
                               "unknown key '6 mm)' in stock.shell", 'quotes around a value', 'as in "max(a, b)"'),
    "unknown key at the top": ("summary:", "@sumary:", "unknown key 'sumary'", "did you mean summary?"),
    "missing key": ("  base:\n    kind: bulkhead", "  @base:\n    note: flat", "'kind' is missing in parts.base"),
    "missing key of a kind": ("    radius: crown_radius + shell_thickness", "    note: none",
                              "'radius' is missing in parts.cap", "expected radius"),
    "kind of part": ("kind: disc", "kind: @disk", "'disk' in parts.cap.kind", "did you mean disc?"),
    "kind of form": ("kind: revolution", "kind: @revolve", "'revolve'", "did you mean revolution?"),
    "word from a list": ("laid: outside", "laid: @outsid", "expected one of outside, inside", "did you mean outside?"),
    "type": ("version: 0.1.0", "version: @0.1", "0.1 in version", 'expected text such as "1.0.0"'),
    "type of a mapping": ("    plane: {normal: z, at: 0}", "    plane: @0", "expected a mapping"),
    "nothing where something must be": ("name: Table lamp", "name:@", "nothing in name", "expected text"),
    "pattern": ('colour: "#e8b23a"', "colour: @sunny", "'sunny' in stock.shell.colour", 'text such as "#e8b23a"'),
    "id": ("  middle:", "  @Middle:", "'Middle' is not an id"),
    "too few": ("origin: [0, 0, height]", "origin: @[0, height]", "a list of length 2", "exactly 3"),
    "called otherwise: a kind": ("kind: revolution", "kind: @sphere", "'sphere'", "did you mean superellipsoid?"),
    "called otherwise: a key": ("    stock: structure", "    @material: structure", "unknown key 'material'",
                                "did you mean stock?"),
    "called otherwise: copies": ("    mirror: y", "    @copies: 2\n    mirror: y", "'copies'", "did you mean repeat?"),
    "merge key": ("    kind: disc\n", "    @<<: {kind: disc}\n", "a merge key (<<)", "written out"),
    "remark within brackets": ('colour: "#e8b23a"', "colour: @#e8b23a", "the rest of the line is a remark", "quotes"),
    "two shapes": ("hoop: {form: dome", "opening: {form: dome, cut: foot}, hoop: {form: dome", "together",
                   "exactly one of opening, hoop, outline"),
    "no shape": ("- cylinder: {from: [0, 0, structure_thickness + 1 mm], to: [0, 0, height * 0.7], radius: radius * 0.3}",
                 "- @{}", "no ellipsoid or cylinder or box", "exactly one of"),
    "bound of a literal": ("width: band_width", "width: @-3", "-3 in parts.band.width", "at least 0.01"),
    "outline in the air": ("hoop: {form: dome, plane: {normal: z, at: band_width / 2}}", "@outline: {circle: {radius: 5}}",
                           "'outline' without 'at'"),
    "too many": ("origin: [0, 0, height]", "origin: @[0, 0, 0, height]", "a list of length 4", "exactly 3"),
    "no parts": ("parts: [shade], note: Glue", "parts: @[], note: Glue", "a list of length 0", "at least 1"),
    "format": ("format: 1", "format: @2", "2 in format", "expected 1"),
    "direction word": ("normal: z}\n    after", "normal: @zz}\n    after", "'zz'", "did you mean z?"),
    "named twice": ("after: [shade]\n  cap", "after: [shade, @shade]\n  cap", "'shade' stands twice"),
    # YAML
    "duplicate key": ("    laid: outside", "    laid: outside\n    @laid: inside", "'laid' stands twice"),
    "bracket": ("laid: outside\n", "laid: @[outside\n", "not YAML: the [ here is not closed"),
    "brace": ("table: {note: 18 cm across}", "table: @{note: 18 cm across", "the { here is not closed", "expected } at its end"),
    "no colon before a remark": ("kind: bulkhead", "@kind bulkhead", "a line without a colon", "expected key: value"),
    "two commas": ("[0, 0, height]", "[0, @, 0, height]", "a comma with nothing before it", "or one comma"),
    "a bracket that is lost": ("after: [base]", "after: @base]", "expected a list such as [base]"),
    "no edges": ("    where: {middle: beyond", "    # {middle: beyond", "has the cut 'foot', but the part does not end there"),
    "first line indented": ("format: 1\nname", " format: 1\n@name", "not in line with line", "none at the top"),
    "tab": ("    laid: outside", "@\tlaid: outside", "a tab before the first word", "expected spaces"),
    "hard space": ("    laid: outside", "@\u00a0   laid: outside", "the character U+00A0 before the first word"),
    "colon in a text": ("name: Table lamp", "name: Lamp@: small", "a second colon in one line", "quotes around a text"),
    "no colon": ("    laid: outside", "    @laid outside", "a line without a colon", "expected key: value"),
    "no space after the colon": ("    laid: outside", "    laid@:outside", "no space after a colon"),
    "deeper in": ("    over: [shade]", "      @over: [shade]", "deeper in than the line above, which has a value"),
    "deeper in behind a remark": ("    stock: shell\n    along", "      @stock: shell\n    along", "not in line with the keys"),
    "out of line": ("    laid: outside", "   @laid: outside", "not in line with the keys that begin in line"),
    "percent sign": ("name: Table lamp", "name: @%lamp", "a text that begins with %", "quotes around it"),
    "quotes left open": ("    laid: outside", '    laid: @"outside', "the quotes that open here do not close"),
    "second design": ("\nforms:", "\n@---\nforms:", "a second design in one file"),
    "text for a list": ("after: [base]", "after: @base", "expected a list such as [base]"),
    "text for a mapping": ("clearance: {value: 1 mm, min: 0 mm, max: 4 mm, note: Gap between the base and the wall around it}",
                           "clearance: @1 mm", "expected a mapping such as {value: 1 mm}"),
    "number for a point": ("origin: [0, 0, height]", "origin: @5", "expected a list of 3"),
    "key in capitals": ("kind: disc", "@Kind: disc", "unknown key 'Kind'", "did you mean kind?"),
    "unknown shape": ("- cylinder: {from", "- @cilinder: {from", "unknown key 'cilinder'", "did you mean cylinder?"),
    "tag": ("name: Table lamp", "name: @!!binary aGFsbG8=", "the tag"),
    "self-containing anchor": ("    over: [shade]", "    over: @&a [*a]", "an anchor that contains itself"),
    # arithmetic
    "comma in a number": ("width: band_width", "width: @2,5 mm", "a comma in a number", "a point, as in 2.5"),
    "comma in braces": ("{value: 90 mm * scale,", "{value: 90,@5 mm * scale,", "unknown key '5 mm * scale'", "a point"),
    "unit in capitals": ("width: band_width", "width: @20 MM", "'MM' in '20 MM' is no unit", "did you mean mm?"),
    "area": ("width: band_width", "width: @band_width * height", "is a product or power of lengths", "expected a length"),
    "power": ("width: band_width", "width: @band_width ** 0.84", "is a product or power of lengths", "expected a length"),
    "power of a length": ("height * 1.35", "@height - 2 ** radius", "takes a length and a product or power of lengths together"),
    "area in a parameter": ("{value: 90 mm * scale,", "{value: @90 mm * 2 mm, unit: mm,", "a product or power of lengths"),
    "sign of a power": ("width: band_width", "width: @band_width^2", "the sign ^", "expected ** for it"),
    "sign of times": ("width: band_width", "width: @2 × band_width", "the sign ×", "expected * for it"),
    "syntax": ("width: band_width", "width: @band_width +", "cannot read 'band_width +'", "1 1/8 in"),
    "unknown parameter": ("width: band_width", "width: @bandwidth", "unknown parameter 'bandwidth'",
                          "did you mean band_width?"),
    "unknown parameter in a parameter": ("value: radius * 0.69", "value: @radus * 0.69",
                                         "unknown parameter 'radus'", "did you mean radius?"),
    "unknown function": ("width: band_width", "width: @sqr(band_width)", "unknown function 'sqr'", "did you mean sqrt?"),
    "function without brackets": ("width: band_width", "width: @sqrt * 2", "'sqrt' lacks its brackets"),
    "unit without number": ("width: band_width", "width: @band_width * mm", "the unit 'mm' does not follow a number"),
    "division by zero": ("width: band_width", "width: @band_width / (scale - scale)", "divides by 0"),
    "no real answer": ("width: band_width", "width: @sqrt(-band_width)", "has no answer"),
    "complex": ("width: band_width", "width: @(0 - 2) ** 0.5", "no finite real answer"),
    "overflow": ("width: band_width", "width: @10.0 ** 1000", "has no answer"),
    "true or false": ("width: band_width", "width: @band_width > 2", "is true or false"),
    "more than arithmetic": ("width: band_width", "width: @band_width.real", "more than arithmetic"),
    "bound of a value": ("width: band_width", "width: @band_width - 1 m", "is -980 in parts.band.width", "at least 0.01"),
    "not whole": ("    after: [base]", "    after: [base]\n    repeat: {count: @1.5, step: [1, 0, 0]}", "a whole number"),
    "limits": ("clearance: {value: 1 mm", "clearance: {value: @5 mm", "clearance is 5 mm, above its maximum",
               "at most 4 mm"),
    "limit below": ("clearance: {value: 1 mm", "clearance: {value: @-1 mm", "below its minimum", "at least 0 mm"),
    "limits crossed": ("value: 1 mm, min: 0 mm", "value: @1 mm, min: 7 mm", "minimum of 7 mm above its maximum of 4 mm"),
    "reserved name": ("  band_width: {", "  pi: {value: 1}\n  band_width: {", "'pi' means something"),
    "reserved unit": ("  band_width: {", "  @m: {value: 1}\n  band_width: {", "'m' means something"),
    "reserved word": ("  band_width: {", "  @if: {value: 1}\n  band_width: {", "'if' means something"),
    "taken name": ("  band_width: {", "  @shell_thickness: {value: 1}\n  band_width: {", "is there already"),
    "thickness": (SHELL, "  shell: {name: EVA foam 6 mm, thickness: @6 mm - 10 mm,", "a thickness of -4 mm", "at least 0.05 mm"),
    "thickness that scales": (SHELL, "  shell: {name: EVA foam 6 mm, thickness: @6 mm * scale,",
                              "the thickness of 'shell' depends on scale"),
    "scale missing": ("  scale: {value: 1, min", "  @skale: {value: 1, min", "unknown key 'skale' in parameters", "did you mean scale?"),
    # ids
    "unknown stock": ("stock: structure\n", "stock: @structur\n", "unknown stock 'structur'",
                      "did you mean structure?"),
    "unknown form": ("along: {hoop: {form: dome", "along: {hoop: {form: @dom", "unknown form 'dom'", "did you mean dome?"),
    "unknown cut": ("where: {middle: beyond", "where: {@midle: beyond", "form 'dome' has no cut 'midle'",
                    "did you mean middle?"),
    "unknown part": ("    over: [shade]", "    over: [@shad]", "unknown part 'shad'", "did you mean shade?"),
    "unknown edge": ("{edge: crown, at: 1/3", "{edge: @crwn, at: 1/3", "unknown edge 'crwn'",
                     "did you mean crown?"),
    "cut that is not in where": (", crown: before}", "}", "form 'dome' has the cut 'crown', but the part does not end there",
                                 "expected 'crown' in the part's where as well, or one of its edges"),
    "unknown edge to avoid": (
        TEXT[TEXT.index("    darts:") : TEXT.index("    mirror:")],
        "    darts: {avoid: [foot.2, @crwn]}\n", "unknown edge 'crwn'", "did you mean crown?"),
    "unknown parameter of a size": ("set: {scale: 2}", "set: {@scala: 2}", "unknown parameter 'scala'",
                                    "did you mean scale?"),
    "unknown part of a step": ("parts: [shade], note: Glue", "parts: [@shades], note: Glue", "did you mean shade?"),
    "unknown supply where none is named": ("parts: [shade], note: Glue", "parts: [shade], uses: [@strap], note: Glue",
                                           "unknown supply 'strap'", "expected one under `supplies`, where there is none yet"),
    # sense
    "side of a plane": ("middle: beyond,", "middle: @inside,", "'inside' of a plane (middle)", "beyond or before"),
    "stations": ("      - [height / 2, radius * 0.93]", "      - [@-height / 2, radius * 0.93]", "station -60 after station 0"),
    "radius inside": ("      - [0, radius]", "      - [0, @0]", "0 here", "at least 0.01 (0 only at an end)"),
    "radius too small": ("      - [0, radius]", "      - [0, @1e-300]", "1e-300 here", "at least 0.01 (0 only at an end)"),
    "form cut by itself": ("middle: {plane: {normal: y}}", "middle: {form: {form: @dome}}", "cut by itself"),
    "order": ("    where: {middle", "    after: [base]\n    where: {middle", "parts wait for each other",
              "shade -> base -> shade"),
    "itself": ("    over: [shade]", "    over: [@band]", "part 'band' names itself in 'over'"),
    "no width": ("    width: band_width\n", "", "no width in parts.band", "width, or from and to"),
    "width twice": ("    width: band_width\n", "    @width: 2\n    from: 1\n    to: 3\n", "width together with from and to"),
    "half a range": ("    width: band_width\n", "    @from: 1\n", "'from' alone"),
    "empty range": ("    width: band_width\n", "    from: @3\n    to: 1\n", "from 3 to 1"),
    "proud of nothing": ("    width: band_width\n", "    width: 3\n    @proud: 1\n", "'proud' without an opening"),
    "up": ("normal: z}\n    after", "normal: z, up: @-z}\n    after", "up along the normal"),
    "no direction": ("normal: z}\n    after", "normal: @[0, 0, scale - scale]}\n    after", "a direction without length"),
    "overlap": ("steps:", "overlaps: [@[cap, cap]]\nsteps:", "paired with itself"),
    # habits of other programs; named colours and the other notations are those of CSS Color Module Level 4
    "colour by name": ('"#e8b23a"', "@orange", 'expected "#ffa500", in quotes'),
    "colour in three digits": ('"#e8b23a"', '@"#e8b"', 'expected "#ee88bb", in quotes'),
    "colour as a function": ('"#e8b23a"', '@"rgb(232, 178, 58)"', 'expected "#e8b23a", in quotes'),
    "spreadsheet's formula": ("120 mm * scale", "@=90 mm * scale", "begins with =", "nothing before the first value"),
    "shell's name": ("radius * 0.84", "@$radius * 0.84", "has signs around a name", "the name alone"),
    "about so much": ("120 mm * scale", "@~120 mm", "is about so much", "one value"),
    "degree sign": ("120 mm * scale", "@30°", "the sign °", "deg for it"),
    "remark without a space": ("value: 120 mm * scale", "value: @120 mm#old", "goes on in a remark", "a space before #"),
    "remark within braces": ("120 mm * scale", "120 mm @# old", "the rest of the line is a remark"),
    "nothing in words": ("after: [base]", "after: @none", "expected a list, [] for an empty one"),
    "fence": ("# A first", "@```yaml\n# A first", "a fence", "the lines between the fences alone"),
    "sizes in a list": ("sizes: # the first is what is built if none is asked for\n  table: {note: 18 cm across}\n  floor: {note: 36 cm across, set: {scale: 2}}",
                        "sizes:\n  @- table", "expected a mapping: before each of them its id and a colon, and no -"),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_mistake(name, tmp_path):
    old, new, *words = CASES[name]
    assert TEXT.count(old) >= 1, f"the starting design no longer holds {old!r}"
    line = message(tmp_path, TEXT.replace(old, new, 1))
    for word in words:
        assert word in line, line


def test_circle_of_parameters_is_printed(tmp_path):
    text = TEXT.replace("value: 90 mm * scale", "value: @height * 2").replace("120 mm * scale", "crown_radius")
    assert "parameters depend on each other: radius -> height -> crown_radius -> radius" in message(tmp_path, text)


def test_parameter_that_is_itself(tmp_path):
    assert "scale -> scale" in message(tmp_path, TEXT.replace("{value: 1,", "{value: @scale,"))


def test_first_mistake_in_the_file_is_shown(tmp_path):
    text = TEXT.replace("laid: outside", "lade: outside").replace("kind: revolution", "kind: @revolve")
    assert "revolve" in message(tmp_path, text)


@pytest.mark.parametrize("also", ["", "  unused: {value: scale * 2}\n"])
def test_scale_without_effect_is_told_and_another_scale_refused(tmp_path, also):
    """A first look at a prop of which the lengths are plain numbers so far is worth having; a pack of another size is not."""
    path = tmp_path / "lamp.yaml"
    path.write_text(TEXT.replace(" mm * scale", " mm").replace("  scale:", f"{also}  scale:"), "utf-8")
    note, *others = load(path).notes
    assert [other.split(": ")[1] for other in others] == (["unused is used by nothing"] if also else [])
    line = 1 + path.read_text("utf-8").splitlines().index(
        next(x for x in path.read_text("utf-8").splitlines() if "  scale:" in x)
    )
    assert note == f"{path}:{line}:3: scale has no effect: no form or part depends on it"
    with pytest.raises(DesignError, match=r"scale has no effect: .* caller sets it; expected lengths that are"):
        load(path, None, {"scale": 2})


def test_scale_fixed_by_the_caller_is_no_mistake(tmp_path):
    path = tmp_path / "lamp.yaml"
    path.write_text(TEXT, "utf-8")
    fixed = {"radius": 80, "height": 90, "band_width": 10}
    assert load(path, None, fixed).parts[3].values["width"] == 10


def test_overrides(tmp_path):
    assert "radus=50: unknown parameter 'radus'" in message(tmp_path, TEXT, None, {"radus": "50"})
    assert "did you mean radius?" in message(tmp_path, TEXT, None, {"radus": "50"})
    assert "scale=9: scale is 9, above its maximum" in message(tmp_path, TEXT, None, {"scale": 9})
    assert "scale=nine: unknown parameter 'nine'" in message(tmp_path, TEXT, None, {"scale": "nine"})
    assert "scale=2 +: cannot read '2 +'" in message(tmp_path, TEXT, None, {"scale": "2 +"})
    assert "parameters depend on each other: radius -> height -> radius" in message(
        tmp_path, TEXT, None, {"radius": "height", "height": "radius"}
    )


def test_a_thickness_from_outside_has_the_limits_of_one_in_the_file(tmp_path):
    for thickness in (1e300, 301, 0.01):
        assert "a thickness of" in message(tmp_path, TEXT, None, {"shell_thickness": thickness})


def test_unknown_size(tmp_path):
    line = message(tmp_path, TEXT, "flor")
    assert line == ": unknown size 'flor'; expected one of table, floor; did you mean floor?"


def test_mistake_at_one_size_only_is_found_by_check_all(tmp_path):
    path = tmp_path / "lamp.yaml"
    path.write_text(TEXT.replace("set: {scale: 2}", "set: {scale: 20}"), "utf-8")
    load(path)
    with pytest.raises(DesignError, match="scale is 20, above its maximum"):
        check_all(path)


def test_files_that_are_no_designs(tmp_path):
    path = tmp_path / "lamp.yaml"
    with pytest.raises(DesignError, match="cannot be read"):
        load(path)
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(DesignError, match="UTF-8"):
        load(path)
    for content, wrong in (("", "it says nothing"), ("- 1", "a list at the top"), ("text", "no keys at the top")):
        path.write_text(content)
        with pytest.raises(DesignError, match=f"lamp.yaml:1:1: {wrong}"):
            load(path)
    with pytest.raises(DesignError, match="cannot be read"):
        load(tmp_path)


def test_not_utf8_behind_a_byte_order_mark(tmp_path):
    """Found by fuzzing: the place was counted as if the mark were a part of the text, which ended in a traceback."""
    (tmp_path / "a.yaml").write_bytes(b"\xef\xbb\xbfformat: 1\nname: \xdcber\n")
    with pytest.raises(DesignError, match=r"a\.yaml:2:7: not UTF-8 text"):
        load(tmp_path / "a.yaml")


def test_aliases_that_grow_without_end(tmp_path):
    lines = ["a0: &a0 [1, 1, 1, 1, 1, 1, 1, 1, 1, 1]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 9)]
    assert "more than 20000 values" in message(tmp_path, "\n".join(lines))

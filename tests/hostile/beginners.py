"""What somebody writes and calls who has read no manual: habits of other programs, of the trade, and of a spreadsheet."""

from __future__ import annotations

from foamwright.design.starter import starter
from tests.hostile.trial import Place, Trial, folder, link

# what is replaced in the design that `foamwright new` writes, by what; an empty text stands for the whole file
REFUSED = {
    "parts in a list": ("  shade:\n    kind: panel", "  - shade:\n    kind: panel"), "parts in a list with ids": ("parts: # labelled A, B, C ... in this order\n  shade:", "parts:\n  - id: shade"),
    "parts: with nothing": ("  shade:\n", "# "), "parts: null": ("\nparts:", "\nparts: null\nmore:"), "part for parts": ("\nparts:", "\npart:"), "Parts": ("\nparts:", "\nParts:"),
    "form for forms": ("\nforms:", "\nform:"), "stocks": ("\nstock:", "\nstocks:"), "param": ("\nparameters:", "\nparams:"), "size for sizes": ("\nsizes:", "\nsize:"), "all in capitals": ("kind: disc", "KIND: DISC"), "DISC": ("kind: disc", "kind: DISC"),
    "equals": ("    stock: structure", "    stock = structure"), "semicolon": ("    kind: disc\n", "    kind: disc;\n"), "comma at the end": ("    kind: disc\n", "    kind: disc,\n"), "inline without braces": ("cap:\n    kind: disc", "cap: kind: disc"),
    "braces left open": ("at: {origin: [0, 0, height], normal: z}", "at: {origin: [0, 0, height], normal: z"), "list left open": ("[0, 0, height]", "[0, 0, height"), "round brackets": ("[0, 0, height]", "(0, 0, height)"), "two of three": ("[0, 0, height]", "[0, height]"), "four of three": ("[0, 0, height]", "[0, 0, height, 1]"),
    "named places": ("[0, 0, height]", "{x: 0, y: 0, z: height}"), "a text of places": ("[0, 0, height]", '"0, 0, height"'), "normal up": ("normal: z}\n    after: [shade]", "normal: up}\n    after: [shade]"), "normal as numbers in a text": ("normal: z}\n    after: [shade]", 'normal: "0 0 1"}\n    after: [shade]'),
    "missing dash": ("    - cylinder: {", "      cylinder: {"), "dash too many": ("    kind: disc", "    - kind: disc"), "dashes for a mapping": ("    kind: disc\n    stock: shell\n", "    - kind: disc\n    - stock: shell\n"),
    "after as a text": ("after: [shade]\n  cap", 'after: "shade, base"\n  cap'), "after a form": ("after: [shade]\n  cap", "after: [dome]\n  cap"), "after a step": ("after: [shade]\n  cap", "after: [1]\n  cap"), "after none": ("after: [shade]\n  cap", "after: none\n  cap"),
    "stock by its name": ("    stock: structure", "    stock: EVA foam 10 mm"), "thickness in a part": ("    radius: crown_radius", "    thickness: 6 mm\n    radius: crown_radius"), "quantity": ("    radius: crown_radius", "    quantity: 2\n    radius: crown_radius"),
    "diameter": ("    radius: crown_radius + shell_thickness", "    diameter: 100 mm"), "radius 6mm as a list": ("radius: crown_radius + shell_thickness", "radius: [6 mm]"), "dollar": ("crown_radius + shell_thickness", "${crown_radius}"), "braces for a name": ("crown_radius + shell_thickness", '"{crown_radius}"'),
    "percent sign": ("radius * 0.84", "84% of radius"), "a formula with =": ("radius * 0.84", "=radius*0.84"), "x for times": ("radius * 0.84", "radius x 0.84"), "division sign": ("height / 2, radius * 0.84", "height ÷ 2, radius * 0.84"), "minus of print": ("-height / 2", "−height / 2"), "dot for times": ("radius * 0.84", "radius·0.84"),
    "square": ("radius * 0.84", "radius²"), "half": ("120 mm * scale", "½ * scale"), "feet and inches apart": ("120 mm * scale", "5 foot 3"), "inch spelt": ("120 mm * scale", "5 inch"), "MM": ("120 mm * scale", "120 MM"), "mm without a number": ("120 mm * scale", "mm"), "a range": ("120 mm * scale", "100-120 mm"), "a range with dots": ("120 mm * scale", "100..120 mm"),
    "about": ("120 mm * scale", "~120 mm"), "circa": ("120 mm * scale", "ca. 120 mm"), "two numbers": ("120 mm * scale", "120 mm 80 mm"), "a size of paper": ("[600 mm, 1200 mm], colour: \"#e8b23a\"", "A4, colour: \"#e8b23a\""), "sheet as a text": ("[600 mm, 1200 mm], colour: \"#e8b23a\"", "600 mm x 1200 mm, colour: \"#e8b23a\""),
    "sheet with one side": ("[600 mm, 1200 mm], colour: \"#e8b23a\"", "[600 mm], colour: \"#e8b23a\""), "colour short": ("#e8b23a", "#e8b"), "colour rgb": ('"#e8b23a"', "rgb(232, 178, 58)"), "colour list": ('"#e8b23a"', "[232, 178, 58]"), "decimal comma": ("value: 1 mm", "value: 1,5 mm"), "decimal comma in a list": ("radius * 0.84]", "radius * 0,84]"),
    "min above the value": ("{value: 1, min: 0.5", "{value: 1, min: 1.5"), "min alone as text": ("min: 0.5", "min: small"), "minimum": ("min: 0.5", "minimum: 0.5"), "default": ("{value: 1 mm, min", "{default: 1 mm, min"), "a number for a parameter": ("height: {value: 120 mm * scale, note: From the foot to the cap}", "height: 120 mm * scale"),
    "name with a dash": ("crown_radius: {", "crown-radius: {"), "name with a blank": ("band_width: {", "band width: {"), "name with a capital": ("band_width: {", "bandWidth: {"), "name that begins with a number": ("band_width: {", "2nd_width: {"), "used by another spelling": ("    width: band_width", "    width: bandwidth"),
    "ring of two": ("value: 20 mm * scale", "value: band_width * 2"), "ring with the thickness": ("thickness: 6 mm, sheet", "thickness: radius / 10, sheet"), "scale missing": ("  scale: {value: 1, min: 0.5, max: 3, note: The whole lamp larger or smaller; the foam stays as bought}\n", ""), "clearance missing": ("  clearance: {value: 1 mm, min: 0 mm, max: 4 mm, note: Gap between the base and the wall around it}\n", ""),
    "size with its own scale twice": ("set: {scale: 2}", "set: {scale: 2, scale: 3}"), "size in a list": ("sizes: # the first is what is built if none is asked for\n  table:", "sizes:\n  - table:"), "size with a unit": ("set: {scale: 2}", "set: {scale: 2 mm}"), "size without set": ("{note: 36 cm across, set: {scale: 2}}", "{scale: 2}"),
    "no format": ("format: 1\n", ""), "format 2": ("format: 1\n", "format: 2\n"), "format 1.0 as text": ("format: 1\n", "format: one\n"), "no name": ("name: Table lamp\n", ""), "no licence": ("licence: CC-BY-4.0\n", ""), "licence by its long name": ("CC-BY-4.0", "Creative Commons Attribution"), "license": ("licence:", "license:"),
    "version with a v": ("0.1.0", "v0.1.0"), "two documents": ("\nparts:", "\n...\n---\nparts:"), "JSON with a comma at the end": ("", '{"format": 1, "name": "a",}'), "TOML": ("", "format = 1\n[parameters]\nscale = 1\n"), "XML": ("", "<design><name>a</name></design>\n"), "a spreadsheet": ("", "name;value\nscale;1\n"), "Markdown": ("", "# Lamp\n\n- scale: 1\n- parts:\n"), "Python": ("", "import cadquery as cq\nresult = cq.Workplane()\n"),
    "merge conflict": ("    kind: disc\n", "<<<<<<< HEAD\n    kind: disc\n=======\n    kind: plate\n>>>>>>> a\n"), "a fence": ("", "```yaml\nformat: 1\n```\n"), "line numbers": ("format: 1\nname", "1 format: 1\n2 name"), "a diff": ("format: 1\n", "+format: 1\n"), "typographer's dash": ("      - [-height, 0]", "      – [-height, 0]"),
    "non-breaking indent": ("    stock: structure", "\u00a0\u00a0\u00a0\u00a0stock: structure"), "form feed": ("    stock: structure", "\x0c    stock: structure"), "a quote left open": ("name: Table lamp", 'name: "Table lamp'), "apostrophe": ("note: 18 cm across", "note: 'Gran's lamp'"), "colon in a note": ("note: 18 cm across", "note: across: 18 cm"), "hash in a note": ("note: 18 cm across", "note: #1 lamp"), "percent first": ("note: 18 cm across", "note: %18"), "at first": ("note: 18 cm across", "note: @home"), "star first": ("note: 18 cm across", "note: *bold*"),
    "exclamation first": ("note: 18 cm across", "note: !important"), "yes for a flag": ("    mirror: y # the other half", "    mirror: yes"), "mirror in a list": ("    mirror: y # the other half", "    mirror: [y]"), "mirror of nothing": ("    mirror: y # the other half", "    mirror:"), "cut at a word": ("plane: {normal: z, at: height}}", "plane: {normal: z, at: top}}"), "where as a list": ("where: {middle: beyond, foot: beyond, crown: before}", "where: [middle, foot, crown]"),
    "where with a sign": ("middle: beyond,", "middle: >0,"), "both sides": ("{middle: beyond, foot: beyond, crown: before}", "{middle: both, foot: beyond, crown: before}"), "laid: out": ("laid: outside", "laid: out"), "depth by a percent": ("depth: height * 0.6}\n      - {edge: crown, at: 2/3", "depth: 60%}\n      - {edge: crown, at: 2/3"), "dart at 150 %": ("at: 2/3", "at: 3/2"), "edge that is none": ("edge: crown, at: 2/3", "edge: crwn, at: 2/3"), "darts: yes": ("    darts: # wedges that close and pull the crown in; `darts: auto` looks for places itself\n      - {edge: crown, at: 1/3, depth: height * 0.6}\n      - {edge: crown, at: 2/3, depth: height * 0.6}\n", "    darts: yes\n"), "darts: automatic": ("    darts: # wedges that close and pull the crown in; `darts: auto` looks for places itself\n      - {edge: crown, at: 1/3, depth: height * 0.6}\n      - {edge: crown, at: 2/3, depth: height * 0.6}\n", "    darts: automatic\n"),
    "step of a part that is none": ("parts: [shade], note", "parts: [shde], note"), "step with one part as a text": ("parts: [shade], note", "parts: shade, note"), "steps as texts": ("  - {title: Close the shade, parts: [shade], note: Glue the darts first and then the two halves.}", "  - Close the shade"), "include of itself": ("format: 1\n", "format: 1\ninclude: [tag.yaml]\n"), "include as a text": ("format: 1\n", "format: 1\ninclude: stock.yaml\n"),
    "emoji id": ("  cap:\n", "  \U0001f9e2:\n"), "German id": ("  cap:\n", "  Kappe_äu:\n"), "id of 300 letters": ("  cap:\n", f"  {'c' * 300}:\n"), "part like a form": ("stock: structure\n    form: dome", "stock: structure\n    form: shade"), "radius in another parameter's words": ("radius * 0.93", "radius * .93.1"), "0 thick": ("thickness: 10 mm", "thickness: 0 mm"), "thick as a sheet": ("thickness: 10 mm", "thickness: 600 mm"),
}  # fmt: skip
EITHER = {
    "carriage returns only": ("\n", "\r"), "inches with a blank": ("thickness: 10 mm", 'thickness: 3/8 "'),
    "unknown units": ("licence: CC-BY-4.0", "licence: CC-BY-4.0\nunits: inches"), "units: in": ("licence: CC-BY-4.0", "licence: CC-BY-4.0\nunits: in"), "name of 5,000 letters": ("Table lamp", "x" * 5000), "100 empty lines": ("\nparts:", "\n" * 100 + "parts:"), "a remark of 1 MB": ("\nparts:", "\n#" + "x" * 10**6 + "\nparts:"),
    "100,000 remarks": ("\nparts:", "\n#" * 10**5 + "\nparts:"), "byte order mark": ("# A first design", "\ufeff# A first design"), "anchors for a part": ("  cap:\n    kind: disc", "  cap: &cap\n    kind: disc"), "spaces at ends": ("\n", "   \n"), "tabs at ends": ("\n", "\t\n"), "quoted keys": ("kind: disc", '"kind": "disc"'), "no end of line at the end": ("halves.}\n", "halves.}"), "old Mac and Windows mixed": ("parts: #", "parts: #\r\n#"), "document end": ("halves.}\n", "halves.}\n...\n"), "first ---": ("# A first design", "---\n# A first design"),
    "no figure": ("figure:", "x_:"), "1e2 mm": ("120 mm * scale", "1.2e2 * scale"), "empty note": ("note: 18 cm across", 'note: ""'), "name with markup": ("Table lamp", "<b>Lamp</b>"), "size named all": ("  table:", "  all:"), "part named part": ("  cap:\n", "  part:\n"), "id y": ("  cap:\n", "  y:\n"), "id no": ("  cap:\n", "  no:\n"), "scale of 0.5 exactly": ("{value: 1, min", "{value: 0.5, min"), "scale 3 exactly": ("{value: 1, min", "{value: 3, min"),
}  # fmt: skip


def trials() -> list[Trial]:
    text = starter("Table lamp")
    found = []
    for expects, table in (("refused", REFUSED), ("either", EITHER)):
        for name, (old, new) in table.items():
            assert old in text, name
            changed = text.replace(old, new) if old else new
            found.append(Trial(name, {"tag.yaml": changed.encode()}, expects=expects))
    return found


def misuse() -> list[Trial]:
    """Calls of the command that are none; all are refused in one line."""
    files: dict[str, Place] = {
        "lamp.yaml": starter("Lamp").encode(),
        "designs": folder,
        "dangling.yaml": link("nowhere"),
        "x.stl": b"",
        "a.zip": b"PK",
    }
    calls = """
        | help | biuld lamp.yaml | -v check lamp.yaml | --trace check lamp.yaml | build | check | check . | check lamp | check lampe.yaml | check lamp.yml | check LAMP.YAML | check designs
        check --set scale=2 lamp.yaml | check lamp.yaml --jsn | check dangling.yaml | check lamp*.yaml | check -- --help | check x.stl | check a.zip | check lamp.yaml nowhere.yaml
        build lamp.yaml --onlly cut_list | build lamp.yaml --only | build lamp.yaml --only cutlist | build lamp.yaml --only=cut~list | build lamp.yaml --set scale | build lamp.yaml --set scale 2
        build lamp.yaml --set scale:2 | build lamp.yaml --set scale=2 --set scale=3 | build lamp.yaml --set Scale=2 | build lamp.yaml --set scale=2,5 | build lamp.yaml --set thickness=8mm | build lamp.yaml --set scale=200%
        build lamp.yaml --size Table | build lamp.yaml --size table,floor | build lamp.yaml --size 2 | build lamp.yaml --size all --size | build lamp.yaml --paper A4-landscape | build lamp.yaml --paper 8.5x11
        build lamp.yaml --jobs many | build lamp.yaml --jobs -3 | build lamp.yaml --jobs 1.5 | build lamp.yaml --memory 4GB | build lamp.yaml --time 1h | build lamp.yaml --share 3/2 | build lamp.yaml --share 1
        build lamp.yaml --nest-seconds ten | build lamp.yaml --have lamp.yaml | build lamp.yaml --have designs | build lamp.yaml --language fr | build lamp.yaml --units inches | build lamp.yaml --out lamp.yaml --only cut_list
        build lamp.yaml --scheduler nowhere | build nowhere.yaml | build . | build designs | look | look . | look lamp.yaml --paper A4 | compare lamp.yaml | compare a b | compare a.zip a.zip | compare designs designs --as pdf
        new | new . | new designs | new lamp.yaml | new x/y.yaml | new lamp.txt | new lamp.yaml more.yaml | gallery | gallery nowhere | gallery designs | gallery lamp.yaml | gallery --out site
        matrix | matrix . | matrix nowhere.yaml | matrix lamp.yaml --paper A9 | matrix lamp.yaml --tag v9.9.9 | matrix lamp.yaml --tag nonsense | fit | fit lamp.yaml --measure radius | fit lamp.yaml --measure waist=3
        fit lamp.yaml --figure nowhere.stl | fit lamp.yaml --clearance x | fit nowhere.yaml | testpieces | testpieces lamp.yaml --stock none | testpieces lamp.yaml --paper A9 | testpieces designs | watch | watch nowhere.yaml
        watch lamp.yaml --port 99999 | watch lamp.yaml --port x | watch lamp.yaml --port 80 | watch designs | watch LONG.yaml
        compare LONG.yaml lamp.yaml | compare lamp.yaml LONG | fit lamp.yaml --figure LONG.stl | new LONG/a.yaml | gallery LONG | testpieces LONG.yaml | look LONG.yaml | matrix LONG.yaml | build lamp.yaml --have LONG
    """  # fmt: skip
    lines = (line.strip().split(" | ") for line in calls.strip().splitlines())
    found = [
        [word.replace("~", " ").replace("LONG", "x" * 300) for word in call.strip("| ").split()]
        for line in lines
        for call in line
    ]
    return [Trial(" ".join(call)[:60] or "nothing", files, expects="refused", call=tuple(call)) for call in found]

"""Mistakes that makers make, in the design that `foamwright new` writes."""

from __future__ import annotations

from foamwright.design.starter import starter
from tests.hostile.trial import Trial

# what is replaced, by what; an empty text in the first place stands for the whole file
REFUSED = {
    "empty": ("", ""), "only remarks": ("", "# a\n# b\n"), "only ---": ("", "---\n"), "tab": ("    kind: revolution", "\tkind: revolution"),
    "merge key": ("    kind: disc\n", "    <<: {kind: disc}\n"), "tag": ("kind: disc", "kind: !foo disc"), "key twice": ("    width: band_width\n", "    width: 3\n    width: 3\n"),
    "two parts of one id": ("  cap:\n    kind: disc", "  base:\n    kind: disc"), "exponent": ("90 mm * scale", "9e400"), "power": ("90 mm * scale", "10 ** 999999"),
    "negative": ("90 mm * scale", "-90 mm * scale"), "zero": ("90 mm * scale", "0"), "nan": ("90 mm * scale", ".nan"), "like a stock": ("  height: {", "  shell_thickness: {"),
    "like a function": ("  height: {", "  sqrt: {"), "in a circle": ("120 mm * scale", "height * 2"), "waits in a circle": ("after: [shade]\n  cap", "after: [band]\n  cap"),
    "size of nothing": ("set: {scale: 2}", "set: {scael: 2}"), "size out of limits": ("set: {scale: 2}", "set: {scale: 5}"), "count 0": ("    mirror: y", "    repeat: {count: 0, step: [1, 0, 0]}"),
    "angle": ("90 mm * scale", "90 deg"), "mass": ("90 mm * scale", "90 kg"), "comma": ("90 mm * scale", "90,5 mm"), "scale with a unit": ("{value: 1, min", "{value: 1 mm, min"),
    "kind": ("kind: bulkhead", "kind: bulkhed"), "field": ("laid: outside", "layed: outside"), "cut": ("{middle: beyond", "{midle: beyond"), "form": ("form: dome\n    where", "form: dom\n    where"),
    "stock": ("stock: shell\n    form", "stock: shel\n    form"), "parameter": ("radius * 0.84", "radus * 0.84"), "list for a word": ("after: [base]", "after: base"), "no file": ("format: 1\n", "format: 1\ninclude: [none.yaml]\n"),
    "no drawing": ("    stock: shell\n    radius", "    stock: shell\n    engrave: [{svg: {file: no.svg}}]\n    radius"), "bracket": ("flush: [foot, crown]", "flush: [foot, crown"), "remark": ('"#e8b23a"', "#e8b23a"),
    "indent": ("    stock: structure", "   stock: structure"), "no colon": ("    stock: structure", "    stock structure"), "lies on itself": ("    radius: crown", "    lies_on: [cap]\n    radius: crown"),
    "metres": ("thickness: 6 mm", "thickness: 6 m"), "cut outside its form": ("normal: z, at: height}", "normal: z, at: height * 3}"), "cap in the air": ("origin: [0, 0, height]", "origin: [0, 0, height * 2]"),
    "cap inside": ("origin: [0, 0, height]", "origin: [0, 0, height - 20 mm]"), "band too wide": ("band_width: {value: 20 mm * scale", "band_width: {value: 300 mm * scale"),
    "exponent and unit": ("90 mm * scale", "9e300 mm"), "named true": ("  height: {value", "  true: {value"), "a part named null": ("  cap:\n", "  null:\n"), "octal": ("{value: 120 mm * scale", "{value: 0o17"),
    "true as a value": ("{value: 120 mm * scale", "{value: true"), "nothing as a value": ("{value: 120 mm * scale", "{value: "), "a time of day": ("{value: 120 mm * scale", "{value: 1:30"), "percent": ("{value: 120 mm * scale", "{value: 120%"),
    "caret": ("90 mm * scale", "90 mm * scale^2"), "times sign": ("90 mm * scale", "90 mm × scale"), "two values side by side": ("90 mm * scale", "2 scale"), "no sign before (": ("90 mm * scale", "2(scale)"), "( left open": ("90 mm * scale", "(90 mm * scale"),
    "thousands": ("90 mm * scale", '"1,200 mm"'), "curly quotes": ("90 mm * scale", "“90 mm”"), "plus or minus": ("90 mm * scale", "90 ± 1 mm"), "power of a length": ("radius * 0.84", "radius ** 0.84"), "limits turned round": ("min: 0.5, max: 3", "min: 3, max: 0.5"),
    "size with a word": ("set: {scale: 2}", "set: {scale: two}"), "size as a list": ("set: {scale: 2}", "set: [scale, 2]"), "unknown anchor": ("after: [base]", "after: *base"), "id with a dash": ("  cap:\n", "  top-cap:\n"), "id with a blank": ("  cap:\n", "  my cap:\n"),
    "two designs": ("\nsizes:", "\n---\nsizes:"), "byte order mark inside": ("\nsizes:", "\n\ufeffsizes:"), "hard space": ("kind: disc", "kind:\u00a0disc"), "wide colon": ("kind: disc", "kind\uff1a disc"), "Cyrillic letter": ("kind: disc", "kind: dis\u0441"), "invisible letter": ("kind: disc", "kind: di\u200bsc"),
    "inches in words": ("thickness: 6 mm", "thickness: 0.25 inches"), "micrometres": ("thickness: 6 mm", "thickness: 6000 µm"), "after itself": ("after: [shade]\n  cap", "after: [base]\n  cap"), "copies as a number": ("    mirror: y", "    repeat: 3"), "half a copy": ("    mirror: y", "    repeat: {count: 2.5, step: [1, 0, 0]}"),
    "mirror: true": ("    mirror: y", "    mirror: true"), "colour by name": ('"#e8b23a"', "red"), "version with one point": ("0.1.0", "1.0"), "format in quotes": ("format: 1", 'format: "1"'), "name is a number": ("name: Lamp", "name: 42"), "kin for kind": ("    kind: disc", "    kin: disc"), "two commas": ("[0, 0, height]", "[0,, 0, height]"),
}  # fmt: skip
BUILT = {
    "Windows": ("\n", "\r\n"),
    "anchor": ("after: [base]", "after: &a [base]"),
    "inches": ("thickness: 6 mm", 'thickness: 1/4"'),
}


def trials() -> list[Trial]:
    text = starter("Lamp")
    found = []
    for expects, table in (("refused", REFUSED), ("built", BUILT)):
        for name, (old, new) in table.items():
            assert old in text, name
            changed = text.replace(old, new) if old else new
            found.append(Trial(name, {"tag.yaml": changed.encode()}, expects=expects))
    return found

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

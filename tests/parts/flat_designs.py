"""A design with nothing but the parts that a test gives."""

from foamwright.design import load

HEAD = """
format: 1
name: Flat parts
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {value: 1, min: 0.5, max: 2}
  clearance: {value: 0.5 mm}
sizes: {one: {note: as it is}}
stock:
  foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [600 mm, 1200 mm]}
  thick: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
  acrylic: {name: Acrylic 3 mm, thickness: 3 mm, sheet: [300 mm, 400 mm], material_type: acrylic, kerf: 0.2 mm}
  felt: {name: Felt 2 mm, thickness: 2 mm, sheet: [300 mm, 400 mm], material_type: cloth}
  card: {name: Card, thickness: 0.5 mm, sheet: [500 mm, 700 mm], material_type: card}
forms:
  egg:
    kind: superellipsoid
    radii: [150 * scale, 100 * scale, 100 * scale]
    cuts: {hatch: {prism: {outline: {circle: {radius: 60}}, along: z, above: 0}}}
parts:
"""


def design(tmp_path, parts, forms=""):
    path = tmp_path / "flat.yaml"
    path.write_text(HEAD.replace("parts:\n", f"{forms}parts:\n") + parts, "utf-8")
    return load(path)

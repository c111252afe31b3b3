"""Small sound props, told at a scale s: the form grows with it, the foam does not. The virtual build must refuse none."""

PROPS = {
    # a cone frustum of 6 mm below a tube of 10 mm, in halves and open at both ends: it springs open, the larger the more
    "creased waist of two thicknesses": """
forms:
  tube: {kind: revolution, axis: z, smooth: false,
    profile: [[-10 * s, 61 * s], [0, 60 * s], [100 * s, 50 * s], [140 * s, 50 * s], [150 * s, 50 * s]],
    cuts: {foot: {plane: {normal: z, at: 0}}, waist: {plane: {normal: z, at: 100 * s}},
           top: {plane: {normal: z, at: 140 * s}}, half: {plane: {normal: y}}}}
parts:
  lower: {kind: panel, stock: foam, form: tube, where: {foot: beyond, waist: before, half: beyond}, mirror: y}
  upper: {kind: panel, stock: thick, form: tube, where: {waist: beyond, top: before, half: beyond}, mirror: y}
""",
}

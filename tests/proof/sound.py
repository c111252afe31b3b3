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
    # a low mitred box without a bottom, whose walls are hardly higher than their foam is thick, and a tube on it with a lid
    "tower on a plinth": """
forms:
  wall: {kind: revolution, axis: z, smooth: false, profile: [[-10 * s, 60 * s], [140 * s, 60 * s]],
    cuts: {half: {plane: {normal: y}}, foot: {plane: {normal: z, at: 30 * s}}, top: {plane: {normal: z, at: 120 * s}}}}
parts:
  plinth: {kind: box, stock: foam, size: [160 * s, 160 * s, 30 * s], joint: mitred, without: [bottom],
    at: {origin: [0, 0, 0], normal: z, up: x}}
  body: {kind: panel, stock: foam, form: wall, laid: outside, where: {half: beyond, foot: beyond, top: before},
    mirror: y}
  lid: {kind: disc, stock: thick, radius: 66 * s + 6, at: {origin: [0, 0, 120 * s], normal: z}, after: [body]}
""",
    "box with an eye on each side and a badge": """
forms: {}
parts:
  box: {kind: box, stock: foam, size: [120 * s, 90 * s, 70 * s], joint: mitred}
  eye: {kind: disc, stock: foam, radius: 22 * s, at: {origin: [60 * s, 0, 0], normal: x}, mirror: x}
  badge: {kind: plate, stock: thin, outline: {rectangle: {width: 40 * s, height: 20 * s, corner: 4 * s}},
    at: {origin: [0, 45 * s, 0], normal: y, up: z}}
""",
    "box with mirrored fins": """
forms: {}
parts:
  hull: {kind: box, stock: foam, size: [120 * s, 100 * s, 140 * s], joint: mitred,
    at: {origin: [0, 0, 0], normal: z, up: x}}
  fin: {kind: plate, stock: thick, outline: {polygon: {points: [[0, 0], [0, 80 * s], [-50 * s, 40 * s],
    [-50 * s, 10 * s]]}}, at: {origin: [60 * s, 0, 20 * s], normal: y, up: z}, mirror: x}
""",
    "band round a rounded rectangle": """
forms: {}
parts:
  tray: {kind: plate, stock: thick, outline: {rectangle: {width: 120 * s, height: 80 * s, corner: 20 * s}},
    at: {origin: [0, 0, 0], normal: z}}
  belt: {kind: band, stock: foam, along: {outline: {rectangle: {width: 120 * s, height: 80 * s, corner: 20 * s}},
    at: {origin: [0, 0, 0], normal: z}}, from: 0, to: 10, laid: outside}
""",
    # each skin is closed by a seam of its own, which is drawn below it too
    "two skins round a cone": """
forms:
  cone: {kind: revolution, axis: z, smooth: false, profile: [[-20 * s, 90 * s], [180 * s, 40 * s]],
    cuts: {foot: {plane: {normal: z, at: 0}}, head: {plane: {normal: z, at: 120 * s}},
      low: {plane: {normal: z, at: 30 * s}}, high: {plane: {normal: z, at: 90 * s}},
      lower: {plane: {normal: z, at: 45 * s}}, higher: {plane: {normal: z, at: 75 * s}}}}
parts:
  wall: {kind: panel, stock: foam, form: cone, where: {foot: beyond, head: before}, opened: 90, flush: [foot, head]}
  skin: {kind: panel, stock: thin, form: cone, where: {low: beyond, high: before}, over: [wall], opened: 180}
  hoop: {kind: panel, stock: thin, form: cone, where: {lower: beyond, higher: before}, over: [wall, skin], opened: 270}
""",
    # a ring goes round its form without any force, and no mark tells where its ends belong
    "pail with a hoop": """
forms:
  pail: {kind: revolution, axis: z, smooth: false, profile: [[-10 * s, 30 * s], [90 * s, 50 * s]],
    cuts: {base: {plane: {normal: z, at: 0}}, brim: {plane: {normal: z, at: 70 * s}},
      low: {plane: {normal: z, at: 36 * s}}, high: {plane: {normal: z, at: 52 * s}}}}
parts:
  side: {kind: panel, stock: thin, form: pail, where: {base: beyond, brim: before}, flush: [base, brim], opened: 0}
  base: {kind: bulkhead, stock: thin, form: pail, plane: {normal: z, at: 0}}
  hoop: {kind: panel, stock: thin, form: pail, over: [side], where: {low: beyond, high: before}, opened: 180}
""",
    # the foot of each wall is a strip with mitred ends, hardly longer on its inside face than it is thick
    "narrow chimney on a disc": """
forms: {}
parts:
  knob: {kind: disc, stock: thick, radius: 20 * s + 14, at: {origin: [0, 0, -10], normal: z}}
  chimney: {kind: prism, stock: foam, sides: 4, width: 14 + 10 * s, height: 40 * s,
    at: {origin: [0, 0, 0], normal: z}}
""",
    # the seam of a short cone of thick foam runs on one face to where it has not begun on the other
    "cone cut aslant": """
forms:
  cone: {kind: revolution, axis: z, smooth: false, profile: [[0, 60 * s], [120 * s, 12 * s]],
    cuts: {foot: {plane: {normal: z}}, slant: {plane: {normal: [-0.423, 0, 0.906], at: 54.4 * s}}}}
parts:
  wall: {kind: panel, stock: thick, form: cone, where: {foot: beyond, slant: before}, opened: 180, flush: [foot, slant]}
""",
    # the outside faces of the post are wider than the cut lines of its walls; opposite ones are touched as mirror images
    "mitred post in a notch of a shelf": """
forms: {}
parts:
  base: {kind: plate, stock: thick, outline: {rectangle: {width: 200 * s, height: 160 * s}}, at: {origin: [0, 0, -10], normal: z, up: y}}
  post: {kind: box, stock: foam, joint: mitred, without: [top, bottom], size: [24 + 20 * s, 24 + 20 * s, 150 * s],
    at: {origin: [0, 0, 0], normal: z, up: x}}
  shelf: {kind: plate, stock: thick, at: {origin: [0, 0, 80 * s], normal: z, up: y}, after: [post],
    outline: {polygon: {points: [[-53 - 10 * s, -43 - 10 * s], [53 + 10 * s, -43 - 10 * s], [53 + 10 * s, 5 + 10 * s], [12 + 10 * s, 5 + 10 * s],
      [12 + 10 * s, -12 - 10 * s], [-12 - 10 * s, -12 - 10 * s], [-12 - 10 * s, 5 + 10 * s], [-53 - 10 * s, 5 + 10 * s]]}}}
""",
    # the wall stands on the largest part and goes round the other, without which nothing bends it; its ends are one joint
    "drum with a wall round its floor": """
forms: {}
parts:
  floor: {kind: disc, stock: thick, radius: 70 * s, at: {origin: [0, 0, 0], normal: z}}
  wall: {kind: band, stock: foam, along: {outline: {circle: {radius: 70 * s}}, at: {origin: [0, 0, 0], normal: z}},
    from: 0, to: 60 * s + 10, laid: outside, after: [floor]}
  lid: {kind: disc, stock: thick, radius: 70 * s + 10, at: {origin: [0, 0, 60 * s + 10], normal: z}, after: [wall]}
""",
    # nothing on the paper tells where the roof sits on the wall: both are bent by themselves, the roof over the model
    "wall with a roof of other foam": """
forms:
  wall: {kind: revolution, axis: z, smooth: false, profile: [[-10 * s, 60 * s], [90 * s, 60 * s]],
    cuts: {foot: {plane: {normal: z}}, top: {plane: {normal: z, at: 80 * s}}}}
  roof: {kind: revolution, axis: z, smooth: false, profile: [[70 * s, 70 * s], [140 * s, 0]],
    cuts: {eaves: {plane: {normal: z, at: 80 * s}}}}
parts:
  wall: {kind: panel, stock: foam, form: wall, where: {foot: beyond, top: before}, opened: 180, flush: [foot, top]}
  roof: {kind: panel, stock: thick, form: roof, where: {eaves: beyond}, opened: 0, flush: [eaves]}
""",
    # the floor is the same foam whichever face is up; the wall alone tells at which of its faces it stands up
    "tub": """
forms: {}
parts:
  floor: {kind: disc, stock: foam, radius: 60 * s, at: {origin: [0, 0, 0], normal: z}}
  wall: {kind: band, stock: foam, along: {outline: {circle: {radius: 60 * s}}, at: {origin: [0, 0, 0], normal: z}},
    from: 0, to: 30 * s + 16, laid: outside, after: [floor]}
""",
    # the edges of both are cut in one plane, and the wider one is glued over half its width
    "cone on a tube of other foam": """
forms:
  tube: {kind: revolution, axis: z, smooth: false, profile: [[-10 * s, 60 * s], [90 * s, 60 * s]],
    cuts: {foot: {plane: {normal: z}}, top: {plane: {normal: z, at: 80 * s}}, half: {plane: {normal: y}}}}
  cone: {kind: revolution, axis: z, smooth: false, profile: [[70 * s, 65 * s], [140 * s, 30 * s]],
    cuts: {foot: {plane: {normal: z, at: 80 * s}}, top: {plane: {normal: z, at: 120 * s}}, half: {plane: {normal: y}}}}
parts:
  wall: {kind: panel, stock: foam, form: tube, where: {foot: beyond, top: before, half: beyond}, flush: [foot, top], mirror: y}
  roof: {kind: panel, stock: thick, form: cone, where: {foot: beyond, top: before, half: beyond}, flush: [foot, top], mirror: y}
""",
    # no rule tells from tick to tick: what the foam turns there lengthens one edge and not the other
    "rings of two foams": """
forms:
  tube: {kind: revolution, axis: z, smooth: false, profile: [[-10 * s, 60 * s], [120 * s, 60 * s]],
    cuts: {foot: {plane: {normal: z}}, waist: {plane: {normal: z, at: 50 * s}}, top: {plane: {normal: z, at: 90 * s}}}}
parts:
  wall: {kind: panel, stock: foam, form: tube, where: {foot: beyond, waist: before}, opened: 180, flush: [foot]}
  collar: {kind: panel, stock: thick, form: tube, where: {waist: beyond, top: before}, opened: 0, flush: [top]}
""",
    # it turns mostly at two ends, so that the ticks of thick foam stand closer there
    "flat egg of two foams": """
forms:
  egg: {kind: superellipsoid, centre: [0, 0, 0], radii: [110 * s, 50 * s, 300 * s],
    cuts: {foot: {plane: {normal: z, at: -40 * s}}, waist: {plane: {normal: z}}, top: {plane: {normal: z, at: 40 * s}},
      half: {plane: {normal: y, at: 10 * s}}}}
parts:
  low: {kind: panel, stock: foam, form: egg, where: {foot: beyond, waist: before, half: beyond}}
  low_back: {kind: panel, stock: foam, form: egg, where: {foot: beyond, waist: before, half: before}}
  high: {kind: panel, stock: thick, form: egg, where: {waist: beyond, top: before, half: beyond}}
  high_back: {kind: panel, stock: thick, form: egg, where: {waist: beyond, top: before, half: before}}
""",
}

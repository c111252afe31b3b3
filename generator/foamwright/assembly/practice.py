"""Working figures for time, glue, paint and waste: common practice, no source.

They give a maker the order of size of the work and of the shopping; none of them touches the geometry.
"""

MINUTES_PER_PIECE_CUT = 3.0  # trace, label
MINUTES_PER_METRE_CUT = 5.0
MINUTES_PER_METRE_BEVELLED = 10.0  # beside that: setting the angle, and light passes
MINUTES_PER_PIECE_BENT = 4.0  # warming, and holding it over something round until it is cool
MINUTES_PER_PIECE_GLUED = 4.0  # dry fit
MINUTES_PER_JOINT_GLUED = 2.0  # of a pair of pieces: coating both, aiming, and pressing
MINUTES_PER_BAND_TRIMMED = 10.0  # wrapping it dry, marking, cutting
MINUTES_PER_PIECE_TAMED = 5.0  # bent once more, and held with tape where it springs open
MINUTES_PER_METRE_GLUED = 15.0  # two thin coats on both edges, closing
MINUTES_PER_M2_GLUED = 60.0
MINUTES_PER_M2_HEATED = 20.0  # one pass of the heat gun, and laying the pieces out
MINUTES_PER_PIECE_HEATED = 0.5  # turning it, and laying it down to cool
MINUTES_PER_COAT = 5.0  # of primer or paint: stirring, and washing the brush
MINUTES_PER_PIECE_PAINTED = 2.0  # turning what is painted loose, over all coats
MINUTES_PER_PLACE_MASKED = 2.0
MINUTES_PER_MASK = 5.0  # taping a stencil down and dabbing through it, for each place
MINUTES_PER_M2_FINISHED = 40.0  # prime and paint, without the drying

WAIT_FIRST_COAT = 15.0  # minutes until the first coat of contact cement has dried into the foam
WAIT_TACKY = 15.0  # until the second one no longer feels wet
STAYS_TACKY = 60.0  # from then on, until cement grips no more
WAIT_CEMENT = WAIT_FIRST_COAT + WAIT_TACKY
WAIT_INSTANT = 2.0  # until instant glue holds by itself
WAIT_SET = 12.0 * 60.0  # from the last cement until joints are sanded and primed
WAIT_FILLED = 120.0  # until gap filler can be sanded
WAIT_COATED = 30.0  # after each coat of sealer, paint or varnish
WAIT_TAPED = 240.0  # until low-tack tape no longer lifts fresh acrylic
WAIT_WET = 240.0  # until cement that was pushed together wet holds: it dries slowly between closed foam
WAIT_CURED = 24.0 * 60.0  # glue and paint before the prop is used

EASY_ROOM = 20.0  # mm around a figure: with more, nothing has to be tried
DRAGGED = 0.4  # share of a cemented area that slides along what it touches: more, and paper is laid between
BRUSH_REACH = 300.0  # mm from the nearest opening that a brush is led to a face, hand and all
ARM_REACH = 500.0  # mm that hand and arm follow the brush where there is room for them
ARM_WIDE = (
    125.0  # mm: the opening through which an arm in light clothes goes to the shoulder (MIL-STD-1472, from memory)
)
BRUSH_SLOPE = 0.25  # cosine between a brush's handle and the direction off the face: its bristles bend so far
BRUSH_WIDE = 12.0  # mm that a brush needs between a painted face and what it faces
BRUSHED = 0.4  # share of what a part is glued by that a brush must reach on what stands
CHECKED = 0.01  # share of a size that a prop of foam may be off when it is checked with a rule
CHECKED_LEAST = 2.0  # mm that it may be off in any case
CHECKED_SMALL = 1.0  # mm that a size of a few mm may be off
THIN = 3.0  # mm of foam that curls under a heat gun at once
PRICKED = 20.0  # mm along a round placement line from one prick to the next
LARGE = 1e4  # mm2 of cement on one face, that are set down with paper between
LONG_SEAM = 150.0  # mm; longer seams are begun in the middle
COLD_STRAIN = 0.03  # above this the foam is warmed before it is bent to the form
COLD_BEND = 0.2  # strain of a face where foam is bent to an inner radius of twice its thickness

CEMENT_M2_PER_LITRE = 4.0  # one coat on one face
CEMENT_COATS = 2
INSTANT_GRAMS_PER_M2 = 250.0  # one face of a joint
SEALER_M2_PER_LITRE = 8.0
SEALER_COATS = 3
PAINT_M2_PER_LITRE = 10.0
PAINT_COATS = 2
VARNISH_COATS = 1
FILLER_ML_PER_METRE = 10.0  # of seams
GRAVEL_DENSITY = 1600.0  # kg per m3 as it is poured
METRES_PER_SHEET = 5.0  # of edges rounded above and below until abrasive paper is blunt
METRES_PER_BLADE = 6.0  # of cuts through foam before a snap-off blade drags
FACES_PAINTED = 1.5  # of one face of each part: edges, and insides that show, are painted too
GLUE_SPARE = 0.25  # glue left in the brush and the tin, as a share of what the joints take

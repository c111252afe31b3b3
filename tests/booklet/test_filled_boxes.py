"""A box that is filled stays open until it is: which plate its lid is, and what shows that its corners are square while its open
side can still be measured. Sizes are our own."""

from math import hypot

from small_designs import head, lines_of, stages_of_text

BOX = (
    head("Filled")
    + """\
stock: {foam: {name: EVA foam 6 mm, thickness: 6 mm, sheet: [1000 mm, 600 mm]}}
parts:
  shelf: {kind: plate, stock: foam, outline: {rectangle: {width: 300, height: 120}}, at: {origin: [0, 0, 40], normal: z, up: y}}
  ballast:
    kind: box
    stock: foam
    size: [90 mm * scale, 60 mm, 40 mm]
    at: {origin: [0, 0, 0], normal: z, up: y}
    WITHOUT
    after: [shelf]
    note: "Fill it with washed gravel."
"""
)


def test_a_box_is_measured_then_filled_then_closed(tmp_path):
    """It hangs below a shelf, and so has its lid on the other side: the lower plate."""
    stages = stages_of_text(
        tmp_path, BOX.replace("    WITHOUT\n", "").replace("at: {origin: [0, 0, 0], n", "at: {origin: [0, 0, 0], n")
    )
    lines = lines_of(stages)
    off, check, fill, lid = (
        next(i for i, line in enumerate(lines) if line.startswith(begun))
        for begun in ("Leave the lid off", "Check: the ballast", "Fill it", "Once it is filled, glue the lid on")
    )
    assert off < check < fill < lid


def test_the_diagonals_are_those_of_the_open_side(tmp_path):
    """Without a front of 90 by 40 mm; those of a plate of 90 by 60 are right whatever the box is."""
    stages = stages_of_text(tmp_path, BOX.replace("WITHOUT", "without: [front]").replace("gravel", "sand"))
    (check,) = [line for line in lines_of(stages) if line.startswith("Check: the ballast")]
    assert check.endswith(f"across its open side are equal: {hypot(60, 40):.0f} mm each.") or check.endswith(
        f"across its open side are equal: {hypot(90, 40):.0f} mm each."
    )

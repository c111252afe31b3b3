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
    stages = stages_of_text(tmp_path, BOX.replace("    WITHOUT\n", ""))
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
    open_side = {f"across its open side are equal: {hypot(wide, 40):.0f} mm each." for wide in (60, 90)}
    assert any(map(check.endswith, open_side))


def test_a_box_is_built_alike_whether_a_note_names_it_or_not(tmp_path):
    alone = BOX.replace("    WITHOUT\n", "    without: [top]\n").replace("    after: [shelf]\n", "")
    alone = alone[: alone.index("  shelf")] + alone[alone.index("  ballast") :]

    def told(text):
        steps = stages_of_text(tmp_path, text).record("steps")
        return next((step.instructions, step.minutes) for step in steps if "ballast_bottom" in step.places)

    assert told(alone) == told(alone + "steps:\n  - {title: Build it, parts: [ballast]}\n")


def test_a_figure_is_named_without_its_article(tmp_path):
    figure = "figure: {name: a ball, solids: [{ellipsoid: {centre: [0, 0, 200], radii: [10, 10, 10]}}]}\n"
    stages = stages_of_text(tmp_path, BOX.replace("    WITHOUT\n", "") + figure)
    assert not any("the a ball" in line for line in lines_of(stages))
    assert stages.record("prop").design.figure["name"] == "ball"

"""Straps are drawn as they are threaded. What is asked of them follows from the tube that they go through, by its radius."""

import numpy as np
import pytest
import trimesh

from foamwright import Request, Stages, load
from foamwright.booklet.pictures.step_pictures import step_pictures
from foamwright.booklet.pictures.threading import threaded
from foamwright.errors import DesignError

TUBE = """
format: 1
name: Cuff
version: 1.0.0
licence: CC-BY-4.0
author: A maker
units: mm
parameters: {scale: {value: 1}, clearance: {value: 1 mm}}
sizes: {one: {}}
stock: {foam: {name: Foam 6 mm, thickness: 6 mm, sheet: [600, 1200]}}
forms:
  tube:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 80], [120, 80]]
    cuts:
      low: {plane: {normal: z, at: 10}}
      high: {plane: {normal: z, at: 100}}
      back: {plane: {normal: x, at: 0}}
      left: {prism: {outline: {slot: {length: 30, width: 6, angle: 90}}, along: x, centre: [0, 35, 55], above: 0}}
      right: {prism: {outline: {slot: {length: 30, width: 6, angle: 90}}, along: x, centre: [0, -35, 55], above: 0}}
parts:
  cuff:
    kind: panel
    stock: foam
    form: tube
    where: {low: beyond, high: before, back: beyond, left: outside, right: outside}
  stud: {kind: disc, stock: foam, radius: 8 * scale, at: {origin: [86, 0, 55], normal: x}, lies_on: [cuff], glue: instant}
supplies:
  strap: {name: Webbing, SIZEthrough: [[THROUGH]], length: 400}
steps:
  - {title: Thread the strap, parts: [cuff], when: cured, uses: [strap], note: Thread it.}
"""


ROOF = "  roof: {kind: disc, stock: foam, radius: 300, at: {origin: [0, 0, 100], normal: z}, after: [cuff]}\nsupplies:"


def cuff(folder, size="size: 25, ", through="left, right", design=TUBE):
    path = folder / "cuff.yaml"
    path.write_text(design.replace("SIZE", size).replace("THROUGH", through), "utf-8")
    return load(path)


def test_a_strap_runs_along_the_inside_with_both_ends_outside(tmp_path):
    design = cuff(tmp_path)
    stages = Stages(Request(design))
    get = stages._run.get
    bodies, bought = get("bodies"), tuple(design.supplies.values())
    strapped = threaded(bodies, bodies.of("cuff"), bought)
    assert len(strapped.spans) == len(bodies) + 1 and (strapped.points[: len(bodies.points)] == bodies.points).all()
    own = strapped.points[len(bodies.points) :]
    line = own.reshape(-1, 4, 3).mean(axis=1)  # one place after the other along it
    away = np.hypot(line[:, 0], line[:, 1])
    assert away[0] > 90.0 and away[-1] > 90.0  # loose ends, off the outside at 86 mm
    assert (away[2:4] < 80.0).all()  # inside the tube, as near to the one opening as to the other
    assert line[2:4, 1] * np.sign(line[2, 1]) == pytest.approx([33.5, -33.5], abs=3.0)
    assert np.ptp(own[:4] @ (0.0, 0.0, 1.0)) == pytest.approx(25.0, abs=0.01)  # as wide as the webbing
    mesh = trimesh.Trimesh(own, strapped.triangles[len(bodies.triangles) :] - len(bodies.points), process=False)
    assert mesh.is_watertight and mesh.volume > 0.0  # its faces look outwards, so that light falls on them
    steps = get("steps")
    last = steps[-1].number
    assert steps[-1].title == "Thread the strap"
    assert "from outside in" not in " ".join(steps[-1].instructions)  # the note of the design says how
    with_it, without = step_pictures(bodies, steps, bought)[last], step_pictures(bodies, steps)[last]
    assert with_it.png != without.png and len(with_it.details) == len(without.details) + 1
    assert "Straps are blue." in with_it.details[0].said


def test_how_a_strap_is_threaded_is_told_where_the_note_does_not(tmp_path):
    """A maker who states the openings has said it."""
    design = cuff(tmp_path, design=TUBE.replace("note: Thread it.", "note: Two fingers must go under it."))
    first, second = Stages(Request(design)).record("steps")[-1].instructions
    assert (
        first.startswith("Thread Webbing, 25 mm through the two openings of the cuff (A)")
        and "from outside in" in first
    )
    assert second == "Two fingers must go under it."


def test_a_strap_that_a_roof_hides_from_above_is_shown_from_where_it_is_seen(tmp_path):
    design = cuff(tmp_path, design=TUBE.replace("supplies:", ROOF))
    get = Stages(Request(design))._run.get
    bodies, steps = get("bodies"), get("steps")
    picture = step_pictures(bodies, steps, tuple(design.supplies.values()))[steps[-1].number]
    assert "Straps are blue." in picture.details[0].said and "above" not in picture.details[0].said


@pytest.mark.parametrize(
    "size, through, said",
    [
        ("size: 25, ", "left, rigth", "unknown cut 'rigth'"),
        ("", "left, right", "a strap without a size"),
        ("size: 25, ", "left", "expected"),
    ],
)
def test_a_strap_that_cannot_be_threaded_is_told_with_its_place(tmp_path, size, through, said):
    with pytest.raises(DesignError) as told:
        cuff(tmp_path, size, through)
    assert said in str(told.value) and "cuff.yaml:" in str(told.value) and "\n" not in str(told.value)

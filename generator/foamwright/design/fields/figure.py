"""What the prop must fit, and how it stands."""

from __future__ import annotations

from foamwright.design.fields.declare import LINE, declared, exactly, key, listed, one_required
from foamwright.design.fields.forms import MeshFile, StepFile
from foamwright.design.fields.quantities import DIRECTION, LENGTH, NUMBER, POINT, Direction, Point
from foamwright.design.fields.repeats import Opening


@declared
class Ellipsoid:
    """An ellipsoid."""

    centre: Point = key(POINT, "Its centre.")
    radii: tuple[float, ...] = key(exactly(3, LENGTH, more_than=0), "Half its extent along x, y and z.")


@declared
class Cylinder:
    """A cylinder between two points."""

    from_: Point = key(POINT, "Centre of one end.")
    to: Point = key(POINT, "Centre of the other end.")
    radius: float = key(LENGTH, "Radius.", more_than=0)


@declared
class SolidBox:
    """A box along the axes."""

    centre: Point = key(POINT, "Its centre.")
    size: tuple[float, ...] = key(exactly(3, LENGTH, more_than=0), "Its extent along x, y and z.")


@declared
class SolidMesh(MeshFile):
    """A solid within a closed surface of triangles from a file, such as a scan."""


@declared
class SolidStep(StepFile):
    """A solid from a STEP file, at the size that the file states."""


@one_required("ellipsoid", "cylinder", "box", "mesh", "step")
@declared
class FigureSolid:
    """One simple solid of the figure."""

    ellipsoid: Ellipsoid | None = key(Ellipsoid, optional=True)
    cylinder: Cylinder | None = key(Cylinder, optional=True)
    box: SolidBox | None = key(SolidBox, optional=True)
    mesh: SolidMesh | None = key(SolidMesh, optional=True)
    step: SolidStep | None = key(SolidStep, optional=True)


@one_required("direction", "through")
@declared
class Enters:
    """How the figure gets into the prop, straight all the way: in a direction, or through an opening. What is in its way and
    comes off (`glue: none`, as a door; `rests_on`, as a lid) is taken away first, and what only hinges of cloth hold is opened,
    whatever its `glue`, with the hinges and all that is glued to it; the booklet says so. What the figure stands
    on stays."""

    direction: Direction | None = key(DIRECTION, "The way it moves in.", optional=True)
    through: Opening | None = key(
        Opening,
        "Square through a plane cut, or along a prism that is bounded on one side (`above` or `below`).",
        optional=True,
    )


@declared
class Stands:
    """The prop stands by itself: whether it does, and how far it can be tilted, is worked out and told."""

    down: Direction = key(
        DIRECTION, "The way down; the ground is square to it, where the prop reaches furthest.", default="-z"
    )
    figure_mass: float | None = key(
        NUMBER,
        "Mass of the figure in kg, if it sits in the prop: it acts at the middle of its solids.",
        more_than=0,
        optional=True,
    )


@declared
class Figure:
    """Who or what the prop must fit, as solids."""

    name: str = key(LINE, "What it is.")
    solids: tuple[FigureSolid, ...] = key(listed(FigureSolid, least=1, most=100), "Its solids.")
    enters: Enters | None = key(Enters, optional=True)


@declared
class SizeFigure:
    """What of the figure is another at this size; what is not given stays that of the design."""

    name: str | None = key(LINE, "What it is.", optional=True)
    solids: tuple[FigureSolid, ...] | None = key(listed(FigureSolid, least=1, most=100), "Its solids.", optional=True)
    enters: Enters | None = key(Enters, optional=True)

"""The figure tried on, quickly: on the meshes of a first look and not on solids."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from foamwright.design.records import Design
from foamwright.errors import BuildError, DesignError
from foamwright.fitting.records import Trial
from foamwright.forms.imported import imported_mesh
from foamwright.look.build import copies_of
from foamwright.model.figure import clearance, figure_of
from foamwright.model.placed import placed
from foamwright.model.stability import balance
from foamwright.parts.attempt import attempt
from foamwright.store import Store

TRUE_TO = 0.15  # mm: how far the meshes of a first look may be off the solids
AS_DRAWN = {"unit": "mm", "scale": 1.0, "turn": (0.0, 0.0, 0.0), "at": (0.0, 0.0, 0.0)}


def tried(
    design: Design,
    scan: Path | None = None,
    seat: Collection[str] = (),
    run_own_code: bool = False,
    store: Store | None = None,
) -> Trial:
    """How the figure fits a design at its values; the gap to the parts named in `seat` does not count.

    Parts that stay as they were at other values are taken from the `store`.

    Raises BuildError for values at which it cannot be built.
    """
    figure = figure_of(design if scan is None else with_scan(design, scan))
    assert figure is not None  # who asks has seen that there is one
    attempted = attempt(design, run_own_code, store)
    if attempted.failures:
        raise BuildError(attempted.failures[0].reason)
    copies = [
        placed(piece, copy.number, copy.mesh, copy.mesh.volume)
        for piece in attempted.pieces
        for copy in copies_of(piece, store)
    ]
    weighed = balance(copies, design.stands, figure)
    assert weighed is not None  # `clearance` refuses a prop without parts
    return Trial(clearance([copy for copy in copies if copy.part not in seat], figure), weighed.mass, weighed.stability)


def with_scan(design: Design, scan: Path) -> Design:
    """The design with a file in the place of its figure's solids: standing where they stand, on the same middle.

    Raises DesignError for a design without a figure, and for a file that cannot be read: it is one of the call.
    """
    if design.figure is None:
        raise DesignError(f"{design.id}: it has no figure; expected the field figure, with the solids that it must fit")
    kind = "step" if scan.suffix.lower() in (".step", ".stp") else "mesh"
    values: Mapping[str, Any] = {**AS_DRAWN, "file": scan.resolve().as_posix()}
    figure = figure_of(design)
    assert figure is not None
    try:
        scanned = imported_mesh(kind, values, "/")[0]
    except BuildError as error:
        raise DesignError(f"--figure {scan}: {error}") from None
    own, foot = _foot(figure.mesh[0]), _foot(scanned.points)
    solids = ({kind: {**values, "at": tuple((own - foot).tolist())}},)
    return replace(design, figure={**design.figure, "solids": solids})


def _foot(points: np.ndarray) -> np.ndarray:
    """(3,) the middle of the lowest face of the box around points (n, 3)."""
    low, high = points.min(axis=0), points.max(axis=0)
    return np.array([*(low + high)[:2] / 2.0, low[2]])

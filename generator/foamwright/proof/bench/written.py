"""Written lengths beside the model's, where papers alone do not tell what they should be: seams of two thicknesses, hoops,
edges of bent foam.

Nothing is bent for it. How long an edge of the model is follows from the area of its face. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from foamwright.geometry import chord_length
from foamwright.proof.bench.bands import BAND, trimmed
from foamwright.proof.bench.foam import Copy, Edge, Foam, Part, beside, other_stretches
from foamwright.proof.bench.folded import turns_sharply
from foamwright.proof.bench.lengths import SEAM, neutral_lengths
from foamwright.proof.bench.measure import Model
from foamwright.proof.bench.records import Fault
from foamwright.proof.bench.seams import is_even
from foamwright.proof.read import Drawn

_SHARE = (
    0.003  # of its length, by which an edge may be off beside another that touches it: the model's faces are triangles
)
_HOOP, _HOOP_SHARE = 1.0, 0.003  # the same of a band, in mm or of its length: both are known to 0.1 %
_EDGE, _EDGE_SHARE = 2.0, 0.015  # the same of any edge of bent foam, beside its strain
_STRETCH = 1.5  # times the strain that is told of a part, by which it may be off as well
_MOSTLY = 0.9  # of a band's length: a shorter edge is one of its ends
_STEEP = 60.0  # degrees: beyond it the area of an edge says little of its length


def unlike_faults(foam: Foam, model: Model) -> list[Fault]:
    """Seams of bent foam of unlike thickness, or of which one edge stands over the other, whose edges would not be of one
    length where they touch.

    What touches has one length. Either edge has another, on the surface that keeps its lengths, by what the foam turns
    along the seam; so both are right if each is as long as in the model, or off by the same.
    """
    found = {}
    for sewn in foam.sewn:
        a, b = foam.part(sewn.a), foam.part(sewn.b)
        if not (a.bent and b.bent) or is_even(a, b, sewn):
            continue
        off, may = 0.0, SEAM
        for copy, name, way in ((sewn.a, sewn.edge_a, 1.0), (sewn.b, sewn.edge_b, -1.0)):
            part = foam.part(copy)
            edge = part.edge(name)
            true = None if edge is None else _in_model(model, copy, part, edge)
            if edge is None or true is None:
                break
            written = float(np.ptp(neutral_lengths(part, edge, np.array([0.0, edge.length]))))
            off += way * (written - true)
            may = max(may, (_SHARE + _STRETCH * part.strain) * true + _ends(part, edge))
        else:
            if abs(off) > may:
                where = f"seam {sewn.seam} of {a.title} and {b.title}"
                found[where] = Fault(
                    where, f"its edges differ by {abs(off):.2f} mm on the line where they touch", abs(off)
                )
    return list(found.values())


def hoop_faults(foam: Foam, model: Model, drawings: Mapping[str, Sequence[Drawn]]) -> list[Fault]:
    """Bands that are longer or shorter than in the model, less what is left on to be trimmed."""
    found = {}
    for copy in foam.copies:
        part = foam.part(copy)
        if part.kind != BAND or not part.bent or turns_sharply(part):
            continue
        for edge in part.edges:
            true = _in_model(model, copy, part, edge)
            if true is None or edge.length < _MOSTLY * float(np.ptp(part.rings[0][:, 0])):
                continue
            written = float(np.ptp(neutral_lengths(part, edge, np.array([0.0, edge.length]))))
            off = written - trimmed(part, drawings.get(part.id, ())) - true
            if abs(off) > max(_HOOP, _HOOP_SHARE * true) + _ends(part, edge):
                told = "over each other" if off > 0 else "apart"
                found[part.id] = Fault(
                    part.title, f"its ends come {abs(off):.1f} mm {told} where it goes round", abs(off)
                )
    return list(found.values())


def edge_faults(foam: Foam, model: Model) -> list[Fault]:
    """Edges of bent foam that are far from their length in the model. Foam with free edges springs open on the bench, so
    that its shape does not tell whether it is the right one; the lengths of its edges do."""
    found = {}
    for copy in foam.copies:
        part = foam.part(copy)
        if not part.bent or part.kind == BAND or turns_sharply(part):
            continue
        for edge in part.edges:
            true = _in_model(model, copy, part, edge)
            if true is None:
                continue
            written = float(np.ptp(neutral_lengths(part, edge, np.array([0.0, edge.length]))))
            off = abs(written - true)
            if off > max(_EDGE, (_EDGE_SHARE + _STRETCH * part.strain) * true) + _ends(part, edge):
                told = f"edge {edge.id} is {written:.1f} mm long on its paper, and {true:.1f} mm in the model"
                found[part.id] = Fault(part.title, told, off)
    return list(found.values())


def _in_model(model: Model, copy: Copy, part: Part, edge: Edge) -> float | None:
    """The length in the middle of an edge's face, by its area and how wide the lines of both faces make it: foam that curves
    under a slanted cut meets it at another angle than is told. None if the model has no such face or it is too slanted."""
    face = model.faces.get((copy, edge.id))
    if face is None or max(map(abs, edge.bevel)) > _STEEP:
        return None
    area = length = 0.0
    for line, across in zip(edge.stretches, other_stretches(part, edge)):
        wide = np.hypot(part.thickness, np.linalg.norm(across - line, axis=1))
        middle = chord_length((line + across) / 2.0)  # points of one line lie closer where the other is shorter
        area += float(np.trapezoid(wide, middle))
        length += float(middle[-1])
    return face.area * length / area if area else None


def _ends(part: Part, edge: Edge) -> float:
    """By how much its face may be longer or shorter in its middle, at both ends together, as the edges beside it are cut at a
    slant."""
    return part.thickness * float(np.tan(np.radians(np.minimum(beside(part, edge), _STEEP))).sum())

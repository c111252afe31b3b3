"""Lays a triangle mesh of a smooth surface flat. Knows arrays only: nothing here imports from the rest.

`Flattener(points, normals, triangles).solve()` gives the flat positions of least strain; `edge_lengths` the true
lengths in the surface that it starts from. Everything fails with `CannotFlatten`.
"""

from foamwright.flatten.solver.failure import CannotFlatten
from foamwright.flatten.solver.intrinsic import areas, edge_lengths, rest_triangles
from foamwright.flatten.solver.newton import FlatResult, Flattener, flatten

__all__ = ["CannotFlatten", "FlatResult", "Flattener", "areas", "edge_lengths", "flatten", "rest_triangles"]

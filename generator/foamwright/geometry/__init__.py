"""Plain geometry over arrays, lengths in mm: meshes, frames and polylines. Nothing here knows of props or foam."""

from foamwright.geometry.arcs import arc_lengths, unfolded_lengths
from foamwright.geometry.boxes import box_of, boxes_apart
from foamwright.geometry.frame import Frame
from foamwright.geometry.mesh import Mesh
from foamwright.geometry.polyline import arc_length, chord_length, inset, points_at, resampled, signed_area, tangents
from foamwright.geometry.validity import crossing_of

__all__ = [
    "Frame",
    "Mesh",
    "arc_length",
    "arc_lengths",
    "box_of",
    "boxes_apart",
    "chord_length",
    "crossing_of",
    "inset",
    "points_at",
    "resampled",
    "signed_area",
    "tangents",
    "unfolded_lengths",
]

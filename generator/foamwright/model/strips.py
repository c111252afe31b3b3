"""Bands as rows of flat triangles. Lengths in mm."""

from __future__ import annotations

import numpy as np

from foamwright.parts.records import BandBody

LEAST_WIDTH = 0.05  # mm: a band that runs out to a point ends in an edge this wide, so that it stays a solid

# The four corners of a band's cross-section, walked around with the foam on the left when one looks along
# the curve's tangent = normal x across: inner low, outer low, outer high, inner high.


def rails(body: BandBody, thickness: float) -> np.ndarray:
    """The four long edges of the band, (4, N, 3)."""
    inner = body.curve + body.inner_offset * body.normals
    outer = inner + thickness * body.normals
    high = np.maximum(body.high, body.low + LEAST_WIDTH)
    low_side, high_side = (np.outer(w, body.across) for w in (body.low, high))
    return np.stack([inner + low_side, outer + low_side, outer + high_side, inner + high_side])


def band_mesh(body: BandBody, thickness: float) -> tuple[np.ndarray, np.ndarray, list[str]]:
    """The band as fine as its curve: points (n, 3), triangles (m, 3) counter-clockwise from outside, and the name of
    the face that each triangle is of."""
    edges = rails(body, thickness)
    if body.closed:
        edges = edges[:, :-1]
    count = edges.shape[1]
    index = np.arange(4 * count).reshape(4, count)
    ahead = np.roll(index, -1, axis=1) if body.closed else index[:, 1:]
    here = index if body.closed else index[:, :-1]
    a, b = here, np.roll(here, -1, axis=0)
    c, d = np.roll(ahead, -1, axis=0), ahead
    quads = np.stack([a, b, c, d], axis=-1).reshape(-1, 4)
    names = [name for name in ("low", "outside", "high", "inside") for _ in range(here.shape[1])]
    if not body.closed:
        quads = np.vstack([quads, index[::-1, 0], index[:, -1]])
        names += ["start", "end"]
    triangles = np.vstack([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    points = edges.reshape(-1, 3)
    p, q, r = (points[triangles[:, k]] for k in range(3))
    inside_out = np.einsum("ij,ij->i", p, np.cross(q, r)).sum() < 0.0
    return points, triangles[:, ::-1] if inside_out else triangles, 2 * names

"""Lines over a panel that darts may follow: where a cut of the form that does not bound the panel crosses it."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString


def lines_across(flat: np.ndarray, faces: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, ...]:
    """Zero lines of `values` (n,), linear in each triangle, as polylines (K, 2) in the map `flat` (n, 2).

    Longest first; lines shorter than a hundredth of the map are left out.
    """
    values = np.where(values == 0.0, 1e-12, values)  # a line through a vertex passes just beside it
    side = values[faces] > 0
    crossed = faces[side.any(1) & ~side.all(1)]
    if not len(crossed):
        return ()
    segments = []
    for a, b, c in crossed:
        ends = []
        for i, j in ((a, b), (b, c), (c, a)):
            if (values[i] > 0) != (values[j] > 0):
                low, high = min(i, j), max(i, j)
                share = values[low] / (values[low] - values[high])
                ends.append(flat[low] + share * (flat[high] - flat[low]))
        segments.append(ends)
    merged = shapely.line_merge(shapely.set_precision(MultiLineString(segments), 1e-7))
    lines = [g for g in getattr(merged, "geoms", [merged]) if isinstance(g, LineString)]
    least = 0.01 * float(np.hypot(*np.ptp(flat, axis=0)))
    across = [np.array(line.coords) for line in lines if line.length > least and not line.is_ring]
    return tuple(sorted(across, key=lambda line: -LineString(line).length))

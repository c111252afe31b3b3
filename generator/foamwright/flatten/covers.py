"""Which edges of a panel will be covered by a part that lies over them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from foamwright.parts.placing import move
from foamwright.parts.records import PanelBody, Piece

_MOST = 0.7  # share of an edge that must lie beneath


def covered_edges(piece: Piece[PanelBody], pieces: Sequence[Piece[PanelBody]]) -> frozenset[str]:
    """Edges of a panel at least `_MOST` of which lie beneath another panel that lies on it."""
    covered = set()
    over = [p for p in pieces if piece.id in p.lies_on and isinstance(p.body, PanelBody)]
    for other in over:
        for place in other.placements:
            chart = other.body.chart
            space = move(other.body.surface.offset(chart.coords, other.body.inner_offset), place.matrix)
            ends = space[chart.faces]
            near = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1).max() + piece.stock.thickness
            tree = cKDTree(space)
            for edge in piece.body.edges:
                points = move(edge.outer, piece.placements[0].matrix)
                if (tree.query(points)[0] < near).mean() > _MOST:
                    covered.add(edge.id)
    return frozenset(covered)

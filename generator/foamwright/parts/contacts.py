"""Which parts the edges of flat parts meet: a bulkhead's rim and the shell, a rail's ends and the cradles."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry import Polygon

from foamwright.forms.nearest import NearestPoint
from foamwright.parts.placing import move
from foamwright.parts.records import FlatBody, PanelBody, Piece

NEAR = 0.8  # mm: glue bridges no wider gap than this beside the stated clearance
_SHARE = 0.12  # of an edge that must be near for the two to count as joined
_SPACING = 4.0  # mm between the places that are tried


def join_flat_edges(pieces: Sequence[Piece], clearance: float) -> tuple[Piece, ...]:
    """Every flat part's edges with the ids of the parts that they meet, in the order of the design.

    Only the first copy is looked at; the others stand the same way to their own neighbours.
    """
    reach = NEAR + clearance
    surfaces = {id(p.body.surface): p.body.surface for p in pieces if isinstance(p.body, PanelBody)}
    nearest = {key: NearestPoint(surface) for key, surface in surfaces.items()}
    finders = [(p, _finder(p, nearest)) for p in pieces if isinstance(p.body, FlatBody | PanelBody)]
    joined = []
    for piece in pieces:
        known = isinstance(piece.body, FlatBody) and any(run.joins for run in piece.body.runs)
        if isinstance(piece.body, FlatBody) and piece.placements and not known:
            runs = tuple(
                dataclasses.replace(run, joins=_met(piece, _along(piece, run), finders, reach))
                for run in piece.body.runs
            )
            piece = dataclasses.replace(piece, body=dataclasses.replace(piece.body, runs=runs))
        joined.append(piece)
    return tuple(joined)


def _along(piece: Piece, run) -> np.ndarray:
    """Places in space along an edge, at a quarter and three quarters of the thickness."""
    body: FlatBody = piece.body
    index = np.arange(run.start, run.stop + 1) % len(body.outline)
    line = shapely.segmentize(shapely.linestrings(body.outline[index]), _SPACING)
    flat = shapely.get_coordinates(line)
    flat = (flat[:-1] + flat[1:]) / 2
    thickness = piece.stock.thickness * piece.layers
    places = [
        body.frame.to_space(np.column_stack([flat, np.full(len(flat), share * thickness)])) for share in (0.25, 0.75)
    ]
    return move(np.vstack(places), piece.placements[0].matrix)


def _met(piece: Piece, places: np.ndarray, finders, reach: float) -> tuple[str, ...]:
    names = []
    for other, near in finders:
        if other.id != piece.id and other.id not in piece.lies_on and piece.id not in other.lies_on:
            if near(places, reach).mean() > _SHARE:
                names.append(other.id)
    return tuple(names)


def _finder(piece: Piece, nearest):
    near = (
        _near_panel(piece, nearest[id(piece.body.surface)]) if isinstance(piece.body, PanelBody) else _near_plate(piece)
    )

    def find(places: np.ndarray, reach: float) -> np.ndarray:
        found = np.zeros(len(places), bool)
        for placement in piece.placements:
            found |= near(move(places, np.linalg.inv(placement.matrix)), reach)
        return found

    return find


def _near_panel(piece: Piece, nearest: NearestPoint):
    body: PanelBody = piece.body
    space = body.surface.point(body.chart.coords)
    sides = space[body.chart.faces]
    cell = float(np.linalg.norm(sides[:, 0] - sides[:, 1], axis=1).max())
    tree = cKDTree(space)

    def near(places, reach):
        margin = abs(body.inner_offset) + piece.stock.thickness + reach + cell
        beside = tree.query(places, distance_upper_bound=margin)[0] < margin
        found = np.zeros(len(places), bool)
        if beside.any():
            found[beside] = touching(places[beside], reach)
        return found

    def touching(places, reach):
        coords = nearest.coords(places)
        foot = body.surface.point(coords)
        height = ((places - foot) * body.surface.normal(coords)).sum(1)
        low, high = body.inner_offset - reach, body.inner_offset + piece.stock.thickness + reach
        return (height > low) & (height < high) & (tree.query(foot)[0] < cell)

    return near


def _near_plate(piece: Piece):
    body: FlatBody = piece.body
    shape = Polygon(body.outline, body.holes)
    thickness = piece.stock.thickness * piece.layers

    def near(places, reach):
        local = body.frame.to_frame(places)
        level = (local[:, 2] > -reach) & (local[:, 2] < thickness + reach)
        level[level] = shapely.distance(shapely.points(local[level, :2]), shape) < reach
        return level

    return near

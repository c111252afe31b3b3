"""What the record tells of one pattern: its lines, edges, darts and fittings, in the coordinates of its template."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from foamwright.flatten.arrows import direction_on
from foamwright.flatten.bands import folds
from foamwright.flatten.records import Fittings, Pattern, PatternDart, PatternEdge
from foamwright.geometry import chord_length, points_at
from foamwright.parts.records import FlatBody


def pattern_entry(pattern: Pattern) -> dict[str, Any]:
    piece, strain = pattern.piece, pattern.strain
    part = {
        "id": piece.id,
        "label": piece.label,
        "name": piece.name,
        "kind": piece.kind,
        "material": piece.stock.id,
        "thickness": piece.stock.thickness,
        "quantity": piece.quantity,
        "mirrored": piece.mirrored,
        "outline": pattern.outline,
        "holes": list(pattern.holes),
        "drawn_face": pattern.drawn_face,
        "other_outline": pattern.other_outline,
        "other_holes": list(pattern.other_holes),
        "area": pattern.area,
        "strain": {"max": strain.max, "p95": strain.p95, "mean": strain.mean},
        "neutral_offset": pattern.neutral_offset,
        "edges": [_edge(edge, pattern) for edge in pattern.edges],
        "darts": [_dart(dart, pattern) for dart in pattern.darts],
    }
    part |= _fittings(pattern.fittings)
    part |= {
        name: list(arrow) for name, arrow in (("forward", pattern.forward), ("up", pattern.up)) if arrow is not None
    }
    if len(piece.placements) > 1 and (arrows := _arrows(pattern)):
        part["arrows"] = arrows
    if piece.edge_finish is not None:
        part["edge_finish"] = {"finish": piece.edge_finish.finish, "size": piece.edge_finish.size}
    if piece.gap is not None:
        part["gap"] = piece.gap
    if piece.layers > 1:
        part["layers"] = piece.layers
    images = [number for number, placed in enumerate(piece.placements, 1) if placed.mirrored]
    if images:
        part["mirror_images"] = images
    if piece.loose:
        part["loose"] = piece.loose * piece.layers
    if pattern.strip is not None:
        part["strip"] = {"length": pattern.strip[0], "width": pattern.strip[1]}
    if folded := folds(piece):
        part["folds"] = [{"at": x, "turn": turn} for x, turn in folded]
    if pattern.warnings:
        part["warnings"] = list(pattern.warnings)
    if pattern.split is not None:
        part["split"] = {
            "joint": pattern.split.joint,
            "segments": [
                {
                    "outline": s.outline,
                    "holes": list(s.holes),
                    "other_outline": s.other_outline,
                    "other_holes": list(s.other_holes),
                    "area": s.area,
                }
                for s in pattern.split.segments
            ],
        }
    return part


def _arrows(pattern: Pattern) -> list[dict[str, Any]]:
    """Which way up and forward are on the template of each copy; of a mirrored one before it is flipped."""
    told: list[dict[str, Any]] = []
    for number, place in enumerate(pattern.piece.placements, 1):
        ways = {name: direction_on(pattern, place.matrix[axis, :3]) for name, axis in (("forward", 0), ("up", 2))}
        told.append({"copy": number} | {name: list(way) for name, way in ways.items() if way is not None})
    return [one for one in told if len(one) > 1]


def _edge(edge: PatternEdge, pattern: Pattern) -> dict[str, Any]:
    """Its ends and ticks are on the line of the face that is drawn on, in the direction of the outline. So is the length
    of a flat part's edge that is bevelled; where it is a seam, the seam tells how long the two are where they touch."""
    bevelled = isinstance(pattern.piece.body, FlatBody) and any(edge.bevel)
    return {
        "id": edge.id,
        "length": float(chord_length(edge.points)[-1]) if bevelled else edge.length,
        **({"face": pattern.drawn_face} if bevelled else {}),
        "bevel": _one_or_list(edge.bevel),
        "ends": edge.points[[0, -1]],
        "ticks": [
            {"number": number, "at": at}
            for number, at in zip(edge.tick_numbers, points_at(edge.points, edge.ticks).tolist())
        ],
    }


def _dart(dart: PatternDart, pattern: Pattern) -> dict[str, Any]:
    """Where it comes to lie is told of the first copy."""
    first = pattern.piece.placements[0].matrix
    mouth, tip = dart.place @ first[:3, :3].T + first[:3, 3]
    return {
        "legs": list(dart.lengths),
        "opening": dart.opening,
        "depth": dart.depth,
        "mouth": np.array([dart.leg_a[0], dart.leg_b[0]]),
        "tip": dart.leg_a[-1],
        "place": {"mouth": mouth, "tip": tip},
    }


def _fittings(fittings: Fittings) -> dict[str, Any]:
    """What a flat part has beside its outline, in the coordinates of the outline."""
    told: dict[str, Any] = {}
    if fittings.round is not None:
        told["round"] = {"radius": fittings.round.radius}
        if fittings.round.inner_radius is not None:
            told["round"]["inner_radius"] = fittings.round.inner_radius
    if fittings.engraving:
        told["engraving"] = list(fittings.engraving)
    if fittings.pins:
        told["pins"] = [list(pin) for pin in fittings.pins]
    if fittings.slots:
        told["slots"] = [{"part": slot.part, "at": list(slot.at)} for slot in fittings.slots]
    return told


def _one_or_list(bevel: Sequence[float]) -> float | list[float]:
    if not bevel:
        return 0.0
    return bevel[0] if len(bevel) == 1 else list(bevel)

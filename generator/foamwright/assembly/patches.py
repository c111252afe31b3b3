"""Closed outlines of a contact sorted into the patches that they bound. Lengths in mm in space."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

_ONE_WAY = 0.8  # cosine between a contact and its mean: all of it faces one way, and its outlines are seen as they are

Patch = tuple[np.ndarray, ...]


def faces_one_way(normals: np.ndarray) -> bool:
    """Do the directions (k, 3) off all places of a contact look about the same way?"""
    mean = normals.mean(axis=0)
    return float((normals @ mean).min()) > _ONE_WAY * float(np.linalg.norm(mean))


def patches(outlines: Sequence[np.ndarray], normals: np.ndarray) -> tuple[Patch, ...]:
    """The closed outlines (k, 3) of one contact, those of each patch together and that which bounds it first, then its holes;
    `normals` (m, 3) are the directions off it. A contact that goes round, as that in a hole, has two rims and is one patch."""
    if len(outlines) < 2 or not faces_one_way(normals):
        return (tuple(outlines),)
    mean = normals.mean(axis=0)
    across = np.linalg.svd(mean[None])[2][1:].T  # two directions square to it
    fields = [shapely.Polygon(loop @ across).buffer(0.0) for loop in outlines]
    order = sorted(range(len(fields)), key=lambda i: -fields[i].area)
    found: dict[int, list[int]] = {}
    depth: dict[int, int] = {}
    for at, i in enumerate(order):
        around = [j for j in order[:at] if fields[j].contains(fields[i].representative_point())]
        depth[i] = len(around)
        if depth[i] % 2:
            found[max(around, key=depth.__getitem__)].append(i)
        else:
            found[i] = []
    return tuple(tuple(outlines[k] for k in (outer, *holes)) for outer, holes in found.items())
